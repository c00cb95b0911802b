package formula

import (
	"math"
)

// Status says whether a node has a value.
type Status uint8

// The statuses. Missing waits for an input; Absent is left out of the job by its
// `when`; Undefined has its inputs and still no value (a division by zero, a root of
// a negative number, a point beyond a curve).
const (
	Known Status = iota
	Missing
	Absent
	Undefined
)

// Values holds the values of a graph's inputs and, after Evaluate, of its nodes.
type Values struct {
	// Input and InputStatus are filled by the caller, one for each of
	// Graph.Inputs.
	Input       []float64
	InputStatus []Status
	// Override supposes the values of nodes, whatever their formulas give.
	Override map[NodeID]float64

	node    []float64
	status  []Status
	why     []string // of an undefined node
	slope   []float64
	scratch []float64
	short   [8]float64
}

// NewValues returns values for the graph with every input missing.
func (g *Graph) NewValues() *Values {
	v := &Values{
		Input: make([]float64, len(g.Inputs)), InputStatus: make([]Status, len(g.Inputs)),
		node: make([]float64, len(g.nodes)), status: make([]Status, len(g.nodes)),
		why: make([]string, len(g.nodes)), slope: make([]float64, len(g.nodes)),
	}
	for i := range v.InputStatus {
		v.InputStatus[i] = Missing
	}
	return v
}

// Of returns the value and status of a node.
func (v *Values) Of(id NodeID) (float64, Status) { return v.node[id], v.status[id] }

// Evaluate computes every node.
func (g *Graph) Evaluate(v *Values) {
	for i := range g.nodes {
		if !g.inSweep[i] {
			g.evaluate(NodeID(i), v)
		}
	}
}

func (g *Graph) evaluate(id NodeID, v *Values) {
	n := &g.nodes[id]
	y, status := 0.0, Known
	switch n.op {
	case opConstant:
		y = n.k
		if math.IsNaN(y) {
			status = Undefined
		}
	case opInput:
		y, status = v.Input[n.extra], v.InputStatus[n.extra]
	case opX:
		y, status = v.node[id], Known
	case opSweep:
		y, status = g.search(&g.sweeps[n.extra], v)
	default:
		y, status = g.apply(id, n, v)
	}
	if v.Override != nil {
		if o, ok := v.Override[id]; ok {
			y, status = o, Known
		}
	}
	v.node[id], v.status[id] = y, status
}

func (g *Graph) apply(id NodeID, n *graphNode, v *Values) (float64, Status) {
	args := g.arguments(n)
	switch n.op {
	case opSelect:
		if s := v.status[args[0]]; s != Known {
			return 0, present(s)
		}
		chosen := args[2]
		if v.node[args[0]] != 0 {
			chosen = args[1]
		}
		return v.node[chosen], v.status[chosen]
	case opAnd, opOr:
		return g.logic(n.op, args, v)
	case opPresent:
		if v.status[args[1]] == Known && v.node[args[1]] == 0 {
			return 0, Absent
		}
		if v.status[args[1]] != Known {
			return 0, Missing
		}
		return v.node[args[0]], v.status[args[0]]
	}
	values := v.short[:0]
	worst := Known
	for _, a := range args {
		switch s := v.status[a]; s {
		case Known:
			values = append(values, v.node[a])
		case Absent:
			if !n.op.several() {
				worst = worse(worst, Missing)
			}
		default:
			worst = worse(worst, s)
		}
	}
	if worst != Known {
		return 0, worst
	}
	if len(values) == 0 && n.op.several() {
		return 0, Absent
	}
	var y float64
	switch n.op {
	case opCurve:
		var err error
		if y, err = g.tables[n.extra].At(values[0]); err != nil {
			v.why[id] = err.Error()
			return 0, Undefined
		}
	case opFunction:
		var err error
		if y, err = g.functions[n.extra].Evaluate(values); err != nil {
			v.why[id] = err.Error()
			return 0, Undefined
		}
	default:
		y = compute(n.op, values)
	}
	switch {
	case math.IsNaN(y):
		v.why[id] = undefinedWords(n.op)
		return 0, Undefined
	case overflows(y, values):
		v.why[id] = "grows beyond any number"
		return 0, Undefined
	}
	return y, Known
}

// worse ranks missing above undefined: what is missing is told first.
func worse(a, b Status) Status {
	if a == Missing || b == Missing {
		return Missing
	}
	return max(a, b)
}

// present turns absent into missing, for a condition that cannot do without.
func present(s Status) Status {
	if s == Absent {
		return Missing
	}
	return s
}

func (g *Graph) logic(o op, args []NodeID, v *Values) (float64, Status) {
	decides := truth(o == opOr) // the value that settles it alone
	worst := Known
	for _, a := range args {
		if v.status[a] == Known {
			if v.node[a] == decides {
				return decides, Known
			}
			continue
		}
		worst = worse(worst, present(v.status[a]))
	}
	return 1 - decides, worst
}

func undefinedWords(o op) string {
	switch o {
	case opDivide, opRemainder:
		return "divides by zero"
	case opSqrt:
		return "takes the square root of a negative value"
	case opLn:
		return "takes the logarithm of a value that is not above zero"
	case opAsin, opAcos:
		return "takes an angle of a ratio beyond 1"
	case opAtan2:
		return "takes the direction of a point at zero"
	case opPower:
		return "takes a broken power of a negative value"
	}
	return "has no value here"
}

// Why returns what keeps a node from having a value: for a missing one the inputs
// that it waits for, for an undefined one the reason.
func (g *Graph) Why(id NodeID, v *Values) (missing []int, reason string) {
	seen := map[NodeID]bool{}
	var visit func(id NodeID)
	visit = func(id NodeID) {
		if seen[id] || v.status[id] == Known || v.Override != nil && known(v.Override, id) {
			return
		}
		seen[id] = true
		n := &g.nodes[id]
		if n.op == opInput {
			missing = append(missing, int(n.extra))
			return
		}
		args := g.arguments(n)
		if n.op == opSelect && v.status[args[0]] == Known {
			if v.node[args[0]] != 0 {
				args = args[1:2]
			} else {
				args = args[2:3]
			}
		}
		for _, a := range args {
			if v.status[a] == Absent && n.op.several() {
				continue
			}
			visit(a)
		}
		if reason == "" && v.why[id] != "" && v.status[id] == Undefined {
			reason = v.why[id]
		}
	}
	visit(id)
	return missing, reason
}

func known(m map[NodeID]float64, id NodeID) bool { _, ok := m[id]; return ok }

// Gradient adds the partial derivatives of a node by the inputs into slope, which
// has one entry for each of Graph.Inputs, and lists the inputs it touched. The node
// must be known. Inputs that were not there contribute nothing.
func (g *Graph) Gradient(id NodeID, v *Values, slope []float64, touched []int32) []int32 {
	cone := g.Cone(id)
	for _, c := range cone {
		v.slope[c] = 0
	}
	v.slope[id] = 1
	for i := len(cone) - 1; i >= 0; i-- {
		at := cone[i]
		s := v.slope[at]
		if s == 0 || v.Override != nil && known(v.Override, at) {
			continue
		}
		n := &g.nodes[at]
		args := g.arguments(n)
		switch n.op {
		case opConstant, opX:
		case opInput:
			if slope[n.extra] == 0 {
				touched = append(touched, n.extra)
			}
			slope[n.extra] += s
		case opAdd:
			v.slope[args[0]] += s
			v.slope[args[1]] += s
		case opSubtract:
			v.slope[args[0]] += s
			v.slope[args[1]] -= s
		case opMultiply:
			v.slope[args[0]] += s * v.node[args[1]]
			v.slope[args[1]] += s * v.node[args[0]]
		case opPresent, opSweep:
			v.slope[args[0]] += s
		case opSelect:
			if v.node[args[0]] != 0 {
				v.slope[args[1]] += s
			} else {
				v.slope[args[2]] += s
			}
		default:
			g.backward(n, args, at, s, v)
		}
	}
	return touched
}

func (g *Graph) backward(n *graphNode, args []NodeID, at NodeID, s float64, v *Values) {
	if need := 2 * len(args); cap(v.scratch) < need {
		v.scratch = make([]float64, need)
	}
	values, d := v.scratch[:0:len(args)], v.scratch[len(args):2*len(args)]
	for _, a := range args {
		if v.status[a] == Known {
			values = append(values, v.node[a])
		}
	}
	switch n.op {
	case opCurve:
		d[0] = g.tables[n.extra].Slope(values[0])
	case opFunction:
		numericSlopes(g.functions[n.extra], values, d)
	default:
		slopes(n.op, values, v.node[at], d[:len(values)])
	}
	i := 0
	for _, a := range args {
		if v.status[a] == Known {
			if d[i] != 0 {
				v.slope[a] += s * d[i]
			}
			i++
		}
	}
}

// numericSlopes differentiates a function of mechanics by central differences with
// one step of Richardson extrapolation; the error is of the order of 1e-10 of the
// derivative for functions that are smooth on the scale of the arguments.
func numericSlopes(f *Function, v, d []float64) {
	at := func(i int, h float64) (float64, bool) {
		keep := v[i]
		v[i] = keep + h
		up, err1 := f.Evaluate(v)
		v[i] = keep - h
		down, err2 := f.Evaluate(v)
		v[i] = keep
		if err1 != nil || err2 != nil {
			return 0, false
		}
		return (up - down) / (2 * h), true
	}
	for i := range v {
		h := 1e-3 * math.Abs(v[i])
		if h == 0 {
			h = 1e-6
		}
		d[i] = 0
		wide, ok1 := at(i, h)
		narrow, ok2 := at(i, h/2)
		switch {
		case ok1 && ok2:
			d[i] = (4*narrow - wide) / 3
		case ok2:
			d[i] = narrow
		default:
			d[i] = oneSided(f, v, i, h)
		}
	}
}

// oneSided differentiates at the edge of a function's range.
func oneSided(f *Function, v []float64, i int, h float64) float64 {
	here, err := f.Evaluate(v)
	if err != nil {
		return 0
	}
	for _, step := range []float64{h / 1000, -h / 1000} {
		keep := v[i]
		v[i] = keep + step
		y, err := f.Evaluate(v)
		v[i] = keep
		if err == nil {
			return (y - here) / step
		}
	}
	return 0
}

// coarse is how many steps a sweep is first divided into.
const coarse = 360

// search finds the extreme value of a sweep: a scan, then a golden-section search in
// every stretch around a local extreme that could hold the best one. Where the
// formula has no value in a part of the range, the edge of that part is looked for.
func (g *Graph) search(s *sweep, v *Values) (float64, Status) {
	at := func(x float64) float64 {
		v.node[s.x], v.status[s.x] = x, Known
		for _, id := range s.body {
			g.evaluate(id, v)
		}
		switch {
		case v.status[s.root] != Known:
			return math.Inf(1)
		case s.largest:
			return -v.node[s.root]
		}
		return v.node[s.root]
	}
	at(s.low)
	if len(s.body) == 0 {
		if s.root == s.x && s.largest {
			at(s.high) // x itself
		}
		return v.node[s.root], v.status[s.root]
	}
	if st := v.status[s.root]; st == Missing || st == Absent {
		return 0, st
	}
	xs, ys := make([]float64, coarse+1), make([]float64, coarse+1)
	bestX, bestY := math.NaN(), math.Inf(1)
	for i := range ys {
		xs[i] = s.low + (s.high-s.low)*float64(i)/coarse
		ys[i] = at(xs[i])
		if ys[i] < bestY {
			bestX, bestY = xs[i], ys[i]
		}
	}
	if math.IsNaN(bestX) {
		at(s.low)
		v.why[s.root] = "has no value anywhere in its range"
		return 0, Undefined
	}
	scanned := bestY
	for i := range ys {
		before, after := max(i-1, 0), min(i+1, coarse)
		left, right := ys[before], ys[after]
		if ys[i] > left || ys[i] > right || math.IsInf(ys[i], 0) {
			continue
		}
		a, b := xs[before], xs[after]
		if math.IsInf(left, 1) {
			a = edge(at, xs[i], a)
		}
		if math.IsInf(right, 1) {
			b = edge(at, xs[i], b)
		}
		// A dip may go lower than its samples by about their fall beside it.
		fall := math.Max(left-ys[i], right-ys[i])
		if ys[i]-fall > scanned {
			continue
		}
		for _, end := range []float64{a, b} {
			if y := at(end); y < bestY {
				bestX, bestY = end, y
			}
		}
		x, y := golden(at, a, b)
		if y < bestY {
			bestX, bestY = x, y
		}
	}
	y := at(bestX)
	if s.largest {
		y = -y
	}
	return y, Known
}

// edge finds the point nearest to beyond, where f has no value, at which it still
// has one; at inside it has.
func edge(f func(float64) float64, inside, beyond float64) float64 {
	for range 60 {
		m := (inside + beyond) / 2
		if m == inside || m == beyond {
			break
		}
		if math.IsInf(f(m), 1) {
			beyond = m
		} else {
			inside = m
		}
	}
	return inside
}

// golden narrows a minimum between a and b.
func golden(f func(float64) float64, a, b float64) (x, y float64) {
	const ratio = 0.6180339887498949
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for range 60 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
		if b-a < 1e-9*(math.Abs(a)+math.Abs(b)) {
			break
		}
	}
	if fc < fd {
		return c, fc
	}
	return d, fd
}

// FoundAt returns the x at which a sweep found its value.
func (g *Graph) FoundAt(id NodeID, v *Values) (float64, bool) {
	n := &g.nodes[id]
	for n.op == opPresent || n.op == opAdd {
		id = g.arguments(n)[0]
		n = &g.nodes[id]
	}
	if n.op != opSweep || v.status[id] != Known {
		return 0, false
	}
	return v.node[g.sweeps[n.extra].x], true
}
