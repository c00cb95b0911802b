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

// What two numbers must differ by to differ at all: a share of their size, and next to
// zero an amount far below anything that is measured. A clearance of 0.001 mm is the
// difference of two readings of 92 mm and carries the rounding of both.
const (
	slack  = 1e-10
	atZero = 1e-15
)

// rounding is what a and b may differ by and still be the same.
func rounding(a, b float64) float64 { return slack*(math.Abs(a)+math.Abs(b)) + atZero }

// past reports whether a lies above b by more than rounding.
func past(a, b float64) bool { return a-b > rounding(a, b) }

// Past reports whether a lies above b by more than the rounding of binary arithmetic.
//
// Source: ours; the slack is far below any step a gauge is read in.
func Past(a, b float64) bool { return past(a, b) }

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
func Judge(x, u float64, l Limits) Judgement { return judge(x, u, u, l) }

// JudgeBetween is [Judge] for a value whose ± is not even about it: low and high take
// the places of x − U and x + U. An end on the wrong side of x counts as x.
//
// Source: as for Judge, with the coverage interval of JCGM 101:2008, 7.7, in the place
// of x ± U; that step is ours, see docs/decisions.
func JudgeBetween(x, low, high float64, l Limits) Judgement {
	return judge(x, math.Max(0, x-low), math.Max(0, high-x), l)
}

// judge holds a value that may be smaller by below and larger by above.
func judge(x, below, above float64, l Limits) Judgement {
	given := l.Limit.Bounded() || l.New.Bounded()
	middle, hasMiddle := l.middle()
	l.New, l.Limit = ends(l.New, l.NonNegative), ends(l.Limit, l.NonNegative)
	var j Judgement
	switch {
	case l.Limit.Bounded():
		j.Verdict, j.Short = withLimit(x, below, above, &l)
	case l.New.Bounded():
		j.Verdict = newOnly(x, below, above, l.New, l.GuardNew)
	case given:
		j.Verdict = Serviceable // its only end was a zero that limits nothing
	}
	j.margin(x, &l)
	if hasMiddle {
		j.wearUsed(x, middle, l.Limit)
	}
	if j.Verdict == TooClose {
		j.Settles = settles(x, &l)
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

// Sides reports which sides of the limit limit anything.
func (l *Limits) Sides() (low, high bool) {
	r := ends(l.Limit, l.NonNegative)
	return r.HasLow, r.HasHigh
}

// middle is that of the band of new parts; of one that is open below and cannot be
// negative, between zero and its end.
func (l *Limits) middle() (float64, bool) {
	fresh := l.New
	if !fresh.HasLow && l.NonNegative {
		fresh.Low, fresh.HasLow = 0, true
	}
	return (fresh.Low + fresh.High) / 2, fresh.HasLow && fresh.HasHigh
}

// withLimit judges against the limit of wear and then the band of new parts.
func withLimit(x, below, above float64, l *Limits) (v Verdict, short bool) {
	tooClose := false
	// by is how far x lies beyond; it may lie further beyond by out, and less by back.
	side := func(has bool, end, by, out, back float64) bool {
		if !has {
			return false
		}
		eps := rounding(x, end)
		tooClose = tooClose || by+out >= -eps && (out > eps || by > eps)
		return by-back > eps
	}
	if side(l.Limit.HasHigh, l.Limit.High, x-l.Limit.High, above, below) || side(l.Limit.HasLow, l.Limit.Low, l.Limit.Low-x, below, above) {
		return OutOfLimits, false
	}
	if tooClose {
		return TooClose, false
	}
	if !l.New.Bounded() {
		return Serviceable, false
	}
	over := l.New.HasHigh && past(x, l.New.High)
	under := l.New.HasLow && past(l.New.Low, x)
	if over && l.Limit.HasHigh || under && l.Limit.HasLow {
		return Serviceable, false
	}
	if by := l.shortBy(x); by > 0 {
		back := above
		if _, low, _ := l.other(); !low {
			back = below
		}
		switch {
		case by-back > rounding(x, back):
			return OutOfLimits, true
		case l.Fit || l.GuardNew:
			return TooClose, true
		}
		return NewFit, false
	}
	if l.GuardNew {
		high := l.New.HasHigh && past(x+above, l.New.High)
		low := l.New.HasLow && past(l.New.Low, x-below)
		switch {
		case high && !l.Limit.HasHigh, low && !l.Limit.HasLow:
			return TooClose, false
		case high, low:
			return Serviceable, false
		}
	}
	return NewFit, false
}

// newOnly judges against the band of new parts alone.
func newOnly(x, below, above float64, fresh quantity.Range, guard bool) Verdict {
	v := NewFit
	// by is how far x lies outside; it may lie further out by out, and less by back.
	side := func(has bool, end, by, out, back float64) {
		eps := rounding(x, end)
		switch {
		case !has:
		case by-back > eps:
			v = OutOfLimits
		case by > eps, guard && by+out > eps:
			v = max(v, TooClose)
		}
	}
	side(fresh.HasHigh, fresh.High, x-fresh.High, above, below)
	side(fresh.HasLow, fresh.Low, fresh.Low-x, below, above)
	return v
}

// other returns the end of New on the side away from a limit on one side, and
// whether that is the lower end.
func (l *Limits) other() (end float64, low, has bool) {
	switch {
	case l.Limit.HasHigh && !l.Limit.HasLow:
		return l.New.Low, true, l.New.HasLow
	case l.Limit.HasLow && !l.Limit.HasHigh:
		return l.New.High, false, l.New.HasHigh
	}
	return 0, false, false
}

// shortBy returns how far x lies short of New on the side away from the limit, 0 if
// it does not.
func (l *Limits) shortBy(x float64) float64 {
	end, low, has := l.other()
	switch {
	case has && low && past(end, x):
		return end - x
	case has && !low && past(x, end):
		return x - end
	}
	return 0
}

func (j *Judgement) margin(x float64, l *Limits) {
	r := l.Limit
	if !r.Bounded() {
		r = l.New
	}
	if j.HasMargin = r.Bounded(); j.HasMargin {
		j.Margin = nearest(x, r)
	}
	if j.Short {
		j.Margin = -l.shortBy(x)
	}
}

// nearest is the distance from x to the nearer end of a bounded range, negative
// beyond it.
func nearest(x float64, r quantity.Range) float64 {
	d := math.Inf(1)
	if r.HasHigh {
		d = r.High - x
	}
	if r.HasLow {
		d = math.Min(d, x-r.Low)
	}
	return d
}

func (j *Judgement) wearUsed(x, middle float64, limit quantity.Range) {
	end := limit.High
	if !limit.HasHigh || limit.HasLow && x < middle {
		end = limit.Low
	}
	if limit.Bounded() && end != middle {
		j.WearUsed, j.HasWearUsed = (x-middle)/(end-middle), true
	}
}

// settles returns the ± below which a value that is too close would not be: its
// distance from the nearest edge at which a ± counts.
func settles(x float64, l *Limits) float64 {
	if !l.Limit.Bounded() {
		return math.Abs(nearest(x, l.New))
	}
	d := math.Abs(nearest(x, l.Limit))
	end, _, has := l.other()
	if short := l.shortBy(x) > 0; has && (short && (l.Fit || l.GuardNew) || l.GuardNew && nearest(x, l.New) >= 0) {
		d = math.Min(d, math.Abs(x-end))
	}
	return d
}

// Coarse reports whether an expanded uncertainty is more than a quarter of the
// width of the new band, so that the gauge is coarse for the part.
//
// Source: common practice, no published source.
func Coarse(u float64, fresh quantity.Range) bool {
	return fresh.HasLow && fresh.HasHigh && past(u, (fresh.High-fresh.Low)/4)
}
