package gear_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

func TestRefuses(t *testing.T) {
	good := gear.Gear{Teeth: 24, Module: mm(2), PressureAngle: deg(20)}
	with := func(change func(*gear.Gear)) gear.Gear {
		g := good
		change(&g)
		return g
	}
	over := func(g gear.Gear, pin float64) error { _, err := gear.OverPins(g, mm(pin)); return err }
	thinning := func(pin, size float64) error { _, err := gear.ThinningOverPins(good, mm(pin), mm(size)); return err }
	mesh := func(a, b gear.Gear, centre float64) error { _, err := gear.Backlash(a, b, mm(centre)); return err }
	class := func(least, target, step quantity.Length, slope float64) error {
		_, err := gear.SelectClass(least, target, step, slope)
		return err
	}
	spread := func(limit float64, r ...quantity.Length) error { _, err := gear.JudgeSpread(r, mm(limit)); return err }
	heat := func(h gear.Heat) error { _, err := gear.BacklashGrowth(good, good, mm(48), h); return err }
	second := func(_ any, err error) error { return err }
	nan := math.NaN()
	for _, c := range []struct {
		name, argument, says string
		err                  error
	}{
		{"a right angle", "angle", "angle 90 deg must be from 0 deg to less than 90 deg", second(gear.Inv(deg(90)))},
		{"a negative angle", "angle", "angle -1 deg", second(gear.Inv(deg(-1)))},
		{"a negative involute", "involute", "involute -0.1 must be from 0 to 1000", second(gear.InverseInv(-0.1))},
		{"an endless involute", "involute", "involute +Inf", second(gear.InverseInv(math.Inf(1)))},
		{"no pitch", "diametral pitch", "diametral pitch 0 must be above 0", second(gear.ModuleFromDiametralPitch(0))},
		{"two teeth", "teeth", "teeth 2 must be from 3 to 10000", over(with(func(g *gear.Gear) { g.Teeth = 2 }), 3.5)},
		{"no module", "module", "module 0 mm must be from 0.001 mm to 1000 mm", over(with(func(g *gear.Gear) { g.Module = 0 }), 3.5)},
		{"flat flanks", "pressure angle", "pressure angle 0 deg must be from 5 deg to 45 deg", over(with(func(g *gear.Gear) { g.PressureAngle = 0 }), 3.5)},
		{"degrees taken as radians", "pressure angle", "pressure angle 1145.92 deg", over(with(func(g *gear.Gear) { g.PressureAngle = 20 }), 3.5)},
		{"a helix with a hand", "helix", "helix -20 deg must be from 0 deg to 75 deg", over(with(func(g *gear.Gear) { g.Helix = deg(-20) }), 3.5)},
		{"a shift in millimetres", "shift", "shift 3 must be from -2 to 2", over(with(func(g *gear.Gear) { g.Shift = 3 }), 3.5)},
		{"no tooth left", "thinning", "leaves a tooth -0.858407 mm thick", over(with(func(g *gear.Gear) { g.Thinning = mm(4) }), 3.5)},
		{"no space left", "thinning", "less than the pitch, 6.28319 mm", over(with(func(g *gear.Gear) { g.Thinning = mm(-3.2) }), 3.5)},
		{"no thinning", "thinning", "thinning NaN mm is not a number", over(with(func(g *gear.Gear) { g.Thinning = quantity.Length(nan) }), 3.5)},
		{"no pin", "pin", "pin 0 mm must be above 0 mm", over(good, 0)},
		{"a thin pin", "pin", "pin 1.5 mm is so small that it touches the teeth below the base circle", over(good, 1.5)},
		{"a pin that only just touches", "pin", "below the base circle", over(good, 48*math.Cos(20*degree)*(math.Pi/48-math.Tan(20*degree)+20*degree+1e-5))},
		{"a thick pin", "pin", "pin 500 mm is too large for a gear of module 2 mm", over(good, 500)},
		{"a size less than the pin", "size", "size 3 mm must be above", thinning(3.5, 3)},
		{"a size inside the base circle", "size", "size 48 mm must be above 48.6052 mm", thinning(3.5, 48)},
		{"an inch size", "thinning", "leaves a tooth", thinning(3.5, 2000)},
		{"modules differ", "module", "the pinion has module 2 mm and the wheel 3 mm", mesh(good, with(func(g *gear.Gear) { g.Module = mm(3) }), 60)},
		{"angles differ", "pressure angle", "the pinion has pressure angle 20 deg and the wheel 14.5 deg", mesh(good, with(func(g *gear.Gear) { g.PressureAngle = deg(14.5) }), 48)},
		{"helices differ", "helix", "the pinion has helix 0 deg and the wheel 15 deg", mesh(good, with(func(g *gear.Gear) { g.Helix = deg(15) }), 48)},
		{"a bad wheel", "teeth", "wheel: teeth 0", mesh(good, gear.Gear{}, 48)},
		{"centres inside the base circles", "centre", "centre distance 45 mm must be above 45.1052 mm and up to 90.2105 mm", mesh(good, good, 45)},
		{"centres far apart", "centre", "centre distance 100 mm must be above", mesh(good, good, 100)},
		{"no centres", "centre", "centre 0 mm must be above 0 mm", mesh(good, good, 0)},
		{"a rule beyond its angle", "pressure angle", "pressure angle 70 deg must be from 5 deg to 60 deg", second(gear.BacklashRule(mm(1), deg(70)))},
		{"a change of nothing", "change", "change NaN mm is not a number", second(gear.BacklashRule(quantity.Length(nan), deg(20)))},
		{"expansion in the wrong unit", "case expansion", "case expansion 22.5 1/K must be from 0 1/K to 0.001 1/K", heat(gear.Heat{Case: 22.5})},
		{"a rise beyond metal", "wheel rise", "wheel rise 5000 K must be from -1000 K to 1000 K", heat(gear.Heat{WheelRise: 5000})},
		{"a target of nothing", "target", "target 0 mm must be above 0 mm", class(mm(0.04), 0, mm(0.02), 2)},
		{"no step", "step", "step 0 mm must be above 0 mm", class(mm(0.04), mm(0.01), 0, 2)},
		{"no slope", "slope", "slope 0 must be above 0", class(mm(0.04), mm(0.01), mm(0.02), 0)},
		{"more classes than exist", "step", "takes 990 classes of 0.02 mm", class(mm(9.91), mm(0.01), mm(0.02), 2)},
		{"a slope of nothing", "change per class", "too large", class(mm(0.04), mm(0.01), quantity.Length(1e300), 1e-300)},
		{"three readings", "readings", "readings at 3 places must be at 4 or more", spread(0.02, 0, 0, 0)},
		{"no reading", "readings", "readings NaN mm is not a number", spread(0.02, 0, 0, 0, quantity.Length(nan))},
		{"a negative limit", "limit", "limit -0.02 mm must be 0 mm or more", spread(-0.02, 0, 0, 0, 0)},
		{"a negative spread", "spread", "spread -1 mm must be 0 mm or more", second(gear.Eccentricity(mm(-1), deg(20)))},
		{"no addendum", "addendum", "addendum 0 mm must be above 0 mm", second(gear.ChordalThickness(good, 0))},
	} {
		var refused *argument.Error
		switch {
		case c.err == nil:
			t.Errorf("%s: accepted", c.name)
		case !errors.As(c.err, &refused) || refused.Argument != c.argument:
			t.Errorf("%s: %v does not name %s", c.name, c.err, c.argument)
		case !strings.Contains(c.err.Error(), c.says):
			t.Errorf("%s: says %q, want %q in it", c.name, c.err, c.says)
		}
	}
}

// Whatever comes in, what comes out is a number or an error.
func TestNeverNaN(t *testing.T) {
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 1e-300, 5e-324, 1e300, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), 0.01, 0.35, 0.002, 0.0035, 0.048, 1e-5, 75}
	random := rand.New(rand.NewPCG(1, 1))
	pick := func() float64 { return odd[random.IntN(len(odd))] }
	length := func() quantity.Length { return quantity.Length(pick()) }
	fine := func(what string, err error, values ...float64) {
		for _, v := range values {
			if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 {
				t.Fatalf("%s gives %v with error %v", what, values, err)
			}
		}
	}
	some := func() gear.Gear {
		g := gear.Gear{Teeth: random.IntN(60), Module: length(), PressureAngle: quantity.Angle(pick()), Helix: quantity.Angle(pick()), Shift: pick(), Thinning: length()}
		if random.IntN(2) == 0 {
			g.Module, g.PressureAngle, g.Helix = 0.002, 0.35, 0
		}
		return g
	}
	for range 50000 {
		g, h := some(), some()
		y, err := gear.Inv(quantity.Angle(pick()))
		fine("inv", err, y)
		φ, err := gear.InverseInv(pick())
		fine("inverse inv", err, float64(φ))
		m, err := gear.ModuleFromDiametralPitch(pick())
		fine("module", err, float64(m))
		p, err := gear.OverPins(g, length())
		fine("over pins", err, float64(p.Size), p.Slope, float64(p.Angle))
		w, err := gear.ThinningOverPins(g, length(), length())
		fine("thinning", err, float64(w))
		c, err := gear.ChordalThickness(g, length())
		fine("chord", err, float64(c.Thickness), float64(c.Height))
		b, err := gear.Backlash(g, h, length())
		fine("backlash", err, float64(b.Backlash), float64(b.WorkingAngle), b.PerCentre)
		w, err = gear.BacklashRule(length(), quantity.Angle(pick()))
		fine("rule", err, float64(w))
		x, k := quantity.Expansion(pick()), quantity.TemperatureDifference(pick())
		w, err = gear.BacklashGrowth(g, h, length(), gear.Heat{Case: x, Pinion: x, Wheel: x, CaseRise: k, PinionRise: k, WheelRise: k})
		fine("growth", err, float64(w))
		s, err := gear.SelectClass(length(), length(), length(), pick())
		fine("class", err, float64(s.Result), float64(s.PerStep))
		e, err := gear.Eccentricity(length(), quantity.Angle(pick()))
		fine("eccentricity", err, float64(e))
		j, err := gear.JudgeSpread([]quantity.Length{length(), length(), length(), length()}, length())
		fine("spread", err, float64(j.Spread), float64(j.Least), float64(j.Most))
	}
}
