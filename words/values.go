package words

import (
	"fmt"
	"math"
	"strings"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/quantity"
)

// Value prints the value of a result without its ±: "92.004 mm".
func Value(r *assess.Result) string {
	if !r.HasValue {
		return ""
	}
	return r.Unit.Text(r.Value, r.Decimals)
}

// Expanded prints the ± of a result with two figures: "0.0064 mm".
func Expanded(r *assess.Result) string {
	return r.Unit.DifferenceText(r.Expanded, plusMinusDecimals(r))
}

func plusMinusDecimals(r *assess.Result) int {
	if r.Expanded == 0 {
		return r.Decimals
	}
	return quantity.DecimalsFor(r.Unit.InDifference(r.Expanded), 2)
}

// Measured prints a value with its ±: "92.004 ± 0.005 mm".
func Measured(r *assess.Result) string {
	if !r.HasValue {
		return ""
	}
	if r.Expanded == 0 {
		return Value(r)
	}
	text := Value(r)
	symbol := ""
	if r.Unit.Symbol != "1" {
		symbol = " " + r.Unit.Symbol
		text = strings.TrimSuffix(text, symbol)
	}
	if uneven(r) {
		return text + " " + sides(r)
	}
	return text + " ± " + quantity.FormatNumber(r.Unit.InDifference(r.Expanded), shownDecimals(r)) + symbol
}

// uneven reports whether a value may be larger by another amount than it may be
// smaller, as far as that is printed.
func uneven(r *assess.Result) bool {
	if r.Below == 0 && r.Above == 0 {
		return false
	}
	less, more := evenly(r)
	return less != more
}

// evenly prints by how much a value may be smaller and larger.
func evenly(r *assess.Result) (less, more string) {
	d := shownDecimals(r)
	return quantity.FormatNumber(r.Unit.InDifference(r.Below), d), quantity.FormatNumber(r.Unit.InDifference(r.Above), d)
}

// sides prints a ±, with each side for itself where they differ: "−0.003 +0.008 mm".
func sides(r *assess.Result) string {
	if !uneven(r) {
		return r.Unit.DifferenceText(r.Expanded, shownDecimals(r))
	}
	less, more := evenly(r)
	text := "−" + less + " +" + more
	if r.Unit.Symbol != "1" {
		text += " " + r.Unit.Symbol
	}
	return text
}

// shownDecimals prints a ± to the resolution of the value where it has a figure
// there, else with two figures.
func shownDecimals(r *assess.Result) int {
	if r.Unit.InDifference(r.Expanded) >= math.Pow10(-r.Decimals) {
		return r.Decimals
	}
	return max(plusMinusDecimals(r), 0)
}

// spread prints a ± with its sign, or both sides.
func spread(r *assess.Result) string {
	if uneven(r) {
		return sides(r)
	}
	return "± " + sides(r)
}

// Range prints a band or a limit as a pack writes it, in the unit of the result.
func Range(r *assess.Result, x quantity.Range) string {
	if !x.Bounded() {
		return ""
	}
	u := x.Unit
	if u.Symbol == "" {
		u = r.Unit
	}
	return x.TextIn(u, max(x.Decimals, 0))
}

// Margin prints the distance to the nearer limit, negative beyond it.
func Margin(r *assess.Result) string {
	if !r.HasMargin || !r.HasValue {
		return ""
	}
	return r.Unit.DifferenceText(r.Margin, marginDecimals(r))
}

func marginDecimals(r *assess.Result) int { return max(r.Decimals, r.Limit.Decimals, 0) }

// Verdict says a verdict as a builder would.
func Verdict(r *assess.Result) string {
	switch r.Verdict {
	case measure.NewFit:
		return "new fit"
	case measure.Serviceable:
		switch {
		case r.New.Bounded():
			return "serviceable"
		case r.Kind == "sweep":
			return "clears"
		}
		return "within limits"
	case measure.OutOfLimits:
		if r.Kind == "dimension" && !r.Short && r.Limit.Bounded() {
			return "worn out"
		}
		return "out of limits"
	case measure.TooClose:
		return "too close to call"
	case measure.NotMeasured:
		return "not measured"
	}
	if r.Kind == "check" {
		switch {
		case r.Passed:
			return "passed"
		case r.Failed:
			return "failed"
		}
		return "not looked at"
	}
	if len(r.Blank) > 0 {
		return "no limit known"
	}
	return "no limit"
}

// Title names a result with its place: "bore, front".
func Title(title, place string) string {
	if place == "" {
		return title
	}
	return title + ", " + place
}

// Share prints a share as a percentage.
func Share(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }

// Duration prints a length of time as a shop says it.
func Duration(seconds float64) string {
	switch s := math.Abs(seconds); {
	case s < 90:
		return fmt.Sprintf("%.0f s", s)
	case s < 90*60:
		return fmt.Sprintf("%.0f min", s/60)
	case s < 36*3600:
		return trimZero(fmt.Sprintf("%.1f", s/3600)) + " h"
	default:
		return trimZero(fmt.Sprintf("%.1f", s/86400)) + " days"
	}
}

func trimZero(s string) string { return strings.TrimSuffix(s, ".0") }

// list joins words: "a, b and c".
func list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// shorten keeps a list readable: the first few and how many more.
func shorten(words []string, most int) []string {
	if len(words) <= most {
		return words
	}
	return append(append([]string(nil), words[:most]...), fmt.Sprintf("%d more", len(words)-most))
}
