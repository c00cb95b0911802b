package measure

import (
	"testing"

	"buttonup/quantity"
)

// Each side of a value counts for the limit on its side. The rule is that of Judge with
// an end in the place of x ± U; even sides give what Judge gives.
func TestJudgeBetween(t *testing.T) {
	upper := Limits{Limit: quantity.Range{High: 10, HasHigh: true}}
	lower := Limits{Limit: quantity.Range{Low: 10, HasLow: true}}
	for _, c := range []struct {
		x, low, high float64
		limits       Limits
		want         Verdict
	}{
		{9, 8.9, 9.9, upper, Serviceable}, // far below on one side, near on the other
		{9, 5, 9.9, upper, Serviceable},   // what lies below does not count
		{9, 8.9, 10.1, upper, TooClose},
		{11, 10.1, 15, upper, OutOfLimits},
		{11, 9.9, 11.1, upper, TooClose},
		{11, 10.1, 15, lower, Serviceable},
		{11, 9.9, 11, lower, TooClose},
		{9, 5, 9.9, lower, OutOfLimits},
		{9, 9.2, 9.9, upper, Serviceable}, // both ends above x: it counts as the lower one
		{9, 8.5, 9.5, Limits{New: quantity.Range{Low: 8.6, High: 9.4, HasLow: true, HasHigh: true}, GuardNew: true}, TooClose},
		{9, 8.7, 9.5, Limits{New: quantity.Range{Low: 8.6, High: 9.4, HasLow: true, HasHigh: true}, GuardNew: true}, TooClose},
		{9, 8.7, 9.3, Limits{New: quantity.Range{Low: 8.6, High: 9.4, HasLow: true, HasHigh: true}, GuardNew: true}, NewFit},
		{9.5, 9.45, 9.9, Limits{New: quantity.Range{High: 9.4, HasHigh: true}}, OutOfLimits},
		{9.5, 9.3, 9.51, Limits{New: quantity.Range{High: 9.4, HasHigh: true}}, TooClose},
	} {
		if got := JudgeBetween(c.x, c.low, c.high, c.limits).Verdict; got != c.want {
			t.Errorf("%v in %v .. %v: %v, want %v", c.x, c.low, c.high, got, c.want)
		}
	}
	for x := 8.0; x < 12; x += 0.1 {
		for _, u := range []float64{0, 0.3, 1} {
			if a, b := Judge(x, u, upper), JudgeBetween(x, x-u, x+u, upper); a.Verdict != b.Verdict {
				t.Errorf("%v ± %v: %v and %v", x, u, a.Verdict, b.Verdict)
			}
		}
	}
}
