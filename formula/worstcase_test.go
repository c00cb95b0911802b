package formula

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// uniform returns the ends of a formula whose inputs are rectangular.
func uniform(t testing.TB, text string, inputs map[string][2]float64) (Ends, error) {
	t.Helper()
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "f", Text: []byte(text)})
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	scope := &Scope{Things: map[string]*Thing{}, Places: Places{}}
	for name := range inputs {
		scope.Things[name] = &Thing{Kind: Dimension, Name: name}
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
		ends := inputs[in.Name]
		v.Input[i], v.InputStatus[i] = (ends[0]+ends[1])/2, Known
		d.Debts[i] = []Debt{{len(d.Shapes), (ends[1] - ends[0]) / 2 / math.Sqrt(3)}}
		d.Shapes = append(d.Shapes, quantity.Rectangular)
	}
	g.Evaluate(v)
	return g.WorstCase(id, v, d)
}

// A name that stands twice counts once; the expected ends are plain algebra.
func TestWorstCase(t *testing.T) {
	in := map[string][2]float64{"a": {1, 3}, "b": {-1, 2}, "c": {4, 5}}
	for _, c := range []struct {
		text      string
		low, high float64
	}{
		{"a - a", 0, 0},
		{"a + b", 0, 5},
		{"a - b", -1, 4},
		{"sq(b)", 0, 4},
		{"b * b", 0, 4},
		{"sq(b) - b", -0.25, 2}, // least at b = 1/2, greatest at both ends
		{"a / (a + c)", 1.0 / 6, 3.0 / 7},
		{"max(a, b)", 1, 3},
		{"max(a, 2 * b) - a", 0, 3}, // greatest at a = 1, b = 2
		{"abs(b)", 0, 2},
		{"sqrt(a) * c", 4, math.Sqrt(3) * 5},
		{"sin(a)", math.Sin(3), 1},
		{"a > 0 ? a : b", 1, 3},
		{"hypot(a, b)", 1, math.Sqrt(13)},
		{"(a - 2) * (a - 2) * (a - 2) - (a - 2)", -2 / (3 * math.Sqrt(3)), 2 / (3 * math.Sqrt(3))},
	} {
		got, err := uniform(t, c.text, in)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if math.Abs(got.Low-c.low) > 1e-7 || math.Abs(got.High-c.high) > 1e-7 {
			t.Errorf("%s: [%.9f, %.9f], want [%.9f, %.9f]", c.text, got.Low, got.High, c.low, c.high)
		}
	}
	if got, err := uniform(t, "1 / b", in); err == nil {
		t.Errorf("1 / b has a pole and gave %+v", got)
	}
}

// No sampled value lies outside of the ends.
func TestWorstCaseHoldsSamples(t *testing.T) {
	in := map[string][2]float64{"a": {1, 3}, "b": {-1, 2}, "c": {4, 5}}
	for _, text := range []string{"a * b + c * sin(b)", "sq(a - c) / (c + b)", "exp(b) * a - c", "min(a, c - a) * b", "cube(b) + a * sq(b)"} {
		ends, err := uniform(t, text, in)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		r := rand.New(rand.NewPCG(1, 2))
		for range 2000 {
			fixed := map[string][2]float64{}
			for name, e := range in {
				x := e[0] + (e[1]-e[0])*r.Float64()
				fixed[name] = [2]float64{x, x}
			}
			at, err := uniform(t, text, fixed)
			if err != nil {
				t.Fatalf("%s: %v", text, err)
			}
			if at.Low < ends.Low-1e-9 || at.High > ends.High+1e-9 {
				t.Fatalf("%s at %v is %v, outside of %+v", text, fixed, at.Low, ends)
			}
		}
	}
}
