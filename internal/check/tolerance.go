package check

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

const halfUnit = "half a unit of the last printed digit"

// tolerance is how far a result may lie from the printed value. One of the three
// is set.
type tolerance struct {
	digits   float64 // units of the last printed digit
	relative float64 // share of the printed value
	absolute float64 // in the unit of the cell
}

func (t tolerance) width(p Printed) float64 {
	switch {
	case t.digits > 0:
		return t.digits * p.LastDigit
	case t.relative > 0:
		return t.relative * math.Abs(p.Value)
	}
	return t.absolute
}

func parseTolerance(text string) (tolerance, error) {
	rule, why, reasoned := strings.Cut(text, "why:")
	rule = strings.Join(strings.Fields(rule), " ")
	if reasoned && strings.TrimSpace(why) == "" {
		return tolerance{}, fmt.Errorf("the tolerance %q has a why: without a reason", text)
	}
	bad := func() (tolerance, error) {
		return tolerance{}, fmt.Errorf("the tolerance %q is not understood; write %q, \"one unit of the last printed digit\", \"0.5 %%\", \"rel 1e-9\" or \"abs 1e-6\", the number above zero and a share below the whole", text, halfUnit)
	}
	switch rule {
	case halfUnit:
		return tolerance{digits: 0.5}, nil
	case "one unit of the last printed digit":
		return tolerance{digits: 1}, nil
	}
	var number string
	var scale float64
	var t tolerance
	var field *float64
	if s, ok := strings.CutSuffix(rule, "%"); ok {
		number, scale, field = s, 0.01, &t.relative
	} else if s, ok := strings.CutPrefix(rule, "rel "); ok {
		number, scale, field = s, 1, &t.relative
	} else if s, ok := strings.CutPrefix(rule, "abs "); ok {
		number, scale, field = s, 1, &t.absolute
	} else {
		return bad()
	}
	x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil || !(x > 0) || math.IsInf(x, 0) || field == &t.relative && x*scale >= 1 {
		return bad()
	}
	*field = x * scale
	return t, nil
}

// Printed is a number as it stands in print.
type Printed struct {
	// Value is the number, in the unit it is printed in.
	Value float64
	// LastDigit is the worth of one unit of its last digit: 0.01 for 7.50.
	LastDigit float64
	// Unit is what follows the number, "" if nothing does.
	Unit string
}

var printed = regexp.MustCompile(`^([+-]?)([0-9]*)(?:\.([0-9]*))?(?:[eE]([+-]?[0-9]{1,3}))?(.*)$`)

// Number reads a cell: a decimal number, and after a space its unit if it has one
// ("92.004 mm", "-28", "1.50e-3 m", "2.2 %"). Digits are not grouped, and a sign
// may be typed as a hyphen or as a minus.
func Number(cell string) (Printed, error) {
	text := strings.TrimSpace(cell)
	if rest, ok := strings.CutPrefix(text, "−"); ok {
		text = "-" + rest
	}
	bad := fmt.Errorf("the cell %q is not a number with or without a unit", cell)
	m := printed.FindStringSubmatch(text)
	if m == nil || m[2]+m[3] == "" {
		return Printed{}, bad
	}
	tail := m[5]
	unit := strings.TrimSpace(tail)
	if unit != "" {
		// "6 894.757" is one number in groups and "1/2 in" a fraction, and neither
		// may be read as its first digits.
		attached := tail == unit && unit != "%" && !strings.HasPrefix(unit, "°")
		if attached || strings.ContainsAny(unit[:1], "0123456789.,+-/") && !strings.HasPrefix(unit, "1/") {
			return Printed{}, bad
		}
	}
	exponent := 0
	if m[4] != "" {
		exponent, _ = strconv.Atoi(m[4])
	}
	value, err := strconv.ParseFloat(m[1]+m[2]+"."+m[3]+"e"+strconv.Itoa(exponent), 64)
	if err != nil {
		return Printed{}, bad
	}
	last, err := strconv.ParseFloat("1e"+strconv.Itoa(exponent-len(m[3])), 64)
	if err != nil {
		return Printed{}, bad
	}
	return Printed{Value: value, LastDigit: last, Unit: unit}, nil
}

// Disagreement says by how much a result misses a printed value.
type Disagreement struct {
	// Cell is the printed value and Got the result, in the same unit.
	Cell string
	Got  float64
	// Off is how far apart they are, and Allowed how far they may be.
	Off, Allowed float64
	// Tolerance is the rule that Allowed comes from.
	Tolerance string
}

// Error says both values, how far apart they are and what is allowed.
func (d *Disagreement) Error() string {
	return fmt.Sprintf("got %.10g, printed %s: off by %.3g, allowed %.3g (%s)", d.Got, d.Cell, d.Off, d.Allowed, d.Tolerance)
}
