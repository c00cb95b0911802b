package sequence

import (
	"math"
	"slices"
)

// dice is a small source of numbers that look random and are the same every time
// (splitmix64).
type dice uint64

func (d *dice) roll() uint64 {
	*d += 0x9e3779b97f4a7c15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below gives a number from 0 to n-1.
func below(roll uint32, n int) int { return int(uint64(roll) * uint64(n) >> 32) }

const (
	longestBlock = 12
	neighbours   = 16 // that a thing is brought next to
	aimed        = 5  // of eight moves
	farthest     = 60 // places that a block moves
)

// anneal improves an order by moving blocks inside the places that are allowed to them,
// and takes a worse order the more readily the hotter it is. It gives the best order
// that it met.
func (q *prepared) anneal(order []int32, moves int, hot, cold float64, d dice) []int32 {
	n := q.n
	if n < 2 {
		return order
	}
	a := &annealing{prepared: q, order: append(make([]int32, 0, n), order...), place: make([]int32, n), near: q.nearest()}
	for k, i := range a.order {
		a.place[i] = int32(k)
	}
	cost := q.total(a.order)
	best, bestCost := append([]int32(nil), a.order...), cost
	var warm odds
	for m := range moves {
		if m&1023 == 0 {
			f := float64(m) / float64(moves)
			warm.set(hot * math.Pow(cold/hot, f))
		}
		r := d.roll()
		var from, length, to int
		var ok bool
		if r2 := d.roll(); r2&7 < aimed {
			from, length, to, ok = a.aim(r, r2>>3)
		} else {
			from, length, to, ok = a.propose(r, r2)
		}
		if !ok {
			continue
		}
		delta := a.change(from, length, to)
		if delta > 0 && !warm.take(int(delta), uint32(r>>33)) {
			continue
		}
		a.shift(from, length, to)
		cost += int(delta)
		if cost < bestCost {
			bestCost = cost
			copy(best, a.order)
		}
	}
	return best
}

// odds says how readily a worse order is taken.
type odds struct {
	heat  float64
	small [64]uint32 // thresholds of small changes, of 2³¹
}

func (o *odds) set(heat float64) {
	o.heat = heat
	for k := range o.small {
		o.small[k] = uint32(math.Exp(-float64(k)/heat) * (1 << 31))
	}
}

func (o *odds) take(delta int, roll uint32) bool {
	if delta < len(o.small) {
		return roll < o.small[delta]
	}
	return float64(roll) < math.Exp(-float64(delta)/o.heat)*(1<<31)
}

type annealing struct {
	*prepared
	order []int32
	place []int32
	near  [][]int32
	held  [longestBlock]int32
}

// propose picks a block and another place where it may stand.
func (a *annealing) propose(r, r2 uint64) (from, length, to int, ok bool) {
	length = 1 + below(uint32(r2>>32), 1+below(uint32(r2), longestBlock))
	if length >= a.n {
		return 0, 0, 0, false
	}
	from = below(uint32(r), a.n-length+1)
	low, high := max(0, from-farthest), min(a.n-length, from+farthest)
	end := int32(from + length)
	for _, x := range a.order[from:end] {
		for _, p := range a.before[x] {
			if at := a.place[p]; at < int32(from) && int(at) >= low {
				low = int(at) + 1
			}
		}
		for _, s := range a.behind[x] {
			if at := a.place[s]; at >= end && int(at)-length < high {
				high = int(at) - length
			}
		}
		if low >= high {
			return 0, 0, 0, false
		}
	}
	to = low + below(uint32(r2*0x9e3779b97f4a7c15>>32), high-low)
	if to >= from {
		to++
	}
	return from, length, to, true
}

// aim picks two things that cost little one after the other and a block that brings them
// together.
func (a *annealing) aim(r, r2 uint64) (from, length, to int, ok bool) {
	i := below(uint32(r), a.n)
	near := a.near[a.order[i]]
	if len(near) == 0 {
		return 0, 0, 0, false
	}
	length = 1 + below(uint32(r2>>24), 1+below(uint32(r2), longestBlock))
	j := int(a.place[near[below(uint32(r2>>29), len(near))]])
	if j == i+1 {
		return 0, 0, 0, false
	}
	if r2>>60&1 == 0 { // the block begins with the second and comes to stand behind the first
		from, to = j, i+1
		if j < i {
			length = min(length, i-j)
			to = i + 1 - length
		}
	} else { // the block ends with the first and comes to stand before the second
		if j < i {
			length = min(length, i-j)
		}
		from, to = i-length+1, j
		if j > i {
			to = j - length
		}
	}
	if from < 0 || from+length > a.n || to < 0 || to+length > a.n || from == to {
		return 0, 0, 0, false
	}
	return from, length, to, a.mayMove(from, length, to)
}

// mayMove reports whether a block may stand at another place.
func (a *annealing) mayMove(from, length, to int) bool {
	block := a.order[from : from+length]
	if to < from {
		for _, x := range block {
			for _, p := range a.before[x] {
				if at := int(a.place[p]); at >= to && at < from {
					return false
				}
			}
		}
		return true
	}
	for _, x := range block {
		for _, s := range a.behind[x] {
			if at := int(a.place[s]); at >= from+length && at < to+length {
				return false
			}
		}
	}
	return true
}

// nearest lists for each thing the cheapest to go on with.
func (q *prepared) nearest() [][]int32 {
	near := make([][]int32, q.n)
	for i := range q.n {
		var list []int32
		for j := range q.n {
			if j != i && q.mayPrecede(i, j) {
				list = append(list, int32(j))
			}
		}
		row := q.cost[i*q.n:]
		slices.SortStableFunc(list, func(a, b int32) int { return int(row[a] - row[b]) })
		near[i] = list[:min(len(list), neighbours)]
	}
	return near
}

// change is what moving a block would add to the cost.
func (a *annealing) change(from, length, to int) int32 {
	first, last := a.order[from], a.order[from+length-1]
	left, right := a.link(from-1, from), a.link(from+length-1, from+length)
	if to < from {
		return a.join(to-1, first) + a.d(last, a.order[to]) + a.link(from-1, from+length) - a.link(to-1, to) - left - right
	}
	e := to + length - 1
	return a.link(from-1, from+length) + a.d(a.order[e], first) + a.leave(last, e+1) - left - right - a.link(e, e+1)
}

// link is the cost between two neighbouring places, or two that become neighbours.
func (a *annealing) link(i, j int) int32 {
	if j >= a.n {
		return 0
	}
	return a.join(i, a.order[j])
}

// join is the cost of going from a place, or from the beginning, to a thing.
func (a *annealing) join(i int, x int32) int32 {
	if i < 0 {
		return a.start[x]
	}
	return a.d(a.order[i], x)
}

// leave is the cost of going from a thing to a place, or to the end.
func (a *annealing) leave(x int32, j int) int32 {
	if j >= a.n {
		return 0
	}
	return a.d(x, a.order[j])
}

func (a *annealing) shift(from, length, to int) {
	held := a.held[:length]
	copy(held, a.order[from:from+length])
	low, high := from, to+length
	if to < from {
		copy(a.order[to+length:from+length], a.order[to:from])
		low, high = to, from+length
	} else {
		copy(a.order[from:to], a.order[from+length:to+length])
	}
	copy(a.order[to:], held)
	for k := low; k < high; k++ {
		a.place[a.order[k]] = int32(k)
	}
}
