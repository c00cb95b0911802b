package quantity

import (
	"math"
	"testing"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
		dim  Dimension
	}{
		{"92.004 mm", 0.092004, OfLength},
		{"92.000 mm", 0.092, OfLength},
		{"0.0015 in", 0.0015 * 0.0254, OfLength},
		{".0015 in", 0.0015 * 0.0254, OfLength},
		{"1.5 thou", 0.0015 * 0.0254, OfLength},
		{"43 N·m", 43, OfTorque},
		{"43 N*m", 43, OfTorque},
		{"43 Nm", 43, OfTorque},
		{"32 ft-lb", 32 * 1.3558179483314004, OfTorque},
		{"32 lbf·ft", 32 * 1.3558179483314004, OfTorque},
		{"32 lb-ft", 32 * 1.3558179483314004, OfTorque},
		{"110 in-lb", 110 * 4.4482216152605 * 0.0254, OfTorque},
		{"62.5 cc", 62.5e-6, OfVolume},
		{"3 pt", 3 * 3.785411784e-3 / 8, OfVolume},
		{"3 imp pt", 3 * 4.54609e-3 / 8, OfVolume},
		{"1-1/2 in", 0.0381, OfLength},
		{"1 1/2 in", 0.0381, OfLength},
		{"7/64 in", 7.0 / 64 * 0.0254, OfLength},
		{"15 deg", 15 * math.Pi / 180, OfAngle},
		{"2-1/6 turns", (2 + 1.0/6) * 2 * math.Pi, OfAngle},
		{"17 flats", 17 * math.Pi / 3, OfAngle},
		{"20 degC", 293.15, OfTemperature},
		{"68 degF", 293.15, OfTemperature},
		{"25 min", 1500, OfTime},
		{"5 days", 432000, OfTime},
		{"-0.0005 in", -0.0000127, OfLength},
		{"−0.5 mm", -0.0005, OfLength},
		{"33 N/mm", 33000, OfStiffness},
		{"11.9e-6 1/K", 11.9e-6, OfExpansion},
		{"5500 r/min", 5500.0 / 60, OfFrequency},
		{"5500 rpm", 5500.0 / 60, OfFrequency},
		{"7850 kg/m3", 7850, OfDensity},
		{"0.58", 0.58, OfNumber},
		{"1.5 µm", 1.5e-6, OfLength},
		{"4.38 kgf·m", 4.38 * 9.80665, OfTorque},
		{"100 kg", 100, OfMass},
	} {
		q, err := Parse(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if q.Dimension != c.dim || math.Abs(q.SI-c.want) > 4e-16*math.Abs(c.want) {
			t.Errorf("%q = %v %v, want %v %v", c.text, q.SI, q.Dimension, c.want, c.dim)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{"", "mm", "92,004 mm", "92.004 MM", "1.2.3 mm", "12 mm 3", "4 J", "1 .. 2 mm", "1 ± 2 mm", "abc", "1e999 mm", "1/0 in", "--1 mm", "16-20 ft-lb", "12 nM", "\xff", "12 degK", "inf mm", "NaN", "0x10 mm", "1_000 mm", "12 mm/"} {
		if q, err := Parse(text); err == nil {
			t.Errorf("%q was read as %v", text, q)
		} else if pe, ok := err.(*ParseError); !ok || pe.Says == "" {
			t.Errorf("%q: %v has no sentence", text, err)
		}
	}
}

func TestParseRange(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		text      string
		low, high float64
	}{
		{"92.000 .. 92.013 mm", 0.092, 0.092013},
		{"92.000..92.013 mm", 0.092, 0.092013},
		{"16-20 ft-lb", 16 * 1.3558179483314004, 20 * 1.3558179483314004},
		{"1-1/2 - 1-3/4 in", 0.0381, 0.04445},
		{"1/2-3/4 in", 0.0127, 0.01905},
		{"<= 92.090 mm", -inf, 0.09209},
		{">= 1.0 mm", 0.001, inf},
		{"178.00 ± 0.03 mm", 0.17797, 0.17803},
		{"178.00 +- 0.03 mm", 0.17797, 0.17803},
		{"-0.060 .. -0.035 mm", -0.00006, -0.000035},
		{"0.5 in .. 13 mm", 0.0127, 0.013},
		{"15 .. 25 degC", 288.15, 298.15},
		{"20 ± 5 degC", 288.15, 298.15},
		{"-2 .. 3 deg", -2 * math.Pi / 180, 3 * math.Pi / 180},
	} {
		r, err := ParseRange(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		low, high := -inf, inf
		if r.HasLow {
			low = r.Low
		}
		if r.HasHigh {
			high = r.High
		}
		if !near(low, c.low) || !near(high, c.high) {
			t.Errorf("%q = %v .. %v, want %v .. %v", c.text, low, high, c.low, c.high)
		}
	}
	for _, text := range []string{"5 mm", "2 .. 1 mm", "16-12 ft-lb", "1 .. 2", "", "< 2 mm", "1 .. mm", "1 mm .. 2 N", "5 ± -1 mm"} {
		if r, err := ParseRange(text); err == nil && text != "1 .. 2" {
			t.Errorf("%q was read as %+v", text, r)
		}
	}
}

func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 4e-16*math.Max(math.Abs(a), math.Abs(b))
}

func TestParseUncertain(t *testing.T) {
	for _, c := range []struct {
		text            string
		value, standard float64
	}{
		{"92.004 ± 0.005 mm", 0.092004, 0.0000025},
		{"92.004 mm ± 5 µm", 0.092004, 0.0000025},
		{"92.004 ± 0.005 mm k=1", 0.092004, 0.000005},
		{"92.004 +- 0.005 mm k = 1 dof=18", 0.092004, 0.000005},
		{"1.0 ± 0.3 mm rectangular k=1", 0.001, 0.0003},
		{"0.2 .. 0.6 mm rectangular", 0.0004, 0.0002 / math.Sqrt(3)},
		{"480 N ± 2 %", 480, 4.8},
		{"20 ± 5 degC", 293.15, 2.5},
		{"92.004 mm", 0.092004, 0},
		{"0.12 ± 0.02", 0.12, 0.01},
	} {
		u, err := ParseUncertain(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if !near(u.SI, c.value) || math.Abs(u.Standard-c.standard) > 1e-15 {
			t.Errorf("%q = %v ± %v", c.text, u.SI, u.Standard)
		}
	}
	if u, _ := ParseUncertain("1 ± 1 mm k=1, dof=18"); u.Dof != 18 {
		t.Errorf("dof = %v", u.Dof)
	}
	for _, text := range []string{"1.0 ± 0.3 mm rectangular", "0.2 .. 0.6 mm", "1 ± 2 N mm", "k=2", "1 mm k=0", "1 mm ± 2 N"} {
		if u, err := ParseUncertain(text); err == nil {
			t.Errorf("%q was read as %+v", text, u)
		}
	}
}

func TestFormatNumber(t *testing.T) {
	for _, c := range []struct {
		x    float64
		d    int
		want string
	}{
		{92.0045, 3, "92.004"}, {92.0055, 3, "92.006"}, {2.5, 0, "2"}, {3.5, 0, "4"},
		{0.1 + 0.2, 1, "0.3"}, {-0.0004, 3, "0.000"}, {-0.0006, 3, "-0.001"},
		{9.9996, 3, "10.000"}, {0.05, 1, "0.0"}, {0.15, 1, "0.2"}, {0.25, 1, "0.2"},
		{1234567.5, 0, "1234568"}, {1e-20, 3, "0.000"}, {123456789012345678, 2, "123456789012346000.00"},
		{0.00123, 5, "0.00123"}, {0.000999, 5, "0.00100"}, {99.95, 1, "100.0"}, {0.5, 0, "0"}, {1.5, 0, "2"}, {0, 2, "0.00"}, {0.096, 1, "0.1"}, {0.04, 1, "0.0"},
	} {
		if got := FormatNumber(c.x, c.d); got != c.want {
			t.Errorf("FormatNumber(%v, %d) = %q, want %q", c.x, c.d, got, c.want)
		}
	}
	if d := DecimalsFor(0.0996, 2); d != 2 {
		t.Errorf("DecimalsFor(0.0996) = %d", d)
	}
	if d := DecimalsFor(0.0064, 2); d != 4 {
		t.Errorf("DecimalsFor(0.0064) = %d", d)
	}
}
