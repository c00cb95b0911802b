package gear_test

import (
	"fmt"
	"math"

	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

// Machinery's Handbook tables the size over 1.728 in wires for 1 diametral pitch; for
// 20 teeth of 20° it prints 22.3900 in (from memory).
func ExampleOverPins() {
	module, err := gear.ModuleFromDiametralPitch(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := gear.OverPins(gear.Gear{Teeth: 20, Module: module, PressureAngle: deg(20)}, quantity.Inches(1.728))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f in\n", p.Size.Inches())
	// Output: 22.3900 in
}

// Elements of Metric Gear Technology, Table 10-1.
func ExampleChordalThickness() {
	c, err := gear.ChordalThickness(gear.Gear{Teeth: 12, Module: mm(10), PressureAngle: deg(20), Shift: 0.3}, mm(13.000))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("s = %.4f, θ = %.5f deg, sj = %.4f, hj = %.4f\n",
		c.Arc.Millimetres(), float64(c.HalfAngle)*180/math.Pi, c.Thickness.Millimetres(), c.Height.Millimetres())
	// Output: s = 17.8918, θ = 8.54270 deg, sj = 17.8256, hj = 13.6657
}

// The demo engine's timing gears, a class of 0.020 mm over pins apart, read a least
// backlash of 0.041 mm where 0.015 mm is wanted.
func ExampleSelectClass() {
	pinion := gear.Gear{Teeth: 24, Module: mm(2), PressureAngle: deg(20), Thinning: mm(0.0075)}
	p, err := gear.OverPins(pinion, mm(3.5))
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := gear.SelectClass(mm(0.041), mm(0.015), mm(0.020), p.Slope)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("pinion %+d classes, backlash %.3f mm\n", c.Steps, c.Result.Millimetres())
	// Output: pinion +3 classes, backlash 0.015 mm
}

func ExampleBacklash() {
	pinion := gear.Gear{Teeth: 20, Module: mm(2), PressureAngle: deg(20)}
	wheel := gear.Gear{Teeth: 40, Module: mm(2), PressureAngle: deg(20)}
	play, err := gear.Backlash(pinion, wheel, mm(60.1))
	if err != nil {
		fmt.Println(err)
		return
	}
	rule, err := gear.BacklashRule(mm(0.1), deg(20))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("exact %.6f mm, by the rule %.6f mm\n", play.Backlash.Millimetres(), rule.Millimetres())
	// Output: exact 0.073371 mm, by the rule 0.072794 mm
}
