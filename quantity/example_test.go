package quantity_test

import (
	"fmt"

	"buttonup/quantity"
)

func ExampleParse() {
	for _, text := range []string{"1-1/2 in", "32 ft-lb", "92,004 mm", "92.004mm", "12 NM"} {
		q, err := quantity.Parse(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		shown := quantity.Metric.Unit(q.Dimension)
		fmt.Println(q.Dimension, shown.Text(q.SI, 2))
	}
	// Output:
	// length 38.10 mm
	// torque 43.39 N·m
	// "92,004 mm" has a comma, and whether it marks decimals or thousands is never guessed; write a decimal point, and thousands without a mark
	// length 92.00 mm
	// unknown unit "NM" in "12 NM"; symbols are case-sensitive; write N·m or nm, whichever is meant
}

func ExampleParseRange() {
	for _, text := range []string{"16-20 ft-lb", "<= 92.090 mm", "178.00 ± 0.03 mm"} {
		r, err := quantity.ParseRange(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(r.Text())
	}
	// Output:
	// 16 .. 20 ft-lb
	// <= 92.090 mm
	// 177.97 .. 178.03 mm
}

func ExampleParseUncertain() {
	mm := quantity.MustUnit("mm")
	for _, text := range []string{"92.004 ± 0.005 mm", "92.004 ± 0.005 mm k=1", "0.2 .. 0.6 mm rectangular"} {
		u, err := quantity.ParseUncertain(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%s, standard uncertainty %s\n", mm.Text(u.SI, 3), mm.DifferenceText(u.Standard, 4))
	}
	// Output:
	// 92.004 mm, standard uncertainty 0.0025 mm
	// 92.004 mm, standard uncertainty 0.0050 mm
	// 0.400 mm, standard uncertainty 0.1155 mm
}

// Halves go to the even digit, and the half is that of the decimal that was
// written, not of the float64 nearest to it.
func ExampleFormatNumber() {
	fmt.Println(quantity.FormatNumber(2.5, 0), quantity.FormatNumber(3.5, 0))
	fmt.Println(quantity.FormatNumber(92.0045, 3), quantity.FormatNumber(92.0055, 3))
	// Output:
	// 2 4
	// 92.004 92.006
}

func ExampleUnit_DifferenceText() {
	f := quantity.MustUnit("degF")
	c := quantity.MustUnit("degC")
	fmt.Println(f.Text(c.SI(20), 0))
	fmt.Println(f.DifferenceText(c.SIDifference(20), 0))
	// Output:
	// 68 degF
	// 36 degF
}
