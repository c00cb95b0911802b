package calc

import (
	"math"

	"buttonup/mechanics/valvetrain"
	"buttonup/quantity"
)

var valveCalculations = []*Calculation{
	{
		Name:    "dead-centre",
		Summary: "how far a degree wheel is out, from a positive stop",
		About: []string{
			"`shift` is signed: above zero the true dead centre lies that far after the wheel's zero, and the pointer is moved by it. `reading` is what both sides read then. It is exact unless the piston pin is set off. The stop may bend a valve: rockers off, or the stop short of any open valve.",
		},
		Source:    "symmetry of the slider-crank; common practice, no published source",
		Arguments: []Argument{angle("before", "reading at the stop before the wheel's zero, as a positive angle", beforeStop), angle("after", "reading at the stop after the wheel's zero", beforeStop)},
		Outputs: []Output{
			{Name: "shift", Is: "(after − before)/2", Needs: [][]string{{"before", "after"}}},
			{Name: "reading", Is: "what both sides read once the pointer is moved", Needs: [][]string{{"before", "after"}}, Beside: true},
		},
		Example:     []string{"before=42 deg", "after=46 deg"},
		ExampleFrom: "symmetry: the wheel is 2 deg late, and both sides read 44 deg after",
		compute: func(in *inputs, out *Answer) error {
			d, err := valvetrain.DeadCentreByStop(in.angle("before"), in.angle("after"))
			if err != nil {
				return err
			}
			u := in.unit(quantity.OfAngle, "before")
			out.value("shift", float64(d.Shift), u)
			out.value("reading", float64(d.Reading), u)
			return nil
		},
	},
	{
		Name:    "valve-events",
		Summary: "durations, centrelines, separation and overlap from a degree wheel",
		About: []string{
			"Each reading is positive on its usual side of the dead centre and negative on the other. `separation` is in cam degrees, as cam cards give it, the rest in crank degrees. `inlet_centre` is after, `exhaust_centre` before the top dead centre. Compare only figures taken at one checking lift and at one end of the rocker.",
		},
		Source: "geometry of the degree wheel; overlap as TM 9-8000, figure 2-55. Seen",
		Arguments: []Argument{
			angle("inlet_opens", "before top dead centre", besideCentre), angle("inlet_closes", "after bottom dead centre", besideCentre),
			angle("exhaust_opens", "before bottom dead centre", besideCentre), angle("exhaust_closes", "after top dead centre", besideCentre),
		},
		Outputs: []Output{
			{Name: "inlet_duration", Is: "how long the inlet valve is above the checking lift", Needs: [][]string{{"inlet_opens", "inlet_closes"}}},
			{Name: "exhaust_duration", Is: "the same for the exhaust valve", Needs: [][]string{{"exhaust_opens", "exhaust_closes"}}},
			{Name: "inlet_centre", Is: "middle of the inlet opening, after top dead centre", Needs: [][]string{{"inlet_opens", "inlet_closes"}}},
			{Name: "exhaust_centre", Is: "middle of the exhaust opening, before top dead centre", Needs: [][]string{{"exhaust_opens", "exhaust_closes"}}},
			{Name: "separation", Is: "between the lobes' centres, in cam degrees", Needs: [][]string{{"inlet_opens", "inlet_closes", "exhaust_opens", "exhaust_closes"}}},
			{Name: "overlap", Is: "how long both valves are above the checking lift; negative if never", Needs: [][]string{{"inlet_opens", "exhaust_closes"}}},
		},
		Example:     []string{"inlet_opens=12 deg", "inlet_closes=46 deg", "exhaust_opens=50 deg", "exhaust_closes=10 deg"},
		ExampleFrom: "the demo engine (invented)",
		compute:     valveEvents,
	},
	{
		Name:    "follower",
		Summary: "lift of a follower along a rise, and its motion at a speed",
		About: []string{
			"Angles and speed are those of the cam, not of the crank. The angle counts from the start of the rise; for a fall count from its end. At the ends of a harmonic rise the acceleration is that of the rise, not of the dwell.",
		},
		Source: "the cycloidal rise as in a course's homework table (seen); all in Norton, Design of Machinery, chapter 8. Memory",
		Arguments: []Argument{
			oneOf("motion", "the law of motion", "harmonic", "cycloidal", "3-4-5", "4-5-6-7"),
			size("lift", "the whole lift"),
			angle("span", "cam angle of the rise", span{low: 0, high: turn, aboveLow: true, least: 1e-6}),
			angle("angle", "cam angle from the start of the rise, up to the span", span{low: 0, high: turn}),
			speed("speed", "speed of the cam"),
		},
		Outputs: []Output{
			{Name: "lift", Is: "lift at the angle", Needs: [][]string{{"motion", "lift", "span", "angle"}}},
			{Name: "velocity", Is: "speed of the follower", Needs: [][]string{{"motion", "lift", "span", "angle", "speed"}}},
			{Name: "acceleration", Is: "its acceleration", Needs: [][]string{{"motion", "lift", "span", "angle", "speed"}}},
			{Name: "jerk", Is: "change of acceleration in time", Needs: [][]string{{"motion", "lift", "span", "angle", "speed"}}},
		},
		Example:     []string{"motion=cycloidal", "lift=20 mm", "span=60 deg", "angle=15 deg", "speed=1/6 r/min"},
		ExampleFrom: "a course's homework table prints 1.816901 mm, 0.333333 mm/deg and 0.034907 mm/deg²; 1/6 r/min is one degree a second",
		compute:     follower,
	},
	{
		Name:    "spring",
		Summary: "rate, loads, coil bind, stress and surge of a helical spring",
		About: []string{
			"`stress` is that of `load`, by the Wahl factor; `open_stress` that at the open length. `surge` is with both ends held, as in a valve. `bind_margin` is open less solid length; zero or less means that something breaks.",
			"`rate` may be given as measured; it then goes before the one that wire, mean_diameter, active and modulus make, for loads and surge.",
		},
		Source: "rate and stress as in a public test file (seen), whose printed stress is a factor of ten low, with the Wahl factors of a textbook companion (seen); surge as on an engineering page that gives ½·√(k/m) (seen); Shigley's Mechanical Engineering Design, equation 10-25",
		Arguments: []Argument{
			size("wire", "diameter of the round wire"), size("mean_diameter", "mean diameter of the coil, from wire centre to wire centre"),
			number("active", "coils that work: all less those that lie flat at the ends", span{low: 0, high: 1000, aboveLow: true, least: 0.01}),
			pressure("modulus", "shear modulus of the wire"),
			{Name: "density", Is: "density of the wire", Default: "7850 kg/m3", form: value, dimension: quantity.OfDensity, span: span{high: mostDensity, aboveLow: true, least: 1}},
			size("free", "free length"), size("installed", "length with the valve shut"), size("open", "length with the valve open"), size("solid", "length at which the coils touch"),
			{Name: "load", Is: "load for the stress", form: value, dimension: quantity.OfForce, span: span{high: mostForce}},
			{Name: "rate", Is: "rate as measured, instead of the wire's sizes", form: value, dimension: quantity.OfStiffness, span: span{high: mostRate, aboveLow: true, least: 1e-6}},
		},
		Outputs: []Output{
			{Name: "rate", Is: "stiffness", Needs: [][]string{{"rate"}, wound()}},
			{Name: "installed_load", Is: "load at the installed length", Needs: [][]string{{"rate", "free", "installed"}, append(wound(), "free", "installed")}},
			{Name: "open_load", Is: "load at the open length", Needs: [][]string{{"rate", "free", "open"}, append(wound(), "free", "open")}},
			{Name: "bind_margin", Is: "what is left between the coils at the open length", Needs: [][]string{{"open", "solid"}}},
			{Name: "stress", Is: "shear stress at the inside of a coil under the load", Needs: [][]string{{"wire", "mean_diameter", "load"}}},
			{Name: "surge", Is: "lowest frequency at which the coils swing", Needs: [][]string{wound(), {"wire", "mean_diameter", "active", "rate"}}},
			{Name: "open_stress", Is: "shear stress at the open length", Needs: [][]string{append(wound(), "free", "open"), {"wire", "mean_diameter", "rate", "free", "open"}}, Beside: true},
		},
		Example:     []string{"wire=2 mm", "mean_diameter=16 mm", "active=10", "modulus=80 GPa", "load=50 N"},
		ExampleFrom: "a public test file prints 3 906 N/m; its own figures give 301.5 MPa",
		prepare:     settleSpring,
		compute:     spring,
	},
}

var beforeStop = span{low: 0, high: math.Pi, aboveLow: true, belowHigh: true, least: 1e-6}

func wound() []string { return []string{"wire", "mean_diameter", "active", "modulus"} }

func valveEvents(in *inputs, out *Answer) error {
	// A reading that is not there stands as zero and reaches only outputs that are left
	// out.
	e := valvetrain.Events{
		InletOpens: in.angle("inlet_opens"), InletCloses: in.angle("inlet_closes"),
		ExhaustOpens: in.angle("exhaust_opens"), ExhaustCloses: in.angle("exhaust_closes"),
	}
	t, err := e.Timing()
	if err != nil {
		return err
	}
	u := in.unit(quantity.OfAngle, "inlet_opens", "inlet_closes", "exhaust_opens", "exhaust_closes")
	for _, o := range []struct {
		name string
		a    quantity.Angle
	}{
		{"inlet_duration", t.InletDuration}, {"exhaust_duration", t.ExhaustDuration}, {"inlet_centre", t.InletCentre},
		{"exhaust_centre", t.ExhaustCentre}, {"separation", t.Separation}, {"overlap", t.Overlap},
	} {
		if in.gives(o.name) {
			out.value(o.name, float64(o.a), u)
		}
	}
	return nil
}

func follower(in *inputs, out *Answer) error {
	law, err := valvetrain.ParseLaw(in.text("motion"))
	if err != nil {
		return err
	}
	if in.angle("angle") > in.angle("span") {
		return in.impossible([]string{"angle", "span"}, "angle "+in.text("angle")+" lies beyond the span "+in.text("span"), "count the angle from the start of the rise")
	}
	m, err := valvetrain.Rise(law, in.length("lift"), in.angle("span"), in.angle("angle"))
	if err != nil {
		return err
	}
	out.value("lift", float64(m.Lift), in.unit(quantity.OfLength, "lift"))
	if !in.gives("velocity") {
		return nil
	}
	v, a, j, err := m.AtSpeed(in.frequency("speed"))
	if err != nil {
		return err
	}
	out.value("velocity", float64(v), in.unit(quantity.OfSpeed, "lift"))
	out.value("acceleration", float64(a), in.unit(quantity.OfAcceleration, "lift"))
	out.value("jerk", float64(j), in.unit(quantity.OfJerk, "lift"))
	return nil
}

// settleSpring refuses lengths that no spring has.
func settleSpring(in *inputs) error {
	for _, pair := range [][3]string{
		{"installed", "free", "longer than it is free: the spring would hang loose"},
		{"open", "free", "longer than it is free: the spring would hang loose"},
		{"open", "installed", "longer than it is installed: opening shortens it"},
		{"solid", "free", "longer than it is free"},
		{"solid", "installed", "longer than it is installed: the coils touch with the valve shut"},
	} {
		if a, b := pair[0], pair[1]; in.given(a) && in.given(b) && in.length(a) > in.length(b) {
			return in.impossible([]string{a, b}, a+" "+in.text(a)+" is more than "+b+" "+in.text(b)+", "+pair[2], "check both lengths")
		}
	}
	return nil
}

func spring(in *inputs, out *Answer) error {
	w := valvetrain.Wire{
		Diameter: in.length("wire"), MeanDiameter: in.length("mean_diameter"), Active: in.si("active"),
		Modulus: in.pressure("modulus"), Density: quantity.Density(in.si("density")),
	}
	rate := quantity.Stiffness(in.si("rate"))
	if in.has(wound()...) {
		k, err := w.Rate()
		if err != nil {
			return err
		}
		if in.given("rate") {
			out.note("the wire's sizes make a rate of %s; the measured one is used", textOf(float64(k), in.unit(quantity.OfStiffness, "rate")))
		} else {
			rate = k
		}
	}
	newtons := in.unit(quantity.OfForce, "load", "rate", "free", "wire")
	if in.gives("rate") {
		out.value("rate", float64(rate), in.unit(quantity.OfStiffness, "rate", "load", "wire"))
	}
	nest := valvetrain.Nest{{Rate: rate, Free: in.length("free")}}
	var open quantity.Force
	for _, at := range []string{"installed", "open"} {
		if !in.gives(at + "_load") {
			continue
		}
		load, err := nest.Load(in.length(at))
		if err != nil {
			return in.together(err, at, "free")
		}
		out.value(at+"_load", float64(load), newtons)
		open = load
	}
	if in.gives("bind_margin") {
		margin := in.length("open") - in.length("solid")
		out.value("bind_margin", float64(margin), in.unit(quantity.OfLength, "open"))
		if margin <= 0 {
			out.note("the coils bind before the valve is open: something breaks")
		}
	}
	for _, o := range []struct {
		name string
		load quantity.Force
	}{{"stress", in.force("load")}, {"open_stress", open}} {
		if !in.gives(o.name) {
			continue
		}
		stress, err := w.Stress(o.load)
		if err != nil {
			return err
		}
		out.value(o.name, float64(stress), usual(systemOf(in.values["wire"].Unit), quantity.OfPressure))
	}
	if in.gives("surge") {
		surge, err := springSurge(in, w, rate)
		if err != nil {
			return err
		}
		out.value("surge", float64(surge), quantity.MustUnit("Hz"))
	}
	return nil
}

func springSurge(in *inputs, w valvetrain.Wire, rate quantity.Stiffness) (quantity.Frequency, error) {
	if !in.given("rate") {
		return w.Surge()
	}
	if !in.given("modulus") {
		w.Modulus = 80e9 // the mass does not depend on it
	}
	m, err := w.ActiveMass()
	if err != nil {
		return 0, err
	}
	return valvetrain.SurgeFrequency(rate, m)
}
