package formula

import (
	"errors"
	"math"
	"runtime"
	"testing"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// varied is a formula of plain numbers whose inputs have values and ± of their own.
type varied struct {
	graph *Graph
	id    NodeID
	v     *Values
	d     Distribution
}

// steep stands for a function of mechanics: it bends, and it refuses what is below -3.
var steep = &Function{Name: "steep", Arguments: []Argument{{Name: "x"}, {Name: "k"}}, Evaluate: func(v []float64) (float64, error) {
	if v[0] < -3 {
		return 0, errors.New("x must be at least -3")
	}
	return v[1] * math.Sqrt(v[0]+3) * (v[0] + 3), nil
}}

// vary compiles a formula, which may call the function steep and the curve curved. An input is written like "10 ± 1 rectangular k=1".
func vary(t testing.TB, text string, inputs map[string]string) varied {
	t.Helper()
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "f", Text: []byte(text)})
	if len(mistakes) > 0 {
		t.Fatal(text, mistakes)
	}
	scope := &Scope{Things: map[string]*Thing{}, Places: Places{}, Functions: map[string]*Function{"steep": steep}}
	curve := &Table{X: []float64{-20, -1, 0, 1, 20}, Y: []float64{-5, -1, 0.5, 2, 3}}
	if err := curve.Prepare(); err != nil {
		t.Fatal(err)
	}
	scope.Things["curved"] = &Thing{Kind: Curve, Name: "curved", Table: curve}
	given := map[string]quantity.Uncertain{}
	for name, q := range inputs {
		given[name] = uncertain(t, q)
		scope.Things[name] = &Thing{Kind: Dimension, Name: name, Dimension: given[name].Dimension}
	}
	x, mistakes := Compile(e, scope)
	if len(mistakes) > 0 {
		t.Fatal(text, mistakes)
	}
	f := varied{graph: NewGraph()}
	f.id = f.graph.Add(x, Binder{Places: Places{}})
	f.fill(given)
	return f
}

// fill gives every input the value and ± of its name.
func (f *varied) fill(given map[string]quantity.Uncertain) {
	f.v = f.graph.NewValues()
	f.d = Distribution{Debts: make([][]Debt, len(f.graph.Inputs))}
	for i, in := range f.graph.Inputs {
		q := given[in.Name]
		f.v.Input[i], f.v.InputStatus[i] = q.SI, Known
		if q.Standard > 0 {
			f.d.Debts[i] = []Debt{{len(f.d.Shapes), q.Standard}}
			f.d.Shapes = append(f.d.Shapes, q.Shape)
		}
	}
	f.graph.Evaluate(f.v)
}

// Every lane computes what Evaluate computes for the same values of the inputs: the
// value, or none where there is none.
func TestLanesComputeWhatEvaluateDoes(t *testing.T) {
	in := map[string]string{"a": "10 ± 1 k=1", "b": "5 ± 2 rectangular k=1", "c": "0.1 ± 0.5 triangular k=1", "e": "3", "f": "0.5 ± 0.3 arcsine k=1"}
	for _, text := range []string{
		"a", "a + b", "a - b - c", "2 * a - 3", "a * b * c", "-a / e + 2 * (b - c)", "a / b", "sq(a) - sq(b)", "cube(c)", "sqrt(c)",
		"a * b + c", "3 * (a * b) + 1", "(a + b) * (a - b)", "(2 * a) / (3 * b)", "a - a", "a * (a - b) / (a + 1)",
		"max(a, 2 * b)", "min(a, b, c, e)", "mean(a, b, c)", "spread(a, b)", "abs(c)", "clamp(c, -0.2, 0.3)", "hypot(a, c)",
		"exp(c)", "ln(c)", "sin(\"1 rad\" * c)", "atan2(c, a) / \"1 rad\"", "asin(c) / \"1 rad\"",
		"c > 0 ? sqrt(c) : b", "c > 0.1 && b < 5 ? a : c", "c > 0.1 || sqrt(c) < 1 ? a : b", "!(c >= 0) ? a : e", "sqrt(c) < 0.5 ? a : b",
		"c == 0 ? 1 : a / c", "f * a + f", "1 / sqrt(c) + a", "a + b + c + f - 2 * (a + b) + e * c - f", "sq(a + c) + sq(a + c)", "a * 0 + b / e",
		"steep(c, b) + a", "steep(a, c) - steep(-c, 2)", "curved(c) * a", "curved(2 * b)", "a % b", "pow(a, 1.5) + pow(b, c)", "a + b + c + f + sq(a) + sq(b) + sq(c) + sq(f)", "mean(a * b, c, sqrt(a), f, b)",
	} {
		f := vary(t, text, in)
		if f.v.status[f.id] != Known {
			t.Fatalf("%s is not known", text)
		}
		ids := []NodeID{f.id}
		var slots []int
		for id := range f.graph.nodes {
			if n := &f.graph.nodes[id]; n.op == opInput {
				ids, slots = append(ids, NodeID(id)), append(slots, int(n.extra))
			}
		}
		p := f.graph.compileLanes(ids, f.v, f.d)
		r := p.runner()
		blocks := make([]block, len(ids))
		undefined := 0
		for batch := range 4 {
			r.start(3, uint64(batch))
			r.run(func(i int, b *block) { blocks[i] = *b })
			for l := range lanes {
				for k, slot := range slots {
					f.v.Input[slot] = blocks[k+1][l]
				}
				f.graph.Evaluate(f.v)
				want, status := f.v.Of(f.id)
				got := blocks[0][l]
				if status != Known {
					undefined++
					if !math.IsNaN(got) && !math.IsInf(got, 0) {
						t.Fatalf("%s: %v where it has no value", text, got)
					}
					continue
				}
				if math.Abs(got-want) > 1e-12*(math.Abs(want)+10) {
					t.Fatalf("%s: %v, want %v", text, got, want)
				}
			}
		}
		if undefined == 4*lanes {
			t.Errorf("%s has no value anywhere", text)
		}
	}
}

// What is left out of the job is left out of a mean; what is missing is not.
func TestLanesLeaveOutWhatIsAbsent(t *testing.T) {
	g := NewGraph()
	a, b, c := g.input(Input{Name: "a"}), g.input(Input{Name: "b"}), g.input(Input{Name: "c"})
	mean := g.push(graphNode{op: opMean}, []NodeID{a, b, c})
	v := g.NewValues()
	for i, s := range []Status{Known, Known, Absent} {
		v.Input[i], v.InputStatus[i] = float64(10*i), s
	}
	g.Evaluate(v)
	d := Distribution{Debts: [][]Debt{{{0, 1}}, {{1, 1}}, {{2, 1}}}, Shapes: make([]quantity.Shape, 3)}
	out, err := g.MonteCarlo([]NodeID{mean}, v, d, Sampling{Samples: 100_000, Seed: 3, Probability: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(out[0].Mean-5) > 0.02 || math.Abs(out[0].Standard-math.Sqrt(0.5)) > 0.01 {
		t.Errorf("mean of two of three: %+v", out[0])
	}
	v.InputStatus[2] = Missing
	g.Evaluate(v)
	if _, err := g.MonteCarlo([]NodeID{mean}, v, d, Sampling{Samples: 1000, Seed: 3, Probability: 0.95}); err == nil {
		t.Error("a mean with a missing input was sampled")
	}
}

// An unknown draws the same whatever else is asked for, so that one formula alone and
// among others gives the same, but for the rounding of sums taken in another order.
func TestSamplesDoNotDependOnCompany(t *testing.T) {
	g := NewGraph()
	a, b, c := g.input(Input{Name: "a"}), g.input(Input{Name: "b"}), g.input(Input{Name: "c"})
	sum := g.push(graphNode{op: opAdd}, []NodeID{a, b})
	ratio := g.push(graphNode{op: opDivide}, []NodeID{b, c})
	v := g.NewValues()
	for i := range v.Input {
		v.Input[i], v.InputStatus[i] = 10, Known
	}
	g.Evaluate(v)
	d := Distribution{Debts: [][]Debt{{{0, 1}}, {{1, 1}, {0, 0.5}}, {{2, 1}}}, Shapes: make([]quantity.Shape, 3)}
	s := Sampling{Samples: 50_000, Seed: 3, Probability: 0.95}
	both, err := g.MonteCarlo([]NodeID{sum, ratio}, v, d, s)
	if err != nil {
		t.Fatal(err)
	}
	for i, id := range []NodeID{sum, ratio} {
		alone, err := g.MonteCarlo([]NodeID{id}, v, d, s)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range [][2]float64{{alone[0].Mean, both[i].Mean}, {alone[0].Standard, both[i].Standard}, {alone[0].Low, both[i].Low}, {alone[0].High, both[i].High}} {
			if math.Abs(x[0]-x[1]) > 1e-12*math.Abs(x[0]) {
				t.Errorf("alone %+v, with another %+v", alone[0], both[i])
			}
		}
	}
}

// Memory does not grow with the number of samples, but for some √n end points.
func TestMonteCarloMemory(t *testing.T) {
	f := vary(t, "a * b / c", map[string]string{"a": "10 ± 1 k=1", "b": "5 ± 1 k=1", "c": "3 ± 0.1 k=1"})
	used := func(samples int) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if _, err := f.graph.MonteCarlo([]NodeID{f.id}, f.v, f.d, Sampling{Samples: samples, Seed: 1, Probability: 0.95, Workers: 1}); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	small, large := used(100_000), used(1_600_000)
	t.Logf("%d bytes for 1e5 samples, %d for 1.6e6", small, large)
	if large > 4*small {
		t.Errorf("16 times the samples take %d bytes instead of %d; √16 = 4 times is the most", large, small)
	}
}
