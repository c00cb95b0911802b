package crank

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Parts are the weighed parts that hang on one crankpin, each the sum over all
// cylinders on it.
type Parts struct {
	// Pistons is everything that goes up and down whole: pistons, rings, piston
	// pins, clips.
	Pistons quantity.Mass
	// SmallEnds is what the small ends of the rods weigh with the rods level.
	SmallEnds quantity.Mass
	// BigEnds is what the big ends weigh with the rods level.
	BigEnds quantity.Mass
	// Cages is what turns with the big ends: rollers and cages. The crankpin and its
	// nuts belong here only where the wheels are balanced without them; see
	// [PerWheel].
	Cages quantity.Mass
}

// Bob is a bob-weight and what it is made of.
type Bob struct {
	// Weight is what to hang on the crankpin for the balancing stand.
	Weight quantity.Mass
	// Reciprocating and Rotating are the two sums it was made from.
	Reciprocating, Rotating quantity.Mass
}

// BobWeight returns the weight to hang on a crankpin so that the crank stands still
// in any position when it is balanced to the factor.
//
//	reciprocating = pistons + small ends
//	rotating = big ends + cages
//	bob = rotating + factor·reciprocating
//
// factor is the share of the reciprocating weight that the counterweights carry
// besides all of the rotating weight; for a pair on one pin it is the share of both
// together. Other definitions of the balance factor are in use: keep the definition
// with the number.
//
// Valid for factors from 0 to 1; which one is right is not computed here: it depends
// on the frame as much as on the engine, and builders disagree. BobWeight returns an
// error outside that range, if a weight is negative or not finite, or if all are
// zero. It never returns NaN.
//
// Source: the usual balancing relation. Seen: a workshop paper on flywheel balance
// factors and a textbook exercise (see docs/sources/crank.md).
func BobWeight(p Parts, factor float64) (Bob, error) {
	if err := argument.First(
		argument.NotNegative("pistons", p.Pistons), argument.NotNegative("small ends", p.SmallEnds),
		argument.NotNegative("big ends", p.BigEnds), argument.NotNegative("cages", p.Cages),
		argument.Within("factor", factor, 0, 1),
	); err != nil {
		return Bob{}, err
	}
	bob := Bob{Reciprocating: p.Pistons + p.SmallEnds, Rotating: p.BigEnds + p.Cages}
	bob.Weight = bob.Rotating + quantity.Mass(factor)*bob.Reciprocating
	if bob.Reciprocating+bob.Rotating == 0 {
		return Bob{}, argument.Refuse("pistons", "pistons, small ends, big ends and cages all weigh 0 g", "weigh the parts")
	}
	if err := argument.AllFinite("bob-weight", bob.Weight, bob.Reciprocating+bob.Rotating); err != nil {
		return Bob{}, err
	}
	return bob, nil
}

// PerWheel returns the bob-weight for one wheel when the two wheels of a built-up
// crank are balanced apart, without the crankpin.
//
//	half = (bob + pin)/2
//
// pin is the weight of the crankpin with its nuts and locks, which is missing when
// the wheels are apart. Valid where the wheels are mirror images about the pin's
// middle. PerWheel returns an error if bob is not above zero or pin is negative.
//
// Source: common practice, no published source.
func PerWheel(bob, pin quantity.Mass) (quantity.Mass, error) {
	if err := argument.First(argument.Positive("bob", bob), argument.NotNegative("pin", pin)); err != nil {
		return 0, err
	}
	return argument.Result("bob-weight", bob/2+pin/2)
}

// BalanceFactor returns the factor that an existing crank is balanced to.
//
//	factor = (hang − rotating)/reciprocating
//
// hang is the weight that, hung on the pin, makes the crank stand still in any
// position. The factor is negative where the counterweights do not even carry the
// rotating weight, and above 1 where they carry more than all.
//
// BalanceFactor returns an error if hang or rotating is negative, if reciprocating
// is not above zero, or if a value is not finite. It never returns NaN.
//
// Source: [BobWeight] solved for the factor.
func BalanceFactor(hang, rotating, reciprocating quantity.Mass) (float64, error) {
	if err := argument.First(argument.NotNegative("hang", hang), argument.NotNegative("rotating", rotating), argument.Positive("reciprocating", reciprocating)); err != nil {
		return 0, err
	}
	return argument.Result("factor", float64((hang-rotating)/reciprocating))
}

// Counterweight returns the mass that, at radius b opposite the crankpin, balances
// all of the rotating and a share of the reciprocating mass at the throw r.
//
//	B = (m_rot + c·m_rec)·r/b
//
// r is half the stroke; b is the radius of the counterweight's centre of mass; c is
// the balance factor, from 0 to 1. Counterweight returns an error outside that, if a
// mass is negative, or if a radius is not above zero. It never returns NaN.
//
// Source: balancing of a single-cylinder engine in a Theory of Machines text. Seen:
// a stored answer page that works it.
func Counterweight(reciprocating, rotating quantity.Mass, factor float64, throw, radius quantity.Length) (quantity.Mass, error) {
	if err := argument.First(
		argument.NotNegative("reciprocating", reciprocating), argument.NotNegative("rotating", rotating),
		argument.Within("factor", factor, 0, 1), argument.Positive("throw", throw), argument.Positive("radius", radius),
	); err != nil {
		return 0, err
	}
	b := (rotating + quantity.Mass(factor)*reciprocating) * quantity.Mass(throw/radius)
	return argument.Result("counterweight", b)
}
