package assess_test

import (
	"testing"

	"buttonup/assess"
	"buttonup/journal"
)

// A new piece is held against the tolerance of the pack when it is measured; a worn one
// that is kept is not, nor one without a tolerance.
func TestAPartIsMeasuredOnArrival(t *testing.T) {
	const slots = `
slot "shim" {
  title = "Shim"
}
part "S-50" {
  title = "Shim 0.50"
  fills = [slot.shim]
  sizes = { thickness = "0.50 ± 0.02 mm" }
}
part "S-60" {
  title = "Shim 0.60"
  fills = [slot.shim]
  sizes = { thickness = "0.60 mm" }
}
`
	for _, c := range []struct{ event, says string }{
		{`{"part":"S-50","state":"received","sizes":{"thickness":"0.511 mm"}}`, ""},
		{`{"part":"S-50","state":"received","sizes":{"thickness":"0.52 mm"}}`, ""}, // on the edge
		{`{"part":"S-50","state":"received","sizes":{"thickness":"0.521 mm"}}`, "off"},
		{`{"part":"S-50","state":"fitted","sizes":{"thickness":"0.479 mm"}}`, "off"},
		{`{"part":"S-50","state":"kept","sizes":{"thickness":"0.45 mm"}}`, ""},
		{`{"part":"S-50","state":"rejected","sizes":{"thickness":"0.45 mm"}}`, ""},
		{`{"part":"S-50","state":"received"}`, ""},
		{`{"part":"S-60","state":"received","sizes":{"thickness":"0.10 mm"}}`, ""},
	} {
		line := `{"id":"p1","at":"2026-03-02T10:04:00Z","by":"bench","kind":"part","slot":"shim",` + c.event[1:]
		a := assess.Assess(loadPack(t, slots), journal.Read([]byte(line+"\n")).Fold(), assess.Options{})
		got := ""
		for i := range a.Findings {
			f := &a.Findings[i]
			if f.Code == assess.CodePartSize {
				got = "off"
				if f.Severity != assess.Attention || f.Of != "slot.shim" || len(f.Sizes) != 1 || f.Sizes[0].Name != "thickness" {
					t.Errorf("%s: %+v", c.event, f)
				}
			}
		}
		if got != c.says {
			t.Errorf("%s: %q, want %q", c.event, got, c.says)
		}
	}
}
