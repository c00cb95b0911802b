package measure

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// The probabilities of bounded shapes have closed forms: the areas under a rectangle,
// a triangle and an arcsine of half-width 1.
func TestConformanceOfShapes(t *testing.T) {
	limit := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		shape        quantity.Shape
		lower, upper *float64
		want         float64
	}{
		{quantity.Rectangular, nil, limit(0.5), 0.75},
		{quantity.Rectangular, limit(-0.5), limit(0.5), 0.5},
		{quantity.Rectangular, limit(-2), limit(1), 1},
		{quantity.Rectangular, limit(1), nil, 0},
		{quantity.Triangular, nil, limit(0.5), 1 - 0.125},
		{quantity.Triangular, limit(-0.5), limit(0.5), 0.75},
		{quantity.Arcsine, nil, limit(0.5), 0.5 + 1.0/6},
		{quantity.Arcsine, limit(-1), limit(0), 0.5},
	} {
		p, err := ConformanceOf(0, 1/c.shape.HalfWidth(), c.shape, math.Inf(1), c.lower, c.upper)
		if err != nil || math.Abs(p-c.want) > 1e-12 {
			t.Errorf("%v %v %v: %v %v, want %v", c.shape, c.lower, c.upper, p, err, c.want)
		}
	}
	// Student's t at one degree of freedom is the Cauchy distribution: 1/2 + atan(z)/π.
	p, err := ConformanceOf(0, 1, quantity.Normal, 1, nil, limit(1))
	if err != nil || math.Abs(p-0.75) > 1e-12 {
		t.Errorf("one degree of freedom: %v %v", p, err)
	}
	if p, _ := ConformanceOf(0, 1, quantity.Normal, math.Inf(1), nil, limit(1)); math.Abs(p-0.841344746) > 1e-9 {
		t.Errorf("normal: %v", p)
	}
	for _, bad := range []float64{0, -1, math.NaN()} {
		if _, err := ConformanceOf(0, 1, quantity.Normal, bad, nil, limit(1)); err == nil {
			t.Errorf("%v degrees of freedom are taken", bad)
		}
	}
	if _, err := ConformanceOf(0, 1, quantity.Rectangular, math.Inf(1), limit(2), limit(1)); err == nil {
		t.Error("limits the wrong way round are taken")
	}
}
