package web

import (
	"cmp"
	"fmt"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"

	"buttonup/pack"
)

// sectionDrawing draws the engine cut open from the outlines of its pack: closed spaces
// filled, open ones with their cover drawn off, the next to close with a heavy cover, and
// in each how much is left to do. It is empty for a pack without outlines.
func sectionDrawing(v *spacesView) string {
	const width, side, row = 358.0, 96.0, 54.0
	var list []*drawnSpace
	bounds := emptyBox
	for i := range v.Spaces {
		x := &v.Spaces[i]
		for _, sp := range v.Sheet.pack.Spaces {
			if sp.Name == x.Name && sp.OutlineAt(x.Place) != "" {
				d := &drawnSpace{spaceLine: x, outline: sp.OutlineAt(x.Place), cover: sp.CoverAt(x.Place), short: shortSpace(sp)}
				d.box = boxOfPath(d.outline)
				d.x, d.y = (d.box.left+d.box.right)/2, (d.box.top+d.box.bottom)/2
				if at := sp.LabelAt(x.Place); at != nil {
					d.x, d.y = at[0], at[1]
				}
				bounds = bounds.with(d.box)
				if d.cover != "" {
					bounds = bounds.with(boxOfPath(d.cover))
				}
				list = append(list, d)
			}
		}
	}
	if len(list) == 0 || !(bounds.right > bounds.left) || !(bounds.bottom > bounds.top) {
		return ""
	}
	left, right := sides(list, (bounds.left+bounds.right)/2)
	height := math.Max(260, row*float64(max(len(left), len(right))))
	k := math.Min((width-2*side-12)/(bounds.right-bounds.left), (height-12)/(bounds.bottom-bounds.top))
	ox := width/2 - k*(bounds.left+bounds.right)/2
	oy := height/2 - k*(bounds.top+bounds.bottom)/2
	at := func(d *drawnSpace) (float64, float64) { return ox + k*d.x, oy + k*d.y }

	var d drawing
	d.add(`<g transform="translate(%s %s) scale(%s)">`, px(ox), px(oy), strconv.FormatFloat(k, 'f', 4, 64))
	slices.SortStableFunc(list, func(a, b *drawnSpace) int { return cmp.Compare(b.box.area(), a.box.area()) })
	line := func(w float64) string { return px(math.Round(w/k*10) / 10) }
	for _, x := range list {
		fill, stroke := "f-sheet", "s-ink"
		if x.Closed {
			fill, stroke = "f-fill", "s-onblue"
		}
		d.add(`<path d="%s" class="%s %s" stroke-width="%s" stroke-linejoin="round"/>`, html.EscapeString(x.outline), fill, stroke, line(1.5))
		switch {
		case x.cover == "" || x.Closed:
		case x.Next:
			d.add(`<path d="%s" class="f-none s-blue" stroke-width="%s"/>`, html.EscapeString(x.cover), line(3.5))
		default:
			d.add(`<path d="%s" class="f-none s-ink2" stroke-width="%s" stroke-dasharray="%s %s"/>`, html.EscapeString(x.cover), line(1), line(3), line(4))
		}
	}
	d.add(`</g>`)
	for s, column := range [][]*drawnSpace{left, right} {
		for i, x := range column {
			y := height/float64(len(column))*(float64(i)+0.5) - row/2
			d.leader(x, s == 1, y, width, side, row, at)
		}
	}
	return svg(fmt.Sprintf(`class="dr section" viewBox="0 0 358 %s" role="group" aria-label="%s"`, px(height), "The engine cut open; each name leads to its space below"), &d)
}

// drawnSpace is a space with where it is drawn.
type drawnSpace struct {
	*spaceLine
	outline, cover, short string
	box                   box
	x, y                  float64
}

// leader writes the name of a space beside the drawing, with a line to it. The name is a
// link as large as a thumb.
func (d *drawing) leader(x *drawnSpace, right bool, y, width, side, row float64, at func(*drawnSpace) (float64, float64)) {
	cx, cy := at(x)
	edge, end, text, anchor := side-2, 0.0, side-6, "end"
	if right {
		edge, end, text, anchor = width-side+2, width-side, width-side+6, ""
	}
	ink := "s-ink2"
	dot := "f-paper s-ink"
	if x.Closed {
		dot = "f-onblue s-ink"
	}
	d.add(`<path d="M%s %sL%s %s" class="f-none %s" stroke-width="0.8"/>`, px(cx), px(cy), px(edge), px(y+row/2-5), ink)
	left := len(x.Open)
	if x.Closed {
		left = len(x.Over)
	}
	if left > 0 {
		fill, words := "f-paper s-ink", ""
		if x.Closed || x.Next {
			fill, words = "f-worn", " tpaper"
		}
		radius := 9.0
		if left > 99 {
			radius = 12
		}
		d.add(`<circle cx="%s" cy="%s" r="%s" class="%s" stroke-width="1.3"/>`, px(cx), px(cy), px(radius), fill)
		d.text(cx, cy+4, "mid b t12"+words, strconv.Itoa(left))
	} else {
		d.add(`<circle cx="%s" cy="%s" r="3" class="%s" stroke-width="1.2"/>`, px(cx), px(cy), dot)
	}
	state, class := "open", "t12 c2"
	switch {
	case x.Closed && left > 0:
		state, class = "closed over "+strconv.Itoa(left), "t12 cw"
	case x.Closed:
		state, class = "closed", "t12 cb"
	case x.Next:
		state, class = "closes next", "t12 b cb"
	case left > 0:
		state = strconv.Itoa(left) + " left"
	}
	where := ""
	if x.Place != "" {
		where = x.Place
	}
	d.add(`<a href="#%s"><rect x="%s" y="%s" width="%s" height="%s" class="hit"/>`, html.EscapeString(x.ID), px(end), px(y+0.5), px(side), px(row-1))
	lines := wrapWords(x.short, 13)
	top := y + row/2 - 4
	if len(lines) > 1 {
		top -= 7
	}
	for i, l := range lines {
		d.text(text, top+14*float64(i), strings.TrimSpace("b t12 "+anchor), l)
	}
	if where != "" {
		state = where + ", " + state
		if len([]rune(state)) > 15 {
			state = strings.TrimPrefix(state, where+", ")
		}
	}
	d.text(text, top+14*float64(len(lines)), strings.TrimSpace(class+" "+anchor), state)
	d.add(`</a>`)
}

// wrapWords breaks a title into at most two lines of about so many letters.
func wrapWords(title string, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(title) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > most {
			lines = append(lines, line)
			line = word
			continue
		}
		line = strings.TrimSpace(line + " " + word)
	}
	lines = append(lines, line)
	if len(lines) > 2 {
		lines = lines[:2]
		lines[1] += "…"
	}
	for i, l := range lines {
		if r := []rune(l); len(r) > most+1 {
			lines[i] = string(r[:most]) + "…"
		}
	}
	return lines
}

// shortSpace is the title of a space up to where it begins to list or to explain.
func shortSpace(sp *pack.Space) string {
	title := sp.Title
	for _, cut := range []string{",", " and ", " with ", " in the ", " of the ", " ("} {
		if i := strings.Index(title, cut); i > 3 {
			title = title[:i]
		}
	}
	return title
}

// sides shares the spaces between the two columns of names: by where they lie, those in
// the middle to the shorter column.
func sides(list []*drawnSpace, middle float64) (left, right []*drawnSpace) {
	var between []*drawnSpace
	for _, x := range list {
		switch {
		case x.x < middle-4:
			left = append(left, x)
		case x.x > middle+4:
			right = append(right, x)
		default:
			between = append(between, x)
		}
	}
	for _, x := range between {
		if len(left) <= len(right) {
			left = append(left, x)
		} else {
			right = append(right, x)
		}
	}
	for _, column := range [][]*drawnSpace{left, right} {
		slices.SortStableFunc(column, func(a, b *drawnSpace) int { return cmp.Compare(a.y, b.y) })
	}
	return left, right
}
