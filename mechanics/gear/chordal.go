package gear

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Chordal is what a gear-tooth caliper shows of one tooth.
type Chordal struct {
	// Thickness is the straight distance across the tooth at the reference circle.
	Thickness quantity.Length
	// Height is from the tip down to that chord: what the caliper's tongue is set to.
	Height quantity.Length
	// Arc is the tooth thickness along the reference circle, in the normal plane.
	Arc quantity.Length
	// HalfAngle is half the angle that the tooth covers, in the normal plane.
	HalfAngle quantity.Angle
	// VirtualTeeth is the number of teeth of the spur gear that has the same normal
	// section; for a spur gear its own number.
	VirtualTeeth float64
}

// ChordalThickness returns the chordal thickness and height of a tooth, in the
// normal plane.
//
//	zv = z/cos³β       sn = (π/2 + 2·x·tan αn)·mn − thinning·cos β
//	θ = sn/(zv·mn)
//	thickness = zv·mn·sin θ      height = zv·mn/2·(1 − cos θ) + ha
//
// z is the number of teeth, β the helix angle, mn and αn module and pressure angle in
// the normal plane, x the profile shift, ha the addendum: half of tip diameter less
// reference diameter, as measured.
//
// ChordalThickness returns an error if the gear is out of range as for [OverPins] or if
// the addendum is not above zero. It never returns NaN.
//
// Source: Elements of Metric Gear Technology, Tables 10-1 and 10-3, without its
// thinning. Seen: a stored copy of both tables.
func ChordalThickness(g Gear, addendum quantity.Length) (Chordal, error) {
	h, err := g.shape()
	if err != nil {
		return Chordal{}, err
	}
	if err := argument.Positive("addendum", addendum); err != nil {
		return Chordal{}, err
	}
	arc := h.s * h.cosβ
	zv := h.z / (h.cosβ * h.cosβ * h.cosβ)
	d := zv * h.module
	θ := arc / d
	c := Chordal{
		Thickness:    quantity.Length(d * math.Sin(θ)),
		Height:       quantity.Length(d/2*(1-math.Cos(θ))) + addendum,
		Arc:          quantity.Length(arc),
		HalfAngle:    quantity.Angle(θ),
		VirtualTeeth: zv,
	}
	if err := argument.AllFinite("height", c.Height); err != nil {
		return Chordal{}, err
	}
	return c, nil
}
