package measure

import (
	"fmt"
	"math"

	"buttonup/quantity"
)

// ConformanceOf is [ConformanceProbability] for a value whose ± has a shape of its own
// or few degrees of freedom.
//
//	p_c = F((T_U − y)/u) − F((T_L − y)/u)
//
// F is the distribution function of the shape with mean 0 and standard deviation 1: of
// a rectangle, a triangle or an arcsine, which end √3, √6 and √2 standard
// uncertainties from the value. A normal ± with dof degrees of freedom below infinity
// is taken as a t-distribution of that many, scaled by u.
//
// ConformanceOf returns an error where ConformanceProbability does, and for degrees of
// freedom that are not above zero. It never returns NaN.
//
// Source: JCGM 106:2012, 7.1 (the probability is that of the distribution of the
// quantity, whatever it is); JCGM 101:2008, 6.4.2 to 6.4.6 (the shapes) and 6.4.9 (the
// t-distribution). Memory.
func ConformanceOf(value, standard float64, shape quantity.Shape, dof float64, lower, upper *float64) (float64, error) {
	if shape == quantity.Normal && math.IsInf(dof, 1) || standard == 0 {
		return ConformanceProbability(value, standard, lower, upper)
	}
	if err := checkDecision(value, "standard uncertainty", standard, lower, upper); err != nil {
		return 0, err
	}
	if err := checkDof(dof); err != nil {
		return 0, fmt.Errorf("degrees of freedom: %w", err)
	}
	below := func(limit *float64, none float64) float64 {
		if limit == nil {
			return none
		}
		z := (*limit - value) / standard
		if shape != quantity.Normal {
			return shapeCDF(z, shape)
		}
		p, _ := StudentCDF(z, dof)
		return p
	}
	return math.Max(0, below(upper, 1)-below(lower, 0)), nil
}

// shapeCDF is the distribution function of a bounded shape of standard deviation 1.
func shapeCDF(z float64, shape quantity.Shape) float64 {
	h := shape.HalfWidth()
	x := z / h // from −1 to 1
	switch {
	case x <= -1:
		return 0
	case x >= 1:
		return 1
	}
	switch shape {
	case quantity.Triangular:
		if x < 0 {
			return (1 + x) * (1 + x) / 2
		}
		return 1 - (1-x)*(1-x)/2
	case quantity.Arcsine:
		return 0.5 + math.Asin(x)/math.Pi
	}
	return (1 + x) / 2
}

// Reach returns the expanded uncertainty of a value whose ± has a shape: k = 2, but
// never more than a bounded shape reaches.
//
// Source: ours; beyond the ends of a shape lies nothing that a ± could guard against.
func Reach(standard float64, shape quantity.Shape) float64 {
	return standard * math.Min(Coverage, shape.HalfWidth())
}
