package account

import (
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"
)

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic(s)
	}
	return r
}

func is(t *testing.T, what string, got *big.Rat, want string) {
	t.Helper()
	switch {
	case got == nil:
		if want != "none" {
			t.Errorf("%s: there is none, want %s", what, want)
		}
	case want == "none" || got.Cmp(rat(want)) != 0:
		t.Errorf("%s is %s, want %s", what, got.RatString(), want)
	}
}

// The sums were done by hand, in quarter hours.
func TestCompare(t *testing.T) {
	items := []Item{
		{"strip", "labour", rat("4"), rat("5.5")},
		{"rebuild the crank", "labour", rat("6"), rat("6.5")},
		{"run in", "labour", rat("2"), nil},
		{"drill out a stud", "labour", nil, rat("1.5")},
		{"gasket set", "parts", rat("48.20"), rat("53.10")},
		{"barrels back", "waiting", nil, rat("12")},
	}
	c, err := Compare(items[:4], rat("0.15"))
	if err != nil {
		t.Fatal(err)
	}
	is(t, "estimated", c.Whole.Estimated, "12")
	is(t, "actual", c.Whole.Actual, "13.5")
	is(t, "compared", c.Whole.Compared, "10")
	is(t, "unforeseen", c.Whole.Unforeseen, "1.5")
	is(t, "ratio", c.Whole.Ratio, "1.2")
	is(t, "contingency", c.Contingency, "1.8")
	is(t, "allowed", c.Allowed, "13.8")
	is(t, "over", c.Over, "-0.3")
	if c, err = Compare(items, rat("0")); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, x := range c.Categories {
		names = append(names, x.Name)
	}
	if strings.Join(names, " ") != "labour parts waiting" {
		t.Errorf("categories %v", names)
	}
	is(t, "ratio of parts", c.Categories[1].Ratio, "531/482")
	is(t, "ratio of waiting", c.Categories[2].Ratio, "none")
	is(t, "waiting", c.Categories[2].Unforeseen, "12")
	is(t, "whole", c.Whole.Actual, "78.6")
	if items[0].Estimated.Cmp(rat("4")) != 0 {
		t.Error("the caller's amount was changed")
	}
	if c, err = Compare(nil, rat("0.15")); err != nil || c.Whole.Ratio != nil || c.Over.Sign() != 0 {
		t.Errorf("nothing at all: %+v, %v", c, err)
	}
}

func TestRefusals(t *testing.T) {
	for _, x := range []struct {
		items       []Item
		contingency *big.Rat
		says        string
	}{
		{nil, nil, "contingency"},
		{nil, rat("-0.01"), "contingency -0.01 must be from 0 to 1"},
		{nil, rat("1.01"), "contingency 1.01 must be from 0 to 1"},
		{[]Item{{What: "bore", Estimated: rat("-1")}}, rat("0"), "bore: estimated -1.00 must be 0 or more"},
		{[]Item{{What: "bore", Actual: rat("-1")}}, rat("0"), "bore: actual -1.00 must be 0 or more"},
	} {
		if _, err := Compare(x.items, x.contingency); err == nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("want %q, got %v", x.says, err)
		}
	}
}

// Laws: the categories add up to the whole, exactly, and the order of the items does
// not matter.
func TestLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	amount := func() *big.Rat {
		if r.IntN(4) == 0 {
			return nil
		}
		return big.NewRat(r.Int64N(100001), 100)
	}
	for range 300 {
		var items, turned []Item
		for range r.IntN(13) {
			x := Item{Category: []string{"labour", "parts", "sublet"}[r.IntN(3)], Estimated: amount(), Actual: amount()}
			items, turned = append(items, x), append([]Item{x}, turned...)
		}
		a, err := Compare(items, big.NewRat(15, 100))
		if err != nil {
			t.Fatal(err)
		}
		b, err := Compare(turned, big.NewRat(15, 100))
		if err != nil {
			t.Fatal(err)
		}
		est, act := new(big.Rat), new(big.Rat)
		for _, c := range a.Categories {
			est.Add(est, c.Estimated)
			act.Add(act, c.Actual)
		}
		if est.Cmp(a.Whole.Estimated) != 0 || act.Cmp(a.Whole.Actual) != 0 || a.Over.Cmp(b.Over) != 0 {
			t.Fatalf("%v %v %+v %+v", est, act, a, b)
		}
		if new(big.Rat).Add(a.Over, a.Allowed).Cmp(act) != 0 {
			t.Fatal("over and allowed are not the actual")
		}
	}
}
