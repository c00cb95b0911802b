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

// power bounds a to the power k, and the slopes by both.
func (a interval) power(k interval) (y, base, exponent interval) {
	if k.width() == 0 {
		y, base = a.constantPower(k.low)
		return y, base, interval{}
	}
	if a.low <= 0 { // what is not above zero has no varying power
		return interval{math.NaN(), math.NaN()}, everything, everything
	}
	l := a.rising(math.Log)
	y = l.multiply(k).rising(math.Exp)
	return y, y.multiply(k).multiply(a.reciprocal()), y.multiply(l)
}

// constantPower bounds a to the power n, and the slope by a. A broken power of what may
// be negative is not bounded.
func (a interval) constantPower(n float64) (y, by interval) {
	whole := n == math.Trunc(n) && math.Abs(n) < 1<<30
	if !whole && a.low < 0 {
		return interval{math.NaN(), math.NaN()}, everything
	}
	at := func(n float64) interval {
		f := func(x float64) float64 { return math.Pow(x, n) }
		odd := whole && math.Mod(n, 2) != 0
		switch {
		case n == 0:
			return point(1)
		case n < 0 && a.has(0):
			return everything
		case !odd && a.low < 0 && a.high > 0: // falls, then rises
			return interval{0, math.Max(f(a.low), f(a.high))}
		case odd && n > 0, !odd && (a.low >= 0) == (n > 0):
			return a.rising(f)
		}
		return a.falling(f)
	}
	y = at(n)
	if y == everything || !whole && n < 1 && a.low == 0 {
		return y, everything
	}
	return y, at(n - 1).scale(n)
}
