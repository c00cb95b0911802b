package route

import (
	"encoding/binary"
	"slices"
	"time"
)

// small finds the best plan of a small job for certain: it looks at every state that
// the rules allow.
//
// The fewest changes from a state do not depend on how it was reached, so they are
// found once for each state. Among the plans that have as few, a second search looks
// for the one that is finished first; it goes through the choices in the pack's order,
// and takes another only if it is finished earlier.
type small struct {
	*rules
	rigour rigour
	goal   set
	left   int // states that may still be looked at
	fewest map[string]int
	been   map[string][][]time.Duration
	path   []move
	best   []move
	finish time.Duration
	todo   int
}

const hopelessly = 1 << 30

// solveSmall gives the best plan that finishes all of goal; ok is false if the job is
// too large for it, or has no such plan.
func (r *rules) solveSmall(g rigour, goal set, states int) (moves []move, ok bool) {
	f := &small{rules: r, rigour: g, goal: goal, left: states, fewest: map[string]int{}, been: map[string][][]time.Duration{}, finish: -1, todo: 20 * states}
	b := r.startBench()
	if f.changes(b) >= hopelessly || f.left <= 0 {
		return nil, false
	}
	f.follow(b)
	return f.best, f.todo > 0 && f.finish >= 0
}

func (f *small) reached(b *bench) bool {
	for i := range f.Operations {
		if f.goal.has(i) && !f.finished(b.state, i) {
			return false
		}
	}
	return true
}

// key tells two states apart where anything that may come later differs, but for time.
func (f *small) key(b *bench) string {
	key := f.stateKey(b.state, nil)
	key = append(key, byte(b.setup.Side), byte(b.setup.Side>>8), byte(b.setup.Fixture), byte(b.setup.Fixture>>8), byte(b.setup.Tool), byte(b.setup.Tool>>8))
	if !f.rigour.inTime {
		return string(key)
	}
	for i := range f.Operations {
		for _, w := range f.Operations[i].Within {
			if b.done[i] && !b.done[w.Operation] {
				key = binary.LittleEndian.AppendUint64(key, uint64(b.now-b.ended[i]))
				for _, over := range b.over {
					key = binary.LittleEndian.AppendUint64(key, uint64(max(0, over-b.now)))
				}
			}
		}
	}
	return string(key)
}

// changes is the fewest changes from a state to the end.
func (f *small) changes(b *bench) int {
	if f.reached(b) {
		return 0
	}
	key := f.key(b)
	if c, ok := f.fewest[key]; ok {
		return c
	}
	if f.left--; f.left <= 0 {
		return hopelessly
	}
	f.fewest[key] = hopelessly // a state that leads back to itself leads nowhere
	least := hopelessly
	for _, m := range f.steps(b, f.rigour, nil) {
		next := b.clone()
		next.changes = 0
		f.take(next, m)
		least = min(least, next.changes+f.changes(next))
	}
	f.fewest[key] = least
	return least
}

// follow goes on along the plans with the fewest changes.
func (f *small) follow(b *bench) {
	if f.todo--; f.todo <= 0 {
		return
	}
	if f.reached(b) {
		if at := b.finish(); f.finish < 0 || at < f.finish {
			f.finish, f.best = at, slices.Clone(f.path)
		}
		return
	}
	if f.finish >= 0 && f.earliest(b) >= f.finish || f.wasHere(b) {
		return
	}
	fewest := f.changes(b)
	for _, m := range f.steps(b, f.rigour, nil) {
		next := b.clone()
		next.changes = 0
		f.take(next, m)
		if c := f.changes(next); c >= hopelessly || next.changes+c > fewest {
			continue
		}
		f.path = append(f.path, m)
		f.follow(next)
		f.path = f.path[:len(f.path)-1]
	}
}

// earliest is a time before which nothing can be finished from here.
func (f *small) earliest(b *bench) time.Duration {
	at := b.now
	for i := range f.Operations {
		if f.goal.has(i) && !f.finished(b.state, i) {
			if !b.done[i] {
				at += f.Operations[i].Duration
			}
		}
	}
	return max(at, b.finish())
}

// wasHere reports whether the search was in this state before, at no later a time in
// anything that counts.
func (f *small) wasHere(b *bench) bool {
	times := []time.Duration{b.now}
	for i, over := range b.over {
		if !b.done[i] {
			over = 0
		}
		times = append(times, over)
	}
	key := f.key(b)
	for _, t := range f.been[key] {
		if !slices.ContainsFunc(indices(times), func(k int) bool { return t[k] > times[k] }) {
			return true
		}
	}
	f.been[key] = append(f.been[key], times)
	return false
}

func indices(list []time.Duration) []int {
	all := make([]int, len(list))
	for i := range all {
		all[i] = i
	}
	return all
}
