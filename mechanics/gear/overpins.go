package gear

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// PinSize is what a gear measures over two pins or balls.
type PinSize struct {
	// Size is the distance over the pins.
	Size quantity.Length
	// Slope is how much the size grows for a tooth that is thicker by one: dM/ds,
	// a plain number.
	Slope float64
	// Angle is the transverse pressure angle at the centres of the pins.
	Angle quantity.Angle
}

// OverPins returns the size over two pins or balls that lie in opposite tooth
// spaces.
//
//	inv φM = s/d + inv φ + pin/(z·m·cos φn) − π/z
//	M = db/cos φM + pin                 even number of teeth
//	M = db/cos φM·cos(90°/z) + pin      odd number of teeth
//	dM/ds = cos φ/sin φM                odd: times cos(90°/z)
//
// s is the tooth thickness as an arc at the reference circle d, φ the pressure angle,
// φn the same in the normal plane, z the number of teeth, m the normal module, db the
// base circle. All of it is in the transverse plane; for a spur gear the planes are
// one and pin/(z·m·cos φn) is pin/db.
//
// An odd number of helical teeth must be measured over balls: two pins that cross
// the gear at an angle read more between flat anvils. Whether the pins stand proud
// of the tips is not checked; the tip circle is not known here.
//
// OverPins returns an error if the gear has a value out of range (3 to 10,000 teeth,
// module up to 1 m, pressure angle 5° to 45°, helix up to 75°, shift −2 to 2, a tooth
// between nothing and the whole pitch), if pin is not above zero, and if the pin is so
// small that it touches below the base circle or so large that φM leaves 80°. It
// never returns NaN.
//
// Source: the over-wire formula of machinery handbooks. Seen: public files that use
// it, for spur gears. The helical form as in ISO 21771; not seen. From memory: the
// handbook tables that the tests compare with.
func OverPins(g Gear, pin quantity.Length) (PinSize, error) {
	h, err := g.shape()
	if err != nil {
		return PinSize{}, err
	}
	if err := argument.Positive("pin", pin); err != nil {
		return PinSize{}, err
	}
	y := h.s/h.d + inv(h.α) + float64(pin)/(h.z*h.module*h.cosαn) - math.Pi/h.z
	if !(y > 0) {
		return PinSize{}, h.pinTooSmall(pin)
	}
	φM := math.Pi / 2
	if y < 10 {
		φM = inverseInv(y)
	}
	if φM > 80*math.Pi/180 {
		return PinSize{}, argument.Refuse("pin", "pin "+argument.Show(pin)+" is too large for a gear of module "+argument.Show(g.Module), "a pin is usually 1.7 to 1.9 modules wide")
	}
	// The flank is touched where the line from the pin's centre along the tangent of
	// the base circle meets it.
	if h.db*math.Tan(φM) <= float64(pin)*h.cosβb {
		return PinSize{}, h.pinTooSmall(pin)
	}
	across := h.across()
	p := PinSize{
		Size:  quantity.Length(h.db/math.Cos(φM)*across) + pin,
		Slope: h.db / h.d / math.Sin(φM) * across,
		Angle: quantity.Angle(φM),
	}
	return p, nil
}

// across is how much of the distance through both pin centres a measurement square
// to it catches: with an odd number of teeth the pins are not quite opposite.
func (h shape) across() float64 {
	if int(h.z)%2 == 1 {
		return math.Cos(math.Pi / 2 / h.z)
	}
	return 1
}

func (h shape) pinTooSmall(pin quantity.Length) error {
	return argument.Refuse("pin", "pin "+argument.Show(pin)+" is so small that it touches the teeth below the base circle", "a pin is usually 1.7 to 1.9 modules wide")
}

// ThinningOverPins returns how much each tooth is thinned, from the size measured
// over pins. The gear's own Thinning is not used.
//
//	cos φM = db·cos(90°/z)/(M − pin)     without the cosine for even teeth
//	s = d·(inv φM − inv φ − pin/(z·m·cos φn) + π/z)
//
// The symbols and the range are those of [OverPins]. Negative means thicker than
// standard. ThinningOverPins returns an error where OverPins does, and if size is
// too small to be one over these pins.
//
// Source: [OverPins] solved for the tooth thickness.
func ThinningOverPins(g Gear, pin, size quantity.Length) (quantity.Length, error) {
	g.Thinning = 0
	h, err := g.shape()
	if err != nil {
		return 0, err
	}
	if err := argument.First(argument.Positive("pin", pin), argument.Positive("size", size)); err != nil {
		return 0, err
	}
	cos := h.db * h.across() / float64(size-pin)
	if !(size > pin && cos < 1) {
		return 0, argument.Refuse("size", "size "+argument.Show(size)+" must be above "+argument.Show(quantity.Length(h.db*h.across())+pin)+": no smaller size over a pin of "+argument.Show(pin)+" is possible", "check module, teeth and pin")
	}
	s := h.d * (inv(math.Acos(cos)) - inv(h.α) - float64(pin)/(h.z*h.module*h.cosαn) + math.Pi/h.z)
	g.Thinning = quantity.Length(h.s - s)
	if !argument.IsFinite(g.Thinning) {
		return 0, argument.Refuse("size", "size "+argument.Show(size)+" is too large for a gear of module "+argument.Show(g.Module), "check module, teeth and pin")
	}
	// The tooth that was found must be one that pins can measure.
	if _, err := OverPins(g, pin); err != nil {
		return 0, err
	}
	return g.Thinning, nil
}
