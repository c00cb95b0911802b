package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Lobe is a symmetrical lift curve in closed form, with its zero at the peak. Make one
// with [NewLobe].
type Lobe struct {
	h, w, p, q float64
	closing    float64
}

// widestLobe bounds the half-width, so that a lobe never meets itself.
const widestLobe = 300 * degree

// NewLobe returns the curve
//
//	lift(θ) = H·(1 − (|θ|/w)^p)^q   for |θ| < w, and zero elsewhere
//
// H is the greatest lift, w the crank angle from the peak to where the valve is shut, p
// makes the nose blunter and q the ramps longer. It is a curve for trying things out
// and for checking the numerical ones, fitted to a duration at two lifts; a real cam is
// measured, see [NewMeasured].
//
// H must be above zero, w above zero and at most 300°, p and q from 2 to 20: below 2 the
// acceleration would be unbounded at the peak or at the ends.
//
// Source: own.
func NewLobe(greatest quantity.Length, halfWidth quantity.Angle, p, q float64) (*Lobe, error) {
	var in inspection
	in.Above("greatest", lengths, float64(greatest))
	in.Above("half-width", angles, float64(halfWidth))
	in.Within("half-width", angles, float64(halfWidth), 0, widestLobe)
	in.Within("p", numbers, p, 2, 20)
	in.Within("q", numbers, q, 2, 20)
	if in.Err != nil {
		return nil, in.Err
	}
	l := &Lobe{h: float64(greatest), w: float64(halfWidth), p: p, q: q}
	const pieces = 64
	for i := range pieces {
		least, _ := l.bendOf(float64(i)/pieces, float64(i+1)/pieces)
		l.closing = max(l.closing, -least)
	}
	return l, nil
}

// At returns lift, velocity and acceleration; see [Lift].
func (l *Lobe) At(angle quantity.Angle) (Motion, error) { return motionAt(l, angle) }

func (l *Lobe) at(x float64) (lift, velocity, acceleration float64) {
	x = wrap(x, -cycle/2)
	u := math.Abs(x) / l.w
	if u >= 1 {
		return 0, 0, 0
	}
	nose := math.Pow(u, l.p-2)
	z := nose * u * u
	rest := 1 - z
	ramp := math.Pow(rest, l.q-2)
	lift = l.h * ramp * rest * rest
	velocity = -l.h * l.q * l.p / l.w * nose * u * ramp * rest
	if x < 0 {
		velocity = -velocity
	}
	acceleration = l.h * l.q * l.p / (l.w * l.w) * nose * ramp * ((l.q-1)*l.p*z - (l.p-1)*rest)
	return lift, velocity, acceleration
}

// fold returns the least and the greatest distance from the peak, as shares of the
// half-width, of the angles from a to b.
func (l *Lobe) fold(a, b float64) (u1, u2 float64) {
	width := b - a
	a = wrap(a, -cycle/2)
	b = a + width
	u2 = max(math.Abs(a), math.Abs(b))
	switch {
	case a > 0 && b >= cycle-l.w:
		u1, u2 = 0, l.w // reaches into the next peak's lobe
	case a > 0:
		u1 = a
	case b < 0:
		u1 = -b
	}
	return u1 / l.w, u2 / l.w
}

func (l *Lobe) bend(a, b float64) (least, most float64) {
	u1, u2 := l.fold(a, b)
	if u1 >= 1 {
		return 0, 0
	}
	least, most = l.bendOf(u1, min(u2, 1))
	if u2 >= 1 {
		least, most = min(least, 0), max(most, 0)
	}
	return least, most
}

// bendOf bounds the acceleration from u1 to u2. It is a product of a falling factor
// and a rising one, neither negative, and of a rising one of any sign.
func (l *Lobe) bendOf(u1, u2 float64) (least, most float64) {
	z1, z2 := math.Pow(u1, l.p), math.Pow(u2, l.p)
	fall1, fall2 := math.Pow(1-z1, l.q-2), math.Pow(1-z2, l.q-2)
	rise1, rise2 := math.Pow(u1, l.p-2), math.Pow(u2, l.p-2)
	sign1, sign2 := (l.q-1)*l.p*z1-(l.p-1)*(1-z1), (l.q-1)*l.p*z2-(l.p-1)*(1-z2)
	scale := l.h * l.q * l.p / (l.w * l.w)
	if sign1 >= 0 {
		least = fall2 * rise1 * sign1
	} else {
		least = fall1 * rise2 * sign1
	}
	if sign2 <= 0 {
		most = fall2 * rise1 * sign2
	} else {
		most = fall1 * rise2 * sign2
	}
	return scale * least, scale * most
}

func (l *Lobe) rush(a, b float64) float64 {
	u1, u2 := l.fold(a, b)
	if u1 >= 1 {
		return 0
	}
	// The velocity is the product of a rising and a falling factor.
	return l.h * l.q * l.p / l.w * math.Pow(min(u2, 1), l.p-1) * math.Pow(1-math.Pow(u1, l.p), l.q-1)
}

func (l *Lobe) ceiling(a, b float64) float64 {
	u1, _ := l.fold(a, b)
	if u1 >= 1 {
		return 0
	}
	y, _, _ := l.at(u1 * l.w)
	// The lift falls from the peak, and rounding may raise it by an ulp.
	return y * (1 + 1e-15)
}

func (l *Lobe) corner(a, b float64) (float64, bool) { return 0, false }
func (l *Lobe) cornered() bool                      { return false }
func (l *Lobe) greatest() float64                   { return l.h }
func (l *Lobe) mostClosing() float64                { return l.closing }
