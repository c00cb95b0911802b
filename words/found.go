package words

import "buttonup/formula"

// Found says why the ± was found as it was; it is empty where the method was asked
// for.
func Found(r formula.Reason) string {
	switch r {
	case formula.Exact:
		return "nothing in the formula varies"
	case formula.Straight:
		return "the formula is a plain sum of its values"
	case formula.NearlyStraight:
		return "the formula bends too little within its ± to matter"
	case formula.Searched:
		return "the value is found by a search, whose ± is that at the place found"
	case formula.Kink:
		return "another branch of min, max, abs or clamp lies within the ±"
	case formula.Jump:
		return "a condition may turn within the ±"
	case formula.Bend:
		return "the formula bends within its ±"
	case formula.NoValue:
		return "somewhere within the ± the formula has no value"
	}
	return ""
}
