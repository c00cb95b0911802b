package joint

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// inchPound is one pound-force inch in N·m.
const inchPound quantity.Torque = 0.1129848290276167

// lockRow is a line of a table of self-locking nuts: size in inches, threads an inch and
// torque in inch-pounds.
type lockRow struct{ diameter, tpi, torque float64 }

// prevailingRows is AC 43.13-1B, table 7-2.
var prevailingRows = []lockRow{
	{7. / 16, 20, 8}, {1. / 2, 20, 10}, {9. / 16, 18, 13}, {5. / 8, 18, 18}, {3. / 4, 16, 27}, {7. / 8, 14, 40},
	{1, 14, 55}, {1 + 1./8, 12, 73}, {1 + 1./4, 12, 94},
	{7. / 16, 14, 8}, {1. / 2, 13, 10}, {9. / 16, 12, 14}, {5. / 8, 11, 20}, {3. / 4, 10, 27}, {7. / 8, 9, 40},
	{1, 8, 51}, {1 + 1./8, 8, 68}, {1 + 1./4, 8, 88},
}

// breakawayRows is TM 1-1500-204-23-6, table 2-8.
var breakawayRows = []lockRow{
	{5. / 16, 24, 6.5}, {3. / 8, 24, 9.5}, {7. / 16, 20, 14}, {1. / 2, 20, 18}, {9. / 16, 18, 24}, {5. / 8, 18, 32},
	{3. / 4, 16, 50}, {7. / 8, 14, 70}, {1, 12, 90}, {1 + 1./8, 12, 117}, {1 + 1./4, 12, 143}, {1 + 3./8, 12, 180},
	{1 + 1./2, 12, 210},
	{5. / 16, 18, 7.5}, {3. / 8, 16, 12}, {7. / 16, 14, 16.5}, {1. / 2, 13, 24}, {9. / 16, 12, 30}, {5. / 8, 11, 40},
	{3. / 4, 10, 60}, {7. / 8, 9, 82}, {1, 8, 110}, {1 + 1./8, 7, 137}, {1 + 1./4, 7, 165}, {1 + 3./8, 6, 200},
	{1 + 1./2, 6, 230}, {1 + 3./4, 5, 300},
}

func lockTorque(rows []lockRow, table string, t Thread) (quantity.Torque, error) {
	if err := t.check(); err != nil {
		return 0, err
	}
	if t.standard == UnifiedInch {
		for _, row := range rows {
			if same(row.diameter, float64(t.diameter)/0.0254) && row.tpi == t.tpi {
				return quantity.Torque(row.torque) * inchPound, nil
			}
		}
	}
	return 0, argument.Refuse("thread", table+" has no line for "+t.String(), "follow the maker of the nut; do not use a self-locking nut again that turns by the fingers")
}

// LeastPrevailing returns the least prevailing torque at which a used self-locking nut may
// be used again: what it takes to keep the nut turning before it seats.
//
// It is not the breakaway torque, which is more: see [LeastBreakaway]; never hold one
// against the other. An *[argument.Error] is returned for a thread that the table does not
// list; no value is interpolated.
//
// Source: FAA AC 43.13-1B (9/8/98), table 7-2. Seen: a stored web copy of the page.
func LeastPrevailing(t Thread) (quantity.Torque, error) {
	return lockTorque(prevailingRows, "table 7-2 of AC 43.13-1B", t)
}

// LeastBreakaway returns the least breakaway torque at which a used self-locking nut may be
// used again: what it takes to start the nut moving, on or off, with no load on it.
//
// It is not the prevailing torque, which is less: see [LeastPrevailing]. An
// *[argument.Error] is returned for a thread that the table does not list; for the sizes
// below 5/16 in the manual asks instead that the nut cannot be turned by the fingers.
//
// Source: TM 1-1500-204-23-6, table 2-8. Seen: a stored web copy of the page.
func LeastBreakaway(t Thread) (quantity.Torque, error) {
	return lockTorque(breakawayRows, "table 2-8 of TM 1-1500-204-23-6", t)
}

// TorqueWithDrag returns what the wrench must show when a nut drags: the torque wanted plus
// the drag that was read while the nut was run down.
//
//	T = wanted + drag
//
// wanted must be above zero and drag zero or more; an *[argument.Error] is returned
// otherwise.
//
// Source: FAA AC 43.13-1B, paragraph 7-40 d. Seen: a stored web copy of the page.
func TorqueWithDrag(wanted, drag quantity.Torque) (quantity.Torque, error) {
	if err := argument.First(argument.Positive("torque", wanted), argument.NotNegative("drag", drag)); err != nil {
		return 0, err
	}
	return argument.Result("torque", wanted+drag)
}
