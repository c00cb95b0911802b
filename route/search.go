package route

import (
	"slices"
	"time"
)

// find looks for a plan that finishes all of goal, trying first what changes least,
// then what starts earliest, then the pack's order. It goes back where it comes to an
// end, and never twice to the same state. Of what it could not finish it gives the
// moves that come furthest.
func (r *rules) find(g rigour, goal set, limit int) (moves []move, ok bool) {
	f := &finder{rules: r, rigour: g, goal: goal, left: limit, seen: map[string]bool{}, most: -1}
	ok = f.visit(r.startBench())
	if ok {
		return f.path, true
	}
	return f.best, false
}

type finder struct {
	*rules
	rigour rigour
	goal   set
	left   int
	seen   map[string]bool
	path   []move
	best   []move
	most   int
	key    []byte
}

func (f *finder) visit(b *bench) bool {
	finished, reached := 0, true
	for i := range f.Operations {
		if f.finished(b.state, i) {
			finished++
		} else if f.goal.has(i) {
			reached = false
		}
	}
	if finished > f.most {
		f.most, f.best = finished, slices.Clone(f.path)
	}
	if reached {
		return true
	}
	f.key = f.stateKey(b.state, f.key[:0])
	if f.left <= 0 || f.seen[string(f.key)] {
		return false
	}
	f.left--
	f.seen[string(f.key)] = true
	list := f.ranked(b)
	for k, c := range list {
		next := b
		if k < len(list)-1 {
			next = b.clone()
		}
		f.take(next, c.move)
		f.path = append(f.path, c.move)
		if f.visit(next) {
			return true
		}
		f.path = f.path[:len(f.path)-1]
	}
	return false
}

type choice struct {
	move
	changes int
	start   time.Duration
}

func (f *finder) ranked(b *bench) []choice {
	var list []choice
	for _, m := range f.steps(b, f.rigour, nil) {
		x := &f.Operations[m.operation]
		c := choice{m, b.setup.Changes(x.Setup), b.now}
		if m.kind == Do {
			c.start = f.startOf(b, m.operation)
		}
		list = append(list, c)
	}
	slices.SortStableFunc(list, func(a, b choice) int {
		switch {
		case a.start != b.start:
			return int(min(max(a.start-b.start, -1), 1))
		case a.changes != b.changes:
			return a.changes - b.changes
		}
		return a.operation - b.operation
	})
	return list
}

// stateKey writes down all of a state that decides what may come after it.
func (r *rules) stateKey(s *state, key []byte) []byte {
	for i := range s.done {
		c := s.times[i] << 1
		if !r.Operations[i].Trial {
			c = 0
		}
		if s.done[i] {
			c |= 1
		}
		key = append(key, c)
	}
	for i := range s.closed {
		c := byte(0)
		if s.closed[i] {
			c = 1
		}
		if s.byJob[i] {
			c |= 2
		}
		key = append(key, c)
	}
	for k := range s.locked {
		if s.locked[k] == 0 {
			key = append(key, 0)
			continue
		}
		key = append(key, 1, byte(s.passed[k]), byte(s.passed[k]>>8))
		for _, u := range r.Locks[k].Until {
			if s.done[u] && s.seq[u] > s.locked[k] {
				key = append(key, 1)
			} else {
				key = append(key, 0)
			}
		}
	}
	for _, h := range r.inPlay {
		if s.read[h] {
			key = append(key, 1)
		} else {
			key = append(key, 0)
		}
	}
	return r.temporariesKey(s, key)
}

// temporariesKey adds which of the pieces put in are still in.
func (r *rules) temporariesKey(s *state, key []byte) []byte {
	for t := range r.Temporaries {
		for _, place := range r.Temporaries[t].Places {
			if len(place.PutBy) == 0 {
				continue
			}
			in := r.stillIn(s, place)
			for _, i := range place.PutBy {
				if s.done[i] && slices.Contains(in, s.seq[i]) {
					key = append(key, 1)
				} else {
					key = append(key, 0)
				}
			}
		}
	}
	return key
}
