package crank

import (
	"fmt"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Sense says what a thicker spacer or shim does to the play. It belongs to the
// joint, never to the memory of the person who measures.
type Sense uint8

// The senses. The zero value is no sense and is refused.
const (
	// NoSense claims nothing.
	NoSense Sense = iota
	// ThickerMore: a thicker spacer gives more play, as between the inner races of a
	// taper pair.
	ThickerMore
	// ThickerLess: a thicker shim gives less play, as a thrust shim beside a cam.
	ThickerLess
)

// String returns the word that is written for the sense.
func (s Sense) String() string {
	switch s {
	case ThickerMore:
		return "thicker-more"
	case ThickerLess:
		return "thicker-less"
	}
	return "not given"
}

// ParseSense reads "thicker-more" or "thicker-less"; it returns an error for
// anything else.
func ParseSense(text string) (Sense, error) {
	for _, s := range []Sense{ThickerMore, ThickerLess} {
		if text == s.String() {
			return s, nil
		}
	}
	return NoSense, argument.Refuse("sense", fmt.Sprintf("sense %.40q is not known", text), "write thicker-more or thicker-less, whichever a thicker spacer does to the play of this joint")
}

func (s Sense) sign() quantity.Length {
	if s == ThickerLess {
		return -1
	}
	return 1
}

// Choice is the spacer that was chosen from a kit and the one after it.
type Choice struct {
	// Wanted is the thickness that would give the target exactly.
	Wanted quantity.Length
	// Spacer is the one to fit, Result the play it gives.
	Spacer, Result quantity.Length
	// Second is the next best of those that give a play within the limits, and
	// SecondResult the play it gives. HasSecond is false where there is only one.
	Second, SecondResult quantity.Length
	HasSecond            bool
}

// samePlay is how close two plays or sizes are to count as equal: far below what can
// be measured, far above the rounding of a float64, so that a kit size that lies on
// a limit or half way between two others is judged as written.
const samePlay = quantity.Length(1e-12)

// SelectSpacer chooses from a kit the spacer that sets an end play.
//
//	result = play + (spacer − trial)      thicker-more
//	result = play − (spacer − trial)      thicker-less
//
// trial is the thickness fitted while play was measured, target the play wanted, low
// and high the limits of the play (an end is allowed). Of the sizes whose result
// lies in low .. high the one nearest the target is chosen; where two are equally
// near, the one with less play. Sizes count once however often the kit holds them;
// kit is not changed and need not be sorted.
//
// The play must be above zero: with none to measure the bearing may be preloaded, by
// how much no dial can tell. low may be negative for a joint that is preloaded in
// the end. The formula takes the joint as stiff and as clamped as it will be when
// built: all of the gaskets crushed, rollers seated, at the temperature at which the
// limits hold ([EndPlayGrowth]).
//
// SelectSpacer returns an error if trial, play or a size is not above zero, if
// target is not within low .. high, if no sense is given, if the kit is empty, and
// if no size gives a play within the limits; that one says what the nearest gives.
// It never returns NaN.
//
// Source: common practice, no published source.
func SelectSpacer(trial, play, target, low, high quantity.Length, kit []quantity.Length, sense Sense) (Choice, error) {
	if err := argument.First(
		argument.Positive("trial", trial), argument.Finite("play", play), argument.Finite("target", target), argument.Finite("low", low), argument.Finite("high", high),
	); err != nil {
		return Choice{}, err
	}
	switch {
	case play <= 0:
		return Choice{}, argument.Refuse("play", "play "+argument.Show(play)+" must be above 0 mm: where there is none to measure there may be preload", "measure again with a spacer that leaves some play")
	case low > high:
		return Choice{}, argument.Refuse("low", "the limits "+argument.Show(low)+" .. "+argument.Show(high)+" run downwards", "write the smaller play first")
	case target < low-samePlay || target > high+samePlay:
		return Choice{}, argument.Refuse("target", "target "+argument.Show(target)+" must be from "+argument.Show(low)+" to "+argument.Show(high), "")
	case sense != ThickerMore && sense != ThickerLess:
		return Choice{}, argument.Refuse("sense", "it is not said whether a thicker spacer gives more play or less", "give thicker-more or thicker-less")
	case len(kit) == 0:
		return Choice{}, argument.Refuse("kit", "the kit holds no spacer", "give its sizes")
	}
	choice := Choice{Wanted: trial + sense.sign()*(target-play)}
	nearest := struct{ size, result quantity.Length }{}
	found := false
	for i, size := range kit {
		if err := argument.Positive("kit", size); err != nil {
			return Choice{}, err
		}
		result := play + sense.sign()*(size-trial)
		if i == 0 || nearer(result, nearest.result, target) {
			nearest.size, nearest.result = size, result
		}
		switch {
		case result < low-samePlay || result > high+samePlay:
		case !found:
			found, choice.Spacer, choice.Result = true, size, result
		case abs(size-choice.Spacer) <= samePlay || choice.HasSecond && abs(size-choice.Second) <= samePlay:
		case nearer(result, choice.Result, target):
			choice.HasSecond, choice.Second, choice.SecondResult = true, choice.Spacer, choice.Result
			choice.Spacer, choice.Result = size, result
		case !choice.HasSecond || nearer(result, choice.SecondResult, target):
			choice.HasSecond, choice.Second, choice.SecondResult = true, size, result
		}
	}
	if !found {
		return Choice{}, argument.Refuse("kit", "no spacer of the kit gives a play of "+argument.Show(low)+" .. "+argument.Show(high)+": the nearest, "+argument.Show(nearest.size)+", gives "+argument.Show(nearest.result),
			"the spacer wanted is "+argument.Show(choice.Wanted)+" thick; check trial, play and sense, or get another size")
	}
	if err := argument.AllFinite("play", choice.Wanted, choice.Result, choice.SecondResult); err != nil {
		return Choice{}, err
	}
	return choice, nil
}

// nearer reports whether play a is a better choice than play b.
func nearer(a, b, target quantity.Length) bool {
	da, db := abs(a-target), abs(b-target)
	if abs(da-db) <= samePlay {
		return a < b-samePlay
	}
	return da < db
}

// ThermalPath is what lies between the two ends of an end play as it warms up.
type ThermalPath struct {
	// Length is the length that counts: for a taper pair in one case half the
	// spacing of its races, for one bearing in each half the whole width between
	// them. It belongs to the joint's definition.
	Length quantity.Length
	// Housing and Shaft are the expansions of what holds the outer races and of
	// what carries the inner ones.
	Housing, Shaft quantity.Expansion
	// HousingRise and ShaftRise are how much each gets warmer.
	HousingRise, ShaftRise quantity.TemperatureDifference
}

// EndPlayGrowth returns how much the housing outgrows the shaft along an end play.
//
//	Δ = L·(αh·ΔTh − αs·ΔTs)
//
// L is the length in [ThermalPath], αh and αs the coefficients of housing and shaft,
// ΔTh and ΔTs their rises. A positive result adds to the play where the housing
// holds the shaft between two stops or outward-facing races, and takes from it where
// the races face inward. Play at temperature is the cold play plus or minus this.
//
// Valid for |rise| up to 1,000 K and coefficients from 0 to 1e-3 /K; the coefficient
// is the mean over the rise. EndPlayGrowth returns an error outside that, or if the
// length is not above zero. It never returns NaN.
//
// Source: the definition of the coefficient of linear expansion. Seen: materials
// tables that give it. Which length counts is common practice, no published source.
func EndPlayGrowth(p ThermalPath) (quantity.Length, error) {
	const hottest = quantity.TemperatureDifference(1000)
	if err := argument.First(
		argument.Positive("length", p.Length),
		argument.Within("housing expansion", p.Housing, 0, 1e-3), argument.Within("shaft expansion", p.Shaft, 0, 1e-3),
		argument.Within("housing rise", p.HousingRise, -hottest, hottest), argument.Within("shaft rise", p.ShaftRise, -hottest, hottest),
	); err != nil {
		return 0, err
	}
	strain := float64(p.Housing)*float64(p.HousingRise) - float64(p.Shaft)*float64(p.ShaftRise)
	growth := quantity.Length(float64(p.Length) * strain)
	return argument.Result("growth", growth)
}
