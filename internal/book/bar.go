package book

import (
	"math"
	"slices"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/quantity"
)

// The heights of a limit bar: the higher a band, the better.
const (
	levelPast = iota
	levelWithin
	levelNew
)

type stretch struct {
	low, high float64
	level     int
}

// limitBar draws where a value lies: bands by height, a post at each limit, hatching
// as wide as the ± on either side of it, the pointer with its whisker. One ink does;
// nil when there is nothing to hold the value against.
func limitBar(r *assess.Result) *Drawing {
	if !r.New.Bounded() && !r.Limit.Bounded() {
		return nil
	}
	const left, right, base = 3.0, 127.0, 20.0
	d := &Drawing{Width: 130, Height: 24}
	low, high := barEnds(r)
	if !(high > low) {
		return nil
	}
	x := func(v float64) float64 {
		return left + math.Max(0, math.Min(1, (v-low)/(high-low)))*(right-left)
	}
	heights := [3]float64{0, 6, 11}
	for _, p := range barStretches(r, low, high) {
		h := heights[p.level]
		if h > 0 && x(p.high)-x(p.low) > 0.3 {
			d.rect(x(p.low), base-h, x(p.high)-x(p.low), h, [3]Ink{None, White, Shade}[p.level], Black, 0.8)
		}
	}
	u := r.Unit.InDifference(r.Expanded)
	posts := limitPosts(r)
	for _, l := range posts {
		if r.HasValue && u > 0 && r.Limit.Bounded() {
			d.hatch(math.Max(left, x(l-u)), base-11, math.Min(right, x(l+u)), base, 2.6, Grey, 0.5)
		}
	}
	for _, l := range posts {
		if l >= low && l <= high {
			d.line(Black, 1.8, x(l), base-14, x(l), base+3)
		}
	}
	d.line(Black, 0.9, left, base, right, base)
	if r.HasValue {
		v := r.Unit.In(r.Value)
		px := x(v)
		if u > 0 {
			a, b := x(v-u), x(v+u)
			d.line(Blue, 1.1, a, 0.5, a, 5)
			d.line(Blue, 1.1, b, 0.5, b, 5)
			d.line(Blue, 1.1, a, 2.7, b, 2.7)
		}
		d.area(Blue, None, 0, px-3.4, 2.7, px+3.4, 2.7, px, 9)
		d.line(Blue, 1.1, px, 8, px, base)
	}
	return d
}

func limitPosts(r *assess.Result) []float64 {
	l := r.Limit
	if !l.Bounded() {
		l = r.New
	}
	var posts []float64
	if l.HasLow {
		posts = append(posts, r.Unit.In(l.Low))
	}
	if l.HasHigh {
		posts = append(posts, r.Unit.In(l.High))
	}
	return posts
}

func rangeEnds(r *assess.Result) []float64 {
	var ends []float64
	for _, x := range [2]quantity.Range{r.New, r.Limit} {
		if x.HasLow {
			ends = append(ends, r.Unit.In(x.Low))
		}
		if x.HasHigh {
			ends = append(ends, r.Unit.In(x.High))
		}
	}
	return ends
}

// barEnds are the ends of the scale: around the bands, and as far as the value, within
// reason.
func barEnds(r *assess.Result) (low, high float64) {
	ends := rangeEnds(r)
	low, high = slices.Min(ends), slices.Max(ends)
	if !r.New.HasLow && !r.Limit.HasLow && low > 0 && low < 3*(high-low)+1e-12 || low == high && low > 0 {
		low = 0
	}
	span := high - low
	if span <= 0 {
		span = math.Max(math.Abs(high), 1e-6)
	}
	bottom := low
	low, high = low-0.25*span, high+0.35*span
	if bottom >= 0 && !r.New.HasLow && !r.Limit.HasLow {
		low = 0
	}
	if r.HasValue {
		v, u := r.Unit.In(r.Value), r.Unit.InDifference(r.Expanded)
		low = math.Min(low, math.Max(v-u-0.05*span, low-1.5*span))
		high = math.Max(high, math.Min(v+u+0.05*span, high+1.5*span))
	}
	return low, high
}

func barStretches(r *assess.Result, low, high float64) []stretch {
	cuts := []float64{low, high}
	for _, e := range rangeEnds(r) {
		if e > low && e < high {
			cuts = append(cuts, e)
		}
	}
	slices.Sort(cuts)
	var out []stretch
	for i := 1; i < len(cuts); i++ {
		if cuts[i] <= cuts[i-1] {
			continue
		}
		s := stretch{cuts[i-1], cuts[i], levelOf(r, r.Unit.SI((cuts[i]+cuts[i-1])/2))}
		if n := len(out); n > 0 && out[n-1].level == s.level {
			out[n-1].high = s.high
			continue
		}
		out = append(out, s)
	}
	return out
}

func levelOf(r *assess.Result, si float64) int {
	switch {
	case r.New.Bounded() && r.New.Contains(si):
		return levelNew
	case !r.Limit.Bounded() || !r.Limit.Contains(si):
		return levelPast
	case !r.New.Bounded():
		return levelWithin
	case r.Limit.HasHigh && !r.Limit.HasLow && r.New.HasLow && si < r.New.Low,
		r.Limit.HasLow && !r.Limit.HasHigh && r.New.HasHigh && si > r.New.High:
		return levelPast // short of new, on the side away from the limit
	}
	return levelWithin
}

// verdictSign is the silhouette and the ink of a verdict.
func verdictSign(r *assess.Result) (string, Ink) {
	if r.Kind == "check" {
		switch {
		case r.Passed:
			return "new", Good
		case r.Failed:
			return "worn", Worn
		}
		return "none", Grey
	}
	switch r.Verdict {
	case measure.NewFit:
		return "new", Good
	case measure.Serviceable:
		return "svc", Used
	case measure.TooClose:
		return "close", Unsure
	case measure.OutOfLimits:
		return "worn", Worn
	case measure.NotMeasured:
		return "none", Grey
	}
	return "", Grey
}
