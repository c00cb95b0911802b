package route_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"buttonup/route"
)

// Large jobs have plans that break nothing and leave nothing out.
func TestLargeJobs(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 3))
	var slowest time.Duration
	gap, proven, left := 0, 0, 0
	for range 30 {
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

// Thirty operations with spaces and waits are proven, whose set-ups are as many as they
// can be; now and then one is too many for the usual search, and says so.
func TestThirtyOperationsAreProven(t *testing.T) {
	proven := 0
	for seed := range uint64(6) {
		p := manySetups(30, seed)
		plan := route.Find(p, route.Options{})
		follow(t, p, plan)
		if plan.Proven != (plan.Bound == plan.Changes) || len(plan.Stuck) > 0 {
			t.Errorf("job %d: %d changes, bound %d, proven %v, stuck %v", seed, plan.Changes, plan.Bound, plan.Proven, stuckOf(plan))
		}
		if plan.Proven {
			proven++
		}
	}
	if proven < 5 {
		t.Errorf("only %d of 6 are proven", proven)
	}
}

// manySetups is a job whose steps share little, so that its order matters much.
func manySetups(n int, seed uint64) *route.Problem {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	p := &route.Problem{Spaces: make([]route.Space, 2)}
	for i := range n {
		x := route.Operation{Setup: route.Setup{Side: 1 + r.IntN(4), Fixture: 1 + r.IntN(8), Tool: 1 + r.IntN(10)}, Duration: time.Duration(5+r.IntN(60)) * time.Minute}
		for range []int{1, 1, 2, 2, 2, 3}[r.IntN(6)] {
			low := max(0, i-24)
			if i == 0 {
				break
			}
			if j := low + r.IntN(i-low); !slices.Contains(x.Needs, j) {
				x.Needs = append(x.Needs, j)
			}
		}
		if r.IntN(6) == 0 {
			x.Waits, x.Wait = true, time.Duration(r.IntN(240))*time.Minute
		}
		p.Operations = append(p.Operations, x)
	}
	for s := range p.Spaces {
		closer := n/3 + r.IntN(n-n/3)
		p.Operations[closer].Closes = append(p.Operations[closer].Closes, s)
		for range n / 10 {
			i := r.IntN(closer)
			p.Operations[i].In = append(p.Operations[i].In, s)
		}
	}
	return p
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{30, 140} {
		p := manySetups(n, 1)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				route.Find(p, route.Options{})
			}
		})
	}
}

// What cannot be finished does not spoil the order of what can.
func TestRestIsStillTheBest(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 8))
	compared := 0
	for range 300 {
		p := randomJob(r, everything)
		plan := route.Find(p, route.Options{})
		if len(plan.Stuck) > 0 || !plan.Soonest {
			continue
		}
		p.Holds = append(p.Holds, route.Hold{State: route.Unread, After: []int{0}, Until: []int{0}}) // never to be read
		p.Operations = append(p.Operations, route.Operation{Holds: []int{len(p.Holds) - 1}})
		rest := route.Find(p, route.Options{})
		follow(t, p, rest)
		if len(rest.Stuck) != 1 || tellSteps(rest) != tellSteps(plan) || !rest.Soonest {
			t.Fatalf("%s with more that is stuck, %s without\n%s", tellSteps(rest), tellSteps(plan), describe(p))
		}
		compared++
	}
	if compared < 100 {
		t.Errorf("only %d jobs were compared", compared)
	}
}
