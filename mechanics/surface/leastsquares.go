package surface

import (
	"math"

	"buttonup/quantity"
)

// Fit is the least-squares plane through heights and how they lie about it.
type Fit struct {
	// Plane is the mean plane.
	Plane Plane
	// PeakToValley is the highest residual less the lowest: the flatness about the
	// mean plane.
	PeakToValley quantity.Length
	// Peak and Valley are the highest residual and the depth of the lowest, both
	// zero or more.
	Peak, Valley quantity.Length
	// RMS is the root of the mean square of the residuals.
	RMS quantity.Length
	// Highest and Lowest are the places of Peak and Valley in the points given.
	Highest, Lowest int
}

// LeastSquares fits the plane z = a + b·x + c·y with the least sum of squared
// residuals in z, and returns the spread about it.
//
// The points may come in any order; they are not changed. LeastSquares returns an
// error for fewer than four points, for points on one line, for two points at one
// place and for a value that is not finite. It never returns NaN.
//
// Source: the reference plane LSPL and the deviations FLTt (peak to valley), FLTp,
// FLTv and FLTq of ISO 12781-1, from memory, with residuals in z instead of square to
// the plane. Seen: public code that cites that standard for LSPL.
func LeastSquares(points []Point) (Fit, error) {
	c, err := newCloud(points)
	if err != nil {
		return Fit{}, err
	}
	a, b, d := c.leastSquares()
	f := Fit{Plane: c.plane(a, b, d)}
	var sum float64
	for i := range points {
		r := c.residual(i, a, b, d)
		sum += r * r
		if r > c.residual(f.Highest, a, b, d) {
			f.Highest = i
		}
		if r < c.residual(f.Lowest, a, b, d) {
			f.Lowest = i
		}
	}
	f.Peak = quantity.Length(max(0, c.residual(f.Highest, a, b, d)) * c.spanZ)
	f.Valley = quantity.Length(max(0, -c.residual(f.Lowest, a, b, d)) * c.spanZ)
	f.PeakToValley = f.Peak + f.Valley
	f.RMS = quantity.Length(math.Sqrt(sum/float64(len(points))) * c.spanZ)
	return f, nil
}

// leastSquares solves for the plane of the scaled cloud by making its two columns
// square to each other first, which keeps the digits that normal equations lose.
func (c *cloud) leastSquares() (a, b, d float64) {
	dot := func(u, v []float64) (sum float64) {
		for i := range u {
			sum += u[i] * v[i]
		}
		return sum
	}
	n := float64(len(c.x))
	mean := func(u []float64) (sum float64) {
		for _, v := range u {
			sum += v / n
		}
		return sum
	}
	// The longer column goes first, so that what is left of the other one is not
	// the rest of two nearly equal numbers.
	first, second, swapped := c.x, c.y, false
	if dot(c.y, c.y) > dot(c.x, c.x) {
		first, second, swapped = c.y, c.x, true
	}
	slope := dot(first, second) / dot(first, first)
	rest := make([]float64, len(second))
	for i := range rest {
		rest[i] = second[i] - slope*first[i]
	}
	b = dot(first, c.z) / dot(first, first)
	d = dot(rest, c.z) / dot(rest, rest)
	b -= slope * d
	if swapped {
		b, d = d, b
	}
	a = mean(c.z) - b*mean(c.x) - d*mean(c.y)
	return a, b, d
}
