package sequence

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"syscall"
	"testing"
	"time"
)

// What bench/order.py asks for; bench/README.md says how it is used.
var (
	what  = flag.String("what", "", "for the benchmark: models, solve, greedy or best")
	size  = flag.Int("size", 30, "for the benchmark: how many operations")
	seed  = flag.Uint64("seed", 1, "for the benchmark: which of the problems")
	moves = flag.Int("moves", 0, "for the benchmark: moves of the annealing")
	limit = flag.Int("states", 0, "for the benchmark: states of the exact search")
	dice1 = flag.Uint64("dice", 1, "for the benchmark: which random numbers, where the best is looked for")
)

// TestMeasure is no test: it does what the benchmark asks for and prints one line.
func TestMeasure(t *testing.T) {
	if *what == "" {
		t.Skip("only for the benchmark")
	}
	p := workshop(*size, *seed)
	out := map[string]any{"size": *size, "seed": *seed}
	begin, used := time.Now(), processor()
	switch *what {
	case "models":
		q, err := prepare(p)
		if err != nil {
			t.Fatal(err)
		}
		var cost [][]int32
		for i := range q.n {
			cost = append(cost, q.cost[i*q.n:(i+1)*q.n])
		}
		out["before"], out["cost"] = p.Before, cost
	case "solve":
		r, err := Solve(p, Options{Moves: *moves, States: *limit})
		if err != nil {
			t.Fatal(err)
		}
		out["seconds"], out["processor"] = time.Since(begin).Seconds(), processor()-used
		out["cost"], out["bound"], out["proven"], out["order"] = r.Cost, r.Bound, r.Proven, r.Order
		if cost := walked(t, p, r.Order); cost != r.Cost {
			t.Fatalf("the order costs %d, and %d is said", cost, r.Cost)
		}
	case "greedy":
		q, _ := prepare(p)
		out["cost"] = q.total(q.greedy())
	case "best":
		q, _ := prepare(p)
		hot, cold := q.heat()
		out["cost"] = q.total(q.anneal(q.greedy(), *moves, hot, cold, dice(*dice1)))
		out["seconds"] = time.Since(begin).Seconds()
	}
	line, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintf(os.Stdout, "%s\n", line)
}

// processor is how many seconds this process has used.
func processor() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + 1e-6*float64(u.Utime.Usec+u.Stime.Usec)
}

// walked checks an order against the problem as it was given, and adds up what it
// costs.
func walked(t testing.TB, p *Problem, order []int) int {
	t.Helper()
	place := make(map[int]int)
	for k, i := range order {
		place[i] = k
	}
	if len(order) != len(p.Before) || len(place) != len(order) {
		t.Fatalf("%v is not an order of %d things", order, len(p.Before))
	}
	sum := 0
	for k, i := range order {
		for _, b := range p.Before[i] {
			if place[b] > k {
				t.Fatalf("%d comes before %d in %v", i, b, order)
			}
		}
		c := &p.Costs
		switch {
		case c.Table != nil && k > 0:
			sum += c.Table[order[k-1]][i]
		case c.Table != nil && c.Start != nil:
			sum += c.Start[i]
		case c.Table == nil:
			for a, w := range c.Weights {
				from := 0
				if k > 0 {
					from = c.Setups[order[k-1]][a]
					if c.Leaves != nil {
						from = c.Leaves[order[k-1]][a]
					}
				} else if c.First != nil {
					from = c.First[a]
				}
				if to := c.Setups[i][a]; from != 0 && to != 0 && from != to {
					sum += w
				}
			}
		}
	}
	return sum
}
