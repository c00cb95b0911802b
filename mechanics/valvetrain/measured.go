package valvetrain

import (
	"math"
	"math/bits"

	"buttonup/quantity"
)

// Point is one reading of a lift curve: angle of the crank from the curve's zero, and
// lift.
type Point struct {
	Angle quantity.Angle
	Lift  quantity.Length
}

// Fit is how a curve runs between its points.
type Fit uint8

// The ways. A curve that is not periodic runs straight from its last point to the first
// one of the next cycle: the tappet rests on the base circle.
const (
	// Natural joins the points by a cubic spline whose acceleration is zero at the
	// first and the last.
	Natural Fit = iota
	// Periodic joins the points by a cubic spline that closes on itself after a
	// cycle, with lift, velocity and acceleration the same all round.
	Periodic
	// Linear joins the points by straight lines.
	Linear
)

// String returns the word for the fit.
func (f Fit) String() string {
	switch f {
	case Natural:
		return "natural"
	case Periodic:
		return "periodic"
	case Linear:
		return "linear"
	}
	return "unknown"
}

// Measured is a lift curve through measured points. Make one with [NewMeasured].
type Measured struct {
	pieces []piece // in order; one more than there are intervals closes the cycle
	// first guesses at the piece of an angle: one per even share of the cycle.
	guess    []int32
	perShare float64
	start    float64

	top, closing float64
	// ceilings[k][s] bounds the lift in the 2^k even shares of the cycle from s on, so
	// that any stretch is covered by two of them.
	ceilings [levels][shares]float64
	corners  bool
}

// piece is a cubic from x on: y + t·(b + t·(c + t·d)), t counted from x.
type piece struct{ x, y, b, c, d float64 }

// widestGap is the largest gap between neighbouring points of a periodic curve. A
// cubic swings freely between points further apart.
const widestGap = 90 * degree

// mostPoints bounds the points of one curve: every tenth of a degree of a cycle.
const mostPoints = 7201

// shares is into how many parts the cycle is cut for bounds: 5.6° each. It is
// 2^(levels−1).
const (
	levels = 8
	shares = 1 << (levels - 1)
)

// NewMeasured returns the curve through the points, which must rise in angle and
// together take no more than a [Cycle]. The points are not kept.
//
// A cubic spline goes through every point, errors of reading and all: its acceleration
// is that of the readings, so take it as a help to see, not as a figure, unless the
// points come from the cam's maker. Readings in cam degrees must be doubled.
//
// NewMeasured needs 2 points for Linear, 3 for Natural and 4 for Periodic. Periodic
// points must stand all round the cycle, no gap wider than 90°; if the last is a whole
// cycle after the first its lift must be the same. Other errors: an angle or lift that
// is no number or beyond belief, angles that do not rise, with both named.
//
// Source: the spline whose second derivative is continuous, from tridiagonal equations
// for it, the periodic one closed by Sherman and Morrison's correction; own derivation,
// checked against a run of scipy.interpolate.CubicSpline 1.10.1.
func NewMeasured(points []Point, fit Fit) (*Measured, error) {
	x, y, err := inspectPoints(points, fit)
	if err != nil {
		return nil, err
	}
	n := len(x)
	m := &Measured{start: x[0]}
	// The second derivatives at the points, or none.
	second := make([]float64, n)
	switch fit {
	case Natural:
		second = naturalBends(x, y)
	case Periodic:
		second = periodicBends(x, y)
	}
	for i := 0; i+1 < n; i++ {
		h := x[i+1] - x[i]
		p := piece{x: x[i], y: y[i], b: (y[i+1] - y[i]) / h}
		if fit != Linear {
			p.b -= h / 6 * (2*second[i] + second[i+1])
			p.c = second[i] / 2
			p.d = (second[i+1] - second[i]) / (6 * h)
		}
		m.pieces = append(m.pieces, p)
	}
	m.corners = fit != Periodic
	if fit != Periodic {
		// At rest from the last point to the first of the next cycle; if the two
		// readings differ, straight from the one to the other.
		rest := piece{x: x[n-1], y: y[n-1]}
		if h := x[0] + cycle - x[n-1]; h > angles.Least {
			rest.b = (y[0] - y[n-1]) / h
		}
		m.pieces = append(m.pieces, rest)
	}
	m.pieces = append(m.pieces, piece{x: x[0] + cycle, y: y[0]}) // never evaluated
	m.prepare()
	return m, nil
}

// inspectPoints returns the points as numbers, a periodic curve's closed by a last one
// that is the first again.
func inspectPoints(points []Point, fit Fit) (x, y []float64, err error) {
	var in inspection
	need := map[Fit]int{Linear: 2, Natural: 3, Periodic: 4}[fit]
	switch {
	case need == 0:
		in.Refuse("fit", "fit %d is none of natural, periodic and linear", uint8(fit))
	case len(points) < need:
		in.Refuse("points", "a %s curve needs at least %d points, and %d were given", fit, need, len(points))
	case len(points) > mostPoints:
		in.Refuse("points", "a curve may have at most %d points, and %d were given", mostPoints, len(points))
	}
	for i, p := range points {
		in.Number("angle", angles, float64(p.Angle))
		in.Number("lift", lengths, float64(p.Lift))
		if i > 0 && float64(p.Angle-points[i-1].Angle) < angles.Least {
			in.Refuse("angle", "the angles must rise, and %s follows %s", angles.Text(float64(p.Angle)), angles.Text(float64(points[i-1].Angle)))
		}
		x, y = append(x, float64(p.Angle)), append(y, float64(p.Lift))
	}
	if in.Err != nil {
		return nil, nil, in.Err
	}
	last := len(x) - 1
	const same = 1e-9 // a rounding of degrees
	round := x[last] - x[0]
	if round > cycle+same {
		in.Refuse("angle", "the points reach from %s to %s, and a cycle has only 720 deg", angles.Text(x[0]), angles.Text(x[last]))
		return nil, nil, in.Err
	}
	if round >= cycle-same {
		if math.Abs(y[last]-y[0]) > 1e-9*max(math.Abs(y[last]), math.Abs(y[0]))+1e-12 {
			in.Refuse("lift", "the last point is a whole cycle after the first and has the lift %s, not %s; the curve must close", lengths.Text(y[last]), lengths.Text(y[0]))
			return nil, nil, in.Err
		}
		x[last], y[last] = x[0]+cycle, y[0]
	}
	if fit != Periodic {
		return x, y, nil
	}
	if round < cycle-same {
		x, y = append(x, x[0]+cycle), append(y, y[0])
	}
	for i := 1; i < len(x); i++ {
		if x[i]-x[i-1] > widestGap*(1+1e-9) {
			in.Refuse("angle", "from %s to %s there is no point; a periodic curve needs points all round, at most 90 deg apart, and a curve of the opening alone is natural", angles.Text(x[i-1]), angles.Text(x[i]))
		}
	}
	if len(x) < 5 {
		in.Refuse("points", "a periodic curve needs at least 4 points, and %d were given", len(x)-1)
	}
	return x, y, in.Err
}

// naturalBends solves for the second derivatives of a natural spline.
func naturalBends(x, y []float64) []float64 {
	n := len(x) - 2
	low, main, high, right := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range n {
		before, after := x[k+1]-x[k], x[k+2]-x[k+1]
		low[k], main[k], high[k] = before, 2*(before+after), after
		right[k] = 6 * ((y[k+2]-y[k+1])/after - (y[k+1]-y[k])/before)
	}
	solveTridiagonal(low, main, high, right)
	bends := make([]float64, n+2)
	copy(bends[1:], right)
	return bends
}

// periodicBends solves for the second derivatives of a spline whose last point is its
// first again.
func periodicBends(x, y []float64) []float64 {
	n := len(x) - 1
	low, main, high, right := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		before, slopeBefore := x[n]-x[n-1], (y[n]-y[n-1])/(x[n]-x[n-1])
		if i > 0 {
			before, slopeBefore = x[i]-x[i-1], (y[i]-y[i-1])/(x[i]-x[i-1])
		}
		after := x[i+1] - x[i]
		low[i], main[i], high[i] = before, 2*(before+after), after
		right[i] = 6 * ((y[i+1]-y[i])/after - slopeBefore)
	}
	// low[0] and high[n−1] stand in the corners of the matrix. They are taken out as
	// the product of two vectors and put back by Sherman and Morrison's formula.
	corner := low[0] // equals high[n-1]: both are the closing interval
	gamma := -main[0]
	main[0] -= gamma
	main[n-1] -= corner * corner / gamma
	u := make([]float64, n)
	u[0], u[n-1] = gamma, corner
	main2 := append([]float64(nil), main...)
	solveTridiagonal(low, main, high, right)
	solveTridiagonal(low, main2, high, u)
	share := (right[0] + corner*right[n-1]/gamma) / (1 + u[0] + corner*u[n-1]/gamma)
	bends := make([]float64, n+1)
	for i := range n {
		bends[i] = right[i] - share*u[i]
	}
	bends[n] = bends[0]
	return bends
}

// solveTridiagonal solves in place; the answer is left in right. The systems of splines
// are dominated by their diagonals, so no pivot is needed.
func solveTridiagonal(low, main, high, right []float64) {
	for i := 1; i < len(right); i++ {
		f := low[i] / main[i-1]
		main[i] -= f * high[i-1]
		right[i] -= f * right[i-1]
	}
	for i := len(right) - 1; i >= 0; i-- {
		if i+1 < len(right) {
			right[i] -= high[i] * right[i+1]
		}
		right[i] /= main[i]
	}
}

// prepare fills the tables for quick look-up and the bounds.
func (m *Measured) prepare() {
	last := len(m.pieces) - 1
	count := max(2*last, 64)
	m.perShare = float64(count) / cycle
	m.guess = make([]int32, count+1)
	for i := range m.guess {
		x := m.start + float64(i)/m.perShare
		p := 0
		if i > 0 {
			p = int(m.guess[i-1])
		}
		for p+1 < last && m.pieces[p+1].x <= x {
			p++
		}
		if p > 0 && m.pieces[p].x > x-1e-12 { // rounding at the edge of a share
			p--
		}
		m.guess[i] = int32(p)
	}

	m.top = math.Inf(-1)
	for i := range m.ceilings[0] {
		m.ceilings[0][i] = math.Inf(-1)
	}
	for i, p := range m.pieces[:last] {
		end := m.pieces[i+1].x
		h := end - p.x
		b0, b1 := 2*p.c, 2*p.c+6*p.d*h
		m.closing = max(m.closing, -min(b0, b1))
		high := p.highest(h)
		m.top = max(m.top, high)
		from, to := m.share(p.x-1e-9), m.share(end+1e-9)
		for s := from; s <= to; s++ {
			// Only the part of the piece inside the share counts.
			left := max(m.start+float64(s)*cycle/shares, p.x)
			right := min(m.start+float64(s+1)*cycle/shares, end)
			if right < left {
				left, right = min(left, end), min(left, end)
			}
			part := p.from(left)
			m.ceilings[0][s] = max(m.ceilings[0][s], part.highest(right-left))
		}
	}
	// What rounding may add.
	slack := 1e-15 * (1 + math.Abs(m.top))
	m.top += slack
	for i := range m.ceilings[0] {
		m.ceilings[0][i] += slack
	}
	for k := 1; k < levels; k++ {
		for i := range m.ceilings[k] {
			m.ceilings[k][i] = max(m.ceilings[k-1][i], m.ceilings[k-1][(i+(1<<(k-1)))%shares])
		}
	}
}

// from returns the piece with its origin moved to x.
func (p piece) from(x float64) piece {
	t := x - p.x
	return piece{x: x, y: p.y + t*(p.b+t*(p.c+t*p.d)), b: p.b + t*(2*p.c+3*t*p.d), c: p.c + 3*t*p.d, d: p.d}
}

// highest returns the greatest value of the piece over its first h.
func (p piece) highest(h float64) float64 {
	high := max(p.y, p.from(p.x+h).y)
	// Where b + 2·c·t + 3·d·t² = 0, in the form that does not lose figures.
	if root := p.c*p.c - 3*p.d*p.b; root >= 0 {
		s := math.Sqrt(root)
		w := -(p.c + math.Copysign(s, p.c))
		for _, t := range [2]float64{w / (3 * p.d), p.b / w} {
			if t > 0 && t < h {
				high = max(high, p.from(p.x+t).y)
			}
		}
	}
	return high
}

func (m *Measured) share(x float64) int {
	return min(max(int((x-m.start)*(shares/cycle)), 0), shares-1)
}

// find returns the piece of an angle that is already inside the cycle.
func (m *Measured) find(x float64) int {
	g := int((x - m.start) * m.perShare)
	if g < 0 {
		g = 0
	} else if g >= len(m.guess) {
		g = len(m.guess) - 1
	}
	i := int(m.guess[g])
	for i+2 < len(m.pieces) && m.pieces[i+1].x <= x {
		i++
	}
	return i
}

// At returns lift, velocity and acceleration; see [Lift]. At a corner it returns those
// of the side after it.
func (m *Measured) At(angle quantity.Angle) (Motion, error) { return motionAt(m, angle) }

func (m *Measured) at(x float64) (lift, velocity, acceleration float64) {
	if x < m.start || x >= m.start+cycle {
		x = wrap(x, m.start)
	}
	p := &m.pieces[m.find(x)]
	t := x - p.x
	lift = p.y + t*(p.b+t*(p.c+t*p.d))
	velocity = p.b + t*(2*p.c+3*t*p.d)
	acceleration = 2*p.c + 6*t*p.d
	return lift, velocity, acceleration
}

// each calls see for every stretch of a piece between a and b, both counted from the
// piece's origin.
func (m *Measured) each(a, b float64, see func(p *piece, from, to float64)) {
	if b-a >= cycle {
		a, b = m.start, m.start+cycle
	}
	width := b - a
	a = wrap(a, m.start)
	b = a + width
	for i, x := m.find(a), a; ; {
		p := &m.pieces[i]
		end := m.pieces[i+1].x
		see(p, x-p.x, min(b, end)-p.x)
		if b <= end {
			return
		}
		x = end
		if i++; i == len(m.pieces)-1 {
			i, x, b = 0, m.start, b-cycle
		}
	}
}

func (m *Measured) bend(a, b float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	m.each(a, b, func(p *piece, from, to float64) {
		v, w := 2*p.c+6*p.d*from, 2*p.c+6*p.d*to
		least, most = min(least, v, w), max(most, v, w)
	})
	return least, most
}

func (m *Measured) rush(a, b float64) float64 {
	most := 0.0
	m.each(a, b, func(p *piece, from, to float64) {
		for _, t := range [2]float64{from, to} {
			most = max(most, math.Abs(p.b+t*(2*p.c+3*t*p.d)))
		}
		if t := -p.c / (3 * p.d); t > from && t < to {
			most = max(most, math.Abs(p.b+t*p.c))
		}
	})
	return most
}

func (m *Measured) ceiling(a, b float64) float64 {
	if b-a >= cycle {
		return m.top
	}
	width := b - a
	if a < m.start || a >= m.start+cycle {
		a = wrap(a, m.start)
	}
	// A nanoradian either side covers what wrapping rounds away.
	first := int((a-m.start-1e-9)*(shares/cycle)+1) - 1 // floor, from −1 on
	last := int((a + width - m.start + 1e-9) * (shares / cycle))
	if last-first >= shares-1 {
		return m.top
	}
	k := bits.Len(uint(last-first+1)) - 1
	row := &m.ceilings[k]
	return max(row[uint(first)%shares], row[uint(last+1-(1<<k))%shares])
}

func (m *Measured) corner(a, b float64) (float64, bool) {
	if !m.corners {
		return 0, false
	}
	// A corner within a nanoradian of an end counts as the end: wrapping rounds, and a
	// corner found again and again would never let a walk get past it.
	const near = 1e-9
	shift := a - wrap(a, m.start)
	start := a - shift
	i := m.find(start)
	for end := m.pieces[i+1].x; end+shift < b-near; {
		if end > start+near {
			return end + shift, true
		}
		if i++; i == len(m.pieces)-1 {
			i, start, shift = 0, start-cycle, shift+cycle
		}
		end = m.pieces[i+1].x
	}
	return 0, false
}

func (m *Measured) cornered() bool       { return m.corners }
func (m *Measured) greatest() float64    { return m.top }
func (m *Measured) mostClosing() float64 { return m.closing }
