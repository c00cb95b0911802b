package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// AdapterSetting returns what a wrench must be set to when it works through an adapter
// that moves the square off the nut, and the factor from torque to setting.
//
//	setting = T·L/(L + A·cos γ)
//
// T is the torque wanted at the nut; L the distance from the middle of the grip to the
// middle of the drive; A the distance from there to the middle of the nut; γ the angle
// between the adapter and the line of the wrench: 0° points away from the grip and
// lengthens, 90° changes nothing, 180° points back and shortens.
//
// It holds only while the hand pulls at the mark of the grip, and not with a pipe on the
// handle. torque and wrench must be above zero, offset zero or more, and L + A·cos γ above
// zero; an *[argument.Error] is returned otherwise.
//
// Source: statics. Straight adapter: TM 1-1500-204-23-9, figure 8-16, and TM 9-254,
// figure 45 (seen). At an angle: TM 9-254, figure 46 (seen), which prints the effective
// length as a product; it is a sum.
func AdapterSetting(torque quantity.Torque, wrench, offset quantity.Length, angle quantity.Angle) (setting quantity.Torque, factor float64, err error) {
	reach, err := adapterReach(wrench, offset, angle)
	if err := argument.First(argument.Positive("torque", torque), err); err != nil {
		return 0, 0, err
	}
	if factor, err = argument.Result("factor", float64(wrench)/reach); err != nil {
		return 0, 0, err
	}
	setting, err = argument.Result("setting", quantity.Torque(float64(torque)*factor))
	if err != nil {
		return 0, 0, err
	}
	return setting, factor, nil
}

// AppliedTorque returns the torque at the nut for a reading of a wrench that works
// through an adapter: the inverse of [AdapterSetting], with its range, errors and source.
//
//	T = reading·(L + A·cos γ)/L
func AppliedTorque(reading quantity.Torque, wrench, offset quantity.Length, angle quantity.Angle) (quantity.Torque, error) {
	reach, err := adapterReach(wrench, offset, angle)
	if err := argument.First(argument.Positive("reading", reading), err); err != nil {
		return 0, err
	}
	return argument.Result("torque", quantity.Torque(float64(reading)*reach/float64(wrench)))
}

func adapterReach(wrench, offset quantity.Length, angle quantity.Angle) (float64, error) {
	if err := argument.First(argument.Positive("wrench", wrench), argument.NotNegative("offset", offset), argument.Finite("angle", angle)); err != nil {
		return 0, err
	}
	reach := float64(wrench) + float64(offset)*cosine(float64(angle))
	if !(reach > 0) {
		return 0, argument.Refuse("offset", "an offset of "+argument.Show(offset)+" at an angle of "+argument.Show(angle)+" reaches back past the grip of a wrench of "+argument.Show(wrench), "measure the wrench from the middle of the grip to the middle of the drive")
	}
	return reach, nil
}

// cosine is exactly 0 at a right angle, so that a 90° adapter changes nothing at all.
func cosine(x float64) float64 {
	if c := math.Cos(x); math.Abs(c) > 1e-15 {
		return c
	}
	return 0
}

// MarkWarning says what is wrong with using a wrench for a torque.
type MarkWarning uint8

// The warnings, none first.
const (
	// MarkGood: nothing is wrong.
	MarkGood MarkWarning = iota
	// MarkUnderFifth: the torque is under 20 % of the largest mark, where a wrench is
	// coarse.
	MarkUnderFifth
	// MarkBelowScale: the torque is below the smallest mark.
	MarkBelowScale
	// MarkAboveScale: the torque is over the largest mark; the wrench cannot do it.
	MarkAboveScale
)

// String returns a short phrase, empty where nothing is wrong.
func (w MarkWarning) String() string {
	return [...]string{"", "under 20 % of the wrench's range", "below the wrench's smallest mark", "over the wrench's range"}[w&3]
}

// Mark is where to set a wrench.
type Mark struct {
	// Torque is the mark.
	Torque quantity.Torque
	// Error is mark over wanted torque less one: 0.012 is 1.2 % too much.
	Error float64
	// Warning says what is wrong with this wrench for the torque.
	Warning MarkWarning
}

// WrenchMark returns the mark of a wrench that is nearest to a torque.
//
//	mark = k·g, k whole, within the scale
//
// g is the graduation; marks are multiples of it, as scales are numbered. low and high
// are the ends of the scale. Of two marks equally near the smaller is taken. A torque
// outside the scale gets the mark at its end and a warning; it must not be used above.
// Under 20 % of the largest mark there is a warning too: "range" is counted from zero.
//
// torque, high and graduation must be above zero, low zero or more and below high, and the
// scale must hold a mark; an *[argument.Error] is returned otherwise.
//
// Source: nearest graduation is plain arithmetic. The 20 % is common practice; ISO 6789
// tests wrenches from 20 % of their largest value (memory).
func WrenchMark(torque, low, high, graduation quantity.Torque) (Mark, error) {
	if err := argument.First(argument.Positive("torque", torque), argument.NotNegative("wrench min", low), argument.Positive("wrench max", high), argument.Positive("graduation", graduation)); err != nil {
		return Mark{}, err
	}
	if low >= high {
		return Mark{}, argument.Refuse("wrench min", "wrench min "+argument.Show(low)+" must be below wrench max "+argument.Show(high), "")
	}
	// A share of a graduation is allowed for the noise of unit conversion.
	const noise = 1e-9
	firstMark := math.Max(1, math.Ceil(float64(low/graduation)-noise))
	lastMark := math.Floor(float64(high/graduation) + noise)
	if !(firstMark <= lastMark) {
		return Mark{}, argument.Refuse("graduation", "graduation "+argument.Show(graduation)+" puts no mark between wrench min "+argument.Show(low)+" and wrench max "+argument.Show(high), "check the graduation")
	}
	// Halves go down: the smaller mark.
	k := math.Ceil(float64(torque/graduation) - 0.5 - noise)
	k = math.Min(math.Max(k, firstMark), lastMark)
	m := Mark{Torque: quantity.Torque(k) * graduation}
	m.Error = float64(m.Torque/torque) - 1
	switch {
	case float64(torque) > float64(high)*(1+noise):
		m.Warning = MarkAboveScale
	case float64(torque) < float64(low)*(1-noise):
		m.Warning = MarkBelowScale
	case float64(torque) < 0.2*float64(high)*(1-noise):
		m.Warning = MarkUnderFifth
	}
	for _, x := range []float64{float64(m.Torque), m.Error} {
		if _, err := argument.Result("mark", x); err != nil {
			return Mark{}, err
		}
	}
	return m, nil
}

// WrenchDeviation returns the deviation that a standard allows a setting wrench with a
// scale, as a share of what it indicates: 0.04 for ±4 %.
//
//	largest torque of the wrench up to 10 N·m: 0.06, above: 0.04
//
// It is what the wrench may be off when new or just calibrated, and not the scatter of the
// preload: see [ScatterByMethod]. largest must be above zero.
//
// Source: ISO 6789:2003, type II class A. Seen: its figures in a stored tool manual; that
// the 10 N·m are the wrench's largest torque is from memory.
func WrenchDeviation(largest quantity.Torque) (float64, error) {
	if err := argument.Positive("largest torque", largest); err != nil {
		return 0, err
	}
	if largest > 10 {
		return 0.04, nil
	}
	return 0.06, nil
}
