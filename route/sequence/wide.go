package sequence

import "slices"

// wide is a set of things of any number.
type wide []uint64

func newWide(n int) wide { return make(wide, (n+63)/64) }

func (s wide) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }
func (s wide) put(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s wide) clone() wide    { return slices.Clone(s) }

func (s wide) join(t wide) {
	for i := range s {
		s[i] |= t[i]
	}
}

func (s wide) holds(t wide) bool {
	for i := range s {
		if t[i]&^s[i] != 0 {
			return false
		}
	}
	return true
}
