package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Wire is a helical spring as it is wound.
type Wire struct {
	// Diameter is that of the round wire, MeanDiameter that of the coil from wire
	// centre to wire centre.
	Diameter, MeanDiameter quantity.Length
	// Active counts the coils that work: all less those that lie flat at the ends.
	Active float64
	// Modulus is the shear modulus of the wire.
	Modulus quantity.Pressure
	// Density is that of the wire; needed for mass and surge only.
	Density quantity.Density
}

// SteelDensity is the density usually taken for spring steel, 7,850 kg/m³.
const SteelDensity quantity.Density = 7850

func (w Wire) inspect(in *inspection) {
	in.coil(w.Diameter, w.MeanDiameter)
	in.Above("active", numbers, w.Active)
	in.Above("modulus", pressures, float64(w.Modulus))
}

// coil wants a mean diameter at least twice the wire's; nothing tighter is wound.
func (c *inspection) coil(wire, mean quantity.Length) {
	c.Above("wire", lengths, float64(wire))
	c.Above("mean diameter", lengths, float64(mean))
	if mean < 2*wire {
		c.Refuse("mean diameter, wire", "mean diameter %s must be at least twice the wire %s", lengths.Text(float64(mean)), lengths.Text(float64(wire)))
	}
}

// Rate returns the stiffness of the spring.
//
//	k = G·d⁴/(8·D³·N)
//
// d is the wire, D the mean diameter of the coil, N the active coils and G the shear
// modulus. A barrel or beehive spring has no single D and no single rate. D must be at
// least 2·d, and all four above zero. It never returns NaN.
//
// Source: machine-design textbooks. Seen: a public test file and an engineering page
// with the same formula.
func (w Wire) Rate() (quantity.Stiffness, error) {
	var in inspection
	w.inspect(&in)
	if in.Err != nil {
		return 0, in.Err
	}
	return w.rate(), nil
}

func (w Wire) rate() quantity.Stiffness {
	d, mean := float64(w.Diameter), float64(w.MeanDiameter)
	return quantity.Stiffness(float64(w.Modulus) * d * d * d * d / (8 * mean * mean * mean * w.Active))
}

// ActiveMass returns the mass of the coils that work.
//
//	m = π²/4·d²·D·N·ρ
//
// ρ is the density, other symbols as in [Wire.Rate]; the slope of the coils is left
// out. Errors as there, and for a density that is not above zero.
//
// Source: length of the wire times its section; geometry.
func (w Wire) ActiveMass() (quantity.Mass, error) {
	var in inspection
	w.inspect(&in)
	in.Above("density", densities, float64(w.Density))
	if in.Err != nil {
		return 0, in.Err
	}
	d := float64(w.Diameter)
	return quantity.Mass(math.Pi * math.Pi / 4 * d * d * float64(w.MeanDiameter) * w.Active * float64(w.Density)), nil
}

// Surge returns the lowest frequency at which the coils swing between fixed ends.
//
//	f = d/(2π·D²·N)·√(G/(2ρ))
//
// Symbols as in [Wire.Rate] and [Wire.ActiveMass]; it is [SurgeFrequency] of that rate
// and mass. Errors as there.
//
// Source: machine-design textbooks; Shigley's Mechanical Engineering Design, equation
// 10-25, not seen. Seen: an engineering page on the critical frequency of valve springs,
// which writes it D·k/(π·d³)·√(8/(ρ·G)).
func (w Wire) Surge() (quantity.Frequency, error) {
	var in inspection
	w.inspect(&in)
	in.Above("density", densities, float64(w.Density))
	if in.Err != nil {
		return 0, in.Err
	}
	mean := float64(w.MeanDiameter)
	return quantity.Frequency(float64(w.Diameter) / (2 * math.Pi * mean * mean * w.Active) * math.Sqrt(float64(w.Modulus)/(2*float64(w.Density)))), nil
}

// SurgeFrequency returns the lowest frequency at which a spring swings between fixed
// ends.
//
//	f = ½·√(k/m)
//
// k is the rate and m the mass of the active coils. With one end free it would be half
// as much; a valve spring has both ends held. SurgeFrequency returns an error if either
// is not above zero. It never returns NaN.
//
// Source: as [Wire.Surge], which page writes it so too.
func SurgeFrequency(rate quantity.Stiffness, mass quantity.Mass) (quantity.Frequency, error) {
	var in inspection
	in.Above("rate", rates, float64(rate))
	in.Above("mass", masses, float64(mass))
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Frequency(math.Sqrt(float64(rate)/float64(mass)) / 2), nil
}

// SurgeHarmonic returns how many times faster a spring swings by itself than the cam
// turns. The higher, the weaker the part of the lift curve that can shake the spring.
//
//	n = f/(speed/2)
//
// f is the surge frequency and speed that of the crank. SurgeHarmonic returns an error
// if either is not above zero. It never returns NaN.
//
// Source: definition.
func SurgeHarmonic(surge, crank quantity.Frequency) (float64, error) {
	var in inspection
	in.Above("surge", speeds, float64(surge))
	in.Above("speed", speeds, float64(crank))
	if in.Err != nil {
		return 0, in.Err
	}
	return float64(surge / (crank / 2)), nil
}

// WahlFactor returns by how much the curve of the wire and direct shear raise the stress
// in a coil.
//
//	K = (4C − 1)/(4C − 4) + 0.615/C    C = D/d
//
// C is the spring index, mean diameter over wire. WahlFactor returns an error for an
// index below 2. It never returns NaN.
//
// Source: machine-design textbooks, by Wahl. Seen: a textbook companion's table for its
// example 10.3, and a guide page.
func WahlFactor(index float64) (float64, error) {
	var in inspection
	in.Within("index", numbers, index, 2, numbers.Most)
	if in.Err != nil {
		return 0, in.Err
	}
	return (4*index-1)/(4*index-4) + 0.615/index, nil
}

// BergstraesserFactor returns the same as [WahlFactor] by another formula, within 2 %
// of it from an index of 3 up.
//
//	K = (4C + 2)/(4C − 3)
//
// Errors as in [WahlFactor].
//
// Source: machine-design textbooks. Seen: a guide page, which writes it
// (C + 0.5)/(C − 0.75) and has the two within about 1 %; at an index of 3 they are 1.6 %
// apart.
func BergstraesserFactor(index float64) (float64, error) {
	var in inspection
	in.Within("index", numbers, index, 2, numbers.Most)
	if in.Err != nil {
		return 0, in.Err
	}
	return (4*index + 2) / (4*index - 3), nil
}

// Stress returns the shear stress at the inside of a coil under a load.
//
//	τ = K·8·F·D/(π·d³)
//
// F is the load, K the [WahlFactor] of D/d, other symbols as in [Wire.Rate]. It leaves
// out what shot peening and setting leave in the wire. Errors as in [Wire.Rate], and for
// a load below zero.
//
// Source: as [WahlFactor]. Seen: a public test file with the same formula, whose printed
// result is a factor of ten low.
func (w Wire) Stress(load quantity.Force) (quantity.Pressure, error) {
	var in inspection
	in.coil(w.Diameter, w.MeanDiameter)
	in.NotNegative("load", forces, float64(load))
	if in.Err != nil {
		return 0, in.Err
	}
	k, err := WahlFactor(float64(w.MeanDiameter / w.Diameter))
	if err != nil {
		return 0, err
	}
	d := float64(w.Diameter)
	return quantity.Pressure(k * 8 * float64(load) * float64(w.MeanDiameter) / (math.Pi * d * d * d)), nil
}

// RateFromLoads returns the stiffness of a spring from its loads at two lengths.
//
//	k = (F₂ − F₁)/(y₁ − y₂)
//
// Read both lengths well away from free and from coil bind. RateFromLoads returns an
// error unless the shorter length carries the larger load. It never returns NaN.
//
// Source: definition.
func RateFromLoads(length1 quantity.Length, load1 quantity.Force, length2 quantity.Length, load2 quantity.Force) (quantity.Stiffness, error) {
	var in inspection
	in.Above("first length", lengths, float64(length1))
	in.NotNegative("first load", forces, float64(load1))
	in.Above("second length", lengths, float64(length2))
	in.NotNegative("second load", forces, float64(load2))
	if way := float64(length1 - length2); in.Err == nil && (math.Abs(way) < lengths.Least || (load2 > load1) != (way > 0) || load1 == load2) {
		in.Refuse("first length, first load, second length, second load", "a load of %s at %s and one of %s at %s make no spring: the shorter length must carry the larger load", forces.Text(float64(load1)), lengths.Text(float64(length1)), forces.Text(float64(load2)), lengths.Text(float64(length2)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Stiffness(float64(load2-load1) / float64(length1-length2)), nil
}

// Spring is one spring of a nest, as measured.
type Spring struct {
	Rate quantity.Stiffness
	Free quantity.Length
}

// Nest is the springs of one valve, one inside the other. A damper that only rubs is no
// spring of the nest.
type Nest []Spring

// Load returns the load of the nest at a length.
//
//	F = Σ kᵢ·(freeᵢ − y)
//
// k is each spring's rate, free its free length and y the length that all have. A collar
// with a step gives the inner spring another length: give it a free length that is
// longer by the step.
//
// Load returns an error if the nest is empty, if a rate, free length or y is not above
// zero, or if y is longer than a free length, for then that spring hangs loose. It never
// returns NaN.
//
// Source: Hooke's law.
func (n Nest) Load(length quantity.Length) (quantity.Force, error) {
	var in inspection
	if len(n) == 0 {
		in.Refuse("springs", "there is no spring; give at least one")
	}
	in.Above("length", lengths, float64(length))
	var load quantity.Force
	for _, s := range n {
		in.Above("rate", rates, float64(s.Rate))
		in.Above("free", lengths, float64(s.Free))
		if length > s.Free {
			in.Refuse("length, free", "length %s is more than the free length %s: the spring would hang loose", lengths.Text(float64(length)), lengths.Text(float64(s.Free)))
		}
		load += quantity.Force(float64(s.Rate) * float64(s.Free-length))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return load, nil
}

// Rate returns the stiffness of the nest, the sum of its springs'. Errors as in
// [Nest.Load].
//
// Source: springs side by side.
func (n Nest) Rate() (quantity.Stiffness, error) {
	var in inspection
	if len(n) == 0 {
		in.Refuse("springs", "there is no spring; give at least one")
	}
	var rate quantity.Stiffness
	for _, s := range n {
		in.Above("rate", rates, float64(s.Rate))
		rate += s.Rate
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return rate, nil
}

// BindMargin returns what is left between the coils at full lift.
//
//	margin = installed − lift − solid
//
// installed is the length with the valve shut, lift the valve's lift as measured at the
// valve, solid the length at which the first spring of the nest is coil-bound. Zero or
// less means that the springs bind before the valve is open: something breaks.
//
// BindMargin returns an error unless installed and solid are above zero, the lift zero
// or more and less than installed. It never returns NaN.
//
// Source: definition.
func BindMargin(installed, lift, solid quantity.Length) (quantity.Length, error) {
	var in inspection
	in.Above("installed", lengths, float64(installed))
	in.NotNegative("lift", lengths, float64(lift))
	in.Above("solid", lengths, float64(solid))
	if lift >= installed {
		in.Refuse("lift, installed", "lift %s must be less than the installed length %s", lengths.Text(float64(lift)), lengths.Text(float64(installed)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return installed - lift - solid, nil
}

// ShimForLength returns the shim that brings a spring to its installed length.
//
//	shim = measured − target
//
// measured is the length there is, collars in. It returns an error if that is less than
// the target, for no shim can lengthen it: the spring seat is cut, or the valve is too
// short or sits too high.
//
// Source: definition.
func ShimForLength(measured, target quantity.Length) (quantity.Length, error) {
	var in inspection
	in.Above("measured", lengths, float64(measured))
	in.Above("target", lengths, float64(target))
	if measured < target {
		in.Refuse("measured, target", "the measured length %s is %s short of the target %s, and no shim can lengthen it; the spring seat must go down or the collar up", lengths.Text(float64(measured)), lengths.Text(float64(target-measured)), lengths.Text(float64(target)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return measured - target, nil
}
