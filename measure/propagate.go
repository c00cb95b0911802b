package measure

import (
	"fmt"
	"math"
	"strings"
)

// Propagate combines the standard uncertainties of the inputs of a formula into the
// standard uncertainty of its result, to first order.
//
//	u_c²(y) = Σᵢ Σⱼ cᵢ·cⱼ·u(xᵢ)·u(xⱼ)·r(xᵢ, xⱼ)
//	uᵢ(y)   = |cᵢ|·u(xᵢ)
//
// sensitivity holds the cᵢ, the partial derivatives of the formula at the values
// measured, and standard the u(xᵢ), both in the same order and in units whose
// products are all that of the result. correlation gives r for i < j, counted from
// 0; nil stands for independent inputs. contributions are the uᵢ(y), in the same
// order and newly made. Their squares sum to standardOut squared only where the
// inputs are independent. No input gives 0.
//
// The formula must be nearly straight over the span of its uncertainties: second
// derivatives are left out. A variance below the rounding of its own terms, as where
// two fully correlated inputs cancel, is returned as exactly 0.
//
// Propagate returns an error if the lengths differ, a number is not finite, a
// standard uncertainty is negative, a correlation lies outside −1…1, or the
// correlations cannot all hold together so that the variance comes out negative. It
// does not otherwise search for impossible correlations. It never returns NaN.
//
// Source: JCGM 100:2008, 5.1.2 and 5.1.3, equations (10), (11) and (13), and 5.2.2,
// equation (16). Seen: the text of clause 5.1; the equations are from memory.
func Propagate(sensitivity, standard []float64, correlation func(i, j int) float64) (standardOut float64, contributions []float64, err error) {
	n := len(standard)
	if len(sensitivity) != n {
		return 0, nil, fmt.Errorf("%d sensitivities for %d standard uncertainties: give one for each", len(sensitivity), n)
	}
	signed := make([]float64, n)
	contributions = make([]float64, n)
	var largest float64
	for i, u := range standard {
		if !(u >= 0) || math.IsInf(u, 1) {
			return 0, nil, fmt.Errorf("standard uncertainty %v of input %d must be zero or above and finite", u, i)
		}
		if !isFinite(sensitivity[i]) {
			return 0, nil, fmt.Errorf("sensitivity %v of input %d must be finite; the formula has no slope there", sensitivity[i], i)
		}
		signed[i] = sensitivity[i] * u
		contributions[i] = math.Abs(signed[i])
		largest = math.Max(largest, contributions[i])
	}
	if math.IsInf(largest, 1) {
		return 0, nil, fmt.Errorf("a sensitivity times its standard uncertainty is too large to be written")
	}
	if largest == 0 {
		largest = 1 // correlations are still checked
	}
	var variance, size sum // in units of largest², so that no square overflows
	add := func(term float64) {
		variance.add(term)
		size.add(math.Abs(term))
	}
	for i := range n {
		ci := signed[i] / largest
		add(ci * ci)
		if correlation == nil {
			continue
		}
		for j := i + 1; j < n; j++ {
			r := correlation(i, j)
			if !(math.Abs(r) <= 1) {
				return 0, nil, fmt.Errorf("correlation %v of inputs %d and %d must lie between -1 and 1", r, i, j)
			}
			add(2 * r * ci * (signed[j] / largest)) // (16)
		}
	}
	v := variance.total()
	rounding := 0x1p-52 * float64(n) * size.total()
	switch {
	case math.Abs(v) <= rounding:
		return 0, contributions, nil
	case v < 0:
		return 0, nil, fmt.Errorf("the correlations %s cannot all hold together: the variance would be negative; correct at least one of them", listCorrelations(n, correlation))
	}
	standardOut = largest * math.Sqrt(v)
	if math.IsInf(standardOut, 1) {
		return 0, nil, fmt.Errorf("the combined standard uncertainty is too large to be written")
	}
	return standardOut, contributions, nil
}

// listCorrelations names the correlations that are not zero, as "r(0,1) = 0.9".
func listCorrelations(n int, correlation func(i, j int) float64) string {
	const most = 10
	var named []string
	more := 0
	for i := range n {
		for j := i + 1; j < n; j++ {
			r := correlation(i, j)
			switch {
			case r == 0:
			case len(named) == most:
				more++
			default:
				named = append(named, fmt.Sprintf("r(%d,%d) = %v", i, j, r))
			}
		}
	}
	list := strings.Join(named, ", ")
	if more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}

// EffectiveDegreesOfFreedom returns how many degrees of freedom a combined standard
// uncertainty has, by the formula of Welch and Satterthwaite.
//
//	ν_eff = u_c⁴ / Σᵢ uᵢ⁴/νᵢ
//
// combined is u_c, contributions are the uᵢ and dof the νᵢ, in the same order;
// [Propagate] gives the first two. A contribution with infinite νᵢ, taken as known,
// drops out; if all do, or nothing is uncertain, the result is +Inf.
//
// The formula holds for independent contributions only. For them the result lies
// between the smallest νᵢ and the sum of all νᵢ.
//
// The result is not rounded. JCGM 100 allows both to interpolate in its table and to
// truncate to the next lower whole number; [CoverageFactor] takes any number, so
// truncation is left to the caller. It is the cautious choice, as it makes the
// factor larger, and the one to take where a result is to be checked against a
// printed table; a result below 1 must not be truncated to 0.
//
// EffectiveDegreesOfFreedom returns an error if the lengths differ, an uncertainty
// is negative or not finite, a νᵢ is not above zero, or combined is zero, or
// vanishingly small, while a contribution with finite νᵢ is not, as happens where
// correlated inputs cancel. It never returns NaN.
//
// Source: JCGM 100:2008, G.4.1, equation (G.2b), and G.6.4. Seen: G.6.4 with the
// equation as quoted on a public page; G.4.1 from memory.
func EffectiveDegreesOfFreedom(combined float64, contributions, dof []float64) (float64, error) {
	if len(contributions) != len(dof) {
		return 0, fmt.Errorf("%d contributions for %d degrees of freedom: give one for each", len(contributions), len(dof))
	}
	if !(combined >= 0) || math.IsInf(combined, 1) {
		return 0, fmt.Errorf("combined standard uncertainty %v must be zero or above and finite", combined)
	}
	var denominator sum // in units of u_c⁴
	for i, u := range contributions {
		if !(u >= 0) || math.IsInf(u, 1) {
			return 0, fmt.Errorf("contribution %v of input %d must be zero or above and finite", u, i)
		}
		if err := checkDof(dof[i]); err != nil {
			return 0, fmt.Errorf("input %d: %w", i, err)
		}
		if u == 0 || math.IsInf(dof[i], 1) {
			continue
		}
		share := u / combined
		share *= share
		denominator.add(share * share / dof[i])
	}
	d := denominator.total()
	if d == 0 {
		return math.Inf(1), nil
	}
	if nu := 1 / d; nu > 0 { // false too where d overflowed
		return nu, nil
	}
	return 0, fmt.Errorf("combined standard uncertainty %v is nothing beside its contributions, so it has no degrees of freedom; the formula holds for independent inputs only", combined)
}

// Mean returns the mean of repeated readings, their standard deviation and the
// standard uncertainty of the mean.
//
//	x̄ = Σ xₖ/n,  s² = Σ (xₖ − x̄)²/(n − 1),  s(x̄) = s/√n
//
// xs holds the n readings in any order; the uncertainty has n − 1 degrees of
// freedom. Differences are taken from the first reading and then from the mean, so
// that readings which differ only in their last digits lose nothing.
//
// Mean returns an error for fewer than two readings, since one shows no spread, and
// if a reading or a result is not finite. It never returns NaN.
//
// Source: JCGM 100:2008, 4.2.1 to 4.2.3, equations (3) to (5). Not seen.
func Mean(xs []float64) (mean, sd, standardOfMean float64, err error) {
	n := float64(len(xs))
	if n < 2 {
		return 0, 0, 0, fmt.Errorf("%d readings show no spread; take two or more, or give the uncertainty from what is known of the instrument", len(xs))
	}
	deviations, mean, err := deviations(xs)
	if err != nil {
		return 0, 0, 0, err
	}
	sd = norm(deviations) / math.Sqrt(n-1)
	if !isFinite(sd) {
		return 0, 0, 0, fmt.Errorf("the readings lie too far apart for their standard deviation to be written")
	}
	return mean, sd, sd / math.Sqrt(n), nil
}

// Correlation returns the correlation coefficient of readings taken in pairs, which
// is that of their means too.
//
//	r = Σ (xₖ − x̄)(yₖ − ȳ) / √[Σ (xₖ − x̄)²·Σ (yₖ − ȳ)²]
//
// xs[k] and ys[k] were read together. The result lies in −1…1.
//
// Correlation returns an error if the lengths differ, for fewer than three pairs
// (two always lie on a line and give ±1), if a reading is not finite, and if all xs
// or all ys are the same, for which r is not defined. It never returns NaN.
//
// Source: JCGM 100:2008, 5.2.2, equation (14), and 5.2.3, equation (17). Not seen.
func Correlation(xs, ys []float64) (float64, error) {
	if len(xs) != len(ys) {
		return 0, fmt.Errorf("%d readings of one quantity and %d of the other: give them in pairs", len(xs), len(ys))
	}
	if len(xs) < 3 {
		return 0, fmt.Errorf("%d pairs of readings say nothing of a correlation; take three or more", len(xs))
	}
	var unit [2][]float64
	for i, list := range [][]float64{xs, ys} {
		d, _, err := deviations(list)
		if err != nil {
			return 0, err
		}
		length := norm(d)
		if length == 0 {
			return 0, fmt.Errorf("all %d readings of one quantity are %v, so there is nothing to correlate; take them as independent", len(list), list[0])
		}
		if !isFinite(length) {
			return 0, fmt.Errorf("the readings lie too far apart to be correlated")
		}
		for k := range d {
			d[k] /= length
		}
		unit[i] = d
	}
	var r sum
	for k, x := range unit[0] {
		r.add(x * unit[1][k])
	}
	return math.Max(-1, math.Min(1, r.total())), nil
}

// Pool joins the standard deviations of several series of readings, taken of
// different things by the same means, into one with more degrees of freedom.
//
//	s_p² = Σ νᵢ·sᵢ²/Σ νᵢ,  ν_p = Σ νᵢ
//
// sd holds the sᵢ and dof the νᵢ, in the same order; for a series of n readings ν is
// n − 1. It is only right where the true spread of all series is the same.
//
// Pool returns an error if there is no series, the lengths differ, an sᵢ is negative
// or not finite, or a νᵢ is not above zero or infinite. It never returns NaN.
//
// Source: JCGM 100:2008, 4.2.4 and the example H.5.2.2. Not seen.
func Pool(sd, dof []float64) (pooled, pooledDof float64, err error) {
	if len(sd) != len(dof) {
		return 0, 0, fmt.Errorf("%d standard deviations for %d degrees of freedom: give one for each", len(sd), len(dof))
	}
	if len(sd) == 0 {
		return 0, 0, fmt.Errorf("there is no series of readings to pool")
	}
	var freedom sum
	weighted := make([]float64, len(sd))
	for i, s := range sd {
		if !(s >= 0) || math.IsInf(s, 1) {
			return 0, 0, fmt.Errorf("standard deviation %v of series %d must be zero or above and finite", s, i)
		}
		if err := checkDof(dof[i]); err != nil {
			return 0, 0, fmt.Errorf("series %d: %w", i, err)
		}
		if math.IsInf(dof[i], 1) {
			return 0, 0, fmt.Errorf("series %d has infinite degrees of freedom and would outweigh all others; leave the others out", i)
		}
		freedom.add(dof[i])
		weighted[i] = s * math.Sqrt(dof[i])
	}
	pooledDof = freedom.total()
	pooled = norm(weighted) / math.Sqrt(pooledDof)
	if !isFinite(pooledDof) || !isFinite(pooled) {
		return 0, 0, fmt.Errorf("the pooled standard deviation is too large to be written")
	}
	return pooled, pooledDof, nil
}

// deviations gives xₖ − x̄ in a new slice, and x̄.
func deviations(xs []float64) ([]float64, float64, error) {
	n := float64(len(xs))
	for k, x := range xs {
		if !isFinite(x) {
			return nil, 0, fmt.Errorf("reading %d is %v, which is no reading", k, x)
		}
	}
	d := make([]float64, len(xs))
	var first, second sum
	for k, x := range xs {
		d[k] = x - xs[0] // exact for readings that lie close together
		first.add(d[k])
	}
	shift := first.total() / n
	if !isFinite(shift) {
		return nil, 0, fmt.Errorf("the readings lie too far apart to be averaged")
	}
	for k := range d {
		d[k] -= shift
		second.add(d[k])
	}
	// What rounding left in the mean is taken out of the deviations and put back.
	rest := second.total() / n
	for k := range d {
		d[k] -= rest
	}
	return d, xs[0] + (shift + rest), nil
}

// norm is √Σ vₖ², scaled so that no square overflows or vanishes.
func norm(v []float64) float64 {
	var largest float64
	for _, x := range v {
		largest = math.Max(largest, math.Abs(x))
	}
	if largest == 0 {
		return 0
	}
	var squares sum
	for _, x := range v {
		q := x / largest
		squares.add(q * q)
	}
	return largest * math.Sqrt(squares.total())
}

// sum adds numbers and keeps what each addition rounds off (Neumaier's rule).
type sum struct{ value, lost float64 }

func (s *sum) add(x float64) {
	t := s.value + x
	if math.Abs(s.value) >= math.Abs(x) {
		s.lost += (s.value - t) + x
	} else {
		s.lost += (x - t) + s.value
	}
	s.value = t
}

// total is the sum so far. A sum that overflowed has lost NaN and stays infinite.
func (s *sum) total() float64 {
	if math.IsInf(s.value, 0) {
		return s.value
	}
	return s.value + s.lost
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
