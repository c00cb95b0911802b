package words

import (
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/quantity"
)

func bandOf(t *testing.T, text string) quantity.Range {
	t.Helper()
	r, err := quantity.ParseRange(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func boreResult(t *testing.T) *assess.Result {
	return &assess.Result{Kind: "dimension", Name: "bore", Title: "Bore", Place: "rear", Value: 0.092088, HasValue: true, Expanded: 5.1e-6,
		Unit: quantity.MustUnit("mm"), Decimals: 3, New: bandOf(t, "92.000 .. 92.013 mm"), Limit: bandOf(t, "<= 92.090 mm"),
		Judgement: measure.Judgement{Verdict: measure.TooClose, Margin: 2e-6, HasMargin: true, Settles: 2e-6}}
}

func TestResultsAreShownInEitherSystem(t *testing.T) {
	r := boreResult(t)
	if got := Shown(ResultIn(r, quantity.Metric)); got != "92.088 ±0.005 mm" {
		t.Error(got)
	}
	// 92.088 mm / 25.4 = 3.625 51 in, 0.0051 mm = 0.0002 in, 92.013 mm = 3.622 56 in.
	in := ResultIn(r, quantity.Inch)
	if got := Shown(in); got != "3.6255 ±0.0002 in" {
		t.Error(got)
	}
	if got := Wanted(in); got != "new 3.6220 to 3.6226 in, limit up to 3.6256 in" {
		t.Error(got)
	}
	if r.Unit.Symbol != "mm" || r.New.Unit.Symbol != "mm" {
		t.Error("the result itself was changed")
	}
}

func TestUnitsOfEitherSystem(t *testing.T) {
	for _, c := range []struct {
		unit     string
		decimals int
		system   quantity.System
		want     string
		figures  int
	}{
		{"mm", 3, quantity.Inch, "in", 4},
		{"mm", 2, quantity.Inch, "in", 4},
		{"mm", 1, quantity.Inch, "in", 3},
		{"mm", 5, quantity.Metric, "mm", 3},
		{"in", 4, quantity.Metric, "mm", 3},
		{"in", 5, quantity.Inch, "in", 4},
		{"N·m", 0, quantity.Inch, "ft-lb", 0},
		{"deg", 1, quantity.Inch, "deg", 1},
		{"µm", 1, quantity.Inch, "thou", 3},
		{"1", 2, quantity.Inch, "1", 2},
		{"degC", 0, quantity.Inch, "degF", 0},
	} {
		u, d := UnitIn(quantity.MustUnit(c.unit), c.decimals, c.system)
		if u.Symbol != c.want || d != c.figures {
			t.Errorf("%s with %d decimals in %s: %s with %d, want %s with %d", c.unit, c.decimals, c.system, u.Symbol, d, c.want, c.figures)
		}
	}
}

func TestPlusMinusIsNeverShownAsNothing(t *testing.T) {
	r := boreResult(t)
	r.Expanded = 1e-8
	if _, got, _ := Parts(r); got != "±0.001" {
		t.Error(got)
	}
	r.Expanded = 0
	if _, got, _ := Parts(r); got != "" {
		t.Error(got)
	}
}

func TestSettleSaysWhatToDo(t *testing.T) {
	r := boreResult(t)
	if got := Settle(r, ""); got != "The edge lies inside ±0.005 mm. Read it with less than ±0.002 mm, or rework it." {
		t.Error(got)
	}
	if got := Settle(r, "bg-2"); !strings.HasSuffix(got, ": bg-2 can settle it.") {
		t.Error(got)
	}
	r.Judgement = measure.Judgement{Verdict: measure.OutOfLimits, Margin: -8e-6, HasMargin: true}
	if got := Settle(r, ""); got != "Over by 0.008 mm. Replace or rework it." {
		t.Error(got)
	}
	r.Judgement = measure.Judgement{Verdict: measure.NotMeasured}
	r.Missing, r.Readings = []string{"10 mm thrust", "10 mm pin"}, 6
	if got := Settle(r, ""); got != "So far; still to read: 10 mm thrust and 10 mm pin." {
		t.Error(got)
	}
}

func TestSlipsAreAskedInAWholeSentence(t *testing.T) {
	s := Slip(measure.Slip{Kind: measure.InchForMillimetre, HasMeant: true}, "3.6222 mm", "3.6222 in", "Bore 10 mm thrust", "new 92.000 to 92.013 mm", "")
	if s.Says != "Is 3.6222 mm right for Bore 10 mm thrust?" || s.Do != "Did you mean 3.6222 in?" || len(s.Because) != 2 {
		t.Errorf("%+v", s)
	}
	s = Slip(measure.Slip{Kind: measure.JumpToNeighbour}, "92.255 mm", "", "Bore", "", "92.006 mm")
	if s.Do != "" || s.Because[0] != "The nearest of the other readings is 92.006 mm." {
		t.Errorf("%+v", s)
	}
}
