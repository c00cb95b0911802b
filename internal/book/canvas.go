package book

import (
	"bytes"
	"fmt"
	"time"

	"github.com/carlos7ags/folio/document"
	"github.com/carlos7ags/folio/font"
	"github.com/carlos7ags/folio/image"
)

// canvas is a PDF file under way. Everything above it counts from the upper left
// corner downwards, in points.
type canvas struct {
	doc   *document.Document
	paper Paper
	page  *document.Page
	// pages counts the sheets that were begun.
	pages int
	*lettering
	fonts  [2][2]*font.EmbeddedFont // by weight and face
	photos map[string]*image.Image
	// tops collects where bookmarks point.
	outline []mark
}

type mark struct {
	level, page int
	top         float64
	title       string
}

func newCanvas(d *Document, l *lettering) *canvas {
	c := &canvas{paper: d.Paper, lettering: l, photos: map[string]*image.Image{}}
	c.doc = document.NewDocument(document.PageSize{Width: d.Paper.Width, Height: d.Paper.Height})
	c.doc.Info = document.Info{Title: d.Title, Keywords: d.Subject, Creator: "Buttonup", Producer: "Buttonup", CreationDate: d.Made.UTC(), ModDate: d.Made.UTC(), Language: "en-GB"}
	// What stands in the older dictionary stands in the XMP too.
	c.doc.SetPdfA(document.PdfAConfig{Level: document.PdfA2U, XMPProperties: []document.XMPPropertyBlock{
		{Namespace: "http://ns.adobe.com/pdf/1.3/", Prefix: "pdf", Properties: []document.XMPProperty{{Name: "Keywords", Value: d.Subject}}}}})
	for w := range c.fonts {
		for f := range c.fonts[w] {
			c.fonts[w][f] = font.NewEmbeddedFont(l.weights[w].faces[f])
		}
	}
	return c
}

func (c *canvas) begin() {
	c.page = c.doc.AddPage()
	c.pages++
	// White paper first: it also begins the sheet's stream.
	c.page.AddRectFilled(0, 0, c.paper.Width, c.paper.Height, colours[White])
}

func (c *canvas) colour(ink Ink, stroke bool) {
	k := colours[ink]
	s := c.page.ContentStream()
	if stroke {
		s.SetStrokeColorRGB(k[0], k[1], k[2])
		return
	}
	s.SetFillColorRGB(k[0], k[1], k[2])
}

// text sets a line with its baseline at y and returns its width.
func (c *canvas) text(x, y, size float64, bold bool, ink Ink, text string) float64 {
	w := 0
	if bold {
		w = 1
	}
	start := x
	for _, r := range c.runs(text, bold) {
		// The colour stands before each piece, outside of its text object.
		c.colour(ink, false)
		c.page.AddTextEmbedded(r.text, c.fonts[w][r.face], size, x, c.paper.Height-y)
		x += c.width(r.text, size, bold)
	}
	return x - start
}

func (c *canvas) textRight(x, y, size float64, bold bool, ink Ink, text string) {
	c.text(x-c.width(text, size, bold), y, size, bold, ink, text)
}

func (c *canvas) line(x0, y0, x1, y1, width float64, ink Ink) {
	s := c.page.ContentStream()
	c.colour(ink, true)
	s.SetLineWidth(width)
	s.MoveTo(x0, c.paper.Height-y0)
	s.LineTo(x1, c.paper.Height-y1)
	s.Stroke()
}

// draw shows a drawing with its upper left corner at x, y, scaled.
func (c *canvas) draw(d *Drawing, x, y, k float64) {
	s := c.page.ContentStream()
	px := func(v float64) float64 { return x + k*v }
	py := func(v float64) float64 { return c.paper.Height - (y + k*v) }
	for _, sh := range d.shapes {
		if sh.text != "" {
			tx := px(sh.x)
			wide := c.width(sh.text, k*sh.size, sh.bold)
			switch sh.alignment {
			case alignMiddle:
				tx -= wide / 2
			case alignRight:
				tx -= wide
			}
			c.text(tx, y+k*sh.y, k*sh.size, sh.bold, sh.fill, sh.text)
			continue
		}
		fill, stroke := sh.fill != None, sh.stroke != None && sh.width > 0
		if !fill && !stroke {
			continue
		}
		s.SaveState()
		if fill {
			c.colour(sh.fill, false)
		}
		if stroke {
			c.colour(sh.stroke, true)
			s.SetLineWidth(k * sh.width)
			s.SetLineJoin(1)
			if len(sh.dash) > 0 {
				dash := make([]float64, len(sh.dash))
				for i := range dash {
					dash[i] = k * sh.dash[i]
				}
				s.SetDashPattern(dash, 0)
			}
		}
		for _, g := range sh.path {
			switch g.op {
			case 'M':
				s.MoveTo(px(g.p[0]), py(g.p[1]))
			case 'L':
				s.LineTo(px(g.p[0]), py(g.p[1]))
			case 'C':
				s.CurveTo(px(g.p[0]), py(g.p[1]), px(g.p[2]), py(g.p[3]), px(g.p[4]), py(g.p[5]))
			case 'Z':
				s.ClosePath()
			}
		}
		switch {
		case fill && stroke && sh.evenOdd:
			s.FillEvenOddAndStroke()
		case fill && stroke:
			s.FillAndStroke()
		case fill && sh.evenOdd:
			s.FillEvenOdd()
		case fill:
			s.Fill()
		default:
			s.Stroke()
		}
		s.RestoreState()
	}
}

// photo shows a picture in a box of the given width and returns its height; the most
// it may have is most.
func (c *canvas) photo(p *picture, x, y, width, most float64) (w, h float64, err error) {
	img, ok := c.photos[p.sum]
	if !ok {
		if p.png {
			img, err = image.NewPNG(p.content)
		} else {
			img, err = image.NewJPEG(p.content)
		}
		if err != nil {
			return 0, 0, err
		}
		c.photos[p.sum] = img
	}
	w, h = p.fit(width, most)
	// The picture stands in a square of one, which is turned as the camera was held.
	m := p.turn()
	left, foot := x, c.paper.Height-y-h
	s := c.page.ContentStream()
	s.SaveState()
	s.ConcatMatrix(w, 0, 0, h, left, foot)
	s.ConcatMatrix(m[0], m[1], m[2], m[3], m[4], m[5])
	c.page.AddImage(img, 0, 0, 1, 1)
	s.RestoreState()
	return w, h, nil
}

func (c *canvas) bookmark(level int, top float64, title string) {
	c.outline = append(c.outline, mark{level, c.pages - 1, c.paper.Height - top, title})
}

// bytes writes the file.
func (c *canvas) bytes(id []byte) ([]byte, error) {
	var above *document.Outline
	for _, m := range c.outline {
		dest := document.XYZDest(m.page, 0, m.top+6, 0)
		if m.level == 1 || above == nil {
			above = c.doc.AddOutline(m.title, dest)
			continue
		}
		above.AddChild(m.title, dest)
	}
	c.doc.SetFileID(id)
	var b bytes.Buffer
	if _, err := c.doc.WriteToWithOptions(&b, document.WriteOptions{Deterministic: true, RecompressStreams: true}); err != nil {
		return nil, fmt.Errorf("write the PDF: %w", err)
	}
	return b.Bytes(), nil
}

// stamp prints a time as the book tells it: with the zone it was written in.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 2006 15:04")
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2 Jan 2006")
}
