package joint

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Growth returns how much a length grows when it warms.
//
//	Δ = L·α·ΔT
//
// L is the length, α the coefficient of linear expansion, ΔT the rise
// (negative when it cools). Coefficients are tabled near room temperature and
// rise with it; use the mean over the range where it is known.
//
// length must be zero or more and every value finite; an *[argument.Error] is returned
// otherwise.
//
// Source: definition of the coefficient.
func Growth(length quantity.Length, coefficient quantity.Expansion, rise quantity.TemperatureDifference) (quantity.Length, error) {
	if err := argument.First(argument.NotNegative("length", length), argument.Finite("coefficient", coefficient), argument.Finite("rise", rise)); err != nil {
		return 0, err
	}
	return argument.Result("growth", quantity.Length(float64(length)*float64(coefficient)*float64(rise)))
}

// GrowthDifference returns how much more the clamped parts grow than the bolt over one
// grip, both at one temperature.
//
//	Δ = L·(αm − αb)·ΔT
//
// αm is the coefficient of the parts and αb that of the bolt. It is above zero for
// aluminium parts on a steel stud that warm up, and tightens the joint: see
// [PreloadChange]. For parts of several metals or temperatures add their [Growth] and take
// off the bolt's. Range and errors are those of Growth.
//
// Source: definition of the coefficient.
func GrowthDifference(length quantity.Length, members, bolt quantity.Expansion, rise quantity.TemperatureDifference) (quantity.Length, error) {
	if err := argument.First(argument.NotNegative("length", length), argument.Finite("coefficient of the parts", members), argument.Finite("coefficient of the bolt", bolt), argument.Finite("rise", rise)); err != nil {
		return 0, err
	}
	return argument.Result("growth", quantity.Length(float64(length)*float64(members-bolt)*float64(rise)))
}
