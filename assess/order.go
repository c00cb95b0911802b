package assess

import (
	"slices"
	"strings"

	"buttonup/pack"
)

// order is the order of work of a pack, instantiated: who needs whom, what is done
// in which space, what closes and opens it.
type order struct {
	needs, in, closes, opens [][]int // by operation
	holds                    [][]held
	disturbs                 map[int][]int // dimensions, by operation
	work, closers, openers   [][]int       // operations, by space
	// inside lists the spaces that hold the work of an operation, those that it opens
	// itself among them; in lists those that must be open before.
	inside [][]int
	// after is what each operation needs, directly or through others, when all blocks
	// stand.
	after            []bits
	neededBy         [][]int // by operation
	putsIn, takesOut [][]string
	locks            []lockOrder
	forbidden        [][]int // locks, by operation
}

// held is a value that an operation holds, at one place.
type held struct {
	kind  string
	index int
	ref   string
	place string
}

type lockOrder struct {
	from   []int
	checks []int
	until  []int // operations
	names  []string
}

// bits is a set of small numbers.
type bits []uint64

func (b bits) has(i int) bool { return b[i/64]&(1<<(i%64)) != 0 }
func (b bits) set(i int)      { b[i/64] |= 1 << (i % 64) }
func (b bits) add(c bits) {
	for i := range b {
		b[i] |= c[i]
	}
}

func newOrder(m *Model) *order {
	n := len(m.operations)
	o := &order{
		needs: make([][]int, n), in: make([][]int, n), closes: make([][]int, n), opens: make([][]int, n), holds: make([][]held, n),
		disturbs: map[int][]int{}, work: make([][]int, len(m.spaces)), closers: make([][]int, len(m.spaces)), openers: make([][]int, len(m.spaces)),
		inside: make([][]int, n), neededBy: make([][]int, n), putsIn: make([][]string, n), takesOut: make([][]string, n), forbidden: make([][]int, n),
	}
	operationAt := map[string]string{}
	for _, x := range m.pack.Operations {
		operationAt[x.Name] = x.At
	}
	spaceAt := map[string]string{}
	for _, s := range m.pack.Spaces {
		spaceAt[s.Name] = s.At
	}
	dimensionAt := map[string]string{}
	for _, d := range m.pack.Dimensions {
		dimensionAt[d.Name] = d.At
	}
	find := func(index map[instance]int, places map[string]string, from *pack.Operation, member string, names []string) []int {
		var list []int
		for _, name := range names {
			for _, place := range m.reach(from.At, member, places[name]) {
				if i, ok := index[instance{name, place}]; ok && !slices.Contains(list, i) {
					list = append(list, i)
				}
			}
		}
		return list
	}
	for i := range m.operations {
		x := &m.operations[i]
		o.needs[i] = find(m.operationIndex, operationAt, x.Operation, x.place, x.Needs)
		o.in[i] = find(m.spaceIndex, spaceAt, x.Operation, x.place, x.In)
		o.closes[i] = find(m.spaceIndex, spaceAt, x.Operation, x.place, x.Closes)
		o.opens[i] = find(m.spaceIndex, spaceAt, x.Operation, x.place, x.Opens)
		o.putsIn[i], o.takesOut[i] = x.PutsIn, x.TakesOut
		if d := find(m.dimensionIndex, dimensionAt, x.Operation, x.place, x.Disturbs); len(d) > 0 {
			o.disturbs[i] = d
		}
		for _, s := range o.in[i] {
			// What closes a space is not itself in it, and what opens it need not find
			// it open.
			if !slices.Contains(o.closes[i], s) {
				o.inside[i] = append(o.inside[i], s)
				o.work[s] = append(o.work[s], i)
			}
		}
		o.in[i] = slices.DeleteFunc(slices.Clone(o.inside[i]), func(s int) bool { return slices.Contains(o.opens[i], s) })
		for _, s := range o.closes[i] {
			o.closers[s] = append(o.closers[s], i)
		}
		for _, s := range o.opens[i] {
			o.openers[s] = append(o.openers[s], i)
		}
		for _, h := range x.Holds {
			o.holds[i] = append(o.holds[i], m.heldBy(x, h)...)
		}
	}
	for i := range o.needs {
		for _, j := range o.needs[i] {
			o.neededBy[j] = append(o.neededBy[j], i)
		}
	}
	o.after = o.needed(func(int) bool { return true })
	m.addLocks(o, operationAt)
	return o
}

// heldBy lists what a hold means: the value at every place in reach.
func (m *Model) heldBy(x *operationAt, h pack.Ref) []held {
	index, place := m.numberIndex, ""
	switch h.Kind {
	case "dimension":
		index = m.dimensionIndex
		for _, d := range m.pack.Dimensions {
			if d.Name == h.Name {
				place = d.At
			}
		}
	case "check":
		index = m.checkIndex
		for _, c := range m.pack.Checks {
			if c.Name == h.Name {
				place = c.At
			}
		}
	default:
		for _, n := range m.computed {
			if n.Name == h.Name {
				place = n.At
			}
		}
	}
	var list []held
	for _, member := range m.reach(x.At, x.place, place) {
		if i, ok := index[instance{h.Name, member}]; ok {
			list = append(list, held{h.Kind, i, h.String(), member})
		}
	}
	return list
}

// needed computes what each operation needs, directly or through others.
func (o *order) needed(stands func(op int) bool) []bits {
	before := make([][]int, len(o.needs))
	for i := range before {
		for _, n := range o.needs[i] {
			if stands(i) && stands(n) {
				before[i] = append(before[i], n)
			}
		}
	}
	return closure(before)
}

// closure follows a relation to its end.
func closure(before [][]int) []bits {
	after := make([]bits, len(before))
	var visit func(i int) bits
	visit = func(i int) bits {
		if after[i] != nil {
			return after[i]
		}
		after[i] = make(bits, (len(before)+63)/64)
		for _, j := range before[i] {
			after[i].set(j)
			after[i].add(visit(j))
		}
		return after[i]
	}
	for i := range before {
		visit(i)
	}
	return after
}

func (m *Model) addLocks(o *order, operationAt map[string]string) {
	for k := range m.locks {
		lock := &m.locks[k]
		var lo lockOrder
		operations := func(names []string) []int {
			var list []int
			for _, name := range names {
				for _, place := range m.reach(lock.At, lock.place, operationAt[name]) {
					if i, ok := m.operationIndex[instance{name, place}]; ok {
						list = append(list, i)
					}
				}
			}
			return list
		}
		lo.from = operations(lock.From)
		for _, u := range lock.Until {
			if u.Kind == "operation" {
				lo.until = append(lo.until, operations([]string{u.Name})...)
				continue
			}
			for i := range m.checks {
				if c := &m.checks[i]; c.Name == u.Name && slices.Contains(m.reach(lock.At, lock.place, c.At), c.place) {
					lo.checks = append(lo.checks, i)
				}
			}
		}
		for _, i := range operations(lock.Forbids) {
			o.forbidden[i] = append(o.forbidden[i], k)
		}
		o.locks = append(o.locks, lo)
	}
}

// trimKind lets a journal write operation.NAME for NAME.
func trimKind(name, kind string) string { return strings.TrimPrefix(name, kind+".") }

func joinWords(list []string) string { return strings.Join(list, ", ") }
