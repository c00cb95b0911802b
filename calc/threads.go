package calc

import (
	"buttonup/mechanics/joint"
	"buttonup/quantity"
)

var (
	threadArgument = written("thread", `the thread as manuals print it: "M10", "M10x1.25", "3/8-16", "1/4 UNF", "#10-32"; metric and unified inch threads only`)
	gradeArgument  = written("grade", `the mark on the head: a property class of ISO 898-1 ("8.8") or a grade of SAE J429 ("SAE 8")`)
	frictions      = span{low: 0, high: 0.5}
)

// tighteningArguments are how friction or a nut factor is given.
func tighteningArguments(first ...Argument) []Argument {
	return append(first,
		number("thread_friction", "coefficient of friction in the thread", frictions),
		number("head_friction", "coefficient of friction under the part that is turned", frictions),
		size("head", "outer diameter of the ring on which the turned part bears, head or nut"),
		size("hole", "inner diameter of that ring: the hole under it"),
		number("nut_factor", "nut factor K of T = K·F·d, instead of friction and ring", span{high: 1, aboveLow: true}),
		number("friction", "one coefficient for thread and head, instead of the two", frictions),
	)
}

const aboutFriction = "Friction may be given as one figure: `friction`, or only one of thread_friction and head_friction, which is then taken for both and said so. The exact screw formula is used, or the nut factor; a note names the form. They differ by a few per cent and must not be mixed in one joint."

var threadCalculations = []*Calculation{
	{
		Name:    "stress-area",
		Summary: "stress area and diameters of a thread",
		About: []string{
			"`minor_diameter` is D1, the basic minor diameter of ISO 724; the root of the bolt's thread, d3, is smaller and is given as `root_diameter`. Nothing is rounded: a standard prints the area with three figures. Metric and inch threads have different formulas for the area.",
		},
		Source:    "ISO 68-1 and ISO 724 (diameters), ISO 898-1 and ASME B1.1 appendix B (area). Seen: a thread data page and tables that quote them; the standards not",
		Arguments: []Argument{threadArgument},
		Outputs: []Output{
			{Name: "area", Is: "tensile stress area of the bolt", Needs: [][]string{{"thread"}}},
			{Name: "pitch", Is: "distance from thread to thread", Needs: [][]string{{"thread"}}},
			{Name: "pitch_diameter", Is: "basic pitch diameter, d2", Needs: [][]string{{"thread"}}},
			{Name: "minor_diameter", Is: "basic minor diameter, D1", Needs: [][]string{{"thread"}}},
			{Name: "root_diameter", Is: "diameter at the root of the bolt's thread, d3", Needs: [][]string{{"thread"}}, Beside: true},
		},
		Example:     []string{"thread=M10x1.25"},
		ExampleFrom: "ISO 724 and ISO 898-1 print 9.188, 8.647, 8.466 mm and 61.2 mm²",
		compute:     stressArea,
	},
	{
		Name:        "proof-load",
		Summary:     "load that a bolt must bear without a lasting set",
		About:       []string{"The load is the exact stress area times the proof stress. The tables of the standards round the area first and differ by up to 0.7 %."},
		Source:      "ISO 898-1:2013, table 3; SAE J429, table 1. Seen: two stored pages each that print them; the standards not",
		Arguments:   []Argument{threadArgument, gradeArgument},
		Example:     []string{"thread=M8", "grade=8.8"},
		ExampleFrom: "ISO 898-1 prints 21 200 N",
		Outputs: []Output{
			{Name: "proof_load", Is: "proof load", Needs: [][]string{{"thread", "grade"}}},
			{Name: "proof_stress", Is: "the stress that it stands for", Needs: [][]string{{"thread", "grade"}}},
			{Name: "yield_stress", Is: "least yield or 0.2 % proof stress", Needs: [][]string{{"thread", "grade"}}, Beside: true},
			{Name: "tensile_strength", Is: "least tensile strength", Needs: [][]string{{"thread", "grade"}}, Beside: true},
			{Name: "tensile_load", Is: "least load that breaks the bolt", Needs: [][]string{{"thread", "grade"}}, Beside: true},
		},
		compute: proofLoad,
	},
	{
		Name:    "tightening-torque",
		Summary: "torque that brings a joint to a preload, and what it is spent on",
		About: []string{
			aboutFriction,
			"A share is a part of the torque as a plain number; the three add up to 1. `pitch_share` is what stretches the bolt. The same parts as torques are `pitch_torque`, `thread_torque` and `head_torque`. With a nut factor only `pitch_share` can be told.",
		},
		Source:      "exact form of ISO 16047 as an article quotes it (seen), nut factor T = K·F·d of an article on torque and preload (seen); both in Shigley, Mechanical Engineering Design, chapter 8. Memory",
		Arguments:   tighteningArguments(threadArgument, force("preload", "clamping force wanted")),
		Example:     []string{"thread=3/4-16", "preload=25000 lbf", "friction=0.15", "head=1.125 in", "hole=0.75 in"},
		ExampleFrom: "Shigley, chapter 8, prints 3 551 lbf·in (from memory)",
		Outputs: []Output{
			{Name: "torque", Is: "tightening torque", Needs: tightened("preload")},
			{Name: "pitch_share", Is: "share that stretches the bolt", Needs: tightened("preload")},
			{Name: "thread_share", Is: "share lost in the thread", Needs: tightened("preload")[:1]},
			{Name: "head_share", Is: "share lost under the head", Needs: tightened("preload")[:1]},
			{Name: "pitch_torque", Is: "torque that stretches the bolt", Needs: tightened("preload"), Beside: true},
			{Name: "thread_torque", Is: "torque lost in the thread", Needs: tightened("preload")[:1], Beside: true},
			{Name: "head_torque", Is: "torque lost under the head", Needs: tightened("preload")[:1], Beside: true},
			{Name: "nut_factor", Is: "nut factor that the friction amounts to", Needs: tightened("preload")[:1], Beside: true},
		},
		prepare: settleFriction,
		compute: tighteningTorque,
	},
	{
		Name:    "preload",
		Summary: "clamping force that a torque brings",
		About: []string{
			aboutFriction,
			"It is one value for friction that is known. It never is: with a dead accurate wrench the preload of like bolts still scatters by about a quarter. `proof_share` needs the grade; it is the preload over the proof load, as a plain number.",
		},
		Source:      "as tightening-torque; proof stress of ISO 898-1 and SAE J429 as proof-load",
		Arguments:   append(tighteningArguments(threadArgument, torque("torque", "torque at the nut or head")), gradeArgument),
		Example:     []string{"thread=M12", "torque=82.14 N·m", "nut_factor=0.20", "grade=8.8"},
		ExampleFrom: "an article on torque and preload prints about 34 kN, 70 % of proof",
		Outputs: []Output{
			{Name: "preload", Is: "clamping force", Needs: tightened("torque")},
			{Name: "stress", Is: "tensile stress on the stress area", Needs: tightened("torque")},
			{Name: "proof_share", Is: "preload over proof load", Needs: [][]string{append([]string{"grade"}, tightened("torque")[0]...), append([]string{"grade"}, tightened("torque")[1]...)}},
		},
		prepare: settleFriction,
		compute: preload,
	},
	{
		Name:    "thread-strip",
		Summary: "what gives way first when a bolt is pulled out of a tapped hole",
		About: []string{
			"`weaker` is `bolt` where the bolt breaks first, as it should, `bolt thread` or `tapped thread` where a thread strips first. All loads are against a straight pull; the shear strength of a metal is taken as 0.6 of its tensile strength.",
			"`worst_case = true` takes the limits 6g/6H or 2A/2B; `false` takes basic sizes, which promises about a fifth more than the worst pair holds. The length is full engagement: take chamfer and run-out off first.",
		},
		Source: "FED-STD-H28/2 and ASME B1.1 appendix B. Seen: a table of shear areas and two worked examples that use them; the standards not",
		Arguments: []Argument{
			threadArgument, size("engagement", "length of thread in full engagement"),
			pressure("bolt_strength", "tensile strength of the bolt"), pressure("tapped_strength", "tensile strength of the metal that is tapped"),
			oneOf("worst_case", "whether the limits of both threads are taken", "true", "false").or("true"),
		},
		Example:     []string{"thread=M10x1.5", "engagement=20 mm", "bolt_strength=830 MPa", "tapped_strength=310 MPa", "worst_case=false"},
		ExampleFrom: "a stored page on thread engagement needs 9.4 mm with basic sizes",
		Outputs: []Output{
			{Name: "bolt_area", Is: "area that shears when the bolt's thread strips", Needs: [][]string{{"thread", "engagement"}}},
			{Name: "tapped_area", Is: "area that shears when the tapped thread strips", Needs: [][]string{{"thread", "engagement"}}},
			{Name: "bolt_load", Is: "load that strips the bolt's thread", Needs: [][]string{{"thread", "engagement", "bolt_strength"}}},
			{Name: "tapped_load", Is: "load that strips the tapped thread", Needs: [][]string{{"thread", "engagement", "tapped_strength"}}},
			{Name: "needed_engagement", Is: "engagement at which the bolt breaks before either thread strips", Needs: [][]string{{"thread", "bolt_strength", "tapped_strength"}}},
			{Name: "weaker", Is: "what gives way first", Needs: [][]string{{"thread", "engagement", "bolt_strength", "tapped_strength"}}},
			{Name: "breaking_load", Is: "load that breaks the bolt", Needs: [][]string{{"thread", "bolt_strength"}}, Beside: true},
		},
		compute: threadStrip,
	},
}

// tightened lists the two ways to connect torque and preload.
func tightened(from string) [][]string {
	return [][]string{{"thread", from, "thread_friction", "head_friction", "head", "hole"}, {"thread", from, "nut_factor"}}
}

// threadOf reads the thread and says which units it is read in.
func (in *inputs) threadOf() (joint.Thread, quantity.System, error) {
	t, err := joint.ParseThread(in.text("thread"))
	system := quantity.Metric
	if t.Standard() == joint.UnifiedInch {
		system = quantity.Inch
	}
	return t, system, err
}

func noteSpecial(t joint.Thread, out *Answer) {
	if t.Series() == joint.Special {
		out.note("%s: the standard lists no such pitch for this diameter", t)
	}
}

func stressArea(in *inputs, out *Answer) error {
	t, system, err := in.threadOf()
	if err != nil {
		return err
	}
	noteSpecial(t, out)
	length := usual(system, quantity.OfLength)
	out.value("area", float64(t.StressArea()), usual(system, quantity.OfArea))
	out.value("pitch", float64(t.Pitch()), length)
	out.value("pitch_diameter", float64(t.PitchDiameter()), length)
	out.value("minor_diameter", float64(t.MinorDiameter()), length)
	out.value("root_diameter", float64(t.RootDiameter()), length)
	return nil
}

func proofLoad(in *inputs, out *Answer) error {
	t, system, err := in.threadOf()
	if err != nil {
		return err
	}
	g, err := joint.ParseGrade(in.text("grade"))
	if err != nil {
		return err
	}
	load, proof, err := joint.ProofLoad(t, g)
	if err != nil {
		return in.together(err, "thread", "grade")
	}
	s, err := g.Strength(t)
	if err != nil {
		return in.together(err, "thread", "grade")
	}
	noteSpecial(t, out)
	newtons, stress := usual(system, quantity.OfForce), usual(system, quantity.OfPressure)
	out.value("proof_load", float64(load), newtons)
	out.value("proof_stress", float64(proof), stress)
	out.value("yield_stress", float64(s.Yield), stress)
	out.value("tensile_strength", float64(s.Tensile), stress)
	out.value("tensile_load", float64(t.StressArea())*float64(s.Tensile), newtons)
	return nil
}

// settleFriction lets one figure of friction stand for both, and refuses a second way.
func settleFriction(in *inputs) error {
	both := in.given("thread_friction") && in.given("head_friction")
	switch {
	case in.given("friction") && both:
		return in.conflict("friction", "friction", "thread_friction", "head_friction")
	case in.given("nut_factor"):
		for _, f := range []string{"friction", "thread_friction", "head_friction"} {
			if in.given(f) {
				return in.conflict("friction", f, "nut_factor")
			}
		}
	}
	for _, from := range []string{"friction", "thread_friction", "head_friction"} {
		if in.given(from) {
			in.take("thread_friction", from)
			in.take("head_friction", from)
		}
	}
	return nil
}

// ring checks that the ring is not turned inside out.
func (in *inputs) ring() (joint.Ring, error) {
	r := joint.Ring{Outer: in.length("head"), Hole: in.length("hole")}
	if r.Outer < r.Hole {
		return r, in.impossible([]string{"head", "hole"}, "head "+in.text("head")+" must not be smaller than hole "+in.text("hole")+" under it", "head is the outer diameter of the ring, hole the inner one")
	}
	return r, nil
}

func (in *inputs) noteFriction(out *Answer) {
	for name, from := range in.stands {
		if from != "friction" {
			out.note("%s is taken to be the same as %s, %s", name, from, in.text(from))
		}
	}
	out.note("by friction, exact form; friction is never known well, and the preload scatters with it")
}

func tighteningTorque(in *inputs, out *Answer) error {
	t, _, err := in.threadOf()
	if err != nil {
		return err
	}
	f := in.force("preload")
	u := usual(systemOf(in.values["preload"].Unit), quantity.OfTorque)
	stretch := float64(f) * float64(t.Pitch()) / turn
	if in.given("nut_factor") {
		whole, err := joint.NutFactorTorque(f, t, in.si("nut_factor"))
		if err != nil {
			return in.together(err, "nut_factor", "thread")
		}
		out.value("torque", float64(whole), u)
		out.share("pitch_share", stretch/float64(whole))
		out.value("pitch_torque", stretch, u)
		out.note("by nut factor; a factor belongs to the size and finish that it was measured on")
		return nil
	}
	r, err := in.ring()
	if err != nil {
		return err
	}
	mu := joint.Friction{Thread: in.si("thread_friction"), Head: in.si("head_friction")}
	x, err := joint.TighteningTorque(f, t, r, mu)
	if err != nil {
		return err
	}
	k, err := joint.NutFactor(t, r, mu)
	if err != nil {
		return err
	}
	pitch, thread, head := x.Shares()
	out.value("torque", float64(x.Torque), u)
	out.share("pitch_share", pitch)
	out.share("thread_share", thread)
	out.share("head_share", head)
	out.value("pitch_torque", float64(x.Pitch), u)
	out.value("thread_torque", float64(x.Thread), u)
	out.value("head_torque", float64(x.Head), u)
	out.number("nut_factor", k, 3)
	in.noteFriction(out)
	return nil
}

func preload(in *inputs, out *Answer) error {
	t, system, err := in.threadOf()
	if err != nil {
		return err
	}
	var f quantity.Force
	if in.given("nut_factor") {
		if f, err = joint.PreloadByNutFactor(in.torque("torque"), t, in.si("nut_factor")); err != nil {
			return in.together(err, "nut_factor", "thread")
		}
		out.note("by nut factor; a factor belongs to the size and finish that it was measured on")
	} else {
		r, err := in.ring()
		if err != nil {
			return err
		}
		mu := joint.Friction{Thread: in.si("thread_friction"), Head: in.si("head_friction")}
		if f, err = joint.Preload(in.torque("torque"), t, r, mu); err != nil {
			return err
		}
		in.noteFriction(out)
	}
	stress, err := joint.TensileStress(f, t)
	if err != nil {
		return err
	}
	u := systemOf(in.values["torque"].Unit)
	out.value("preload", float64(f), usual(u, quantity.OfForce))
	out.value("stress", float64(stress), usual(system, quantity.OfPressure))
	if in.gives("proof_share") {
		g, err := joint.ParseGrade(in.text("grade"))
		if err != nil {
			return err
		}
		s, err := g.Strength(t)
		if err != nil {
			return in.together(err, "thread", "grade")
		}
		share := float64(stress / s.Proof)
		out.share("proof_share", share)
		if share > 1 {
			out.note("beyond the proof load: the bolt may have stretched for good")
		}
	}
	return nil
}

func threadStrip(in *inputs, out *Answer) error {
	t, _, err := in.threadOf()
	if err != nil {
		return err
	}
	worst := in.text("worst_case") == "true"
	noteSpecial(t, out)
	// What is not given is replaced by ones that only reach outputs which are left out.
	engagement, bolt, tapped := quantity.Length(1e-3), quantity.Pressure(1e6), quantity.Pressure(1e6)
	for name, set := range map[string]func(){
		"engagement":      func() { engagement = in.length("engagement") },
		"bolt_strength":   func() { bolt = in.pressure("bolt_strength") },
		"tapped_strength": func() { tapped = in.pressure("tapped_strength") },
	} {
		if in.given(name) {
			set()
		}
	}
	s, err := joint.Stripping(t, engagement, bolt, tapped, worst)
	if err != nil {
		return err
	}
	newtons := in.unit(quantity.OfForce, "engagement", "bolt_strength", "tapped_strength")
	for _, o := range []struct {
		name string
		si   float64
		unit quantity.Unit
	}{
		{"bolt_area", float64(s.BoltArea), in.unit(quantity.OfArea, "engagement")},
		{"tapped_area", float64(s.TappedArea), in.unit(quantity.OfArea, "engagement")},
		{"bolt_load", float64(s.BoltLoad), newtons},
		{"tapped_load", float64(s.TappedLoad), newtons},
		{"needed_engagement", float64(s.Needed), in.unit(quantity.OfLength, "engagement", "bolt_strength")},
	} {
		if in.gives(o.name) {
			out.value(o.name, o.si, o.unit)
		}
	}
	if in.gives("weaker") {
		out.word("weaker", s.Weakest.String())
		if s.Weakest != joint.BoltBreaks {
			out.note("a thread strips before the bolt breaks: it gives no warning when it does")
		}
	}
	if in.gives("breaking_load") {
		out.value("breaking_load", float64(s.BreakingLoad), newtons)
	}
	if worst {
		out.note("worst case of the limits 6g/6H or 2A/2B; chamfer and run-out are not counted")
	} else {
		out.note("basic sizes: the loosest pair of threads holds about a fifth less")
	}
	return nil
}
