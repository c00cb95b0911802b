package sequence

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// readPublished reads a problem of TSPLIB and its published optimum.
func readPublished(t *testing.T, name string) (p *Problem, optimum int) {
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	p = &Problem{}
	for line := range strings.Lines(string(text)) {
		if key, value, ok := strings.Cut(line, ":"); ok {
			if key == "optimum" {
				optimum, err = strconv.Atoi(strings.TrimSpace(value))
				if err != nil {
					t.Fatal(err)
				}
			}
			continue
		}
		var row, before []int
		for j, f := range strings.Fields(line) {
			x, err := strconv.Atoi(f)
			if err != nil {
				t.Fatal(err)
			}
			if x < 0 {
				before, x = append(before, j), 0
			}
			row = append(row, x)
		}
		p.Costs.Table, p.Before = append(p.Costs.Table, row), append(p.Before, before)
	}
	if optimum == 0 || len(p.Before) == 0 {
		t.Fatalf("%s holds no problem, or no optimum", name)
	}
	return p, optimum
}

// Sequential ordering problems of TSPLIB come to their published optima, proven but for
// the one whose precedences are too few for the exact search.
func TestPublished(t *testing.T) {
	names, _ := filepath.Glob("testdata/published/*.sop.txt")
	if len(names) < 5 {
		t.Fatalf("only %d published problems are here", len(names))
	}
	for _, name := range names {
		p, optimum := readPublished(t, name)
		r, err := Solve(p, Options{Moves: 1200000, States: 100000})
		if err != nil {
			t.Fatal(err)
		}
		if cost := walked(t, p, r.Order); r.Cost != optimum || cost != optimum || r.Bound > optimum {
			t.Errorf("%s: cost %d, by the table %d, bound %d; published is %d", name, r.Cost, cost, r.Bound, optimum)
		}
		if large := len(p.Before) > 20; r.Proven == large {
			t.Errorf("%s with %d things is proven: %v", name, len(p.Before), r.Proven)
		}
	}
}
