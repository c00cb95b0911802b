package joint

import (
	"math"
	"strconv"
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// bare reads a bare number that a test file wrote.
func bare(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// must stops a test at an error.
func must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// meanRing is a ring whose mean diameter is given.
func meanRing(d float64) Ring { return Ring{quantity.Length(d), quantity.Length(d)} }

func TestTighteningAgainstPublishedExamples(t *testing.T) {
	each(t, "tightening-exact", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		mu := bare(t, row.In["friction"])
		x := must[Tightening](t)(TighteningTorque(quantity.Force(si(t, row.In["preload"])), th,
			Ring{quantity.Length(si(t, row.In["outer"])), quantity.Length(si(t, row.In["hole"]))}, Friction{mu, mu}))
		f.Compare(t, row, "torque", float64(x.Torque/inchPound))
		f.Compare(t, row, "lead angle", float64(th.LeadAngle())*180/math.Pi)
	})
	each(t, "tightening-nut-factor", func(f *check.File, row check.Row) {
		torque := must[quantity.Torque](t)(NutFactorTorque(quantity.Force(si(t, row.In["preload"])), thread(t, row.In["thread"]), bare(t, row.In["factor"])))
		f.Compare(t, row, "torque", float64(torque/inchPound))
	})
	each(t, "linear-constants", func(f *check.File, row check.Row) {
		th, mu := thread(t, row.In["thread"]), bare(t, row.In["friction"])
		ring := Ring{quantity.Length(si(t, row.In["outer"])), quantity.Length(si(t, row.In["hole"]))}
		force := si(t, row.In["preload"])
		x := must[Tightening](t)(TighteningTorqueLinear(quantity.Force(force), th, ring, Friction{mu, mu}))
		f.Compare(t, row, "torque", float64(x.Torque))
		rounded := force * (0.16*float64(th.Pitch()) + 0.58*mu*float64(th.PitchDiameter()) + mu*float64(ring.MeanDiameter())/2)
		f.Compare(t, row, "rounded", rounded)
	})
	each(t, "nut-factor-metric", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		load, _, err := ProofLoad(th, grade(t, row.In["class"]))
		if err != nil {
			t.Fatal(err)
		}
		preload := load * quantity.Force(bare(t, row.In["share"]))
		torque := must[quantity.Torque](t)(NutFactorTorque(preload, th, bare(t, row.In["factor"])))
		f.Compare(t, row, "preload", float64(preload)/1e3)
		f.Compare(t, row, "torque", float64(torque))
		for column, k := range map[string]string{"at second": "second", "at third": "third"} {
			f.Compare(t, row, column, float64(must[quantity.Force](t)(PreloadByNutFactor(torque, th, bare(t, row.In[k]))))/1e3)
		}
	})
	each(t, "nut-factor-ac4313", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		middle := quantity.Torque((si(t, row.In["low"]) + si(t, row.In["high"])) / 2)
		preload := quantity.Force(40*float64(ksi)) * quantity.Force(th.StressArea())
		f.Compare(t, row, "factor", must[float64](t)(NutFactorOf(middle, preload, th)))
	})
}

func TestAssemblyPreloadAgainstTable(t *testing.T) {
	preload := func(row check.Row) (Thread, quantity.Force, float64) {
		th, mu := thread(t, row.In["thread"]), bare(t, row.In["friction"])
		s := must[Strength](t)(grade(t, row.In["class"]).Strength(th))
		return th, must[quantity.Force](t)(AssemblyPreload(th, s.Yield, 0.9, mu)), mu
	}
	for _, name := range []string{"vdi-assembly", "vdi-coarse"} {
		each(t, name, func(f *check.File, row check.Row) {
			th, got, mu := preload(row)
			f.Compare(t, row, "preload", float64(got)/1e3)
			// The other way round: that preload uses 90 % of the yield.
			s := must[Strength](t)(grade(t, row.In["class"]).Strength(th))
			if used := float64(must[quantity.Pressure](t)(TighteningStress(got, th, mu)) / s.Yield); math.Abs(used-0.9) > 1e-12 {
				t.Errorf("%s: %v of the yield is used, want 0.9", row.In["thread"], used)
			}
		})
	}
	each(t, "vdi-torque", func(f *check.File, row check.Row) {
		th, force, mu := preload(row)
		ring := meanRing(si(t, row.In["ring"]))
		f.Compare(t, row, "torque", float64(must[Tightening](t)(TighteningTorqueLinear(force, th, ring, Friction{mu, mu})).Torque))
		f.Compare(t, row, "torque", float64(must[Tightening](t)(TighteningTorque(force, th, ring, Friction{mu, mu})).Torque))
	})
	each(t, "vdi-factor", func(f *check.File, row check.Row) {
		f.Compare(t, row, "least", float64(must[quantity.Force](t)(LeastPreload(quantity.Force(si(t, row.In["most"])), bare(t, row.In["factor"]))))/1e3)
	})
}

// What the doc comments say of the differences between the forms must be so, on every
// thread of the tables from M3 up and #4 up.
func TestFormsDifferAsStated(t *testing.T) {
	worst := map[float64]float64{}
	for _, th := range everyThread(t) {
		if th.Diameter() < quantity.Millimetres(2.8) {
			continue
		}
		ring := Ring{1.6 * th.Diameter(), 1.1 * th.Diameter()}
		for _, mu := range []float64{0, 0.04, 0.1, 0.2, 0.3} {
			f := Friction{mu, mu}
			exact := must[Tightening](t)(TighteningTorque(1000, th, ring, f))
			linear := must[Tightening](t)(TighteningTorqueLinear(1000, th, ring, f))
			lack := 1 - float64(linear.Torque/exact.Torque)
			if lack < -1e-12 {
				t.Errorf("%v at %v: the linear form gives more than the exact one", th, mu)
			}
			worst[mu] = math.Max(worst[mu], lack)
			if mu == 0 && lack > 1e-12 {
				t.Errorf("%v: the forms differ without friction", th)
			}
			rounded := 1000 * (0.16*float64(th.Pitch()) + 0.58*mu*float64(th.PitchDiameter()) + mu*float64(ring.MeanDiameter())/2)
			if more := rounded/float64(linear.Torque) - 1; more < 0 || more > 0.006 {
				t.Errorf("%v at %v: the rounded constants give %v more", th, mu, more)
			}
		}
	}
	t.Logf("linear form lacks at most %v", worst)
	if worst[0.1] > 0.006 || worst[0.2] > 0.010 || worst[0.3] > 0.015 {
		t.Errorf("the linear form lacks %v of the exact one", worst)
	}
}

// Torque to preload and back, shares that add up, scaling, monotony.
func TestTighteningLaws(t *testing.T) {
	ring := Ring{quantity.Millimetres(16), quantity.Millimetres(10.5)}
	for _, text := range []string{"M10x1.25", "M10", "M24x1.5 LH", "3/8-16"} {
		th := thread(t, text)
		last := 0.0
		for _, mu := range []float64{0, 0.05, 0.1, 0.2, 0.4, 0.5} {
			f := Friction{mu, mu}
			x := must[Tightening](t)(TighteningTorque(20e3, th, ring, f))
			if back := must[quantity.Force](t)(Preload(x.Torque, th, ring, f)); math.Abs(float64(back)/20e3-1) > 1e-12 {
				t.Errorf("%s at %v: %v comes back as %v", text, mu, 20e3, back)
			}
			l := must[Tightening](t)(TighteningTorqueLinear(20e3, th, ring, f))
			if back := must[quantity.Force](t)(PreloadLinear(l.Torque, th, ring, f)); math.Abs(float64(back)/20e3-1) > 1e-12 {
				t.Errorf("%s at %v linear: comes back as %v", text, mu, back)
			}
			p, s, h := x.Shares()
			if math.Abs(p+s+h-1) > 1e-12 || p <= 0 || s < 0 || h < 0 {
				t.Errorf("%s at %v: shares %v %v %v", text, mu, p, s, h)
			}
			if mu == 0 && (math.Abs(s) > 1e-12 || h != 0) {
				t.Errorf("%s: friction shares %v %v without friction", text, s, h)
			}
			if float64(x.Torque) <= last {
				t.Errorf("%s: more friction did not ask for more torque", text)
			}
			last = float64(x.Torque)
			k := must[float64](t)(NutFactor(th, ring, f))
			if mu > 0 {
				byK := must[quantity.Torque](t)(NutFactorTorque(20e3, th, k))
				if math.Abs(float64(byK/x.Torque)-1) > 1e-12 {
					t.Errorf("%s at %v: by nut factor %v, by friction %v", text, mu, byK, x.Torque)
				}
			}
			if double := must[Tightening](t)(TighteningTorque(40e3, th, ring, f)); math.Abs(float64(double.Torque/x.Torque)-2) > 1e-12 {
				t.Errorf("%s at %v: twice the preload is %v of the torque", text, mu, double.Torque/x.Torque)
			}
		}
	}
	if p, s, h := (Tightening{}).Shares(); p != 0 || s != 0 || h != 0 {
		t.Error("no torque has shares")
	}
}

func TestTighteningRefuses(t *testing.T) {
	th := thread(t, "M10")
	ring, mu := Ring{0.016, 0.0105}, Friction{0.12, 0.12}
	bad := []func() error{
		func() error { _, err := TighteningTorque(0, th, ring, mu); return err },
		func() error { _, err := TighteningTorque(-1, th, ring, mu); return err },
		func() error { _, err := TighteningTorque(quantity.Force(math.NaN()), th, ring, mu); return err },
		func() error { _, err := TighteningTorque(quantity.Force(math.Inf(1)), th, ring, mu); return err },
		func() error { _, err := TighteningTorque(1, Thread{}, ring, mu); return err },
		func() error { _, err := TighteningTorque(1, th, Ring{0.0105, 0.016}, mu); return err },
		func() error { _, err := TighteningTorque(1, th, Ring{}, mu); return err },
		func() error { _, err := TighteningTorque(1, th, ring, Friction{-0.1, 0.1}); return err },
		func() error { _, err := TighteningTorque(1, th, ring, Friction{0.1, 0.6}); return err },
		func() error { _, err := TighteningTorque(1, th, ring, Friction{math.NaN(), 0.1}); return err },
		func() error { _, err := TighteningTorque(math.MaxFloat64, th, Ring{1e10, 1}, mu); return err },
		func() error { _, err := TighteningTorqueLinear(0, th, ring, mu); return err },
		func() error { _, err := Preload(0, th, ring, mu); return err },
		func() error { _, err := PreloadLinear(0, th, ring, mu); return err },
		func() error { _, err := NutFactorTorque(1, th, 0.02); return err },
		func() error { _, err := NutFactorTorque(1, th, 1.1); return err },
		func() error { _, err := NutFactorTorque(0, th, 0.2); return err },
		func() error { _, err := PreloadByNutFactor(1, th, math.NaN()); return err },
		func() error { _, err := NutFactor(Thread{}, ring, mu); return err },
		func() error { _, err := NutFactorOf(1, 0, th); return err },
		func() error { _, err := TensileStress(-1, th); return err },
		func() error { _, err := TighteningStress(1, th, 0.7); return err },
		func() error { _, err := AssemblyPreload(th, 640e6, 1.1, 0.1); return err },
		func() error { _, err := AssemblyPreload(th, 640e6, 0, 0.1); return err },
		func() error { _, err := AssemblyPreload(th, 0, 0.9, 0.1); return err },
	}
	for i, f := range bad {
		if err := f(); err == nil {
			t.Errorf("case %d was accepted", i)
		} else if _, ok := err.(*argument.Error); !ok {
			t.Errorf("case %d: the error is %T", i, err)
		}
	}
}
