package web

import "testing"

// The page tells what a supposed size moves, with the verdict before and after, and
// writes nothing down.
func TestWhatIfPage(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	page := b.get("/job/clean-rebuild/whatif?of=Head+gasket%2C+front+%28crushed%29&value=1.6")
	contains(t, page, "7 results change", "Squish, front", "new fit, then out of limits", "through Head gasket, front (crushed)", "It would also be found", "Nothing is written down")
	contains(t, b.get("/job/clean-rebuild/whatif?of=slot.head_gasket.crushed+front&value=1.6"), "7 results change", `value="Head gasket, front (crushed)"`)
	contains(t, b.get("/job/clean-rebuild/whatif?of=slot.head_gasket+front&value=AV-5310-A"), "Squish, front", "still new fit")
	contains(t, b.get("/job/clean-rebuild/whatif?of=dimension.bore+front&value=92%2C5"), "has a comma", "Write a decimal point")
	contains(t, b.get("/job/clean-rebuild/whatif?of=slot.head_gasket+front&value=nothing"), "has no part called", "Its parts are")
	contains(t, b.get("/job/clean-rebuild/whatif?of=the+moon&value=1"), "Nothing in this job is called", "Choose one of the list.")
	contains(t, b.get("/job/clean-rebuild/whatif?of=series&value=B"), "0 results change")
	lacks(t, b.get("/job/clean-rebuild"), "(supposed)")
}
