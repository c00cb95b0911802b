package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// RingGap returns the end gap that a rule of so much per bore asks for, cold.
//
//	gap = factor·B
//
// B is the bore and factor a plain number such as 0.0040, that is four thousandths of
// an inch per inch. The ring maker's sheet goes before any rule. RingGap returns an
// error unless the bore is above zero and the factor is above zero and at most 0.05. It
// never returns NaN.
//
// Source: rule of ring makers. Seen: a piston maker's ring-gap page and a hobby page.
func RingGap(bore quantity.Length, factor float64) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("factor", numbers, factor)
	in.Within("factor", numbers, factor, 0, 0.05)
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Length(factor * float64(bore)), nil
}

// Heat is how one thing grows: its coefficient of expansion, and how far it warms from
// the temperature at which it was measured.
type Heat struct {
	Expansion quantity.Expansion
	Rise      quantity.TemperatureDifference
}

func (h Heat) inspect(in *argument.Inspection, name string) {
	in.NotNegative(name+" metal", coefficients, float64(h.Expansion))
	in.Number(name+" rise", rises, float64(h.Rise))
}

// strain is the share by which it grows.
func (h Heat) strain() float64 { return float64(h.Expansion) * float64(h.Rise) }

// RingClosure returns by how much a ring's end gap closes when ring and bore warm.
//
//	closure = π·B·(αr·ΔTr − αb·ΔTb)
//
// B is the bore, αr and αb are the expansion coefficients of ring and barrel, ΔTr and
// ΔTb their rises. It takes the ring as round, its outside at the bore's size, and each
// as warm all round. It is negative when the gap opens.
//
// RingClosure returns an error if the bore is not above zero or a coefficient is below
// zero. It never returns NaN.
//
// Source: thermal growth of a circumference; own derivation.
func RingClosure(bore quantity.Length, ring, barrel Heat) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	ring.inspect(&in, "ring")
	barrel.inspect(&in, "bore")
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Length(math.Pi * float64(bore) * (ring.strain() - barrel.strain())), nil
}

// RingGapHot returns the end gap that is left when ring and bore are warm.
//
//	hot gap = gap − closure
//
// gap is the cold gap and closure as in [RingClosure]. A result of zero or less means
// that the ends butt, which breaks rings and scores bores; the number then says by how
// much the gap is too small.
//
// Errors as in [RingClosure], and for a gap below zero.
//
// Source: as [RingClosure].
func RingGapHot(gap, bore quantity.Length, ring, barrel Heat) (quantity.Length, error) {
	closure, err := RingClosure(bore, ring, barrel)
	if err != nil {
		return 0, err
	}
	var in argument.Inspection
	in.NotNegative("gap", lengths, float64(gap))
	if in.Err != nil {
		return 0, in.Err
	}
	return gap - closure, nil
}

// RingGapAt returns what an end gap becomes where the bore has another diameter.
//
//	gap there = gap + π·(D₂ − D₁)
//
// gap was measured square in a bore of diameter D₁, from; D₂, to, is the diameter at
// the other place. So a taper of 0.040 mm makes 0.126 mm of gap, and the difference of
// two gaps divided by π is a taper. The result is negative where the ends would butt.
//
// RingGapAt returns an error if the gap is below zero or a diameter is not above zero.
// It never returns NaN.
//
// Source: circumference of a circle; own derivation.
func RingGapAt(gap, from, to quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.NotNegative("gap", lengths, float64(gap))
	in.Above("from", lengths, float64(from))
	in.Above("to", lengths, float64(to))
	if in.Err != nil {
		return 0, in.Err
	}
	return gap + quantity.Length(math.Pi*float64(to-from)), nil
}

// TaperFromGaps returns the difference of two diameters from the end gaps that one ring
// has at the two places.
//
//	D₂ − D₁ = (gap₂ − gap₁)/π
//
// TaperFromGaps returns an error if a gap is below zero. It never returns NaN.
//
// Source: as [RingGapAt].
func TaperFromGaps(first, second quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.NotNegative("first gap", lengths, float64(first))
	in.NotNegative("second gap", lengths, float64(second))
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Length(float64(second-first) / math.Pi), nil
}
