package gear_test

import (
	"math"
	"testing"

	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

// The numbers of this file belong to the invented demo engine. They guard against
// change; they prove nothing.

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }

func near(t *testing.T, what string, got, want, allowed float64) {
	t.Helper()
	if !(math.Abs(got-want) <= allowed) {
		t.Errorf("%s is %.7g, want %g", what, got, want)
	}
}

// timing returns the timing gears of the Aldermoor V1150, classes D and 3.
func timing() (pinion, cam gear.Gear) {
	pinion = gear.Gear{Teeth: 24, Module: mm(2), PressureAngle: deg(20), Thinning: mm(0.0075)}
	cam = pinion
	cam.Teeth = 48
	return pinion, cam
}

func TestInventedTimingGears(t *testing.T) {
	pinion, cam := timing()
	p, err := gear.OverPins(pinion, mm(3.5))
	if err != nil {
		t.Fatal(err)
	}
	c, err := gear.OverPins(cam, mm(3.5))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pinion over pins", p.Size.Millimetres(), 52.934, 0.0005)
	near(t, "pinion slope", p.Slope, 2.30, 0.005)
	near(t, "cam gear over pins", c.Size.Millimetres(), 100.998, 0.0005)
	near(t, "cam gear slope", c.Slope, 2.48, 0.005)

	play, err := gear.Backlash(pinion, cam, mm(72))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "backlash", play.Backlash.Millimetres(), 0.015, 1e-9)
	near(t, "backlash per centre distance", play.PerCentre, 0.73, 0.005)

	// A set that reads 0.041 0.046 0.052 0.044 mm and wants 0.015.
	spread, err := gear.JudgeSpread([]quantity.Length{mm(0.041), mm(0.046), mm(0.052), mm(0.044)}, mm(0.020))
	if err != nil || spread.Eccentric {
		t.Errorf("%+v, %v", spread, err)
	}
	near(t, "spread", spread.Spread.Millimetres(), 0.011, 1e-9)
	choice, err := gear.SelectClass(spread.Least, mm(0.015), mm(0.020), p.Slope)
	if err != nil || choice.Steps != 3 {
		t.Errorf("%+v, %v", choice, err)
	}
	near(t, "pinion class", choice.PerStep.Millimetres(), 0.0087, 0.00005)
	choice, err = gear.SelectClass(spread.Least, mm(0.015), mm(0.020), c.Slope)
	if err != nil || choice.Steps != 3 {
		t.Errorf("%+v, %v", choice, err)
	}
	near(t, "cam gear class", choice.PerStep.Millimetres(), 0.0081, 0.00005)
}

// A case of 21.0e-6 /K and gears of 11.7e-6 /K, both 80 K warmer, give the growths that
// the demo engine's notes state: centres 0.121 mm, gears 0.067 mm, backlash 0.039 mm.
func TestInventedHotBacklash(t *testing.T) {
	pinion, cam := timing()
	near(t, "growth of the centres", 72*21.0e-6*80, 0.121, 0.0005)
	near(t, "growth of the gears", 72*11.7e-6*80, 0.067, 0.0005)
	growth, err := gear.BacklashGrowth(pinion, cam, mm(72), gear.Heat{
		Case: 21.0e-6, Pinion: 11.7e-6, Wheel: 11.7e-6, CaseRise: 80, PinionRise: 80, WheelRise: 80,
	})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "backlash hot", growth.Millimetres(), 0.039, 0.0005)
}
