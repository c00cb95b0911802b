package pack

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

func (l *loader) header(b *syntax.Block) {
	p := l.pack
	p.Common = l.common(b)
	p.Revision, p.Source, p.Extends = l.text(b, "revision"), l.text(b, "source"), l.text(b, "extends")
	if l.word(b, "units", "mm", "inch") == "inch" {
		p.Units = quantity.Inch
	}
	if n := l.whole(b, "language", 1, 1); n != 1 {
		l.add("pack.language", b.Attribute("language").Value.Where(), fmt.Sprintf("the pack is written in language %d, and this program reads language 1", n), "use a newer program, or write language = 1")
	}
	if xy := l.numbersOf(b, "sheet"); len(xy) == 2 && xy[0] > 0 && xy[1] > 0 {
		p.Sheet = [2]float64{xy[0], xy[1]}
	} else if b.Attribute("sheet") != nil && xy != nil {
		l.wrong(b.Attribute("sheet"), "a width and a height above zero", "[297, 210]")
	}
	if a := b.Attribute("room"); a != nil {
		if r, says, do := ParseRoom(l.text(b, "room")); says != "" {
			l.add("quantity.unreadable", a.Value.Where(), says, do)
		} else {
			p.Room = r
		}
	}
}

// ParseRoom reads the temperature of a room, "20 ± 5 degC"; the ± is the half-width
// of a rectangle. It returns what is wrong and what to do, or two empty texts.
func ParseRoom(text string) (room measure.Room, says, do string) {
	const example = `write it like "20 ± 5 degC"`
	q, err := quantity.ParseUncertain(text)
	if err != nil {
		says, _ := formula.Explain(err)
		return room, says, example
	}
	if q.Dimension != quantity.OfTemperature {
		return room, "room is a temperature, and this is " + syntax.WithArticle(q.Dimension.String()), example
	}
	if q.Shape != quantity.Normal || strings.Contains(text, "=") {
		return room, "the ± of a room is always the half-width of a rectangle, and nothing stands behind it", example
	}
	return measure.Room{Mean: quantity.Temperature(q.SI), HalfWidth: quantity.TemperatureDifference(q.Standard * 2)}, "", ""
}

// numbersOf reads a list of bare numbers.
func (l *loader) numbersOf(b *syntax.Block, name string) []float64 {
	a := b.Attribute(name)
	if a == nil {
		return nil
	}
	list, ok := a.Value.(*syntax.List)
	if !ok {
		l.wrong(a, "a list of numbers", "[1, 2]")
		return nil
	}
	return l.numberList(name, list)
}

func (l *loader) numberList(name string, list *syntax.List) []float64 {
	out := []float64{}
	for _, e := range list.Items {
		x, ok := bareNumber(e)
		if !ok {
			l.add("pack.attribute", e.Where(), fmt.Sprintf("an item of %s is a bare number", name), "write it without quotes and unit")
			return nil
		}
		out = append(out, x)
	}
	return out
}

func bareNumber(e syntax.Expr) (float64, bool) {
	switch e := e.(type) {
	case *syntax.Number:
		return e.Value, true
	case *syntax.Unary:
		if n, ok := e.X.(*syntax.Number); ok && e.Operator == "-" {
			return -n.Value, true
		}
	}
	return 0, false
}

func (l *loader) place(b *syntax.Block) {
	p := &Place{Common: l.common(b)}
	before := len(l.mistakes)
	p.Kind = formula.PlaceKind{Name: b.Name(), Members: l.texts(b, "each"), Of: map[string]string{}}
	if a := b.Attribute("each"); a != nil && len(p.Kind.Members) == 0 && len(l.mistakes) == before && !broken(a.Value) {
		l.wrong(a, "a list with at least one member", `["front", "rear"]`)
	}
	for _, m := range p.Kind.Members {
		if !freeText.MatchString(m) || strings.TrimSpace(m) != m {
			l.add("pack.name", itemSpan(b, "each", m), fmt.Sprintf("%q cannot be the name of a member", m), "use 1 to 100 characters without quotes and line ends, no blank at either end")
		}
	}
	if a := b.Attribute("parent"); a != nil {
		if r, ok := a.Value.(*syntax.Reference); ok {
			p.Kind.Parent = r.Root
			if r.Root == "place" && len(r.Steps) == 1 {
				p.Kind.Parent = r.Steps[0].Name
			}
		} else if t, ok := a.Value.(*syntax.Text); ok {
			p.Kind.Parent = t.Value
		} else {
			l.wrong(a, "the name of a place", "cylinder")
		}
	}
	if b.Attribute("of") != nil {
		p.Kind.Of = l.table(b, "of")
	}
	p.Kind.Unknown = lost(b, "each", "parent", "of") || len(l.mistakes) > before || len(p.Kind.Members) == 0
	l.pack.Places = append(l.pack.Places, p)
	l.places[b.Name()] = &p.Kind
}

// checkPlaces holds every place against its parent.
func (l *loader) checkPlaces() {
	for _, p := range l.pack.Places {
		b := l.declared["place"][p.Name]
		if p.Kind.Parent == "" {
			if a := b.Attribute("of"); a != nil && !p.Kind.Unknown {
				l.add("pack.place", a.Span, fmt.Sprintf("place %q has no parent for its members to belong to", p.Name), "add parent = …, or leave of out")
			}
			continue
		}
		parent, ok := l.places[p.Kind.Parent]
		if !ok {
			l.unknown("place", p.Kind.Parent, b.Attribute("parent").Value.Where())
			p.Kind.Parent, p.Kind.Unknown = "", true
			continue
		}
		if l.places.Within(p.Kind.Parent, p.Name) {
			l.add("pack.place", b.Attribute("parent").Value.Where(), fmt.Sprintf("place %q lies inside itself: %s", p.Name, l.parentChain(p.Name)), "give one of them another parent, or none")
			p.Kind.Parent, p.Kind.Unknown = "", true
			continue
		}
		if p.Kind.Unknown || parent.Unknown {
			continue
		}
		for _, m := range p.Kind.Members {
			of, ok := p.Kind.Of[m]
			switch {
			case !ok && slices.Contains(parent.Members, m):
				p.Kind.Of[m] = m // the same word on both levels needs no table
			case !ok:
				l.add("pack.place", b.Span, fmt.Sprintf("place %q does not say which %s its member %q belongs to", p.Name, p.Kind.Parent, m), fmt.Sprintf("add of = { %q = %q }", m, first(parent.Members)))
			case !slices.Contains(parent.Members, of):
				do := fmt.Sprintf("the members of %s are %s", p.Kind.Parent, strings.Join(parent.Members, ", "))
				l.add("pack.place", itemSpan(b, "of", of), fmt.Sprintf("%s has no member %q", p.Kind.Parent, of), perhaps(of, parent.Members, do))
			}
		}
		for _, m := range slices.Sorted(maps.Keys(p.Kind.Of)) {
			if !slices.Contains(p.Kind.Members, m) {
				l.add("pack.place", keySpan(b, "of", m), fmt.Sprintf("place %q has no member %q", p.Name, m), perhaps(m, p.Kind.Members, "its members are "+strings.Join(p.Kind.Members, ", ")))
			}
		}
	}
}

func (l *loader) parentChain(name string) string {
	chain := name
	for at, steps := l.places[name], 0; at != nil && steps < 20; steps++ {
		chain += " → " + at.Parent
		if at.Parent == name {
			break
		}
		at = l.places[at.Parent]
	}
	return chain
}

func first(list []string) string {
	if len(list) == 0 {
		return "…"
	}
	return list[0]
}

func (l *loader) option(b *syntax.Block) {
	o := &Option{Common: l.common(b), Default: l.text(b, "default"), Ask: l.text(b, "ask")}
	before := len(l.mistakes)
	o.Choices = l.texts(b, "choices")
	if a := b.Attribute("choices"); a != nil && len(o.Choices) == 0 && len(l.mistakes) == before && !broken(a.Value) {
		l.wrong(a, "a list with at least one choice", `["A", "B"]`)
	}
	unknown := len(l.mistakes) > before || lost(b, "choices")
	if o.Default != "" && len(o.Choices) > 0 && !unknown && !slices.Contains(o.Choices, o.Default) {
		l.add("pack.choice", b.Attribute("default").Value.Where(), fmt.Sprintf("%q is no choice of %s", o.Default, o.Name), perhaps(o.Default, o.Choices, "its choices are "+strings.Join(o.Choices, ", ")))
	}
	o.Numeric = len(o.Choices) > 0
	for i, c := range o.Choices {
		q, err := quantity.Parse(c)
		if err != nil || !quantity.LooksLike(c) || i > 0 && q.Dimension != o.Dimension {
			o.Numeric, o.Values = false, nil
			break
		}
		o.Dimension = q.Dimension
		o.Values = append(o.Values, q.SI)
	}
	l.pack.Options = append(l.pack.Options, o)
	l.declare(b, &formula.Thing{Kind: formula.Option, Name: o.Name, Choices: o.Choices, Numeric: o.Numeric, Dimension: o.Dimension, Unknown: unknown})
}

// declare makes a name known to formulas.
func (l *loader) declare(b *syntax.Block, t *formula.Thing) {
	if formula.Reserved(t.Name) {
		l.add("pack.reserved", b.Labels[0].Span, fmt.Sprintf("%s is a function of the language", t.Name), "choose another name")
		t.Unknown = true
	}
	if b.Lost["*"] {
		t.Unknown = true
	}
	if _, ok := l.functions[t.Name]; ok {
		l.pack.Remarks = append(l.pack.Remarks, Mistake{Code: "pack.shadows", Span: b.Labels[0].Span, Says: fmt.Sprintf("%s is a function of mechanics too; here the name means the %s", t.Name, t.Kind), Do: "choose another name if the function is wanted"})
	}
	l.things[t.Name] = t
}

func (l *loader) metal(b *syntax.Block) {
	m := &Metal{Common: l.common(b)}
	want := quantity.OfExpansion
	if q, ok := l.quantity(b, "expansion", &want); ok {
		if q.SI < 0 || q.SI > 1e-3 {
			l.add("pack.range", b.Attribute("expansion").Value.Where(), "no metal expands like that", `write it like "11.9e-6 1/K"`)
		}
		m.Expansion = quantity.Expansion(q.SI)
	}
	l.pack.Metals = append(l.pack.Metals, m)
}

func (l *loader) instrument(b *syntax.Block) {
	i := &Instrument{Common: l.common(b), Scale: measure.Steel}
	for _, name := range []string{"step", "uncertainty", "shared"} {
		q, ok := l.quantity(b, name, nil)
		if !ok {
			continue
		}
		if q.SI < 0 {
			l.add("pack.range", b.Attribute(name).Value.Where(), fmt.Sprintf("%s cannot be negative", name), "write it without a sign")
			continue
		}
		relative := q.Unit.Symbol == "%"
		q = asDifference(q)
		if !relative {
			if !i.Dimension.IsNumber() && q.Dimension != i.Dimension {
				l.unitMismatch(name, b.Attribute(name).Value.Where(), q.Dimension, i.Dimension)
				continue
			}
			i.Dimension = q.Dimension
		}
		switch {
		case name == "step":
			i.Step = q.SI
		case name == "uncertainty" && relative:
			i.Relative, i.Known = q.SI, true
		case name == "uncertainty":
			i.Uncertainty, i.Known = q.SI, true
		default:
			i.Shared = q.SI
		}
	}
	if i.Shared > i.Uncertainty && i.Relative == 0 && !lost(b, "uncertainty") {
		l.add("pack.range", b.Attribute("shared").Value.Where(), "the shared part is larger than the uncertainty it is part of", "check the two figures")
	}
	if a, ok := l.metalNamed(b, "scale"); ok {
		i.Scale = a
	}
	i.Seconds = l.minutes(b, "minutes")
	l.pack.Instruments = append(l.pack.Instruments, i)
}

func (l *loader) curve(b *syntax.Block) {
	c := &Curve{Common: l.common(b)}
	xs, xd, xu, ok1 := l.points(b, "x")
	ys, yd, _, ok2 := l.points(b, "y")
	c.Table = &formula.Table{X: xs, Y: ys, XDimension: xd, YDimension: yd, XUnit: xu, Periodic: l.flag(b, "periodic"), Linear: l.word(b, "fit", "cubic", "linear") == "linear"}
	t := &formula.Thing{Kind: formula.Curve, Name: c.Name, Dimension: yd, Table: c.Table}
	l.pack.Curves = append(l.pack.Curves, c)
	if ok1 && ok2 {
		if err := c.Table.Prepare(); err != nil {
			l.add("pack.curve", l.curveSpan(b, c.Table), err.Error(), "list x rising, with one y for each; a curve that repeats ends on the y it begins with")
			ok1 = false
		}
	}
	t.Unknown = !ok1 || !ok2
	l.declare(b, t)
}

// curveSpan finds what a curve stumbles over: the x that does not rise, else the
// shorter list, else the last y.
func (l *loader) curveSpan(b *syntax.Block, t *formula.Table) syntax.Span {
	xs, ys := b.Attribute("x").Value.(*syntax.List), b.Attribute("y").Value.(*syntax.List)
	switch {
	case len(t.X) < len(t.Y):
		return xs.Span
	case len(t.X) > len(t.Y):
		return ys.Span
	}
	for i := 1; i < len(t.X); i++ {
		if !(t.X[i] > t.X[i-1]) {
			return xs.Items[i].Where()
		}
	}
	if len(t.X) < 4 {
		return xs.Span
	}
	return ys.Items[len(ys.Items)-1].Where()
}

func (l *loader) points(b *syntax.Block, name string) ([]float64, quantity.Dimension, quantity.Unit, bool) {
	var dim quantity.Dimension
	unit := quantity.MustUnit("1")
	a := b.Attribute(name)
	if a == nil {
		return nil, dim, unit, false
	}
	list, ok := a.Value.(*syntax.List)
	if broken(a.Value) {
		return nil, dim, unit, false
	}
	if !ok || len(list.Items) == 0 {
		l.wrong(a, "a list of values", `["0 deg", "10 deg"]`)
		return nil, dim, unit, false
	}
	var out []float64
	for i, e := range list.Items {
		var want *quantity.Dimension
		if i > 0 {
			want = &dim
		}
		q, ok := l.quantityOf(name, e, want)
		if !ok {
			return nil, dim, unit, false
		}
		if i == 0 {
			dim, unit = q.Dimension, q.Unit
		}
		out = append(out, q.SI)
	}
	return out, dim, unit, true
}

// checkClass remarks on a class of instrument that nothing declares while one of nearly
// the same name is declared. A class may go without a declaration, so it is no mistake.
func (l *loader) checkClass(b *syntax.Block) {
	class := l.text(b, "with")
	if class == "" || l.declared["instrument"][class] != nil {
		return
	}
	near := formula.Nearest(class, slices.Sorted(maps.Keys(l.declared["instrument"])))
	if near == "" {
		return
	}
	l.pack.Remarks = append(l.pack.Remarks, Mistake{Code: "pack.class-undeclared", Span: b.Attribute("with").Value.Where(),
		Says: fmt.Sprintf("no instrument is declared as %q, and its readings would have no ±", class), Do: fmt.Sprintf("perhaps %s is meant; else declare instrument %q with its uncertainty", near, class)})
}

func (l *loader) dimension(b *syntax.Block) {
	l.checkClass(b)
	d := &Dimension{Common: l.common(b), At: l.at(b), With: l.text(b, "with"), Decimals: -1}
	d.GuardNew, d.Critical = l.flag(b, "guard_new"), l.flag(b, "critical")
	if w := l.word(b, "judge", "largest", "smallest", "mean", "spread", "each"); w != "" {
		d.Judge = judgings[w]
	}
	d.Plan = measure.Plan{Repeat: 1}
	for i, n := range b.Blocks {
		if n.Kind != "read" {
			continue
		}
		if i > 0 && b.Blocks[0].Kind == "read" {
			l.add("pack.twice", n.Span, "a dimension has one read block", "join the two")
			continue
		}
		d.Plan = measure.Plan{Positions: l.texts(n, "positions"), Axes: l.texts(n, "axes"), Repeat: l.whole(n, "repeat", 1, 1)}
		if d.Plan.Cells()*d.Plan.Times() > 10000 {
			l.add("pack.range", n.Span, "no part is read more than ten thousand times", "check positions, axes and repeat")
			d.Plan = measure.Plan{Repeat: 1}
		}
	}
	loose := l.loosePlace
	certain := l.measuredIn(b, d)
	d.Expansion, d.HasMetal = l.metalNamed(b, "metal")
	if d.Dimension != quantity.OfLength {
		d.HasMetal = false
	}
	l.checkSides(d.New, d.Limit)
	l.pack.Dimensions = append(l.pack.Dimensions, d)
	l.declare(b, &formula.Thing{Kind: formula.Dimension, Name: d.Name, Place: d.At, Dimension: d.Dimension, Unknown: loose || !certain})
}

// measuredIn finds what a dimension is measured in from its step, new band, limit
// or class of instrument; without any of them it is a length. It is not certain
// where a mistake hides what would have said it.
func (l *loader) measuredIn(b *syntax.Block, d *Dimension) (certain bool) {
	var known *quantity.Dimension
	certain = !lost(b, "step", "new", "limit", "with")
	step, hasStep := l.quantity(b, "step", nil)
	if hasStep {
		dim := step.Dimension
		known = &dim
		d.Step, d.Unit, d.Decimals = asDifference(step).SI, step.Unit, max(step.Decimals, 0)
		if !(d.Step > 0) {
			l.add("pack.range", b.Attribute("step").Value.Where(), "step must be above zero", "check the figure")
		}
	}
	if hasStep && step.Dimension.IsNumber() {
		for _, name := range []string{"new", "limit"} {
			if s := l.peek(b, name, d.At); s != nil && *s != step.Dimension {
				l.add("quantity.dimension", b.Attribute("step").Value.Where(), fmt.Sprintf("step has no unit, and %s is %s", name, syntax.WithArticle(s.String())), fmt.Sprintf("give it a unit of %s", s))
				known, d.Unit = nil, quantity.Unit{}
				break
			}
		}
	}
	temperature := quantity.OfTemperature
	for _, name := range []string{"new", "limit"} {
		want := known
		if known != nil && *known == quantity.OfTemperatureDifference && b.Attribute(name) != nil {
			if s := l.peek(b, name, d.At); s != nil && *s == temperature {
				want, known = s, s
			}
		}
		s := l.setting(b, name, d.At, want)
		if s == nil {
			certain = certain && b.Attribute(name) == nil
			continue
		}
		if known == nil {
			dim := s.Constant.Dimension
			known = &dim
		}
		if d.Unit.Symbol == "" || d.Unit.Dimension != *known {
			d.Unit, d.Decimals = s.Constant.Unit, max(d.Decimals, s.Constant.Decimals)
		}
		if name == "new" {
			d.New = s
		} else {
			d.Limit = s
		}
	}
	certain = known != nil || certain && b.Attribute("step") == nil
	if known == nil {
		for _, i := range l.pack.Instruments {
			if i.Name == d.With && !i.Dimension.IsNumber() {
				dim := i.Dimension
				known = &dim
			}
		}
	}
	if known == nil {
		length := quantity.OfLength
		known = &length
	}
	d.Dimension = *known
	if d.Unit.Symbol == "" {
		d.Unit = l.pack.Units.Unit(d.Dimension)
	}
	return certain
}

// asDifference takes a step or an uncertainty written in degrees as the difference
// that it is: 0.5 degC is half a degree, not 273.65 K.
func asDifference(q quantity.Quantity) quantity.Quantity {
	if q.Dimension.Point {
		q.SI, q.Dimension = q.Unit.SIDifference(q.Unit.In(q.SI)), q.Dimension.Difference()
	}
	return q
}

// peek finds the dimension of a setting without reporting mistakes.
func (l *loader) peek(b *syntax.Block, name, at string) *quantity.Dimension {
	if b.Attribute(name) == nil {
		return nil
	}
	r, mistakes := formula.CompileRange(b.Attribute(name).Value, l.facts(at))
	if len(mistakes) > 0 || r.Broken() {
		return nil
	}
	return &r.Dimension
}

// checkSides reports a limit on the wrong side of the new range, under any choice of
// the options that they depend on; for a job, only what suits none of them.
func (l *loader) checkSides(fresh, limit *Setting) {
	if fresh == nil || limit == nil {
		return
	}
	before := len(l.mistakes)
	for _, choice := range l.combinations(append(fresh.uses(), limit.uses()...)) {
		n, ok1 := fresh.under(choice)
		m, ok2 := limit.under(choice)
		wrong := ok1 && ok2 && l.wrongSide(limit.Span, n, m, describeChoice(choice, l.pack.Options))
		switch {
		case wrong && !l.forJob:
			return
		case !wrong && l.forJob:
			l.mistakes = l.mistakes[:before]
			return
		}
		l.mistakes = l.mistakes[:min(before+1, len(l.mistakes))]
	}
}

func (s *Setting) uses() []formula.Use {
	if s.Expression == nil {
		return nil
	}
	return s.Expression.Uses
}

// under returns the range under a choice of options, false where it depends on the
// sizes of parts.
func (s *Setting) under(choice map[string]string) (quantity.Range, bool) {
	if s.Expression == nil {
		return s.Constant, true
	}
	return s.Expression.Under(choice)
}

func (l *loader) wrongSide(span syntax.Span, n, m quantity.Range, when string) bool {
	text := func(si float64) string { return m.Unit.Text(si, max(m.Decimals, n.Decimals, 0)) }
	switch {
	case m.HasHigh && n.HasHigh && m.High < n.High:
		l.add("pack.limit-side", span, fmt.Sprintf("the limit %s lies below the upper end of new, %s%s", text(m.High), text(n.High), when), "a part that wears larger has its limit above new; check both figures, or write >= for one that wears smaller")
	case m.HasLow && n.HasLow && m.Low > n.Low:
		l.add("pack.limit-side", span, fmt.Sprintf("the limit %s lies above the lower end of new, %s%s", text(m.Low), text(n.Low), when), "a part that wears smaller has its limit below new; check both figures, or write <= for one that wears larger")
	case m.HasHigh && n.HasLow && m.High < n.Low, m.HasLow && n.HasHigh && m.Low > n.High:
		l.add("pack.limit-side", span, "the limit shuts out every new part"+when, "check both figures and the side of the limit")
	default:
		return false
	}
	return true
}

func (l *loader) check(b *syntax.Block) {
	c := &Check{Common: l.common(b), At: l.at(b), Ask: l.text(b, "ask"), Answers: l.texts(b, "answers"), Pass: l.texts(b, "pass"), Photo: l.flag(b, "photo")}
	for _, p := range c.Pass {
		if len(c.Answers) > 0 && !slices.Contains(c.Answers, p) {
			l.add("pack.choice", itemSpan(b, "pass", p), fmt.Sprintf("%q is no answer of this check", p), perhaps(p, c.Answers, "its answers are "+strings.Join(c.Answers, ", ")))
		}
	}
	l.pack.Checks = append(l.pack.Checks, c)
}

func (l *loader) space(b *syntax.Block) {
	s := &Space{Common: l.common(b), At: l.at(b), Outline: l.text(b, "outline"), Cover: l.text(b, "cover"), Label: l.numbersOf(b, "label")}
	s.StartsClosed = l.word(b, "starts", "open", "closed") == "closed"
	for _, name := range []string{"outline", "cover"} {
		if d := l.text(b, name); !isPathData(d) {
			l.add("pack.outline", b.Attribute(name).Value.Where(), fmt.Sprintf("%s is no SVG path data", name), writePathData)
		}
	}
	s.OutlineOf, s.CoverOf = l.pathsOf(b, s, "outline_of"), l.pathsOf(b, s, "cover_of")
	if b.Attribute("label") != nil && len(s.Label) != 2 {
		l.wrong(b.Attribute("label"), "a point", "[120, 80]")
	}
	l.pack.Spaces = append(l.pack.Spaces, s)
}

const writePathData = `write it like "M10 20 L60 20 L60 80 Z"`

// isPathData reports whether a text holds nothing that path data cannot.
func isPathData(d string) bool {
	return strings.Trim(d, "MmLlHhVvCcSsQqTtAaZz0123456789.,+-eE \t\n") == ""
}

// pathsOf reads path data for members of the place of a space.
func (l *loader) pathsOf(b *syntax.Block, s *Space, name string) map[string]string {
	if b.Attribute(name) == nil {
		return nil
	}
	out := l.table(b, name)
	kind := l.places[s.At]
	for _, member := range slices.Sorted(maps.Keys(out)) {
		switch {
		case !isPathData(out[member]):
			l.add("pack.outline", keySpan(b, name, member), fmt.Sprintf("%s of %s is no SVG path data", name, member), writePathData)
		case s.At == "" && b.Attribute("at") == nil:
			l.add("pack.place", keySpan(b, name, member), fmt.Sprintf("space %q stands once, so that %s has nothing to tell apart", s.Name, name), "write outline and cover, or say at = …")
		case kind != nil && !kind.Unknown && !slices.Contains(kind.Members, member):
			l.add("pack.place", keySpan(b, name, member), fmt.Sprintf("place %q has no member %q", s.At, member), perhaps(member, kind.Members, "its members are "+strings.Join(kind.Members, ", ")))
		}
	}
	return out
}

func (l *loader) temporary(b *syntax.Block) {
	l.pack.Temporaries = append(l.pack.Temporaries, &Temporary{Common: l.common(b), Count: l.whole(b, "count", 1, 1)})
}

func (l *loader) caution(b *syntax.Block) {
	l.pack.Cautions = append(l.pack.Cautions, &Caution{Common: l.common(b), Text: l.text(b, "text"), AppliesTo: names(l.refs(b, "applies_to", "operation"))})
}

// numbers compiles numbers and sweeps, those first that others name.
func (l *loader) numbers(blocks []*syntax.Block) {
	order, pending, looped := l.numberOrder(blocks)
	for _, b := range pending {
		// Declared before any is compiled, so that a loop reports itself and
		// not an unknown name.
		kind := formula.Number
		if b.Kind == "sweep" {
			kind = formula.Sweep
		}
		t := &formula.Thing{Kind: kind, Name: b.Name(), Place: l.atQuietly(b), Unknown: looped[b.Name()]}
		if u, ok := textOf(b, "unit"); ok {
			if unit, err := quantity.ParseUnit(u); err == nil {
				t.Dimension, t.Unknown = unit.Dimension, false
			}
		}
		t.Unknown = t.Unknown || l.loosePlace
		l.declare(b, t)
	}
	done := map[string]*Number{}
	sweeps := map[string]*Sweep{}
	for _, b := range order {
		if l.full() {
			return
		}
		if b.Kind == "sweep" {
			sweeps[b.Name()] = l.sweep(b)
		} else {
			done[b.Name()] = l.number(b)
		}
	}
	for _, b := range pending { // the written order is kept
		if n := done[b.Name()]; n != nil {
			l.pack.Numbers = append(l.pack.Numbers, n)
		}
		if s := sweeps[b.Name()]; s != nil {
			l.pack.Sweeps = append(l.pack.Sweeps, s)
		}
	}
}

func (l *loader) atQuietly(b *syntax.Block) string {
	before := len(l.mistakes)
	at := l.at(b)
	l.mistakes = l.mistakes[:before]
	return at
}

// numberOrder sorts numbers and sweeps so that each follows those it names. Loops
// are told as their shortest chain.
func (l *loader) numberOrder(blocks []*syntax.Block) (order, all []*syntax.Block, looped map[string]bool) {
	index := map[string]*syntax.Block{}
	for _, b := range blocks {
		if (b.Kind == "number" || b.Kind == "sweep") && len(b.Labels) > 0 {
			index[b.Name()] = b
			all = append(all, b)
		}
	}
	uses := map[string][]string{}
	for _, b := range all {
		if a := b.Attribute("value"); a != nil {
			uses[b.Name()] = mentioned(a.Value, index)
		}
	}
	state := map[string]int{}
	var visit func(b *syntax.Block)
	visit = func(b *syntax.Block) {
		if state[b.Name()] != 0 {
			return
		}
		state[b.Name()] = 1
		for _, n := range uses[b.Name()] {
			visit(index[n])
		}
		order = append(order, b)
	}
	for _, b := range all {
		visit(b)
	}
	var written []string
	for _, b := range all {
		written = append(written, b.Name())
	}
	looped = map[string]bool{}
	for _, chain := range loops(written, uses) {
		for _, n := range chain {
			looped[n] = true
		}
		l.add("formula.loop", index[chain[0]].Labels[0].Span, "these numbers go round in a loop: "+strings.Join(append(shortened(chain), chain[0]), " → "), "let one of them be read instead of computed, or leave it out of the formula")
	}
	return order, all, looped
}

// mentioned lists the names in an expression that stand in index.
func mentioned(e syntax.Expr, index map[string]*syntax.Block) []string {
	var out []string
	syntax.Walk(e, func(e syntax.Expr) {
		if r, ok := e.(*syntax.Reference); ok {
			name := r.Root
			if _, ok := index[name]; !ok && len(r.Steps) > 0 && (name == "number" || name == "sweep") {
				name = r.Steps[0].Name
			}
			if _, ok := index[name]; ok && !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	})
	return out
}

// shortened leaves out the middle of a long chain.
func shortened(chain []string) []string {
	if len(chain) <= longestChain {
		return slices.Clone(chain)
	}
	return slices.Concat(chain[:longestChain-2], []string{"…"}, chain[len(chain)-1:])
}

// loops finds the loops of a graph as their shortest chains: from each node in the
// written order that stands in none yet. What cannot be part of a loop is peeled off
// first, so that a long chain without one costs one walk.
func loops(written []string, edges map[string][]string) [][]string {
	into, out := map[string]int{}, map[string]int{}
	from := map[string][]string{}
	for _, a := range written {
		for _, b := range edges[a] {
			out[a]++
			into[b]++
			from[b] = append(from[b], a)
		}
	}
	gone := map[string]bool{}
	var queue []string
	for _, a := range written {
		if into[a] == 0 || out[a] == 0 {
			queue = append(queue, a)
		}
	}
	for len(queue) > 0 {
		a := queue[0]
		queue = queue[1:]
		if gone[a] {
			continue
		}
		gone[a] = true
		for _, b := range edges[a] {
			if into[b]--; into[b] == 0 {
				queue = append(queue, b)
			}
		}
		for _, b := range from[a] {
			if out[b]--; out[b] == 0 {
				queue = append(queue, b)
			}
		}
	}
	left := map[string][]string{}
	for _, a := range written {
		if !gone[a] {
			for _, b := range edges[a] {
				if !gone[b] {
					left[a] = append(left[a], b)
				}
			}
		}
	}
	var found [][]string
	told := map[string]bool{}
	for _, a := range written {
		if gone[a] || told[a] || len(found) >= 20 {
			continue
		}
		if chain := shortestLoop(a, left); chain != nil {
			found = append(found, chain)
			for _, n := range chain {
				told[n] = true
			}
		}
	}
	return found
}

// shortestLoop finds the shortest way from a node back to itself.
func shortestLoop(from string, edges map[string][]string) []string {
	before := map[string]string{}
	queue := []string{from}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, next := range edges[at] {
			if next == from {
				chain := []string{at}
				for at != from {
					at = before[at]
					chain = append(chain, at)
				}
				slices.Reverse(chain)
				return chain
			}
			if _, seen := before[next]; !seen {
				before[next] = at
				queue = append(queue, next)
			}
		}
	}
	return nil
}

func (l *loader) scope(at string) *formula.Scope {
	return &formula.Scope{Things: l.things, Places: l.places, At: at, Functions: l.functions, AnyPlace: l.loosePlace}
}

func (l *loader) number(b *syntax.Block) *Number {
	n := &Number{Common: l.common(b), At: l.at(b)}
	n.GuardNew, n.Critical = l.flag(b, "guard_new"), l.flag(b, "critical")
	l.computed(b, n, l.scope(n.At), true)
	return n
}

// computed reads what numbers and sweeps have in common. The formula is left out
// where a mistake keeps x from having a dimension.
func (l *loader) computed(b *syntax.Block, n *Number, scope *formula.Scope, withFormula bool) {
	known, loose := false, l.loosePlace
	if a := b.Attribute("unit"); a != nil {
		u, err := quantity.ParseUnit(l.text(b, "unit"))
		if err != nil {
			l.quantityError(err, a.Value.Where())
		} else {
			n.Unit, n.HasUnit, n.Dimension, known = u, true, u.Dimension, true
		}
	}
	if a := b.Attribute("value"); a != nil && withFormula {
		x, mistakes := formula.Compile(a.Value, scope)
		l.mistakes = append(l.mistakes, mistakes...)
		if len(mistakes) == 0 && !x.Broken() {
			switch {
			case x.Condition:
				l.add("formula.condition", a.Value.Where(), "value is a condition, and a number is needed", "choose between two values with test ? a : b")
			case known && x.Dimension != n.Dimension:
				do := fmt.Sprintf("give it a unit of %s, or check the formula", x.Dimension)
				switch {
				case n.Dimension.Angle && x.Dimension.IsNumber():
					do = `multiply a number of turns by "1 turns"`
				case x.Dimension.IsNumber():
					do = "leave the unit out, or check the formula"
				}
				l.add("quantity.dimension", b.Attribute("unit").Value.Where(), fmt.Sprintf("the unit %s is one of %s, and the formula gives %s", n.Unit.Symbol, n.Dimension, syntax.WithArticle(x.Dimension.String())), do)
			case !known && x.Condition:
			case !known:
				n.Dimension = x.Dimension
			}
			n.Value = x
			if n.NonNegative = x.NonNegative(); x.Condition {
				n.Value = nil
			}
		}
	}
	if t := l.things[b.Name()]; t != nil && (t.Kind == formula.Number || t.Kind == formula.Sweep) {
		t.Dimension = n.Dimension
		t.Unknown = loose || n.Value == nil && !known
	}
	if n.Value == nil && !known {
		return
	}
	n.New, n.Limit = l.setting(b, "new", n.At, &n.Dimension), l.setting(b, "limit", n.At, &n.Dimension)
	l.checkSides(n.New, n.Limit)
	if !n.HasUnit {
		n.Unit = l.pack.Units.Unit(n.Dimension)
		for _, s := range []*Setting{n.Limit, n.New} {
			if s != nil {
				n.Unit = s.Constant.Unit
			}
		}
	}
	if a := b.Attribute("model"); a != nil {
		n.Model = l.modelError(a, n.Dimension)
	}
}

// modelError reads "± 0.15 mm".
func (l *loader) modelError(a *syntax.Attribute, dim quantity.Dimension) float64 {
	t, ok := a.Value.(*syntax.Text)
	if !ok {
		l.wrong(a, "the error of the formula", `"± 0.15 mm"`)
		return 0
	}
	text := strings.TrimSpace(t.Value)
	for _, sign := range []string{"±", "+-", "+/-"} {
		text = strings.TrimSpace(strings.TrimPrefix(text, sign))
	}
	q, err := quantity.Parse(text)
	if err != nil {
		l.quantityError(err, t.Span)
		return 0
	}
	if want := dim.Difference(); q.Dimension != want {
		l.unitMismatch("model", t.Span, q.Dimension, want)
		return 0
	}
	return math.Abs(q.SI)
}

func (l *loader) sweep(b *syntax.Block) *Sweep {
	s := &Sweep{Number: Number{Common: l.common(b), At: l.at(b)}}
	s.GuardNew, s.Critical = l.flag(b, "guard_new"), l.flag(b, "critical")
	s.Largest = l.word(b, "find", "smallest", "largest") == "largest"
	scope := l.scope(s.At)
	angle := quantity.OfAngle
	scope.X = &angle
	certain := false
	if a := b.Attribute("over"); a != nil {
		if over := l.setting(b, "over", s.At, nil); over != nil {
			switch r := over.Constant; {
			case over.Expression != nil:
				l.add("pack.attribute", a.Value.Where(), "over is a fixed range", `write it like "-40 .. 40 deg"`)
			case !r.HasLow || !r.HasHigh || !(r.High > r.Low):
				l.add("pack.range", a.Value.Where(), "over needs two ends that differ", `write it like "-40 .. 40 deg"`)
			default:
				s.Over, s.Low, s.High = r, r.Low, r.High
			}
			dim := over.Constant.Dimension
			scope.X, certain = &dim, true
		}
	}
	l.computed(b, &s.Number, scope, certain)
	return s
}
