package route_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"buttonup/route"
)

// Large jobs have plans that break nothing and leave nothing out.
func TestLargeJobs(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 3))
	var slowest time.Duration
	gap, proven, left := 0, 0, 0
	for range 60 {
		p := realJob(r, 20+r.IntN(80))
		now := time.Now()
		plan := route.Find(p, route.Options{})
		slowest = max(slowest, time.Since(now))
		follow(t, p, plan)
		gap += plan.Changes - plan.Bound
		if plan.Proven {
			proven++
		}
		if len(plan.Stuck) > 0 {
			left++
		}
	}
	t.Logf("slowest %v, %d changes above the bounds in all, %d proven, %d with something left out", slowest, gap, proven, left)
}

// randomLarge is a large job by its number.
func randomLarge(seed uint64) *route.Problem {
	r := rand.New(rand.NewPCG(6, seed))
	return realJob(r, 40)
}

// Every step of a plan is told why it stands where it does, and every link of the chain
// is true: what it names comes in that order.
func TestWhyHere(t *testing.T) {
	for seed := range uint64(20) {
		p := randomLarge(seed)
		plan := route.Find(p, route.Options{})
		first, last := map[int]int{}, map[int]int{}
		for k, s := range plan.Steps {
			if _, ok := first[s.Operation]; !ok {
				first[s.Operation] = k
			}
			last[s.Operation] = k
		}
		for k := range plan.Steps {
			chain := route.Why(p, plan, k)
			if len(chain) == 0 {
				t.Fatalf("step %d of%s has no reason", k, tellSteps(plan))
			}
			for _, r := range chain {
				early, late := r.By, r.Of
				if r.Kind == route.LockedBy || r.Kind == route.HoldBefore {
					early, late = r.Of, r.By
				}
				if r.By >= 0 && first[early] > last[late] {
					t.Fatalf("step %d: %s, but%s", k, words(chain), tellSteps(plan))
				}
			}
		}
	}
}
