package surface

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Hollow is the deepest reading near a place on a face.
type Hollow struct {
	// At is the reading, by its place in the points given.
	At int
	// Depth is how far it lies below the upper plane of the flatness zone.
	Depth quantity.Length
	// Distance is how far it is from the place asked about.
	Distance quantity.Length
	// Readings is how many readings lie within the distance asked about.
	Readings int
}

// HollowNear returns the deepest reading within a distance of a place: of a dowel, a
// stud or an oil hole, where a hollow matters more than in the middle of a span.
//
// Depth is counted from the upper plane of the zone that [MinimumZone] finds for all
// the points, which is where a flat part laid on the face would touch it. The place
// need not be one of the points. A reading as far away as within counts.
//
// HollowNear returns an error where MinimumZone does, if within is not above zero, if
// a coordinate is not finite, and if no reading lies that near: what was not read is
// never called flat. It never returns NaN.
//
// Source: ours. That a hollow across a dowel or a stud is worse than one in a span is
// common practice, no published source.
func HollowNear(points []Point, x, y, within quantity.Length) (Hollow, error) {
	if err := argument.First(argument.Finite("x", x), argument.Finite("y", y), argument.Positive("within", within)); err != nil {
		return Hollow{}, err
	}
	zone, err := MinimumZone(points)
	if err != nil {
		return Hollow{}, err
	}
	h := Hollow{Depth: -1}
	for i, p := range points {
		distance := quantity.Length(math.Hypot(float64(p.X-x), float64(p.Y-y)))
		const noise = quantity.Length(1e-12)
		if distance > within+noise {
			continue
		}
		h.Readings++
		if depth := max(0, zone.Plane.Height(p.X, p.Y)+zone.Width/2-p.Z); depth > h.Depth {
			h.At, h.Depth, h.Distance = i, depth, distance
		}
	}
	if h.Readings == 0 {
		return Hollow{}, argument.Refuse("within", "no reading lies within "+argument.Show(within)+" of x "+argument.Show(x)+", y "+argument.Show(y), "read nearer to it")
	}
	return h, nil
}
