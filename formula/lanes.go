package formula

import (
	"math"

	"buttonup/quantity"
)

// program computes nodes of a graph for a block of lanes, step by step. Its registers
// are blocks; a register is used again once its value is no longer needed.
type program struct {
	steps     []step
	registers int
	// unknowns are those that are drawn, each with a stream of its own.
	unknowns  []int
	functions []*Function
	tables    []*Table
}

type stepKind uint8

const (
	stepDraw     stepKind = iota // out = k0 + k·ξ
	stepLinear                   // out = k0 + Σ kᵢ·aᵢ
	stepMultiply                 // out = k·a·b + k0
	stepDivide                   // out = k·a/b
	stepLanes                    // any other operation, lane by lane
	stepOutput                   // hands a on
)

// step is one step of a program. Registers are virtual while it is being made.
type step struct {
	kind  stepKind
	out   int32
	k, k0 float64
	terms []term
	// stream is the place of a drawn unknown among the streams, or of an output
	// among the outputs.
	stream int32
	shape  quantity.Shape
	op     op
	extra  int32
}

// term is a register with a factor.
type term struct {
	register int32
	k        float64
}

// affine is a sum of registers with factors and a constant.
type affine struct {
	c     float64
	terms []term
}

// plus adds k·b to a; a register that stands in both is one term.
func (a *affine) plus(b affine, k float64) {
	a.c += k * b.c
	for _, t := range b.terms {
		a.owe(t.register, k*t.k)
	}
}

func (a *affine) owe(register int32, k float64) {
	for i := range a.terms {
		if a.terms[i].register == register {
			a.terms[i].k += k
			return
		}
	}
	a.terms = append(a.terms, term{register, k})
}

// builder makes a program.
type builder struct {
	*program
	graph *Graph
	v     *Values
	d     Distribution

	varies []bool
	uses   []int32 // how often a node is an argument or an output
	// node and unknown hold the register of what has one, else -1.
	node, unknown []int32
	owners        []int32 // how many inputs owe to an unknown
	defined       []int32 // the step that fills a register
	own           []bool  // a register that only one sum reads
	constants     map[uint64]int32
}

// compileLanes makes the program for nodes; nil where one of them holds a sweep.
func (g *Graph) compileLanes(ids []NodeID, v *Values, d Distribution) *program {
	b := &builder{program: &program{functions: g.functions, tables: g.tables}, graph: g, v: v, d: d,
		varies: make([]bool, len(g.nodes)), uses: make([]int32, len(g.nodes)), node: make([]int32, len(g.nodes)),
		unknown: make([]int32, len(d.Shapes)), owners: make([]int32, len(d.Shapes)), constants: map[uint64]int32{}}
	seen := make([]bool, len(g.nodes))
	for i := range b.node {
		b.node[i] = -1
	}
	for i := range b.unknown {
		b.unknown[i] = -1
	}
	for _, id := range ids {
		b.uses[id]++
		for _, at := range g.Cone(id) {
			if seen[at] {
				continue
			}
			seen[at] = true
			n := &g.nodes[at]
			if n.op == opSweep || n.op == opX {
				return nil
			}
			b.look(at, n)
		}
	}
	for i, id := range ids {
		b.steps = append(b.steps, step{kind: stepOutput, stream: int32(i), out: -1, terms: []term{{b.register(id), 1}}})
	}
	b.allocate()
	return b.program
}

// look notes whether a node varies and what it uses.
func (b *builder) look(at NodeID, n *graphNode) {
	if b.v.Override != nil && known(b.v.Override, at) || b.v.status[at] == Absent {
		return
	}
	if n.op == opInput {
		if int(n.extra) < len(b.d.Debts) && b.v.status[at] == Known {
			for _, x := range b.d.Debts[n.extra] {
				b.owners[x.Unknown]++
				b.varies[at] = true
			}
		}
		return
	}
	for _, a := range b.graph.arguments(n) {
		b.varies[at] = b.varies[at] || b.varies[a]
		b.uses[a]++
	}
}

func (b *builder) push(s step) int32 {
	s.out = int32(len(b.defined))
	b.defined = append(b.defined, int32(len(b.steps)))
	b.own = append(b.own, false)
	b.steps = append(b.steps, s)
	return s.out
}

// fixedValue is that of a node that does not vary; NaN where it has none, so that
// what needs it has none either.
func (b *builder) fixedValue(id NodeID) float64 {
	if b.v.status[id] != Known {
		return math.NaN()
	}
	return b.v.node[id]
}

// draw returns the register of an unknown, of standard deviation 1.
func (b *builder) draw(u int) int32 {
	if b.unknown[u] < 0 {
		b.unknown[u] = b.push(step{kind: stepDraw, k: 1, stream: b.stream(u), shape: b.d.Shapes[u]})
	}
	return b.unknown[u]
}

func (b *builder) stream(u int) int32 {
	b.unknowns = append(b.unknowns, u)
	return int32(len(b.unknowns) - 1)
}

// alone reports whether an input owes to one unknown to which no other input owes,
// so that it may be drawn as it is.
func (b *builder) alone(n *graphNode) bool {
	debts := b.d.Debts[n.extra]
	return len(debts) == 1 && b.owners[debts[0].Unknown] == 1
}

// value returns a node as a sum of registers. A node that is used once takes no
// register of its own if it is a sum itself.
func (b *builder) value(id NodeID) affine {
	switch n := &b.graph.nodes[id]; {
	case !b.varies[id]:
		return affine{c: b.fixedValue(id)}
	case b.node[id] < 0 && b.uses[id] == 1 && b.isSum(n):
		return b.sum(id, n)
	}
	fresh := b.node[id] < 0
	r := b.register(id)
	b.own[r] = fresh && b.uses[id] == 1 && b.steps[b.defined[r]].kind == stepMultiply
	return affine{terms: []term{{r, 1}}}
}

// isSum reports whether a node that varies is a sum of others, or a multiple.
func (b *builder) isSum(n *graphNode) bool {
	switch n.op {
	case opInput, opAdd, opSubtract, opNegate, opMean, opSum, opPresent:
		return true
	case opMultiply:
		args := b.graph.arguments(n)
		return !b.varies[args[0]] || !b.varies[args[1]]
	case opDivide:
		args := b.graph.arguments(n)
		return !b.varies[args[1]] && b.fixedValue(args[1]) != 0
	}
	return false
}

// sum returns the sum that a node is.
func (b *builder) sum(id NodeID, n *graphNode) affine {
	var out affine
	args := b.graph.arguments(n)
	switch n.op {
	case opInput:
		out.c = b.v.Input[n.extra]
		for _, x := range b.d.Debts[n.extra] {
			out.owe(b.draw(x.Unknown), x.U)
		}
		if b.alone(n) && b.uses[id] == 1 {
			b.own[out.terms[0].register] = true
		}
	case opAdd:
		out = b.value(args[0])
		out.plus(b.value(args[1]), 1)
	case opSubtract:
		out = b.value(args[0])
		out.plus(b.value(args[1]), -1)
	case opNegate:
		out.plus(b.value(args[0]), -1)
	case opPresent:
		out = b.value(args[0])
		if b.v.status[args[1]] != Known {
			out.c = math.NaN()
		}
	case opMean, opSum:
		list := b.there(args)
		k := 1.0
		if n.op == opMean {
			k = 1 / float64(len(list))
		}
		for _, a := range list {
			out.plus(b.value(a), k)
		}
	case opMultiply:
		if !b.varies[args[0]] {
			args = []NodeID{args[1], args[0]}
		}
		out.plus(b.value(args[0]), b.fixedValue(args[1]))
	case opDivide:
		out.plus(b.value(args[0]), 1/b.fixedValue(args[1]))
	}
	return out
}

// there leaves out the arguments that are absent.
func (b *builder) there(args []NodeID) []NodeID {
	var list []NodeID
	for _, a := range args {
		if b.v.status[a] != Absent {
			list = append(list, a)
		}
	}
	return list
}

// register returns the register that holds a node.
func (b *builder) register(id NodeID) int32 {
	if b.node[id] >= 0 {
		return b.node[id]
	}
	n := &b.graph.nodes[id]
	args := b.graph.arguments(n)
	var r int32
	switch {
	case !b.varies[id]:
		return b.constant(b.fixedValue(id))
	case n.op == opInput && b.alone(n):
		x := b.d.Debts[n.extra][0]
		r = b.push(step{kind: stepDraw, k0: b.v.Input[n.extra], k: x.U, stream: b.stream(x.Unknown), shape: b.d.Shapes[x.Unknown]})
	case b.isSum(n):
		r = b.settle(b.sum(id, n))
	case n.op == opMultiply:
		r = b.product(b.factor(args[0]), b.factor(args[1]))
	case n.op == opSquare:
		f := b.factor(args[0])
		r = b.product(f, f)
	case n.op == opDivide:
		x, y := b.factor(args[0]), b.factor(args[1])
		r = b.push(step{kind: stepDivide, k: x.k / y.k, terms: []term{{x.register, 1}, {y.register, 1}}})
	default:
		if n.op.several() {
			args = b.there(args)
		}
		s := step{kind: stepLanes, op: n.op, extra: n.extra}
		for _, a := range args {
			s.terms = append(s.terms, term{b.register(a), 1})
		}
		r = b.push(s)
	}
	b.node[id] = r
	return r
}

func (b *builder) product(x, y term) int32 {
	return b.push(step{kind: stepMultiply, k: x.k * y.k, terms: []term{{x.register, 1}, {y.register, 1}}})
}

// factor returns a node as a multiple of a register.
func (b *builder) factor(id NodeID) term {
	a := b.value(id)
	if a.c == 0 && len(a.terms) == 1 {
		return a.terms[0]
	}
	return term{b.settle(a), 1}
}

// settle puts a sum into a register.
func (b *builder) settle(a affine) int32 {
	if len(a.terms) == 1 {
		t := a.terms[0]
		if t.k == 1 && a.c == 0 {
			return t.register
		}
		if b.own[t.register] { // what fills it takes factor and constant in
			s := &b.steps[b.defined[t.register]]
			s.k, s.k0 = s.k*t.k, s.k0*t.k+a.c
			b.own[t.register] = false
			return t.register
		}
	}
	return b.push(step{kind: stepLinear, k0: a.c, terms: a.terms})
}

// constant returns a register that holds one number in every lane.
func (b *builder) constant(x float64) int32 {
	key := math.Float64bits(x)
	r, ok := b.constants[key]
	if !ok {
		r = b.push(step{kind: stepLinear, k0: x})
		b.constants[key] = r
	}
	return r
}

// allocate turns virtual registers into as few real ones as the order of the steps
// allows.
func (b *builder) allocate() {
	last := make([]int, len(b.defined))
	for i, s := range b.steps {
		for _, t := range s.terms {
			last[t.register] = i
		}
	}
	real := make([]int32, len(b.defined))
	var free []int32
	for i := range b.steps {
		s := &b.steps[i]
		if s.out >= 0 {
			if len(free) == 0 {
				free = append(free, int32(b.registers))
				b.registers++
			}
			real[s.out] = free[len(free)-1]
			free = free[:len(free)-1]
			if last[s.out] == 0 {
				free = append(free, real[s.out]) // nobody reads it
			}
			s.out = real[s.out]
		}
		for k := range s.terms {
			r := s.terms[k].register
			s.terms[k].register = real[r]
			if last[r] == i {
				free = append(free, real[r])
				last[r] = -1 // once, though it may be read twice
			}
		}
	}
}
