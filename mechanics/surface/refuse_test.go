package surface_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/mechanics/surface"
	"buttonup/quantity"
)

func TestParsePoints(t *testing.T) {
	points, err := surface.ParsePoints(" 0,0,0.02; 4 in, 1e1 , 0.3 thou;\n100, 50 mm,-0.01;")
	if err != nil {
		t.Fatal(err)
	}
	parse := func(text string) quantity.Length {
		q, err := quantity.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		return quantity.Length(q.SI)
	}
	want := []surface.Point{
		{Z: parse("0.02 mm")},
		{X: parse("4 in"), Y: parse("10 mm"), Z: parse("0.3 thou")},
		{X: parse("100 mm"), Y: parse("50 mm"), Z: parse("-0.01 mm")},
	}
	if len(points) != len(want) {
		t.Fatalf("%d points", len(points))
	}
	for i := range want {
		if points[i] != want[i] {
			t.Errorf("point %d is %v, want %v", i+1, points[i], want[i])
		}
	}
}

func TestParsePointsRefuses(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "no point"},
		{" ; ", "point 1"},
		{"0,0", "has 2 numbers and needs 3"},
		{"0,0,0; 1,2", "point 2"},
		{"0,0,0,0", "has 4 numbers"},
		{"0,0,x", "point 1"},
		{"0,0,3 N", "is not a length"},
		{"0,0,3 %", "is not a length"},
		{"0,0,1 .. 2", "range"},
		{"0;0;0", "needs 3"},
	} {
		points, err := surface.ParsePoints(c.text)
		if err == nil {
			t.Errorf("%q read as %v", c.text, points)
			continue
		}
		if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: says %q, want %q in it", c.text, err, c.says)
		}
	}
}

func TestRefusesPoints(t *testing.T) {
	nan, inf := quantity.Length(math.NaN()), quantity.Length(math.Inf(1))
	flat := func(points ...[3]float64) (out []surface.Point) {
		for _, p := range points {
			out = append(out, surface.Point{X: mm(p[0]), Y: mm(p[1]), Z: mm(p[2])})
		}
		return out
	}
	square := flat([3]float64{0, 0, 0}, [3]float64{1, 0, 0}, [3]float64{1, 1, 0}, [3]float64{0, 1, 0})
	with := func(p surface.Point) []surface.Point { return append(append([]surface.Point(nil), square...), p) }
	for _, c := range []struct {
		name   string
		points []surface.Point
		says   string
	}{
		{"none", nil, "0 points must be 4 or more"},
		{"three", square[:3], "3 points must be 4 or more"},
		{"a line", flat([3]float64{0, 0, 0}, [3]float64{1, 2, 5}, [3]float64{2, 4, 1}, [3]float64{3, 6, 0}), "all 4 points lie on one line"},
		{"a line along y", flat([3]float64{7, 0, 0}, [3]float64{7, 2, 5}, [3]float64{7, 4, 1}, [3]float64{7, 6, 0}), "lie on one line"},
		{"two at one place", with(surface.Point{X: mm(1), Z: mm(3)}), "points 2 and 5 are both at x 1 mm, y 0 mm"},
		{"two at one place, zero of either sign", with(surface.Point{X: quantity.Length(math.Copysign(0, -1)), Z: mm(3)}), "points 1 and 5 are both at x"},
		{"a height that is no number", with(surface.Point{X: mm(5), Y: mm(5), Z: nan}), "point 5 has the coordinate NaN mm"},
		{"a place that is endless", with(surface.Point{X: inf, Y: mm(5)}), "point 5 has the coordinate +Inf mm"},
		{"a slip of many powers of ten", with(surface.Point{X: 1e9, Y: mm(5)}), "point 5 has the coordinate 1e+12 mm"},
	} {
		_, zone := surface.MinimumZone(c.points)
		_, fit := surface.LeastSquares(c.points)
		_, near := surface.HollowNear(c.points, 0, 0, mm(1))
		for i, err := range []error{zone, fit, near} {
			var refused *argument.Error
			if !errors.As(err, &refused) || refused.Argument != "points" {
				t.Errorf("%s, %d: %v names no argument", c.name, i, err)
			} else if !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s, %d: says %q, want %q in it", c.name, i, err, c.says)
			}
		}
	}
	for name, points := range map[string][]surface.Point{
		"five":           with(surface.Point{X: mm(3), Y: mm(4)}),
		"one inside":     flat([3]float64{0, 0, 0}, [3]float64{9, 0, 0}, [3]float64{0, 9, 0}, [3]float64{2, 2, 1}),
		"one on an edge": flat([3]float64{0, 0, 0}, [3]float64{9, 0, 0}, [3]float64{0, 9, 0}, [3]float64{4.5, 4.5, 1}),
		"a line":         flat([3]float64{0, 0, 0}, [3]float64{1, 1, 0}, [3]float64{2, 2, 0}, [3]float64{3, 3, 1}),
	} {
		if twist, err := surface.CornerTwist(points); err == nil {
			t.Errorf("%s: twist %v", name, twist)
		}
	}
}

func TestRefusesOther(t *testing.T) {
	nan := quantity.Length(math.NaN())
	station := func(at, h quantity.Length) surface.Station { return surface.Station{At: at, Height: h} }
	edge := func(s ...surface.Station) error { _, err := surface.StraightEdge(s); return err }
	feeler := func(gap quantity.Length, blades ...quantity.Length) error {
		_, _, err := surface.LargestFeeler(gap, blades)
		return err
	}
	hollow := func(x, within quantity.Length) error {
		points, _ := surface.ParsePoints("0,0,0; 9,0,0; 9,9,1; 0,9,0")
		_, err := surface.HollowNear(points, x, 0, within)
		return err
	}
	twist := func(h quantity.Length) error { _, err := surface.Twist(0, h, 0, 0); return err }
	for _, c := range []struct {
		name, says string
		err        error
	}{
		{"two stations", "2 stations must be 3 or more", edge(station(0, 0), station(1, 0))},
		{"twice at one place", "stations 1 and 3 are both at 0 mm", edge(station(0, 0), station(1, 0), station(0, 1))},
		{"no number", "station 2", edge(station(0, 0), station(1, nan), station(2, 1))},
		{"too close to divide", "gap is too large", edge(station(0, 0), station(5e-324, 1), station(1, 0), station(2, -3))},
		{"negative gap", "gap -0.01 mm must be 0 mm or more", feeler(mm(-0.01), mm(1))},
		{"no blades", "no blade", feeler(mm(1))},
		{"a blade of nothing", "blade 0 mm must be above 0 mm", feeler(mm(1), 0)},
		{"within nothing", "within 0 mm must be above 0 mm", hollow(0, 0)},
		{"nowhere", "x NaN mm is not a number", hollow(nan, 1)},
		{"nothing near", "no reading lies within 1 mm of x 4 mm, y 0 mm; read nearer to it", hollow(mm(4), mm(1))},
		{"twist of nothing", "height NaN mm", twist(nan)},
	} {
		if c.err == nil {
			t.Errorf("%s: accepted", c.name)
		} else if !strings.Contains(c.err.Error(), c.says) {
			t.Errorf("%s: says %q, want %q in it", c.name, c.err, c.says)
		}
	}
}

// Whatever comes in, what comes out is a number or an error.
func TestNeverNaN(t *testing.T) {
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 1e-300, 5e-324, 1e300, -1e300, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), 0.01, 1e5, -3e5, 1e-9}
	random := rand.New(rand.NewPCG(1, 1))
	pick := func() quantity.Length { return quantity.Length(odd[random.IntN(len(odd))]) }
	fine := func(what string, err error, values ...quantity.Length) {
		for _, v := range values {
			if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) || err != nil && v != 0 {
				t.Fatalf("%s gives %v with error %v", what, values, err)
			}
		}
	}
	for range 20000 {
		points := make([]surface.Point, 3+random.IntN(5))
		stations := make([]surface.Station, len(points))
		for i := range points {
			points[i] = surface.Point{X: pick(), Y: pick(), Z: pick()}
			stations[i] = surface.Station{At: pick(), Height: pick()}
		}
		z, err := surface.MinimumZone(points)
		fine("zone", err, z.Width, z.Plane.At, quantity.Length(z.Plane.SlopeX), quantity.Length(z.Plane.SlopeY))
		f, err := surface.LeastSquares(points)
		fine("fit", err, f.PeakToValley, f.RMS, f.Plane.At)
		h, err := surface.HollowNear(points, pick(), pick(), pick())
		fine("hollow", err, h.Depth, h.Distance)
		w, err := surface.CornerTwist(points)
		fine("corner twist", err, w)
		w, err = surface.Twist(pick(), pick(), pick(), pick())
		fine("twist", err, w)
		e, err := surface.StraightEdge(stations)
		fine("edge", err, e.Gap, e.RockGap)
		b, _, err := surface.LargestFeeler(pick(), []quantity.Length{pick(), pick()})
		fine("feeler", err, b)
	}
}
