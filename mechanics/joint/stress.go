package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// twist returns how much the twist of tightening raises the equivalent stress over the
// plain tensile stress.
func (t Thread) twist(threadFriction float64) float64 {
	d2 := float64(t.PitchDiameter())
	shear := 1.5 * d2 / t.stressDiameter() * (float64(t.pitch)/(math.Pi*d2) + secant*threadFriction)
	return math.Sqrt(1 + 3*shear*shear)
}

// TensileStress returns the stress of a preload on the stress area.
//
//	σ = F/As
//
// preload must be zero or more; an *[argument.Error] is returned otherwise.
func TensileStress(preload quantity.Force, t Thread) (quantity.Pressure, error) {
	if err := argument.First(argument.NotNegative("preload", preload), t.check()); err != nil {
		return 0, err
	}
	return argument.Result("stress", quantity.Pressure(float64(preload)/float64(t.StressArea())))
}

// TighteningStress returns the equivalent stress in a bolt while the wrench still
// turns it, which is more than the tensile stress.
//
//	σv = F/As·√{1 + 3·[1.5·d2/d0·(P/(π·d2) + μt/cos 30°)]²}
//
// F is the preload, As the stress area and d0 its diameter, d2 the pitch diameter, P
// the pitch, μt the friction in the thread. The twist is taken as fully plastic, as
// the guideline does; half of it is taken to spring back when the wrench comes off
// (memory).
//
// preload must be zero or more and the friction from 0 to 0.5; an *[argument.Error] is
// returned otherwise.
//
// Source: VDI 2230 part 1:2003, assembly preload. Seen: a catalogue page of preloads
// computed by it. Not seen: the guideline.
func TighteningStress(preload quantity.Force, t Thread, threadFriction float64) (quantity.Pressure, error) {
	if err := argument.First(argument.NotNegative("preload", preload), t.check(), argument.Within("thread friction", threadFriction, 0, mostFriction)); err != nil {
		return 0, err
	}
	return argument.Result("stress", quantity.Pressure(float64(preload)/float64(t.StressArea())*t.twist(threadFriction)))
}

// AssemblyPreload returns the preload at which tightening uses a share of the yield
// stress: the inverse of [TighteningStress].
//
//	FM = As·ν·Rp / √{1 + 3·[1.5·d2/d0·(P/(π·d2) + μt/cos 30°)]²}
//
// ν is the share, usually 0.9, and Rp the yield or 0.2 % proof stress; the rest as
// there. The guideline writes 1.155 for 1/cos 30°.
//
// yield must be above zero, share above 0 and at most 1, the friction from 0 to 0.5;
// an *[argument.Error] is returned otherwise.
//
// Source: as [TighteningStress].
func AssemblyPreload(t Thread, yield quantity.Pressure, share, threadFriction float64) (quantity.Force, error) {
	if err := argument.First(t.check(), argument.Positive("yield", yield), argument.Within("thread friction", threadFriction, 0, mostFriction)); err != nil {
		return 0, err
	}
	if !(share > 0 && share <= 1) {
		return 0, argument.Refuse("share", "share "+argument.Show(share)+" of the yield must be above 0 and at most 1", "")
	}
	return argument.Result("preload", quantity.Force(float64(t.StressArea())*share*float64(yield)/t.twist(threadFriction)))
}
