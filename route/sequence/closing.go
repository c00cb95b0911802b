package sequence

import "math/bits"

// blocks answers how often one part of the set-up must change at least before a set of
// things is complete, whatever the other parts cost. With a value in hand all things
// that have it and may come are done at once, since that costs nothing and is never in
// the way; so only complete sets of this kind need looking at.
//
// Things that leave the part out, or change it themselves, are done when they may come,
// and each of them may hide one change, which is counted off the answer.
type blocks struct {
	weight int
	leaves []int32
	order  [][]uint8 // things by value, in an order that is allowed
	having []uint64  // things by value
	before []uint64
	full   uint64
	free   uint64 // things that leave the part out
	known  table
	budget *int
}

func (q *prepared) newBlocks(a *part, budget *int) *blocks {
	b := &blocks{weight: a.weight, leaves: a.leaves, order: make([][]uint8, a.values+1), having: make([]uint64, a.values+1), before: q.masks(), full: q.everything(), budget: budget}
	for _, i := range q.topo {
		v := a.value[i]
		if v != a.leaves[i] {
			v = 0
		}
		b.order[v] = append(b.order[v], uint8(i))
		b.having[v] |= 1 << i
		if v == 0 {
			b.free |= 1 << i
		}
	}
	b.known.clear(1 << 14)
	return b
}

// everything is the set of all things.
func (q *prepared) everything() uint64 { return ^uint64(0) >> (widest - q.n) }

// masks gives for each thing the set of those directly before it.
func (q *prepared) masks() []uint64 {
	m := make([]uint64, q.n)
	for i, list := range q.before {
		for _, j := range list {
			m[i] |= 1 << j
		}
	}
	return m
}

// grow does all that may be done with a value in hand.
func (b *blocks) grow(done uint64, value int) uint64 {
	if b.free == 0 {
		for _, i := range b.order[value] {
			if b.before[i]&^done == 0 {
				done |= 1 << i
			}
		}
		return done
	}
	if (b.having[0]|b.having[value])&^done == 0 {
		return done
	}
	for {
		was := done
		for _, v := range [2]int{0, value} {
			for _, i := range b.order[v] {
				if b.before[i]&^done == 0 {
					done |= 1 << i
				}
			}
		}
		if done == was {
			return done
		}
	}
}

// left is the least that this part still costs from a state: what is done, and what
// was done last.
func (b *blocks) left(done uint64, last int) int {
	free, value := bits.OnesCount64(b.free&^done), b.leaves[last]
	if value == 0 {
		free++ // what comes next costs nothing
	}
	return b.weight * max(0, b.changes(b.grow(done, int(value)))-free)
}

// changes is the least number of changes from a set that is complete for the value in
// hand.
func (b *blocks) changes(done uint64) int {
	if done == b.full {
		return 0
	}
	if c, ok := b.known.get(done); ok {
		return int(c)
	}
	least, floor := 1<<30, b.distinct(done)
	if *b.budget <= 0 {
		return floor
	}
	*b.budget--
	for v := 1; v < len(b.order) && least > floor; v++ {
		if b.having[v]&^done == 0 {
			continue
		}
		if next := b.grow(done, v); next != done {
			least = min(least, 1+b.changes(next))
		}
	}
	b.known.put(done, int32(least))
	return least
}

// distinct counts the values that are still to come.
func (b *blocks) distinct(done uint64) int {
	n := 0
	for _, things := range b.having[1:] {
		if things&^done != 0 {
			n++
		}
	}
	return n
}

// table is a hash table from sets, never empty ones, to small numbers.
type table struct {
	keys   []uint64
	values []int32
	used   int
}

func (t *table) clear(size int) {
	t.keys, t.values, t.used = make([]uint64, size), make([]int32, size), 0
}

func (t *table) slot(key uint64) int {
	mask := len(t.keys) - 1
	for at := int(key*0x9e3779b97f4a7c15>>20) & mask; ; at = (at + 1) & mask {
		if t.keys[at] == key || t.keys[at] == 0 {
			return at
		}
	}
}

func (t *table) get(key uint64) (int32, bool) {
	at := t.slot(key)
	return t.values[at], t.keys[at] == key && key != 0
}

func (t *table) put(key uint64, value int32) {
	if key == 0 {
		return
	}
	if 2*t.used > len(t.keys) {
		old := *t
		t.clear(4 * len(old.keys))
		for k, key := range old.keys {
			if key != 0 {
				t.put(key, old.values[k])
			}
		}
	}
	at := t.slot(key)
	if t.keys[at] == 0 {
		t.used++
	}
	t.keys[at], t.values[at] = key, value
}
