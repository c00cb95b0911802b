package book

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"strconv"
	"strings"
)

//go:embed book.css
var sheetStyle string

// HTML returns the document as one page that needs nothing else: letters, drawings and
// photos are in it. It holds what the PDF holds, without the sheets.
func (d *Document) HTML() ([]byte, error) {
	w := &page{}
	w.add(`<!doctype html>`+"\n"+`<html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><title>%s</title>`, esc(d.Title))
	w.add(`<style>@font-face{font-family:B612;font-weight:400;src:url(data:font/ttf;base64,%s)}@font-face{font-family:B612;font-weight:700;src:url(data:font/ttf;base64,%s)}`+"\n%s</style></head><body>\n",
		base64.StdEncoding.EncodeToString(regularFont), base64.StdEncoding.EncodeToString(boldFont), sheetStyle)
	if d.Head != "" {
		w.add("<p class=\"head\">%s</p>\n", esc(d.Head))
	}
	w.contents(d)
	for _, b := range d.Blocks {
		if err := w.block(b); err != nil {
			return nil, err
		}
	}
	w.add("<footer>%s</footer>\n</body></html>\n", esc(d.Foot))
	return w.Bytes(), nil
}

// page is HTML under way.
type page struct {
	bytes.Buffer
	sections int
}

func (w *page) add(format string, args ...any) { fmt.Fprintf(w, format, args...) }

func esc(s string) string { return strings.ReplaceAll(html.EscapeString(s), "\n", "<br>") }

// contents lists the sections, as bookmarks do in a PDF.
func (w *page) contents(d *Document) {
	n := 0
	var links []string
	for _, b := range d.Blocks {
		if h, ok := b.(*Heading); ok && h.Level == 1 {
			n++
			links = append(links, fmt.Sprintf(`<li><a href="#s%d">%s</a></li>`, n, esc(h.Text)))
		}
	}
	if n > 1 {
		w.add("<nav><ol>%s</ol></nav>\n", strings.Join(links, ""))
	}
}

func (w *page) block(b Block) error {
	switch b := b.(type) {
	case *Heading:
		level := min(b.Level, 3)
		id := ""
		if level == 1 {
			w.sections++
			id = fmt.Sprintf(` id="s%d"`, w.sections)
		}
		aside := ""
		if b.Aside != "" {
			aside = ` <small>` + esc(b.Aside) + `</small>`
		}
		w.add("<h%d%s>%s%s</h%d>\n", level, id, esc(b.Text), aside, level)
	case *Para:
		if b.PaperOnly {
			return nil
		}
		w.add("<p class=\"%s\">%s</p>\n", [...]string{"body", "lead", "note", "warn"}[b.Style], esc(b.Text))
	case *List:
		tag := "ul"
		if b.Numbered {
			tag = "ol"
		}
		w.add("<%s>", tag)
		for _, i := range b.Items {
			w.add("<li>%s%s</li>", w.signHTML(i.Sign, Black), esc(i.Text))
		}
		w.add("</%s>\n", tag)
	case *Table:
		w.tableHTML(b)
	case *Figure:
		w.add("<figure>%s", w.svg(b.Drawing, b.Says, "fig"))
		if b.Caption != "" {
			w.add("<figcaption>%s</figcaption>", esc(b.Caption))
		}
		w.add("</figure>\n")
	case *Photos:
		w.photosHTML(b)
	case *Fields:
		w.add("<dl class=\"fields\">")
		for _, f := range b.List {
			w.add("<div><dt>%s</dt><dd>%s</dd></div>", esc(f.Label), esc(f.Text))
		}
		w.add("</dl>\n")
	case *Signs:
		w.add("<div class=\"signs\">")
		for _, s := range b.List {
			w.add("<div><b>%s</b><span>%s</span></div>", esc(s.Text), esc(s.Under))
		}
		w.add("</div>\n")
	case *Columns:
		w.add("<div class=\"cols\"><div>")
		for _, x := range b.Left {
			if err := w.block(x); err != nil {
				return err
			}
		}
		w.add("</div><div>")
		for _, x := range b.Right {
			if err := w.block(x); err != nil {
				return err
			}
		}
		w.add("</div></div>\n")
	case *Cover:
		w.add("<header class=\"cover\"><p>%s</p><h1>%s</h1><p class=\"lead\">%s</p>\n", esc(b.Shop), esc(b.Title), esc(b.Sub))
		if b.Drawing != nil {
			w.add("%s", w.svg(b.Drawing, b.Says, "fig"))
		}
		if err := w.block(b.Fields); err != nil {
			return err
		}
		w.add("</header>\n")
	case *Break:
		w.add("<hr>\n")
	default:
		return fmt.Errorf("a block of type %T cannot be written as HTML", b)
	}
	return nil
}

func (w *page) tableHTML(t *Table) {
	class := "t"
	if t.Small {
		class += " small"
	}
	if t.Grid {
		class += " grid"
	}
	w.add("<div class=\"wide\"><table class=\"%s\">", class)
	headed := false
	for _, c := range t.Columns {
		headed = headed || c.Head != ""
	}
	right := func(i int) string {
		if i < len(t.Columns) && t.Columns[i].Right {
			return ` class="r"`
		}
		return ""
	}
	if headed {
		w.add("<thead><tr>")
		for i, c := range t.Columns {
			w.add("<th%s>%s</th>", right(i), esc(c.Head))
		}
		w.add("</tr></thead>")
	}
	w.add("<tbody>\n")
	for i := range t.Rows {
		r := &t.Rows[i]
		if r.Group != "" {
			w.add("<tr class=\"g\"><th colspan=\"%d\">%s</th></tr>\n", len(t.Columns), esc(r.Group))
			continue
		}
		w.add("<tr%s>", map[bool]string{true: ` class="struck"`}[r.Struck])
		for k, c := range r.Cells {
			w.add("<td%s>%s", right(k), w.signHTML(c.Sign, c.Ink))
			text := esc(c.Text)
			if c.Bold {
				text = "<b>" + text + "</b>"
			}
			if r.Struck && text != "" {
				text = "<s>" + text + "</s>"
			}
			if c.Ink != Black && text != "" {
				text = `<span class="` + inkClass[c.Ink] + `">` + text + `</span>`
			}
			w.add("%s", text)
			if c.Second != "" {
				w.add("<small>%s</small>", esc(c.Second))
			}
			if c.Bar != nil {
				w.add("%s", w.svg(c.Bar, "", "bar"))
			}
			w.add("</td>")
		}
		w.add("</tr>\n")
		if r.Under != "" {
			w.add("<tr class=\"u\"><td colspan=\"%d\">%s</td></tr>\n", len(t.Columns), esc(r.Under))
		}
	}
	w.add("</tbody></table></div>\n")
}

func (w *page) photosHTML(b *Photos) {
	w.add("<div class=\"photos\">")
	for _, p := range b.List {
		w.add("<figure>")
		pic, err := newPicture(p.Content)
		switch {
		case len(p.Content) == 0:
			w.add("<p class=\"note\">Not printed: %s</p>", esc(p.Missing))
		case err != nil:
			w.add("<p class=\"note\">Not printed: %s</p>", esc(err.Error()))
		default:
			kind := "jpeg"
			if pic.png {
				kind = "png"
			}
			w.add("<img class=\"o%d\" alt=\"%s\" src=\"data:image/%s;base64,%s\">", pic.orientation, esc(p.Caption), kind, base64.StdEncoding.EncodeToString(pic.content))
		}
		w.add("<figcaption>%s</figcaption></figure>\n", esc(p.Caption))
	}
	w.add("</div>\n")
}

// inkClass names the inks for the style sheet.
var inkClass = [...]string{Black: "k", Grey: "grey", Line: "line", Blue: "blue", Good: "good", Worn: "worn", Used: "used", Unsure: "unsure", White: "white", Wash: "wash", Shade: "shade", None: "none"}

func (w *page) signHTML(name string, ink Ink) string {
	if _, ok := signs[name]; !ok {
		return ""
	}
	d := &Drawing{Width: 24, Height: 24}
	d.sign(name, 0, 0, 24, ink)
	return w.svg(d, "", "sign")
}

func number(v float64) string { return strconv.FormatFloat(round2(v), 'f', -1, 64) }

func round2(v float64) float64 {
	if v < 0 {
		return -round2(-v)
	}
	return float64(int64(v*100+0.5)) / 100
}

func colourOf(ink Ink) string {
	c := colours[ink]
	return fmt.Sprintf("#%02x%02x%02x", int(c[0]*255+0.5), int(c[1]*255+0.5), int(c[2]*255+0.5))
}

// svg draws a drawing.
func (w *page) svg(d *Drawing, says, class string) string {
	var b strings.Builder
	label := ` aria-hidden="true"`
	if says != "" {
		label = ` role="img" aria-label="` + html.EscapeString(says) + `"`
	}
	fmt.Fprintf(&b, `<svg class="%s" viewBox="0 0 %s %s"%s>`, class, number(d.Width), number(d.Height), label)
	for _, s := range d.shapes {
		if s.text != "" {
			anchor := [...]string{"start", "middle", "end"}[s.alignment]
			weight := ""
			if s.bold {
				weight = ` font-weight="700"`
			}
			fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="%s" fill="%s"%s>%s</text>`, number(s.x), number(s.y), number(s.size), anchor, colourOf(s.fill), weight, html.EscapeString(s.text))
			continue
		}
		b.WriteString(`<path d="`)
		for _, g := range s.path {
			n := map[byte]int{'M': 2, 'L': 2, 'C': 6}[g.op]
			b.WriteByte(g.op)
			for i := range n {
				if i > 0 {
					b.WriteByte(' ')
				}
				b.WriteString(number(g.p[i]))
			}
		}
		b.WriteString(`" fill="`)
		if s.fill == None {
			b.WriteString("none")
		} else {
			b.WriteString(colourOf(s.fill))
		}
		b.WriteByte('"')
		if s.evenOdd {
			b.WriteString(` fill-rule="evenodd"`)
		}
		if s.stroke != None && s.width > 0 {
			fmt.Fprintf(&b, ` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, colourOf(s.stroke), number(s.width))
		}
		b.WriteString("/>")
	}
	b.WriteString("</svg>")
	return b.String()
}
