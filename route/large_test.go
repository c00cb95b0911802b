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
