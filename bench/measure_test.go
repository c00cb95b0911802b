//go:build unix

package bench

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"buttonup/formula"
)

var (
	what    = flag.String("what", "", "measure `first`-order, `monte`-carlo, the `gap` of valves or how `quiet` the machine is, and print it as JSON")
	path    = flag.String("model", "", "the model's `file`")
	name    = flag.String("case", "", "the case of the gaps")
	samples = flag.Int("samples", 1_000_000, "how many samples")
	workers = flag.Int("workers", 1, "how many cores")
)

// measured is what one measurement prints.
type measured struct {
	Seconds   float64      `json:"seconds"`
	Processor float64      `json:"processor,omitempty"`
	Megabytes float64      `json:"megabytes,omitempty"`
	Value     []float64    `json:"value,omitempty"`
	Standard  []float64    `json:"standard,omitempty"`
	Ends      [][2]float64 `json:"ends,omitempty"`
	Gap       []float64    `json:"gap,omitempty"`
	Angle     []float64    `json:"angle,omitempty"`
	Scaling   float64      `json:"scaling,omitempty"`
}

// TestMeasure is one measurement for bench/run.sh.
func TestMeasure(t *testing.T) {
	var out measured
	switch *what {
	case "":
		t.Skip("bench/run.sh asks for it")
	case "quiet":
		one, two := floats(1), floats(2)
		out.Seconds, out.Scaling = one, 2*one/two
	case "gap":
		out = gaps(t, *name)
	default:
		b, err := os.ReadFile(*path)
		if err != nil {
			t.Fatal(err)
		}
		m := &model{}
		if err := json.Unmarshal(b, m); err != nil {
			t.Fatal(err)
		}
		p := prepare(t, m)
		if *what == "first" {
			out = firstOrder(t, p)
		} else {
			out = monteCarlo(t, p)
		}
	}
	b, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(string(b))
}

// firstOrder computes values and standard uncertainties of the outputs from those of
// the inputs; the tape was made before, as the peer's formulas were compiled.
func firstOrder(t *testing.T, p *prepared) measured {
	tape := p.graph.NewTape(p.outputs)
	list := make([]formula.FirstOrder, len(p.outputs))
	var walls, processors []float64
	for range 100 {
		const rounds = 500
		began, before := time.Now(), processor()
		for range rounds {
			if !tape.Propagate(p.values, p.distribution, list) {
				t.Fatal("an output has no value")
			}
		}
		processors = append(processors, (processor()-before)/rounds)
		walls = append(walls, time.Since(began).Seconds()/rounds)
	}
	out := measured{Seconds: median(walls), Processor: median(processors)}
	for _, x := range list {
		out.Value, out.Standard = append(out.Value, x.Value), append(out.Standard, x.Standard)
	}
	return out
}

func monteCarlo(t *testing.T, p *prepared) measured {
	s := formula.Sampling{Samples: *samples, Seed: 1, Probability: 0.99, Workers: *workers}
	began, before := time.Now(), processor()
	list, err := p.graph.MonteCarlo(p.outputs, p.values, p.distribution, s)
	if err != nil {
		t.Fatal(err)
	}
	out := measured{Seconds: time.Since(began).Seconds(), Processor: processor() - before, Megabytes: peak()}
	for _, x := range list {
		out.Ends = append(out.Ends, [2]float64{x.Low, x.High})
	}
	return out
}

func median(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

// processor returns the seconds that this process has used.
func processor() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + 1e-6*float64(u.Utime.Usec+u.Stime.Usec)
}

// peak returns the most memory that this process has had, in MB.
func peak() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Maxrss) / 1024
}

// floats times a loop that only multiplies and adds, on some cores at a time. On a
// quiet machine two take as long as one.
func floats(n int) float64 {
	best := math.Inf(1)
	for range 3 {
		began := time.Now()
		var wait sync.WaitGroup
		for k := range n {
			wait.Go(func() {
				a, b, c, d := 1.0+float64(k), 1.1, 1.2, 1.3 // started apart, so that none is merged with another
				for range 60_000_000 {
					a, b, c, d = math.FMA(a, 0.999, 1e-3), math.FMA(b, 0.998, 2e-3), math.FMA(c, 0.997, 3e-3), math.FMA(d, 0.996, 4e-3)
				}
				runtime.KeepAlive(a + b + c + d)
			})
		}
		wait.Wait()
		best = min(best, time.Since(began).Seconds())
	}
	return best
}
