package route

// firstPlan looks for a plan by doing what is best at the moment. Where that comes to
// an end too early, it finds out which step shut the others out, learns that this one
// has to wait for them, and begins again.
func (r *rules) firstPlan(g rigour, goal set) (moves []move, ok bool) {
	const patience = 40
	waits := make([]set, r.n)
	most := -1
	for range patience {
		path, b, done := r.straight(g, goal, waits)
		if done {
			return path, true
		}
		if n := r.countFinished(b.state); n > most {
			most, moves = n, path
		}
		if !r.learn(b, g, waits) {
			break
		}
	}
	return moves, false
}

func (r *rules) countFinished(s *state) int {
	n := 0
	for i := range r.Operations {
		if r.finished(s, i) {
			n++
		}
	}
	return n
}

// straight goes on without ever turning back. An operation that has learned to wait is
// passed over as long as there is another.
func (r *rules) straight(g rigour, goal set, waits []set) (path []move, b *bench, done bool) {
	b = r.startBench()
	var list []move
	for {
		if r.goalReached(b.state, goal) {
			return path, b, true
		}
		list = r.steps(b, g, list)
		if len(list) == 0 || len(path) > 3*r.n { // two trials may open each other's spaces for ever
			return path, b, false
		}
		best, early := -1, false
		for k, m := range list {
			e := m.kind == Do && waits[m.operation] != nil && r.stillWaits(b.state, waits[m.operation])
			if best < 0 || early && !e || early == e && r.prefers(b, m, list[best]) {
				best, early = k, e
			}
		}
		path = append(path, list[best])
		r.take(b, list[best])
	}
}

func (r *rules) goalReached(s *state, goal set) bool {
	for i := range r.Operations {
		if goal.has(i) && !r.finished(s, i) {
			return false
		}
	}
	return true
}

func (r *rules) stillWaits(s *state, on set) bool {
	for i := range r.Operations {
		if on.has(i) && !s.done[i] {
			return true
		}
	}
	return false
}

// prefers reports whether a move is better than another: it starts earlier, or changes
// less, or stands earlier in the pack.
func (r *rules) prefers(b *bench, m, than move) bool {
	at := func(m move) int64 {
		if m.kind == Undo {
			return int64(b.now)
		}
		return int64(r.startOf(b, m.operation))
	}
	if x, y := at(m), at(than); x != y {
		return x < y
	}
	x, y := b.setup.Changes(r.Operations[m.operation].Setup), b.setup.Changes(r.Operations[than.operation].Setup)
	return x < y || x == y && m.operation < than.operation
}

// learn finds what shut out the operations that cannot be finished, and writes down
// that it waits for them. It reports whether anything was new.
func (r *rules) learn(b *bench, g rigour, waits []set) bool {
	fresh := false
	wait := func(i, on int) {
		if i == on || r.after[on].has(i) {
			return
		}
		if waits[i] == nil {
			waits[i] = newSet(r.n)
		}
		if !waits[i].has(on) {
			waits[i].put(on)
			fresh = true
		}
	}
	closer := func(sp, on int) {
		if c := r.newestCloser(b.state, sp); c >= 0 {
			wait(c, on)
		}
	}
	for i := range r.Operations {
		if r.finished(b.state, i) {
			continue
		}
		if b.done[i] { // stands for trial
			for _, j := range r.neededBy[i] {
				for k := range r.Operations {
					if !b.done[k] && (k == j || r.after[j].has(k)) {
						wait(i, k)
					}
				}
			}
			continue
		}
		for _, sp := range r.in[i] {
			if b.closed[sp] {
				closer(sp, i)
			}
		}
		for _, h := range r.Operations[i].Holds {
			if r.holdMet(b.state, h) {
				continue
			}
			for _, sp := range r.Holds[h].Open {
				if b.closed[sp] {
					closer(sp, i)
				}
			}
			for _, u := range r.Holds[h].Until {
				if b.done[u] {
					wait(u, i)
				}
			}
		}
		for _, k := range r.forbidden[i] {
			if b.locked[k] > 0 {
				for _, f := range r.Locks[k].From {
					wait(f, i)
				}
			}
		}
	}
	if g.glued {
		r.learnDue(b, wait)
	}
	return fresh
}

// learnDue makes what must be followed in time wait for all that its follower still
// waits for.
func (r *rules) learnDue(b *bench, wait func(i, on int)) {
	for a := range r.Operations {
		for _, w := range r.Operations[a].Within {
			if !r.finished(b.state, a) || b.done[w.Operation] {
				continue
			}
			for k := range r.Operations {
				if b.done[k] {
					continue
				}
				if r.after[w.Operation].has(k) {
					wait(a, k)
				}
				if k == w.Operation || r.after[w.Operation].has(k) {
					if why, no := r.obstacle(b.state, k); no && why.By >= 0 {
						wait(a, why.By)
					}
					r.learnHolds(b.state, a, k, wait)
				}
			}
		}
	}
}

// learnHolds makes an operation wait for what must be done before the holds of another
// can be read, and for what else shuts that one out.
func (r *rules) learnHolds(s *state, a, k int, wait func(i, on int)) {
	for _, h := range r.Operations[k].Holds {
		if r.holdMet(s, h) {
			continue
		}
		for _, o := range r.Holds[h].After {
			if !s.done[o] {
				wait(a, o)
			}
		}
	}
	for _, l := range r.forbidden[k] {
		for _, u := range r.Locks[l].Until {
			if s.locked[l] > 0 && !s.done[u] {
				wait(a, u)
			}
		}
	}
	if why, no := r.obstacle(s, k); no && why.Kind == LeftInside {
		for _, o := range r.takenBy[why.Temporary] {
			if !s.done[o] {
				wait(a, o)
			}
		}
	}
}

// newestCloser is what closed a space last; -1 if nobody here did.
func (r *rules) newestCloser(s *state, space int) int {
	best := -1
	for _, c := range r.closers[space] {
		if s.done[c] && (best < 0 || s.seq[c] > s.seq[best]) {
			best = c
		}
	}
	return best
}
