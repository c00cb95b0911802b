package joint

import "buttonup/quantity"

// The nut factors of the two ends of what is plausible, and the proof stresses of the
// strongest and the weakest common grade.
const (
	// plausibleHighFactor: the customary factor of dry steel. Of 351
	// published rows the one that asks for most is a socket screw of 5/16 in at 33 ft-lb,
	// which if coarse is at the proof of 12.9 with a factor of 0.172; so 0.20 flags no
	// honest row and still catches a value written in the next unit.
	plausibleHighFactor = 0.20
	// plausibleLowFactor: as slippery as threads come. Of the same rows the least is a snug
	// torque of M14, eight times above the bound. The rest is room for plugs and hollow
	// screws of large diameter, which are tightened little (common practice, no published
	// source), and for which a pack must not be refused.
	plausibleLowFactor = 0.10

	strongestProof quantity.Pressure = 970e6 // class 12.9
	weakestProof   quantity.Pressure = 225e6 // class 4.6
)

// PlausibleTorque returns the band outside which a final torque cannot be meant for a
// thread, whatever the bolt is made of.
//
//	high = 0.20·d·As·970 MPa
//	low  = 0.10·d·As·225 MPa / 10
//
// d is the nominal diameter and As the stress area; 970 and 225 MPa are the proof
// stresses of property classes 12.9 and 4.6. Above high, even a dry bolt of the
// strongest common grade is past its proof load; below low, even an oiled bolt of the
// weakest is at less than a tenth of it. It is a trap for slips of a unit or of a
// decimal, not a limit: a torque inside the band may still be far too high for the
// bolt at hand. It does not hold for a stage before the last, a snug torque before an
// angle, an adjuster or a prevailing torque.
//
// The zero Thread gives 0 and 0.
//
// Source: proof stresses from ISO 898-1 (see [Grade]); the nut factors are ours,
// chosen so that no row of testdata/published/torque-*.check is flagged.
func PlausibleTorque(t Thread) (low, high quantity.Torque) {
	size := float64(t.diameter) * float64(t.StressArea())
	low = quantity.Torque(plausibleLowFactor * size * float64(weakestProof) / 10)
	high = quantity.Torque(plausibleHighFactor * size * float64(strongestProof))
	return low, high
}
