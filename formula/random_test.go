package formula

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// The first outputs of xoshiro256++ from the state 1, 2, 3, 4.
//
// Source: the authors' program xoshiro256plusplus.c, whose outputs for this state
// stand in the tests of several public libraries. Seen: those tests.
func TestGeneratorAgreesWithItsAuthors(t *testing.T) {
	s := source{1, 2, 3, 4}
	for i, want := range []uint64{41943041, 58720359, 3588806011781223, 3591011842654386, 9228616714210784205,
		9973669472204895162, 14011001112246962877, 12406186145184390807, 15849039046786891736, 10450023813501588000} {
		if got := s.next(); got != want {
			t.Errorf("output %d is %d, want %d", i, got, want)
		}
	}
}

// The loops that fill a block are the same generator.
func TestBlocksUseTheGenerator(t *testing.T) {
	s, same := newSource(1, 2, 3), newSource(1, 2, 3)
	var b block
	s.draw(quantity.Rectangular, 0, 1, &b)
	for l, x := range b {
		if want := float64(int64(same.next())>>11) * 0x1p-52 * math.Sqrt(3); math.Abs(x-want) > 1e-15 {
			t.Fatalf("lane %d is %v, want %v", l, x, want)
		}
	}
	if s != same {
		t.Error("after a block the stream stands elsewhere")
	}
}

// The layers have equal areas and the uppermost closes at the top of the curve.
func TestLayersClose(t *testing.T) {
	z := &ziggurat
	for i := 1; i < layers; i++ {
		if area := z.x[i] * (z.density[i+1] - z.density[i]); math.Abs(area-layerArea) > 1e-10 {
			t.Errorf("layer %d has an area of %v, want %v", i, area, layerArea)
		}
	}
	below := tailBegins*math.Exp(-tailBegins*tailBegins/2) + math.Sqrt(math.Pi/2)*math.Erfc(tailBegins/math.Sqrt2)
	if math.Abs(below-layerArea) > 1e-10 {
		t.Errorf("the lowest layer with its tail has an area of %v, want %v", below, layerArea)
	}
}

func TestQuarterSine(t *testing.T) {
	for v := -1.0; v <= 1; v += 1.0 / 512 {
		if got, want := quarterSine(v), math.Sin(v*math.Pi/2); math.Abs(got-want) > 1e-13 {
			t.Errorf("at %v it is %v, want %v", v, got, want)
		}
	}
}

// standardised are the shapes with what is known of them: kurtosis, distribution
// function and half-width, for a standard deviation of 1.
var standardised = map[quantity.Shape]struct {
	kurtosis     float64
	distribution func(x float64) float64
}{
	quantity.Normal:      {3, func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }},
	quantity.Rectangular: {1.8, func(x float64) float64 { return (1 + x/math.Sqrt(3)) / 2 }},
	quantity.Triangular: {2.4, func(x float64) float64 {
		h := math.Sqrt(6)
		if x < 0 {
			return (1 + x/h) * (1 + x/h) / 2
		}
		return 1 - (1-x/h)*(1-x/h)/2
	}},
	quantity.Arcsine: {1.5, func(x float64) float64 { return 0.5 + math.Asin(x/math.Sqrt2)/math.Pi }},
}

// The draws of each shape have the moments and the distribution function that they
// should have, to five standard deviations of the test figure.
func TestDrawsFollowTheirShape(t *testing.T) {
	const blocks, cells = 8192, 200
	n := float64(blocks * lanes)
	for shape, want := range standardised {
		s := newSource(99, 0, uint64(shape))
		var b block
		var m1, m2, m4 float64
		var count [cells]float64
		beyond := 0.0
		for range blocks {
			s.draw(shape, 0, 1, &b)
			for _, x := range b {
				m1, m2, m4 = m1+x, m2+x*x, m4+x*x*x*x
				if h := shape.HalfWidth(); math.Abs(x) > h*(1+1e-12) {
					t.Fatalf("%v: %v lies outside of its half-width %v", shape, x, h)
				}
				p := want.distribution(x)
				count[min(max(int(p*cells), 0), cells-1)]++
				if math.Abs(x) > tailBegins {
					beyond++
				}
			}
		}
		check := func(what string, got, want, sd float64) {
			if math.Abs(got-want) > 5*sd {
				t.Errorf("%v: %s %v, want %v ± %v", shape, what, got, want, sd)
			}
		}
		check("mean", m1/n, 0, 1/math.Sqrt(n))
		check("variance", m2/n, 1, math.Sqrt((want.kurtosis-1)/n))
		check("kurtosis", m4/n, want.kurtosis, math.Sqrt(120/n)) // the normal one is the widest
		chi := 0.0
		for _, c := range count {
			e := n / cells
			chi += (c - e) * (c - e) / e
		}
		check("chi-square of 200 equal cells", chi, cells-1, math.Sqrt(2*(cells-1)))
		if shape == quantity.Normal {
			e := n * math.Erfc(tailBegins/math.Sqrt2)
			check("count in the tails", beyond, e, math.Sqrt(e))
		}
	}
}

// Streams of neighbouring unknowns, batches and seeds have nothing in common.
func TestStreamsAreIndependent(t *testing.T) {
	const blocks = 400
	n := float64(blocks * lanes)
	pairs := [][2]source{
		{newSource(1, 0, 0), newSource(1, 0, 1)}, {newSource(1, 0, 0), newSource(1, 1, 0)}, {newSource(1, 0, 0), newSource(2, 0, 0)},
		{newSource(0, 1, 2), newSource(0, 2, 1)}, {newSource(1, 0, 7), newSource(0, 1, 7)},
	}
	for i, p := range pairs {
		var a, b block
		r := 0.0
		for range blocks {
			p[0].draw(quantity.Normal, 0, 1, &a)
			p[1].draw(quantity.Normal, 0, 1, &b)
			for l := range a {
				r += a[l] * b[l]
			}
		}
		if r /= n; math.Abs(r) > 5/math.Sqrt(n) {
			t.Errorf("pair %d: correlation %v", i, r)
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	for shape := range standardised {
		b.Run(shape.String(), func(b *testing.B) {
			s := newSource(1, 1, 1)
			var out block
			for b.Loop() {
				s.draw(shape, 1, 2, &out)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/lanes, "ns/lane")
		})
	}
}
