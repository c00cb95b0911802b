package formula

import (
	"math"
	"testing"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// sampled computes a formula of inputs that are each an unknown of their own.
func sampled(t testing.TB, text string, inputs map[string]quantity.Uncertain, s Sampling) Sampled {
	t.Helper()
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "f", Text: []byte(text)})
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	scope := &Scope{Things: map[string]*Thing{}, Places: Places{}}
	for name, q := range inputs {
		scope.Things[name] = &Thing{Kind: Dimension, Name: name, Dimension: q.Dimension}
	}
	x, mistakes := Compile(e, scope)
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	g := NewGraph()
	id := g.Add(x, Binder{Places: Places{}})
	v := g.NewValues()
	d := Distribution{Debts: make([][]Debt, len(g.Inputs))}
	for i, in := range g.Inputs {
		q := inputs[in.Name]
		v.Input[i], v.InputStatus[i] = q.SI, Known
		d.Debts[i] = []Debt{{len(d.Shapes), q.Standard}}
		d.Shapes = append(d.Shapes, q.Shape)
	}
	g.Evaluate(v)
	out, err := g.MonteCarlo([]NodeID{id}, v, d, s)
	if err != nil {
		t.Fatal(err)
	}
	return out[0]
}

func uncertain(t testing.TB, text string) quantity.Uncertain {
	t.Helper()
	q, err := quantity.ParseUncertain(text)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// JCGM 101:2008, 9.2.2 and Table 2 (additive model, Gaussian) and 9.2.4, Table 4 (one
// dominating rectangular input); values as listed in the published checks C2-08
// (seen) and C2-09 (from memory; the exact end points ±17.016 were recomputed).
func TestMonteCarloAdditiveModels(t *testing.T) {
	normal := map[string]quantity.Uncertain{}
	mixed := map[string]quantity.Uncertain{}
	for _, n := range []string{"a", "b", "c", "d"} {
		normal[n] = uncertain(t, "0 ± 1 k=1")
		mixed[n] = uncertain(t, "0 ± 1 rectangular k=1")
	}
	mixed["d"] = uncertain(t, "0 ± 10 rectangular k=1")
	for _, c := range []struct {
		name       string
		inputs     map[string]quantity.Uncertain
		u, end     float64
		uTol, eTol float64
	}{
		{"Gaussian", normal, 2.0, 3.92, 0.01, 0.03},
		{"dominating rectangle", mixed, 10.149, 17.016, 0.03, 0.06},
	} {
		got := sampled(t, "a + b + c + d", c.inputs, Sampling{Samples: 500_000, Seed: 1, Probability: 0.95})
		if math.Abs(got.Standard-c.u) > c.uTol || math.Abs(got.High-c.end) > c.eTol || math.Abs(got.Low+c.end) > c.eTol {
			t.Errorf("%s: u %.4f, [%.4f, %.4f], want %v and ±%v", c.name, got.Standard, got.Low, got.High, c.u, c.end)
		}
	}
}

// The result depends on the seed alone, not on how many cores share the work.
func TestMonteCarloRepeats(t *testing.T) {
	in := map[string]quantity.Uncertain{"a": uncertain(t, "10 ± 1 mm"), "b": uncertain(t, "5 ± 0.5 mm rectangular k=1")}
	s := Sampling{Samples: 100_000, Seed: 7, Probability: 0.95, Workers: 1}
	one := sampled(t, "max(a, 2 * b) / b", in, s)
	s.Workers = 2
	if two := sampled(t, "max(a, 2 * b) / b", in, s); one != two {
		t.Errorf("one worker %+v, two workers %+v", one, two)
	}
	s.Seed = 8
	if other := sampled(t, "max(a, 2 * b) / b", in, s); one == other {
		t.Error("another seed gave the same samples")
	}
}

// Inputs that owe to one unknown move together: their difference does not vary.
func TestMonteCarloShared(t *testing.T) {
	g := NewGraph()
	a, b := g.input(Input{Name: "a"}), g.input(Input{Name: "b"})
	diff := g.push(graphNode{op: opSubtract}, []NodeID{a, b})
	sum := g.push(graphNode{op: opAdd}, []NodeID{a, b})
	v := g.NewValues()
	for i := range v.Input {
		v.Input[i], v.InputStatus[i] = float64(i), Known
	}
	g.Evaluate(v)
	d := Distribution{Debts: [][]Debt{{{0, 1}}, {{0, 1}}}, Shapes: []quantity.Shape{quantity.Normal}}
	out, err := g.MonteCarlo([]NodeID{diff, sum}, v, d, Sampling{Samples: 100_000, Seed: 3, Probability: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	if out[0].Standard > 1e-12 || math.Abs(out[1].Standard-2) > 0.02 {
		t.Errorf("difference ± %v, sum ± %v", out[0].Standard, out[1].Standard)
	}
}
