package route_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"buttonup/route"
)

// midway is a job as it stands after some steps of its plan, as a caller would write it
// down from its journal.
func midway(p *route.Problem, plan *route.Plan, steps int) *route.Problem {
	l := &ledger{p: p}
	at, s := l.begin(), l.look()
	for _, st := range plan.Steps[:steps] {
		e := event{st.Operation, st.Kind}
		at = at.and(l, s, e)
		l.events = append(l.events, e)
		s = l.look()
	}
	q := *p
	q.Before = at.setup
	q.Operations, q.Spaces = slices.Clone(p.Operations), slices.Clone(p.Spaces)
	q.Holds, q.Locks = slices.Clone(p.Holds), slices.Clone(p.Locks)
	for i := range q.Operations {
		x := &q.Operations[i]
		x.Done, x.Times, x.Seq = s.done[i], s.times[i], s.when[i]
		if left := at.over[i] - at.now; x.Done && left > 0 {
			x.Waiting, x.Left = true, left
		}
		x.Within = slices.Clone(x.Within)
		for w := range x.Within {
			x.Within[w].Left = x.Within[w].Most - (at.now - at.ended[i])
		}
	}
	for i := range q.Spaces {
		q.Spaces[i] = route.Space{Closed: s.closed[i], ByJob: s.byJob[i]}
	}
	for h := range q.Holds {
		if q.Holds[h].State == route.Unread && s.read[h] {
			q.Holds[h].State = route.Met
		}
	}
	for k := range q.Locks {
		q.Locks[k].Since, q.Locks[k].Passed = s.since[k], nil
		for h := range s.passed[k] {
			q.Locks[k].Passed = append(q.Locks[k].Passed, h)
		}
	}
	return &q
}

// From every state that a plan passes through there is a plan that breaks nothing and
// leaves nothing out that the first one did not.
func TestFromEveryState(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 4))
	for range 800 {
		p := randomJob(r, everything)
		plan := route.Find(p, route.Options{})
		k := r.IntN(len(plan.Steps) + 1)
		q := midway(p, plan, k)
		rest := route.Find(q, route.Options{})
		follow(t, q, rest)
		if len(rest.Stuck) > len(plan.Stuck) {
			t.Fatalf("after %d steps of%s more is stuck:%s %+v\n%s", k, tellSteps(plan), tellSteps(rest), rest.Stuck, describe(q))
		}
		// The finer rules, about trials and what must follow in time, may be kept by one
		// of the two plans and not by the other.
		finer := slices.ContainsFunc(p.Operations, func(x route.Operation) bool { return x.Trial || len(x.Within) > 0 })
		if !finer && plan.Proven && rest.Proven && len(plan.Stuck) == 0 && len(rest.Stuck) == 0 {
			sum := 0
			for _, s := range plan.Steps[k:] {
				sum += s.Changes
			}
			if rest.Changes > sum {
				t.Fatalf("the rest of%s after %d steps has %d changes, and is proven with %d:%s\n%s", tellSteps(plan), k, sum, rest.Changes, tellSteps(rest), describe(q))
			}
		}
	}
}

// fewest finds by trying everything how few operations must come off, or be done to open
// something; -1 if nothing helps.
func fewest(p *route.Problem, to route.Target, limit int) int {
	l := &ledger{p: p}
	start := l.look()
	reached := func(s *seen) bool {
		for _, sp := range to.Spaces {
			if s.closed[sp] {
				return false
			}
		}
		for _, i := range to.Operations {
			if s.done[i] {
				return false
			}
		}
		return true
	}
	for depth := range limit + 1 {
		var visit func(left int) bool
		visit = func(left int) bool {
			s := l.look()
			if reached(s) {
				return true
			}
			if left == 0 {
				return false
			}
			for i, x := range p.Operations {
				kind := route.Undo
				opensUndone := false
				for _, sp := range x.Closes {
					opensUndone = opensUndone || start.closed[sp] && !start.byJob[sp]
				}
				switch {
				case s.done[i] || opensUndone:
					ok := true
					for sp := range p.Spaces {
						ok = ok && !(l.worksIn(i, sp) && s.closed[sp])
					}
					for j, y := range p.Operations {
						ok = ok && !(slices.Contains(y.Needs, i) && s.done[j] && (y.Binds || len(y.Closes) > 0) && !y.Stays)
					}
					if !ok {
						continue
					}
				case !start.done[i] && len(x.Opens) > 0 && l.breaks(s, i) == "":
					kind = route.Do
				default:
					continue
				}
				l.events = append(l.events, event{i, kind})
				found := visit(left - 1)
				l.events = l.events[:len(l.events)-1]
				if found {
					return true
				}
			}
			return false
		}
		if visit(depth) {
			return depth
		}
	}
	return -1
}

// What comes off is the least that can, in an order in which it can come off, and it
// reaches what it is for.
func TestLeastTearBack(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 5))
	reached, hopeless, two := 0, 0, 0
	for range 4000 {
		p := randomJob(r, everything)
		plan := route.Find(p, route.Options{})
		q := midway(p, plan, len(plan.Steps)-r.IntN(min(3, len(plan.Steps)+1)))
		var to route.Target
		if r.IntN(2) == 0 {
			to.Spaces = []int{r.IntN(len(q.Spaces))}
		} else {
			to.Operations = []int{r.IntN(len(q.Operations))}
			if !q.Operations[to.Operations[0]].Done {
				continue
			}
		}
		tear := route.TearBack(q, to)
		if len(tear.Ways) == 0 {
			hopeless++
			if n := fewest(q, to, 4); n >= 0 {
				t.Fatalf("no way to %+v, and %d steps are enough\n%s", to, n, describe(q))
			}
			continue
		}
		reached++
		for k, way := range tear.Ways {
			walkBack(t, q, to, way)
			if k > 0 && len(way.Steps) < len(tear.Ways[0].Steps) {
				t.Fatalf("way %d of %+v is shorter than the first\n%s", k, tear.Ways, describe(q))
			}
		}
		if len(tear.Ways) > 1 {
			two++
		}
		if n := len(tear.Ways[0].Steps); n <= 5 {
			if least := fewest(q, to, n); least < n {
				t.Fatalf("%d come off for %+v: %+v; %d are enough\n%s", n, to, tear.Ways[0].Steps, least, describe(q))
			}
		}
	}
	t.Logf("%d reached, %d of them in two ways, %d without a way", reached, two, hopeless)
}

func walkBack(t *testing.T, p *route.Problem, to route.Target, way route.Way) {
	l := &ledger{p: p}
	s := l.look()
	for _, st := range way.Steps {
		if st.Kind == route.Do {
			if rule := l.breaks(s, st.Operation); rule != "" {
				t.Fatalf("operation %d %s\n%+v\n%s", st.Operation, rule, way, describe(p))
			}
		} else {
			if rule := l.holdOn(s, st.Operation); rule != "" {
				t.Fatalf("operation %d %s\n%+v\n%s", st.Operation, rule, way, describe(p))
			}
		}
		l.events = append(l.events, event{st.Operation, st.Kind})
		s = l.look()
	}
	for _, sp := range to.Spaces {
		if s.closed[sp] {
			t.Fatalf("space %d is still closed\n%+v\n%s", sp, way, describe(p))
		}
	}
	for _, i := range to.Operations {
		if s.done[i] {
			t.Fatalf("operation %d is still done\n%+v\n%s", i, way, describe(p))
		}
	}
}

// holdOn says why an operation cannot be taken back now; empty if it can.
func (l *ledger) holdOn(s *seen, i int) string {
	for sp := range l.p.Spaces {
		if l.worksIn(i, sp) && s.closed[sp] {
			return fmt.Sprintf("is in space %d, which is closed", sp)
		}
	}
	for j, y := range l.p.Operations {
		if slices.Contains(y.Needs, i) && s.done[j] && (y.Binds || len(y.Closes) > 0) && !y.Stays {
			return fmt.Sprintf("is under %d", j)
		}
	}
	return ""
}
