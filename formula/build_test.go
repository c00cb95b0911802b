package formula

import (
	"math"
	"testing"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// formulas is a small pack of formulas for tests: things, places and one graph.
type formulas struct {
	testing.TB
	scope *Scope
	graph *Graph
	nodes map[string]NodeID
}

func newFormulas(tb testing.TB) *formulas {
	return &formulas{TB: tb, scope: &Scope{Things: map[string]*Thing{}, Places: Places{}, Functions: map[string]*Function{}}, graph: NewGraph(), nodes: map[string]NodeID{}}
}

func (f *formulas) dimension(name, place string, d quantity.Dimension) {
	f.scope.Things[name] = &Thing{Kind: Dimension, Name: name, Place: place, Dimension: d}
}

func parsed(tb testing.TB, text string) syntax.Expr {
	tb.Helper()
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "formula", Text: []byte(text)})
	if len(mistakes) > 0 {
		tb.Fatalf("%s: %v", text, mistakes)
	}
	return e
}

// compiled checks a formula that must be right.
func (f *formulas) compiled(text string) *Expr {
	f.Helper()
	x, mistakes := Compile(parsed(f, text), f.scope)
	if len(mistakes) > 0 {
		f.Fatalf("%s: %v", text, mistakes)
	}
	return x
}

func (f *formulas) binder(place, member string) Binder {
	return Binder{Places: f.scope.Places, Place: place, Member: member, Node: func(t *Thing, place string) (NodeID, bool) {
		id, ok := f.nodes[t.Name+" "+place]
		return id, ok
	}}
}

// number declares a number for the engine and returns its node.
func (f *formulas) number(name, text string) NodeID {
	f.Helper()
	x := f.compiled(text)
	id := f.graph.Add(x, f.binder("", ""))
	f.nodes[name+" "] = id
	f.scope.Things[name] = &Thing{Kind: Number, Name: name, Dimension: x.Dimension}
	return id
}

// sweep adds a sweep over plain numbers.
func (f *formulas) sweep(text string, low, high float64, largest bool) NodeID {
	f.Helper()
	plain := quantity.OfNumber
	f.scope.X = &plain
	x := f.compiled(text)
	f.scope.X = nil
	return f.graph.AddSweep(x, f.binder("", ""), low, high, largest)
}

// values fills the inputs by name; what is not named is missing. A name may carry a
// place behind a blank.
func (f *formulas) values(given map[string]float64) *Values {
	v := f.graph.NewValues()
	for i, in := range f.graph.Inputs {
		name := in.Name
		if in.Place != "" {
			name += " " + in.Place
		}
		if x, ok := given[name]; ok {
			v.Input[i], v.InputStatus[i] = x, Known
		}
	}
	f.graph.Evaluate(v)
	return v
}

// value computes a formula of plain numbers.
func value(tb testing.TB, text string, given map[string]float64) (float64, Status) {
	tb.Helper()
	f := newFormulas(tb)
	for name := range given {
		f.dimension(name, "", quantity.OfNumber)
	}
	id := f.graph.Add(f.compiled(text), f.binder("", ""))
	return f.values(given).Of(id)
}

// gradient returns the slopes of a node by the name of the input.
func (f *formulas) gradient(id NodeID, v *Values) map[string]float64 {
	slope := make([]float64, len(f.graph.Inputs))
	out := map[string]float64{}
	for _, i := range f.graph.Gradient(id, v, slope, nil) {
		in := f.graph.Inputs[i]
		name := in.Name
		if in.Place != "" {
			name += " " + in.Place
		}
		out[name] = slope[i]
	}
	return out
}

func near(a, b, tolerance float64) bool {
	return math.Abs(a-b) <= tolerance*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}
