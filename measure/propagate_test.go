package measure

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"
)

var inf = math.Inf(1)

func TestEndGauge(t *testing.T) {
	eachRow(t, "jcgm-100-h1", func(t *testing.T, r row) {
		// l = l_S + d − l_S(δα·θ + α_S·δθ) with δα = δθ = 0 at best.
		sensitivity := []float64{1, 1, 0, 0, -r.in("l_S") * r.in("theta"), -r.in("l_S") * r.in("alpha")}
		standard := []float64{r.in("u_l_S"), r.in("u_d"), r.in("u_alpha"), r.in("u_theta"), r.in("u_dalpha"), r.in("u_dtheta")}
		dof := []float64{r.in("nu_l_S"), r.in("nu_d"), inf, inf, r.in("nu_dalpha"), r.in("nu_dtheta")}
		u, by := propagate(t, sensitivity, standard, nil)
		for i, name := range []string{"by_l_S", "by_d", "by_alpha", "by_theta", "by_dalpha", "by_dtheta"} {
			r.want(name, by[i])
		}
		r.want("u_c", u)
		nu := math.Floor(effective(t, u, by, dof)) // the guide truncates
		r.want("truncated_nu", nu)
		k := factor(t, 0.99, nu)
		r.want("k99", k)
		r.want("U99", k*u)
	})
	eachRow(t, "jcgm-100-h1-pooling", func(t *testing.T, r row) {
		u, by := propagate(t, []float64{1, 1, 1}, []float64{r.in("u1"), r.in("u2"), r.in("u3")}, nil)
		r.want("u_d", u)
		r.want("nu_d", effective(t, u, by, []float64{r.in("nu1"), r.in("nu2"), r.in("nu3")}))
	})
}

// impedance is R, X and Z with their slopes by V, I and φ; I in amperes.
func impedance(v, i, phi float64) (values [3]float64, slopes [3][]float64) {
	z := v / i
	sin, cos := math.Sincos(phi)
	return [3]float64{z * cos, z * sin, z}, [3][]float64{
		{cos / i, -z * cos / i, -z * sin},
		{sin / i, -z * sin / i, z * cos},
		{1 / i, -z / i, 0},
	}
}

func TestCorrelatedInputs(t *testing.T) {
	both := func(t *testing.T, r row) {
		var lists [3][]float64
		var means, standard [3]float64
		for k, name := range []string{"V", "I", "phi"} {
			lists[k] = r.list(name)
			means[k], _, standard[k] = mean(t, lists[k])
		}
		if _, ok := r.Out["u_X"]; !ok {
			for k, name := range []string{"V", "I", "phi"} {
				r.want("mean_"+name, means[k])
				r.want("u_"+name, standard[k])
			}
			r.want("r_VI", correlate(t, lists[0], lists[1]))
			r.want("r_Vphi", correlate(t, lists[0], lists[2]))
			r.want("r_Iphi", correlate(t, lists[1], lists[2]))
		}
		means[1] /= 1000 // mA
		standard[1] /= 1000
		values, slopes := impedance(means[0], means[1], means[2])
		for k, name := range []string{"R", "X", "Z"} {
			u, _ := propagate(t, slopes[k], standard[:], func(i, j int) float64 { return correlate(t, lists[i], lists[j]) })
			if _, ok := r.Out[name]; ok {
				r.want(name, values[k])
			}
			if _, ok := r.Out["u_"+name]; ok {
				r.want("u_"+name, u)
			}
		}
	}
	eachRow(t, "jcgm-100-h2", both)
	eachRow(t, "jcgm-100-h2-reactance", both)

	eachRow(t, "jcgm-100-h2-rounded", func(t *testing.T, r row) {
		values, slopes := impedance(r.in("V"), r.in("I"), r.in("phi"))
		standard := []float64{r.in("u_V"), r.in("u_I"), r.in("u_phi")}
		given := map[[2]int]float64{{0, 1}: r.in("r_VI"), {0, 2}: r.in("r_Vphi"), {1, 2}: r.in("r_Iphi")}
		for k, name := range []string{"R", "X", "Z"} {
			u, _ := propagate(t, slopes[k], standard, func(i, j int) float64 { return given[[2]int{i, j}] })
			r.want(name, values[k])
			r.want("u_"+name, u)
		}
	})

	eachRow(t, "jcgm-100-h2-second", func(t *testing.T, r row) {
		var results [3][]float64
		v, i, phi := r.list("V"), r.list("I"), r.list("phi")
		for n := range v {
			values, _ := impedance(v[n], i[n]/1000, phi[n])
			for k := range results {
				results[k] = append(results[k], values[k])
			}
		}
		for k, name := range []string{"R", "X", "Z"} {
			m, _, u := mean(t, results[k])
			r.want(name, m)
			if name != "X" { // the guide's 0.295 is a unit of the last digit low
				r.want("u_"+name, u)
			}
		}
		r.want("r_RX", correlate(t, results[0], results[1]))
		r.want("r_RZ", correlate(t, results[0], results[2]))
		r.want("r_XZ", correlate(t, results[1], results[2]))
	})

	eachRow(t, "jcgm-100-h3", func(t *testing.T, r row) {
		rise := r.in("t") - 20
		u, _ := propagate(t, []float64{1, rise}, []float64{r.in("u_y1"), r.in("u_y2")}, func(i, j int) float64 { return r.in("r") })
		r.want("b", r.in("y1")+r.in("y2")*rise)
		r.want("u_b", u)
	})
}

func TestPooledReadings(t *testing.T) {
	eachRow(t, "jcgm-100-h5", func(t *testing.T, r row) {
		n := r.in("readings")
		sds := r.list("daily_sds")
		dof := make([]float64, len(sds))
		for i := range dof {
			dof[i] = n - 1
		}
		m, sd, _ := mean(t, r.list("daily_means"))
		pooled, nu, err := Pool(sds, dof)
		must(t, err)
		r.want("mean", m)
		r.want("sd_of_means", sd)
		r.want("pooled", pooled)
		r.want("pooled_dof", nu)
		r.want("between", math.Sqrt(n)*sd)
	})
}

func TestEffectiveDegreesOfFreedom(t *testing.T) {
	eachRow(t, "jcgm-100-g4", func(t *testing.T, r row) {
		// y is a product, so relative uncertainties combine with slope 1.
		u, by := propagate(t, []float64{1, 1, 1}, []float64{r.in("u1"), r.in("u2"), r.in("u3")}, nil)
		nu := effective(t, u, by, []float64{r.in("n1") - 1, r.in("n2") - 1, r.in("n3") - 1})
		r.want("u_c", u)
		r.want("nu_eff", nu)
		k := factor(t, r.in("p"), nu)
		r.want("k", k)
		r.want("U", k*u)
	})
	eachRow(t, "jcgm-100-g4-equal", func(t *testing.T, r row) {
		var standard, slopes, dof []float64
		for range int(r.in("count")) {
			standard, slopes, dof = append(standard, r.in("u")), append(slopes, 1), append(dof, r.in("nu"))
		}
		u, by := propagate(t, slopes, standard, nil)
		r.want("nu_eff", effective(t, u, by, dof))
	})

	// What is taken as known drops out, and nothing uncertain is known for certain.
	for _, c := range []struct {
		combined           float64
		contributions, dof []float64
		want               float64
	}{
		{5, []float64{3, 4}, []float64{inf, inf}, inf},
		{5, []float64{3, 4}, []float64{inf, 9}, 625.0 / 256 * 9},
		{3, []float64{3, 0}, []float64{7, 1}, 7},
		{0, []float64{0, 0}, []float64{7, 1}, inf},
		{0, nil, nil, inf},
	} {
		if got := effective(t, c.combined, c.contributions, c.dof); !(got == c.want || math.Abs(got-c.want) < 1e-12*c.want) {
			t.Errorf("%v: got %v, want %v", c, got, c.want)
		}
	}
}

// For independent inputs ν_eff lies between the smallest ν and the sum of them
// (JCGM 100:2008, G.4.1, note; from memory) and does not care for the unit.
func TestEffectiveDegreesOfFreedomBounds(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		n := 1 + random.IntN(6)
		slopes, standard, dof := make([]float64, n), make([]float64, n), make([]float64, n)
		least, all := inf, 0.0
		for i := range n {
			slopes[i], standard[i] = random.NormFloat64(), random.ExpFloat64()
			dof[i] = 0.5 + 30*random.Float64()
			least, all = math.Min(least, dof[i]), all+dof[i]
		}
		u, by := propagate(t, slopes, standard, nil)
		nu := effective(t, u, by, dof)
		if nu < least*(1-1e-12) || nu > all*(1+1e-12) {
			t.Fatalf("ν_eff %v outside %v … %v", nu, least, all)
		}
		for i := range n {
			standard[i] *= 1e-150
		}
		u, by = propagate(t, slopes, standard, nil)
		if small := effective(t, u, by, dof); math.Abs(small-nu) > 1e-12*nu {
			t.Fatalf("ν_eff %v in one unit and %v in another", nu, small)
		}
	}
}

func TestPropagatePublished(t *testing.T) {
	eachRow(t, "jcgm-101", func(t *testing.T, r row) {
		u, _ := propagate(t, []float64{1, 1, 1, 1}, []float64{r.in("u1"), r.in("u2"), r.in("u3"), r.in("u4")}, nil)
		r.want("u_y", u)
		r.want("half_width_95", factor(t, 0.95, inf)*u)
	})
	eachRow(t, "jcgm-101-mass", func(t *testing.T, r row) {
		// δm = (m_R + δm_R)[1 + (ρ_a − 1.2)(1/ρ_W − 1/ρ_R)] − 100 g
		total := r.in("m_R") + r.in("dm_R")
		air := r.in("rho_a") - 1.2
		w, s := 1/r.in("rho_W"), 1/r.in("rho_R")
		factorAir := 1 + air*(w-s)
		slopes := []float64{factorAir, factorAir, total * (w - s), -total * air * w * w, total * air * s * s}
		standard := []float64{r.in("u_m_R"), r.in("u_dm_R"),
			r.in("half_rho_a") / math.Sqrt(3), r.in("half_rho_W") / math.Sqrt(3), r.in("half_rho_R") / math.Sqrt(3)}
		u, _ := propagate(t, slopes, standard, nil)
		value, half := total*factorAir-100000, factor(t, 0.95, inf)*u
		r.want("dm", value)
		r.want("u_dm", u)
		r.want("low", value-half)
		r.want("high", value+half)
	})
	eachRow(t, "nist-tn-1900", func(t *testing.T, r row) {
		l0, l1, rise := r.in("L0"), r.in("L1"), r.in("T1")-r.in("T0")
		alpha := (l1 - l0) / (l0 * rise)
		slopes := []float64{-l1 / (l0 * l0 * rise), 1 / (l0 * rise), alpha / rise, -alpha / rise}
		u, _ := propagate(t, slopes, []float64{r.in("u_L0"), r.in("u_L1"), r.in("u_T0"), r.in("u_T1")}, nil)
		r.want("alpha", alpha)
		r.want("u_alpha", u)
	})
}

// Fully correlated inputs add as plain numbers, and may cancel to nothing.
func TestPropagateFullCorrelation(t *testing.T) {
	full := func(i, j int) float64 { return 1 }
	for _, c := range []struct {
		slopes, standard []float64
		want             float64
	}{
		{[]float64{1, 1, 1}, []float64{0.1, 0.2, 0.3}, 0.6},
		{[]float64{1, -1}, []float64{0.005, 0.002}, 0.003},
		{[]float64{1, -1}, []float64{0.1, 0.1}, 0},
		{[]float64{1, 1, -1}, []float64{0.1, 0.2, 0.3}, 0},
		{[]float64{2, -1, -1}, []float64{1e-200, 1e-200, 1e-200}, 0},
		{nil, nil, 0},
	} {
		got, _ := propagate(t, c.slopes, c.standard, full)
		if math.Abs(got-c.want) > 1e-15 {
			t.Errorf("%v·%v: got %v, want %v", c.slopes, c.standard, got, c.want)
		}
	}
}

// A correlation that comes from common causes can be worked out without one: the
// result of a sum over independent causes must be the same.
func TestPropagateAgreesWithCommonCauses(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		const inputs, causes = 4, 3
		var load [inputs][causes]float64 // how much an input owes to each cause
		slopes, standard := make([]float64, inputs), make([]float64, inputs)
		for i := range inputs {
			slopes[i] = random.NormFloat64()
			var squares float64
			for k := range causes {
				load[i][k] = random.NormFloat64()
				squares += load[i][k] * load[i][k]
			}
			standard[i] = math.Sqrt(squares)
		}
		got, _ := propagate(t, slopes, standard, func(i, j int) float64 {
			var product float64
			for k := range causes {
				product += load[i][k] * load[j][k]
			}
			return product / (standard[i] * standard[j])
		})
		var squares float64
		for k := range causes {
			var total float64
			for i := range inputs {
				total += slopes[i] * load[i][k]
			}
			squares += total * total
		}
		if want := math.Sqrt(squares); math.Abs(got-want) > 1e-12*want {
			t.Fatalf("got %v, want %v", got, want)
		}
	}
}

func TestPropagateExtremeSizes(t *testing.T) {
	for _, scale := range []float64{1e-300, 1, 1e300} {
		u, by := propagate(t, []float64{1, -1}, []float64{3 * scale, 4 * scale}, nil)
		if math.Abs(u/scale-5) > 1e-14 || by[1] != 4*scale {
			t.Errorf("scale %v: u %v, contributions %v", scale, u, by)
		}
	}
}

func TestPropagateRefuses(t *testing.T) {
	one := []float64{1, 1, 1}
	constant := func(r float64) func(i, j int) float64 { return func(i, j int) float64 { return r } }
	for _, c := range []struct {
		slopes, standard []float64
		correlation      func(i, j int) float64
		says             string
	}{
		{one, []float64{1, 1}, nil, "3 sensitivities for 2"},
		{one, []float64{1, -0.5, 1}, nil, "standard uncertainty -0.5 of input 1"},
		{one, []float64{1, math.NaN(), 1}, nil, "standard uncertainty NaN of input 1"},
		{one, []float64{1, 1, inf}, nil, "standard uncertainty +Inf of input 2"},
		{[]float64{inf, 1, 1}, one, nil, "sensitivity +Inf of input 0"},
		{[]float64{math.NaN(), 1, 1}, one, nil, "sensitivity NaN of input 0"},
		{[]float64{1e300, 1, 1}, []float64{1e300, 1, 1}, nil, "too large"},
		{[]float64{1, 1, 1}, []float64{1.7e308, 1.7e308, 1}, nil, "too large"},
		{one, one, constant(1.001), "correlation 1.001 of inputs 0 and 1 must lie between -1 and 1"},
		{one, one, constant(math.NaN()), "correlation NaN of inputs 0 and 1"},
		{one, []float64{0, 0, 0}, constant(-2), "correlation -2 of inputs 0 and 1"},
		{one, one, constant(-0.9), "r(0,1) = -0.9, r(0,2) = -0.9, r(1,2) = -0.9 cannot all hold together"},
	} {
		u, by, err := Propagate(c.slopes, c.standard, c.correlation)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v·%v: got %v %v %v, want an error with %q", c.slopes, c.standard, u, by, err, c.says)
		}
	}
	for _, c := range []struct {
		combined           float64
		contributions, dof []float64
		says               string
	}{
		{1, []float64{1}, []float64{1, 2}, "1 contributions for 2"},
		{-1, []float64{1}, []float64{1}, "combined standard uncertainty -1"},
		{math.NaN(), nil, nil, "combined standard uncertainty NaN"},
		{1, []float64{-1}, []float64{1}, "contribution -1 of input 0"},
		{1, []float64{1}, []float64{0}, "input 0: degrees of freedom 0"},
		{1, []float64{1}, []float64{math.NaN()}, "input 0: degrees of freedom NaN"},
		{0, []float64{1, 1}, []float64{4, 4}, "independent inputs only"},
		{1e-300, []float64{1, 1}, []float64{4, 4}, "independent inputs only"},
	} {
		if got, err := EffectiveDegreesOfFreedom(c.combined, c.contributions, c.dof); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: got %v %v, want an error with %q", c, got, err, c.says)
		}
	}
}

func TestReferenceData(t *testing.T) {
	test := func(t *testing.T, r row) {
		cell, repeated, _ := strings.Cut(r.text("data"), "|")
		var xs []float64
		for _, word := range strings.Fields(cell) {
			xs = append(xs, r.number(word))
		}
		if repeated != "" {
			words := strings.Fields(repeated)
			for range int(r.number(strings.TrimPrefix(words[2], "x"))) {
				xs = append(xs, r.number(words[0]), r.number(words[1]))
			}
		}
		m, sd, _ := mean(t, xs)
		r.want("mean", m)
		r.want("sd", sd)
	}
	eachRow(t, "nist-strd", test)
	eachRow(t, "nist-strd-hard", test)
}

// Rational arithmetic on the same float64 data has no rounding at all.
func TestMeanAgainstExact(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for _, offset := range []float64{0, 1, 92.004, 1e7, 1e12} {
		xs := make([]float64, 101)
		for k := range xs {
			xs[k] = offset + random.NormFloat64()*0.01
		}
		n := new(big.Rat).SetInt64(int64(len(xs)))
		exactMean, squares := new(big.Rat), new(big.Rat)
		for _, x := range xs {
			exactMean.Add(exactMean, new(big.Rat).SetFloat64(x))
		}
		exactMean.Quo(exactMean, n)
		for _, x := range xs {
			d := new(big.Rat).Sub(new(big.Rat).SetFloat64(x), exactMean)
			squares.Add(squares, d.Mul(d, d))
		}
		variance, _ := squares.Quo(squares, new(big.Rat).SetInt64(int64(len(xs)-1))).Float64()
		wantMean, _ := exactMean.Float64()
		m, sd, ofMean := mean(t, xs)
		if want := math.Sqrt(variance); math.Abs(sd-want) > 1e-15*want || math.Abs(ofMean-want/math.Sqrt(101)) > 1e-15*want {
			t.Errorf("offset %v: sd %.17g, of mean %.17g, want %.17g", offset, sd, ofMean, want)
		}
		// Where the readings nearly cancel, the last place is that of a reading.
		if math.Abs(m-wantMean) > 0x1p-52*(math.Abs(wantMean)+sd) {
			t.Errorf("offset %v: mean %.17g, want %.17g", offset, m, wantMean)
		}
	}
}

func TestMeanOfExtremeReadings(t *testing.T) {
	for _, scale := range []float64{1e-200, 1e200} {
		m, sd, _ := mean(t, []float64{1 * scale, 2 * scale, 3 * scale})
		if math.Abs(m/scale-2) > 1e-14 || math.Abs(sd/scale-1) > 1e-14 {
			t.Errorf("scale %v: mean %v, sd %v", scale, m, sd)
		}
	}
	if m, sd, u := mean(t, []float64{7.25, 7.25, 7.25}); m != 7.25 || sd != 0 || u != 0 {
		t.Errorf("equal readings: %v %v %v", m, sd, u)
	}
}

func TestCorrelationLaws(t *testing.T) {
	xs := []float64{1, 2, 4, 7, 11}
	ys := []float64{3, 1, 4, 1, 5}
	r := correlate(t, xs, ys)
	if back := correlate(t, ys, xs); math.Abs(back-r) > 1e-15 {
		t.Errorf("r(x,y) %v and r(y,x) %v", r, back)
	}
	scaled, line := make([]float64, len(xs)), make([]float64, len(xs))
	for k, x := range xs {
		scaled[k], line[k] = 92+1e-6*x, 5-3*x
	}
	// 1e-6 beside 92 leaves some eleven figures of the spread.
	if got := correlate(t, scaled, ys); math.Abs(got-r) > 1e-8 {
		t.Errorf("r %v after a change of unit and origin, %v before", got, r)
	}
	if got := correlate(t, xs, line); math.Abs(got+1) > 1e-15 || got < -1 {
		t.Errorf("r of a falling line is %v, want -1", got)
	}
}

func TestPoolLaws(t *testing.T) {
	s, nu, err := Pool([]float64{2, 2, 2}, []float64{1, 4, 9.5})
	must(t, err)
	if math.Abs(s-2) > 1e-15 || nu != 14.5 {
		t.Errorf("equal spreads pool to %v with %v, want 2 with 14.5", s, nu)
	}
	// s² weighted by ν: (3²·1 + 1²·3)/4 = 3.
	s, nu, err = Pool([]float64{3, 1}, []float64{1, 3})
	must(t, err)
	if math.Abs(s-math.Sqrt(3)) > 1e-15 || nu != 4 {
		t.Errorf("got %v with %v, want √3 with 4", s, nu)
	}
}

func TestReadingsRefused(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		xs   []float64
		says string
	}{
		{nil, "0 readings show no spread"},
		{[]float64{1}, "1 readings show no spread"},
		{[]float64{1, nan}, "reading 1 is NaN"},
		{[]float64{1, inf}, "reading 1 is +Inf"},
		{[]float64{1.7e308, -1.7e308}, "too far apart"},
		{[]float64{0, 1.7e308, -1.7e308, -1.7e308}, "too far apart"},
	} {
		if m, sd, u, err := Mean(c.xs); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: got %v %v %v %v, want an error with %q", c.xs, m, sd, u, err, c.says)
		}
	}
	for _, c := range []struct {
		xs, ys []float64
		says   string
	}{
		{[]float64{1, 2, 3}, []float64{1, 2}, "3 readings of one quantity and 2 of the other"},
		{[]float64{1, 2}, []float64{1, 2}, "2 pairs"},
		{[]float64{1, 1, 1}, []float64{1, 2, 3}, "all 3 readings of one quantity are 1"},
		{[]float64{1, 2, 3}, []float64{5, 5, 5}, "all 3 readings of one quantity are 5"},
		{[]float64{1, 2, nan}, []float64{1, 2, 3}, "reading 2 is NaN"},
		{[]float64{1, 2, 3, 4}, []float64{0, 1.7e308, -1.7e308, -1.7e308}, "too far apart"},
	} {
		if r, err := Correlation(c.xs, c.ys); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v %v: got %v %v, want an error with %q", c.xs, c.ys, r, err, c.says)
		}
	}
	for _, c := range []struct {
		sd, dof []float64
		says    string
	}{
		{nil, nil, "no series"},
		{[]float64{1}, []float64{1, 2}, "1 standard deviations for 2"},
		{[]float64{-1}, []float64{1}, "standard deviation -1 of series 0"},
		{[]float64{1}, []float64{0}, "series 0: degrees of freedom 0"},
		{[]float64{1, 2}, []float64{1, inf}, "series 1 has infinite"},
	} {
		if s, nu, err := Pool(c.sd, c.dof); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: got %v %v %v, want an error with %q", c, s, nu, err, c.says)
		}
	}
}
