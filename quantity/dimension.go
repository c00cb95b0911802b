package quantity

import (
	"fmt"
	"strings"
)

// Dimension says what kind of thing a value is: the exponents of length, mass,
// time and temperature in SI, and two marks that SI does not carry.
//
// Angle marks an angle, which SI counts as a plain number but a builder does not:
// "15 deg" is refused where a plain number is wanted and printed as degrees. The
// mark lives through sums and through products with plain numbers; in any other
// product the angle counts as its radians.
//
// Point marks a temperature as read from a thermometer. Two of them subtract to a
// temperature difference and may not be added; a difference may be added to one.
type Dimension struct {
	Length, Mass, Time, Temperature int8
	Angle, Point                    bool
}

// The dimensions that have names of their own.
var (
	OfNumber                = Dimension{}
	OfLength                = Dimension{Length: 1}
	OfArea                  = Dimension{Length: 2}
	OfVolume                = Dimension{Length: 3}
	OfAngle                 = Dimension{Angle: true}
	OfMass                  = Dimension{Mass: 1}
	OfForce                 = Dimension{Length: 1, Mass: 1, Time: -2}
	OfTorque                = Dimension{Length: 2, Mass: 1, Time: -2}
	OfPressure              = Dimension{Length: -1, Mass: 1, Time: -2}
	OfTemperature           = Dimension{Temperature: 1, Point: true}
	OfTemperatureDifference = Dimension{Temperature: 1}
	OfExpansion             = Dimension{Temperature: -1}
	OfTime                  = Dimension{Time: 1}
	OfFrequency             = Dimension{Time: -1}
	OfStiffness             = Dimension{Mass: 1, Time: -2}
	OfDensity               = Dimension{Length: -3, Mass: 1}
	OfSpeed                 = Dimension{Length: 1, Time: -1}
	OfAcceleration          = Dimension{Length: 1, Time: -2}
	OfJerk                  = Dimension{Length: 1, Time: -3}
	OfUnbalance             = Dimension{Length: 1, Mass: 1}
	OfPower                 = Dimension{Length: 2, Mass: 1, Time: -3}
)

var dimensionNames = map[Dimension]string{
	OfNumber:                "plain number",
	OfLength:                "length",
	OfArea:                  "area",
	OfVolume:                "volume",
	OfAngle:                 "angle",
	OfMass:                  "mass",
	OfForce:                 "force",
	OfTorque:                "torque",
	OfPressure:              "pressure",
	OfTemperature:           "temperature",
	OfTemperatureDifference: "temperature difference",
	OfExpansion:             "expansion coefficient",
	OfTime:                  "time",
	OfFrequency:             "frequency",
	OfStiffness:             "spring rate",
	OfDensity:               "density",
	OfSpeed:                 "speed",
	OfAcceleration:          "acceleration",
	OfJerk:                  "jerk",
	OfUnbalance:             "unbalance",
	OfPower:                 "power",
}

// String names the dimension as a builder would ("length", "torque"), or spells
// its SI unit when it has no name ("kg·m²").
func (d Dimension) String() string {
	if name, ok := dimensionNames[d]; ok {
		return name
	}
	return "quantity in " + d.SI()
}

// SI spells the coherent SI unit of the dimension, "1" for a plain number.
func (d Dimension) SI() string {
	switch d {
	case OfForce:
		return "N"
	case OfTorque:
		return "N·m"
	case OfPressure:
		return "Pa"
	case OfStiffness:
		return "N/m"
	case OfAngle:
		return "rad"
	}
	var top, bottom []string
	for _, f := range []struct {
		symbol string
		power  int8
	}{{"kg", d.Mass}, {"m", d.Length}, {"K", d.Temperature}, {"s", d.Time}} {
		switch p := f.power; {
		case p > 0:
			top = append(top, f.symbol+superscript(p))
		case p < 0:
			bottom = append(bottom, f.symbol+superscript(-p))
		}
	}
	if len(top) == 0 {
		top = []string{"1"}
	}
	text := strings.Join(top, "·")
	if len(bottom) > 0 {
		text += "/" + strings.Join(bottom, "·")
	}
	return text
}

func superscript(p int8) string {
	switch p {
	case 1:
		return ""
	case 2:
		return "²"
	case 3:
		return "³"
	}
	return fmt.Sprintf("^%d", p)
}

// IsNumber reports whether d is a plain number without a unit.
func (d Dimension) IsNumber() bool { return d == OfNumber }

// Difference returns the dimension of a difference of two values of d: itself,
// except that two temperatures differ by a temperature difference.
func (d Dimension) Difference() Dimension {
	d.Point = false
	return d
}

// Times returns the dimension of a product.
func (d Dimension) Times(e Dimension) Dimension {
	return Dimension{
		Length:      d.Length + e.Length,
		Mass:        d.Mass + e.Mass,
		Time:        d.Time + e.Time,
		Temperature: d.Temperature + e.Temperature,
		Angle:       d.Angle && e.IsNumber() || d.IsNumber() && e.Angle,
	}
}

// Over returns the dimension of a quotient. An angle over an angle is a number.
func (d Dimension) Over(e Dimension) Dimension {
	return Dimension{
		Length:      d.Length - e.Length,
		Mass:        d.Mass - e.Mass,
		Time:        d.Time - e.Time,
		Temperature: d.Temperature - e.Temperature,
		Angle:       d.Angle && e.IsNumber(),
	}
}

// Power returns the dimension of the n-th power, where n is twice the exponent:
// Power(4) is the square, Power(1) the square root. It is false where the result
// would need a fractional exponent, as the square root of a length does.
func (d Dimension) Power(twice int) (Dimension, bool) {
	half := func(p int8) (int8, bool) {
		n := int(p) * twice
		return int8(n / 2), n%2 == 0 && n/2 >= -100 && n/2 <= 100
	}
	var e Dimension
	var ok [4]bool
	e.Length, ok[0] = half(d.Length)
	e.Mass, ok[1] = half(d.Mass)
	e.Time, ok[2] = half(d.Time)
	e.Temperature, ok[3] = half(d.Temperature)
	e.Angle = d.Angle && twice == 2
	return e, ok == [4]bool{true, true, true, true}
}
