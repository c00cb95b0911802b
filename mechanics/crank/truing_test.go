package crank_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// built is a crank of two rigid wheels on one pin, in millimetres and radians. It is
// made in space, turned between centres and read with dials; nothing of it uses the
// formulas it tests.
type built struct {
	throw      float64    // from shaft to pin
	halfPin    float64    // from the middle to a wheel's face
	centre     float64    // from the middle to a centre
	dial       float64    // from the middle to a dial
	rim        float64    // radius of the wheels
	turn       [2]float64 // each wheel about the pin, in the running direction
	tip        [2]float64 // each wheel about the line square to the pin, top outwards
	tipAcross  [2]float64 // each wheel about the line along the pin
	extraThrow [2]float64
}

type vec [3]float64

// place carries a point of a wheel, given from the middle of the true crank, to where
// the wheel's faults put it. side is 0 for left (z < 0) and 1 for right.
func (b built) place(side int, p vec) vec {
	z0 := b.halfPin
	if side == 0 {
		z0 = -b.halfPin
	}
	x, y, z := p[0]-b.throw-b.extraThrow[side], p[1], p[2]-z0
	// About z.
	s, c := math.Sincos(b.turn[side])
	x, y = x*c-y*s, x*s+y*c
	// About y.
	s, c = math.Sincos(b.tip[side])
	x, z = x*c+z*s, -x*s+z*c
	// About x.
	s, c = math.Sincos(b.tipAcross[side])
	y, z = y*c-z*s, y*s+z*c
	return vec{x + b.throw, y, z + z0}
}

// read turns the crank between its centres and returns what the dials show.
func (b built) read() (left, right crank.Dial) {
	ends := [2]vec{b.place(0, vec{0, 0, -b.centre}), b.place(1, vec{0, 0, b.centre})}
	dials := [2]crank.Dial{}
	for side := range dials {
		z := b.dial
		if side == 0 {
			z = -b.dial
		}
		shaft := b.place(side, vec{0, 0, z})
		share := (shaft[2] - ends[0][2]) / (ends[1][2] - ends[0][2])
		x := shaft[0] - ends[0][0] - share*(ends[1][0]-ends[0][0])
		y := shaft[1] - ends[0][1] - share*(ends[1][1]-ends[0][1])
		dials[side] = crank.Dial{TIR: mm(2 * math.Hypot(x, y)), High: quantity.Angle(math.Atan2(y, x))}
	}
	return dials[0], dials[1]
}

// gap is how far the rims stand apart at an angle from the pin.
func (b built) gap(at float64) float64 {
	s, c := math.Sincos(at)
	left := b.place(0, vec{b.rim * c, b.rim * s, -b.halfPin})
	right := b.place(1, vec{b.rim * c, b.rim * s, b.halfPin})
	return right[2] - left[2]
}

func good() built { return built{throw: 43.25, halfPin: 20, centre: 130, dial: 30, rim: 95} }

func diagnose(t *testing.T, b built) crank.Fault {
	t.Helper()
	f, err := crank.Diagnose(b.read())
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func steps(t *testing.T, f crank.Fault, target quantity.Length) []crank.Step {
	t.Helper()
	s, err := f.Steps(target)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A wheel turned about the pin is a twist; the rap that Steps asks for turns the wheel
// that it strikes back; the reading after it is the one foretold.
func TestTwistedCrank(t *testing.T) {
	for _, turn := range []float64{0.0006, -0.0006} {
		for _, side := range []int{0, 1} {
			b := good()
			b.turn[side] = turn
			f := diagnose(t, b)
			if f.Main() != crank.Rap || math.Abs(float64(f.Bow.Size())) > 0.02*math.Abs(float64(f.Twist)) || math.Abs(float64(f.Throw)) > 0.02*math.Abs(float64(f.Twist)) {
				t.Fatalf("turned by %g on side %d: %+v", turn, side, f)
			}
			// What the dials see is the offset of the shafts, by the share of the
			// centre distance outside the dials.
			offset := b.throw * turn
			near(t, "twist", math.Abs(f.Twist.Millimetres()), math.Abs(offset)*(b.centre-b.dial)/(2*b.centre), 1e-6)

			s := steps(t, f, mm(0.002))
			if len(s) != 1 || s[0].Cure != crank.Rap {
				t.Fatalf("steps %+v", s)
			}
			near(t, "angle of the blow", math.Abs(float64(s[0].At)), math.Pi/2, 1e-12)
			struck := 0
			if s[0].Wheel == crank.RightWheel {
				struck = 1
			}
			// A blow at the rim towards the shaft turns the wheel about the pin by
			// the sign of its moment about the pin.
			sin, cos := math.Sincos(float64(s[0].At))
			moment := (b.rim*cos-b.throw)*-sin - b.rim*sin*-cos
			before := f
			b.turn[struck] += math.Copysign(0.0002, moment)
			after := diagnose(t, b)
			if math.Abs(float64(after.Twist)) >= math.Abs(float64(before.Twist)) {
				t.Errorf("the blow made the twist larger: %v after %v", after.Twist, before.Twist)
			}
			towards, sideways, err := crank.Moved(before, after, crank.Rap)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "moved", towards.Millimetres(), b.throw*0.0002*(b.centre-b.dial)/(2*b.centre), 1e-6)
			if sideways > towards/20 {
				t.Errorf("moved %v and sideways %v", towards, sideways)
			}
			// Struck until true, the dials show what was foretold.
			b.turn[struck] = b.turn[1-struck]
			left, right := b.read()
			near(t, "left after", left.TIR.Millimetres(), s[0].Left.TIR.Millimetres(), 1e-4)
			near(t, "right after", right.TIR.Millimetres(), s[0].Right.TIR.Millimetres(), 1e-4)
		}
	}
}

// Of a twisted crank that is bowed too, the wheel that stands out further is struck, on
// the side where its shaft reads high.
func TestWheelToStrike(t *testing.T) {
	for _, c := range []struct {
		left, leftAt, right, rightAt float64
		wheel                        crank.Wheel
		at                           float64
	}{
		{0.06, 90, 0.04, 270, crank.LeftWheel, 90},
		{0.06, 270, 0.04, 90, crank.LeftWheel, -90},
		{0.04, 90, 0.06, 270, crank.RightWheel, -90},
		{0.04, 270, 0.06, 90, crank.RightWheel, 90},
		{0.01, 90, 0.06, 90, crank.RightWheel, 90},
	} {
		f, err := crank.Diagnose(crank.Dial{TIR: mm(c.left), High: deg(c.leftAt)}, crank.Dial{TIR: mm(c.right), High: deg(c.rightAt)})
		if err != nil {
			t.Fatal(err)
		}
		s := steps(t, f, 0)[0]
		if s.Cure != crank.Rap || s.Wheel != c.wheel {
			t.Errorf("%+v: %v on wheel %v", c, s.Cure, s.Wheel)
		}
		near(t, "where to strike", float64(s.At), float64(deg(c.at)), 1e-12)
	}
}

// Wheels that stand apart on one side bow the crank to that side, whichever side it is;
// squeezing there or wedging opposite closes the gap.
func TestBowedCrank(t *testing.T) {
	for degrees := -180.0; degrees < 180; degrees += 15 {
		// Tip both wheels outwards at the angle: about the line square to it.
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		b := good()
		const tip = 0.0004
		b.tip = [2]float64{tip * cos, -tip * cos}
		b.tipAcross = [2]float64{-tip * sin, tip * sin}
		at := degrees * math.Pi / 180
		if b.gap(at) <= b.gap(at+math.Pi) {
			t.Fatalf("the crank of the test is not spread at %g°", degrees)
		}
		f := diagnose(t, b)
		if size := float64(f.Bow.Size()); math.Abs(float64(f.Twist)) > 0.02*size || math.Abs(float64(f.Throw)) > 0.02*size {
			t.Fatalf("spread at %g°: %+v", degrees, f)
		}
		off := math.Remainder(float64(f.Bow.Angle())-at, 2*math.Pi)
		near(t, "bow angle", off, 0, 0.02)
		near(t, "bow", f.Bow.Size().Millimetres(), tip*(b.centre-b.dial), 1e-4)

		s := steps(t, f, mm(0.004))
		if len(s) != 1 {
			t.Fatalf("spread at %g°: steps %+v", degrees, s)
		}
		wide := b.gap(float64(s[0].At)) > 2*b.halfPin
		if far := math.Cos(float64(s[0].At)) <= 1e-9; !far {
			t.Errorf("spread at %g°: %v at %g, beside the pin", degrees, s[0].Cure, s[0].At)
		}
		// Both at the rim: the pin itself sits between, so a gap at the far side may
		// count from where the wheels are held.
		if s[0].Cure == crank.Squeeze && !wide || s[0].Cure == crank.Wedge && wide {
			t.Errorf("spread at %g°: %v where the gap is %.4f of %g", degrees, s[0].Cure, b.gap(float64(s[0].At)), 2*b.halfPin)
		}
		b.tip, b.tipAcross = [2]float64{}, [2]float64{}
		after := diagnose(t, b)
		near(t, "after", after.Bow.Size().Millimetres(), s[0].Left.TIR.Millimetres()/2, 1e-4)
		towards, _, err := crank.Moved(f, after, s[0].Cure)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "moved", towards.Millimetres(), f.Bow.Size().Millimetres(), 1e-4)
	}
}

// Different throws look like nothing that a blow cures.
func TestUnequalThrows(t *testing.T) {
	b := good()
	b.extraThrow = [2]float64{-0.05, 0}
	f := diagnose(t, b)
	if f.Main() != crank.Regrind {
		t.Errorf("%v: %+v", f.Main(), f)
	}
	s := steps(t, f, mm(0.002))
	if len(s) != 1 || s[0].Cure != crank.Regrind || s[0].Left != f.Left.Dial() || s[0].Right != f.Right.Dial() {
		t.Errorf("%+v", s)
	}
}

// One wheel tipped alone shows a little of a throw difference, no more than stated.
func TestTippedWheelLooksLikeLittleThrow(t *testing.T) {
	b := good()
	b.tip[0] = 0.0005
	f := diagnose(t, b)
	share := math.Abs(float64(f.Throw)) / float64(f.Bow.Size())
	// A dial beside the wheel sees a/h; one further out less.
	if share > b.dial/b.centre+1e-3 {
		t.Errorf("throw is %.3f of the bow; %.3f is the most", share, b.dial/b.centre)
	}
}

// A restorer's account, dials read from one side: peaks with the pin at the top or the
// bottom call for a rap, peaks with the pin level call for a wedge or a squeeze.
func TestPublishedAccountOfTruing(t *testing.T) {
	read := func(left, right float64) crank.Cure {
		f, err := crank.Diagnose(crank.Dial{TIR: mm(0.05), High: deg(left)}, crank.Dial{TIR: mm(0.05), High: deg(right)})
		if err != nil {
			t.Fatal(err)
		}
		return f.Main()
	}
	for _, c := range []struct {
		left, right float64
		cure        crank.Cure
	}{{90, 270, crank.Rap}, {270, 90, crank.Rap}, {0, 0, crank.Wedge}, {180, 180, crank.Squeeze}} {
		if got := read(c.left, c.right); got != c.cure {
			t.Errorf("high at %g° and %g°: %v, want %v", c.left, c.right, got, c.cure)
		}
	}
}

func someFault(random *rand.Rand) (left, right crank.Dial) {
	return crank.Dial{TIR: mm(0.1 * random.Float64()), High: deg(360 * random.Float64())},
		crank.Dial{TIR: mm(0.1 * random.Float64()), High: deg(360 * random.Float64())}
}

func TestTruingLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 9))
	for range 1000 {
		left, right := someFault(random)
		f, err := crank.Diagnose(left, right)
		if err != nil {
			t.Fatal(err)
		}
		// The parts make up the whole.
		d := crank.Vector{Along: f.Throw, Square: f.Twist}
		near(t, "left along", (f.Bow.Along + d.Along - f.Left.Along).Millimetres(), 0, 1e-15)
		near(t, "right square", (f.Bow.Square - d.Square - f.Right.Square).Millimetres(), 0, 1e-15)
		near(t, "left TIR", f.Left.Dial().TIR.Millimetres(), left.TIR.Millimetres(), 1e-12)
		if left.TIR > mm(1e-6) {
			near(t, "left angle", math.Remainder(float64(f.Left.Dial().High-left.High), 2*math.Pi), 0, 1e-9)
		}
		// The other way round the bow stays and the difference changes sign.
		g, err := crank.Diagnose(right, left)
		if err != nil {
			t.Fatal(err)
		}
		if g.Bow != f.Bow || g.Twist != -f.Twist || g.Throw != -f.Throw || g.Main() != f.Main() {
			t.Errorf("turned end for end: %+v and %+v", f, g)
		}
		// Seen from the other end the angles run backwards: twist changes sign, cure
		// and throw do not.
		left.High, right.High = -left.High, -right.High
		m, err := crank.Diagnose(left, right)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "twist in the mirror", (m.Twist + f.Twist).Millimetres(), 0, 1e-15)
		near(t, "throw in the mirror", (m.Throw - f.Throw).Millimetres(), 0, 1e-15)
		if m.Main() != f.Main() {
			t.Errorf("cure %v, in the mirror %v", f.Main(), m.Main())
		}
		// Twice the readings, twice the faults.
		left.TIR, right.TIR = 2*left.TIR, 2*right.TIR
		if n, err := crank.Diagnose(left, right); err != nil || n.Twist != 2*m.Twist || n.Bow.Along != 2*m.Bow.Along {
			t.Errorf("doubled: %+v after %+v, %v", n, m, err)
		}
	}
}

// Steps bring both dials within the target unless only the throw is left, ask for no
// more than is needed, and come in their order.
func TestStepsReachTheTarget(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 9))
	for range 1000 {
		f, err := crank.Diagnose(someFault(random))
		if err != nil {
			t.Fatal(err)
		}
		target := mm(0.06 * random.Float64())
		list := steps(t, f, target)
		worst := max(f.Left.Dial().TIR, f.Right.Dial().TIR)
		if len(list) == 0 {
			if worst > target {
				t.Errorf("nothing to do at %v for %v", worst, target)
			}
			continue
		}
		if worst <= target {
			t.Errorf("%d steps at %v for %v", len(list), worst, target)
		}
		order := map[crank.Cure]int{crank.Rap: 1, crank.Squeeze: 2, crank.Wedge: 2, crank.Regrind: 3}
		last := list[len(list)-1]
		for i, s := range list {
			if i > 0 && order[s.Cure] <= order[list[i-1].Cure] {
				t.Errorf("%v after %v", s.Cure, list[i-1].Cure)
			}
		}
		if last.Cure != crank.Regrind && max(last.Left.TIR, last.Right.TIR) > target+mm(1e-12) {
			t.Errorf("after %d steps the dials show %v and %v; target %v", len(list), last.Left.TIR, last.Right.TIR, target)
		}
	}
	f, err := crank.Diagnose(crank.Dial{TIR: mm(0.06), High: deg(20)}, crank.Dial{TIR: mm(0.05), High: deg(340)})
	if err != nil {
		t.Fatal(err)
	}
	all := steps(t, f, 0)
	if len(all) != 3 || all[0].Cure != crank.Rap || all[0].Wheel != crank.LeftWheel || all[1].Cure != crank.Wedge || all[2].Cure != crank.Regrind {
		t.Fatalf("%+v", all)
	}
	near(t, "where to strike", float64(all[0].At), math.Pi/2, 1e-12)
	near(t, "where to wedge", float64(all[1].At), math.Atan2(float64(f.Bow.Square), float64(f.Bow.Along))-math.Pi, 1e-12)
	near(t, "left in the end", all[1].Left.TIR.Millimetres(), 2*math.Abs(f.Throw.Millimetres()), 1e-12)
}

func TestEccentricityAndTIR(t *testing.T) {
	e, err := crank.Eccentricity(mm(0.05))
	if err != nil || e != mm(0.025) {
		t.Errorf("%v, %v", e, err)
	}
	tir, err := crank.TIR(e)
	if err != nil || tir != mm(0.05) {
		t.Errorf("%v, %v", tir, err)
	}
}
