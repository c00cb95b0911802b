package route

import "slices"

// Options bound the work of the planner. They count steps of search, never time, so
// that equal inputs give equal plans on every machine.
type Options struct {
	// Effort is how much search a plan is worth; 0 is the usual amount.
	Effort int
}

// Find gives an order of all the work that is left.
//
// No step of it breaks a rule. Of all such orders it looks for the one with the fewest
// changes of side, fixture and tool; of those for the one that is finished first, where
// other work fills the waits; of those for the one that keeps most closely to the order
// of the operations. Plan.Proven says when no better one exists.
//
// Where an operation cannot be finished, it and all that waits for it are left out and
// told in Plan.Stuck.
func Find(p *Problem, o Options) *Plan {
	r := newRules(p)
	goal := r.reachable()
	moves := r.anyPlan(goal)
	plan := r.tell(moves)
	r.tellStuck(plan, moves)
	return plan
}

// anyPlan looks for a plan, with all the finer rules or else with fewer.
func (r *rules) anyPlan(goal set) []move {
	var best []move
	for _, g := range []rigour{{true, true, true}, {true, false, true}, {false, false, false}} {
		moves, ok := r.find(g, goal, 2000)
		if ok {
			return moves
		}
		if len(moves) > len(best) {
			best = moves
		}
	}
	return best
}

// reachable gives the operations that are not ruled out at once: by a hold that cannot
// be met, or by needing one that is.
func (r *rules) reachable() set {
	out := newSet(r.n)
	for i := range r.Operations {
		if slices.ContainsFunc(r.Operations[i].Holds, func(h int) bool { return r.Holds[h].State == Unmeetable }) {
			out.put(i)
		}
		if r.after[i].has(i) {
			out.put(i)
		}
	}
	s := r.start()
	for i := range r.Operations {
		if s.done[i] {
			out.drop(i)
		}
	}
	for again := true; again; {
		again = false
		for i := range r.Operations {
			if out.has(i) || s.done[i] {
				continue
			}
			if slices.ContainsFunc(r.Operations[i].Needs, out.has) || r.closesOverLost(s, out, i) {
				out.put(i)
				again = true
			}
		}
	}
	in := newSet(r.n)
	for i := range r.Operations {
		if !out.has(i) {
			in.put(i)
		}
	}
	return in
}

// closesOverLost reports whether operation i is sure to close a space last, over work
// that cannot be done.
func (r *rules) closesOverLost(s *state, out set, i int) bool {
	return slices.ContainsFunc(r.Operations[i].Closes, func(sp int) bool {
		return r.closesLast(s, i, sp) && slices.ContainsFunc(r.work[sp], func(w int) bool {
			return out.has(w) && !r.finished(s, w) && !r.follows(w, i)
		})
	})
}

// tell walks a plan once more and writes down what each step brings.
func (r *rules) tell(moves []move) *Plan {
	p := &Plan{}
	b := r.startBench()
	for _, m := range moves {
		p.Steps = append(p.Steps, r.tellStep(b, m))
		last := &p.Steps[len(p.Steps)-1]
		p.Work += last.End - last.Start
	}
	p.Changes, p.Finish = b.changes, b.finish()
	return p
}

func (r *rules) tellStep(b *bench, m move) Step {
	st := Step{Operation: m.operation, Kind: m.kind, Start: b.now, Changes: b.setup.Changes(r.Operations[m.operation].Setup)}
	if m.kind != Undo {
		st.Start, st.Late = r.startOf(b, m.operation), r.tooLate(b, m.operation)
		st.Trial = r.Operations[m.operation].Trial && b.times[m.operation] == 0
	}
	st.Idle = st.Start - b.now
	before := slices.Clone(b.closed)
	r.take(b, m)
	st.End = b.now
	for sp := range before {
		switch {
		case !before[sp] && b.closed[sp]:
			st.Closes = append(st.Closes, sp)
		case before[sp] && !b.closed[sp]:
			st.Opens = append(st.Opens, sp)
		}
	}
	return st
}
