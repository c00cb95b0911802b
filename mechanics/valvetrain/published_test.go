package valvetrain

import (
	"math"
	"path/filepath"
	"strconv"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

// one evaluates one row of a check file.
type one struct {
	*testing.T
	file *check.File
	row  check.Row
}

// in reads an input as the number in SI.
func (o one) in(column string) float64 {
	o.Helper()
	q, err := quantity.Parse(o.row.In[column])
	if err != nil {
		o.Fatalf("%s:%d: %s: %v", o.file.Path, o.row.Line, column, err)
	}
	return q.SI
}

func (o one) length(column string) quantity.Length { return quantity.Length(o.in(column)) }
func (o one) angle(column string) quantity.Angle   { return quantity.Angle(o.in(column)) }

func (o one) is(column string, got float64) { o.Helper(); o.file.Compare(o.T, o.row, column, got) }

func (o one) ok(err error) {
	o.Helper()
	if err != nil {
		o.Fatalf("%s:%d: %v", o.file.Path, o.row.Line, err)
	}
}

func (o one) wire() Wire {
	return Wire{Diameter: o.length("wire"), MeanDiameter: o.length("mean diameter"), Active: o.in("active"), Modulus: quantity.Pressure(o.in("modulus"))}
}

func unit(symbol string, si float64) float64 { return quantity.MustUnit(symbol).In(si) }

// issuePoints are the points of scipy's issue 11758, their x spread over a cycle.
func issuePoints() []Point {
	x := []float64{0, 23.2, 58.1, 69.7, 98.7, 121.9, 174.2, 203.2, 220.6, 238.1, 296.1, 354.2, 412.3, 481.9, 557.4, 603.9, 621.3, 644.5, 679.4, 702.6, 720}
	y := []float64{1.3, 1.5, 1.85, 2.1, 2.6, 2.7, 2.4, 2.15, 2.05, 2.1, 2.25, 2.3, 2.25, 1.95, 1.4, 0.9, 0.7, 0.6, 0.5, 0.4, 1.3}
	var points []Point
	for i := range x {
		points = append(points, Point{deg(x[i]), mm(y[i])})
	}
	return points
}

func spline(o one) {
	fit := map[string]Fit{"periodic": Periodic, "natural": Natural}[o.row.In["fit"]]
	m, err := NewMeasured(issuePoints(), fit)
	o.ok(err)
	at, err := m.At(o.angle("angle"))
	o.ok(err)
	o.is("lift", at.Lift.Millimetres())
	o.is("velocity", at.Velocity.Millimetres())
	o.is("acceleration", at.Acceleration.Millimetres())
}

func peaks(o one) PeakFactors {
	law, err := ParseLaw(o.row.In["motion"])
	o.ok(err)
	p, err := Peaks(law)
	o.ok(err)
	return p
}

func peaksOfVelocityAndAcceleration(o one) {
	p := peaks(o)
	o.is("velocity", p.Velocity)
	o.is("acceleration", p.Acceleration)
}

var evaluations = map[string]func(o one){
	"overlap.check": func(o one) {
		timing, err := Events{InletOpens: o.angle("inlet opens"), ExhaustCloses: o.angle("exhaust closes")}.Timing()
		o.ok(err)
		o.is("overlap", unit("deg", float64(timing.Overlap)))
	},
	"dead-centre.check": func(o one) {
		d, err := DeadCentreByStop(o.angle("before"), o.angle("after"))
		o.ok(err)
		o.is("shift", unit("deg", float64(d.Shift)))
		o.is("reading", unit("deg", float64(d.Reading)))
	},
	"wahl.check": func(o one) {
		k, err := WahlFactor(o.in("index"))
		o.ok(err)
		o.is("factor", k)
	},
	"wahl-guide.check": func(o one) {
		k, err := WahlFactor(o.in("index"))
		o.ok(err)
		o.is("factor", k)
	},
	"spring-music-wire.check": func(o one) {
		w := o.wire()
		index := float64(w.MeanDiameter / w.Diameter)
		o.is("index", index)
		k, err := BergstraesserFactor(index)
		o.ok(err)
		o.is("factor", k)
		rate, err := w.Rate()
		o.ok(err)
		o.is("rate", unit("lbf/in", float64(rate)))
	},
	"spring-si.check": func(o one) {
		w := o.wire()
		rate, err := w.Rate()
		o.ok(err)
		o.is("rate", float64(rate))
		k, err := WahlFactor(float64(w.MeanDiameter / w.Diameter))
		o.ok(err)
		o.is("factor", k)
		stress, err := w.Stress(quantity.Force(o.in("load")))
		o.ok(err)
		o.is("stress", unit("MPa", float64(stress)))
	},
	"spring-si-rate.check": func(o one) {
		rate, err := o.wire().Rate()
		o.ok(err)
		o.is("rate", unit("N/mm", float64(rate)))
	},
	"spring-surge.check": func(o one) {
		w := o.wire()
		w.Density = quantity.Density(o.in("density"))
		rate, err := w.Rate()
		o.ok(err)
		o.is("rate", unit("N/mm", float64(rate)))
		mass, err := w.ActiveMass()
		o.ok(err)
		o.is("mass", unit("g", float64(mass)))
		surge, err := w.Surge()
		o.ok(err)
		o.is("surge", float64(surge))
	},
	"cycloidal-rise.check": func(o one) {
		law, err := ParseLaw(o.row.In["motion"])
		o.ok(err)
		m, err := Rise(law, o.length("lift"), o.angle("span"), o.angle("angle"))
		o.ok(err)
		o.is("lift at", m.Lift.Millimetres())
		o.is("velocity", m.Velocity.Millimetres()*degree)
		o.is("acceleration", m.Acceleration.Millimetres()*degree*degree)
	},
	"peak-factors.check":      peaksOfVelocityAndAcceleration,
	"peak-factors-4567.check": peaksOfVelocityAndAcceleration,
	"peak-jerk.check":         func(o one) { o.is("jerk", peaks(o).Jerk) },
	"harmonic-peaks.check": func(o one) {
		speed := quantity.Frequency(o.in("speed"))
		middle, err := Rise(Harmonic, o.length("lift"), o.angle("span"), o.angle("span")/2)
		o.ok(err)
		v, _, _, err := middle.AtSpeed(speed)
		o.ok(err)
		o.is("velocity", 100*float64(v))
		start, err := Rise(Harmonic, o.length("lift"), o.angle("span"), 0)
		o.ok(err)
		_, a, _, err := start.AtSpeed(speed)
		o.ok(err)
		o.is("acceleration", float64(a))
	},
	"spline-periodic.check": spline,
	"spline-natural.check":  spline,
}

// TestPublished runs every row of every check file: those of others, and ours.
func TestPublished(t *testing.T) {
	files := check.Glob(t, "testdata/published/*.check")
	files = append(files, check.Glob(t, "testdata/ours/*.check")...)
	seen := map[string]bool{}
	for _, f := range files {
		name := filepath.Base(f.Path)
		seen[name] = true
		evaluate, ok := evaluations[name]
		if !ok {
			t.Errorf("%s: nothing here evaluates it", f.Path)
			continue
		}
		for _, row := range f.Rows {
			t.Run(name+":"+strconv.Itoa(row.Line), func(t *testing.T) { evaluate(one{t, f, row}) })
		}
	}
	for name := range evaluations {
		if !seen[name] {
			t.Errorf("no check file is called %s", name)
		}
	}
}

// The exact peak acceleration of the 4-5-6-7 polynomial, which the handbook table
// misprints, found on the curve itself.
func TestPeakOf4567(t *testing.T) {
	most := 0.0
	for i := range 100001 {
		m, err := Rise(Polynomial4567, 1, 1, quantity.Angle(float64(i)/100000))
		if err != nil {
			t.Fatal(err)
		}
		most = math.Max(most, float64(m.Acceleration))
	}
	if math.Abs(most-7.51319) > 1e-5 {
		t.Errorf("peak acceleration %.7f, want 7.51319 = 84√5/25", most)
	}
}
