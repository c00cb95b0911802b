package assess

import (
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/measure"
	"buttonup/quantity"
)

// The chance is the integral of a normal density over the values that are judged: here
// it is summed in small steps, with no knowledge of where a verdict changes.
func TestChanceIsTheIntegral(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	bounds := func() quantity.Range {
		r := quantity.Range{Low: random.Float64(), HasLow: random.IntN(2) == 0, HasHigh: random.IntN(2) == 0}
		r.High = r.Low + random.Float64()
		return r
	}
	some := 0
	for range 400 {
		l := measure.Limits{New: bounds(), Limit: bounds(), GuardNew: random.IntN(3) == 0, Fit: random.IntN(2) == 0}
		x, standard, expanded := 2*random.Float64(), 0.01+0.3*random.Float64(), 0.3*random.Float64()
		got := chance(x, standard, expanded, l)
		const reach, steps = 6.0, 20000
		sum, before := 0.0, math.Erfc(reach/math.Sqrt2)/2
		for k := 1; k <= steps; k++ {
			z := reach * (2*float64(k)/steps - 1)
			next := math.Erfc(-z/math.Sqrt2) / 2
			if measure.Judge(x+standard*(z-reach/steps), expanded, l).Verdict != measure.TooClose {
				sum += next - before
			}
			before = next
		}
		if math.Abs(got-sum) > 0.002 {
			t.Errorf("chance(%v, %v, %v, %+v) = %v, summed %v", x, standard, expanded, l, got, sum)
		}
		if got > 0.01 && got < 0.99 {
			some++
		}
	}
	if some < 50 {
		t.Errorf("only %d chances were neither sure nor impossible", some)
	}
}
