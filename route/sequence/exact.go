package sequence

import (
	"math/bits"
	"slices"
)

// widest is how many things the exact search can take: a set of them is one word.
const widest = 64

// exact looks for an order that costs less than a limit, in layers: all sets of k
// things that may come first, each with what was done last. Of two ways to the same
// set and the same last set-up only the cheaper is kept, and none that is sure to cost
// the limit: what it costs already, and what every part of the set-up must still cost.
type exact struct {
	*prepared
	masks  []uint64
	full   uint64
	same   []int32 // the first thing with the same costs from it on
	free   []bool  // a thing whose equal may always come next
	parts  []*blocks
	least  []int32 // the cheapest way to each thing
	layers []layer
	index  layerIndex
	groups layerIndex
	// straight says that a way round is never cheaper: no thing leaves a part out or
	// changes it.
	straight bool
}

// layer holds the states of equally many things done.
type layer struct {
	done []uint64
	last []uint8
	cost []int32
	from []int32 // in the layer before
}

func (q *prepared) newExact(budget *int) *exact {
	e := &exact{prepared: q, masks: q.masks(), full: q.everything(), same: make([]int32, q.n), free: make([]bool, q.n), least: make([]int32, q.n)}
	for k := range q.parts {
		if q.parts[k].weight > 0 {
			e.parts = append(e.parts, q.newBlocks(&q.parts[k], budget))
		}
	}
	slices.SortStableFunc(e.parts, func(a, b *blocks) int { return b.weight - a.weight })
	e.straight = len(q.parts) > 0
	for i := range q.n {
		e.same[i] = int32(i)
		for j := range i {
			if len(q.parts) > 0 && q.sameSetup(i, j) {
				e.same[i] = int32(j)
				break
			}
		}
		e.free[i] = len(q.parts) > 0
		for _, a := range q.parts {
			e.free[i] = e.free[i] && (a.value[i] != 0 && a.value[i] == a.leaves[i] || a.weight == 0)
		}
		e.straight = e.straight && e.free[i]
		e.least[i] = q.cheapestWay(i)
	}
	return e
}

func (q *prepared) sameSetup(i, j int) bool {
	for _, a := range q.parts {
		if a.value[i] != a.value[j] || a.leaves[i] != a.leaves[j] {
			return false
		}
	}
	return true
}

// cheapestWay is the least that it can cost to come to a thing from another that may
// stand right before it.
func (q *prepared) cheapestWay(i int) int32 {
	least := int32(mostCost)
	if len(q.before[i]) == 0 {
		least = q.start[i]
	}
	for j := range q.n {
		if j != i && q.mayPrecede(j, i) {
			least = min(least, q.cost[j*q.n+i])
		}
	}
	return least
}

// mayPrecede reports whether thing j can stand right before i.
func (q *prepared) mayPrecede(j, i int) bool {
	if q.all[j].has(i) {
		return false
	}
	if !q.all[i].has(j) {
		return true
	}
	for _, b := range q.before[i] {
		if int(b) == j {
			return true
		}
	}
	return false
}

// left is the least that is still to come after a set of things that ends in one.
func (e *exact) left(done uint64, last int) int {
	sum := 0
	if len(e.parts) > 0 {
		for _, b := range e.parts {
			sum += b.left(done, last)
		}
		return sum
	}
	for rest := e.full &^ done; rest != 0; rest &= rest - 1 {
		sum += int(e.least[bits.TrailingZeros64(rest)])
	}
	return sum
}

// atLeast reports whether so much is still to come. It asks the parts that weigh most
// first, and the others only if they can decide.
func (e *exact) atLeast(done uint64, last, cost int) bool {
	if len(e.parts) == 0 {
		return e.left(done, last) >= cost
	}
	for _, b := range e.parts {
		if cost -= b.left(done, last); cost <= 0 {
			return true
		}
	}
	return false
}

// search gives the cheapest order under a limit, nil if there is none, and what is
// proven to be the least. It gives up after so many states.
func (e *exact) search(limit, states int) (order []int32, bound int) {
	e.layers = append(e.layers[:0], layer{})
	bound = limit
	e.index.reset(64)
	for i := range e.n {
		if e.masks[i] == 0 {
			e.reach(&e.layers[0], 1<<i, i, e.start[i], -1, limit)
		}
	}
	bound = e.floor(&e.layers[0], limit)
	for k := 1; k < e.n; k++ {
		e.thin(&e.layers[k-1])
		was := e.layers[k-1]
		if states -= len(was.done); states < 0 {
			return nil, bound
		}
		e.layers = append(e.layers, layer{})
		e.index.reset(4 * len(was.done))
		for s := range was.done {
			e.expand(&was, s, &e.layers[k], limit)
		}
		if k&3 == 0 {
			bound = max(bound, e.floor(&e.layers[k], limit))
		}
	}
	end := &e.layers[e.n-1]
	best := -1
	for s := range end.done {
		if best < 0 || end.cost[s] < end.cost[best] {
			best = s
		}
	}
	if best < 0 {
		return nil, limit
	}
	return e.path(best), int(end.cost[best])
}

// thin drops the states of a layer that another with the same set is no dearer than,
// even when it first changes to their set-up.
func (e *exact) thin(l *layer) {
	if !e.straight {
		return
	}
	e.groups.reset(2 * len(l.done))
	for s := range l.done {
		at := e.groups.findSet(l, l.done[s])
		if k := e.groups.at[at]; k == 0 || l.cost[s] < l.cost[k-1] {
			e.groups.at[at] = int32(s + 1)
		}
	}
	kept := 0
	for s := range l.done {
		b := int(e.groups.at[e.groups.findSet(l, l.done[s])]) - 1
		if s != b && l.cost[s] >= l.cost[b]+e.cost[int(l.last[b])*e.n+int(l.last[s])] {
			l.cost[s] = -1
		}
	}
	for s := range l.done {
		if l.cost[s] >= 0 {
			l.done[kept], l.last[kept], l.cost[kept], l.from[kept] = l.done[s], l.last[s], l.cost[s], l.from[s]
			kept++
		}
	}
	l.done, l.last, l.cost, l.from = l.done[:kept], l.last[:kept], l.cost[:kept], l.from[:kept]
}

// floor is the least that an order through a layer can cost.
func (e *exact) floor(l *layer, limit int) int {
	least := limit
	for s := range l.done {
		least = min(least, int(l.cost[s])+e.left(l.done[s], int(l.last[s])))
	}
	return least
}

func (e *exact) expand(was *layer, s int, into *layer, limit int) {
	done, last := was.done[s], int(was.last[s])
	// What has the very set-up that is in hand costs nothing and is never in the way.
	if e.free[last] {
		for rest := e.full &^ done; rest != 0; rest &= rest - 1 {
			if i := bits.TrailingZeros64(rest); e.same[i] == e.same[last] && e.masks[i]&^done == 0 {
				e.reach(into, done|1<<i, i, was.cost[s], int32(s), limit)
				return
			}
		}
	}
	for rest := e.full &^ done; rest != 0; rest &= rest - 1 {
		if i := bits.TrailingZeros64(rest); e.masks[i]&^done == 0 {
			e.reach(into, done|1<<i, i, was.cost[s]+e.cost[last*e.n+i], int32(s), limit)
		}
	}
}

// reach keeps a state of a layer, or the cheaper way to it.
func (e *exact) reach(l *layer, done uint64, last int, cost, from int32, limit int) {
	if int(cost) >= limit {
		return
	}
	at := e.index.find(l, e.same, done, e.same[last])
	if k := e.index.at[at]; k > 0 {
		if cost < l.cost[k-1] {
			l.cost[k-1], l.from[k-1], l.last[k-1] = cost, from, uint8(last)
		}
		return
	}
	if e.atLeast(done, last, limit-int(cost)) {
		return
	}
	l.done, l.last = append(l.done, done), append(l.last, uint8(last))
	l.cost, l.from = append(l.cost, cost), append(l.from, from)
	e.index.at[at] = int32(len(l.done))
	if 2*len(l.done) > len(e.index.at) {
		e.index.reset(8 * len(l.done))
		for k := range l.done {
			e.index.at[e.index.find(l, e.same, l.done[k], e.same[l.last[k]])] = int32(k + 1)
		}
	}
}

func (e *exact) path(at int) []int32 {
	order := make([]int32, e.n)
	for k := e.n - 1; k >= 0; k-- {
		order[k] = int32(e.layers[k].last[at])
		at = int(e.layers[k].from[at])
	}
	return order
}

// layerIndex finds a state of a layer by its set and its last set-up; 0 is an empty
// slot, and every other number is one more than the state's.
type layerIndex struct{ at []int32 }

func (x *layerIndex) reset(size int) {
	n := 64
	for n < size {
		n *= 2
	}
	if n <= cap(x.at) {
		x.at = x.at[:n]
		clear(x.at)
		return
	}
	x.at = make([]int32, n)
}

func (x *layerIndex) find(l *layer, same []int32, done uint64, last int32) int {
	mask := len(x.at) - 1
	for at := int((done+uint64(last)*0xd1b54a32d192ed03)*0x9e3779b97f4a7c15>>24) & mask; ; at = (at + 1) & mask {
		k := x.at[at]
		if k == 0 || l.done[k-1] == done && same[l.last[k-1]] == last {
			return at
		}
	}
}

// findSet finds some state with a set.
func (x *layerIndex) findSet(l *layer, done uint64) int {
	mask := len(x.at) - 1
	for at := int(done*0x9e3779b97f4a7c15>>24) & mask; ; at = (at + 1) & mask {
		if k := x.at[at]; k == 0 || l.done[k-1] == done {
			return at
		}
	}
}
