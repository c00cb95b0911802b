package formula

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/quantity"
)

// swept runs a sweep over plain numbers.
func swept(t *testing.T, text string, low, high float64, largest bool, given map[string]float64) (y float64, status Status, at float64, f *formulas, id NodeID, v *Values) {
	t.Helper()
	f = newFormulas(t)
	curvesAndFunctions(f)
	for n := range given {
		f.dimension(n, "", quantity.OfNumber)
	}
	f.dimension("gone", "", quantity.OfNumber)
	id = f.sweep(text, low, high, largest)
	v = f.values(given)
	y, status = v.Of(id)
	at, _ = f.graph.FoundAt(id, v)
	return y, status, at, f, id, v
}

// Danger: the least gap of a sweep is missed, and metal meets metal.
func TestSweepFindsWhatBruteForceFinds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	for _, c := range []struct {
		text string
		f    func(x, a float64) float64
	}{
		{"sq(x - a)", func(x, a float64) float64 { return (x - a) * (x - a) }},
		{"x + a", func(x, a float64) float64 { return x + a }}, // smallest at the low end
		{"a - x", func(x, a float64) float64 { return a - x }}, // and at the high one
		{"cos(5 * x + a)", func(x, a float64) float64 { return math.Cos(5*x + a) }},
		{"sin(9 * x) + 0.3 * sin(31 * x + a)", func(x, a float64) float64 { return math.Sin(9*x) + 0.3*math.Sin(31*x+a) }},
		{"abs(x - a)", func(x, a float64) float64 { return math.Abs(x - a) }},
		{"max(x - a, 2 * (a - x))", func(x, a float64) float64 { return math.Max(x-a, 2*(a-x)) }},
		{"a + 1", func(x, a float64) float64 { return a + 1 }}, // no x in it at all
		{"sqrt(x - a / 3)", func(x, a float64) float64 { return math.Sqrt(x - a/3) }},
		{"1 / (x - a)", func(x, a float64) float64 { return 1 / (x - a) }},
	} {
		for range 12 {
			a := random.Float64()*2 - 1
			for _, largest := range []bool{false, true} {
				if c.text == "1 / (x - a)" {
					continue // has a pole: see below
				}
				y, status, at, _, _, _ := swept(t, c.text, -1, 1, largest, map[string]float64{"a": a})
				best := math.Inf(1)
				sign := 1.0
				if largest {
					sign = -1
				}
				for i := range 200_001 {
					if got := sign * c.f(-1+2*float64(i)/200_000, a); got < best {
						best = got
					}
				}
				best *= sign
				// Brute force steps by 1e-5: on a slope of s it misses by s·1e-5.
				if status != Known || sign*(y-best) > 1e-12 || math.Abs(y-best) > 4e-3 {
					t.Errorf("%s, a = %v, largest %v: %v at %v (%v), brute force finds %v", c.text, a, largest, y, at, status, best)
				}
				if got := c.f(at, a); math.Abs(got-y) > 1e-12 && c.text != "a + 1" {
					t.Errorf("%s: the value at the place it names is %v, not %v", c.text, got, y)
				}
			}
		}
	}
}

// Two dips that differ by less than the steps of the scan can tell.
func TestSweepTellsTwoDipsApart(t *testing.T) {
	// Dips at -0.5 and 0.5 of depth 1 and 1+d; narrow ones lie between two samples.
	const text = "1 - exp(-sq((x + 0.5) / w)) - (1 + d) * exp(-sq((x - 0.5003) / w))"
	for _, w := range []float64{0.3, 0.05, 0.02} {
		for _, d := range []float64{1e-3, -1e-3, 1e-6, -1e-6, 1e-9, -1e-9} {
			y, status, at, _, _, _ := swept(t, text, -1, 1, false, map[string]float64{"w": w, "d": d})
			want, deeper := 0.5003, -d
			if d < 0 {
				want, deeper = -0.5, 0
			}
			tail := math.Exp(-(1.0003 / w) * (1.0003 / w)) // of the other dip
			if status != Known || math.Abs(at-want) > 1e-4+tail*2 || math.Abs(y-deeper) > 1e-9+2*tail {
				t.Errorf("width %v, difference %v: %v at %v (%v), want about %v at %v", w, d, y, at, status, deeper, want)
			}
		}
	}
}

// An extreme at an end stays at the end; one inside is found to the last figures.
func TestSweepEndsAndInside(t *testing.T) {
	for _, c := range []struct {
		text      string
		low, high float64
		largest   bool
		y, at     float64
	}{
		{"x", 2, 5, false, 2, 2}, {"x", 2, 5, true, 5, 5}, {"-x", 2, 5, false, -5, 5},
		{"sq(x)", -3, 1, false, 0, 0}, {"sq(x)", -3, 1, true, 9, -3}, {"cube(x) - 3 * x", 0, 2, false, -2, 1}, {"cube(x) - 3 * x", -2, 2, true, 2, -1},
		{"cos(x)", -0.7, 0.7, true, 1, 0}, {"bent(x)", 0, 4, true, 5, 4},
	} {
		y, status, at, _, _, _ := swept(t, c.text, c.low, c.high, c.largest, nil)
		if status != Known || !near(y, c.y, 1e-12) || math.Abs(at-c.at) > 1e-5 && math.Abs(y-c.y) > 1e-15 {
			t.Errorf("%s over %v .. %v, largest %v: %v at %v (%v), want %v at %v", c.text, c.low, c.high, c.largest, y, at, status, c.y, c.at)
		}
	}
}

// Danger: points without a value count as zero, the best of all gaps.
func TestSweepPassesOverWhatHasNoValue(t *testing.T) {
	for _, c := range []struct {
		text string
		a    float64
		want float64 // at the edge of what has a value
	}{
		{"1 + sqrt(x - a)", 0.1234567, 1}, {"1 + sqrt(a - x)", 0.1234567, 1}, {"3 + bent(x + a)", 0.5, 4}, {"2 + abs(ln(x - a))", 0.2, 2},
		{"5 - sqrt(sq(x) - sq(a))", 0.30001, 5 - math.Sqrt(1-0.30001*0.30001)},
	} {
		y, status, at, f, id, v := swept(t, c.text, -1, 1, false, map[string]float64{"a": c.a})
		if c.text == "2 + abs(ln(x - a))" {
			c.want = 2 + math.Abs(math.Log(0.8)) // at the end x = 1
		}
		if status != Known || math.Abs(y-c.want) > 1e-6 {
			t.Errorf("%s, a = %v: %v at %v (%v), want %v", c.text, c.a, y, at, status, c.want)
		}
		if got := f.gradient(id, v); math.IsNaN(got["a"]) {
			t.Errorf("%s: slope %v", c.text, got)
		}
	}
	_, status, _, f, id, v := swept(t, "sqrt(-1 - sq(x))", -1, 1, false, nil)
	if _, reason := f.graph.Why(id, v); status != Undefined || reason == "" {
		t.Errorf("nowhere a value: %v, %q", status, reason)
	}
	_, status, _, f, id, v = swept(t, "x + gone", -1, 1, false, nil)
	inputs, _ := f.graph.Why(id, v)
	if status != Missing || len(inputs) != 1 || f.graph.Inputs[inputs[0]].Name != "gone" {
		t.Errorf("an input is missing: %v, waits for %v", status, inputs)
	}
}

// The slope of the extreme is that of the formula at its place.
func TestSlopeOfASweep(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 1))
	for range 40 {
		a, b := random.Float64()*2-1, random.Float64()+0.5
		text := "b * sq(x - a) + a * b + 0.1 * cube(x)"
		_, _, _, f, id, v := swept(t, text, -2, 2, false, map[string]float64{"a": a, "b": b})
		got := f.gradient(id, v)
		at := map[string]float64{"a": a, "b": b}
		for _, n := range []string{"a", "b"} {
			if want, ok := difference(f, id, at, n); ok && !near(got[n], want, 1e-5) {
				t.Errorf("a %v, b %v: slope by %s is %v, differences give %v", a, b, n, got[n], want)
			}
		}
	}
}

// Two sweeps of one graph do not disturb each other, nor does a formula of both.
func TestSweepsAreApart(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	low := f.sweep("sq(x - a)", -1, 1, false)
	high := f.sweep("sq(x - a)", -1, 1, true)
	wide := f.sweep("sq(x - a)", -5, 5, true)
	f.nodes["low "], f.nodes["wide "] = low, wide
	f.scope.Things["low"] = &Thing{Kind: Sweep, Name: "low"}
	f.scope.Things["wide"] = &Thing{Kind: Sweep, Name: "wide"}
	both := f.graph.Add(f.compiled("wide - low"), f.binder("", ""))
	v := f.values(map[string]float64{"a": 0.5})
	for id, want := range map[NodeID]float64{low: 0, high: 2.25, wide: 30.25, both: 30.25} {
		if y, status := v.Of(id); !near(y, want, 1e-12) || status != Known {
			t.Errorf("node %d: %v, want %v", id, y, want)
		}
	}
	if at, ok := f.graph.FoundAt(wide, v); !ok || at != -5 {
		t.Errorf("found at %v", at)
	}
}
