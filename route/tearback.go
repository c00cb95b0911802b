package route

import (
	"cmp"
	"container/heap"
	"slices"
	"time"
)

// Target is what a tear-back has to reach: operations that are to be taken back, and
// spaces that are to be open.
type Target struct{ Operations, Spaces []int }

// Tear is what must come off.
type Tear struct {
	// Ways are the ways to get there, the least first. Another way is one that leaves
	// something on which the ways before it take off.
	Ways []Way
	// Why says what stands in the way where there is none.
	Why []Reason
}

// Way is one way to reach a target. Its steps take operations back; a space may also be
// opened by doing an operation that opens it.
type Way struct {
	Steps   []Step
	Changes int
	Time    time.Duration
}

// most ways are told, and no more sets than this are tried on one tear-back.
const (
	mostWays = 3
	mostSets = 20000
)

// TearBack finds the least that must come off to reach a target, in the order in which
// it comes off, and other ways where there are some.
//
// To take an operation back, every space that it is in must be open, and every done
// operation that needs it and fits, tightens or closes something is taken back first,
// unless it stays. A space is opened by taking back any operation that closes it, or by
// doing one that opens it. The least is the fewest operations, then the least time, then
// what stands later in the pack.
func TearBack(p *Problem, to Target) *Tear {
	r := newRules(p)
	t := &tearing{rules: r, start: r.start(), to: to, seen: map[string]bool{}}
	t.push(newSet(r.n), slices.Clone(to.Operations))
	out := &Tear{}
	var found []set
	for tried := 0; len(t.queue) > 0 && tried < mostSets && len(out.Ways) < mostWays; tried++ {
		c := heap.Pop(&t.queue).(*candidate)
		if slices.ContainsFunc(found, func(f set) bool { return f.within(c.off) }) {
			continue
		}
		moves, reached := t.tryOrder(c.off)
		if reached {
			found = append(found, c.off)
			out.Ways = append(out.Ways, r.way(moves))
			continue
		}
		t.widen(c.off)
	}
	if len(out.Ways) == 0 {
		out.Why = t.why
	}
	return out
}

// candidate is a set of operations that come off, or are done because they open
// something.
type candidate struct {
	off   set
	count int
	time  time.Duration
}

type candidates []*candidate

func (q candidates) Len() int      { return len(q) }
func (q candidates) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *candidates) Push(x any)   { *q = append(*q, x.(*candidate)) }
func (q *candidates) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
func (q candidates) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(q[i].count, q[j].count), cmp.Compare(q[i].time, q[j].time), -compareSets(q[i].off, q[j].off)) < 0
}

// compareSets puts the set first whose smallest number that is not in both is smaller.
func compareSets(a, b set) int {
	for w := range a {
		if only := a[w] ^ b[w]; only != 0 {
			if a[w]&(only&-only) != 0 {
				return -1
			}
			return 1
		}
	}
	return 0
}

type tearing struct {
	*rules
	start *state
	to    Target
	queue candidates
	seen  map[string]bool
	why   []Reason
	// how the last order that was tried came to an end
	end   *state
	stuck []int
}

// push adds operations to a set, with all that must come off before them, and queues
// it.
func (t *tearing) push(off set, more []int) {
	off = slices.Clone(off)
	for len(more) > 0 {
		i := more[len(more)-1]
		more = more[:len(more)-1]
		if off.has(i) {
			continue
		}
		off.put(i)
		if !t.start.done[i] {
			continue
		}
		for _, j := range t.neededBy[i] {
			if t.start.done[j] && t.comesOff(j) {
				more = append(more, j)
			}
		}
	}
	key := string(off.bytes())
	if t.seen[key] {
		return
	}
	t.seen[key] = true
	c := &candidate{off: off}
	for i := range t.Operations {
		if off.has(i) {
			c.count++
			if t.start.done[i] {
				c.time += t.Operations[i].Undoing
			} else {
				c.time += t.Operations[i].Duration
			}
		}
	}
	heap.Push(&t.queue, c)
}

// tryOrder takes back what it can of a set, what was done last first. It reports
// whether that is all, and the target is reached.
func (t *tearing) tryOrder(off set) (moves []move, reached bool) {
	s := t.start.clone()
	var left []int
	for i := range t.Operations {
		if off.has(i) {
			left = append(left, i)
		}
	}
	slices.SortFunc(left, func(a, b int) int { return cmp.Or(cmp.Compare(s.seq[b], s.seq[a]), b-a) })
	for again := true; again; {
		again = false
		for k, i := range left {
			if !t.comesNow(s, i) {
				continue
			}
			kind := t.wayOff(i)
			if kind == Do {
				t.do(s, i)
			} else {
				t.undo(s, i)
			}
			moves = append(moves, move{i, kind})
			left = slices.Delete(left, k, k+1)
			again = true
			break
		}
	}
	t.end, t.stuck = s, left
	open := !slices.ContainsFunc(t.to.Spaces, func(sp int) bool { return s.closed[sp] })
	return moves, open && len(left) == 0
}

// wayOff says whether an operation opens by being done or by being taken back.
func (t *tearing) wayOff(i int) Kind {
	if !t.start.done[i] && !t.opensUndone(i) {
		return Do
	}
	return Undo
}

// opensUndone reports whether taking an operation back opens something although nobody
// did it here: it closes a space that came closed.
func (t *tearing) opensUndone(i int) bool {
	return slices.ContainsFunc(t.Operations[i].Closes, func(sp int) bool { return t.start.closed[sp] && !t.start.byJob[sp] })
}

func (t *tearing) comesNow(s *state, i int) bool {
	if t.wayOff(i) == Do {
		_, no := t.obstacle(s, i)
		return !no && !s.done[i]
	}
	return !slices.ContainsFunc(t.inside[i], func(sp int) bool { return s.closed[sp] }) && !t.holdsDown(s, i)
}

// widen queues what a set may be widened by so that it comes further: something that
// opens one of the spaces that stand in the way.
func (t *tearing) widen(off set) {
	var shut []int
	add := func(sp int) {
		if t.end.closed[sp] && !slices.Contains(shut, sp) {
			shut = append(shut, sp)
		}
	}
	for _, sp := range t.to.Spaces {
		add(sp)
	}
	stuck, end := slices.Clone(t.stuck), t.end
	for _, i := range stuck {
		for _, sp := range t.inside[i] {
			add(sp)
		}
	}
	for _, sp := range shut {
		ways := t.opening(end, sp)
		for _, c := range ways {
			if !off.has(c) {
				t.push(off, []int{c})
			}
		}
		if len(ways) == 0 {
			t.why = []Reason{{Works, -1, -1, sp, -1, -1, -1}}
		}
	}
}

// opening lists what opens a space: operations that close it, taken back, and
// operations that open it and can be done.
func (t *tearing) opening(s *state, space int) []int {
	var list []int
	for _, c := range t.closers[space] {
		if t.start.done[c] || !t.start.byJob[space] {
			list = append(list, c)
		}
	}
	for _, o := range t.openers[space] {
		if _, no := t.obstacle(s, o); !no && !s.done[o] && !slices.Contains(list, o) {
			list = append(list, o)
		}
	}
	return list
}

// way writes down the steps of a tear-back.
func (r *rules) way(moves []move) Way {
	w := Way{}
	b := r.startBench()
	for _, m := range moves {
		w.Steps = append(w.Steps, r.tellStep(b, m))
	}
	w.Changes, w.Time = b.changes, b.now
	return w
}
