package formula

import (
	"math"
	"slices"

	"buttonup/quantity"
)

// Facts are what a condition of fit may be decided from.
type Facts struct {
	// Choices holds the choice of each option and, under the names of slots, the
	// part in each.
	Choices map[string]string
	// Size returns a size of the part in a slot; nil where none is known. The member
	// is "" where the condition names no place.
	Size func(slot, member, size string) (float64, bool)
}

// Unmet is one comparison that keeps a condition from being true.
type Unmet struct {
	// Thing is the option or slot that a choice was compared with; nil for a
	// comparison of figures.
	Thing *Thing
	// Has is the choice made, "" where none is; Wants lists those that would do.
	Has   string
	Wants []string
	// Left and Right are the figures compared, and Operator how they had to compare.
	Left, Right Figure
	Operator    string
}

// Open reports whether the comparison could not be decided: a choice is not made, or
// a figure is not known.
func (u *Unmet) Open() bool {
	if u.Thing != nil {
		return u.Has == ""
	}
	return !u.Left.Known || !u.Right.Known
}

// Figure is one side of a comparison.
type Figure struct {
	// Thing and Size name the size of a slot's part, or the option, that it is; a
	// nil Thing is a figure that the condition states or computes.
	Thing     *Thing
	Size      string
	Value     float64
	Known     bool
	Dimension quantity.Dimension
}

// Unmet answers a condition as [Decide] does, sizes of chosen parts included, and
// lists the comparisons that keep it from being true: the smallest set of them that
// would have to change, with nothing that holds already given up. Alternatives that
// ask one option alone come out as one comparison that wants any of their choices. A
// nil condition is Yes. A condition that no choices can meet is No with an empty list.
func (e *Expr) Unmet(f Facts) (Answer, []Unmet) {
	if e == nil || e.root == nil {
		return Yes, nil
	}
	a := f.decide(e.root)
	if a == Yes {
		return a, nil
	}
	var best []Unmet
	for _, way := range f.ways(e.root, true) {
		lacks := slices.DeleteFunc(slices.Clone(way), func(u Unmet) bool { return f.holds(&u) })
		switch {
		case best == nil || len(lacks) < len(best):
			best = lacks
		case len(lacks) == 1 && len(best) == 1 && lacks[0].Thing != nil && lacks[0].Thing == best[0].Thing:
			best[0].Wants = union(best[0].Wants, lacks[0].Wants)
		}
	}
	return a, best
}

func (f Facts) decide(n *node) Answer {
	switch n.op {
	case opNot:
		switch f.decide(n.args[0]) {
		case Yes:
			return No
		case No:
			return Yes
		}
		return Maybe
	case opAnd, opOr:
		a, b := f.decide(n.args[0]), f.decide(n.args[1])
		settles := No
		if n.op == opOr {
			settles = Yes
		}
		switch {
		case a == settles || b == settles:
			return settles
		case a == b:
			return a
		}
		return Maybe
	case opSelect:
		switch f.decide(n.args[0]) {
		case Yes:
			return f.decide(n.args[1])
		case No:
			return f.decide(n.args[2])
		}
		return Maybe
	}
	if isComparison(n.op) {
		x, okX := f.value(n.args[0])
		y, okY := f.value(n.args[1])
		if !okX || !okY {
			return Maybe
		}
		return answer(compute(n.op, []float64{x, y}) != 0)
	}
	return decide(n, f.Choices)
}

func isComparison(o op) bool { return o >= opLess && o <= opUnequal }

// value computes what depends on options and sizes of parts alone.
func (f Facts) value(n *node) (float64, bool) {
	switch n.op {
	case opConstant:
		return n.k, true
	case opInput:
		switch n.ref.kind {
		case Given:
			return n.ref.given.SI, true
		case Size:
			if f.Size != nil {
				return f.Size(n.ref.thing.Name, n.ref.member, n.ref.detail)
			}
		case OptionValue:
			if q, err := quantity.Parse(f.Choices[n.ref.thing.Name]); err == nil {
				return q.SI, true
			}
		}
		return 0, false
	case opSelect:
		switch f.decide(n.args[0]) {
		case Yes:
			return f.value(n.args[1])
		case No:
			return f.value(n.args[2])
		}
		return 0, false
	case opX, opCurve, opFunction, opSweep, opPresent:
		return 0, false
	}
	v := make([]float64, len(n.args))
	for i, a := range n.args {
		x, ok := f.value(a)
		if !ok {
			return 0, false
		}
		v[i] = x
	}
	x := compute(n.op, v)
	return x, !math.IsNaN(x)
}

// mostWays bounds how many alternatives of a condition are told apart; what goes
// beyond is left out, which may make the told set larger than it need be.
const mostWays = 256

// ways lists the alternatives under which a condition is what is wanted, each as the
// comparisons that must hold together.
func (f Facts) ways(n *node, wanted bool) [][]Unmet {
	switch n.op {
	case opConstant:
		if (n.k != 0) == wanted {
			return [][]Unmet{{}}
		}
		return nil
	case opNot:
		return f.ways(n.args[0], !wanted)
	case opAnd, opOr:
		a, b := f.ways(n.args[0], wanted), f.ways(n.args[1], wanted)
		if (n.op == opAnd) == wanted {
			return together(a, b)
		}
		return append(a, b...)[:min(len(a)+len(b), mostWays)]
	case opSelect:
		then := together(f.ways(n.args[0], true), f.ways(n.args[1], wanted))
		other := together(f.ways(n.args[0], false), f.ways(n.args[2], wanted))
		return append(then, other...)[:min(len(then)+len(other), mostWays)]
	case opInput:
		t := n.ref.thing
		if t == nil || n.ref.kind != OptionIs && n.ref.kind != PartIs {
			return nil
		}
		u := Unmet{Thing: t, Has: f.Choices[t.Name], Wants: []string{n.ref.detail}}
		if !wanted {
			u.Wants = slices.DeleteFunc(slices.Clone(t.Choices), func(c string) bool { return c == n.ref.detail })
		}
		return [][]Unmet{{u}}
	}
	if isComparison(n.op) {
		o := n.op
		if !wanted {
			o = opposite[o]
		}
		return [][]Unmet{{{Left: f.figure(n.args[0]), Right: f.figure(n.args[1]), Operator: comparisonText[o]}}}
	}
	return nil
}

// together joins every alternative of one condition with every one of another; those
// that contradict each other are left out.
func together(a, b [][]Unmet) [][]Unmet {
	var out [][]Unmet
	for _, x := range a {
		for _, y := range b {
			if way, ok := join(x, y); ok && len(out) < mostWays {
				out = append(out, way)
			}
		}
	}
	return out
}

// join makes two lists one; what asks the same thing twice wants what both want.
func join(a, b []Unmet) ([]Unmet, bool) {
	out := slices.Clone(a)
	for _, u := range b {
		at := slices.IndexFunc(out, func(v Unmet) bool { return u.Thing != nil && v.Thing == u.Thing })
		if at < 0 {
			out = append(out, u)
			continue
		}
		out[at].Wants = slices.DeleteFunc(slices.Clone(out[at].Wants), func(w string) bool { return !slices.Contains(u.Wants, w) })
		if len(out[at].Wants) == 0 {
			return nil, false
		}
	}
	return out, true
}

func union(a, b []string) []string {
	out := slices.Clone(a)
	for _, w := range b {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

// holds reports whether a comparison is met as things stand.
func (f Facts) holds(u *Unmet) bool {
	if u.Thing != nil {
		return u.Has != "" && slices.Contains(u.Wants, u.Has)
	}
	return u.Left.Known && u.Right.Known && compute(comparisons[u.Operator], []float64{u.Left.Value, u.Right.Value}) != 0
}

var opposite = map[op]op{opLess: opGreaterEqual, opLessEqual: opGreater, opGreater: opLessEqual, opGreaterEqual: opLess, opEqual: opUnequal, opUnequal: opEqual}

var comparisonText = map[op]string{opLess: "<", opLessEqual: "<=", opGreater: ">", opGreaterEqual: ">=", opEqual: "==", opUnequal: "!="}

func (f Facts) figure(n *node) Figure {
	x, known := f.value(n)
	out := Figure{Value: x, Known: known, Dimension: n.dim}
	if n.op == opInput && n.ref.kind == Size {
		out.Thing, out.Size = n.ref.thing, n.ref.detail
	}
	return out
}

// Conjuncts parts a condition into conditions that must all hold.
func (e *Expr) Conjuncts() []*Expr {
	if e == nil || e.root == nil {
		return nil
	}
	var out []*Expr
	var split func(n *node, wanted bool)
	split = func(n *node, wanted bool) {
		switch {
		case n.op == opNot:
			split(n.args[0], !wanted)
		case n.op == opAnd && wanted, n.op == opOr && !wanted:
			split(n.args[0], wanted)
			split(n.args[1], wanted)
		case wanted:
			out = append(out, &Expr{root: n, Condition: true})
		default:
			out = append(out, &Expr{root: &node{op: opNot, args: []*node{n}, condition: true}, Condition: true})
		}
	}
	split(e.root, true)
	return out
}

// SlotsNamed lists the slots whose part or sizes an expression asks for, each once.
func (e *Expr) SlotsNamed() []string {
	if e == nil || e.root == nil {
		return nil
	}
	var out []string
	var walk func(n *node)
	walk = func(n *node) {
		if t := n.ref.thing; t != nil && t.Kind == Slot && !slices.Contains(out, t.Name) {
			out = append(out, t.Name)
		}
		for _, a := range n.args {
			walk(a)
		}
	}
	walk(e.root)
	return out
}
