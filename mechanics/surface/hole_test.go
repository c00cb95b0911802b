package surface

import (
	"math"
	"testing"

	"buttonup/quantity"
)

func TestOpenShare(t *testing.T) {
	mm := func(x float64) quantity.Length { return quantity.Length(x * 1e-3) }
	// Counted on a grid of the first hole, 2,000 points across: another way to the area.
	count := func(hole, over, apart float64) float64 {
		in, both := 0, 0
		const n = 2000
		for i := range n {
			for k := range n {
				x, y := (2*(float64(i)+0.5)/n-1)*hole/2, (2*(float64(k)+0.5)/n-1)*hole/2
				if x*x+y*y > hole*hole/4 {
					continue
				}
				in++
				if (x-apart)*(x-apart)+y*y <= over*over/4 {
					both++
				}
			}
		}
		return float64(both) / float64(in)
	}
	for _, c := range [][3]float64{{3, 3, 0}, {3, 3, 1}, {3, 4, 0.7}, {4, 3, 0.2}, {4, 3, 1}, {3, 3, 2.9}, {3, 5, 1}, {3, 3, 3.1}} {
		got, err := OpenShare(mm(c[0]), mm(c[1]), mm(c[2]))
		if want := count(c[0], c[1], c[2]); err != nil || math.Abs(got-want) > 1e-3 {
			t.Errorf("%v: %v %v, counted %v", c, got, err, want)
		}
	}
	// Further apart is never more open.
	last := 1.0
	for d := 0.0; d < 4; d += 0.01 {
		x, _ := OpenShare(mm(3), mm(3.2), mm(d))
		if x > last+1e-12 {
			t.Fatalf("%v mm apart: %v after %v", d, x, last)
		}
		last = x
	}
	for _, bad := range [][3]float64{{0, 3, 1}, {3, 0, 1}, {3, 3, -1}, {math.NaN(), 3, 1}, {3, math.Inf(1), 1}} {
		if _, err := OpenShare(mm(bad[0]), mm(bad[1]), mm(bad[2])); err == nil {
			t.Errorf("%v is taken", bad)
		}
	}
}
