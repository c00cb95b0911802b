package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// mostCylinders bounds the count, so that a slip of the finger is caught.
const mostCylinders = 64

func circle(diameter quantity.Length) float64 {
	return math.Pi / 4 * float64(diameter) * float64(diameter)
}

// SweptVolume returns what one piston sweeps.
//
//	V = π/4·B²·S
//
// B is the bore as finished, not its nominal size, and S the stroke as measured; see
// [StrokeFromDepths]. SweptVolume returns an error if either is not above zero. It
// never returns NaN.
//
// Source: FAA-H-8083-30, mathematics chapter (piston displacement). Seen: a training
// site that carries the text.
func SweptVolume(bore, stroke quantity.Length) (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("stroke", lengths, float64(stroke))
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Volume(circle(bore) * float64(stroke)), nil
}

// Displacement returns what one piston sweeps and what all of them sweep. It takes all
// cylinders as alike; where barrels are bored to different sizes add up [SweptVolume]
// for each.
//
//	V = n·π/4·B²·S
//
// n is the number of cylinders, 1 to 64; other symbols as in [SweptVolume].
// Displacement returns an error for a bore or stroke that is not above zero or a count
// outside that range. It never returns NaN.
//
// Source: as [SweptVolume].
func Displacement(bore, stroke quantity.Length, cylinders int) (each, total quantity.Volume, err error) {
	each, err = SweptVolume(bore, stroke)
	if err != nil {
		return 0, 0, err
	}
	var in argument.Inspection
	in.Within("cylinders", numbers, float64(cylinders), 1, mostCylinders)
	if in.Err != nil {
		return 0, 0, in.Err
	}
	return each, each * quantity.Volume(cylinders), nil
}

// StrokeFromDepths returns the stroke from the depth of the crown below one face of the
// barrel, read at the bottom and at the top dead centre.
//
//	S = bottom − top
//
// A crown that stands proud of the face at the top has a negative depth there. With a
// piston pin that is set off this is the piston's travel, which is a little more than
// twice the throw. StrokeFromDepths returns an error unless bottom is more than top.
//
// Source: common practice, no published source.
func StrokeFromDepths(top, bottom quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Number("top", lengths, float64(top))
	in.Number("bottom", lengths, float64(bottom))
	if float64(bottom-top) < lengths.Least {
		in.Refuse("top, bottom", "the depth at bottom dead centre %s must be more than that at top dead centre %s", lengths.Text(float64(bottom)), lengths.Text(float64(top)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return bottom - top, nil
}

// TopLandCrevice returns the volume of the ring-shaped crevice between the bore and the
// piston's top land, down to the top ring.
//
//	V = π/4·(B² − D²)·h
//
// B is the bore, D the diameter of the top land and h the height from the crown to the
// top of the top ring. It leaves out the space behind the ring and is a cold figure.
// TopLandCrevice returns an error if a size is not above zero or if the land is larger
// than the bore. It never returns NaN.
//
// Source: geometry; own derivation.
func TopLandCrevice(bore, land, height quantity.Length) (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("land", lengths, float64(land))
	in.NotNegative("height", lengths, float64(height))
	if land > bore {
		in.Refuse("land, bore", "land %s must not be larger than bore %s", lengths.Text(float64(land)), lengths.Text(float64(bore)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Volume(math.Pi / 4 * float64(bore-land) * float64(bore+land) * float64(height)), nil
}

// DownFill returns the net volume by which a crown stands above the plane of its edge,
// from a down-fill: the piston is lowered from deck level by a measured way, sealed
// with grease, covered with a plate and filled.
//
//	V = π/4·B²·h − filled
//
// B is the bore, h the way the crown's edge is below the plate, filled what went in.
// The result is positive for a dome and negative for valve pockets or a dish, gross
// things all counted: it is the negative of what [Clearance] calls Pockets. It leaves
// out the crevice around the top land, which the grease should fill.
//
// DownFill returns an error if bore, lowered or filled is not above zero. It never
// returns NaN.
//
// Source: common practice, no published source.
func DownFill(bore, lowered quantity.Length, filled quantity.Volume) (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("lowered", lengths, float64(lowered))
	in.Above("filled", volumes, float64(filled))
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Volume(circle(bore)*float64(lowered)) - filled, nil
}
