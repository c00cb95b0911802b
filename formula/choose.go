package formula

import (
	"fmt"
	"math"
)

// Method is how the spread of a formula is found.
type Method uint8

// The methods. Chosen leaves the choice to [Graph.Choose].
const (
	Chosen Method = iota
	ByFirstOrder
	ByMonteCarlo
	ByWorstCase
)

var methodNames = [...]string{"", "first-order", "monte-carlo", "worst-case"}

// String returns the word by which a method is asked for.
func (m Method) String() string { return methodNames[m] }

// FindMethod returns the method of a word; false for one that there is not.
func FindMethod(word string) (Method, bool) {
	for i, name := range methodNames {
		if i > 0 && name == word {
			return Method(i), true
		}
	}
	return Chosen, false
}

// Reason is why a method was taken.
type Reason uint8

// The reasons. The first four go with first order, the next five with Monte Carlo.
const (
	Asked          Reason = iota // it was asked for
	Exact                        // nothing in the formula varies
	Straight                     // a sum of multiples of its inputs
	NearlyStraight               // its bend does not matter
	Searched                     // it holds a search along a range, which is not sampled
	Kink                         // another branch of min, max, abs or clamp is in reach
	Jump                         // a condition may turn
	Bend                         // it bends within the ± of its inputs
	NoValue                      // it has no value somewhere within the ± of its inputs
)

var reasonNames = [...]string{"asked", "exact", "straight", "nearly-straight", "searched", "kink", "jump", "bend", "no-value"}

// String returns the code word of a reason.
func (r Reason) String() string { return reasonNames[r] }

// Reach is how many standard uncertainties of a difference lie between a formula and
// a kink that is no longer in reach: ± 2 U with k = 2.
const Reach = 4

// MostBend is the share of the standard uncertainty that may lie in the bend of a
// formula for first order to be taken. A formula y = x + b·x² with that share moves
// the ends of its 95 % interval by 0.6 % of its half-width; 1 % is promised.
const MostBend = 0.005

// Choose says how the spread of a node is to be found: to first order, unless the
// formula has a kink or a condition within [Reach] of the values, or its bend holds
// more than [MostBend] of its ±.
//
// The bend is what 512 samples of the formula, always the same, differ from the
// straight function by, root mean square. Samples see what second differences along
// one input at a time do not: in the mass calibration of JCGM 101, 9.3, the slopes by
// two densities and all their second differences are zero at the centre, and half of
// the variance comes from their product with a third.
//
// The values must have been evaluated, the node must be known. The rule is ours.
func (g *Graph) Choose(id NodeID, v *Values, d Distribution) (Method, Reason) {
	for _, at := range g.Cone(id) {
		if op := g.nodes[at].op; op == opSweep || op == opX {
			return ByFirstOrder, Searched
		}
	}
	p := g.compileLanes([]NodeID{id}, v, d)
	if len(p.unknowns) == 0 {
		return ByFirstOrder, Exact
	}
	if p.straight() {
		return ByFirstOrder, Straight
	}
	if reason, ok := g.nearKink(id, v, d); ok {
		return ByMonteCarlo, reason
	}
	bend, whole := g.bend(id, v, d)
	switch {
	case !whole:
		return ByMonteCarlo, NoValue
	case bend > MostBend:
		return ByMonteCarlo, Bend
	}
	return ByFirstOrder, NearlyStraight
}

// straight reports whether a program computes nothing but sums.
func (p *program) straight() bool {
	for _, s := range p.steps {
		if s.kind != stepDraw && s.kind != stepLinear && s.kind != stepOutput {
			return false
		}
	}
	return true
}

// nearKink looks for an operation whose other side is in reach. Only what the value
// depends on counts: of a condition that is far from turning, the branch that is
// taken; of values of which the largest counts, that one.
func (g *Graph) nearKink(id NodeID, v *Values, d Distribution) (Reason, bool) {
	k := kinks{graph: g, v: v, d: d, linear: map[NodeID]Linear{}, seen: map[NodeID]bool{}}
	k.visit(id)
	return k.found, k.found != Asked
}

type kinks struct {
	graph  *Graph
	v      *Values
	d      Distribution
	linear map[NodeID]Linear
	seen   map[NodeID]bool
	found  Reason
}

// of returns a node as a straight function, made of those of its arguments: the nodes
// below a kink are many, and each is needed once.
func (k *kinks) of(id NodeID) Linear {
	if l, ok := k.linear[id]; ok {
		return l
	}
	l := Linear{Value: k.v.node[id]}
	n := &k.graph.nodes[id]
	switch {
	case k.v.Override != nil && known(k.v.Override, id) || k.v.status[id] != Known:
	case n.op == opInput:
		if int(n.extra) < len(k.d.Debts) {
			for _, x := range k.d.Debts[n.extra] {
				l.owe(x.Unknown, x.U)
			}
		}
	default:
		args := k.graph.arguments(n)
		for i, slope := range k.graph.slopesAt(n, args, id, k.v) {
			if slope == 0 {
				continue
			}
			for _, x := range k.of(args[i]).Debts {
				l.owe(x.Unknown, slope*x.U)
			}
		}
	}
	k.linear[id] = l
	return l
}

// owe adds to what is owed to an unknown.
func (l *Linear) owe(unknown int, u float64) {
	for i := range l.Debts {
		if l.Debts[i].Unknown == unknown {
			l.Debts[i].U += u
			return
		}
	}
	l.Debts = append(l.Debts, Debt{unknown, u})
}

// slopesAt returns the partial derivatives of a node by its arguments.
func (g *Graph) slopesAt(n *graphNode, args []NodeID, id NodeID, v *Values) []float64 {
	all := make([]float64, len(args))
	switch n.op {
	case opPresent:
		all[0] = 1
		return all
	case opSelect:
		all[2] = 1
		if v.node[args[0]] != 0 {
			all[1], all[2] = 1, 0
		}
		return all
	}
	var values []float64
	var at []int
	for i, a := range args {
		if v.status[a] == Known {
			values, at = append(values, v.node[a]), append(at, i)
		}
	}
	d := make([]float64, len(values))
	switch n.op {
	case opCurve:
		d[0] = g.tables[n.extra].Slope(values[0])
	case opFunction:
		numericSlopes(g.functions[n.extra], values, d)
	default:
		slopes(n.op, values, v.node[id], d)
	}
	for i, x := range d {
		all[at[i]] = x
	}
	return all
}

// inReach reports whether a straight function is in reach of a value. One that does not
// vary is never: what it is, it is in every sample.
func inReach(l Linear, x float64) bool {
	u := l.Standard()
	return u > 1e-14*(math.Abs(l.Value)+math.Abs(x)) && math.Abs(l.Value-x) <= Reach*u
}

func (k *kinks) note(r Reason, is bool) {
	if is {
		k.found = max(k.found, r)
	}
}

func (k *kinks) visit(id NodeID) {
	if k.seen[id] || k.v.Override != nil && known(k.v.Override, id) || k.v.status[id] != Known {
		return
	}
	k.seen[id] = true
	n := &k.graph.nodes[id]
	args := k.graph.arguments(n)
	value := func(i int) float64 { return k.v.node[args[i]] }
	switch n.op {
	case opMin, opMax:
		k.visit(k.extreme(args, n.op == opMax))
		return
	case opSpread:
		low, high := k.extreme(args, false), k.extreme(args, true)
		k.visit(low)
		k.visit(high)
		return
	case opAbs:
		k.note(Kink, inReach(k.of(args[0]), 0))
	case opClamp:
		k.note(Kink, inReach(k.of(args[0]).less(k.of(args[1])), 0) || inReach(k.of(args[0]).less(k.of(args[2])), 0))
	case opLess, opLessEqual, opGreater, opGreaterEqual, opEqual, opUnequal:
		k.note(Jump, inReach(k.of(args[0]).less(k.of(args[1])), 0))
	case opRemainder:
		y := value(1)
		q := k.of(args[0]).less(k.of(args[1]).times(math.Trunc(value(0) / y))) // the remainder
		k.note(Jump, inReach(q, 0) || inReach(q, y) || inReach(q, -y))
	case opSelect:
		k.visit(args[0])
		if value(0) != 0 {
			k.visit(args[1])
		} else {
			k.visit(args[2])
		}
		return
	}
	for _, a := range args {
		k.visit(a)
	}
}

// extreme returns the smallest or largest of several and notes where another may be
// it.
func (k *kinks) extreme(args []NodeID, largest bool) NodeID {
	best := NodeID(-1)
	for _, a := range args {
		if k.v.status[a] == Known && (best < 0 || largest && k.v.node[a] > k.v.node[best] || !largest && k.v.node[a] < k.v.node[best]) {
			best = a
		}
	}
	for _, a := range args {
		if a != best && k.v.status[a] == Known {
			k.note(Kink, inReach(k.of(a).less(k.of(best)), 0))
		}
	}
	return best
}

// times returns a multiple.
func (l Linear) times(k float64) Linear {
	out := Linear{Value: k * l.Value, Debts: append([]Debt(nil), l.Debts...)}
	for i := range out.Debts {
		out.Debts[i].U *= k
	}
	return out
}

// The samples that show the bend are always the same.
const (
	bendBlocks = 2
	bendSeed   = 1
)

// bend returns the share of the standard uncertainty that lies in the bend; infinite
// where the slopes are all zero and the formula varies nevertheless. It is false where
// the formula had no value in a sample.
func (g *Graph) bend(id NodeID, v *Values, d Distribution) (float64, bool) {
	slope := make([]float64, len(g.Inputs))
	g.Gradient(id, v, slope, nil)
	ids := []NodeID{id}
	var slopes, centres []float64
	for _, at := range g.Cone(id) {
		if n := &g.nodes[at]; n.op == opInput && slope[n.extra] != 0 && int(n.extra) < len(d.Debts) && len(d.Debts[n.extra]) > 0 {
			ids, slopes, centres = append(ids, at), append(slopes, slope[n.extra]), append(centres, v.Input[n.extra])
		}
	}
	p := g.compileLanes(ids, v, d)
	r := p.runner()
	centre := v.node[id]
	var y, straight block
	bent, all := 0.0, 0.0
	for b := range bendBlocks {
		r.start(bendSeed, uint64(b))
		straight = block{}
		r.run(func(i int, b *block) {
			if i == 0 {
				y = *b
				return
			}
			for l, x := range b {
				straight[l] += slopes[i-1] * (x - centres[i-1])
			}
		})
		for l, x := range y {
			x -= centre
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return 0, false
			}
			bent += (x - straight[l]) * (x - straight[l])
			all += x * x
		}
	}
	n := float64(bendBlocks * lanes)
	u := g.Linear(id, v, d).Standard()
	switch rms := math.Sqrt(bent / n); {
	case rms <= 1e-12*(math.Abs(centre)+u):
		return 0, true // rounding
	case u == 0 || math.IsNaN(rms) || math.IsNaN(u):
		return math.Inf(1), true // without a slope there is no first order
	default:
		return rms / u, true
	}
}

// Sure is how sure a value is, and how that was found.
type Sure struct {
	Method Method
	Reason Reason
	// Value is that at the values of the inputs, whatever the method.
	Value float64
	// Standard is the standard uncertainty: that of the samples for Monte Carlo, to
	// first order for the others.
	Standard float64
	// Low and High are the ends of the interval of the probability that was asked
	// for; for the worst case the least and the greatest value.
	Low, High float64
	// Mean is that of the samples, which JCGM 101 takes for the value; set for Monte
	// Carlo.
	Mean float64
	// Shares say what the variance comes from, the shares of all unknowns being 1
	// together. For Monte Carlo an unknown's is how much the value still varies when
	// all others are held, so that one that acts only through others counts too.
	Shares []Share
	// Samples, Seed and Undefined are set for Monte Carlo: how many samples were made
	// and with which seed, by which they can be made again, and how many had no value.
	Samples, Undefined int
	Seed               uint64
	// Loose and Tried say of the ends of the worst case by how much they may lie too
	// far out, and whether they were found by trying and not by bounding.
	Loose float64
	Tried bool
}

// Share is an unknown's part of a variance.
type Share struct {
	Unknown int
	Share   float64
}

// HowSure finds the spread of a node by a method, or by the one that [Graph.Choose]
// chooses. The values must have been evaluated; the node must be known.
//
// It returns an error where the method cannot be used: for a worst case that has no
// end, for samples of a search, or where too few samples have a value.
func (g *Graph) HowSure(id NodeID, v *Values, d Distribution, m Method, s Sampling) (Sure, error) {
	x, status := v.Of(id)
	if status != Known {
		return Sure{}, fmt.Errorf("a formula without a value has no ±")
	}
	if !(s.Probability > 0 && s.Probability < 1) {
		return Sure{}, fmt.Errorf("the probability %v does not lie between 0 and 1", s.Probability)
	}
	out := Sure{Method: m, Value: x}
	if m == Chosen {
		out.Method, out.Reason = g.Choose(id, v, d)
	}
	l := g.Linear(id, v, d)
	if u := l.Standard(); math.IsNaN(u) || math.IsInf(u, 0) {
		// The formula has no slope here, as a root at zero has none.
		if m == Chosen {
			out.Method, out.Reason = ByMonteCarlo, Bend
		} else if m != ByMonteCarlo {
			return Sure{}, fmt.Errorf("the formula has no slope at these values, so its ± cannot be found to first order")
		}
	}
	out.Standard = l.Standard()
	out.Low, out.High = l.Interval(s.Probability, d.Shapes)
	switch out.Method {
	case ByMonteCarlo:
		list, err := g.MonteCarlo([]NodeID{id}, v, d, s)
		if err != nil {
			return Sure{}, err
		}
		y := list[0]
		out.Mean, out.Standard, out.Low, out.High = y.Mean, y.Standard, y.Low, y.High
		out.Samples, out.Seed, out.Undefined = s.Samples, s.Seed, y.Undefined
		out.Shares = g.totals(id, v, d, s.Seed)
		return out, nil
	case ByWorstCase:
		ends, err := g.WorstCase(id, v, d)
		if err != nil {
			return Sure{}, err
		}
		out.Low, out.High, out.Loose, out.Tried = ends.Low, ends.High, ends.Loose, ends.Searched
	}
	if variance := out.Standard * out.Standard; variance > 0 {
		for _, x := range l.Debts {
			out.Shares = append(out.Shares, Share{x.Unknown, x.U * x.U / variance})
		}
	}
	return out, nil
}

// How many samples show what a variance comes from, and for how many unknowns that is
// found out by samples; with more, first order has to do.
const (
	totalBlocks = 16
	mostTotals  = 64
)

// totals finds by samples what each unknown does to a node, alone and together with
// others: half the mean square of the difference that drawing it anew makes.
//
//	T_i = E[(y − y′)²]/2, y′ being y with unknown i drawn anew
//
// Source: the estimator of total effects of M. J. W. Jansen, Computer Physics
// Communications 117, 1999. Memory. Shares made of it so that they are 1 together are
// ours; for a sum they are those of first order.
func (g *Graph) totals(id NodeID, v *Values, d Distribution, seed uint64) []Share {
	p := g.compileLanes([]NodeID{id}, v, d)
	if len(p.unknowns) > mostTotals {
		l := g.Linear(id, v, d)
		var list []Share
		for _, x := range l.Debts {
			list = append(list, Share{x.Unknown, x.U * x.U})
		}
		return normalised(list)
	}
	r := p.runner()
	list := make([]Share, len(p.unknowns))
	var y, other block
	for b := range totalBlocks {
		r.start(seed, uint64(b))
		began := append([]source(nil), r.streams...)
		r.run(func(_ int, x *block) { y = *x })
		for i, u := range p.unknowns {
			copy(r.streams, began)
			r.streams[i] = newSource(seed, uint64(b+totalBlocks), uint64(u))
			r.run(func(_ int, x *block) { other = *x })
			list[i].Unknown = u
			for l := range y {
				if e := (y[l] - other[l]) * (y[l] - other[l]); !math.IsNaN(e) && !math.IsInf(e, 0) {
					list[i].Share += e
				}
			}
		}
	}
	return normalised(list)
}

func normalised(list []Share) []Share {
	sum := 0.0
	for _, s := range list {
		sum += s.Share
	}
	if sum == 0 {
		return nil
	}
	for i := range list {
		list[i].Share /= sum
	}
	return list
}
