package gear_test

import (
	"testing"

	"buttonup/mechanics/gear"
)

// Worked from the formulas with another program; no printed figure was found. They
// guard against change and are no proof.
func TestDerivedBacklashFromCentreDistance(t *testing.T) {
	pinion := gear.Gear{Teeth: 20, Module: mm(2), PressureAngle: deg(20)}
	wheel := pinion
	wheel.Teeth = 40
	for _, c := range []struct{ apart, backlash float64 }{{0.05, 0.036542}, {0.10, 0.073371}, {0.20, 0.147890}} {
		play, err := gear.Backlash(pinion, wheel, mm(60+c.apart))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "backlash", play.Backlash.Millimetres(), c.backlash, 0.5e-6)
	}
	rule, err := gear.BacklashRule(mm(0.10), deg(20))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "backlash by the rule", rule.Millimetres(), 0.072794, 0.5e-6)
}
