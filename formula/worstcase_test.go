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

// Every operation: no point of a fine grid over the box lies outside of the ends, and
// the ends are not further out than the grid nearly reaches, but for what they say. Where a formula jumps,
// divides by zero or leaves the range of a function, that is an error and no number.
func TestWorstCaseOfEveryOperation(t *testing.T) {
	in := map[string]string{"a": "10 ± 1 rectangular k=1", "b": "5 ± 1 rectangular k=1", "c": "0.1 ± 0.5 rectangular k=1", "e": "3"}
	for text, fails := range map[string]bool{
		"a + b - c": false, "a * c": false, "c * c - c": false, "a / b": false, "a / c": true, "-c": false, "abs(c)": false, "sqrt(a)": false, "sqrt(c)": true,
		"sq(c)": false, "cube(c) - c": false, "pow(a, 1.5)": false, "pow(a, -2)": false, "pow(c, 2)": false, "pow(c, 3)": false, "pow(c, -1)": true, "pow(-a, 2)": false, "pow(-a, 3)": false, "pow(-a, -2)": false, "pow(-a, -3)": false, "pow(c, 0)": false, "pow(sq(c), 0.5)": false, "pow(sq(c), 1.5)": false, "pow(a, c)": false, "pow(c + 3, c)": false, "pow(c, 0.5)": true, "exp(c)": false, "ln(a)": false, "ln(c)": true,
		"sin(\"1 rad\" * a)": false, "cos(\"1 rad\" * b)": false, "tan(\"1 rad\" * c)": false, "tan(\"1 rad\" * b)": true,
		"asin(c) / \"1 rad\"": false, "acos(c) / \"1 rad\"": false, "atan(c) / \"1 rad\"": false, "atan2(c, a) / \"1 rad\"": false, "hypot(c, b)": false,
		"clamp(c, -0.2, 0.3)": false, "clamp(a, b, 2 * b)": false, "min(a, 2 * b)": false, "max(a, 2 * b) - min(a, b)": false, "mean(a, b, c)": false,
		"spread(a, 2 * b)": false, "spread(a, b, c)": false, "a > b ? a : b": false, "a > e ? a : sqrt(c)": false, "a < e ? sqrt(c) : b": false,
		"c > 0 ? a : b": false, "c > 0 ? a : a": false, "a > e && b > 1 ? a - c : b": false, "a < e || b > 1 ? a - c : b": false, "!(a < e) ? a : b": false,
		"e == 3 ? a : b": false, "e != 3 ? a : b": false, "a >= b ? c : b": false, "a <= b ? c : b": false,
		"steep(c, e)": false, "steep(a, b)": false, "curved(c)": false, "curved(a) * b": false, "a * b - b * a": false, "(a + b) / (a + b)": false,
	} {
		f := vary(t, text, in)
		if f.v.status[f.id] != Known {
			t.Fatalf("%s has no value", text)
		}
		ends, err := f.graph.WorstCase(f.id, f.v, f.d)
		if (err != nil) != fails {
			t.Errorf("%s: %+v %v", text, ends, err)
		}
		if err != nil {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		centre := append([]float64(nil), f.v.Input...)
		const n = 32
		for k := range (n + 1) * (n + 1) * (n + 1) {
			for i := range f.d.Debts {
				if len(f.d.Debts[i]) > 0 {
					f.v.Input[i] = centre[i] + f.d.Debts[i][0].U*math.Sqrt(3)*(2*float64(k%(n+1))/n-1)
					k /= n + 1
				}
			}
			f.graph.Evaluate(f.v)
			if x, status := f.v.Of(f.id); status == Known {
				low, high = math.Min(low, x), math.Max(high, x)
			}
		}
		slack := 1e-9 * (math.Abs(low) + math.Abs(high))
		if low < ends.Low-slack || high > ends.High+slack {
			t.Errorf("%s: the grid reaches [%v, %v], outside of [%v, %v]", text, low, high, ends.Low, ends.High)
		}
		if gap := 0.01*(high-low) + slack + ends.Loose; ends.Low < low-gap || ends.High > high+gap {
			t.Errorf("%s: [%v, %v] is wider than the grid's [%v, %v]", text, ends.Low, ends.High, low, high)
		}
	}
}
