package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// CrushedThickness returns the thickness of a gasket under load.
//
//	crushed = free·(1 − c)
//
// c is the crush as a share of the free thickness: 0.12 for 12 %. Use the crushed thickness
// in every stack, and find c from the old gasket or a witness measurement. free must be
// above zero and c from 0 to below 1; an *[argument.Error] is returned otherwise.
//
// Source: definition; common practice has crushed over free at 0.7 to 0.98, no published
// source.
func CrushedThickness(free quantity.Length, crush float64) (quantity.Length, error) {
	if err := argument.Positive("free thickness", free); err != nil {
		return 0, err
	}
	if !(crush >= 0 && crush < 1) {
		return 0, argument.Refuse("crush", "crush "+argument.Show(crush)+" must be from 0 to below 1", "write 12 % as 0.12")
	}
	return free * quantity.Length(1-crush), nil
}

// Crush returns the crush of a gasket as a share of its free thickness.
//
//	c = 1 − crushed/free
//
// free must be above zero, crushed above zero and not more than free; an *[argument.Error]
// is returned otherwise.
//
// Source: definition.
func Crush(free, crushed quantity.Length) (float64, error) {
	if err := argument.First(argument.Positive("free thickness", free), argument.Positive("crushed thickness", crushed)); err != nil {
		return 0, err
	}
	if crushed > free {
		return 0, argument.Refuse("crushed thickness", "crushed thickness "+argument.Show(crushed)+" must not be more than the free "+argument.Show(free), "check which is which")
	}
	return 1 - float64(crushed/free), nil
}

// Reach is how far a screw goes into its hole.
type Reach struct {
	// Beyond is what stands out beyond the clamped parts.
	Beyond quantity.Length
	// Clearance is what is left to the bottom of the hole; below zero the screw bottoms.
	Clearance quantity.Length
	// Engaged is the most that can be in the hole: Beyond, or the hole if that is less.
	// A chamfer and unthreaded depth come off it.
	Engaged quantity.Length
}

// Bottoms reports whether the screw meets the bottom of its hole before it clamps. One
// that just touches it does not.
func (r Reach) Bottoms() bool { return r.Clearance < 0 }

// ScrewReach returns how far a screw goes into a blind hole.
//
//	beyond    = length − through
//	clearance = hole − beyond
//
// length is that of the screw under its head, through the thickness of all that it clamps
// (gaskets crushed, washers counted), hole the depth that the screw can enter. All must be
// above zero, and length more than through, since the screw would not reach; an
// *[argument.Error] is returned otherwise. Differences below a nanometre count as none.
//
// Source: geometry.
func ScrewReach(length, through, hole quantity.Length) (Reach, error) {
	if err := argument.First(argument.Positive("length", length), argument.Positive("through", through), argument.Positive("hole depth", hole)); err != nil {
		return Reach{}, err
	}
	const nothing = 1e-9
	beyond := length - through
	if !(beyond > nothing) {
		return Reach{}, argument.Refuse("length", "a length of "+argument.Show(length)+" does not reach through "+argument.Show(through), "check the length under the head, and what the screw clamps")
	}
	r := Reach{Beyond: beyond, Clearance: hole - beyond, Engaged: min(beyond, hole)}
	if math.Abs(float64(r.Clearance)) < nothing {
		r.Clearance = 0
	}
	return r, nil
}

// Turns returns the turns, and the flats of a hexagon, that advance a screw by a length.
//
//	turns = l/P,  flats = 6·l/P
//
// l is the length and P the pitch (for threads an inch, 25.4 mm over their number). Measure
// the pitch over ten threads: owners fit others. A negative length turns back. pitch must
// be above zero; an *[argument.Error] is returned otherwise.
//
// Source: screw geometry; six flats a turn is the trade unit.
func Turns(length, pitch quantity.Length) (turns, flats float64, err error) {
	if err := argument.First(argument.Finite("length", length), argument.Positive("pitch", pitch)); err != nil {
		return 0, 0, err
	}
	if turns, err = argument.Result("turns", float64(length/pitch)); err != nil {
		return 0, 0, err
	}
	if flats, err = argument.Result("flats", 6*turns); err != nil {
		return 0, 0, err
	}
	return turns, flats, nil
}
