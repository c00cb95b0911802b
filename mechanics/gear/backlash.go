package gear

import (
	"fmt"
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Play is how two gears mesh at a centre distance.
type Play struct {
	// Backlash is the free arc at the working circles, in the transverse plane.
	// Negative means that the teeth would have to overlap: the gears cannot be
	// fitted so.
	Backlash quantity.Length
	// WorkingAngle is the transverse pressure angle at that centre distance.
	WorkingAngle quantity.Angle
	// PerCentre is how much the backlash grows for a centre distance larger by one:
	// 2·tan φw, a plain number. That the arc also lies on a larger circle adds j/C
	// to it, which is nothing for gears that mesh.
	PerCentre float64
}

// Backlash returns the exact backlash of two gears at a centre distance.
//
//	cos φw = (db1 + db2)/(2·C)
//	sw = dw·(s/d + inv φ − inv φw)            for each gear, dw = d·cos φ/cos φw
//	j = π·dw1/z1 − sw1 − sw2
//
// C is the centre distance, db the base circles, s the tooth thickness as an arc at
// the reference circle d, φ the pressure angle and φw the working one, dw the working
// circles on which the gears roll. For two standard gears without thinning j is
// 2·C·(inv φw − inv φ). All of it is in the transverse plane: a dial at the working
// circle with its stem along the tooth's motion reads it.
//
// The gears must have the same module, pressure angle and helix; helical gears on
// parallel shafts have opposite hands. Tips and roots are not looked at.
//
// Backlash returns an error if a gear is out of range as for [OverPins], if the gears
// do not match, and if C is no larger than the two base radii together or so large
// that the working angle passes 60°. It never returns NaN.
//
// Source: involute geometry as in ISO 21771; not seen. Seen: a public page quoting
// that standard's working angle for a worked pair, and a notebook on gear geometry
// with the thickness at a given diameter.
func Backlash(pinion, wheel Gear, centre quantity.Length) (Play, error) {
	m, err := newMesh(pinion, wheel, centre)
	if err != nil {
		return Play{}, err
	}
	invw := inv(m.φw)
	j := math.Pi * m.dw1 / m.pinion.z
	for _, g := range []struct {
		shape
		dw float64
	}{{m.pinion, m.dw1}, {m.wheel, m.dw2}} {
		j -= g.dw * (g.s/g.d + inv(g.α) - invw)
	}
	return Play{
		Backlash:     quantity.Length(j),
		WorkingAngle: quantity.Angle(m.φw),
		PerCentre:    2 * math.Tan(m.φw),
	}, nil
}

// mesh is two gears at a centre distance, in metres and radians.
type mesh struct {
	pinion, wheel shape
	φw            float64
	dw1, dw2      float64 // working circles
}

func newMesh(pinion, wheel Gear, centre quantity.Length) (mesh, error) {
	var m mesh
	var err error
	if m.pinion, err = pinion.shape(); err != nil {
		return mesh{}, fmt.Errorf("pinion: %w", err)
	}
	if m.wheel, err = wheel.shape(); err != nil {
		return mesh{}, fmt.Errorf("wheel: %w", err)
	}
	if err := argument.Positive("centre", centre); err != nil {
		return mesh{}, err
	}
	differ := func(name, a, b string) error {
		return argument.Refuse(name, "the pinion has "+name+" "+a+" and the wheel "+b, "gears that mesh have the same")
	}
	alike := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(a, b) }
	switch {
	case !alike(float64(pinion.Module), float64(wheel.Module)):
		return mesh{}, differ("module", argument.Show(pinion.Module), argument.Show(wheel.Module))
	case !alike(float64(pinion.PressureAngle), float64(wheel.PressureAngle)):
		return mesh{}, differ("pressure angle", argument.Show(pinion.PressureAngle), argument.Show(wheel.PressureAngle))
	case !alike(float64(pinion.Helix), float64(wheel.Helix)):
		return mesh{}, differ("helix", argument.Show(pinion.Helix), argument.Show(wheel.Helix))
	}
	base := (m.pinion.db + m.wheel.db) / 2
	cos := base / float64(centre)
	if !(cos < 1) || cos < 0.5 {
		return mesh{}, argument.Refuse("centre", "centre distance "+argument.Show(centre)+" must be above "+argument.Show(quantity.Length(base))+" and up to "+argument.Show(quantity.Length(2*base))+" for these gears", fmt.Sprintf("their standard centre distance is %s", argument.Show(quantity.Length((m.pinion.d+m.wheel.d)/2))))
	}
	m.φw = math.Acos(cos)
	m.dw1, m.dw2 = m.pinion.db/cos, m.wheel.db/cos
	return m, nil
}

// BacklashRule returns the change of backlash for a small change of centre distance.
//
//	Δj = 2·ΔC·tan φ
//
// ΔC is the change, positive apart, and φ the transverse pressure angle. It is the
// slope of [Backlash] at φ: for 20° gears of module 2 pulled 0.1 mm apart it is 0.8 %
// low.
//
// Valid for φ from 5° to 60°. BacklashRule returns an error outside that or for a
// change that is not finite. It never returns NaN.
//
// Source: Elements of Metric Gear Technology, equation 14-3a. Seen: a stored page.
func BacklashRule(change quantity.Length, φ quantity.Angle) (quantity.Length, error) {
	const degree = math.Pi / 180
	if err := argument.First(argument.Finite("change", change), argument.Within("pressure angle", φ, 5*degree, 60*degree)); err != nil {
		return 0, err
	}
	return argument.Result("backlash", change*quantity.Length(2*math.Tan(float64(φ))))
}

// Heat is how much warmer the parts of a mesh get, and of what metal they are.
type Heat struct {
	// Case, Pinion and Wheel are the expansions of what holds the shafts apart and
	// of the two gears.
	Case, Pinion, Wheel quantity.Expansion
	// CaseRise, PinionRise and WheelRise are how much warmer each gets.
	CaseRise, PinionRise, WheelRise quantity.TemperatureDifference
}

// BacklashGrowth returns how much the backlash grows from cold to hot.
//
//	Δj = 2·tan φw·(C·αc·ΔTc − r1·α1·ΔT1 − r2·α2·ΔT2)
//
// C is the centre distance and φw the working pressure angle; αc and ΔTc are
// expansion and rise of the case, r1, α1, ΔT1 and r2, α2, ΔT2 working radius,
// expansion and rise of each gear. A gear that grows evenly stays a gear of the same
// shape, so only what the centres gain on the radii opens the mesh.
//
// First order: exact to about the strain itself, far below a micrometre here.
// Negative means that the mesh closes up. BacklashGrowth returns an error where
// [Backlash] does, for a coefficient outside 0 to 1e-3 /K and for a rise beyond
// ±1,000 K. It never returns NaN.
//
// Source: the slope of [Backlash] and the definition of the coefficient of linear
// expansion; ours.
func BacklashGrowth(pinion, wheel Gear, centre quantity.Length, heat Heat) (quantity.Length, error) {
	m, err := newMesh(pinion, wheel, centre)
	if err != nil {
		return 0, err
	}
	const hottest = quantity.TemperatureDifference(1000)
	if err := argument.First(
		argument.Within("case expansion", heat.Case, 0, 1e-3), argument.Within("case rise", heat.CaseRise, -hottest, hottest),
		argument.Within("pinion expansion", heat.Pinion, 0, 1e-3), argument.Within("pinion rise", heat.PinionRise, -hottest, hottest),
		argument.Within("wheel expansion", heat.Wheel, 0, 1e-3), argument.Within("wheel rise", heat.WheelRise, -hottest, hottest),
	); err != nil {
		return 0, err
	}
	strain := func(α quantity.Expansion, rise quantity.TemperatureDifference) float64 {
		return float64(α) * float64(rise)
	}
	gain := float64(centre)*strain(heat.Case, heat.CaseRise) -
		m.dw1/2*strain(heat.Pinion, heat.PinionRise) - m.dw2/2*strain(heat.Wheel, heat.WheelRise)
	return argument.Result("backlash", quantity.Length(2*math.Tan(m.φw)*gain))
}
