package surface

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// OpenShare returns the share of a round hole that another round hole leaves open where
// the two faces lie on each other, such as the oil hole of a gasket over that of a case.
//
//	share = A/(π·r²),  A the lens that both circles hold:
//	A = r²·acos((d² + r² − R²)/(2·d·r)) + R²·acos((d² + R² − r²)/(2·d·R))
//	    − ½·√((−d + r + R)(d + r − R)(d − r + R)(d + r + R))
//
// r is half of hole, R half of over, d how far apart their centres are. A hole that lies
// wholly inside the other is open in full, and holes that do not meet give 0.
//
// OpenShare returns an *[argument.Error] if a diameter is not above zero or apart is
// negative. It never returns NaN.
//
// Source: area of a lens, textbook; memory, tested against counting points.
func OpenShare(hole, over, apart quantity.Length) (float64, error) {
	if err := argument.First(argument.Positive("hole", hole), argument.Positive("over", over), argument.NotNegative("apart", apart)); err != nil {
		return 0, err
	}
	r, R, d := float64(hole)/2, float64(over)/2, float64(apart)
	switch {
	case d >= r+R:
		return 0, nil
	case d+r <= R:
		return 1, nil
	case d+R <= r:
		return R * R / (r * r), nil
	}
	cosine := func(x float64) float64 { return math.Acos(math.Max(-1, math.Min(1, x))) }
	lens := r*r*cosine((d*d+r*r-R*R)/(2*d*r)) + R*R*cosine((d*d+R*R-r*r)/(2*d*R)) -
		math.Sqrt(math.Max(0, (-d+r+R)*(d+r-R)*(d-r+R)*(d+r+R)))/2
	return math.Max(0, math.Min(1, lens/(math.Pi*r*r))), nil
}
