package measure

import (
	"fmt"
	"math"
	"sort"
)

// Conformity is what a measured value proves about a tolerance. The zero value
// claims nothing.
type Conformity string

// The three answers of [DecideConformity], in the words that are printed.
const (
	// ProvenConforming: the whole of value ± U lies within the limits.
	ProvenConforming Conformity = "conforms"
	// ProvenNonconforming: the whole of value ± U lies beyond a limit.
	ProvenNonconforming Conformity = "does-not-conform"
	// ConformityUnproven: value ± U holds a limit, so neither is proven.
	ConformityUnproven Conformity = "too-close"
)

// DecideConformity says whether a measured value proves that a tolerance is kept,
// proves that it is not, or is too close to a limit to prove either.
//
//	conforms          T_L + U ≤ y ≤ T_U − U
//	does not conform  y < T_L − U or y > T_U + U
//	too close         otherwise
//
// y is value and U is expanded, the expanded uncertainty, in this project with
// coverage factor 2; lower is T_L and upper T_U, of which one may be nil. The limits
// belong to the tolerance: a value on one conforms if U is zero. All are in one
// unit. What differs from the edge of a rule by no more than the rounding of the
// numbers lies on it.
//
// DecideConformity returns an error if a number is not finite, U is negative, there
// is no limit, or the lower limit lies above the upper one.
//
// Source: ISO 14253-1, decision rules for proving conformity or nonconformity with
// specifications. Seen: the rule restated on public pages; the standard itself not
// seen. Its 2017 edition lets the guard band be smaller where a probability is
// agreed; that is left out here, as [ConformanceProbability] gives the probability.
func DecideConformity(value, expanded float64, lower, upper *float64) (Conformity, error) {
	if err := checkDecision(value, "expanded uncertainty", expanded, lower, upper); err != nil {
		return "", err
	}
	if size := math.Abs(value) + expanded + magnitude(lower) + magnitude(upper); math.IsInf(size, 1) {
		return "", fmt.Errorf("value %v ± %v and its limits are too large to be compared", value, expanded)
	}
	low, high := value-expanded, value+expanded
	if lower != nil && past(*lower, high) || upper != nil && past(low, *upper) {
		return ProvenNonconforming, nil
	}
	if lower != nil && past(*lower, low) || upper != nil && past(high, *upper) {
		return ConformityUnproven, nil
	}
	return ProvenConforming, nil
}

func magnitude(limit *float64) float64 {
	if limit == nil {
		return 0
	}
	return math.Abs(*limit)
}

// ConformanceProbability returns the probability that the quantity measured lies
// within its limits, given the measured value and nothing else.
//
//	p_c = Φ((T_U − y)/u) − Φ((T_L − y)/u)
//
// y is value and u is standard, the standard uncertainty; lower is T_L and upper
// T_U, of which one may be nil. All are in one unit.
//
// The value is taken as normally distributed whatever the degrees of freedom of u.
// With few of them the true tails are longer and a small probability of being wrong
// is understated: it is given as 0.020 where ten degrees of freedom make it 0.034.
// If u is zero the probability is 1 within the limits or on one, and 0 beyond.
//
// ConformanceProbability returns an error if a number is not finite, u is negative,
// there is no limit, or the lower limit lies above the upper one. It never returns
// NaN.
//
// Source: JCGM 106:2012, 7.2 to 7.4. Not seen.
func ConformanceProbability(value, standard float64, lower, upper *float64) (float64, error) {
	if err := checkDecision(value, "standard uncertainty", standard, lower, upper); err != nil {
		return 0, err
	}
	if standard == 0 {
		if c, _ := DecideConformity(value, 0, lower, upper); c == ProvenConforming {
			return 1, nil
		}
		return 0, nil
	}
	from, to := math.Inf(-1), math.Inf(1)
	if lower != nil {
		from = (*lower - value) / standard
	}
	if upper != nil {
		to = (*upper - value) / standard
	}
	return normalBetween(from, to), nil
}

func checkDecision(value float64, name string, uncertainty float64, lower, upper *float64) error {
	if !isFinite(value) {
		return fmt.Errorf("value %v must be a finite number", value)
	}
	if !(uncertainty >= 0) || math.IsInf(uncertainty, 1) {
		return fmt.Errorf("%s %v must be zero or above and finite", name, uncertainty)
	}
	return checkLimits(lower, upper)
}

func checkLimits(lower, upper *float64) error {
	if lower == nil && upper == nil {
		return fmt.Errorf("there is no limit to compare with; give a lower or an upper one, or both")
	}
	for _, limit := range []*float64{lower, upper} {
		if limit != nil && !isFinite(*limit) {
			return fmt.Errorf("limit %v must be a finite number; leave it out where there is none", *limit)
		}
	}
	if lower != nil && upper != nil && *lower > *upper {
		return fmt.Errorf("lower limit %v lies above the upper limit %v; exchange them", *lower, *upper)
	}
	return nil
}

// FalseAccept returns the risk that a part is accepted although it is out of
// tolerance, over a whole process that makes parts and measures each once.
//
//	unconditional = ∫ φ(x/σ_p)/σ_p · [Φ((A_U − x)/u) − Φ((A_L − x)/u)] dx over x beyond T_L…T_U
//	conditional   = unconditional/P(accepted)
//	A_L = T_L + g,  A_U = T_U − g
//
// unconditional is the share of bad parts that pass among all parts made, and
// conditional their share among the parts accepted. σ_p is processSD, the standard
// deviation of the parts as made, and u is measurementSD, the standard uncertainty
// of a reading; both are taken as normally distributed. lower is T_L and upper T_U,
// measured from the mean of the process; one may be nil. g is guard, by which the
// limits of acceptance are drawn in: 0 accepts whatever reads within tolerance, 2u
// is the rule of [DecideConformity], and a negative guard accepts beyond the limits.
// All are in one unit. The absolute error is below 1e-12.
//
// FalseAccept returns an error if a standard deviation is not above zero, a number
// is not finite, there is no limit, the limits are reversed, the guard leaves nothing
// between them, nothing is ever accepted, or the sizes are too unequal for a float64.
// It never returns NaN.
//
// Source: JCGM 106:2012, 9.5, global consumer's risk; the conditional form is that of
// the draft recommended practice whose tables the tests use. Not seen.
func FalseAccept(processSD, measurementSD float64, lower, upper *float64, guard float64) (unconditional, conditional float64, err error) {
	q, err := newInspection(processSD, measurementSD, lower, upper, guard)
	if err != nil {
		return 0, 0, err
	}
	accepted := normalBetween(q.acceptLow/q.spread(), q.acceptHigh/q.spread())
	if accepted == 0 {
		return 0, 0, fmt.Errorf("no part would ever be accepted: limits and process do not meet")
	}
	unconditional = q.integral(func(x float64) float64 {
		if x >= q.low && x <= q.high {
			return 0
		}
		return normalBetween((q.acceptLow-x)/q.u, (q.acceptHigh-x)/q.u)
	})
	return unconditional, math.Min(1, unconditional/accepted), nil
}

// FalseReject returns the risk that a part is rejected although it is within
// tolerance, over a whole process that makes parts and measures each once.
//
//	unconditional = ∫ φ(x/σ_p)/σ_p · [1 − Φ((A_U − x)/u) + Φ((A_L − x)/u)] dx over x within T_L…T_U
//	conditional   = unconditional/P(rejected)
//
// unconditional is the share of good parts that fail among all parts made, and
// conditional their share among the parts rejected. The arguments, the errors and
// the accuracy are those of [FalseAccept]; it is an error if nothing is ever
// rejected. FalseReject never returns NaN.
//
// Source: JCGM 106:2012, 9.5, global producer's risk. Not seen.
func FalseReject(processSD, measurementSD float64, lower, upper *float64, guard float64) (unconditional, conditional float64, err error) {
	q, err := newInspection(processSD, measurementSD, lower, upper, guard)
	if err != nil {
		return 0, 0, err
	}
	rejected := normalCDF(q.acceptLow/q.spread()) + normalCDF(-q.acceptHigh/q.spread())
	if rejected == 0 {
		return 0, 0, fmt.Errorf("no part would ever be rejected: the limits are too wide for the process")
	}
	unconditional = q.integral(func(x float64) float64 {
		if x < q.low || x > q.high {
			return 0
		}
		return normalCDF((q.acceptLow-x)/q.u) + normalCDF((x-q.acceptHigh)/q.u)
	})
	return unconditional, math.Min(1, unconditional/rejected), nil
}

// inspection is a process with its limits, in units of its standard deviation; a
// limit that is not there is infinite.
type inspection struct {
	u                     float64
	low, high             float64
	acceptLow, acceptHigh float64
}

func newInspection(processSD, measurementSD float64, lower, upper *float64, guard float64) (inspection, error) {
	if !(processSD > 0) || math.IsInf(processSD, 1) {
		return inspection{}, fmt.Errorf("standard deviation %v of the process must be above zero and finite", processSD)
	}
	if !(measurementSD > 0) || math.IsInf(measurementSD, 1) {
		return inspection{}, fmt.Errorf("standard uncertainty %v of the measurement must be above zero and finite", measurementSD)
	}
	if !isFinite(guard) {
		return inspection{}, fmt.Errorf("guard band %v must be a finite number", guard)
	}
	if err := checkLimits(lower, upper); err != nil {
		return inspection{}, err
	}
	if lower != nil && upper != nil && *lower+guard > *upper-guard {
		return inspection{}, fmt.Errorf("a guard band of %v at both limits leaves nothing of the tolerance %v … %v", guard, *lower, *upper)
	}
	q := inspection{u: measurementSD / processSD, low: math.Inf(-1), high: math.Inf(1)}
	band := guard / processSD
	if !(q.u > 0) || !isFinite(q.u) || !isFinite(band) {
		return inspection{}, fmt.Errorf("standard uncertainty %v and guard band %v cannot be compared with a process of standard deviation %v", measurementSD, guard, processSD)
	}
	if lower != nil {
		q.low = *lower / processSD
	}
	if upper != nil {
		q.high = *upper / processSD
	}
	q.acceptLow, q.acceptHigh = q.low+band, q.high-band
	return q, nil
}

// spread is the standard deviation of what is read.
func (q inspection) spread() float64 { return math.Hypot(1, q.u) }

// integral is ∫ φ(x)·chance(x) dx, where chance changes within a few u of the
// limits of acceptance, jumps at the limits of tolerance and is flat elsewhere.
func (q inspection) integral(chance func(x float64) float64) float64 {
	const far = 9 // standard deviations; a normal tail beyond it is 1e-19
	breaks := []float64{-far, far}
	for _, x := range []float64{
		q.low, q.high,
		q.acceptLow - far*q.u, q.acceptLow + far*q.u,
		q.acceptHigh - far*q.u, q.acceptHigh + far*q.u,
	} {
		if x > -far && x < far {
			breaks = append(breaks, x)
		}
	}
	sort.Float64s(breaks)
	var total sum
	for i := 1; i < len(breaks); i++ {
		from, to := breaks[i-1], breaks[i]
		middle := from + (to-from)/2
		scale := 1.0
		if math.Abs(middle-q.acceptLow) < far*q.u || math.Abs(middle-q.acceptHigh) < far*q.u {
			scale = math.Min(scale, q.u)
		}
		// No more than 18 scales lie between two breaks.
		panels := math.Ceil((to - from) / scale)
		for k := range int(panels) {
			half := (to - from) / panels / 2
			centre := from + (2*float64(k)+1)*half
			for j, node := range gaussNodes {
				for _, x := range []float64{centre - half*node, centre + half*node} {
					total.add(half * gaussWeights[j] * math.Exp(-x*x/2) * chance(x))
				}
			}
		}
	}
	return math.Min(1, total.total()/math.Sqrt(2*math.Pi))
}

// The positive nodes and the weights of the ten-point rule of Gauss and Legendre on
// −1…1; a test holds them to the polynomials they must integrate exactly.
var (
	gaussNodes   = [5]float64{0.1488743389816312, 0.4333953941292472, 0.6794095682990244, 0.8650633666889845, 0.9739065285171717}
	gaussWeights = [5]float64{0.2955242247147529, 0.2692667193099964, 0.2190863625159820, 0.1494513491505806, 0.0666713443086881}
)
