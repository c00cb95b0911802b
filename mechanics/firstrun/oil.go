package firstrun

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Oil is where the oil of a dry engine goes.
type Oil struct {
	// Tank is what the tank or sump holds to its mark, Filter and Lines what is filled
	// besides on the first run, Cooler nothing where there is none.
	Tank, Filter, Lines, Cooler quantity.Volume
}

// Whole returns what has to be poured into a dry engine before it stands at its mark.
//
//	V = tank + filter + lines + cooler
//
// Oil that was poured into the crank and the lifters while building comes back to the
// tank and is left out: it is no more than a cup, and the level is read after the first
// run anyway.
//
// Whole returns an error if a volume is below zero or the tank's is not above it. It
// never returns NaN.
//
// Source: addition; the figures are the engine maker's.
func (o Oil) Whole() (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("tank", volumes, float64(o.Tank))
	in.NotNegative("filter", volumes, float64(o.Filter))
	in.NotNegative("lines", volumes, float64(o.Lines))
	in.NotNegative("cooler", volumes, float64(o.Cooler))
	if in.Err != nil {
		return 0, in.Err
	}
	return o.Tank + o.Filter + o.Lines + o.Cooler, nil
}

// PrimingTime returns how long a pump that is turned by hand or drill takes to deliver a
// volume.
//
//	t = V/(q·n)
//
// V is what stands empty between the pump and the last oil hole, q what the pump
// delivers a turn of the shaft that is turned (a jugful a minute over its turns), and n
// the speed. It is the least: air goes through first, and what counts is oil seen at the
// last rocker.
//
// PrimingTime returns an error unless q and n are above zero and V is not below it. It
// never returns NaN.
//
// Source: a pump that delivers the same every turn; textbook.
func PrimingTime(empty, aTurn quantity.Volume, speed quantity.Frequency) (quantity.Duration, error) {
	var in argument.Inspection
	in.NotNegative("empty", volumes, float64(empty))
	in.Above("a turn", volumes, float64(aTurn))
	in.Above("speed", speeds, float64(speed))
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Duration(float64(empty) / (float64(aTurn) * float64(speed))), nil
}

// Unaccounted returns how much oil is neither in the tank nor where it belongs after the
// engine has idled.
//
//	V = poured − found − galleries
//
// poured and found are the contents of the tank before and after, galleries what fills
// the passages and stays there. A little above zero is oil on its way back. What keeps
// growing lies in the crankcase: the return pump does not keep up, or the tank drains
// into the case while the engine stands. Below zero there is more in the tank than there
// can be: a reading is wrong, or the case was full before.
//
// Unaccounted returns an error if a volume is below zero. It never returns NaN.
//
// Source: common practice, no published source.
func Unaccounted(poured, found, galleries quantity.Volume) (quantity.Volume, error) {
	var in argument.Inspection
	in.NotNegative("poured", volumes, float64(poured))
	in.NotNegative("found", volumes, float64(found))
	in.NotNegative("galleries", volumes, float64(galleries))
	if in.Err != nil {
		return 0, in.Err
	}
	return poured - found - galleries, nil
}
