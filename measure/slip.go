package measure

import (
	"math"
	"slices"

	"buttonup/quantity"
)

// SlipKind says what a typed value looks like a slip of.
type SlipKind uint8

// The kinds of slip. NoSlip is the zero value.
const (
	NoSlip            SlipKind = iota
	InchForMillimetre          // inches were typed where millimetres are written
	MillimetreForInch          // millimetres were typed where inches are written
	ThousandTimes              // a thousand times too large: µm for mm, thou for inch, a lost point
	ThousandthOf               // a thousand times too small: mm for µm, inch for thou
	ThouForMillimetre          // thou were typed where millimetres are written
	HundredthForThou           // hundredths of a millimetre were typed where thou are written
	JumpToNeighbour            // far from the other cells of the same set
	FarOutside                 // far outside all that the limits allow
)

// Slip is a question about a value; it never changes one.
type Slip struct {
	Kind SlipKind
	// Meant is in SI what may have been meant; it stands only if HasMeant is set.
	Meant    float64
	HasMeant bool
	// Unit is the one in which the same figures give Meant, with the zero Symbol
	// where it is the typed unit with the point moved.
	Unit quantity.Unit
	// Neighbour is, for a jump, the other cell that lies nearest.
	Neighbour float64
}

// The factors that make a value worth a question, in widths of the span that the
// limits of the dimension leave (from the new band to the limit of wear).
//
// Source: ours, tuned on the demonstration journals: none of their readings is asked
// about, and a dial that is one turn out is.
const (
	// FarFactor is how far outside a value must lie to be asked about.
	FarFactor = 5
	// JumpFactor is how far from the nearest other cell of its set it must lie.
	JumpFactor = 1.5
	// nearFactor is how far outside what may have been meant may lie.
	nearFactor = 1
	// alike is the share by which cells of a set without limits may differ.
	alike = 0.1
)

// FindSlip looks at a value before it is kept and says whether it should be asked
// about, as a person would who knows the part.
//
// Value is in SI and unit the one it was typed in. Neighbours are the other readings
// of the same set in SI; there may be none. A value is asked about when it lies more
// than FarFactor widths of its limits outside them: if the same figures in another
// unit (25.4, 1000 and both together), or with the point moved by three places, lie
// near the limits, that is what may have been meant. A value that a neighbour agrees
// with is not asked about for being far. A value more than JumpFactor widths from
// every neighbour is a jump. Without limits the neighbours alone count, and a tenth
// of their size is near. NaN and infinities are FarOutside.
//
// FindSlip proves nothing: a value it does not ask about may be wrong, and one that
// it asks about may be right.
//
// Source: the factors 25.4 and 1000 are the definitions of inch, thou and µm; the
// widths are ours.
func FindSlip(value float64, unit quantity.Unit, l Limits, neighbours []float64) (Slip, bool) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return Slip{Kind: FarOutside}, true
	}
	low, high, width, ok := span(l)
	nearest, jump := nearestTo(value, neighbours)
	if !ok {
		if len(neighbours) == 0 {
			return Slip{}, false
		}
		sorted := slices.Clone(neighbours)
		slices.Sort(sorted)
		size := math.Abs(sorted[len(sorted)/2])
		low, high, width = sorted[0], sorted[len(sorted)-1], alike*size
		if width <= 0 {
			return Slip{}, false
		}
	}
	outside := func(x float64) float64 { return math.Max(math.Max(low-x, x-high), 0) / width }
	agrees := len(neighbours) > 0 && jump <= JumpFactor*width
	if outside(value) > FarFactor && !agrees {
		if s, found := otherUnit(value, unit, outside); found {
			return s, true
		}
		return Slip{Kind: FarOutside}, true
	}
	if len(neighbours) > 0 && !agrees {
		return Slip{Kind: JumpToNeighbour, Neighbour: nearest}, true
	}
	return Slip{}, false
}

// span returns the outermost ends of new band and limit and how far they lie apart;
// an end of zero is taken where a value cannot be negative.
func span(l Limits) (low, high, width float64, ok bool) {
	var ends []float64
	for _, r := range [2]quantity.Range{l.New, l.Limit} {
		if r.HasLow {
			ends = append(ends, r.Low)
		}
		if r.HasHigh {
			ends = append(ends, r.High)
		}
	}
	if len(ends) == 0 {
		return 0, 0, 0, false
	}
	low, high = slices.Min(ends), slices.Max(ends)
	if !l.New.HasLow && !l.Limit.HasLow && l.NonNegative {
		low = math.Min(low, 0)
	}
	width = high - low
	if width <= 0 {
		// One end alone: its own size is the only measure there is.
		width = math.Abs(high)
	}
	return low, high, width, width > 0
}

// SlipSpan returns what [FindSlip] measures a value against: the outermost ends of new
// band and limit and the width that counts. It is false where the limits leave nothing to
// go by, and the neighbours alone count.
//
// Source: ours; see FarFactor.
func SlipSpan(l Limits) (low, high, width float64, ok bool) { return span(l) }

func nearestTo(value float64, list []float64) (nearest, distance float64) {
	distance = math.Inf(1)
	for _, x := range list {
		if d := math.Abs(x - value); d < distance {
			nearest, distance = x, d
		}
	}
	return nearest, distance
}

// otherUnit looks for a reading of the same figures that lies near the limits, and
// takes the one that lies nearest, of equals the first.
func otherUnit(value float64, unit quantity.Unit, outside func(float64) float64) (Slip, bool) {
	type guess struct {
		kind   SlipKind
		symbol string
		factor float64
	}
	var guesses []guess
	switch unit.Symbol {
	case "mm":
		guesses = []guess{{InchForMillimetre, "in", 25.4}, {ThouForMillimetre, "thou", 25.4e-3}}
		if math.Abs(unit.In(value)) < 1000 { // above, the point was lost
			guesses = append(guesses, guess{ThousandTimes, "µm", 1e-3})
		}
	case "in":
		guesses = []guess{{MillimetreForInch, "mm", 1 / 25.4}, {ThousandTimes, "thou", 1e-3}}
	case "µm":
		guesses = []guess{{ThousandthOf, "mm", 1e3}}
	case "thou":
		guesses = []guess{{ThousandthOf, "in", 1e3}, {HundredthForThou, "", 10 / 25.4}}
	}
	guesses = append(guesses, guess{ThousandTimes, "", 1e-3}, guess{ThousandthOf, "", 1e3})
	best, found := Slip{}, false
	nearest := math.Inf(1)
	for _, g := range guesses {
		meant := value * g.factor
		if d := outside(meant); d <= nearFactor && d < nearest {
			best, found, nearest = Slip{Kind: g.kind, Meant: meant, HasMeant: true}, true, d
			if g.symbol != "" {
				best.Unit = quantity.MustUnit(g.symbol)
			}
		}
	}
	return best, found
}
