package book

import (
	_ "embed"
	"strings"
	"unicode/utf8"

	"github.com/carlos7ags/folio/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

//go:embed fonts/B612-Regular.ttf
var regularFont []byte

//go:embed fonts/B612-Bold.ttf
var boldFont []byte

// typeface is one weight: the letters of the pages, and for what they lack (≤ ≥ α √
// and other alphabets) a second face.
type typeface struct {
	faces [2]font.Face
	// units is how many units make an em, by face.
	units [2]float64
	known map[rune]glyph
}

// glyph says which face has a character, and how wide it is in ems.
type glyph struct {
	face    int
	advance float64
	missing bool
}

func newTypeface(first, second []byte) *typeface {
	t := &typeface{known: make(map[rune]glyph, 256)}
	for i, data := range [][]byte{first, second} {
		f, err := font.ParseTTF(data)
		if err != nil {
			panic("book: a font that the program carries cannot be read: " + err.Error())
		}
		t.faces[i], t.units[i] = f, float64(f.UnitsPerEm())
	}
	return t
}

// lettering is a pair of weights. It remembers the widths it has looked up, so it is
// made anew for each document and belongs to one goroutine.
type lettering struct{ weights [2]*typeface }

func newLettering() *lettering {
	return &lettering{[2]*typeface{newTypeface(regularFont, goregular.TTF), newTypeface(boldFont, gobold.TTF)}}
}

// unprintable stands for a character that neither face has.
const unprintable = '?'

func (t *typeface) glyph(r rune) glyph {
	if g, ok := t.known[r]; ok {
		return g
	}
	var g glyph
	id := t.faces[0].GlyphIndex(r)
	if id == 0 {
		if id = t.faces[1].GlyphIndex(r); id != 0 {
			g.face = 1
		} else {
			g.missing = true
			id = t.faces[0].GlyphIndex(unprintable)
		}
	}
	g.advance = float64(t.faces[g.face].GlyphAdvance(id)) / t.units[g.face]
	t.known[r] = g
	return g
}

func (l *lettering) weight(bold bool) *typeface {
	if bold {
		return l.weights[1]
	}
	return l.weights[0]
}

// width returns how wide a text is.
func (l *lettering) width(text string, size float64, bold bool) float64 {
	t := l.weight(bold)
	w := 0.0
	for _, r := range text {
		w += t.glyph(r).advance
	}
	return w * size
}

// run is a piece of text in one face.
type run struct {
	text string
	face int
}

// runs cuts a text where the face changes. Control characters become blanks.
func (l *lettering) runs(text string, bold bool) []run {
	t := l.weight(bold)
	var out []run
	var b strings.Builder
	face := -1
	for _, r := range text {
		if r < ' ' {
			r = ' '
		}
		g := t.glyph(r)
		if g.missing {
			r = unprintable
		}
		if g.face != face {
			if b.Len() > 0 {
				out = append(out, run{b.String(), face})
				b.Reset()
			}
			face = g.face
		}
		b.WriteRune(r)
	}
	if b.Len() > 0 {
		out = append(out, run{b.String(), face})
	}
	return out
}

// wrap breaks a text into lines no wider than width, at blanks and, where a word is
// too long for a line of its own, within it.
func (l *lettering) wrap(text string, size, width float64, bold bool) []string {
	var lines []string
	for _, para := range strings.Split(text, "\n") {
		lines = append(lines, l.wrapLine(para, size, width, bold)...)
	}
	return lines
}

func (l *lettering) wrapLine(text string, size, width float64, bold bool) []string {
	words := strings.Fields(strings.ReplaceAll(text, "\u00a0", "\x00"))
	if len(words) == 0 {
		return []string{""}
	}
	t := l.weight(bold)
	space := t.glyph(' ').advance * size
	var lines []string
	line, used := "", 0.0
	for _, w := range words {
		w = strings.ReplaceAll(w, "\x00", "\u00a0")
		wide := l.width(w, size, bold)
		if line != "" && used+space+wide <= width {
			line += " " + w
			used += space + wide
			continue
		}
		if line != "" {
			lines = append(lines, line)
			line, used = "", 0
		}
		for wide > width {
			n := 0
			x := 0.0
			for i, r := range w {
				x += t.glyph(r).advance * size
				if x > width && i > 0 {
					n = i
					break
				}
			}
			if n == 0 {
				_, n = utf8.DecodeRuneInString(w)
			}
			lines = append(lines, w[:n])
			w = w[n:]
			wide = l.width(w, size, bold)
			if w == "" {
				break
			}
		}
		line, used = w, wide
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}
