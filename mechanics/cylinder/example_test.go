package cylinder_test

import (
	"fmt"

	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

var (
	mm  = quantity.Millimetres
	deg = quantity.MustUnit("deg")
	cc  = quantity.MustUnit("cc")
)

// The worked example of FAA-H-8083-30, mathematics chapter. The handbook prints
// 1026.32 because it multiplies a rounded figure.
func ExampleDisplacement() {
	each, total, err := cylinder.Displacement(quantity.Inches(5.5), quantity.Inches(5.4), 8)
	if err != nil {
		fmt.Println(err)
		return
	}
	cubicInches := quantity.MustUnit("cu in")
	fmt.Println(cubicInches.Text(float64(each), 2), "and", cubicInches.Text(float64(total), 2))
	// Output: 128.29 cu in and 1026.36 cu in
}

// The worked example of FAA-H-8083-32, chapter 1: 140 cubic inches at the bottom and 20
// at the top.
func ExampleCompressionRatio() {
	cubicInches := quantity.MustUnit("cu in")
	ratio, err := cylinder.CompressionRatio(quantity.Volume(cubicInches.SI(120)), quantity.Volume(cubicInches.SI(20)))
	fmt.Printf("%.1f %v\n", ratio, err)
	// Output: 7.0 <nil>
}

// How little the piston moves near the top: why a dial indicator does not find the dead
// centre. The engine is invented.
func ExamplePistonDrop() {
	for _, angle := range []float64{1, 2, 10} {
		x, err := cylinder.PistonDrop(mm(86.5), mm(178), quantity.Angle(deg.SI(angle)), 0)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%2.0f° %.3f mm\n", angle, x.Millimetres())
	}
	// Output:
	//  1° 0.008 mm
	//  2° 0.033 mm
	// 10° 0.816 mm
}

func ExamplePistonDrop_impossible() {
	_, err := cylinder.PistonDrop(mm(86.5), mm(40), 0, 0)
	fmt.Println(err)
	// Output: rod 40 mm must be longer than 43.25 mm, half the stroke 86.5 mm, or the crank cannot turn
}

// The engine is invented.
func ExampleTrappedCompression() {
	crank := cylinder.Crank{Stroke: mm(86.5), Rod: mm(178)}
	parts := cylinder.Clearance{
		Chamber:         quantity.Volume(cc.SI(62.5)),
		GasketBore:      mm(93.5),
		GasketThickness: mm(1.14),
		Deck:            mm(0.20),
		Pockets:         quantity.Volume(cc.SI(4.0)),
	}
	static, err := cylinder.StaticCompression(mm(92), crank.Stroke, parts)
	if err != nil {
		fmt.Println(err)
		return
	}
	trapped, err := cylinder.TrappedCompression(mm(92), crank, parts, quantity.Angle(deg.SI(62)))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("static %.2f, trapped %.2f\n", static.Ratio, trapped.Ratio)
	// Output: static 8.60, trapped 6.95
}

// The engine is invented.
func ExampleReboring_Choose() {
	answer, err := cylinder.Reboring{
		Walls:        []cylinder.Wall{{Name: "front", Bore: mm(92.160), Damage: mm(0.05)}, {Name: "rear", Bore: mm(92.06)}},
		Nominal:      mm(92),
		Oversizes:    []cylinder.Oversize{{Step: mm(0.25)}, {Step: mm(0.50), Skirt: mm(92.448)}, {Step: mm(1)}},
		Clearance:    mm(0.053),
		CleanUp:      mm(0.03),
		Tolerance:    mm(0.010),
		LinerOutside: mm(98),
		LinerLeast:   mm(2.40),
	}.Choose()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("+%.2f, finish to %.3f mm, liner left %.2f mm\n", answer.Step.Millimetres(), answer.Bore.Millimetres(), answer.LinerLeft.Millimetres())
	for _, r := range answer.Refused {
		fmt.Printf("+%.2f is %.2f mm too small\n", r.Step.Millimetres(), r.Short.Millimetres())
	}
	// Output:
	// +0.50, finish to 92.501 mm, liner left 2.74 mm
	// +0.25 is 0.07 mm too small
}

// A top ring filed to a rule for an easy life butts in a hot upset. The engine is
// invented.
func ExampleRingGapHot() {
	gap, err := cylinder.RingGap(mm(92), 0.0040)
	if err != nil {
		fmt.Println(err)
		return
	}
	hot, err := cylinder.RingGapHot(gap, mm(92), cylinder.Heat{Expansion: 12e-6, Rise: 300}, cylinder.Heat{Expansion: 17e-6, Rise: 130})
	fmt.Printf("%.3f mm cold, %.3f mm hot, %v\n", gap.Millimetres(), hot.Millimetres(), err)
	// Output: 0.368 mm cold, -0.034 mm hot, <nil>
}
