package route_test

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"buttonup/route"
)

// ledger is the rules written down a second time, as slowly and plainly as
// docs/pack-language.md says them: a list of what happened, from which everything is
// found anew whenever it is asked for. It shares nothing with the planner.
type ledger struct {
	p      *route.Problem
	events []event
}

type event struct {
	op   int
	kind route.Kind
}

// seen is how things stand after some events.
type seen struct {
	done, closed, byJob []bool
	times               []int
	when                []int // the event of the newest doing, counted from 1
	since               []int // by lock: the event it began at, 0 if it does not stand
	passed              []map[int]bool
	read                []bool
}

func (l *ledger) good(s *seen, i int) bool {
	return s.done[i] && !(l.p.Operations[i].Trial && s.times[i] < 2)
}

func (l *ledger) needsFar(a, b int) bool {
	for _, n := range l.p.Operations[a].Needs {
		if n == b || l.needsFar(n, b) {
			return true
		}
	}
	return false
}

func (l *ledger) laterThanGood(a, b int) bool {
	return l.needsFar(a, b) && (!l.p.Operations[b].Trial || slices.Contains(l.p.Operations[a].Needs, b))
}

func (l *ledger) worksIn(i, sp int) bool {
	x := l.p.Operations[i]
	return slices.Contains(x.In, sp) && !slices.Contains(x.Closes, sp)
}

func (l *ledger) mustBeOpen(i, sp int) bool {
	return l.worksIn(i, sp) && !slices.Contains(l.p.Operations[i].Opens, sp)
}

func (l *ledger) canRead(s *seen, h int) bool {
	x := l.p.Holds[h]
	ok := x.State != route.Unmeetable
	for _, sp := range x.Open {
		ok = ok && !s.closed[sp]
	}
	for _, i := range x.After {
		ok = ok && s.done[i]
	}
	for _, i := range x.Until {
		ok = ok && !s.done[i]
	}
	return ok
}

// look replays everything from the beginning.
func (l *ledger) look() *seen {
	p := l.p
	s := &seen{done: make([]bool, len(p.Operations)), times: make([]int, len(p.Operations)), when: make([]int, len(p.Operations)),
		closed: make([]bool, len(p.Spaces)), byJob: make([]bool, len(p.Spaces)), since: make([]int, len(p.Locks)), passed: make([]map[int]bool, len(p.Locks)), read: make([]bool, len(p.Holds))}
	clock := 0
	for i, x := range p.Operations {
		s.done[i], s.times[i], s.when[i] = x.Done, x.Times, x.Seq
		clock = max(clock, x.Seq)
	}
	for i, x := range p.Spaces {
		s.closed[i], s.byJob[i] = x.Closed, x.ByJob
	}
	for k, x := range p.Locks {
		s.since[k], s.passed[k] = x.Since, map[int]bool{}
		clock = max(clock, x.Since)
		for _, h := range x.Passed {
			s.passed[k][h] = true
		}
	}
	for h, x := range p.Holds {
		s.read[h] = x.State == route.Met || l.canRead(s, h)
	}
	for _, e := range l.events {
		clock++
		if e.kind == route.Undo {
			l.takeBack(s, e.op)
		} else {
			l.doing(s, e.op, clock)
		}
		for _, h := range p.Operations[e.op].Disturbs {
			s.read[h] = false
		}
		for h := range p.Holds {
			s.read[h] = s.read[h] || l.canRead(s, h)
		}
	}
	return s
}

func (l *ledger) takeBack(s *seen, i int) {
	for _, sp := range l.p.Operations[i].Closes {
		if s.done[i] || !s.byJob[sp] {
			s.closed[sp] = false
		}
	}
	if s.done[i] {
		s.done[i] = false
		l.dropLocks(s)
	}
}

func (l *ledger) dropLocks(s *seen) {
	for k, x := range l.p.Locks {
		if !slices.ContainsFunc(x.From, func(f int) bool { return s.done[f] }) {
			s.since[k] = 0
		}
	}
}

func (l *ledger) allGood(s *seen, sp int) bool {
	for c, x := range l.p.Operations {
		if slices.Contains(x.Closes, sp) && !l.good(s, c) {
			return false
		}
	}
	return true
}

func (l *ledger) doing(s *seen, i, clock int) {
	x := l.p.Operations[i]
	again := s.done[i]
	s.when[i] = clock
	if !again {
		s.done[i] = true
		s.times[i]++
		for _, sp := range x.Opens {
			whole := l.allGood(s, sp)
			for c, y := range l.p.Operations {
				if c == i || !y.Trial || !s.done[c] || !slices.Contains(y.Closes, sp) {
					continue
				}
				if s.times[c] < 2 {
					for _, other := range y.Closes {
						s.closed[other] = false
					}
				} else if whole {
					continue
				}
				s.done[c] = false
				l.dropLocks(s)
			}
			s.closed[sp] = false
		}
		for _, sp := range x.Closes {
			if x.Trial && s.times[i] == 1 || l.allGood(s, sp) {
				s.closed[sp], s.byJob[sp] = true, true
			}
		}
		for k, lock := range l.p.Locks {
			if s.since[k] == 0 && slices.Contains(lock.From, i) {
				s.since[k], s.passed[k] = clock, map[int]bool{}
			}
		}
	}
	for k, lock := range l.p.Locks {
		if s.since[k] == 0 || s.since[k] >= clock {
			continue
		}
		over := true
		for _, h := range lock.Checks {
			if slices.Contains(x.Holds, h) {
				s.passed[k][h] = true
			}
			over = over && s.passed[k][h]
		}
		for _, u := range lock.Until {
			over = over && s.done[u] && s.when[u] > s.since[k]
		}
		if over {
			s.since[k] = 0
		}
	}
}

// breaks says which rule doing an operation now would break; empty for none.
func (l *ledger) breaks(s *seen, i int) string {
	x := l.p.Operations[i]
	if s.done[i] {
		return "is done already"
	}
	for _, n := range x.Needs {
		if !s.done[n] {
			return fmt.Sprintf("needs %d", n)
		}
		if !l.good(s, n) {
			for _, sp := range x.Closes {
				if slices.Contains(l.p.Operations[n].Closes, sp) {
					return fmt.Sprintf("closes space %d on top of the trial %d", sp, n)
				}
			}
		}
	}
	first := x.Trial && s.times[i] == 0
	for sp := range l.p.Spaces {
		if l.mustBeOpen(i, sp) && s.closed[sp] {
			return fmt.Sprintf("works in space %d, which is closed", sp)
		}
		if !slices.Contains(x.Closes, sp) {
			continue
		}
		last := true
		for c, y := range l.p.Operations {
			if c != i && slices.Contains(y.Closes, sp) && !l.good(s, c) && !l.laterThanGood(i, c) {
				last = false
			}
		}
		for w := range l.p.Operations {
			if last && !first && w != i && l.worksIn(w, sp) && !l.good(s, w) && !l.laterThanGood(w, i) {
				return fmt.Sprintf("closes space %d over %d", sp, w)
			}
		}
		if last || first {
			if t := l.shutsIn(s, i, sp); t >= 0 {
				return fmt.Sprintf("shuts temporary %d in", t)
			}
		}
	}
	for _, h := range x.Holds {
		if !s.read[h] || l.p.Holds[h].State == route.Unmeetable {
			return fmt.Sprintf("holds %d", h)
		}
	}
	for k, lock := range l.p.Locks {
		if s.since[k] > 0 && slices.Contains(lock.Forbids, i) {
			return fmt.Sprintf("is forbidden by lock %d", k)
		}
	}
	return ""
}

func (l *ledger) shutsIn(s *seen, i, sp int) int {
	for t, x := range l.p.Temporaries {
		later := false
		for _, place := range x.Places {
			for _, o := range place.TakenBy {
				later = later || o == i || l.needsFar(o, i)
			}
		}
		if later {
			continue
		}
		for _, place := range x.Places {
			var in []int // who put in what is in, oldest first
			type handling struct{ when, op, way int }
			var all []handling
			for _, o := range place.PutBy {
				if s.done[o] {
					all = append(all, handling{s.when[o], o, 1})
				}
			}
			for _, o := range place.TakenBy {
				if s.done[o] && !slices.Contains(place.PutBy, o) {
					all = append(all, handling{s.when[o], o, -1})
				}
			}
			slices.SortFunc(all, func(a, b handling) int { return a.when - b.when })
			for _, h := range all {
				if h.way > 0 {
					in = append(in, h.op)
				} else if len(in) > 0 {
					in = in[1:]
				}
			}
			for _, o := range in {
				anywhere := true
				for other := range l.p.Spaces {
					anywhere = anywhere && !l.mustBeOpen(o, other)
				}
				if anywhere || l.mustBeOpen(o, sp) {
					return t
				}
			}
		}
	}
	return -1
}

// holdBack says why a trial is not to be taken back now; empty if it may be. Gently
// adds the finer rules: not before its purpose is served, and not where something else
// will end it.
func (l *ledger) holdBack(s *seen, i int, gently bool) string {
	x := l.p.Operations[i]
	if !x.Trial || !s.done[i] || s.times[i] > 1 {
		return "does not stand for trial"
	}
	for sp := range l.p.Spaces {
		if l.worksIn(i, sp) && s.closed[sp] {
			return fmt.Sprintf("is in space %d, which is closed", sp)
		}
	}
	for j, y := range l.p.Operations {
		if !slices.Contains(y.Needs, i) {
			continue
		}
		if s.done[j] && (y.Binds || len(y.Closes) > 0) && !y.Stays {
			return fmt.Sprintf("is under %d", j)
		}
		if gently && !s.done[j] && l.canStand(s, j, i) {
			return fmt.Sprintf("is still wanted by %d", j)
		}
	}
	for o, y := range l.p.Operations {
		for _, sp := range x.Closes {
			if gently && o != i && !s.done[o] && slices.Contains(y.Opens, sp) && !l.laterThanGood(o, i) {
				return fmt.Sprintf("will be ended by %d", o)
			}
		}
	}
	return ""
}

// tops reports whether an operation would stand on a trial and come off with it.
func (l *ledger) tops(s *seen, i int) bool {
	x := l.p.Operations[i]
	if !x.Binds && len(x.Closes) == 0 || x.Stays || x.Trial && s.times[i] == 0 {
		return false
	}
	for _, n := range x.Needs {
		if s.done[n] && !l.good(s, n) {
			ends := false
			for o, y := range l.p.Operations {
				for _, sp := range l.p.Operations[n].Closes {
					ends = ends || o != n && !s.done[o] && slices.Contains(y.Opens, sp) && !l.laterThanGood(o, n)
				}
			}
			if !ends {
				return true
			}
		}
	}
	return false
}

// canStand reports whether j, which names a trial, can be done while it stands.
func (l *ledger) canStand(s *seen, j, trial int) bool {
	waits := func(k int) bool {
		for _, sp := range l.p.Operations[trial].Closes {
			if l.worksIn(k, sp) || slices.Contains(l.p.Operations[k].Closes, sp) {
				return true
			}
		}
		return false
	}
	if x := l.p.Operations[j]; waits(j) || (x.Binds || len(x.Closes) > 0) && !x.Stays && !(x.Trial && s.times[j] == 0) {
		return false
	}
	for k := range l.p.Operations {
		if !s.done[k] && l.needsFar(j, k) && waits(k) {
			return false
		}
	}
	return true
}

// tried is an order with its times, as it is built up.
type tried struct {
	now, finish time.Duration
	changes     int
	setup       route.Setup
	over, ended []time.Duration
	order       []event
}

// starts says when an operation can start.
func (l *ledger) starts(s *seen, t *tried, i int) time.Duration {
	at := t.now
	wait := func(j int) {
		for _, n := range l.p.Operations[j].Needs {
			if s.done[n] {
				at = max(at, t.over[n])
			}
		}
	}
	wait(i)
	for _, w := range l.p.Operations[i].Within {
		if s.done[w.Operation] {
			continue
		}
		wait(w.Operation)
		for j := range l.p.Operations {
			if j != i && !s.done[j] && l.needsFar(w.Operation, j) {
				wait(j)
			}
		}
	}
	return at
}

// late reports whether an operation would start too late after another.
func (l *ledger) late(s *seen, t *tried, i int) bool {
	for j, x := range l.p.Operations {
		for _, w := range x.Within {
			if w.Operation == i && s.done[j] && l.starts(s, t, i) > t.ended[j]+w.Most {
				return true
			}
		}
	}
	return false
}

// between reports whether an operation may come now, as far as something else must
// follow in time.
func (l *ledger) between(s *seen, i int) bool {
	any, leads := false, false
	for j, x := range l.p.Operations {
		for _, w := range x.Within {
			if l.good(s, j) && !s.done[w.Operation] {
				any = true
				leads = leads || w.Operation == i || l.needsFar(w.Operation, i)
			}
		}
	}
	return !any || leads
}

func (l *ledger) begin() *tried {
	t := &tried{setup: l.p.Before, over: make([]time.Duration, len(l.p.Operations)), ended: make([]time.Duration, len(l.p.Operations))}
	for i, x := range l.p.Operations {
		if x.Waiting {
			t.over[i] = x.Left
		}
		for _, w := range x.Within {
			if x.Done {
				t.ended[i] = w.Left - w.Most
			}
		}
	}
	return t
}

func (t *tried) and(l *ledger, s *seen, e event) *tried {
	x := l.p.Operations[e.op]
	u := &tried{setup: x.Setup, over: slices.Clone(t.over), ended: slices.Clone(t.ended), order: append(slices.Clone(t.order), e)}
	u.changes = t.changes
	for _, pair := range [][2]int{{t.setup.Side, x.Side}, {t.setup.Fixture, x.Fixture}, {t.setup.Tool, x.Tool}} {
		if pair[0] > 0 && pair[1] > 0 && pair[0] != pair[1] {
			u.changes++
		}
	}
	if e.kind == route.Undo {
		u.now = t.now + x.Undoing
		return u
	}
	u.now = l.starts(s, t, e.op) + x.Duration
	u.ended[e.op], u.over[e.op] = u.now, 0
	if x.Waits {
		u.over[e.op] = u.now + x.Wait
	}
	return u
}

func (t *tried) end(s *seen) time.Duration {
	at := t.now
	for i, over := range t.over {
		if s.done[i] {
			at = max(at, over)
		}
	}
	return at
}

// better reports whether an order is better than another: fewer changes, earlier
// finished, nearer to the order of the operations.
func (t *tried) better(u *tried) bool {
	if u == nil {
		return true
	}
	if t.changes != u.changes {
		return t.changes < u.changes
	}
	if t.finish != u.finish {
		return t.finish < u.finish
	}
	return slices.CompareFunc(t.order, u.order, func(a, b event) int { return cmp.Compare(a.op, b.op) }) < 0
}

// every tries every order there is and gives the best that finishes all operations; nil
// if there is none. fine keeps the finer rules.
func (l *ledger) every(fine bool) *tried {
	var best *tried
	var visit func(t *tried)
	visit = func(t *tried) {
		s := l.look()
		all := true
		for i := range l.p.Operations {
			all = all && l.good(s, i)
		}
		if all {
			if t.finish = t.end(s); t.better(best) {
				best = t
			}
			return
		}
		for i := range l.p.Operations {
			e := event{i, route.Do}
			switch {
			case !s.done[i] && l.breaks(s, i) == "" && (!fine || l.between(s, i) && !l.late(s, t, i) && !l.tops(s, i)):
			case s.done[i] && l.holdBack(s, i, fine) == "" && (!fine || l.idle(s)):
				e.kind = route.Undo
			default:
				continue
			}
			next := t.and(l, s, e)
			l.events = append(l.events, e)
			visit(next)
			l.events = l.events[:len(l.events)-1]
		}
	}
	visit(l.begin())
	return best
}

// idle reports whether nothing must follow in time just now.
func (l *ledger) idle(s *seen) bool {
	for j, x := range l.p.Operations {
		for _, w := range x.Within {
			if l.good(s, j) && !s.done[w.Operation] {
				return false
			}
		}
	}
	return true
}
