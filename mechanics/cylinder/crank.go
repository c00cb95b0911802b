package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Crank is the slider-crank of one cylinder.
type Crank struct {
	// Stroke is twice the throw: twice the distance from the crank's axis to that of
	// the crankpin. Without an offset the piston travels exactly that far.
	Stroke quantity.Length
	// Rod is the distance between the centres of the rod's two eyes.
	Rod quantity.Length
	// Offset is how far the line in which the piston pin moves passes beside the
	// crank's axis, whether the pin or the barrel is set off. It is positive towards
	// the side to which the throw swings from the top. Most twins have none.
	Offset quantity.Length
}

// Linkage is a [Crank] that has been checked, for code that asks for thousands of
// positions. Its methods neither check nor fail. The zero Linkage is of no use; get
// one from [Crank.Linkage].
//
// Source: as [PistonDrop] and its derivatives; the two bounds are our own derivation, term
// by term, and hold in the tests for cranks of all proportions.
type Linkage struct {
	r, l, d  float64
	l2       float64
	level    float64 // height of the pin above the crank's axis, throw in line, less r
	top      float64 // greatest height of the pin above the crank's axis
	topPlay  float64 // top less the height with the throw in line
	topAngle float64
}

// Linkage checks the crank and prepares it for sweeps; see [PistonDrop].
//
// It returns an error if a length is not above zero, or if the rod is not longer than
// half the stroke and the offset together, for then the crank cannot go round.
//
// Source: as [PistonDrop].
func (c Crank) Linkage() (Linkage, error) {
	var in argument.Inspection
	in.Above("stroke", lengths, float64(c.Stroke))
	in.Above("rod", lengths, float64(c.Rod))
	in.Number("offset", lengths, float64(c.Offset))
	r, l, d := float64(c.Stroke)/2, float64(c.Rod), float64(c.Offset)
	reach := r + math.Abs(d)
	if l <= reach*(1+1e-12) {
		if d == 0 {
			in.Refuse("rod, stroke", "rod %s must be longer than %s, half the stroke %s, or the crank cannot turn", lengths.Text(l), lengths.Text(r), lengths.Text(2*r))
		} else {
			in.Refuse("rod, stroke, offset", "rod %s must be longer than %s, half the stroke %s and the offset %s together, or the crank cannot turn", lengths.Text(l), lengths.Text(reach), lengths.Text(2*r), lengths.Text(d))
		}
	}
	if in.Err != nil {
		return Linkage{}, in.Err
	}
	k := Linkage{r: r, l: l, d: d, l2: l * l, level: l, top: l + r}
	if d != 0 {
		k.level = math.Sqrt(l*l - d*d)
		k.top = math.Sqrt((l+r)*(l+r) - d*d)
		k.topPlay = max(k.top-r-k.level, 0)
		k.topAngle = math.Asin(d / (l + r))
	}
	return k, nil
}

// At returns how far the piston is below its highest point, and the first and second
// derivative of that by the angle of the crank in radians. The angle is given by its
// sine and cosine. All three are in metres (per radian, per radian squared). The drop
// may be off, and below zero, by a rounding of some 1e-16 of the rod's length.
func (k *Linkage) At(sin, cos float64) (drop, slope, curvature float64) {
	side := k.r * sin
	up := k.r * cos
	h := side - k.d
	q := math.Sqrt(k.l2 - h*h)
	per := 1 / q
	tilt := h * per
	return k.top - up - q, side + tilt*up, up + (up*up*(1+tilt*tilt)-h*side)*per
}

// Drop returns the first value of [Linkage.At] alone.
func (k *Linkage) Drop(sin, cos float64) float64 {
	h := k.r*sin - k.d
	return k.top - k.r*cos - math.Sqrt(k.l2-h*h)
}

// exact returns the drop without the loss of figures near the top, and never below zero.
func (k *Linkage) exact(sin, cos float64) float64 {
	h := k.r*sin - k.d
	// (h² − d²)/(level + q) is level − q.
	return max(0, k.topPlay+k.r*(1-cos)+(h*h-k.d*k.d)/(k.level+math.Sqrt(k.l2-h*h)))
}

// Top returns the angle of the crank, in radians, at which the piston is highest:
// zero without an offset.
func (k *Linkage) Top() float64 { return k.topAngle }

// Bottom returns the angle of the crank, in radians, at which the piston is lowest: π
// without an offset.
func (k *Linkage) Bottom() float64 {
	if k.d == 0 {
		return math.Pi
	}
	return math.Pi + math.Asin(k.d/(k.l-k.r))
}

// Travel returns the way of the piston from its highest to its lowest point, in
// metres.
func (k *Linkage) Travel() float64 {
	if k.d == 0 {
		return 2 * k.r
	}
	return k.top - math.Sqrt((k.l-k.r)*(k.l-k.r)-k.d*k.d)
}

// MostCurvature returns a bound that the second derivative of [Linkage.At] never
// exceeds, in metres per radian squared.
func (k *Linkage) MostCurvature() float64 {
	reach := k.r + math.Abs(k.d)
	q := math.Sqrt(k.l2 - reach*reach)
	// cos θ ≤ 1; h′² + h·h″ = r²·cos 2θ + d·r·sin θ; |h·h′| ≤ reach·r.
	return k.r + k.r*reach/q + reach*reach*k.r*k.r/(q*q*q)
}

// MostJerk returns a bound that the size of the third derivative of the drop never
// exceeds, in metres per radian cubed.
func (k *Linkage) MostJerk() float64 {
	h, r := k.r+math.Abs(k.d), k.r
	q := math.Sqrt(k.l2 - h*h)
	q3 := q * q * q
	// Term by term from u = h·h′/q with |h′|, |h″|, |h‴| ≤ r.
	return r + (3*r*r+h*r)/q + (r*r+h*r)*h*r/q3 + (2*h*r*r*r+2*h*h*r*r)/q3 + 3*h*h*h*r*r*r/(q3*q*q)
}

// PistonDrop returns how far the piston is below its highest point when the crank has
// turned by angle.
//
//	x = √((L + r)² − d²) − r·cos θ − √(L² − (r·sin θ − d)²)
//
// r is half the stroke, L the length of the rod between centres, θ the angle of the
// crank from the throw in line with the bore, d the offset of the piston pin's line
// from the crank's axis, positive towards the side to which the throw swings. With
// d = 0 this is r + L − r·cos θ − √(L² − r²·sin² θ). With an offset the piston is
// highest at θ = asin(d/(L + r)) and travels a little more than the stroke.
//
// Any angle is allowed. PistonDrop returns an error if stroke or rod is not above
// zero or if the rod is not longer than r + |d|. It never returns NaN, and never less
// than zero.
//
// Source: plane geometry of the slider-crank; the form without offset is in many
// textbooks. Seen: a course worksheet that tabulates it, and a university's tutorial
// page on the offset slider-crank.
func PistonDrop(stroke, rod quantity.Length, angle quantity.Angle, offset quantity.Length) (quantity.Length, error) {
	return Crank{Stroke: stroke, Rod: rod, Offset: offset}.Drop(angle)
}

// Drop is [PistonDrop] for the crank.
func (c Crank) Drop(angle quantity.Angle) (quantity.Length, error) {
	drop, _, _, err := c.at(angle)
	return quantity.Length(drop), err
}

// VelocityFactor returns how far the piston moves down per radian that the crank
// turns, at an angle; negative on the way up.
//
//	x′ = r·sin θ + (r·sin θ − d)·r·cos θ / √(L² − (r·sin θ − d)²)
//
// Symbols as in [PistonDrop]. Piston speed is x′ times the crank's speed in radians
// per second. Errors as in [PistonDrop]; it never returns NaN.
//
// Source: derivative of [PistonDrop]. Seen: a course worksheet.
func (c Crank) VelocityFactor(angle quantity.Angle) (quantity.Length, error) {
	_, slope, _, err := c.at(angle)
	return quantity.Length(slope), err
}

// AccelerationFactor returns the second derivative of the piston's drop by the crank's
// angle in radians, at an angle. Piston acceleration is that times the square of the
// crank's speed in radians per second, positive downwards.
//
// Errors as in [PistonDrop]; it never returns NaN.
//
// Source: second derivative of [PistonDrop]; own derivation.
func (c Crank) AccelerationFactor(angle quantity.Angle) (quantity.Length, error) {
	_, _, curvature, err := c.at(angle)
	return quantity.Length(curvature), err
}

// RodAngle returns the angle between the rod and the bore, positive when the big end
// is on the side to which the throw swings from the top.
//
//	sin φ = (r·sin θ − d)/L
//
// Symbols as in [PistonDrop]. Errors as in [PistonDrop]; it never returns NaN.
//
// Source: plane geometry. Seen: a course worksheet that gives 180° − φ.
func (c Crank) RodAngle(angle quantity.Angle) (quantity.Angle, error) {
	tilt, _, err := c.rod(angle)
	return quantity.Angle(math.Asin(tilt)), err
}

// RodSwing returns how fast the rod swings: the derivative of [Crank.RodAngle] by the
// angle of the crank, a plain number.
//
//	φ′ = r·cos θ/(L·cos φ)
//
// Symbols as in [PistonDrop] and [Crank.RodAngle]. Errors as in [PistonDrop]; it never
// returns NaN.
//
// Source: derivative of [Crank.RodAngle]. Seen: a course worksheet.
func (c Crank) RodSwing(angle quantity.Angle) (float64, error) {
	tilt, cos, err := c.rod(angle)
	if err != nil {
		return 0, err
	}
	return float64(c.Stroke) / 2 * cos / (float64(c.Rod) * math.Sqrt(1-tilt*tilt)), nil
}

// DeadCentres returns the angles of the crank at which the piston is highest and
// lowest.
//
//	top = asin(d/(L + r))    bottom = 180° + asin(d/(L − r))
//
// Symbols as in [PistonDrop]. Errors as in [PistonDrop].
//
// Source: plane geometry: rod and throw in one line; own derivation.
func (c Crank) DeadCentres() (top, bottom quantity.Angle, err error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, 0, err
	}
	return quantity.Angle(k.Top()), quantity.Angle(k.Bottom()), nil
}

// Travel returns the way of the piston from its highest to its lowest point.
//
//	√((L + r)² − d²) − √((L − r)² − d²)
//
// Symbols as in [PistonDrop]. It equals the stroke when there is no offset. Errors as
// in [PistonDrop].
//
// Source: plane geometry; own derivation.
func (c Crank) Travel() (quantity.Length, error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, err
	}
	return quantity.Length(k.Travel()), nil
}

// AnglesAt returns the two angles of the crank at which the piston is drop below its
// highest point: before the top, where it is usually negative, and after it. A
// positive stop that stops the piston at that depth reads them on a wheel with a true
// zero.
//
//	θ = atan2(d, y) ∓ γ    y = top − drop    cos γ = (r² + y² + d² − L²)/(2·r·√(y² + d²))
//
// top is the greatest height of the piston pin over the crank's axis; other symbols as
// in [PistonDrop]. The drop must lie between zero and [Crank.Travel]. Errors as in
// [PistonDrop] and outside that range; it never returns NaN.
//
// Source: law of cosines in the triangle of throw, rod and pin; own derivation.
func (c Crank) AnglesAt(drop quantity.Length) (before, after quantity.Angle, err error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, 0, err
	}
	x, travel := float64(drop), k.Travel()
	var in argument.Inspection
	// Half a picometre of rounding is not the caller's mistake.
	in.Within("drop", lengths, x, 0, travel+5e-13)
	if in.Err != nil {
		return 0, 0, in.Err
	}
	y := k.top - math.Min(x, travel)
	far := math.Hypot(y, k.d)
	// sin²(γ/2), which keeps its figures near the top where cos γ does not.
	s := x * (2*k.top - x) * (k.l + far - k.r) / ((k.l + k.r + far) * 4 * k.r * far)
	gamma := 2 * math.Asin(math.Sqrt(math.Min(math.Max(s, 0), 1)))
	middle := math.Atan2(k.d, y)
	return quantity.Angle(middle - gamma), quantity.Angle(middle + gamma), nil
}

// FastestDown returns the angle of the crank at which the piston is fastest on its way
// down, and the [Crank.VelocityFactor] there.
//
// It solves x″ = 0 by halving between the dead centres. The rule tan⁻¹(L/r) for this
// angle, which takes the moment of rod and throw at right angles, is about a degree
// early. Errors as in [PistonDrop].
//
// Source: own derivation from [PistonDrop].
func (c Crank) FastestDown() (quantity.Angle, quantity.Length, error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, 0, err
	}
	low, high := k.Top(), k.Bottom()
	for range 100 {
		middle := low + (high-low)/2
		sin, cos := math.Sincos(middle)
		if _, _, curvature := k.At(sin, cos); curvature > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	sin, cos := math.Sincos(low)
	_, slope, _ := k.At(sin, cos)
	return quantity.Angle(low), quantity.Length(slope), nil
}

func (c Crank) at(angle quantity.Angle) (drop, slope, curvature float64, err error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, 0, 0, err
	}
	var in argument.Inspection
	in.Number("angle", angles, float64(angle))
	if in.Err != nil {
		return 0, 0, 0, in.Err
	}
	sin, cos := math.Sincos(float64(angle))
	_, slope, curvature = k.At(sin, cos)
	return k.exact(sin, cos), slope, curvature, nil
}

// rod returns the sine of the rod's angle and the cosine of the crank's.
func (c Crank) rod(angle quantity.Angle) (tilt, cos float64, err error) {
	k, err := c.Linkage()
	if err != nil {
		return 0, 0, err
	}
	var in argument.Inspection
	in.Number("angle", angles, float64(angle))
	if in.Err != nil {
		return 0, 0, in.Err
	}
	sin, cos := math.Sincos(float64(angle))
	return (k.r*sin - k.d) / k.l, cos, nil
}
