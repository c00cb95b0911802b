package formula

import "math"

// Tape is what chosen nodes of a graph need, laid out so that their values and their
// first-order ± are computed again and again with little work: sums are one step
// each, and what no chosen node needs is left out. It is for one caller at a time.
type Tape struct {
	graph *Graph
	// inputs are the slots of the graph's inputs that are needed; their values come
	// first in x, then constants, then one for each step.
	inputs []int32
	steps  []tapeStep
	terms  []term
	x, adj []float64
	// For each output: where its value is, the steps that it needs, the last of them
	// first, and the inputs among x.
	root    []int32
	reverse [][]int32
	needs   [][]int32

	values, slopes []float64
	owed           []float64
	touched        []int32
}

// tapeStep computes one value. The factor of a term is what the step multiplies it
// by, for a sum, and for the others the slope, set when the step is computed.
type tapeStep struct {
	kind        stepKind
	op          op
	out         int32
	first, last int32
	k, c        float64
	extra       int32
}

// FirstOrder is a value with its standard uncertainty to first order.
type FirstOrder struct {
	Value, Standard float64
}

// NewTape returns the tape of nodes; nil where one of them holds a sweep.
func (g *Graph) NewTape(ids []NodeID) *Tape {
	b := taper{Tape: &Tape{graph: g}, uses: make([]int32, len(g.nodes)), at: make([]int32, len(g.nodes)), constants: map[float64]int32{}}
	seen := make([]bool, len(g.nodes))
	for i := range b.at {
		b.at[i] = -1
	}
	for _, id := range ids {
		b.uses[id]++
		for _, at := range g.Cone(id) {
			n := &g.nodes[at]
			switch {
			case seen[at]:
				continue
			case n.op == opSweep || n.op == opX:
				return nil
			case n.op == opInput:
				b.at[at] = int32(len(b.inputs))
				b.inputs = append(b.inputs, n.extra)
				b.x = append(b.x, 0)
			}
			seen[at] = true
			for _, a := range g.arguments(n) {
				b.uses[a]++
			}
		}
	}
	for _, id := range ids {
		b.root = append(b.root, b.place(id))
	}
	b.adj = make([]float64, len(b.x))
	b.follow()
	return b.Tape
}

// taper makes a tape.
type taper struct {
	*Tape
	uses      []int32
	at        []int32 // of a node: the place of its value, else -1
	constants map[float64]int32
}

func (b *taper) constant(k float64) int32 {
	at, ok := b.constants[k]
	if !ok {
		at = int32(len(b.x))
		b.constants[k], b.x = at, append(b.x, k)
	}
	return at
}

// fixed returns the number that a node is.
func (b *taper) fixed(id NodeID) (float64, bool) {
	n := &b.graph.nodes[id]
	return n.k, n.op == opConstant && !math.IsNaN(n.k)
}

// value returns a node as a sum. One that is used once takes no step of its own if it
// is a sum itself.
func (b *taper) value(id NodeID) affine {
	if k, ok := b.fixed(id); ok {
		return affine{c: k}
	}
	if b.at[id] < 0 && b.uses[id] == 1 {
		if sum, ok := b.sum(id); ok {
			return sum
		}
	}
	return affine{terms: []term{{b.place(id), 1}}}
}

// sum returns the sum that a node is; false for what is none.
func (b *taper) sum(id NodeID) (affine, bool) {
	n := &b.graph.nodes[id]
	args := b.graph.arguments(n)
	var out affine
	switch n.op {
	case opAdd, opSubtract:
		k := 1.0
		if n.op == opSubtract {
			k = -1
		}
		out = b.value(args[0])
		out.plus(b.value(args[1]), k)
	case opNegate:
		out.plus(b.value(args[0]), -1)
	case opMean, opSum:
		k := 1.0
		if n.op == opMean {
			k = 1 / float64(len(args))
		}
		for _, a := range args {
			out.plus(b.value(a), k)
		}
	case opMultiply:
		for i, a := range args {
			if k, ok := b.fixed(a); ok {
				out.plus(b.value(args[1-i]), k)
				return out, true
			}
		}
		return out, false
	case opDivide:
		k, ok := b.fixed(args[1])
		if !ok || k == 0 {
			return out, false
		}
		out.plus(b.value(args[0]), 1/k)
	default:
		return out, false
	}
	return out, true
}

// place returns where the value of a node is.
func (b *taper) place(id NodeID) int32 {
	if b.at[id] >= 0 {
		return b.at[id]
	}
	n := &b.graph.nodes[id]
	args := b.graph.arguments(n)
	if k, ok := b.fixed(id); ok {
		b.at[id] = b.constant(k)
		return b.at[id]
	}
	if sum, ok := b.sum(id); ok {
		b.at[id] = b.settle(sum)
		return b.at[id]
	}
	s := tapeStep{kind: stepLanes, op: n.op, extra: n.extra, k: 1}
	var terms []term
	switch n.op {
	case opMultiply, opDivide:
		p, q := b.factor(args[0]), b.factor(args[1])
		s.kind, s.k = stepMultiply, p.k*q.k
		if n.op == opDivide {
			s.kind, s.k = stepDivide, p.k/q.k
		}
		terms = []term{{p.register, 0}, {q.register, 0}}
	case opConstant: // one without a value
		b.at[id] = b.push(tapeStep{kind: stepLinear, c: math.NaN()}, nil)
		return b.at[id]
	default:
		for _, a := range args {
			terms = append(terms, term{b.place(a), 0})
		}
	}
	b.at[id] = b.push(s, terms)
	return b.at[id]
}

func (b *taper) factor(id NodeID) term {
	a := b.value(id)
	if a.c == 0 && len(a.terms) == 1 && a.terms[0].k != 0 {
		return a.terms[0]
	}
	return term{b.settle(a), 1}
}

func (b *taper) settle(a affine) int32 {
	if len(a.terms) == 1 && a.terms[0].k == 1 && a.c == 0 {
		return a.terms[0].register
	}
	return b.push(tapeStep{kind: stepLinear, c: a.c}, a.terms)
}

func (b *taper) push(s tapeStep, terms []term) int32 {
	s.out, s.first = int32(len(b.x)), int32(len(b.terms))
	b.terms = append(b.terms, terms...)
	s.last = int32(len(b.terms))
	b.steps = append(b.steps, s)
	b.x = append(b.x, 0)
	return s.out
}

// follow finds the steps and inputs that each output needs.
func (b *taper) follow() {
	step := make([]int32, len(b.x))
	for i := range step {
		step[i] = -1
	}
	for i, s := range b.steps {
		step[s.out] = int32(i)
	}
	for _, root := range b.root {
		needed := make([]bool, len(b.x))
		needed[root] = true
		var reverse, needs []int32
		for at := len(b.x) - 1; at >= 0; at-- {
			switch {
			case !needed[at]:
			case step[at] >= 0:
				s := &b.steps[step[at]]
				reverse = append(reverse, step[at])
				for _, t := range b.terms[s.first:s.last] {
					needed[t.register] = true
				}
			case at < len(b.inputs):
				needs = append(needs, int32(at))
			}
		}
		b.reverse, b.needs = append(b.reverse, reverse), append(b.needs, needs)
	}
}

// Propagate computes the value and standard uncertainty of every output to first
// order, into out, which has one entry for each. Values must hold inputs; they need
// not have been evaluated. Where it returns false, an input is not known, a value is
// supposed or an output has none, and [Graph.Evaluate] tells what is missing.
//
// Source: JCGM 100:2008, 5.1.2, equation (10), with every unknown counted once
// whatever way it comes. Memory.
func (t *Tape) Propagate(v *Values, d Distribution, out []FirstOrder) bool {
	if v.Override != nil {
		return false
	}
	for i, slot := range t.inputs {
		if v.InputStatus[slot] != Known {
			return false
		}
		t.x[i] = v.Input[slot]
	}
	t.forward()
	if len(t.owed) < len(d.Shapes) {
		t.owed = make([]float64, len(d.Shapes))
	}
	ok := true
	for i, root := range t.root {
		out[i].Value = t.x[root]
		ok = ok && t.x[root]-t.x[root] == 0 // finite
		out[i].Standard = t.standard(i, d)
	}
	return ok
}

// forward computes all values, and the slopes of the steps that are no sums.
func (t *Tape) forward() {
	x := t.x
	for i := range t.steps {
		s := &t.steps[i]
		terms := t.terms[s.first:s.last]
		var y float64
		switch s.kind {
		case stepLinear:
			y = s.c
			for _, p := range terms {
				y += p.k * x[p.register]
			}
		case stepMultiply:
			p, q := x[terms[0].register], x[terms[1].register]
			terms[0].k, terms[1].k = s.k*q, s.k*p
			y = s.k * p * q
		case stepDivide:
			p, q := x[terms[0].register], x[terms[1].register]
			y = s.k * p / q
			terms[0].k, terms[1].k = s.k/q, -y/q
		default:
			y = t.other(s, terms)
		}
		if y-y != 0 { // infinite: without a value, as in Evaluate
			y = math.NaN()
		}
		x[s.out] = y
	}
}

// other computes what is neither a sum nor a product, with its slopes.
func (t *Tape) other(s *tapeStep, terms []term) float64 {
	v := t.values[:0]
	for _, p := range terms {
		v = append(v, t.x[p.register])
	}
	t.values = v
	if len(t.slopes) < len(v) {
		t.slopes = make([]float64, len(v)+4)
	}
	d := t.slopes[:len(v)]
	var y float64
	switch s.op {
	case opSqrt:
		y = math.Sqrt(v[0])
		terms[0].k = 0.5 / y
		return y
	case opSquare:
		terms[0].k = 2 * v[0]
		return v[0] * v[0]
	case opPresent:
		if v[1] == 0 {
			return math.NaN()
		}
		terms[0].k, terms[1].k = 1, 0
		return v[0]
	}
	if y = onOne(s.op, s.extra, t.graph.functions, t.graph.tables, v); math.IsNaN(y) {
		return y
	}
	switch s.op {
	case opFunction:
		numericSlopes(t.graph.functions[s.extra], v, d)
	case opCurve:
		d[0] = t.graph.tables[s.extra].Slope(v[0])
	default:
		slopes(s.op, v, y, d)
	}
	for i := range terms {
		terms[i].k = d[i]
	}
	return y
}

// standard goes back from an output to the unknowns.
func (t *Tape) standard(i int, d Distribution) float64 {
	adj := t.adj
	adj[t.root[i]] = 1
	for _, at := range t.reverse[i] {
		s := &t.steps[at]
		a := adj[s.out]
		if a == 0 {
			continue // among others the branch that is not taken
		}
		adj[s.out] = 0
		for _, p := range t.terms[s.first:s.last] {
			adj[p.register] += a * p.k
		}
	}
	touched := t.touched[:0]
	owed := t.owed
	for _, at := range t.needs[i] {
		a := adj[at]
		adj[at] = 0
		if int(t.inputs[at]) >= len(d.Debts) {
			continue
		}
		for _, x := range d.Debts[t.inputs[at]] {
			if owed[x.Unknown] == 0 {
				touched = append(touched, int32(x.Unknown))
			}
			owed[x.Unknown] += a * x.U
		}
	}
	v := 0.0
	for _, u := range touched {
		v += owed[u] * owed[u]
		owed[u] = 0
	}
	t.touched = touched
	return math.Sqrt(v)
}
