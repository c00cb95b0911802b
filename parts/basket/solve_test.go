package basket

import (
	"reflect"
	"testing"
)

// A kit for both places against two singles, of which one needs shipping of its own.
func TestKitAgainstSingles(t *testing.T) {
	p := &Problem{
		Places:    []Place{{}, {}},
		Parts:     []Part{{[]Content{{Places: []int{0}}}}, {[]Content{{Places: []int{1}}}}, {[]Content{{Places: []int{0}}, {Places: []int{1}}}}},
		Suppliers: []Supplier{{Shipping: 500}, {Shipping: 900}},
		Offers:    []Offer{{Part: 0, Price: 1000}, {Part: 1, Price: 1200, Supplier: 1}, {Part: 2, Price: 2700, Lead: 9}},
	}
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	if want := []Purchase{{2, 1}}; r.Status != Optimal || r.Total != 3200 || !reflect.DeepEqual(r.Buy, want) || r.Lead != 9 || r.Orders != 1 {
		t.Errorf("got %+v", r)
	}
	p.Prefer = Soonest
	if r, _ = Solve(p); r.Total != 3600 || r.Lead != 0 || r.Orders != 2 {
		t.Errorf("soonest: got %+v", r)
	}
	p.Rules = []Rule{{Kind: Needs, Of: []Choice{{0, Anywhere}}, With: nil}}
	p.Within = 8
	r, _ = Solve(p)
	if want := []Reason{{BecauseLead, 0}, {BecauseRule, 0}}; r.Status != Infeasible || !reflect.DeepEqual(r.Because, want) {
		t.Errorf("infeasible: got %+v", r)
	}
}
