package catalogue

import (
	"math"

	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

const (
	sliderCrank = "plane geometry of the slider-crank. Seen: a course worksheet that tabulates it, a university page on the offset one"
	displaced   = "FAA-H-8083-30, mathematics chapter (piston displacement). Seen: a training site that carries the text"
	practice    = "common practice, no published source"
	definition  = "definition"
	ownHeat     = "thermal growth; own derivation"
	ownGeometry = "geometry; own derivation"
)

func crankOf(stroke, rod, offset float64) cylinder.Crank {
	return cylinder.Crank{Stroke: l(stroke), Rod: l(rod), Offset: l(offset)}
}

var pistonEntries = []Entry{
	function("piston_drop", quantity.OfLength, "how far the piston is below its highest point at a crank angle", sliderCrank,
		func(a []float64) (float64, error) {
			return of(cylinder.PistonDrop(l(a[0]), l(a[1]), an(a[2]), l(a[3])))
		},
		length("stroke"), length("rod"), angle("angle"), or(length("offset"), 0)),
	function("piston_travel", quantity.OfLength, "way of the piston from its highest to its lowest point", sliderCrank,
		func(a []float64) (float64, error) { return of(crankOf(a[0], a[1], a[2]).Travel()) },
		length("stroke"), length("rod"), or(length("offset"), 0)),
	function("piston_speed", quantity.OfSpeed, "speed of the piston at a crank angle, positive on the way down", sliderCrank,
		func(a []float64) (float64, error) {
			x, err := crankOf(a[0], a[1], a[4]).VelocityFactor(an(a[3]))
			return float64(x) * 2 * math.Pi * a[2], err
		},
		length("stroke"), length("rod"), frequency("speed"), angle("angle"), or(length("offset"), 0)),
	function("piston_acceleration", quantity.OfAcceleration, "acceleration of the piston at a crank angle, positive downwards", "second derivative of piston_drop; own derivation",
		func(a []float64) (float64, error) {
			x, err := crankOf(a[0], a[1], a[4]).AccelerationFactor(an(a[3]))
			w := 2 * math.Pi * a[2]
			return float64(x) * w * w, err
		},
		length("stroke"), length("rod"), frequency("speed"), angle("angle"), or(length("offset"), 0)),
	function("rod_angle", quantity.OfAngle, "angle between rod and bore at a crank angle", "plane geometry. Seen: a course worksheet that counts it from the other side",
		func(a []float64) (float64, error) { return of(crankOf(a[0], a[1], a[3]).RodAngle(an(a[2]))) },
		length("stroke"), length("rod"), angle("angle"), or(length("offset"), 0)),
	function("crank_angle", quantity.OfAngle, "crank angle after the top at which the piston has come down by a drop", "law of cosines; own derivation",
		func(a []float64) (float64, error) {
			_, after, err := crankOf(a[0], a[1], a[3]).AnglesAt(l(a[2]))
			return float64(after), err
		},
		length("stroke"), length("rod"), length("drop"), or(length("offset"), 0)),
	function("stroke_from_depths", quantity.OfLength, "stroke from the depth of the crown at top and bottom dead centre", practice,
		func(a []float64) (float64, error) { return of(cylinder.StrokeFromDepths(l(a[0]), l(a[1]))) },
		length("top"), length("bottom")),
	function("deck_height", quantity.OfLength, "how far the crown will be below the barrel's top, negative if proud", ownGeometry,
		func(a []float64) (float64, error) {
			return of(cylinder.Stack{CaseDeck: l(a[0]), BaseGasket: l(a[1]), Barrel: l(a[2]), Stroke: l(a[3]), Rod: l(a[4]), CompressionHeight: l(a[5])}.Deck())
		},
		length("case_deck"), length("base_gasket"), length("barrel"), length("stroke"), length("rod"), length("compression_height")),
	function("deck_from_bridge", quantity.OfLength, "deck height from two readings on the pin's axis, the lean taken out", practice,
		func(a []float64) (float64, error) {
			d, err := cylinder.DeckFromBridge(l(a[0]), l(a[1]))
			return float64(d.Height), err
		},
		length("first"), length("second")),
	function("piston_rock", quantity.OfLength, "what the piston leans, half the difference of the same two readings", practice,
		func(a []float64) (float64, error) {
			d, err := cylinder.DeckFromBridge(l(a[0]), l(a[1]))
			return float64(d.Rock), err
		},
		length("first"), length("second")),
	function("squish", quantity.OfLength, "gap between crown and squish band, cold", practice,
		func(a []float64) (float64, error) { return of(cylinder.Squish(l(a[0]), l(a[1]))) },
		length("deck"), length("gasket")),
}

var volumeEntries = []Entry{
	function("swept_volume", quantity.OfVolume, "what one piston sweeps", displaced,
		func(a []float64) (float64, error) { return of(cylinder.SweptVolume(l(a[0]), l(a[1]))) },
		length("bore"), length("stroke")),
	function("clearance_volume", quantity.OfVolume, "what the charge is squeezed into at the top", "geometry; common practice",
		func(a []float64) (float64, error) {
			c := cylinder.Clearance{Chamber: v(a[1]), GasketBore: l(a[2]), GasketThickness: l(a[3]), Deck: l(a[4]), Pockets: v(a[5]), Crevice: v(a[6])}
			return of(c.Volume(l(a[0])))
		},
		length("bore"), volume("chamber"), length("gasket_bore"), length("gasket_thickness"), or(length("deck"), 0), or(volume("pockets"), 0), or(volume("crevice"), 0)),
	function("compression_ratio", quantity.OfNumber, "ratio of the volumes at bottom and top", "FAA-H-8083-32, chapter 1. Seen: a training site that carries the text",
		func(a []float64) (float64, error) { return of(cylinder.CompressionRatio(v(a[0]), v(a[1]))) },
		volume("swept"), volume("clearance")),
	function("trapped_stroke", quantity.OfLength, "stroke that is left when the inlet closes, an angle after bottom centre", ownGeometry,
		func(a []float64) (float64, error) {
			c, err := cylinder.TrappedCompression(0.1, crankOf(a[0], a[1], a[3]), cylinder.Clearance{Chamber: 1e-4}, an(a[2]))
			return float64(c.Stroke), err
		},
		length("stroke"), length("rod"), angle("inlet_closes"), or(length("offset"), 0)),
	function("trapped_compression", quantity.OfNumber, "compression ratio over the stroke that is left when the inlet closes", ownGeometry,
		func(a []float64) (float64, error) {
			c, err := cylinder.TrappedCompression(l(a[0]), crankOf(a[1], a[2], a[5]), cylinder.Clearance{Chamber: v(a[4])}, an(a[3]))
			return c.Ratio, err
		},
		length("bore"), length("stroke"), length("rod"), angle("inlet_closes"), volume("clearance"), or(length("offset"), 0)),
	function("dome_volume", quantity.OfVolume, "net volume of the crown above its edge by a down-fill; negative for pockets", practice,
		func(a []float64) (float64, error) { return of(cylinder.DownFill(l(a[0]), l(a[1]), v(a[2]))) },
		length("bore"), length("lowered"), volume("filled")),
	function("top_land_crevice", quantity.OfVolume, "crevice between bore and top land down to the top ring", ownGeometry,
		func(a []float64) (float64, error) { return of(cylinder.TopLandCrevice(l(a[0]), l(a[1]), l(a[2]))) },
		length("bore"), length("land"), length("height")),
}

var boreEntries = []Entry{
	function("piston_clearance", quantity.OfLength, "clearance of a piston in its bore, on the diameter", definition,
		func(a []float64) (float64, error) { return of(cylinder.PistonClearance(l(a[0]), l(a[1]))) },
		length("bore"), length("skirt")),
	function("piston_clearance_hot", quantity.OfLength, "the same warm; zero or less seizes", ownHeat,
		func(a []float64) (float64, error) {
			return of(cylinder.PistonClearanceHot(l(a[0]), l(a[1]), cylinder.Heat{Expansion: ex(a[2]), Rise: dt(a[3])}, cylinder.Heat{Expansion: ex(a[4]), Rise: dt(a[5])}))
		},
		length("bore"), length("skirt"), expansion("barrel_expansion"), rise("barrel_rise"), expansion("piston_expansion"), rise("piston_rise")),
	function("bonded_expansion", quantity.OfExpansion, "expansion of two thin rings that grip one another, such as a liner cast in", "equal strain and balance of forces; own derivation",
		func(a []float64) (float64, error) {
			return of(cylinder.BondedExpansion(cylinder.Layer{Modulus: p(a[0]), Thickness: l(a[1]), Expansion: ex(a[2])}, cylinder.Layer{Modulus: p(a[3]), Thickness: l(a[4]), Expansion: ex(a[5])}))
		},
		pressure("inner_modulus"), length("inner_thickness"), expansion("inner_expansion"), pressure("outer_modulus"), length("outer_thickness"), expansion("outer_expansion")),
	function("liner_left", quantity.OfLength, "wall of a liner that is left at a bore", ownGeometry,
		func(a []float64) (float64, error) { return of(cylinder.LinerLeft(l(a[0]), l(a[1]))) },
		length("outside"), length("bore")),
	function("clean_up_bore", quantity.OfLength, "least finished bore at which a worn wall is sound all over", "geometry; common practice, no published source",
		func(a []float64) (float64, error) { return of(cylinder.CleanUpBore(l(a[0]), l(a[1]), l(a[2]))) },
		length("worst"), length("damage"), length("cut")),
	function("wear_step", quantity.OfLength, "height of the step at the top of the rings' path", "geometry; common practice",
		func(a []float64) (float64, error) { return of(cylinder.WearStep(l(a[0]), l(a[1]))) },
		length("worn"), length("unworn")),
	function("ring_gap", quantity.OfLength, "end gap that a rule of so much per bore asks for, cold", "rule of ring makers. Seen: a piston maker's page and a hobby page",
		func(a []float64) (float64, error) { return of(cylinder.RingGap(l(a[0]), a[1])) },
		length("bore"), number("factor")),
	function("ring_closure", quantity.OfLength, "how much a ring's gap closes hot", ownHeat,
		func(a []float64) (float64, error) {
			return of(cylinder.RingClosure(l(a[0]), cylinder.Heat{Expansion: ex(a[1]), Rise: dt(a[2])}, cylinder.Heat{Expansion: ex(a[3]), Rise: dt(a[4])}))
		},
		length("bore"), expansion("ring_expansion"), rise("ring_rise"), expansion("bore_expansion"), rise("bore_rise")),
	function("ring_gap_hot", quantity.OfLength, "end gap that is left hot; zero or less butts", ownHeat,
		func(a []float64) (float64, error) {
			return of(cylinder.RingGapHot(l(a[0]), l(a[1]), cylinder.Heat{Expansion: ex(a[2]), Rise: dt(a[3])}, cylinder.Heat{Expansion: ex(a[4]), Rise: dt(a[5])}))
		},
		length("gap"), length("bore"), expansion("ring_expansion"), rise("ring_rise"), expansion("bore_expansion"), rise("bore_rise")),
	function("ring_gap_at", quantity.OfLength, "what an end gap becomes where the bore has another diameter", "circumference of a circle; own derivation",
		func(a []float64) (float64, error) { return of(cylinder.RingGapAt(l(a[0]), l(a[1]), l(a[2]))) },
		length("gap"), length("from"), length("to")),
	function("taper_from_gaps", quantity.OfLength, "difference of two diameters from the gaps of one ring at both", "as ring_gap_at",
		func(a []float64) (float64, error) { return of(cylinder.TaperFromGaps(l(a[0]), l(a[1]))) },
		length("first"), length("second")),
}

var pressureEntries = []Entry{
	function("cranking_pressure", quantity.OfPressure, "gauge pressure to expect of a compression test", "polytropic compression, textbook; the exponent 1.25 is common practice. Memory",
		func(a []float64) (float64, error) { return of(cylinder.CrankingPressure(p(a[0]), a[1], a[2])) },
		pressure("ambient"), number("ratio"), or(number("exponent"), 1.25)),
	function("leak_down", quantity.OfNumber, "share of the supply pressure that a cylinder loses", "FAA AC 43.13-1B, paragraph 8-14. Seen: a safety tip that quotes it",
		func(a []float64) (float64, error) { return of(cylinder.LeakDown(p(a[0]), p(a[1]))) },
		pressure("supply"), pressure("cylinder")),
	function("standard_pressure", quantity.OfPressure, "pressure of the standard atmosphere at an altitude", "U.S. Standard Atmosphere 1976; ISO 2533. Seen: two pages that list the constants",
		func(a []float64) (float64, error) {
			x, _, err := cylinder.StandardAtmosphere(l(a[0]))
			return float64(x), err
		},
		length("altitude")),
}
