package formula

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/quantity"
)

// differentiated are the operations with the inputs that they are tried on.
var differentiated = []struct {
	text      string
	inputs    int
	low, high float64
}{
	{"a + b", 2, -5, 5}, {"a - b", 2, -5, 5}, {"a * b", 2, -5, 5}, {"a / b", 2, 0.5, 5}, {"a % b", 2, 1, 9},
	{"-a", 1, -5, 5}, {"abs(a)", 1, -5, 5}, {"sqrt(a)", 1, 0.1, 5}, {"sq(a)", 1, -5, 5}, {"cube(a)", 1, -5, 5},
	{"pow(a, b)", 2, 0.2, 3}, {"pow(a, 3)", 1, -3, 3}, {"pow(a, -2)", 1, 0.5, 3}, {"pow(a, 0)", 1, -3, 3}, {"pow(2, a)", 1, -3, 3},
	{"exp(a)", 1, -3, 3}, {"ln(a)", 1, 0.1, 9}, {"sin(a)", 1, -9, 9}, {"cos(a)", 1, -9, 9}, {"tan(a)", 1, -1.3, 1.3},
	{`asin(a) / "1 rad"`, 1, -0.95, 0.95}, {`acos(a) / "1 rad"`, 1, -0.95, 0.95}, {`atan(a) / "1 rad"`, 1, -9, 9},
	{`atan2(a, b) / "1 rad"`, 2, 0.3, 5}, {`atan2(-a, -b) / "1 rad"`, 2, 0.3, 5}, {"hypot(a, b)", 2, 0.2, 5},
	{"min(a, b, c)", 3, -5, 5}, {"max(a, b, c)", 3, -5, 5}, {"mean(a, b, c)", 3, -5, 5}, {"sum(a, b, c)", 3, -5, 5},
	{"spread(a, b, c)", 3, -5, 5}, {"smallest(a, b)", 2, -5, 5}, {"largest(a, b)", 2, -5, 5}, {"clamp(a, -2, 3)", 1, -5, 5}, {"clamp(a, b, 5)", 2, -5, 5}, {"clamp(a, -5, b)", 2, -5, 5},
	{"a > b ? sq(a) : cube(b)", 2, -5, 5}, {"a > b && b > c ? a * b : b * c", 3, -5, 5}, {"!(a < b) || c > 0 ? a : b * c", 3, -5, 5},
	{"bent(a)", 1, 0.1, 3.9}, {"straight(a)", 1, 0.1, 3.9}, {"wheel(a)", 1, -9, 9}, {"swept(a, b)", 2, 1, 3}, {"swept(a)", 1, 1, 3},
	{"a * a * a / (1 + a * b) - sqrt(1 + sq(a - b))", 2, 0.1, 5}, {"(a - b) * (a + b) / (a * b) + a", 2, 0.5, 5},
}

// curvesAndFunctions gives formulas two curves that end, one that repeats, and a
// function with a default.
func curvesAndFunctions(f *formulas) {
	for name, t := range map[string]*Table{
		"bent":     {X: []float64{0, 1, 2, 4}, Y: []float64{1, 3, 2, 5}},
		"straight": {X: []float64{0, 1, 2, 4}, Y: []float64{1, 3, 2, 5}, Linear: true},
		"wheel":    {X: []float64{0, 1, 2, 3, 4}, Y: []float64{1, 3, 2, 0, 1}, Periodic: true},
	} {
		t.XUnit = quantity.MustUnit("1")
		if err := t.Prepare(); err != nil {
			f.Fatal(err)
		}
		f.scope.Things[name] = &Thing{Kind: Curve, Name: name, Table: t}
	}
	f.scope.Functions["swept"] = &Function{
		Name: "swept", Arguments: []Argument{{Name: "bore"}, {Name: "stroke", HasDefault: true, Default: 2}},
		Evaluate: func(v []float64) (float64, error) {
			if v[0] < 0 {
				return 0, fmt.Errorf("a bore is above zero")
			}
			return math.Pi / 4 * v[0] * v[0] * v[1], nil
		},
	}
}

// Danger: a wrong slope gives a ± that is too small. Every operation is held against
// central differences of its own values at random inputs.
func TestSlopesAgainstDifferences(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	names := []string{"a", "b", "c"}
	for _, d := range differentiated {
		t.Run(d.text, func(t *testing.T) {
			f := newFormulas(t)
			curvesAndFunctions(f)
			for _, n := range names[:d.inputs] {
				f.dimension(n, "", quantity.OfNumber)
			}
			id := f.graph.Add(f.compiled(d.text), f.binder("", ""))
			tried := 0
			for range 200 {
				at := map[string]float64{}
				for _, n := range names[:d.inputs] {
					at[n] = d.low + random.Float64()*(d.high-d.low)
				}
				v := f.values(at)
				if _, status := v.Of(id); status != Known {
					t.Fatalf("no value at %v", at)
				}
				got := f.gradient(id, v)
				for _, n := range names[:d.inputs] {
					want, smooth := difference(f, id, at, n)
					if !smooth {
						continue // a kink lies between the points of the difference
					}
					tried++
					if !near(got[n], want, 1e-6) {
						t.Fatalf("at %v the slope by %s is %v, differences give %v", at, n, got[n], want)
					}
				}
			}
			if tried < 100 {
				t.Fatalf("only %d slopes were tried", tried)
			}
		})
	}
}

// difference differentiates by central differences of two widths; they disagree
// where a kink lies between.
func difference(f *formulas, id NodeID, at map[string]float64, name string) (slope float64, smooth bool) {
	by := func(h float64) (float64, bool) {
		x := at[name]
		defer func() { at[name] = x }()
		at[name] = x + h
		up, s1 := f.values(at).Of(id)
		at[name] = x - h
		down, s2 := f.values(at).Of(id)
		return (up - down) / (2 * h), s1 == Known && s2 == Known
	}
	h := 1e-3 * math.Max(0.1, math.Abs(at[name]))
	wide, ok1 := by(h)
	narrow, ok2 := by(h / 2)
	return (4*narrow - wide) / 3, ok1 && ok2 && math.Abs(wide-narrow) < 1e-3*math.Max(1, math.Abs(wide))
}

// At a kink the slope is that of the side on which the value is.
func TestSlopesAtKinks(t *testing.T) {
	for _, c := range []struct {
		text string
		at   map[string]float64
		want map[string]float64
	}{
		{"abs(a)", map[string]float64{"a": 0}, map[string]float64{"a": 1}},
		{"min(a, b)", map[string]float64{"a": 2, "b": 2}, map[string]float64{"a": 1}}, // the first of equals
		{"max(a, b)", map[string]float64{"a": 2, "b": 2}, map[string]float64{"a": 1}},
		{"spread(a, b)", map[string]float64{"a": 2, "b": 2}, map[string]float64{}},
		{"clamp(a, 0, 1)", map[string]float64{"a": 1}, map[string]float64{"a": 1}},
		{"clamp(a, 0, 1)", map[string]float64{"a": 2}, map[string]float64{}},
		{"clamp(a, 0, 1)", map[string]float64{"a": -2}, map[string]float64{}},
		{"hypot(a, b)", map[string]float64{"a": 0, "b": 0}, map[string]float64{"a": 1, "b": 1}},
		{"pow(a, 0)", map[string]float64{"a": 0}, map[string]float64{}},
		{"pow(a, 1)", map[string]float64{"a": 0}, map[string]float64{"a": 1}},
		{"sq(a)", map[string]float64{"a": 0}, map[string]float64{"a": 0}},
		{"a > 1 ? a : 2 * a", map[string]float64{"a": 1}, map[string]float64{"a": 2}},
	} {
		f := newFormulas(t)
		for n := range c.at {
			f.dimension(n, "", quantity.OfNumber)
		}
		id := f.graph.Add(f.compiled(c.text), f.binder("", ""))
		got := f.gradient(id, f.values(c.at))
		for n := range c.at {
			if got[n] != c.want[n] || math.IsNaN(got[n]) {
				t.Errorf("%s at %v: slope by %s is %v, want %v", c.text, c.at, n, got[n], c.want[n])
			}
		}
	}
}

// A function of mechanics is differentiated numerically, at the edge of its range
// from inside.
func TestSlopesOfFunctions(t *testing.T) {
	f := newFormulas(t)
	curvesAndFunctions(f)
	f.dimension("a", "", quantity.OfNumber)
	id := f.graph.Add(f.compiled("swept(a)"), f.binder("", ""))
	for _, a := range []float64{0, 1e-9, 1, 92, 1e6} {
		got := f.gradient(id, f.values(map[string]float64{"a": a}))["a"]
		if want := math.Pi * a; !near(got, want, 1e-6) {
			t.Errorf("at %v the slope is %v, want π·a = %v", a, got, want)
		}
	}
	v := f.values(map[string]float64{"a": -1})
	if _, status := v.Of(id); status != Undefined {
		t.Fatalf("a function that refuses its argument has status %v", status)
	}
	if _, reason := f.graph.Why(id, v); reason != "a bore is above zero" {
		t.Errorf("the reason is %q", reason)
	}
}

// Danger: a name that stands twice in a formula is taken for two things, and its
// error is counted twice or not cancelled.
func TestEqualInputsAreOne(t *testing.T) {
	for text, want := range map[string]float64{
		"a - a": 0, "a + a": 2, "a / a": 0, "a * b / b": 1, "(a + b) - (b + a)": 0,
		"2 * n - a - a": 0, // through a number
		"max(a, a)":     1, "mean(a, a, a)": 1, "spread(a, a)": 0,
	} {
		f := newFormulas(t)
		f.dimension("a", "", quantity.OfNumber)
		f.dimension("b", "", quantity.OfNumber)
		f.number("n", "a * 1")
		id := f.graph.Add(f.compiled(text), f.binder("", ""))
		got := f.gradient(id, f.values(map[string]float64{"a": 3, "b": 7}))
		if !near(got["a"], want, 1e-12) || !near(got["b"], 0, 1e-12) {
			t.Errorf("%s: slopes %v, want %v by a and 0 by b", text, got, want)
		}
	}
}

// Equal texts make one node, whatever order they are added in, and a node is no
// dearer for being named often.
func TestGraphShares(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	f.dimension("b", "", quantity.OfNumber)
	one := f.graph.Add(f.compiled("sqrt(sq(a) + sq(b))"), f.binder("", ""))
	before := f.graph.Len()
	two := f.graph.Add(f.compiled("sqrt(sq(a) + sq(b))"), f.binder("", ""))
	if one != two || f.graph.Len() != before {
		t.Errorf("the same formula is node %d and node %d; the graph grew from %d to %d", one, two, before, f.graph.Len())
	}
	if f.graph.Inputs[0].Name != "a" || len(f.graph.Inputs) != 2 {
		t.Errorf("inputs %v", f.graph.Inputs)
	}
	if got := f.graph.InputsOf(one); len(got) != 2 {
		t.Errorf("it depends on %v", got)
	}
	// A value written with its ± is an input of its own each time it is written.
	g := f.graph.Add(f.compiled(`"1 ± 0.2" - "1 ± 0.2"`), f.binder("", ""))
	if got := f.graph.InputsOf(g); len(got) != 2 {
		t.Errorf("two written values are %d inputs", len(got))
	}
}

// The model error of a number is an input that all who name the number share.
func TestModelErrorIsShared(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	n := f.number("n", "2 * a")
	f.nodes["n "] = f.graph.AddModel(n, "n", "", 0.1)
	id := f.graph.Add(f.compiled("n - n + 3 * n"), f.binder("", ""))
	v := f.graph.NewValues()
	slots := map[InputKind]int{}
	for i, in := range f.graph.Inputs {
		v.InputStatus[i] = Known
		slots[in.Kind] = i
		if in.Kind == Model && in.Standard != 0.1 {
			t.Errorf("the model's standard uncertainty is %v", in.Standard)
		}
	}
	v.Input[slots[Value]] = 5
	f.graph.Evaluate(v)
	if y, status := v.Of(id); y != 30 || status != Known {
		t.Fatalf("value %v, %v", y, status)
	}
	slope := make([]float64, len(f.graph.Inputs))
	f.graph.Gradient(id, v, slope, nil)
	if slope[slots[Model]] != 3 || slope[slots[Value]] != 6 {
		t.Errorf("slopes %v, want 3 by the model and 6 by a", slope)
	}
}

// A supposed value stands in for its formula, and for what the formula depends on.
func TestOverride(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	n := f.number("n", "2 * a")
	id := f.graph.Add(f.compiled("n + a"), f.binder("", ""))
	v := f.values(map[string]float64{"a": 5})
	v.Override = map[NodeID]float64{n: 100}
	f.graph.Evaluate(v)
	if y, _ := v.Of(id); y != 105 {
		t.Errorf("value %v, want 105", y)
	}
	if got := f.gradient(id, v)["a"]; got != 1 {
		t.Errorf("slope %v, want 1: the supposed number is exact", got)
	}
	v.InputStatus[0] = Missing
	f.graph.Evaluate(v)
	if y, status := v.Of(n); y != 100 || status != Known {
		t.Errorf("the supposed number is %v, %v without its reading", y, status)
	}
}
