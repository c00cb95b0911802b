package calc_test

import (
	"fmt"

	"buttonup/calc"
)

func ExampleCalculation_Run() {
	c, err := calc.Find("adapter")
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := c.Run(map[string]string{"torque": "300 in-lb", "wrench": "10 in", "offset": "4 in"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range a.Figures {
		fmt.Println(f.Name, f.Text)
	}
	// The manual prints 214 in-lb: TM 1-1500-204-23-9, figure 8-16.

	// Output:
	// setting 214.3 in-lb
	// factor 0.7143
}

func ExampleError() {
	c, err := calc.Find("displacement")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = c.Run(map[string]string{"bore": "92", "stroke": "86.5 mm"})
	fmt.Println(err)

	// Output:
	// bore "92" is a number without a unit and must be a length above 0 mm and at most 100000 mm; write it with a unit of length, like mm or in
}
