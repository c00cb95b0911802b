package book

import (
	"fmt"
	"math"
	"strings"
)

// The measures of a sheet, in points.
const (
	marginSide = 42.0

	sizeTitle  = 18.0
	sizeHead   = 11.5
	sizeBody   = 10.0
	sizeSmall  = 8.6
	leading    = 1.28
	cellPad    = 2.2
	barHeight  = 15.5
	sizeReader = 12.0
	photoHigh  = 155.0
)

// flow lays blocks out on sheets, from the top down.
type flow struct {
	*canvas
	d           *Document
	y           float64
	left, right float64
	total       int // sheets of the whole document, 0 while they are counted
	title       string
	err         error
	// dry counts heights and draws nothing.
	depth int
}

// PDF lays the document out and returns the file. The same document gives the same
// bytes.
func (d *Document) PDF(id []byte) ([]byte, error) {
	l := newLettering()
	// Once to count the sheets, then for good: "sheet n of m" stands on each.
	first := d.layOut(l, 0)
	if first.err != nil {
		return nil, first.err
	}
	f := d.layOut(l, first.pages)
	if f.err != nil {
		return nil, f.err
	}
	return f.bytes(id)
}

func (d *Document) layOut(l *lettering, total int) *flow {
	f := &flow{canvas: newCanvas(d, l), d: d, total: total}
	f.left, f.right = marginSide, d.Paper.Width-marginSide
	for i, b := range d.Blocks {
		// A heading stays with what follows it.
		if h, ok := b.(*Heading); ok && h.Level > 1 && i+1 < len(d.Blocks) {
			f.room(f.headingHeight(h) + f.firstHeight(d.Blocks[i+1]))
		}
		f.block(b)
	}
	return f
}

// small says whether the sheet is a card.
func (f *flow) small() bool { return f.paper.Height < 400 }

// top and bottom bound what is set on a sheet.
func (f *flow) top() float64 {
	if f.small() {
		return 20
	}
	return 58
}

func (f *flow) bottom() float64 {
	if f.small() {
		return f.paper.Height - 40
	}
	return f.paper.Height - 52
}

// sheet begins a sheet.
func (f *flow) sheet() {
	f.begin()
	f.y = f.top()
	n := f.pages
	foot := f.paper.Height - 30
	if f.small() {
		foot = f.paper.Height - 22
	}
	f.line(marginSide, foot-12, f.paper.Width-marginSide, foot-12, 0.6, Line)
	number := fmt.Sprintf("sheet %d of %d", n, max(f.total, n))
	f.textRight(f.paper.Width-marginSide, foot, sizeSmall, false, Grey, number)
	for i, line := range f.wrap(f.d.Foot, sizeSmall-0.6, f.paper.Width-2*marginSide-f.width(number, sizeSmall, false)-14, false) {
		if i < 2 {
			f.text(marginSide, foot+float64(i)*9.6, sizeSmall-0.6, false, Grey, line)
		}
	}
	if n > 1 && f.d.Head != "" && !f.small() {
		f.text(marginSide, 34, sizeSmall, false, Grey, f.d.Head)
		if f.title != "" {
			f.textRight(f.paper.Width-marginSide, 34, sizeSmall, false, Grey, f.title)
		}
		f.line(marginSide, 40, f.paper.Width-marginSide, 40, 0.6, Line)
	}
}

// room begins a new sheet unless there is room for a height.
func (f *flow) room(h float64) bool {
	if f.pages == 0 {
		f.sheet()
		return true
	}
	if f.y+h > f.bottom() && f.y > f.top()+1 && f.depth == 0 {
		f.sheet()
		return true
	}
	return false
}

// firstHeight is what a block needs at least to begin on a sheet.
func (f *flow) firstHeight(b Block) float64 {
	switch b := b.(type) {
	case *Table:
		h := f.headHeight(b)
		for i := 0; i < len(b.Rows) && i < 2; i++ {
			h += f.rowHeight(b, &b.Rows[i])
		}
		return h
	case *Figure:
		_, h := f.figureSize(b)
		return h + 16
	case *Photos:
		return 170
	case *Heading:
		return 0
	}
	return 3 * sizeBody * leading
}

func (f *flow) block(b Block) {
	if f.err != nil {
		return
	}
	switch b := b.(type) {
	case *Heading:
		f.heading(b)
	case *Para:
		f.para(b)
	case *List:
		f.list(b)
	case *Table:
		f.table(b)
	case *Figure:
		f.figure(b)
	case *Photos:
		f.photosOf(b)
	case *Fields:
		f.fields(b)
	case *Signs:
		f.signsOf(b)
	case *Columns:
		f.columns(b)
	case *Cover:
		f.cover(b)
	case *Break:
		f.sheet()
	default:
		panic(fmt.Sprintf("book: a block of type %T cannot be printed", b))
	}
}

func (f *flow) headingHeight(h *Heading) float64 {
	switch h.Level {
	case 1:
		return sizeTitle*leading + 16
	case 2:
		return sizeHead*leading + 12
	}
	return sizeBody*leading + 8
}

func (f *flow) heading(h *Heading) {
	if h.Level == 1 {
		f.title = "" // the sheet itself tells it
		if !h.Stay || f.pages == 0 {
			f.sheet()
		} else {
			f.room(f.headingHeight(h) + math.Max(40, h.Room))
			f.y += 10
		}
		f.title = h.Text
		f.bookmark(1, f.y, h.Text)
		lines := f.wrap(h.Text, sizeTitle, f.right-f.left-f.width(h.Aside, sizeSmall, false)-12, true)
		for i, line := range lines {
			f.y += sizeTitle * 1.1
			f.text(f.left, f.y, sizeTitle, true, Black, line)
			if i == len(lines)-1 {
				f.textRight(f.right, f.y, sizeSmall, false, Grey, h.Aside)
			}
		}
		f.y += 7
		f.line(f.left, f.y, f.right, f.y, 2, Blue)
		f.y += 8
		return
	}
	f.room(f.headingHeight(h) + 20)
	size := sizeHead
	if h.Level > 2 {
		size = sizeBody
	} else {
		f.bookmark(2, f.y, h.Text)
	}
	f.y += 8
	for _, line := range f.wrap(h.Text, size, f.right-f.left-f.width(h.Aside, sizeSmall, false)-8, true) {
		f.y += size * 1.2
		f.text(f.left, f.y, size, true, Black, line)
	}
	f.textRight(f.right, f.y, sizeSmall, false, Grey, h.Aside)
	f.y += 4
}

func (s Style) size() float64 {
	switch s {
	case Lead:
		return sizeReader
	case Small:
		return sizeSmall
	}
	return sizeBody
}

func (f *flow) para(p *Para) {
	size, ink, left := p.Style.size(), Black, f.left
	if p.Style == Small {
		ink = Grey
	}
	if p.Style == Warning {
		left += 9
	}
	lines := f.wrap(p.Text, size, f.right-left, false)
	if p.Style == Warning {
		f.room(math.Min(float64(len(lines)), 12)*size*leading + 6)
		top := f.y
		f.linesAt(lines, left, size, ink)
		if f.y > top {
			f.line(f.left+1.5, top+2, f.left+1.5, f.y-2, 3, Black)
		}
		f.y += 3
		return
	}
	f.linesAt(lines, left, size, ink)
	f.y += 4
}

func (f *flow) linesAt(lines []string, left, size float64, ink Ink) {
	for _, line := range lines {
		f.room(size * leading)
		f.y += size * leading
		f.text(left, f.y-size*0.28, size, false, ink, line)
	}
}

func (f *flow) list(l *List) {
	for i, item := range l.Items {
		indent := 15.0
		lines := f.wrap(item.Text, sizeBody, f.right-f.left-indent, false)
		f.room(math.Min(float64(len(lines)), 4) * sizeBody * leading)
		top := f.y
		switch {
		case l.Numbered:
			f.text(f.left, top+sizeBody*1.04, sizeBody, true, Black, fmt.Sprintf("%d.", i+1))
		case item.Sign != "":
			var d Drawing
			d.sign(item.Sign, 0, 0, sizeBody, Black)
			f.draw(&d, f.left, top+sizeBody*0.18, 1)
		default:
			f.text(f.left+3, top+sizeBody*1.04, sizeBody, false, Black, "–")
		}
		f.linesAt(lines, f.left+indent, sizeBody, Black)
		f.y += 1.5
	}
	f.y += 3
}

func (f *flow) fields(b *Fields) {
	per := max(b.PerRow, 1)
	w := (f.right - f.left) / float64(per)
	for i := 0; i < len(b.List); i += per {
		row := b.List[i:min(i+per, len(b.List))]
		h := 0.0
		texts := make([][]string, len(row))
		for k, field := range row {
			texts[k] = f.wrap(field.Text, sizeBody, w-10, true)
			h = math.Max(h, sizeSmall*1.5+float64(len(texts[k]))*sizeBody*leading+5)
		}
		f.room(h)
		for k, field := range row {
			x := f.left + float64(k)*w
			f.text(x+4, f.y+sizeSmall*1.2, sizeSmall, false, Grey, field.Label)
			for n, line := range texts[k] {
				f.text(x+4, f.y+sizeSmall*1.5+float64(n+1)*sizeBody*leading-3, sizeBody, true, Black, line)
			}
		}
		f.line(f.left, f.y+h, f.right, f.y+h, 0.6, Line)
		f.y += h
	}
	f.y += 6
}

func (f *flow) signsOf(b *Signs) {
	per := 3
	w := (f.right - f.left) / float64(per)
	for i := 0; i < len(b.List); i += per {
		row := b.List[i:min(i+per, len(b.List))]
		f.room(62)
		for k, s := range row {
			x := f.left + float64(k)*w
			f.text(x, f.y+34, sizeReader, false, Blue, s.Text)
			f.line(x, f.y+38, x+w-14, f.y+38, 0.8, Black)
			for n, line := range f.wrap(s.Under, sizeSmall, w-14, false) {
				f.text(x, f.y+49+float64(n)*sizeSmall*1.2, sizeSmall, false, Grey, line)
			}
		}
		f.y += 66
	}
}

func (f *flow) figureSize(b *Figure) (w, h float64) {
	most := b.Most
	if most == 0 {
		most = f.paper.Height / 2
	}
	w = f.right - f.left
	h = w * b.Drawing.Height / b.Drawing.Width
	if h > most {
		w, h = most*b.Drawing.Width/b.Drawing.Height, most
	}
	return w, h
}

func (f *flow) figure(b *Figure) {
	w, h := f.figureSize(b)
	f.room(h + 16)
	f.draw(b.Drawing, f.left+(f.right-f.left-w)/2, f.y+4, w/b.Drawing.Width)
	f.y += h + 8
	if b.Caption != "" {
		f.para(&Para{Text: b.Caption, Style: Small})
	}
}

func (f *flow) photosOf(b *Photos) {
	gap := 12.0
	w := (f.right - f.left - gap) / 2
	for i := 0; i < len(b.List); i += 2 {
		row := b.List[i:min(i+2, len(b.List))]
		var pics [2]*picture
		var captions [2][]string
		h := 0.0
		for k := range row {
			p := &row[k]
			captions[k] = f.wrap(p.Caption, sizeSmall, w, false)
			high := 30.0
			if len(p.Content) > 0 {
				pic, err := newPicture(p.Content)
				if err != nil {
					p.Content, p.Missing = nil, err.Error()
				} else {
					pics[k] = pic
					_, high = pic.fit(w, photoHigh)
				}
			}
			h = math.Max(h, high+float64(len(captions[k]))*sizeSmall*leading+10)
		}
		f.room(h)
		for k := range row {
			x := f.left + float64(k)*(w+gap)
			foot := f.y + 4
			if pics[k] != nil {
				_, high, err := f.photo(pics[k], x, f.y+4, w, photoHigh)
				if err != nil {
					f.err = fmt.Errorf("photo %s cannot be printed: %w", row[k].SHA256, err)
					return
				}
				foot += high
			} else {
				f.text(x, f.y+22, sizeBody, false, Grey, "Not printed: "+row[k].Missing)
				foot += 26
			}
			for n, line := range captions[k] {
				f.text(x, foot+float64(n+1)*sizeSmall*leading, sizeSmall, false, Grey, line)
			}
		}
		f.y += h + 4
	}
}

// columns sets two columns side by side on one sheet; they must be short.
func (f *flow) columns(b *Columns) {
	gap := 18.0
	top, left, right := f.y, f.left, f.right
	share := b.Share
	if share == 0 {
		share = 0.5
	}
	middle := left + (right-left)*share
	f.depth++
	f.right = middle - gap/2
	for _, x := range b.Left {
		f.block(x)
	}
	foot := f.y
	f.y, f.left, f.right = top, middle+gap/2, right
	for _, x := range b.Right {
		f.block(x)
	}
	f.depth--
	f.left, f.y = left, math.Max(f.y, foot)
}

func (f *flow) cover(b *Cover) {
	f.sheet()
	top, foot := 40.0, f.paper.Height-52
	f.bookmark(1, top, b.Title)
	var box Drawing
	box.rect(0, 0, f.right-f.left, foot-top, None, Black, 1)
	box.mark(26, 24, 34)
	f.draw(&box, f.left, top, 1)
	f.text(f.left+72, top+46, sizeReader, false, Grey, b.Shop)
	f.y = top + 118
	f.text(f.left+26, f.y, 34, true, Blue, b.Title)
	for _, line := range f.wrap(b.Sub, 13, f.right-f.left-52, false) {
		f.y += 19
		f.text(f.left+26, f.y+6, 13, false, Black, line)
	}
	// The fields and the lines to sign stand at the foot, measured from below.
	per := max(b.Fields.PerRow, 1)
	rows := (len(b.Fields.List) + per - 1) / per
	signsHigh := 58.0
	high := float64(rows)*36 + signsHigh
	y := foot - high
	w := (f.right - f.left) / float64(per)
	for i, field := range b.Fields.List {
		x, fy := f.left+float64(i%per)*w, y+float64(i/per)*36
		if i%per == 0 {
			f.line(f.left, fy, f.right, fy, 0.8, Black)
		} else {
			f.line(x, fy, x, fy+36, 0.8, Black)
		}
		f.text(x+8, fy+13, sizeSmall, false, Grey, field.Label)
		size := sizeBody
		for size > 6.5 && f.width(field.Text, size, true) > w-14 {
			size -= 0.5
		}
		lines := f.wrap(field.Text, size, w-14, true)
		f.text(x+8, fy+27, size, true, Black, strings.Join(lines[:min(1, len(lines))], " "))
	}
	sy := foot - signsHigh
	f.line(f.left, sy, f.right, sy, 0.8, Black)
	sw := (f.right - f.left) / float64(max(len(b.Signs), 1))
	for i, s := range b.Signs {
		if i > 0 {
			f.line(f.left+float64(i)*sw, sy, f.left+float64(i)*sw, foot, 0.8, Black)
		}
		f.text(f.left+float64(i)*sw+8, sy+13, sizeSmall, false, Grey, s)
	}
	if b.Drawing != nil {
		space := y - f.y - 30
		k := math.Min((f.right-f.left-40)/b.Drawing.Width, space/b.Drawing.Height)
		f.draw(b.Drawing, f.left+(f.right-f.left-k*b.Drawing.Width)/2, f.y+20+(space-k*b.Drawing.Height)/2, k)
	}
	f.y = f.bottom() + 1
}
