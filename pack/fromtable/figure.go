package fromtable

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"
)

// figure is one printed number, held exactly.
type figure struct {
	printed string   // as the table has it
	value   *big.Rat // negative for a tight fit
	last    *big.Rat // one unit of the last place printed
	places  int      // decimals printed; -1 for a fraction
}

var (
	decimalForm  = regexp.MustCompile(`^([+-]?)(\d*)(?:\.(\d*))?$`)
	fractionForm = regexp.MustCompile(`^(?:(\d+)-)?(\d+)/(\d+)$`)
	minutesForm  = regexp.MustCompile(`^(\d+) (\d+)'$`)
)

// longestFigure bounds the digits looked at: no size is printed longer.
const longestFigure = 24

// readFigure reads ".0309", "+0.0002", "7/64", "6-1/4" and "0.003T" (tight: an
// interference, so a negative clearance). Anything else is an error that says why;
// a decimal comma is refused, never guessed.
func readFigure(cell string) (figure, error) {
	f := figure{printed: cell}
	text, tight := strings.CutSuffix(cell, "T")
	switch {
	case len(cell) > longestFigure:
		return f, fmt.Errorf("%q is too long for a figure", cell)
	case strings.Contains(cell, ","):
		return f, fmt.Errorf("%q has a comma, and whether it marks decimals is never guessed", cell)
	}
	if m := fractionForm.FindStringSubmatch(text); m != nil {
		bottom := whole(m[3])
		if bottom.Sign() == 0 {
			return f, fmt.Errorf("%q divides by zero", cell)
		}
		f.value = new(big.Rat).Quo(whole(m[2]), bottom)
		f.value.Add(f.value, whole(m[1]))
		f.last, f.places = new(big.Rat).Inv(bottom), -1
	} else if m := decimalForm.FindStringSubmatch(text); m != nil && m[2]+m[3] != "" {
		f.value = whole(m[2] + m[3])
		f.places = len(m[3])
		f.last = new(big.Rat).Inv(tenTo(f.places))
		f.value.Mul(f.value, f.last)
		if m[1] == "-" {
			f.value.Neg(f.value)
		}
	} else {
		return f, fmt.Errorf("%q is not a figure", cell)
	}
	if tight {
		f.value.Neg(f.value)
	}
	return f, nil
}

// readDegrees reads "45 45'" as degrees and minutes, and plain degrees.
func readDegrees(cell string) (figure, error) {
	m := minutesForm.FindStringSubmatch(cell)
	if m == nil {
		return readFigure(cell)
	}
	minutes := whole(m[2])
	if minutes.Cmp(whole("60")) >= 0 {
		return figure{printed: cell}, fmt.Errorf("%q has 60 minutes or more", cell)
	}
	minute := big.NewRat(1, 60)
	value := new(big.Rat).Mul(minutes, minute)
	return figure{printed: cell, value: value.Add(value, whole(m[1])), last: minute, places: -1}, nil
}

// whole reads digits; none are zero.
func whole(digits string) *big.Rat {
	if digits == "" {
		return new(big.Rat)
	}
	r, _ := new(big.Rat).SetString(digits)
	return r
}

func tenTo(n int) *big.Rat {
	return new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil))
}

// write returns a figure as the pack language writes it: with its printed
// decimals, or as a fraction.
func (f figure) write() string { return writeRat(f.value, f.places) }

// writeRat writes r with that many decimals where it is exact in them, and
// otherwise as a fraction, "7/64" or "45-1/3".
func writeRat(r *big.Rat, places int) string {
	if text := r.FloatString(max(places, 0)); places >= 0 || r.IsInt() {
		if back, _ := new(big.Rat).SetString(text); back.Cmp(r) == 0 {
			return text
		}
	}
	sign, abs := "", new(big.Rat).Abs(r)
	if r.Sign() < 0 {
		sign = "-"
	}
	units, rest := new(big.Int).QuoRem(abs.Num(), abs.Denom(), new(big.Int))
	if units.Sign() == 0 {
		return fmt.Sprintf("%s%s/%s", sign, rest, abs.Denom())
	}
	return fmt.Sprintf("%s%s-%s/%s", sign, units, rest, abs.Denom())
}

// finest returns the smallest last place of the figures.
func finest(figures ...*figure) *big.Rat {
	var best *big.Rat
	for _, f := range figures {
		if f != nil && (best == nil || f.last.Cmp(best) < 0) {
			best = f.last
		}
	}
	return best
}

// writeStep writes a last place: "0.0001", "1/64", "1".
func writeStep(last *big.Rat) string {
	for places := range longestFigure {
		if new(big.Rat).Inv(tenTo(places)).Cmp(last) == 0 {
			return last.FloatString(places)
		}
	}
	return writeRat(last, -1)
}

// sum adds two figures, keeping the finer decimals.
func sum(a, b figure, sign int64) figure {
	value := new(big.Rat).Mul(b.value, big.NewRat(sign, 1))
	out := figure{value: value.Add(value, a.value), last: finest(&a, &b), places: max(a.places, b.places)}
	if a.places < 0 || b.places < 0 {
		out.places = -1
	}
	out.printed = out.write()
	return out
}

// negated turns a clearance into an interference.
func (f figure) negated() figure {
	f.value = new(big.Rat).Neg(f.value)
	return f
}

func (f figure) less(g figure) bool { return f.value.Cmp(g.value) < 0 }
