package calc

import (
	"math"

	"buttonup/mechanics/joint"
	"buttonup/mechanics/valvetrain"
	"buttonup/quantity"
)

// turn is a whole turn in radians.
const turn = 2 * math.Pi

var wrenchCalculations = []*Calculation{
	{
		Name:    "adapter",
		Summary: "what to set a wrench to that works through an adapter",
		About: []string{
			"It holds only while the hand pulls at the mark of the grip, and not with a pipe on the handle. A manual that prints the length at an angle as a product of A and L is wrong: it is a sum, setting = T·L/(L + A·cos γ).",
		},
		Source: "statics; TM 1-1500-204-23-9, figure 8-16, and TM 9-254, figures 45 and 46. Seen",
		Arguments: []Argument{
			torque("torque", "torque wanted at the nut"),
			size("wrench", "from the middle of the grip to the middle of the drive"),
			amount("offset", "from the middle of the drive to the middle of the nut").or("0 mm"),
			angle("angle", "between the adapter and the line of the wrench: 0 deg lengthens, 90 deg changes nothing, 180 deg shortens", anyAngle).or("0 deg"),
		},
		Outputs: []Output{
			{Name: "setting", Is: "what the wrench is set to", Needs: [][]string{{"torque", "wrench"}}},
			{Name: "factor", Is: "setting over torque", Needs: [][]string{{"wrench"}}},
		},
		Example:     []string{"torque=300 in-lb", "wrench=10 in", "offset=4 in"},
		ExampleFrom: "TM 1-1500-204-23-9 prints 214 lbf·in",
		compute:     adapter,
	},
	{
		Name:    "wrench-mark",
		Summary: "the nearest mark of a wrench to a torque",
		About: []string{
			"Marks are whole multiples of the graduation within the scale; of two equally near the smaller is taken. `error` is mark over torque less one, as a plain number that is read in per cent. `warning` is `none`, or says that the torque lies under 20 % of the largest mark, below the smallest mark or over the range.",
			"Bare numbers of `wrench_min`, `wrench_max` and `graduation` are in `unit`; the torque always carries its own. Without `wrench_max` there is a mark and no warning; without `wrench_min` the scale begins at its first mark.",
		},
		Source: "nearest graduation is plain arithmetic; the 20 % is common practice, no published source",
		Arguments: []Argument{
			torque("torque", "torque wanted"),
			wrenchArgument("wrench_min", "smallest mark", 0).or("0 N·m"),
			wrenchArgument("wrench_max", "largest mark", leastTorque),
			wrenchArgument("graduation", "from mark to mark", leastTorque),
			{Name: "unit", Is: "unit of the scale, in which the mark is told", form: unitName, dimension: quantity.OfTorque},
		},
		Outputs: []Output{
			{Name: "mark", Is: "where to set it", Needs: [][]string{{"torque", "graduation"}}},
			{Name: "error", Is: "mark over torque less one", Needs: [][]string{{"torque", "graduation"}}},
			{Name: "warning", Is: "what is wrong with this wrench for the torque", Needs: [][]string{{"torque", "graduation", "wrench_max"}}},
		},
		Example:     []string{"torque=43 N·m", "wrench_min=5 ft-lb", "wrench_max=75 ft-lb", "graduation=0.5 ft-lb"},
		ExampleFrom: "plain arithmetic",
		compute:     wrenchMark,
	},
	{
		Name:    "turns",
		Summary: "turns and flats of an adjuster that make a length",
		About: []string{
			"`turns` and `flats` are counts, plain numbers; six flats of a hexagon are a turn. A negative length turns back. Count from zero lash with the lifter on the base circle, and measure the pitch over ten threads.",
		},
		Source: "screw geometry; six flats a turn is the trade unit, seen on a motorcycle forum page",
		Arguments: []Argument{
			distance("length", "how far the adjuster is to move"),
			{Name: "pitch", Is: "how far it moves in a turn", form: value, dimension: quantity.OfLength, span: span{high: 1, aboveLow: true, least: 1e-6}},
			{Name: "tpi", Is: "threads per inch, instead of the pitch", form: perInch, span: span{low: 1, high: 1000}},
		},
		Outputs: []Output{
			{Name: "turns", Is: "turns", Needs: [][]string{{"length", "pitch"}, {"length", "tpi"}}},
			{Name: "flats", Is: "flats of a hexagon", Needs: [][]string{{"length", "pitch"}, {"length", "tpi"}}},
			{Name: "whole_flats", Is: "the nearest whole number of flats", Needs: [][]string{{"length", "pitch"}, {"length", "tpi"}}, Beside: true},
			{Name: "gives", Is: "the length that those make", Needs: [][]string{{"length", "pitch"}, {"length", "tpi"}}, Beside: true},
		},
		Example:     []string{"length=2.20 mm", "tpi=32"},
		ExampleFrom: "the demo engine (invented)",
		prepare: func(in *inputs) error {
			if in.given("pitch") && in.given("tpi") {
				return in.conflict("the pitch", "pitch", "tpi")
			}
			return nil
		},
		compute: turns,
	},
}

func wrenchArgument(name, is string, least float64) Argument {
	a := torque(name, is)
	a.bareIn = "unit"
	if least == 0 {
		a.span = span{low: 0, high: mostTorque}
	}
	return a
}

func adapter(in *inputs, out *Answer) error {
	given, wanted := in.given("torque"), quantity.Torque(1)
	if given {
		wanted = in.torque("torque")
	}
	setting, factor, err := joint.AdapterSetting(wanted, in.length("wrench"), in.length("offset"), in.angle("angle"))
	if err != nil {
		return in.together(err, "wrench", "offset", "angle")
	}
	if given {
		out.value("setting", float64(setting), in.unit(quantity.OfTorque, "torque"))
	}
	out.number("factor", factor, 4)
	if !in.given("offset") {
		out.note("without an offset the wrench is set to the torque itself")
	}
	return nil
}

func wrenchMark(in *inputs, out *Answer) error {
	torque, low, step := in.torque("torque"), in.torque("wrench_min"), in.torque("graduation")
	ranged := in.given("wrench_max")
	high := in.torque("wrench_max")
	if !ranged {
		// A scale without an end that is known: long enough for the torque.
		high = low + 2*torque + 2*step
	}
	if ranged && low >= high {
		return in.impossible([]string{"wrench_min", "wrench_max"}, "wrench_min "+in.text("wrench_min")+" must be below wrench_max "+in.text("wrench_max"), "")
	}
	if float64(high/step) > 1e6 {
		return in.impossible([]string{"graduation", "wrench_max", "torque"}, "graduation "+in.text("graduation")+" puts more than a million marks on the scale", "check its unit")
	}
	m, err := joint.WrenchMark(torque, low, high, step)
	if err != nil {
		return in.together(err, "graduation", "wrench_min", "wrench_max")
	}
	u, ok := in.unitOf("unit")
	if !ok {
		u = in.unit(quantity.OfTorque, "graduation")
	}
	out.value("mark", float64(m.Torque), u)
	out.percent("error", m.Error, 2)
	if !ranged {
		out.note("the range of the wrench is not given, so nothing is said of it")
		return nil
	}
	warning := m.Warning.String()
	if warning == "" {
		warning = "none"
	}
	out.word("warning", warning)
	return nil
}

func turns(in *inputs, out *Answer) error {
	pitch, by := in.length("pitch"), "pitch"
	if in.given("tpi") {
		var err error
		if pitch, err = valvetrain.PitchOf(in.si("tpi")); err != nil {
			return err
		}
		by = "tpi"
	}
	a, err := valvetrain.Turn(in.length("length"), pitch)
	if err != nil {
		return in.together(err, "length", by)
	}
	out.number("turns", a.Turns, 2)
	out.number("flats", a.Flats, 2)
	out.number("whole_flats", float64(a.WholeFlats), 0)
	out.value("gives", float64(a.Gives), in.unit(quantity.OfLength, "length"))
	return nil
}
