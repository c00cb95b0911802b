package fit_test

import (
	"fmt"

	"buttonup/mechanics/fit"
	"buttonup/quantity"
)

// The limits of an H7 bore and an h6 pin of 25 mm. Values: JIS B 0401 (1999),
// numerically those of ISO 286-2, as reprinted.
func ExampleLimits() {
	mm := quantity.MustUnit("mm")
	for _, class := range []string{"H7", "h6", "m6"} {
		low, high, err := fit.Limits(quantity.Millimetres(25), class)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(class, mm.Text(float64(low), 3), "to", mm.Text(float64(high), 3))
	}
	// Output:
	// H7 25.000 mm to 25.021 mm
	// h6 24.987 mm to 25.000 mm
	// m6 25.008 mm to 25.021 mm
}

// A running fit and a press fit of 25 mm; a negative clearance is interference.
func ExampleClearance() {
	µm := quantity.MustUnit("µm")
	for _, shaft := range []string{"g6", "p6"} {
		least, most, err := fit.Clearance(quantity.Millimetres(25), "H7", shaft)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println("H7/"+shaft, µm.Text(float64(least), 0), "to", µm.Text(float64(most), 0))
	}
	_, _, err := fit.Clearance(quantity.Millimetres(640), "H7", "g6")
	fmt.Println(err)
	// Output:
	// H7/g6 7 µm to 41 µm
	// H7/p6 -35 µm to -1 µm
	// the nominal size 640 mm must be from 1 to 500 mm; outside that the tables are others
}
