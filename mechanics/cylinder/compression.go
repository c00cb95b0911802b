package cylinder

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Clearance lists what the charge is squeezed into at the top dead centre. Everything
// is per cylinder and net: measure each cylinder by itself.
type Clearance struct {
	// Chamber is the volume of the head, valves and plug in, to its joint face.
	Chamber quantity.Volume
	// GasketBore and GasketThickness are those of the head gasket as crushed, not as
	// bought. Both are zero where there is none.
	GasketBore, GasketThickness quantity.Length
	// Deck is how far the crown's edge is below the top of the barrel, negative if it
	// stands proud.
	Deck quantity.Length
	// Pockets is what valve pockets and dish hold less what a dome fills, as
	// [DownFill] finds it with the opposite sign; negative for a dome.
	Pockets quantity.Volume
	// Crevice is what the top land leaves open; most published ratios leave it out.
	Crevice quantity.Volume
}

// Volume returns the clearance volume over a bore.
//
//	Vc = chamber + π/4·Dg²·t + π/4·B²·deck + pockets + crevice
//
// Dg and t are bore and crushed thickness of the head gasket, B is the bore of the
// barrel. Signs as in [Clearance].
//
// Volume returns an error if a size that cannot be negative is, if a gasket has a
// thickness but no bore, or if nothing is left of the volume, naming all its parts. It
// never returns NaN.
//
// Source: geometry; common practice, no published source.
func (c Clearance) Volume(bore quantity.Length) (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.NotNegative("chamber", volumes, float64(c.Chamber))
	in.NotNegative("gasket bore", lengths, float64(c.GasketBore))
	in.NotNegative("gasket thickness", lengths, float64(c.GasketThickness))
	in.Number("deck", lengths, float64(c.Deck))
	in.Number("pockets", volumes, float64(c.Pockets))
	in.NotNegative("crevice", volumes, float64(c.Crevice))
	if c.GasketThickness > 0 && c.GasketBore == 0 {
		in.Refuse("gasket bore", "gasket bore 0 mm must be above zero where gasket thickness is %s", lengths.Text(float64(c.GasketThickness)))
	}
	if in.Err != nil {
		return 0, in.Err
	}
	v := c.Chamber + quantity.Volume(circle(c.GasketBore)*float64(c.GasketThickness)+circle(bore)*float64(c.Deck)) + c.Pockets + c.Crevice
	if !(float64(v) >= volumes.Least) {
		in.Refuse("chamber, gasket thickness, deck, pockets", "chamber %s, gasket thickness %s, deck %s and pockets %s leave a clearance volume of %s, which must be above zero", volumes.Text(float64(c.Chamber)), lengths.Text(float64(c.GasketThickness)), lengths.Text(float64(c.Deck)), volumes.Text(float64(c.Pockets)), volumes.Text(float64(v)))
		return 0, in.Err
	}
	return v, nil
}

// CompressionRatio returns the ratio of the volumes at the bottom and at the top.
//
//	CR = (V + Vc)/Vc
//
// V is the volume swept and Vc the clearance volume. CompressionRatio returns an error
// if either is not above zero. It never returns NaN or an infinity.
//
// Source: FAA-H-8083-32, chapter 1. Seen: a training site that carries the text.
func CompressionRatio(swept, clearance quantity.Volume) (float64, error) {
	var in argument.Inspection
	in.Above("swept", volumes, float64(swept))
	in.Above("clearance", volumes, float64(clearance))
	if in.Err != nil {
		return 0, in.Err
	}
	return float64((swept + clearance) / clearance), nil
}

// Compression is a compression ratio and the volumes that it comes from.
type Compression struct {
	Ratio float64
	// Stroke is the part of the stroke that counts: all of it for the static ratio,
	// what is left at inlet closing for the trapped one.
	Stroke           quantity.Length
	Swept, Clearance quantity.Volume
}

// StaticCompression returns the compression ratio over the whole stroke.
//
//	CR = (π/4·B²·S + Vc)/Vc
//
// B is the bore and S the stroke; Vc as in [Clearance.Volume]. One cubic centimetre in
// the chamber of a 575 cc cylinder is about a tenth of a ratio: the answer is as good
// as the fill.
//
// Errors as in [SweptVolume] and [Clearance.Volume]. It never returns NaN.
//
// Source: as [CompressionRatio].
func StaticCompression(bore, stroke quantity.Length, c Clearance) (Compression, error) {
	swept, err := SweptVolume(bore, stroke)
	if err != nil {
		return Compression{}, err
	}
	clearance, err := c.Volume(bore)
	if err != nil {
		return Compression{}, err
	}
	ratio, err := CompressionRatio(swept, clearance)
	if err != nil {
		return Compression{}, err
	}
	return Compression{Ratio: ratio, Stroke: stroke, Swept: swept, Clearance: clearance}, nil
}

// TrappedCompression returns the compression ratio over the part of the stroke that is
// left when the inlet valve closes, also called effective or dynamic.
//
//	CR = (π/4·B²·x(180° + closes) + Vc)/Vc
//
// B is the bore, x the drop of the piston as in [PistonDrop], closes the angle after
// bottom centre at which the valve is on its seat, as a degree wheel with its zero at
// the piston's top dead centre reads it; negative if before. Take the closing at the
// seat, at a lift of 0.15 mm or so, not the one printed for 1.00 mm, and compare only
// like with like. Vc as in [Clearance.Volume].
//
// The angle must lie between −180° and 180°, ends excluded. Other errors as in
// [Crank.Linkage] and [Clearance.Volume]. It never returns NaN.
//
// Source: geometry; own derivation. The words effective and dynamic are used for other
// things too.
func TrappedCompression(bore quantity.Length, crank Crank, c Clearance, inletCloses quantity.Angle) (Compression, error) {
	k, err := crank.Linkage()
	if err != nil {
		return Compression{}, err
	}
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Number("inlet closes", angles, float64(inletCloses))
	if math.Abs(float64(inletCloses)) >= math.Pi {
		in.Refuse("inlet closes", "inlet closes %s must be less than 180 deg from bottom centre; it is the angle after bottom centre", angles.Text(float64(inletCloses)))
	}
	if in.Err != nil {
		return Compression{}, in.Err
	}
	clearance, err := c.Volume(bore)
	if err != nil {
		return Compression{}, err
	}
	sin, cos := math.Sincos(k.Top() + math.Pi + float64(inletCloses))
	x := k.exact(sin, cos)
	swept := quantity.Volume(circle(bore) * x)
	return Compression{
		Ratio:     1 + float64(swept/clearance),
		Stroke:    quantity.Length(x),
		Swept:     swept,
		Clearance: clearance,
	}, nil
}

// VolumeAt returns the volume above the piston when the crank has turned by angle.
//
//	V = Vc + π/4·B²·x(θ)
//
// Vc is the clearance volume, B the bore and x as in [PistonDrop]. Without an offset
// this is the form V/Vc = 1 + ½(rc − 1)·[R + 1 − cos θ − √(R² − sin² θ)] with the
// compression ratio rc and the ratio R of rod to throw.
//
// VolumeAt returns an error if bore or clearance is not above zero; others as in
// [PistonDrop]. It never returns NaN.
//
// Source: geometry; own derivation. The form in rc and R is that of Heywood, Internal
// Combustion Engine Fundamentals, Eq. 2.6. Not seen.
func VolumeAt(bore quantity.Length, crank Crank, clearance quantity.Volume, angle quantity.Angle) (quantity.Volume, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("clearance", volumes, float64(clearance))
	if in.Err != nil {
		return 0, in.Err
	}
	x, err := crank.Drop(angle)
	if err != nil {
		return 0, err
	}
	return clearance + quantity.Volume(circle(bore)*float64(x)), nil
}
