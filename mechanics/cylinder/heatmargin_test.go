package cylinder

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// A piston hotter by the margin just fills its bore: the same law asked the other way.
func TestHeatMarginIsWhereTheClearanceEnds(t *testing.T) {
	for _, c := range []struct{ bore, skirt, barrel, piston, rise float64 }{
		{92, 91.947, 17e-6, 18.5e-6, 100}, {92, 91.910, 11.5e-6, 22e-6, 80}, {70, 69.96, 17e-6, 18.5e-6, -10}, {92, 92.05, 17e-6, 18.5e-6, 0},
	} {
		b, d := quantity.Millimetres(c.bore), quantity.Millimetres(c.skirt)
		margin, err := HeatMargin(b, d, Heat{quantity.Expansion(c.barrel), quantity.TemperatureDifference(c.rise)}, quantity.Expansion(c.piston))
		if err != nil {
			t.Fatal(err)
		}
		hot, err := PistonClearanceHot(b, d, Heat{quantity.Expansion(c.barrel), quantity.TemperatureDifference(c.rise)}, Heat{quantity.Expansion(c.piston), quantity.TemperatureDifference(c.rise) + margin})
		if err != nil || math.Abs(float64(hot)) > 1e-12 {
			t.Errorf("%+v: clearance %v at the margin %v, %v", c, hot, margin, err)
		}
		if (margin > 0) != (c.skirt < c.bore) {
			t.Errorf("%+v: margin %v", c, margin)
		}
	}
	if _, err := HeatMargin(quantity.Millimetres(92), quantity.Millimetres(91.9), Heat{}, 0); err == nil {
		t.Error("a piston that does not grow has a margin")
	}
}
