package formula

import (
	"math"
	"math/bits"

	"buttonup/quantity"
)

// lanes is how many samples are computed side by side. A block of them is computed
// node by node, so that its values stay in the cache.
const lanes = 256

// block holds one value of a node for each lane.
type block [lanes]float64

// source is a stream of random numbers.
//
// Source: xoshiro256++, D. Blackman and S. Vigna, Scrambled linear pseudorandom
// number generators, ACM Transactions on Mathematical Software 47, 2021; from memory,
// checked against outputs of the authors' program.
type source struct{ a, b, c, d uint64 }

// newSource returns the stream of one unknown in one batch of samples. What an
// unknown draws therefore depends neither on who computes the batch nor on which
// formulas are asked for together, and two evaluations with one seed differ only by
// what was changed between them.
func newSource(seed, batch, unknown uint64) source {
	step := uint64(0x9e3779b97f4a7c15) // 2⁶⁴ over the golden ratio
	x := mix(seed + step)
	x = mix(x + step*(batch+1))
	x = mix(x + step*(unknown+1))
	return source{mix(x + step), mix(x + 2*step), mix(x + 3*step), mix(x + 4*step)}
}

// mix scatters the bits of x; no two x give one result.
//
// Source: the finaliser of SplitMix64, G. Steele, D. Lea and C. Flood, Fast splittable
// pseudorandom number generators, 2014; from memory.
func mix(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

func (s *source) next() uint64 {
	u := bits.RotateLeft64(s.a+s.d, 23) + s.a
	t := s.b << 17
	s.c ^= s.a
	s.d ^= s.b
	s.b ^= s.c
	s.a ^= s.d
	s.c ^= t
	s.d = bits.RotateLeft64(s.d, 45)
	return u
}

// unit returns a number above 0 and not above 1.
func (s *source) unit() float64 { return float64(s.next()>>11+1) * 0x1p-53 }

// draw fills a block with centre + u·ξ, where ξ has the shape, mean 0 and standard
// deviation 1.
//
// The loops hold the generator in local variables, which the compiler keeps in
// registers. The conversions to float64 keep machines that can multiply and add in
// one step from doing so, and with that the samples equal on all of them.
func (s *source) draw(shape quantity.Shape, centre, u float64, out *block) {
	switch shape {
	case quantity.Rectangular:
		s.rectangular(centre, u*math.Sqrt2*math.Sqrt(1.5)*0x1p-52, out)
	case quantity.Triangular:
		s.triangular(centre, u*math.Sqrt(6)*0x1p-32, out)
	case quantity.Arcsine:
		s.rectangular(0, 0x1p-52, out)
		k := u * math.Sqrt2
		for l, v := range out {
			out[l] = centre + float64(k*quarterSine(v))
		}
	default:
		s.normal(centre, u, out)
	}
}

func (s *source) rectangular(centre, k float64, out *block) {
	a, b, c, d := s.a, s.b, s.c, s.d
	for l := range out {
		u := bits.RotateLeft64(a+d, 23) + a
		t := b << 17
		c ^= a
		d ^= b
		b ^= c
		a ^= d
		c ^= t
		d = bits.RotateLeft64(d, 45)
		out[l] = centre + float64(k*float64(int64(u)>>11))
	}
	s.a, s.b, s.c, s.d = a, b, c, d
}

// triangular takes the difference of two numbers of 32 bits.
func (s *source) triangular(centre, k float64, out *block) {
	a, b, c, d := s.a, s.b, s.c, s.d
	for l := range out {
		u := bits.RotateLeft64(a+d, 23) + a
		t := b << 17
		c ^= a
		d ^= b
		b ^= c
		a ^= d
		c ^= t
		d = bits.RotateLeft64(d, 45)
		out[l] = centre + float64(k*float64(int64(u>>32)-int64(u&0xffffffff)))
	}
	s.a, s.b, s.c, s.d = a, b, c, d
}

// quarterSine is sin(v·π/2) for v between -1 and 1, by its series to the 19th power;
// the error is below 1e-13.
func quarterSine(v float64) float64 {
	x := v * (math.Pi / 2)
	q := x * x
	y := 1.0
	for _, k := range [...]float64{1. / 342, 1. / 272, 1. / 210, 1. / 156, 1. / 110, 1. / 72, 1. / 42, 1. / 20, 1. / 6} {
		y = 1 - float64(float64(y*q)*k) // k is 1/((n − 1)·n) for the power n
	}
	return x * y
}

// The normal distribution is cut into layers of equal area: layer i reaches from the
// middle to ziggurat.x[i] and in height from the density at x[i] to that at x[i+1];
// the lowest holds the tail too. Nearly always a point of a layer lies inside of the
// next one, and no density need be computed.
//
// Source: G. Marsaglia and W. W. Tsang, The ziggurat method for generating random
// variables, Journal of Statistical Software 5(8), 2000, with 256 layers; the method
// and the two constants from memory. That the layers close at the top is tested.
const (
	layers     = 256
	tailBegins = 3.6541528853610088
	layerArea  = 0.00492867323399
)

var ziggurat = func() (z struct {
	x, density [layers + 1]float64
	// width is that of a layer over 2⁵⁴, what a number of 55 bits is multiplied by.
	width [layers]float64
}) {
	f := func(x float64) float64 { return math.Exp(-x * x / 2) }
	z.x[0], z.x[1] = layerArea/f(tailBegins), tailBegins
	for i := 2; i < layers; i++ {
		z.x[i] = math.Sqrt(-2 * math.Log(layerArea/z.x[i-1]+f(z.x[i-1])))
	}
	for i := range z.x {
		z.density[i] = f(z.x[i])
	}
	for i := range z.width {
		z.width[i] = z.x[i] * 0x1p-54
	}
	return z
}()

func (s *source) normal(centre, k float64, out *block) {
	a, b, c, d := s.a, s.b, s.c, s.d
	for l := range out {
		u := bits.RotateLeft64(a+d, 23) + a
		t := b << 17
		c ^= a
		d ^= b
		b ^= c
		a ^= d
		c ^= t
		d = bits.RotateLeft64(d, 45)
		// The low 8 bits choose the layer, the high 55 the point in it.
		i := u & (layers - 1)
		x := float64(int64(u)>>9) * ziggurat.width[i]
		if math.Abs(x) >= ziggurat.x[i+1] {
			s.a, s.b, s.c, s.d = a, b, c, d
			x = s.edge(int(i), x)
			a, b, c, d = s.a, s.b, s.c, s.d
		}
		out[l] = centre + float64(k*x)
	}
	s.a, s.b, s.c, s.d = a, b, c, d
}

// edge decides on a point of layer i that does not lie inside of the next one: below
// the curve it counts, above it another is drawn.
func (s *source) edge(i int, x float64) float64 {
	for {
		if i == 0 {
			return s.tail(x < 0)
		}
		height := ziggurat.density[i] + s.unit()*(ziggurat.density[i+1]-ziggurat.density[i])
		if height < math.Exp(-x*x/2) {
			return x
		}
		u := s.next()
		i = int(u & (layers - 1))
		x = float64(int64(u)>>9) * ziggurat.width[i]
		if math.Abs(x) < ziggurat.x[i+1] {
			return x
		}
	}
}

// tail draws from beyond the layers.
func (s *source) tail(below bool) float64 {
	for {
		x := -math.Log(s.unit()) / tailBegins
		if -2*math.Log(s.unit()) >= x*x {
			if below {
				return -(tailBegins + x)
			}
			return tailBegins + x
		}
	}
}
