package valvetrain

import (
	"fmt"
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Law is a law of motion by which a cam lifts its follower from rest to rest.
type Law uint8

// The laws.
const (
	// Harmonic is half a turn of a cosine. Its acceleration jumps at both ends.
	Harmonic Law = iota + 1
	// Cycloidal has a full turn of a sine as its acceleration.
	Cycloidal
	// Polynomial345 starts and ends with zero velocity and acceleration.
	Polynomial345
	// Polynomial4567 starts and ends with zero jerk besides.
	Polynomial4567
)

var lawNames = map[Law]string{Harmonic: "harmonic", Cycloidal: "cycloidal", Polynomial345: "3-4-5", Polynomial4567: "4-5-6-7"}

// String returns the word that is written for the law.
func (l Law) String() string {
	if name, ok := lawNames[l]; ok {
		return name
	}
	return fmt.Sprintf("law %d", uint8(l))
}

// ParseLaw returns the law that is written harmonic, cycloidal, 3-4-5 or 4-5-6-7.
func ParseLaw(text string) (Law, error) {
	for law := Harmonic; law <= Polynomial4567; law++ {
		if lawNames[law] == text {
			return law, nil
		}
	}
	return 0, argument.Refuse("motion", fmt.Sprintf("motion %q is not known; write harmonic, cycloidal, 3-4-5 or 4-5-6-7", text), "")
}

// FollowerMotion is a lift and its derivatives by the angle of the cam in radians.
type FollowerMotion struct {
	Lift quantity.Length
	// Velocity is per radian, Acceleration per radian squared, Jerk per radian cubed.
	Velocity, Acceleration, Jerk quantity.Length
}

// Velocity is in metres per second.
type Velocity float64

// Acceleration is in metres per second squared.
type Acceleration float64

// Jerk is in metres per second cubed.
type Jerk float64

// AtSpeed returns velocity, acceleration and jerk in time when the cam turns at a
// steady speed.
//
//	v = v′·ω    a = a′·ω²    j = j′·ω³    ω = 2π·speed
//
// It returns an error unless the speed is a number below a million revolutions per
// minute either way.
func (m FollowerMotion) AtSpeed(speed quantity.Frequency) (Velocity, Acceleration, Jerk, error) {
	var in inspection
	in.Number("speed", speeds, float64(speed))
	if in.Err != nil {
		return 0, 0, 0, in.Err
	}
	w := 2 * math.Pi * float64(speed)
	return Velocity(float64(m.Velocity) * w), Acceleration(float64(m.Acceleration) * w * w), Jerk(float64(m.Jerk) * w * w * w), nil
}

// Rise returns the motion of a follower at an angle of a rise.
//
//	harmonic    s = h/2·(1 − cos πx)
//	cycloidal   s = h·(x − sin(2πx)/2π)
//	3-4-5       s = h·(10x³ − 15x⁴ + 6x⁵)
//	4-5-6-7     s = h·(35x⁴ − 84x⁵ + 70x⁶ − 20x⁷)
//
// h is the lift, x = θ/β with the angle θ from the start of the rise and its span β.
// Angles are those of the cam, not of the crank. For a fall measure θ from its end. At
// the ends of a harmonic rise the acceleration is that of the rise, not of the dwell.
//
// Rise returns an error unless lift and span are above zero, the span at most 360°, and
// the angle from zero to the span. It never returns NaN.
//
// Source: cam textbooks; Norton, Design of Machinery, chapter 8, not seen. Seen: a public
// module for cam profiles with all four laws and their derivatives, and a course's
// homework table for the cycloidal rise.
func Rise(law Law, lift quantity.Length, span, angle quantity.Angle) (FollowerMotion, error) {
	var in inspection
	in.Above("lift", lengths, float64(lift))
	in.Above("span", angles, float64(span))
	in.Within("span", angles, float64(span), 0, 2*math.Pi)
	in.Within("angle", angles, float64(angle), 0, float64(span))
	if _, ok := lawNames[law]; !ok {
		in.Refuse("motion", "%s is not known; use harmonic, cycloidal, 3-4-5 or 4-5-6-7", law)
	}
	if in.Err != nil {
		return FollowerMotion{}, in.Err
	}
	h, b := float64(lift), float64(span)
	x := float64(angle) / b
	var s, v, a, j float64
	switch law {
	case Harmonic:
		sin, cos := math.Sincos(math.Pi * x)
		s, v, a, j = (1-cos)/2, math.Pi/2*sin, math.Pi*math.Pi/2*cos, -math.Pi*math.Pi*math.Pi/2*sin
	case Cycloidal:
		sin, cos := math.Sincos(2 * math.Pi * x)
		s, v, a, j = x-sin/(2*math.Pi), 1-cos, 2*math.Pi*sin, 4*math.Pi*math.Pi*cos
	case Polynomial345:
		s = x * x * x * (10 + x*(-15+6*x))
		v = x * x * (30 + x*(-60+30*x))
		a = x * (60 + x*(-180+120*x))
		j = 60 + x*(-360+360*x)
	case Polynomial4567:
		s = x * x * x * x * (35 + x*(-84+x*(70-20*x)))
		v = x * x * x * (140 + x*(-420+x*(420-140*x)))
		a = x * x * (420 + x*(-1680+x*(2100-840*x)))
		j = x * (840 + x*(-5040+x*(8400-4200*x)))
	}
	return FollowerMotion{
		Lift:         quantity.Length(h * s),
		Velocity:     quantity.Length(h / b * v),
		Acceleration: quantity.Length(h / (b * b) * a),
		Jerk:         quantity.Length(h / (b * b * b) * j),
	}, nil
}

// PeakFactors are the greatest velocity, acceleration and jerk of a rise, in h/β, h/β²
// and h/β³ with the lift h and the span β in radians.
type PeakFactors struct{ Velocity, Acceleration, Jerk float64 }

// Peaks returns the peak factors of a law.
//
//	harmonic    π/2       π²/2         π³/2, and unbounded where the acceleration jumps
//	cycloidal   2         2π           4π²
//	3-4-5       15/8      10/√3        60
//	4-5-6-7     35/16     84√5/25      105/2
//
// Norton's table 8-3 is said to print 7.526 for the acceleration of 4-5-6-7; the exact
// value is 7.5132. Peaks returns an error for an unknown law.
//
// Source: extremes of [Rise]; own derivation.
func Peaks(law Law) (PeakFactors, error) {
	switch law {
	case Harmonic:
		return PeakFactors{math.Pi / 2, math.Pi * math.Pi / 2, math.Pi * math.Pi * math.Pi / 2}, nil
	case Cycloidal:
		return PeakFactors{2, 2 * math.Pi, 4 * math.Pi * math.Pi}, nil
	case Polynomial345:
		return PeakFactors{15.0 / 8, 10 / math.Sqrt(3), 60}, nil
	case Polynomial4567:
		return PeakFactors{35.0 / 16, 84 * math.Sqrt(5) / 25, 52.5}, nil
	}
	return PeakFactors{}, argument.Refuse("motion", fmt.Sprintf("%s is not known; use harmonic, cycloidal, 3-4-5 or 4-5-6-7", law), "")
}
