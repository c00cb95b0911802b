package formula

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/quantity"
)

// A pack of the size of a whole engine: 300 numbers of three to twelve terms over 400
// readings, each number naming two of those before it.
func engineSized(tb testing.TB) (*formulas, []NodeID) {
	random := rand.New(rand.NewPCG(20, 26))
	f := newFormulas(tb)
	for i := range 400 {
		f.dimension(fmt.Sprintf("d%d", i), "", quantity.OfNumber)
	}
	var ids []NodeID
	for i := range 300 {
		var terms []string
		for range 3 + random.IntN(10) {
			terms = append(terms, fmt.Sprintf("sqrt(sq(d%d) + 1) * cos(d%d / 3) / (2 + abs(d%d))", random.IntN(400), random.IntN(400), random.IntN(400)))
		}
		if i >= 2 {
			terms = append(terms, fmt.Sprintf("0.1 * n%d", random.IntN(i)), fmt.Sprintf("max(n%d, d%d)", random.IntN(i), random.IntN(400)))
		}
		ids = append(ids, f.number(fmt.Sprintf("n%d", i), strings.Join(terms, " + ")))
	}
	return f, ids
}

func BenchmarkEvaluateAndGradient(b *testing.B) {
	f, ids := engineSized(b)
	v := f.graph.NewValues()
	random := rand.New(rand.NewPCG(1, 2))
	for i := range v.Input {
		v.Input[i], v.InputStatus[i] = random.Float64()*10-5, Known
	}
	slope := make([]float64, len(f.graph.Inputs))
	var touched []int32
	b.ReportMetric(float64(f.graph.Len()), "nodes")
	b.ReportAllocs()
	for b.Loop() {
		f.graph.Evaluate(v)
		for _, id := range ids {
			touched = f.graph.Gradient(id, v, slope, touched[:0])
			for _, t := range touched {
				slope[t] = 0
			}
		}
	}
}

func BenchmarkSweep(b *testing.B) {
	f := newFormulas(b)
	f.dimension("a", "", quantity.OfNumber)
	id := f.sweep("(x - a) * (x - a) * (1 + 0.1 * sin(20 * x)) + 1", -2, 2, false)
	v := f.values(map[string]float64{"a": 0.3})
	b.ReportAllocs()
	for b.Loop() {
		f.graph.Evaluate(v)
	}
	_ = id
}
