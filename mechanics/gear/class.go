package gear

import (
	"math"
	"strconv"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// ClassChoice is how many sizes to change a gear by.
type ClassChoice struct {
	// Steps is the number of classes: positive is larger over pins, with thicker
	// teeth and less backlash.
	Steps int
	// PerStep is how much one class changes the backlash.
	PerStep quantity.Length
	// Result is the least backlash to expect with the gear chosen.
	Result quantity.Length
}

// SelectClass returns by how many classes to change one gear of a pair so that its
// least backlash comes nearest the target.
//
//	per step = step/slope        steps = (least − target)/per step, rounded
//
// least is the least backlash found around the gear, step how much the classes
// differ over pins, slope the dM/ds of that gear ([OverPins]). Of two choices that
// are equally near, the one with more backlash is taken, and never one that leaves
// none: too little is heat and a ruined bearing, too much only noise. least may be
// zero or negative where the mesh was tight.
//
// SelectClass returns an error if target, step or slope is not above zero, if a value
// is not finite, and if more than 100 steps come out, which no set of gears has. It
// never returns NaN.
//
// Source: the slope of the over-pin size; common practice, no published source.
func SelectClass(least, target, step quantity.Length, slope float64) (ClassChoice, error) {
	if err := argument.First(argument.Finite("least", least), argument.Positive("target", target), argument.Positive("step", step), argument.Positive("slope", slope)); err != nil {
		return ClassChoice{}, err
	}
	c := ClassChoice{PerStep: step / quantity.Length(slope)}
	if err := argument.AllFinite("change per class", c.PerStep); err != nil {
		return ClassChoice{}, err
	}
	wanted := float64((least - target) / c.PerStep)
	if !(math.Abs(wanted) <= 100) {
		return ClassChoice{}, argument.Refuse("step", "to bring "+argument.Show(least)+" to "+argument.Show(target)+" takes "+strconv.FormatFloat(wanted, 'g', 4, 64)+" classes of "+argument.Show(step)+" over pins; 100 is the most", "check the units")
	}
	const noise = 1e-9 // a tie as written stays one after rounding
	c.Steps = int(math.Ceil(wanted - 0.5 - noise))
	for {
		c.Result = least - quantity.Length(c.Steps)*c.PerStep
		if err := argument.AllFinite("backlash", c.Result); err != nil {
			return ClassChoice{}, err
		}
		if c.Result > quantity.Length(noise)*c.PerStep {
			return c, nil
		}
		c.Steps--
	}
}

// Spread is what several backlash readings around a gear say together.
type Spread struct {
	// Least and Most are the smallest and the largest reading.
	Least, Most quantity.Length
	// Spread is the difference of the two.
	Spread quantity.Length
	// Eccentric is true where the spread is above the limit: a gear runs out, and no
	// choice of size can cure that.
	Eccentric bool
}

// JudgeSpread says whether backlash read at several places around the gear varies by
// more than limit.
//
// The readings are spaced evenly around one turn of the larger gear. Four places may
// miss the true extremes: where one gear runs out, four show at worst 0.71 of the
// whole. A spread on the limit is not eccentric. A reading may be negative where the mesh was tight. The
// readings are taken as exact; their ± is for the caller.
//
// JudgeSpread returns an error for fewer than four readings, if one is not finite, or
// if the limit is negative. It never returns NaN.
//
// Source: common practice, no published source.
func JudgeSpread(readings []quantity.Length, limit quantity.Length) (Spread, error) {
	if len(readings) < 4 {
		return Spread{}, argument.Refuse("readings", "readings at "+strconv.Itoa(len(readings))+" places must be at 4 or more", "read the backlash every quarter turn at least")
	}
	if err := argument.NotNegative("limit", limit); err != nil {
		return Spread{}, err
	}
	s := Spread{Least: readings[0], Most: readings[0]}
	for _, r := range readings {
		if err := argument.Finite("readings", r); err != nil {
			return Spread{}, err
		}
		s.Least, s.Most = min(s.Least, r), max(s.Most, r)
	}
	s.Spread = s.Most - s.Least
	if err := argument.AllFinite("spread", s.Spread); err != nil {
		return Spread{}, err
	}
	const noise = quantity.Length(1e-12)
	s.Eccentric = s.Spread > limit+noise
	return s, nil
}

// Eccentricity returns how far off its axis one gear would have to run to make a
// spread of backlash by itself.
//
//	e = spread/(4·tan φ)
//
// The teeth come nearer and go further by e, so the centre distance in effect swings
// by 2·e and the backlash by 2·tan φ times that. spread is the whole swing and φ the
// pressure angle. If both gears run out the figure is for the two together.
//
// Valid for φ from 5° to 60°. Eccentricity returns an error outside that or if spread
// is negative. It never returns NaN.
//
// Source: [BacklashRule]; ours.
func Eccentricity(spread quantity.Length, φ quantity.Angle) (quantity.Length, error) {
	const degree = math.Pi / 180
	if err := argument.First(argument.NotNegative("spread", spread), argument.Within("pressure angle", φ, 5*degree, 60*degree)); err != nil {
		return 0, err
	}
	return argument.Result("eccentricity", spread/quantity.Length(4*math.Tan(float64(φ))))
}
