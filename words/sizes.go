package words

import (
	"math"

	"buttonup/assess"
	"buttonup/quantity"
)

// SizeOff says the size of a part, and how far it is from what is wanted.
func SizeOff(size quantity.Quantity, wanted *assess.Result, s quantity.System) string {
	u, decimals := UnitIn(wanted.Unit, max(wanted.Decimals, 0), s)
	says := u.Text(size.SI, decimals)
	off := size.SI - wanted.Value
	switch text := quantity.FormatNumber(math.Abs(u.InDifference(off)), decimals); {
	case math.Abs(u.InDifference(off)) < math.Pow(10, -float64(decimals))/2:
		return says + ", as wanted"
	case off > 0:
		return says + ", " + text + " over"
	default:
		return says + ", " + text + " under"
	}
}
