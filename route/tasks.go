package route

import (
	"slices"
	"time"

	"buttonup/route/sequence"
)

// tasks are the steps of a plan without their order, and what must come before what.
type tasks struct {
	*rules
	moves []move // in the order of a plan that is allowed
	first []int  // by operation: its first doing among the moves, -1 for none
	last  []int  // its doing for good
	undo  []int  // its taking back
	// must holds for every allowed order of these moves; enough makes every order that
	// keeps it allowed, as far as can be told without walking through it.
	must, enough [][]int
}

func (r *rules) newTasks(moves []move) *tasks {
	t := &tasks{rules: r, moves: moves, first: make([]int, r.n), last: make([]int, r.n), undo: make([]int, r.n),
		must: make([][]int, len(moves)), enough: make([][]int, len(moves))}
	for i := range r.n {
		t.first[i], t.last[i], t.undo[i] = -1, -1, -1
	}
	for k, m := range moves {
		switch {
		case m.kind == Undo:
			t.undo[m.operation] = k
		default:
			if t.first[m.operation] < 0 {
				t.first[m.operation] = k
			}
			t.last[m.operation] = k
		}
	}
	t.always()
	t.asPlanned()
	return t
}

// before writes down that task a comes before b in every order, -1 being none.
func (t *tasks) before(a, b int) {
	if a >= 0 && b >= 0 && a != b {
		t.must[b] = append(t.must[b], a)
		t.enough[b] = append(t.enough[b], a)
	}
}

// keep writes down that two tasks stay in the order that they have.
func (t *tasks) keep(a, b int) {
	if a < 0 || b < 0 || a == b {
		return
	}
	if a > b {
		a, b = b, a
	}
	t.enough[b] = append(t.enough[b], a)
}

// always writes down what no order may break.
func (t *tasks) always() {
	s := t.start()
	for i := range t.Operations {
		for _, n := range t.Operations[i].Needs {
			if t.closeTogether(n, i) {
				t.before(t.last[n], t.first[i])
			} else if !s.done[n] {
				t.before(t.first[n], t.first[i])
			}
		}
		t.before(t.first[i], t.undo[i])
		if t.comesOff(i) && !t.Operations[i].Trial {
			for _, n := range t.Operations[i].Needs {
				if t.undo[n] >= 0 {
					t.before(t.last[n], t.first[i])
				}
			}
		}
		if t.first[i] != t.last[i] {
			t.before(t.first[i], t.last[i])
			t.before(t.undo[i], t.last[i])
		} else {
			t.before(t.undo[i], t.last[i])
		}
		if t.undo[i] >= 0 {
			for _, j := range t.neededBy[i] {
				if t.alwaysStandsOn(j, i) {
					t.before(t.first[j], t.undo[i])
				}
			}
		}
	}
	for sp := range t.Spaces {
		for _, c := range t.closers[sp] {
			if t.last[c] < 0 || !t.closesLast(s, c, sp) {
				continue
			}
			for _, w := range t.work[sp] {
				if w != c && !t.follows(w, c) {
					t.before(t.last[w], t.last[c])
				}
			}
		}
	}
}

// alwaysStandsOn reports whether an operation can be done while a trial stands whatever
// was done before.
func (t *tasks) alwaysStandsOn(i, trial int) bool {
	if t.meet(i, trial) || t.comesOff(i) {
		return false
	}
	for k := range t.Operations {
		if t.after[i].has(k) && t.meet(k, trial) && k != trial {
			return false
		}
	}
	return true
}

// asPlanned writes down what keeps every order of the tasks allowed, where a rule
// leaves a choice as the plan has it.
func (t *tasks) asPlanned() {
	b := t.startBench()
	for k, m := range t.moves {
		t.keepNeeds(k)
		t.keepInside(k)
		t.keepLocks(k)
		was := slices.Clone(b.closed)
		trialWas := slices.Clone(b.done)
		t.take(b, m)
		for sp := range was {
			if was[sp] != b.closed[sp] {
				t.keepAround(k, sp)
			}
		}
		for i := range trialWas {
			if trialWas[i] && !b.done[i] && i != m.operation {
				t.keepEnd(k, i)
			}
		}
	}
	t.keepTemporaries()
	t.keepReadings()
}

// keepNeeds keeps a step among the doings of what it needs.
func (t *tasks) keepNeeds(k int) {
	for _, n := range t.Operations[t.moves[k].operation].Needs {
		for j, m := range t.moves {
			if m.operation == n {
				t.keep(j, k)
			}
		}
	}
}

// keepInside keeps a step on its side of all that closes or opens the spaces that it
// works in, and a closing on its side of all that closes the same space.
func (t *tasks) keepInside(k int) {
	m := t.moves[k]
	for _, sp := range t.inside[m.operation] {
		t.keepOff(k, sp)
	}
	for _, sp := range t.Operations[m.operation].Closes {
		t.keepOff(k, sp)
	}
}

func (t *tasks) keepOff(k, space int) {
	for j, m := range t.moves {
		if t.touches(m.operation, space) && t.turns(j, space) {
			t.keep(j, k)
		}
	}
}

func (t *tasks) touches(i, space int) bool {
	return slices.Contains(t.Operations[i].Closes, space) || slices.Contains(t.Operations[i].Opens, space)
}

// turns reports whether a step may close or open a space: all that opens or is a trial
// may, and of what closes it the last does.
func (t *tasks) turns(k, space int) bool {
	m := t.moves[k]
	if m.kind == Undo || slices.Contains(t.Operations[m.operation].Opens, space) || t.Operations[m.operation].Trial {
		return true
	}
	for j := k + 1; j < len(t.moves); j++ {
		if slices.Contains(t.Operations[t.moves[j].operation].Closes, space) && t.moves[j].kind == Do {
			return false
		}
	}
	return true
}

// keepAround keeps all that works in a space, or closes or opens it, on its side of the
// step that closes or opens it.
func (t *tasks) keepAround(k, space int) {
	for j, m := range t.moves {
		if slices.Contains(t.inside[m.operation], space) || t.touches(m.operation, space) {
			t.keep(j, k)
		}
	}
}

// keepEnd keeps all that has to do with a trial on its side of the step that ends it.
func (t *tasks) keepEnd(k, trial int) {
	for j, m := range t.moves {
		if m.operation == trial || slices.Contains(t.neededBy[trial], m.operation) {
			t.keep(j, k)
		}
	}
}

// keepLocks keeps a forbidden step on its side of what begins and ends the lock, and
// what ends it after what begins it.
func (t *tasks) keepLocks(k int) {
	i := t.moves[k].operation
	for l := range t.Locks {
		x := &t.Locks[l]
		ends := slices.Contains(x.Until, i) || slices.ContainsFunc(t.passes[i], func(p pass) bool { return p.lock == l })
		if !ends && !slices.Contains(x.Forbids, i) {
			continue
		}
		for j, m := range t.moves {
			o := m.operation
			if slices.Contains(x.From, o) || slices.Contains(x.Forbids, i) && (slices.Contains(x.Until, o) || slices.ContainsFunc(t.passes[o], func(p pass) bool { return p.lock == l })) {
				t.keep(j, k)
			}
		}
	}
}

// keepTemporaries keeps what puts in and takes out, and what would shut it in, in the
// order that they have.
func (t *tasks) keepTemporaries() {
	for x := range t.Temporaries {
		for _, place := range t.Temporaries[x].Places {
			var handled, shut []int
			for k, m := range t.moves {
				switch {
				case slices.Contains(place.PutBy, m.operation) || slices.Contains(place.TakenBy, m.operation):
					handled = append(handled, k)
				case len(t.Operations[m.operation].Closes) > 0 && m.kind == Do && t.mayHide(place, m.operation):
					shut = append(shut, k)
				}
			}
			for _, k := range handled {
				for _, j := range append(shut, handled...) {
					t.keep(j, k)
				}
			}
		}
	}
}

// mayHide reports whether an operation closes a space in which something is put.
func (t *tasks) mayHide(place TemporaryPlace, i int) bool {
	return slices.ContainsFunc(place.PutBy, func(p int) bool {
		return len(t.in[p]) == 0 || meets(t.in[p], t.Operations[i].Closes)
	})
}

// keepReadings keeps all that makes a hold readable before all that ends it, and that
// before what holds it, where the plan has it so.
func (t *tasks) keepReadings() {
	for _, h := range t.inPlay {
		x := &t.Holds[h]
		var about []int
		for k, m := range t.moves {
			o := m.operation
			if slices.Contains(x.After, o) || slices.Contains(x.Until, o) || slices.Contains(t.Operations[o].Disturbs, h) ||
				slices.Contains(t.Operations[o].Holds, h) || slices.ContainsFunc(x.Open, func(sp int) bool { return t.touches(o, sp) }) {
				about = append(about, k)
			}
		}
		for _, k := range about {
			for _, j := range about {
				t.keep(j, k)
			}
		}
	}
}

// lump is a run of tasks that stay together, because the first must be followed in
// time.
type lump struct{ tasks []int }

// lumps cuts the plan into runs: from an operation that another must follow in time to
// that other, and single steps.
func (t *tasks) lumps() (lumps []lump, of []int) {
	of = make([]int, len(t.moves))
	end := -1
	for k, m := range t.moves {
		if k <= end {
			lumps[len(lumps)-1].tasks = append(lumps[len(lumps)-1].tasks, k)
		} else {
			lumps = append(lumps, lump{[]int{k}})
		}
		of[k] = len(lumps) - 1
		if m.kind == Do {
			for _, w := range t.Operations[m.operation].Within {
				end = max(end, t.nextDoing(w.Operation, k))
			}
		}
	}
	return lumps, of
}

func (t *tasks) nextDoing(i, after int) int {
	for k := after + 1; k < len(t.moves); k++ {
		if t.moves[k].operation == i && t.moves[k].kind == Do {
			return k
		}
	}
	return -1
}

// lay puts the tasks into the order in which their lumps come.
func (t *tasks) lay(lumps []lump, order []int) []move {
	list := make([]move, 0, len(t.moves))
	for _, l := range order {
		for _, k := range lumps[l].tasks {
			list = append(list, t.moves[k])
		}
	}
	return list
}

// sequenceOf turns the lumps, and what must come before what, into a question of
// sequence.
func (t *tasks) sequenceOf(lumps []lump, of []int, edges [][]int) *sequence.Problem {
	p := &sequence.Problem{Before: make([][]int, len(lumps))}
	for b, list := range edges {
		for _, a := range list {
			if of[a] != of[b] && !slices.Contains(p.Before[of[b]], of[a]) {
				p.Before[of[b]] = append(p.Before[of[b]], of[a])
			}
		}
	}
	p.Costs.Weights, p.Costs.First = []int{1, 1, 1}, setupList(t.Before)
	setup := func(k int) []int { return setupList(t.Operations[t.moves[k].operation].Setup) }
	for _, l := range lumps {
		p.Costs.Setups = append(p.Costs.Setups, setup(l.tasks[0]))
		p.Costs.Leaves = append(p.Costs.Leaves, setup(l.tasks[len(l.tasks)-1]))
	}
	return p
}

func setupList(s Setup) []int { return []int{s.Side, s.Fixture, s.Tool} }

// legal walks through moves and reports whether all of them are allowed, and what it
// comes to.
func (r *rules) legal(moves []move, g rigour) (changes int, finish time.Duration, ok bool) {
	b := r.startBench()
	for _, m := range moves {
		if !r.allowed(b, m, g) {
			return 0, 0, false
		}
		r.take(b, m)
	}
	return b.changes, b.finish(), true
}

// allowed reports whether a move is one that may be made now.
func (r *rules) allowed(b *bench, m move, g rigour) bool {
	due := []int(nil)
	if g.glued {
		due = r.due(b)
	}
	switch {
	case m.kind == Undo:
		return r.mayTakeBack(b.state, m.operation, g) && len(due) == 0
	case m.kind == Again:
		return b.done[m.operation]
	case b.done[m.operation] || g.glued && !r.leadsTo(m.operation, due) || g.inTime && r.tooLate(b, m.operation) || g.purpose && r.wouldComeOff(b.state, m.operation):
		return false
	}
	_, no := r.obstacle(b.state, m.operation)
	return !no
}
