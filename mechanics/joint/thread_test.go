package joint

import (
	"math"
	"testing"

	"buttonup/internal/check"
)

// mm2 is a square millimetre and in2 a square inch, in m².
const (
	mm2 = 1e-6
	in2 = 0.0254 * 0.0254
	lbf = 4.4482216152605
)

// each runs a test over the rows of one published file.
func each(t *testing.T, name string, do func(f *check.File, row check.Row)) {
	t.Helper()
	for _, f := range check.Glob(t, "testdata/published/"+name+".check") {
		for _, row := range f.Rows {
			do(f, row)
		}
	}
}

func TestThreadSizes(t *testing.T) {
	each(t, "thread-metric", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		f.Compare(t, row, "d2", th.PitchDiameter().Millimetres())
		f.Compare(t, row, "D1", th.MinorDiameter().Millimetres())
		f.Compare(t, row, "d3", th.RootDiameter().Millimetres())
	})
	each(t, "stress-area-metric", func(f *check.File, row check.Row) {
		f.Compare(t, row, "area", float64(thread(t, row.In["thread"]).StressArea())/mm2)
	})
	each(t, "stress-area-inch", func(f *check.File, row check.Row) {
		f.Compare(t, row, "area", float64(thread(t, row.In["thread"]).StressArea())/in2)
	})
}

// Scaling a thread scales its lengths and the square of its area; and every thread of
// the tables has root < minor < pitch < nominal diameter.
func TestThreadLaws(t *testing.T) {
	a, b := thread(t, "M10x1.5"), thread(t, "M20x3")
	for _, p := range [][2]float64{
		{float64(a.PitchDiameter()) * 2, float64(b.PitchDiameter())},
		{float64(a.RootDiameter()) * 2, float64(b.RootDiameter())},
		{float64(a.StressArea()) * 4, float64(b.StressArea())},
		{float64(a.LeadAngle()), float64(b.LeadAngle())},
	} {
		if math.Abs(p[0]-p[1]) > 1e-12*p[1] {
			t.Errorf("M10x1.5 and M20x3 do not scale: %v, %v", p[0], p[1])
		}
	}
	for _, th := range everyThread(t) {
		if !(0 < th.RootDiameter() && th.RootDiameter() < th.MinorDiameter() && th.MinorDiameter() < th.PitchDiameter() && th.PitchDiameter() < th.Diameter()) {
			t.Errorf("%v: diameters out of order", th)
		}
		root, nominal := math.Pi/4*math.Pow(float64(th.RootDiameter()), 2), math.Pi/4*math.Pow(float64(th.Diameter()), 2)
		if as := float64(th.StressArea()); !(root < as && as < nominal) {
			t.Errorf("%v: stress area %v not between those of root and nominal", th, as)
		}
		// The inch form must stay near the metric one: both estimate one real bolt.
		metric := math.Pi / 4 * math.Pow(float64(th.PitchDiameter()+th.RootDiameter())/2, 2)
		if ratio := float64(th.StressArea()) / metric; ratio < 0.95 || ratio > 1+1e-12 {
			t.Errorf("%v: the two area forms differ by %v", th, ratio)
		}
		if math.Abs(th.ThreadsPerInch()*float64(th.Pitch())-0.0254) > 1e-12 {
			t.Errorf("%v: %v threads per inch", th, th.ThreadsPerInch())
		}
	}
	var none Thread
	if none.StressArea() != 0 || none.PitchDiameter() != 0 || none.LeadAngle() != 0 || none.ThreadsPerInch() != 0 || none.Handed(true) != none {
		t.Error("the zero thread has sizes")
	}
}
