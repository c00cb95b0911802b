package words

import (
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
)

// A page says a limit as a builder would; a command line says it as the pack does.
func TestLimitsAreSpeltForTheReader(t *testing.T) {
	r := boreResult(t)
	r.Judgement = measure.Judgement{Verdict: measure.OutOfLimits, Margin: -8e-6, HasMargin: true}
	f := &assess.Finding{Code: assess.CodeOutOfLimits, Title: "Bore", Place: "rear", Result: r}
	if got := FindingIn(&pack.Pack{}, f, quantity.Metric).Says; !strings.Contains(got, "limit up to 92.090 mm") || strings.Contains(got, "<") {
		t.Error(got)
	}
	if got := Finding(f).Says; !strings.Contains(got, "limit <= 92.090 mm") {
		t.Error(got)
	}
	r.Value, r.New, r.Limit = 0.0915, quantity.Range{}, bandOf(t, ">= 92.000 mm")
	if got := Settle(r, ""); !strings.HasPrefix(got, "Under the limit by ") {
		t.Error(got)
	}
}

func TestWhatIsWaitedForHasItsTitle(t *testing.T) {
	p := &pack.Pack{Dimensions: []*pack.Dimension{{Common: pack.Common{Name: "bore", Title: "Bore"}}}, Slots: []*pack.Slot{{Common: pack.Common{Name: "head_gasket", Title: "Head gasket"}}}}
	r := &assess.Result{Kind: "number", Missing: []string{"dimension.bore rear", "slot.head_gasket.crushed rear", "dimension.lost front"}, Judgement: measure.Judgement{Verdict: measure.NotMeasured}}
	if got := SettleIn(p, r, ""); got != "Waits for Bore rear, Head gasket (crushed) rear and dimension.lost front." {
		t.Error(got)
	}
	if r.Missing[0] != "dimension.bore rear" {
		t.Error("the result itself was changed")
	}
}
