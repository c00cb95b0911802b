package formula

import (
	"container/heap"
	"fmt"
	"math"

	"buttonup/quantity"
)

// Ends are the least and the greatest value of a node.
type Ends struct {
	Low, High float64
	// Loose is by how much the ends may lie further out than the formula reaches; 0
	// where they are those of the formula.
	Loose float64
	// Searched is set where the formula holds a function or a curve whose ends were
	// found by trying and not by bounding.
	Searched bool
}

// HalfWidth is how many standard uncertainties the worst case takes an unknown of a
// shape to reach: two for a normal one, its whole half-width for the others.
func HalfWidth(s quantity.Shape) float64 {
	if s == quantity.Normal {
		return 2
	}
	return s.HalfWidth()
}

// WorstCase returns the least and greatest value of a node when every unknown takes
// any value it can reach. A name that stands twice counts once: the ends are those of
// the formula, not of its parts taken apart. The values must have been evaluated;
// their inputs are the centres.
//
// Where the formula rises or falls steadily with an unknown, that unknown sits at one
// of its ends; what is left is divided until the ends are known to a billionth of
// their distance. The method is ours; it uses interval arithmetic, textbook, from
// memory.
//
// It is an error where the formula has no value somewhere within the ± of its inputs,
// or cannot be bounded to a thousandth of what its parts, each taken for itself, would
// give.
func (g *Graph) WorstCase(id NodeID, v *Values, d Distribution) (Ends, error) {
	if v.status[id] != Known {
		return Ends{}, fmt.Errorf("a formula without a value has no worst case")
	}
	w := &worst{graph: g, values: v, cone: g.Cone(id), d: d, at: map[int]int{}, parts: mostParts}
	for _, n := range w.cone {
		node := &g.nodes[n]
		switch {
		case node.op == opSweep || node.op == opX:
			return Ends{}, fmt.Errorf("a sweep has no worst case here")
		case node.op == opFunction:
			w.searched, w.parts = true, triedFunction
		case node.op == opCurve:
			w.searched, w.parts = true, min(w.parts, triedCurve)
		case node.op == opInput && int(node.extra) < len(d.Debts):
			for _, debt := range d.Debts[node.extra] {
				if _, ok := w.at[debt.Unknown]; !ok && debt.U != 0 {
					w.at[debt.Unknown] = len(w.box)
					h := HalfWidth(d.Shapes[debt.Unknown])
					w.box = append(w.box, interval{-h, h})
				}
			}
		}
	}
	w.value = make([]interval, len(g.nodes))
	w.slope = make([][]interval, len(g.nodes))
	for _, n := range w.cone {
		w.slope[n] = make([]interval, len(w.box))
	}
	w.evaluate(w.box)
	w.scale = w.value[id].width()
	if !(w.scale >= 0) || math.IsInf(w.scale, 0) {
		w.scale = math.Abs(v.node[id])
	}
	low, loose, err := w.least(1)
	if err != nil {
		return Ends{}, err
	}
	high, more, err := w.least(-1)
	if err != nil {
		return Ends{}, err
	}
	return Ends{Low: low, High: -high, Loose: math.Max(loose, more), Searched: w.searched}, nil
}

// worst is one search for the ends of a formula.
type worst struct {
	graph    *Graph
	values   *Values
	cone     []NodeID
	d        Distribution
	box      []interval
	at       map[int]int // of an unknown: its place in the box
	value    []interval
	slope    [][]interval
	searched bool
	parts    int     // into how many the box is divided at most
	scale    float64 // the distance of the ends without any care
}

// part is a piece of the box with the bound of the formula over it.
type part struct {
	box   []interval
	bound float64
}

// How finely the box is divided at most. A formula with a curve or a function of
// mechanics, whose bounds are tried, gets so many tries.
const (
	mostParts     = 20_000
	triedCurve    = 2_000
	triedFunction = 300
)

// parts is a heap of pieces, that with the lowest bound on top.
type parts []part

func (q parts) Len() int           { return len(q) }
func (q parts) Less(i, j int) bool { return q[i].bound < q[j].bound }
func (q parts) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *parts) Push(x any)        { *q = append(*q, x.(part)) }
func (q *parts) Pop() any {
	x := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return x
}

// least finds the least value of side times the formula, and by how much it may be too
// low.
func (w *worst) least(side float64) (value, loose float64, err error) {
	best := math.Inf(1) // the least value found at a point
	look := func(box []interval) part {
		box, bound := w.narrow(box, side)
		x, ok := w.pointValue(box, side)
		switch {
		case !ok:
			err = fmt.Errorf("the formula has no value somewhere within the ± of its inputs, so it has no worst case")
		case x < best:
			best = x
		}
		return part{box, bound}
	}
	queue := &parts{look(w.box)}
	close := func(bound float64) bool { return bound >= best-1e-9*w.scale-1e-15 }
	for n := 0; err == nil && queue.Len() > 0; n++ {
		p := heap.Pop(queue).(part)
		if close(p.bound) {
			return best, 0, nil
		}
		i := w.widest(p.box)
		if n >= w.parts || p.box[i].width() < 1e-12 {
			switch {
			case w.searched:
				return best, 0, nil // what was found by trying
			case best-p.bound <= 1e-3*w.scale:
				return p.bound, best - p.bound, nil
			}
			return 0, 0, fmt.Errorf("the formula cannot be bounded within the ± of its inputs: it divides by what may be zero, or names one thing too often")
		}
		for _, half := range []interval{{p.box[i].low, p.box[i].middle()}, {p.box[i].middle(), p.box[i].high}} {
			box := append([]interval(nil), p.box...)
			box[i] = half
			if q := look(box); !close(q.bound) {
				heap.Push(queue, q)
			}
		}
	}
	return best, 0, err
}

// widest returns the side of the box along which the formula may change most.
func (w *worst) widest(box []interval) int {
	w.evaluate(box)
	slopes := w.slope[w.cone[len(w.cone)-1]]
	best, most := 0, -1.0
	for i := range box {
		by := box[i].width() * slopes[i].absolute().high
		if math.IsNaN(by) || math.IsInf(by, 0) {
			by = math.MaxFloat64 * math.Min(1, box[i].width()/16) // by the width alone, before all others
		}
		if by > most {
			best, most = i, by
		}
	}
	return best
}

// narrow puts every unknown that the formula rises or falls with at the end where it
// is least, until none is left, and bounds the formula over what remains.
func (w *worst) narrow(box []interval, side float64) ([]interval, float64) {
	box = append([]interval(nil), box...)
	root := w.cone[len(w.cone)-1]
	for {
		w.evaluate(box)
		settled := false
		for i := range box {
			if box[i].width() == 0 {
				continue
			}
			switch sign := w.slope[root][i].scale(side).sign(); {
			case sign > 0:
				box[i], settled = point(box[i].low), true
			case sign < 0:
				box[i], settled = point(box[i].high), true
			}
		}
		if !settled {
			break
		}
	}
	bound := w.value[root].scale(side).low
	if math.IsNaN(bound) {
		bound = math.Inf(-1) // somewhere in the box there is no value
	}
	// The mean-value form is tighter on a small box.
	if x, ok := w.pointValue(middles(box), side); ok {
		w.evaluate(box)
		around := x
		for i := range box {
			around -= box[i].width() / 2 * w.slope[root][i].absolute().high
		}
		if !math.IsNaN(around) {
			bound = math.Max(bound, around)
		}
	}
	return box, bound
}

func middles(box []interval) []interval {
	out := make([]interval, len(box))
	for i := range box {
		out[i] = point(box[i].middle())
	}
	return out
}

// pointValue computes side times the formula in the middle of a box; false where it
// has no value there.
func (w *worst) pointValue(box []interval, side float64) (float64, bool) {
	w.evaluate(middles(box))
	x := w.value[w.cone[len(w.cone)-1]].middle()
	return side * x, !math.IsNaN(x) && !math.IsInf(x, 0)
}

// evaluate bounds every node and its slopes over a box.
func (w *worst) evaluate(box []interval) {
	for _, id := range w.cone {
		n := &w.graph.nodes[id]
		slopes := w.slope[id]
		for i := range slopes {
			slopes[i] = interval{}
		}
		if w.values.Override != nil && known(w.values.Override, id) || w.values.status[id] != Known {
			w.value[id] = point(w.values.node[id])
			continue
		}
		switch n.op {
		case opConstant:
			w.value[id] = point(n.k)
		case opInput:
			x := point(w.values.Input[n.extra])
			if int(n.extra) < len(w.d.Debts) {
				for _, debt := range w.d.Debts[n.extra] {
					if i, ok := w.at[debt.Unknown]; ok {
						x = x.add(box[i].scale(debt.U))
						slopes[i] = slopes[i].add(point(debt.U))
					}
				}
			}
			w.value[id] = x
		default:
			w.node(id, n, slopes)
		}
	}
}

// node bounds one node from its arguments.
func (w *worst) node(id NodeID, n *graphNode, slopes []interval) {
	var args []NodeID
	for _, a := range w.graph.arguments(n) {
		if !n.op.several() || w.values.status[a] == Known {
			args = append(args, a)
		}
	}
	x := func(i int) interval { return w.value[args[i]] }
	chain := func(k int, by interval) {
		for i, s := range w.slope[args[k]] {
			slopes[i] = slopes[i].add(s.multiply(by))
		}
	}
	switch n.op {
	case opAdd:
		w.value[id] = x(0).add(x(1))
		chain(0, point(1))
		chain(1, point(1))
	case opSubtract:
		w.value[id] = x(0).subtract(x(1))
		chain(0, point(1))
		chain(1, point(-1))
	case opMultiply:
		w.value[id] = x(0).multiply(x(1))
		chain(0, x(1))
		chain(1, x(0))
	case opDivide:
		r := x(1).reciprocal()
		w.value[id] = x(0).multiply(r)
		chain(0, r)
		if r == everything {
			chain(1, everything) // across a pole nothing is steady
		} else {
			chain(1, x(0).negate().multiply(r.square()))
		}
	case opPresent:
		w.value[id] = x(0)
		chain(0, point(1))
	case opNegate:
		w.value[id] = x(0).negate()
		chain(0, point(-1))
	case opMean, opSum:
		k := 1.0
		if n.op == opMean {
			k = 1 / float64(len(args))
		}
		total := interval{}
		for i := range args {
			total = total.add(x(i))
			chain(i, point(k))
		}
		w.value[id] = total.scale(k)
	case opMin, opMax:
		w.extreme(id, n.op, args, slopes)
	case opSpread:
		low := make([]interval, len(slopes))
		w.extreme(id, opMin, args, low)
		least := w.value[id]
		w.extreme(id, opMax, args, slopes)
		w.value[id] = w.value[id].subtract(least)
		w.value[id].low = math.Max(0, w.value[id].low)
		for i := range slopes {
			slopes[i] = slopes[i].subtract(low[i])
		}
	case opSelect:
		w.choose(id, args, slopes)
	case opFunction, opCurve, opAtan2, opRemainder:
		w.sample(id, n, args, slopes)
	default:
		if len(args) == 1 {
			y, by := unaryBounds(n.op, x(0))
			w.value[id] = y
			chain(0, by)
			return
		}
		w.binary(id, n, args, chain)
	}
}

// unaryBounds bounds a function of one value and its derivative.
func unaryBounds(o op, a interval) (y, by interval) {
	switch o {
	case opAbs:
		return a.absolute(), map[int]interval{1: point(1), -1: point(-1), 0: {-1, 1}}[a.sign()]
	case opSqrt:
		if a.low < 0 {
			return interval{math.NaN(), math.NaN()}, everything
		}
		y = a.rising(math.Sqrt)
		return y, y.scale(2).reciprocal()
	case opSquare:
		return a.square(), a.scale(2)
	case opCube:
		return a.rising(func(x float64) float64 { return x * x * x }), a.square().scale(3)
	case opExp:
		y = a.rising(math.Exp)
		return y, y
	case opLn:
		if a.low <= 0 {
			return interval{math.NaN(), math.NaN()}, everything
		}
		return a.rising(math.Log), a.reciprocal()
	case opSin:
		return a.sine(), a.cosine()
	case opCos:
		return a.cosine(), a.sine().negate()
	case opTan:
		if y = a.tangent(); y == everything {
			return y, everything // across a pole nothing is steady
		}
		return y, y.square().add(point(1))
	case opAsin:
		return a.rising(math.Asin), point(1).subtract(a.square()).rising(math.Sqrt).reciprocal()
	case opAcos:
		return a.falling(math.Acos), point(1).subtract(a.square()).rising(math.Sqrt).reciprocal().negate()
	case opAtan:
		return a.rising(math.Atan), a.square().add(point(1)).reciprocal()
	case opNot:
		return interval{1 - a.high, 1 - a.low}, interval{}
	}
	return everything, everything
}

// binary bounds the remaining functions of two and three values.
func (w *worst) binary(id NodeID, n *graphNode, args []NodeID, chain func(int, interval)) {
	x := func(i int) interval { return w.value[args[i]] }
	switch n.op {
	case opHypot:
		y := x(0).square().add(x(1).square()).rising(math.Sqrt)
		w.value[id] = y
		r := y.reciprocal()
		chain(0, x(0).multiply(r))
		chain(1, x(1).multiply(r))
	case opPower:
		y, base, exponent := x(0).power(x(1))
		w.value[id] = y
		chain(0, base)
		chain(1, exponent)
	case opClamp:
		y := x(0)
		y = interval{math.Min(math.Max(y.low, x(1).low), x(2).low), math.Min(math.Max(y.high, x(1).high), x(2).high)}
		w.value[id] = y
		for i := range args {
			chain(i, interval{0, 1})
		}
	case opLess, opLessEqual:
		w.value[id] = compare(x(0), x(1))
	case opGreater, opGreaterEqual:
		w.value[id] = compare(x(1), x(0))
	case opEqual, opUnequal:
		equal := interval{0, 0}
		if x(0).width() == 0 && x(1).width() == 0 && x(0) == x(1) {
			equal = point(1)
		} else if x(0).high >= x(1).low && x(1).high >= x(0).low {
			equal = interval{0, 1}
		}
		if n.op == opUnequal {
			equal = interval{1 - equal.high, 1 - equal.low}
		}
		w.value[id] = equal
	case opAnd:
		w.value[id] = interval{math.Min(x(0).low, x(1).low), math.Min(x(0).high, x(1).high)}
	case opOr:
		w.value[id] = interval{math.Max(x(0).low, x(1).low), math.Max(x(0).high, x(1).high)}
	default:
		w.value[id] = everything
	}
}

// compare is 1 where a is surely below b, 0 where it is surely not, between where
// either may be.
func compare(a, b interval) interval {
	switch {
	case a.high < b.low:
		return point(1)
	case a.low > b.high:
		return point(0)
	}
	return interval{0, 1}
}

// extreme bounds the smallest or largest of several; only those that may be it pass
// their slopes on.
func (w *worst) extreme(id NodeID, o op, args []NodeID, slopes []interval) {
	flip := 1.0
	if o == opMax {
		flip = -1
	}
	bound := math.Inf(1)
	for _, a := range args {
		bound = math.Min(bound, w.value[a].scale(flip).high)
	}
	low, first := math.Inf(1), true
	for _, a := range args {
		x := w.value[a].scale(flip)
		low = math.Min(low, x.low)
		if x.low > bound {
			continue // never the one
		}
		for i, s := range w.slope[a] {
			if first {
				slopes[i] = s
			} else {
				slopes[i] = slopes[i].union(s)
			}
		}
		first = false
	}
	w.value[id] = interval{low, bound}.scale(flip)
}

// choose bounds a conditional: both branches where either may be taken.
func (w *worst) choose(id NodeID, args []NodeID, slopes []interval) {
	test := w.value[args[0]]
	branches := args[1:3]
	switch {
	case test.low != 0:
		branches = args[1:2]
	case test.high == 0:
		branches = args[2:3]
	}
	for k, b := range branches {
		if k == 0 {
			w.value[id] = w.value[b]
			copy(slopes, w.slope[b])
			continue
		}
		// The value jumps where the condition turns, so no slope bounds it.
		w.value[id] = w.value[id].union(w.value[b])
		for i := range slopes {
			if slopes[i] != (interval{}) || w.slope[b][i] != (interval{}) || w.slope[args[0]][i] != (interval{}) {
				slopes[i] = everything
			}
		}
	}
	if len(branches) == 2 {
		for i := range slopes {
			slopes[i] = everything
		}
	}
}

// sample bounds a function that has no interval form by its corners and by points
// through its middle, and its slopes by those there.
func (w *worst) sample(id NodeID, n *graphNode, args []NodeID, slopes []interval) {
	v := make([]float64, len(args))
	d := make([]float64, len(args))
	bounds := make([]interval, len(args))
	out := interval{math.Inf(1), math.Inf(-1)}
	look := func() {
		y := math.NaN()
		switch n.op {
		case opFunction:
			if z, err := w.graph.functions[n.extra].Evaluate(v); err == nil {
				y = z
			}
			numericSlopes(w.graph.functions[n.extra], v, d)
		case opCurve:
			if z, err := w.graph.tables[n.extra].At(v[0]); err == nil {
				y = z
			}
			d[0] = w.graph.tables[n.extra].Slope(v[0])
		default:
			y = compute(n.op, v)
			derive(n.op, v, y, d)
		}
		if math.IsNaN(y) {
			return
		}
		if out.low > out.high {
			for i := range d {
				bounds[i] = point(d[i])
			}
		}
		out = out.union(point(y))
		for i := range d {
			bounds[i] = bounds[i].union(point(d[i]))
		}
	}
	corners := 1 << min(len(args), 6)
	for c := range corners {
		for i, a := range args {
			v[i] = w.value[a].low
			if c&(1<<i) != 0 {
				v[i] = w.value[a].high
			}
		}
		look()
	}
	// And along each argument through the middle.
	const along = 16
	for k, a := range args {
		for i, b := range args {
			v[i] = w.value[b].middle()
		}
		for step := 1; step < along; step++ {
			v[k] = w.value[a].low + w.value[a].width()*float64(step)/along
			look()
		}
	}
	if out.low > out.high {
		out = interval{math.NaN(), math.NaN()}
	}
	w.value[id] = out
	for k, a := range args {
		for i, s := range w.slope[a] {
			slopes[i] = slopes[i].add(s.multiply(bounds[k]))
		}
	}
}

// derive is slopes, under a name that the local slopes do not hide.
func derive(o op, v []float64, y float64, d []float64) { slopes(o, v, y, d) }
