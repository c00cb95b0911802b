package web

import (
	"net/http"
	"testing"
)

// A part that came and was measured is held against its tolerance where it is written
// down, in the units of the page.
func TestAPartThatCameOffSizeIsTold(t *testing.T) {
	b := newBench(t)
	b.job("shims", "pack \"shims\" {\n  title = \"Shims\"\n}\nslot \"shim\" {\n  title = \"Shim\"\n}\npart \"S-50\" {\n  title = \"Shim 0.50\"\n  fills = [slot.shim]\n  sizes = { thickness = \"0.50 ± 0.02 mm\" }\n}\n", "")
	for i, measured := range []string{"0.511", "0.473"} {
		if got := b.write("shims", "k"+string(rune('1'+i)), "slot", "shim", "state", "received", "part", "S-50", "sizes.thickness", measured, "unit.thickness", "mm"); got != http.StatusSeeOther {
			t.Fatalf("%s mm: %d", measured, got)
		}
		page := b.get("/job/shims/parts/shim")
		if i == 0 {
			lacks(t, page, "as it came")
			continue
		}
		contains(t, page, "S-50 as it came", "Thickness measures 0.473 mm and should be 0.48 .. 0.52 mm", "reject it with the reason")
		contains(t, b.get("/job/shims"), "S-50 as it came: thickness measures 0.473 mm and should be 0.48 .. 0.52 mm")
	}
}
