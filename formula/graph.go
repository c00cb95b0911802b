package formula

import (
	"math"
	"strconv"
)

// InputKind says where the value of an input comes from.
type InputKind uint8

// The kinds of inputs.
const (
	Value       InputKind = iota // a set function of a dimension's readings
	OptionValue                  // the choice of an option, as a quantity
	OptionIs                     // 1 if the option has the choice Detail, else 0
	PartIs                       // 1 if the slot is filled by the part Detail, else 0
	Size                         // the size Detail of the part in the slot
	Given                        // a value with its ± written in the formula
	Model                        // the error of a model: 0 with its ±
	Present                      // 1 if the block stands (its `when`), else 0
	X                            // the variable of a sweep
	OptionText                   // refused by the compiler
	SlotText                     // refused by the compiler
)

// Input is an input of a graph: what it is, and at which place. Inputs that are
// equal are one.
type Input struct {
	Kind InputKind
	// Name is the thing's, Place the member of its place ("" for the engine).
	Name, Place string
	Set         SetFunction
	// Detail is the choice, part or size; for a Given its place in the source.
	Detail string
	// Given and Model carry their own value and standard uncertainty.
	Number   float64
	Standard float64
}

// NodeID names a node of a graph.
type NodeID int32

// graphNode is one node; its arguments are list[first : first+count].
type graphNode struct {
	op    op
	first int32
	count int32
	k     float64
	extra int32 // index of the function, table, sweep or input
}

// Graph holds the formulas of a pack, instantiated for their places.
type Graph struct {
	nodes     []graphNode
	list      []NodeID
	Inputs    []Input
	inputs    map[Input]int32
	common    map[nodeKey]NodeID
	functions []*Function
	tables    []*Table
	sweeps    []sweep
	inSweep   []bool // nodes that a sweep computes, skipped in the main pass
	cones     map[NodeID][]NodeID
}

// sweep is a value searched for along a range of x.
type sweep struct {
	x         NodeID
	root      NodeID
	body      []NodeID // nodes that depend on x, children first
	low, high float64
	largest   bool
}

type nodeKey struct {
	op         op
	a, b, c    NodeID
	k          float64
	extra      int32
	argumentsN int32
}

// NewGraph returns an empty graph.
func NewGraph() *Graph {
	return &Graph{inputs: map[Input]int32{}, common: map[nodeKey]NodeID{}, cones: map[NodeID][]NodeID{}}
}

// Len returns how many nodes the graph has.
func (g *Graph) Len() int { return len(g.nodes) }

func (g *Graph) push(n graphNode, args []NodeID) NodeID {
	key := nodeKey{op: n.op, k: n.k, extra: n.extra, argumentsN: int32(len(args)), a: -1, b: -1, c: -1}
	shared := len(args) <= 3 && n.op != opSweep
	if shared {
		for i, a := range args {
			switch i {
			case 0:
				key.a = a
			case 1:
				key.b = a
			case 2:
				key.c = a
			}
		}
		if id, ok := g.common[key]; ok {
			return id
		}
	}
	n.first, n.count = int32(len(g.list)), int32(len(args))
	g.list = append(g.list, args...)
	id := NodeID(len(g.nodes))
	g.nodes = append(g.nodes, n)
	g.inSweep = append(g.inSweep, false)
	if shared {
		g.common[key] = id
	}
	return id
}

func (g *Graph) arguments(n *graphNode) []NodeID { return g.list[n.first : n.first+n.count] }

// input returns the node of an input, the same for equal inputs.
func (g *Graph) input(in Input) NodeID {
	slot, ok := g.inputs[in]
	if !ok {
		slot = int32(len(g.Inputs))
		g.inputs[in] = slot
		g.Inputs = append(g.Inputs, in)
	}
	return g.push(graphNode{op: opInput, extra: slot}, nil)
}

// Slot returns the index in Inputs of an input that the graph has.
func (g *Graph) Slot(in Input) (int, bool) {
	s, ok := g.inputs[in]
	return int(s), ok
}

// Binder tells a graph what the names of an expression stand for at its place.
type Binder struct {
	Places Places
	// Node returns the node of another formula at a place; false where the name is
	// a dimension, which is an input.
	Node func(thing *Thing, place string) (NodeID, bool)
	// Place and Member say where the expression stands.
	Place, Member string
}

// Add instantiates an expression for the place of the binder.
func (g *Graph) Add(e *Expr, b Binder) NodeID { return g.add(e.root, b) }

// AddRange instantiates the two ends of a range; an absent end is infinite.
func (g *Graph) AddRange(r *RangeExpr, b Binder) (low, high NodeID) {
	return g.add(r.low, b), g.add(r.high, b)
}

func (g *Graph) add(n *node, b Binder) NodeID {
	if n == nil {
		return g.push(graphNode{op: opConstant, k: math.NaN()}, nil)
	}
	switch n.op {
	case opConstant:
		return g.push(graphNode{op: opConstant, k: n.k}, nil)
	case opInput:
		return g.bind(n, b)
	}
	var args []NodeID
	for _, a := range n.args {
		if a.op == opInput && a.ref.each {
			args = append(args, g.bindEach(a, b)...)
			continue
		}
		args = append(args, g.add(a, b))
	}
	out := graphNode{op: n.op, k: n.k}
	switch n.op {
	case opFunction:
		out.extra = int32(len(g.functions))
		g.functions = append(g.functions, n.fn)
	case opCurve:
		out.extra = int32(len(g.tables))
		g.tables = append(g.tables, n.table)
	}
	return g.push(out, args)
}

func (g *Graph) bindEach(n *node, b Binder) []NodeID {
	var ids []NodeID
	for _, m := range b.Places.Below(b.Place, b.Member, n.ref.thing.Place) {
		ids = append(ids, g.bindAt(n, b, m))
	}
	return ids
}

func (g *Graph) bind(n *node, b Binder) NodeID {
	switch n.ref.kind {
	case X:
		return g.push(graphNode{op: opX}, nil)
	case Given:
		return g.input(Input{Kind: Given, Detail: n.ref.detail, Number: n.ref.given.SI, Standard: n.ref.given.Standard})
	}
	if n.ref.keyed {
		return g.bindAt(n, b, n.ref.member)
	}
	member, _ := b.Places.Up(b.Place, b.Member, n.ref.thing.Place)
	return g.bindAt(n, b, member)
}

func (g *Graph) bindAt(n *node, b Binder, member string) NodeID {
	t := n.ref.thing
	if t.Kind == Number || t.Kind == Sweep {
		if id, ok := b.Node(t, member); ok {
			return id
		}
		return g.push(graphNode{op: opConstant, k: math.NaN()}, nil)
	}
	return g.input(Input{Kind: n.ref.kind, Name: t.Name, Place: member, Set: n.ref.set, Detail: n.ref.detail})
}

// AddModel returns a node of base with the error of a model added to it: zero, with
// the given standard uncertainty.
func (g *Graph) AddModel(base NodeID, name, place string, standard float64) NodeID {
	in := g.input(Input{Kind: Model, Name: name, Place: place, Standard: standard})
	return g.push(graphNode{op: opAdd}, []NodeID{base, in})
}

// AddPresence returns a node that is base where the block stands and absent where
// its `when` is false.
func (g *Graph) AddPresence(base NodeID, kind, name, place string) NodeID {
	in := g.input(Input{Kind: Present, Name: name, Place: place, Detail: kind})
	return g.push(graphNode{op: opPresent}, []NodeID{base, in})
}

// AddSweep instantiates a sweep: the smallest or largest value of e for x between
// low and high.
func (g *Graph) AddSweep(e *Expr, b Binder, low, high float64, largest bool) NodeID {
	root := g.add(e.root, b)
	x := g.push(graphNode{op: opX}, nil)
	// Every sweep has an x of its own, so its body is copied with that x.
	own := g.pushAlone(graphNode{op: opX})
	copies := map[NodeID]NodeID{x: own}
	var body []NodeID
	var clone func(id NodeID) NodeID
	clone = func(id NodeID) NodeID {
		if c, ok := copies[id]; ok {
			return c
		}
		n := g.nodes[id]
		changed := false
		args := append([]NodeID(nil), g.arguments(&n)...)
		for i, a := range args {
			args[i] = clone(a)
			changed = changed || args[i] != a
		}
		if !changed {
			copies[id] = id
			return id
		}
		c := g.pushAlone(n, args...)
		copies[id] = c
		body = append(body, c)
		return c
	}
	root = clone(root)
	for _, id := range body {
		g.inSweep[id] = true
	}
	g.inSweep[own] = true
	g.sweeps = append(g.sweeps, sweep{x: own, root: root, body: body, low: low, high: high, largest: largest})
	return g.push(graphNode{op: opSweep, extra: int32(len(g.sweeps) - 1)}, []NodeID{root, own})
}

// pushAlone adds a node that is shared with nothing.
func (g *Graph) pushAlone(n graphNode, args ...NodeID) NodeID {
	n.first, n.count = int32(len(g.list)), int32(len(args))
	g.list = append(g.list, args...)
	g.nodes = append(g.nodes, n)
	g.inSweep = append(g.inSweep, false)
	return NodeID(len(g.nodes) - 1)
}

// Cone returns the nodes that a node depends on, children first, itself last. It keeps
// nothing, so that several callers may ask one graph at once; see [Graph.KeepCone].
func (g *Graph) Cone(id NodeID) []NodeID {
	if list, ok := g.cones[id]; ok {
		return list
	}
	seen := map[NodeID]bool{}
	var order []NodeID
	var visit func(id NodeID)
	visit = func(id NodeID) {
		if seen[id] {
			return
		}
		seen[id] = true
		for _, a := range g.arguments(&g.nodes[id]) {
			visit(a)
		}
		order = append(order, id)
	}
	visit(id)
	return order
}

// KeepCone finds the cone of a node once and for all. It changes the graph, so it
// belongs to the time when the graph is made.
func (g *Graph) KeepCone(id NodeID) { g.cones[id] = g.Cone(id) }

// InputsOf returns the inputs that a node depends on, as indices into Inputs, in
// the order in which the formula names them.
func (g *Graph) InputsOf(id NodeID) []int {
	var list []int
	for _, n := range g.Cone(id) {
		if g.nodes[n].op == opInput {
			list = append(list, int(g.nodes[n].extra))
		}
	}
	return list
}

// Reference returns the input as it is written in an assessment: KIND.NAME or
// KIND.NAME PLACE.
func (in Input) Reference() string {
	kind := "dimension"
	name := in.Name
	switch in.Kind {
	case OptionValue, OptionIs:
		kind = "option"
	case PartIs:
		kind = "slot"
	case Size:
		kind, name = "slot", in.Name+"."+in.Detail
	case Given:
		return "given " + strconv.FormatFloat(in.Number, 'g', 6, 64)
	case Model:
		kind = "model"
	}
	if in.Place == "" {
		return kind + "." + name
	}
	return kind + "." + name + " " + in.Place
}
