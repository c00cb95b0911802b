package measure

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func at(x float64) *float64 { return &x }

// optional is the limit in an input cell, or nil for "none".
func (r row) optional(column string) *float64 {
	r.t.Helper()
	if r.text(column) == "none" {
		return nil
	}
	return at(r.in(column))
}

func TestConformanceProbabilityPublished(t *testing.T) {
	eachRow(t, "jcgm-106", func(t *testing.T, r row) {
		r.want("probability", conformance(t, r.in("value"), r.in("u"), r.optional("lower"), r.optional("upper")))
	})
	// The share of a normal process beyond its limits is the same integral.
	eachRow(t, "process-share", func(t *testing.T, r row) {
		mean, sd, lower, upper := r.in("mean"), r.in("sd"), r.optional("lower"), r.optional("upper")
		r.want("out", 1-conformance(t, mean, sd, lower, upper))
		r.want("below", 1-conformance(t, mean, sd, lower, nil))
		r.want("above", 1-conformance(t, mean, sd, nil, upper))
	})
}

func TestConformanceProbabilityLaws(t *testing.T) {
	lower, upper := at(25.000), at(25.030)
	for _, u := range []float64{1e-6, 0.002, 0.02, 5} {
		last := 0.0
		for y := 24.0; y <= 25.015; y += 0.0005 {
			p := conformance(t, y, u, lower, upper)
			if p < last || p > 1 {
				t.Fatalf("u %v: probability %v at %v after %v", u, p, y, last)
			}
			last = p
			mirrored := conformance(t, 50.030-y, u, lower, upper)
			if math.Abs(p-mirrored) > 1e-9 {
				t.Fatalf("u %v: %v at %v and %v at its mirror", u, p, y, mirrored)
			}
			// Two limits are failed in two ways that exclude each other.
			one := conformance(t, y, u, lower, nil) + conformance(t, y, u, nil, upper) - 1
			if math.Abs(p-one) > 1e-14 {
				t.Fatalf("u %v: %v with both limits, %v from each alone", u, p, one)
			}
		}
	}
	if p := conformance(t, 25.030, 0.01, nil, upper); p != 0.5 {
		t.Errorf("on its one limit a value conforms with %v, want 0.5", p)
	}
	// Far outside two limits a difference of probabilities near 1 would leave nothing.
	// Φ(−8) − Φ(−9), from Φ(−8) = 6.220961e-16 and Φ(−9) = 1.128588e-19 (tables of
	// the normal distribution, from memory).
	for _, y := range []float64{-8, 9} {
		if p := conformance(t, y, 1, at(0), at(1)); math.Abs(p-6.219832e-16) > 1e-21 {
			t.Errorf("at %v: %v, want 6.219832e-16", y, p)
		}
	}
}

func TestConformanceProbabilityWithoutUncertainty(t *testing.T) {
	for y, want := range map[float64]float64{25.030: 1, 25.0300001: 0, 25.000: 1, 24.999: 0, 25.01: 1} {
		if p := conformance(t, y, 0, at(25.000), at(25.030)); p != want {
			t.Errorf("at %v: %v, want %v", y, p, want)
		}
	}
}

// The doc comment says how far the normal distribution understates a small risk.
func TestNormalUnderstatesFewDegreesOfFreedom(t *testing.T) {
	z, err := NormalQuantile(0.02)
	must(t, err)
	if p := studentCDF(t, z, 10); math.Abs(p-0.034) > 0.0005 {
		t.Errorf("ten degrees of freedom make 0.020 %v, want 0.034", p)
	}
}

// The zones for limits 25.000 … 25.030 mm and U = 0.004 mm follow from the rule of
// ISO 14253-1 (from memory); the numbers are ours. In metres none of the sums is
// exact in binary.
func TestDecideConformity(t *testing.T) {
	const mm = 1e-3
	for _, c := range []struct {
		value, u     float64
		lower, upper *float64
		want         Conformity
	}{
		{25.015, 0.004, at(25.000), at(25.030), ProvenConforming},
		{25.004, 0.004, at(25.000), at(25.030), ProvenConforming},
		{25.026, 0.004, at(25.000), at(25.030), ProvenConforming},
		{25.0039, 0.004, at(25.000), at(25.030), ConformityUnproven},
		{25.0261, 0.004, at(25.000), at(25.030), ConformityUnproven},
		{25.030, 0.004, at(25.000), at(25.030), ConformityUnproven},
		{25.034, 0.004, at(25.000), at(25.030), ConformityUnproven},
		{24.996, 0.004, at(25.000), at(25.030), ConformityUnproven},
		{25.0341, 0.004, at(25.000), at(25.030), ProvenNonconforming},
		{24.9959, 0.004, at(25.000), at(25.030), ProvenNonconforming},
		// A gauge too coarse for the tolerance proves nothing in the middle of it.
		{25.015, 0.016, at(25.000), at(25.030), ConformityUnproven},
		// One limit.
		{25.026, 0.004, nil, at(25.030), ProvenConforming},
		{-9.0, 0.004, nil, at(25.030), ProvenConforming},
		{25.0341, 0.004, nil, at(25.030), ProvenNonconforming},
		{25.004, 0.004, at(25.000), nil, ProvenConforming},
		{24.9959, 0.004, at(25.000), nil, ProvenNonconforming},
		// Without uncertainty a limit belongs to the tolerance.
		{25.030, 0, at(25.000), at(25.030), ProvenConforming},
		{25.000, 0, at(25.000), at(25.030), ProvenConforming},
		{25.0301, 0, at(25.000), at(25.030), ProvenNonconforming},
		{0, 0, at(0), at(0), ProvenConforming},
	} {
		for _, unit := range []float64{1, mm, 1 / 25.4, 25.4} {
			lower, upper := c.lower, c.upper
			if lower != nil {
				lower = at(*lower * unit)
			}
			if upper != nil {
				upper = at(*upper * unit)
			}
			got, err := DecideConformity(c.value*unit, c.u*unit, lower, upper)
			if err != nil || got != c.want {
				t.Errorf("%v ± %v in units of %v: got %q %v, want %q", c.value, c.u, unit, got, err, c.want)
			}
		}
	}
	for _, c := range []struct {
		got  Conformity
		want string
	}{{ProvenConforming, "conforms"}, {ProvenNonconforming, "does-not-conform"}, {ConformityUnproven, "too-close"}} {
		if string(c.got) != c.want {
			t.Errorf("the word is %q, want %q", c.got, c.want)
		}
	}
}

// A smaller U may settle what was too close; it never turns one proof into the other.
func TestSmallerUncertaintyNeverContradicts(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for range 5000 {
		y, u := random.NormFloat64(), math.Abs(random.NormFloat64())
		lower := -random.Float64()
		upper := at(random.Float64())
		wide, err := DecideConformity(y, u, &lower, upper)
		must(t, err)
		narrow, err := DecideConformity(y, u*random.Float64(), &lower, upper)
		must(t, err)
		if wide != ConformityUnproven && narrow != wide {
			t.Fatalf("%v ± %v in %v … %v: %q, and %q with a smaller ±", y, u, lower, *upper, wide, narrow)
		}
		// What is proven at k = 2 is likely, whichever it is.
		p := conformance(t, y, u/2, &lower, upper)
		if wide == ProvenConforming && p < 0.954 || wide == ProvenNonconforming && p > 0.023 {
			t.Fatalf("%v ± %v in %v … %v: %q with probability %v", y, u, lower, *upper, wide, p)
		}
	}
}

func TestRiskPublished(t *testing.T) {
	eachRow(t, "rp-19", func(t *testing.T, r row) {
		z, err := NormalQuantile((1 + r.in("in_tolerance")) / 2)
		must(t, err)
		all, accepted, err := FalseAccept(1/z, 0.25/z, at(-1), at(1), 0)
		must(t, err)
		r.want("unconditional", 100*all)
		r.want("conditional", 100*accepted)
	})
	eachRow(t, "guarded-risk", func(t *testing.T, r row) {
		limit := r.in("limit")
		accept, _, err := FalseAccept(r.in("process"), r.in("measurement"), at(-limit), at(limit), r.in("guard"))
		must(t, err)
		reject, _, err := FalseReject(r.in("process"), r.in("measurement"), at(-limit), at(limit), r.in("guard"))
		must(t, err)
		r.want("false_accept", accept)
		r.want("false_reject", reject)
	})
}

// What is accepted is good or bad, so the two integrals are tied together by
// probabilities that need no integral: accepted = bad accepted + good − good rejected.
func TestRiskBalance(t *testing.T) {
	for _, process := range []float64{1e-3, 0.3, 1, 7, 1e4} {
		for _, u := range []float64{1e-5, 0.1, 1, 30, 1e6} {
			for _, c := range []struct {
				lower, upper *float64
				guard        float64
			}{
				{at(-1), at(1), 0}, {at(-1), at(2.5), 0.3}, {at(-2), at(2), -0.5}, {nil, at(0.7), 0.2},
				{at(-0.4), nil, 0}, {at(0.5), at(3), 0.1}, {at(-1), at(1), 1},
			} {
				accept, ofAccepted, err := FalseAccept(process, u, c.lower, c.upper, c.guard)
				if err != nil {
					if !strings.Contains(err.Error(), "ever be accepted") {
						t.Error(err)
					}
					continue
				}
				reject, ofRejected, err := FalseReject(process, u, c.lower, c.upper, c.guard)
				if err != nil {
					if !strings.Contains(err.Error(), "ever be rejected") {
						t.Error(err)
					}
					continue
				}
				low, high := c.lower, c.upper
				if low != nil {
					low = at(*low + c.guard)
				}
				if high != nil {
					high = at(*high - c.guard)
				}
				accepted := conformance(t, 0, math.Hypot(process, u), low, high)
				good := conformance(t, 0, process, c.lower, c.upper)
				if off := accept + good - reject - accepted; math.Abs(off) > 1e-12 {
					t.Errorf("σ %v, u %v, %+v: the balance is off by %v", process, u, c, off)
				}
				for _, p := range []float64{accept, ofAccepted, reject, ofRejected} {
					if !(p >= 0 && p <= 1) {
						t.Errorf("σ %v, u %v, %+v: a risk of %v", process, u, c, p)
					}
				}
			}
		}
	}
}

func TestRiskFallsWithGuard(t *testing.T) {
	accept, reject := 1.0, 0.0
	for _, guard := range []float64{-0.5, 0, 0.1, 0.25, 0.5} {
		a, _, err := FalseAccept(1, 0.25, at(-2), at(2), guard)
		must(t, err)
		r, _, err := FalseReject(1, 0.25, at(-2), at(2), guard)
		must(t, err)
		if !(a < accept && r > reject) {
			t.Errorf("guard %v: false accept %v after %v, false reject %v after %v", guard, a, accept, r, reject)
		}
		accept, reject = a, r
	}
}

// A rule of ten points integrates every power up to 19 exactly.
func TestGaussRule(t *testing.T) {
	for power := 0; power <= 18; power += 2 {
		var got float64
		for j, node := range gaussNodes {
			got += 2 * gaussWeights[j] * math.Pow(node, float64(power))
		}
		if want := 2 / float64(power+1); math.Abs(got-want) > 2e-15 {
			t.Errorf("∫ x^%d dx: got %.17g, want %.17g", power, got, want)
		}
	}
}

func TestConformityRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		value, u     float64
		lower, upper *float64
		says         string
	}{
		{nan, 1, at(0), nil, "value NaN"},
		{inf, 1, at(0), nil, "value +Inf"},
		{1, -1, at(0), nil, "uncertainty -1 must be zero or above"},
		{1, nan, at(0), nil, "uncertainty NaN"},
		{1, inf, at(0), nil, "uncertainty +Inf"},
		{1, 1, nil, nil, "there is no limit"},
		{1, 1, at(nan), nil, "limit NaN"},
		{1, 1, at(0), at(inf), "limit +Inf"},
		{1, 1, at(2), at(1), "lower limit 2 lies above the upper limit 1"},
	} {
		if got, err := DecideConformity(c.value, c.u, c.lower, c.upper); err == nil || got != "" || !strings.Contains(err.Error(), c.says) {
			t.Errorf("decide: got %q %v, want an error with %q", got, err, c.says)
		}
		if got, err := ConformanceProbability(c.value, c.u, c.lower, c.upper); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("probability: got %v %v, want an error with %q", got, err, c.says)
		}
	}
	// Sums that overflow would hide a limit.
	if got, err := DecideConformity(-1.7e308, 1.7e308, at(0), nil); err == nil || !strings.Contains(err.Error(), "too large to be compared") {
		t.Errorf("decide: got %q %v, want an error", got, err)
	}
	for _, c := range []struct {
		process, u   float64
		lower, upper *float64
		guard        float64
		says         string
	}{
		{0, 1, at(-1), at(1), 0, "standard deviation 0 of the process"},
		{1, 0, at(-1), at(1), 0, "standard uncertainty 0 of the measurement"},
		{1, nan, at(-1), at(1), 0, "standard uncertainty NaN"},
		{1, 1, nil, nil, 0, "there is no limit"},
		{1, 1, at(-1), at(1), nan, "guard band NaN"},
		{1, 1, at(-1), at(1), 1.5, "a guard band of 1.5 at both limits leaves nothing"},
		{1, 1, at(1), at(-1), 0, "exchange them"},
		{1e-300, 1e300, at(-1), at(1), 0, "cannot be compared"},
		{1e300, 1e-300, at(-1), at(1), 0, "cannot be compared"},
	} {
		for name, risk := range map[string]func(process, u float64, lower, upper *float64, guard float64) (float64, float64, error){
			"accept": FalseAccept, "reject": FalseReject,
		} {
			if a, b, err := risk(c.process, c.u, c.lower, c.upper, c.guard); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("false %s: got %v %v %v, want an error with %q", name, a, b, err, c.says)
			}
		}
	}
	if a, b, err := FalseAccept(1, 1, at(100), at(101), 0); err == nil || !strings.Contains(err.Error(), "ever be accepted") {
		t.Errorf("got %v %v %v, want an error: nothing is accepted", a, b, err)
	}
	if a, b, err := FalseReject(1, 1, at(-100), at(100), 0); err == nil || !strings.Contains(err.Error(), "ever be rejected") {
		t.Errorf("got %v %v %v, want an error: nothing is rejected", a, b, err)
	}
}

// Whatever the arguments, the answers are probabilities or an error.
func FuzzRiskIsAProbability(f *testing.F) {
	f.Add(1.0, 0.25, -2.0, 2.0, 0.1)
	f.Add(1.7e308, 1.7e308, -1.0, 1.0, 0.0)
	f.Add(5e-324, 5e-324, -5e-324, 5e-324, 0.0)
	f.Add(1.0, 1e-300, -1.0, 1.0, 0.0)
	f.Fuzz(func(t *testing.T, process, u, lower, upper, guard float64) {
		for _, limits := range [][2]*float64{{&lower, &upper}, {&lower, nil}, {nil, &upper}} {
			for name, risk := range map[string]func(process, u float64, lower, upper *float64, guard float64) (float64, float64, error){
				"accept": FalseAccept, "reject": FalseReject,
			} {
				a, b, err := risk(process, u, limits[0], limits[1], guard)
				if !(a >= 0 && a <= 1 && b >= 0 && b <= 1) {
					t.Errorf("false %s: %v and %v, %v", name, a, b, err)
				}
			}
			if p, err := ConformanceProbability(guard, u, limits[0], limits[1]); !(p >= 0 && p <= 1) {
				t.Errorf("conformance probability %v, %v", p, err)
			}
			if c, err := DecideConformity(guard, u, limits[0], limits[1]); (err == nil) == (c == "") {
				t.Errorf("decision %q with error %v", c, err)
			}
		}
	})
}
