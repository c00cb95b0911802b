package crank_test

import (
	"math"
	"testing"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// Worked from a textbook's formula; its inputs were seen and its printed result was
// not (its companion code uses π = 3.141, which would print 3 262.8 N). It guards
// against change and is no proof.
func TestDerivedShakingForce(t *testing.T) {
	s := crank.Slider{Reciprocating: 120, Stroke: 0.180, Rod: 0.5, Speed: quantity.Frequency(250.0 / 60)}
	shake, err := crank.ShakeSingle(s, 2.0/3, deg(30))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "primary force", float64(shake.Primary.Size()), 3264.1, 0.05)
}

// An aluminium barrel beside steel rods, coefficients from published tables, the
// product worked out.
func TestDerivedGrowth(t *testing.T) {
	growth, err := crank.EndPlayGrowth(crank.ThermalPath{Length: mm(127), Housing: 21.5e-6, Shaft: 12.3e-6, HousingRise: 150, ShaftRise: 150})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "growth", growth.Millimetres(), 0.1753, 0.00005)
}

// At 60° the two cylinders' primaries add to 1.5 along the line midway and 0.5 across.
func TestDerivedV60(t *testing.T) {
	s := crank.Slider{Reciprocating: 1, Stroke: 2, Rod: 4, Speed: quantity.Frequency(1 / (2 * math.Pi))}
	for _, c := range []struct{ crank, x, y float64 }{{0, 0, 1.5}, {90, 0.5, 0}} {
		shake, err := crank.ShakeV(s, deg(60), 0, deg(c.crank))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "primary across", float64(shake.Primary.X), c.x, 1e-12)
		near(t, "primary along", float64(shake.Primary.Y), c.y, 1e-12)
	}
}
