package catalogue

import (
	"fmt"
	"math"

	"buttonup/formula"
	"buttonup/mechanics/argument"
	"buttonup/mechanics/crank"
	"buttonup/mechanics/gear"
	"buttonup/mechanics/surface"
	"buttonup/quantity"
)

const (
	truing   = "geometry of two rigid wheels on one pin, docs/sources/crank.md"
	balance  = "the usual balancing relation. Seen: a workshop paper on balance factors and a textbook exercise"
	overWire = "over-wire formula of machinery handbooks. Seen: public files that use it for spur gears"
)

// diagnosed is one part of what two dials say.
func diagnosed(pick func(f crank.Fault) float64) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		f, err := crank.Diagnose(crank.Dial{TIR: l(a[0]), High: an(a[1])}, crank.Dial{TIR: l(a[2]), High: an(a[3])})
		return pick(f), err
	}
}

func dials() []formula.Argument {
	return []formula.Argument{length("left"), angle("left_angle"), length("right"), angle("right_angle")}
}

var crankEntries = []Entry{
	function("eccentricity", quantity.OfLength, "how far a shaft runs off its axis, half the total indicator reading", "definition of runout. Seen: a workshop manual that halves the reading",
		func(a []float64) (float64, error) { return of(crank.Eccentricity(l(a[0]))) }, length("tir")),
	function("crank_bow", quantity.OfLength, "how far the middle of a crank stands off the line of its ends, from two dials", truing,
		diagnosed(func(f crank.Fault) float64 { return float64(f.Bow.Size()) }), dials()...),
	function("crank_twist", quantity.OfLength, "part of the run-out that a wheel turned about the pin makes", truing,
		diagnosed(func(f crank.Fault) float64 { return float64(f.Twist) }), dials()...),
	function("crank_throw", quantity.OfLength, "part of the run-out that unequal throws make", truing,
		diagnosed(func(f crank.Fault) float64 { return float64(f.Throw) }), dials()...),
	function("end_play_growth", quantity.OfLength, "how much the housing outgrows the shaft along an end play", linearGrowth,
		func(a []float64) (float64, error) {
			return of(crank.EndPlayGrowth(crank.ThermalPath{Length: l(a[0]), Housing: ex(a[1]), HousingRise: dt(a[2]), Shaft: ex(a[3]), ShaftRise: dt(a[4])}))
		},
		length("length"), expansion("housing_expansion"), rise("housing_rise"), expansion("shaft_expansion"), rise("shaft_rise")),
	function("bob_weight", quantity.OfMass, "weight to hang on the crankpin for balancing", balance,
		func(a []float64) (float64, error) {
			b, err := crank.BobWeight(crank.Parts{Pistons: m(a[0]), SmallEnds: m(a[1]), BigEnds: m(a[2]), Cages: m(a[3])}, a[4])
			return float64(b.Weight), err
		},
		mass("pistons"), mass("small_ends"), mass("big_ends"), mass("cages"), number("factor")),
	function("balance_factor", quantity.OfNumber, "factor that an existing crank is balanced to", balance,
		func(a []float64) (float64, error) { return of(crank.BalanceFactor(m(a[0]), m(a[1]), m(a[2]))) },
		mass("hang"), mass("rotating"), mass("reciprocating")),
	function("counterweight", quantity.OfMass, "mass that at a radius balances the rotating and a share of the reciprocating mass", "Theory of Machines text. Seen: a stored answer page that works it",
		func(a []float64) (float64, error) {
			return of(crank.Counterweight(m(a[0]), m(a[1]), a[2], l(a[3]), l(a[4])))
		},
		mass("reciprocating"), mass("rotating"), number("factor"), length("throw"), length("radius")),
	function("permissible_unbalance", quantity.OfUnbalance, "residual unbalance that a grade allows; the grade as a speed, \"6.3 mm/s\" for G 6.3", "ISO 21940-11. Seen: the relation quoted in a public module and an article",
		func(a []float64) (float64, error) {
			r, err := crank.PermissibleUnbalance(crank.Grade(a[0]), m(a[1]), hz(a[2]))
			return float64(r.Permissible), err
		},
		formula.Argument{Name: "grade", Dimension: quantity.OfSpeed}, mass("mass"), frequency("speed")),
}

// toothed makes a gear. The teeth are a count: a formula that is differentiated by small
// steps finds no slope along it, as it should.
func toothed(teeth, module, pressureAngle, thinning, helix, shift float64) (gear.Gear, error) {
	z := math.Round(teeth)
	if !(math.Abs(z-teeth) <= 1e-9*z) || z < 3 || z > 10000 {
		return gear.Gear{}, argument.Refuse("teeth", fmt.Sprintf("teeth %v must be a whole number from 3 to 10000", teeth), "")
	}
	return gear.Gear{Teeth: int(z), Module: l(module), PressureAngle: an(pressureAngle), Thinning: l(thinning), Helix: an(helix), Shift: shift}, nil
}

// overPins takes teeth, module, pressure angle, pin, thinning, helix, shift.
func overPins(pick func(gear.PinSize) float64) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		g, err := toothed(a[0], a[1], a[2], a[4], a[5], a[6])
		if err != nil {
			return 0, err
		}
		s, err := gear.OverPins(g, l(a[3]))
		return pick(s), err
	}
}

func toothedArguments() []formula.Argument {
	return []formula.Argument{number("teeth"), length("module"), angle("pressure_angle"), length("pin"), or(length("thinning"), 0), or(angle("helix"), 0), or(number("shift"), 0)}
}

// pair takes the teeth of both gears first, then module and pressure angle.
func pair(a []float64, thinning, otherThinning float64) (pinion, wheel gear.Gear, err error) {
	if pinion, err = toothed(a[0], a[2], a[3], thinning, 0, 0); err != nil {
		return
	}
	wheel, err = toothed(a[1], a[2], a[3], otherThinning, 0, 0)
	return
}

var gearEntries = []Entry{
	function("over_pins", quantity.OfLength, "size of a gear over two pins", overWire, overPins(func(s gear.PinSize) float64 { return float64(s.Size) }), toothedArguments()...),
	function("over_pins_slope", quantity.OfNumber, "how much that size grows for a tooth that is thicker by one", overWire, overPins(func(s gear.PinSize) float64 { return s.Slope }), toothedArguments()...),
	function("tooth_thinning", quantity.OfLength, "how much each tooth is thinned, from the size over pins", "over_pins solved for the tooth thickness",
		func(a []float64) (float64, error) {
			g, err := toothed(a[0], a[1], a[2], 0, a[5], a[6])
			if err != nil {
				return 0, err
			}
			return of(gear.ThinningOverPins(g, l(a[3]), l(a[4])))
		},
		number("teeth"), length("module"), angle("pressure_angle"), length("pin"), length("size"), or(angle("helix"), 0), or(number("shift"), 0)),
	function("backlash", quantity.OfLength, "exact backlash of two spur gears at a centre distance", "involute geometry as in ISO 21771, not seen. Seen: a public page with a worked pair",
		func(a []float64) (float64, error) {
			pinion, wheel, err := pair(a, a[5], a[6])
			if err != nil {
				return 0, err
			}
			p, err := gear.Backlash(pinion, wheel, l(a[4]))
			return float64(p.Backlash), err
		},
		number("pinion_teeth"), number("wheel_teeth"), length("module"), angle("pressure_angle"), length("centres"), or(length("pinion_thinning"), 0), or(length("wheel_thinning"), 0)),
	function("backlash_change", quantity.OfLength, "change of backlash for a small change of the centre distance", "Elements of Metric Gear Technology, equation 14-3a. Seen: a stored page",
		func(a []float64) (float64, error) { return of(gear.BacklashRule(l(a[0]), an(a[1]))) },
		length("change"), angle("pressure_angle")),
	function("backlash_growth", quantity.OfLength, "how much the backlash of two spur gears grows from cold to hot", "slope of backlash and the coefficient of expansion; ours",
		func(a []float64) (float64, error) {
			pinion, wheel, err := pair(a, 0, 0)
			if err != nil {
				return 0, err
			}
			return of(gear.BacklashGrowth(pinion, wheel, l(a[4]), gear.Heat{
				Case: ex(a[5]), CaseRise: dt(a[6]), Pinion: ex(a[7]), PinionRise: dt(a[8]), Wheel: ex(a[9]), WheelRise: dt(a[10]),
			}))
		},
		number("pinion_teeth"), number("wheel_teeth"), length("module"), angle("pressure_angle"), length("centres"),
		expansion("case_expansion"), rise("case_rise"), expansion("pinion_expansion"), rise("pinion_rise"), expansion("wheel_expansion"), rise("wheel_rise")),
	function("gear_eccentricity", quantity.OfLength, "how far one gear would have to run off its axis to make a spread of backlash", "backlash_change; ours",
		func(a []float64) (float64, error) { return of(gear.Eccentricity(l(a[0]), an(a[1]))) },
		length("spread"), angle("pressure_angle")),
	function("open_share", quantity.OfNumber, "share of a round hole that another leaves open, their centres so far apart", "area of a lens; textbook, from memory",
		func(a []float64) (float64, error) { return of(surface.OpenShare(l(a[0]), l(a[1]), l(a[2]))) },
		length("hole"), length("over"), length("apart")),
	function("face_twist", quantity.OfLength, "twist of a face from four corner heights read walking round", "geometry; common practice, no published source",
		func(a []float64) (float64, error) { return of(surface.Twist(l(a[0]), l(a[1]), l(a[2]), l(a[3]))) },
		length("first"), length("second"), length("third"), length("fourth")),
}
