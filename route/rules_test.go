package route_test

import (
	"math/rand/v2"
	"testing"

	"buttonup/route"
)

// No step of any plan breaks a rule, and what a plan leaves out is told with a reason.
func TestNoPlanBreaksARule(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	whole, partly := 0, 0
	for k := range 5000 {
		p := randomJob(r, chances{operations: 7, spaces: 3, needs: 0.25, in: 0.3, closes: 0.25, opens: 0.06, trial: 0.2,
			wait: 0.15, within: 0.03, hold: 0.1, lock: 0.15, temp: 0.15, closed: 0.1, stays: 0.15, setups: 0.8, holdLimits: 0.5})
		plan := route.Find(p, route.Options{})
		if len(plan.Stuck) == 0 {
			whole++
		} else {
			partly++
		}
		for _, s := range plan.Stuck {
			if len(s.Chain) == 0 {
				t.Fatalf("job %d: operation %d is stuck without a reason\n%+v\n%+v", k, s.Operation, p, plan)
			}
		}
	}
	t.Logf("%d whole, %d with something left out", whole, partly)
}
