package crank_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

func TestParseKitRefuses(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "does not give a first size, a last size and a step"},
		{"2.500 .. 2.950 mm", "does not give"},
		{"2.500 - 2.950 by 0.025 mm", "does not give"},
		{"2.500 .. 2.950 by 0.025", "has no unit"},
		{"2.500 .. 2.950 by 0.025 N", "is in N, which is no length"},
		{"2.500 .. 2.950 by 0.025 MM", "unknown unit"},
		{"2.500 in .. 2.950 mm by 0.025 mm", "have different units"},
		{"2.950 .. 2.500 by 0.025 mm", "runs downwards"},
		{"2.500 .. 2.950 by 0.04 mm", "do not end on its last size"},
		{"2.500 .. 2.950 by 0 mm", "must be above zero"},
		{"0 .. 2.950 by 0.025 mm", "must be above zero"},
		{"-1 .. 2.950 by 0.025 mm", "is not a plain decimal number"},
		{"1/8 .. 1/4 by 1/16 in", "is not a plain decimal number"},
		{"2,5 .. 2,9 by 0,1 mm", "is not a plain decimal number"},
		{"1 .. 2 by . mm", "is not a plain decimal number"},
		{"0.001 .. 999 by 0.001 mm", "more than 10000 sizes"},
		{"1 .. 1000000000000000000 by 1 mm", "is not a plain decimal number"},
	} {
		sizes, err := crank.ParseKit(c.text)
		var refused *argument.Error
		if !errors.As(err, &refused) || refused.Argument != "kit" {
			t.Errorf("%q: %d sizes, %v", c.text, len(sizes), err)
		} else if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: says %q, want %q in it", c.text, err, c.says)
		}
	}
}

func TestRefuses(t *testing.T) {
	sizes := kit(t, "2.500 .. 2.950 by 0.025 mm")
	spacer := func(trial, play, target, low, high float64, kit []quantity.Length, sense crank.Sense) error {
		_, err := crank.SelectSpacer(mm(trial), mm(play), mm(target), mm(low), mm(high), kit, sense)
		return err
	}
	second := func(_ any, err error) error { return err }
	slider := func(change func(*crank.Slider)) crank.Slider {
		s := crank.Slider{Reciprocating: 1, Stroke: mm(86.5), Rod: mm(178), Speed: 50}
		change(&s)
		return s
	}
	single := func(s crank.Slider, factor float64) error { _, err := crank.ShakeSingle(s, factor, 0); return err }
	hole := func(change func(*crank.Hole)) crank.Hole {
		h := crank.Hole{Diameter: mm(12), Depth: mm(10), Radius: mm(80), Density: 7850}
		change(&h)
		return h
	}
	removed := func(h crank.Hole) error { _, _, err := h.Removed(); return err }
	moved := func(cure crank.Cure) error {
		_, _, err := crank.Moved(crank.Fault{}, crank.Fault{}, cure)
		return err
	}
	path := crank.ThermalPath{Length: mm(22), Housing: 22.5e-6, Shaft: 11.7e-6, HousingRise: 75, ShaftRise: 75}
	inFahrenheit, perMillion := path, path
	inFahrenheit.ShaftRise, perMillion.Housing = 1670, 22.5
	nan := math.NaN()
	for _, c := range []struct {
		name, argument, says string
		err                  error
	}{
		{"a negative TIR", "TIR", "TIR -0.01 mm must be 0 mm or more", second(crank.Eccentricity(mm(-0.01)))},
		{"a negative eccentricity", "eccentricity", "eccentricity -0.01 mm", second(crank.TIR(mm(-0.01)))},
		{"an eccentricity too large to double", "TIR", "too large", second(crank.TIR(quantity.Length(math.MaxFloat64)))},
		{"a negative dial", "left TIR", "left TIR -0.05 mm must be 0 mm or more", second(crank.Diagnose(crank.Dial{TIR: mm(-0.05)}, crank.Dial{}))},
		{"no angle", "right angle", "right angle NaN deg is not a number", second(crank.Diagnose(crank.Dial{}, crank.Dial{High: quantity.Angle(nan)}))},
		{"a negative target", "target", "target -0.01 mm must be 0 mm or more", second(crank.Fault{}.Steps(mm(-0.01)))},
		{"no blow", "cure", "cure regrind is not a blow", moved(crank.Regrind)},
		{"nothing to rap", "before", "leaves a rap nothing to cure", moved(crank.Rap)},
		{"nothing to wedge", "before", "leaves a wedge nothing to cure", moved(crank.Wedge)},

		{"no trial spacer", "trial", "trial 0 mm must be above 0 mm", spacer(0, 0.2, 0.05, 0.03, 0.08, sizes, crank.ThickerMore)},
		{"no play to measure", "play", "play 0 mm must be above 0 mm: where there is none to measure there may be preload", spacer(2.7, 0, 0.05, 0.03, 0.08, sizes, crank.ThickerMore)},
		{"limits swapped", "low", "the limits 0.08 mm .. 0.03 mm run downwards", spacer(2.7, 0.2, 0.05, 0.08, 0.03, sizes, crank.ThickerMore)},
		{"a target outside", "target", "target 0.1 mm must be from 0.03 mm to 0.08 mm", spacer(2.7, 0.2, 0.1, 0.03, 0.08, sizes, crank.ThickerMore)},
		{"no sense", "sense", "it is not said whether a thicker spacer gives more play or less", spacer(2.7, 0.2, 0.05, 0.03, 0.08, sizes, crank.NoSense)},
		{"an unknown sense", "sense", "it is not said", spacer(2.7, 0.2, 0.05, 0.03, 0.08, sizes, 9)},
		{"an empty kit", "kit", "the kit holds no spacer", spacer(2.7, 0.2, 0.05, 0.03, 0.08, nil, crank.ThickerMore)},
		{"a spacer of nothing", "kit", "kit 0 mm must be above 0 mm", spacer(2.7, 0.2, 0.05, 0.03, 0.08, []quantity.Length{0}, crank.ThickerMore)},
		{"nothing in the kit fits", "kit", "no spacer of the kit gives a play of 0.03 mm .. 0.08 mm: the nearest, 2.5 mm, gives 0.115 mm; the spacer wanted is 2.435 mm thick", spacer(2.7, 0.315, 0.05, 0.03, 0.08, sizes, crank.ThickerMore)},
		{"a sense in other words", "sense", `sense "more" is not known; write thicker-more or thicker-less`, second(crank.ParseSense("more"))},
		{"a coefficient in millionths", "housing expansion", "housing expansion 22.5 1/K must be from 0 1/K to 0.001 1/K", second(crank.EndPlayGrowth(perMillion))},
		{"a rise beyond metal", "shaft rise", "shaft rise 1670 K must be from -1000 K to 1000 K", second(crank.EndPlayGrowth(inFahrenheit))},
		{"no length", "length", "length 0 mm must be above 0 mm", second(crank.EndPlayGrowth(crank.ThermalPath{}))},

		{"a negative weight", "big ends", "big ends -1 g must be 0 g or more", second(crank.BobWeight(crank.Parts{BigEnds: grams(-1)}, 0.5))},
		{"per cent taken as a factor", "factor", "factor 58 must be from 0 to 1", second(crank.BobWeight(crank.Parts{Pistons: 1}, 58))},
		{"nothing weighed", "pistons", "all weigh 0 g", second(crank.BobWeight(crank.Parts{}, 0.5))},
		{"no bob", "bob", "bob 0 g must be above 0 g", second(crank.PerWheel(0, 1))},
		{"nothing goes up and down", "reciprocating", "reciprocating 0 g must be above 0 g", second(crank.BalanceFactor(1, 1, 0))},
		{"no radius", "radius", "radius 0 mm must be above 0 mm", second(crank.Counterweight(1, 1, 0.5, mm(40), 0))},

		{"rod and stroke swapped", "rod", "rod 86.5 mm must be longer than the throw, 89 mm", single(slider(func(s *crank.Slider) { s.Stroke, s.Rod = mm(178), mm(86.5) }), 0)},
		{"running backwards", "speed", "speed -3000 r/min must be 0 r/min or more", single(slider(func(s *crank.Slider) { s.Speed = -50 }), 0)},
		{"a factor above one", "factor", "factor 1.2 must be from 0 to 1", single(slider(func(*crank.Slider) {}), 1.2)},
		{"a V of more than half a turn", "V angle", "V angle 190 deg must be from 0 deg to 180 deg", second(crank.ShakeV(slider(func(*crank.Slider) {}), deg(190), 0, 0))},
		{"a speed beyond numbers", "force", "too large", single(slider(func(s *crank.Slider) { s.Speed = 1e200 }), 0)},

		{"a grade in other words", "grade", `"6.3" is not a balance quality grade; write a grade as "G 6.3"`, second(crank.ParseGrade("6.3"))},
		{"a grade beyond the table", "grade", "grade G 9000 must be above G 0 and up to G 4000", second(crank.ParseGrade("G 9000"))},
		{"a grade as a bare number", "grade", "grade G 6300 must be above G 0", second(crank.PermissibleUnbalance(6.3, 1, 1))},
		{"standing still", "speed", "speed 0 r/min must be above 0 r/min", second(crank.PermissibleUnbalance(6.3e-3, 1, 0))},

		{"a hole to the axis", "depth", "a hole 80 mm deep with its point must be less deep than the radius, 80 mm", removed(hole(func(h *crank.Hole) { h.Depth, h.IntoRim = mm(80), true }))},
		{"a needle of a drill", "point", "point 30 deg must be from 60 deg to 180 deg", removed(hole(func(h *crank.Hole) { h.Point = deg(30) }))},
		{"no density", "density", "density 0 kg/m3 must be above 0 kg/m3", removed(hole(func(h *crank.Hole) { h.Density = 0 }))},
		{"no unbalance", "unbalance", "unbalance 0 g·mm must be above 0 g·mm", second(hole(func(*crank.Hole) {}).DepthFor(0))},
		{"more than a hole can take", "unbalance", "is more than one hole 12 mm wide at 80 mm can make", second(hole(func(h *crank.Hole) { h.IntoRim = true }).DepthFor(1))},
		{"less than the point takes", "unbalance", "is less than the point of the drill takes off", second(hole(func(h *crank.Hole) { h.Point = deg(118) }).DepthFor(1e-9))},
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
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 1e-300, 5e-324, 1e300, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), 0.01, 0.05, 0.5, 0.0027, 1e-5, 75, 1e-12}
	random := rand.New(rand.NewPCG(1, 1))
	pick := func() float64 { return odd[random.IntN(len(odd))] }
	length := func() quantity.Length { return quantity.Length(pick()) }
	mass := func() quantity.Mass { return quantity.Mass(pick()) }
	angle := func() quantity.Angle { return quantity.Angle(pick()) }
	fine := func(what string, err error, values ...float64) {
		for _, v := range values {
			if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 {
				t.Fatalf("%s gives %v with error %v", what, values, err)
			}
		}
	}
	for range 50000 {
		e, err := crank.Eccentricity(length())
		fine("eccentricity", err, float64(e))
		e, err = crank.TIR(length())
		fine("TIR", err, float64(e))
		f, err := crank.Diagnose(crank.Dial{TIR: length(), High: angle()}, crank.Dial{TIR: length(), High: angle()})
		fine("diagnosis", err, float64(f.Bow.Size()), float64(f.Bow.Angle()), float64(f.Twist), float64(f.Throw), float64(f.Left.Dial().TIR))
		list, err := f.Steps(length())
		for _, s := range list {
			fine("step", err, float64(s.At), float64(s.Left.TIR), float64(s.Right.TIR), float64(s.Left.High))
		}
		g, _ := crank.Diagnose(crank.Dial{TIR: length(), High: angle()}, crank.Dial{TIR: length(), High: angle()})
		towards, sideways, err := crank.Moved(f, g, crank.Cure(random.IntN(6)))
		fine("moved", err, float64(towards), float64(sideways))
		c, err := crank.SelectSpacer(length(), length(), length(), length(), length(), []quantity.Length{length(), length(), length()}, crank.Sense(random.IntN(4)))
		fine("spacer", err, float64(c.Wanted), float64(c.Spacer), float64(c.Result), float64(c.Second), float64(c.SecondResult))
		x := quantity.Expansion(pick())
		e, err = crank.EndPlayGrowth(crank.ThermalPath{Length: length(), Housing: x, Shaft: quantity.Expansion(pick()), HousingRise: quantity.TemperatureDifference(pick())})
		fine("growth", err, float64(e))
		b, err := crank.BobWeight(crank.Parts{Pistons: mass(), SmallEnds: mass(), BigEnds: mass(), Cages: mass()}, pick())
		fine("bob", err, float64(b.Weight), float64(b.Reciprocating), float64(b.Rotating))
		m, err := crank.PerWheel(mass(), mass())
		fine("half bob", err, float64(m))
		k, err := crank.BalanceFactor(mass(), mass(), mass())
		fine("factor", err, k)
		m, err = crank.Counterweight(mass(), mass(), pick(), length(), length())
		fine("counterweight", err, float64(m))
		s := crank.Slider{Reciprocating: mass(), Stroke: length(), Rod: length(), Speed: quantity.Frequency(pick())}
		h, err := crank.ShakeSingle(s, pick(), angle())
		fine("single", err, float64(h.Primary.X), float64(h.Primary.Y), float64(h.Secondary.Y))
		h, err = crank.ShakeV(s, angle(), pick(), angle())
		fine("V", err, float64(h.Primary.X), float64(h.Primary.Y), float64(h.Secondary.X), float64(h.Secondary.Y))
		r, err := crank.PermissibleUnbalance(crank.Grade(pick()), mass(), quantity.Frequency(pick()))
		fine("residual", err, float64(r.Permissible), float64(r.Eccentricity))
		hole := crank.Hole{Diameter: length(), Depth: length(), Point: quantity.Angle([]float64{0, 2, 3}[random.IntN(3)]), Radius: length(), IntoRim: random.IntN(2) == 0, Density: quantity.Density(pick())}
		m, u, err := hole.Removed()
		fine("hole", err, float64(m), float64(u))
		e, err = hole.DepthFor(crank.Unbalance(pick()))
		fine("depth", err, float64(e))
	}
}
