package calc

import (
	"fmt"
	"math"
	"strings"

	"buttonup/mechanics/crank"
	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

// fullTurn is an angle on a wheel that may be read either way round.
var fullTurn = degrees(-360, 360)

// shares is the range of a balance factor.
var shares = span{low: 0, high: 1}

var crankCalculations = []*Calculation{
	{
		Name:    "end-play",
		Summary: "the spacer of a kit that sets an end play",
		About: []string{
			"`sense` belongs to the joint, never to memory: between the inner races of a taper pair a thicker spacer gives more play, a thrust shim beside a cam less. Among the sizes whose play lies inside low .. high the one nearest the target is taken, a tie going to less play; `second` and `second_result` are there only where another fits. The joint is measured as clamped as it will be built, gasket crushed, rollers seated.",
		},
		Source: "common practice, no published source",
		Arguments: []Argument{
			size("trial", "thickness fitted while the play was measured"), size("play", "play measured with it"),
			distance("target", "play wanted"), distance("low", "least play"), distance("high", "most play"),
			written("kit", `sizes of the kit: "2.500 .. 2.950 by 0.025 mm"`),
			oneOf("sense", "what a thicker spacer gives", "thicker-more", "thicker-less"),
		},
		Outputs: []Output{
			{Name: "spacer", Is: "the size to fit", Needs: [][]string{endPlayNeeds()}},
			{Name: "result", Is: "the play that it gives", Needs: [][]string{endPlayNeeds()}},
			{Name: "second", Is: "the next best size", Needs: [][]string{endPlayNeeds()}},
			{Name: "second_result", Is: "the play that it gives", Needs: [][]string{endPlayNeeds()}},
			{Name: "wanted", Is: "the thickness that would give the target exactly", Needs: [][]string{endPlayNeeds()}, Beside: true},
		},
		Example:     []string{"trial=2.700 mm", "play=0.215 mm", "target=0.050 mm", "low=0.03 mm", "high=0.08 mm", "kit=2.500 .. 2.950 by 0.025 mm", "sense=thicker-more"},
		ExampleFrom: "the demo engine (invented)",
		compute:     endPlay,
	},
	{
		Name:    "crank-truing",
		Summary: "what two dials say about a built-up crank",
		About: []string{
			"Readings are total indicator readings (TIR), twice the eccentricity; angles are where the shaft reads high, counted from the crankpin in the running direction. The outputs are eccentricities: `bow` with its direction, `twist` positive when the left shaft stands off in the running direction, `throw` positive when the left shaft stands off towards the pin. An angle may be left out where its reading is zero.",
			"`cure` is the word for the largest of the three: `rap`, `squeeze`, `wedge`, `regrind`, or `none`. A note says where to do it. With `target`, the TIR that is good enough, notes give all steps in the order of work and what to expect after each. Never strike a crank while it is in the centres.",
		},
		Source: "geometry of two rigid wheels on one pin, worked out in docs/sources/crank.md. Seen: a restorer's account of truing and two workshop-manual pages on the same faults; none gives the vectors",
		Arguments: []Argument{
			amount("left", "TIR of the left shaft"), angle("left_angle", "where it reads high, from the pin", fullTurn),
			amount("right", "TIR of the right shaft"), angle("right_angle", "where it reads high, from the pin", fullTurn),
			amount("target", "TIR that is good enough; then all steps are told"),
		},
		Outputs: []Output{
			{Name: "bow", Is: "how far the middle of the crank stands off the line of its ends", Needs: [][]string{truingNeeds()}},
			{Name: "bow_angle", Is: "its direction from the pin, where the wheels stand too far apart", Needs: [][]string{truingNeeds()}},
			{Name: "twist", Is: "the part that a wheel turned about the pin makes", Needs: [][]string{truingNeeds()}},
			{Name: "throw", Is: "the part that unequal throws or a worn journal make", Needs: [][]string{truingNeeds()}},
			{Name: "cure", Is: "what the largest part calls for", Needs: [][]string{truingNeeds()}},
		},
		Example:     []string{"left=0.080 mm", "left_angle=85 deg", "right=0.070 mm", "right_angle=268 deg"},
		ExampleFrom: "the demo engine (invented)",
		prepare: func(in *inputs) error {
			for _, side := range []string{"left", "right"} {
				if in.given(side) && in.si(side) == 0 {
					in.take(side+"_angle", side)
				}
			}
			return nil
		},
		compute: crankTruing,
	},
	{
		Name:    "bob-weight",
		Summary: "weight to hang on the crankpin for balancing",
		About: []string{
			"Each weight is the sum over all cylinders on the pin; pistons with rings, pins and clips, rod ends with the rods level. The factor is the share of all reciprocating weight that the counterweights carry besides all of the rotating weight. Other definitions are in use: keep the definition with the number. Without `cages` none are counted, and a note says so.",
		},
		Source: "the usual balancing relation. Seen: a workshop paper on flywheel balance factors and a textbook exercise, see docs/sources/crank.md",
		Arguments: []Argument{
			mass("pistons", "all that goes up and down whole: pistons, rings, pins, clips"), mass("small_ends", "small ends of the rods"),
			mass("big_ends", "big ends of the rods"), mass("cages", "rollers and cages").or("0 g"),
			number("factor", "balance factor", shares),
		},
		Outputs: []Output{
			{Name: "bob", Is: "weight to hang on the pin", Needs: [][]string{{"pistons", "small_ends", "big_ends", "factor"}}},
			{Name: "reciprocating", Is: "pistons and small ends", Needs: [][]string{{"pistons", "small_ends"}}},
			{Name: "rotating", Is: "big ends and cages", Needs: [][]string{{"big_ends"}}},
		},
		Example:     []string{"pistons=1132 g", "small_ends=412 g", "big_ends=944 g", "cages=92 g", "factor=0.58"},
		ExampleFrom: "the demo engine (invented)",
		compute:     bobWeight,
	},
	{
		Name:    "shaking-force",
		Summary: "what the crankcase feels of the moving parts",
		About: []string{
			"`reciprocating` is the mass of ONE cylinder. Without `v_angle` it is one cylinder; with it, two like cylinders on one crankpin, and the factor is the share of both together. `crank` is the crank angle from top dead centre, for a V from the line midway between the cylinders. y points to the head, or along that line; x is square to it, to the side to which the pin moves. The force is that on the crankcase.",
			"The secondary forces need no factor and the primary ones no rod. It is the usual series of two terms, without gas forces, offset pins and side couples.",
		},
		Source: "balancing of reciprocating masses in Theory of Machines texts, ch. 12. Seen: inputs of an illustration, the terms on a question page, an answer page on the 90° twin; the books not",
		Arguments: []Argument{
			mass("reciprocating", "mass that goes up and down in one cylinder"), size("stroke", "twice the throw of the crank"), rodArgument,
			speed("speed", "speed of the crank"), angle("v_angle", "angle between the two cylinders of a V", degrees(0, 180)),
			number("factor", "share of the reciprocating mass that the counterweight carries besides the rotating mass", shares),
			angle("crank", "crank angle", anyAngle),
		},
		Outputs: []Output{
			{Name: "primary_x", Is: "once a revolution, sideways", Needs: [][]string{{"reciprocating", "stroke", "speed", "factor", "crank"}}},
			{Name: "primary_y", Is: "once a revolution, along", Needs: [][]string{{"reciprocating", "stroke", "speed", "factor", "crank"}}},
			{Name: "secondary_x", Is: "twice a revolution, sideways", Needs: [][]string{{"reciprocating", "stroke", "rod", "speed", "crank"}}},
			{Name: "secondary_y", Is: "twice a revolution, along", Needs: [][]string{{"reciprocating", "stroke", "rod", "speed", "crank"}}},
		},
		Example:     []string{"reciprocating=120 kg", "stroke=180 mm", "rod=500 mm", "speed=250 r/min", "factor=2/3", "crank=30 deg"},
		ExampleFrom: "a Theory of Machines text, ch. 12, illustration 1 (inputs seen; the rod is ours and moves only the secondary): the primary force is 3 264 N",
		compute:     shakingForce,
	},
	{
		Name:      "residual-unbalance",
		Summary:   "how much unbalance a grade allows",
		About:     []string{"`permissible` is in kg·m in SI, for the whole rotor; with two planes it is shared out between them. What a balance factor leaves on purpose is no residual unbalance."},
		Source:    "ISO 21940-11. Seen: the relation quoted in a public module's header and, in US units, in an engineering article; the standard not",
		Arguments: []Argument{written("grade", `balance quality grade: "G 6.3"`), {Name: "mass", Is: "mass of the rotor", form: value, dimension: quantity.OfMass, span: span{high: mostMass, aboveLow: true, least: 1e-9}}, speed("speed", "service speed")},
		Outputs: []Output{
			{Name: "permissible", Is: "permissible residual unbalance", Needs: [][]string{{"grade", "mass", "speed"}}},
			{Name: "eccentricity", Is: "how far the centre of mass may lie off the axis", Needs: [][]string{{"grade", "speed"}}},
		},
		Example:     []string{"grade=G 6.3", "mass=10 kg", "speed=3000 r/min"},
		ExampleFrom: "the relation of ISO 21940-11 gives 200.5 g·mm and 20.05 µm",
		compute:     residualUnbalance,
	},
	{
		Name:    "over-pins",
		Summary: "size of a gear over two pins",
		About: []string{
			"`module` and `pressure_angle` are those on the cutter (normal). `thinning` is how much thinner each tooth is than the standard arc, in the transverse plane. `slope` is how much the size grows for a tooth that is thicker by one. An odd number of helical teeth is measured over balls.",
		},
		Source: "over-wire formula of machinery handbooks. Seen: public files that use it for spur gears; the helical form as in ISO 21771, not seen",
		Arguments: []Argument{
			count("teeth", "number of teeth", 3, 10000),
			{Name: "module", Is: "normal module", form: value, dimension: quantity.OfLength, span: span{low: 1e-6, high: 1}},
			{Name: "diametral_pitch", Is: "teeth per inch of reference diameter, instead of the module", form: perInch, span: span{low: 0.1, high: 1000}},
			angle("pressure_angle", "normal pressure angle", degrees(5, 45)), size("pin", "diameter of the pins"),
			distance("thinning", "how much thinner each tooth is; negative is thicker").or("0 mm"),
			angle("helix", "helix angle at the reference circle", degrees(0, 75)).or("0 deg"),
			number("shift", "profile shift in modules", span{low: -2, high: 2}).or("0"),
		},
		Outputs: []Output{
			{Name: "size", Is: "size over the pins", Needs: gearNeeds()},
			{Name: "slope", Is: "change of size over change of tooth thickness", Needs: gearNeeds()},
		},
		Example:     []string{"teeth=20", "diametral_pitch=1", "pressure_angle=20 deg", "pin=1.728 in"},
		ExampleFrom: "Machinery's Handbook, over-wire table, prints 22.3900 in (from memory)",
		prepare: func(in *inputs) error {
			if in.given("module") && in.given("diametral_pitch") {
				return in.conflict("the module", "module", "diametral_pitch")
			}
			return nil
		},
		compute: overPins,
	},
}

func endPlayNeeds() []string {
	return []string{"trial", "play", "target", "low", "high", "kit", "sense"}
}

func truingNeeds() []string { return []string{"left", "left_angle", "right", "right_angle"} }

func gearNeeds() [][]string {
	return [][]string{{"teeth", "module", "pressure_angle", "pin"}, {"teeth", "diametral_pitch", "pressure_angle", "pin"}}
}

func endPlay(in *inputs, out *Answer) error {
	kit, err := crank.ParseKit(in.text("kit"))
	if err != nil {
		return err
	}
	sense, err := crank.ParseSense(in.text("sense"))
	if err != nil {
		return err
	}
	target, low, high := in.length("target"), in.length("low"), in.length("high")
	if low > high {
		return in.impossible([]string{"low", "high"}, "low "+in.text("low")+" lies above high "+in.text("high"), "write the smaller play as low")
	}
	c, err := crank.SelectSpacer(in.length("trial"), in.length("play"), target, low, high, kit, sense)
	if err != nil {
		if target < low || target > high {
			return in.together(err, "target", "low", "high")
		}
		return in.together(err, "kit", "trial", "play", "low", "high", "sense")
	}
	u := in.unit(quantity.OfLength, "trial")
	out.value("spacer", float64(c.Spacer), u)
	out.value("result", float64(c.Result), u)
	if c.HasSecond {
		out.value("second", float64(c.Second), u)
		out.value("second_result", float64(c.SecondResult), u)
	} else {
		out.note("no other size of the kit gives a play inside the limits")
	}
	out.value("wanted", float64(c.Wanted), u)
	return nil
}

func crankTruing(in *inputs, out *Answer) error {
	dial := func(side string) crank.Dial {
		return crank.Dial{TIR: in.length(side), High: in.angle(side + "_angle")}
	}
	f, err := crank.Diagnose(dial("left"), dial("right"))
	if err != nil {
		return err
	}
	u := in.unit(quantity.OfLength, "left")
	angles := in.unit(quantity.OfAngle, "left_angle")
	if angles.Dimension != quantity.OfAngle {
		angles = quantity.MustUnit("deg")
	}
	out.value("bow", float64(f.Bow.Size()), u)
	out.value("bow_angle", float64(f.Bow.Angle()), angles)
	out.value("twist", float64(f.Twist), u)
	out.value("throw", float64(f.Throw), u)
	out.word("cure", f.Main().String())
	return in.truingSteps(f, out, u, angles)
}

// truingSteps says where the chief cure goes, or with a target all that must be done.
func (in *inputs) truingSteps(f crank.Fault, out *Answer, u, angles quantity.Unit) error {
	planned := in.given("target")
	steps, err := f.Steps(in.length("target"))
	if err != nil {
		return err
	}
	if planned && len(steps) == 0 {
		out.note("both dials are within the target")
	}
	for i, s := range steps {
		if !planned && s.Cure != f.Main() {
			continue
		}
		says := "no blow cures it: swap the wheels or regrind"
		switch s.Cure {
		case crank.Rap:
			says = fmt.Sprintf("rap the rim of the %s wheel at %s from the pin, towards the shaft", s.Wheel, textOf(float64(s.At), angles))
		case crank.Squeeze, crank.Wedge:
			says = fmt.Sprintf("%s the rims at %s from the pin", s.Cure, textOf(float64(s.At), angles))
		}
		if planned {
			says = fmt.Sprintf("step %d: %s", i+1, says)
			if s.Cure != crank.Regrind {
				says += fmt.Sprintf("; after it expect a TIR of %s left and %s right", textOf(float64(s.Left.TIR), u), textOf(float64(s.Right.TIR), u))
			}
		}
		out.note("%s", says)
	}
	if f.Main() != crank.NoCure {
		out.note("never strike a crank while it is in the centres; one light blow, then read again")
	}
	return nil
}

func bobWeight(in *inputs, out *Answer) error {
	p := crank.Parts{Pistons: in.mass("pistons"), SmallEnds: in.mass("small_ends"), BigEnds: in.mass("big_ends"), Cages: in.mass("cages")}
	b := crank.Bob{Reciprocating: p.Pistons + p.SmallEnds, Rotating: p.BigEnds + p.Cages}
	u := in.unit(quantity.OfMass, "pistons", "small_ends", "big_ends", "cages")
	if in.gives("bob") {
		var err error
		if b, err = crank.BobWeight(p, in.si("factor")); err != nil {
			return in.together(err, "pistons", "small_ends", "big_ends", "cages")
		}
		out.value("bob", float64(b.Weight), u)
	}
	if in.gives("reciprocating") {
		out.value("reciprocating", float64(b.Reciprocating), u)
	}
	if in.gives("rotating") {
		out.value("rotating", float64(b.Rotating), u)
		if !in.given("cages") {
			out.note("no cages are counted")
		}
	}
	return nil
}

func shakingForce(in *inputs, out *Answer) error {
	s := crank.Slider{Reciprocating: in.mass("reciprocating"), Stroke: in.length("stroke"), Rod: in.length("rod"), Speed: in.frequency("speed")}
	if !in.given("rod") {
		s.Rod = s.Stroke // reaches the secondary only, which is left out
	} else if s.Rod <= s.Stroke/2 {
		return in.impossible([]string{"rod", "stroke"}, "rod "+in.text("rod")+" must be longer than half the stroke "+in.text("stroke"), "give the length between the centres of the rod, and the whole stroke")
	}
	shake, err := crank.ShakeSingle(s, in.si("factor"), in.angle("crank"))
	if in.given("v_angle") {
		shake, err = crank.ShakeV(s, in.angle("v_angle"), in.si("factor"), in.angle("crank"))
	}
	if err != nil {
		return err
	}
	u := in.unit(quantity.OfForce, "stroke")
	if in.gives("primary_x") {
		out.value("primary_x", float64(shake.Primary.X), u)
		out.value("primary_y", float64(shake.Primary.Y), u)
	}
	if in.gives("secondary_x") {
		out.value("secondary_x", float64(shake.Secondary.X), u)
		out.value("secondary_y", float64(shake.Secondary.Y), u)
	}
	if in.given("v_angle") {
		out.note("two cylinders on one crankpin")
	} else {
		out.note("one cylinder")
	}
	return nil
}

func residualUnbalance(in *inputs, out *Answer) error {
	g, err := crank.ParseGrade(in.text("grade"))
	if err != nil {
		return err
	}
	rotor := quantity.Mass(1)
	if in.given("mass") {
		rotor = in.mass("mass")
	}
	r, err := crank.PermissibleUnbalance(g, rotor, in.frequency("speed"))
	if err != nil {
		return err
	}
	system := systemOf(in.values["mass"].Unit)
	if in.gives("permissible") {
		out.value("permissible", float64(r.Permissible), usual(system, quantity.OfUnbalance))
	}
	eccentricity := quantity.MustUnit("µm")
	if system == quantity.Inch {
		eccentricity = quantity.MustUnit("thou")
	}
	out.value("eccentricity", float64(r.Eccentricity), eccentricity)
	return nil
}

func overPins(in *inputs, out *Answer) error {
	g := gear.Gear{
		Teeth: int(math.Round(in.si("teeth"))), Module: in.length("module"), PressureAngle: in.angle("pressure_angle"),
		Helix: in.angle("helix"), Shift: in.si("shift"), Thinning: in.length("thinning"),
	}
	by := "module"
	if in.given("diametral_pitch") {
		var err error
		if g.Module, err = gear.ModuleFromDiametralPitch(in.si("diametral_pitch")); err != nil {
			return err
		}
		by = "diametral_pitch"
	}
	p, err := gear.OverPins(g, in.length("pin"))
	if err != nil {
		if name, _, _, _ := refused(err); strings.Contains(name, "pin") {
			return in.together(err, "pin", by, "teeth")
		}
		return in.together(err, "thinning", "shift", by)
	}
	out.value("size", float64(p.Size), in.unit(quantity.OfLength, "pin"))
	out.number("slope", p.Slope, 4)
	if g.Helix > 0 && g.Teeth%2 == 1 {
		out.note("an odd number of helical teeth must be measured over balls, not pins")
	}
	return nil
}
