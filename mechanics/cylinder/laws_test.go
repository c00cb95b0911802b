package cylinder

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/quantity"
)

// someCranks draws cranks of all proportions, with and without an offset.
func someCranks(n int) []Crank {
	r := rand.New(rand.NewPCG(1, 2))
	var list []Crank
	for i := range n {
		c := Crank{Stroke: mm(20 + 180*r.Float64())}
		c.Rod = c.Stroke / 2 * quantity.Length(1.3+4*r.Float64())
		if i%2 == 1 {
			c.Offset = (c.Rod - c.Stroke/2) * quantity.Length(0.8*(2*r.Float64()-1))
		}
		list = append(list, c)
	}
	return list
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.17g, want %.17g ± %.2g", what, got, want, tolerance)
	}
}

// The pin stands L + r above the crank's axis at the top and L − r at the bottom: the
// drop is exactly 0 and exactly the stroke.
func TestDeadCentreHeights(t *testing.T) {
	for _, c := range someCranks(200) {
		c.Offset = 0
		if x, err := c.Drop(0); err != nil || x != 0 {
			t.Fatalf("%+v: drop at the top %v, %v", c, x, err)
		}
		if x, err := c.Drop(math.Pi); err != nil || x != c.Stroke {
			t.Fatalf("%+v: drop at the bottom %v, %v", c, x, err)
		}
	}
}

func TestDeadCentresWithOffset(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for _, c := range someCranks(200) {
		top, bottom, err := c.DeadCentres()
		if err != nil {
			t.Fatal(err)
		}
		way, err := c.Travel()
		if err != nil {
			t.Fatal(err)
		}
		travel := float64(way)
		for _, d := range []struct {
			angle quantity.Angle
			want  float64
		}{{top, 0}, {bottom, travel}} {
			x, err := c.Drop(d.angle)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "drop at a dead centre", float64(x), d.want, 1e-15)
			v, err := c.VelocityFactor(d.angle)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "velocity at a dead centre", float64(v), 0, 1e-14)
		}
		if travel < float64(c.Stroke)-1e-15 {
			t.Errorf("%+v: travel %v is less than the stroke", c, travel)
		}
		for range 20 {
			if x, err := c.Drop(quantity.Angle(r.Float64() * 10)); err != nil || float64(x) > travel+1e-15 {
				t.Errorf("%+v: drop %v beyond the travel %v, %v", c, x, travel, err)
			}
		}
	}
}

func TestDropLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, c := range someCranks(200) {
		angle := quantity.Angle(20 * (r.Float64() - 0.5))
		x, err := c.Drop(angle)
		if err != nil {
			t.Fatal(err)
		}
		// Turned the other way with the offset on the other side it is the same crank.
		mirrored, _ := Crank{c.Stroke, c.Rod, -c.Offset}.Drop(-angle)
		near(t, "mirrored", float64(mirrored), float64(x), 1e-16)
		// All lengths times k is the drop times k.
		const k = 25.4
		scaled, _ := Crank{k * c.Stroke, k * c.Rod, k * c.Offset}.Drop(angle)
		near(t, "scaled", float64(scaled), k*float64(x), 1e-14)
		// A turn later it is the same place.
		again, _ := c.Drop(angle + 2*math.Pi)
		near(t, "a turn later", float64(again), float64(x), 1e-15)
		// No offset and next to none agree.
		none, _ := Crank{c.Stroke, c.Rod, 0}.Drop(angle)
		hair, _ := Crank{c.Stroke, c.Rod, 1e-12}.Drop(angle)
		near(t, "a hair of offset", float64(hair), float64(none), 1e-11)
		// The short way and the long way to the drop.
		link, _ := c.Linkage()
		sin, cos := math.Sincos(float64(angle))
		long, _, _ := link.At(sin, cos)
		near(t, "short way", link.Drop(sin, cos), long, 1e-15)
	}
}

func TestDerivatives(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range someCranks(100) {
		link, err := c.Linkage()
		if err != nil {
			t.Fatal(err)
		}
		at := func(x float64) (float64, float64, float64) { return link.At(math.Sincos(x)) }
		x := 20 * (r.Float64() - 0.5)
		const h = 1e-5
		before, slopeBefore, _ := at(x - h)
		after, slopeAfter, _ := at(x + h)
		_, slope, bend := at(x)
		// The difference quotient is off by h²/6 of a third derivative and by rounding.
		allowed := h*h*link.MostJerk() + 1e-11
		near(t, "slope", slope, (after-before)/(2*h), allowed)
		near(t, "curvature", bend, (slopeAfter-slopeBefore)/(2*h), 1e3*allowed)
		tilt, _ := c.RodAngle(quantity.Angle(x))
		tiltLater, _ := c.RodAngle(quantity.Angle(x + h))
		swing, _ := c.RodSwing(quantity.Angle(x))
		near(t, "rod swing", swing, float64(tiltLater-tilt)/h, 1e-3)
	}
}

// MostCurvature and MostJerk are what the search for the smallest valve gap relies on.
func TestLinkageBounds(t *testing.T) {
	for _, c := range someCranks(300) {
		link, err := c.Linkage()
		if err != nil {
			t.Fatal(err)
		}
		most, jerk := link.MostCurvature(), link.MostJerk()
		const h = math.Pi / 720
		_, _, last := link.At(math.Sincos(-h))
		for i := range 1440 {
			_, _, bend := link.At(math.Sincos(float64(i) * h))
			if bend > most {
				t.Fatalf("%+v: curvature %v over its bound %v", c, bend, most)
			}
			if math.Abs(bend-last)/h > jerk {
				t.Fatalf("%+v: jerk %v over its bound %v", c, math.Abs(bend-last)/h, jerk)
			}
			last = bend
		}
	}
}

func TestAnglesAtInverts(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for _, c := range someCranks(200) {
		travel, _ := c.Travel()
		for _, share := range []float64{0, 1e-9, 1e-4, r.Float64(), r.Float64(), 1 - 1e-9, 1} {
			drop := travel * quantity.Length(share)
			before, after, err := c.AnglesAt(drop)
			if err != nil {
				t.Fatal(err)
			}
			for _, angle := range []quantity.Angle{before, after} {
				x, _ := c.Drop(angle)
				near(t, "drop at the angle of a drop", float64(x), float64(drop), 1e-14)
			}
			if before > after {
				t.Errorf("before %v is after %v", before, after)
			}
		}
	}
	before, after, err := demoCrank.AnglesAt(mm(5))
	if err != nil || before != -after {
		t.Errorf("without an offset the two angles must mirror: %v, %v, %v", before, after, err)
	}
}

// The piston is fastest when the rule of thumb says, and a little later: by less than
// (r/L)³ in radians for rods of three to six throws, 1.6° to 0.2°.
func TestFastestDown(t *testing.T) {
	for ratio := 3.0; ratio <= 6; ratio += 0.25 {
		c := Crank{Stroke: mm(80), Rod: mm(40 * ratio)}
		angle, speed, err := c.FastestDown()
		if err != nil {
			t.Fatal(err)
		}
		if late := float64(angle) - math.Atan(ratio); late < 0 || late > 1/(ratio*ratio*ratio) {
			t.Errorf("rod %v throws: %v° after the rule", ratio, late/degree)
		}
		for i := range 180 {
			if v, _ := c.VelocityFactor(deg(float64(i))); v > speed {
				t.Errorf("rod %v throws: faster at %d°", ratio, i)
			}
		}
	}
}

// Two published forms of the piston's way. Heywood's is exact and must agree to
// rounding; the second-order form drops terms of (r/L)³/8 of the throw, 0.3 % of it at
// a rod of three and a half throws.
func TestTwoForms(t *testing.T) {
	const ratio = 3.5
	c := Crank{Stroke: mm(80), Rod: mm(40 * ratio)}
	clearance := cc(60)
	swept, _ := SweptVolume(mm(90), c.Stroke)
	rc := 1 + float64(swept/clearance)
	for i := range 360 {
		angle := deg(float64(i))
		sin, cos := math.Sincos(float64(angle))
		v, err := VolumeAt(mm(90), c, clearance, angle)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "volume", float64(v/clearance), 1+(rc-1)/2*(ratio+1-cos-math.Sqrt(ratio*ratio-sin*sin)), 1e-13)
		x, _ := c.Drop(angle)
		near(t, "second order", float64(x)/0.040, 1-cos+sin*sin/(2*ratio), 1/(8*ratio*ratio*ratio)*1.05)
	}
}

func TestCompressionLaws(t *testing.T) {
	static, err := StaticCompression(mm(92), demoCrank.Stroke, demoClearance(0))
	if err != nil {
		t.Fatal(err)
	}
	trapped, err := TrappedCompression(mm(92), demoCrank, demoClearance(0), 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "closing at the bottom traps all", trapped.Ratio, static.Ratio, 1e-13)
	last := static.Ratio
	for closes := 10.0; closes <= 170; closes += 10 {
		late, err := TrappedCompression(mm(92), demoCrank, demoClearance(0), deg(closes))
		if err != nil || late.Ratio >= last {
			t.Errorf("closing at %v°: ratio %v after %v, %v", closes, late.Ratio, last, err)
		}
		last = late.Ratio
		early, err := TrappedCompression(mm(92), demoCrank, demoClearance(0), deg(-closes))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "as long before as after", early.Ratio, late.Ratio, 1e-12)
	}
	// A pocket of the same volume as what the deck takes is the same.
	deck := Clearance{Chamber: cc(50), Deck: mm(0.5)}
	pocket := Clearance{Chamber: cc(50), Pockets: quantity.Volume(circle(mm(92)) * 0.5e-3)}
	a, _ := StaticCompression(mm(92), mm(86.5), deck)
	b, _ := StaticCompression(mm(92), mm(86.5), pocket)
	near(t, "deck as a volume", a.Ratio, b.Ratio, 1e-13)
	// The same at ten times the size.
	big := Clearance{Chamber: cc(50e3), Deck: mm(5)}
	c, _ := StaticCompression(mm(920), mm(865), big)
	near(t, "ten times the size", c.Ratio, a.Ratio, 1e-13)
	// What DownFill finds goes in with the opposite sign.
	dome, err := DownFill(mm(92), mm(10), cc(60))
	if err != nil {
		t.Fatal(err)
	}
	d, err := StaticCompression(mm(92), mm(86.5), Clearance{Chamber: cc(50), Pockets: -dome})
	if err != nil || d.Ratio <= 1+float64(d.Swept)/50e-6 {
		t.Errorf("a dome must raise the ratio: %v, %v", d.Ratio, err)
	}
}

func TestBoreShape(t *testing.T) {
	b := Bore{
		{mm(92.010), mm(92.004)},
		{mm(92.030), mm(92.041)},
		{mm(92.012), mm(92.002)},
		{mm(92.006), mm(92.030)},
	}
	s, err := b.Shape()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "largest", s.Largest.Millimetres(), 92.041, 1e-9)
	near(t, "smallest", s.Smallest.Millimetres(), 92.002, 1e-9)
	near(t, "ovality", s.Ovality.Millimetres(), 0.024, 1e-9)
	near(t, "taper", s.Taper.Millimetres(), -0.026, 1e-9)
	if s.LargestHeight != 1 || s.LargestAxis != 1 || s.SmallestHeight != 2 || s.SmallestAxis != 1 || s.OvalityHeight != 3 || s.TaperAxis != 1 {
		t.Errorf("places %+v", s)
	}
	// Upside down only the taper changes, to its opposite.
	turned, err := Bore{b[3], b[2], b[1], b[0]}.Shape()
	if err != nil || turned.Taper != -s.Taper || turned.Ovality != s.Ovality || turned.Largest != s.Largest {
		t.Errorf("turned %+v, %v", turned, err)
	}
	step, err := WearStep(mm(92.09), mm(92.01))
	agrees(t, "wear step", err, step.Millimetres(), 0.04, 9)
}

func TestRingLaws(t *testing.T) {
	same := Heat{12e-6, 100}
	if c, err := RingClosure(mm(92), same, same); err != nil || c != 0 {
		t.Errorf("ring and bore that grow alike close %v, %v", c, err)
	}
	one, _ := RingClosure(mm(92), Heat{12e-6, 200}, Heat{17e-6, 120})
	two, _ := RingClosure(mm(184), Heat{12e-6, 200}, Heat{17e-6, 120})
	near(t, "twice the bore", float64(two), 2*float64(one), 1e-18)
	gap, _ := RingGapAt(mm(0.4), mm(92), mm(92.04))
	back, err := TaperFromGaps(mm(0.4), gap)
	agrees(t, "taper from gaps", err, back.Millimetres(), 0.04, 9)
}

func TestPistonLaws(t *testing.T) {
	cold, _ := PistonClearance(mm(92.01), mm(91.95))
	hot, err := PistonClearanceHot(mm(92.01), mm(91.95), Heat{17e-6, 0}, Heat{22e-6, 0})
	if err != nil || hot != cold {
		t.Errorf("not warmed: %v, want %v, %v", hot, cold, err)
	}
	// One metal evenly warmed: the clearance grows as everything does.
	same := Heat{20e-6, 100}
	hot, _ = PistonClearanceHot(mm(92.01), mm(91.95), same, same)
	near(t, "one metal", float64(hot), float64(cold)*(1+2e-3), 1e-16)

	iron := Layer{Modulus: 110e9, Thickness: mm(3), Expansion: 11.5e-6}
	alloy := Layer{Modulus: 72e9, Thickness: mm(8), Expansion: 22e-6}
	for _, c := range []struct {
		layers []Layer
		want   float64
	}{
		{[]Layer{iron}, 11.5e-6},
		{[]Layer{iron, iron, iron}, 11.5e-6},
		{[]Layer{iron, alloy}, (110*3*11.5e-6 + 72*8*22e-6) / (110*3 + 72*8)},
		{[]Layer{alloy, iron}, (110*3*11.5e-6 + 72*8*22e-6) / (110*3 + 72*8)},
	} {
		a, err := BondedExpansion(c.layers...)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "bonded", float64(a), c.want, 1e-18)
	}
}

func TestPressureLaws(t *testing.T) {
	sea, err := CrankingPressure(101325, 7, 1.25)
	if err != nil {
		t.Fatal(err)
	}
	high, _ := CrankingPressure(0.835*101325, 7, 1.25)
	near(t, "in proportion to the air", float64(high), 0.835*float64(sea), 1e-9)
	if p, err := CrankingPressure(101325, 1, 1.25); err != nil || p != 0 {
		t.Errorf("nothing squeezed gives %v, %v", p, err)
	}
	for _, c := range []struct{ supply, cylinder, want float64 }{{5.5, 5.5, 0}, {5.5, 0, 1}, {80, 60, 0.25}} {
		leak, err := LeakDown(quantity.Pressure(c.supply*1e5), quantity.Pressure(c.cylinder*1e5))
		if err != nil || math.Abs(leak-c.want) > 1e-15 {
			t.Errorf("leak-down %v from %v: %v, %v", c.cylinder, c.supply, leak, err)
		}
	}
	last, _, _ := StandardAtmosphere(-500)
	for h := -499.0; h <= 11000; h++ {
		p, _, err := StandardAtmosphere(quantity.Length(h))
		if err != nil || p >= last {
			t.Fatalf("at %v m: %v after %v, %v", h, p, last, err)
		}
		last = p
	}
}

// Choose against looking at every step in every order.
func TestReboringLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 500 {
		q := demoReboring()
		q.Walls = []Wall{{Bore: mm(92 + r.Float64()), Damage: mm(0.1 * r.Float64())}, {Bore: mm(92 + r.Float64())}}
		r.Shuffle(len(q.Oversizes), func(i, j int) { q.Oversizes[i], q.Oversizes[j] = q.Oversizes[j], q.Oversizes[i] })
		var want quantity.Length = math.MaxFloat64
		for _, o := range q.Oversizes {
			bore := q.Nominal + o.Step
			if o.Skirt > 0 {
				bore = o.Skirt + q.Clearance
			}
			clean := true
			for _, w := range q.Walls {
				clean = clean && (bore-w.Bore)/2-w.Damage >= q.CleanUp
			}
			if left := (q.LinerOutside - bore - q.Tolerance) / 2; clean && left >= q.LinerLeast {
				want = min(want, o.Step)
			}
		}
		got, err := q.Choose()
		if (err != nil) != (want == math.MaxFloat64) || err == nil && got.Step != want {
			t.Fatalf("%+v: step %v, %v; want %v", q.Walls, got.Step, err, want)
		}
		if err == nil {
			// More wear never asks for a smaller step.
			q.Walls[0].Bore += mm(0.2)
			if worse, err := q.Choose(); err == nil && worse.Step < got.Step {
				t.Fatalf("worse wall, smaller step: %v after %v", worse.Step, got.Step)
			}
		}
	}
}
