package quantity

import (
	"math"
	"strconv"
	"strings"
)

// FormatNumber prints x with a fixed number of decimals, rounding halves to the
// even digit.
//
// The number is read as the decimal of fifteen significant digits that it stands
// for, so that 2.5 reached by converting units rounds as 2.5 does and not as
// 2.500 000 000 000 000 4. It is rounded once. A negative zero prints as zero.
// NaN and infinities, which no result may hold, print as "?". With decimals below
// zero, which is what a fraction has, it prints as many as the number needs, six at
// the most.
func FormatNumber(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	if decimals < 0 {
		return strings.TrimSuffix(strings.TrimRight(FormatNumber(x, 6), "0"), ".")
	}
	if x == 0 {
		return strconv.FormatFloat(0, 'f', decimals, 64)
	}
	var buf [32]byte
	text := strconv.AppendFloat(buf[:0], math.Abs(x), 'e', 14, 64) // d.dddddddddddddde±xx
	e := 0
	for i := len(text) - 1; i >= 0; i-- {
		if text[i] == 'e' {
			e, _ = strconv.Atoi(string(text[i+1:]))
			text = text[:i]
			break
		}
	}
	digits := make([]byte, 0, 40)
	digits = append(digits, text[0])
	digits = append(digits, text[2:]...)
	// digits[0] has weight 10^e; the last kept digit has weight 10^-decimals.
	keep := e + 1 + decimals
	point := e + 1 // digits before the point
	switch {
	case keep < 0:
		digits, point = []byte{'0'}, 1
	case keep < len(digits):
		up := digits[keep] > '5'
		if digits[keep] == '5' {
			up = keep > 0 && (digits[keep-1]-'0')%2 == 1
			for _, d := range digits[keep+1:] {
				up = up || d != '0'
			}
		}
		digits = digits[:keep]
		if up {
			i := keep - 1
			for ; i >= 0 && digits[i] == '9'; i-- {
				digits[i] = '0'
			}
			if i >= 0 {
				digits[i]++
			} else {
				digits = append([]byte{'1'}, digits...)
				point++
			}
		}
	}
	for len(digits) < point+decimals {
		digits = append(digits, '0')
	}
	var out strings.Builder
	zero := true
	for _, d := range digits {
		zero = zero && d == '0'
	}
	if x < 0 && !zero {
		out.WriteByte('-')
	}
	if point <= 0 {
		out.WriteByte('0')
	} else {
		out.Write(digits[:point])
	}
	if decimals > 0 {
		out.WriteByte('.')
		for i := point; i < 0; i++ {
			out.WriteByte('0')
		}
		tail := digits[max(point, 0):]
		out.Write(tail[:min(len(tail), decimals+min(point, 0))])
	}
	return out.String()
}

// Text prints a value in SI in the unit, with its symbol: "92.004 mm".
func (u Unit) Text(si float64, decimals int) string {
	return u.join(FormatNumber(u.In(si), decimals))
}

// DifferenceText prints a difference in SI in the unit; for degC and degF the
// difference of two readings.
func (u Unit) DifferenceText(si float64, decimals int) string {
	return u.join(FormatNumber(u.InDifference(si), decimals))
}

func (u Unit) join(number string) string {
	if u.Symbol == "1" || u.Symbol == "" {
		return number
	}
	return number + " " + u.Symbol
}

// Text prints the range as it would be written in a pack.
func (r Range) Text() string { return r.TextIn(r.Unit, r.Decimals) }

// TextIn prints the range in another unit of its dimension.
func (r Range) TextIn(u Unit, decimals int) string {
	switch {
	case r.HasLow && r.HasHigh:
		return FormatNumber(u.In(r.Low), decimals) + " .. " + u.Text(r.High, decimals)
	case r.HasHigh:
		return "<= " + u.Text(r.High, decimals)
	case r.HasLow:
		return ">= " + u.Text(r.Low, decimals)
	}
	return ""
}

// DecimalsFor returns how many decimals put figures significant figures into an
// uncertainty, given in the unit in which the result is printed. It never asks for
// more than 9, and for 0 when the uncertainty is large.
func DecimalsFor(uncertainty float64, figures int) int {
	u := math.Abs(uncertainty)
	if u == 0 || math.IsNaN(u) || math.IsInf(u, 0) {
		return 0
	}
	d := figures - 1 - int(math.Floor(math.Log10(u)))
	// 0.0996 prints with two figures as 0.10, not as 0.100.
	if math.Round(u*math.Pow10(d)) >= math.Pow10(figures) {
		d--
	}
	return min(max(d, 0), 9)
}

// System is a family of units.
type System uint8

// The two systems a shop works in.
const (
	Metric System = iota
	Inch
)

// String names the system by its length.
func (s System) String() string {
	if s == Inch {
		return "inch"
	}
	return "mm"
}

var shopUnits = map[Dimension][2]string{
	OfLength:      {"mm", "in"},
	OfArea:        {"mm2", "sq in"},
	OfVolume:      {"cc", "cu in"},
	OfAngle:       {"deg", "deg"},
	OfMass:        {"g", "oz"},
	OfForce:       {"N", "lbf"},
	OfTorque:      {"N·m", "ft-lb"},
	OfPressure:    {"bar", "psi"},
	OfTemperature: {"degC", "degF"},
	OfTime:        {"min", "min"},
	OfFrequency:   {"r/min", "r/min"},
	OfStiffness:   {"N/mm", "lbf/in"},
	OfDensity:     {"kg/m3", "lb/in3"},
	OfSpeed:       {"m/s", "ft/s"},
	OfUnbalance:   {"g·mm", "oz·in"},
}

// Unit returns the unit in which the system prints a dimension: the shop's usual
// one, or the SI unit spelt out where the shop has none.
func (s System) Unit(d Dimension) Unit {
	if pair, ok := shopUnits[d]; ok {
		return MustUnit(pair[s])
	}
	symbol := d.SI()
	if symbol == "1" {
		return atoms["1"]
	}
	return Unit{Symbol: symbol, Dimension: d, Factor: 1}
}

// Other returns the unit that the other system uses for what is printed in u, so
// that a value can be shown both ways; ok is false where the systems agree.
func (s System) Other(u Unit) (Unit, bool) {
	other := (1 - s).Unit(u.Dimension)
	return other, other.Dimension == u.Dimension && other.Symbol != u.Symbol
}
