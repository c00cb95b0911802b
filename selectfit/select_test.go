package selectfit

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"buttonup/quantity"
)

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }

// bores are places that want 0.03 to 0.06 mm and best 0.045.
func bores(sizes ...float64) []Place {
	var list []Place
	for i, s := range sizes {
		list = append(list, Place{Name: "bore " + string(rune('1'+i)), Size: mm(s), Low: mm(0.03), High: mm(0.06), Target: mm(0.045)})
	}
	return list
}

func pistons(sizes ...float64) []Part {
	var list []Part
	for i, s := range sizes {
		list = append(list, Part{Name: string(rune('A' + i)), Size: mm(s)})
	}
	return list
}

// who writes a solution as the parts in the order of the places.
func who(s *Solution) string {
	var list []string
	for _, f := range s.Fits {
		list = append(list, f.Part)
	}
	return strings.Join(list, " ")
}

// Taking the nearest part place by place would leave bore 2 without one.
func TestSolveLooksAhead(t *testing.T) {
	r, err := Solve(Problem{Places: bores(92.000, 92.010), Parts: pistons(91.955, 91.945)})
	if err != nil {
		t.Fatal(err)
	}
	// A in bore 1 fits to the micrometre and leaves 0.065 for bore 2, which is too much.
	if who(r.Best) != "B A" || math.Abs(r.Best.Off.Millimetres()-0.02) > 1e-9 || r.Second != nil {
		t.Errorf("%+v, second %+v", r.Best, r.Second)
	}
	if f := r.Best.Fits[0]; math.Abs(f.Clearance.Millimetres()-0.055) > 1e-9 || math.Abs(f.Off.Millimetres()-0.01) > 1e-9 {
		t.Errorf("%+v", f)
	}
}

func TestSolveSecondBest(t *testing.T) {
	r, err := Solve(Problem{Places: bores(92.000, 92.004), Parts: pistons(91.955, 91.960, 91.950)})
	if err != nil {
		t.Fatal(err)
	}
	if who(r.Best) != "A B" || math.Abs(r.Best.Off.Millimetres()-0.001) > 1e-9 {
		t.Errorf("%+v", r.Best)
	}
	// Next: bore 2 takes C at 0.054 (9 off) or bore 1 takes C at 0.050 (5 off).
	if who(r.Second) != "C B" || math.Abs(r.Second.Off.Millimetres()-0.006) > 1e-9 {
		t.Errorf("%+v", r.Second)
	}
}

// A used part goes back to its place or nowhere; pairs may be forbidden and forced.
func TestSolveKeepsHistory(t *testing.T) {
	p := Problem{Places: bores(92.000, 92.000), Parts: pistons(91.955, 91.950, 91.952)}
	p.Parts[0].From = "bore 2"
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	if who(r.Best) != "C A" {
		t.Errorf("%+v", r.Best)
	}
	p.Forbidden = []Pair{{"C", "bore 1"}}
	if r, err = Solve(p); err != nil || who(r.Best) != "B A" {
		t.Errorf("%v %+v", err, r.Best)
	}
	p.Forced = []Pair{{"B", "bore 2"}}
	if r, err = Solve(p); err != nil || r.Best != nil || r.Shortage == nil || !slices.Equal(r.Shortage.Places, []string{"bore 1"}) || len(r.Shortage.Parts) != 0 {
		t.Errorf("%v %+v", err, r)
	}
	p.Forbidden = nil
	if r, err = Solve(p); err != nil || who(r.Best) != "C B" {
		t.Errorf("%v %+v", err, r)
	}
}

// A pin in a bearing: the part goes around the place.
func TestSolveAround(t *testing.T) {
	r, err := Solve(Problem{Around: true, Places: []Place{{Name: "pin", Size: mm(20), Low: mm(0.01), High: mm(0.03), Target: mm(0.02)}}, Parts: []Part{{Name: "x", Size: mm(19.99)}, {Name: "y", Size: mm(20.025)}}})
	if err != nil || who(r.Best) != "y" || math.Abs(r.Best.Fits[0].Clearance.Millimetres()-0.025) > 1e-9 {
		t.Errorf("%v %+v", err, r.Best)
	}
}

// Three worn bores and two large pistons: the shortage is the three, not all four, and
// one more piston of the first oversize would end it.
func TestSolveExplainsAShortage(t *testing.T) {
	p := Problem{Places: bores(92.000, 92.050, 92.052, 92.055), Parts: pistons(91.955, 91.956, 91.957, 92.005, 92.008),
		Oversizes: []Oversize{{"0.25 over", mm(92.205)}, {"0.05 over", mm(92.008)}, {"0.06 over", mm(92.012)}}}
	r, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	s := r.Shortage
	if s == nil || !s.Smallest || !slices.Equal(s.Places, []string{"bore 2", "bore 3", "bore 4"}) || !slices.Equal(s.Parts, []string{"D", "E"}) {
		t.Fatalf("%+v", s)
	}
	for i, want := range []struct {
		place, part string
		off         float64
	}{{"bore 3", "0.05 over", -0.001}, {"bore 4", "0.05 over", 0.002}, {"bore 4", "0.06 over", -0.002}, {"bore 2", "0.05 over", -0.003}, {"bore 3", "0.06 over", -0.005}, {"bore 2", "0.06 over", -0.007}} {
		if i >= len(r.Rescues) {
			t.Fatalf("only %+v", r.Rescues)
		}
		got := r.Rescues[i]
		if got.Place != want.place || got.Part != want.part || math.Abs(got.Off.Millimetres()-want.off) > 1e-9 || got.Left != 0 {
			t.Errorf("rescue %d is %+v, want %+v", i, got, want)
		}
	}
	// With one large piston fewer, one oversize leaves a bore without.
	p.Parts = p.Parts[:4]
	if r, err = Solve(p); err != nil || len(r.Rescues) == 0 || r.Rescues[0].Left != 1 {
		t.Errorf("%v %+v", err, r)
	}
}

// The limits themselves are inside, whatever a float64 makes of the difference.
func TestSolveIncludesTheLimits(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 13))
	for range 1000 {
		size := 10 + 90*r.Float64()
		p := Problem{Places: bores(size, size), Parts: pistons(size-0.03, size-0.06)}
		if r, err := Solve(p); err != nil || r.Best == nil {
			t.Fatalf("%v: %v %+v", size, err, r)
		}
	}
}

// Moving every size by the same, or renaming, changes nothing; a further part never
// makes it worse; a tighter limit never makes it better.
func TestSolveLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 13))
	for range 300 {
		n := 2 + r.IntN(5)
		var places, parts []float64
		for range n {
			places = append(places, 92+0.02*r.Float64())
		}
		for range n + r.IntN(4) {
			parts = append(parts, 91.955+0.02*r.Float64())
		}
		solve := func(shift float64, more ...float64) Result {
			p := Problem{Places: bores(places...), Parts: pistons(append(slices.Clone(parts), more...)...)}
			for i := range p.Places {
				p.Places[i].Size += mm(shift)
			}
			for i := range p.Parts {
				p.Parts[i].Size += mm(shift)
			}
			out, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			return out
		}
		a, moved, more := solve(0), solve(3), solve(0, 91.96)
		if (a.Best == nil) != (moved.Best == nil) || a.Best != nil && math.Abs(float64(a.Best.Off-moved.Best.Off)) > 1e-11 {
			t.Fatalf("moved: %+v, %+v", a.Best, moved.Best)
		}
		if a.Best == nil {
			continue
		}
		if more.Best == nil || more.Best.Off > a.Best.Off {
			t.Fatalf("one part more: %+v, %+v", a.Best, more.Best)
		}
		if a.Second != nil && (a.Second.Off < a.Best.Off || who(a.Second) == who(a.Best)) {
			t.Fatalf("second: %+v, %+v", a.Best, a.Second)
		}
		for _, f := range a.Best.Fits {
			if f.Clearance < mm(0.03)-1e-12 || f.Clearance > mm(0.06)+1e-12 {
				t.Fatalf("out of limits: %+v", f)
			}
		}
	}
}

func TestSolveRefuses(t *testing.T) {
	good := func() Problem { return Problem{Places: bores(92, 92.01), Parts: pistons(91.955, 91.96)} }
	for _, c := range []struct {
		change func(p *Problem)
		says   string
	}{
		{func(p *Problem) { p.Places[1].Name = "bore 1" }, `place "bore 1" must have a name of its own`},
		{func(p *Problem) { p.Parts[1].Name = "" }, `part "" must have a name of its own`},
		{func(p *Problem) { p.Parts[0].Size = quantity.Length(math.NaN()) }, "part A: NaN must be a length of at most 100 m"},
		{func(p *Problem) { p.Places[0].High = quantity.Length(math.Inf(1)) }, "place bore 1: +Inf must be a length of at most 100 m"},
		{func(p *Problem) { p.Places[0].High = 0 }, "place bore 1: the least clearance 0.0300 mm must not exceed the greatest, 0.0000 mm"},
		{func(p *Problem) { p.Parts[0].From = "bore 7" }, `part A comes from place "bore 7", which is not among the places; leave it out, or add the place`},
		{func(p *Problem) { p.Forbidden = []Pair{{"A", "bore 7"}} }, "the pair of part A and place bore 7 names a place that is not among the places"},
		{func(p *Problem) { p.Forced = []Pair{{"Z", "bore 1"}} }, "the pair of part Z and place bore 1 names a part that is not among the parts"},
		{func(p *Problem) { p.Forced = []Pair{{"A", "bore 1"}, {"A", "bore 2"}} }, "part A is to go to place bore 2 and may not"},
		{func(p *Problem) { p.Places[0].Size = mm(93); p.Forced = []Pair{{"A", "bore 1"}} }, "part A is to go to place bore 1 and may not: its clearance is 1.0450 mm within 0.0300 mm .. 0.0600 mm"},
	} {
		p := good()
		c.change(&p)
		if _, err := Solve(p); err == nil || !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("%v, want %s", err, c.says)
		}
	}
	if r, err := Solve(Problem{}); err != nil || r.Best == nil || len(r.Best.Fits) != 0 || r.Second != nil {
		t.Errorf("nothing to do: %v %+v", err, r)
	}
	if r, err := Solve(Problem{Places: bores(92)}); err != nil || r.Shortage == nil || len(r.Shortage.Parts) != 0 {
		t.Errorf("no parts: %v %+v", err, r)
	}
}
