package calc

import (
	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

// chamberArguments are what the charge is squeezed into.
func chamberArguments() []Argument {
	return []Argument{
		size("bore", "bore as finished, not its nominal size"),
		size("stroke", "twice the throw of the crank"),
		volume("chamber", "volume of the head, valves and plug in, to its joint face", 0),
		size("gasket_bore", "bore of the head gasket"),
		amount("gasket_thickness", "thickness of the head gasket as crushed"),
		distance("deck", "how far the crown's edge is below the top of the barrel at the top; negative if it stands proud").or("0 mm"),
		volume("pockets", "what valve pockets and a dish hold less what a dome fills; negative for a dome", -mostVolume).or("0 cc"),
	}
}

func creviceArgument() Argument {
	return volume("crevice", "what the top land leaves open; most published ratios leave it out", 0).or("0 cc")
}

const aboutGasket = "Without gasket_bore and gasket_thickness no gasket is counted, and a note says so; one of them alone is refused, unless the thickness is zero. Everything is per cylinder and net: measure each cylinder by itself."

var (
	rodArgument    = size("rod", "rod between the centres of its eyes")
	offsetArgument = distance("offset", "how far the pin's line passes beside the crank's axis, positive towards the side to which the throw swings").or("0 mm")
)

var cylinderCalculations = []*Calculation{
	{
		Name:      "displacement",
		Summary:   "what a piston sweeps, and all of them",
		About:     []string{"Where barrels are bored to different sizes compute each by itself and add them up."},
		Source:    "FAA-H-8083-30, mathematics chapter (piston displacement). Seen: a training site that carries the text",
		Arguments: []Argument{size("bore", "bore as finished, not its nominal size"), size("stroke", "twice the throw of the crank"), count("cylinders", "how many cylinders", 1, 64)},
		Outputs: []Output{
			{Name: "each", Is: "what one piston sweeps", Needs: [][]string{{"bore", "stroke"}}},
			{Name: "total", Is: "what all of them sweep", Needs: [][]string{{"bore", "stroke", "cylinders"}}},
		},
		Example:     []string{"bore=5.5 in", "stroke=5.4 in", "cylinders=8"},
		ExampleFrom: "FAA-H-8083-30 prints 128.29 and 1 026.32 in³; it multiplies the rounded 128.29",
		compute: func(in *inputs, out *Answer) error {
			n := 1
			if in.given("cylinders") {
				n = int(in.si("cylinders"))
			}
			each, total, err := cylinder.Displacement(in.length("bore"), in.length("stroke"), n)
			if err != nil {
				return err
			}
			u := in.unit(quantity.OfVolume, "bore")
			out.value("each", float64(each), u)
			if in.gives("total") {
				out.value("total", float64(total), u)
			}
			return nil
		},
	},
	{
		Name:      "compression",
		Summary:   "static compression ratio and clearance volume",
		About:     []string{aboutGasket},
		Source:    "FAA-H-8083-32, chapter 1 (ratio of volumes), seen on a training site; the parts of the clearance volume are geometry, common practice",
		Arguments: append(chamberArguments(), creviceArgument()),
		Outputs: []Output{
			{Name: "ratio", Is: "compression ratio over the whole stroke", Needs: [][]string{{"bore", "stroke", "chamber"}}},
			{Name: "clearance_volume", Is: "what the charge is squeezed into", Needs: [][]string{{"bore", "chamber"}}},
		},
		Example:     []string{"bore=92 mm", "stroke=86.5 mm", "chamber=62.5 cc", "gasket_bore=93.5 mm", "gasket_thickness=1.14 mm", "deck=0.20 mm", "pockets=4.0 cc"},
		ExampleFrom: "the demo engine (invented)",
		prepare:     settleGasket,
		compute:     compression,
	},
	{
		Name:    "trapped-compression",
		Summary: "compression ratio from where the inlet valve closes",
		About: []string{
			"`inlet_closes` counts from the piston's bottom dead centre, positive after it. Take the closing at the seat, at a lift of 0.15 mm or so, not the figure printed for 1.00 mm, and compare only like with like. `trapped_stroke` is what is left of the stroke then.",
			aboutGasket,
		},
		Source:    "geometry of the slider-crank; own derivation. Dynamic and effective are used for other things too",
		Arguments: append(chamberArguments(), rodArgument, angle("inlet_closes", "when the inlet valve is on its seat, after bottom centre", besideCentre), offsetArgument, creviceArgument()),
		Outputs: []Output{
			{Name: "ratio", Is: "ratio over the stroke that is left", Needs: [][]string{{"bore", "stroke", "chamber", "rod", "inlet_closes"}}},
			{Name: "trapped_stroke", Is: "the stroke that is left", Needs: [][]string{{"stroke", "rod", "inlet_closes"}}},
			{Name: "clearance_volume", Is: "what the charge is squeezed into", Needs: [][]string{{"bore", "chamber"}}, Beside: true},
		},
		Example:     []string{"bore=92 mm", "stroke=86.5 mm", "rod=178 mm", "inlet_closes=62 deg", "chamber=62.5 cc", "gasket_bore=93.5 mm", "gasket_thickness=1.14 mm", "deck=0.20 mm", "pockets=4.0 cc"},
		ExampleFrom: "the demo engine (invented)",
		prepare:     settleGasket,
		compute:     trappedCompression,
	},
	{
		Name:      "piston-drop",
		Summary:   "how far the piston is below its highest point",
		About:     []string{"The angle counts from the throw in line with the bore. With an offset the piston is highest a little beside that."},
		Source:    "plane geometry of the slider-crank. Seen: a course worksheet that tabulates it and a university page on the offset slider-crank",
		Arguments: []Argument{size("stroke", "twice the throw of the crank"), rodArgument, angle("angle", "angle of the crank from the throw in line with the bore", anyAngle), offsetArgument},
		Outputs: []Output{
			{Name: "drop", Is: "how far the piston has come down", Needs: [][]string{{"stroke", "rod", "angle"}}},
		},
		Example:     []string{"stroke=86.5 mm", "rod=178 mm", "angle=20 deg"},
		ExampleFrom: "the demo engine (invented)",
		compute: func(in *inputs, out *Answer) error {
			drop, err := cylinder.PistonDrop(in.length("stroke"), in.length("rod"), in.angle("angle"), in.length("offset"))
			if err != nil {
				return err
			}
			out.value("drop", float64(drop), in.unit(quantity.OfLength, "stroke"))
			return nil
		},
	},
}

// settleGasket refuses half a gasket.
func settleGasket(in *inputs) error {
	bore, thickness := in.given("gasket_bore"), in.given("gasket_thickness")
	switch {
	case bore && !thickness:
		return in.lacks("gasket_thickness")
	case thickness && !bore && in.si("gasket_thickness") > 0:
		return in.lacks("gasket_bore")
	}
	return nil
}

func (in *inputs) clearance(out *Answer) cylinder.Clearance {
	if !in.given("gasket_thickness") && in.gives("clearance_volume") {
		out.note("no head gasket is counted")
	}
	return cylinder.Clearance{
		Chamber: in.volume("chamber"), GasketBore: in.length("gasket_bore"), GasketThickness: in.length("gasket_thickness"),
		Deck: in.length("deck"), Pockets: in.volume("pockets"), Crevice: in.volume("crevice"),
	}
}

// clearanceVolume names everything that together leaves no volume.
func (in *inputs) clearanceVolume(c cylinder.Clearance) (quantity.Volume, error) {
	v, err := c.Volume(in.length("bore"))
	if err != nil {
		return 0, in.together(err, "chamber", "gasket_thickness", "deck", "pockets")
	}
	return v, nil
}

func compression(in *inputs, out *Answer) error {
	c := in.clearance(out)
	v, err := in.clearanceVolume(c)
	if err != nil {
		return err
	}
	if in.gives("ratio") {
		r, err := cylinder.StaticCompression(in.length("bore"), in.length("stroke"), c)
		if err != nil {
			return err
		}
		out.number("ratio", r.Ratio, 2)
	}
	out.value("clearance_volume", float64(v), in.unit(quantity.OfVolume, "chamber"))
	return nil
}

func trappedCompression(in *inputs, out *Answer) error {
	crank := cylinder.Crank{Stroke: in.length("stroke"), Rod: in.length("rod"), Offset: in.length("offset")}
	// The stroke that is left depends on neither bore nor chamber.
	bore, c := quantity.Length(0.1), cylinder.Clearance{Chamber: 1e-4}
	if in.gives("ratio") {
		bore, c = in.length("bore"), in.clearance(out)
		if _, err := in.clearanceVolume(c); err != nil {
			return err
		}
	}
	r, err := cylinder.TrappedCompression(bore, crank, c, in.angle("inlet_closes"))
	if err != nil {
		return err
	}
	if in.gives("ratio") {
		out.number("ratio", r.Ratio, 2)
	}
	out.value("trapped_stroke", float64(r.Stroke), in.unit(quantity.OfLength, "stroke"))
	if in.gives("ratio") {
		out.value("clearance_volume", float64(r.Clearance), in.unit(quantity.OfVolume, "chamber"))
	}
	return nil
}
