package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// BoltStiffness returns the stiffness of the clamped part of a bolt.
//
//	kb = Ad·At·E/(Ad·lt + At·ld)
//
// Ad is the area of the plain shank at the nominal diameter, At the stress area, ld and lt
// the lengths of plain and threaded bolt inside the grip, E the modulus. The stretch of
// head and nut is left out, so a short bolt is softer than this.
//
// modulus must be above zero, the lengths zero or more and together above zero; an
// *[argument.Error] is returned otherwise.
//
// Source: Shigley, Mechanical Engineering Design, table 8-7. Seen: page 426 of the book as
// a university library shows it.
func BoltStiffness(t Thread, modulus quantity.Pressure, shank, threaded quantity.Length) (quantity.Stiffness, error) {
	if err := argument.First(t.check(), argument.Positive("modulus", modulus), argument.NotNegative("shank", shank), argument.NotNegative("threaded length", threaded), argument.Positive("grip", shank+threaded)); err != nil {
		return 0, err
	}
	ad := math.Pi / 4 * float64(t.diameter) * float64(t.diameter)
	at := float64(t.StressArea())
	return argument.Result("stiffness", quantity.Stiffness(ad*at*float64(modulus)/(ad*float64(threaded)+at*float64(shank))))
}

// MemberStiffness returns the stiffness of the clamped parts, all of one metal, as two
// cones of pressure under a washer face of 1.5 times the bolt.
//
//	km = π·E·d·tan 30° / (2·ln[ 5·(l·tan 30° + 0.5·d)/(l·tan 30° + 2.5·d) ])
//
// l is the grip, d the nominal diameter, E the modulus of the parts. The book writes 0.5774
// for tan 30°. The cones are 1.5·d + l·tan 30° across at the middle of the grip; parts
// narrower than that are softer.
//
// All must be above zero; an *[argument.Error] is returned otherwise.
//
// Source: Shigley, Mechanical Engineering Design, chapter 8, equation 8-22 (memory).
func MemberStiffness(diameter, grip quantity.Length, modulus quantity.Pressure) (quantity.Stiffness, error) {
	if err := argument.First(argument.Positive("diameter", diameter), argument.Positive("grip", grip), argument.Positive("modulus", modulus)); err != nil {
		return 0, err
	}
	d, l := float64(diameter), float64(grip)/root3
	return argument.Result("stiffness", quantity.Stiffness(math.Pi*float64(modulus)*d/root3/(2*math.Log(5*(l+0.5*d)/(l+2.5*d)))))
}

// MemberStiffnessFitted is [MemberStiffness] by a fit to finite-element results for steel
// parts.
//
//	km = E·d·0.787 15·exp(0.628 73·d/l)
//
// It lies within 10 % of the cones for grips of one to four diameters, below them for short
// grips and above for long ones; at ten diameters it gives a quarter more. Both are for
// plates: work out a long slender barrel by its own area. Range and errors are the same.
//
// Source: Wileman, Choudhury and Green, as in Shigley, chapter 8, equation 8-23 and table
// 8-8. Seen: page 430 of the book as a university library shows it (both constants of
// steel) and a page of worked answers that uses the equation.
func MemberStiffnessFitted(diameter, grip quantity.Length, modulus quantity.Pressure) (quantity.Stiffness, error) {
	if err := argument.First(argument.Positive("diameter", diameter), argument.Positive("grip", grip), argument.Positive("modulus", modulus)); err != nil {
		return 0, err
	}
	return argument.Result("stiffness", quantity.Stiffness(float64(modulus)*float64(diameter)*0.78715*math.Exp(0.62873*float64(diameter/grip))))
}

func checkStiffnesses(bolt, members quantity.Stiffness) error {
	return argument.First(argument.Positive("bolt stiffness", bolt), argument.Positive("member stiffness", members))
}

// LoadShare returns the share of an outer load that the bolt takes while the joint stays
// closed.
//
//	C = kb/(kb + km)
//
// Both stiffnesses must be above zero; an *[argument.Error] is returned otherwise.
//
// Source: Shigley, Mechanical Engineering Design, chapter 8, example 8-3. Seen: page 439 of
// the book as a university library shows it, C = k_b/(k_b + k_m).
func LoadShare(bolt, members quantity.Stiffness) (float64, error) {
	if err := checkStiffnesses(bolt, members); err != nil {
		return 0, err
	}
	return argument.Result("share", 1/(1+float64(members/bolt)))
}

// BoltLoad returns the load in a bolt while an outer load pulls at a closed joint, and the
// clamping force that is left.
//
//	Fb = Fi + C·P,  Fm = Fi − (1 − C)·P
//
// Fi is the preload, P the outer load for one bolt, C the share of [LoadShare]. Where Fm
// would fall below zero the joint opens and the bolt carries all of P: Fb = P, Fm = 0.
//
// preload and outer load must be zero or more and the share from 0 to 1; an
// *[argument.Error] is returned otherwise.
//
// Source: Shigley, Mechanical Engineering Design, chapter 8, equation 8-24. Seen: page 439
// of the book as a university library shows it, F_b = C·P + F_i.
func BoltLoad(preload, outer quantity.Force, share float64) (bolt, clamp quantity.Force, err error) {
	if err := argument.First(argument.NotNegative("preload", preload), argument.NotNegative("outer load", outer), argument.Within("share", share, 0, 1)); err != nil {
		return 0, 0, err
	}
	clamp = preload - quantity.Force(1-share)*outer
	if clamp < 0 {
		return outer, 0, nil
	}
	bolt, err = argument.Result("load", preload+quantity.Force(share)*outer)
	if err != nil {
		return 0, 0, err
	}
	return bolt, clamp, nil
}

// together is the stiffness of bolt and members in series.
func together(bolt, members quantity.Stiffness) float64 {
	return 1 / (1/float64(bolt) + 1/float64(members))
}

// PreloadChange returns how a preload changes when the clamped parts grow by more than the
// bolt.
//
//	ΔF = Δ·kb·km/(kb + km)
//
// Δ is the growth of the parts less that of the bolt over the grip (see
// [GrowthDifference]), kb and km the stiffnesses. It is negative for settling and for a
// gasket that creeps: a joint that loses 10 µm changes by −10 µm. It holds while the joint
// stays closed and the bolt elastic.
//
// The stiffnesses must be above zero; an *[argument.Error] is returned otherwise.
//
// Source: springs in series; Shigley, chapter 8 (memory).
func PreloadChange(mismatch quantity.Length, bolt, members quantity.Stiffness) (quantity.Force, error) {
	if err := argument.First(argument.Finite("mismatch", mismatch), checkStiffnesses(bolt, members)); err != nil {
		return 0, err
	}
	return argument.Result("preload change", quantity.Force(float64(mismatch)*together(bolt, members)))
}

// TurnPreload returns the preload that turning a seated nut or bolt by an angle adds.
//
//	ΔF = φ/2π·P·kb·km/(kb + km)
//
// φ is the angle, P the pitch, kb and km the stiffnesses. It counts from a torque that has
// closed every gap; what comes before goes into seating the parts and cannot be computed.
// It holds until the bolt or the tapped thread yields: hold the sum against
// [AssemblyPreload] and [Stripping].
//
// angle must be zero or more; an *[argument.Error] is returned otherwise.
//
// Source: screw geometry and springs in series.
func TurnPreload(angle quantity.Angle, t Thread, bolt, members quantity.Stiffness) (quantity.Force, error) {
	if err := argument.First(argument.NotNegative("angle", angle), t.check(), checkStiffnesses(bolt, members)); err != nil {
		return 0, err
	}
	return argument.Result("preload", quantity.Force(float64(angle)/(2*math.Pi)*float64(t.pitch)*together(bolt, members)))
}

// TurnAngle returns the angle that adds a preload: the inverse of [TurnPreload], with its
// range, errors and source. added must be zero or more.
//
//	φ = 2π·ΔF·(kb + km)/(P·kb·km)
func TurnAngle(added quantity.Force, t Thread, bolt, members quantity.Stiffness) (quantity.Angle, error) {
	if err := argument.First(argument.NotNegative("preload", added), t.check(), checkStiffnesses(bolt, members)); err != nil {
		return 0, err
	}
	return argument.Result("angle", quantity.Angle(2*math.Pi*float64(added)/(float64(t.pitch)*together(bolt, members))))
}
