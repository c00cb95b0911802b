package catalogue

import (
	"math"

	"buttonup/formula"
	"buttonup/mechanics/joint"
	"buttonup/quantity"
)

const (
	threadBook   = "ISO 68-1, ISO 724 and ISO 898-1. Seen: a thread data page and tables that quote them; the standards not"
	screwBook    = "exact form of ISO 16047 as an article quotes it (seen); Shigley, chapter 8. Memory"
	stripBook    = "FED-STD-H28/2 and ASME B1.1 appendix B, worst-case limits 6g/6H. Seen: a table of shear areas and two worked examples"
	stiffBook    = "Shigley, Mechanical Engineering Design, chapter 8. Seen: pages 426, 430 and 439 as a university library shows them; for equation 8-22: Memory"
	linearGrowth = "definition of the coefficient of linear expansion"
)

// ofThread computes from a thread whose first two arguments are diameter and pitch.
func ofThread(at int, compute func(t joint.Thread, a []float64) (float64, error)) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		t, err := joint.Metric(l(a[at]), l(a[at+1]))
		if err != nil {
			return 0, err
		}
		return compute(t, a)
	}
}

// finest is a fine pitch for a diameter: it leaves the least share of a torque to the
// pitch, where a nut factor alone is given.
func finest(diameter float64) float64 { return math.Min(math.Max(2e-4, diameter/20), 8e-3) }

func tightening(first formula.Argument) []formula.Argument {
	return []formula.Argument{first, length("diameter"), length("pitch"), length("head"), length("hole"), number("thread_friction"), number("head_friction")}
}

func ringAndFriction(a []float64) (joint.Ring, joint.Friction) {
	return joint.Ring{Outer: l(a[3]), Hole: l(a[4])}, joint.Friction{Thread: a[5], Head: a[6]}
}

func byNutFactor(compute func(t joint.Thread, a []float64) (float64, error)) func(a []float64) (float64, error) {
	return func(a []float64) (float64, error) {
		t, err := joint.Metric(l(a[1]), l(finest(a[1])))
		if err != nil {
			return 0, err
		}
		return compute(t, a)
	}
}

var threadEntries = []Entry{
	function("stress_area", quantity.OfArea, "tensile stress area of a metric thread", threadBook,
		ofThread(0, func(t joint.Thread, _ []float64) (float64, error) { return float64(t.StressArea()), nil }), length("diameter"), length("pitch")),
	function("stress_area_inch", quantity.OfArea, "tensile stress area of a unified inch thread", "ASME B1.1 appendix B. Seen: tables that quote it",
		func(a []float64) (float64, error) {
			t, err := joint.Unified(l(a[0]), float64(quantity.Inches(1))/a[1])
			return float64(t.StressArea()), err
		}, length("diameter"), length("pitch")),
	function("pitch_diameter", quantity.OfLength, "basic pitch diameter, d2", threadBook,
		ofThread(0, func(t joint.Thread, _ []float64) (float64, error) { return float64(t.PitchDiameter()), nil }), length("diameter"), length("pitch")),
	function("minor_diameter", quantity.OfLength, "basic minor diameter, D1", threadBook,
		ofThread(0, func(t joint.Thread, _ []float64) (float64, error) { return float64(t.MinorDiameter()), nil }), length("diameter"), length("pitch")),
	function("root_diameter", quantity.OfLength, "diameter at the root of the bolt's thread, d3", threadBook,
		ofThread(0, func(t joint.Thread, _ []float64) (float64, error) { return float64(t.RootDiameter()), nil }), length("diameter"), length("pitch")),
	function("tightening_torque", quantity.OfTorque, "torque that brings a preload, by friction (head and hole bound the ring)", screwBook,
		ofThread(1, func(t joint.Thread, a []float64) (float64, error) {
			r, mu := ringAndFriction(a)
			x, err := joint.TighteningTorque(f(a[0]), t, r, mu)
			return float64(x.Torque), err
		}), tightening(force("preload"))...),
	function("preload_by_friction", quantity.OfForce, "preload that a torque brings, by friction", screwBook,
		ofThread(1, func(t joint.Thread, a []float64) (float64, error) {
			r, mu := ringAndFriction(a)
			return of(joint.Preload(tq(a[0]), t, r, mu))
		}), tightening(torque("torque"))...),
	function("torque_by_nut_factor", quantity.OfTorque, "torque that brings a preload, T = K·F·d", "an article on torque and preload (seen); Shigley, chapter 8. Memory",
		byNutFactor(func(t joint.Thread, a []float64) (float64, error) { return of(joint.NutFactorTorque(f(a[0]), t, a[2])) }),
		force("preload"), length("diameter"), number("nut_factor")),
	function("preload_by_nut_factor", quantity.OfForce, "preload that a torque brings, F = T/(K·d)", "an article on torque and preload (seen); Shigley, chapter 8. Memory",
		byNutFactor(func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.PreloadByNutFactor(tq(a[0]), t, a[2]))
		}),
		torque("torque"), length("diameter"), number("nut_factor")),
	function("tightening_stress", quantity.OfPressure, "equivalent stress in a bolt while the wrench still turns it", "VDI 2230 part 1:2003. Seen: a catalogue page computed by it",
		ofThread(1, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.TighteningStress(f(a[0]), t, a[3]))
		}),
		force("preload"), length("diameter"), length("pitch"), number("thread_friction")),
	function("assembly_preload", quantity.OfForce, "preload at which tightening uses a share of the yield stress", "VDI 2230 part 1:2003. Seen: a catalogue page computed by it",
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.AssemblyPreload(t, p(a[2]), a[3], a[4]))
		}), length("diameter"), length("pitch"), pressure("yield"), number("share"), number("thread_friction")),
	function("bolt_shear_area", quantity.OfArea, "area that shears when a bolt's thread strips", stripBook,
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			bolt, _, err := joint.ShearAreas(t, l(a[2]), true)
			return float64(bolt), err
		}), length("diameter"), length("pitch"), length("engagement")),
	function("tapped_shear_area", quantity.OfArea, "area that shears when a tapped thread strips", stripBook,
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			_, tapped, err := joint.ShearAreas(t, l(a[2]), true)
			return float64(tapped), err
		}), length("diameter"), length("pitch"), length("engagement")),
	function("tapped_strip_load", quantity.OfForce, "load that strips a tapped thread of a tensile strength", stripBook,
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			s, err := joint.Stripping(t, l(a[2]), p(a[3]), p(a[3]), true)
			return float64(s.TappedLoad), err
		}), length("diameter"), length("pitch"), length("engagement"), pressure("tapped_strength")),
	function("needed_engagement", quantity.OfLength, "engagement at which the bolt breaks before either thread strips", stripBook,
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.NeededEngagement(t, p(a[2]), p(a[3]), true))
		}), length("diameter"), length("pitch"), pressure("bolt_strength"), pressure("tapped_strength")),
}

var jointEntries = []Entry{
	function("growth", quantity.OfLength, "how much a length grows when it warms", linearGrowth,
		func(a []float64) (float64, error) { return of(joint.Growth(l(a[0]), ex(a[1]), dt(a[2]))) },
		length("length"), expansion("expansion"), rise("rise")),
	function("thread_growth", quantity.OfLength, "how much more clamped parts grow than the bolt or stud through them", linearGrowth,
		func(a []float64) (float64, error) {
			return of(joint.GrowthDifference(l(a[0]), ex(a[1]), ex(a[2]), dt(a[3])))
		},
		length("grip"), expansion("parts_expansion"), expansion("bolt_expansion"), rise("rise")),
	function("bolt_stiffness", quantity.OfStiffness, "stiffness of the clamped part of a bolt", stiffBook,
		ofThread(0, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.BoltStiffness(t, p(a[2]), l(a[3]), l(a[4])))
		}), length("diameter"), length("pitch"), pressure("modulus"), length("shank"), length("threaded")),
	function("member_stiffness", quantity.OfStiffness, "stiffness of the clamped parts, all of one metal", stiffBook,
		func(a []float64) (float64, error) { return of(joint.MemberStiffness(l(a[0]), l(a[1]), p(a[2]))) },
		length("diameter"), length("grip"), pressure("modulus")),
	function("load_share", quantity.OfNumber, "share of an outer load that the bolt takes while the joint stays closed", stiffBook,
		func(a []float64) (float64, error) { return of(joint.LoadShare(k(a[0]), k(a[1]))) },
		stiffness("bolt"), stiffness("members")),
	function("preload_change", quantity.OfForce, "change of preload when the parts grow by more than the bolt; negative for settling", "springs in series; "+stiffBook,
		func(a []float64) (float64, error) { return of(joint.PreloadChange(l(a[0]), k(a[1]), k(a[2]))) },
		length("mismatch"), stiffness("bolt"), stiffness("members")),
	function("turn_preload", quantity.OfForce, "preload that turning a seated nut by an angle adds", "screw geometry and springs in series",
		ofThread(1, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.TurnPreload(an(a[0]), t, k(a[3]), k(a[4])))
		}), angle("angle"), length("diameter"), length("pitch"), stiffness("bolt"), stiffness("members")),
	function("turn_angle", quantity.OfAngle, "angle that adds a preload to a seated nut", "screw geometry and springs in series",
		ofThread(1, func(t joint.Thread, a []float64) (float64, error) {
			return of(joint.TurnAngle(f(a[0]), t, k(a[3]), k(a[4])))
		}), force("preload"), length("diameter"), length("pitch"), stiffness("bolt"), stiffness("members")),
}

var wrenchEntries = []Entry{
	function("adapter_setting", quantity.OfTorque, "what a wrench is set to that works through an adapter", "statics; TM 1-1500-204-23-9, figure 8-16. Seen",
		func(a []float64) (float64, error) {
			s, _, err := joint.AdapterSetting(tq(a[0]), l(a[1]), l(a[2]), an(a[3]))
			return float64(s), err
		},
		torque("torque"), length("wrench"), length("offset"), or(angle("angle"), 0)),
	function("applied_torque", quantity.OfTorque, "torque at the nut for a reading of such a wrench", "TM 9-254, figure 45. Seen",
		func(a []float64) (float64, error) {
			return of(joint.AppliedTorque(tq(a[0]), l(a[1]), l(a[2]), an(a[3])))
		},
		torque("reading"), length("wrench"), length("offset"), or(angle("angle"), 0)),
	function("torque_with_drag", quantity.OfTorque, "what the wrench must show when a nut drags", "FAA AC 43.13-1B, paragraph 7-40 d. Seen: a stored web copy",
		func(a []float64) (float64, error) { return of(joint.TorqueWithDrag(tq(a[0]), tq(a[1]))) },
		torque("wanted"), torque("drag")),
	function("screw_beyond", quantity.OfLength, "what of a screw stands out beyond the parts that it clamps", ownGeometry,
		func(a []float64) (float64, error) {
			// The hole has no part in it: one that is long enough for any screw.
			r, err := joint.ScrewReach(l(a[0]), l(a[1]), l(a[0]))
			return float64(r.Beyond), err
		},
		length("length"), length("through")),
	function("screw_clearance", quantity.OfLength, "what is left to the bottom of the hole; below zero the screw bottoms", ownGeometry,
		func(a []float64) (float64, error) {
			r, err := joint.ScrewReach(l(a[0]), l(a[1]), l(a[2]))
			return float64(r.Clearance), err
		},
		length("length"), length("through"), length("hole")),
	function("gasket_crush", quantity.OfNumber, "crush of a gasket as a share of its free thickness", definition,
		func(a []float64) (float64, error) { return of(joint.Crush(l(a[0]), l(a[1]))) },
		length("free"), length("crushed")),
	function("crushed_thickness", quantity.OfLength, "thickness of a gasket under load", definition,
		func(a []float64) (float64, error) { return of(joint.CrushedThickness(l(a[0]), a[1])) },
		length("free"), number("crush")),
}
