package store

import (
	"encoding/binary"
	"io"
	"sync"
	"time"
)

// crockford is the alphabet of ids: digits and capitals without I, L, O and U, so
// that an id read aloud or from a label is read right. It is in ASCII order, so ids
// sort as text in the order of their numbers.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// identity makes ids that sort by the time at which they were made.
type identity struct {
	now    func() time.Time
	random io.Reader

	mu sync.Mutex
	// high and low are the last id as a 128-bit number.
	high, low uint64
}

// next returns an id of 26 characters: 48 bits of Unix time in milliseconds and 80
// random bits. An id is always above the one before it, also within a millisecond
// and when the clock is set back: then it is the one before, plus one.
func (i *identity) next() string {
	i.mu.Lock()
	defer i.mu.Unlock()
	var b [16]byte
	if _, err := io.ReadFull(i.random, b[6:]); err != nil {
		panic("store: the source of random numbers failed: " + err.Error())
	}
	ms := uint64(max(0, i.now().UnixMilli())) & (1<<48 - 1)
	if ms > i.high>>16 {
		high := binary.BigEndian.Uint64(b[:8])
		i.high, i.low = ms<<16|high&0xffff, binary.BigEndian.Uint64(b[8:])
	} else if i.low++; i.low == 0 {
		i.high++
	}
	// 26 characters of 5 bits are 130; the first holds only the top 3 bits.
	var out [26]byte
	high, low := i.high, i.low
	for k := len(out) - 1; k >= 0; k-- {
		out[k] = crockford[low&31]
		low = low>>5 | high<<59
		high >>= 5
	}
	return string(out[:])
}
