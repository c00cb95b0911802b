package formula

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// firstOrder is what Evaluate and Gradient give.
func (f *varied) firstOrder() (FirstOrder, bool) {
	f.graph.Evaluate(f.v)
	x, status := f.v.Of(f.id)
	if status != Known {
		return FirstOrder{}, false
	}
	slope := make([]float64, len(f.graph.Inputs))
	f.graph.Gradient(f.id, f.v, slope, nil)
	owed := make([]float64, len(f.d.Shapes))
	for i, debts := range f.d.Debts {
		for _, d := range debts {
			owed[d.Unknown] += slope[i] * d.U
		}
	}
	v := 0.0
	for _, u := range owed {
		v += u * u
	}
	return FirstOrder{x, math.Sqrt(v)}, true
}

// A tape gives what Evaluate and Gradient give, at any values of the inputs, and says
// so where there is none.
func TestTapeComputesWhatGradientDoes(t *testing.T) {
	in := map[string]string{"a": "10 ± 1 k=1", "b": "5 ± 2 rectangular k=1", "c": "0.1 ± 0.5 triangular k=1", "e": "3", "f": "0.5 ± 0.3 arcsine k=1"}
	for _, text := range []string{
		"a", "7", "a + b", "a - b - c", "2 * a - 3", "a * b * c", "-a / e + 2 * (b - c)", "a / b", "sq(a) - sq(b)", "cube(c)", "sqrt(c)",
		"a * b + c", "3 * (a * b) + 1", "(a + b) * (a - b)", "(2 * a) / (3 * b)", "a - a", "a * (a - b) / (a + 1)",
		"max(a, 2 * b)", "min(a, b, c, e)", "mean(a, b, c)", "spread(a, b)", "abs(c)", "clamp(c, -0.2, 0.3)", "hypot(a, c)",
		"exp(c)", "exp(200 * c) - exp(200 * c)", "1 / exp(400 * c)", "ln(c)", "sin(\"1 rad\" * c)", "atan2(c, a) / \"1 rad\"", "asin(c) / \"1 rad\"",
		"c > 0 ? sqrt(c) : b", "c > 0.1 && b < 5 ? a : c", "c > 0.1 || sqrt(c) < 1 ? a : b", "!(c >= 0) ? a : e", "sqrt(c) < 0.5 ? a : b",
		"c == 0 ? 1 : a / c", "f * a + f", "1 / sqrt(c) + a", "a + b + c + f - 2 * (a + b) + e * c - f", "sq(a + c) + sq(a + c)", "a * 0 + b / e",
		"steep(c, b) + a", "steep(a, c) - steep(-c, 2)", "curved(c) * a", "curved(2 * b)", "a % b", "pow(a, 1.5) + pow(b, c)", "a + b + c + f + sq(a) + sq(b) + sq(c) + sq(f)", "mean(a * b, c, sqrt(a), f, b)",
	} {
		f := vary(t, text, in)
		tape := f.graph.NewTape([]NodeID{f.id, f.id})
		s := newSource(5, 0, 0)
		known := 0
		for range 300 {
			for i := range f.v.Input {
				f.v.Input[i] = 8 * (s.unit() - 0.4)
			}
			want, ok := f.firstOrder()
			var got [2]FirstOrder
			if also := tape.Propagate(f.v, f.d, got[:]); also != ok {
				t.Fatalf("%s at %v: %v, and Evaluate says %v", text, f.v.Input, also, ok)
			}
			if !ok {
				continue
			}
			known++
			for _, g := range got {
				if math.Abs(g.Value-want.Value) > 1e-12*(math.Abs(want.Value)+10) || g.Standard != want.Standard && !(math.Abs(g.Standard-want.Standard) <= 1e-11*(want.Standard+10)) {
					t.Fatalf("%s at %v: %+v, want %+v", text, f.v.Input, g, want)
				}
			}
		}
		if known == 0 {
			t.Errorf("%s has no value anywhere", text)
		}
	}
}

// What several inputs owe to one unknown is counted once, as in a graph.
func TestTapeCountsAnUnknownOnce(t *testing.T) {
	g := NewGraph()
	a, b := g.input(Input{Name: "a"}), g.input(Input{Name: "b"})
	diff := g.push(graphNode{op: opSubtract}, []NodeID{a, b})
	sum := g.push(graphNode{op: opAdd}, []NodeID{a, b})
	v := g.NewValues()
	for i := range v.Input {
		v.Input[i], v.InputStatus[i] = float64(i), Known
	}
	d := Distribution{Debts: [][]Debt{{{0, 3}, {1, 4}}, {{0, 3}}}, Shapes: make([]quantity.Shape, 2)}
	tape := g.NewTape([]NodeID{diff, sum})
	var out [2]FirstOrder
	if !tape.Propagate(v, d, out[:]) || out[0] != (FirstOrder{-1, 4}) || out[1].Value != 1 || math.Abs(out[1].Standard-math.Sqrt(6*6+4*4)) > 1e-14 {
		t.Errorf("%+v", out)
	}
	v.InputStatus[0] = Missing
	if tape.Propagate(v, d, out[:]) {
		t.Error("a missing input was taken for known")
	}
}
