package valvetrain

import (
	"math"

	"buttonup/mechanics/cylinder"
	"buttonup/quantity"
)

// PistonGap is the question how near a valve comes to the piston.
type PistonGap struct {
	Crank cylinder.Crank
	// Closed is the gap between the closed valve and the piston at its top dead
	// centre, along the valve's own axis: what the valve drops by hand before it
	// touches.
	Closed quantity.Length
	// Inclination is the angle between the valve's axis and the barrel's.
	Inclination quantity.Angle
	// Lift is the curve, Peak where its zero stands on the wheel: after the top dead
	// centre at overlap, negative before it.
	Lift Lift
	Peak quantity.Angle
	// Ratio is how many times the curve's lift the valve lifts: the rocker ratio for a
	// curve taken at the tappet, 1 for one taken at the valve.
	Ratio float64
	// Lash is what the valve loses of it, measured at the valve. It is negative for a
	// lifter that has pumped up and holds its valve open by so much.
	Lash quantity.Length
}

// Closest is where a gap is smallest.
type Closest struct {
	// Gap is the smallest gap; below zero the parts would meet by so much.
	Gap quantity.Length
	// Angle is where, on a wheel whose zero is the piston's top dead centre at overlap.
	Angle quantity.Angle
	// Drop is how far the piston is then below its highest point, Lift how far the
	// valve is open. A gap between valves has no Drop.
	Drop, Lift quantity.Length
}

// gapTolerance is how much, in metres, an answer may be above the true smallest gap: a
// tenth of a nanometre.
const gapTolerance = 1e-10

// At returns the gap at an angle of the wheel.
//
//	gap(φ) = Closed + x(φ)·cos β − lift(φ)    lift(φ) = max(0, Ratio·curve(φ − Peak) − Lash)
//
// x is the piston's drop as [cylinder.PistonDrop], β the inclination. It takes the crown
// as flat under the valve, or the pocket as square to the valve's axis, so that only the
// distance along that axis counts; the valve's edge may be nearer to the side of its
// pocket. It leaves out what a running engine adds: a stretched rod, a flexed rocker, a
// valve that floats.
//
// Ratio must be above zero and at most 10, the inclination below 90° either way, and
// Lift be given; others as in [cylinder.Crank.Linkage]. At never returns NaN.
//
// Source: geometry; common practice, no published source for the formula. That the
// closest approach is near overlap and not at full lift: seen in two web articles.
func (g PistonGap) At(angle quantity.Angle) (Closest, error) {
	s, err := g.sweep()
	if err != nil {
		return Closest{}, err
	}
	var in inspection
	in.Number("angle", angles, float64(angle))
	if in.Err != nil {
		return Closest{}, in.Err
	}
	return s.closest(float64(angle)), nil
}

// Smallest returns the smallest gap between two angles of the wheel, ends included, and
// where it is. From −360° to 360° is the whole cycle, the top dead centre of firing
// included, where the valve is shut and the gap is Closed.
//
// The answer is the minimum of the continuous curves, not of samples: it is never above
// the true one by more than 1e-7 mm. The range is cut into cells; a cell is put aside
// only when a bound on the curvature of both motions shows that the gap in it cannot be
// under the best one found. What is left is solved by Newton's method where it curves
// upwards, and halved where it does not. So of two nearly equal minima, one each side of
// the top dead centre, the smaller is found, and a valve that is shut is not forgotten.
// Where several places are equally near it names one.
//
// Smallest returns an error as [PistonGap.At] does, and unless from is below to by at
// most 720°. It never returns NaN.
//
// Source: as [PistonGap.At]; the search is ours.
func (g PistonGap) Smallest(from, to quantity.Angle) (Closest, error) {
	s, err := g.sweep()
	if err != nil {
		return Closest{}, err
	}
	var in inspection
	in.rangeOf(from, to)
	if in.Err != nil {
		return Closest{}, in.Err
	}
	s.search(float64(from), float64(to))
	return s.closest(s.where), nil
}

// pistonSweep is a PistonGap that has been checked, and the state of a search.
type pistonSweep struct {
	link        cylinder.Linkage
	lift        Lift
	cos, closed float64
	ratio, lash float64
	// peak is a wheel angle, top the crank's angle of the wheel's zero, and bottom the
	// wheel angle of the bottom dead centre.
	peak, top, bottom float64
	sinTop, cosTop    float64
	// Bounds of the second derivative, of the valve's lift and of the piston's jerk.
	mostBend, mostLift, mostJerk float64
	mostPiston                   float64 // of the piston's part alone
	cornered                     bool
	best, where                  float64
}

// cell is a stretch of the sweep that may hold the smallest gap.
type cell struct{ a, b, fa, fb, least float64 }

func (g PistonGap) sweep() (pistonSweep, error) {
	link, err := g.Crank.Linkage()
	if err != nil {
		return pistonSweep{}, err
	}
	var in inspection
	in.Number("closed", lengths, float64(g.Closed))
	in.lean("inclination", g.Inclination)
	in.Number("peak", angles, float64(g.Peak))
	in.Above("ratio", numbers, g.Ratio)
	in.Within("ratio", numbers, g.Ratio, 0, 10)
	in.Number("lash", lengths, float64(g.Lash))
	if g.Lift == nil {
		in.Refuse("lift", "the lift curve is missing")
	}
	if in.Err != nil {
		return pistonSweep{}, in.Err
	}
	s := pistonSweep{
		link: link, lift: g.Lift,
		cos: math.Cos(float64(g.Inclination)), closed: float64(g.Closed),
		ratio: g.Ratio, lash: float64(g.Lash),
		peak: float64(g.Peak), top: link.Top(), bottom: link.Bottom() - link.Top(),
		best: math.Inf(1),
	}
	s.mostPiston = s.cos * link.MostCurvature()
	s.mostBend = s.mostPiston + s.ratio*s.lift.mostClosing()
	s.mostLift = s.ratio*s.lift.greatest() - s.lash
	s.mostJerk = s.cos * link.MostJerk()
	s.sinTop, s.cosTop = math.Sincos(s.top)
	s.cornered = s.lift.cornered()
	return s, nil
}

// open returns the gap as if the valve were not stopped by its seat, and its first and
// second derivative. The true gap is the smaller of this and the closed one, so that
// the smallest gap of all is the smaller of the two smallest, and neither has a kink.
func (s *pistonSweep) open(phi float64) (gap, slope, bend float64) {
	x, dx, ddx := s.link.At(math.Sincos(phi + s.top))
	y, dy, ddy := s.lift.at(phi - s.peak)
	return s.closed + s.cos*x - (s.ratio*y - s.lash), s.cos*dx - s.ratio*dy, s.cos*ddx - s.ratio*ddy
}

// gap returns the true gap.
func (s *pistonSweep) gap(phi float64) float64 {
	x := s.link.Drop(s.sincos(phi))
	y, _, _ := s.lift.at(phi - s.peak)
	return s.closed + s.cos*x - max(0, s.ratio*y-s.lash)
}

// sincos returns sine and cosine of the crank's angle, for the tops without work.
func (s *pistonSweep) sincos(phi float64) (sin, cos float64) {
	if phi == 0 || phi == 2*math.Pi || phi == -2*math.Pi {
		return s.sinTop, s.cosTop
	}
	return math.Sincos(phi + s.top)
}

func (s *pistonSweep) consider(phi, gap float64) {
	if gap < s.best {
		s.best, s.where = gap, phi
	}
}

func (s *pistonSweep) closest(phi float64) Closest {
	x, _, _ := s.link.At(math.Sincos(phi + s.top))
	y, _, _ := s.lift.at(phi - s.peak)
	lift := max(0, s.ratio*y-s.lash)
	return Closest{
		Gap:   quantity.Length(s.closed + s.cos*x - lift),
		Angle: quantity.Angle(phi),
		Drop:  quantity.Length(max(x, 0)),
		Lift:  quantity.Length(lift),
	}
}

// step is the width of a cell: a compromise between many cells and loose bounds. leap is
// tried first, to pass over a piston's top where the valve is shut.
const (
	step = 8 * degree
	leap = 48 * degree
)

var (
	sinStep, cosStep = math.Sincos(step)
	sinLeap, cosLeap = math.Sincos(leap)
)

// turn returns sine and cosine of an angle moved on by another, either way.
func turn(sin, cos, sinBy, cosBy, direction float64) (float64, float64) {
	return sin*cosBy + direction*cos*sinBy, cos*cosBy - direction*sin*sinBy
}

func (s *pistonSweep) search(from, to float64) {
	// The valve on its seat: nearest at the piston's top, or at an end of the range.
	s.consider(from, s.gap(from))
	s.consider(to, s.gap(to))
	first, last := math.Ceil(from/(2*math.Pi)), math.Floor(to/(2*math.Pi))
	for n := first; n <= last; n++ {
		if top := 2 * math.Pi * n; top != from && top != to {
			s.consider(top, s.gap(top))
		}
	}
	// The valve open: every half stroke in reach, from the piston's top outwards. The
	// side on which the valve opens further comes first, for a good answer early.
	side := math.Copysign(1, s.peak)
	var room [12]cell
	cells := room[:0]
	for n := first - 1; n <= last+1; n++ {
		for _, direction := range [2]float64{side, -side} {
			top := 2 * math.Pi * n
			if direction > 0 {
				cells = s.walk(cells, max(top, from), min(top+s.bottom, to), direction)
			} else {
				cells = s.walk(cells, min(top, to), max(top+s.bottom-2*math.Pi, from), direction)
			}
		}
	}
	// The most promising cell first: what it holds puts others aside.
	for len(cells) > 0 {
		first := 0
		for i := range cells {
			if cells[i].least < cells[first].least {
				first = i
			}
		}
		if cells[first].least >= s.best-gapTolerance {
			return
		}
		s.refine(cells[first])
		cells[first] = cells[len(cells)-1]
		cells = cells[:len(cells)-1]
	}
}

// reach returns what the gap cannot be under from one angle to another if the piston is
// nowhere nearer than near.
func (s *pistonSweep) reach(near, a, b float64) float64 {
	return near - (s.ratio*s.lift.ceiling(min(a, b)-s.peak, max(a, b)-s.peak) - s.lash)
}

// walk goes from the end of a half stroke that is nearer the piston's top to the other,
// and adds the cells that may hold the smallest gap.
func (s *pistonSweep) walk(cells []cell, start, end, direction float64) []cell {
	if (end-start)*direction <= 0 {
		return cells
	}
	phi := start
	sin, cos := s.sincos(start)
	near := s.closed + s.cos*s.link.Drop(sin, cos)
	if far := start + direction*leap; (end-far)*direction > 0 && s.reach(near, start, far) >= s.best {
		phi = far
		sin, cos = turn(sin, cos, sinLeap, cosLeap, direction)
		near = s.closed + s.cos*s.link.Drop(sin, cos)
	}
	gap, known := 0.0, false
	for (end-phi)*direction > 0 {
		if near-s.mostLift >= s.best {
			return cells // from here on the piston is below anything the valve can reach
		}
		next := phi + direction*step
		regular := true
		if (end-next)*direction < 0 {
			next, regular = end, false
		}
		if s.cornered {
			if c, ok := s.corner(min(phi, next), max(phi, next), direction); ok {
				next, regular = c, false
			}
		}
		if regular {
			sin, cos = turn(sin, cos, sinStep, cosStep, direction)
		} else {
			sin, cos = math.Sincos(next + s.top)
		}
		nextNear := s.closed + s.cos*s.link.Drop(sin, cos)
		if s.reach(near, phi, next) >= s.best {
			phi, near, known = next, nextNear, false
			continue
		}
		if !known {
			y, _, _ := s.lift.at(phi - s.peak)
			gap = near - (s.ratio*y - s.lash)
			s.consider(phi, gap)
		}
		y, _, _ := s.lift.at(next - s.peak)
		nextGap := nextNear - (s.ratio*y - s.lash)
		s.consider(next, nextGap)
		c := cell{a: phi, b: next, fa: gap, fb: nextGap}
		if direction < 0 {
			c = cell{a: next, b: phi, fa: nextGap, fb: gap}
		}
		if c.least = c.bound(s.mostBend); c.least < s.best-gapTolerance {
			cells = append(cells, c)
		}
		phi, near, gap, known = next, nextNear, nextGap, true
	}
	return cells
}

// corner returns the corner of the lift curve that is nearest to the end of the cell
// from which the walk comes.
func (s *pistonSweep) corner(low, high, direction float64) (float64, bool) {
	c, ok := s.lift.corner(low-s.peak, high-s.peak)
	if !ok {
		return 0, false
	}
	if direction < 0 {
		for {
			later, more := s.lift.corner(c, high-s.peak)
			if !more {
				break
			}
			c = later
		}
	}
	return c + s.peak, true
}

// bound returns what the function cannot be under in the cell if its second derivative
// is at most bend: the lowest point of the parabola of that bend through both ends.
func (c cell) bound(bend float64) float64 {
	h := c.b - c.a
	sag := bend * h * h / 2
	rise := c.fb - c.fa
	if sag <= 0 || math.Abs(rise) >= sag {
		return min(c.fa, c.fb)
	}
	return (c.fa+c.fb)/2 - sag/4 - rise*rise/(4*sag)
}

// inset is how far inside a cell its end slopes are taken, in radians: a cell may end at
// a corner of the lift curve, where the slope of the other side would mislead.
const inset = 2e-9

// refine finds the smallest gap in a cell, if it is under the best.
func (s *pistonSweep) refine(c cell) {
	h := c.b - c.a
	if h <= 4*inset {
		return // the ends have been considered
	}
	least, most := s.lift.bend(c.a-s.peak, c.b-s.peak)
	if c.bound(s.mostPiston-s.ratio*least) >= s.best-gapTolerance {
		return
	}
	middle := c.a + h/2
	x, dx, ddx := s.link.At(math.Sincos(middle + s.top))
	y, dy, ddy := s.lift.at(middle - s.peak)
	gap := s.closed + s.cos*x - (s.ratio*y - s.lash)
	s.consider(middle, gap)
	// No point is further than h/2 from the middle, where the piston's part is known.
	play := s.mostJerk * h / 2
	bendMost := s.cos*ddx + play - s.ratio*least
	bendLeast := s.cos*ddx - play - s.ratio*most
	if bendMost <= 0 || c.bound(bendMost) >= s.best-gapTolerance {
		return
	}
	if bendLeast >= 0 {
		s.descend(c.a, c.b, middle, s.cos*dx-s.ratio*dy, s.cos*ddx-s.ratio*ddy)
		return
	}
	s.refine(cell{a: c.a, b: middle, fa: c.fa, fb: gap})
	s.refine(cell{a: middle, b: c.b, fa: gap, fb: c.fb})
}

// descend finds the smallest gap between a and b, where the gap curves upwards all the
// way, by Newton's method from phi with the slope and second derivative there.
func (s *pistonSweep) descend(a, b, phi, slope, bend float64) {
	openA, openB := true, true // a and b are the cell's ends, whose slopes are not known
	for range 100 {
		if slope < 0 {
			a, openA = phi, false
		} else {
			b, openB = phi, false
		}
		next := phi - slope/bend
		if !(next > a && next < b) {
			// The way leads out at an end: it is the smallest if it slopes down to it.
			if slope < 0 && openB {
				if _, atEnd, _ := s.open(b - inset); atEnd <= 0 {
					return
				}
				openB = false
			} else if slope >= 0 && openA {
				if _, atEnd, _ := s.open(a + inset); atEnd >= 0 {
					return
				}
				openA = false
			}
			next = a + (b-a)/2
		}
		// What is still to be gained is at most the slope times the way.
		if math.Abs(slope*(next-phi)) < gapTolerance/4 {
			return
		}
		phi = next
		var gap float64
		gap, slope, bend = s.open(phi)
		s.consider(phi, gap)
	}
}
