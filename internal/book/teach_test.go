package book

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
)

// lesson is what the demo engine teaches.
func lesson(t testing.TB) *Lesson {
	j := finished(t)
	facts := &journal.State{Options: j.State.Options, Instruments: map[string]journal.InstrumentRecord{}}
	l := &Lesson{Pack: j.Pack, Assessment: assess.Prepare(j.Pack).Assess(facts, assess.Options{}), Options: map[string]string{}, Now: j.Now, Paper: A4,
		Links: map[string][]string{"operation.carrier_on": {"https://example.org/films/carrier"}}}
	for name, o := range j.State.Options {
		l.Options[name] = o.Choice
	}
	return l
}

func sheetText(t *testing.T, s *Sheet) (text, info string) {
	t.Helper()
	b, err := s.Document.PDF([]byte("0123456789abcdef"))
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return outside(t, "pdftotext", "-layout", name, "-"), outside(t, "pdfinfo", name)
}

func TestCarrierHandoutIsOnTwoSheetsAtMost(t *testing.T) {
	l := lesson(t)
	for _, paper := range []Paper{A4, Letter} {
		l.Paper = paper
		s, err := l.Handout("operation.carrier_on", "")
		if err != nil {
			t.Fatal(err)
		}
		text, info := sheetText(t, s)
		if !strings.Contains(info, "Pages:           1\n") && !strings.Contains(info, "Pages:           2\n") {
			t.Errorf("on %s: %s", paper.Name, info)
		}
		flat := strings.Join(strings.Fields(text), " ")
		for _, want := range []string{
			"Series B (not A, C)",               // for which, and for which not
			"socket 10 mm, drive 1/4 in",        // tools
			"new each time",                     // one-use marks
			"80 to 96 in-lb (9.0 to 10.8 N·m)",  // both units
			"89 in-lb (10.1 N·m)",               // the figure aimed at
			"invented, torque group T08",        // source
			"mine",                              // basis
			"thread locker",                     // what is on the threads
			"pins out and counted",              // pattern and steps
			"What good looks like",              //
			"mirror images",                     // mistakes
			"4 h for the screw locker",          // waits
			"Before you close",                  //
			"certifies nothing",                 // hazards and whose word counts
			s.Code,                              // revision
			"1 Jun 2026",                        // date
			"https://example.org/films/carrier", // own films
		} {
			if !strings.Contains(flat, want) {
				t.Errorf("on %s the handout does not tell %q", paper.Name, want)
			}
		}
	}
}

// A sheet says for which engines it is by what hangs on it, and nothing else: the nuts
// are the same whatever the cam bush, and a bore hangs on the bore step.
func TestASheetSaysForWhichEnginesItIs(t *testing.T) {
	l := lesson(t)
	for of, want := range map[string]string{"joint.head_nuts": "", "dimension.bore": "For Bore step", "operation.carrier_on": "For Series B (not A, C)."} {
		top, err := l.topic(of, "")
		if err != nil {
			t.Fatal(err)
		}
		got := strings.TrimPrefix(top.applies(), l.Pack.Title+".")
		if want == "" && got != "" || !strings.HasPrefix(strings.TrimSpace(got), want) || strings.Contains(got, "cam bush") {
			t.Errorf("%s: %q", of, got)
		}
		if c, err := l.Card(of, ""); err != nil {
			t.Error(err)
		} else if _, info := sheetText(t, c); !strings.Contains(info, "Pages:           1\n") {
			t.Errorf("the card of %s is more than one sheet", of)
		}
	}
}

// benchOnly is the bench as who wrote something; a workbench or "on the bench" is a place.
var benchOnly = regexp.MustCompile(`(?m)(, bench|\bbench[,;)]|\d bench)`)

// A sheet that is given away tells nothing of a job: no owner, number, person, price or
// photo. The test plants each in the journal and looks for it on every sheet.
func TestSheetsTellNothingOfAJob(t *testing.T) {
	l := lesson(t)
	j := finished(t)
	secret := []string{j.State.Job.EngineNumber, j.State.Job.Owner, "customer", "0410", "Pell Street", "T. O.", "R. V.", "bench", "2400", "164.50", "Corve Lane", "GPS"}
	for _, p := range j.State.Photos {
		secret = append(secret, p.SHA256[:12])
	}
	for _, o := range j.Pack.Offers {
		secret = append(secret, o.Price+" "+o.Currency)
	}
	for _, r := range j.State.Readings[:40] {
		if r.Of == "bore" && r.Value != "92.013 mm" { // which is a limit too
			secret = append(secret, r.Value)
		}
	}
	var texts []string
	for _, of := range []string{"operation.carrier_on", "operation.head_nuts_tight", "dimension.bore", "joint.head_nuts", "number.squish"} {
		s, err := l.Handout(of, "")
		if err != nil {
			t.Fatalf("%s: %v", of, err)
		}
		text, _ := sheetText(t, s)
		html, err := s.Document.HTML()
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, text, string(html))
		c, err := l.Card(of, "")
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, c.Text(), c.Document.Foot)
	}
	// All other steps, joints and measurements as pages, where no program is needed to read
	// them; none has a photo.
	var all []string
	for _, o := range j.Pack.Operations {
		all = append(all, "operation."+o.Name)
	}
	for _, x := range j.Pack.Joints {
		all = append(all, "joint."+x.Name)
	}
	for i, d := range j.Pack.Dimensions {
		if i%4 == 0 {
			all = append(all, "dimension."+d.Name)
		}
	}
	for _, of := range all {
		s, err := l.Handout(of, "")
		if err != nil {
			t.Fatalf("%s: %v", of, err)
		}
		html, err := s.Document.HTML()
		if err != nil {
			t.Fatal(err)
		}
		_, page, _ := strings.Cut(string(html), "</style>")
		if strings.Contains(page, "<img") {
			t.Errorf("%s shows a photo", of)
		}
		texts = append(texts, page)
	}
	_, text, err := l.Description([]string{"operation.carrier_on", "operation.head_nuts_tight"})
	if err != nil {
		t.Fatal(err)
	}
	texts = append(texts, text)
	var b strings.Builder
	for _, film := range Chapters(j.Pack, j.State) {
		for _, c := range film {
			b.WriteString(c.Clock() + " " + c.Title + "\n")
		}
	}
	texts = append(texts, b.String())
	for _, s := range secret {
		for i, text := range texts {
			// Fonts in HTML are letters that mean nothing.
			if at := strings.Index(text, "<style>"); at >= 0 {
				text = text[strings.Index(text, "</style>"):]
			}
			if s != "" && strings.Contains(text, s) && !(s == "bench" && benchOnly.MatchString(text) == false) {
				t.Errorf("sheet %d tells %q", i, s)
			}
		}
	}
}

// A changed figure says which sheets are now wrong, and the others are left alone.
func TestAChangedFigureTellsWhichSheetsAreWrong(t *testing.T) {
	l := lesson(t)
	var list []journal.PublishedRecord
	for _, of := range []string{"operation.carrier_on", "operation.head_nuts_tight"} {
		s, err := l.Handout(of, "")
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, journal.PublishedRecord{Published: journal.Published{What: "handout", Of: s.Of, Code: s.Code, Figures: strings.Join(s.Figures, "\n")}})
	}
	for _, p := range l.CheckPublished(list) {
		if p.Wrong() {
			t.Errorf("%s is called wrong, and nothing changed: %+v", p.Of, p.Changed)
		}
	}
	changed, mistakes := l.Pack.Extend(pack.File{Name: "new.pack", Text: []byte("joint \"lifter_carrier\" {\n  target = \"92 in-lb\"\n  step {\n    points = [1, 3]\n    to = \"35 in-lb\"\n  }\n  step {\n    points = [2, 4]\n    to = \"35 in-lb\"\n  }\n  step {\n    to = \"92 in-lb\"\n  }\n}\n")})
	if len(mistakes) > 0 {
		t.Fatal(mistakes[0])
	}
	facts := &journal.State{Instruments: map[string]journal.InstrumentRecord{}}
	after := *l
	after.Pack = changed
	after.Assessment = assess.Prepare(changed).Assess(facts, assess.Options{})
	got := after.CheckPublished(list)
	if !got[0].Wrong() || got[1].Wrong() {
		t.Fatalf("carrier wrong: %v, head nuts wrong: %v", got[0].Wrong(), got[1].Wrong())
	}
	found := false
	for _, c := range got[0].Changed {
		found = found || strings.Contains(c.Was, "89 in-lb") && strings.Contains(c.Is, "92 in-lb")
	}
	if !found {
		t.Errorf("%+v", got[0].Changed)
	}
}

// Each step begins in the film where the one before it was written down as done.
func TestChapterMarks(t *testing.T) {
	p := &pack.Pack{Operations: []*pack.Operation{{Common: pack.Common{Name: "a", Title: "010 First"}}, {Common: pack.Common{Name: "b", Title: "011 Second"}}}}
	at := func(m int) time.Time { return time.Date(2026, 5, 1, 10, m, 0, 0, time.UTC) }
	s := &journal.State{Marks: []journal.MarkRecord{{Stamp: journal.Stamp{At: at(0)}, Mark: journal.Mark{What: "camera on"}}, {Stamp: journal.Stamp{At: at(50)}, Mark: journal.Mark{What: "camera off"}}}}
	for i, o := range []journal.Operation{{Operation: "a", State: journal.Done}, {Operation: "b", Place: "rear", State: journal.Done}, {Operation: "a", Place: "later", State: journal.Done}} {
		s.Operations = append(s.Operations, journal.OperationRecord{Stamp: journal.Stamp{At: at([]int{12, 30, 55}[i]), Seq: i}, OperationBody: o})
	}
	films := Chapters(p, s)
	if len(films) != 1 || len(films[0]) != 2 {
		t.Fatalf("%+v", films)
	}
	for i, want := range []string{"0:00 First", "12:00 Second, rear"} {
		if got := films[0][i].Clock() + " " + films[0][i].Title; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
