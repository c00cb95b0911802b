package web

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/quantity"
	"buttonup/words"
)

// drawing builds the inside of an SVG.
type drawing struct{ strings.Builder }

func (d *drawing) add(format string, args ...any) { fmt.Fprintf(&d.Builder, format, args...) }

// text adds words; the text is escaped here and nowhere else.
func (d *drawing) text(x, y float64, class, text string) {
	d.add(`<text x="%s" y="%s" class="%s">%s</text>`, px(x), px(y), class, html.EscapeString(text))
}

// px prints a position with one decimal at most.
func px(x float64) string {
	return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
}

// scale maps values to positions.
type scale struct{ low, high, left, right float64 }

func (s scale) x(v float64) float64 {
	t := (v - s.low) / (s.high - s.low)
	return s.left + math.Max(0, math.Min(1, t))*(s.right-s.left)
}

// height classes of a limit bar.
type level uint8

const (
	past level = iota
	within
	fresh
)

// part is a stretch of a limit bar that means one thing.
type part struct {
	low, high float64
	level     level
}

// bar is what a limit bar shows, in the unit that is printed.
type bar struct {
	parts    []part
	posts    []float64 // the limits
	value, u float64
	hasValue bool
	guarded  bool
	scale    scale
}

// barOf works out what to draw of a result; false when there is nothing to hold the
// value against.
func barOf(r *assess.Result, left, right float64) (bar, bool) {
	if !r.New.Bounded() && !r.Limit.Bounded() {
		return bar{}, false
	}
	in := r.Unit.In
	b := bar{hasValue: r.HasValue, guarded: r.Limit.Bounded()}
	if r.HasValue {
		b.value, b.u = in(r.Value), r.Unit.InDifference(r.Expanded)
	}
	var ends []float64
	for _, x := range [2]quantity.Range{r.New, r.Limit} {
		if x.HasLow {
			ends = append(ends, in(x.Low))
		}
		if x.HasHigh {
			ends = append(ends, in(x.High))
		}
	}
	low, high := ends[0], ends[0]
	for _, e := range ends {
		low, high = math.Min(low, e), math.Max(high, e)
	}
	// A plain upper limit starts its scale at zero where zero is near.
	if !r.New.HasLow && !r.Limit.HasLow && low > 0 && low < 3*(high-low)+1e-12 || low == high && low > 0 {
		low = 0
	}
	span := high - low
	if span <= 0 {
		span = math.Max(math.Abs(high), 1e-6)
	}
	low, high = low-0.25*span, high+0.35*span
	if b.hasValue {
		// The pointer stays on the scale, but one far value must not squeeze the
		// bands to nothing: it then points off the end.
		low = math.Min(low, math.Max(b.value-b.u-0.05*span, low-1.5*span))
		high = math.Max(high, math.Min(b.value+b.u+0.05*span, high+1.5*span))
	}
	if r.New.HasLow && in(r.New.Low) >= 0 && low < 0 || !r.New.HasLow && !r.Limit.HasLow && low < 0 {
		low = math.Max(low, 0)
		if b.hasValue && b.value-b.u < 0 {
			low = math.Max(b.value-b.u, -0.25*span)
		}
	}
	b.scale = scale{low, high, left, right}
	cuts := []float64{low}
	for _, e := range ends {
		if e > low && e < high {
			cuts = append(cuts, e)
		}
	}
	cuts = append(cuts, high)
	sortFloats(cuts)
	for i := 1; i < len(cuts); i++ {
		if cuts[i]-cuts[i-1] < 1e-12*span {
			continue
		}
		middle := r.Unit.SI((cuts[i] + cuts[i-1]) / 2)
		p := part{cuts[i-1], cuts[i], levelOf(r, middle)}
		if n := len(b.parts); n > 0 && b.parts[n-1].level == p.level {
			b.parts[n-1].high = p.high
			continue
		}
		b.parts = append(b.parts, p)
	}
	limit := r.Limit
	if !limit.Bounded() {
		limit = r.New
	}
	if limit.HasLow {
		b.posts = append(b.posts, in(limit.Low))
	}
	if limit.HasHigh {
		b.posts = append(b.posts, in(limit.High))
	}
	return b, true
}

func levelOf(r *assess.Result, si float64) level {
	switch {
	case r.New.Bounded() && r.New.Contains(si):
		return fresh
	case !r.Limit.Bounded() || !r.Limit.Contains(si):
		return past
	case !r.New.Bounded():
		return within
	case r.Limit.HasHigh && !r.Limit.HasLow && r.New.HasLow && si < r.New.Low,
		r.Limit.HasLow && !r.Limit.HasHigh && r.New.HasHigh && si > r.New.High:
		return past // short of new, on the side away from the limit
	}
	return within
}

func sortFloats(list []float64) {
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && list[j] < list[j-1]; j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

// steps draws the bands in one ink: the higher the better.
func (b *bar) steps(d *drawing, base float64, heights [3]float64, stroke string) {
	for _, p := range b.parts {
		x0, x1, h := b.scale.x(p.low), b.scale.x(p.high), heights[p.level]
		if x1-x0 < 0.3 {
			continue
		}
		fill := [3]string{"f-line2", "f-sheet", "f-shade"}[p.level]
		d.add(`<rect x="%s" y="%s" width="%s" height="%s" class="%s"/>`, px(x0), px(base-h), px(x1-x0), px(h), fill)
		if p.level != past {
			d.add(`<path d="M%s %sV%sH%sV%s" class="s-ink f-none" stroke-width="%s"/>`, px(x0), px(base), px(base-h), px(x1), px(base), stroke)
		}
	}
}

// guard hatches the ± on either side of each limit.
func (b *bar) guard(d *drawing, base, height float64) {
	if !b.guarded || !b.hasValue || b.u <= 0 {
		return
	}
	for _, l := range b.posts {
		x0, x1 := b.scale.x(l-b.u), b.scale.x(l+b.u)
		if x1-x0 > 0.5 {
			d.add(`<rect x="%s" y="%s" width="%s" height="%s" fill="url(#hx)"/>`, px(x0), px(base-height), px(x1-x0), px(height))
		}
	}
}

// limitBar draws a result large: bands, limit, hatch of ±, pointer with whisker.
func limitBar(r *assess.Result) string {
	const width, base = 358.0, 66.0
	b, ok := barOf(r, 14, width-14)
	if !ok {
		return ""
	}
	var d drawing
	b.steps(&d, base, [3]float64{3, 12, 20}, "1.5")
	b.guard(&d, base, 20)
	d.add(`<path d="M14 66H%s" class="s-ink" stroke-width="1.5"/>`, px(width-14))
	b.ticks(&d, r, base)
	for _, l := range b.posts {
		if l < b.scale.low || l > b.scale.high {
			continue
		}
		d.add(`<path d="M%s 38V%s" class="s-ink" stroke-width="2.5"/>`, px(b.scale.x(l)), px(base+12))
	}
	b.bandWords(&d, r)
	if b.hasValue {
		x := b.scale.x(b.value)
		lo, hi := b.scale.x(b.value-b.u), b.scale.x(b.value+b.u)
		d.add(`<path d="M%s 25v10M%s 25v10M%s 30H%s" class="s-blue" stroke-width="2"/>`, px(lo), px(hi), px(lo), px(hi))
		d.add(`<path d="M%s 30h14l-7 13z" class="f-blue"/><path d="M%s 40V%s" class="s-blue" stroke-width="2"/>`, px(x-7), px(x), px(base))
		says := words.Shown(r)
		half := 5.4*float64(len([]rune(says))) + 2
		d.text(math.Max(half, math.Min(width-half, x)), 17, "b t18 mid cb", says)
	}
	return svg(`class="dr" viewBox="0 0 358 96" role="img" aria-label="`+html.EscapeString(barWords(r))+`"`, &d)
}

func barWords(r *assess.Result) string {
	says := "Limit bar: " + words.Wanted(r)
	if r.HasValue {
		says += "; read " + words.Shown(r)
	}
	return says
}

// ticks draws the scale with as many figures as fit.
func (b *bar) ticks(d *drawing, r *assess.Result, base float64) {
	span := b.scale.high - b.scale.low
	step := niceStep(span / 22)
	var long []float64
	d.add(`<path d="`)
	for i := math.Ceil(b.scale.low / step); i*step <= b.scale.high; i++ {
		length := 4.0
		if math.Mod(math.Abs(i), 5) < 0.5 {
			length = 8
			long = append(long, i*step)
		}
		d.add(`M%s %sv%s`, px(b.scale.x(i*step)), px(base), px(length))
	}
	d.add(`" class="s-ink2" stroke-width="1"/>`)
	decimals := max(r.New.Decimals, r.Limit.Decimals, 0)
	free := -1000.0
	put := func(v float64, class string) {
		text := quantity.FormatNumber(v, decimals)
		half := 4.2*float64(len(text)) + 3
		x := math.Max(half, math.Min(358-half, b.scale.x(v)))
		if x-half < free {
			return
		}
		free = x + half + 4
		d.text(x, base+26, class, text)
	}
	// Limits and ends of the new band are what a builder looks for; round figures
	// fill what room is left.
	var named []float64
	for _, x := range [2]quantity.Range{r.New, r.Limit} {
		if x.HasLow {
			named = append(named, r.Unit.In(x.Low))
		}
		if x.HasHigh {
			named = append(named, r.Unit.In(x.High))
		}
	}
	sortFloats(named)
	if len(named) < 2 {
		named = append(named, long...)
		sortFloats(named)
	}
	for i, v := range named {
		if i > 0 && v == named[i-1] {
			continue
		}
		class := "c2 mid"
		for _, p := range b.posts {
			if p == v {
				class = "b mid"
			}
		}
		put(v, class)
	}
}

func niceStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x {
			return m * p
		}
	}
	return 10 * p
}

// bandWords names the bands where there is room.
func (b *bar) bandWords(d *drawing, r *assess.Result) {
	pointer := -1000.0
	if b.hasValue {
		pointer = b.scale.x(b.value)
	}
	for _, p := range b.parts {
		x0, x1 := b.scale.x(p.low), b.scale.x(p.high)
		var word string
		y := 0.0
		switch p.level {
		case fresh:
			word, y = "new", 41
		case within:
			word, y = "serviceable", 49
			if !r.New.Bounded() {
				word = "within limits"
			}
		case past:
			word, y = "past the limit", 58
			if !r.Limit.Bounded() {
				word = "outside"
			}
		}
		need := 6.6*float64(len(word)) + 6
		if x1-x0 < need {
			continue
		}
		x, class := x0+6, "t12 c2"
		if pointer > x-10 && pointer < x+need+8 {
			// The other end of the band, if the pointer leaves room there.
			if x, class = x1-4, "t12 c2 end"; pointer > x-need-8 && pointer < x1+10 {
				continue
			}
		}
		d.text(x, y, class, word)
	}
}

// miniBar draws the same without words; the row beside it says it all.
func miniBar(r *assess.Result) string {
	b, ok := barOf(r, 4, 196)
	if !ok {
		return ""
	}
	var d drawing
	b.steps(&d, 22, [3]float64{2.5, 7, 12}, "1.2")
	b.guard(&d, 22, 12)
	for _, l := range b.posts {
		if l >= b.scale.low && l <= b.scale.high {
			d.add(`<path d="M%s 7V26" class="s-ink" stroke-width="2"/>`, px(b.scale.x(l)))
		}
	}
	d.add(`<path d="M4 22H196" class="s-ink" stroke-width="1"/>`)
	if b.hasValue {
		x := b.scale.x(b.value)
		lo, hi := b.scale.x(b.value-b.u), b.scale.x(b.value+b.u)
		d.add(`<path d="M%s 1v6M%s 1v6M%s 4H%s" class="s-blue" stroke-width="1.6"/>`, px(lo), px(hi), px(lo), px(hi))
		d.add(`<path d="M%s 4h9l-4.5 8z" class="f-blue"/><path d="M%s 10V22" class="s-blue" stroke-width="1.6"/>`, px(x-4.5), px(x))
	}
	return svg(`class="dr mini" viewBox="0 0 200 28" aria-hidden="true"`, &d)
}

// drivenBy draws what the ± comes from as one bar of at most three parts.
func drivenBy(drivers []assess.Driver) string {
	if len(drivers) == 0 {
		return ""
	}
	var d drawing
	x := 0.0
	for i, c := range drivers {
		if i == 3 {
			break
		}
		w := 168 * c.Share
		d.add(`<rect x="%s" y="0" width="%s" height="7" class="%s"/>`, px(x), px(math.Max(w-2, 0.5)), [3]string{"f-blue", "f-line2", "f-line"}[i])
		x += w
	}
	return svg(`class="dr" viewBox="0 0 170 7" aria-hidden="true"`, &d)
}

// shareBar draws one share as a bar.
func shareBar(share float64) string {
	var d drawing
	d.add(`<rect width="%s" height="10" class="f-blue"/>`, px(180*share))
	return svg(`class="dr" viewBox="0 0 180 10" aria-hidden="true"`, &d)
}

// routeRule draws the whole job as a rule: a tick for each step, a pin for each that
// closes a space, the pointer at the first that is not done.
func routeRule(steps []step, width float64) string {
	n := len(steps)
	if n == 0 {
		return ""
	}
	left, right, y := 7.0, width-7, 14.0
	at := func(i int) float64 { return left + (float64(i)+0.5)/float64(n)*(right-left) }
	var d drawing
	var todo, done strings.Builder
	now, count := n, 0
	for i, s := range steps {
		to := &todo
		if s.Done {
			to = &done
			count++
		} else if now == n {
			now = i
		}
		length := 5
		if i%10 == 9 {
			length = 8
		}
		if len(s.Closes) == 0 {
			fmt.Fprintf(to, "M%s 14v%d", px(at(i)), length)
		}
	}
	d.add(`<path d="M%s 14v13M%s 14v13%s" class="s-line2" stroke-width="1"/><path d="%s" class="s-blue" stroke-width="1"/>`, px(left), px(right), todo.String(), done.String())
	d.add(`<path d="M%s 14H%s" class="s-line2" stroke-width="1.4"/>`, px(left), px(right))
	for i := 0; i < n; i++ {
		if !steps[i].Done {
			continue
		}
		j := i
		for j+1 < n && steps[j+1].Done {
			j++
		}
		half := (right - left) / float64(n) / 2
		d.add(`<path d="M%s 14H%s" class="s-blue" stroke-width="3.4"/>`, px(at(i)-half), px(at(j)+half))
		i = j
	}
	for i, s := range steps {
		switch {
		case len(s.Closes) == 0:
		case s.Done:
			d.add(`<path d="M%s 14V24" class="s-blue" stroke-width="2"/><circle cx="%s" cy="26" r="3.4" class="f-blue"/>`, px(at(i)), px(at(i)))
		default:
			d.add(`<path d="M%s 14V24" class="s-ink" stroke-width="2"/><circle cx="%s" cy="26" r="3" class="f-paper s-ink" stroke-width="1.6"/>`, px(at(i)), px(at(i)))
		}
	}
	word := "all done"
	if now < n {
		x := at(now)
		d.add(`<path d="M%s 0h14l-7 13z" class="f-blue s-paper" stroke-width="1.4"/>`, px(x-7))
		word = steps[now].Title
		if limit := int((width - 110) / 7.4); len([]rune(word)) > limit {
			word = string([]rune(word)[:limit-1]) + "…"
		}
	}
	d.text(0, 42, "b cb", word)
	d.text(width, 42, "c2 end", fmt.Sprintf("%d of %d done", count, n))
	label := fmt.Sprintf("%d of %d operations done; %s", count, n, word)
	_ = y
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 %s 44" role="img" aria-label="%s"`, px(width), html.EscapeString(label)), &d)
}

// barrel draws half a barrel with a line out to each row of cells.
func barrel(positions []string, current int) string {
	height := 30 + 52*len(positions)
	foot := float64(height - 6)
	var d drawing
	d.add(`<path d="M30 8H46V%sH30Z" class="f-line s-ink" stroke-width="1.3"/><path d="M46 8V%s" class="s-ink" stroke-width="2.5"/>`, px(foot), px(foot))
	for y := 22.0; y < foot-36; y += 15 {
		d.add(`<path d="M30 %sH4" class="s-ink" stroke-width="3"/>`, px(y))
	}
	d.add(`<path d="M30 8H12V14H30M30 %sH8V%sH30" class="f-line s-ink" stroke-width="1.3"/>`, px(foot-12), px(foot-6))
	d.add(`<path d="M104 2V%d" class="s-line2" stroke-width="1" stroke-dasharray="12 3 2 3"/>`, height-2)
	d.add(`<path d="M46 8H104M46 %sH104" class="s-line2" stroke-width="1"/>`, px(foot))
	for i, p := range positions {
		y := 56 + 52*float64(i)
		stroke, fill, width, text := "s-line2", "f-line2", "1.5", "t12 c2"
		if i == current {
			stroke, fill, width, text = "s-blue", "f-blue", "3", "t12 b cb"
		}
		d.add(`<path d="M48 %sH112" class="%s" stroke-width="%s"/><path d="M48 %sl7 -4v8z" class="%s"/>`, px(y), stroke, width, px(y), fill)
		d.text(58, y-7, text, p)
	}
	return svg(fmt.Sprintf(`class="barrel" width="112" height="%d" viewBox="0 0 112 %d" role="img" aria-label="Barrel cut in half, heights %s from the top face"`, height, height, html.EscapeString(strings.Join(positions, ", "))), &d)
}

func svg(attributes string, d *drawing) string {
	return "<svg " + attributes + ">" + d.String() + "</svg>"
}

// glyphOf names the glyph and the ink of a verdict.
func glyphOf(r *assess.Result) (glyph, ink string) {
	if r.Kind == "check" {
		switch {
		case r.Passed:
			return "new", "good"
		case r.Failed:
			return "worn", "worn"
		}
		return "none", "mute"
	}
	return verdictGlyph(r.Verdict)
}

func verdictGlyph(v measure.Verdict) (glyph, ink string) {
	switch v {
	case measure.NewFit:
		return "new", "good"
	case measure.Serviceable:
		return "svc", "svc"
	case measure.TooClose:
		return "close", "unsure"
	case measure.OutOfLimits:
		return "worn", "worn"
	}
	return "none", "mute"
}
