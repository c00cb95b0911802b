package pack_test

import (
	"fmt"
	"os"

	"buttonup/pack"
)

// All mistakes of a pack are told together, each with its place and a remedy.
func ExampleLoad() {
	_, mistakes := pack.Load([]pack.File{{Name: "aldermoor.pack", Text: []byte(`pack "aldermoor" {
  title = "Invented for this example"
}

dimension "bore" {
  step  = 0.001 mm
  new   = "92.000 .. 92.013 mm"
  limit = "<= 91.900 mm"
}

number "oversize" {
  value = boer - "92 mm"
}
`)}}, nil)
	fmt.Println(len(mistakes), "mistakes")
	if err := mistakes.Write(os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 3 mistakes
	// aldermoor.pack:6:11: a quantity stands in quotes [syntax.unquoted]
	//   6 |   step  = 0.001 mm
	//     |           ~~~~~~~~
	//   Write "0.001 mm".
	//
	// aldermoor.pack:8:11: the limit 91.900 mm lies below the upper end of new, 92.013 mm [pack.limit-side]
	//   8 |   limit = "<= 91.900 mm"
	//     |           ~~~~~~~~~~~~~~
	//   A part that wears larger has its limit above new; check both figures, or write >= for one that wears smaller.
	//
	// aldermoor.pack:12:11: nothing in this pack is called boer [formula.unknown-name]
	//   12 |   value = boer - "92 mm"
	//      |           ~~~~
	//   Perhaps bore is meant.
}
