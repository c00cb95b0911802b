package book

import "math"

func (f *flow) tableSize(t *Table) (text, second float64) {
	if t.Small {
		return 8.1, 7.5
	}
	if s := f.d.Lettering; s > 0 {
		return s, s - 1.2
	}
	return 8.9, 7.7
}

// widths shares the width of the table out.
func (f *flow) widths(t *Table) []float64 {
	sum := 0.0
	for _, c := range t.Columns {
		sum += c.Share
	}
	w := make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		w[i] = (f.right - f.left) * c.Share / sum
	}
	return w
}

func (f *flow) headHeight(t *Table) float64 {
	for _, c := range t.Columns {
		if c.Head != "" {
			return sizeSmall*leading + 6
		}
	}
	return 0
}

func (f *flow) tableHead(t *Table) {
	h := f.headHeight(t)
	if h == 0 {
		return
	}
	x := f.left
	for i, w := range f.widths(t) {
		c := t.Columns[i]
		if c.Right {
			f.textRight(x+w-4, f.y+sizeSmall+2, sizeSmall, false, Grey, c.Head)
		} else {
			f.text(x+2, f.y+sizeSmall+2, sizeSmall, false, Grey, c.Head)
		}
		x += w
	}
	f.y += h
	f.line(f.left, f.y, f.right, f.y, 1, Black)
}

// laid is a row whose lines have been broken.
type laid struct {
	text, second [][]string
	under        []string
	height       float64
}

func (f *flow) lay(t *Table, r *Row) laid {
	size, small := f.tableSize(t)
	if r.Group != "" {
		return laid{height: size*leading + 8}
	}
	var l laid
	widths := f.widths(t)
	for i, c := range r.Cells {
		w := widths[i] - 6
		if c.Sign != "" {
			w -= size + 3
		}
		var a, b []string
		h := 0.0
		if c.Text != "" {
			a = f.wrap(c.Text, size, w, c.Bold)
			h += float64(len(a)) * size * leading
		}
		if c.Second != "" {
			b = f.wrap(c.Second, small, widths[i]-6, false)
			h += float64(len(b)) * small * leading
		}
		if c.Bar != nil {
			h = math.Max(h, barHeight)
		}
		l.text, l.second = append(l.text, a), append(l.second, b)
		l.height = math.Max(l.height, h)
	}
	if r.Under != "" {
		l.under = f.wrap(r.Under, small, f.right-f.left-8, false)
		l.height += float64(len(l.under)) * small * leading
	}
	l.height = math.Max(l.height, r.Blank) + 2*cellPad
	return l
}

func (f *flow) rowHeight(t *Table, r *Row) float64 { return f.lay(t, r).height }

func (f *flow) table(t *Table) {
	if len(t.Rows) == 0 {
		return
	}
	f.room(f.firstHeight(t))
	f.tableHead(t)
	for i := range t.Rows {
		r := &t.Rows[i]
		l := f.lay(t, r)
		need := l.height
		if r.Group != "" && i+1 < len(t.Rows) {
			need += f.rowHeight(t, &t.Rows[i+1]) // a heading does not stand alone at the foot
		}
		if f.room(math.Min(need, f.bottom()-f.top()-40)) {
			f.tableHead(t)
		}
		if l.height > f.bottom()-f.y && len(l.under) > 0 && f.depth == 0 {
			f.longRow(t, r, l)
			continue
		}
		f.row(t, r, l)
	}
	f.y += 6
}

// longRow sets a row that is higher than a sheet: its cells, then the lines below
// them wherever they go.
func (f *flow) longRow(t *Table, r *Row, l laid) {
	_, small := f.tableSize(t)
	under := l.under
	l.height -= float64(len(under)) * small * leading
	l.under = nil
	f.row(t, r, l)
	for _, line := range under {
		if f.room(small * leading) {
			f.tableHead(t)
		}
		f.y += small * leading
		f.text(f.left+8, f.y-small*0.28, small, false, Grey, line)
	}
	f.y += cellPad
	f.line(f.left, f.y, f.right, f.y, 0.5, Line)
}

func (f *flow) row(t *Table, r *Row, l laid) {
	size, small := f.tableSize(t)
	top := f.y
	if r.Group != "" {
		f.text(f.left+2, top+size*leading+3, size, true, Blue, r.Group)
		f.y += l.height
		f.line(f.left, f.y, f.right, f.y, 0.8, Blue)
		return
	}
	ink := Black
	if r.Struck {
		ink = Grey
	}
	x := f.left
	widths := f.widths(t)
	deepest := top + cellPad
	for i, c := range r.Cells {
		w := widths[i]
		y := top + cellPad
		cx := x + 2
		text := c.Ink
		if text == Black {
			text = ink
		}
		if c.Sign != "" {
			var d Drawing
			d.sign(c.Sign, 0, 0, size, c.Ink)
			f.draw(&d, cx, y+1, 1)
			cx += size + 3
		}
		if c.Bar != nil {
			k := math.Min((w-8)/c.Bar.Width, barHeight/c.Bar.Height)
			f.draw(c.Bar, x+2, y, k)
		}
		for _, line := range l.text[i] {
			y += size * leading
			at, wide := cx, f.width(line, size, c.Bold)
			if t.Columns[i].Right {
				at = x + w - 4 - wide
			}
			f.text(at, y-size*0.28, size, c.Bold, text, line)
			if r.Struck && line != "" {
				f.line(at, y-size*0.58, at+wide, y-size*0.58, 0.9, Black)
			}
		}
		for _, line := range l.second[i] {
			y += small * leading
			at, wide := x+2, f.width(line, small, false)
			if t.Columns[i].Right {
				at = x + w - 4 - wide
			}
			f.text(at, y-small*0.28, small, false, Grey, line)
			if r.Struck {
				f.line(at, y-small*0.58, at+wide, y-small*0.58, 0.7, Black)
			}
		}
		deepest = math.Max(deepest, y)
		if c.Bar != nil {
			deepest = math.Max(deepest, top+cellPad+barHeight)
		}
		if t.Grid && i > 0 {
			f.line(x-1, top, x-1, top+l.height, 0.8, Black)
		}
		x += w
	}
	for _, line := range l.under {
		deepest += small * leading
		f.text(f.left+8, deepest-small*0.28, small, false, Grey, line)
	}
	f.y += l.height
	if t.Grid {
		f.line(f.left, top, f.right, top, 0.8, Black)
		f.line(f.left, f.y, f.right, f.y, 0.8, Black)
		f.line(f.left, top, f.left, f.y, 0.8, Black)
		f.line(f.right, top, f.right, f.y, 0.8, Black)
		return
	}
	f.line(f.left, f.y, f.right, f.y, 0.5, Line)
}
