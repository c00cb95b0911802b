package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Valve is one of the two valves of a [ValveGap].
type Valve struct {
	// Head is the diameter of the head's edge that comes nearest.
	Head quantity.Length
	// Inclination is the angle between the valve's axis and the barrel's, positive
	// when the stem leans away from the other valve, so that opening brings the heads
	// together.
	Inclination quantity.Angle
	// Lift, Peak, Ratio and Lash are as in [PistonGap].
	Lift  Lift
	Peak  quantity.Angle
	Ratio float64
	Lash  quantity.Length
}

// ValveGap is the question how near the two valves of a cylinder come to each other. It
// takes the axes of both as lying in one plane.
type ValveGap struct {
	Inlet, Exhaust Valve
	// Closed is the gap between the facing edges with both valves shut.
	Closed quantity.Length
	// Step is how much higher the exhaust's facing edge is then than the inlet's, along
	// the barrel; negative if lower.
	Step quantity.Length
}

// ValvesClosest is where two valves are nearest.
type ValvesClosest struct {
	// Gap is the distance between the two heads; zero if they would meet.
	Gap quantity.Length
	// Facing is the first-order figure there: the closed gap, across the barrel, less
	// what the lifts take of it. It is never more than Gap, equals it when the edges
	// face each other, and goes below zero where the heads would overlap seen along
	// the barrel, which is harmless while one is far below the other.
	Facing quantity.Length
	// Angle is where, on a wheel whose zero is the top dead centre at overlap.
	Angle quantity.Angle
	// InletLift and ExhaustLift are how far the valves are open there.
	InletLift, ExhaustLift quantity.Length
}

// FacingGap returns the first-order gap between two valves whose edges face each other.
//
//	gap = g₀ − l₁·sin β₁ − l₂·sin β₂
//
// g₀ is the gap across the barrel with both shut, l the lifts and β the inclinations,
// positive when the stem leans away from the other valve. It is right when both are open
// about equally far, as in the overlap, and too small otherwise.
//
// FacingGap returns an error if a lift is below zero or an inclination 90° or more. It
// never returns NaN.
//
// Source: geometry; own derivation.
func FacingGap(closed, inletLift, exhaustLift quantity.Length, inletInclination, exhaustInclination quantity.Angle) (quantity.Length, error) {
	var in inspection
	in.Number("closed", lengths, float64(closed))
	in.NotNegative("inlet lift", lengths, float64(inletLift))
	in.NotNegative("exhaust lift", lengths, float64(exhaustLift))
	in.lean("inlet inclination", inletInclination)
	in.lean("exhaust inclination", exhaustInclination)
	if in.Err != nil {
		return 0, in.Err
	}
	return closed - inletLift*quantity.Length(math.Sin(float64(inletInclination))) - exhaustLift*quantity.Length(math.Sin(float64(exhaustInclination))), nil
}

func (c *inspection) lean(name string, by quantity.Angle) {
	c.Number(name, angles, float64(by))
	if math.Abs(float64(by)) >= math.Pi/2 {
		c.Refuse(name, "%s %s must be less than 90 deg either way", name, angles.Text(float64(by)))
	}
}

// At returns the gap at an angle of the wheel: the distance between two discs, each
// square to its valve's axis and moved along it by its lift.
//
// The heads are taken as thin discs and the guides as without play; a thick margin or a
// worn guide comes off the answer. Head diameters must be above zero, the inclinations
// below 90° either way, Closed above zero and more than the size of Step; the rest as in
// [PistonGap.At]. At never returns NaN.
//
// Source: geometry; own derivation. Both discs are symmetrical about the plane of the
// axes, so their nearest points lie in it.
func (g ValveGap) At(angle quantity.Angle) (ValvesClosest, error) {
	s, err := g.sweep()
	if err != nil {
		return ValvesClosest{}, err
	}
	var in inspection
	in.Number("angle", angles, float64(angle))
	if in.Err != nil {
		return ValvesClosest{}, in.Err
	}
	return s.closest(float64(angle)), nil
}

// Smallest returns the smallest gap between two angles of the wheel, ends included, and
// where it is.
//
// It is never above the true smallest gap by more than 1e-4 mm, or a millionth of the
// two lifts if that is more: a stretch is put aside only when the valves are too slow to
// close the gap in it below the best one found. A
// lifter that has pumped up can hold a valve open outside the overlap, so look at the
// whole cycle with a negative lash too.
//
// Errors as in [ValveGap.At], and unless from is below to by at most 720°. It never
// returns NaN.
//
// Source: as [ValveGap.At]; the search is ours.
func (g ValveGap) Smallest(from, to quantity.Angle) (ValvesClosest, error) {
	s, err := g.sweep()
	if err != nil {
		return ValvesClosest{}, err
	}
	var in inspection
	in.rangeOf(from, to)
	if in.Err != nil {
		return ValvesClosest{}, in.Err
	}
	a, b := float64(from), float64(to)
	n := max(1, int(math.Ceil((b-a)/(2*degree))))
	gaps := make([]float64, n+1)
	at := func(i int) float64 { return a + (b-a)*float64(i)/float64(n) }
	best, where := math.Inf(1), a
	for i := range gaps {
		gaps[i] = float64(s.closest(at(i)).Gap)
		if gaps[i] < best {
			best, where = gaps[i], at(i)
		}
	}
	tolerance := max(1e-7, 1e-6*(g.Inlet.Ratio*g.Inlet.Lift.greatest()+g.Exhaust.Ratio*g.Exhaust.Lift.greatest()))
	var search func(a, b, fa, fb float64)
	search = func(a, b, fa, fb float64) {
		if best == 0 {
			return // they meet; nearer there is not
		}
		// Both valves move at most so fast; the gap changes no faster than both.
		speed := s.inlet.rush(a, b) + s.exhaust.rush(a, b)
		if (fa+fb-speed*(b-a))/2 >= best-tolerance {
			return
		}
		middle := a + (b-a)/2
		f := float64(s.closest(middle).Gap)
		if f < best {
			best, where = f, middle
		}
		search(a, middle, fa, f)
		search(middle, b, f, fb)
	}
	for i := range n {
		search(at(i), at(i+1), gaps[i], gaps[i+1])
	}
	return s.closest(where), nil
}

func (c *inspection) rangeOf(from, to quantity.Angle) {
	c.Number("from", angles, float64(from))
	c.Number("to", angles, float64(to))
	if width := float64(to - from); c.Err == nil && !(width > 0 && width <= cycle*(1+1e-12)) {
		c.Refuse("from, to", "the range from %s to %s must rise, by at most 720 deg", angles.Text(float64(from)), angles.Text(float64(to)))
	}
}

// head is a valve's head in the plane of the axes: the inlet left, the exhaust right.
type head struct {
	valve    Valve
	edge     planar // the facing edge, shut
	opens    planar // which way it moves when it opens
	inwards  planar // from the facing edge to the far one
	sinus    float64
	diameter float64
}

// planar is a place or a way in the plane of the axes: x across the barrel from the
// inlet to the exhaust, y up along it.
type planar struct{ x, y float64 }

func (p planar) add(q planar, times float64) planar { return planar{p.x + times*q.x, p.y + times*q.y} }
func (p planar) dot(q planar) float64               { return p.x*q.x + p.y*q.y }

func (h *head) lift(phi float64) float64 {
	y, _, _ := h.valve.Lift.at(phi - float64(h.valve.Peak))
	return max(0, h.valve.Ratio*y-float64(h.valve.Lash))
}

func (h *head) rush(a, b float64) float64 {
	return h.valve.Ratio * h.valve.Lift.rush(a-float64(h.valve.Peak), b-float64(h.valve.Peak))
}

type valveSweep struct {
	inlet, exhaust head
	across         float64
}

func (g ValveGap) sweep() (*valveSweep, error) {
	var in inspection
	for _, v := range []struct {
		name string
		Valve
	}{{"inlet", g.Inlet}, {"exhaust", g.Exhaust}} {
		in.Above(v.name+" head", lengths, float64(v.Head))
		in.lean(v.name+" inclination", v.Inclination)
		in.Number(v.name+" peak", angles, float64(v.Peak))
		in.Above(v.name+" ratio", numbers, v.Ratio)
		in.Within(v.name+" ratio", numbers, v.Ratio, 0, 10)
		in.Number(v.name+" lash", lengths, float64(v.Lash))
		if v.Lift == nil {
			in.Refuse(v.name+" lift", "the %s's lift curve is missing", v.name)
		}
	}
	in.Above("closed", lengths, float64(g.Closed))
	in.Number("step", lengths, float64(g.Step))
	if math.Abs(float64(g.Step)) >= float64(g.Closed) {
		in.Refuse("step, closed", "step %s must be smaller than the closed gap %s, which is measured straight from edge to edge", lengths.Text(float64(g.Step)), lengths.Text(float64(g.Closed)))
	}
	if in.Err != nil {
		return nil, in.Err
	}
	across := math.Sqrt(float64(g.Closed-g.Step) * float64(g.Closed+g.Step))
	sin1, cos1 := math.Sincos(float64(g.Inlet.Inclination))
	sin2, cos2 := math.Sincos(float64(g.Exhaust.Inclination))
	return &valveSweep{
		inlet:   head{valve: g.Inlet, opens: planar{sin1, -cos1}, inwards: planar{-cos1, -sin1}, sinus: sin1, diameter: float64(g.Inlet.Head)},
		exhaust: head{valve: g.Exhaust, edge: planar{across, float64(g.Step)}, opens: planar{-sin2, -cos2}, inwards: planar{cos2, -sin2}, sinus: sin2, diameter: float64(g.Exhaust.Head)},
		across:  across,
	}, nil
}

func (s *valveSweep) closest(phi float64) ValvesClosest {
	l1, l2 := s.inlet.lift(phi), s.exhaust.lift(phi)
	a := s.inlet.edge.add(s.inlet.opens, l1)
	b := s.exhaust.edge.add(s.exhaust.opens, l2)
	gap := segmentDistance(a, a.add(s.inlet.inwards, s.inlet.diameter), b, b.add(s.exhaust.inwards, s.exhaust.diameter))
	return ValvesClosest{
		Gap:         quantity.Length(gap),
		Facing:      quantity.Length(s.across - l1*s.inlet.sinus - l2*s.exhaust.sinus),
		Angle:       quantity.Angle(phi),
		InletLift:   quantity.Length(l1),
		ExhaustLift: quantity.Length(l2),
	}
}

// segmentDistance returns the distance between the segments a–b and c–d.
func segmentDistance(a, b, c, d planar) float64 {
	side := func(p, q, r planar) float64 { return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x) }
	if side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0 {
		return 0
	}
	return min(pointDistance(a, c, d), pointDistance(b, c, d), pointDistance(c, a, b), pointDistance(d, a, b))
}

// pointDistance returns the distance of p from the segment a–b.
func pointDistance(p, a, b planar) float64 {
	along := b.add(a, -1)
	to := p.add(a, -1)
	t := min(max(to.dot(along)/along.dot(along), 0), 1)
	off := to.add(along, -t)
	return math.Hypot(off.x, off.y)
}
