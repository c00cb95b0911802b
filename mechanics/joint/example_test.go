package joint_test

import (
	"fmt"

	"buttonup/mechanics/joint"
	"buttonup/quantity"
)

func ExampleParseThread() {
	for _, text := range []string{"M10×1.25", "M8", "3/8-16", "10-32", "M24x1.5 LH", "1/8 taper", "M14 x 100"} {
		t, err := joint.ParseThread(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%v, pitch %.2f mm, stress area %.1f mm²\n", t, t.Pitch().Millimetres(), float64(t.StressArea())*1e6)
	}
	// Output:
	// M10x1.25, pitch 1.25 mm, stress area 61.2 mm²
	// M8x1.25, pitch 1.25 mm, stress area 36.6 mm²
	// 3/8-16 UNC, pitch 1.59 mm, stress area 50.0 mm²
	// #10-32 UNF, pitch 0.79 mm, stress area 12.9 mm²
	// M24x1.5 LH, pitch 1.50 mm, stress area 400.9 mm²
	// "1/8 taper" is a taper pipe thread: it seals by wedging, so its torque and preload do not follow from a stress area; give the joint its torque and leave the thread to a note
	// in "M14 x 100", a pitch of 100 mm is no pitch for M14: it must be from 0.2 to 4.2 mm; if 100 mm is the length of the screw, leave it out of the thread
}

func ExamplePlausibleTorque() {
	t, _ := joint.ParseThread("M10x1.25")
	low, high := joint.PlausibleTorque(t)
	for _, torque := range []quantity.Torque{43, 430} {
		fmt.Printf("%v N·m: %v\n", float64(torque), torque >= low && torque <= high)
	}
	// Output:
	// 43 N·m: true
	// 430 N·m: false
}

// Shigley, Mechanical Engineering Design, chapter 8, example 8-3: 3/4-16, 25 000 lbf,
// friction 0.15 everywhere. The book has 3 551 lbf·in (memory).
func ExampleTighteningTorque() {
	t, _ := joint.ParseThread("3/4-16")
	lbf := quantity.MustUnit("lbf")
	inlb := quantity.MustUnit("in-lb")
	ring := joint.Ring{Outer: quantity.Inches(1.125), Hole: quantity.Inches(0.75)}
	x, err := joint.TighteningTorque(quantity.Force(lbf.SI(25000)), t, ring, joint.Friction{Thread: 0.15, Head: 0.15})
	if err != nil {
		fmt.Println(err)
		return
	}
	pitch, thread, head := x.Shares()
	fmt.Println(inlb.Text(float64(x.Torque), 0))
	fmt.Printf("pitch %.0f %%, thread %.0f %%, head %.0f %%\n", 100*pitch, 100*thread, 100*head)
	// Output:
	// 3551 in-lb
	// pitch 7 %, thread 43 %, head 50 %
}

// A page on thread engagement works an M10 bolt of 830 MPa in 6061-T6 of 310 MPa and
// gets 9.4 mm from basic sizes (seen). The limits of size ask for a quarter more.
func ExampleNeededEngagement() {
	t, _ := joint.ParseThread("M10")
	for _, worst := range []bool{false, true} {
		needed, err := joint.NeededEngagement(t, 830e6, 310e6, worst)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.1f mm\n", needed.Millimetres())
	}
	// Output:
	// 9.4 mm
	// 12.0 mm
}

// TM 1-1500-204-23-9, figure 8-16: 300 in-lb with a 10 in wrench and a 4 in adapter is
// set at 214 in-lb (seen).
func ExampleAdapterSetting() {
	inlb := quantity.MustUnit("in-lb")
	setting, factor, err := joint.AdapterSetting(quantity.Torque(inlb.SI(300)), quantity.Inches(10), quantity.Inches(4), 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, factor %.3f\n", inlb.Text(float64(setting), 0), factor)
	// Output:
	// 214 in-lb, factor 0.714
}

// An invented head nut: the figure is for oiled threads, and the threads are dry.
func ExampleCompareStates() {
	t, _ := joint.ParseThread("M10x1.25")
	ring := joint.Ring{Outer: quantity.Millimetres(16), Hole: quantity.Millimetres(10.5)}
	m, err := joint.CompareStates(43, t, ring, joint.Oiled, joint.Dry)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("meant %.0f .. %.0f kN\n", float64(m.Meant.Low)/1e3, float64(m.Meant.High)/1e3)
	fmt.Printf("now   %.0f .. %.0f kN, typically %.0f %%\n", float64(m.Got.Low)/1e3, float64(m.Got.High)/1e3, 100*m.Typical)
	// Output:
	// meant 20 .. 37 kN
	// now   14 .. 23 kN, typically 66 %
}

func ExampleCheckStages() {
	at := func(t quantity.Torque) joint.Step { return joint.Step{To: joint.TorqueBand{Low: t, High: t}} }
	for _, f := range joint.CheckStages([]joint.Step{at(30), at(18), at(45)}, joint.TorqueBand{Low: 43, High: 47}) {
		fmt.Printf("step %d %v\n", f.Step, f.Kind)
	}
	// Output:
	// step 2 goes down without a back-off
}
