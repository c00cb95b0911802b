package cylinder

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// PistonClearance returns the clearance of a piston in its bore, on the diameter.
//
//	c = B − D
//
// B is the smallest working diameter of the bore and D the skirt's diameter where the
// piston's maker measures it. Measure both at one temperature: 10 K of mismatch make
// about 0.017 mm at 92 mm. A negative result means that the piston is larger.
//
// PistonClearance returns an error if a diameter is not above zero.
//
// Source: definition.
func PistonClearance(bore, skirt quantity.Length) (quantity.Length, error) {
	var in argument.Inspection
	in.Above("bore", lengths, float64(bore))
	in.Above("skirt", lengths, float64(skirt))
	if in.Err != nil {
		return 0, in.Err
	}
	return bore - skirt, nil
}

// PistonClearanceHot returns the clearance of a piston in its bore when both are warm.
//
//	c_hot = (B − D) + B·αb·ΔTb − D·αp·ΔTp
//
// B is the bore and D the skirt's diameter, both cold and at one temperature; α and ΔT
// are expansion coefficient and rise of barrel (b) and piston (p). It takes each as
// evenly warm: crown and skirt differ, and a bore warps. Zero or less means that the
// piston would seize.
//
// PistonClearanceHot returns an error if a diameter is not above zero or a coefficient
// is below zero. It never returns NaN.
//
// Source: thermal growth of two diameters; own derivation.
func PistonClearanceHot(bore, skirt quantity.Length, barrel, piston Heat) (quantity.Length, error) {
	cold, err := PistonClearance(bore, skirt)
	if err != nil {
		return 0, err
	}
	var in argument.Inspection
	barrel.inspect(&in, "bore")
	piston.inspect(&in, "piston")
	if in.Err != nil {
		return 0, in.Err
	}
	return cold + quantity.Length(float64(bore)*barrel.strain()-float64(skirt)*piston.strain()), nil
}

// Layer is one of several rings of metal that are held together.
type Layer struct {
	// Modulus is the metal's modulus of elasticity.
	Modulus quantity.Pressure
	// Thickness is the ring's wall.
	Thickness quantity.Length
	Expansion quantity.Expansion
}

// BondedExpansion returns the expansion coefficient of thin layers that grip one
// another and must grow together, such as an iron liner cast into an aluminium muff.
//
//	α = Σ E·t·α / Σ E·t
//
// E is the modulus, t the thickness and α the coefficient of each layer. It holds for
// rings that are thin against their diameter, evenly warm and still gripping: a liner
// that has let go grows by its own coefficient. Fins count for less than their height.
//
// BondedExpansion returns an error without a layer, if a modulus or thickness is not
// above zero, or if a coefficient is below zero. It never returns NaN.
//
// Source: equal strain and balance of forces in the layers; own derivation.
func BondedExpansion(layers ...Layer) (quantity.Expansion, error) {
	var in argument.Inspection
	if len(layers) == 0 {
		in.Refuse("layers", "there is no layer; give at least one")
	}
	var stiffness, growth float64
	for _, l := range layers {
		in.Above("modulus", pressures, float64(l.Modulus))
		in.Above("thickness", lengths, float64(l.Thickness))
		in.NotNegative("expansion", coefficients, float64(l.Expansion))
		s := float64(l.Modulus) * float64(l.Thickness)
		stiffness += s
		growth += s * float64(l.Expansion)
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Expansion(growth / stiffness), nil
}

// HeatMargin returns how much hotter than its barrel a piston may be before its
// clearance is gone.
//
//	δ = (B·(1 + αb·ΔT) − D·(1 + αp·ΔT))/(D·αp)
//
// B and D are bore and skirt at 20 °C, αb and αp their expansion, and ΔT how much warmer
// than 20 °C the barrel is; a piston that is warmer by ΔT + δ just fills the bore. It is
// what an engine must not be asked for before it is warm. Zero or less means that the
// piston binds even when it is no hotter than the barrel.
//
// HeatMargin returns an error unless both diameters are above zero and the piston's
// coefficient too. It never returns NaN.
//
// Source: [PistonClearanceHot] set to zero; own derivation.
func HeatMargin(bore, skirt quantity.Length, barrel Heat, piston quantity.Expansion) (quantity.TemperatureDifference, error) {
	var in argument.Inspection
	in.Above("piston expansion", coefficients, float64(piston))
	if in.Err != nil {
		return 0, in.Err
	}
	even, err := PistonClearanceHot(bore, skirt, barrel, Heat{Expansion: piston, Rise: barrel.Rise})
	if err != nil {
		return 0, err
	}
	return argument.Result("heat margin", quantity.TemperatureDifference(float64(even)/(float64(skirt)*float64(piston))))
}
