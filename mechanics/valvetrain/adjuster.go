package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// flatsPerTurn is the trade's count on a hexagon.
const flatsPerTurn = 6

// Adjustment is a length told in turns of an adjuster.
type Adjustment struct {
	// Turns and Flats are the same, exact: six flats are a turn.
	Turns, Flats float64
	// WholeFlats is the nearest whole number of flats and Gives the length that it
	// makes.
	WholeFlats int
	Gives      quantity.Length
}

// Turn returns the turns and flats of an adjuster that move it by a length.
//
//	turns = length/pitch    flats = 6·turns
//
// pitch is how far the adjuster moves in a turn: that of its thread, which should be
// measured over ten threads and not taken from the year of the engine, and the
// difference of two pitches for a differential thread. Count from zero lash, with the
// lifter on the base circle. A negative length gives negative turns.
//
// Turn returns an error unless pitch is above zero and the result below 10,000 turns. It
// never returns NaN.
//
// Source: definition; that six flats to the turn is the trade's unit: seen on a
// motorcycle forum page.
func Turn(length, pitch quantity.Length) (Adjustment, error) {
	var in inspection
	in.Number("length", lengths, float64(length))
	in.Above("pitch", lengths, float64(pitch))
	turns := float64(length) / float64(pitch)
	if math.Abs(turns) > 1e4 {
		in.Refuse("length, pitch", "length %s is more than 10000 turns of pitch %s", lengths.Text(float64(length)), lengths.Text(float64(pitch)))
	}
	if in.Err != nil {
		return Adjustment{}, in.Err
	}
	whole := math.Round(flatsPerTurn * turns)
	return Adjustment{
		Turns:      turns,
		Flats:      flatsPerTurn * turns,
		WholeFlats: int(whole),
		Gives:      quantity.Length(whole / flatsPerTurn * float64(pitch)),
	}, nil
}

// PitchOf returns the pitch of a thread from its threads per inch.
//
//	P = 25.4 mm/tpi
//
// PitchOf returns an error unless there are between 1 and 1,000 of them.
//
// Source: the inch by definition.
func PitchOf(threadsPerInch float64) (quantity.Length, error) {
	var in inspection
	in.Within("threads per inch", numbers, threadsPerInch, 1, 1000)
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Inches(1) / quantity.Length(threadsPerInch), nil
}

// PitchOver returns the pitch of a thread from the length over a number of threads, crest
// to crest.
//
// It returns an error unless length and threads are above zero.
//
// Source: definition.
func PitchOver(length quantity.Length, threads int) (quantity.Length, error) {
	var in inspection
	in.Above("length", lengths, float64(length))
	in.Within("threads", numbers, float64(threads), 1, 1000)
	if in.Err != nil {
		return 0, in.Err
	}
	return length / quantity.Length(threads), nil
}
