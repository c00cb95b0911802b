package crank_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// A crank that was balanced with a bob-weight hangs in balance with that weight.
func TestBalanceFactorBothWays(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 9))
	for range 300 {
		parts := crank.Parts{Pistons: grams(1000 * random.Float64()), SmallEnds: grams(400), BigEnds: grams(900 * random.Float64()), Cages: grams(80)}
		factor := random.Float64()
		bob, err := crank.BobWeight(parts, factor)
		if err != nil {
			t.Fatal(err)
		}
		got, err := crank.BalanceFactor(bob.Weight, bob.Rotating, bob.Reciprocating)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "factor", got, factor, 1e-12)
	}
	if f, err := crank.BalanceFactor(grams(900), grams(1000), grams(1500)); err != nil || f >= 0 {
		t.Errorf("a crank too light for its big ends: %v, %v", f, err)
	}
}

func unit() crank.Slider {
	// m·ω²·r = 1 N
	return crank.Slider{Reciprocating: 1, Stroke: 2, Rod: 4.1, Speed: quantity.Frequency(1 / (2 * math.Pi))}
}

// A V is two single cylinders, each turned to its own place, and one counterweight.
func TestVIsTwoSingles(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 9))
	for range 500 {
		s, v, factor, crankAngle := unit(), math.Pi*random.Float64(), random.Float64(), 10*random.NormFloat64()
		got, err := crank.ShakeV(s, quantity.Angle(v), factor, quantity.Angle(crankAngle))
		if err != nil {
			t.Fatal(err)
		}
		var want [4]float64
		for _, lean := range []float64{v / 2, -v / 2} {
			// Seen in the cylinder's own axes the crank stands at its angle less the
			// lean; its forces are then leant back.
			one, err := crank.ShakeSingle(s, factor, quantity.Angle(crankAngle-lean))
			if err != nil {
				t.Fatal(err)
			}
			sin, cos := math.Sincos(lean)
			for i, p := range []crank.Push{one.Primary, one.Secondary} {
				want[2*i] += float64(p.X)*cos + float64(p.Y)*sin
				want[2*i+1] += float64(p.Y)*cos - float64(p.X)*sin
			}
		}
		near(t, "primary across", float64(got.Primary.X), want[0], 1e-12)
		near(t, "primary along", float64(got.Primary.Y), want[1], 1e-12)
		near(t, "secondary across", float64(got.Secondary.X), want[2], 1e-12)
		near(t, "secondary along", float64(got.Secondary.Y), want[3], 1e-12)
	}
}

// The 90° twin, as its textbook answer states: the primary has one size at every angle
// and turns with the crank, and a counterweight of one cylinder's reciprocating mass,
// which is half of both, takes it away whole. The secondary lies across, wholly.
func TestNinetyDegreeTwin(t *testing.T) {
	for tenths := range 3600 {
		θ := deg(float64(tenths) / 10)
		bare, err := crank.ShakeV(unit(), deg(90), 0, θ)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "primary", float64(bare.Primary.Size()), 1, 1e-12)
		near(t, "primary across", float64(bare.Primary.X), math.Sin(float64(θ)), 1e-12)
		near(t, "secondary along", float64(bare.Secondary.Y), 0, 1e-12)
		half, err := crank.ShakeV(unit(), deg(90), 0.5, θ)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "primary balanced", float64(half.Primary.Size()), 0, 1e-12)
	}
}

// The primary is the first harmonic of the true motion of a piston, exactly, and the
// secondary the second but for the share of (r/l)²/4 that the comment states.
func TestShakingAgainstTrueMotion(t *testing.T) {
	s := unit()
	λ := float64(s.Stroke / 2 / s.Rod)
	// Height of the pin over the crank for a throw of 1, and its harmonics by sums
	// over one turn; force is m·n²·amplitude at ω = 1.
	const n = 720
	var first, second float64
	for i := range n {
		θ := 2 * math.Pi * float64(i) / n
		height := math.Cos(θ) + math.Sqrt(1/(λ*λ)-math.Sin(θ)*math.Sin(θ))
		first += height * math.Cos(θ) * 2 / n
		second += height * math.Cos(2*θ) * 2 / n * 4
	}
	shake, err := crank.ShakeSingle(s, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "primary", float64(shake.Primary.Y), first, 1e-12)
	near(t, "secondary", float64(shake.Secondary.Y), second, 0.26*λ*λ*second)
}

// Force grows with the square of the speed and with every mass and throw.
func TestShakingScales(t *testing.T) {
	a := crank.Slider{Reciprocating: grams(772), Stroke: mm(86.5), Rod: mm(178), Speed: 50}
	b := a
	b.Speed, b.Reciprocating = 2*a.Speed, 3*a.Reciprocating
	b.Stroke, b.Rod = 2*a.Stroke, 2*a.Rod
	p, err := crank.ShakeV(a, deg(48), 0.58, deg(33))
	if err != nil {
		t.Fatal(err)
	}
	q, err := crank.ShakeV(b, deg(48), 0.58, deg(33))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "primary", float64(q.Primary.X/p.Primary.X), 24, 1e-12)
	near(t, "secondary", float64(q.Secondary.Y/p.Secondary.Y), 24, 1e-12)
}

func TestParseGrade(t *testing.T) {
	for _, c := range []struct {
		text string
		want crank.Grade
	}{{"G 6.3", 6.3e-3}, {"G6.3", 6.3e-3}, {" G 40 ", 40e-3}, {"G 4000", 4}, {"G 0.4", 0.4e-3}} {
		got, err := crank.ParseGrade(c.text)
		if err != nil || math.Abs(float64(got-c.want)) > 1e-15 {
			t.Errorf("%q: %v, %v", c.text, got, err)
		}
		if again, err := crank.ParseGrade(got.String()); err != nil || again != got {
			t.Errorf("%q written %q and read %v, %v", c.text, got.String(), again, err)
		}
	}
	for _, text := range []string{"", "6.3", "G", "G -1", "G 0", "G 5000", "G 6,3", "g 6.3", "G 6.3 mm/s", "GG 1", "G 1e3"} {
		if got, err := crank.ParseGrade(text); err == nil {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// What a hole takes off, against slices of it summed one by one.
func TestHoleAgainstSlices(t *testing.T) {
	for _, h := range []crank.Hole{
		{Diameter: mm(12), Depth: mm(15), Point: deg(118), Radius: mm(95), IntoRim: true, Density: 7850},
		{Diameter: mm(12), Depth: mm(15), Radius: mm(95), IntoRim: true, Density: 7850},
		{Diameter: mm(12), Depth: mm(15), Point: deg(118), Radius: mm(80), Density: 7850},
		{Diameter: mm(20), Depth: 0, Point: deg(90), Radius: mm(30), IntoRim: true, Density: 2700},
	} {
		d, depth, r := h.Diameter.Millimetres(), h.Depth.Millimetres(), h.Radius.Millimetres()
		point := 0.0
		if h.Point != 0 {
			point = d / 2 / math.Tan(float64(h.Point)/2)
		}
		var mass, moment float64 // g, g·mm
		const n = 200000
		step := (depth + point) / n
		for i := range n {
			t := (float64(i) + 0.5) * step
			radius := d / 2
			if t > depth {
				radius *= 1 - (t-depth)/point
			}
			slice := math.Pi * radius * radius * step * float64(h.Density) * 1e-6
			at := r
			if h.IntoRim {
				at -= t
			}
			mass += slice
			moment += slice * at
		}
		m, u, err := h.Removed()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mass", float64(m)*1000, mass, 1e-5*mass)
		near(t, "unbalance", u.GramMillimetres(), moment, 1e-5*moment)
		back, err := h.DepthFor(u)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "depth", back.Millimetres(), depth, 1e-9)
	}
}
