package pack

import (
	"fmt"
	"slices"
	"strings"

	"buttonup/pack/syntax"
)

// Heading is what a pack that is written anew is called.
type Heading struct{ ID, Title, Revision, Source string }

// Write writes the pack with all that was merged over it as one pack that stands by
// itself: its template is in it, and so are the pieces of pack text of a job. Empty
// fields of the heading keep what the pack says.
func (p *Pack) Write(h Heading) []byte {
	var out strings.Builder
	for i, b := range p.blocks {
		d := syntax.DraftOf(b)
		d.Lines = slices.DeleteFunc(d.Lines, func(l syntax.Line) bool { return l.Name == "blank" && l.Expression == "[]" })
		if b.Kind == "pack" {
			d.Lines = slices.DeleteFunc(d.Lines, func(l syntax.Line) bool { return l.Name == "extends" })
			if h.ID != "" {
				d.Name = h.ID
			}
			replace(&d, "title", h.Title)
			replace(&d, "revision", h.Revision)
			replace(&d, "source", h.Source)
		}
		if i > 0 {
			out.WriteString("\n")
		}
		fmt.Fprint(&out, d.String())
	}
	return []byte(out.String())
}

func replace(d *syntax.Draft, name, text string) {
	if text == "" {
		return
	}
	for i := range d.Lines {
		if d.Lines[i].Name == name {
			d.Lines[i].Expression = syntax.Quote(text)
			return
		}
	}
	d.Text(name, text)
}
