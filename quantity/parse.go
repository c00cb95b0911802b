package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// ParseError says why a text is not a quantity.
type ParseError struct {
	// Text is what was written, shortened if it is long.
	Text string
	// Says is what is wrong, as a sentence without a full stop.
	Says string
	// Do is what to write instead; it may be empty.
	Do string
}

// Error returns what is wrong and, after a semicolon, what to do.
func (e *ParseError) Error() string {
	if e.Do == "" {
		return e.Says
	}
	return e.Says + "; " + e.Do
}

// quote shows a piece of somebody's text in a message, shortened.
func quote(text string) string {
	const longest = 40
	if utf8.RuneCountInString(text) > longest {
		text = string([]rune(text)[:longest]) + "…"
	}
	return strconv.Quote(text)
}

func refuse(text, says, do string) error {
	return &ParseError{Text: text, Says: says, Do: do}
}

// longestText bounds what is looked at: no quantity is longer.
const longestText = 200

// Value is a number of a dimension, in SI.
type Value struct {
	SI        float64
	Dimension Dimension
}

// Quantity is one value as somebody wrote it: the value, and how it was written.
type Quantity struct {
	Value
	// Unit is the unit it was written in; for a bare number the unit "1".
	Unit Unit
	// Decimals counts the digits after the point as written, an exponent written
	// out; -1 for a fraction.
	Decimals int
}

// Range is a band of values, or one side of it.
type Range struct {
	// Low and High are the ends in SI; an end counts only if its flag is set.
	Low, High       float64
	HasLow, HasHigh bool
	Dimension       Dimension
	Unit            Unit
	// Decimals counts the digits after the point as in [Quantity]; -1 too if the
	// range was written in two units.
	Decimals int
}

// decimalsOfBoth is how many decimals show both numbers as they were written.
func decimalsOfBoth(a, b number, first, second Unit) int {
	if a.decimals < 0 || b.decimals < 0 || first.Symbol != second.Symbol {
		return -1
	}
	return max(a.decimals, b.decimals)
}

// Contains reports whether si lies inside the range, its ends included.
func (r Range) Contains(si float64) bool {
	return (!r.HasLow || si >= r.Low) && (!r.HasHigh || si <= r.High)
}

// Bounded reports whether the range has an end at all.
func (r Range) Bounded() bool { return r.HasLow || r.HasHigh }

// Shape is the distribution that an uncertainty stands for.
type Shape uint8

// The shapes. A rectangular half-width is √3, a triangular √6 and an arcsine √2
// standard uncertainties.
const (
	Normal Shape = iota
	Rectangular
	Triangular
	Arcsine
)

var shapeNames = [...]string{"normal", "rectangular", "triangular", "arcsine"}

// String returns the word that is written for the shape.
func (s Shape) String() string { return shapeNames[s] }

// HalfWidth returns how many standard uncertainties the half-width of the shape
// has; infinite for normal.
func (s Shape) HalfWidth() float64 {
	switch s {
	case Rectangular:
		return math.Sqrt(3)
	case Triangular:
		return math.Sqrt(6)
	case Arcsine:
		return math.Sqrt2
	}
	return math.Inf(1)
}

// Uncertain is a value with its standard uncertainty.
type Uncertain struct {
	Quantity
	// Standard is the standard uncertainty (k = 1) in SI, 0 for an exact value.
	Standard float64
	// Dof is the degrees of freedom of the uncertainty, +Inf if not stated.
	Dof   float64
	Shape Shape
}

// LooksLike reports whether text begins as a quantity does: with a digit, a sign
// or a point, after "<=" or ">=" too. Anything else is never a quantity.
func LooksLike(text string) bool {
	text = strings.TrimSpace(text)
	for _, p := range []string{"<=", ">=", "≤", "≥"} {
		if rest, ok := strings.CutPrefix(text, p); ok {
			text = strings.TrimSpace(rest)
			break
		}
	}
	if text == "" {
		return false
	}
	c := text[0]
	return c >= '0' && c <= '9' || c == '+' || c == '-' || c == '.' || strings.HasPrefix(text, "−") || strings.HasPrefix(text, "±")
}

// Parse reads one value: "92.004 mm", ".0015 in", "1-1/2 in", "2-1/6 turns",
// "20 degC", or a bare number. A space parts the number from its unit; only % and °
// may touch it. A range or a value with ± is refused, and so is a decimal comma,
// which is never guessed. The number is 0 or between 1e-30 and 1e30 in size.
func Parse(text string) (Quantity, error) {
	s := scanner{text: strings.TrimSpace(text)}
	if err := s.check(); err != nil {
		return Quantity{}, err
	}
	n, err := s.number()
	if err != nil {
		return Quantity{}, err
	}
	s.space()
	switch {
	case s.at(".."), s.hyphenRange():
		return Quantity{}, refuse(s.text, quote(s.text)+" is a range", "one value is needed here")
	case s.at("±"), s.at("+-"), s.at("+/-"):
		return Quantity{}, refuse(s.text, quote(s.text)+" carries a ±", "one value without ± is needed here")
	}
	u, err := s.unit()
	if err != nil {
		return Quantity{}, err
	}
	return n.in(u), nil
}

// ParseRange reads a band: "92.000 .. 92.013 mm", "16-20 ft-lb" as manuals print
// it, "<= 92.090 mm", ">= 1.0 mm", "178.00 ± 0.03 mm" as a tolerance.
func ParseRange(text string) (Range, error) {
	s := scanner{text: strings.TrimSpace(text)}
	if err := s.check(); err != nil {
		return Range{}, err
	}
	side := 0
	switch {
	case s.skip("<="), s.skip("≤"):
		side = 1
	case s.skip(">="), s.skip("≥"):
		side = -1
	case s.at("<"), s.at(">"):
		return Range{}, refuse(s.text, quote(s.text)+" has a bare < or >", "write <= or >=")
	}
	s.space()
	a, err := s.number()
	if err != nil {
		return Range{}, err
	}
	s.space()
	if side != 0 {
		u, err := s.unit()
		if err != nil {
			return Range{}, err
		}
		q := a.in(u)
		r := Range{Dimension: q.Dimension, Unit: u, Decimals: q.Decimals}
		if side > 0 {
			r.High, r.HasHigh = q.SI, true
		} else {
			r.Low, r.HasLow = q.SI, true
		}
		return r, nil
	}
	first, hasUnit, err := s.innerUnit()
	if err != nil {
		return Range{}, err
	}
	switch {
	case s.skip(".."), s.hyphenRange() && s.skipHyphen():
		b, u, err := s.second()
		if err != nil {
			return Range{}, err
		}
		if !hasUnit {
			first = u
		}
		low, high := a.in(first), b.in(u)
		if low.Dimension != high.Dimension {
			return Range{}, refuse(s.text, "the ends of "+quote(s.text)+" are a "+low.Dimension.String()+" and a "+high.Dimension.String(), "give both the same unit")
		}
		if low.SI > high.SI {
			return Range{}, refuse(s.text, "the range "+quote(s.text)+" runs downwards", "write the smaller value first")
		}
		return Range{Low: low.SI, High: high.SI, HasLow: true, HasHigh: true, Dimension: u.Dimension, Unit: u, Decimals: decimalsOfBoth(a, b, first, u)}, nil
	case s.plusMinus():
		t, u, err := s.second()
		if err != nil {
			return Range{}, err
		}
		if !hasUnit {
			first = u
		}
		q, tol := a.in(first), t.difference(u)
		if first.Dimension.Difference() != u.Dimension.Difference() {
			return Range{}, refuse(s.text, "in "+quote(s.text)+" a "+first.Dimension.String()+" has a tolerance that is a "+u.Dimension.String(), "give both the same unit")
		}
		if tol < 0 {
			return Range{}, refuse(s.text, "the tolerance in "+quote(s.text)+" is negative", "write it without a sign")
		}
		low, high := q.SI-tol, q.SI+tol
		if d := max(a.decimals, t.decimals); first.Symbol == u.Symbol && a.decimals >= 0 && t.decimals >= 0 && !a.exponent && !t.exponent {
			// Add in decimal so that 178.00 ± 0.03 ends on 178.03 exactly.
			low, high = snap(first, low, d), snap(first, high, d)
		}
		return Range{Low: low, High: high, HasLow: true, HasHigh: true, Dimension: q.Dimension, Unit: first, Decimals: decimalsOfBoth(a, t, first, u)}, nil
	}
	if hasUnit && s.rest() == "" {
		return Range{}, refuse(s.text, quote(s.text)+" is one value, and a range is needed", `write both ends ("1.0 .. 1.5 mm"), one side ("<= 1.5 mm") or a tolerance ("1.2 ± 0.1 mm")`)
	}
	if _, err := s.unit(); err != nil {
		return Range{}, err
	}
	return Range{}, refuse(s.text, quote(s.text)+" is one value, and a range is needed", `write both ends ("1.0 .. 1.5 mm"), one side ("<= 1.5 mm") or a tolerance ("1.2 ± 0.1 mm")`)
}

// snap rewrites si as the value of its decimal writing in u.
func snap(u Unit, si float64, decimals int) float64 {
	n, err := strconv.ParseFloat(FormatNumber(u.In(si), decimals), 64)
	if err != nil {
		return si
	}
	return number{value: n, mantissa: int64(math.Round(n * math.Pow10(decimals))), decimals: decimals, small: math.Abs(n) < 1e6 && decimals <= 8}.in(u).SI
}

// ParseUncertain reads a value with its uncertainty.
//
// "VALUE ± U" has U expanded with k = 2 and normal; "k=1" and "dof=18" may follow.
// With a shape word (rectangular, triangular, arcsine) k must be written, and U/k
// is always the standard uncertainty. "0.2 .. 0.6 mm rectangular" gives the ends of
// the shape instead. U may be a share of the value: "480 N ± 2 %". A value alone is
// exact.
func ParseUncertain(text string) (Uncertain, error) {
	s := scanner{text: strings.TrimSpace(text)}
	if err := s.check(); err != nil {
		return Uncertain{}, err
	}
	options, err := s.cutOptions()
	if err != nil {
		return Uncertain{}, err
	}
	a, err := s.number()
	if err != nil {
		return Uncertain{}, err
	}
	s.space()
	first, hasUnit, err := s.innerUnit()
	if err != nil {
		return Uncertain{}, err
	}
	out := Uncertain{Dof: options.dof, Shape: options.shape}
	switch {
	case s.plusMinus():
		b, u, err := s.second()
		if err != nil {
			return Uncertain{}, err
		}
		if !hasUnit {
			first = u
		}
		out.Quantity = a.in(first)
		share := u.Symbol == "%" && first.Symbol != "%"
		if !share && first.Dimension.Difference() != u.Dimension.Difference() {
			return Uncertain{}, refuse(s.text, "in "+quote(s.text)+" a "+first.Dimension.String()+" has a ± that is a "+u.Dimension.String(), "give both the same unit")
		}
		if share && first.Dimension.Point {
			return Uncertain{}, refuse(s.text, "a share of a temperature says nothing, as in "+quote(s.text), "write the ± in the unit of the temperature")
		}
		expanded := b.difference(u)
		if share {
			expanded = math.Abs(out.SI) * b.value / 100
		}
		if expanded < 0 {
			return Uncertain{}, refuse(s.text, "the ± in "+quote(s.text)+" is negative", "write it without a sign")
		}
		if options.k == 0 {
			if options.shape != Normal {
				return Uncertain{}, refuse(s.text, quote(s.text)+" names a shape but not what its ± is a multiple of", `write k= too, or give the ends: "0.2 .. 0.6 mm rectangular"`)
			}
			options.k = 2
		}
		out.Standard = expanded / options.k
		return out, nil
	case s.skip(".."), s.hyphenRange() && s.skipHyphen():
		b, u, err := s.second()
		if err != nil {
			return Uncertain{}, err
		}
		if !hasUnit {
			first = u
		}
		low, high := a.in(first), b.in(u)
		if low.Dimension != high.Dimension || low.SI > high.SI {
			return Uncertain{}, refuse(s.text, "the ends of "+quote(s.text)+" are not two rising values of one kind", "write the smaller first, both in one unit")
		}
		if options.shape == Normal || options.k != 0 {
			return Uncertain{}, refuse(s.text, quote(s.text)+" gives ends but not the shape between them", "write rectangular, triangular or arcsine after the unit, without k=")
		}
		out.Quantity = Quantity{Value{(low.SI + high.SI) / 2, u.Dimension}, u, decimalsOfBoth(a, b, first, u)}
		out.Standard = (high.SI - low.SI) / 2 / options.shape.HalfWidth()
		return out, nil
	}
	if options.any {
		return Uncertain{}, refuse(s.text, quote(s.text)+" has no ±", `write "VALUE ± U UNIT"`)
	}
	u := first
	if !hasUnit {
		if u, err = s.unit(); err != nil {
			return Uncertain{}, err
		}
	} else if s.rest() != "" {
		return Uncertain{}, s.trailing()
	}
	out.Quantity = a.in(u)
	return out, nil
}
