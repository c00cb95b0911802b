package valvetrain

import (
	"math"

	"buttonup/quantity"
)

const (
	degree = math.Pi / 180
	// Cycle is the angle of the crank after which everything in a four-stroke engine
	// repeats: two turns.
	Cycle quantity.Angle = 4 * math.Pi
	cycle float64        = 4 * math.Pi
)

// Events are the four readings of a degree wheel at one checking lift. Each is positive
// on its usual side of the dead centre and negative on the other.
type Events struct {
	// InletOpens is before the top, InletCloses after the bottom dead centre.
	InletOpens, InletCloses quantity.Angle
	// ExhaustOpens is before the bottom, ExhaustCloses after the top dead centre.
	ExhaustOpens, ExhaustCloses quantity.Angle
}

// Timing is what [Events] come to.
type Timing struct {
	// InletDuration and ExhaustDuration are how long the valves are above the checking
	// lift, in crank angle.
	InletDuration, ExhaustDuration quantity.Angle
	// InletCentre is after, ExhaustCentre before the top dead centre: the middle
	// between opening and closing, which is the peak only if the lobe is symmetrical.
	InletCentre, ExhaustCentre quantity.Angle
	// Separation is the angle between the lobes' centres in cam degrees, as cam cards
	// give it.
	Separation quantity.Angle
	// Overlap is how long both valves are above the checking lift; negative if never.
	Overlap quantity.Angle
}

// Timing returns durations, centrelines, separation and overlap.
//
//	duration  = 180° + opens + closes
//	inlet centre   = duration/2 − inlet opens
//	exhaust centre = duration/2 − exhaust closes
//	separation = (inlet centre + exhaust centre)/2
//	overlap = inlet opens + exhaust closes
//
// Compare only figures taken at one checking lift, measured at one end: a card for the
// tappet is not a reading at the valve, where the lift is larger by the rocker ratio.
// Read with a solid lifter and turn one way only.
//
// Each reading must lie between −180° and 180°, and a duration between 0° and 720°,
// ends excluded. Timing never returns NaN.
//
// Source: geometry of the degree wheel; overlap as TM 9-8000, figure 2-55. Seen: the
// manual's page on a public site.
func (e Events) Timing() (Timing, error) {
	var in inspection
	for _, r := range []struct {
		name  string
		value quantity.Angle
	}{
		{"inlet opens", e.InletOpens}, {"inlet closes", e.InletCloses},
		{"exhaust opens", e.ExhaustOpens}, {"exhaust closes", e.ExhaustCloses},
	} {
		in.Within(r.name, angles, float64(r.value), -math.Pi, math.Pi)
	}
	if in.Err != nil {
		return Timing{}, in.Err
	}
	t := Timing{
		InletDuration:   math.Pi + e.InletOpens + e.InletCloses,
		ExhaustDuration: math.Pi + e.ExhaustOpens + e.ExhaustCloses,
		Overlap:         e.InletOpens + e.ExhaustCloses,
	}
	if t.InletDuration <= 0 {
		in.Refuse("inlet opens, inlet closes", "inlet opens %s before the top and inlet closes %s after the bottom dead centre leave a duration of %s, which must be above zero", angles.Text(float64(e.InletOpens)), angles.Text(float64(e.InletCloses)), angles.Text(float64(t.InletDuration)))
	}
	if t.ExhaustDuration <= 0 {
		in.Refuse("exhaust opens, exhaust closes", "exhaust opens %s before the bottom and exhaust closes %s after the top dead centre leave a duration of %s, which must be above zero", angles.Text(float64(e.ExhaustOpens)), angles.Text(float64(e.ExhaustCloses)), angles.Text(float64(t.ExhaustDuration)))
	}
	if in.Err != nil {
		return Timing{}, in.Err
	}
	t.InletCentre = t.InletDuration/2 - e.InletOpens
	t.ExhaustCentre = t.ExhaustDuration/2 - e.ExhaustCloses
	t.Separation = (t.InletCentre + t.ExhaustCentre) / 2
	return t, nil
}

// Advanced returns the events with the cam turned ahead by an angle of the crank: the
// valves open and close that much earlier. A negative angle retards.
//
// Source: definition.
func (e Events) Advanced(by quantity.Angle) Events {
	return Events{
		InletOpens:    e.InletOpens + by,
		InletCloses:   e.InletCloses - by,
		ExhaustOpens:  e.ExhaustOpens + by,
		ExhaustCloses: e.ExhaustCloses - by,
	}
}

// DeadCentre is what a positive stop says about a degree wheel.
type DeadCentre struct {
	// Shift is by how much the wheel is out: the true dead centre is that far after
	// the wheel's zero, before it if negative. Turn the pointer by it.
	Shift quantity.Angle
	// Reading is what both sides read once the pointer is moved.
	Reading quantity.Angle
}

// DeadCentreByStop returns the error of a degree wheel from the readings at a positive
// stop, one turning each way: degrees before and after the provisional zero.
//
//	shift = (after − before)/2    reading = (after + before)/2
//
// It takes the piston's way as the same on both sides of the top, which is exact unless
// the piston pin is set off. Each cylinder of a V has its own zero. The stop may bend a
// valve: rockers off, or the stop short of any open valve.
//
// Each reading must be above zero and below 180°. It never returns NaN.
//
// Source: symmetry of the slider-crank; common practice, no published source.
func DeadCentreByStop(before, after quantity.Angle) (DeadCentre, error) {
	var in inspection
	in.Above("before", angles, float64(before))
	in.Within("before", angles, float64(before), 0, math.Pi)
	in.Above("after", angles, float64(after))
	in.Within("after", angles, float64(after), 0, math.Pi)
	if in.Err != nil {
		return DeadCentre{}, in.Err
	}
	return DeadCentre{Shift: (after - before) / 2, Reading: (after + before) / 2}, nil
}

// CentreByEqualLift returns the centreline of a lobe from the two angles at which the
// lift is the same on either side of its peak.
//
//	centre = (opening + closing)/2
//
// Both angles are on one wheel with one zero and one direction, opening before closing.
// On a symmetrical lobe any lift gives the same centre; where two lifts give different
// ones the lobe is not symmetrical, and both should be shown.
//
// CentreByEqualLift returns an error unless closing comes after opening, by less than
// 720°. It never returns NaN.
//
// Source: common practice, no published source.
func CentreByEqualLift(opening, closing quantity.Angle) (quantity.Angle, error) {
	var in inspection
	in.Number("opening", angles, float64(opening))
	in.Number("closing", angles, float64(closing))
	if width := float64(closing - opening); in.Err == nil && !(width > 0 && width < cycle) {
		in.Refuse("opening, closing", "closing %s must come after opening %s, by less than 720 deg", angles.Text(float64(closing)), angles.Text(float64(opening)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return opening + (closing-opening)/2, nil
}
