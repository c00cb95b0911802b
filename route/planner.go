package route

import (
	"cmp"
	"slices"
	"time"

	"buttonup/route/sequence"
)

// Options bound the work of the planner. They count steps of search, never time, so
// that equal problems have equal plans on every machine.
type Options struct {
	// Moves is how many changes of a plan are tried to make it better, States how many
	// states of the job a search for proof may look at; 0 is the usual amount.
	Moves, States int
}

// What a plan is worth, so that one of two hundred steps takes some ten milliseconds and
// one of thirty is proven in some thirty.
const (
	usualMoves = 60000
	provable   = 36 // steps up to which a proof is looked for
)

func statesFor(steps int) int {
	if steps <= provable {
		return 100000
	}
	return 4000
}

// Find gives an order of all the work that is left.
//
// No step of it breaks a rule. Of all such orders it looks for the one with the fewest
// changes of side, fixture and tool; of those for the one that is finished first, where
// other work fills the waits; of those for the one that keeps most closely to the order
// of the operations. Plan.Proven says that none has fewer changes, Plan.Soonest that
// besides none with as few is finished earlier.
//
// What must follow in time comes right after what it must follow, with nothing between
// but what leads to it. A trial is taken back when all that names it and can stand on
// it is done, unless an operation is to come that opens its space and so ends it. Where
// no order keeps these two, they are let go, and then the clock; never the rules.
//
// Where work that is left lies in a space that is closed already, the plan begins with
// the least that must be taken back to reach it; Plan.Reopens counts these steps.
//
// Where an operation cannot be finished, it and all that waits for it are left out and
// told in Plan.Stuck.
//
// A plan depends on the problem and the options alone: there is no plan from before
// that it starts from, so the same job has the same plan however it came to be as it
// is.
func Find(p *Problem, o Options) *Plan {
	r := newRules(p)
	plan := r.plan(o)
	if len(plan.Stuck) > 0 {
		if again := r.reopen(plan, o); again != nil {
			return again
		}
	}
	return plan
}

// plan gives an order of what can be done without opening anything again.
func (r *rules) plan(o Options) *Plan {
	c := r.search(r.reachable(), o)
	plan := r.tell(c.moves)
	plan.Bound, plan.Proven, plan.Soonest = min(c.bound, plan.Changes), c.proven, c.soonest
	r.tellStuck(plan, c.moves)
	return plan
}

// found is an order and what is known about it.
type found struct {
	moves   []move
	changes int
	finish  time.Duration
	bound   int
	proven  bool // no plan has fewer changes
	soonest bool // and none with as few is finished earlier
}

// search looks for a plan, with all the finer rules or else with fewer, and makes it
// better. Where not all of a goal can be reached, it looks for the best plan for what
// can.
func (r *rules) search(goal set, o Options) found {
	f, best := r.reach(goal, o)
	if best == nil {
		return f
	}
	s := r.stateAfter(best)
	less := newSet(r.n)
	for i := range r.Operations {
		if r.finished(s, i) {
			less.put(i)
		}
	}
	if f, again := r.reach(less, o); again == nil {
		return f
	}
	return found{moves: best}
}

// reach looks for a plan that reaches a goal. Where there is none, it gives the moves
// that come furthest.
func (r *rules) reach(goal set, o Options) (f found, furthest []move) {
	furthest = []move{}
	for _, g := range []rigour{{true, true, true}, {true, false, true}, {true, true, false}, {true, false, false}, {}} {
		if r.countTasks(goal) <= 16 {
			if moves, ok := r.solveSmall(g, goal, 1500); ok {
				changes, finish, _ := r.legal(moves, g)
				return found{moves, changes, finish, changes, true, true}, nil
			}
		}
		moves, ok := r.firstPlan(g, goal)
		if !ok {
			moves, ok = r.find(g, goal, 500)
		}
		if ok {
			return r.better(moves, g, o), nil
		}
		if len(moves) > len(furthest) {
			furthest = moves
		}
	}
	return found{}, furthest
}

// stateAfter is the state after some moves.
func (r *rules) stateAfter(moves []move) *state {
	b := r.startBench()
	for _, m := range moves {
		r.take(b, m)
	}
	return b.state
}

func (r *rules) countTasks(goal set) int {
	n := 0
	s := r.start()
	for i := range r.Operations {
		if goal.has(i) && !r.finished(s, i) {
			n++
			if r.Operations[i].Trial {
				n++
			}
		}
	}
	return n
}

// better looks for a plan of the same steps in a better order.
func (r *rules) better(moves []move, g rigour, o Options) found {
	changes, finish, ok := r.legal(moves, g)
	best := found{moves: moves, changes: changes, finish: finish}
	if !ok || slices.ContainsFunc(moves, func(m move) bool { return m.kind == Again }) {
		return best
	}
	t := r.newTasks(moves)
	least := t.earliest()
	so := sequence.Options{Moves: cmp.Or(o.Moves, usualMoves), States: cmp.Or(o.States, statesFor(len(moves)))}
	best.bound = t.loosely(r, &best, g, so)
	if best.changes > best.bound {
		so.States = min(so.States, 4000) // the bound is known, and the annealing as good
		t.tightly(r, &best, g, so)
	}
	t = r.newTasks(best.moves)
	lumps, of := t.lumps()
	p := t.newPolish(lumps, t.sequenceOf(lumps, of, t.enough).Before, indicesOf(len(lumps)))
	p.hasten(least, 3000)
	p.tidy(1000)
	best.take(r, t.lay(lumps, p.order), g)
	best.proven = best.changes == best.bound
	best.soonest = best.proven && best.finish == least
	return best
}

// tightly solves the question of sequence with what keeps every order allowed, and makes
// the result better in the other two respects.
func (t *tasks) tightly(r *rules, best *found, g rigour, so sequence.Options) {
	lumps, of := t.lumps()
	tight := t.sequenceOf(lumps, of, t.enough)
	res, err := sequence.Solve(tight, so)
	if err != nil {
		return
	}
	best.take(r, t.lay(lumps, res.Order), g)
	p := t.newPolish(lumps, tight.Before, res.Order)
	p.hasten(t.earliest(), 2000)
	best.take(r, t.lay(lumps, p.order), g)
}

// loosely solves the question of sequence with only what every order must keep. That
// gives a bound, and if the order happens to break no rule, the best plan.
func (t *tasks) loosely(r *rules, best *found, g rigour, so sequence.Options) (bound int) {
	single, each := t.apart()
	if len(single) > 64 {
		so.Moves = 1 // only the bound is wanted
	}
	res, err := sequence.Solve(t.sequenceOf(single, each, t.must), so)
	if err != nil {
		return 0
	}
	best.take(r, t.lay(single, res.Order), g)
	return res.Bound
}

func indicesOf(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// take takes over an order if it is allowed and better.
func (f *found) take(r *rules, moves []move, g rigour) {
	changes, finish, ok := r.legal(moves, g)
	if ok && (changes < f.changes || changes == f.changes && (finish < f.finish || finish == f.finish && inPackOrder(moves, f.moves))) {
		f.moves, f.changes, f.finish = moves, changes, finish
	}
}

// inPackOrder reports whether one order keeps closer to that of the pack than another:
// at the first place where they differ it has the earlier operation.
func inPackOrder(a, b []move) bool {
	return slices.CompareFunc(a, b, func(x, y move) int { return x.operation - y.operation }) < 0
}

// apart gives every task a lump of its own.
func (t *tasks) apart() (lumps []lump, of []int) {
	for k := range t.moves {
		lumps, of = append(lumps, lump{[]int{k}}), append(of, k)
	}
	return lumps, of
}

// earliest is a time before which no order of the tasks can be finished: all the work,
// or for some wait all that must come before it, the wait, and what must come after.
func (t *tasks) earliest() time.Duration {
	var total time.Duration
	takes := make([]time.Duration, len(t.moves))
	for k, m := range t.moves {
		if m.kind == Undo {
			takes[k] = t.Operations[m.operation].Undoing
		} else {
			takes[k] = t.Operations[m.operation].Duration
		}
		total += takes[k]
	}
	reach := closure(t.must)
	tail := func(k int) time.Duration {
		sum := takes[k]
		for j := range t.moves {
			if reach[j].has(k) {
				sum += takes[j]
			}
		}
		return sum
	}
	least := total
	for i := range t.Operations {
		x := &t.Operations[i]
		head := x.Left
		if k := t.last[i]; k >= 0 {
			head = takes[k] + x.Wait
			for j := range t.moves {
				if reach[k].has(j) {
					head += takes[j]
				}
			}
		} else if !x.Done || !x.Waiting {
			continue
		}
		if !x.Waits && t.last[i] >= 0 {
			continue
		}
		longest := time.Duration(0)
		for _, j := range t.neededBy[i] {
			if t.first[j] >= 0 && !x.Trial {
				longest = max(longest, tail(t.first[j]))
			}
		}
		least = max(least, head+longest)
	}
	return least
}

// reachable gives the operations that are not ruled out at once: by a hold that cannot
// be met, by needing themselves, or by something that is ruled out.
func (r *rules) reachable() set {
	s := r.start()
	out := newSet(r.n)
	for i := range r.Operations {
		if !s.done[i] && (r.after[i].has(i) || slices.ContainsFunc(r.Operations[i].Holds, func(h int) bool { return r.Holds[h].State == Unmeetable })) {
			out.put(i)
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
