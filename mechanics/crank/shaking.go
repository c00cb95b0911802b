package crank

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Slider is one cylinder's moving parts and how fast they move.
type Slider struct {
	// Reciprocating is the mass that goes up and down in ONE cylinder.
	Reciprocating quantity.Mass
	// Stroke is twice the crank throw; Rod is the length of the rod between centres.
	Stroke, Rod quantity.Length
	// Speed is the speed of the crank.
	Speed quantity.Frequency
}

// Push is a force in the plane that the crank turns in.
//
// Y points along the cylinder from the crank to the head, for a V along the line
// midway between the cylinders. X is square to it, to the side to which the
// crankpin moves when it passes Y.
type Push struct{ X, Y quantity.Force }

// Shake is what the crankcase feels of the moving parts at one crank angle.
type Shake struct {
	// Primary goes round once a revolution; it includes what the counterweight
	// carries beyond the rotating mass.
	Primary Push
	// Secondary goes round twice a revolution. No counterweight on the crank
	// reaches it.
	Secondary Push
}

// ShakeSingle returns the shaking force of one cylinder.
//
//	primary    Fy = m·ω²·r·(cos θ − c·cos θ),  Fx = −c·m·ω²·r·sin θ
//	secondary  Fy = m·ω²·r·(r/l)·cos 2θ
//
// m is the reciprocating mass, r half the stroke, l the rod's length, ω = 2π·speed.
// θ (crank) is the crank angle from top dead centre in the running direction. c
// (factor) is the share of m that the counterweight carries beyond all of the
// rotating mass. The axes are those of [Push]; the force is the one on the
// crankcase, so it points to the head at top dead centre.
//
// Valid for rods longer than the throw. It is the usual two-term series: what it
// leaves out of the secondary is of the order (r/l)²/4 of it, and fourth and higher
// harmonics are left out too. Gas forces, offset pins and side couples are not in
// it. An error is returned if a mass is negative, a length not above zero, the rod
// not longer than the throw, the speed negative, the factor outside 0 .. 1, or a
// value not finite. It never returns NaN.
//
// Source: balancing of reciprocating masses in a Theory of Machines text, ch. 12.
// Seen: inputs of its illustration 1 and the terms on a stored question page; the
// book itself not seen.
func ShakeSingle(s Slider, factor float64, crank quantity.Angle) (Shake, error) {
	f, err := s.force(factor, crank)
	if err != nil {
		return Shake{}, err
	}
	sin, cos := math.Sincos(float64(crank))
	shake := Shake{
		Primary:   Push{X: quantity.Force(-factor * f * sin), Y: quantity.Force(f * cos * (1 - factor))},
		Secondary: Push{Y: quantity.Force(f * s.ratio() * math.Cos(2*float64(crank)))},
	}
	return shake.checked()
}

// ShakeV returns the shaking force of two like cylinders whose rods share one
// crankpin.
//
//	primary    Fx = 2·m·ω²·r·sin²(V/2)·sin θ − 2·c·m·ω²·r·sin θ
//	           Fy = 2·m·ω²·r·cos²(V/2)·cos θ − 2·c·m·ω²·r·cos θ
//	secondary  Fx = 2·m·ω²·r·(r/l)·sin(V/2)·sin V·sin 2θ
//	           Fy = 2·m·ω²·r·(r/l)·cos(V/2)·cos V·cos 2θ
//
// m is the reciprocating mass of one cylinder and V the angle between the cylinders.
// θ (crank) is counted in the running direction from the line midway between the
// cylinders, so each cylinder's top dead centre is V/2 to one side of it. c (factor)
// is the share of the reciprocating mass of both cylinders that the counterweight
// carries, as in [BobWeight]. At 90° and c = ½ the primary is nought at every angle.
//
// Axes, range, omissions and errors are as for [ShakeSingle]; V is from 0 to 180°.
// The two rods are taken to lie in one plane, as a blade and a fork rod do.
//
// Source: balancing of V-engines in Theory of Machines texts; not seen. Seen: a
// stored answer page on the 90° twin. The sum of two cylinders, each turned by V/2,
// gives the same terms; the tests add them so.
func ShakeV(s Slider, v quantity.Angle, factor float64, crank quantity.Angle) (Shake, error) {
	f, err := s.force(factor, crank)
	if err != nil {
		return Shake{}, err
	}
	if err := argument.Within("V angle", v, 0, math.Pi); err != nil {
		return Shake{}, err
	}
	sinHalf, cosHalf := math.Sincos(float64(v) / 2)
	sin, cos := math.Sincos(float64(crank))
	sin2, cos2 := math.Sincos(2 * float64(crank))
	shake := Shake{
		Primary: Push{
			X: quantity.Force(2 * f * sin * (sinHalf*sinHalf - factor)),
			Y: quantity.Force(2 * f * cos * (cosHalf*cosHalf - factor)),
		},
		Secondary: Push{
			X: quantity.Force(2 * f * s.ratio() * sinHalf * math.Sin(float64(v)) * sin2),
			Y: quantity.Force(2 * f * s.ratio() * cosHalf * math.Cos(float64(v)) * cos2),
		},
	}
	return shake.checked()
}

// Size returns the magnitude of the force.
func (p Push) Size() quantity.Force {
	return quantity.Force(math.Hypot(float64(p.X), float64(p.Y)))
}

// force checks the arguments that both arrangements share and returns m·ω²·r.
func (s Slider) force(factor float64, crank quantity.Angle) (float64, error) {
	if err := argument.First(
		argument.NotNegative("reciprocating", s.Reciprocating), argument.Positive("stroke", s.Stroke), argument.Positive("rod", s.Rod),
		argument.NotNegative("speed", s.Speed), argument.Within("factor", factor, 0, 1), argument.Finite("crank", crank),
	); err != nil {
		return 0, err
	}
	if s.Rod <= s.Stroke/2 {
		return 0, argument.Refuse("rod", "rod "+argument.Show(s.Rod)+" must be longer than the throw, "+argument.Show(s.Stroke/2), "give the length between the centres of the rod, and the whole stroke")
	}
	ω := 2 * math.Pi * float64(s.Speed)
	return float64(s.Reciprocating) * ω * ω * float64(s.Stroke) / 2, nil
}

// ratio returns r/l.
func (s Slider) ratio() float64 { return float64(s.Stroke / 2 / s.Rod) }

func (s Shake) checked() (Shake, error) {
	if err := argument.AllFinite("force", s.Primary.X, s.Primary.Y, s.Secondary.X, s.Secondary.Y); err != nil {
		return Shake{}, err
	}
	return s, nil
}
