package crank_test

import (
	"math"
	"testing"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// The numbers of this file belong to the invented demo engine. They guard against
// change; they prove nothing.

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }

func deg(x float64) quantity.Angle { return quantity.Angle(x * math.Pi / 180) }

func grams(x float64) quantity.Mass { return quantity.Mass(x / 1000) }

func near(t *testing.T, what string, got, want, allowed float64) {
	t.Helper()
	if !(math.Abs(got-want) <= allowed) {
		t.Errorf("%s is %.9g, want %g", what, got, want)
	}
}

func TestInventedTruing(t *testing.T) {
	a, err := crank.Diagnose(crank.Dial{TIR: mm(0.060), High: deg(20)}, crank.Dial{TIR: mm(0.050), High: deg(340)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "A left along", a.Left.Along.Millimetres(), 0.0282, 0.00005)
	near(t, "A left square", a.Left.Square.Millimetres(), 0.0103, 0.00005)
	near(t, "A right along", a.Right.Along.Millimetres(), 0.0235, 0.00005)
	near(t, "A right square", a.Right.Square.Millimetres(), -0.0086, 0.00005)
	near(t, "A bow along", a.Bow.Along.Millimetres(), 0.0258, 0.00005)
	near(t, "A bow square", a.Bow.Square.Millimetres(), 0.0009, 0.00005)
	near(t, "A throw", a.Throw.Millimetres(), 0.0023, 0.00005)
	near(t, "A twist", a.Twist.Millimetres(), 0.0094, 0.00005)
	if a.Main() != crank.Wedge {
		t.Errorf("A: %v", a.Main())
	}

	b, err := crank.Diagnose(crank.Dial{TIR: mm(0.080), High: deg(85)}, crank.Dial{TIR: mm(0.070), High: deg(268)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "B bow along", b.Bow.Along.Millimetres(), 0.0011, 0.00005)
	near(t, "B bow square", b.Bow.Square.Millimetres(), 0.0024, 0.00005)
	near(t, "B throw", b.Throw.Millimetres(), 0.0024, 0.00005)
	near(t, "B twist", b.Twist.Millimetres(), 0.0374, 0.00005)
	if b.Main() != crank.Rap {
		t.Errorf("B: %v", b.Main())
	}
}

func TestInventedSpacer(t *testing.T) {
	kit, err := crank.ParseKit("2.500 .. 2.950 by 0.025 mm")
	if err != nil {
		t.Fatal(err)
	}
	c, err := crank.SelectSpacer(mm(2.700), mm(0.215), mm(0.050), mm(0.03), mm(0.08), kit, crank.ThickerMore)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "spacer wanted", c.Wanted.Millimetres(), 2.535, 1e-9)
	near(t, "spacer", c.Spacer.Millimetres(), 2.525, 1e-9)
	near(t, "play", c.Result.Millimetres(), 0.040, 1e-9)
	near(t, "second spacer", c.Second.Millimetres(), 2.550, 1e-9)
	near(t, "second play", c.SecondResult.Millimetres(), 0.065, 1e-9)
	if !c.HasSecond {
		t.Error("no second spacer")
	}
}

func TestInventedHotEndPlay(t *testing.T) {
	path := crank.ThermalPath{Length: mm(22), Housing: 22.5e-6, Shaft: 11.7e-6, HousingRise: 75, ShaftRise: 75}
	growth, err := crank.EndPlayGrowth(path)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "growth over the race spacing", growth.Millimetres(), 0.018, 0.0005)
	path.Length = mm(110)
	if growth, err = crank.EndPlayGrowth(path); err != nil {
		t.Fatal(err)
	}
	near(t, "growth over the whole width", growth.Millimetres(), 0.089, 0.0005)
}

func TestInventedBobWeight(t *testing.T) {
	bob, err := crank.BobWeight(crank.Parts{
		Pistons: grams(2 * 566), SmallEnds: grams(198 + 214), BigEnds: grams(396 + 548), Cages: grams(92),
	}, 0.58)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "reciprocating", float64(bob.Reciprocating)*1000, 1544, 1e-9)
	near(t, "rotating", float64(bob.Rotating)*1000, 1036, 1e-9)
	near(t, "bob", float64(bob.Weight)*1000, 1931.5, 0.05)
	half, err := crank.PerWheel(bob.Weight, grams(640))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "bob per wheel", float64(half)*1000, 1285.8, 0.05)
}

// The demo engine's notes say 0.887 g for each millimetre of a 12 mm hole in steel; a
// density of 7,850 kg/m³ makes it 0.888.
func TestInventedDrilling(t *testing.T) {
	hole := crank.Hole{Diameter: mm(12), Depth: mm(1), Radius: mm(80), Density: 7850}
	mass, _, err := hole.Removed()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mass a millimetre", float64(mass)*1000, 0.887, 0.001)
}
