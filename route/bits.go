package route

import (
	"encoding/binary"
	"math/bits"
)

// set is a set of small numbers.
type set []uint64

func newSet(n int) set { return make(set, (n+63)/64) }

func (s set) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }
func (s set) put(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s set) drop(i int)     { s[i>>6] &^= 1 << (i & 63) }

func (s set) join(t set) {
	for i := range s {
		s[i] |= t[i]
	}
}

func (s set) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// closure follows a relation to its end: for each number all that it points to,
// directly or through others.
func closure(to [][]int) []set {
	reach := make([]set, len(to))
	var visit func(i int) set
	visit = func(i int) set {
		if reach[i] != nil {
			return reach[i]
		}
		reach[i] = newSet(len(to))
		for _, j := range to[i] {
			reach[i].put(j)
			reach[i].join(visit(j))
		}
		return reach[i]
	}
	for i := range to {
		visit(i)
	}
	return reach
}

// within reports whether all of s is in t.
func (s set) within(t set) bool {
	for i := range s {
		if s[i]&^t[i] != 0 {
			return false
		}
	}
	return true
}

func (s set) bytes() []byte {
	b := make([]byte, 0, 8*len(s))
	for _, w := range s {
		b = binary.LittleEndian.AppendUint64(b, w)
	}
	return b
}
