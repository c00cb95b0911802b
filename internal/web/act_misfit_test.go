package web

import "testing"

// A part that belongs elsewhere is refused where it is laid out, with what fits and with
// what to look at to tell them apart.
func TestAPartThatBelongsElsewhereIsNamedWhereItIsLaidOut(t *testing.T) {
	b := newBench(t, "swapped-gasket")
	page := b.get("/job/swapped-gasket/do/carrier_on/rear")
	contains(t, page, "Does not fit here: it fills Lifter-carrier gasket, front", "What fits is Carrier gasket, three-hole, rear, AV-3105-R",
		"Looks like Carrier gasket, three-hole, rear but is not: yellow packet")
	page = b.get("/job/swapped-gasket/do/carrier_on/front")
	contains(t, page, "Looks like Carrier gasket, three-hole, rear but is not: yellow packet")
	lacks(t, page, "Does not fit here")
}
