package formula

import (
	"math"

	"buttonup/quantity"
)

// Linear is a value taken as a straight function of unknowns: itself, and what it
// owes to each. No unknown stands in it twice.
type Linear struct {
	Value float64
	Debts []Debt
}

// Linear returns a node as a straight function of the unknowns around the values of
// its inputs. The node must be known.
//
// Source: JCGM 100:2008, 5.1.2, the slopes c_i of equation (10). Memory.
func (g *Graph) Linear(id NodeID, v *Values, d Distribution) Linear {
	slope := make([]float64, len(g.Inputs))
	var l Linear
	l.Value, _ = v.Of(id)
	place := map[int]int{}
	for _, i := range g.Gradient(id, v, slope, nil) {
		if slope[i] == 0 || int(i) >= len(d.Debts) {
			continue // two paths that cancel
		}
		for _, x := range d.Debts[i] {
			at, ok := place[x.Unknown]
			if !ok {
				at = len(l.Debts)
				place[x.Unknown], l.Debts = at, append(l.Debts, Debt{Unknown: x.Unknown})
			}
			l.Debts[at].U += slope[i] * x.U
		}
		slope[i] = 0
	}
	return l
}

// Standard returns the standard uncertainty.
func (l Linear) Standard() float64 {
	v := 0.0
	for _, x := range l.Debts {
		v += x.U * x.U
	}
	return math.Sqrt(v)
}

// less returns l − m.
func (l Linear) less(m Linear) Linear {
	out := Linear{Value: l.Value - m.Value, Debts: append([]Debt(nil), l.Debts...)}
	for _, x := range m.Debts {
		out.owe(x.Unknown, -x.U)
	}
	return out
}

// Interval returns the interval that holds the value with a probability, equal ones
// being cut off on both sides. It is exact for a straight function of independent
// unknowns of these shapes, however few or unequal they are: one wide rectangle among
// narrow ones keeps its steep sides, which two standard uncertainties would overrun.
//
//	P(|x| ≤ q) = q/A + (2/π)·Σ φ(kπ/A)·sin(kπq/A)/k,  k = 1, 2, …
//
// φ is the characteristic function, the product of those of the shapes, and A a bound
// that the value does not pass, or passes with a probability below 1e-16. The error of
// an end is below 1e-3 of the standard uncertainty, and of another order only where
// all but 1e-4 of it comes from one rectangle.
//
// Source: the cosine series of a density and its coefficients from the characteristic
// function, textbook; the characteristic functions of the rectangle, the triangle, the
// arcsine (a Bessel function) and the normal distribution, textbook. Memory; tested
// against closed forms and samples.
func (l Linear) Interval(probability float64, shapes []quantity.Shape) (low, high float64) {
	u := l.Standard()
	if u == 0 || math.IsNaN(u) || math.IsInf(u, 0) {
		return l.Value, l.Value
	}
	q := u * newSpread(l.Debts, u, shapes).quantile(probability)
	return l.Value - q, l.Value + q
}

// spread is a sum of independent symmetric unknowns of standard deviation 1.
type spread struct {
	normal float64 // the variance of the normal part
	parts  []bounded
}

// bounded is a bounded unknown with its half-width.
type bounded struct {
	shape quantity.Shape
	half  float64
}

// small is the share of the variance below which an unknown counts as normal. What
// that changes is of the order of its square.
const small = 1e-4

func newSpread(debts []Debt, u float64, shapes []quantity.Shape) spread {
	var s spread
	rest := 0.0
	for _, x := range debts {
		w := math.Abs(x.U) / u
		switch shape := shapes[x.Unknown]; {
		case shape == quantity.Normal:
			s.normal += w * w
		case w*w < small:
			rest += w * w
		default:
			s.parts = append(s.parts, bounded{shape, w * shape.HalfWidth()})
		}
	}
	s.normal += rest
	return s
}

// most is how many terms of the series are added at most.
const most = 4096

// quantile returns the q with P(|x| ≤ q) = p.
func (s spread) quantile(p float64) float64 {
	if len(s.parts) == 0 {
		return math.Sqrt2 * math.Erfinv(p)
	}
	if len(s.parts) == 1 && s.normal == 0 {
		return s.parts[0].half * quantileOf(s.parts[0].shape, p)
	}
	bound := 8.5 * math.Sqrt(s.normal)
	for _, b := range s.parts {
		bound += b.half
	}
	// None of the shapes has tails heavier than the normal one of its variance.
	bound = math.Min(bound, 9)
	var c []float64 // φ(kπ/A)/k
	for k := 1; k <= most; k++ {
		t := float64(k) * math.Pi / bound
		envelope := math.Exp(-s.normal * t * t / 2)
		value := envelope
		for _, b := range s.parts {
			y, e := characteristic(b.shape, b.half*t)
			value *= y
			envelope *= e
		}
		if envelope < 1e-7 {
			break
		}
		c = append(c, value/float64(k))
	}
	probability := func(q float64) float64 {
		sum := q / bound
		angle := math.Pi * q / bound
		// sin((k+1)x) = 2·cos(x)·sin(kx) − sin((k−1)x)
		before, now, twice := 0.0, math.Sin(angle), 2*math.Cos(angle)
		for _, x := range c {
			sum += 2 / math.Pi * x * now
			before, now = now, twice*now-before
		}
		return sum
	}
	low, high := 0.0, bound
	for high-low > 1e-9 {
		if q := (low + high) / 2; probability(q) < p {
			low = q
		} else {
			high = q
		}
	}
	return (low + high) / 2
}

// quantileOf is that of a shape of half-width 1.
func quantileOf(s quantity.Shape, p float64) float64 {
	switch s {
	case quantity.Triangular:
		return 1 - math.Sqrt(1-p)
	case quantity.Arcsine:
		return math.Sin(p * math.Pi / 2)
	}
	return p
}

// characteristic returns the characteristic function of a shape at half-width times
// t, and what it never exceeds from there on.
func characteristic(s quantity.Shape, x float64) (value, envelope float64) {
	switch s {
	case quantity.Triangular:
		y := math.Sin(x/2) / (x / 2)
		return y * y, math.Min(1, 4/(x*x))
	case quantity.Arcsine:
		return math.J0(x), math.Min(1, math.Sqrt(2/(math.Pi*x)))
	}
	return math.Sin(x) / x, math.Min(1, 1/x)
}
