package valvetrain

import (
	"errors"
	"math"
	"testing"

	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

// The numbers in this file belong to the invented demo engine. They were computed by
// whoever wrote them down, by the same formulas, and are kept as a regression test:
// they prove nothing about the formulas.

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }
func deg(x float64) quantity.Angle { return quantity.Angle(x * degree) }

// agrees fails unless got is want to within half a unit of want's last printed digit,
// given as the number of decimals.
func agrees(t *testing.T, what string, err error, got, want float64, decimals int) {
	t.Helper()
	if err != nil {
		t.Errorf("%s: %v", what, err)
		return
	}
	if off := math.Abs(got - want); !(off <= 0.5000001*math.Pow10(-decimals)) {
		t.Errorf("%s = %.8g, want %.*f", what, got, decimals, want)
	}
}

func demoLobes(t testing.TB) (inlet, exhaust *Lobe) {
	t.Helper()
	inlet, err := NewLobe(mm(7.60), deg(145), 2.56, 2.1956)
	if err != nil {
		t.Fatal(err)
	}
	exhaust, err = NewLobe(mm(7.30), deg(145), 2.48, 2.0244)
	if err != nil {
		t.Fatal(err)
	}
	return inlet, exhaust
}

// demoGaps are the inlet and the exhaust of the demo engine with the cam advanced.
func demoGaps(t testing.TB, advanced float64) (inlet, exhaust PistonGap) {
	in, ex := demoLobes(t)
	g := PistonGap{Crank: cylinder.Crank{Stroke: mm(86.5), Rod: mm(178)}, Inclination: deg(15), Ratio: 1.62}
	inlet, exhaust = g, g
	inlet.Lift, inlet.Peak, inlet.Closed = in, deg(107-advanced), mm(6.10)
	exhaust.Lift, exhaust.Peak, exhaust.Closed = ex, deg(-110-advanced), mm(6.20)
	return inlet, exhaust
}

func TestInventedDeadCentre(t *testing.T) {
	d, err := DeadCentreByStop(deg(24), deg(26))
	agrees(t, "shift", err, float64(d.Shift)/degree, 1.0, 1)
	agrees(t, "reading", err, float64(d.Reading)/degree, 25.0, 1)
}

func TestInventedTiming(t *testing.T) {
	events := Events{deg(12), deg(46), deg(50), deg(10)}
	timing, err := events.Timing()
	for _, c := range []struct {
		name string
		got  quantity.Angle
		want float64
	}{
		{"inlet duration", timing.InletDuration, 238}, {"exhaust duration", timing.ExhaustDuration, 240},
		{"inlet centre", timing.InletCentre, 107}, {"exhaust centre", timing.ExhaustCentre, 110},
		{"separation", timing.Separation, 108.5}, {"overlap", timing.Overlap, 22},
	} {
		agrees(t, c.name, err, float64(c.got)/degree, c.want, 9)
	}
	advanced := events.Advanced(deg(4))
	agrees(t, "inlet opens, advanced", nil, float64(advanced.InletOpens)/degree, 16, 9)
	agrees(t, "inlet closes, advanced", nil, float64(advanced.InletCloses)/degree, 42, 9)
}

func TestInventedLobes(t *testing.T) {
	in, ex := demoLobes(t)
	for _, c := range []struct {
		lift float64
		want Events
	}{
		{1.00, Events{deg(12), deg(46), deg(50), deg(10)}},
		{0.15, Events{deg(28), deg(62), deg(66), deg(26)}},
	} {
		e, err := EventsAt(in, deg(107), ex, deg(110), mm(c.lift))
		agrees(t, "inlet opens", err, float64(e.InletOpens)/degree, float64(c.want.InletOpens)/degree, 1)
		agrees(t, "inlet closes", err, float64(e.InletCloses)/degree, float64(c.want.InletCloses)/degree, 1)
		agrees(t, "exhaust opens", err, float64(e.ExhaustOpens)/degree, float64(c.want.ExhaustOpens)/degree, 1)
		agrees(t, "exhaust closes", err, float64(e.ExhaustCloses)/degree, float64(c.want.ExhaustCloses)/degree, 1)
	}
	agrees(t, "inlet at the top", nil, motion(t, in, deg(-107)).Lift.Millimetres(), 1.97, 2)
	agrees(t, "exhaust at the top", nil, motion(t, ex, deg(110)).Lift.Millimetres(), 1.77, 2)
}

func TestInventedPistonGaps(t *testing.T) {
	for _, c := range []struct {
		advanced, inlet, exhaust float64
	}{
		{0, 2.22, 2.74}, {4, 1.62, 3.30}, {-4, 2.82, 2.18},
	} {
		inlet, exhaust := demoGaps(t, c.advanced)
		near, err := inlet.Smallest(deg(-40), deg(40))
		agrees(t, "inlet", err, near.Gap.Millimetres(), c.inlet, 2)
		if c.advanced == 0 {
			agrees(t, "inlet angle", err, float64(near.Angle)/degree, 9.6, 1)
		}
		near, err = exhaust.Smallest(deg(-40), deg(40))
		agrees(t, "exhaust", err, near.Gap.Millimetres(), c.exhaust, 2)
		if c.advanced == 0 {
			agrees(t, "exhaust angle", err, float64(near.Angle)/degree, -8.9, 1)
		}
	}
}

func TestInventedValveGap(t *testing.T) {
	in, ex := demoLobes(t)
	gap, err := FacingGap(mm(3.60), motion(t, in, deg(-107)).Lift*1.62, motion(t, ex, deg(110)).Lift*1.62, deg(15), deg(15))
	agrees(t, "facing gap at the top", err, gap.Millimetres(), 2.03, 2)
}

func TestInventedRocker(t *testing.T) {
	for e, want := range map[float64]float64{0: 0.50, 1.5: 0.78, 3.0: 1.12} {
		sweep, err := TipSweep(mm(38), mm(12.31), mm(e))
		agrees(t, "sweep", err, sweep.Millimetres(), want, 2)
	}
}

func demoSprings() Nest { return Nest{{33e3, mm(48)}, {17e3, mm(46.8)}} }

func TestInventedSprings(t *testing.T) {
	n := demoSprings()
	for _, c := range []struct {
		length   float64
		want     float64
		decimals int
		nest     Nest
	}{
		{38, 479.6, 1, n}, {38, 330, 1, n[:1]}, {38, 149.6, 1, n[1:]},
		{25.69, 1095, 0, n}, {25.69, 736.2, 1, n[:1]}, {25.69, 358.9, 1, n[1:]},
	} {
		load, err := c.nest.Load(mm(c.length))
		agrees(t, "load", err, float64(load), c.want, c.decimals)
	}
	margin, err := BindMargin(mm(38), mm(12.31), mm(23.4))
	agrees(t, "margin", err, margin.Millimetres(), 2.29, 2)
	surge, err := SurgeFrequency(33e3, 0.062)
	agrees(t, "surge", err, float64(surge), 365, 0)
	speed := quantity.Frequency(5500.0 / 60)
	n8, err := SurgeHarmonic(surge, speed)
	agrees(t, "harmonic", err, n8, 8.0, 1)

	in, _ := demoLobes(t)
	for rpm, want := range map[float64]float64{5500: 2.05, 6000: 1.73} {
		least, err := Control{Springs: n, Installed: mm(38), Lift: in, Ratio: 1.62, Mass: 0.20, Speed: quantity.Frequency(rpm / 60)}.Least()
		agrees(t, "control", err, least.Margin, want, 2)
		agrees(t, "control angle", err, math.Abs(float64(least.Angle))/degree, 53, 0)
	}
}

func TestInventedPushrod(t *testing.T) {
	change, err := PreloadChange(1.62, Change{RockerShaftLowered, mm(0.80 - 0.50)})
	agrees(t, "thinner box gasket", err, change.Millimetres(), 0.49, 2)
	length, err := PushrodLength(mm(273.8), mm(2.20))
	agrees(t, "pushrod", err, length.Millimetres(), 276.0, 1)
}

func TestInventedAdjuster(t *testing.T) {
	for _, c := range []struct{ tpi, pitch, flat float64 }{{24, 1.058, 0.176}, {28, 0.907, 0.151}, {32, 0.794, 0.132}, {40, 0.635, 0.106}} {
		pitch, err := PitchOf(c.tpi)
		agrees(t, "pitch", err, pitch.Millimetres(), c.pitch, 3)
		agrees(t, "flat", err, pitch.Millimetres()/6, c.flat, 3)
	}
	for _, c := range []struct {
		tpi, turns float64
		flats      int
		gives      float64
	}{{24, 2.08, 12, 2.12}, {32, 2.77, 17, 2.25}} {
		pitch, _ := PitchOf(c.tpi)
		a, err := Turn(mm(2.20), pitch)
		agrees(t, "turns", err, a.Turns, c.turns, 2)
		agrees(t, "whole flats", err, float64(a.WholeFlats), float64(c.flats), 0)
		agrees(t, "gives", err, a.Gives.Millimetres(), c.gives, 2)
	}
}

func demoStack() (outside, steel, aluminium []Member) {
	outside = []Member{
		{"case", mm(60), 22.5e-6, 75, 1}, {"barrel", mm(128), 20.5e-6, 130, 1},
		{"head", mm(92), 22.5e-6, 170, 1}, {"box", mm(46), 22.5e-6, 90, 1},
	}
	lifter := Member{"lifter", mm(50), 11.7e-6, 75, 1}
	steel = []Member{lifter, {"pushrod", mm(276), 11.7e-6, 80, 1}}
	aluminium = []Member{lifter, {"pushrod", mm(276), 23.2e-6, 80, 1}}
	return outside, steel, aluminium
}

func TestInventedPreload(t *testing.T) {
	outside, steel, aluminium := demoStack()
	out, err := Growth(outside...)
	agrees(t, "outside", err, out.Millimetres(), 0.887, 3)
	lost, err := PreloadLost(outside, steel)
	// The demo engine's sheet cuts this to 0.58, and the hot preload to 1.62 with it.
	agrees(t, "lost on steel", err, lost.Millimetres(), 0.585, 3)
	lostAluminium, err := PreloadLost(outside, aluminium)
	agrees(t, "lost on aluminium", err, lostAluminium.Millimetres(), 0.33, 2)
	cold, hot, err := PreloadColdAndHot(mm(2.20), mm(4.60), lost)
	agrees(t, "remaining cold", err, cold.Remaining.Millimetres(), 2.40, 2)
	agrees(t, "hot", err, hot.Depth.Millimetres(), 1.615, 3)

	pitch, _ := PitchOf(32)
	for _, c := range []struct{ lost, low, high, width, flats float64 }{{0.58, 0.68, 0.80, 0.12, 0.9}, {0.33, 0.43, 0.80, 0.37, 2.8}} {
		w, err := PreloadWindow(mm(0.90), mm(c.lost), mm(0.10), mm(0.10))
		agrees(t, "low", err, w.Low.Millimetres(), c.low, 2)
		agrees(t, "high", err, w.High.Millimetres(), c.high, 2)
		agrees(t, "width", err, w.Width().Millimetres(), c.width, 2)
		a, err := Turn(w.Width(), pitch)
		agrees(t, "flats", err, a.Flats, c.flats, 1)
		if w.Holds(mm(0.6)) {
			t.Errorf("a fixed pushrod cannot do with %v", w)
		}
	}
	_, err = PreloadWindow(mm(0.60), mm(0.58), mm(0.10), mm(0.10))
	var none *NoWindowError
	if !errors.As(err, &none) {
		t.Fatalf("error %v, want no window", err)
	}
	agrees(t, "missing", nil, none.Missing.Millimetres(), 0.18, 9)
}

func TestInventedBleedDown(t *testing.T) {
	force, err := LifterForce(480, 1.62)
	agrees(t, "force", err, float64(force), 778, 0)
	bench := LeakTest{Time: 30, Stroke: mm(4), Force: 220}
	for ratio, want := range map[float64]float64{40: 3, 150: 12} {
		wait, err := BleedDown(bench, mm(2.20), force, ratio)
		agrees(t, "wait in minutes", err, float64(wait)/60, want, 0)
	}
}
