package gear

import (
	"fmt"
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Gear is an external involute gear.
type Gear struct {
	// Teeth is the number of teeth.
	Teeth int
	// Module is the normal module, the one on the cutter; for a spur gear reference
	// diameter by teeth.
	Module quantity.Length
	// PressureAngle is the normal pressure angle, the one on the cutter.
	PressureAngle quantity.Angle
	// Helix is the helix angle at the reference circle, without its hand; 0 for a
	// spur gear.
	Helix quantity.Angle
	// Shift is the profile shift in modules, 0 for a standard gear.
	Shift float64
	// Thinning is how much thinner each tooth is than the standard arc at the
	// reference circle, measured in the transverse plane. Negative is thicker.
	Thinning quantity.Length
}

// ModuleFromDiametralPitch returns the module of a gear cut to a diametral pitch.
//
//	m = 25.4 mm/DP
//
// perInch is the number of teeth to an inch of reference diameter. It returns an
// error if perInch is not above zero and finite.
//
// Source: the definition of both; the inch is exact.
func ModuleFromDiametralPitch(perInch float64) (quantity.Length, error) {
	if err := argument.Positive("diametral pitch", perInch); err != nil {
		return 0, err
	}
	return argument.Result("module", quantity.Length(0.0254/perInch))
}

// shape is a gear's geometry in the transverse plane, in metres and radians.
type shape struct {
	z      float64
	α      float64 // transverse pressure angle
	cosβ   float64
	cosβb  float64 // of the helix angle at the base circle
	cosαn  float64
	d, db  float64 // reference and base diameter
	s      float64 // tooth thickness, an arc at the reference circle
	pitch  float64 // circular pitch at the reference circle
	module float64 // normal
}

// shape checks the gear and works out its transverse geometry.
//
//	tan αt = tan αn/cos β      d = z·mn/cos β      db = d·cos αt
//	sin βb = sin β·cos αn      s = mn·(π/2 + 2·x·tan αn)/cos β − thinning
func (g Gear) shape() (shape, error) {
	const degree = math.Pi / 180
	if g.Teeth < 3 || g.Teeth > 10000 {
		return shape{}, argument.Refuse("teeth", fmt.Sprintf("teeth %d must be from 3 to 10000", g.Teeth), "")
	}
	if err := argument.First(
		argument.Within("module", g.Module, 1e-6, 1),
		argument.Within("pressure angle", g.PressureAngle, 5*degree, 45*degree),
		argument.Within("helix", g.Helix, 0, 75*degree),
		argument.Within("shift", g.Shift, -2, 2),
		argument.Finite("thinning", g.Thinning),
	); err != nil {
		return shape{}, err
	}
	αn, β := float64(g.PressureAngle), float64(g.Helix)
	h := shape{z: float64(g.Teeth), module: float64(g.Module), cosβ: math.Cos(β), cosαn: math.Cos(αn)}
	h.α = math.Atan(math.Tan(αn) / h.cosβ)
	sinβb := math.Sin(β) * h.cosαn
	h.cosβb = math.Sqrt(1 - sinβb*sinβb)
	h.d = h.z * h.module / h.cosβ
	h.db = h.d * math.Cos(h.α)
	h.pitch = math.Pi * h.module / h.cosβ
	h.s = h.module*(math.Pi/2+2*g.Shift*math.Tan(αn))/h.cosβ - float64(g.Thinning)
	if !(h.s > 0 && h.s < h.pitch) {
		return shape{}, argument.Refuse("thinning", "thinning "+argument.Show(g.Thinning)+fmt.Sprintf(" with shift %g leaves a tooth ", g.Shift)+argument.Show(quantity.Length(h.s))+" thick; it must be above 0 mm and less than the pitch, "+argument.Show(quantity.Length(h.pitch)), "")
	}
	return h, nil
}
