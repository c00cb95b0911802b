package formula

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// ranked is the end point that all samples, kept and sorted, would give.
func ranked(sorted []float64, p float64) float64 {
	rank := p * float64(len(sorted)-1)
	i := int(rank)
	part := rank - float64(i)
	if part == 0 {
		return sorted[i]
	}
	return sorted[i]*(1-part) + sorted[i+1]*part
}

// The windows give the very samples that sorting all of them gives, however the
// samples are divided among workers, with ties or without; and they keep few.
func TestWindowsGiveTheSamplesOfARank(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	draws := map[string]func() float64{
		"normal":      r.NormFloat64,
		"exponential": r.ExpFloat64,
		"two values":  func() float64 { return float64(r.IntN(2)) },
		"one value":   func() float64 { return 4 },
		"steps":       func() float64 { return math.Round(r.NormFloat64() * 20) },
		"half a step": func() float64 { return math.Max(0, r.NormFloat64()) },
	}
	for name, draw := range draws {
		for _, n := range []int{100, 3000, 100_000} {
			for _, probability := range []float64{0.5, 0.95} {
				for _, workers := range []int{1, 2, 5} {
					list := make([]ends, workers)
					for w := range list {
						list[w] = newEnds(probability, spreads)
					}
					all := make([]float64, 0, n)
					for len(all) < n {
						at := len(all)
						for range min(lanes, n-at) {
							all = append(all, draw())
						}
						w := r.IntN(workers)
						if workers == 5 && at < n/2 {
							w = 0 // one worker has half of it
						}
						list[w].add(all[at:])
					}
					kept := 0
					for _, upper := range []bool{false, true} {
						var windows []*window
						p := (1 - probability) / 2
						if upper {
							p = 1 - p
						}
						for w := range list {
							x := &list[w].low
							if upper {
								x = &list[w].high
							}
							windows = append(windows, x)
							kept = max(kept, len(x.kept)+len(x.fresh))
						}
						got, ok := quantile(windows)
						sorted := slices.Clone(all)
						slices.Sort(sorted)
						if want := ranked(sorted, p); !ok || got != want {
							t.Fatalf("%s, %d samples, %v, %d workers, upper %v: %v %v, want %v", name, n, probability, workers, upper, got, ok, want)
						}
					}
					if most := int(20*math.Sqrt(float64(n))) + fewestKept + lanes; kept > most {
						t.Errorf("%s, %d samples: %d are kept, want at most %d", name, n, kept, most)
					}
				}
			}
		}
	}
}

// Where the window was too narrow, that is said; a wrong sample is never given.
func TestNarrowWindowsAdmitIt(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	missed, probability := 0, 0.95
	for range 200 {
		e := newEnds(probability, 0.2)
		all := make([]float64, 0, 30_000)
		for len(all) < cap(all) {
			at := len(all)
			for range lanes {
				if len(all) < cap(all) {
					all = append(all, r.NormFloat64())
				}
			}
			e.add(all[at:])
		}
		got, ok := quantile([]*window{&e.low})
		slices.Sort(all)
		switch {
		case !ok:
			missed++
		case got != ranked(all, (1-probability)/2):
			t.Fatalf("%v, want %v", got, ranked(all, (1-probability)/2))
		}
	}
	if missed == 0 || missed == 200 {
		t.Errorf("%d of 200 windows were too narrow; some should be, and not all", missed)
	}
}
