package route_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"buttonup/route"
)

var everything = chances{operations: 7, spaces: 3, needs: 0.25, in: 0.3, closes: 0.25, opens: 0.06, trial: 0.2,
	wait: 0.15, within: 0.03, hold: 0.1, lock: 0.15, temp: 0.15, closed: 0.1, stays: 0.15, setups: 0.8, holdLimits: 0.5}

func describe(p *route.Problem) string {
	var b strings.Builder
	for i, x := range p.Operations {
		fmt.Fprintf(&b, "%d: %+v\n", i, x)
	}
	fmt.Fprintf(&b, "spaces %+v\nholds %+v\nlocks %+v\ntemporaries %+v\n", p.Spaces, p.Holds, p.Locks, p.Temporaries)
	return b.String()
}

func tellSteps(plan *route.Plan) string {
	var b strings.Builder
	for _, s := range plan.Steps {
		fmt.Fprintf(&b, " %s%d", [...]string{"", "undo ", "again "}[s.Kind], s.Operation)
	}
	return b.String()
}

// follow walks through a plan by the second set of rules and complains about every step
// that breaks one, and about times and changes that are not so.
func follow(t *testing.T, p *route.Problem, plan *route.Plan) *ledger {
	l := &ledger{p: p}
	at := l.begin()
	s := l.look()
	for k, st := range plan.Steps {
		rule := ""
		switch st.Kind {
		case route.Do:
			rule = l.breaks(s, st.Operation)
		case route.Undo:
			if k >= plan.Reopens {
				rule = l.holdBack(s, st.Operation, false)
			} else {
				rule = l.holdOn(s, st.Operation)
			}
		}
		if rule != "" {
			t.Fatalf("step %d: operation %d %s\n%s\n%s", k, st.Operation, rule, tellSteps(plan), describe(p))
		}
		e := event{st.Operation, st.Kind}
		at = at.and(l, s, e)
		if at.now != st.End {
			t.Fatalf("step %d ends at %v, by the rules %v\n%s\n%s", k, st.End, at.now, tellSteps(plan), describe(p))
		}
		l.events = append(l.events, e)
		s = l.look()
	}
	if at.changes != plan.Changes || at.end(s) != plan.Finish {
		t.Fatalf("%d changes and %v, by the rules %d and %v\n%s\n%s", plan.Changes, plan.Finish, at.changes, at.end(s), tellSteps(plan), describe(p))
	}
	stuck := map[int]bool{}
	for _, x := range plan.Stuck {
		stuck[x.Operation] = true
		if len(x.Chain) == 0 {
			t.Fatalf("operation %d is stuck without a reason\n%s\n%s", x.Operation, tellSteps(plan), describe(p))
		}
	}
	for i := range p.Operations {
		if l.good(s, i) == stuck[i] {
			t.Fatalf("operation %d is finished: %v, told as stuck: %v\n%s\n%s", i, l.good(s, i), stuck[i], tellSteps(plan), describe(p))
		}
	}
	return l
}

// No step of any plan breaks a rule, and what a plan leaves out is told with a reason.
func TestNoPlanBreaksARule(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	whole, partly := 0, 0
	now := time.Now()
	for range 20000 {
		p := randomJob(r, everything)
		plan := route.Find(p, route.Options{})
		follow(t, p, plan)
		if len(plan.Stuck) == 0 {
			whole++
		} else {
			partly++
		}
	}
	t.Logf("%d whole, %d with something left out, %v", whole, partly, time.Since(now))
}

// A plan is the best there is, and there is one wherever trying every order finds one.
func TestBestOfEveryOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2))
	few := everything
	few.operations = 5
	whole, proven, hopeless, coarse := 0, 0, 0, 0
	for range 3000 {
		p := randomJob(r, few)
		plan := route.Find(p, route.Options{})
		l := &ledger{p: p}
		best, fine := l.every(true), true
		if best == nil {
			best, fine = l.every(false), false
		}
		switch {
		case best == nil && len(plan.Stuck) == 0 && plan.Reopens == 0:
			t.Fatalf("a plan where there is none:%s\n%s", tellSteps(plan), describe(p))
		case best == nil:
			hopeless++
			continue
		case plan.Reopens > 0:
			t.Fatalf("something is taken back for nothing:%s\n%s", tellSteps(plan), describe(p))
		case len(plan.Stuck) > 0:
			t.Fatalf("operation %d is told as stuck, %v is an order (fine %v)\n%s\n%s", plan.Stuck[0].Operation, best.order, fine, tellSteps(plan), describe(p))
		case !fine:
			coarse++
			continue
		}
		whole++
		if plan.Changes < best.changes || plan.Proven && plan.Changes != best.changes || plan.Soonest && plan.Finish != best.finish {
			t.Fatalf("%d changes, %v, proven %v; the best is %v with %d and %v\n%s\n%s", plan.Changes, plan.Finish, plan.Proven, best.order, best.changes, best.finish, tellSteps(plan), describe(p))
		}
		if plan.Bound > best.changes {
			t.Fatalf("the bound %d is above the best, %d:%s\n%s", plan.Bound, best.changes, tellSteps(plan), describe(p))
		}
		if !plan.Proven || !plan.Soonest {
			continue
		}
		proven++
		for k, e := range best.order {
			if plan.Steps[k].Operation != e.op {
				t.Fatalf("%s; of equal orders the first is %v\n%s", tellSteps(plan), best.order, describe(p))
			}
		}
	}
	t.Logf("%d jobs with an order, %d proven, %d without any, %d only without the finer rules", whole, proven, hopeless, coarse)
	if proven < whole {
		t.Errorf("%d of %d small jobs are not proven", whole-proven, whole)
	}
}
