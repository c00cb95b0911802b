package gear

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Inv returns the involute function.
//
//	inv φ = tan φ − φ
//
// φ is a pressure angle; the result is an angle in radians, as a plain number. Below
// 6° the difference is taken from its series, because tan φ and φ agree in most of
// their digits there. The relative error stays below 1e-13.
//
// Valid for 0 ≤ φ < 90°. Inv returns an error outside that. It never returns NaN.
//
// Source: the definition; gear handbooks tabulate it. Seen: pages that print inv 20°
// and, quoting ISO 21771, four pairs to ten decimals.
func Inv(φ quantity.Angle) (float64, error) {
	if !(φ >= 0 && φ < math.Pi/2) {
		return 0, argument.Refuse("angle", "angle "+argument.Show(φ)+" must be from 0 deg to less than 90 deg", "")
	}
	return inv(float64(φ)), nil
}

func inv(φ float64) float64 {
	if φ >= 0.1 {
		return math.Tan(φ) - φ
	}
	// The Taylor series of tan without its first term; at 0.1 the next term is below
	// 1e-16 of the sum.
	φ2 := φ * φ
	series := 0.0
	for _, c := range [...]float64{929569. / 638512875, 21844. / 6081075, 1382. / 155925, 62. / 2835, 17. / 315, 2. / 15, 1. / 3} {
		series = series*φ2 + c
	}
	return series * φ2 * φ
}

// InverseInv returns the pressure angle whose involute function is y.
//
// It solves tan φ − φ = y by Newton's rule. The smaller of the two bounds (3·y)^⅓ and
// atan(y + π/2) lies above the root, and on a rising hollow curve the rule then comes
// down to the root without overshooting.
//
// Valid for 0 ≤ y ≤ 1,000, which is up to 89.94°. InverseInv returns an error outside
// that. It never returns NaN.
//
// Source: both bounds follow from tan φ − φ ≥ φ³/3 and φ < π/2; ours.
func InverseInv(y float64) (quantity.Angle, error) {
	if err := argument.Within("involute", y, 0, 1000); err != nil {
		return 0, err
	}
	return quantity.Angle(inverseInv(y)), nil
}

func inverseInv(y float64) float64 {
	if y == 0 {
		return 0
	}
	φ := min(math.Cbrt(3*y), math.Atan(y+math.Pi/2))
	for range 50 {
		t := math.Tan(φ)
		next := φ - (inv(φ)-y)/(t*t)
		if !(next < φ) || next <= 0 {
			break // the steps have reached the last digit
		}
		φ = next
	}
	return φ
}
