package fit

import (
	"math"
	"strconv"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// The nominal sizes that the tables cover, both included.
const (
	Smallest = quantity.Length(0.001)
	Largest  = quantity.Length(0.500)
)

// Limits returns the smallest and the largest size that a class allows for a hole
// ("H7", a capital letter) or a shaft ("g6", a small one) of a nominal size.
//
//	low = size + EI or ei,  high = size + ES or es
//
// Errors as [Deviations].
func Limits(size quantity.Length, grade string) (low, high quantity.Length, err error) {
	lower, upper, err := Deviations(size, grade)
	if err != nil {
		return 0, 0, err
	}
	return size + lower, size + upper, nil
}

// Deviations returns how far the limits of a class lie from the nominal size: EI
// and ES of a hole, ei and es of a shaft. Either may be negative.
//
// One deviation, the fundamental one, is in the tables; the other lies the width
// of the grade away. For js and JS both lie half of it away, not rounded, although
// for an odd width in the grades 7 to 11 the standard lets them be rounded down.
// For the holes K to S:
//
//	ES = −ei + Δ,  Δ = ITn − IT(n−1)    K M N up to IT8, P R S up to IT7, over 3 mm
//	ES = −ei                            P R S above, M above, all up to 3 mm
//
// where ei is that of the shaft of the same letter, for K in its grades 4 to 7.
// Two values stand apart from the rule: M6 over 250 up to 315 mm is −9 µm, and N
// above IT8 over 3 mm is 0.
//
// A size on the end of a step belongs to that step: 30 mm is in "over 18 up to 30".
//
// Errors: a size that is not from 1 to 500 mm; a letter or grade that is not known;
// and what the tables do not give: K above IT8 over 3 mm, K to S as holes below
// IT3, N above IT8 and any class above IT13 at 1 mm. The result is never NaN.
//
// Source: ISO 286-1, tables of grades and fundamental deviations. Seen: reprints,
// listed in docs/sources/iso-286.md. Not seen: the standard.
func Deviations(size quantity.Length, grade string) (lower, upper quantity.Length, err error) {
	mm, err := nominal(size)
	if err != nil {
		return 0, 0, err
	}
	c, err := parseClass(grade)
	if err != nil {
		return 0, 0, err
	}
	if err := c.given(mm); err != nil {
		return 0, 0, err
	}
	width := widthOf(mm, c.grade)
	if c.letter == "js" {
		half := quantity.Micrometres(width / 2)
		return -half, half, nil
	}
	// First as a shaft.
	distance, over := c.fundamental(mm) // over: the shaft lies above the nominal size
	switch {
	case !c.hole && over:
		return quantity.Micrometres(distance), quantity.Micrometres(distance + width), nil
	case !c.hole:
		return quantity.Micrometres(-distance - width), quantity.Micrometres(-distance), nil
	case !over: // D to H mirror d to h.
		return quantity.Micrometres(distance), quantity.Micrometres(distance + width), nil
	}
	top := c.top(mm, distance)
	return quantity.Micrometres(top - width), quantity.Micrometres(top), nil
}

// Tolerance returns the width of a standard tolerance grade ("IT7", or "7") at a
// nominal size.
//
// Errors: a size that is not from 1 to 500 mm, a grade that is not known, and a
// grade above IT13 at 1 mm, where the table gives none.
//
// Source: ISO 286-1, table of standard tolerance grades. Seen: two reprints, listed
// in docs/sources/iso-286.md. Not seen: the standard.
func Tolerance(size quantity.Length, grade string) (quantity.Length, error) {
	mm, err := nominal(size)
	if err != nil {
		return 0, err
	}
	n, ok := parseGrade(strings.TrimPrefix(strings.TrimSpace(grade), "IT"))
	if !ok {
		return 0, argument.Refuse("grade", "the tolerance grade "+strconv.Quote(grade)+" is not known", "write IT and one of the grades "+grades)
	}
	if mm <= 1 && n > 13 {
		return 0, coarse(mm)
	}
	return quantity.Micrometres(widthOf(mm, n)), nil
}

// Clearance returns the least and the greatest clearance of a hole and a shaft of
// one nominal size. A negative clearance is interference: an H7/p6 goes from a
// negative least to a negative greatest, and a transition fit has both signs.
//
//	min = EI − es,  max = ES − ei
//
// It is what the drawing allows, not what two parts that have been measured have.
//
// Errors as [Deviations], and a shaft's class where the hole's belongs or the other
// way round.
//
// Source: ISO 286-1, definitions (memory), and ISO 286-2 rows as reprinted, listed in
// docs/sources/iso-286.md.
func Clearance(size quantity.Length, hole, shaft string) (min, max quantity.Length, err error) {
	for _, part := range []struct {
		name, grade string
		hole        bool
	}{{"hole", hole, true}, {"shaft", shaft, false}} {
		c, err := parseClass(part.grade)
		if err != nil {
			return 0, 0, err
		}
		if c.hole != part.hole {
			return 0, 0, argument.Refuse(part.name, c.String()+" is not the class of a "+part.name, "a hole has capital letters and a shaft small ones, like H7 and g6")
		}
	}
	EI, ES, err := Deviations(size, hole)
	if err != nil {
		return 0, 0, err
	}
	ei, es, err := Deviations(size, shaft)
	if err != nil {
		return 0, 0, err
	}
	return EI - es, ES - ei, nil
}

// nominal is the size in mm. It is rounded to the nanometre, so that 30 mm reached
// by converting units is on the end of its step and not past it.
func nominal(size quantity.Length) (float64, error) {
	mm := math.Round(size.Millimetres()*1e6) / 1e6
	if !(mm >= Smallest.Millimetres() && mm <= Largest.Millimetres()) {
		return 0, argument.Refuse("size", "the nominal size "+strconv.FormatFloat(size.Millimetres(), 'g', 6, 64)+" mm must be from 1 to 500 mm", "outside that the tables are others")
	}
	return mm, nil
}

func widthOf(mm float64, grade int) float64 {
	return widths[stepOf(steps[:], mm)][grade-lowestGrade]
}

func coarse(mm float64) error {
	return argument.Refuse("grade", "the grades above IT13 are not given at "+strconv.FormatFloat(mm, 'g', 6, 64)+" mm", "they begin above 1 mm")
}

// given refuses what the tables leave empty.
func (c class) given(mm float64) error {
	_, over := c.fundamental(mm)
	over = over && c.letter != "js"
	at := " at " + strconv.FormatFloat(mm, 'g', 6, 64) + " mm"
	switch {
	case mm <= 1 && c.grade > 13:
		return coarse(mm)
	case c.hole && over && c.grade < 3:
		return argument.Refuse("grade", c.String()+" is not given: hole deviations from K on begin with grade 3", "use grade 3 or above")
	case c.hole && c.letter == "k" && c.grade > 8 && mm > 3:
		return argument.Refuse("grade", c.String()+" is not given"+at, "over 3 mm K ends with grade 8")
	case c.hole && c.letter == "n" && c.grade > 8 && mm <= 1:
		return argument.Refuse("grade", c.String()+" is not given"+at, "N above grade 8 begins above 1 mm")
	}
	return nil
}

// fundamental is the distance of the near limit of the shaft of this letter from
// the nominal size, and whether the shaft lies over it.
func (c class) fundamental(mm float64) (distance float64, over bool) {
	if row, ok := above[c.letter]; ok {
		return row[stepOf(steps[:], mm)], false
	}
	if row, ok := fineBelow[c.letter]; ok {
		return row[stepOf(fineSteps[:], mm)], true
	}
	distance = below[c.letter][stepOf(steps[:], mm)]
	if c.letter == "k" && !c.hole && (c.grade < 4 || c.grade > 7) {
		distance = 0
	}
	return distance, true
}

// top is the upper deviation ES of the holes K to S, from the shaft's ei.
func (c class) top(mm, ei float64) float64 {
	lastWithDelta := 7 // P R S
	if c.letter == "k" || c.letter == "m" || c.letter == "n" {
		lastWithDelta = 8
	}
	switch {
	case c.letter == "m" && c.grade == 6 && mm > 250 && mm <= 315:
		return -9
	case c.letter == "n" && c.grade > 8 && mm > 3:
		return 0
	case mm > 3 && c.grade <= lastWithDelta:
		return -ei + delta(mm, c.grade)
	}
	return -ei
}

// delta is Δ = ITn − IT(n−1), by which a hole of a fine grade moves up so that it
// gives with the shaft of the next finer grade the fit of the same letter.
func delta(mm float64, grade int) float64 {
	return widthOf(mm, grade) - widthOf(mm, grade-1)
}
