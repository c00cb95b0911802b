package bench

import (
	"math"
	"testing"

	"buttonup/formula"
)

func BenchmarkMonteCarlo(b *testing.B) {
	p := prepare(b, generate(seed, 1))
	for _, c := range []struct {
		name    string
		ids     []formula.NodeID
		workers int
	}{{"20 outputs, 1 worker", p.outputs, 1}, {"20 outputs, 2 workers", p.outputs, 2}, {"all 300, 1 worker", p.all, 1}} {
		b.Run(c.name, func(b *testing.B) {
			const n = 1_000_000
			for b.Loop() {
				if _, err := p.graph.MonteCarlo(c.ids, p.values, p.distribution, formula.Sampling{Samples: n, Seed: 1, Probability: 0.99, Workers: c.workers}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/sample")
		})
	}
}

func BenchmarkFirstOrder(b *testing.B) {
	p := prepare(b, generate(seed, 1))
	b.Run("tape", func(b *testing.B) {
		tape := p.graph.NewTape(p.outputs)
		out := make([]formula.FirstOrder, len(p.outputs))
		for b.Loop() {
			if !tape.Propagate(p.values, p.distribution, out) {
				b.Fatal("an output has no value")
			}
		}
	})
	b.Run("evaluate and gradient", func(b *testing.B) {
		slope := make([]float64, len(p.graph.Inputs))
		var touched []int32
		for b.Loop() {
			p.graph.Evaluate(p.values)
			for _, id := range p.outputs {
				touched = p.graph.Gradient(id, p.values, slope, touched[:0])
				v := 0.0
				for _, t := range touched {
					c := slope[t] * p.distribution.Debts[t][0].U
					v += c * c
					slope[t] = 0
				}
				_ = math.Sqrt(v)
			}
		}
	})
}
