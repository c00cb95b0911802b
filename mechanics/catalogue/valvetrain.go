package catalogue

import (
	"math"

	"buttonup/formula"
	"buttonup/mechanics/valvetrain"
	"buttonup/quantity"
)

const (
	wheel       = "geometry of the degree wheel"
	springBook  = "a public test file with the same formula (seen); Shigley's Mechanical Engineering Design, chapter 10. Memory"
	riseBook    = "Norton, Design of Machinery, chapter 8. Memory"
	lever       = "geometry of the lever; own derivation"
	halfLift    = "plane geometry; the half-lift rule is common practice, no published source"
	coilOfSteel = float64(valvetrain.SteelDensity)
)

// motion is the lift of a rise by a law.
func motion(law valvetrain.Law) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		m, err := valvetrain.Rise(law, l(a[0]), an(a[1]), an(a[2]))
		return float64(m.Lift), err
	}
}

func rising() []formula.Argument {
	return []formula.Argument{length("lift"), angle("span"), angle("angle")}
}

// events are readings of one valve: those of the other stay at zero and have no part
// in what is asked for.
func events(e valvetrain.Events, pick func(valvetrain.Timing) quantity.Angle) (float64, error) {
	t, err := e.Timing()
	return float64(pick(t)), err
}

var timingEntries = []Entry{
	function("valve_duration", quantity.OfAngle, "how long a valve is above its checking lift: opens before one, closes after the other dead centre", wheel,
		func(a []float64) (float64, error) {
			return events(valvetrain.Events{InletOpens: an(a[0]), InletCloses: an(a[1])}, func(t valvetrain.Timing) quantity.Angle { return t.InletDuration })
		},
		angle("opens"), angle("closes")),
	function("inlet_centre", quantity.OfAngle, "middle of the inlet opening, after top dead centre", wheel,
		func(a []float64) (float64, error) {
			return events(valvetrain.Events{InletOpens: an(a[0]), InletCloses: an(a[1])}, func(t valvetrain.Timing) quantity.Angle { return t.InletCentre })
		},
		angle("inlet_opens"), angle("inlet_closes")),
	function("exhaust_centre", quantity.OfAngle, "middle of the exhaust opening, before top dead centre", wheel,
		func(a []float64) (float64, error) {
			return events(valvetrain.Events{ExhaustOpens: an(a[0]), ExhaustCloses: an(a[1])}, func(t valvetrain.Timing) quantity.Angle { return t.ExhaustCentre })
		},
		angle("exhaust_opens"), angle("exhaust_closes")),
	function("lobe_separation", quantity.OfAngle, "angle between the lobes' centres, in cam degrees", wheel,
		func(a []float64) (float64, error) {
			return events(valvetrain.Events{InletOpens: an(a[0]), InletCloses: an(a[1]), ExhaustOpens: an(a[2]), ExhaustCloses: an(a[3])}, func(t valvetrain.Timing) quantity.Angle { return t.Separation })
		},
		angle("inlet_opens"), angle("inlet_closes"), angle("exhaust_opens"), angle("exhaust_closes")),
	function("valve_overlap", quantity.OfAngle, "how long both valves are above the checking lift", "TM 9-8000, figure 2-55. Seen: the manual's page",
		func(a []float64) (float64, error) {
			return events(valvetrain.Events{InletOpens: an(a[0]), ExhaustCloses: an(a[1])}, func(t valvetrain.Timing) quantity.Angle { return t.Overlap })
		},
		angle("inlet_opens"), angle("exhaust_closes")),
	function("dead_centre_shift", quantity.OfAngle, "how far a degree wheel is out, from readings at a positive stop", "symmetry of the slider-crank; common practice, no published source",
		func(a []float64) (float64, error) {
			d, err := valvetrain.DeadCentreByStop(an(a[0]), an(a[1]))
			return float64(d.Shift), err
		},
		angle("before"), angle("after")),
	function("equal_lift_centre", quantity.OfAngle, "centreline of a lobe from two angles of equal lift", practice,
		func(a []float64) (float64, error) { return of(valvetrain.CentreByEqualLift(an(a[0]), an(a[1]))) },
		angle("opening"), angle("closing")),
	function("harmonic_rise", quantity.OfLength, "lift at a cam angle of a harmonic rise", riseBook, motion(valvetrain.Harmonic), rising()...),
	function("cycloidal_rise", quantity.OfLength, "lift at a cam angle of a cycloidal rise", riseBook+". Seen: a course's homework table", motion(valvetrain.Cycloidal), rising()...),
	function("rise_345", quantity.OfLength, "lift at a cam angle of a 3-4-5 rise", riseBook, motion(valvetrain.Polynomial345), rising()...),
	function("rise_4567", quantity.OfLength, "lift at a cam angle of a 4-5-6-7 rise", riseBook, motion(valvetrain.Polynomial4567), rising()...),
	function("lobe_lift", quantity.OfLength, "lift of the closed trial curve H·(1 − (|θ|/w)^p)^q at a crank angle from its peak", "own; a real cam is measured and is a curve of the pack",
		func(a []float64) (float64, error) {
			lobe, err := valvetrain.NewLobe(l(a[0]), an(a[1]), a[2], a[3])
			if err != nil {
				return 0, err
			}
			at, err := lobe.At(an(a[4]))
			return float64(at.Lift), err
		},
		length("greatest"), angle("half_width"), number("p"), number("q"), angle("angle")),
	function("facing_gap", quantity.OfLength, "first-order gap between two valves whose edges face each other", ownGeometry,
		func(a []float64) (float64, error) {
			return of(valvetrain.FacingGap(l(a[0]), l(a[1]), l(a[2]), an(a[3]), an(a[4])))
		},
		length("closed"), length("inlet_lift"), length("exhaust_lift"), angle("inlet_inclination"), angle("exhaust_inclination")),
}

var springEntries = []Entry{
	function("spring_rate", quantity.OfStiffness, "stiffness of a helical spring", springBook,
		func(a []float64) (float64, error) {
			return of(valvetrain.Wire{Diameter: l(a[0]), MeanDiameter: l(a[1]), Active: a[2], Modulus: p(a[3])}.Rate())
		},
		length("wire"), length("mean_diameter"), number("active"), pressure("modulus")),
	function("spring_rate_from_loads", quantity.OfStiffness, "stiffness from loads at two lengths", definition,
		func(a []float64) (float64, error) {
			return of(valvetrain.RateFromLoads(l(a[0]), f(a[1]), l(a[2]), f(a[3])))
		},
		length("first_length"), force("first_load"), length("second_length"), force("second_load")),
	function("spring_load", quantity.OfForce, "load of a spring at a length; add the springs of a nest", "Hooke's law",
		func(a []float64) (float64, error) {
			return of(valvetrain.Nest{{Rate: k(a[0]), Free: l(a[1])}}.Load(l(a[2])))
		},
		stiffness("rate"), length("free"), length("length")),
	function("spring_stress", quantity.OfPressure, "shear stress at the inside of a coil under a load", "Wahl's factor of machine-design textbooks. Seen: a textbook companion's data, a public test file",
		func(a []float64) (float64, error) {
			return of(valvetrain.Wire{Diameter: l(a[0]), MeanDiameter: l(a[1]), Active: 1, Modulus: 80e9}.Stress(f(a[2])))
		},
		length("wire"), length("mean_diameter"), force("load")),
	function("wahl_factor", quantity.OfNumber, "stress factor of a spring index, mean diameter over wire", "machine-design textbooks, by Wahl. Seen: a textbook companion's data",
		func(a []float64) (float64, error) { return of(valvetrain.WahlFactor(a[0])) },
		number("index")),
	function("spring_mass", quantity.OfMass, "mass of the coils that work", "length of the wire times its section; geometry",
		func(a []float64) (float64, error) {
			return of(valvetrain.Wire{Diameter: l(a[0]), MeanDiameter: l(a[1]), Active: a[2], Modulus: 80e9, Density: quantity.Density(a[3])}.ActiveMass())
		},
		length("wire"), length("mean_diameter"), number("active"), or(formula.Argument{Name: "density", Dimension: quantity.OfDensity}, coilOfSteel)),
	function("surge", quantity.OfFrequency, "lowest frequency at which the coils swing, both ends held", "an engineering page that gives ½·√(k/m) (seen); Shigley's Mechanical Engineering Design, equation 10-25",
		func(a []float64) (float64, error) { return of(valvetrain.SurgeFrequency(k(a[0]), m(a[1]))) },
		stiffness("rate"), mass("active_mass")),
	function("surge_harmonic", quantity.OfNumber, "surge over the speed of the cam, from that of the crank", definition,
		func(a []float64) (float64, error) { return of(valvetrain.SurgeHarmonic(hz(a[0]), hz(a[1]))) },
		frequency("surge"), frequency("crank_speed")),
	function("bind_margin", quantity.OfLength, "what is left between the coils at full lift", definition,
		func(a []float64) (float64, error) { return of(valvetrain.BindMargin(l(a[0]), l(a[1]), l(a[2]))) },
		length("installed"), length("lift"), length("solid")),
	function("spring_shim", quantity.OfLength, "shim that brings a spring to its installed length", definition,
		func(a []float64) (float64, error) { return of(valvetrain.ShimForLength(l(a[0]), l(a[1]))) },
		length("measured"), length("target")),
}

// stackChange is the preload that a change of the stack adds.
func stackChange(kind valvetrain.StackChange) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		return of(valvetrain.PreloadChange(a[1], valvetrain.Change{Kind: kind, Amount: l(a[0])}))
	}
}

var lifterEntries = []Entry{
	function("pushrod_length", quantity.OfLength, "length of pushrod that gives a preload", definition,
		func(a []float64) (float64, error) { return of(valvetrain.PushrodLength(l(a[0]), l(a[1]))) },
		length("zero_lash"), length("preload")),
	function("preload_lost", quantity.OfLength, "how far a lifter's preload falls hot: growth outside less growth inside (add up growth of each part)", "thermal growth of two stacks; own derivation. Seen: a forum page on setting cold",
		func(a []float64) (float64, error) { return a[0] - a[1], nil },
		length("outside_growth"), length("inside_growth")),
	function("preload_hot", quantity.OfLength, "a lifter's preload hot", definition,
		func(a []float64) (float64, error) {
			_, hot, err := valvetrain.PreloadColdAndHot(l(a[0]), 1, l(a[1]))
			return float64(hot.Depth), err
		},
		length("cold"), length("lost")),
	function("travel_left", quantity.OfLength, "how much further a lifter can go; zero or less holds the valve open", definition,
		func(a []float64) (float64, error) {
			cold, _, err := valvetrain.PreloadColdAndHot(l(a[0]), l(a[1]), 0)
			return float64(cold.Remaining), err
		},
		length("preload"), length("travel")),
	function("seat_sunk_preload", quantity.OfLength, "preload that a valve sunk deeper into the head adds", lever, stackChange(valvetrain.SeatSunk), length("amount"), number("ratio")),
	function("tip_ground_preload", quantity.OfLength, "preload that grinding the stem's end adds, which is negative", lever, stackChange(valvetrain.TipGround), length("amount"), number("ratio")),
	function("rocker_lowered_preload", quantity.OfLength, "preload that a rocker shaft lowered towards the head adds", lever, stackChange(valvetrain.RockerShaftLowered), length("amount"), number("ratio")),
	function("rocker_worn_preload", quantity.OfLength, "preload that a worn rocker bush adds, which is negative", lever, stackChange(valvetrain.RockerBushWorn), length("depth"), number("ratio")),
	function("lifter_force", quantity.OfForce, "force on a lifter that holds a valve", "law of the lever",
		func(a []float64) (float64, error) { return of(valvetrain.LifterForce(f(a[0]), a[1])) },
		force("spring_load"), number("ratio")),
	function("bleed_down", quantity.OfTime, "estimate of how long a pumped-up lifter takes to let its valve shut", "laminar leakage; own derivation",
		func(a []float64) (float64, error) {
			return of(valvetrain.BleedDown(valvetrain.LeakTest{Time: quantity.Duration(a[0]), Stroke: l(a[1]), Force: f(a[2])}, l(a[3]), f(a[4]), a[5]))
		},
		formula.Argument{Name: "bench_time", Dimension: quantity.OfTime}, length("bench_stroke"), force("bench_force"), length("stroke"), force("force"), number("viscosity_ratio")),
	function("rocker_ratio", quantity.OfNumber, "ratio of a rocker's arms", "law of the lever",
		func(a []float64) (float64, error) {
			return of(valvetrain.Rocker{TipArm: l(a[0]), CupArm: l(a[1])}.Ratio())
		},
		length("tip_arm"), length("cup_arm")),
	function("rocker_ratio_at", quantity.OfNumber, "ratio of a rocker at a share of the valve's full lift: how fast the valve moves against the pushrod there", "plane geometry; own derivation",
		func(a []float64) (float64, error) {
			s, err := valvetrain.Rocker{TipArm: l(a[0]), CupArm: l(a[1]), TipPast: l(a[4]), CupPast: l(a[5])}.At(l(a[2]), a[3])
			if err != nil {
				return 0, err
			}
			return s[0].Local, nil
		},
		length("tip_arm"), length("cup_arm"), length("lift"), number("share"), or(length("tip_past"), 0), or(length("cup_past"), 0)),
	function("tip_sweep", quantity.OfLength, "how far the rocker's contact wanders across the stem", halfLift,
		func(a []float64) (float64, error) { return of(valvetrain.TipSweep(l(a[0]), l(a[1]), l(a[2]))) },
		length("arm"), length("lift"), or(length("past"), 0)),
	function("turns", quantity.OfAngle, "how far an adjuster turns to move by a length", "screw geometry",
		func(a []float64) (float64, error) {
			x, err := valvetrain.Turn(l(a[0]), l(a[1]))
			return x.Turns * 2 * math.Pi, err
		},
		length("length"), length("pitch")),
	function("flats", quantity.OfNumber, "the same counted in flats of a hexagon, six to a turn", "screw geometry; six flats a turn seen on a motorcycle forum page",
		func(a []float64) (float64, error) {
			x, err := valvetrain.Turn(l(a[0]), l(a[1]))
			return x.Flats, err
		},
		length("length"), length("pitch")),
}
