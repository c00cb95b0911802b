package measure

import (
	"math"

	"buttonup/quantity"
)

// Verdict says what a value means for the part. The zero value claims nothing.
type Verdict uint8

// The verdicts, from claiming nothing to the worst.
const (
	None        Verdict = iota // nothing to hold the value against
	NotMeasured                // no value, or not all of its readings
	NewFit                     // as a new part
	Serviceable                // worn and within the limit
	TooClose                   // the ± reaches across the limit
	OutOfLimits                // beyond it
)

var verdictWords = [...]string{"none", "not-measured", "new-fit", "serviceable", "too-close", "out-of-limits"}

// String returns the verdict as assessments write it.
func (v Verdict) String() string { return verdictWords[v] }

// Limits are what a value is held against.
type Limits struct {
	// New is the band of new parts, Limit the limit of wear; either may be
	// unbounded.
	New, Limit quantity.Range
	// GuardNew asks that the value with its ± lies inside New.
	GuardNew bool
	// Fit marks a computed fit, for which the near end of New is a limit too.
	Fit bool
	// NonNegative marks a value that cannot be below zero, so that an end of zero
	// limits nothing.
	NonNegative bool
}

// Judgement is what a value means against its limits.
type Judgement struct {
	Verdict Verdict
	// Short is set where the value lies short of New on the side away from the
	// limit: tighter than new, or a wrong part.
	Short bool
	// Margin is the distance to the nearer limit, positive inside; HasMargin says
	// that there is one.
	Margin    float64
	HasMargin bool
	// WearUsed is the share of the way from the middle of New to the limit.
	WearUsed    float64
	HasWearUsed bool
	// Settles is the ± that would settle a verdict of too close.
	Settles float64
}

// slack absorbs the rounding of binary arithmetic at an edge.
const slack = 1e-12

// past reports whether a lies above b by more than rounding.
func past(a, b float64) bool { return a-b > slack*(math.Abs(a)+math.Abs(b)) }

// Judge holds a value with its expanded uncertainty against limits.
//
// The wear limit is guarded: a value is out of limits only if the whole of x ± U
// lies beyond, and too close to call if x ± U touches the limit. The band of new
// parts is judged on the value itself, unless GuardNew is set, because makers'
// bands already allow for the gauges of a shop. On an edge with U = 0 the better
// side counts. U must not be negative.
//
// Source: the thinking of ISO 14253-1 (a ± counts against whoever makes the claim)
// for the limit, shared risk in the sense of JCGM 106:2012 for the new band; both
// from memory. The side away from the limit is ours, see docs/decisions.
func Judge(x, u float64, l Limits) Judgement {
	j := Judgement{Verdict: verdict(x, u, &l)}
	j.Short = j.Verdict >= TooClose && shortOfNew(x, &l) && !touches(x, u, l.Limit)
	j.margin(x, l)
	j.wearUsed(x, l)
	if j.Verdict == TooClose {
		j.Settles = settles(x, l)
	}
	return j
}

// ends strips an end of zero from the range of a value that cannot be negative.
func ends(r quantity.Range, nonNegative bool) quantity.Range {
	if nonNegative && r.HasLow && r.Low == 0 {
		r.HasLow = false
	}
	return r
}

func touches(x, u float64, r quantity.Range) bool {
	return r.HasHigh && !past(r.High, x+u) || r.HasLow && !past(x-u, r.Low)
}

func verdict(x, u float64, l *Limits) Verdict {
	limit, fresh := l.Limit, l.New
	if !limit.Bounded() && !fresh.Bounded() {
		return None
	}
	if !limit.Bounded() {
		return newOnly(x, u, ends(fresh, l.NonNegative), l.GuardNew)
	}
	limit = ends(limit, l.NonNegative)
	worst := NewFit
	for _, side := range [2]struct {
		has bool
		by  float64 // how far x lies beyond the limit
		eps float64
	}{{limit.HasHigh, x - limit.High, slack * (math.Abs(x) + math.Abs(limit.High))}, {limit.HasLow, limit.Low - x, slack * (math.Abs(x) + math.Abs(limit.Low))}} {
		switch {
		case !side.has:
		case side.by-u > side.eps:
			return OutOfLimits
		case side.by+u >= -side.eps && (u > 0 || side.by > side.eps):
			worst = TooClose
		}
	}
	if worst == TooClose {
		return TooClose
	}
	if !fresh.Bounded() {
		return Serviceable
	}
	return againstNew(x, u, l)
}

// newOnly judges against the band of new parts alone.
func newOnly(x, u float64, fresh quantity.Range, guard bool) Verdict {
	out := 0.0 // how far x lies outside
	eps := slack * (math.Abs(x) + u)
	inside := true
	if fresh.HasHigh {
		eps += slack * math.Abs(fresh.High)
		out = math.Max(out, x-fresh.High)
		inside = inside && x+u <= fresh.High+eps
	}
	if fresh.HasLow {
		eps += slack * math.Abs(fresh.Low)
		out = math.Max(out, fresh.Low-x)
		inside = inside && x-u >= fresh.Low-eps
	}
	switch {
	case out > u+eps:
		return OutOfLimits
	case out > eps, guard && !inside:
		return TooClose
	}
	return NewFit
}

// againstNew judges a value that is within its limit against the band of new parts.
func againstNew(x, u float64, l *Limits) Verdict {
	fresh, limit := ends(l.New, l.NonNegative), l.Limit
	above := fresh.HasHigh && past(x, fresh.High)
	under := fresh.HasLow && past(fresh.Low, x)
	if above && limit.HasHigh || under && limit.HasLow {
		return Serviceable
	}
	if above || under {
		by := x - fresh.High
		if under {
			by = fresh.Low - x
		}
		switch {
		case past(by, u):
			return OutOfLimits
		case l.Fit || l.GuardNew:
			return TooClose
		}
		return NewFit
	}
	if l.GuardNew {
		high := fresh.HasHigh && past(x+u, fresh.High)
		low := fresh.HasLow && past(fresh.Low, x-u)
		switch {
		case high && !limit.HasHigh, low && !limit.HasLow:
			return TooClose
		case high, low:
			return Serviceable
		}
	}
	return NewFit
}

// shortOfNew reports whether x lies short of New on a side that has no limit.
func shortOfNew(x float64, l *Limits) bool {
	fresh := ends(l.New, l.NonNegative)
	return fresh.HasLow && x < fresh.Low && !l.Limit.HasLow && l.Limit.HasHigh ||
		fresh.HasHigh && x > fresh.High && !l.Limit.HasHigh && l.Limit.HasLow
}

func (j *Judgement) margin(x float64, l Limits) {
	r := l.Limit
	if !r.Bounded() {
		r = ends(l.New, l.NonNegative)
	}
	j.Margin, j.HasMargin = math.Inf(1), r.Bounded()
	if r.HasHigh {
		j.Margin = math.Min(j.Margin, r.High-x)
	}
	if r.HasLow {
		j.Margin = math.Min(j.Margin, x-r.Low)
	}
	if !j.HasMargin {
		j.Margin = 0
	}
}

func (j *Judgement) wearUsed(x float64, l Limits) {
	fresh := l.New
	if !fresh.HasLow && l.NonNegative && fresh.HasHigh {
		fresh.Low, fresh.HasLow = 0, true
	}
	if !fresh.HasLow || !fresh.HasHigh || !l.Limit.Bounded() {
		return
	}
	middle := (fresh.Low + fresh.High) / 2
	end := l.Limit.High
	if !l.Limit.HasHigh || l.Limit.HasLow && x < middle {
		end = l.Limit.Low
	}
	if end == middle {
		return
	}
	j.WearUsed, j.HasWearUsed = (x-middle)/(end-middle), true
}

// settles returns the ± below which a value that is too close would not be: its
// distance from the edge that its ± reaches.
func settles(x float64, l Limits) float64 {
	r := ends(l.Limit, l.NonNegative)
	fresh := ends(l.New, l.NonNegative)
	if !r.Bounded() || shortOfNew(x, &l) && fresh.Bounded() {
		r = fresh
	}
	best := math.Inf(1)
	if r.HasHigh {
		best = math.Abs(r.High - x)
	}
	if r.HasLow {
		best = math.Min(best, math.Abs(x-r.Low))
	}
	return best
}

// Coarse reports whether an expanded uncertainty is more than a quarter of the
// width of the new band, so that the gauge is coarse for the part.
//
// Source: common practice, no published source.
func Coarse(u float64, fresh quantity.Range) bool {
	return fresh.HasLow && fresh.HasHigh && past(u, (fresh.High-fresh.Low)/4)
}
