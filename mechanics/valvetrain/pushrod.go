package valvetrain

import (
	"fmt"
	"math"

	"buttonup/quantity"
)

// PushrodLength returns the length of pushrod that gives a preload.
//
//	L = L₀ + p
//
// L₀ is the length of a checking pushrod at zero lash, the lifter on the base circle and
// bled down or solid; p is the preload wanted. Both lengths must be gauged the same way:
// over the balls, or to a stated ball.
//
// PushrodLength returns an error unless L₀ and the result are above zero. It never
// returns NaN.
//
// Source: definition.
func PushrodLength(zeroLash, preload quantity.Length) (quantity.Length, error) {
	var in inspection
	in.Above("zero lash", lengths, float64(zeroLash))
	in.Number("preload", lengths, float64(preload))
	if zeroLash+preload <= 0 {
		in.Refuse("zero lash, preload", "zero-lash length %s and preload %s leave no pushrod", lengths.Text(float64(zeroLash)), lengths.Text(float64(preload)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return zeroLash + preload, nil
}

// NearestPushrod returns, of pushrods of fixed length, the one that comes nearest to a
// preload, and the preload that it gives. Of two equally near the shorter is taken: less
// preload leaves more travel.
//
//	preload = length − L₀
//
// L₀ as in [PushrodLength]. The preload that comes out may be far from the one wanted,
// or below zero, which is lash: judge it. NearestPushrod returns an error if there is no
// length to choose from or one is not above zero. It never returns NaN.
//
// Source: definition.
func NearestPushrod(zeroLash, preload quantity.Length, lengthsOffered []quantity.Length) (length, gives quantity.Length, err error) {
	var in inspection
	in.Above("zero lash", lengths, float64(zeroLash))
	in.Number("preload", lengths, float64(preload))
	if len(lengthsOffered) == 0 {
		in.Refuse("lengths", "there is no pushrod to choose from; give at least one length")
	}
	for _, l := range lengthsOffered {
		in.Above("length", lengths, float64(l))
	}
	if in.Err != nil {
		return 0, 0, in.Err
	}
	// Lengths that differ by less than a picometre in the miss are equally near.
	const same = 1e-12
	miss := math.Inf(1)
	for _, l := range lengthsOffered {
		m := math.Abs(float64(l - zeroLash - preload))
		if m < miss-same || m < miss+same && l < length {
			length, miss = l, min(m, miss)
		}
	}
	return length, length - zeroLash, nil
}

// StackChange is a kind of work that changes the preload.
type StackChange uint8

// The changes. Each amount counts in the direction that its name says.
const (
	BaseGasketThicker  StackChange = iota + 1 // the gasket under the barrel
	BarrelSkimmed                             // either face of the barrel
	HeadGasketThicker                         // as crushed
	HeadFaceSkimmed                           // the head's joint face
	SeatSunk                                  // the valve sits that much deeper in the head
	TipGround                                 // off the end of the valve's stem
	BaseCircleReduced                         // the radius of the cam's base circle
	RockerShaftLowered                        // towards the head, as by a skimmed box joint or a thinner box gasket
	RockerBushWorn                            // the depth of wear on the loaded side
)

var changeNames = map[StackChange]string{
	BaseGasketThicker: "base gasket thicker", BarrelSkimmed: "barrel skimmed",
	HeadGasketThicker: "head gasket thicker", HeadFaceSkimmed: "head face skimmed",
	SeatSunk: "seat sunk", TipGround: "tip ground", BaseCircleReduced: "base circle reduced",
	RockerShaftLowered: "rocker shaft lowered", RockerBushWorn: "rocker bush worn",
}

// String names the change.
func (c StackChange) String() string {
	if name, ok := changeNames[c]; ok {
		return name
	}
	return fmt.Sprintf("change %d", uint8(c))
}

// PreloadPer returns by how much the preload changes per amount of a change.
//
//	base gasket thicker, head gasket thicker        −1
//	barrel skimmed, head face skimmed               +1
//	seat sunk                                       +1/R
//	tip ground                                      −1/R
//	base circle reduced (on the radius)             −1
//	rocker shaft lowered towards the head           +(1 + 1/R)
//	rocker bush worn (depth on the loaded side)     −(1 + 1/R)
//
// R is the rocker ratio, valve lift over tappet lift. What moves barrel, head and all
// acts once. What moves the stem's tip alone tips the rocker about its shaft and acts by
// 1/R at the cup. What moves the shaft alone does both: the cup goes with the shaft, and
// the rocker tips about the valve besides. That 1 + 1/R is close to R when R is near the
// golden ratio, 1.618, is a coincidence and no rule. A thicker rocker-box gasket is a
// shaft lowered by a negative amount. All are for small amounts, near the half-lift
// position.
//
// PreloadPer returns an error for a ratio that is not above zero or over 10, and for an
// unknown change. It never returns NaN.
//
// Source: geometry of the lever; own derivation.
func (c StackChange) PreloadPer(ratio float64) (float64, error) {
	var in inspection
	in.Above("ratio", numbers, ratio)
	in.Within("ratio", numbers, ratio, 0, 10)
	if _, ok := changeNames[c]; !ok {
		in.Refuse("change", "%s is not known", c)
	}
	if in.Err != nil {
		return 0, in.Err
	}
	switch c {
	case BarrelSkimmed, HeadFaceSkimmed:
		return 1, nil
	case SeatSunk:
		return 1 / ratio, nil
	case TipGround:
		return -1 / ratio, nil
	case RockerShaftLowered:
		return 1 + 1/ratio, nil
	case RockerBushWorn:
		return -(1 + 1/ratio), nil
	}
	return -1, nil
}

// Change is a change and its amount.
type Change struct {
	Kind   StackChange
	Amount quantity.Length
}

// PreloadChange returns by how much a set of changes raises the preload; the pushrod
// must be shorter by that to keep it.
//
//	Δp = Σ PreloadPer(R)·amount
//
// An amount may be negative for the opposite of what its name says. Errors as in
// [StackChange.PreloadPer]. It never returns NaN.
//
// Source: as [StackChange.PreloadPer].
func PreloadChange(ratio float64, changes ...Change) (quantity.Length, error) {
	var sum float64
	var in inspection
	in.Above("ratio", numbers, ratio)
	for _, c := range changes {
		in.Number(c.Kind.String(), lengths, float64(c.Amount))
		if in.Err != nil {
			break
		}
		per, err := c.Kind.PreloadPer(ratio)
		if err != nil {
			return 0, err
		}
		sum += per * float64(c.Amount)
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Length(sum), nil
}
