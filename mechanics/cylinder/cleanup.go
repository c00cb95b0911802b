package cylinder

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// CleanUpBore returns the least finished bore at which a worn wall is sound all over.
//
//	bore = worst + 2·damage + 2·cut
//
// worst is the largest diameter read, damage how deep a score or pit goes into the wall
// there, cut what must come off each side besides. The next oversize that is not smaller
// is the step to bore to; [Reboring] chooses it from all walls of all barrels.
//
// CleanUpBore returns an error if worst is not above zero or the others are negative.
//
// Source: geometry; common practice, no published source.
func CleanUpBore(worst, damage, cut quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("worst", lengths, float64(worst))
	in.NotNegative("damage", lengths, float64(damage))
	in.NotNegative("cut", lengths, float64(cut))
	if in.Err != nil {
		return 0, in.Err
	}
	return worst + 2*damage + 2*cut, nil
}
