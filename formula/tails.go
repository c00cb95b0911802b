package formula

import (
	"math"
	"slices"
)

// ends looks for the two end points of the interval that holds a given probability
// among samples that it does not keep: only those that may still turn out to be an
// end point are kept.
type ends struct{ low, high window }

func newEnds(probability, spread float64) ends {
	p := (1 - probability) / 2
	return ends{
		low:  window{p: p, spread: spread, low: math.Inf(-1), high: math.Inf(1), limit: fewestKept},
		high: window{p: 1 - p, spread: spread, low: math.Inf(-1), high: math.Inf(1), limit: fewestKept},
	}
}

// add looks at n samples more, all of them finite.
func (e *ends) add(list []float64) {
	low, high := e.low.high, e.high.low
	for _, x := range list {
		if x <= low || x >= high {
			e.low.add(x)
			e.high.add(x)
		}
	}
	// What was passed over lies between the windows: above the lower, below the
	// upper one. The upper one counts what lies above it, so n is all it needs.
	e.low.n += len(list)
	e.high.n += len(list)
	if len(e.low.fresh) >= e.low.limit {
		e.low.narrow()
	}
	if len(e.high.fresh) >= e.high.limit {
		e.high.narrow()
	}
}

// counted is a value and how often it occurred.
type counted struct {
	x     float64
	times int
}

// window keeps the samples near one quantile. With n samples seen, the quantile of
// all that are to come lies within a few times √(n·p·(1 − p)) ranks of that of the n;
// what lies further away is only counted. So it keeps some multiple of √n values.
type window struct {
	p, spread float64
	// low and high bound what is kept; outside are how many lie beyond, on the side
	// of the tail.
	low, high float64
	n         int
	outside   int
	kept      []counted // rising
	fresh     []float64 // not sorted in yet
	limit     int
}

const fewestKept = 2048

// spreads is how many standard deviations of its rank a quantile is looked for
// around the place where the samples so far have it. Beyond it lies less than one
// case in 10⁸, and then the work is done again with a wider window.
const spreads = 6

func (w *window) add(x float64) {
	switch {
	case w.low <= x && x <= w.high:
		w.fresh = append(w.fresh, x)
	case w.p < 0.5 && x < w.low || w.p >= 0.5 && x > w.high:
		w.outside++
	}
}

// below returns how many of the samples seen lie below what is kept.
func (w *window) below() int {
	if w.p < 0.5 {
		return w.outside
	}
	return w.n - w.outside - w.count()
}

// count returns how many samples are kept, the fresh ones among them.
func (w *window) count() int {
	n := len(w.fresh)
	for _, c := range w.kept {
		n += c.times
	}
	return n
}

// sortIn puts the fresh values among the kept ones.
func (w *window) sortIn() {
	slices.Sort(w.fresh)
	w.kept = merge(w.kept, w.fresh)
	w.fresh = w.fresh[:0]
}

// merge joins a rising list of counted values with a rising list of values.
func merge(list []counted, more []float64) []counted {
	if len(more) == 0 {
		return list
	}
	out := make([]counted, 0, len(list)+len(more))
	put := func(c counted) {
		if k := len(out); k > 0 && out[k-1].x == c.x {
			out[k-1].times += c.times
		} else {
			out = append(out, c)
		}
	}
	for _, c := range list {
		for len(more) > 0 && more[0] < c.x {
			put(counted{more[0], 1})
			more = more[1:]
		}
		put(c)
	}
	for _, x := range more {
		put(counted{x, 1})
	}
	return out
}

// narrow drops what is too far from the quantile.
func (w *window) narrow() {
	below := w.below()
	w.sortIn()
	rank := w.p * float64(w.n-1)
	reach := w.spread*math.Sqrt(float64(w.n)*w.p*(1-w.p)) + 2
	from, to := 0, len(w.kept) // what stays
	seen := below
	for i, c := range w.kept {
		if float64(seen+c.times) <= rank-reach {
			from = i + 1
		}
		if float64(seen) > rank+reach {
			to = i
			break
		}
		seen += c.times
	}
	if from < to {
		if from > 0 {
			w.drop(w.kept[:from], w.p < 0.5)
			w.low = w.kept[from].x
		}
		if to < len(w.kept) {
			w.drop(w.kept[to:], w.p >= 0.5)
			w.high = w.kept[to-1].x
		}
		w.kept = append(w.kept[:0], w.kept[from:to]...)
	}
	w.limit = max(fewestKept, 2*len(w.kept))
}

// drop counts values that are no longer kept, if they lie on the side of the tail.
func (w *window) drop(list []counted, tail bool) {
	if tail {
		for _, c := range list {
			w.outside += c.times
		}
	}
}

// quantile returns the value at the rank p·(n − 1) of all samples that the windows
// have seen together, between two samples by a straight line. It is false where none
// of them kept the samples that it needs.
func quantile(windows []*window) (float64, bool) {
	low, high := math.Inf(-1), math.Inf(1)
	n := 0
	for _, w := range windows {
		low, high = math.Max(low, w.low), math.Min(high, w.high)
		n += w.n
	}
	below := 0
	var list []counted
	for _, w := range windows {
		below += w.below()
		w.sortIn()
		for _, c := range w.kept {
			if c.x < low {
				below += c.times
			} else if c.x <= high {
				list = append(list, c)
			}
		}
	}
	slices.SortFunc(list, func(a, b counted) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	at := func(rank int) (float64, bool) {
		rank -= below
		if rank < 0 {
			return 0, false
		}
		for _, c := range list {
			if rank -= c.times; rank < 0 {
				return c.x, true
			}
		}
		return 0, false
	}
	rank := windows[0].p * float64(n-1)
	whole := int(rank)
	part := rank - float64(whole)
	x, ok := at(whole)
	if !ok || part == 0 {
		return x, ok
	}
	y, ok := at(whole + 1)
	return x*(1-part) + y*part, ok
}
