package route_test

import (
	"math/rand/v2"
	"slices"
	"time"

	"buttonup/route"
)

// chances say how often a random job has what.
type chances struct {
	operations, spaces                int
	needs, in, closes, opens, trial   float64
	wait, within, hold, lock, temp    float64
	closed, stays, setups, holdLimits float64
}

func some(r *rand.Rand, n int, chance float64) []int {
	var list []int
	for i := range n {
		if r.Float64() < chance {
			list = append(list, i)
		}
	}
	return list
}

// randomJob makes a job that may or may not have an end.
func randomJob(r *rand.Rand, c chances) *route.Problem {
	p := &route.Problem{Spaces: make([]route.Space, 1+r.IntN(c.spaces))}
	n := 2 + r.IntN(c.operations-1)
	rank := r.Perm(n)
	for i := range n {
		x := route.Operation{In: some(r, len(p.Spaces), c.in), Closes: some(r, len(p.Spaces), c.closes)}
		for j := range n {
			if rank[j] < rank[i] && r.Float64() < c.needs {
				x.Needs = append(x.Needs, j)
			}
		}
		x.Opens = slices.DeleteFunc(some(r, len(p.Spaces), c.opens), func(s int) bool { return slices.Contains(x.Closes, s) })
		x.Trial = len(x.Closes) > 0 && r.Float64() < c.trial
		x.Stays, x.Binds = r.Float64() < c.stays, r.IntN(2) == 0
		if r.Float64() < c.setups {
			x.Setup = route.Setup{Side: r.IntN(3), Fixture: r.IntN(3), Tool: r.IntN(4)}
		}
		x.Duration = time.Duration(r.IntN(4)) * time.Minute
		x.Undoing = time.Duration(r.IntN(2)) * time.Minute
		if x.Waits = r.Float64() < c.wait; x.Waits {
			x.Wait = time.Duration(r.IntN(12)) * time.Minute
		}
		p.Operations = append(p.Operations, x)
	}
	for i := range n {
		for j := range n {
			if rank[i] < rank[j] && r.Float64() < c.within {
				p.Operations[i].Within = append(p.Operations[i].Within, route.Within{Operation: j, Most: time.Duration(r.IntN(8)) * time.Minute})
			}
		}
	}
	for s := range p.Spaces {
		p.Spaces[s].Closed = r.Float64() < c.closed
	}
	for range n {
		if r.Float64() >= c.hold {
			continue
		}
		h := route.Hold{State: route.Unread}
		if r.Float64() < c.holdLimits {
			h.Open = some(r, len(p.Spaces), 0.4)
			h.Until = some(r, n, 0.1)
		}
		if r.IntN(12) == 0 {
			h.State = route.Unmeetable
		}
		p.Holds = append(p.Holds, h)
		holder := &p.Operations[r.IntN(n)]
		holder.Holds = append(holder.Holds, len(p.Holds)-1)
		if r.IntN(4) == 0 {
			d := &p.Operations[r.IntN(n)]
			d.Disturbs = append(d.Disturbs, len(p.Holds)-1)
		}
	}
	for range 2 {
		if q := r.Perm(n); n > 2 && r.Float64() < c.lock {
			l := route.Lock{From: q[:1], Forbids: q[2:3]}
			if len(p.Holds) > 0 && r.IntN(3) == 0 {
				l.Checks = []int{r.IntN(len(p.Holds))}
			} else {
				l.Until = q[1:2]
			}
			p.Locks = append(p.Locks, l)
		}
		if q := r.Perm(n); n > 2 && r.Float64() < c.temp {
			p.Temporaries = append(p.Temporaries, route.Temporary{Count: 1, Places: []route.TemporaryPlace{{PutBy: q[:1], TakenBy: q[1:2]}}})
		}
	}
	return p
}

// realJob makes a job of many operations that has an end: it is written down along an
// order in which it can be done, with everything that real packs have.
func realJob(r *rand.Rand, n int) *route.Problem {
	p := &route.Problem{}
	for i := range n {
		x := route.Operation{Setup: route.Setup{Side: r.IntN(4), Fixture: 1 + r.IntN(4), Tool: 1 + r.IntN(8)}, Duration: time.Duration(5*(1+r.IntN(12))) * time.Minute}
		for range r.IntN(3) {
			if i > 0 {
				x.Needs = append(x.Needs, max(0, i-1-r.IntN(12)))
			}
		}
		slices.Sort(x.Needs)
		x.Needs = slices.Compact(x.Needs)
		if r.IntN(8) == 0 {
			x.Waits, x.Wait = true, time.Duration(20*(1+r.IntN(12)))*time.Minute
		}
		x.Binds = r.IntN(2) == 0
		p.Operations = append(p.Operations, x)
	}
	for at := 0; at+8 < n; at += 3 + r.IntN(8) {
		addSpace(p, r, at, min(n-1, at+4+r.IntN(10)))
	}
	return p
}

// addSpace adds a space that is worked in from one operation on and closed by another,
// or by two, sometimes tried first, with a temporary or a lock in it.
func addSpace(p *route.Problem, r *rand.Rand, from, to int) {
	sp := len(p.Spaces)
	p.Spaces = append(p.Spaces, route.Space{})
	for i := from; i < to-1; i++ {
		if r.IntN(3) == 0 {
			p.Operations[i].In = append(p.Operations[i].In, sp)
		}
	}
	closers := []int{to}
	if r.IntN(3) == 0 {
		closers = append(closers, to-1)
	}
	for _, c := range closers {
		if len(p.Operations[c].Opens) == 0 {
			p.Operations[c].Closes = append(p.Operations[c].Closes, sp)
		}
	}
	mid := from + (to-from)/2
	switch r.IntN(6) {
	case 0:
		p.Operations[to].Trial = len(p.Operations[to].Closes) > 0
	case 1:
		p.Temporaries = append(p.Temporaries, route.Temporary{Count: 1, Places: []route.TemporaryPlace{{PutBy: []int{from}, TakenBy: []int{mid}}}})
		p.Operations[mid].Needs = append(p.Operations[mid].Needs, from)
		p.Operations[from].In = append(p.Operations[from].In, sp)
	case 2:
		p.Locks = append(p.Locks, route.Lock{From: []int{from}, Until: []int{mid}, Forbids: []int{to}})
		p.Operations[mid].Needs = append(p.Operations[mid].Needs, from)
	case 3:
		p.Operations[to-1].Within = append(p.Operations[to-1].Within, route.Within{Operation: to, Most: 10 * time.Minute})
		p.Operations[to].Needs = append(p.Operations[to].Needs, to-1)
		p.Operations[to-1].Waits = false
	}
	p.Holds = append(p.Holds, route.Hold{State: route.Unread, Open: []int{sp}, After: []int{from}})
	p.Operations[to].Holds = append(p.Operations[to].Holds, len(p.Holds)-1)
}
