package valvetrain

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

func second[T any](_ T, err error) error { return err }

// Each sentence must give the value with its unit and what is allowed, and name every
// argument that has a part in it.
func TestRefusals(t *testing.T) {
	inlet, _ := demoGaps(t, 0)
	gap := func(change func(g *PistonGap)) error {
		g := inlet
		change(&g)
		_, err := g.Smallest(deg(-40), deg(40))
		return err
	}
	points := func(fit Fit, angles ...float64) error {
		var p []Point
		for i, a := range angles {
			p = append(p, Point{deg(a), mm(float64(i))})
		}
		_, err := NewMeasured(p, fit)
		return err
	}
	valves := demoValves(t)
	valves.Step = mm(4)
	for _, c := range []struct {
		err            error
		argument, says string
	}{
		{second(Events{InletOpens: deg(190)}.Timing()), "inlet opens", "inlet opens 190 deg must be from -180 deg to 180 deg"},
		{second(Events{InletOpens: deg(-100), InletCloses: deg(-90)}.Timing()), "inlet opens, inlet closes", "inlet opens -100 deg before the top and inlet closes -90 deg after the bottom dead centre leave a duration of -10 deg, which must be above zero"},
		{second(DeadCentreByStop(0, deg(20))), "before", "before 0 deg must be above 0 deg"},
		{second(CentreByEqualLift(deg(50), deg(40))), "opening, closing", "closing 40 deg must come after opening 50 deg, by less than 720 deg"},
		{gap(func(g *PistonGap) { g.Ratio = 0 }), "ratio", "ratio 0 must be above 0"},
		{gap(func(g *PistonGap) { g.Ratio = 12 }), "ratio", "ratio 12 must be from 0 to 10"},
		{gap(func(g *PistonGap) { g.Inclination = deg(95) }), "inclination", "inclination 95 deg must be less than 90 deg either way"},
		{gap(func(g *PistonGap) { g.Lift = nil }), "lift", "the lift curve is missing"},
		{gap(func(g *PistonGap) { g.Closed = quantity.Length(math.NaN()) }), "closed", "closed NaN mm is not a number"},
		{second(inlet.Smallest(deg(40), deg(-40))), "from, to", "the range from 40 deg to -40 deg must rise, by at most 720 deg"},
		{second(inlet.Smallest(0, deg(721))), "from, to", "the range from 0 deg to 721 deg must rise, by at most 720 deg"},
		{second(valves.At(0)), "step, closed", "step 4 mm must be smaller than the closed gap 3.6 mm, which is measured straight from edge to edge"},
		{second(NewLobe(mm(7), deg(145), 1.5, 2)), "p", "p 1.5 must be from 2 to 20"},
		{points(Natural, 0, 10), "points", "a natural curve needs at least 3 points, and 2 were given"},
		{points(Linear, 0, 10, 10), "angle", "the angles must rise, and 10 deg follows 10 deg"},
		{points(Linear, 0, 730), "angle", "the points reach from 0 deg to 730 deg, and a cycle has only 720 deg"},
		{points(Natural, 0, 100, 720), "lift", "the last point is a whole cycle after the first and has the lift 2 mm, not 0 mm; the curve must close"},
		{points(Periodic, -150, -50, 50, 150), "angle", "from -150 deg to -50 deg there is no point; a periodic curve needs points all round, at most 90 deg apart, and a curve of the opening alone is natural"},
		{second(NewMeasured(nil, Fit(9))), "fit", "fit 9 is none of natural, periodic and linear"},
		{second(inlet.Lift.At(quantity.Angle(math.NaN()))), "angle", "angle NaN deg is not a number"},
		{second(Rise(Cycloidal, mm(5), deg(60), deg(61))), "angle", "angle 61 deg must be from 0 deg to 60 deg"},
		{second(ParseLaw("sine")), "motion", `motion "sine" is not known; write harmonic, cycloidal, 3-4-5 or 4-5-6-7`},
		{second(TipSweep(mm(6), mm(12), mm(1))), "arm, lift", "arm 6 mm must be longer than half the lift and the distance past square together, 7 mm"},
		{second(Wire{mm(4), mm(7), 5, 80e9, 0}.Rate()), "mean diameter, wire", "mean diameter 7 mm must be at least twice the wire 4 mm"},
		{second(Wire{mm(4), mm(24), 5, 0, 0}.Rate()), "modulus", "modulus 0 GPa must be above 0 GPa"},
		{second(demoSprings().Load(mm(47))), "length, free", "length 47 mm is more than the free length 46.8 mm: the spring would hang loose"},
		{second(RateFromLoads(mm(38), 480, mm(26), 300)), "first length, first load, second length, second load", "a load of 480 N at 38 mm and one of 300 N at 26 mm make no spring: the shorter length must carry the larger load"},
		{second(ShimForLength(mm(37.6), mm(38))), "measured, target", "the measured length 37.6 mm is 0.4 mm short of the target 38 mm, and no shim can lengthen it; the spring seat must go down or the collar up"},
		{second(StackChange(0).PreloadPer(1.6)), "change", "change 0 is not known"},
		{second(PitchOf(0)), "threads per inch", "threads per inch 0 must be from 1 to 1000"},
		{second(BleedDown(LeakTest{30, mm(4), 220}, mm(2), 0, 40)), "force", "force 0 N must be above 0 N"},
		{second(Growth(Member{Name: "case", Length: mm(60), Expansion: -1e-6})), "case expansion", "case expansion -1e-06 1/K must be 0 1/K or more"},
	} {
		var refusal *argument.Error
		if !errors.As(c.err, &refusal) {
			t.Errorf("%v is no refusal; want %q", c.err, c.says)
			continue
		}
		if refusal.Says != c.says || refusal.Argument != c.argument {
			t.Errorf("%s: %q\nwant %s: %q", refusal.Argument, refusal.Says, c.argument, c.says)
		}
	}
	_, err := PreloadWindow(mm(0.60), mm(0.58), mm(0.10), mm(0.10))
	const want = "no preload works both cold and hot: travel 0.6 mm less margin 0.1 mm holds no room for the change with heat 0.58 mm and the least preload 0.1 mm; 0.18 mm is missing"
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
	in, _ := demoLobes(t)
	if _, _, err := OpenAbove(in, mm(8)); err == nil || err.Error() != "lift 8 mm must be below the greatest lift of the curve, 7.6 mm" {
		t.Errorf("%v", err)
	}
	linear := Control{Springs: demoSprings(), Installed: mm(38), Lift: measured(t, []Point{{0, 0}, {1, mm(5)}, {2, 0}}, Linear), Ratio: 1, Mass: 0.2, Speed: 90}
	if _, err := linear.Least(); err == nil {
		t.Error("a linear curve has no acceleration to hold, and must be refused")
	}
}

// awkward are numbers that find the holes in a check.
var awkward = []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), 1e-320, 1e-30, 1e-12, 1e-9, 1e-6, 1e-3, 0.04, 0.09, 0.18, 1, 1.62, 7, 100, 999, 1e4, 1e6, 1e12, 1e300, math.MaxFloat64, -1e-9, -0.04, -1, -1e300}

// No function may return NaN or an infinity, whatever it is given, and none may panic or
// go on for ever.
func TestNeverNaN(t *testing.T) {
	L := func(x float64) quantity.Length { return quantity.Length(x) }
	A := func(x float64) quantity.Angle { return quantity.Angle(x) }
	in, ex := demoLobes(t)
	lifts := []Lift{in, ex, measured(t, issuePoints(), Periodic), measured(t, issuePoints(), Natural), measured(t, []Point{{0, 0}, {1, mm(5)}}, Linear)}
	functions := map[string]func(v []float64, lift Lift) ([]float64, error){
		"timing": func(v []float64, _ Lift) ([]float64, error) {
			x, err := Events{A(v[0]), A(v[1]), A(v[2]), A(v[3])}.Timing()
			return []float64{float64(x.InletDuration), float64(x.ExhaustDuration), float64(x.InletCentre), float64(x.ExhaustCentre), float64(x.Separation), float64(x.Overlap)}, err
		},
		"dead centre": func(v []float64, _ Lift) ([]float64, error) {
			x, err := DeadCentreByStop(A(v[0]), A(v[1]))
			y, _ := CentreByEqualLift(A(v[0]), A(v[1]))
			return []float64{float64(x.Shift), float64(x.Reading), float64(y)}, err
		},
		"lift": func(v []float64, lift Lift) ([]float64, error) {
			m, _ := lift.At(A(v[0]))
			a, b, err := OpenAbove(lift, L(v[1]))
			return []float64{float64(m.Lift), float64(m.Velocity), float64(m.Acceleration), float64(a), float64(b)}, err
		},
		"events": func(v []float64, lift Lift) ([]float64, error) {
			e, err := EventsAt(lift, A(v[0]), lift, A(v[1]), L(v[2]))
			return []float64{float64(e.InletOpens), float64(e.InletCloses), float64(e.ExhaustOpens), float64(e.ExhaustCloses)}, err
		},
		"lobe": func(v []float64, _ Lift) ([]float64, error) {
			l, err := NewLobe(L(v[0]), A(v[1]), 2+v[2], 2+v[3])
			if err != nil {
				return nil, err
			}
			m, _ := l.At(A(v[4]))
			return []float64{float64(m.Lift), float64(m.Velocity), float64(m.Acceleration), l.closing}, nil
		},
		"measured": func(v []float64, _ Lift) ([]float64, error) {
			points := []Point{{A(v[0]), L(v[4])}, {A(v[0] + v[1]), L(v[5])}, {A(v[0] + v[1] + v[2]), L(v[6])}, {A(v[0] + v[1] + v[2] + v[3]), L(v[7])}}
			m, err := NewMeasured(points, Fit(math.Abs(math.Mod(v[8], 3))))
			if err != nil {
				return nil, err
			}
			x, _ := m.At(A(v[8]))
			return []float64{float64(x.Lift), float64(x.Velocity), float64(x.Acceleration)}, nil
		},
		"piston gap": func(v []float64, lift Lift) ([]float64, error) {
			g := PistonGap{cylinder.Crank{Stroke: L(v[0]), Rod: L(v[0] + v[1]), Offset: L(v[2] / 100)}, L(v[3]), A(v[4]), lift, A(v[5]), v[6], L(v[7])}
			c, err := g.Smallest(A(-v[8]), A(v[8]))
			d, _ := g.At(A(v[8]))
			return []float64{float64(c.Gap), float64(c.Angle), float64(c.Drop), float64(c.Lift), float64(d.Gap)}, err
		},
		"valve gap": func(v []float64, lift Lift) ([]float64, error) {
			g := ValveGap{Valve{L(v[0]), A(v[1]), lift, A(v[2]), v[3], L(v[4] / 1000)}, Valve{L(v[0]), A(-v[1]), lift, A(-v[2]), v[3], 0}, L(v[5]), L(v[6] / 100)}
			c, err := g.At(A(v[7]))
			d, _ := g.Smallest(A(-v[8]), A(v[8]))
			f, _ := FacingGap(L(v[5]), L(v[6]), L(v[7]), A(v[1]), A(v[2]))
			return []float64{float64(c.Gap), float64(c.Facing), float64(c.InletLift), float64(c.ExhaustLift), float64(d.Gap), float64(d.Angle), float64(f)}, err
		},
		"rise": func(v []float64, _ Lift) ([]float64, error) {
			m, err := Rise(Law(1+math.Abs(math.Mod(v[0], 4))), L(v[1]), A(v[2]), A(v[3]*v[2]))
			x, y, z, _ := m.AtSpeed(quantity.Frequency(v[4]))
			return []float64{float64(m.Lift), float64(m.Velocity), float64(m.Acceleration), float64(m.Jerk), float64(x), float64(y), float64(z)}, err
		},
		"rocker": func(v []float64, _ Lift) ([]float64, error) {
			r := Rocker{L(v[0]), L(v[1]), L(v[2]), L(v[3])}
			states, err := r.At(L(v[4]), 0, 0.3, 1)
			sweep, _ := TipSweep(L(v[0]), L(v[4]), L(v[2]))
			ratio, _ := r.Ratio()
			list := []float64{float64(sweep), ratio}
			for _, s := range states {
				list = append(list, float64(s.TappetLift), s.Local, s.Mean, float64(s.Across))
			}
			return list, err
		},
		"wire": func(v []float64, _ Lift) ([]float64, error) {
			w := Wire{L(v[0]), L(v[1]), v[2], quantity.Pressure(v[3] * 1e9), quantity.Density(v[4] * 1e3)}
			a, err := w.Rate()
			b, _ := w.ActiveMass()
			c, _ := w.Surge()
			d, _ := w.Stress(quantity.Force(v[5]))
			e, _ := WahlFactor(v[6])
			f, _ := BergstraesserFactor(v[6])
			return []float64{float64(a), float64(b), float64(c), float64(d), e, f}, err
		},
		"springs": func(v []float64, _ Lift) ([]float64, error) {
			n := Nest{{quantity.Stiffness(v[0]), L(v[1])}, {quantity.Stiffness(v[2]), L(v[3])}}
			a, err := n.Load(L(v[4]))
			b, _ := n.Rate()
			c, _ := BindMargin(L(v[1]), L(v[2]), L(v[3]))
			d, _ := RateFromLoads(L(v[0]), quantity.Force(v[1]), L(v[2]), quantity.Force(v[3]))
			e, _ := SurgeFrequency(quantity.Stiffness(v[0]), quantity.Mass(v[1]))
			f, _ := SurgeHarmonic(quantity.Frequency(v[0]), quantity.Frequency(v[1]))
			g, _ := ShimForLength(L(v[0]), L(v[1]))
			return []float64{float64(a), float64(b), float64(c), float64(d), float64(e), f, float64(g)}, err
		},
		"control": func(v []float64, lift Lift) ([]float64, error) {
			c, err := Control{Nest{{quantity.Stiffness(v[0]), L(v[1] + v[2])}}, L(v[1]), lift, v[3], quantity.Mass(v[4]), quantity.Frequency(v[5])}.Least()
			return []float64{c.Margin, float64(c.Angle), float64(c.Load), float64(c.Needed)}, err
		},
		"preload": func(v []float64, _ Lift) ([]float64, error) {
			g, err := Growth(Member{"", L(v[0]), quantity.Expansion(v[1] / 100), quantity.TemperatureDifference(v[2]), v[3]})
			a, b, _ := PreloadColdAndHot(L(v[0]), L(v[1]), L(v[2]))
			w, _ := PreloadWindow(L(v[0]), L(v[1]), L(v[2]), L(v[3]))
			return []float64{float64(g), float64(a.Depth), float64(a.Remaining), float64(b.Depth), float64(b.Remaining), float64(w.Low), float64(w.High)}, err
		},
		"pushrod": func(v []float64, _ Lift) ([]float64, error) {
			a, err := PushrodLength(L(v[0]), L(v[1]))
			b, c, _ := NearestPushrod(L(v[0]), L(v[1]), []quantity.Length{L(v[2]), L(v[3])})
			d, _ := PreloadChange(v[0], Change{RockerShaftLowered, L(v[1])}, Change{SeatSunk, L(v[2])})
			return []float64{float64(a), float64(b), float64(c), float64(d)}, err
		},
		"adjuster": func(v []float64, _ Lift) ([]float64, error) {
			a, err := Turn(L(v[0]), L(v[1]))
			b, _ := PitchOf(v[2])
			c, _ := PitchOver(L(v[0]), 10)
			d, _ := BleedDown(LeakTest{quantity.Duration(v[0]), L(v[1]), quantity.Force(v[2])}, L(v[3]), quantity.Force(v[4]), v[5])
			e, _ := LifterForce(quantity.Force(v[0]), v[1])
			return []float64{a.Turns, a.Flats, float64(a.WholeFlats), float64(a.Gives), float64(b), float64(c), float64(d), float64(e)}, err
		},
	}
	for name, f := range functions {
		r := rand.New(rand.NewPCG(51, 52))
		accepted, tries := 0, 1500
		for i := range tries {
			v := make([]float64, 9)
			for k := range v {
				v[k] = awkward[r.IntN(len(awkward))]
				if i%2 == 0 { // half the time believable
					v[k] = math.Pow(10, -4+4*r.Float64())
				}
			}
			got, err := f(v, lifts[r.IntN(len(lifts))])
			if err == nil {
				accepted++
			} else if err.Error() == "" {
				t.Errorf("%s%v: an error that says nothing", name, v)
			}
			for _, x := range got {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%s%v = %v, %v", name, v, got, err)
				}
			}
		}
		if accepted < tries/100 {
			t.Errorf("%s accepted %d of %d, so little was tried", name, accepted, tries)
		}
	}
}
