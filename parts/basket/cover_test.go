package basket

import (
	"testing"
	"time"
)

func ones(n int) []int64 {
	out := make([]int64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// The figure on set covering in Cormen, Leiserson, Rivest and Stein, Introduction to
// Algorithms, where taking the largest set first needs four: three are enough.
// From memory; enumeration of all 64 choices gives 3 too.
func TestCoverWhereGreedFails(t *testing.T) {
	sets := [][]int{{0, 1, 2, 3, 4, 5}, {4, 5, 7, 8}, {0, 3, 6, 9}, {1, 4, 6, 7, 10}, {2, 5, 8, 11}, {9, 10}}
	chosen, r, err := Cover(12, sets, ones(len(sets)))
	if err != nil || r.Status != Optimal || r.Total != 3 {
		t.Errorf("got %v, %+v, %v; want 3 sets", chosen, r, err)
	}
}

// stein27: the fewest of 27 points that meet every triple of distinct vectors of
// {0, 1, 2}³ whose sum is 0 mod 3. The optimum 18 is printed in the list of the
// MIPLIB 3 instances (seen).
func TestCoverStein27(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	sets := make([][]int, 27)
	n := 0
	for a := range 27 {
		for b := range a {
			c, third := 0, 1
			for x, y := a, b; third < 27; x, y, third = x/3, y/3, third*3 {
				c += third * ((6 - x%3 - y%3) % 3)
			}
			if c < b {
				for _, k := range []int{a, b, c} {
					sets[k] = append(sets[k], n)
				}
				n++
			}
		}
	}
	if n != 117 {
		t.Fatalf("there are 117 triples, not %d", n)
	}
	start := time.Now()
	chosen, r, err := Cover(n, sets, ones(27))
	if err != nil || r.Status != Optimal || r.Total != 18 {
		t.Errorf("got %v, %+v, %v; want 18 points", chosen, r, err)
	}
	met := make([]bool, n)
	for _, k := range chosen {
		for _, i := range sets[k] {
			met[i] = true
		}
	}
	for i, ok := range met {
		if !ok {
			t.Errorf("triple %d is not met", i)
		}
	}
	t.Logf("%d nodes in %v", r.Steps, time.Since(start))
}
