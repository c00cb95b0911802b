package surface

import (
	"math"
	"sort"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Twist returns the twist of a face from the heights of its four corners.
//
//	twist = (h1 + h3 − h2 − h4)/2
//
// h1 … h4 are the heights in the order in which one walks round the face, at the
// corners of a rectangle or parallelogram. It is how far the middles of the two
// diagonals are apart: positive where the corners 1 and 3 stand high. Laid on a plate
// such a face rocks by it about a diagonal, and its size is the minimum zone of the
// four. Twist returns an error if a height is not finite. It never returns NaN.
//
// Source: geometry; common practice, no published source.
func Twist(h1, h2, h3, h4 quantity.Length) (quantity.Length, error) {
	for _, h := range []quantity.Length{h1, h2, h3, h4} {
		if err := argument.Finite("height", h); err != nil {
			return 0, err
		}
	}
	return argument.Result("twist", (h1/2-h2/2)+(h3/2-h4/2))
}

// CornerTwist returns the twist of a face from four points with their places, in any
// order.
//
// It is the vertical distance between the two diagonals where they cross, seen from
// above, positive where the diagonal of the first point is the higher one. For a
// rectangle or parallelogram it equals [Twist]; for any other shape it is what does not
// change when a plane is added to all heights.
//
// CornerTwist returns an error if there are not four points, where [LeastSquares]
// does, and if one point lies inside the triangle of the others or between two of
// them, because then nothing is a diagonal. It never returns NaN.
//
// Source: geometry; ours.
func CornerTwist(points []Point) (quantity.Length, error) {
	if len(points) != 4 {
		return 0, argument.Refuse("points", "a twist needs four corners", "give the four, or use the flatness zone for more")
	}
	c, err := newCloud(points)
	if err != nil {
		return 0, err
	}
	// Round the middle of the four: opposite corners are two apart.
	order := []int{0, 1, 2, 3}
	sort.Slice(order, func(i, j int) bool {
		return math.Atan2(c.y[order[i]], c.x[order[i]]) < math.Atan2(c.y[order[j]], c.x[order[j]])
	})
	for order[0] != 0 {
		order = append(order[1:], order[0])
	}
	p, q, r, s := order[0], order[1], order[2], order[3]
	// p + t·(r − p) = q + u·(s − q)
	x1, y1 := c.x[r]-c.x[p], c.y[r]-c.y[p]
	x2, y2 := c.x[s]-c.x[q], c.y[s]-c.y[q]
	x3, y3 := c.x[q]-c.x[p], c.y[q]-c.y[p]
	det := x1*y2 - x2*y1
	t, u := (x3*y2-x2*y3)/det, (x3*y1-x1*y3)/det
	const end = 1e-6
	if !(t > end && t < 1-end && u > end && u < 1-end) {
		return 0, argument.Refuse("points", "the four points are no corners: one lies inside the others or between two of them", "read the four corners")
	}
	one := c.z[p] + t*(c.z[r]-c.z[p])
	other := c.z[q] + u*(c.z[s]-c.z[q])
	return argument.Result("twist", quantity.Length((one-other)*c.spanZ))
}
