package web

import (
	"cmp"
	"fmt"
	"html"
	"math"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/mechanics/crank"
	"buttonup/quantity"
	"buttonup/words"
)

// figure is a drawing beside the numbers, with what it says in words.
type figure struct {
	Title, Says string
	Drawing     string
	// Do lists what to do, in order.
	Do []string
	// Caution is shown where the work can hurt someone.
	Caution string
	// Link leads to the page that the drawing belongs to.
	Link, LinkSays string
}

// mostFigures keeps the page light.
const mostFigures = 6

// figures draws what a number alone does not show: where a valve comes nearest, what
// heat takes from the preload, where to strike a crank. A pack says by its names and
// places what there is to draw; nothing is drawn without a value.
func (n *numbersView) figures(m *assess.Model) []figure {
	var list []figure
	list = append(list, n.gaps(m)...)
	list = append(list, n.preloads()...)
	list = append(list, n.truing()...)
	list = append(list, n.patterns()...)
	if len(list) > mostFigures {
		list = list[:mostFigures]
	}
	return list
}

// gaps draws the sweeps that look for a smallest length: those at one place together,
// the place with the least room first, and no more than two places.
func (n *numbersView) gaps(m *assess.Model) []figure {
	groups := map[string][]*assess.Result{}
	for i := range n.Sheet.A.Results {
		r := &n.Sheet.A.Results[i]
		if r.Kind == "sweep" && r.HasValue && r.HasAt && r.Unit.Dimension == quantity.OfLength && r.Limit.HasLow {
			groups[r.Place] = append(groups[r.Place], r)
		}
	}
	var places []string
	for p := range groups {
		slices.SortStableFunc(groups[p], func(a, b *assess.Result) int { return cmp.Compare(a.Margin, b.Margin) })
		places = append(places, p)
	}
	slices.SortFunc(places, func(a, b string) int {
		return cmp.Or(cmp.Compare(groups[a][0].Margin, groups[b][0].Margin), cmp.Compare(a, b))
	})
	if len(places) == 0 {
		return nil
	}
	q := m.Inquire(n.Sheet.State, assess.Options{Now: n.Sheet.A.Now})
	var list []figure
	for _, p := range places[:min(2, len(places))] {
		var lines []gapLine
		for _, r := range groups[p][:min(3, len(groups[p]))] {
			if c, err := q.Curve(r.Name, r.Place, 181); err == nil && len(c.X) > 1 {
				lines = append(lines, gapLine{words.ResultIn(r, n.System), c})
			}
		}
		if len(lines) == 0 {
			continue
		}
		r := lines[0].r
		list = append(list, figure{Title: words.Title(r.Title, r.Place), Drawing: gapSection(r) + gapCurves(lines),
			Says: "The section is at the nearest point; the curves show the way there, shaded by the ±. " + curveWords(lines) + "."})
	}
	return list
}

// gapLine is a sweep with its curve.
type gapLine struct {
	r *assess.Result
	c assess.Curve
}

// angleWords says where a sweep found its value. Where the piston has a part in it the
// zero of the wheel is its top.
func angleWords(r *assess.Result) string {
	x := r.AtUnit.In(r.At)
	if r.AtUnit.Symbol != "deg" {
		return r.AtUnit.Text(r.At, 1)
	}
	zero := "zero"
	if strings.Contains(strings.ToLower(r.Title), "piston") {
		zero = "top centre"
	}
	switch side := quantity.FormatNumber(math.Abs(x), 0); {
	case math.Abs(x) < 0.5:
		return "at " + zero
	case x < 0:
		return side + "° before " + zero
	default:
		return side + "° after " + zero
	}
}

// gapSection draws the two parts where they are nearest, with the gap and its ± between
// them. A gap of a valve is drawn as one over a pocket.
func gapSection(r *assess.Result) string {
	const width, height, middle = 358.0, 184.0, 114.0
	value, pm, unit := words.Parts(r)
	var d drawing
	title := strings.ToLower(r.Title)
	top, bottom := 84.0, 122.0
	if r.Value <= 0 {
		top = bottom // they would meet
	}
	valve := strings.Contains(title, "valve")
	if valve && strings.Contains(title, "piston") {
		// A valve from its seat, over the pocket in the crown.
		d.add(`<path d="M%s 8v36c0 14-40 22-58 32v8h132v-8c-18-10-58-18-58-32V8z" class="f-sheet s-ink" stroke-width="1.6"/>`, px(middle-8))
		d.add(`<path d="M8 %sh34l8 14h128l8-14h34v50H8z" class="f-line s-ink" stroke-width="1.6"/>`, px(bottom-14))
	} else {
		d.add(`<rect x="40" y="18" width="150" height="66" class="f-sheet s-ink" stroke-width="1.6"/>`)
		d.add(`<rect x="40" y="%s" width="150" height="50" class="f-line s-ink" stroke-width="1.6"/>`, px(bottom))
	}
	if top != bottom {
		// The gap, and how much of it the ± is.
		share := math.Min(1, r.Expanded/r.Value)
		d.add(`<rect x="%s" y="%s" width="64" height="%s" class="f-shade"/>`, px(middle-32), px(bottom-(bottom-top)*share), px((bottom-top)*share))
		d.add(`<path d="M%s %sv%sM%s %sh12M%s %sh12" class="s-blue" stroke-width="2" fill="none"/>`, px(middle), px(top), px(bottom-top), px(middle-6), px(top+1), px(middle-6), px(bottom-1))
	}
	d.add(`<path d="M%s %sH%s" class="s-blue" stroke-width="1.2" fill="none"/>`, px(middle+8), px((top+bottom)/2), px(228))
	_, ink := glyphOf(r)
	d.text(232, 84, "b t22 "+inkOf(ink), value)
	d.text(232, 106, "t14", strings.TrimSpace(pm+" "+unit))
	d.text(232, 148, "t14", strings.TrimPrefix(words.Wanted(r), "limit "))
	d.text(232, 168, "t14 "+inkOf(ink), words.Verdict(r))
	says := fmt.Sprintf("Section at the nearest point: %s apart, %s; %s", words.Shown(r), words.Wanted(r), words.Verdict(r))
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 %s %s" role="img" aria-label="%s"`, px(width), px(height), html.EscapeString(says)), &d)
}

// inkOf is the class of a text in the ink of a verdict.
func inkOf(ink string) string {
	if ink == "" {
		return ""
	}
	return "c-" + ink
}

// gapCurves draws the gap over the range of the sweep, from a little under the lowest
// to some three times the highest of limit and nearest, so that the place that matters
// fills the drawing.
func gapCurves(lines []gapLine) string {
	const width, height, left, right, top, foot = 358.0, 236.0, 34.0, 348.0, 22.0, 196.0
	u, xu := lines[0].r.Unit, lines[0].r.AtUnit
	low, high := 0.0, 0.0
	minX, maxX := math.Inf(1), math.Inf(-1)
	for _, l := range lines {
		high = math.Max(high, 2.5*math.Max(u.In(l.r.Value), u.In(l.r.Limit.Low)))
		low = math.Min(low, u.In(l.r.Value-l.r.Expanded))
		minX, maxX = math.Min(minX, xu.In(l.c.X[0])), math.Max(maxX, xu.In(l.c.X[len(l.c.X)-1]))
	}
	if high <= low {
		high = low + 1
	}
	x := func(v float64) float64 { return left + (xu.In(v)-minX)/(maxX-minX)*(right-left) }
	y := func(v float64) float64 {
		return foot - (math.Max(low, math.Min(high, v))-low)/(high-low)*(foot-top)
	}
	var d drawing
	step := evenStep((high - low) / 4)
	for v := math.Ceil(low/step) * step; v <= high+1e-9; v += step {
		d.add(`<path d="M%s %sH%s" class="s-line" stroke-width="1"/>`, px(left), px(y(v)), px(right))
		d.text(left-6, y(v)+5, "t14 end", quantity.FormatNumber(v, max(0, -int(math.Floor(math.Log10(step)+1e-9)))))
	}
	across := evenStep((maxX - minX) / 6)
	for v := math.Ceil(minX/across) * across; v <= maxX+1e-9; v += across {
		at := left + (v-minX)/(maxX-minX)*(right-left)
		d.add(`<path d="M%s %sv6" class="s-ink2" stroke-width="1"/>`, px(at), px(foot))
		text := quantity.FormatNumber(math.Abs(v), 0)
		if xu.Symbol == "deg" {
			text += "°"
		}
		d.text(at, foot+22, "t14 mid", text)
	}
	if minX < 0 && maxX > 0 {
		at := left - minX/(maxX-minX)*(right-left)
		d.add(`<path d="M%s %sV%s" class="s-ink2" stroke-width="1" stroke-dasharray="8 3 2 3"/>`, px(at), px(top), px(foot))
	}
	for i, l := range lines {
		ink, dash := "s-blue", ""
		if i > 0 {
			ink, dash = "s-ink", fmt.Sprintf(` stroke-dasharray="%d 4"`, 8-3*(i-1))
		}
		band, line := strings.Builder{}, strings.Builder{}
		var back []string
		for k, at := range l.c.X {
			v := u.In(l.c.Y[k])
			if v > high*1.02 {
				if line.Len() > 0 && u.In(l.c.Y[k-1]) <= high*1.02 {
					line.WriteString("|") // cut here
				}
				continue
			}
			e := u.InDifference(l.r.Expanded)
			fmt.Fprintf(&line, " %s,%s", px(x(at)), px(y(v)))
			fmt.Fprintf(&band, " %s,%s", px(x(at)), px(y(v+e)))
			back = append(back, px(x(at))+","+px(y(v-e)))
		}
		slices.Reverse(back)
		d.add(`<polygon points="%s %s" class="f-shade"/>`, strings.TrimSpace(band.String()), strings.Join(back, " "))
		for _, part := range strings.Split(line.String(), "|") {
			d.add(`<polyline points="%s" class="%s" fill="none" stroke-width="2"%s/>`, strings.TrimSpace(part), ink, dash)
		}
		limit := y(u.In(l.r.Limit.Low))
		at := x(l.r.At)
		d.add(`<path d="M%s %sh80" class="s-worn" stroke-width="2.5"/>`, px(math.Max(left, math.Min(right-80, at-40))), px(limit))
		d.add(`<circle cx="%s" cy="%s" r="5" class="f-paper %s" stroke-width="2.2"/>`, px(at), px(y(u.In(l.r.Value))), ink)
	}
	d.text(left-6, top-6, "t14 end", u.Symbol)
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 %s %s" role="img" aria-label="%s"`, px(width), px(height), html.EscapeString(curveWords(lines))), &d)
}

// curveWords says the curves one after the other.
func curveWords(lines []gapLine) string {
	var says []string
	for i, l := range lines {
		line := [...]string{"full line", "dashed line", "fine dashes"}[min(i, 2)]
		says = append(says, fmt.Sprintf("%s: %s, %s, %s; %s", words.Upper(line), words.Title(l.r.Title, l.r.Place), words.Shown(l.r), angleWords(l.r), words.Wanted(l.r)))
	}
	return strings.Join(says, ". ")
}

// evenStep rounds a step up to 1, 2 or 5 times a power of ten; of degrees, 15 or 30.
func evenStep(x float64) float64 {
	if !(x > 0) {
		return 1
	}
	if x > 10 && x <= 90 {
		for _, s := range []float64{15, 30, 45, 90} {
			if x <= s {
				return s
			}
		}
	}
	p := math.Pow10(int(math.Floor(math.Log10(x))))
	for _, k := range []float64{1, 2, 5, 10} {
		if x <= k*p*(1+1e-9) {
			return k * p
		}
	}
	return x
}

// preloads draws what heat does to a lifter's preload: a number called preload and one
// called hot_preload or preload_hot at the same place. One is drawn, that with the least
// room when hot; the others are said.
func (n *numbersView) preloads() []figure {
	var best *assess.Result
	var cold *assess.Result
	count := 0
	for i := range n.Sheet.A.Results {
		hot := &n.Sheet.A.Results[i]
		if hot.Name != "hot_preload" && hot.Name != "preload_hot" || !hot.HasValue || hot.Unit.Dimension != quantity.OfLength {
			continue
		}
		c := n.Sheet.result("number", "preload", hot.Place)
		if c == nil || !c.HasValue {
			continue
		}
		count++
		if best == nil || hot.Value < best.Value {
			best, cold = hot, c
		}
	}
	if best == nil {
		return nil
	}
	c, h := words.ResultIn(cold, n.System), words.ResultIn(best, n.System)
	says := "Heat lengthens the engine more than the rod and takes from the preload what lies between the two."
	if count > 1 {
		says = fmt.Sprintf("The one with least left when hot, of %d. ", count) + says
	}
	return []figure{{Title: words.Title(cold.Title, cold.Place) + " → hot", Says: says, Drawing: preloadDrawing(c, h)}}
}

// preloadDrawing shows two lifters, cold and hot, with the plunger pressed in by the
// preload, and the scale between them with the wanted band.
func preloadDrawing(cold, hot *assess.Result) string {
	const width, height, top, foot = 358.0, 304.0, 56.0, 216.0
	u := cold.Unit
	high := math.Max(u.In(cold.Value), u.In(hot.Value))
	if cold.New.HasHigh {
		high = math.Max(high, u.In(cold.New.High))
	}
	low := math.Min(0, u.In(hot.Value))
	high += 0.25 * (high - low)
	if high <= low {
		high = low + 1
	}
	y := func(v float64) float64 { return top + (v-low)/(high-low)*(foot-top) }
	var d drawing
	lifter := func(x, v float64) {
		d.add(`<path d="M%s 30V244h64V30" class="s-ink f-line2" stroke-width="1.6"/>`, px(x-32))
		d.add(`<rect x="%s" y="30" width="44" height="204" class="f-paper s-ink" stroke-width="1.2"/>`, px(x-22))
		at := y(v)
		d.add(`<path d="M%s %sh44v%sh-44z" class="f-sheet s-blue" stroke-width="2"/>`, px(x-22), px(at), px(math.Max(8, 222-at)))
		d.add(`<path d="M%s 8h14V%sa7 7 0 0 1-14 0z" class="f-sheet s-ink" stroke-width="1.4"/>`, px(x-7), px(at))
		d.add(`<circle cx="%s" cy="252" r="14" class="f-sheet s-ink" stroke-width="1.6"/>`, px(x))
	}
	lifter(98, u.In(cold.Value))
	lifter(260, u.In(hot.Value))
	d.add(`<rect x="168" y="%s" width="22" height="%s" class="f-sheet s-ink" stroke-width="1.2"/>`, px(top), px(foot-top))
	if cold.New.Bounded() {
		a, b := low, high
		if cold.New.HasLow {
			a = u.In(cold.New.Low)
		}
		if cold.New.HasHigh {
			b = u.In(cold.New.High)
		}
		d.add(`<rect x="168" y="%s" width="22" height="%s" class="f-goodw s-good" stroke-width="1.5"/>`, px(y(a)), px(y(b)-y(a)))
	}
	step := evenStep((high - low) / 4)
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		d.add(`<path d="M168 %sh8" class="s-ink" stroke-width="1"/>`, px(y(v)))
		d.text(179, y(v)+5, "t14 mid halo2", quantity.FormatNumber(v, max(0, -int(math.Floor(math.Log10(step)+1e-9)))))
	}
	d.add(`<path d="M130 %sH164m-8-6l8 6-8 6" class="s-blue" stroke-width="1.6" fill="none"/>`, px(y(u.In(cold.Value))))
	d.add(`<path d="M228 %sH194m8-6l-8 6 8 6" class="s-blue" stroke-width="1.6" fill="none"/>`, px(y(u.In(hot.Value))))
	d.text(179, 44, "t14 mid", u.Symbol)
	label := func(x float64, end, name string, r *assess.Result) {
		value, pm, _ := words.Parts(r)
		d.text(x, 112, "t14 "+end, name)
		d.text(x, 134, "b t18 cb "+end, value)
		d.text(x, 154, "t14 "+end, pm)
	}
	label(58, "end", "cold", cold)
	label(300, "", "hot", hot)
	if cold.New.Bounded() {
		d.text(179, 282, "t14 mid", "wanted")
		d.text(179, 300, "t14 mid", "cold "+strings.TrimPrefix(words.Wanted(&assess.Result{Unit: cold.Unit, Decimals: cold.Decimals, New: cold.New}), "new "))
	}
	says := fmt.Sprintf("Lifter cut open: cold %s, hot %s; %s", words.Shown(cold), words.Shown(hot), words.Wanted(cold))
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 %s %s" role="img" aria-label="%s"`, px(width), px(height), html.EscapeString(says)), &d)
}

// truing draws a built-up crank whose two shafts were read with dials: a dimension
// called …_runout and one called …_angle, both at left and right. The pair that was read
// last is drawn with where to strike.
func (n *numbersView) truing() []figure {
	var list []figure
	latest := -1
	for i := range n.Sheet.A.Results {
		left := &n.Sheet.A.Results[i]
		stem, ok := strings.CutSuffix(left.Name, "_runout")
		if !ok || left.Kind != "dimension" || left.Place != "left" {
			continue
		}
		right := n.Sheet.result("dimension", left.Name, "right")
		la, ra := n.Sheet.result("dimension", stem+"_angle", "left"), n.Sheet.result("dimension", stem+"_angle", "right")
		if right == nil || la == nil || ra == nil || !left.HasValue || !right.HasValue || !la.HasValue || !ra.HasValue || left.Stale != nil {
			continue
		}
		fault, err := crank.Diagnose(crank.Dial{TIR: quantity.Length(left.Value), High: quantity.Angle(la.Value)}, crank.Dial{TIR: quantity.Length(right.Value), High: quantity.Angle(ra.Value)})
		if err != nil {
			continue
		}
		target := left.Limit.High
		if left.New.HasHigh {
			target = left.New.High
		}
		steps, err := fault.Steps(quantity.Length(target))
		if err != nil {
			continue
		}
		if at := n.newest(left.Name); at > latest {
			latest = at
			list = []figure{truingFigure(words.ResultIn(left, n.System), words.ResultIn(right, n.System), la, ra, fault, steps)}
		}
	}
	return list
}

// newest returns when a dimension was read last, in the order of the journal.
func (n *numbersView) newest(name string) int {
	latest := -1
	for i := range n.Sheet.State.Readings {
		if r := &n.Sheet.State.Readings[i]; strings.TrimPrefix(r.Of, "dimension.") == name {
			latest = max(latest, r.Seq)
		}
	}
	return latest
}

func truingFigure(left, right, la, ra *assess.Result, fault crank.Fault, steps []crank.Step) figure {
	u := left.Unit
	d := max(left.Decimals, 3)
	f := figure{Title: "Crank truing: " + strings.ToLower(left.Title), Drawing: truingDrawing(left, right, float64(la.Value), float64(ra.Value), steps)}
	f.Says = fmt.Sprintf("Angles from the crankpin. Bow %s, twist %s, throw %s, each half of what a dial shows.",
		u.DifferenceText(float64(fault.Bow.Size()), d), u.DifferenceText(math.Abs(float64(fault.Twist)), d), u.DifferenceText(math.Abs(float64(fault.Throw)), d))
	for _, s := range steps {
		f.Do = append(f.Do, stepSays(s, u, d))
	}
	if len(steps) == 0 {
		f.Do = []string{"Within the target on both sides: no blow."}
		return f
	}
	f.Caution = "Never strike a crank in the centres: take it out. One light blow, then read again. Eye protection; a soft hammer. The engine maker's manual goes first."
	return f
}

func stepSays(s crank.Step, u quantity.Unit, d int) string {
	wheel := map[crank.Wheel]string{crank.LeftWheel: "the left wheel", crank.RightWheel: "the right wheel"}[s.Wheel]
	at := quantity.FormatNumber(math.Mod(float64(s.At)*180/math.Pi+360, 360), 0) + "° from the pin"
	after := fmt.Sprintf("; the dials should then show %s left, %s right", u.DifferenceText(float64(s.Left.TIR), d), u.DifferenceText(float64(s.Right.TIR), d))
	switch s.Cure {
	case crank.Rap:
		return "Rap " + wheel + " at " + at + ", towards the shaft" + after
	case crank.Squeeze:
		return "Squeeze the rims together at " + at + after
	case crank.Wedge:
		return "Wedge the rims apart at " + at + after
	}
	return "The throws differ: no blow cures it; a wheel, the pin or a journal is out"
}

// truingDrawing shows both wheels from their own shafts, the pin up, with the high spot
// of each dial and the mark where to strike.
func truingDrawing(left, right *assess.Result, la, ra float64, steps []crank.Step) string {
	const width, height, r = 358.0, 216.0, 62.0
	var d drawing
	wheel := func(cx float64, name string, res *assess.Result, high float64, side crank.Wheel) {
		const cy = 104.0
		d.add(`<circle cx="%s" cy="%s" r="%s" class="f-sheet s-ink" stroke-width="1.8"/>`, px(cx), px(cy), px(r))
		d.add(`<circle cx="%s" cy="%s" r="11" class="f-line s-ink" stroke-width="1.4"/>`, px(cx), px(cy))
		d.add(`<circle cx="%s" cy="%s" r="9" class="f-ink"/>`, px(cx), px(cy-36))
		sin, cos := math.Sincos(high)
		d.add(`<path d="M%s %sL%s %s" class="s-blue" stroke-width="2.4"/>`, px(cx+14*sin), px(cy-14*cos), px(cx+(r-4)*sin), px(cy-(r-4)*cos))
		d.add(`<circle cx="%s" cy="%s" r="4.5" class="f-blue"/>`, px(cx+(r-4)*sin), px(cy-(r-4)*cos))
		for i, s := range steps {
			if s.Cure == crank.Regrind || s.Cure == crank.Rap && s.Wheel != side {
				continue
			}
			sin, cos := math.Sincos(float64(s.At))
			x, y := cx+(r+14)*sin, cy-(r+14)*cos
			d.add(`<path d="M%s %sL%s %s" class="s-worn" stroke-width="4"/>`, px(cx+(r+26)*sin), px(cy-(r+26)*cos), px(cx+(r+2)*sin), px(cy-(r+2)*cos))
			d.add(`<circle cx="%s" cy="%s" r="10" class="f-paper s-worn" stroke-width="2"/>`, px(x), px(y))
			d.text(x, y+5, "b t14 mid", fmt.Sprint(i+1))
		}
		value, pm, unit := words.Parts(res)
		d.text(cx, 18, "t14 mid", name)
		d.text(cx, 206, "b t16 mid", strings.TrimSpace(value+" "+unit))
		_ = pm
	}
	wheel(94, "left", left, la, crank.LeftWheel)
	wheel(264, "right", right, ra, crank.RightWheel)
	var says []string
	for _, s := range steps {
		says = append(says, stepSays(s, left.Unit, 3))
	}
	text := fmt.Sprintf("Both wheels, the crankpin up. Left %s, right %s in all. %s", words.Shown(left), words.Shown(right), strings.Join(says, ". "))
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 %s %s" role="img" aria-label="%s"`, px(width), px(height), html.EscapeString(text)), &d)
}

// patterns draws the joints that are under way with their order of tightening.
func (n *numbersView) patterns() []figure {
	var list []figure
	for i := range n.Sheet.A.Joints {
		j := &n.Sheet.A.Joints[i]
		if j.State != "under way" || len(j.Joint.Points) < 2 {
			continue
		}
		list = append(list, figure{Title: "Tightening: " + words.Title(j.Title, j.Place), Drawing: orderDrawing(j),
			Says: "The order of each pass; the figures are those of the pack.",
			Link: query(jobPath(n.Sheet.Job.ID, "wrench", j.Name), "place", j.Place), LinkSays: "At the wrench"})
	}
	return list
}

// orderDrawing shows where the fasteners are and in which order they are tightened.
func orderDrawing(j *assess.Joint) string {
	points := j.Joint.Points
	minX, maxX, minY, maxY := points[0][0], points[0][0], points[0][1], points[0][1]
	for _, p := range points {
		minX, maxX = math.Min(minX, p[0]), math.Max(maxX, p[0])
		minY, maxY = math.Min(minY, p[1]), math.Max(maxY, p[1])
	}
	const width, most, edge = 358.0, 260.0, 36.0
	k := 100.0
	if maxX > minX {
		k = (width - 2*edge) / (maxX - minX)
	}
	if maxY > minY {
		k = math.Min(k, (most-2*edge)/(maxY-minY))
	}
	height := (maxY-minY)*k + 2*edge
	left := (width - (maxX-minX)*k) / 2
	at := func(i int) (x, y float64) {
		return left + (points[i][0]-minX)*k, height - edge - (points[i][1]-minY)*k
	}
	radius := math.Max(12, math.Min(20, closest(points)*k/2-3))
	var d drawing
	outline(&d, points, at, radius+12)
	for i := range points {
		x, y := at(i)
		number := slices.Index(j.Joint.Order, i+1) + 1
		d.add(`<circle cx="%s" cy="%s" r="%s" class="f-sheet s-ink" stroke-width="1.6"/>`, px(x), px(y), px(radius))
		if number > 0 {
			d.text(x, y+6, "b mid t18", fmt.Sprint(number))
		}
	}
	return svg(fmt.Sprintf(`class="dr" viewBox="0 0 358 %s" role="img" aria-label="%s"`, px(height), html.EscapeString(fmt.Sprintf("%d fasteners with their order", len(points)))), &d)
}
