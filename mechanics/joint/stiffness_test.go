package joint

import (
	"math"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

const lbfPerInch = lbf / 0.0254

func TestStiffnessAgainstTextbook(t *testing.T) {
	each(t, "stiffness", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		grip, modulus := quantity.Length(si(t, row.In["grip"])), quantity.Pressure(si(t, row.In["modulus"]))
		f.Compare(t, row, "members", float64(must[quantity.Stiffness](t)(MemberStiffness(th.Diameter(), grip, modulus)))/lbfPerInch/1e6)
		f.Compare(t, row, "fitted", float64(must[quantity.Stiffness](t)(MemberStiffnessFitted(th.Diameter(), grip, modulus)))/lbfPerInch/1e6)
		f.Compare(t, row, "bolt", float64(must[quantity.Stiffness](t)(BoltStiffness(th, modulus, quantity.Length(si(t, row.In["shank"])), quantity.Length(si(t, row.In["threaded"])))))/lbfPerInch/1e6)
	})
	each(t, "joint-constant", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		c := must[float64](t)(LoadShare(quantity.Stiffness(si(t, row.In["bolt"])), quantity.Stiffness(si(t, row.In["members"]))))
		preload := quantity.Force(si(t, row.In["preload"]))
		load, clamp, err := BoltLoad(preload, quantity.Force(si(t, row.In["outer"])), c)
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "share", c)
		f.Compare(t, row, "preload stress", float64(must[quantity.Pressure](t)(TensileStress(preload, th))/ksi))
		f.Compare(t, row, "service stress", float64(must[quantity.Pressure](t)(TensileStress(load, th))/ksi))
		// Bolt and clamp must be in balance with the outer load.
		if off := float64(load-clamp) - si(t, row.In["outer"]); math.Abs(off) > 1e-6 {
			t.Errorf("bolt less clamp is off the outer load by %v", off)
		}
	})
}

func TestStiffnessLaws(t *testing.T) {
	th := thread(t, "M10x1.25")
	const kb, km = 62.7e6, 188.1e6
	// Turn to preload and back; turning by a whole turn advances by the pitch, which is
	// the same as parts that grow by the pitch.
	for _, deg := range []float64{0, 45, 90, 360} {
		angle := quantity.Angle(deg * math.Pi / 180)
		f := must[quantity.Force](t)(TurnPreload(angle, th, kb, km))
		if back := must[quantity.Angle](t)(TurnAngle(f, th, kb, km)); math.Abs(float64(back-angle)) > 1e-12 {
			t.Errorf("%v deg comes back as %v", deg, back)
		}
		if deg == 360 {
			if grown := must[quantity.Force](t)(PreloadChange(th.Pitch(), kb, km)); math.Abs(float64(grown/f)-1) > 1e-12 {
				t.Errorf("a turn gives %v, growth by the pitch %v", f, grown)
			}
		}
	}
	// Settling by what growth added takes it away again.
	up, down := must[quantity.Force](t)(PreloadChange(1e-5, kb, km)), must[quantity.Force](t)(PreloadChange(-1e-5, kb, km))
	if up != -down {
		t.Errorf("%v up, %v down", up, down)
	}
	// A joint that opens: continuous at the point where it does.
	share := must[float64](t)(LoadShare(kb, km))
	opens := 10e3 / (1 - share)
	before, _, _ := BoltLoad(10e3, quantity.Force(opens*(1-1e-9)), share)
	after, clamp, _ := BoltLoad(10e3, quantity.Force(opens*(1+1e-9)), share)
	if math.Abs(float64(before-after)) > 1e-3 || clamp != 0 {
		t.Errorf("at opening the bolt jumps from %v to %v, clamp %v", before, after, clamp)
	}
	// All shank and all thread bound the bolt; both agree with E·A/L.
	const e = 205e9
	shank := must[quantity.Stiffness](t)(BoltStiffness(th, e, 0.05, 0))
	cut := must[quantity.Stiffness](t)(BoltStiffness(th, e, 0, 0.05))
	half := must[quantity.Stiffness](t)(BoltStiffness(th, e, 0.025, 0.025))
	if want := e * float64(th.StressArea()) / 0.05; math.Abs(float64(cut)/want-1) > 1e-12 {
		t.Errorf("all thread is %v, want %v", cut, want)
	}
	if want := 2 / (1/float64(shank) + 1/float64(cut)); !(cut < half && half < shank) || math.Abs(float64(half)/want-1) > 1e-12 {
		t.Errorf("shank %v, half %v, thread %v", shank, half, cut)
	}
	// Cones and fit stay as near one another as is said.
	for _, grips := range []float64{1, 1.5, 2, 2.5, 3, 4} {
		cones := must[quantity.Stiffness](t)(MemberStiffness(0.01, quantity.Length(0.01*grips), e))
		fitted := must[quantity.Stiffness](t)(MemberStiffnessFitted(0.01, quantity.Length(0.01*grips), e))
		if ratio := float64(fitted / cones); ratio < 0.90 || ratio > 1.10 {
			t.Errorf("grip of %v diameters: fit over cones %v", grips, ratio)
		}
	}
}

func TestStiffnessRefuses(t *testing.T) {
	th := thread(t, "M10")
	nan := math.NaN()
	for i, f := range []func() error{
		func() error { _, err := BoltStiffness(th, 0, 0.01, 0.01); return err },
		func() error { _, err := BoltStiffness(th, 2e11, 0, 0); return err },
		func() error { _, err := BoltStiffness(th, 2e11, -0.01, 0.02); return err },
		func() error { _, err := BoltStiffness(Thread{}, 2e11, 0.01, 0.02); return err },
		func() error { _, err := MemberStiffness(0, 0.01, 2e11); return err },
		func() error { _, err := MemberStiffness(0.01, quantity.Length(nan), 2e11); return err },
		func() error { _, err := MemberStiffnessFitted(0.01, 0, 2e11); return err },
		func() error { _, err := MemberStiffnessFitted(1, 1e-9, 2e11); return err },
		func() error { _, err := LoadShare(0, 1); return err },
		func() error { _, _, err := BoltLoad(-1, 1, 0.3); return err },
		func() error { _, _, err := BoltLoad(1, 1, 1.3); return err },
		func() error { _, err := PreloadChange(quantity.Length(nan), 1, 1); return err },
		func() error { _, err := PreloadChange(1, 0, 1); return err },
		func() error { _, err := TurnPreload(-1, th, 1, 1); return err },
		func() error { _, err := TurnPreload(1, Thread{}, 1, 1); return err },
		func() error { _, err := TurnAngle(-1, th, 1, 1); return err },
		func() error { _, err := TurnAngle(1e308, th, 1e-300, 1); return err },
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}

func TestGrowthAgainstTable(t *testing.T) {
	each(t, "expansion", func(f *check.File, row check.Row) {
		alpha := quantity.Expansion(si(t, row.In["per celsius"]))
		f.Compare(t, row, "per fahrenheit", float64(must[quantity.Length](t)(Growth(1, alpha, 1/1.8)))*1e6)
	})
	each(t, "growth-difference", func(f *check.File, row check.Row) {
		length, rise := quantity.Length(si(t, row.In["length"])), quantity.TemperatureDifference(si(t, row.In["rise"]))
		members, bolt := quantity.Expansion(si(t, row.In["members"])), quantity.Expansion(si(t, row.In["bolt"]))
		got := must[quantity.Length](t)(GrowthDifference(length, members, bolt, rise))
		f.Compare(t, row, "growth", got.Millimetres())
		// Two ways: the difference of both growths.
		if by := must[quantity.Length](t)(Growth(length, members, rise)) - must[quantity.Length](t)(Growth(length, bolt, rise)); math.Abs(float64(by-got)) > 1e-15 {
			t.Errorf("growth one by one differs by %v, together %v", by, got)
		}
	})
	for i, f := range []func() error{
		func() error { _, err := Growth(-1, 1e-5, 100); return err },
		func() error { _, err := Growth(1, quantity.Expansion(math.NaN()), 100); return err },
		func() error { _, err := Growth(1e300, 1e5, 1e100); return err },
		func() error {
			_, err := GrowthDifference(1, 1e-5, 1e-5, quantity.TemperatureDifference(math.Inf(1)))
			return err
		},
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}

func TestStack(t *testing.T) {
	for _, free := range []float64{0.4, 0.8, 1.3} {
		for _, c := range []float64{0, 0.1, 0.25, 0.9} {
			crushed := must[quantity.Length](t)(CrushedThickness(quantity.Millimetres(free), c))
			if back := must[float64](t)(Crush(quantity.Millimetres(free), crushed)); math.Abs(back-c) > 1e-12 {
				t.Errorf("%v of %v comes back as %v", c, free, back)
			}
		}
	}
	mm := quantity.Millimetres
	for _, c := range []struct {
		length, through, hole, beyond, clearance, engaged float64
		bottoms                                           bool
	}{
		{30, 10, 35, 20, 15, 20, false},
		{30, 10, 20, 20, 0, 20, false}, // just touches
		{30, 10, 18, 20, -2, 18, true},
		{30.1, 10.1, 20, 20, 0, 20, false}, // the noise of binary fractions is no clearance
	} {
		r := must[Reach](t)(ScrewReach(mm(c.length), mm(c.through), mm(c.hole)))
		for _, p := range [][2]float64{{r.Beyond.Millimetres(), c.beyond}, {r.Clearance.Millimetres(), c.clearance}, {r.Engaged.Millimetres(), c.engaged}} {
			if math.Abs(p[0]-p[1]) > 1e-9 {
				t.Errorf("%+v: got %v, want %v", c, p[0], p[1])
			}
		}
		if r.Bottoms() != c.bottoms {
			t.Errorf("%+v: bottoms %v", c, r.Bottoms())
		}
	}
	if turns, flats, err := Turns(-thread(t, "1/4-24").Pitch()*2.5, thread(t, "1/4-24").Pitch()); err != nil || math.Abs(turns+2.5) > 1e-12 || math.Abs(flats+15) > 1e-12 {
		t.Errorf("two and a half turns back are %v turns, %v flats, %v", turns, flats, err)
	}
	for i, f := range []func() error{
		func() error { _, err := CrushedThickness(0, 0.1); return err },
		func() error { _, err := CrushedThickness(1, 1); return err },
		func() error { _, err := CrushedThickness(1, -0.1); return err },
		func() error { _, err := CrushedThickness(1, 12); return err },
		func() error { _, err := Crush(1, 1.1); return err },
		func() error { _, err := Crush(1, 0); return err },
		func() error { _, err := ScrewReach(0.01, 0.01, 0.02); return err },
		func() error { _, err := ScrewReach(0.01, 0.02, 0.02); return err },
		func() error { _, err := ScrewReach(0.03, 0.02, 0); return err },
		func() error { _, _, err := Turns(1, 0); return err },
		func() error { _, _, err := Turns(quantity.Length(math.NaN()), 1); return err },
		func() error { _, _, err := Turns(1e300, 1e-300); return err },
	} {
		if f() == nil {
			t.Errorf("case %d was accepted", i)
		}
	}
}
