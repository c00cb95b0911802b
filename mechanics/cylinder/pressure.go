package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// The standard atmosphere up to the tropopause.
//
// Source: U.S. Standard Atmosphere 1976 and ISO 2533, sea-level values and lapse rate.
// Seen: two pages that list the constants; the standards themselves not seen. The gas
// constant is the one that those standards use, not today's.
const (
	seaPressure    = 101325    // Pa
	seaTemperature = 288.15    // K
	lapse          = 0.0065    // K/m
	standardG      = 9.80665   // m/s²
	airMolarMass   = 0.0289644 // kg/mol
	gasConstant    = 8.31432   // J/(mol·K)
	lowestGround   = -500      // m
	tropopause     = 11000     // m
)

// heights are altitudes, told in metres.
var heights = &argument.Kind{Unit: quantity.MustUnit("m"), Least: 1e-9, Most: 1e9}

// barometric is the exponent g·M/(R·lapse) of the barometric formula, about 5.256.
const barometric = standardG * airMolarMass / (gasConstant * lapse)

// StandardAtmosphere returns pressure and temperature of the standard atmosphere at an
// altitude above the sea.
//
//	p = p₀·(1 − λ·h/T₀)^(g·M/(R·λ))    T = T₀ − λ·h
//
// p₀ = 101 325 Pa, T₀ = 288.15 K, λ = 6.5 K/km, g = 9.806 65 m/s², M = 28.9644 g/mol,
// R = 8.314 32 J/(mol·K); h is the geopotential altitude, which differs from the height
// on a map by 0.03 % at 2,000 m. The day's weather moves the pressure by up to ±4 %: a
// barometer in the shop, read as it stands and not reduced to sea level, is better.
//
// StandardAtmosphere returns an error below −500 m and above 11,000 m. It never returns
// NaN.
//
// Source: U.S. Standard Atmosphere 1976; ISO 2533. Seen: two pages that list the
// constants and the layers; the standards themselves not seen.
func StandardAtmosphere(altitude quantity.Length) (quantity.Pressure, quantity.Temperature, error) {
	h := float64(altitude)
	var in argument.Inspection
	in.Within("altitude", heights, h, lowestGround, tropopause)
	if in.Err != nil {
		return 0, 0, in.Err
	}
	t := seaTemperature - lapse*h
	return quantity.Pressure(seaPressure * math.Pow(t/seaTemperature, barometric)), quantity.Temperature(t), nil
}

// CrankingPressure returns the gauge pressure to expect from a compression test.
//
//	p = p_atm·(CR^n − 1)
//
// p_atm is the pressure of the air around the engine, CR the trapped compression ratio
// of [TrappedCompression] and n the exponent of compression, between 1 (slow, all heat
// lost) and 1.4 (none lost); about 1.25 fits a warm engine at cranking speed. Gauge and
// absolute pressure are both in proportion to p_atm when n and CR stay. The air's
// temperature does not enter. It says what to expect, not what is good: leaks, valve
// clearance, throttle, gauge and hose all move the reading by tenths.
//
// CrankingPressure returns an error unless p_atm is above zero, CR from 1 to 100 and n
// from 1 to 1.4. It never returns NaN.
//
// Source: polytropic compression. Seen: two public pages that estimate cranking pressure
// by it, one with an exponent of 1.3, one of 1.25 to 1.35; a third takes 1.20. The
// exponent 1.25 is common practice.
func CrankingPressure(ambient quantity.Pressure, ratio, exponent float64) (quantity.Pressure, error) {
	var in argument.Inspection
	in.Above("ambient", pressures, float64(ambient))
	in.Within("ratio", numbers, ratio, 1, 100)
	in.Within("exponent", numbers, exponent, 1, 1.4)
	if in.Err != nil {
		return 0, in.Err
	}
	return ambient * quantity.Pressure(math.Pow(ratio, exponent)-1), nil
}

// LeakDown returns the share of the supply pressure that a cylinder loses in a
// leak-down test.
//
//	leak = (p₁ − p₂)/p₁
//
// p₁ is the gauge pressure before the tester's orifice, p₂ the one behind it, in the
// cylinder. The share means something only together with the orifice: see
// [TesterOrifice]. A cold engine with unseated rings can read double.
//
// LeakDown returns an error unless p₁ is above zero and p₂ between zero and p₁. It
// never returns NaN. The test pushes on the piston: the crank must be held.
//
// Source: common practice; the tester as in FAA AC 43.13-1B, paragraph 8-14. Seen: an
// FAA safety tip that quotes it.
func LeakDown(supply, cylinder quantity.Pressure) (float64, error) {
	var in argument.Inspection
	in.Above("supply", pressures, float64(supply))
	in.NotNegative("cylinder", pressures, float64(cylinder))
	if cylinder > supply {
		in.Refuse("cylinder, supply", "cylinder %s must not be more than supply %s", pressures.Text(float64(cylinder)), pressures.Text(float64(supply)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return float64((supply - cylinder) / supply), nil
}

// Orifice is what a differential compression tester has between its two gauges.
type Orifice struct {
	Diameter quantity.Length
	// Length is that of the restriction, Approach the angle of its entry.
	Length   quantity.Length
	Approach quantity.Angle
	// Supply is the gauge pressure before it.
	Supply quantity.Pressure
}

// TesterOrifice returns the orifice that aviation practice gives for a bore.
//
//	bore < 5.00 in: 0.040 in    bore ≥ 5.00 in: 0.060 in
//	both 0.250 in long with a 60° approach, supplied at 80 psi
//
// A figure read with another orifice cannot be compared. TesterOrifice returns an error
// if the bore is not above zero.
//
// Source: FAA AC 43.13-1B, paragraph 8-14, change 1. Seen: an FAA safety tip of
// November 2011 that quotes it.
func TesterOrifice(bore quantity.Length) (Orifice, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	if in.Err != nil {
		return Orifice{}, in.Err
	}
	o := Orifice{
		Diameter: quantity.Inches(0.040),
		Length:   quantity.Inches(0.250),
		Approach: quantity.Angle(angles.Unit.SI(60)),
		Supply:   quantity.Pressure(quantity.MustUnit("psi").SI(80)),
	}
	if bore >= quantity.Inches(5) {
		o.Diameter = quantity.Inches(0.060)
	}
	return o, nil
}
