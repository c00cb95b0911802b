package valvetrain

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

// bruteSmallest is the sweep that everybody would write: it looks at every step.
func bruteSmallest(t testing.TB, g PistonGap, from, to, step float64) Closest {
	t.Helper()
	s, err := g.sweep()
	if err != nil {
		t.Fatal(err)
	}
	best := Closest{Gap: quantity.Length(math.Inf(1))}
	n := int(math.Round((to - from) / step))
	for i := range n + 1 {
		if c := s.closest(from + (to-from)*float64(i)/float64(n)); c.Gap < best.Gap {
			best = c
		}
	}
	return best
}

// plainGap is the formula written out again, from the slider-crank of another package
// and the curve's exported face.
func plainGap(t testing.TB, g PistonGap, angle float64) float64 {
	t.Helper()
	top, _, err := g.Crank.DeadCentres()
	if err != nil {
		t.Fatal(err)
	}
	x, err := g.Crank.Drop(quantity.Angle(angle) + top)
	if err != nil {
		t.Fatal(err)
	}
	lift := g.Ratio*float64(motion(t, g.Lift, quantity.Angle(angle)-g.Peak).Lift) - float64(g.Lash)
	return float64(g.Closed) + math.Cos(float64(g.Inclination))*float64(x) - math.Max(lift, 0)
}

// benchLobe is a smooth lobe read at every degree of the cam: 10.5 mm, 130° of cam.
func benchLobe(t testing.TB, fit Fit) *Measured {
	t.Helper()
	var points []Point
	for i := range 360 {
		u := math.Min(math.Abs(float64(i)-180)/65, 1)
		w := 1 - u*u
		points = append(points, Point{deg(float64(2*i - 360)), mm(10.5 * w * w * w * (1 + 0.6*u*u))})
	}
	m, err := NewMeasured(points, fit)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// benchGaps draws engines that differ a little, four valves each.
func benchGaps(t testing.TB, samples int, lift Lift) []PistonGap {
	r := rand.New(rand.NewPCG(5, 5))
	var gaps []PistonGap
	for range samples {
		var crank cylinder.Crank
		var deck float64
		for v := range 4 {
			if v%2 == 0 {
				crank = cylinder.Crank{
					Stroke: mm(80 + 0.04*r.NormFloat64()),
					Rod:    mm(150 + 0.03*r.NormFloat64()),
					Offset: mm(0.5 + 0.05*r.NormFloat64()),
				}
				deck = 1 + 0.04*r.NormFloat64()
			}
			peak, pocket := 108.0, 5.5
			if v%2 == 1 {
				peak, pocket = -108, 6
			}
			gaps = append(gaps, PistonGap{
				Crank:       crank,
				Closed:      mm(deck + pocket + 0.08*r.NormFloat64()),
				Inclination: deg(22),
				Lift:        lift,
				Peak:        deg(peak + r.NormFloat64()),
				Ratio:       1 + 0.005*r.NormFloat64(),
				Lash:        mm(0.1 + 0.02*r.NormFloat64()),
			})
		}
	}
	return gaps
}

// twoMinima is a made-up deep pocket: a lift curve with a shoulder on either side of the
// top dead centre, so that the gap has two minima, which by is added to part.
func twoMinima(t testing.TB, by float64) PistonGap {
	t.Helper()
	crank := cylinder.Crank{Stroke: mm(86.5), Rod: mm(178)}
	var points []Point
	for a := -360.0; a < 360; a += 4 {
		// Two humps at ±18° that are higher than what the piston makes room for.
		x, err := crank.Drop(deg(a))
		if err != nil {
			t.Fatal(err)
		}
		hump := func(at, height float64) float64 { return height * math.Exp(-math.Pow((a-at)/7, 2)) }
		lift := math.Cos(15*degree)*x.Millimetres()*math.Exp(-math.Pow(a/60, 4)) + hump(-18, 2) + hump(18, 2+by)
		points = append(points, Point{deg(a), mm(lift)})
	}
	m, err := NewMeasured(points, Periodic)
	if err != nil {
		t.Fatal(err)
	}
	return PistonGap{Crank: crank, Closed: mm(3), Inclination: deg(15), Lift: m, Ratio: 1}
}

// The answer is never above what a sweep in steps of a tenth of a degree finds, and
// below it by no more than such a sweep can miss.
func TestPistonGapAgainstBruteForce(t *testing.T) {
	inlet, exhaust := demoGaps(t, 0)
	offset := inlet
	offset.Crank.Offset = mm(-3)
	offset.Lash = mm(0.3)
	tight := exhaust
	tight.Ratio, tight.Peak = 1.9, deg(-95)
	// A lobe of two straight flanks: the smallest gap is at its corner, or where a flank
	// and the piston move alike.
	cornered := inlet
	cornered.Lift = measured(t, []Point{{deg(-80), 0}, {deg(-10.3), mm(6)}, {0, mm(6.4)}, {deg(70), 0}}, Linear)
	cornered.Ratio = 1
	var corners []PistonGap
	for _, peak := range []float64{-21, -2, 1, 3, 12.7, 40} {
		cornered.Peak = deg(peak)
		corners = append(corners, cornered)
	}
	// A late lobe with much lash: the open valve comes about as near as the shut one.
	var late []PistonGap
	for peak := 110.0; peak < 180; peak += 3.7 {
		g := inlet
		g.Peak, g.Lash = deg(peak), mm(1)
		late = append(late, g)
	}
	cases := map[string][]PistonGap{
		"corner":     corners,
		"late":       late,
		"periodic":   benchGaps(t, 25, benchLobe(t, Periodic)),
		"linear":     benchGaps(t, 25, benchLobe(t, Linear)),
		"natural":    benchGaps(t, 25, benchLobe(t, Natural)),
		"demo":       {inlet, exhaust, offset, tight},
		"two minima": {twoMinima(t, 0), twoMinima(t, 1e-5), twoMinima(t, -1e-5), twoMinima(t, 0.02), twoMinima(t, -0.02)},
	}
	for name, gaps := range cases {
		for i, g := range gaps {
			for _, r := range [][2]float64{{-360, 360}, {-40, 40}, {-180, 180}, {5, 33.3}, {-33.3, -5}, {-355, -100}, {100, 500}} {
				from, to := r[0]*degree, r[1]*degree
				got, err := g.Smallest(quantity.Angle(from), quantity.Angle(to))
				if err != nil {
					t.Fatal(err)
				}
				brute := bruteSmallest(t, g, from, to, 0.1*degree)
				if over := float64(got.Gap - brute.Gap); over > gapTolerance {
					t.Errorf("%s %d over %v: %v mm above the brute force at %v°", name, i, r, over*1e3, float64(brute.Angle)/degree)
				}
				// A tenth of a degree misses at most ½·f″·(0.05°)², with f″ under 0.4 m per
				// radian squared here, or a slope under 20 mm per radian times 0.05° at a
				// corner.
				missed := 0.5 * 0.4 * math.Pow(0.05*degree, 2)
				if name == "linear" || name == "corner" {
					missed = 0.020 * 0.05 * degree
				}
				if under := float64(brute.Gap - got.Gap); under > missed {
					t.Errorf("%s %d over %v: %v mm below the brute force", name, i, r, under*1e3)
				}
				if got.Angle < quantity.Angle(from) || got.Angle > quantity.Angle(to) {
					t.Errorf("%s %d: angle %v outside %v", name, i, float64(got.Angle)/degree, r)
				}
				if plain := plainGap(t, g, float64(got.Angle)); math.Abs(plain-float64(got.Gap)) > 1e-15 {
					t.Errorf("%s %d: gap %v, and the formula gives %v", name, i, got.Gap, plain)
				}
			}
		}
	}
}

// A hundredth of a degree takes the brute force closer to the truth, and the answer
// still is not above it.
func TestPistonGapFineSteps(t *testing.T) {
	for _, g := range append(benchGaps(t, 2, benchLobe(t, Periodic)), twoMinima(t, 0), twoMinima(t, 1e-6), twoMinima(t, -1e-6)) {
		got, err := g.Smallest(deg(-60), deg(60))
		if err != nil {
			t.Fatal(err)
		}
		brute := bruteSmallest(t, g, -60*degree, 60*degree, 0.002*degree)
		if over := float64(got.Gap - brute.Gap); over > gapTolerance || over < -1e-9 {
			t.Errorf("%v mm off the fine sweep", over*1e3)
		}
	}
}

// Of two minima the lower is found, on whichever side it is, down to differences of
// nanometres.
func TestTwoMinima(t *testing.T) {
	for _, by := range []float64{1, 1e-2, 1e-4, 1e-6} {
		after, err := twoMinima(t, by).Smallest(deg(-90), deg(90))
		if err != nil {
			t.Fatal(err)
		}
		before, err := twoMinima(t, -by).Smallest(deg(-90), deg(90))
		if err != nil {
			t.Fatal(err)
		}
		if !(after.Angle > deg(10) && before.Angle < deg(-10)) {
			t.Errorf("by %v mm: nearest at %v° and %v°, want one after and one before the top", by, float64(after.Angle)/degree, float64(before.Angle)/degree)
		}
	}
}

// A valve that stays shut in the range is nearest at the piston's top, at Closed.
func TestClosedValve(t *testing.T) {
	inlet, _ := demoGaps(t, 0)
	for _, r := range [][2]float64{{330, 390}, {-390, -330}, {350, 365}} {
		got, err := inlet.Smallest(deg(r[0]), deg(r[1]))
		if err != nil {
			t.Fatal(err)
		}
		if off := math.Abs(float64(got.Gap - inlet.Closed)); off > 1e-15 || got.Lift != 0 {
			t.Errorf("over %v: %+v, want the closed gap", r, got)
		}
	}
	// Lash is no part of a closed gap.
	slack := inlet
	slack.Lash = mm(0.4)
	got, err := slack.Smallest(deg(-450), deg(-330))
	if err != nil || math.Abs(float64(got.Gap-slack.Closed)) > 1e-15 {
		t.Errorf("%+v, %v; want the closed gap", got, err)
	}
	// Off the top, at the end that is nearer to it.
	got, err = inlet.Smallest(deg(370), deg(400))
	if err != nil || got.Angle != deg(370) {
		t.Errorf("%+v, %v; want the end at 370°", got, err)
	}
	// With a pocket so deep and a lobe so late that the open valve never comes nearer.
	late := inlet
	late.Peak = deg(180)
	got, err = late.Smallest(deg(-360), deg(360))
	if err != nil || math.Abs(float64(got.Gap-late.Closed)) > 1e-15 {
		t.Errorf("%+v, %v; want the closed gap", got, err)
	}
	// A pumped-up lifter takes its part of the closed gap too.
	pumped := late
	pumped.Lash = mm(-1)
	got, err = pumped.Smallest(deg(-360), deg(360))
	if err != nil || math.Abs(float64(got.Gap-(late.Closed-mm(1)))) > 1e-15 {
		t.Errorf("%+v, %v; want a millimetre less than closed", got, err)
	}
}

func TestPistonGapLaws(t *testing.T) {
	for i, g := range benchGaps(t, 10, benchLobe(t, Periodic)) {
		got, err := g.Smallest(deg(-360), deg(360))
		if err != nil {
			t.Fatal(err)
		}
		// More room below the closed valve is more gap, exactly.
		roomy := g
		roomy.Closed += mm(0.5)
		more, _ := roomy.Smallest(deg(-360), deg(360))
		if off := float64(more.Gap-got.Gap) - 0.5e-3; math.Abs(off) > 2*gapTolerance {
			t.Errorf("%d: half a millimetre more room gives %v mm more", i, 0.5+off*1e3)
		}
		// Lash only ever helps; a wider range never does.
		slack := g
		slack.Lash += mm(0.1)
		if more, _ := slack.Smallest(deg(-360), deg(360)); more.Gap < got.Gap-gapTolerance {
			t.Errorf("%d: more lash, less gap", i)
		}
		if part, _ := g.Smallest(deg(-5), deg(20)); part.Gap < got.Gap-gapTolerance {
			t.Errorf("%d: less of the cycle, less gap", i)
		}
		// The mirrored engine: the other way round with the pin off to the other side. The
		// curve is symmetrical but for rounding of its readings.
		mirror := g
		mirror.Peak, mirror.Crank.Offset = -g.Peak, -g.Crank.Offset
		back, _ := mirror.Smallest(deg(-360), deg(360))
		if off := float64(back.Gap - got.Gap); math.Abs(off) > 1e-12+2*gapTolerance {
			t.Errorf("%d: mirrored off by %v", i, off)
		}
		// Everything twice the size.
		double := g
		double.Crank.Stroke *= 2
		double.Crank.Rod *= 2
		double.Crank.Offset *= 2
		double.Closed *= 2
		double.Lash *= 2
		double.Ratio *= 2
		twice, _ := double.Smallest(deg(-360), deg(360))
		if off := float64(twice.Gap - 2*got.Gap); math.Abs(off) > 4*gapTolerance {
			t.Errorf("%d: twice the size off by %v", i, off)
		}
	}
}

// The lower bound of a cell is the proof of the search: no function whose second
// derivative keeps its limit may go under it.
func TestCellBound(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for range 2000 {
		// f = c + b·x + a·x²/2 + s·sin(kx), with f″ ≤ a + s·k² as the limit.
		a, b, c, s, k := 4*r.Float64()-2, 4*r.Float64()-2, r.Float64(), r.Float64(), 6*r.Float64()
		f := func(x float64) float64 { return c + b*x + a*x*x/2 + s*math.Sin(k*x) }
		from := 4*r.Float64() - 2
		q := cell{a: from, b: from + 0.01 + r.Float64(), fa: f(from)}
		q.fb = f(q.b)
		bound := q.bound(a + s*k*k)
		for i := range 200 {
			if x := q.a + (q.b-q.a)*float64(i)/199; f(x) < bound-1e-12 {
				t.Fatalf("f(%v) = %v under the bound %v", x, f(x), bound)
			}
		}
	}
}

func benchmarkSmallest(b *testing.B, gaps []PistonGap, from, to quantity.Angle) {
	b.ReportAllocs()
	for b.Loop() {
		for i := range gaps {
			if _, err := gaps[i].Smallest(from, to); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// 10,000 engines of four valves over the whole cycle: the budget is 40 ms on one core.
func BenchmarkPistonGapWholeCycle(b *testing.B) {
	benchmarkSmallest(b, benchGaps(b, 10000, benchLobe(b, Periodic)), deg(-360), deg(360))
}

// The same around the overlap only.
func BenchmarkPistonGapOverlap(b *testing.B) {
	benchmarkSmallest(b, benchGaps(b, 10000, benchLobe(b, Periodic)), deg(-60), deg(60))
}

// A deep pocket with two minima, as many times.
func BenchmarkPistonGapTwoMinima(b *testing.B) {
	g := twoMinima(b, 1e-6)
	gaps := make([]PistonGap, 40000)
	for i := range gaps {
		gaps[i] = g
	}
	benchmarkSmallest(b, gaps, deg(-360), deg(360))
}

// What the plain sweep costs, for one engine of four valves: multiply by 10,000.
func BenchmarkPistonGapBruteForce(b *testing.B) {
	gaps := benchGaps(b, 1, benchLobe(b, Periodic))
	for b.Loop() {
		for _, g := range gaps {
			bruteSmallest(b, g, -2*math.Pi, 2*math.Pi, 0.1*degree)
		}
	}
}
