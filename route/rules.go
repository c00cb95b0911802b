package route

import "slices"

// rules is a problem with its references turned round, so that every rule can be
// looked up from both ends.
type rules struct {
	*Problem
	n int
	// inside are the spaces that hold the work of an operation: those it is in, without
	// those it closes. in are those of them that must be open before, which leaves out
	// what it opens itself.
	inside, in [][]int
	neededBy   [][]int
	after      []set   // what each operation needs, directly or through others
	work       [][]int // by space
	closers    [][]int
	openers    [][]int
	forbidden  [][]int // locks, by operation
	begins     [][]int
	passes     [][]pass
	heldBy     [][]int // operations, by hold
	puts       [][]spot
	takes      [][]spot
	takenBy    [][]int // operations, by temporary
	ends       [][]within
	careful    bool
	inPlay     []int // holds whose reading depends on the order
}

// pass says that doing an operation passes a check that a lock waits for.
type pass struct{ lock, check int }

// spot is one place of a temporary.
type spot struct{ temporary, place int }

// within is a Within seen from the operation that must start in time.
type within struct {
	from  int
	index int
}

func newRules(p *Problem) *rules {
	n := len(p.Operations)
	r := &rules{
		Problem: p, n: n, careful: true,
		inside: make([][]int, n), in: make([][]int, n), neededBy: make([][]int, n),
		work: make([][]int, len(p.Spaces)), closers: make([][]int, len(p.Spaces)), openers: make([][]int, len(p.Spaces)),
		forbidden: make([][]int, n), begins: make([][]int, n), passes: make([][]pass, n),
		heldBy: make([][]int, len(p.Holds)), puts: make([][]spot, n), takes: make([][]spot, n),
		takenBy: make([][]int, len(p.Temporaries)), ends: make([][]within, n),
	}
	needs := make([][]int, n)
	for i := range p.Operations {
		x := &p.Operations[i]
		needs[i] = x.Needs
		for _, j := range x.Needs {
			r.neededBy[j] = append(r.neededBy[j], i)
		}
		for _, s := range x.In {
			if slices.Contains(x.Closes, s) || slices.Contains(r.inside[i], s) {
				continue
			}
			r.inside[i] = append(r.inside[i], s)
			r.work[s] = append(r.work[s], i)
			if !slices.Contains(x.Opens, s) {
				r.in[i] = append(r.in[i], s)
			}
		}
		for _, s := range x.Closes {
			r.closers[s] = append(r.closers[s], i)
		}
		for _, s := range x.Opens {
			r.openers[s] = append(r.openers[s], i)
		}
		for _, h := range x.Holds {
			r.heldBy[h] = append(r.heldBy[h], i)
		}
		for w := range x.Within {
			r.ends[x.Within[w].Operation] = append(r.ends[x.Within[w].Operation], within{i, w})
		}
	}
	r.after = closure(needs)
	r.addLocks()
	r.addTemporaries()
	for h := range p.Holds {
		x := &p.Holds[h]
		disturbed := slices.ContainsFunc(p.Operations, func(o Operation) bool { return slices.Contains(o.Disturbs, h) })
		if x.State != Unmeetable && len(x.Open)+len(x.After)+len(x.Until) > 0 && (x.State == Unread || disturbed) {
			r.inPlay = append(r.inPlay, h)
		}
	}
	return r
}

func (r *rules) addLocks() {
	for k := range r.Locks {
		l := &r.Locks[k]
		for _, i := range l.From {
			r.begins[i] = append(r.begins[i], k)
		}
		for _, i := range l.Forbids {
			r.forbidden[i] = append(r.forbidden[i], k)
		}
		for c, h := range l.Checks {
			for _, i := range r.heldBy[h] {
				r.passes[i] = append(r.passes[i], pass{k, c})
			}
		}
	}
}

func (r *rules) addTemporaries() {
	for t := range r.Temporaries {
		for p, place := range r.Temporaries[t].Places {
			for _, i := range place.PutBy {
				r.puts[i] = append(r.puts[i], spot{t, p})
			}
			for _, i := range place.TakenBy {
				r.takes[i] = append(r.takes[i], spot{t, p})
				if !slices.Contains(r.takenBy[t], i) {
					r.takenBy[t] = append(r.takenBy[t], i)
				}
			}
		}
	}
}

// follows reports whether operation i comes after j is done for good, because it needs
// it. A trial comes once more after what needs it only through others; what names it
// waits.
func (r *rules) follows(i, j int) bool {
	return r.after[i].has(j) && (!r.Operations[j].Trial || slices.Contains(r.Operations[i].Needs, j))
}

// closeTogether reports whether two operations close one space, so that the second
// must not go on top of a trial of the first.
func (r *rules) closeTogether(a, b int) bool {
	return meets(r.Operations[a].Closes, r.Operations[b].Closes)
}

// meet reports whether an operation that needs a trial closes or works in a space that
// the trial closes, so that it waits until the trial is done for good.
func (r *rules) meet(i, trial int) bool {
	return r.closeTogether(i, trial) || meets(r.inside[i], r.Operations[trial].Closes)
}

func meets(a, b []int) bool {
	return slices.ContainsFunc(a, func(x int) bool { return slices.Contains(b, x) })
}

// state is how far the work has come.
type state struct {
	done   []bool
	times  []uint8 // 0, 1 or 2 for more
	seq    []int32
	closed []bool
	byJob  []bool
	locked []int32  // the seq at which it began, 0 if it does not stand
	passed []uint64 // by lock, its checks passed since
	read   []bool   // by hold: met, or read in time
	clock  int32
}

func (r *rules) start() *state {
	s := &state{
		done: make([]bool, r.n), times: make([]uint8, r.n), seq: make([]int32, r.n),
		closed: make([]bool, len(r.Spaces)), byJob: make([]bool, len(r.Spaces)),
		locked: make([]int32, len(r.Locks)), passed: make([]uint64, len(r.Locks)), read: make([]bool, len(r.Holds)),
	}
	for i := range r.Operations {
		x := &r.Operations[i]
		s.done[i], s.times[i], s.seq[i] = x.Done, uint8(min(x.Times, 2)), int32(x.Seq)
		s.clock = max(s.clock, s.seq[i])
	}
	for i := range r.Spaces {
		s.closed[i], s.byJob[i] = r.Spaces[i].Closed, r.Spaces[i].ByJob
	}
	for k := range r.Locks {
		l := &r.Locks[k]
		s.locked[k] = int32(l.Since)
		s.clock = max(s.clock, s.locked[k])
		for c, h := range l.Checks {
			if slices.Contains(l.Passed, h) {
				s.passed[k] |= 1 << c
			}
		}
	}
	for h := range r.Holds {
		s.read[h] = r.Holds[h].State == Met
	}
	r.readWhatCan(s)
	return s
}

func (s *state) copyTo(t *state) {
	copy(t.done, s.done)
	copy(t.times, s.times)
	copy(t.seq, s.seq)
	copy(t.closed, s.closed)
	copy(t.byJob, s.byJob)
	copy(t.locked, s.locked)
	copy(t.passed, s.passed)
	copy(t.read, s.read)
	t.clock = s.clock
}

func (s *state) clone() *state {
	return &state{slices.Clone(s.done), slices.Clone(s.times), slices.Clone(s.seq), slices.Clone(s.closed), slices.Clone(s.byJob),
		slices.Clone(s.locked), slices.Clone(s.passed), slices.Clone(s.read), s.clock}
}

// readable reports whether a hold can be read as the engine stands.
func (r *rules) readable(s *state, h int) bool {
	x := &r.Holds[h]
	return x.State != Unmeetable &&
		!slices.ContainsFunc(x.Open, func(sp int) bool { return s.closed[sp] }) &&
		!slices.ContainsFunc(x.After, func(i int) bool { return !s.done[i] }) &&
		!slices.ContainsFunc(x.Until, func(i int) bool { return s.done[i] })
}

// readWhatCan takes every reading that can be taken.
func (r *rules) readWhatCan(s *state) {
	for _, h := range r.inPlay {
		s.read[h] = s.read[h] || r.readable(s, h)
	}
}

// holdMet reports whether a hold is met, or can be by a reading in time.
func (r *rules) holdMet(s *state, h int) bool {
	x := &r.Holds[h]
	return x.State != Unmeetable && (s.read[h] || len(x.Open)+len(x.After)+len(x.Until) == 0)
}

// trialNow reports whether the operation stands done for trial.
func (r *rules) trialNow(s *state, i int) bool { return r.Operations[i].Trial && s.times[i] <= 1 }

// finished reports whether an operation is done for good.
func (r *rules) finished(s *state, i int) bool { return s.done[i] && !r.trialNow(s, i) }

func (r *rules) allFinished(s *state) bool {
	for i := range r.Operations {
		if !r.finished(s, i) {
			return false
		}
	}
	return true
}

func (r *rules) allClosersFinished(s *state, space int) bool {
	return !slices.ContainsFunc(r.closers[space], func(c int) bool { return !r.finished(s, c) })
}

// closesLast reports whether operation i is sure to be the last to close a space.
func (r *rules) closesLast(s *state, i, space int) bool {
	return !slices.ContainsFunc(r.closers[space], func(c int) bool {
		return c != i && !r.finished(s, c) && !r.follows(i, c)
	})
}

// obstacle finds the first rule that doing operation i now would break. All of them
// are those of an assessment, in its order.
func (r *rules) obstacle(s *state, i int) (Reason, bool) {
	x := &r.Operations[i]
	no := Reason{Of: i, By: -1, Space: -1, Hold: -1, Lock: -1, Temporary: -1}
	for _, n := range x.Needs {
		if !s.done[n] {
			no.Kind, no.By = Needs, n
			return no, true
		}
		if r.trialNow(s, n) && r.closeTogether(n, i) {
			no.Kind, no.By = NeedsGood, n
			return no, true
		}
	}
	for _, sp := range r.in[i] {
		if s.closed[sp] {
			no.Kind, no.Space = Works, sp
			return no, true
		}
	}
	trial := x.Trial && s.times[i] == 0
	for _, sp := range x.Closes {
		last := r.closesLast(s, i, sp)
		if !trial && last {
			for _, w := range r.work[sp] {
				if w != i && !r.finished(s, w) && !r.follows(w, i) {
					no.Kind, no.Space, no.By = ShutIn, sp, w
					return no, true
				}
			}
		}
		if trial || last {
			if t := r.leftInside(s, i, sp); t >= 0 {
				no.Kind, no.Space, no.Temporary = LeftInside, sp, t
				return no, true
			}
		}
	}
	for _, h := range x.Holds {
		if !r.holdMet(s, h) {
			no.Kind, no.Hold = HoldUnmet, h
			return no, true
		}
	}
	for _, k := range r.forbidden[i] {
		if s.locked[k] > 0 {
			no.Kind, no.Lock = LockedBy, k
			return no, true
		}
	}
	if r.careful && len(x.Closes) > 0 && !trial {
		if w := r.deadEnd(s, i); w >= 0 {
			no.Kind, no.By = ShutIn, w
			return no, true
		}
	}
	return no, false
}

// leftInside finds a temporary that closing a space would hide; -1 for none.
func (r *rules) leftInside(s *state, i, space int) int {
	for t := range r.Temporaries {
		if r.isInside(s, t, space) && !slices.ContainsFunc(r.takenBy[t], func(o int) bool { return o == i || r.after[o].has(i) }) {
			return t
		}
	}
	return -1
}

// isInside reports whether a piece of a temporary is in a space: put in by work in that
// space, or by work that names no space, and not taken out since.
func (r *rules) isInside(s *state, t, space int) bool {
	for _, place := range r.Temporaries[t].Places {
		in := r.stillIn(s, place)
		if len(in) > 0 && slices.ContainsFunc(place.PutBy, func(i int) bool {
			return s.done[i] && slices.Contains(in, s.seq[i]) && (len(r.in[i]) == 0 || slices.Contains(r.in[i], space))
		}) {
			return true
		}
	}
	return false
}

// stillIn lists when the pieces that are still in were put in: first in, first out.
func (r *rules) stillIn(s *state, place TemporaryPlace) []int32 {
	var puts, outs []int32
	for _, i := range place.PutBy {
		if s.done[i] {
			puts = append(puts, s.seq[i])
		}
	}
	if len(puts) == 0 {
		return nil
	}
	for _, i := range place.TakenBy {
		if s.done[i] && !slices.Contains(place.PutBy, i) {
			outs = append(outs, s.seq[i])
		}
	}
	slices.Sort(puts)
	slices.Sort(outs)
	for _, out := range outs {
		if len(puts) > 0 && puts[0] < out {
			puts = puts[1:]
		}
	}
	return puts
}

// deadEnd finds work that could never be finished once i is done, although it could
// before; -1 for none.
func (r *rules) deadEnd(s *state, i int) int {
	after := r.hopeless(s, i)
	if len(after) == 0 {
		return -1
	}
	before := r.hopeless(s, -1)
	for _, w := range after {
		if !slices.Contains(before, w) {
			return w
		}
	}
	return -1
}

// hopeless lists the operations that can never be finished when one is done now, -1
// for none. It goes from the end: an operation may be put before all that is placed
// already if what needs it is placed, and with it, for every space that it is in, one
// of those that close the space. What is opened again later is let pass.
func (r *rules) hopeless(s *state, now int) []int {
	var list []int
	open := newSet(r.n)
	for i := range r.Operations {
		if i != now && !r.finished(s, i) {
			list = append(list, i)
			open.put(i)
		}
	}
	for {
		left := list[:0:0]
		for _, i := range list {
			if !r.mayStandLast(s, now, i, open) {
				left = append(left, i)
			}
		}
		if len(left) == len(list) {
			return left
		}
		for _, i := range list {
			open.drop(i)
		}
		for _, i := range left {
			open.put(i)
		}
		list = left
	}
}

// mayStandLast reports whether an operation may be done after all the others in open,
// of which it is one, when one more is done now.
func (r *rules) mayStandLast(s *state, now, i int, open set) bool {
	for _, n := range r.neededBy[i] {
		if open.has(n) && (!r.Operations[i].Trial || r.meet(n, i)) {
			return false
		}
	}
	for _, sp := range r.inside[i] {
		if slices.ContainsFunc(r.openers[sp], func(o int) bool { return o != now && !s.done[o] }) {
			continue
		}
		toCome, later := false, false
		for _, c := range r.closers[sp] {
			if c != i && c != now && !r.finished(s, c) {
				toCome, later = true, later || !open.has(c)
			}
		}
		whole := s.closed[sp] && !r.closedForTrial(s, sp)
		if now >= 0 {
			whole = whole && !slices.Contains(r.Operations[now].Opens, sp) || slices.Contains(r.Operations[now].Closes, sp)
		}
		if !later && (whole || toCome) {
			return false
		}
	}
	return true
}

func (r *rules) closedForTrial(s *state, space int) bool {
	return slices.ContainsFunc(r.closers[space], func(c int) bool { return s.done[c] && r.trialNow(s, c) })
}

// do does operation i, or does it once more.
func (r *rules) do(s *state, i int) {
	s.clock++
	x := &r.Operations[i]
	if s.done[i] {
		s.seq[i] = s.clock
		r.release(s, i)
		return
	}
	s.done[i], s.seq[i] = true, s.clock
	s.times[i] = min(s.times[i]+1, 2)
	for _, sp := range x.Opens {
		r.endTrials(s, i, sp)
		s.closed[sp] = false
	}
	for _, sp := range x.Closes {
		if r.trialNow(s, i) || r.allClosersFinished(s, sp) {
			s.closed[sp], s.byJob[sp] = true, true
		}
	}
	for _, k := range r.begins[i] {
		if s.locked[k] == 0 {
			s.locked[k], s.passed[k] = s.clock, 0
		}
	}
	r.release(s, i)
	r.disturb(s, i)
}

// disturb makes readings stale and takes those that can be taken now.
func (r *rules) disturb(s *state, i int) {
	for _, h := range r.Operations[i].Disturbs {
		s.read[h] = false
	}
	r.readWhatCan(s)
}

// endTrials ends the trials that close a space which op opens: those done once, and
// those done again while not all that closes the space is done. With a trial all that
// it alone closed is open.
func (r *rules) endTrials(s *state, op, space int) {
	whole := r.allClosersFinished(s, space)
	for _, c := range r.closers[space] {
		if c == op || !r.Operations[c].Trial || !s.done[c] || whole && !r.trialNow(s, c) {
			continue
		}
		if r.trialNow(s, c) {
			for _, sp := range r.Operations[c].Closes {
				s.closed[sp] = false
			}
		}
		s.done[c] = false
		r.relock(s, c)
	}
}

// undo takes operation i back and nothing else.
func (r *rules) undo(s *state, i int) {
	s.clock++
	for _, sp := range r.Operations[i].Closes {
		if s.done[i] || !s.byJob[sp] {
			s.closed[sp] = false
		}
	}
	if s.done[i] {
		s.done[i] = false
		r.relock(s, i)
	}
	r.disturb(s, i)
}

// release ends the locks that operation i was the last to wait for.
func (r *rules) release(s *state, i int) {
	for _, p := range r.passes[i] {
		if s.locked[p.lock] > 0 && s.locked[p.lock] < s.clock {
			s.passed[p.lock] |= 1 << p.check
			r.releaseLock(s, p.lock)
		}
	}
	for k := range r.Locks {
		r.releaseLock(s, k)
	}
}

func (r *rules) releaseLock(s *state, k int) {
	l := &r.Locks[k]
	if s.locked[k] == 0 || s.locked[k] >= s.clock || s.passed[k] != 1<<len(l.Checks)-1 {
		return
	}
	for _, u := range l.Until {
		if !s.done[u] || s.seq[u] <= s.locked[k] {
			return
		}
	}
	s.locked[k] = 0
}

// relock ends the locks that operation i began, once none of those that begin them is
// done.
func (r *rules) relock(s *state, i int) {
	for _, k := range r.begins[i] {
		if !slices.ContainsFunc(r.Locks[k].From, func(f int) bool { return s.done[f] }) {
			s.locked[k] = 0
		}
	}
}
