package joint

import (
	"math"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

func TestStrippingAgainstPublishedExamples(t *testing.T) {
	each(t, "shear-area", func(f *check.File, row check.Row) {
		bolt, tapped, err := ShearAreas(thread(t, row.In["thread"]), quantity.Length(si(t, row.In["engagement"])), true)
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "bolt", float64(bolt)/in2)
		f.Compare(t, row, "tapped", float64(tapped)/in2)
	})
	for name, worst := range map[string]bool{"engagement": false, "engagement-worst": true} {
		each(t, name, func(f *check.File, row check.Row) {
			th := thread(t, row.In["thread"])
			_, tapped, err := ShearAreas(th, quantity.Millimetres(1), worst)
			if err != nil {
				t.Fatal(err)
			}
			needed := must[quantity.Length](t)(NeededEngagement(th, quantity.Pressure(si(t, row.In["bolt"])), quantity.Pressure(si(t, row.In["tapped"])), worst))
			f.Compare(t, row, "area per mm", float64(tapped)/mm2)
			f.Compare(t, row, "needed", needed.Millimetres())
		})
	}
	each(t, "engagement-rule", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		needed := must[quantity.Length](t)(NeededEngagement(th, quantity.Pressure(si(t, row.In["bolt"])), quantity.Pressure(si(t, row.In["tapped"])), true))
		if ratio := float64(needed / th.Diameter()); ratio > bare(t, row.Out["rule"]) {
			t.Errorf("%s:%d: %s needs %.2f diameters, the rule asks for %s", f.Path, row.Line, row.In["thread"], ratio, row.Out["rule"])
		}
	})
}

func TestStrippingLaws(t *testing.T) {
	for _, th := range everyThread(t) {
		for _, worst := range []bool{false, true} {
			_, _, err := ShearAreas(th, th.Diameter(), worst)
			if err != nil {
				t.Errorf("%v worst %v: %v", th, worst, err)
				continue
			}
			// At the needed engagement the first thread to strip holds exactly what
			// breaks the bolt; just below, a thread is weakest, just above the bolt.
			const bolt, tapped = 800e6, 300e6
			need := must[quantity.Length](t)(NeededEngagement(th, bolt, tapped, worst))
			at := must[Strip](t)(Stripping(th, need, bolt, tapped, worst))
			if least := math.Min(float64(at.BoltLoad), float64(at.TappedLoad)); math.Abs(least/float64(at.BreakingLoad)-1) > 1e-12 {
				t.Errorf("%v: %v strips and %v breaks at the needed engagement", th, least, at.BreakingLoad)
			}
			if at.Needed != need {
				t.Errorf("%v: needed %v and %v", th, at.Needed, need)
			}
			if s := must[Strip](t)(Stripping(th, need*1.001, bolt, tapped, worst)); s.Weakest != BoltBreaks {
				t.Errorf("%v above the needed engagement: %v", th, s.Weakest)
			}
			if s := must[Strip](t)(Stripping(th, need*0.999, bolt, tapped, worst)); s.Weakest == BoltBreaks || s.Weakest == NothingKnown {
				t.Errorf("%v below the needed engagement: %v", th, s.Weakest)
			}
		}
		b, a, err := ShearAreas(th, th.Diameter(), false)
		wb, wa, err2 := ShearAreas(th, th.Diameter(), true)
		if err != nil || err2 != nil || wb >= b || wa >= a {
			t.Errorf("%v: the worst case has more area: %v %v, %v %v, %v %v", th, b, wb, a, wa, err, err2)
		}
	}
	// What is the weaker follows the metals: soft holes strip, soft bolts lose theirs.
	th := thread(t, "M10")
	if s := must[Strip](t)(Stripping(th, 0.004, 800e6, 200e6, true)); s.Weakest != TappedStrips {
		t.Errorf("hard bolt in soft metal: %v", s.Weakest)
	}
	if s := must[Strip](t)(Stripping(th, 0.004, 400e6, 1000e6, true)); s.Weakest != BoltStrips {
		t.Errorf("soft bolt in hard metal: %v", s.Weakest)
	}
	for w, want := range map[Weakest]string{NothingKnown: "nothing known", BoltBreaks: "bolt", BoltStrips: "bolt thread", TappedStrips: "tapped thread"} {
		if w.String() != want {
			t.Errorf("%d prints as %q", w, w)
		}
	}
}

func TestStrippingRefuses(t *testing.T) {
	th := thread(t, "M10")
	for i, f := range []func() error{
		func() error { _, _, err := ShearAreas(th, 0, true); return err },
		func() error { _, _, err := ShearAreas(Thread{}, 0.01, true); return err },
		func() error { _, _, err := ShearAreas(th, quantity.Length(math.Inf(1)), true); return err },
		func() error { _, err := Stripping(th, 0.01, 0, 3e8, true); return err },
		func() error { _, err := Stripping(th, 0.01, 8e8, -1, true); return err },
		func() error { _, err := Stripping(th, 0.01, 8e8, quantity.Pressure(math.NaN()), true); return err },
		func() error { _, err := NeededEngagement(Thread{}, 8e8, 3e8, true); return err },
		func() error { _, err := Stripping(th, 1e300, 8e300, 3e8, true); return err },
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}
