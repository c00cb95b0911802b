package crank_test

import (
	"fmt"
	"math"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// Two dials beside the wheels, zero of the angles at the crankpin. The demo engine's
// crank is mostly spread at the pin and a little twisted.
func ExampleDiagnose() {
	fault, err := crank.Diagnose(
		crank.Dial{TIR: mm(0.060), High: deg(20)},
		crank.Dial{TIR: mm(0.050), High: deg(340)},
	)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bow %.4f mm, twist %.4f mm, throw %.4f mm: %v\n",
		fault.Bow.Size().Millimetres(), fault.Twist.Millimetres(), fault.Throw.Millimetres(), fault.Main())
	steps, err := fault.Steps(mm(0.015))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range steps {
		fmt.Printf("%v at %.0f deg, wheel: %v; then %.3f and %.3f mm\n",
			s.Cure, float64(s.At)*180/math.Pi, s.Wheel, s.Left.TIR.Millimetres(), s.Right.TIR.Millimetres())
	}
	// Output:
	// bow 0.0259 mm, twist 0.0094 mm, throw 0.0023 mm: wedge
	// rap at 90 deg, wheel: left; then 0.056 and 0.047 mm
	// wedge at -178 deg, wheel: both; then 0.005 and 0.005 mm
}

func ExampleSelectSpacer() {
	kit, err := crank.ParseKit("2.500 .. 2.950 by 0.025 mm")
	if err != nil {
		fmt.Println(err)
		return
	}
	c, err := crank.SelectSpacer(mm(2.700), mm(0.215), mm(0.050), mm(0.030), mm(0.080), kit, crank.ThickerMore)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("fit %.3f mm for a play of %.3f mm\n", c.Spacer.Millimetres(), c.Result.Millimetres())
	fmt.Printf("second best %.3f mm for %.3f mm\n", c.Second.Millimetres(), c.SecondResult.Millimetres())
	// Output:
	// fit 2.525 mm for a play of 0.040 mm
	// second best 2.550 mm for 0.065 mm
}

func ExampleBobWeight() {
	bob, err := crank.BobWeight(crank.Parts{
		Pistons:   grams(2 * 566),
		SmallEnds: grams(198 + 214),
		BigEnds:   grams(396 + 548),
		Cages:     grams(92),
	}, 0.58)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("reciprocating %.0f g, rotating %.0f g, hang %.1f g\n",
		float64(bob.Reciprocating)*1000, float64(bob.Rotating)*1000, float64(bob.Weight)*1000)
	// Output: reciprocating 1544 g, rotating 1036 g, hang 1931.5 g
}

// A Theory of Machines text: 50 kg up and down, 37 kg turning, two thirds of the former
// to be balanced, stroke 300 mm, counterweight at 400 mm. The text prints 26.38 kg.
func ExampleCounterweight() {
	b, err := crank.Counterweight(50, 37, 2.0/3, mm(150), mm(400))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f kg\n", float64(b))
	// Output: 26.375 kg
}

// Half of the reciprocating weight balances the primary of a 90° twin; the secondary
// stays.
func ExampleShakeV() {
	s := crank.Slider{Reciprocating: grams(772), Stroke: mm(86.5), Rod: mm(178), Speed: quantity.Frequency(3000.0 / 60)}
	for _, θ := range []float64{0, 45} {
		shake, err := crank.ShakeV(s, deg(90), 0.5, deg(θ))
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%2.0f deg: primary %.0f N, secondary %.0f N across\n", θ, float64(shake.Primary.Size()), float64(shake.Secondary.X))
	}
	// Output:
	//  0 deg: primary 0 N, secondary 0 N across
	// 45 deg: primary 0 N, secondary 1132 N across
}

func ExamplePermissibleUnbalance() {
	grade, err := crank.ParseGrade("G 6.3")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := crank.PermissibleUnbalance(grade, 10, quantity.Frequency(3000.0/60))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f g·mm, %.2f µm\n", r.Permissible.GramMillimetres(), float64(r.Eccentricity)*1e6)
	// Output: 200.5 g·mm, 20.05 µm
}
