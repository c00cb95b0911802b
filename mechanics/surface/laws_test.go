package surface_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/surface"
	"buttonup/quantity"
)

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }

func width(t *testing.T, points []surface.Point) float64 {
	t.Helper()
	z, err := surface.MinimumZone(points)
	if err != nil {
		t.Fatalf("%v: %v", points, err)
	}
	return z.Width.Millimetres()
}

func spread(t *testing.T, points []surface.Point) float64 {
	t.Helper()
	f, err := surface.LeastSquares(points)
	if err != nil {
		t.Fatalf("%v: %v", points, err)
	}
	return f.PeakToValley.Millimetres()
}

// sample makes n readings at different places. Coarse ones stand on a grid in whole
// millimetres, where rows of points and many contacts at once are the rule.
func sample(random *rand.Rand, n int, coarse bool) []surface.Point {
	taken := map[[2]int]bool{}
	var points []surface.Point
	for len(points) < n {
		x, y := random.IntN(6), random.IntN(5)
		if taken[[2]int{x, y}] {
			continue
		}
		taken[[2]int{x, y}] = true
		p := surface.Point{X: mm(float64(x)), Y: mm(float64(y)), Z: mm(float64(random.IntN(5)))}
		if !coarse {
			p.X += mm(random.Float64() * 0.9)
			p.Y += mm(random.Float64() * 0.9)
			p.Z = mm(random.NormFloat64())
		}
		points = append(points, p)
	}
	return points
}

// usable is whether the points are no line.
func usable(points []surface.Point) bool {
	_, err := surface.LeastSquares(points)
	return err == nil
}

// widthOver is how wide a zone of the given slopes must be.
func widthOver(points []surface.Point, b, c float64) float64 {
	high, low := math.Inf(-1), math.Inf(1)
	for _, p := range points {
		r := p.Z.Millimetres() - b*p.X.Millimetres() - c*p.Y.Millimetres()
		high, low = max(high, r), min(low, r)
	}
	return high - low
}

// golden finds the least value of a hollow function.
func golden(low, high float64, f func(float64) float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := high-ratio*(high-low), low+ratio*(high-low)
	fa, fb := f(a), f(b)
	for high-low > 1e-10 {
		if fa <= fb {
			high, b, fb = b, a, fa
			a = high - ratio*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + ratio*(high-low)
			fb = f(b)
		}
	}
	return min(fa, fb)
}

// The zone agrees with a search over both slopes, one within the other. The width is a
// hollow function of the slopes, so the search cannot stop at a wrong place.
func TestMinimumZoneAgainstNestedSearch(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 1))
	for round := range 40 {
		points := sample(random, 5+random.IntN(8), round%2 == 0)
		if !usable(points) {
			continue
		}
		const steep = 60
		want := golden(-steep, steep, func(b float64) float64 {
			return golden(-steep, steep, func(c float64) float64 { return widthOver(points, b, c) })
		})
		if got := width(t, points); math.Abs(got-want) > 1e-7 {
			t.Errorf("round %d: zone %.9f mm, search %.9f mm for %v", round, got, want, points)
		}
	}
}

// dual is the largest vertical gap that four of the points span: no zone can be
// narrower, and the narrowest one is no wider.
func dual(points []surface.Point) float64 {
	best := 0.0
	area := func(p, q, r surface.Point) float64 {
		return float64((q.X-p.X)*(r.Y-p.Y) - (r.X-p.X)*(q.Y-p.Y))
	}
	n := len(points)
	for i := 0; i < n; i++ {
		for j := i + 1; j < n; j++ {
			for k := j + 1; k < n; k++ {
				for l := k + 1; l < n; l++ {
					p, q, r, s := points[i], points[j], points[k], points[l]
					c := [4]float64{area(q, r, s), -area(p, r, s), area(p, q, s), -area(p, q, r)}
					size := (math.Abs(c[0]) + math.Abs(c[1]) + math.Abs(c[2]) + math.Abs(c[3])) / 2
					if size < 1e-18 {
						continue // the four are a line
					}
					gap := c[0]*p.Z.Millimetres() + c[1]*q.Z.Millimetres() + c[2]*r.Z.Millimetres() + c[3]*s.Z.Millimetres()
					best = max(best, math.Abs(gap)/size)
				}
			}
		}
	}
	return best
}

func TestMinimumZoneAgainstDual(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 3))
	tried := 0
	for round := range 2000 {
		points := sample(random, 4+random.IntN(15), round%2 == 0)
		if !usable(points) {
			continue
		}
		tried++
		if got, want := width(t, points), dual(points); math.Abs(got-want) > 1e-11 {
			t.Errorf("round %d: zone %.13f mm, dual %.13f mm for %v", round, got, want, points)
		}
	}
	if tried < 1500 {
		t.Errorf("only %d sets could be used", tried)
	}
}

// The plane that comes with a zone holds every point, and the points named touch it.
func TestZoneHoldsAllPoints(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for round := range 500 {
		points := sample(random, 4+random.IntN(20), round%2 == 0)
		if !usable(points) {
			continue
		}
		z, err := surface.MinimumZone(points)
		if err != nil {
			t.Fatal(err)
		}
		over := func(i int) float64 {
			p := points[i]
			return (p.Z - z.Plane.Height(p.X, p.Y)).Millimetres()
		}
		half := z.Width.Millimetres() / 2
		for i := range points {
			if math.Abs(over(i)) > half+1e-12 {
				t.Fatalf("round %d: point %d stands out by %g mm", round, i, math.Abs(over(i))-half)
			}
		}
		for _, i := range z.Top {
			if math.Abs(over(i)-half) > 1e-8 {
				t.Errorf("round %d: top point %d is %g mm off", round, i, over(i)-half)
			}
		}
		for _, i := range z.Bottom {
			if math.Abs(over(i)+half) > 1e-8 {
				t.Errorf("round %d: bottom point %d is %g mm off", round, i, over(i)+half)
			}
		}
		if half <= 1e-9 {
			continue
		}
		// What touches forces the whole width by itself: by four points, or by three in
		// a row with the middle one against the outer two.
		var held []surface.Point
		for _, i := range append(append([]int(nil), z.Top...), z.Bottom...) {
			held = append(held, points[i])
		}
		if forced := max(dual(held), rowGap(held)); math.Abs(forced-2*half) > 1e-9 {
			t.Errorf("round %d: %v and %v touch and force only %g mm of %g", round, z.Top, z.Bottom, forced, 2*half)
		}
	}
}

// rowGap is the largest gap of a point and the line through two others that stand in a
// row with it, on both sides of it.
func rowGap(points []surface.Point) float64 {
	best := 0.0
	for _, p := range points {
		for _, q := range points {
			for _, r := range points {
				across := (q.X-p.X)*(r.Y-p.Y) - (r.X-p.X)*(q.Y-p.Y)
				toQ := float64((q.X-p.X)*(r.X-p.X) + (q.Y-p.Y)*(r.Y-p.Y))
				toR := float64((r.X-p.X)*(r.X-p.X) + (r.Y-p.Y)*(r.Y-p.Y))
				if share := toQ / toR; math.Abs(float64(across)) < 1e-12 && share > 0 && share < 1 {
					best = max(best, math.Abs((p.Z + quantity.Length(share)*(r.Z-p.Z) - q.Z).Millimetres()))
				}
			}
		}
	}
	return best
}

func each(points []surface.Point, f func(surface.Point) surface.Point) []surface.Point {
	out := make([]surface.Point, len(points))
	for i, p := range points {
		out[i] = f(p)
	}
	return out
}

func TestFlatnessLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 9))
	for round := range 300 {
		points := sample(random, 5+random.IntN(25), round%2 == 0)
		if !usable(points) {
			continue
		}
		zone, ls := width(t, points), spread(t, points)
		if zone > ls+1e-12 {
			t.Errorf("round %d: zone %g is wider than the spread about the mean plane, %g", round, zone, ls)
		}
		agree := func(law string, changed []surface.Point, factor float64) {
			t.Helper()
			if got := width(t, changed); math.Abs(got-factor*zone) > 1e-10*max(1, factor) {
				t.Errorf("round %d, %s: zone %.12f, want %.12f", round, law, got, factor*zone)
			}
			if got := spread(t, changed); math.Abs(got-factor*ls) > 1e-10*max(1, factor) {
				t.Errorf("round %d, %s: spread %.12f, want %.12f", round, law, got, factor*ls)
			}
		}
		b, c, k := random.NormFloat64(), random.NormFloat64(), 0.1+10*random.Float64()
		agree("a plane added", each(points, func(p surface.Point) surface.Point {
			p.Z += mm(3) + quantity.Length(b)*p.X + quantity.Length(c)*p.Y
			return p
		}), 1)
		agree("heights scaled", each(points, func(p surface.Point) surface.Point {
			p.Z *= quantity.Length(k)
			return p
		}), k)
		agree("face scaled", each(points, func(p surface.Point) surface.Point {
			p.X, p.Y = p.X*quantity.Length(k), p.Y*quantity.Length(k)
			return p
		}), 1)
		agree("upside down", each(points, func(p surface.Point) surface.Point {
			p.Z = -p.Z
			return p
		}), 1)
		sin, cos := math.Sincos(random.Float64() * 7)
		agree("face turned and moved", each(points, func(p surface.Point) surface.Point {
			p.X, p.Y = quantity.Length(cos)*p.X-quantity.Length(sin)*p.Y+mm(40), quantity.Length(sin)*p.X+quantity.Length(cos)*p.Y-mm(9)
			return p
		}), 1)
		shuffled := append([]surface.Point(nil), points...)
		random.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		agree("another order", shuffled, 1)
		if fewer := points[1:]; usable(fewer) && width(t, fewer) > zone+1e-12 {
			t.Errorf("round %d: without a point the zone got wider", round)
		}
	}
}

// The residuals of a least-squares plane balance: their sum and their moments vanish.
func TestLeastSquaresBalances(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		points := sample(random, 4+random.IntN(20), false)
		f, err := surface.LeastSquares(points)
		if err != nil {
			t.Fatal(err)
		}
		var sum, mx, my, square float64
		for _, p := range points {
			r := (p.Z - f.Plane.Height(p.X, p.Y)).Millimetres()
			sum += r
			mx += r * p.X.Millimetres()
			my += r * p.Y.Millimetres()
			square += r * r
		}
		for _, v := range []float64{sum, mx, my} {
			if math.Abs(v) > 1e-10 {
				t.Errorf("a sum that must vanish is %g", v)
			}
		}
		if got, want := f.RMS.Millimetres(), math.Sqrt(square/float64(len(points))); math.Abs(got-want) > 1e-12 {
			t.Errorf("RMS %g, want %g", got, want)
		}
		if math.Abs((f.Peak + f.Valley - f.PeakToValley).Millimetres()) > 1e-12 {
			t.Errorf("peak %v and valley %v do not add up to %v", f.Peak, f.Valley, f.PeakToValley)
		}
	}
}

// A steep plate under a face of few micrometres must not drown them.
func TestFlatnessKeepsDigitsOnASlope(t *testing.T) {
	points, err := surface.ParsePoints("0,0,0; 1000,0,0.001; 1000,800,0; 0,800,0.001; 500,400,0.0005")
	if err != nil {
		t.Fatal(err)
	}
	tilted := each(points, func(p surface.Point) surface.Point {
		p.Z += p.X*0.3 - p.Y*0.2
		return p
	})
	for _, set := range [][]surface.Point{points, tilted} {
		if got := width(t, set); math.Abs(got-0.001) > 1e-12 {
			t.Errorf("zone %.15f mm, want 0.001", got)
		}
	}
}

// Large sets with few different heights touch the zone at very many points.
func TestMinimumZoneOfManyPoints(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 2))
	for _, levels := range []int{2, 3, 1000000} {
		var points []surface.Point
		for x := range 40 {
			for y := range 25 {
				points = append(points, surface.Point{X: mm(float64(5 * x)), Y: mm(float64(5 * y)), Z: mm(float64(random.IntN(levels)))})
			}
		}
		zone, ls := width(t, points), spread(t, points)
		if zone > ls || zone < ls/2 {
			// The mean plane is never worse than twice the best, for any set.
			t.Errorf("%d levels: zone %g, spread %g", levels, zone, ls)
		}
		if levels == 2 && math.Abs(zone-1) > 1e-9 {
			t.Errorf("two levels mixed everywhere: zone %g, want 1", zone)
		}
	}
}

func TestTwist(t *testing.T) {
	got, err := surface.Twist(mm(0.05), mm(0.01), mm(0.04), mm(0.00))
	if err != nil || math.Abs(got.Millimetres()-0.04) > 1e-12 {
		t.Errorf("twist %v, %v", got, err)
	}
	random := rand.New(rand.NewPCG(8, 1))
	for range 300 {
		// A parallelogram, named round from a random corner.
		ux, uy, vx, vy := random.NormFloat64()*50, random.NormFloat64()*50, random.NormFloat64()*50, random.NormFloat64()*50
		if math.Abs(ux*vy-uy*vx) < 100 {
			continue
		}
		round := []surface.Point{{}, {X: mm(ux), Y: mm(uy)}, {X: mm(ux + vx), Y: mm(uy + vy)}, {X: mm(vx), Y: mm(vy)}}
		for i := range round {
			round[i].Z = mm(random.NormFloat64())
		}
		want, err := surface.Twist(round[0].Z, round[1].Z, round[2].Z, round[3].Z)
		if err != nil {
			t.Fatal(err)
		}
		crossed := []surface.Point{round[0], round[2], round[1], round[3]}
		for _, set := range [][]surface.Point{round, crossed} {
			got, err := surface.CornerTwist(set)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs((got - want).Millimetres()) > 1e-9 {
				t.Errorf("corner twist %v, want %v", got.Millimetres(), want.Millimetres())
			}
			if zone := width(t, set); math.Abs(zone-math.Abs(want.Millimetres())) > 1e-9 {
				t.Errorf("zone %v of a twist of %v", zone, want.Millimetres())
			}
		}
		other, err := surface.CornerTwist([]surface.Point{round[1], round[2], round[3], round[0]})
		if err != nil || math.Abs((other+want).Millimetres()) > 1e-9 {
			t.Errorf("from the next corner the twist is %v, %v; want %v", other, err, -want)
		}
	}
}

// For any four corners the size of the twist is the minimum zone.
func TestCornerTwistIsZone(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 6))
	corners := 0
	for range 500 {
		points := sample(random, 4, false)
		twist, err := surface.CornerTwist(points)
		if err != nil {
			continue
		}
		corners++
		if zone := width(t, points); math.Abs(zone-math.Abs(twist.Millimetres())) > 1e-10 {
			t.Errorf("zone %g, twist %g", zone, twist.Millimetres())
		}
	}
	if corners < 100 {
		t.Errorf("only %d of the sets were corners", corners)
	}
}

func TestStraightEdge(t *testing.T) {
	line := func(heights ...float64) []surface.Station {
		s := make([]surface.Station, len(heights))
		for i, h := range heights {
			s[i] = surface.Station{At: mm(float64(10 * i)), Height: mm(h)}
		}
		return s
	}
	for _, c := range []struct {
		name     string
		stations []surface.Station
		gap      float64
		rocks    bool
		rockGap  float64
		at       int
		rests    [2]int
	}{
		{"a hollow", line(0, -0.02, -0.05, -0.01, 0), 0.05, false, 0, 2, [2]int{0, 4}},
		{"a hollow on a slope", line(0, 0.08, 0.15, 0.29, 0.40), 0.05, false, 0, 2, [2]int{0, 4}},
		{"a crown", line(0, 0.02, 0.03, 0.02, 0), 0, true, 0.08, 0, [2]int{}},
		{"a hollow beside a crown", line(0, -0.03, 0.02, 0.01, 0), 0.04, true, 0.06, 1, [2]int{0, 2}},
		{"level", line(0.1, 0.1, 0.1), 0, false, 0, 0, [2]int{}},
		{"in any order", []surface.Station{{At: mm(20)}, {At: mm(0)}, {At: mm(10), Height: mm(-0.03)}}, 0.03, false, 0, 2, [2]int{1, 0}},
	} {
		e, err := surface.StraightEdge(c.stations)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if math.Abs(e.Gap.Millimetres()-c.gap) > 1e-9 || e.Rocks != c.rocks || math.Abs(e.RockGap.Millimetres()-c.rockGap) > 1e-9 {
			t.Errorf("%s: gap %.4f, rocks %v by %.4f; want %.4f, %v, %.4f", c.name, e.Gap.Millimetres(), e.Rocks, e.RockGap.Millimetres(), c.gap, c.rocks, c.rockGap)
		}
		if c.gap > 0 && (e.At != c.at || e.Rests != c.rests) {
			t.Errorf("%s: at %d between %v, want %d between %v", c.name, e.At, e.Rests, c.at, c.rests)
		}
	}
}

// A tilt of the whole line changes nothing that a straight-edge shows, and no gap is
// larger than the face is rough.
func TestStraightEdgeLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 2))
	for range 300 {
		n := 3 + random.IntN(12)
		flat, tilted := make([]surface.Station, n), make([]surface.Station, n)
		slope := random.NormFloat64() / 100
		low, high := 0.0, 0.0
		for i := range flat {
			at, h := float64(10*i)+5*random.Float64(), 0.05*random.NormFloat64()
			low, high = min(low, h), max(high, h)
			flat[i] = surface.Station{At: mm(at), Height: mm(h)}
			tilted[i] = surface.Station{At: mm(at), Height: mm(h + slope*at)}
		}
		a, err := surface.StraightEdge(flat)
		if err != nil {
			t.Fatal(err)
		}
		b, err := surface.StraightEdge(tilted)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs((a.Gap-b.Gap).Millimetres()) > 1e-10 || a.Rocks != b.Rocks || math.Abs((a.RockGap-b.RockGap).Millimetres()) > 1e-9 {
			t.Errorf("%+v level and %+v tilted", a, b)
		}
		if a.Gap.Millimetres() > high-low+1e-12 {
			t.Errorf("gap %g, roughness %g", a.Gap.Millimetres(), high-low)
		}
	}
}

func TestLargestFeeler(t *testing.T) {
	blades := []quantity.Length{mm(0.05), mm(0.03), mm(0.10), mm(0.04)}
	for _, c := range []struct {
		gap, blade float64
		ok         bool
	}{{0.045, 0.04, true}, {0.04, 0.04, true}, {0.0399, 0.03, true}, {0.02, 0, false}, {0, 0, false}, {2, 0.10, true}} {
		blade, ok, err := surface.LargestFeeler(mm(c.gap), blades)
		if err != nil || ok != c.ok || blade != mm(c.blade) {
			t.Errorf("gap %g: blade %v, %v, %v", c.gap, blade, ok, err)
		}
	}
}

func TestHollowNear(t *testing.T) {
	// A level face with a hollow of 0.06 mm beside the dowel at 80, 20.
	points, err := surface.ParsePoints("0,0,0; 50,0,0; 100,0,0; 0,40,0; 50,40,0; 100,40,0; 80,25,-0.06; 20,20,-0.01")
	if err != nil {
		t.Fatal(err)
	}
	h, err := surface.HollowNear(points, mm(80), mm(20), mm(5))
	if err != nil || h.At != 6 || h.Readings != 1 || math.Abs(h.Depth.Millimetres()-0.06) > 1e-9 || math.Abs(h.Distance.Millimetres()-5) > 1e-9 {
		t.Errorf("%+v, %v", h, err)
	}
	h, err = surface.HollowNear(points, mm(0), mm(0), mm(30))
	if err != nil || h.At != 7 || h.Readings != 2 || math.Abs(h.Depth.Millimetres()-0.01) > 1e-9 {
		t.Errorf("%+v, %v", h, err)
	}
	if _, err = surface.HollowNear(points, mm(80), mm(20), mm(4)); err == nil {
		t.Error("a place where nothing was read was called something")
	}
}
