package formula

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sort"
	"sync"

	"buttonup/quantity"
)

// Debt is what an input owes to an unknown: a signed standard uncertainty. Inputs
// that owe to one unknown move together.
type Debt struct {
	Unknown int
	U       float64
}

// Distribution is how the inputs of a graph vary: each is its value and what it owes
// to unknowns, and every unknown has a shape. Inputs without debts are fixed.
type Distribution struct {
	Debts  [][]Debt
	Shapes []quantity.Shape
}

// Sampling says how a Monte Carlo evaluation is made. Equal samplings give equal
// results on every machine, whatever the number of workers.
type Sampling struct {
	Samples int
	Seed    uint64
	// Probability is that of the interval asked for, as 0.95.
	Probability float64
	// Workers bounds how many cores are used; 0 uses all.
	Workers int
}

// Sampled is the distribution of a node as samples show it.
type Sampled struct {
	Mean, Standard float64
	// Low and High cut off equal probabilities on both sides.
	Low, High float64
	// Undefined counts samples in which the formula had no value; they are left
	// out.
	Undefined int
}

// The sizes of the work. A block of lanes is computed node by node, so that its
// values stay in the cache; a batch is what one stream of random numbers makes.
const (
	lanes      = 256
	batch      = 64 * lanes
	mostSample = 100_000_000
)

// MonteCarlo samples the distribution of nodes. The values must have been evaluated:
// their inputs are the centres. A node that is not known there is an error, and so is
// one that holds a sweep, whose search is not sampled.
//
// Memory does not grow with the number of samples, but for the tails that the
// interval is cut from.
//
// Source: JCGM 101:2008, propagation of distributions using a Monte Carlo method,
// with the probabilistically symmetric coverage interval of 7.7. Memory.
func (g *Graph) MonteCarlo(ids []NodeID, v *Values, d Distribution, s Sampling) ([]Sampled, error) {
	if s.Samples < 100 || s.Samples > mostSample {
		return nil, fmt.Errorf("%d samples were asked for; choose from 100 to %d", s.Samples, mostSample)
	}
	if !(s.Probability > 0 && s.Probability < 1) {
		return nil, fmt.Errorf("the probability %v does not lie between 0 and 1", s.Probability)
	}
	for _, id := range ids {
		if v.status[id] != Known {
			return nil, fmt.Errorf("a formula without a value cannot be sampled")
		}
	}
	m := g.machine(ids, v, d)
	if m == nil {
		return nil, fmt.Errorf("a sweep cannot be sampled")
	}
	batches := (s.Samples + batch - 1) / batch
	workers := s.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = min(workers, batches)
	partial := make([][]tally, batches)
	next := make(chan int, batches)
	for b := range batches {
		next <- b
	}
	close(next)
	keep := int(math.Ceil(float64(s.Samples)*(1-s.Probability)/2)) + 2
	totals := make([][]tally, workers)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			r := m.runner()
			totals[w] = newTallies(len(ids), keep)
			for b := range next {
				n := min(batch, s.Samples-b*batch)
				partial[b] = r.run(n, s.Seed, uint64(b), totals[w])
			}
		})
	}
	wait.Wait()
	return m.gather(ids, partial, totals, s)
}

// tally gathers the samples of one output.
type tally struct {
	n, undefined int
	mean, m2     float64
	low, high    tail
}

func newTallies(n, keep int) []tally {
	list := make([]tally, n)
	for i := range list {
		list[i].low, list[i].high = tail{keep: keep}, tail{keep: keep, upper: true}
	}
	return list
}

// tail keeps the most extreme samples seen.
type tail struct {
	keep   int
	upper  bool
	values []float64
	bound  float64
	full   bool
}

func (t *tail) add(x float64) {
	if t.full && (t.upper && x <= t.bound || !t.upper && x >= t.bound) {
		return
	}
	t.values = append(t.values, x)
	if len(t.values) >= 2*t.keep+lanes {
		t.trim()
	}
}

func (t *tail) trim() {
	sort.Float64s(t.values)
	if len(t.values) <= t.keep {
		return
	}
	if t.upper {
		copy(t.values, t.values[len(t.values)-t.keep:])
	}
	t.values = t.values[:t.keep]
	t.full = true
	t.bound = t.values[t.keep-1]
	if t.upper {
		t.bound = t.values[0]
	}
}

// machine is a graph made ready for blocks: the nodes that vary, in order.
type machine struct {
	graph   *Graph
	order   []NodeID
	slot    []int32 // of every node: its block, or -1 where it is fixed
	fixed   []float64
	status  []Status
	outputs []NodeID
	inputs  []blockInput
	shapes  []quantity.Shape
	used    []int // unknowns that are needed, in order
	blocks  int
}

type blockInput struct {
	slot   int32
	centre float64
	debts  []Debt
}

func (g *Graph) machine(ids []NodeID, v *Values, d Distribution) *machine {
	m := &machine{graph: g, outputs: ids, shapes: d.Shapes, fixed: v.node, status: v.status, slot: make([]int32, len(g.nodes))}
	for i := range m.slot {
		m.slot[i] = -1
	}
	seen := map[NodeID]bool{}
	needed := map[int]bool{}
	for _, id := range ids {
		for _, at := range g.Cone(id) {
			if seen[at] {
				continue
			}
			seen[at] = true
			n := &g.nodes[at]
			if n.op == opSweep || n.op == opX {
				return nil
			}
			varies := false
			if n.op == opInput && int(n.extra) < len(d.Debts) && len(d.Debts[n.extra]) > 0 {
				varies = true
				m.inputs = append(m.inputs, blockInput{int32(m.blocks), v.Input[n.extra], d.Debts[n.extra]})
				for _, x := range d.Debts[n.extra] {
					needed[x.Unknown] = true
				}
			}
			for _, a := range g.arguments(n) {
				varies = varies || m.slot[a] >= 0
			}
			if !varies || v.Override != nil && known(v.Override, at) {
				continue
			}
			m.slot[at] = int32(m.blocks)
			m.blocks++
			if n.op != opInput {
				m.order = append(m.order, at)
			}
		}
	}
	for u := range needed {
		m.used = append(m.used, u)
	}
	sort.Ints(m.used)
	return m
}

// runner holds the blocks of one worker.
type runner struct {
	*machine
	blocks   [][lanes]float64
	constant [][lanes]float64 // of fixed nodes, made when first asked for
	made     map[NodeID]int
	unknown  [lanes]float64
}

func (m *machine) runner() *runner {
	return &runner{machine: m, blocks: make([][lanes]float64, m.blocks), made: map[NodeID]int{}}
}

// run computes one batch and adds to the totals' tails; the moments are returned for
// the batch, so that they are summed in the same order whoever computed them.
func (r *runner) run(n int, seed, stream uint64, totals []tally) []tally {
	source := rand.New(rand.NewPCG(seed, stream))
	part := make([]tally, len(r.outputs))
	for done := 0; done < n; done += lanes {
		r.draw(source)
		for _, id := range r.order {
			r.compute(id)
		}
		count := min(lanes, n-done)
		for i, id := range r.outputs {
			r.collect(&part[i], &totals[i], id, count)
		}
	}
	return part
}

// draw fills the blocks of the inputs.
func (r *runner) draw(source *rand.Rand) {
	for i := range r.inputs {
		b := &r.blocks[r.inputs[i].slot]
		for l := range b {
			b[l] = r.inputs[i].centre
		}
	}
	for _, u := range r.used {
		r.standard(source, r.shapes[u])
		for i := range r.inputs {
			for _, d := range r.inputs[i].debts {
				if d.Unknown != u {
					continue
				}
				b := &r.blocks[r.inputs[i].slot]
				for l := range b {
					b[l] += d.U * r.unknown[l]
				}
			}
		}
	}
}

// standard draws an unknown of mean 0 and standard deviation 1.
func (r *runner) standard(source *rand.Rand, shape quantity.Shape) {
	z := &r.unknown
	switch shape {
	case quantity.Rectangular:
		for l := range z {
			z[l] = (2*source.Float64() - 1) * math.Sqrt2 * math.Sqrt(1.5)
		}
	case quantity.Triangular:
		for l := range z {
			z[l] = (source.Float64() - source.Float64()) * math.Sqrt(6)
		}
	case quantity.Arcsine:
		for l := range z {
			z[l] = math.Sin((2*source.Float64()-1)*math.Pi/2) * math.Sqrt2
		}
	default:
		for l := range z {
			z[l] = source.NormFloat64()
		}
	}
}

// values returns the block of a node, made of its one value where it is fixed.
func (r *runner) values(id NodeID) *[lanes]float64 {
	if s := r.slot[id]; s >= 0 {
		return &r.blocks[s]
	}
	at, ok := r.made[id]
	if !ok {
		at = len(r.constant)
		r.made[id] = at
		r.constant = append(r.constant, [lanes]float64{})
		for l := range r.constant[at] {
			r.constant[at][l] = r.fixed[id]
		}
	}
	return &r.constant[at]
}

func (r *runner) compute(id NodeID) {
	n := &r.graph.nodes[id]
	args := r.graph.arguments(n)
	out := &r.blocks[r.slot[id]]
	switch n.op {
	case opAdd, opSubtract, opMultiply, opDivide:
		binaryBlock(n.op, out, r.values(args[0]), r.values(args[1]))
	case opPresent:
		*out = *r.values(args[0])
	case opSquare:
		a := r.values(args[0])
		for l := range out {
			out[l] = a[l] * a[l]
		}
	case opSqrt:
		a := r.values(args[0])
		for l := range out {
			out[l] = math.Sqrt(a[l])
		}
	case opMin, opMax:
		r.extreme(n.op, args, out)
	default:
		r.lanewise(n, args, out)
	}
}

func binaryBlock(o op, out, a, b *[lanes]float64) {
	switch o {
	case opAdd:
		for l := range out {
			out[l] = a[l] + b[l]
		}
	case opSubtract:
		for l := range out {
			out[l] = a[l] - b[l]
		}
	case opMultiply:
		for l := range out {
			out[l] = a[l] * b[l]
		}
	case opDivide:
		for l := range out {
			out[l] = a[l] / b[l]
		}
	}
}

func (r *runner) extreme(o op, args []NodeID, out *[lanes]float64) {
	first := true
	for _, a := range args {
		if r.slot[a] < 0 && r.status[a] != Known {
			continue
		}
		b := r.values(a)
		if first {
			*out, first = *b, false
			continue
		}
		if o == opMin {
			for l := range out {
				out[l] = min(out[l], b[l])
			}
		} else {
			for l := range out {
				out[l] = max(out[l], b[l])
			}
		}
	}
}

// lanewise computes what has no loop of its own, lane by lane.
func (r *runner) lanewise(n *graphNode, args []NodeID, out *[lanes]float64) {
	var blocks [8]*[lanes]float64
	list := blocks[:0]
	for _, a := range args {
		if r.slot[a] < 0 && r.status[a] != Known {
			if n.op.several() {
				continue
			}
			if n.op != opSelect && n.op != opAnd && n.op != opOr {
				for l := range out {
					out[l] = math.NaN()
				}
				return
			}
		}
		list = append(list, r.values(a))
	}
	v := make([]float64, len(list))
	for l := range out {
		for i, b := range list {
			v[i] = b[l]
		}
		switch n.op {
		case opFunction:
			y, err := r.graph.functions[n.extra].Evaluate(v)
			if err != nil {
				y = math.NaN()
			}
			out[l] = y
		case opCurve:
			y, err := r.graph.tables[n.extra].At(v[0])
			if err != nil {
				y = math.NaN()
			}
			out[l] = y
		default:
			out[l] = compute(n.op, v)
		}
	}
}

// collect adds the lanes of an output. Infinite and undefined samples are counted and
// left out.
func (r *runner) collect(part, total *tally, id NodeID, count int) {
	b := r.values(id)
	for _, x := range b[:count] {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			part.undefined++
			continue
		}
		part.n++
		delta := x - part.mean
		part.mean += delta / float64(part.n)
		part.m2 += delta * (x - part.mean)
		total.low.add(x)
		total.high.add(x)
	}
}

// gather joins the batches in their order and cuts the interval from the tails.
func (m *machine) gather(ids []NodeID, partial, totals [][]tally, s Sampling) ([]Sampled, error) {
	out := make([]Sampled, len(ids))
	for i := range ids {
		var all tally
		for _, p := range partial {
			all.join(&p[i])
		}
		if all.n < 2 || all.undefined > s.Samples/2 {
			return nil, fmt.Errorf("the formula has no value in %d of %d samples", all.undefined, s.Samples)
		}
		var low, high []float64
		for _, t := range totals {
			if t != nil {
				low, high = append(low, t[i].low.values...), append(high, t[i].high.values...)
			}
		}
		sort.Float64s(low)
		sort.Float64s(high)
		cut := float64(all.n-1) * (1 - s.Probability) / 2
		out[i] = Sampled{Mean: all.mean, Standard: math.Sqrt(all.m2 / float64(all.n-1)), Undefined: all.undefined,
			Low: ordered(low, cut), High: ordered(high, float64(len(high)-1)-cut)}
	}
	return out, nil
}

// join adds the moments of another tally.
func (t *tally) join(o *tally) {
	t.undefined += o.undefined
	if o.n == 0 {
		return
	}
	n := float64(t.n + o.n)
	delta := o.mean - t.mean
	t.m2 += o.m2 + delta*delta*float64(t.n)*float64(o.n)/n
	t.mean += delta * float64(o.n) / n
	t.n += o.n
}

// ordered returns the value at a fractional rank of a sorted list.
func ordered(list []float64, rank float64) float64 {
	rank = math.Min(math.Max(rank, 0), float64(len(list)-1))
	i := int(rank)
	if i+1 >= len(list) {
		return list[len(list)-1]
	}
	f := rank - float64(i)
	return list[i]*(1-f) + list[i+1]*f
}
