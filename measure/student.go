package measure

import (
	"fmt"
	"math"
)

// CoverageFactor returns the two-sided Student factor t_p(ν): a quantity that
// follows the t-distribution lies within ± that factor with probability p.
//
//	∫ f_ν(t) dt from −t_p to +t_p = p
//
// p is the coverage probability and dof the degrees of freedom ν, which need not be
// whole and may be +Inf, where the factor is that of the normal distribution. No
// rounding of ν is done here: see [EffectiveDegreesOfFreedom].
//
// The relative error, for p taken exactly as it is stored, is below 1e-12 for ν ≥ 0.1.
// Smaller ν lose figures in proportion to 1/ν. Close to 1 a change of p in its last
// place moves the factor: by 11 % of itself at 1 − 1e-15 and ν = 1.
//
// Valid for 0 < p < 1 and ν > 0. CoverageFactor returns an error outside that range
// and where the factor is too large for a float64. It never returns NaN.
//
// Source: the definition of t_p(ν), JCGM 100:2008, Annex G.3 and Table G.2. Seen:
// the same table as NIST Technical Note 1297, Table B.1.
func CoverageFactor(p, dof float64) (float64, error) {
	if !(p > 0 && p < 1) {
		return 0, fmt.Errorf("coverage probability %v must lie above 0 and below 1; write 0.95 for 95 %%", p)
	}
	if err := checkDof(dof); err != nil {
		return 0, err
	}
	// The factor falls as ν grows, so the normal one is below every other.
	low := math.Log(-normalQuantile((1 - p) / 2))
	if p < 0.5 {
		// (1 − p)/2 rounds away what a small p says; Φ is a straight line there.
		low = math.Log(centralNormalQuantile(p))
	}
	if math.IsInf(dof, 1) {
		return math.Exp(low), nil
	}
	// Sought is y = ln t, where both tails are smooth and no t overflows. Of p and
	// 1 − p the smaller one is matched, since the larger one hides the figures.
	miss := func(y float64) (f, slope float64) {
		central, tail, density := studentTwoSided(y, dof)
		if p > 0.5 {
			return math.Log(tail) - math.Log(1-p), -2 * density / tail
		}
		return math.Log(p) - math.Log(central), -2 * density / central
	}
	const largest = 709.0 // just below ln of what a float64 holds; math.Exp(709.5) gave +Inf
	high := largest
	if f, _ := miss(high); !(f <= 0) {
		return 0, fmt.Errorf("the coverage factor for probability %v with %v degrees of freedom is too large to be written; take more readings or a smaller probability", p, dof)
	}
	y := low
	for range 200 {
		f, slope := miss(y)
		if f > 0 {
			low = y
		} else {
			high = y
		}
		next := y - f/slope
		if !(next >= low && next <= high) { // also where the slope is zero
			next = low + (high-low)/2
		}
		if math.Abs(next-y) <= 1e-15 {
			y = next
			break
		}
		y = next
	}
	return math.Exp(y), nil
}

// StudentCDF returns the probability that a quantity which follows the
// t-distribution with dof degrees of freedom is at most t.
//
//	F(t) = ½·I_x(ν/2, ½) for t ≤ 0, 1 − F(−t) for t > 0, x = ν/(ν + t²)
//
// I_x is the regularised incomplete beta function; dof is ν, which need not be whole
// and may be +Inf (the normal distribution); t may be infinite. The relative error
// of the probability, for t ≤ 0, is below 2e-12 for |t| up to 30 and ν up to 1e7.
//
// StudentCDF returns an error if t is NaN or ν is not above zero. It never returns
// NaN.
//
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1.
// Not seen.
func StudentCDF(t, dof float64) (float64, error) {
	if math.IsNaN(t) {
		return 0, fmt.Errorf("a probability was asked for at t = NaN, which is no number")
	}
	if err := checkDof(dof); err != nil {
		return 0, err
	}
	if math.IsInf(dof, 1) {
		return normalCDF(t), nil
	}
	if t == 0 {
		return 0.5, nil
	}
	central, tail, _ := studentTwoSided(math.Log(math.Abs(t)), dof)
	if t < 0 {
		return tail / 2, nil
	}
	return 0.5 + central/2, nil
}

// NormalCDF returns the probability Φ(z) that a quantity which follows the standard
// normal distribution is at most z; z may be infinite. It keeps its relative
// accuracy far into the lower tail.
//
// NormalCDF returns an error if z is NaN. It never returns NaN.
//
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.2 and
// 26.2.29. Not seen.
func NormalCDF(z float64) (float64, error) {
	if math.IsNaN(z) {
		return 0, fmt.Errorf("a probability was asked for at z = NaN, which is no number")
	}
	return normalCDF(z), nil
}

// NormalQuantile returns the z for which Φ(z) = p, the one-sided quantile of the
// standard normal distribution. The relative error is below 1e-13 for p between
// 1e-300 and 1 − 1e-10, away from p = ½, where it is the absolute error that is as
// small.
//
// Valid for 0 < p < 1. NormalQuantile returns an error outside that range. It never
// returns NaN.
//
// Source: the definition. The first guess is the error function of the standard
// library, which has few figures in the tails and is therefore improved.
func NormalQuantile(p float64) (float64, error) {
	if !(p > 0 && p < 1) {
		return 0, fmt.Errorf("probability %v must lie above 0 and below 1; write 0.95 for 95 %%", p)
	}
	return normalQuantile(p), nil
}

func checkDof(dof float64) error {
	if !(dof > 0) {
		return fmt.Errorf("degrees of freedom %v must be above zero; use n − 1 for n readings, or infinity where the uncertainty is taken as known", dof)
	}
	return nil
}

func normalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// normalBetween is Φ(b) − Φ(a) for a ≤ b, without the loss of figures that the
// difference has where both are near 1.
func normalBetween(a, b float64) float64 {
	switch {
	case a > 0:
		return normalCDF(-a) - normalCDF(-b)
	case b < 0:
		return normalCDF(b) - normalCDF(a)
	}
	return (math.Erf(b/math.Sqrt2) - math.Erf(a/math.Sqrt2)) / 2
}

func normalQuantile(p float64) float64 {
	if p > 0.5 {
		return -normalQuantile(1 - p) // 1 − p is exact here
	}
	if p > 0.25 {
		return -centralNormalQuantile(1 - 2*p) // 1 − 2p too
	}
	var z float64
	if p > 1e-6 {
		z = -math.Sqrt2 * math.Erfinv(1-2*p)
	} else {
		l := -2 * math.Log(p)
		z = -math.Sqrt(l - math.Log(2*math.Pi*l))
	}
	// Newton's rule on ln Φ, which is nearly a parabola in the tail.
	for range 20 {
		below := normalCDF(z)
		density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		if below == 0 || density == 0 {
			break // p is denormal and has no figures to improve on
		}
		step := (math.Log(below) - math.Log(p)) * below / density
		z -= step
		if math.Abs(step) <= 1e-15*math.Abs(z) {
			break
		}
	}
	return z
}

// centralNormalQuantile is the z for which Φ(z) − Φ(−z) = p, meant for p up to ½.
func centralNormalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(p) }

// nearlyNormal says where the t-distribution is taken as a normal one with a
// correction, whose first term left out is some t¹⁰/(14·ν⁴) of the tail. The
// continued fraction would need many steps there and lose figures by them.
func nearlyNormal(t, dof float64) bool {
	return dof >= 1e7 || dof >= 1e4 && math.Pow(t, 2.5) < 6e-4*dof
}

// studentTwoSided takes y = ln t and gives the probability that |T| is at most t
// (central) and above t (tail), the smaller of them without loss of figures, and
// t·f(t), f being the density.
func studentTwoSided(y, dof float64) (central, tail, density float64) {
	dof = math.Max(dof, 1e-300) // below it a half of ν may not be there; nothing else changes
	a := dof / 2
	w := 2*y - math.Log(dof) // ln(t²/ν)
	lnX := -softplus(w)      // x = ν/(ν + t²)
	lnRest := -softplus(-w)  // 1 − x
	x, rest := math.Exp(lnX), math.Exp(lnRest)
	density = math.Exp(a*lnX + lnRest/2 + lnGammaHalfStep(a) - math.Log(math.Pi)/2)
	t := math.Exp(math.Min(y, 5)) // beyond e⁵ a normal tail holds nothing
	switch {
	case nearlyNormal(t, dof):
		z := normalDeviate(t, dof)
		return math.Erf(z / math.Sqrt2), math.Erfc(z / math.Sqrt2), density
	case x < (a+1)/(a+2.5):
		tail = math.Min(1, density/a*betaFraction(a, 0.5, x))
		return 1 - tail, tail, density
	}
	central = math.Min(1, 2*density*betaFraction(0.5, a, rest))
	return central, 1 - central, density
}

// softplus is ln(1 + e^w), for any w.
func softplus(w float64) float64 {
	if w > 0 {
		return w + math.Log1p(math.Exp(-w))
	}
	return math.Log1p(math.Exp(w))
}

// lnGammaHalfStep is ln Γ(a + ½) − ln Γ(a) for a > 0. The difference of two
// logarithms from the standard library would keep no figures for large a.
//
// Source: Stirling's series. Its five terms were compared with a calculation to 50
// figures: 9e-21 off at a = 40.
func lnGammaHalfStep(a float64) float64 {
	below := 1.0
	for a < 40 {
		below *= a / (a + 0.5) // Γ(a+½)/Γ(a) = a/(a+½) · Γ(a+3/2)/Γ(a+1)
		a++
	}
	r := 1 / (a * a)
	series := (-1.0/8 + r*(1.0/192+r*(-1.0/640+r*(17.0/14336-r*31.0/18432)))) / a
	return math.Log(below) + math.Log(a)/2 + series
}

// betaFraction is the continued fraction of the incomplete beta function:
// I_x(a, b) = x^a·(1−x)^b/(a·B(a, b)) · betaFraction(a, b, x). It converges fast for
// x < (a+1)/(a+b+2), in at most some hundred steps for what is asked of it here.
//
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.5.8, summed
// by Lentz's rule. Not seen.
func betaFraction(a, b, x float64) float64 {
	const tiny = 1e-300
	off0 := func(v float64) float64 {
		if math.Abs(v) < tiny {
			return tiny
		}
		return v
	}
	c := 1.0
	d := 1 / off0(1-(a+b)*x/(a+1))
	h := d
	for m := 1.0; m < 1e6; m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d = 1 / off0(1+even*d)
		c = off0(1 + even/c)
		h *= d * c
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d = 1 / off0(1+odd*d)
		c = off0(1 + odd/c)
		h *= d * c
		if math.Abs(d*c-1) <= 0x1p-52 {
			break
		}
	}
	return h
}

// normalDeviate is the z of the normal distribution that has the same probability
// below it as t has with many degrees of freedom. Its four terms were compared with
// a calculation to 50 figures: the tail is right to 8e-13 of itself at t = 8 and
// ν = 1e5, and to 5e-14 at t = 38 and ν = 1e7, beyond which a float64 holds no tail.
//
// Source: the inverse Cornish–Fisher expansion of the t-distribution. From memory,
// hence the comparison.
func normalDeviate(t, dof float64) float64 {
	q, r := t*t, 1/dof
	return t * (1 - r*((q+1)/4-r*(((13*q+8)*q+3)/96-r*(((35*q+19)*q+1)*q-15)/384)))
}
