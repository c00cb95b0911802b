package joint

import (
	"math"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

func TestAdapterAgainstManuals(t *testing.T) {
	for _, name := range []string{"adapter", "adapter-rounded-up"} {
		each(t, name, func(f *check.File, row check.Row) {
			q, err := quantity.Parse(row.In["torque"])
			if err != nil {
				t.Fatal(err)
			}
			got, factor, err := AdapterSetting(quantity.Torque(q.SI), quantity.Length(si(t, row.In["wrench"])), quantity.Length(si(t, row.In["offset"])), quantity.Angle(si(t, row.In["angle"])))
			if err != nil {
				t.Fatal(err)
			}
			f.Compare(t, row, "setting", q.Unit.In(float64(got)))
			if math.Abs(factor*q.SI-float64(got)) > 1e-12 {
				t.Errorf("factor %v of %v is not %v", factor, q.SI, got)
			}
		})
	}
	each(t, "adapter-applied", func(f *check.File, row check.Row) {
		got := must[quantity.Torque](t)(AppliedTorque(quantity.Torque(si(t, row.In["reading"])), quantity.Length(si(t, row.In["wrench"])), quantity.Length(si(t, row.In["offset"])), quantity.Angle(si(t, row.In["angle"]))))
		f.Compare(t, row, "torque", float64(got/inchPound))
	})
}

func TestAdapterLaws(t *testing.T) {
	last := 0.0
	for deg := 0.0; deg <= 180; deg += 5 {
		angle := quantity.Angle(deg * math.Pi / 180)
		s, factor, err := AdapterSetting(43, 0.4, 0.05, angle)
		if err != nil {
			t.Fatal(err)
		}
		if factor <= last {
			t.Errorf("%v deg: the factor fell to %v", deg, factor)
		}
		last = factor
		if back := must[quantity.Torque](t)(AppliedTorque(s, 0.4, 0.05, angle)); math.Abs(float64(back)-43) > 1e-12 {
			t.Errorf("%v deg: 43 comes back as %v", deg, back)
		}
		if deg == 90 && s != 43 {
			t.Errorf("a 90 deg adapter changes 43 to %v", s)
		}
	}
	if s, factor, err := AdapterSetting(43, 0.4, 0, 1); err != nil || s != 43 || factor != 1 {
		t.Errorf("without an offset 43 becomes %v, %v, %v", s, factor, err)
	}
	nan := math.NaN()
	for i, f := range []func() error{
		func() error { _, _, err := AdapterSetting(0, 0.4, 0.05, 0); return err },
		func() error { _, _, err := AdapterSetting(43, 0, 0.05, 0); return err },
		func() error { _, _, err := AdapterSetting(43, 0.4, -0.05, 0); return err },
		func() error { _, _, err := AdapterSetting(43, 0.4, 0.4, math.Pi); return err },
		func() error { _, _, err := AdapterSetting(43, 0.4, 0.5, math.Pi); return err },
		func() error { _, _, err := AdapterSetting(43, 0.4, 0.05, quantity.Angle(nan)); return err },
		func() error { _, err := AppliedTorque(quantity.Torque(nan), 0.4, 0.05, 0); return err },
		func() error { _, err := AppliedTorque(43, 0.4, quantity.Length(math.Inf(1)), 0); return err },
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}

func TestWrenchMark(t *testing.T) {
	const ftlb = 1.3558179483314004
	for _, c := range []struct {
		name                    string
		torque, low, high, step float64
		mark, err               float64
		warning                 MarkWarning
		digits                  float64
	}{
		{"on a mark", 43, 20, 100, 1, 43, 0, MarkGood, 1e-12},
		{"nearest is above", 43.6, 20, 100, 1, 44, 0.4 / 43.6, MarkGood, 1e-12},
		{"a tie goes down", 42.5, 20, 100, 1, 42, -0.5 / 42.5, MarkGood, 1e-12},
		{"coarse graduation", 43, 20, 100, 5, 45, 2.0 / 43, MarkGood, 1e-12},
		{"in another unit", 43, 10 * ftlb, 80 * ftlb, ftlb, 32 * ftlb, 32*ftlb/43 - 1, MarkGood, 1e-12},
		{"a fifth exactly", 20, 10, 100, 1, 20, 0, MarkGood, 1e-12},
		{"under a fifth", 19, 10, 100, 1, 19, 0, MarkUnderFifth, 1e-12},
		{"below the scale", 8, 10, 100, 1, 10, 0.25, MarkBelowScale, 1e-12},
		{"full scale", 100, 10, 100, 1, 100, 0, MarkGood, 1e-12},
		{"over the scale", 110, 10, 100, 1, 100, -10.0 / 110, MarkAboveScale, 1e-12},
		{"scale ends between marks", 99, 11, 99, 5, 95, -4.0 / 99, MarkGood, 1e-12},
		{"noise of conversion", 30 * ftlb, 10 * ftlb, 150 * ftlb, 5 * ftlb, 30 * ftlb, 0, MarkGood, 1e-12},
	} {
		m, err := WrenchMark(quantity.Torque(c.torque), quantity.Torque(c.low), quantity.Torque(c.high), quantity.Torque(c.step))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if math.Abs(float64(m.Torque)-c.mark) > c.digits*c.mark || math.Abs(m.Error-c.err) > c.digits || m.Warning != c.warning {
			t.Errorf("%s: %+v, want %v %v %v", c.name, m, c.mark, c.err, c.warning)
		}
	}
	for i, f := range []func() error{
		func() error { _, err := WrenchMark(0, 10, 100, 1); return err },
		func() error { _, err := WrenchMark(43, 100, 10, 1); return err },
		func() error { _, err := WrenchMark(43, 10, 10, 1); return err },
		func() error { _, err := WrenchMark(43, 10, 100, 0); return err },
		func() error { _, err := WrenchMark(43, 41, 44, 10); return err },
		func() error { _, err := WrenchMark(43, 0, 100, 200); return err },
		func() error { _, err := WrenchMark(5e-324, 0, 1e308, 1e-3); return err },
	} {
		if err := f(); err == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}

// No mark inside the scale may lie nearer than the one that was taken.
func TestWrenchMarkIsNearest(t *testing.T) {
	for wanted := 1.0; wanted < 130; wanted += 0.37 {
		m := must[Mark](t)(WrenchMark(quantity.Torque(wanted), 10, 110, 2.5))
		for k := 4; k <= 44; k++ {
			if off := math.Abs(float64(k)*2.5 - wanted); off < math.Abs(float64(m.Torque)-wanted)-1e-9 {
				t.Errorf("%v is set at %v though %v is nearer", wanted, m.Torque, float64(k)*2.5)
			}
		}
	}
}

func TestWrenchDeviation(t *testing.T) {
	each(t, "wrench-deviation", func(f *check.File, row check.Row) {
		share := must[float64](t)(WrenchDeviation(quantity.Torque(si(t, row.In["largest"]))))
		at := si(t, row.In["indicated"])
		f.Compare(t, row, "low", at*(1-share))
		f.Compare(t, row, "high", at*(1+share))
	})
	if _, err := WrenchDeviation(0); err == nil {
		t.Error("a wrench of 0 N·m has a deviation")
	}
}

func TestLocknuts(t *testing.T) {
	each(t, "prevailing", func(f *check.File, row check.Row) {
		f.Compare(t, row, "torque", float64(must[quantity.Torque](t)(LeastPrevailing(thread(t, row.In["thread"])))/inchPound))
	})
	each(t, "breakaway", func(f *check.File, row check.Row) {
		f.Compare(t, row, "torque", float64(must[quantity.Torque](t)(LeastBreakaway(thread(t, row.In["thread"])))/inchPound))
	})
	each(t, "drag", func(f *check.File, row check.Row) {
		f.Compare(t, row, "torque", float64(must[quantity.Torque](t)(TorqueWithDrag(quantity.Torque(si(t, row.In["wanted"])), quantity.Torque(si(t, row.In["drag"]))))/inchPound))
	})
	// Where both tables have a line, breaking away takes more: they are not the same thing.
	both := 0
	for _, th := range everyThread(t) {
		p, err1 := LeastPrevailing(th)
		b, err2 := LeastBreakaway(th)
		if err1 == nil && err2 == nil {
			both++
			if b <= p {
				t.Errorf("%v: breakaway %v, prevailing %v", th, b, p)
			}
		}
	}
	if both < 10 {
		t.Errorf("only %d threads are in both tables", both)
	}
	for _, text := range []string{"M10", "1/4-20", "1/2-12"} {
		if _, err := LeastPrevailing(thread(t, text)); err == nil {
			t.Errorf("%s has a prevailing torque", text)
		}
	}
	if _, err := LeastBreakaway(Thread{}); err == nil {
		t.Error("no thread has a breakaway torque")
	}
	if _, err := TorqueWithDrag(10, -1); err == nil {
		t.Error("a negative drag was accepted")
	}
	if _, err := TorqueWithDrag(0, 1); err == nil {
		t.Error("no torque was accepted")
	}
}
