package formula

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// linearOf is a sum of unknowns of these standard uncertainties.
func linearOf(shape quantity.Shape, us ...float64) (Linear, []quantity.Shape) {
	var l Linear
	var shapes []quantity.Shape
	for i, u := range us {
		l.Debts = append(l.Debts, Debt{i, u})
		shapes = append(shapes, shape)
	}
	return l, shapes
}

// Distributions with a closed form, textbook: one unknown of each shape, two equal
// rectangles (a triangle), three (the Irwin–Hall distribution), and a rectangle with a
// normal unknown (an integral of Φ).
func TestIntervalAgreesWithClosedForms(t *testing.T) {
	for _, p := range []float64{0.5, 0.6827, 0.9, 0.95, 0.99, 0.9973} {
		for shape, want := range map[quantity.Shape]float64{
			quantity.Normal: math.Sqrt2 * math.Erfinv(p), quantity.Rectangular: math.Sqrt(3) * p,
			quantity.Triangular: math.Sqrt(6) * (1 - math.Sqrt(1-p)), quantity.Arcsine: math.Sqrt2 * math.Sin(p*math.Pi/2),
		} {
			l, shapes := linearOf(shape, -2)
			l.Value = 7
			if low, high := l.Interval(p, shapes); math.Abs(high-7-2*want) > 1e-9 || math.Abs(7-low-2*want) > 1e-9 {
				t.Errorf("%v at %v: %v, %v, want 7 ± %v", shape, p, low, high, 2*want)
			}
		}
		l, shapes := linearOf(quantity.Rectangular, 1, -1)
		if _, high := l.Interval(p, shapes); math.Abs(high-2*math.Sqrt(3)*(1-math.Sqrt(1-p))) > 1e-5 {
			t.Errorf("two rectangles at %v: %v", p, high)
		}
		// P(|x| ≤ q) for the sum of three of half-width 1, q ≥ 1: 1 − (3 − q)³/24.
		if q := 3 - math.Cbrt(24*(1-p)); q >= 1 {
			l, shapes := linearOf(quantity.Rectangular, 1, 1, 1)
			if _, high := l.Interval(p, shapes); math.Abs(high/math.Sqrt(3)-q) > 1e-6 {
				t.Errorf("three rectangles at %v: %v, want %v", p, high/math.Sqrt(3), q)
			}
		}
	}
	// A rectangle of half-width h and a normal unknown s: the mean of Φ over it.
	for _, s := range []float64{0.01, 0.1, 0.5, 1, 3} {
		const h, p = 1.0, 0.95
		at := func(q float64) float64 {
			sum := 0.0
			const n = 4000
			for i := range n {
				x := h * (2*(float64(i)+0.5)/n - 1)
				sum += math.Erf((q-x)/s/math.Sqrt2) / n
			}
			return sum
		}
		low, high := 0.0, 30.0
		for range 60 {
			if m := (low + high) / 2; at(m) < p {
				low = m
			} else {
				high = m
			}
		}
		l := Linear{Debts: []Debt{{0, h / math.Sqrt(3)}, {1, s}}}
		if _, got := l.Interval(p, []quantity.Shape{quantity.Rectangular, quantity.Normal}); math.Abs(got-low) > 2e-4*l.Standard() {
			t.Errorf("rectangle with normal %v: %v, want %v", s, got, low)
		}
	}
}

// JCGM 101:2008, 9.2.4 and Table 4; from memory, the exact end point ±17.016 was
// recomputed in the published checks (C2-09). Two standard uncertainties give ±19.9.
func TestIntervalOfADominatingRectangle(t *testing.T) {
	l, shapes := linearOf(quantity.Rectangular, 1, 1, 1, 10)
	if _, high := l.Interval(0.95, shapes); math.Abs(high-17.016) > 0.0005*17 {
		t.Errorf("the end is %v, want 17.016", high)
	}
}

// Samples of a straight function fall into the interval as often as it says, whatever
// the mixture of shapes.
func TestIntervalAgreesWithSamples(t *testing.T) {
	mix := []quantity.Shape{quantity.Arcsine, quantity.Rectangular, quantity.Triangular, quantity.Normal, quantity.Arcsine}
	for i, us := range [][]float64{{1, 1, 1, 1, 1}, {5, 1, 0.2, 0.1, 0.01}, {0.1, 4, 0.1, 0.1, 0.1}, {1, 0, 0, 0, 2}, {3, 1, 2, 0, 0}, {0.01, 0.01, 9, 0.01, 0.01}} {
		l := Linear{}
		for k, u := range us {
			l.Debts = append(l.Debts, Debt{k, u})
		}
		for _, p := range []float64{0.5, 0.95, 0.99} {
			low, high := l.Interval(p, mix)
			const blocks = 2000
			inside := 0
			var sum, x block
			for b := range blocks {
				sum = block{}
				for k, u := range us {
					s := newSource(uint64(i), uint64(b), uint64(k))
					s.draw(mix[k], 0, u, &x)
					for l := range sum {
						sum[l] += x[l]
					}
				}
				for _, y := range sum {
					if low <= y && y <= high {
						inside++
					}
				}
			}
			n := float64(blocks * lanes)
			if sd := math.Sqrt(p * (1 - p) / n); math.Abs(float64(inside)/n-p) > 5*sd {
				t.Errorf("%v at %v: %v of the samples lie inside", us, p, float64(inside)/n)
			}
		}
	}
}

// Four hundred unknowns are nearly normal, and exactly so to the second cumulant.
func TestIntervalOfMany(t *testing.T) {
	var l Linear
	var shapes []quantity.Shape
	for i := range 400 {
		l.Debts, shapes = append(l.Debts, Debt{i, 1}), append(shapes, quantity.Shape(i%4))
	}
	_, high := l.Interval(0.95, shapes)
	if z := high / 20; math.Abs(z-1.96) > 0.002 {
		t.Errorf("z = %v", z)
	}
}

func BenchmarkInterval(b *testing.B) {
	for _, c := range []struct {
		name string
		us   []float64
	}{{"four alike", []float64{1, 1, 1, 1}}, {"one dominates", []float64{1, 0.03, 0.02, 0.02}}} {
		b.Run(c.name, func(b *testing.B) {
			l, shapes := linearOf(quantity.Rectangular, c.us...)
			for b.Loop() {
				l.Interval(0.95, shapes)
			}
		})
	}
}
