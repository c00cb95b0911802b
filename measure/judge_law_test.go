package measure

import (
	"math"
	"math/rand"
	"testing"

	"buttonup/quantity"
)

// randomLimits makes limits that a pack may hold: the limit never inside the band of
// new parts. Sizes are in metres, of the order of a bore or of a clearance.
func randomLimits(r *rand.Rand) Limits {
	scale := []float64{92e-3, 0.05e-3}[r.Intn(2)]
	width := scale * math.Pow(10, -1-3*r.Float64())
	low := scale * (1 + 0.01*r.Float64())
	l := Limits{GuardNew: r.Intn(3) == 0, Fit: r.Intn(2) == 0, NonNegative: r.Intn(4) == 0}
	if r.Intn(6) > 0 {
		l.New = quantity.Range{Low: low, High: low + width, HasLow: r.Intn(6) > 0, HasHigh: r.Intn(6) > 0}
	}
	side := r.Intn(4)
	if side == 1 || side == 3 {
		l.Limit.High, l.Limit.HasHigh = low+width*(1+3*r.Float64()), true
	}
	if side == 2 || side == 3 {
		l.Limit.Low, l.Limit.HasLow = low-width*3*r.Float64(), true
	}
	return l
}

// around draws a value about limits: often on an edge, sometimes beyond.
func around(r *rand.Rand, l Limits) float64 {
	edges := []float64{}
	for _, e := range []quantity.Range{l.New, l.Limit} {
		if e.HasLow {
			edges = append(edges, e.Low)
		}
		if e.HasHigh {
			edges = append(edges, e.High)
		}
	}
	if len(edges) == 0 {
		return r.Float64()
	}
	width := math.Max(l.New.High-l.New.Low, 1e-6)
	x := edges[r.Intn(len(edges))]
	if r.Intn(3) > 0 {
		x += width * (r.Float64() - 0.5) * 4
	}
	return x
}

// claims orders what a verdict claims of wear: none, new, serviceable, too close,
// out of limits.
func claims(v Verdict) int { return int(v) }

// Wear moves a value towards its limit and never improves the verdict. It begins
// inside the band of new parts: a part that is short of it is no worn part.
func TestWearNeverImprovesAVerdict(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 200000 {
		l := randomLimits(r)
		if l.Limit.HasLow == l.Limit.HasHigh {
			continue
		}
		u := l.New.High / 1000 * r.Float64() * float64(r.Intn(2))
		a, b := around(r, l), around(r, l)
		if l.Limit.HasHigh && a > b || l.Limit.HasLow && a < b {
			a, b = b, a
		}
		short := func(x float64) bool {
			reach := x
			if l.GuardNew {
				reach += u
				if l.Limit.HasHigh {
					reach = x - u
				}
			}
			return l.Limit.HasHigh && l.New.HasLow && reach < l.New.Low || l.Limit.HasLow && l.New.HasHigh && reach > l.New.High
		}
		if short(a) || short(b) {
			continue
		}
		va, vb := Judge(a, u, l).Verdict, Judge(b, u, l).Verdict
		if claims(vb) < claims(va) {
			t.Fatalf("%+v, ± %v: wear from %v to %v turns %s into %s", l, u, a, b, va, vb)
		}
	}
}

// A smaller ± settles more and never turns out of limits into a new fit or the other
// way round. The one exception is in the rule itself: a dimension that is short of
// new by no more than its ± is taken as new, and with a smaller ± it is not.
func TestFinerGaugeNeverContradicts(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for range 200000 {
		l := randomLimits(r)
		x := around(r, l)
		wide := math.Abs(x) / 1000 * r.Float64()
		fine := wide * r.Float64() * float64(r.Intn(3)) / 2
		before, after := Judge(x, wide, l), Judge(x, fine, l)
		bad := before.Verdict == OutOfLimits && after.Verdict != OutOfLimits ||
			before.Verdict == NewFit && after.Verdict == OutOfLimits && !(after.Short && !l.Fit)
		if bad {
			t.Fatalf("%+v, x %v: ± %v says %s, ± %v says %s", l, x, wide, before.Verdict, fine, after.Verdict)
		}
		if before.Verdict == Serviceable && after.Verdict > TooClose {
			t.Fatalf("%+v, x %v: ± %v says serviceable, ± %v says %s", l, x, wide, fine, after.Verdict)
		}
	}
}

// What is named to settle a verdict that is too close settles it, and nothing wider
// does.
func TestSettlesIsTheWidestThatSettles(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	seen := 0
	for range 200000 {
		l := randomLimits(r)
		x := around(r, l)
		u := math.Abs(x) / 1000 * r.Float64()
		j := Judge(x, u, l)
		if j.Verdict != TooClose {
			continue
		}
		seen++
		if j.Settles > u*(1+1e-6)+1e-9*math.Abs(x) {
			t.Fatalf("%+v, x %v ± %v: too close, to be settled by a wider ± %v", l, x, u, j.Settles)
		}
		if j.Settles < 1e-9 {
			continue
		}
		if v := Judge(x, j.Settles*0.999-1e-10, l).Verdict; v == TooClose {
			t.Fatalf("%+v, x %v: ± %v was to settle it and does not", l, x, j.Settles)
		}
		if v := Judge(x, j.Settles+(u-j.Settles)*r.Float64()+1e-10, l).Verdict; v != TooClose {
			t.Fatalf("%+v, x %v: a ± above %v settles it too: %s", l, x, j.Settles, v)
		}
	}
	if seen < 1000 {
		t.Fatalf("only %d verdicts were too close", seen)
	}
}

// The unit changes nothing: all lengths divided by 25.4 give the same verdict.
func TestVerdictDoesNotDependOnTheUnit(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	const inch = 1 / 25.4
	scaled := func(x quantity.Range) quantity.Range { x.Low *= inch; x.High *= inch; return x }
	for range 100000 {
		l := randomLimits(r)
		x := around(r, l)
		u := math.Abs(x) / 1000 * r.Float64() * float64(r.Intn(2))
		m := l
		m.New, m.Limit = scaled(l.New), scaled(l.Limit)
		a, b := Judge(x, u, l), Judge(x*inch, u*inch, m)
		if a.Verdict != b.Verdict || a.Short != b.Short || math.Abs(a.WearUsed-b.WearUsed) > 1e-6*(1+math.Abs(a.WearUsed)) {
			t.Fatalf("%+v, x %v ± %v: %+v, in inches %+v", l, x, u, a, b)
		}
	}
}

// Turned upside down, a lower limit says what an upper one said.
func TestJudgeIsTheSameUpsideDown(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	turned := func(x quantity.Range) quantity.Range {
		return quantity.Range{Low: -x.High, High: -x.Low, HasLow: x.HasHigh, HasHigh: x.HasLow}
	}
	for range 100000 {
		l := randomLimits(r)
		l.NonNegative = false
		x := around(r, l)
		u := math.Abs(x) / 1000 * r.Float64() * float64(r.Intn(2))
		m := l
		m.New, m.Limit = turned(l.New), turned(l.Limit)
		a, b := Judge(x, u, l), Judge(-x, u, m)
		if a.Verdict != b.Verdict || a.Short != b.Short || math.Abs(a.Margin-b.Margin) > 1e-15 {
			t.Fatalf("%+v, x %v ± %v: %+v, upside down %+v", l, x, u, a, b)
		}
	}
}
