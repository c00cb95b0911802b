package quantity

import (
	"math"
	"sort"
	"strings"
)

// Unit is a unit as a builder writes it.
//
// A value x in the unit is (x + Zero)·Factor in SI; Zero is 0 except for degC and
// degF.
type Unit struct {
	Symbol    string
	Dimension Dimension
	Factor    float64
	Zero      float64

	// The factor as whole·10^-shift where that is exact and small, so that
	// decimal text converts with one rounding; whole is 0 where it is not.
	whole int64
	shift int
}

// SI converts x in the unit to SI.
func (u Unit) SI(x float64) float64 { return (x + u.Zero) * u.Factor }

// In converts a value in SI to the unit.
func (u Unit) In(si float64) float64 { return si/u.Factor - u.Zero }

// SIDifference converts a difference of values in the unit to SI.
func (u Unit) SIDifference(x float64) float64 { return x * u.Factor }

// InDifference converts a difference in SI to the unit.
func (u Unit) InDifference(si float64) float64 { return si / u.Factor }

// Exact conversion factors. Definitions: the inch is 25.4 mm and the pound
// 0.453 592 37 kg (international yard and pound agreement, 1959); standard gravity
// is 9.806 65 m/s²; the US gallon is 231 cubic inches and the imperial gallon
// 4.546 09 L.
//
// Source: NIST SP 811, Appendix B. Seen: unit tests that quote it line by line.
const (
	inch       = 0.0254
	foot       = 12 * inch
	pound      = 0.45359237
	gravity    = 9.80665
	poundForce = pound * gravity
	gallon     = 231 * inch * inch * inch
	impGallon  = 4.54609e-3
	degree     = math.Pi / 180
	minute     = 60
	hour       = 3600
	day        = 86400
)

// atoms are the units that stand alone; [ParseUnit] combines them.
var atoms = map[string]Unit{}

// spellings maps other accepted writings to the symbol in atoms.
var spellings = map[string]string{}

func define(dim Dimension, factor float64, symbol string, also ...string) {
	u := Unit{Symbol: symbol, Dimension: dim, Factor: factor}
	u.whole, u.shift = decimalFactor(factor)
	atoms[symbol] = u
	for _, s := range also {
		spellings[s] = symbol
	}
}

// decimalFactor finds whole and shift with factor = whole·10^-shift for short
// decimal factors.
func decimalFactor(factor float64) (whole int64, shift int) {
	x := factor
	for shift = 0; shift <= 9; shift++ {
		if n := math.Round(x); n >= 1 && n < 1e7 && math.Abs(x-n) <= 1e-13*n {
			return int64(n), shift
		}
		x = factor * math.Pow10(shift+1)
	}
	return 0, 0
}

func init() {
	define(OfNumber, 1, "1")
	define(OfNumber, 0.01, "%")

	define(OfLength, 1e-9, "nm")
	define(OfLength, 1e-6, "µm", "μm", "um")
	define(OfLength, 1e-3, "mm")
	define(OfLength, 1e-2, "cm")
	define(OfLength, 1, "m")
	define(OfLength, inch/1000, "thou", "mil")
	define(OfLength, inch, "in", "inch")
	define(OfLength, foot, "ft")
	define(OfLength, 1000, "km")
	define(OfLength, 5280*foot, "mile", "miles")

	define(OfArea, 1e-6, "mm2", "mm²")
	define(OfArea, 1e-4, "cm2", "cm²")
	define(OfArea, 1, "m2", "m²")
	define(OfArea, inch*inch, "sq in", "in2", "in²")

	define(OfVolume, 1e-9, "mm3", "mm³")
	define(OfVolume, 1e-6, "cc", "cm3", "cm³")
	define(OfVolume, 1e-6, "mL", "ml")
	define(OfVolume, 1e-3, "L", "l")
	define(OfVolume, 1, "m3", "m³")
	define(OfVolume, inch*inch*inch, "cu in", "in3", "in³")
	define(OfVolume, gallon/128, "fl oz")
	define(OfVolume, gallon/8, "pt")
	define(OfVolume, gallon/4, "qt")
	define(OfVolume, gallon, "gal")
	define(OfVolume, impGallon/160, "imp fl oz")
	define(OfVolume, impGallon/8, "imp pt")
	define(OfVolume, impGallon/4, "imp qt")
	define(OfVolume, impGallon, "imp gal")

	define(OfForce, 1, "N")
	define(OfForce, 1e3, "kN")
	define(OfForce, poundForce, "lbf")
	define(OfForce, gravity, "kgf", "kp")

	define(OfPressure, 1, "Pa")
	define(OfPressure, 100, "hPa")
	define(OfPressure, 1e3, "kPa")
	define(OfPressure, 1e6, "MPa")
	define(OfPressure, 1e9, "GPa")
	define(OfPressure, 100, "mbar")
	define(OfPressure, 1e5, "bar")
	define(OfPressure, poundForce/(inch*inch), "psi")
	define(OfPressure, 1000*poundForce/(inch*inch), "ksi")
	define(OfPressure, 3386.389, "inHg") // conventional, NIST SP 811

	define(OfMass, 1e-6, "mg")
	define(OfMass, 1e-3, "g")
	define(OfMass, 1, "kg")
	define(OfMass, pound/16, "oz")
	define(OfMass, pound, "lb")
	define(OfMass, poundForce/foot, "slug")

	define(OfTorque, 1, "N·m", "N*m", "Nm", "N.m", "N-m", "N⋅m")
	define(OfTorque, poundForce*foot, "ft-lb")
	define(OfTorque, poundForce*inch, "in-lb")
	define(OfTorque, gravity, "kgf·m", "kgf*m", "kgf-m", "kgfm", "kgm", "kg·m (force)")
	for _, arm := range []struct{ short, symbol string }{{"ft", "ft-lb"}, {"in", "in-lb"}} {
		for _, weight := range []string{"lb", "lbf", "lbs"} {
			for _, join := range []string{"-", "·", "⋅", "*", ".", " "} {
				for _, s := range []string{arm.short + join + weight, weight + join + arm.short} {
					if s != arm.symbol {
						spellings[s] = arm.symbol
					}
				}
			}
		}
	}

	define(OfAngle, degree, "deg", "°", "degree", "degrees")
	define(OfAngle, 1, "rad")
	define(OfAngle, 2*math.Pi, "turns", "turn")
	define(OfAngle, math.Pi/3, "flats", "flat")

	define(OfTemperatureDifference, 1, "K")
	atoms["degC"] = Unit{Symbol: "degC", Dimension: OfTemperature, Factor: 1, Zero: zeroCelsius}
	atoms["degF"] = Unit{Symbol: "degF", Dimension: OfTemperature, Factor: 1 / 1.8, Zero: 459.67}
	spellings["°C"], spellings["°F"] = "degC", "degF"

	define(OfTime, 1, "s", "sec", "seconds", "second")
	define(OfTime, minute, "min", "minutes", "minute")
	define(OfTime, hour, "h", "hours", "hour")
	define(OfTime, day, "days", "day", "d")

	define(OfFrequency, 1.0/minute, "r/min", "rpm")
	define(OfFrequency, 1, "Hz")

	define(OfPower, 1, "W")
	define(OfPower, 1e3, "kW")
	define(OfPower, 550*poundForce*foot, "hp")
	define(OfPower, 75*gravity, "PS")
}

// ParseUnit finds the unit written as text: one of the shop's units ("mm", "thou",
// "ft-lb", "imp pt") or a product and quotient of them ("N/mm", "kg/m3", "1/K",
// "g·mm"). Symbols are case-sensitive: nm is a nanometre, Nm a newton metre.
func ParseUnit(text string) (Unit, error) {
	text = strings.TrimSpace(text)
	if u, ok := knownUnit(text); ok {
		return u, nil
	}
	if u, ok := compoundUnit(text); ok {
		return u, nil
	}
	return Unit{}, unknownUnit(text)
}

func knownUnit(text string) (Unit, bool) {
	if u, ok := atoms[text]; ok {
		return u, true
	}
	if s, ok := spellings[text]; ok {
		return atoms[s], true
	}
	return Unit{}, false
}

// compoundUnit reads factors joined by · or * with at most one /, each factor an
// atom that may carry an exponent 2 or 3.
func compoundUnit(text string) (Unit, bool) {
	over := strings.Split(text, "/")
	if len(over) > 2 || len(text) > 40 {
		return Unit{}, false
	}
	u := Unit{Symbol: text, Factor: 1}
	factors := 0
	for i, side := range over {
		for _, part := range strings.FieldsFunc(strings.Trim(side, "()"), func(r rune) bool { return r == '·' || r == '⋅' || r == '*' }) {
			a, power, ok := unitFactor(strings.TrimSpace(part))
			if !ok || a.Zero != 0 || a.Dimension.Angle {
				// rad/s is no r/min, and nothing else is measured per angle
				return Unit{}, false
			}
			for range power {
				if i == 0 {
					u.Dimension, u.Factor = u.Dimension.Times(a.Dimension), u.Factor*a.Factor
				} else {
					u.Dimension, u.Factor = u.Dimension.Over(a.Dimension), u.Factor/a.Factor
				}
			}
			factors++
		}
	}
	if factors < 2 {
		return Unit{}, false
	}
	u.whole, u.shift = decimalFactor(u.Factor)
	return u, true
}

func unitFactor(part string) (u Unit, power int, ok bool) {
	if u, ok = knownUnit(part); ok {
		return u, 1, true
	}
	for _, e := range []struct {
		suffix string
		power  int
	}{{"²", 2}, {"³", 3}, {"^2", 2}, {"^3", 3}, {"2", 2}, {"3", 3}} {
		if base, found := strings.CutSuffix(part, e.suffix); found {
			if u, ok = knownUnit(base); ok {
				return u, e.power, true
			}
		}
	}
	return Unit{}, 0, false
}

// MustUnit is [ParseUnit] for symbols written in code; it panics on a mistake.
func MustUnit(text string) Unit {
	u, err := ParseUnit(text)
	if err != nil {
		panic(err)
	}
	return u
}

// Symbols lists the units that may stand alone, sorted.
func Symbols() []string {
	list := make([]string, 0, len(atoms))
	for s := range atoms {
		list = append(list, s)
	}
	sort.Strings(list)
	return list
}
