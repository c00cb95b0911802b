package route

import (
	"slices"
	"time"
)

// polish makes an order of lumps better that has few changes already: first it is to be
// finished earlier, then to keep more closely to the order of the pack. It never adds a
// change.
type polish struct {
	*tasks
	lumps  []lump
	before [][]int // lumps that come before each
	behind [][]int
	waits  [][]int // by task: operations whose wait must be over before it
	first  []Setup // by lump: the set-up it begins with
	last   []Setup
	order  []int
	place  []int
	over   []time.Duration
	roll   uint64
}

func (t *tasks) newPolish(lumps []lump, before [][]int, order []int) *polish {
	p := &polish{tasks: t, lumps: lumps, before: before, behind: make([][]int, len(lumps)), order: slices.Clone(order), place: make([]int, len(lumps)), roll: 1}
	for l, list := range before {
		for _, b := range list {
			p.behind[b] = append(p.behind[b], l)
		}
		tasks := lumps[l].tasks
		p.first = append(p.first, t.Operations[t.moves[tasks[0]].operation].Setup)
		p.last = append(p.last, t.Operations[t.moves[tasks[len(tasks)-1]].operation].Setup)
	}
	for k := range t.moves {
		p.waits = append(p.waits, t.waitsOf(k))
	}
	p.settle(0, len(order))
	return p
}

func (p *polish) settle(from, to int) {
	for k := from; k < to; k++ {
		p.place[p.order[k]] = k
	}
}

// waitsOf lists the operations whose waits can hold a task up: of those it needs, and
// of those that what must follow it in time needs.
func (t *tasks) waitsOf(k int) []int {
	m := t.moves[k]
	if m.kind == Undo {
		return nil
	}
	var list []int
	add := func(i int) {
		for _, n := range t.Operations[i].Needs {
			x := &t.Operations[n]
			if (x.Waits && t.first[n] >= 0 || x.Waiting) && n != m.operation && !slices.Contains(list, n) {
				list = append(list, n)
			}
		}
	}
	add(m.operation)
	for _, w := range t.Operations[m.operation].Within {
		if t.first[w.Operation] < 0 {
			continue
		}
		add(w.Operation)
		for j := range t.Operations {
			if t.first[j] >= 0 && j != m.operation && t.after[w.Operation].has(j) && !t.after[j].has(m.operation) {
				add(j)
			}
		}
	}
	return list
}

// finish says when an order is finished.
func (p *polish) finish() time.Duration {
	if p.over == nil {
		p.over = make([]time.Duration, p.n)
	}
	var now, end time.Duration
	for i := range p.Operations {
		if p.over[i] = 0; p.Operations[i].Waiting {
			p.over[i] = p.Operations[i].Left
			end = max(end, p.over[i])
		}
	}
	for _, l := range p.order {
		for _, k := range p.lumps[l].tasks {
			m := p.moves[k]
			x := &p.Operations[m.operation]
			if m.kind == Undo {
				now += x.Undoing
				continue
			}
			for _, n := range p.waits[k] {
				now = max(now, p.over[n])
			}
			now += x.Duration
			if x.Waits {
				p.over[m.operation] = now + x.Wait
				end = max(end, p.over[m.operation])
			}
		}
	}
	return max(now, end)
}

// join counts the changes between two places of the order, either of which may be off
// its end.
func (p *polish) join(a, b int) int {
	if b >= len(p.order) {
		return 0
	}
	if a < 0 {
		return p.Before.Changes(p.first[p.order[b]])
	}
	return p.last[p.order[a]].Changes(p.first[p.order[b]])
}

// earlier moves the lumps from one place on, so many of them, to an earlier place.
func (p *polish) earlier(from, length, to int) {
	block := slices.Clone(p.order[from : from+length])
	copy(p.order[to+length:from+length], p.order[to:from])
	copy(p.order[to:], block)
	p.settle(to, from+length)
}

// later undoes what earlier did.
func (p *polish) later(to, length, from int) {
	block := slices.Clone(p.order[to : to+length])
	copy(p.order[to:], p.order[to+length:from+length])
	copy(p.order[from:], block)
	p.settle(to, from+length)
}

// adds counts what moving a block to an earlier place would add to the changes.
func (p *polish) adds(from, length, to int) int {
	e := from + length
	was := p.join(to-1, to) + p.join(from-1, from) + p.join(e-1, e)
	between := func(a, b int) int { return p.last[p.order[a]].Changes(p.first[p.order[b]]) }
	is := p.join(to-1, from) + between(e-1, to)
	if e < len(p.order) {
		is += between(from-1, e)
	}
	return is - was
}

// lowest is the earliest place to which a block may move.
func (p *polish) lowest(from, length int) int {
	low := 0
	for _, l := range p.order[from : from+length] {
		for _, b := range p.before[l] {
			if at := p.place[b]; at < from {
				low = max(low, at+1)
			}
		}
	}
	return low
}

func (p *polish) below(n int) int {
	p.roll += 0x9e3779b97f4a7c15
	z := p.roll
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return int((z ^ z>>31) >> 33 % uint64(n))
}

// hasten moves blocks to earlier places as long as the plan is not finished later for
// it, until it is finished as early as it can be or so many moves were tried.
func (p *polish) hasten(least time.Duration, tries int) {
	n := len(p.order)
	if n < 2 {
		return
	}
	now := p.finish()
	for ; tries > 0 && now > least; tries-- {
		length := 1 + p.below(min(6, n-1))
		from := p.below(n - length + 1)
		low := p.lowest(from, length)
		if low >= from {
			continue
		}
		to := low + p.below(from-low)
		if p.adds(from, length, to) > 0 {
			continue
		}
		p.earlier(from, length, to)
		if at := p.finish(); at <= now {
			now = at
		} else {
			p.later(to, length, from)
		}
	}
}

// tidy brings the order nearer to that of the pack: at every place it puts the earliest
// operation of those that may stand there, where that costs neither changes nor time.
func (p *polish) tidy(tries int) {
	now := p.finish()
	index := func(k int) int { return p.moves[p.lumps[p.order[k]].tasks[0]].operation }
	for at := range p.order {
		var list []int // lumps that stand earlier in the pack than the one here
		for from := at + 1; from < len(p.order); from++ {
			if index(from) < index(at) {
				list = append(list, p.order[from])
			}
		}
		slices.SortFunc(list, func(a, b int) int { return index(p.place[a]) - index(p.place[b]) })
		for _, l := range list {
			from := p.place[l]
			if tries <= 0 || p.lowest(from, 1) > at || p.adds(from, 1, at) > 0 {
				continue
			}
			tries--
			p.earlier(from, 1, at)
			if p.finish() <= now {
				break
			}
			p.later(at, 1, from)
		}
	}
}
