package pack_test

import (
	"strings"
	"testing"

	"buttonup/pack"
)

// A slot of one side names a member that there is; taking back may take another time
// than doing.
func TestSlotOfOneMember(t *testing.T) {
	const text = `
pack "p" { title = "Sides" }
place "side" { each = ["front", "rear"] }
slot "gasket" { member = "front" }
operation "on" {
  at          = side
  fits        = [slot.gasket]
  minutes     = 10
  off_minutes = "1 h"
}
operation "off" { minutes = 10 }
`
	p, mistakes := pack.Load([]pack.File{{Name: "p.pack", Text: []byte(text)}}, nil)
	if len(mistakes) > 0 || p.Slots[0].Member != "front" {
		t.Fatalf("%v", mistakes)
	}
	if on, off := p.Operations[0], p.Operations[1]; on.OffSeconds != 3600 || on.Seconds != 600 || off.OffSeconds != 600 {
		t.Errorf("taking back takes %g and %g s", on.OffSeconds, off.OffSeconds)
	}
	_, mistakes = pack.Load([]pack.File{{Name: "p.pack", Text: []byte(strings.Replace(text, `member = "front"`, `member = "forn"`, 1))}}, nil)
	if len(mistakes) != 1 || !strings.Contains(mistakes[0].Says, "member") {
		t.Errorf("%v", mistakes)
	}
}
