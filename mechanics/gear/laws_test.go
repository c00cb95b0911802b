package gear_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

func TestInvBothWays(t *testing.T) {
	for φ := 1e-6; φ < 1.5707; φ *= 1.01 {
		y, err := gear.Inv(quantity.Angle(φ))
		if err != nil {
			t.Fatal(err)
		}
		back, err := gear.InverseInv(min(y, 1000))
		if err != nil {
			t.Fatal(err)
		}
		if y < 1000 && math.Abs(float64(back)/φ-1) > 1e-13 {
			t.Errorf("inv %.17g is %.17g, and back %.17g", φ, y, float64(back))
		}
	}
}

// The series and the difference meet where the program changes from one to the other,
// and both agree with tan worked out in 200 bits.
func TestInvAgainstLongArithmetic(t *testing.T) {
	for _, φ := range []float64{1e-5, 0.003, 0.05, 0.0999999, 0.1, 0.1000001, 0.2, 0.35, 0.7} {
		// tan φ = sin φ/cos φ, each from its series.
		x := new(big.Float).SetPrec(200).SetFloat64(φ)
		sin, cos := new(big.Float).SetPrec(200), new(big.Float).SetPrec(200)
		term := new(big.Float).SetPrec(200).SetInt64(1)
		for n := int64(0); n < 60; n++ {
			switch n % 4 {
			case 0:
				cos.Add(cos, term)
			case 1:
				sin.Add(sin, term)
			case 2:
				cos.Sub(cos, term)
			case 3:
				sin.Sub(sin, term)
			}
			term.Mul(term, x)
			term.Quo(term, new(big.Float).SetInt64(n+1))
		}
		want, _ := new(big.Float).Sub(new(big.Float).Quo(sin, cos), x).Float64()
		got, err := gear.Inv(quantity.Angle(φ))
		if err != nil || math.Abs(got/want-1) > 1e-13 {
			t.Errorf("inv %g is %.17g, want %.17g, %v", φ, got, want, err)
		}
	}
}

// random gears that can be measured.
func someGear(random *rand.Rand, helical bool) gear.Gear {
	g := gear.Gear{
		Teeth:         12 + random.IntN(60),
		Module:        mm(0.5 + 4*random.Float64()),
		PressureAngle: deg([]float64{14.5, 20, 25}[random.IntN(3)]),
		Shift:         0.3 * random.Float64(),
	}
	if helical {
		g.Helix = deg(5 + 30*random.Float64())
	}
	g.Thinning = g.Module * quantity.Length(0.03*random.NormFloat64())
	return g
}

// The slope is the derivative of the size by the tooth thickness.
func TestSlopeIsDerivative(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 3))
	for range 300 {
		g := someGear(random, random.IntN(2) == 0)
		pin := g.Module * 1.75
		at := func(thinner quantity.Length) gear.PinSize {
			h := g
			h.Thinning += thinner
			p, err := gear.OverPins(h, pin)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		step := g.Module * 1e-5
		slope := float64((at(-step).Size - at(step).Size) / (2 * step))
		near(t, "slope", at(0).Slope, slope, 1e-6)
	}
}

// Thinning measured over pins is the thinning that was cut.
func TestThinningOverPinsBothWays(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 3))
	for range 300 {
		g := someGear(random, random.IntN(2) == 0)
		pin := g.Module * quantity.Length(1.65+0.25*random.Float64())
		p, err := gear.OverPins(g, pin)
		if err != nil {
			t.Fatal(err)
		}
		thinning, err := gear.ThinningOverPins(g, pin, p.Size)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "thinning", thinning.Millimetres(), g.Thinning.Millimetres(), 1e-10)
	}
}

// Two pins of any size that touch the flanks leave the same tooth: the size over pins
// moves with the pin as the flank's slope says. A pin touching at the reference circle
// has its centre where tan φM = tan φ + pin/db.
func TestPinAtTheReferenceCircle(t *testing.T) {
	// Even teeth, no shift, no thinning: the space is as wide as the tooth, so a pin
	// that touches at the reference circle subtends a quarter pitch there.
	g := gear.Gear{Teeth: 30, Module: mm(3), PressureAngle: deg(20)}
	base := 90 * math.Cos(20*degree)
	space := math.Pi / 2 / 30 // half angle of the space at the reference circle
	φM := 20*degree + space   // the centre lies on the tangent through the flank
	pin := base * (math.Tan(φM) - math.Tan(20*degree))
	p, err := gear.OverPins(g, mm(pin))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pressure angle at the pin", float64(p.Angle), φM, 1e-12)
	near(t, "size over pins", p.Size.Millimetres(), base/math.Cos(φM)+pin, 1e-9)
}

// Everything scales with the module, pin included.
func TestGearsScale(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 3))
	for range 100 {
		g := someGear(random, true)
		k := quantity.Length(0.2 + 3*random.Float64())
		h := g
		h.Module, h.Thinning = g.Module*k, g.Thinning*k
		a, err := gear.OverPins(g, g.Module*1.75)
		if err != nil {
			t.Fatal(err)
		}
		b, err := gear.OverPins(h, h.Module*1.75)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "size", b.Size.Millimetres(), (a.Size * k).Millimetres(), 1e-9)
		near(t, "slope", b.Slope, a.Slope, 1e-12)
		c, err := gear.ChordalThickness(g, g.Module)
		if err != nil {
			t.Fatal(err)
		}
		d, err := gear.ChordalThickness(h, h.Module)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "chord", d.Thickness.Millimetres(), (c.Thickness * k).Millimetres(), 1e-9)
	}
}

// A helix of nothing is a spur gear, and a small one comes near it steadily.
func TestSmallHelix(t *testing.T) {
	g := gear.Gear{Teeth: 31, Module: mm(2.5), PressureAngle: deg(20), Shift: 0.1, Thinning: mm(0.02)}
	spur, err := gear.OverPins(g, mm(4.5))
	if err != nil {
		t.Fatal(err)
	}
	g.Helix = 1e-6
	helical, err := gear.OverPins(g, mm(4.5))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "size", helical.Size.Millimetres(), spur.Size.Millimetres(), 1e-9)
}

// Laws of the mesh: standard gears at their standard distance touch without play; what
// is thinned is what is free; the gears may change places; pulled apart they free up
// by the stated slope.
func TestBacklashLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 3))
	for range 300 {
		a := someGear(random, random.IntN(2) == 0)
		a.Shift, a.Thinning = 0, 0
		b := a
		b.Teeth = 12 + random.IntN(60)
		centre := quantity.Length(float64(a.Module) * float64(a.Teeth+b.Teeth) / 2 / math.Cos(float64(a.Helix)))
		backlash := func(a, b gear.Gear, centre quantity.Length) gear.Play {
			p, err := gear.Backlash(a, b, centre)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		near(t, "backlash of standard gears", backlash(a, b, centre).Backlash.Millimetres(), 0, 1e-11)
		a.Thinning, b.Thinning = mm(0.01*random.Float64()), mm(0.01*random.Float64())
		near(t, "backlash of thinned gears", backlash(a, b, centre).Backlash.Millimetres(), (a.Thinning + b.Thinning).Millimetres(), 1e-11)
		// What one gear's profile is shifted out the other's may be shifted in.
		a.Shift, b.Shift = 0.2, -0.2
		near(t, "backlash of shifted gears", backlash(a, b, centre).Backlash.Millimetres(), (a.Thinning + b.Thinning).Millimetres(), 1e-11)
		centre += a.Module * quantity.Length(0.1*random.Float64())
		play := backlash(a, b, centre)
		near(t, "backlash of the pair turned about", backlash(b, a, centre).Backlash.Millimetres(), play.Backlash.Millimetres(), 1e-11)
		step := a.Module * 1e-5
		wider, closer := backlash(a, b, centre+step).Backlash, backlash(a, b, centre-step).Backlash
		near(t, "slope", float64((wider-closer)/(2*step)), play.PerCentre*(1+float64(play.Backlash/centre)/play.PerCentre), 1e-6)
	}
}

// Gears of one metal and one temperature grow evenly, so the mesh can be worked out
// exactly: the same gears on a larger scale at the hot centre distance.
func TestBacklashGrowthAgainstScaledGears(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 3))
	for range 100 {
		a := someGear(random, random.IntN(2) == 0)
		a.Shift, a.Thinning = 0, mm(0.01)
		b := a
		b.Teeth = 12 + random.IntN(60)
		centre := quantity.Length(float64(a.Module)*float64(a.Teeth+b.Teeth)/2/math.Cos(float64(a.Helix))) + mm(0.02)
		heat := gear.Heat{Case: 22.5e-6, CaseRise: 75, Pinion: 11.7e-6, PinionRise: 90, Wheel: 11.7e-6, WheelRise: 90}
		grown := func(g gear.Gear) gear.Gear {
			k := quantity.Length(1 + 11.7e-6*90)
			g.Module, g.Thinning = g.Module*k, g.Thinning*k
			return g
		}
		cold, err := gear.Backlash(a, b, centre)
		if err != nil {
			t.Fatal(err)
		}
		hot, err := gear.Backlash(grown(a), grown(b), centre*(1+22.5e-6*75))
		if err != nil {
			t.Fatal(err)
		}
		growth, err := gear.BacklashGrowth(a, b, centre, heat)
		if err != nil {
			t.Fatal(err)
		}
		// Half a micrometre and half a per cent of the growth are the second order.
		want := (hot.Backlash - cold.Backlash).Millimetres()
		near(t, "growth", growth.Millimetres(), want, 0.0005+0.005*math.Abs(want))
	}
}

func TestSelectClass(t *testing.T) {
	for _, c := range []struct {
		name                string
		least, target, step float64
		slope               float64
		steps               int
		result              float64
	}{
		{"on target", 0.015, 0.015, 0.020, 2, 0, 0.015},
		{"one larger", 0.025, 0.015, 0.020, 2, 1, 0.015},
		{"a tie takes more backlash", 0.030, 0.015, 0.020, 2, 1, 0.020},
		{"tight mesh, smaller gear", -0.010, 0.014, 0.020, 2, -2, 0.010},
		{"tight mesh, a tie", 0, 0.015, 0.020, 2, -2, 0.020},
		{"never none left", 0.020, 0.004, 0.020, 2, 1, 0.010},
		{"never none left, rounded", 0.010, 0.0049, 0.020, 2, 0, 0.010},
	} {
		got, err := gear.SelectClass(mm(c.least), mm(c.target), mm(c.step), c.slope)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got.Steps != c.steps || math.Abs(got.Result.Millimetres()-c.result) > 1e-9 {
			t.Errorf("%s: %d steps to %.6f, want %d to %g", c.name, got.Steps, got.Result.Millimetres(), c.steps, c.result)
		}
	}
	// Brute force over all steps.
	random := rand.New(rand.NewPCG(7, 3))
	for range 500 {
		least, target, step := mm(0.08*random.Float64()-0.02), mm(0.001+0.03*random.Float64()), mm(0.01+0.02*random.Float64())
		got, err := gear.SelectClass(least, target, step, 2.3)
		if err != nil {
			t.Fatal(err)
		}
		best, found := 0, false
		result := func(n int) quantity.Length { return least - quantity.Length(n)*step/2.3 }
		off := func(n int) float64 { return math.Abs(float64(result(n) - target)) }
		for n := -50; n <= 50; n++ {
			if result(n) > 0 && (!found || off(n) < off(best)) {
				best, found = n, true
			}
		}
		if got.Steps != best {
			t.Errorf("least %v target %v step %v: %d steps, want %d", least, target, step, got.Steps, best)
		}
	}
}

func TestJudgeSpread(t *testing.T) {
	readings := []quantity.Length{mm(0.010), mm(0.030), mm(0.020), mm(0.015)}
	for _, c := range []struct {
		limit     float64
		eccentric bool
	}{{0.020, false}, {0.0199, true}, {0.03, false}, {0, true}} {
		s, err := gear.JudgeSpread(readings, mm(c.limit))
		if err != nil || s.Eccentric != c.eccentric || s.Least != readings[0] || s.Most != readings[1] {
			t.Errorf("limit %g: %+v, %v", c.limit, s, err)
		}
	}
}

// A gear that runs off its axis by e swings the backlash by what Eccentricity says:
// the centre distance in effect goes from C − e to C + e.
func TestEccentricityAgainstBacklash(t *testing.T) {
	pinion, cam := timing()
	centre, e := mm(72.02), mm(0.010)
	far, err := gear.Backlash(pinion, cam, centre+e)
	if err != nil {
		t.Fatal(err)
	}
	close, err := gear.Backlash(pinion, cam, centre-e)
	if err != nil {
		t.Fatal(err)
	}
	got, err := gear.Eccentricity(far.Backlash-close.Backlash, deg(20))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "eccentricity", got.Millimetres(), e.Millimetres(), 0.0001)
}
