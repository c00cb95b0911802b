package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Motion is a lift and its derivatives by the angle of the crank in radians.
type Motion struct {
	Lift quantity.Length
	// Velocity is per radian, Acceleration per radian squared.
	Velocity, Acceleration quantity.Length
}

// Lift is a lift curve over the angle of the crank from the curve's own zero. It
// repeats every [Cycle]. The curves of this package are [Lobe] and [Measured]; there
// are no others, because a search for the smallest gap relies on the bounds that they
// keep with themselves.
type Lift interface {
	// At returns lift, velocity and acceleration at an angle. It returns an error for an
	// angle that is no number or beyond belief, and never NaN.
	At(angle quantity.Angle) (Motion, error)

	at(x float64) (lift, velocity, acceleration float64)
	// bend bounds the acceleration from a to b, a < b.
	bend(a, b float64) (least, most float64)
	// rush bounds the size of the velocity from a to b.
	rush(a, b float64) float64
	// ceiling is a bound that the lift does not exceed from a to b.
	ceiling(a, b float64) float64
	// corner finds the first angle strictly between a and b at which the velocity
	// jumps.
	corner(a, b float64) (float64, bool)
	cornered() bool
	// greatest is a bound that the lift never exceeds, mostClosing one that the
	// negative acceleration never exceeds in size.
	greatest() float64
	mostClosing() float64
}

// wrap brings an angle into the cycle that begins at start.
func wrap(x, start float64) float64 {
	const perCycle = 1 / cycle
	x -= cycle * math.Floor((x-start)*perCycle)
	if x < start || x >= start+cycle { // a rounding of the product
		x = start
	}
	return x
}

func motionAt(l Lift, angle quantity.Angle) (Motion, error) {
	var in inspection
	in.Number("angle", angles, float64(angle))
	if in.Err != nil {
		return Motion{}, in.Err
	}
	y, v, a := l.at(float64(angle))
	return Motion{quantity.Length(y), quantity.Length(v), quantity.Length(a)}, nil
}

// Peak returns where a curve is highest, and how high. Of several equal peaks it
// returns one. The angle lies within half a cycle of the curve's zero.
//
// It looks at every degree and then narrows the best place down by golden section, so a
// peak narrower than a degree may be missed.
//
// Source: own.
func Peak(l Lift) (quantity.Angle, quantity.Length) {
	best, height := 0.0, math.Inf(-1)
	for i := -360; i < 360; i++ {
		x := float64(i) * degree
		if y, _, _ := l.at(x); y > height {
			best, height = x, y
		}
	}
	low, high := best-degree, best+degree
	const golden = 0.6180339887498949
	for range 60 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		ya, _, _ := l.at(a)
		yb, _, _ := l.at(b)
		if ya > yb {
			high = b
		} else {
			low = a
		}
		if ya > height {
			best, height = a, ya
		}
		if yb > height {
			best, height = b, yb
		}
	}
	return quantity.Angle(best), quantity.Length(height)
}

// OpenAbove returns the angles between which a curve is above a checking lift around
// its peak, counted from the curve's zero.
//
// It walks from the peak outwards by half degrees to where the lift first falls to the
// checking lift and halves the step from there. A curve that never falls to it, or does
// not rise above it, is refused, with the checking lift and the peak named. The lift
// must be zero or more.
//
// Source: own.
func OpenAbove(l Lift, lift quantity.Length) (opens, closes quantity.Angle, err error) {
	peak, top := Peak(l)
	var in inspection
	in.NotNegative("lift", lengths, float64(lift))
	if lift >= top {
		in.Refuse("lift", "lift %s must be below the greatest lift of the curve, %s", lengths.Text(float64(lift)), lengths.Text(float64(top)))
	}
	if in.Err != nil {
		return 0, 0, in.Err
	}
	side := func(step float64) (float64, bool) {
		inside := float64(peak)
		for i := 1; i <= 720; i++ {
			outside := float64(peak) + float64(i)*step
			if y, _, _ := l.at(outside); y <= float64(lift) {
				for range 60 {
					middle := (inside + outside) / 2
					if y, _, _ := l.at(middle); y <= float64(lift) {
						outside = middle
					} else {
						inside = middle
					}
				}
				return (inside + outside) / 2, true
			}
			inside = outside
		}
		return 0, false
	}
	a, okA := side(-degree / 2)
	b, okB := side(degree / 2)
	if !okA || !okB {
		in.Refuse("lift", "the curve does not fall to a lift of %s within a turn of its peak", lengths.Text(float64(lift)))
		return 0, 0, in.Err
	}
	return quantity.Angle(a), quantity.Angle(b), nil
}

// EventsAt returns the events of an inlet and an exhaust curve at a checking lift. The
// peaks are where the curves' zeros stand: the inlet's after, the exhaust's before the
// top dead centre, both positive.
//
// Errors as in [OpenAbove] and [Events.Timing].
//
// Source: own.
func EventsAt(inlet Lift, inletPeak quantity.Angle, exhaust Lift, exhaustPeak quantity.Angle, lift quantity.Length) (Events, error) {
	var in inspection
	in.Number("inlet peak", angles, float64(inletPeak))
	in.Number("exhaust peak", angles, float64(exhaustPeak))
	if in.Err != nil {
		return Events{}, in.Err
	}
	io, ic, err := OpenAbove(inlet, lift)
	if err != nil {
		return Events{}, err
	}
	eo, ec, err := OpenAbove(exhaust, lift)
	if err != nil {
		return Events{}, err
	}
	e := Events{
		InletOpens:    -(inletPeak + io),
		InletCloses:   inletPeak + ic - math.Pi,
		ExhaustOpens:  exhaustPeak - eo - math.Pi,
		ExhaustCloses: ec - exhaustPeak,
	}
	_, err = e.Timing()
	return e, err
}
