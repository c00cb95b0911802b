package surface

import (
	"math"

	"buttonup/quantity"
)

// Zone is the narrowest slice between two parallel planes that holds all heights.
type Zone struct {
	// Width is the distance of the two planes, in z: the flatness.
	Width quantity.Length
	// Plane is the one midway between them.
	Plane Plane
	// Top and Bottom are the points that touch the upper and the lower plane, by
	// their places in the points given, rising. Points within a billionth of the
	// width touch. Both are empty where the width is nothing.
	Top, Bottom []int
}

// MinimumZone returns the exact flatness zone of heights.
//
// It is the least w for which a plane exists with
//
//	|z − a − b·x − c·y| ≤ w/2        for every point
//
// A zone can be narrowed by tipping it unless the points that touch one of its planes
// overlap those that touch the other, seen from above: a triangle around a point, or
// two segments that cross. So its planes are parallel to a triangle of three points,
// or to two lines that join two points each, and trying them all finds it.
// MinimumZone does so for a small set of points, adds the points that stand out
// furthest from the zone so found, drops those that do not touch it, and goes on until
// none stands out. The zone of the set only grows and is never wider than the zone of
// all points, so the search ends, and with the zone of all points. What is returned is
// exact but for the rounding of float64: the width over the plane that is given.
//
// Where three points in a row decide, the zone may be tipped about the row a little
// without getting wider; Plane is then one of the planes that do. Width is unique
// always. It does not change when a plane is added to all heights, and is never larger
// than the spread about the plane of [LeastSquares].
//
// The points may come in any order; they are not changed. MinimumZone returns an error
// where [LeastSquares] does. It never returns NaN.
//
// Source: the minimum-zone reference plane MZPL of ISO 12781-1, from memory, with
// residuals in z instead of square to the plane. Seen: abstracts of papers that name
// the triangle and the crossing criterion. The search is ours; the tests compare it
// with a linear programme solved by another program.
func MinimumZone(points []Point) (Zone, error) {
	c, err := newCloud(points)
	if err != nil {
		return Zone{}, err
	}
	a, b, d := c.leastSquares()
	s := zoneSearch{cloud: c, level: make([]float64, len(points)), member: make([]bool, len(points))}
	for i := range s.level {
		// Over the mean plane only the small differences are left, with all digits.
		s.level[i] = c.residual(i, a, b, d)
	}
	best := s.search()
	high, low := s.extremes(best, nil)
	z := Zone{
		Width: quantity.Length((high - low) * c.spanZ),
		Plane: c.plane(a+(high+low)/2, b+best.b, d+best.c),
	}
	for i := range s.level {
		const touching = 1e-9
		switch r := s.over(i, best); {
		case high-low <= rounding:
		case r >= high-touching*(high-low):
			z.Top = append(z.Top, i)
		case r <= low+touching*(high-low):
			z.Bottom = append(z.Bottom, i)
		}
	}
	return z, nil
}

// rounding is what float64 leaves of heights that were scaled to about one.
const rounding = 1e-14

// zoneSearch is the state of one search.
type zoneSearch struct {
	*cloud
	level  []float64 // heights over the mean plane, scaled
	set    []int     // the points looked at
	member []bool    // whether a point is in set
}

// tilt is a plane by its slopes alone: how far up it lies follows from the points.
type tilt struct{ b, c float64 }

// over returns the height of a point over a plane of that tilt.
func (s *zoneSearch) over(i int, t tilt) float64 { return s.level[i] - t.b*s.x[i] - t.c*s.y[i] }

// extremes returns the largest and the smallest height over a tilt among the points
// of set, of all points where set is nil.
func (s *zoneSearch) extremes(t tilt, set []int) (high, low float64) {
	i, j := s.outermost(t, set)
	return s.over(i, t), s.over(j, t)
}

func (s *zoneSearch) outermost(t tilt, set []int) (high, low int) {
	if set == nil {
		for i := range s.level {
			if s.over(i, t) > s.over(high, t) {
				high = i
			}
			if s.over(i, t) < s.over(low, t) {
				low = i
			}
		}
		return high, low
	}
	high, low = set[0], set[0]
	for _, i := range set {
		if s.over(i, t) > s.over(high, t) {
			high = i
		}
		if s.over(i, t) < s.over(low, t) {
			low = i
		}
	}
	return high, low
}

func (s *zoneSearch) add(i int) (added bool) {
	if s.member[i] {
		return false
	}
	s.member[i] = true
	s.set = append(s.set, i)
	return true
}

// search returns the tilt of the narrowest zone of all points.
func (s *zoneSearch) search() tilt {
	high, low := s.outermost(tilt{}, nil)
	for _, i := range []int{s.first, s.far, s.off, high, low} {
		s.add(i)
	}
	before := -1.0
	for {
		t, width := s.narrowest()
		high, low := s.outermost(t, nil)
		if s.over(high, t)-s.over(low, t) <= width+rounding {
			return t
		}
		if width > before+1e-12 {
			// The zone grew, so no earlier set can come again, and what does not
			// touch this one may go.
			before = width
			s.keepTouching(t, width)
		}
		// Only rounding can make a point stand out that is in the set already.
		if !s.add(high) && !s.add(low) {
			return t
		}
		s.add(low)
	}
}

// keepTouching drops the points of the set that touch neither plane of its zone, but
// for the three that keep the set from being a line.
func (s *zoneSearch) keepTouching(t tilt, width float64) {
	high, low := s.extremes(t, s.set)
	near := 1e-6 * width
	kept := s.set[:0]
	for _, i := range s.set {
		r := s.over(i, t)
		if i == s.first || i == s.far || i == s.off || high-r <= near || r-low <= near {
			kept = append(kept, i)
		} else {
			s.member[i] = false
		}
	}
	s.set = kept
}

// narrowest returns the tilt of the narrowest zone of the set, and its width.
func (s *zoneSearch) narrowest() (best tilt, width float64) {
	width = math.Inf(1)
	try := func(i, j, k, l int) {
		// Level with both the line from i to j and the line from k to l.
		x1, y1, z1 := s.x[j]-s.x[i], s.y[j]-s.y[i], s.level[j]-s.level[i]
		x2, y2, z2 := s.x[l]-s.x[k], s.y[l]-s.y[k], s.level[l]-s.level[k]
		det := x1*y2 - x2*y1
		t := tilt{(z1*y2 - z2*y1) / det, (x1*z2 - x2*z1) / det}
		if !(math.Abs(t.b)+math.Abs(t.c) < 1e12) {
			return // the lines run alike, so there is no such plane
		}
		if high, low := s.extremes(t, s.set); high-low < width {
			best, width = t, high-low
		}
	}
	for a, i := range s.set {
		for b, j := range s.set[:a] {
			for c, k := range s.set[:b] {
				try(i, j, j, k)
				for _, l := range s.set[:c] {
					try(i, j, k, l)
					try(i, k, j, l)
					try(i, l, j, k)
				}
			}
		}
	}
	return best, width
}
