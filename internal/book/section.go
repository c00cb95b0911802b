package book

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
)

// section draws the engine cut open, each space filled that is closed, with the date.
// Without outlines in the pack it is a list of spaces, each a lid or a gap.
func (b *builder) section() (*Drawing, string) {
	var says []string
	d := &Drawing{Width: 520, Height: 330}
	spaces := b.Assessment.Spaces
	outlines := map[string]*pack.Space{}
	var lowX, lowY, highX, highY float64
	first := true
	for _, s := range b.Pack.Spaces {
		outlines[s.Name] = s
		for _, data := range outlinesOf(s) {
			for _, g := range parsePath(data) {
				if g.op == 'Z' {
					continue
				}
				n := 2
				if g.op == 'C' {
					n = 6
				}
				for k := 0; k < n; k += 2 {
					x, y := g.p[k], g.p[k+1]
					if first {
						lowX, highX, lowY, highY, first = x, x, y, y, false
					}
					lowX, highX, lowY, highY = min(lowX, x), max(highX, x), min(lowY, y), max(highY, y)
				}
			}
		}
	}
	for _, s := range spaces {
		state := "open"
		if s.Closed {
			state = "closed"
		}
		says = append(says, titled(s.Title, s.Place)+" "+state)
	}
	if first {
		return b.spaceList(spaces), strings.Join(says, ", ")
	}
	const drawW, drawH = 270.0, 310.0
	k := min(drawW/(highX-lowX), drawH/(highY-lowY))
	ox := (d.Width - k*(highX-lowX)) / 2
	oy := (d.Height - k*(highY-lowY)) / 2
	at := func(x, y float64) (float64, float64) { return ox + k*(x-lowX), oy + k*(y-lowY) }
	type label struct {
		x, y float64
		s    *assess.Space
	}
	var left, right []label
	for i := range spaces {
		s := &spaces[i]
		p := outlines[s.Name]
		if p == nil {
			continue
		}
		data := outlineAt(p, s.Place)
		if data == "" {
			continue
		}
		fill, stroke := White, Black
		if s.Closed {
			fill, stroke = Blue, White
		}
		d.path(data, ox-k*lowX, oy-k*lowY, k, fill, stroke, 1.6, false)
		if !s.Closed {
			if c := coverAt(p, s.Place); c != "" {
				d.path(c, ox-k*lowX, oy-k*lowY, k, None, Grey, 0.8, false)
			}
		}
		lx, ly := middleOf(data)
		if l := labelAt(p, s.Place); l != nil {
			lx, ly = l[0], l[1]
		}
		px, py := at(lx, ly)
		entry := label{px, py, s}
		if px < d.Width/2-4 || px < d.Width/2+4 && len(left) < len(right) {
			left = append(left, entry)
		} else {
			right = append(right, entry)
		}
	}
	put := func(list []label, x float64, a align) {
		sortBy(list, func(l label) int { return int(l.y * 10) })
		gap := 30.0
		y := 16.0
		for i, l := range list {
			want := max(y, l.y)
			if rest := float64(len(list)-1-i) * gap; want > d.Height-18-rest {
				want = d.Height - 18 - rest
			}
			edge := x + 4
			if a == alignLeft {
				edge = x - 4
			}
			d.line(Grey, 0.7, l.x, l.y, edge, want-3)
			d.circle(l.x, l.y, 2, White, Black, 0.9)
			d.word(x, want, 9.5, true, Black, a, titled(l.s.Title, l.s.Place))
			when := "open"
			if c, ok := b.closed[[2]string{l.s.Name, l.s.Place}]; ok {
				when = stamp(c.at)
			} else if l.s.Closed {
				when = "closed"
			}
			d.word(x, want+11, 8.6, false, Grey, a, when)
			y = want + gap
		}
	}
	put(left, 112, alignRight)
	put(right, d.Width-112, alignLeft)
	return d, "The engine cut open: " + strings.Join(says, ", ")
}

// spaceList draws the spaces as a list of lids and gaps.
func (b *builder) spaceList(spaces []assess.Space) *Drawing {
	d := &Drawing{Width: 520, Height: max(60, float64(len(spaces)+1)/2*34)}
	for i, s := range spaces {
		x, y := float64(i%2)*260, float64(i/2)*34
		if s.Closed {
			d.rect(x+6, y+8, 22, 18, Blue, None, 0)
			d.rect(x+3, y+4, 28, 3, Blue, None, 0)
		} else {
			d.line(Black, 1.4, x+6, y+8, x+6, y+26, x+28, y+26, x+28, y+8)
		}
		d.word(x+40, y+15, 10, true, Black, alignLeft, titled(s.Title, s.Place))
		when := "open"
		if c, ok := b.closed[[2]string{s.Name, s.Place}]; ok {
			when = "closed " + stamp(c.at)
		} else if s.Closed {
			when = "closed"
		}
		d.word(x+40, y+27, 8.6, false, Grey, alignLeft, when)
	}
	return d
}

func outlinesOf(s *pack.Space) []string {
	if s.Outline == "" {
		return nil
	}
	return []string{s.Outline}
}

func outlineAt(s *pack.Space, place string) string { return s.Outline }
func coverAt(s *pack.Space, place string) string   { return s.Cover }

func labelAt(s *pack.Space, place string) []float64 {
	if len(s.Label) == 2 {
		return s.Label
	}
	return nil
}

// middleOf is the middle of the box around a path.
func middleOf(data string) (x, y float64) {
	var lowX, lowY, highX, highY float64
	for i, g := range parsePath(data) {
		if g.op == 'Z' {
			continue
		}
		px, py := g.p[0], g.p[1]
		if g.op == 'C' {
			px, py = g.p[4], g.p[5]
		}
		if i == 0 {
			lowX, highX, lowY, highY = px, px, py, py
		}
		lowX, highX, lowY, highY = min(lowX, px), max(highX, px), min(lowY, py), max(highY, py)
	}
	return (lowX + highX) / 2, (lowY + highY) / 2
}

var _ = fmt.Sprint
