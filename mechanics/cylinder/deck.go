package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Deck is where the crown stands at the top dead centre.
type Deck struct {
	// Height is how far the crown is below the top of the barrel on the pin axis,
	// negative if it stands proud.
	Height quantity.Length
	// Rock is half the difference of the two sides: what the piston leans.
	Rock quantity.Length
}

// DeckFromBridge returns the deck height from two readings at the top dead centre, one
// on each side of the crown on the axis of the pin, both positive when the crown is
// below the top of the barrel.
//
//	height = (a + b)/2    rock = |a − b|/2
//
// The mean takes out the lean of the piston on its pin. DeckFromBridge returns an error
// only for a reading that is no number or beyond belief.
//
// Source: common practice, no published source.
func DeckFromBridge(a, b quantity.Length) (Deck, error) {
	var in argument.Inspection
	in.Number("first reading", lengths, float64(a))
	in.Number("second reading", lengths, float64(b))
	if in.Err != nil {
		return Deck{}, in.Err
	}
	return Deck{Height: (a + b) / 2, Rock: quantity.Length(math.Abs(float64(a-b))) / 2}, nil
}

// Stack is what stands between the crank and the top of the barrel.
type Stack struct {
	// CaseDeck is from the crank's axis to the face that the barrel's gasket sits on.
	CaseDeck quantity.Length
	// BaseGasket is its thickness as crushed; zero for none.
	BaseGasket quantity.Length
	// Barrel is from its seat to its top face.
	Barrel quantity.Length
	// Rod is between the centres of the rod's eyes, Stroke twice the throw.
	Rod, Stroke quantity.Length
	// CompressionHeight is from the axis of the piston pin to the crown's edge.
	CompressionHeight quantity.Length
}

// Deck returns how far the crown will be below the top of the barrel at the top dead
// centre, negative if it will stand proud.
//
//	deck = case + gasket + barrel − S/2 − L − piston
//
// S is the stroke, L the rod, piston the compression height. It adds seven tolerances:
// measure the deck with a bridge before trusting it. With a piston pin that is set off
// the piston stands lower by up to d²/(2·(L + r)), which is left out.
//
// Deck returns an error if a size is not above zero (the gasket may be zero).
//
// Source: geometry; own derivation.
func (s Stack) Deck() (quantity.Length, error) {
	var in argument.Inspection
	in.Above("case deck", lengths, float64(s.CaseDeck))
	in.NotNegative("base gasket", lengths, float64(s.BaseGasket))
	in.Above("barrel", lengths, float64(s.Barrel))
	in.Above("rod", lengths, float64(s.Rod))
	in.Above("stroke", lengths, float64(s.Stroke))
	in.Above("compression height", lengths, float64(s.CompressionHeight))
	if in.Err != nil {
		return 0, in.Err
	}
	return s.CaseDeck + s.BaseGasket + s.Barrel - s.Stroke/2 - s.Rod - s.CompressionHeight, nil
}

// Squish returns the gap between the crown and the head's squish band, cold.
//
//	squish = deck + gasket
//
// gasket is the head gasket as crushed. A deck is negative when the crown stands proud;
// a result of zero or less means that piston and head meet. Hot and at speed the gap is
// smaller by what the rod stretches, by bearing clearance and by rock.
//
// Squish returns an error if the gasket is below zero.
//
// Source: common practice, no published source.
func Squish(deck, gasket quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Number("deck", lengths, float64(deck))
	in.NotNegative("gasket", lengths, float64(gasket))
	if in.Err != nil {
		return 0, in.Err
	}
	return deck + gasket, nil
}
