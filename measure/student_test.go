package measure

import (
	"math"
	"strings"
	"testing"
)

func TestStudentPublished(t *testing.T) {
	// What ± 1, 2 and 3 standard deviations hold, as the table's footnote says.
	share := map[string]float64{
		"68.27": math.Erf(1 / math.Sqrt2), "90": 0.90, "95": 0.95,
		"95.45": math.Erf(2 / math.Sqrt2), "99": 0.99, "99.73": math.Erf(3 / math.Sqrt2),
	}
	eachRow(t, "nist-tn-1297-table-b1", func(t *testing.T, r row) {
		for _, name := range r.f.Columns[r.f.Inputs:] {
			r.want(name, factor(t, share[name], r.in("dof")))
		}
	})
	eachRow(t, "student-factor", func(t *testing.T, r row) {
		r.want("factor", factor(t, r.in("p"), r.in("dof")))
	})
	eachRow(t, "student-probability", func(t *testing.T, r row) {
		r.want("probability", studentCDF(t, r.in("t"), r.in("dof")))
	})
	quantile := func(t *testing.T, r row) {
		z, err := NormalQuantile(r.in("p"))
		must(t, err)
		r.want("z", z)
	}
	eachRow(t, "jcgm-106-table-1", quantile)
	eachRow(t, "normal-quantile", quantile)
}

var (
	manyDofs = []float64{0.5, 0.8, 1, 1.5, 2, 3, 4, 7.3, 16.66, 50, 999, 9999, 10001, 34000, 95000, 1e6, 9.99e6, 1.01e7, 1e9, 1e15, 1e300, math.Inf(1)}
	manyPs   = []float64{1e-9, 1e-3, 0.1, 0.3, 0.4999, 0.5, 0.5001, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.99999, 1 - 1e-9}
)

// With one, two and four degrees of freedom the distribution has a closed form.
func TestStudentClosedForms(t *testing.T) {
	for _, p := range manyPs {
		for dof, want := range map[float64]float64{
			// tan(πp/2), written for p near 1 so that nothing is lost.
			1: math.Sin(math.Pi*p/2) / math.Sin(math.Pi*(1-p)/2),
			2: p * math.Sqrt2 / math.Sqrt((1-p)*(1+p)),
		} {
			if got := factor(t, p, dof); math.Abs(got-want) > 2e-14*want {
				t.Errorf("t_p(%v) for p = %v: got %.17g, want %.17g", dof, p, got, want)
			}
		}
	}
	for _, x := range []float64{-12, -3, -1, -0.01, 0, 0.5, 2.7, 40} {
		s := x / math.Sqrt(4+x*x)
		want := 0.5 + 0.75*(s-s*s*s/3)
		if got := studentCDF(t, x, 4); math.Abs(got-want) > 1e-15 {
			t.Errorf("F(%v) with 4 degrees of freedom: got %.17g, want %.17g", x, got, want)
		}
	}
}

func TestStudentRoundTrip(t *testing.T) {
	for _, dof := range manyDofs {
		for _, p := range manyPs {
			k := factor(t, p, dof)
			// Both halves of the rest lie outside ± k.
			got, want := studentCDF(t, -k, dof), (1-p)/2
			if math.Abs(got-want) > 1e-11*want {
				t.Errorf("ν %v, p %v: k %v leaves %v below −k, want %v", dof, p, k, got, want)
			}
		}
	}
}

func TestStudentLaws(t *testing.T) {
	for i, dof := range manyDofs {
		last := 0.0
		for _, p := range manyPs {
			k := factor(t, p, dof)
			if !(k > last) {
				t.Errorf("ν %v: the factor does not grow with p, %v after %v at p = %v", dof, k, last, p)
			}
			last = k
			// Beyond some 1e15 the difference is below the last place.
			if i > 0 && factor(t, p, manyDofs[i-1]) < k*(1-1e-14) {
				t.Errorf("p %v: the factor grows from ν %v to ν %v", p, manyDofs[i-1], dof)
			}
		}
		for _, x := range []float64{0, 1e-8, 0.3, 1, 4, 60, math.Inf(1)} {
			below, above := studentCDF(t, -x, dof), studentCDF(t, x, dof)
			if math.Abs(below+above-1) > 1e-15 {
				t.Errorf("ν %v: F(−%v) + F(%v) = %v, want 1", dof, x, x, below+above)
			}
		}
		if f := studentCDF(t, math.Inf(-1), dof); f != 0 {
			t.Errorf("ν %v: F(−∞) = %v, want 0", dof, f)
		}
	}
}

// The probability must not step where the way of computing it changes: at t² ≈ 3,
// at ν = 1e4 and 1e7, and at t^2.5 = 6e-4·ν.
func TestStudentIsSmooth(t *testing.T) {
	for _, dof := range []float64{0.5, 3, 40, 9999.9, 10000.1, 50000, 200000, 9.9999e6, 1.00001e7} {
		// A step within ln F shows up whole in its fourth difference, and a smooth
		// ln F hardly does: h⁴ is 1e-12. Rounding of 2e-12, as the doc comment allows,
		// comes out sixteenfold. Nothing changes nearer to zero than ½.
		const h = 0.001
		var last [4]float64
		for n := range 11500 {
			d := math.Log(studentCDF(t, -12+h*float64(n), dof))
			for k := range last {
				d, last[k] = d-last[k], d
			}
			if n >= 4 && math.Abs(d) > 16*2e-12 {
				t.Fatalf("ν %v, t %v: ln F steps by %v", dof, -12+h*float64(n), d)
			}
		}
	}
	for _, dof := range []float64{1e4, 1e7} {
		for _, p := range manyPs {
			before, after := factor(t, p, dof*(1-1e-9)), factor(t, p, dof)
			if math.Abs(before-after) > 1e-12*after {
				t.Errorf("ν %v, p %v: the factor jumps from %.17g to %.17g", dof, p, before, after)
			}
		}
	}
}

func TestNormalLaws(t *testing.T) {
	for _, p := range []float64{1e-300, 1e-16, 1e-6, 0.02, 0.2499, 0.2501, 0.4999999, 0.5, 0.7, 0.98, 1 - 1e-12} {
		z, err := NormalQuantile(p)
		must(t, err)
		back, err := NormalCDF(z)
		must(t, err)
		// One place in z is z² places in a small p.
		if math.Abs(back-p) > 2e-13*p {
			t.Errorf("Φ(Φ⁻¹(%v)) = %v", p, back)
		}
	}
	if z, _ := NormalQuantile(0.5); z != 0 {
		t.Errorf("the median is %v, want 0", z)
	}
	for z, want := range map[float64]float64{math.Inf(-1): 0, 0: 0.5, math.Inf(1): 1} {
		if got, err := NormalCDF(z); err != nil || got != want {
			t.Errorf("Φ(%v) = %v %v, want %v", z, got, err, want)
		}
	}
}

func TestStudentRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		call func() (float64, error)
		says string
	}{
		{func() (float64, error) { return CoverageFactor(0, 5) }, "coverage probability 0"},
		{func() (float64, error) { return CoverageFactor(1, 5) }, "coverage probability 1"},
		{func() (float64, error) { return CoverageFactor(95, 5) }, "write 0.95 for 95 %"},
		{func() (float64, error) { return CoverageFactor(nan, 5) }, "coverage probability NaN"},
		{func() (float64, error) { return CoverageFactor(0.95, 0) }, "degrees of freedom 0"},
		{func() (float64, error) { return CoverageFactor(0.95, -1) }, "degrees of freedom -1"},
		{func() (float64, error) { return CoverageFactor(0.95, nan) }, "degrees of freedom NaN"},
		{func() (float64, error) { return CoverageFactor(0.95, 1e-3) }, "too large to be written"},
		{func() (float64, error) { return CoverageFactor(0.95, 5e-324) }, "too large to be written"},
		{func() (float64, error) { return StudentCDF(nan, 5) }, "t = NaN"},
		{func() (float64, error) { return StudentCDF(1, 0) }, "degrees of freedom 0"},
		{func() (float64, error) { return StudentCDF(1, nan) }, "degrees of freedom NaN"},
		{func() (float64, error) { return NormalCDF(nan) }, "z = NaN"},
		{func() (float64, error) { return NormalQuantile(0) }, "probability 0"},
		{func() (float64, error) { return NormalQuantile(1) }, "probability 1"},
		{func() (float64, error) { return NormalQuantile(nan) }, "probability NaN"},
	} {
		if x, err := c.call(); err == nil || x != 0 || !strings.Contains(err.Error(), c.says) {
			t.Errorf("got %v %v, want an error with %q", x, err, c.says)
		}
	}
}

// Whatever the arguments, the answer is a number or an error.
func FuzzStudentNeverNaN(f *testing.F) {
	f.Add(0.95, 10.0)
	f.Add(5e-324, 5e-324)
	f.Add(math.Nextafter(1, 0), 1e308)
	f.Add(-1e300, 1e-300)
	f.Add(60.0, 5e-324)                              // half of ν vanished
	f.Add(0.6800705467372135, 0.0015972222222222204) // a factor of e^709.6
	f.Fuzz(func(t *testing.T, x, dof float64) {
		for name, call := range map[string]func() (float64, error){
			"factor":   func() (float64, error) { return CoverageFactor(x, dof) },
			"student":  func() (float64, error) { return StudentCDF(x, dof) },
			"normal":   func() (float64, error) { return NormalCDF(x) },
			"quantile": func() (float64, error) { return NormalQuantile(x) },
		} {
			got, err := call()
			if err == nil && !isFinite(got) {
				t.Errorf("%s of %v, %v is %v", name, x, dof, got)
			}
			if name == "student" && err == nil && (got < 0 || got > 1) {
				t.Errorf("probability %v of %v, %v", got, x, dof)
			}
		}
	})
}
