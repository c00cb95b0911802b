package joint

import (
	"math"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

func TestPreloadWindowsAgainstPublishedExamples(t *testing.T) {
	each(t, "preload-window", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		torque := TorqueBand{quantity.Torque(si(t, row.In["low"])), quantity.Torque(si(t, row.In["high"]))}
		k, scatter := bare(t, row.In["factor"]), bare(t, row.In["scatter"])
		initial := must[ForceBand](t)(InitialPreload(torque, th, k, scatter, int(bare(t, row.In["bolts"]))))
		service := must[ForceBand](t)(ServicePreload(initial, bare(t, row.In["settling"]), quantity.Force(si(t, row.In["temperature"]))))
		critical := must[ForceBand](t)(InitialPreload(torque, th, k, scatter, 1))
		f.Compare(t, row, "initial high", float64(initial.High)/lbf)
		f.Compare(t, row, "initial low", float64(initial.Low)/lbf)
		f.Compare(t, row, "service high", float64(service.High)/lbf)
		f.Compare(t, row, "service low", float64(service.Low)/lbf)
		f.Compare(t, row, "critical low", float64(critical.Low)/lbf)
	})
	each(t, "preload-sandia", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		torque := quantity.Torque(si(t, row.In["torque"]))
		k := bare(t, row.In["factor"])
		initial := must[ForceBand](t)(InitialPreload(TorqueBand{torque, torque}, th, k, bare(t, row.In["scatter"]), 1))
		service := must[ForceBand](t)(ServicePreload(initial, bare(t, row.In["settling"]), 0))
		f.Compare(t, row, "nominal", float64(must[quantity.Force](t)(PreloadByNutFactor(torque, th, k)))/lbf)
		f.Compare(t, row, "low", float64(initial.Low)/lbf)
		f.Compare(t, row, "high", float64(initial.High)/lbf)
		f.Compare(t, row, "service low", float64(service.Low)/lbf)
	})
	each(t, "preload-hand", func(f *check.File, row check.Row) {
		th := thread(t, "3/8-24")
		nominal := must[quantity.Force](t)(PreloadByNutFactor(50, th, 0.2))
		initial := must[ForceBand](t)(InitialPreload(TorqueBand{50, 50}, th, 0.2, bare(t, row.In["scatter"]), 1))
		f.Compare(t, row, "most", float64(initial.High/nominal))
		f.Compare(t, row, "least", float64(initial.Low/nominal)/(1+bare(t, row.In["settling"])))
	})
	each(t, "scatter", func(f *check.File, row check.Row) {
		for m := NoMethod; m <= MeasuredElongation; m++ {
			if m.String() == strings.ReplaceAll(row.In["method"], ";", ",") {
				f.Compare(t, row, "percent", 100*must[float64](t)(ScatterByMethod(m)))
				return
			}
		}
		t.Errorf("no method is called %q", row.In["method"])
	})
}

// The band must hold what any friction inside it gives, and shrink when an input does.
func TestPreloadBandHoldsEveryCase(t *testing.T) {
	th := thread(t, "M10x1.25")
	ring := Ring{0.016, 0.0105}
	torque := TorqueBand{41, 45}
	mu := FrictionBand{Friction{0.08, 0.09}, Friction{0.16, 0.18}}
	band := must[ForceBand](t)(PreloadBand(torque, 0.04, th, ring, mu))
	const n = 8
	for i := range n + 1 {
		for j := range n + 1 {
			for k := range n + 1 {
				at := func(low, high float64, i int) float64 { return low + (high-low)*float64(i)/n }
				f := Friction{at(0.08, 0.16, i), at(0.09, 0.18, j)}
				got := must[quantity.Force](t)(Preload(quantity.Torque(at(41*0.96, 45*1.04, k)), th, ring, f))
				if float64(got) < float64(band.Low)*(1-1e-12) || float64(got) > float64(band.High)*(1+1e-12) {
					t.Fatalf("%v lies outside %v", got, band)
				}
			}
		}
	}
	narrow := must[ForceBand](t)(PreloadBand(TorqueBand{43, 43}, 0, th, ring, BothAt(0.12, 0.12)))
	if narrow.Low != narrow.High || narrow.Low < band.Low || narrow.High > band.High {
		t.Errorf("an exact case gives %v, outside %v", narrow, band)
	}
}

func TestStates(t *testing.T) {
	each(t, "friction-classes", func(f *check.File, row check.Row) {
		mu := must[FrictionBand](t)(must[State](t)(ParseState(row.In["state"])).Friction())
		f.Compare(t, row, "low", mu.Low.Thread)
		f.Compare(t, row, "high", mu.High.Head)
	})
	verdict := func(inside bool) string {
		if inside {
			return "inside"
		}
		return "outside"
	}
	each(t, "nut-factor-states", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		mu := must[FrictionBand](t)(must[State](t)(ParseState(row.In["state"])).Friction())
		ring := Ring{1.5 * th.Diameter(), 1.05 * th.Diameter()}
		low, high := must[float64](t)(NutFactor(th, ring, mu.Low)), must[float64](t)(NutFactor(th, ring, mu.High))
		k := bare(t, row.In["factor"])
		if got := verdict(low <= k && k <= high); got != row.Out["verdict"] {
			t.Errorf("%s:%d: K %v of %s is %s %.3f .. %.3f", f.Path, row.Line, k, row.In["state"], got, low, high)
		}
	})
	each(t, "state-factors", func(f *check.File, row check.Row) {
		th := thread(t, "1/2-13")
		ring := Ring{1.5 * th.Diameter(), 1.05 * th.Diameter()}
		m := must[Mismatch](t)(CompareStates(100, th, ring, must[State](t)(ParseState(row.In["from"])), must[State](t)(ParseState(row.In["to"]))))
		// The same torque gives Low..High of the preload; for the same preload the torque
		// must be changed by one over that.
		k := bare(t, row.In["factor"])
		if got := verdict(1/m.High <= k && k <= 1/m.Low); got != row.Out["verdict"] {
			t.Errorf("%s:%d: factor %v is %s %.2f .. %.2f", f.Path, row.Line, k, got, 1/m.High, 1/m.Low)
		}
	})
	for s := Dry; s <= MolyPaste; s++ {
		if again, err := ParseState(s.String()); err != nil || again != s {
			t.Errorf("%v reads back as %v, %v", s, again, err)
		}
		m := must[Mismatch](t)(CompareStates(43, thread(t, "M10x1.25"), Ring{0.016, 0.0105}, s, s))
		if m.Typical != 1 || m.Meant != m.Got || m.Low > 1 || m.High < 1 {
			t.Errorf("%v against itself: %+v", s, m)
		}
	}
	for _, text := range []string{"", "wet", "unknown", "sealant", "cadmium"} {
		if s, err := ParseState(text); err == nil || s != StateUnknown {
			t.Errorf("%q read as %v", text, s)
		}
	}
	if _, err := StateUnknown.Friction(); err == nil {
		t.Error("an unknown state has friction")
	}
	if _, err := CompareStates(43, thread(t, "M10"), Ring{0.016, 0.0105}, Oiled, StateUnknown); err == nil {
		t.Error("an unknown state was compared")
	}
	// Oil on a thread whose figure is for dry raises the preload; the other way lowers it.
	up := must[Mismatch](t)(CompareStates(43, thread(t, "M10"), Ring{0.016, 0.0105}, Dry, Oiled))
	down := must[Mismatch](t)(CompareStates(43, thread(t, "M10"), Ring{0.016, 0.0105}, Oiled, Dry))
	if up.Typical <= 1 || down.Typical >= 1 || math.Abs(up.Typical*down.Typical-1) > 1e-12 {
		t.Errorf("dry to oiled %v, oiled to dry %v", up.Typical, down.Typical)
	}
}

func TestScatterRefuses(t *testing.T) {
	th, ring, mu := thread(t, "M10"), Ring{0.016, 0.0105}, BothAt(0.1, 0.14)
	nan := math.NaN()
	for i, f := range []func() error{
		func() error { _, err := PreloadBand(TorqueBand{45, 41}, 0, th, ring, mu); return err },
		func() error { _, err := PreloadBand(TorqueBand{0, 41}, 0, th, ring, mu); return err },
		func() error { _, err := PreloadBand(TorqueBand{41, 45}, 4, th, ring, mu); return err },
		func() error { _, err := PreloadBand(TorqueBand{41, 45}, nan, th, ring, mu); return err },
		func() error { _, err := PreloadBand(TorqueBand{41, 45}, 0, th, ring, BothAt(0.14, 0.1)); return err },
		func() error { _, err := InitialPreload(TorqueBand{41, 45}, th, 0.2, 25, 1); return err },
		func() error { _, err := InitialPreload(TorqueBand{41, 45}, th, 0.2, 0.25, 0); return err },
		func() error { _, err := ServicePreload(ForceBand{2, 1}, 0.05, 0); return err },
		func() error { _, err := ServicePreload(ForceBand{1, 2}, 5, 0); return err },
		func() error { _, err := ServicePreload(ForceBand{1, 2}, 0.05, -1); return err },
		func() error { _, err := LeastPreload(1, 0.9); return err },
		func() error { _, err := LeastPreload(1, math.Inf(1)); return err },
		func() error { _, err := ScatterByMethod(NoMethod); return err },
		func() error { _, err := ScatterByMethod(200); return err },
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}
