package cylinder

import (
	"fmt"
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Bore holds the diameters read in one barrel: a row for each height, from the top
// down, and in each row a column for each axis, always in the same order.
type Bore [][]quantity.Length

// Shape is what the readings of a [Bore] say about its form. Heights and axes are
// counted from zero.
type Shape struct {
	// Largest and Smallest are the extreme readings and where they were taken.
	Largest, Smallest            quantity.Length
	LargestHeight, LargestAxis   int
	SmallestHeight, SmallestAxis int
	// Ovality is the largest difference between the axes at one height, and where.
	Ovality       quantity.Length
	OvalityHeight int
	// Taper is the first reading less the last on the axis where that is largest in
	// size, and which: positive when the bore is wider at the top, negative when it is
	// narrower there. A barrel may be made with a choke, so the sign matters.
	Taper     quantity.Length
	TaperAxis int
}

// Shape returns extremes, ovality and taper.
//
//	ovality = max over heights of (largest − smallest reading at that height)
//	taper   = top − bottom reading, on the axis where |top − bottom| is largest
//
// Of equal values the one read first, from the top, is named. Shape returns an error if
// there are fewer than two heights or two axes, if a row has another length than the
// first, or if a reading is not above zero. It never returns NaN. The readings are not
// kept or changed.
//
// Source: definitions of a diesel maker's service manual: roundness as the greatest
// difference at one height, the other as the greatest along one axis. Seen: pages of the
// manual, as noted down; that taper is top less bottom with its sign is ours.
func (b Bore) Shape() (Shape, error) {
	var in argument.Inspection
	if len(b) < 2 {
		in.Refuse("bore", "the bore was read at %d heights; ovality and taper need at least 2", len(b))
		return Shape{}, in.Err
	}
	axes := len(b[0])
	if axes < 2 {
		in.Refuse("bore", "the bore was read on %d axes; ovality and taper need at least 2", axes)
		return Shape{}, in.Err
	}
	for i, row := range b {
		if len(row) != axes {
			in.Refuse("bore", "the bore has %d readings at height %d and %d at height 1; every height needs the same axes", len(row), i+1, axes)
		}
		for j, d := range row {
			in.Above(fmt.Sprintf("bore at height %d axis %d", i+1, j+1), lengths, float64(d))
		}
	}
	if in.Err != nil {
		return Shape{}, in.Err
	}
	s := Shape{Largest: b[0][0], Smallest: b[0][0]}
	for i, row := range b {
		low, high := row[0], row[0]
		for j, d := range row {
			low, high = min(low, d), max(high, d)
			if d > s.Largest {
				s.Largest, s.LargestHeight, s.LargestAxis = d, i, j
			}
			if d < s.Smallest {
				s.Smallest, s.SmallestHeight, s.SmallestAxis = d, i, j
			}
		}
		if high-low > s.Ovality {
			s.Ovality, s.OvalityHeight = high-low, i
		}
	}
	for j := range axes {
		if t := b[0][j] - b[len(b)-1][j]; math.Abs(float64(t)) > math.Abs(float64(s.Taper)) {
			s.Taper, s.TaperAxis = t, j
		}
	}
	return s, nil
}

// WearStep returns the height of the step that the rings have left: half the difference
// of the diameters just below and just above it.
//
//	step = (worn − unworn)/2
//
// worn is the largest diameter in the rings' path, unworn the diameter above it, where
// no ring goes. A negative result means that the two readings are the wrong way round,
// or that the lip holds carbon. WearStep returns an error if a diameter is not above
// zero.
//
// Source: geometry; common practice, no published source.
func WearStep(worn, unworn quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("worn", lengths, float64(worn))
	in.Above("unworn", lengths, float64(unworn))
	if in.Err != nil {
		return 0, in.Err
	}
	return (worn - unworn) / 2, nil
}

// LinerLeft returns the wall of a liner that is left at a bore.
//
//	wall = (outside − bore)/2
//
// It takes bore and outside as concentric. LinerLeft returns an error if a diameter is
// not above zero or if the bore is not smaller than the outside.
//
// Source: geometry.
func LinerLeft(outside, bore quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("outside", lengths, float64(outside))
	in.Above("bore", lengths, float64(bore))
	if bore >= outside {
		in.Refuse("bore, outside", "bore %s must be smaller than the liner's outside %s", lengths.Text(float64(bore)), lengths.Text(float64(outside)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return (outside - bore) / 2, nil
}
