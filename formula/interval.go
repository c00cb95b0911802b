package formula

import "math"

// interval is a closed range of values; its ends may be infinite.
type interval struct{ low, high float64 }

func point(x float64) interval { return interval{x, x} }

func (a interval) width() float64     { return a.high - a.low }
func (a interval) middle() float64    { return a.low + (a.high-a.low)/2 }
func (a interval) has(x float64) bool { return a.low <= x && x <= a.high }

// sign is 1 or -1 where all of the interval lies on one side of zero (zero itself
// allowed), and 0 where it does not.
func (a interval) sign() int {
	switch {
	case a.low >= 0:
		return 1
	case a.high <= 0:
		return -1
	}
	return 0
}

func (a interval) add(b interval) interval      { return interval{a.low + b.low, a.high + b.high} }
func (a interval) subtract(b interval) interval { return interval{a.low - b.high, a.high - b.low} }
func (a interval) negate() interval             { return interval{-a.high, -a.low} }
func (a interval) union(b interval) interval {
	return interval{math.Min(a.low, b.low), math.Max(a.high, b.high)}
}

func (a interval) scale(k float64) interval {
	if k >= 0 {
		return interval{times(a.low, k), times(a.high, k)}
	}
	return interval{times(a.high, k), times(a.low, k)}
}

// times multiplies with zero times anything being zero, as ends of intervals need.
func times(x, y float64) float64 {
	if x == 0 || y == 0 {
		return 0
	}
	return x * y
}

func (a interval) multiply(b interval) interval {
	p, q, r, s := times(a.low, b.low), times(a.low, b.high), times(a.high, b.low), times(a.high, b.high)
	return interval{math.Min(math.Min(p, q), math.Min(r, s)), math.Max(math.Max(p, q), math.Max(r, s))}
}

var everything = interval{math.Inf(-1), math.Inf(1)}

// reciprocal is 1/a; everything where a holds zero.
func (a interval) reciprocal() interval {
	if a.has(0) {
		return everything
	}
	return interval{1 / a.high, 1 / a.low}
}

func (a interval) square() interval {
	p, q := a.low*a.low, a.high*a.high
	if a.has(0) {
		return interval{0, math.Max(p, q)}
	}
	return interval{math.Min(p, q), math.Max(p, q)}
}

func (a interval) absolute() interval {
	switch {
	case a.low >= 0:
		return a
	case a.high <= 0:
		return a.negate()
	}
	return interval{0, math.Max(-a.low, a.high)}
}

// rising applies a function that rises over the whole interval.
func (a interval) rising(f func(float64) float64) interval { return interval{f(a.low), f(a.high)} }

// falling applies a function that falls over the whole interval.
func (a interval) falling(f func(float64) float64) interval { return interval{f(a.high), f(a.low)} }

// cosine bounds cos over an interval.
func (a interval) cosine() interval {
	if a.width() >= 2*math.Pi {
		return interval{-1, 1}
	}
	p, q := math.Cos(a.low), math.Cos(a.high)
	out := interval{math.Min(p, q), math.Max(p, q)}
	if math.Floor(a.high/(2*math.Pi)) != math.Floor(a.low/(2*math.Pi)) || math.Mod(a.low, 2*math.Pi) == 0 {
		out.high = 1
	}
	if math.Floor((a.high-math.Pi)/(2*math.Pi)) != math.Floor((a.low-math.Pi)/(2*math.Pi)) {
		out.low = -1
	}
	return out
}

func (a interval) sine() interval {
	return interval{a.low - math.Pi/2, a.high - math.Pi/2}.cosine()
}

// tangent bounds tan; everything across a pole.
func (a interval) tangent() interval {
	if a.width() >= math.Pi || math.Floor((a.low+math.Pi/2)/math.Pi) != math.Floor((a.high+math.Pi/2)/math.Pi) {
		return everything
	}
	return a.rising(math.Tan)
}
