package formula

import (
	"math"
	"strconv"
	"testing"
)

// The inputs are 10 ± 1, 5 ± 0.5 and so on; what matters is said beside each.
func TestChoose(t *testing.T) {
	in := map[string]string{
		"a": "10 ± 0.1 k=1", "b": "10.3 ± 0.1 k=1", "far": "12 ± 0.1 k=1", "fine": "12 ± 0.01 k=1", "zero": "0 ± 0.1 k=1", "e": "3",
		"rough": "10 ± 1 k=1", "wide": "5 ± 2 rectangular k=1",
	}
	for _, c := range []struct {
		text   string
		method Method
		reason Reason
	}{
		{"e * 2", ByFirstOrder, Exact},
		{"a - b + 2 * far / e", ByFirstOrder, Straight},
		{"mean(a, b, far) - e", ByFirstOrder, Straight},
		{"a * fine", ByFirstOrder, NearlyStraight}, // 1 % and 0.1 %: a tenth of a per cent of the ± is in the product
		{"a * far", ByMonteCarlo, Bend},            // 1 % and 0.8 %: 0.64 % of it
		{"a / far + sq(b)", ByMonteCarlo, Bend},    // sq(10.3 ± 0.1) bends by 0.7 %
		{"sqrt(a)", ByFirstOrder, NearlyStraight},
		{"sq(rough)", ByMonteCarlo, Bend},
		{"1 / (rough - wide)", ByMonteCarlo, Bend},
		{"sq(zero)", ByMonteCarlo, Bend},             // no slope at all
		{"zero * (a - b + 0.3)", ByMonteCarlo, Bend}, // only the product varies
		// 10 and 10.3 differ by 2.1 standard uncertainties of their difference, 10 and 12 by 14.
		{"max(a, b)", ByMonteCarlo, Kink},
		{"min(b, a) - far", ByMonteCarlo, Kink},
		{"max(a, far)", ByFirstOrder, NearlyStraight},
		{"max(a, far, b)", ByFirstOrder, NearlyStraight},
		{"min(max(a, b), far)", ByMonteCarlo, Kink},
		{"max(max(a, b), far)", ByFirstOrder, NearlyStraight}, // what max(a, b) is does not count
		{"spread(a, far)", ByFirstOrder, NearlyStraight},
		{"spread(a, b, far)", ByMonteCarlo, Kink},
		{"max(a, a + e)", ByFirstOrder, NearlyStraight}, // they differ by 3 for sure
		{"max(a, a)", ByFirstOrder, NearlyStraight},
		{"abs(zero)", ByMonteCarlo, Kink},
		{"abs(a)", ByFirstOrder, NearlyStraight},
		{"clamp(zero, -1, 1)", ByFirstOrder, NearlyStraight},
		{"clamp(zero, -0.1, 1)", ByMonteCarlo, Kink},
		{"clamp(a, 0, 9.8)", ByMonteCarlo, Kink},
		{"a > b ? 1 : 2", ByMonteCarlo, Jump},
		{"a > far ? a : b", ByFirstOrder, NearlyStraight},
		{"a > far ? max(a, b) : a", ByFirstOrder, NearlyStraight}, // the kink stands in the branch not taken
		{"a < far ? max(a, b) : a", ByMonteCarlo, Kink},
		{"a > 9 && zero < 1 ? a : b", ByFirstOrder, NearlyStraight},
		{"a > 9 && zero < 0 ? a : b", ByMonteCarlo, Jump},
		{"e > 2 ? a : b", ByFirstOrder, NearlyStraight},
		{"a % 3.5", ByFirstOrder, NearlyStraight},
		{"a % 3.3", ByMonteCarlo, Jump},
		{"sqrt(zero + 0.2)", ByMonteCarlo, NoValue},
		{"rough > 5 ? a : sqrt(zero - 1)", ByFirstOrder, NearlyStraight},
	} {
		f := vary(t, c.text, in)
		if f.v.status[f.id] != Known {
			t.Fatalf("%s has no value", c.text)
		}
		if method, reason := f.graph.Choose(f.id, f.v, f.d); method != c.method || reason != c.reason {
			t.Errorf("%s: %v because %v, want %v because %v", c.text, method, reason, c.method, c.reason)
		}
	}
}

// The promise behind MostBend: a formula x + b·x² that is just taken for straight has
// its ends within 1 % of the half-width. The exact ends are those of x, moved along.
func TestBendThatDoesNotMatter(t *testing.T) {
	for b := 0.0; ; b += 0.0002 {
		f := vary(t, "x1 + k * sq(x1)", map[string]string{"x1": "0 ± 1 k=1", "k": strconv.FormatFloat(b, 'f', 6, 64)})
		method, _ := f.graph.Choose(f.id, f.v, f.d)
		if method != ByFirstOrder {
			if b < 0.002 {
				t.Errorf("b = %v is taken for a bend that matters", b)
			}
			return
		}
		sure, err := f.graph.HowSure(f.id, f.v, f.d, Chosen, Sampling{Probability: 0.95})
		if err != nil {
			t.Fatal(err)
		}
		const z = 1.959964
		for _, x := range [][2]float64{{sure.Low, -z + b*z*z}, {sure.High, z + b*z*z}} {
			if math.Abs(x[0]-x[1]) > 0.01*z {
				t.Fatalf("b = %v: end %v, want %v", b, x[0], x[1])
			}
		}
	}
}

// For a sum the shares found by samples are those of first order; for the largest of
// two alike each has half, though the slope by one of them is zero.
func TestSharesBySamples(t *testing.T) {
	f := vary(t, "a - 2 * b + c", map[string]string{"a": "10 ± 3 k=1", "b": "5 ± 1 rectangular k=1", "c": "0 ± 1 arcsine k=1"})
	for i, s := range f.graph.totals(f.id, f.v, f.d, 1) {
		if want := []float64{9. / 14, 4. / 14, 1. / 14}[i]; math.Abs(s.Share-want) > 0.03 {
			t.Errorf("share %d is %v, want %v", s.Unknown, s.Share, want)
		}
	}
	f = vary(t, "max(a, b)", map[string]string{"a": "10 ± 1 k=1", "b": "10 ± 1 k=1"})
	sure, err := f.graph.HowSure(f.id, f.v, f.d, Chosen, Sampling{Samples: 10_000, Seed: 1, Probability: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	if sure.Samples != 10_000 || sure.Seed != 1 {
		t.Errorf("the samples could not be made again: %+v", sure)
	}
	for _, s := range sure.Shares {
		if math.Abs(s.Share-0.5) > 0.03 {
			t.Errorf("of the largest of two alike: %+v", sure.Shares)
		}
	}
}

func TestHowSureByEachMethod(t *testing.T) {
	f := vary(t, "a * b", map[string]string{"a": "10 ± 1 rectangular k=1", "b": "2 ± 0.1 rectangular k=1"})
	s := Sampling{Samples: 100_000, Seed: 1, Probability: 0.95}
	for _, c := range []struct {
		method    Method
		low, high float64
		tolerance float64
	}{
		{ByWorstCase, (10 - math.Sqrt(3)) * (2 - 0.1*math.Sqrt(3)), (10 + math.Sqrt(3)) * (2 + 0.1*math.Sqrt(3)), 1e-7},
		{ByFirstOrder, 20 - 3.92, 20 + 3.92, 0.05}, // √5·z; the z of two unequal rectangles is a little under 1.96
		{ByMonteCarlo, 16.08, 23.92, 0.25},
	} {
		got, err := f.graph.HowSure(f.id, f.v, f.d, c.method, s)
		if err != nil {
			t.Fatal(err)
		}
		if got.Method != c.method || got.Reason != Asked || math.Abs(got.Standard-math.Sqrt(5)) > 0.02 {
			t.Errorf("%v: %+v", c.method, got)
		}
		if c.method == ByWorstCase && (math.Abs(got.Low-c.low) > c.tolerance || math.Abs(got.High-c.high) > c.tolerance) {
			t.Errorf("%v: %+v, want [%v, %v]", c.method, got, c.low, c.high)
		}
	}
	f = vary(t, "sqrt(a)", map[string]string{"a": "0 ± 1 k=1"})
	if _, err := f.graph.HowSure(f.id, f.v, f.d, ByFirstOrder, s); err == nil {
		t.Error("a root at zero has no first order")
	}
	if _, err := f.graph.HowSure(f.id, f.v, f.d, ByFirstOrder, Sampling{Probability: 1}); err == nil {
		t.Error("a probability of 1 was taken")
	}
}

func TestMethodsHaveWords(t *testing.T) {
	for _, m := range []Method{ByFirstOrder, ByMonteCarlo, ByWorstCase} {
		if got, ok := FindMethod(m.String()); !ok || got != m {
			t.Errorf("%v is found as %v", m, got)
		}
	}
	if _, ok := FindMethod(""); ok {
		t.Error("no word is a method")
	}
	seen := map[string]bool{}
	for r := Asked; r <= NoValue; r++ {
		if seen[r.String()] || r.String() == "" {
			t.Errorf("reason %d is called %q", r, r)
		}
		seen[r.String()] = true
	}
}

func BenchmarkChoose(b *testing.B) {
	in := map[string]string{"a": "10 ± 0.1 k=1", "b": "10.3 ± 0.1 k=1", "c": "5 ± 0.01 k=1", "e": "3"}
	for _, text := range []string{"a - b + 2 * c", "a * b / c + sqrt(a)", "max(a, c) - b"} {
		b.Run(text, func(b *testing.B) {
			f := vary(b, text, in)
			for b.Loop() {
				f.graph.Choose(f.id, f.v, f.d)
			}
		})
	}
}
