package book

import (
	"bytes"
	"image"
	"image/color"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The PDF says that it is written as PDF/A-2u. No checker for that is in the packages of
// the distribution, so its parts are looked at one by one with qpdf: what the file says
// of itself, the colours it names, its fonts, and what must not be there.
//
// Source: ISO 19005-2, 6.1 to 6.6 (file structure, graphics, fonts, metadata), and 6.2.11.7
// for the level u; from memory.
func TestThePartsOfAPDFA2u(t *testing.T) {
	j, whole, _ := book(t)
	name := asFile(t, j.Seal(whole.pdf, nil))
	out := outside(t, "qpdf", "--check", name)
	if !strings.Contains(out, "No syntax or stream encoding errors") || !strings.Contains(out, "File is not encrypted") {
		t.Errorf("qpdf says\n%s", out)
	}
	plain := filepath.Join(t.TempDir(), "plain.pdf")
	outside(t, "qpdf", "--qdf", "--object-streams=disable", name, plain)
	text, err := os.ReadFile(plain)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(whole.pdf, []byte("%PDF-1.7\n%")) || whole.pdf[10] < 0x80 {
		t.Error("the file does not begin as one with bytes above 127")
	}
	has := func(what, pattern string) {
		if !regexp.MustCompile(pattern).Match(text) {
			t.Errorf("%s: %s is not there", what, pattern)
		}
	}
	has("metadata", `<pdfaid:part>2</pdfaid:part>\s*<pdfaid:conformance>U</pdfaid:conformance>`)
	has("metadata of the catalogue", `/Metadata \d+ 0 R`)
	has("colours", `/S /GTS_PDFA1`)
	has("colours", `/DestOutputProfile \d+ 0 R`)
	has("identifier", `/ID \[<`)
	for _, never := range []string{"/Encrypt", "/JavaScript", "/JS ", "/Launch", "/AA ", "/OpenAction", "/EmbeddedFiles", "/DeviceCMYK", "/LZWDecode", "/Interpolate true", "/SMask", "/Type1", "/Type3", "/BM ", "/ca ", "/CA ", "/OCProperties", "/XFA"} {
		if regexp.MustCompile(regexp.QuoteMeta(never) + `\b`).Match(text) {
			t.Errorf("%s is in the file", never)
		}
	}
	// Every font is embedded and says which letter each of its glyphs is.
	fonts := regexp.MustCompile(`/Subtype /Type0`).FindAllIndex(text, -1)
	if n := len(regexp.MustCompile(`/ToUnicode \d+ 0 R`).FindAllIndex(text, -1)); n != len(fonts) || n == 0 {
		t.Errorf("%d fonts, %d of them tell their letters", len(fonts), n)
	}
	if n := len(regexp.MustCompile(`/FontFile2 \d+ 0 R`).FindAllIndex(text, -1)); n != len(fonts) {
		t.Errorf("%d fonts, %d embedded", len(fonts), n)
	}
	// Title, keywords, program and times stand in the XMP as in the older dictionary.
	for tag, want := range map[string]string{"dc:title": "Build book: ", "pdf:Keywords": "record mark " + j.Mark(), "pdf:Producer": "Buttonup", "xmp:CreateDate": "2026-06-01T12:00:00"} {
		has(tag, "<"+tag+">[^\n]*"+regexp.QuoteMeta(want))
	}
	has("the older dictionary", `/CreationDate \(D:20260601120000`)
	has("the older dictionary", `/Keywords \([^\n]*`+regexp.QuoteMeta(j.Mark()))
}

// A photo in the colours of a printing press (drawn with ImageMagick: one colour,
// rgb(40, 120, 200) turned to CMYK) is drawn in those that the book names.
func TestPhotosHaveTheColoursOfTheBook(t *testing.T) {
	content, err := os.ReadFile(filepath.Join("testdata", "press.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || config.ColorModel != color.CMYKModel {
		t.Fatalf("the photo has not the colours of a press: %v", err)
	}
	p, err := newPicture(content)
	if err != nil {
		t.Fatal(err)
	}
	after, _, err := image.Decode(bytes.NewReader(p.content))
	if err != nil || after.ColorModel() == color.CMYKModel || after.Bounds().Dx() != 32 {
		t.Fatalf("%v", err)
	}
	r, g, b, _ := after.At(16, 12).RGBA()
	for _, c := range []struct{ got, want int }{{int(r >> 8), 40}, {int(g >> 8), 120}, {int(b >> 8), 200}} {
		if c.got < c.want-6 || c.got > c.want+6 {
			t.Errorf("the colour is %d, %d, %d, and was 40, 120, 200", r>>8, g>>8, b>>8)
		}
	}
}
