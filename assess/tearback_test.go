package assess_test

import (
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
)

// The finished demo engine, torn back to what was forgotten. The hours are those of the
// list of classic mistakes that was drawn up with the invented engine, in hours of one
// builder for taking apart and putting together again; they are invented too, and prove
// only that pack and list tell the same. What must and must not come off is common
// practice, no published source.
var tearBacks = []struct {
	to          string
	least, most float64 // hours, off and on again
	off, stays  string
	used        string // a one-use part that is lost
}{
	{"space.crankcase", 14, 20, "case_bolts; cam_cover_on; head_on front; barrel_on rear; piston_on front; left_seal_in; sprocket_on; pinion_on", "studs_in; cam_trial", "slot.circlip"},
	{"space.crankpin", 14, 40, "lock_plates; close_cases; crank_into_cases", "balance_wheels", "slot.lock_plate"},
	{"operation.left_seal_in", 1, 3, "sprocket_on; left_seal_in", "cam_cover_on; case_bolts", "slot.left_seal"},
	{"space.cam_chest", 2, 3, "cam_cover_on; ignition_in", "case_bolts; head_on front; carrier_on front; inlet_on", "slot.cam_gasket"},
	// Telescopic tubes: the heads stay on.
	{"space.lifter_chest front", 2, 3, "carrier_on front; tube_seals_in front; pushrods_in front", "carrier_on rear; barrel_on front; head_on front; rocker_box_on rear", "slot.carrier_gasket_front"},
	{"space.piston_pin front", 5, 14, "barrel_on front; head_on front; head_nuts_tight; inlet_on; exhaust_on front", "barrel_on rear; head_on rear; case_bolts; exhaust_on rear; rocker_box_on rear; carrier_on front", "slot.head_gasket"},
	{"space.cylinders rear", 4, 9, "head_on rear; head_nuts_tight; exhaust_on rear", "barrel_on rear; cam_cover_on; head_on front; exhaust_on front", "slot.head_gasket"},
	{"space.rocker_box front", 1, 8, "rocker_box_on front", "rocker_box_on rear; head_on front; inlet_on; exhaust_on front; ignition_in", "slot.rocker_box_gasket"},
	{"space.rocker_top front", 0.5, 0.5, "rocker_covers_on front", "rocker_box_on front; ignition_in; inlet_on; exhaust_on front", "slot.rocker_cover_gasket"},
	{"operation.oil_lines_on", 1, 30, "oil_lines_on; oil_in", "rocker_covers_on front; ignition_in", "slot.oil_filter"},
	{"operation.inlet_on", 0.5, 2, "inlet_on", "head_nuts_tight; rocker_covers_on front; ignition_in", "slot.inlet_gasket"},
}

func TestTearBackOfTheFinishedEngine(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	text, _ := packs.Journal(packs.Demo, "whole-job")
	s := journal.Read(text).Fold()
	for _, c := range tearBacks {
		t.Run(c.to, func(t *testing.T) {
			tear, err := m.TearBack(s, assess.Options{}, c.to)
			if err != nil || len(tear.Ways) == 0 {
				t.Fatalf("%v, %+v", err, tear)
			}
			x := tear.Ways[0]
			var off []string
			for _, op := range x.Undo {
				off = append(off, strings.TrimPrefix(op.String(), "operation."))
			}
			for _, want := range strings.Split(c.off, "; ") {
				if !slices.Contains(off, want) {
					t.Errorf("%s does not come off: %v", want, off)
				}
			}
			for _, no := range strings.Split(c.stays, "; ") {
				if slices.Contains(off, no) {
					t.Errorf("%s comes off, and need not", no)
				}
			}
			if hours := (x.Work + x.Again).Hours(); hours < c.least-1e-9 || hours > c.most+1e-9 {
				t.Errorf("%.1f hours, want %g to %g", hours, c.least, c.most)
			}
			if !slices.ContainsFunc(x.Replace, func(r assess.UsedUp) bool { return strings.HasPrefix(r.Of, c.used) && r.Priced }) {
				t.Errorf("%s is not used up, or has no price: %+v", c.used, x.Replace)
			}
			if x.Cost.Hundredths <= 0 || x.Cost.Currency != "GBP" {
				t.Errorf("costs %s", x.Cost)
			}
		})
	}
}

// The front carrier takes the front gasket alone: its mirror image at the rear stays
// where it is, and is not bought.
func TestOnlyTheGasketOfThisSideIsLost(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	text, _ := packs.Journal(packs.Demo, "whole-job")
	tear, err := m.TearBack(journal.Read(text).Fold(), assess.Options{}, "space.lifter_chest front")
	if err != nil || len(tear.Ways) == 0 {
		t.Fatal(err)
	}
	var gaskets []string
	for _, u := range tear.Ways[0].Replace {
		if strings.Contains(u.Of, "carrier_gasket") {
			gaskets = append(gaskets, u.Of)
		}
	}
	if !slices.Equal(gaskets, []string{"slot.carrier_gasket_front"}) {
		t.Errorf("lost: %v", gaskets)
	}
}

// What is used up is bought as kits or one by one, whichever costs less, and paid once.
func TestWhatIsUsedUpIsPaidOnce(t *testing.T) {
	const shop = `
pack "p" { title = "Kits" }
space "box" {}
slot "a" { one_use = true }
slot "b" { one_use = true }
slot "c" { one_use = true }
part "KIT" {
  fills = [slot.a, slot.b, slot.c]
}
part "A" {
  fills = [slot.a]
}
part "B" {
  fills = [slot.b]
}
part "C" {
  fills = [slot.c]
}
supplier "S" { currency = "GBP" }
offer {
  part     = "KIT"
  supplier = "S"
  price    = "10.00"
}
offer {
  part     = "A"
  supplier = "S"
  price    = "PRICE"
}
offer {
  part     = "B"
  supplier = "S"
  price    = "4.00"
}
offer {
  part     = "C"
  supplier = "S"
  price    = "3.00"
}
operation "shut" {
  closes  = [space.box]
  fits    = [slot.a, slot.b, slot.c]
  minutes = 10
}
`
	for _, c := range []struct {
		price, part, total string
		paid               int
	}{{"2.00", "A", "9.00", 3}, {"2.99", "A", "9.99", 3}, {"3.50", "KIT", "10.00", 1}} {
		m := assess.Prepare(loadPack(t, strings.Replace(shop, "PRICE", c.price, 1)))
		s := journal.Read([]byte(`{"id":"1","at":"2026-03-02T10:00:00Z","by":"bench","kind":"operation","operation":"shut","state":"done"}`)).Fold()
		tear, err := m.TearBack(s, assess.Options{}, "space.box")
		if err != nil || len(tear.Ways) != 1 {
			t.Fatal(err)
		}
		paid, sum := 0, int64(0)
		for _, u := range tear.Ways[0].Replace {
			if sum += u.Cost.Hundredths; !u.With {
				paid++
			}
		}
		if w := tear.Ways[0]; w.Cost.Amount() != c.total || w.Replace[0].Part != c.part || paid != c.paid || sum != w.Cost.Hundredths {
			t.Errorf("A at %s: %s for %s, %d paid, lines come to %d", c.price, w.Cost, w.Replace[0].Part, paid, sum)
		}
	}
}
