package basket

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
)

func TestDebug(t *testing.T) {
	fmt.Sscan(os.Getenv("CLIMB"), &climbLength, &climbWait, &climbKeep, &climbWorth, &nodeSteps, &rootSteps, &rootRounds)
	want := strings.Fields(os.Getenv("FAM"))
	for _, name := range want {
		f := familyNamed(name)
		for seed := range uint64(10) {
			p := generate(f, seed+1)
			start := time.Now()
			c := newChoices(p, p.limit(), false)
			if !c.possible(nil) {
				fmt.Println(name, seed+1, "infeasible", time.Since(start))
				r, _ := Solve(p)
				fmt.Println(r.Because, r.Where, r.Smallest, time.Since(start))
				continue
			}
			a := time.Since(start)
			c.back(0)
			c.follow()
			m := newMarket(c, p.limit())
			s := newSearch(newRelaxation(m))
			b := time.Since(start)
			if os.Getenv("ROOT") != "" {
				for _, n := range []int{100, 200, 300} {
					s.climb(n, infinite)
					fmt.Printf("%.0f ", s.lower)
				}
				fmt.Println()
				continue
			}
			s.first(p.limit(), 0)
			d := time.Since(start)
			fmt.Println(name, seed+1, "first UB", s.best.Total, "LB", s.record.lower, "cols", len(m.column), "rows", len(m.rows), "pairs", m.pairs)
			debug = func(s *search) {
				fmt.Println("  node", s.nodes, "depth", len(s.undo), "lower", s.lower, "UB", s.best.Total, s.state, "gone", len(s.gone), time.Since(start))
			}
			s.explore(rootSteps)
			fmt.Println("  total", s.best.Total, "nodes", s.nodes, s.halted, s.lost, "logic", a, "market", b-a, "first", d-b, "explore", time.Since(start)-d, "work", s.work)
		}
	}
}
