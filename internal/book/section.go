package book

import (
	"cmp"
	"maps"
	"slices"
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
	const drawW, drawH, labelW = 236.0, 310.0, 134.0
	k := min(drawW/(highX-lowX), drawH/(highY-lowY))
	ox := (d.Width - k*(highX-lowX)) / 2
	oy := (d.Height - k*(highY-lowY)) / 2
	at := func(x, y float64) (float64, float64) { return ox + k*(x-lowX), oy + k*(y-lowY) }
	type label struct {
		x, y float64
		s    *assess.Space
	}
	var left, right []label
	for _, s := range largestFirst(spaces, outlines) {
		p := outlines[s.Name]
		data := p.OutlineAt(s.Place)
		fill, stroke := White, Black
		if s.Closed {
			fill, stroke = Blue, White
		}
		d.path(data, ox-k*lowX, oy-k*lowY, k, fill, stroke, 1.6, false)
		if !s.Closed {
			if c := p.CoverAt(s.Place); c != "" {
				d.path(c, ox-k*lowX, oy-k*lowY, k, None, Grey, 0.8, false)
			}
		}
		lx, ly := middleOf(data)
		if l := p.LabelAt(s.Place); l != nil {
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
		names := make([][]string, len(list))
		for i, l := range list {
			names[i] = cut(titled(l.s.Title, l.s.Place), 23, 2)
		}
		high := func(i int) float64 { return 19 + 11*float64(len(names[i])) }
		rest := 0.0
		for i := range list {
			rest += high(i)
		}
		y := 16.0
		for i, l := range list {
			want := min(max(y, l.y), d.Height-4-rest)
			rest -= high(i)
			edge := x + 4
			if a == alignLeft {
				edge = x - 4
			}
			d.line(Grey, 0.7, l.x, l.y, edge, want-3)
			d.circle(l.x, l.y, 2, White, Black, 0.9)
			for n, line := range names[i] {
				d.word(x, want+11*float64(n), 9.5, true, Black, a, line)
			}
			when := "open"
			if c, ok := b.closed[[2]string{l.s.Name, l.s.Place}]; ok {
				when = stamp(c.at)
			} else if l.s.Closed {
				when = "closed"
			}
			d.word(x, want+11*float64(len(names[i])), 8.6, false, Grey, a, when)
			y = want + high(i)
		}
	}
	put(left, labelW, alignRight)
	put(right, d.Width-labelW, alignLeft)
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

// outlinesOf are all outlines of a space, those of one member of its place among them.
func outlinesOf(s *pack.Space) []string {
	var list []string
	if s.Outline != "" {
		list = append(list, s.Outline)
	}
	for _, member := range slices.Sorted(maps.Keys(s.OutlineOf)) {
		list = append(list, s.OutlineOf[member])
	}
	return list
}

// largestFirst lists the spaces that are drawn so that a small one inside a large one is
// not covered by it.
func largestFirst(spaces []assess.Space, outlines map[string]*pack.Space) []*assess.Space {
	var list []*assess.Space
	size := map[*assess.Space]float64{}
	for i := range spaces {
		s := &spaces[i]
		if p := outlines[s.Name]; p != nil && p.OutlineAt(s.Place) != "" {
			lowX, lowY, highX, highY := boxOf(p.OutlineAt(s.Place))
			size[s] = (highX - lowX) * (highY - lowY)
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(a, b *assess.Space) int { return cmp.Compare(size[b], size[a]) })
	return list
}

// middleOf is the middle of the box around a path.
func middleOf(data string) (x, y float64) {
	lowX, lowY, highX, highY := boxOf(data)
	return (lowX + highX) / 2, (lowY + highY) / 2
}

// boxOf is the box around the ends of the pieces of a path.
func boxOf(data string) (lowX, lowY, highX, highY float64) {
	first := true
	for _, g := range parsePath(data) {
		if g.op == 'Z' {
			continue
		}
		px, py := g.p[0], g.p[1]
		if g.op == 'C' {
			px, py = g.p[4], g.p[5]
		}
		if first {
			lowX, highX, lowY, highY, first = px, px, py, py, false
		}
		lowX, highX, lowY, highY = min(lowX, px), max(highX, px), min(lowY, py), max(highY, py)
	}
	return lowX, lowY, highX, highY
}
