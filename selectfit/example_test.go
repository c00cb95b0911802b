package selectfit_test

import (
	"fmt"

	"buttonup/quantity"
	"buttonup/selectfit"
)

// Two barrels of the invented Aldermoor V1150 and three pistons: the first piston
// would be perfect in the front barrel and leave nothing for the rear one.
func ExampleSolve() {
	mm := quantity.Millimetres
	place := selectfit.Place{Low: mm(0.03), High: mm(0.06), Target: mm(0.045)}
	front, rear := place, place
	front.Name, front.Size = "front", mm(92.000)
	rear.Name, rear.Size = "rear", mm(92.010)
	r, err := selectfit.Solve(selectfit.Problem{
		Places: []selectfit.Place{front, rear},
		Parts:  []selectfit.Part{{Name: "A", Size: mm(91.955)}, {Name: "B", Size: mm(91.948)}, {Name: "C", Size: mm(91.945)}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range r.Best.Fits {
		fmt.Printf("%s: piston %s, clearance %.3f mm\n", f.Place, f.Part, f.Clearance.Millimetres())
	}
	fmt.Printf("second best: %s and %s\n", r.Second.Fits[0].Part, r.Second.Fits[1].Part)
	// Output:
	// front: piston B, clearance 0.052 mm
	// rear: piston A, clearance 0.055 mm
	// second best: C and A
}
