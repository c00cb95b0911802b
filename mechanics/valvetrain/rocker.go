package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Rocker is a rocker arm and how it stands at half the valve's lift.
type Rocker struct {
	// TipArm is from the shaft's axis to the middle of the tip's contact with the
	// valve, CupArm from the shaft's axis to the middle of the pushrod's ball.
	TipArm, CupArm quantity.Length
	// TipPast is how far, along the valve's stem, the tip has gone past the place
	// where its arm is square to the stem, at half lift; negative if it is not there
	// yet. The half-lift rule wants zero. CupPast is the same for the cup, along the
	// pushrod.
	TipPast, CupPast quantity.Length
}

// TipSweep returns how far the contact wanders across the end of the stem from shut to
// full lift.
//
//	sweep = √(a² − s²)|largest − √(a² − s²)|smallest    s from −lift/2 + e to lift/2 + e
//
// a is the arm from shaft to tip and e how far the tip is past square at half lift, of
// either sign. While the arm passes through square, |e| ≤ lift/2, this is
// a − √(a² − (lift/2 + |e|)²), which is least for e = 0. It takes the contact as a point
// at a fixed distance from the shaft; a rolling pad wanders less.
//
// TipSweep returns an error unless arm and lift are above zero and the arm is longer
// than lift/2 + |e|. It never returns NaN.
//
// Source: plane geometry; the half-lift rule is common practice, no published source.
func TipSweep(arm, lift, past quantity.Length) (quantity.Length, error) {
	var in inspection
	in.Above("arm", lengths, float64(arm))
	in.Above("lift", lengths, float64(lift))
	in.Number("past", lengths, float64(past))
	a, e, half := float64(arm), math.Abs(float64(past)), float64(lift)/2
	in.reaches("arm", "lift", a, half+e)
	if in.Err != nil {
		return 0, in.Err
	}
	far, near := half+e, max(0, e-half)
	// √(a² − near²) − √(a² − far²) without the loss of figures.
	return quantity.Length((far - near) * (far + near) / (math.Sqrt((a-near)*(a+near)) + math.Sqrt((a-far)*(a+far)))), nil
}

func (c *inspection) reaches(arm, lift string, a, needed float64) {
	if a <= needed {
		c.Refuse(arm+", "+lift, "%s %s must be longer than half the lift and the distance past square together, %s", arm, lengths.Text(a), lengths.Text(needed))
	}
}

// RockerState is a rocker at one valve lift.
type RockerState struct {
	ValveLift, TappetLift quantity.Length
	// Local is how fast the valve moves against the pushrod there, Mean how far it has
	// moved against the pushrod so far. A dial at both ends reads Mean.
	Local, Mean float64
	// Across is where the contact stands across the stem's end, from where it stands
	// with the arm square, towards the shaft.
	Across quantity.Length
}

// Ratio returns the ratio of the arms, which the rocker has where both arms are square.
//
//	R = a/b
//
// a is the arm to the tip, b that to the cup. Errors as in [Rocker.At].
//
// Source: law of the lever.
func (r Rocker) Ratio() (float64, error) {
	var in inspection
	in.Above("tip arm", lengths, float64(r.TipArm))
	in.Above("cup arm", lengths, float64(r.CupArm))
	if in.Err != nil {
		return 0, in.Err
	}
	return float64(r.TipArm / r.CupArm), nil
}

// At returns the rocker at shares of a valve's full lift, 0 for shut and 1 for full.
//
//	φ = asin(s/a)    s = v − lift/2 + e           v the valve's lift
//	ψ = asin(c/b) + φ(v) − φ(lift/2)
//	tappet lift = b·(sin ψ(v) − sin ψ(0))    local ratio = a·cos φ/(b·cos ψ)
//
// a and b are the arms, e and c how far tip and cup are past square at half lift. It
// takes pushrod and stem as moving straight along themselves and the contact as a point
// on the arm. The mean ratio at zero lift is the local one.
//
// At returns an error unless both arms and the lift are above zero, each arm is long
// enough for what it swings through, and every share is from 0 to 1. It never returns
// NaN.
//
// Source: plane geometry; own derivation.
func (r Rocker) At(lift quantity.Length, shares ...float64) ([]RockerState, error) {
	var in inspection
	in.Above("tip arm", lengths, float64(r.TipArm))
	in.Above("cup arm", lengths, float64(r.CupArm))
	in.Above("lift", lengths, float64(lift))
	in.Number("tip past", lengths, float64(r.TipPast))
	in.Number("cup past", lengths, float64(r.CupPast))
	for _, share := range shares {
		in.Within("share", numbers, share, 0, 1)
	}
	a, b := float64(r.TipArm), float64(r.CupArm)
	e, c, full := float64(r.TipPast), float64(r.CupPast), float64(lift)
	in.reaches("tip arm", "lift", a, full/2+math.Abs(e))
	if b <= math.Abs(c) {
		in.Refuse("cup arm, cup past", "cup arm %s must be longer than the cup is past square, %s", lengths.Text(b), lengths.Text(c))
	}
	if in.Err != nil {
		return nil, in.Err
	}
	half := math.Asin(e / a)
	cup := func(v float64) (tip, cup float64) {
		tip = math.Asin((v - full/2 + e) / a)
		return tip, math.Asin(c/b) + tip - half
	}
	_, shut := cup(0)
	if _, open := cup(full); shut <= -math.Pi/2 || open >= math.Pi/2 {
		in.Refuse("tip arm, cup arm, lift, cup past", "with tip arm %s, cup arm %s, lift %s and the cup %s past square the pushrod's side would swing past in line with the pushrod", lengths.Text(a), lengths.Text(b), lengths.Text(full), lengths.Text(c))
		return nil, in.Err
	}
	var states []RockerState
	for _, share := range shares {
		v := share * full
		tip, swing := cup(v)
		s := RockerState{
			ValveLift:  quantity.Length(v),
			TappetLift: quantity.Length(b * (math.Sin(swing) - math.Sin(shut))),
			Local:      a * math.Cos(tip) / (b * math.Cos(swing)),
			Across:     quantity.Length(2 * a * math.Pow(math.Sin(tip/2), 2)),
		}
		if s.Mean = s.Local; s.TappetLift > 0 {
			s.Mean = float64(s.ValveLift / s.TappetLift)
		}
		states = append(states, s)
	}
	return states, nil
}
