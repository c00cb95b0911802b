package route

import (
	"slices"
	"time"
)

// move is a step without its time.
type move struct {
	operation int
	kind      Kind
}

// bench is a state with the time it is: what a search carries along.
type bench struct {
	*state
	now     time.Duration
	over    []time.Duration // when the wait after an operation is over
	ended   []time.Duration // when it was done, for those that something must follow in time
	setup   Setup
	changes int
}

func (r *rules) startBench() *bench {
	b := &bench{state: r.start(), over: make([]time.Duration, r.n), ended: make([]time.Duration, r.n), setup: r.Before}
	for i := range r.Operations {
		x := &r.Operations[i]
		if x.Done && x.Waiting {
			b.over[i] = max(0, x.Left)
		}
		for _, w := range x.Within {
			if x.Done {
				b.ended[i] = w.Left - w.Most
			}
		}
	}
	return b
}

func (b *bench) clone() *bench {
	c := *b
	c.state = b.state.clone()
	c.over, c.ended = slices.Clone(b.over), slices.Clone(b.ended)
	return &c
}

// rigour says which of the finer rules a search keeps. It begins with all of them; what
// has no plan with all may still have one with fewer.
type rigour struct {
	// glued: once an operation is done that another must follow in time, nothing comes
	// between but what leads to that other.
	glued bool
	// purpose: a trial is taken back only when all that names it and can stand on it is
	// done, and not where an operation that opens its space is to come; and what would
	// come off with it is not done on it.
	purpose bool
	// inTime: a Within is kept by the clock.
	inTime bool
}

// steps lists what may be done from a state, in the order of the pack.
func (r *rules) steps(b *bench, g rigour, list []move) []move {
	list = list[:0]
	due := r.due(b)
	for i := range r.Operations {
		if b.done[i] {
			if r.mayTakeBack(b.state, i, g) && !(g.glued && len(due) > 0) {
				list = append(list, move{i, Undo})
			}
			continue
		}
		if g.glued && !r.leadsTo(i, due) || g.inTime && r.tooLate(b, i) || g.purpose && r.wouldComeOff(b.state, i) {
			continue
		}
		if _, no := r.obstacle(b.state, i); !no {
			list = append(list, move{i, Do})
		}
	}
	return list
}

// due lists the operations that must follow in time something that is done for good.
// At a trial no sealant is on.
func (r *rules) due(b *bench) []int {
	var list []int
	for i := range r.Operations {
		if !r.finished(b.state, i) {
			continue
		}
		for _, w := range r.Operations[i].Within {
			// A first doing too late is over; a plan makes it no worse.
			missed := b.seq[i] == int32(r.Operations[i].Seq) && r.Operations[i].Done && w.Left < 0
			if !b.done[w.Operation] && !missed {
				list = append(list, w.Operation)
			}
		}
	}
	return list
}

func (r *rules) leadsTo(i int, due []int) bool {
	return len(due) == 0 || slices.ContainsFunc(due, func(d int) bool { return d == i || r.after[d].has(i) })
}

// tooLate reports whether operation i could only start after the time in which it must
// follow another.
func (r *rules) tooLate(b *bench, i int) bool {
	for _, w := range r.ends[i] {
		within := &r.Operations[w.from].Within[w.index]
		if !b.done[w.from] || r.Operations[w.from].Done && within.Left < 0 && b.seq[w.from] == int32(r.Operations[w.from].Seq) {
			continue
		}
		if r.startOf(b, i) > b.ended[w.from]+within.Most {
			return true
		}
	}
	return false
}

// startOf says when operation i can start: after the step before and all waits that it
// needs to be over. What must be followed in time starts when nothing that has to
// follow waits for anything else.
func (r *rules) startOf(b *bench, i int) time.Duration {
	at := b.now
	ready := func(j int) {
		for _, n := range r.Operations[j].Needs {
			if b.done[n] {
				at = max(at, b.over[n])
			}
		}
	}
	ready(i)
	for _, w := range r.Operations[i].Within {
		if b.done[w.Operation] {
			continue
		}
		ready(w.Operation)
		for j := range r.Operations {
			if !b.done[j] && j != i && r.after[w.Operation].has(j) {
				ready(j)
			}
		}
	}
	return at
}

// mayTakeBack reports whether a trial may be taken back now.
func (r *rules) mayTakeBack(s *state, i int, g rigour) bool {
	if !r.Operations[i].Trial || !s.done[i] || !r.trialNow(s, i) {
		return false
	}
	if slices.ContainsFunc(r.inside[i], func(sp int) bool { return s.closed[sp] }) || r.holdsDown(s, i) {
		return false
	}
	return !g.purpose || !r.ender(s, i) && r.served(s, i)
}

// wouldComeOff reports whether an operation would stand on a trial that is to be taken
// back, and would have to come off with it.
func (r *rules) wouldComeOff(s *state, i int) bool {
	if !r.comesOff(i) || r.Operations[i].Trial && s.times[i] == 0 {
		return false
	}
	return slices.ContainsFunc(r.Operations[i].Needs, func(n int) bool { return s.done[n] && r.trialNow(s, n) && !r.ender(s, n) })
}

// holdsDown reports whether something done must come off before operation i can be
// taken back.
func (r *rules) holdsDown(s *state, i int) bool {
	return slices.ContainsFunc(r.neededBy[i], func(j int) bool { return s.done[j] && r.comesOff(j) })
}

// comesOff reports whether an operation is taken back before what it needs.
func (r *rules) comesOff(i int) bool {
	x := &r.Operations[i]
	return (x.Binds || len(x.Closes) > 0) && !x.Stays
}

// ender reports whether an operation is still to come that ends a trial by opening its
// space.
func (r *rules) ender(s *state, trial int) bool {
	return slices.ContainsFunc(r.Operations[trial].Closes, func(sp int) bool {
		return slices.ContainsFunc(r.openers[sp], func(o int) bool { return o != trial && !s.done[o] && !r.follows(o, trial) })
	})
}

// served reports whether all that a trial is for is done: what names it and can be done
// while it stands.
func (r *rules) served(s *state, trial int) bool {
	return !slices.ContainsFunc(r.neededBy[trial], func(i int) bool { return !s.done[i] && r.standsOn(s, i, trial) })
}

// standsOn reports whether an operation that names a trial can be done while it stands
// for trial, and so can all that it still needs.
func (r *rules) standsOn(s *state, i, trial int) bool {
	if r.meet(i, trial) || r.comesOff(i) && !(r.Operations[i].Trial && s.times[i] == 0) {
		return false
	}
	for k := range r.Operations {
		if r.after[i].has(k) && !s.done[k] && r.meet(k, trial) {
			return false
		}
	}
	return true
}

// take does a move and moves the clock.
func (r *rules) take(b *bench, m move) {
	x := &r.Operations[m.operation]
	b.changes += b.setup.Changes(x.Setup)
	b.setup = x.Setup
	if m.kind == Undo {
		r.undo(b.state, m.operation)
		b.now += x.Undoing
		return
	}
	b.now = r.startOf(b, m.operation) + x.Duration
	r.do(b.state, m.operation)
	b.ended[m.operation] = b.now
	if x.Waits {
		b.over[m.operation] = b.now + x.Wait
	}
}

// finish says when everything is over.
func (b *bench) finish() time.Duration {
	at := b.now
	for i, over := range b.over {
		if b.done[i] {
			at = max(at, over)
		}
	}
	return at
}
