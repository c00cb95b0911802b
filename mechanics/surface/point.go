package surface

import (
	"fmt"
	"math"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Point is one height on a face.
type Point struct {
	// X and Y say where it was read, on the face.
	X, Y quantity.Length
	// Z is the height, from any level plate or plane, positive away from the metal.
	Z quantity.Length
}

// mostPoints bounds what is looked at: no face is read at more places by hand or by
// machine in a shop.
const mostPoints = 100000

// ParsePoints reads heights as "x,y,z; x,y,z; …". A bare number is in millimetres; a
// number may carry a unit of length of its own: "0,0,0.02; 4 in,0,0.3 thou".
//
// A semicolon after the last point is allowed. ParsePoints returns an error that
// counts the point if one has not three numbers or holds something that is no length,
// and for a text without points. It does not judge whether the points can be used;
// the functions that take them do.
//
// Source: the notation is ours.
func ParsePoints(text string) ([]Point, error) {
	const form = `write points as "x,y,z; x,y,z", bare numbers in millimetres`
	mm := quantity.MustUnit("mm")
	rows := strings.Split(text, ";")
	if last := len(rows) - 1; strings.TrimSpace(rows[last]) == "" {
		rows = rows[:last]
	}
	if len(rows) == 0 {
		return nil, argument.Refuse("points", "there is no point", form)
	}
	if len(rows) > mostPoints {
		return nil, argument.Refuse("points", fmt.Sprintf("%d points are more than %d", len(rows), mostPoints), "")
	}
	points := make([]Point, len(rows))
	for i, row := range rows {
		cells := strings.Split(row, ",")
		if len(cells) != 3 {
			return nil, argument.Refuse("points", fmt.Sprintf("point %d, %.40q, has %d numbers and needs 3", i+1, strings.TrimSpace(row), len(cells)), form)
		}
		for j, cell := range cells {
			q, err := quantity.Parse(cell)
			if err == nil && q.Dimension.IsNumber() && q.Unit.Symbol != "%" {
				// Parsed again with its unit, so that 0.02 is the same value as 0.02 mm.
				q, err = quantity.Parse(cell + " " + mm.Symbol)
			}
			if err != nil {
				return nil, argument.Refuse("points", fmt.Sprintf("point %d: %v", i+1, err), form)
			}
			if q.Dimension != quantity.OfLength {
				return nil, argument.Refuse("points", fmt.Sprintf("point %d: %.40q is not a length", i+1, strings.TrimSpace(cell)), form)
			}
			*[...]*quantity.Length{&points[i].X, &points[i].Y, &points[i].Z}[j] = quantity.Length(q.SI)
		}
	}
	return points, nil
}

// Plane is a plane that is not upright: z = At + SlopeX·x + SlopeY·y.
type Plane struct {
	// At is the height of the plane where x and y are zero.
	At quantity.Length
	// SlopeX and SlopeY are its rise along x and along y, plain numbers.
	SlopeX, SlopeY float64
}

// Height returns the height of the plane at a place.
func (p Plane) Height(x, y quantity.Length) quantity.Length {
	return p.At + quantity.Length(p.SlopeX)*x + quantity.Length(p.SlopeY)*y
}

// cloud is a set of points made fit to compute with: about their middle, and each
// direction scaled so that numbers are around one.
type cloud struct {
	x, y, z         []float64
	midX, midY      float64
	midZ            float64
	spanXY, spanZ   float64
	first, far, off int // three points that do not lie on one line
}

// newCloud checks the points and scales them.
//
// It refuses fewer than four points, values that are not finite, two readings at one
// place and points that lie on one line.
func newCloud(points []Point) (*cloud, error) {
	n := len(points)
	switch {
	case n < 4:
		return nil, argument.Refuse("points", fmt.Sprintf("%d points must be 4 or more: three always lie in one plane and say nothing of flatness", n), "read more places")
	case n > mostPoints:
		return nil, argument.Refuse("points", fmt.Sprintf("%d points are more than %d", n, mostPoints), "")
	}
	const largest = 1e6 // metres; far beyond any face, and no sum overflows below it
	place := make(map[[2]quantity.Length]int, n)
	for i, p := range points {
		for _, v := range []quantity.Length{p.X, p.Y, p.Z} {
			if !(abs(v) <= largest) {
				return nil, argument.Refuse("points", fmt.Sprintf("point %d has the coordinate %s; it must be a number of up to 1 000 km", i+1, argument.Show(v)), "")
			}
		}
		at := [2]quantity.Length{p.X, p.Y}
		if j, twice := place[at]; twice {
			return nil, argument.Refuse("points", fmt.Sprintf("points %d and %d are both at x %s, y %s", j+1, i+1, argument.Show(p.X), argument.Show(p.Y)), "keep one reading for a place, or their mean")
		}
		place[at] = i
	}
	c := &cloud{x: make([]float64, n), y: make([]float64, n), z: make([]float64, n)}
	for _, p := range points {
		c.midX += float64(p.X) / float64(n)
		c.midY += float64(p.Y) / float64(n)
		c.midZ += float64(p.Z) / float64(n)
	}
	for i, p := range points {
		c.x[i], c.y[i], c.z[i] = float64(p.X)-c.midX, float64(p.Y)-c.midY, float64(p.Z)-c.midZ
		c.spanXY = max(c.spanXY, math.Abs(c.x[i]), math.Abs(c.y[i]))
		c.spanZ = max(c.spanZ, math.Abs(c.z[i]))
	}
	if c.spanZ == 0 {
		c.spanZ = 1
	}
	for i := range points {
		c.x[i] /= c.spanXY
		c.y[i] /= c.spanXY
		c.z[i] /= c.spanZ
	}
	if !c.findTriangle() {
		return nil, argument.Refuse("points", fmt.Sprintf("all %d points lie on one line, so they cannot show a plane", n), "read some places beside the line, or judge the line with a straight-edge")
	}
	return c, nil
}

// findTriangle finds three points far apart and not on one line.
func (c *cloud) findTriangle() bool {
	farthest := func(distance func(i int) float64) (int, float64) {
		at, most := 0, -1.0
		for i := range c.x {
			if d := distance(i); d > most {
				at, most = i, d
			}
		}
		return at, most
	}
	c.first, _ = farthest(func(i int) float64 { return math.Hypot(c.x[i], c.y[i]) })
	var base float64
	c.far, base = farthest(func(i int) float64 { return math.Hypot(c.x[i]-c.x[c.first], c.y[i]-c.y[c.first]) })
	dx, dy := c.x[c.far]-c.x[c.first], c.y[c.far]-c.y[c.first]
	var width float64
	c.off, width = farthest(func(i int) float64 {
		return math.Abs(dx*(c.y[i]-c.y[c.first])-dy*(c.x[i]-c.x[c.first])) / base
	})
	// Narrower than a millionth of its length a row of points is a line: a slope
	// across it would rest on nothing.
	return width > 1e-6*base
}

// plane returns the plane z = a + b·x + c·y of the scaled cloud in true sizes.
func (c *cloud) plane(a, b, d float64) Plane {
	k := c.spanZ / c.spanXY
	p := Plane{SlopeX: b * k, SlopeY: d * k}
	p.At = quantity.Length(c.midZ + a*c.spanZ - p.SlopeX*c.midX - p.SlopeY*c.midY)
	return p
}

// residual returns the height of point i over a plane of the scaled cloud.
func (c *cloud) residual(i int, a, b, d float64) float64 {
	return c.z[i] - a - b*c.x[i] - d*c.y[i]
}

func abs[K argument.Value](v K) K { return K(math.Abs(float64(v))) }
