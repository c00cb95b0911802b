package calc

import (
	"math"
	"strconv"
	"strings"

	"buttonup/measure"
	"buttonup/quantity"
)

// Argument is something that a calculation is given.
type Argument struct {
	Name string
	// Is says what it is and how it is measured.
	Is string
	// Default is what stands for it, as written, where it is left out; "" for nothing.
	Default string

	form      form
	dimension quantity.Dimension
	span      span
	words     []string
	// bareIn names the argument that gives the unit of a bare number.
	bareIn string
}

// form is how an argument is written.
type form uint8

const (
	text     form = iota // read by the calculation itself
	value                // one value of a dimension
	whole                // a whole number
	word                 // one of a list
	perInch              // a bare number for each inch, or a value of one over a length
	metal                // the name of a metal, or a coefficient of expansion
	unitName             // the symbol of a unit of a dimension
)

// span is the range of a value, in SI.
type span struct {
	low, high float64
	// aboveLow and belowHigh are set where an end does not belong to the range.
	aboveLow, belowHigh bool
	// least is how small a size above zero may be; what is below cannot be meant.
	least float64
}

func (s span) holds(x float64) bool {
	switch {
	case !(x >= s.low && x <= s.high), s.aboveLow && x == s.low, s.belowHigh && x == s.high:
		return false
	}
	return s.least == 0 || math.Abs(x) >= s.least || !s.aboveLow && x == 0
}

// tooSmall reports whether x is above zero, as it must be, and still nothing that
// anybody can have meant.
func (s span) tooSmall(x float64) bool { return s.aboveLow && s.least > 0 && x > s.low && x < s.least }

// bound writes an end of a range in a unit.
func bound(si float64, u quantity.Unit) string {
	t := strconv.FormatFloat(u.In(si), 'g', 6, 64)
	if x, err := strconv.ParseFloat(t, 64); err == nil && (x == 0 || math.Abs(x) >= 1e-6 && math.Abs(x) < 1e15) {
		t = strconv.FormatFloat(x, 'f', -1, 64)
	}
	if u.Symbol == "1" {
		return t
	}
	return t + " " + u.Symbol
}

// text says the range in a unit.
func (s span) text(u quantity.Unit) string {
	number := func(si float64) string { return bound(si, u) }
	switch {
	case s.aboveLow && s.belowHigh:
		return "above " + number(s.low) + " and below " + number(s.high)
	case s.aboveLow:
		return "above " + number(s.low) + " and at most " + number(s.high)
	}
	return "from " + number(s.low) + " to " + number(s.high)
}

// The ranges. Their ends lie far outside any workshop and only keep slips of a unit or
// of a decimal from being computed with, so that no answer can overflow.
const (
	mostLength    = 100           // m
	leastLength   = 1e-9          // m
	mostVolume    = 1             // m³
	mostMass      = 1e5           // kg
	mostForce     = 1e9           // N
	leastForce    = 1e-6          // N
	mostTorque    = 1e6           // N·m
	leastTorque   = 1e-6          // N·m
	mostPressure  = 1e12          // Pa
	leastPressure = 1             // Pa
	mostSpeed     = 1e6 / 60.0    // 1/s
	leastSpeed    = 1e-3 / 60.0   // 1/s
	mostRise      = 1000          // K
	mostExpansion = 1e-3          // 1/K
	mostDensity   = 1e5           // kg/m³
	mostRate      = 1e12          // N/m
	degree        = math.Pi / 180 // rad
	mostAngle     = 36000 * degree
)

var (
	sizes     = span{low: 0, high: mostLength, aboveLow: true, least: leastLength}
	fromZero  = span{low: 0, high: mostLength}
	distances = span{low: -mostLength, high: mostLength}
)

func size(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfLength, span: sizes}
}

// amount is a length of zero or more.
func amount(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfLength, span: fromZero}
}

// distance is a length of either sign.
func distance(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfLength, span: distances}
}

func volume(name, is string, low float64) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfVolume, span: span{low: low, high: mostVolume}}
}

func angle(name, is string, s span) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfAngle, span: s}
}

func degrees(low, high float64) span { return span{low: low * degree, high: high * degree} }

var anyAngle = span{low: -mostAngle, high: mostAngle}

// besideCentre is an angle that counts from a dead centre and does not reach the other.
var besideCentre = span{low: -math.Pi, high: math.Pi, aboveLow: true, belowHigh: true}

func force(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfForce, span: span{high: mostForce, aboveLow: true, least: leastForce}}
}

func torque(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfTorque, span: span{high: mostTorque, aboveLow: true, least: leastTorque}}
}

func pressure(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfPressure, span: span{high: mostPressure, aboveLow: true, least: leastPressure}}
}

func mass(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfMass, span: span{high: mostMass}}
}

func speed(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfFrequency, span: span{high: mostSpeed, aboveLow: true, least: leastSpeed}}
}

func rise(name, is string) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfTemperatureDifference, span: span{low: -mostRise, high: mostRise}}
}

func number(name, is string, s span) Argument {
	return Argument{Name: name, Is: is, form: value, dimension: quantity.OfNumber, span: s}
}

func count(name, is string, low, high float64) Argument {
	return Argument{Name: name, Is: is, form: whole, dimension: quantity.OfNumber, span: span{low: low, high: high}}
}

func ofMetal(name, is string) Argument {
	return Argument{Name: name, Is: is, form: metal, dimension: quantity.OfExpansion, span: span{high: mostExpansion}}
}

func oneOf(name, is string, words ...string) Argument {
	return Argument{Name: name, Is: is, form: word, words: words}
}

func written(name, is string) Argument { return Argument{Name: name, Is: is} }

// or returns the argument with what stands for it where it is left out.
func (a Argument) or(text string) Argument { a.Default = text; return a }

// Takes says what may be written for the argument, its range with it: "a length above
// 0 mm and at most 100000 mm". It is "" where Is says all there is to say.
func (a Argument) Takes() string { return a.takes(quantity.Unit{}) }

// takes is Takes in the unit that somebody wrote, where it is one of the kind.
func (a Argument) takes(in quantity.Unit) string {
	switch a.form {
	case value:
		u := in
		if u.Dimension != a.dimension || u.Symbol == "" {
			u = usual(quantity.Metric, a.dimension)
		}
		says := article(a.dimension.String()) + " " + a.span.text(u)
		if a.bareIn != "" {
			says += ", or a bare number in " + a.bareIn
		}
		return says
	case whole:
		return "a whole number " + a.span.text(quantity.MustUnit("1"))
	case perInch:
		return "a plain number per inch, " + a.span.text(quantity.MustUnit("1"))
	case word:
		return listed(a.words, "or")
	case metal:
		return "the name of a metal, or an expansion coefficient " + a.span.text(quantity.MustUnit("1/K"))
	case unitName:
		return "a unit of " + a.dimension.String()
	}
	return ""
}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// metalNames lists the metals by name, for a message.
func metalNames() []string {
	var names []string
	for _, m := range measure.Metals() {
		names = append(names, m.Name)
	}
	return names
}
