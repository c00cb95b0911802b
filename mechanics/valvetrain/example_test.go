package valvetrain_test

import (
	"fmt"

	"buttonup/mechanics/cylinder"
	"buttonup/mechanics/valvetrain"
	"buttonup/quantity"
)

var mm = quantity.Millimetres

func deg(x float64) quantity.Angle { return quantity.Angle(quantity.MustUnit("deg").SI(x)) }

func inDegrees(a quantity.Angle) float64 { return quantity.MustUnit("deg").In(float64(a)) }

// TM 9-8000, figure 2-55: the inlet opens 28° before and the exhaust closes 45° after
// the top dead centre.
func ExampleEvents_Timing_overlap() {
	timing, err := valvetrain.Events{InletOpens: deg(28), ExhaustCloses: deg(45)}.Timing()
	fmt.Printf("%.0f° %v\n", inDegrees(timing.Overlap), err)
	// Output: 73° <nil>
}

// The engine is invented.
func ExampleEvents_Timing() {
	timing, err := valvetrain.Events{InletOpens: deg(12), InletCloses: deg(46), ExhaustOpens: deg(50), ExhaustCloses: deg(10)}.Timing()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("inlet %.0f°, centre %.1f° after the top\n", inDegrees(timing.InletDuration), inDegrees(timing.InletCentre))
	fmt.Printf("exhaust %.0f°, centre %.1f° before it\n", inDegrees(timing.ExhaustDuration), inDegrees(timing.ExhaustCentre))
	fmt.Printf("separation %.1f°, overlap %.0f°\n", inDegrees(timing.Separation), inDegrees(timing.Overlap))
	// Output:
	// inlet 238°, centre 107.0° after the top
	// exhaust 240°, centre 110.0° before it
	// separation 108.5°, overlap 22°
}

func ExampleDeadCentreByStop() {
	d, err := valvetrain.DeadCentreByStop(deg(42), deg(46))
	fmt.Printf("the pointer moves %+.0f°, then both read %.0f°, %v\n", inDegrees(d.Shift), inDegrees(d.Reading), err)
	// Output: the pointer moves +2°, then both read 44°, <nil>
}

// The engine is invented. The gap is smallest near overlap, far from full lift, and
// turning the cam ahead takes from it.
func ExamplePistonGap_Smallest() {
	lobe, err := valvetrain.NewLobe(mm(7.60), deg(145), 2.56, 2.1956)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, advanced := range []float64{0, 4} {
		gap := valvetrain.PistonGap{
			Crank:       cylinder.Crank{Stroke: mm(86.5), Rod: mm(178)},
			Closed:      mm(6.10),
			Inclination: deg(15),
			Lift:        lobe,
			Peak:        deg(107 - advanced),
			Ratio:       1.62,
		}
		near, err := gap.Smallest(deg(-360), deg(360))
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("advanced %.0f°: %.2f mm at %.1f° after the top\n", advanced, near.Gap.Millimetres(), inDegrees(near.Angle))
	}
	// Output:
	// advanced 0°: 2.22 mm at 9.6° after the top
	// advanced 4°: 1.62 mm at 9.6° after the top
}

// A course's homework table: 20 mm in 60° of cam, 15° into the rise.
func ExampleRise() {
	m, err := valvetrain.Rise(valvetrain.Cycloidal, mm(20), deg(60), deg(15))
	fmt.Printf("%.6f mm %v\n", m.Lift.Millimetres(), err)
	// Output: 1.816901 mm <nil>
}

// Shigley's Mechanical Engineering Design, example 10-1 (from memory), prints
// 4.13 lbf/in.
func ExampleWire_Rate() {
	rate, err := valvetrain.Wire{
		Diameter:     quantity.Inches(0.037),
		MeanDiameter: quantity.Inches(0.400),
		Active:       10.5,
		Modulus:      quantity.Pressure(quantity.MustUnit("ksi").SI(11850)),
	}.Rate()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(quantity.MustUnit("lbf/in").Text(float64(rate), 2))
	// Output: 4.13 lbf/in
}

// The engine is invented. Lowering the rocker shaft counts more than once.
func ExamplePreloadChange() {
	for _, kind := range []valvetrain.StackChange{valvetrain.HeadFaceSkimmed, valvetrain.SeatSunk, valvetrain.RockerShaftLowered} {
		change, err := valvetrain.PreloadChange(1.62, valvetrain.Change{Kind: kind, Amount: mm(0.30)})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s by 0.30 mm: %+.2f mm\n", kind, change.Millimetres())
	}
	// Output:
	// head face skimmed by 0.30 mm: +0.30 mm
	// seat sunk by 0.30 mm: +0.19 mm
	// rocker shaft lowered by 0.30 mm: +0.49 mm
}

func ExampleTurn() {
	pitch, err := valvetrain.PitchOf(24)
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := valvetrain.Turn(mm(2.20), pitch)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f turns, about %d flats (%.2f mm)\n", a.Turns, a.WholeFlats, a.Gives.Millimetres())
	// Output: 2.08 turns, about 12 flats (2.12 mm)
}

// The engine is invented: steel pushrods leave a window of less than a flat.
func ExamplePreloadWindow() {
	pitch, err := valvetrain.PitchOf(32)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, lost := range []float64{0.58, 0.33, 0.75} {
		w, err := valvetrain.PreloadWindow(mm(0.90), mm(lost), mm(0.10), mm(0.10))
		if err != nil {
			fmt.Println(err)
			continue
		}
		a, err := valvetrain.Turn(w.Width(), pitch)
		fmt.Printf("%.2f .. %.2f mm, %.1f flats, %v\n", w.Low.Millimetres(), w.High.Millimetres(), a.Flats, err)
	}
	// Output:
	// 0.68 .. 0.80 mm, 0.9 flats, <nil>
	// 0.43 .. 0.80 mm, 2.8 flats, <nil>
	// no preload works both cold and hot: travel 0.9 mm less margin 0.1 mm holds no room for the change with heat 0.75 mm and the least preload 0.1 mm; 0.05 mm is missing
}
