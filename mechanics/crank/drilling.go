package crank

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Hole is a drilled hole that takes weight off a wheel.
type Hole struct {
	// Diameter of the drill.
	Diameter quantity.Length
	// Depth is how deep the full diameter goes; the cone of the drill's point
	// comes on top.
	Depth quantity.Length
	// Point is the angle of the drill's point, 118° for a common drill, or 0 for a
	// flat-bottomed hole.
	Point quantity.Angle
	// Radius is the distance from the crank's axis: to the middle of the hole where
	// it is drilled into the face of the wheel, to the surface it starts from where
	// it is drilled into the rim towards the axis.
	Radius quantity.Length
	// IntoRim is true for a hole into the rim towards the axis, false for one into
	// the face along it.
	IntoRim bool
	// Density of the wheel.
	Density quantity.Density
}

// Removed returns the mass that a hole takes off and the unbalance it makes.
//
//	m = ρ·(A·t + A·c/3)                A = π·D²/4, c = D/(2·tan(point/2))
//	U = m·R                            into the face
//	U = ρ·[A·t·(R − t/2) + A·c/3·(R − t − c/4)]     into the rim
//
// t is the depth of the full diameter and c the length of the point's cone, 0 for a
// flat bottom. The curve of the rim is left out. The hole moves the balance away
// from itself: drill beside the pin where the pin side is heavy, opposite it where
// the other side is, alike on both wheels.
//
// Valid for a point of 0 or from 60° to 180°. Removed returns an error if diameter,
// radius or density is not above zero, depth is negative, or a hole into the rim
// reaches the axis. It never returns NaN.
//
// Source: volume and centroid of cylinder and cone.
func (h Hole) Removed() (quantity.Mass, Unbalance, error) {
	if err := h.check(); err != nil {
		return 0, 0, err
	}
	a, c := h.section()
	ρ, t, r := float64(h.Density), float64(h.Depth), float64(h.Radius)
	cylinder, cone := a*t, a*c/3
	mass := quantity.Mass(ρ * (cylinder + cone))
	u := Unbalance(float64(mass) * r)
	if h.IntoRim {
		if t+c >= r {
			return 0, 0, argument.Refuse("depth", "a hole "+argument.Show(quantity.Length(t+c))+" deep with its point must be less deep than the radius, "+argument.Show(h.Radius), "")
		}
		u = Unbalance(ρ * (cylinder*(r-t/2) + cone*(r-t-c/4)))
	}
	if err := argument.First(argument.AllFinite("mass", mass), argument.AllFinite("unbalance", u)); err != nil {
		return 0, 0, err
	}
	return mass, u, nil
}

// DepthFor returns how deep the full diameter must go for the hole to make the
// unbalance u. The hole's own Depth is not used.
//
// It solves the formulas of [Hole.Removed] for t; into the rim that is a quadratic,
// and its smaller root is the depth. DepthFor returns an error where the others do,
// if u is not above zero, if the point of the drill alone takes more than u, and if
// even a hole down to the axis takes less.
//
// Source: [Hole.Removed], solved.
func (h Hole) DepthFor(u Unbalance) (quantity.Length, error) {
	h.Depth = 0
	if err := argument.First(h.check(), argument.Positive("unbalance", u)); err != nil {
		return 0, err
	}
	a, c := h.section()
	r, cone, volume := float64(h.Radius), a*c/3, float64(u)/float64(h.Density)
	tooMuch := func() (quantity.Length, error) {
		return 0, argument.Refuse("unbalance", "unbalance "+argument.Show(u)+" is more than one hole "+argument.Show(h.Diameter)+" wide at "+argument.Show(h.Radius)+" can make", "drill several, or wider")
	}
	var t float64
	if !h.IntoRim {
		t = (volume/r - cone) / a
	} else {
		// A/2·t² − (A·R − cone)·t + volume − cone·(R − c/4) = 0
		half, rest := a*r-cone, volume-cone*(r-c/4)
		under := half*half - 2*a*rest
		if !(under >= 0) {
			return tooMuch()
		}
		t = 2 * rest / (half + math.Sqrt(under))
		if t+c >= r {
			return tooMuch()
		}
	}
	if t < 0 {
		return 0, argument.Refuse("unbalance", "unbalance "+argument.Show(u)+" is less than the point of the drill takes off, "+argument.Show(quantity.Length(c))+" deep", "use a smaller drill")
	}
	return argument.Result("depth", quantity.Length(t))
}

func (h Hole) check() error {
	if err := argument.First(
		argument.Positive("diameter", h.Diameter), argument.NotNegative("depth", h.Depth),
		argument.Positive("radius", h.Radius), argument.Positive("density", h.Density),
	); err != nil {
		return err
	}
	if h.Point != 0 {
		return argument.Within("point", h.Point, math.Pi/3, math.Pi)
	}
	return nil
}

// section returns the area of the hole and the length of its point.
func (h Hole) section() (area, point float64) {
	d := float64(h.Diameter)
	if h.Point != 0 {
		point = d / 2 / math.Tan(float64(h.Point)/2)
	}
	return math.Pi / 4 * d * d, point
}
