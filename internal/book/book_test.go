package book

import (
	"bytes"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"buttonup/internal/demo"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
)

// finished is the finished demo job. What it points to is made once and shared: a test
// that changes something of state or assessment changes its own copy of the outermost
// struct.
func finished(t testing.TB) *Job {
	t.Helper()
	made, err := finishedJob()
	if err != nil {
		t.Fatal(err)
	}
	j := *made
	state, assessment := *made.State, *made.Assessment
	j.State, j.Assessment = &state, &assessment
	return &j
}

var finishedDemo = sync.OnceValues(demo.Finished)

var finishedJob = sync.OnceValues(func() (*Job, error) {
	files, _ := packs.Find(packs.Demo)
	var list []pack.File
	for _, f := range files {
		list = append(list, pack.File{Name: f.Name, Text: f.Text})
	}
	p, mistakes := pack.Load(list, nil)
	if len(mistakes) > 0 {
		return nil, mistakes[0]
	}
	text, photos := finishedDemo()
	read := journal.Read(text)
	if len(read.Problems) > 0 {
		return nil, read.Problems[0]
	}
	j := Make("0410", p, "", read.Received(), read.Fold(), time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC))
	j.Shop = "Pell Street Engines"
	j.Photo = func(sha string) ([]byte, error) { return photos[sha], nil }
	return j, nil
})

// wholeBook is the book of the finished job, printed once.
type wholeBook struct {
	pdf, html []byte
}

var finishedBook = sync.OnceValues(func() (*wholeBook, error) {
	made, err := finishedJob()
	if err != nil {
		return nil, err
	}
	d := BuildBook(made)
	w := &wholeBook{}
	if w.pdf, err = d.PDF(made.FileID()); err != nil {
		return nil, err
	}
	w.html, err = d.HTML()
	return w, err
})

// book is the finished job, its book, and the name of a file that the PDF lies in.
func book(t testing.TB) (*Job, *wholeBook, string) {
	t.Helper()
	w, err := finishedBook()
	if err != nil {
		t.Fatal(err)
	}
	return finished(t), w, asFile(t, w.pdf)
}

func asFile(t testing.TB, pdf []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "book.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// handful is the finished job with a few of its photos, readings and steps: enough for a
// book of every kind of section where its size is not the point.
func handful(t testing.TB) *Job {
	j := finished(t)
	s := j.State
	s.Photos, s.Readings, s.Operations, s.Parts, s.Checks = s.Photos[:3], s.Readings[:120], s.Operations[:20], s.Parts[:20], s.Checks[:10]
	j.Assessment.Results = j.Assessment.Results[:40]
	return j
}

// outside runs a program that shares no code with this one. The test fails where it is
// missing, unless comparisons were switched off.
func outside(t *testing.T, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
			t.Skipf("%s is not here, and comparisons were switched off", name)
		}
		t.Fatalf("%s is not here: make needs installs it, or set BUTTONUP_WITHOUT_REFERENCES=1", name)
	}
	var stderr bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, stderr.String())
	}
	if stderr.Len() > 0 {
		t.Errorf("%s complains: %s", name, stderr.String())
	}
	return string(out)
}

func printed(t testing.TB, j *Job) []byte {
	t.Helper()
	b, err := BuildBook(j).PDF(j.FileID())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// squeezed leaves out blanks and line ends, which a program that reads a PDF sets
// anew.
func squeezed(s string) string { return strings.Join(strings.Fields(s), "") }

// Another program finds every reading, struck ones too, every torque and every lot in
// the text of the book.
func TestEveryReadingIsInTheBook(t *testing.T) {
	j, whole, name := book(t)
	text := squeezed(outside(t, "pdftotext", "-layout", name, "-"))
	flow := squeezed(outside(t, "pdftotext", name, "-"))
	web := squeezed(regexp.MustCompile(`base64,[A-Za-z0-9+/=]*|<svg.*?</svg>`).ReplaceAllString(string(whole.html), ""))
	missing := 0
	want := func(what, value string) {
		v := squeezed(value)
		if v == "" {
			return
		}
		if !strings.Contains(text, v) && !strings.Contains(flow, v) {
			if missing++; missing < 10 {
				t.Errorf("the PDF does not tell %s %q", what, value)
			}
		}
		if !strings.Contains(web, strings.NewReplacer("&", "&amp;", `"`, "&#34;", "'", "&#39;").Replace(v)) {
			if missing++; missing < 10 {
				t.Errorf("the HTML does not tell %s %q", what, value)
			}
		}
	}
	if len(j.State.Readings) < 1000 {
		t.Fatalf("%d readings: this is not the whole job", len(j.State.Readings))
	}
	for _, r := range j.State.Readings {
		// With its cell, where it has one: 38.000 mm alone would be found anywhere.
		want("reading of "+r.Of, strings.TrimSpace(cellText(r.Cell)+" "+r.Value))
	}
	for _, r := range j.State.Torques {
		want("torque", r.Value)
	}
	for _, p := range j.State.Parts {
		want("part", p.PartBody.Part)
		want("lot", p.Lot)
	}
	for _, s := range j.State.Struck {
		want("reason of a strike", s.Why)
		if r, ok := s.Body.(journal.Reading); ok {
			want("struck reading", r.Value)
		}
	}
	for _, d := range j.State.Deviations {
		want("deviation", d.Why)
	}
	for _, n := range j.State.Notes {
		want("note", n.Text)
	}
	// No name of the pack's text stands where a title is meant.
	for _, raw := range []string{"dimension.", "operation.", "number.", "joint.", "slot.", "space."} {
		if i := strings.Index(flow, raw); i >= 0 {
			t.Errorf("the book tells the raw name %q", flow[i:min(len(flow), i+60)])
		}
	}
	want("late", "entered later")
	// Only the PDF is one; the page must not say so of itself.
	if !strings.Contains(flow, squeezed("written as PDF/A-2u, not certified")) {
		t.Error("the PDF does not tell what it is written as")
	}
	if strings.Contains(web, "PDF/A") {
		t.Error("the page says that it is a PDF/A")
	}
}

// Another program counts as many pictures as the journal has photos.
func TestEveryPhotoIsInTheBook(t *testing.T) {
	j, _, name := book(t)
	lines := strings.Split(strings.TrimSpace(outside(t, "pdfimages", "-list", name)), "\n")
	if got := len(lines) - 2; got != len(j.State.Photos) || got != demo.Photos {
		t.Errorf("%d pictures in the book, %d photos in the journal", got, len(j.State.Photos))
	}
	fonts := outside(t, "pdffonts", name)
	for _, line := range strings.Split(strings.TrimSpace(fonts), "\n")[2:] {
		if f := strings.Fields(line); len(f) < 6 || f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("a font is not embedded, or its text cannot be copied out: %s", line)
		}
	}
	info := outside(t, "pdfinfo", name)
	if !strings.Contains(info, "Build book: Pell Street Engines") || !strings.Contains(info, "595.28 x 841.89") {
		t.Errorf("pdfinfo says\n%s", info)
	}
}

func TestTheSameTimeGivesTheSameBytes(t *testing.T) {
	j, whole, _ := book(t)
	if !bytes.Equal(whole.pdf, printed(t, j)) {
		t.Error("two books of the same job and time differ")
	}
	small := handful(t)
	first := printed(t, small)
	small.Now = small.Now.Add(time.Hour)
	if bytes.Equal(first, printed(t, small)) {
		t.Error("the time does not stand in the book, so this test shows nothing")
	}
}

func TestLetterPaperAndInchFirst(t *testing.T) {
	j := finished(t)
	j.Paper, j.Units = Letter, 1-j.Units
	j.State.Photos = nil
	name := asFile(t, printed(t, j))
	if info := outside(t, "pdfinfo", name); !strings.Contains(info, "612 x 792") {
		t.Error(info)
	}
	// 92.005 mm / 25.4 = 3.622 24 in.
	text := outside(t, "pdftotext", "-layout", name, "-")
	if !strings.Contains(text, "3.6222 ±0.0002 in") || !strings.Contains(text, "92.005 mm") {
		t.Error("a bore is not told in both systems")
	}
}

// A photo that was taken sideways is turned, and what the camera wrote beside it does
// not leave the shop.
func TestPhotosAreTurnedAndToldOfNothing(t *testing.T) {
	_, photos := finishedDemo()
	var plain []byte
	for _, p := range photos {
		plain = p
		break
	}
	exif := append([]byte("Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x02"),
		0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6, 0, 0, // orientation 6
		0x88, 0x25, 0, 4, 0, 0, 0, 1, 0, 0, 0, 38, // where GPS data would be
		0, 0, 0, 0)
	exif = append(exif, "GPSLatitude 51 deg"...)
	with := append([]byte{0xFF, 0xD8, 0xFF, 0xE1, byte((len(exif) + 2) >> 8), byte(len(exif) + 2)}, exif...)
	with = append(with, plain[2:]...)
	pic, err := newPicture(with)
	if err != nil {
		t.Fatal(err)
	}
	if pic.orientation != 6 || !pic.sideways() {
		t.Errorf("orientation %d, want 6", pic.orientation)
	}
	if bytes.Contains(pic.content, []byte("GPS")) {
		t.Error("the place where it was taken is still in it")
	}
	if !bytes.Equal(pic.content, plain) {
		t.Error("more was changed than what the camera wrote")
	}
	a, err := jpeg.Decode(bytes.NewReader(plain))
	if err != nil {
		t.Fatal(err)
	}
	b, err := jpeg.Decode(bytes.NewReader(pic.content))
	if err != nil || a.At(100, 100) != b.At(100, 100) || a.Bounds() != b.Bounds() {
		t.Error("the picture itself was changed")
	}
	if w, h := pic.fit(240, 1000); h/w < 1.3 {
		t.Errorf("a picture taken sideways stands %g by %g", w, h)
	}
}

func BenchmarkBook(b *testing.B) {
	j := finished(b)
	b.ResetTimer()
	for range b.N {
		if _, err := BuildBook(j).PDF(j.FileID()); err != nil {
			b.Fatal(err)
		}
	}
}
