package basket

import (
	"math/rand/v2"
	"reflect"
	"testing"
)

// randomProblem makes a problem so small that every way can be tried, with everything
// that a problem can have in it, and often without a solution.
func randomProblem(r *rand.Rand) *Problem {
	p := &Problem{Prefer: Preference(r.IntN(3))}
	for range 1 + r.IntN(4) {
		p.Places = append(p.Places, Place{Pieces: r.IntN(5) / 2})
	}
	for range 2 + r.IntN(4) {
		p.Parts = append(p.Parts, randomPart(r, len(p.Places)))
	}
	for range 1 + r.IntN(3) {
		s := Supplier{Shipping: int64(r.IntN(4) * 100), Refused: r.IntN(8) == 0}
		if r.IntN(2) == 0 {
			s.FreeOver = int64(100 + r.IntN(900))
		}
		p.Suppliers = append(p.Suppliers, s)
	}
	for range 1 + r.IntN(2*len(p.Parts)) {
		p.Offers = append(p.Offers, Offer{Part: r.IntN(len(p.Parts)), Supplier: r.IntN(len(p.Suppliers)), Price: int64(r.IntN(6)*50 + r.IntN(2)*r.IntN(99)), Pack: []int{0, 1, 1, 2, 4}[r.IntN(5)], Lead: r.IntN(6)})
	}
	if r.IntN(3) == 0 {
		p.Within = 1 + r.IntN(5)
	}
	choice := func() Choice {
		return Choice{r.IntN(len(p.Parts)), r.IntN(len(p.Places)+1) - 1}
	}
	choices := func(n int) []Choice {
		var out []Choice
		for range n {
			out = append(out, choice())
		}
		return out
	}
	for range r.IntN(4) {
		kind := RuleKind(1 + r.IntN(4))
		rule := Rule{Kind: kind, Of: choices(1 + r.IntN(3))}
		if kind == Needs || kind == Excludes {
			rule.With = choices(r.IntN(4))
		}
		p.Rules = append(p.Rules, rule)
	}
	for range r.IntN(3) {
		var a Agreement
		for range 1 + r.IntN(5) {
			a.Sized = append(a.Sized, Sized{choice(), r.IntN(3)})
		}
		p.Agreements = append(p.Agreements, a)
	}
	for place := range p.Places {
		if r.IntN(5) == 0 {
			p.InHand = append(p.InHand, Choice{r.IntN(len(p.Parts)), place})
		}
	}
	return p
}

func randomPart(r *rand.Rand, places int) Part {
	order := r.Perm(places)
	var x Part
	for len(order) > 0 && (len(x.Contents) == 0 || r.IntN(3) == 0) {
		n := 1 + r.IntN(len(order))
		if r.IntN(2) == 0 {
			n = 1
		}
		x.Contents = append(x.Contents, Content{Places: order[:n], Count: []int{0, 0, 1, 2, 3}[r.IntN(5)]})
		order = order[n:]
	}
	return x
}

// Every way is tried on small problems of every kind; the answer must be as good, and
// without a solution the reasons must be a smallest set of those that can be lifted.
var seeds = 3000

func TestAgainstEveryWay(t *testing.T) {
	count := map[Status]int{}
	order := 0
	for seed := range uint64(seeds) {
		p := randomProblem(rand.New(rand.NewPCG(seed, 7)))
		want, err := everyWay(p)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		got, err := Solve(p)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		count[got.Status]++
		if got.Status != want.Status {
			t.Fatalf("seed %d: %v, every way says %v\n%+v", seed, got.Status, want.Status, p)
		}
		if got.Status == Infeasible {
			checkReasons(t, seed, p, &got)
			continue
		}
		if got.Total != want.Total || got.Lead != want.Lead || got.Orders != want.Orders || got.Bound != got.Total {
			t.Fatalf("seed %d, preference %d:\n got %+v\nwant %+v\n%+v", seed, p.Prefer, got, want, p)
		}
		if !reflect.DeepEqual(got.Fills, want.Fills) {
			order++
		}
	}
	t.Logf("%v; in other order %d", count, order)
	if count[Optimal] < 800 || count[Infeasible] < 800 {
		t.Errorf("the problems are one-sided: %v", count)
	}
	if order > 0 {
		t.Errorf("%d answers do not keep to the written order among equals", order)
	}
}

func checkReasons(t *testing.T, seed uint64, p *Problem, r *Result) {
	t.Helper()
	if len(r.Because) == 0 {
		t.Fatalf("seed %d: infeasible without a reason", seed)
	}
	all := p.reasons()
	placesOnly := r.Because[0].Kind == BecausePlace
	stands := func(because []Reason) bool {
		off := lifted{}
		for _, x := range all {
			off[x] = placesOnly || x.Kind != BecausePlace
		}
		for _, x := range because {
			off[x] = false
		}
		_, found, _ := p.trial(off, true)
		return !found
	}
	if !stands(r.Because) {
		t.Fatalf("seed %d: reasons %v leave a solution\n%+v", seed, r.Because, p)
	}
	for i := range r.Because {
		rest := append(append([]Reason(nil), r.Because[:i]...), r.Because[i+1:]...)
		if stands(rest) {
			t.Fatalf("seed %d: reason %v can be spared of %v\n%+v", seed, r.Because[i], r.Because, p)
		}
	}
	if !r.Smallest {
		t.Fatalf("seed %d: not known whether %v is the smallest set", seed, r.Because)
	}
	var smaller func(chosen []Reason, from, size int) bool
	smaller = func(chosen []Reason, from, size int) bool {
		if len(chosen) == size {
			return stands(chosen)
		}
		for i := from; i < len(all); i++ {
			if (all[i].Kind == BecausePlace) == placesOnly && smaller(append(chosen[:len(chosen):len(chosen)], all[i]), i+1, size) {
				return true
			}
		}
		return false
	}
	for size := 1; size < len(r.Because); size++ {
		if smaller(nil, 0, size) {
			t.Fatalf("seed %d: there are reasons fewer than %v\n%+v", seed, r.Because, p)
		}
	}
}
