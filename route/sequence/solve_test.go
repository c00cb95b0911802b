package sequence

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// random makes a small problem with a table of costs, or with set-ups of which some are
// left out and some are left otherwise than they are begun with.
func random(r *rand.Rand) *Problem {
	n := 1 + r.IntN(7)
	p := &Problem{Before: make([][]int, n)}
	rank := r.Perm(n)
	for i := range n {
		for j := range n {
			if rank[j] < rank[i] && r.IntN(4) == 0 {
				p.Before[i] = append(p.Before[i], j)
			}
		}
	}
	if r.IntN(3) == 0 {
		for range n {
			row := make([]int, n)
			for j := range row {
				row[j] = r.IntN(20)
			}
			p.Costs.Table = append(p.Costs.Table, row)
			p.Costs.Start = append(p.Costs.Start, r.IntN(20))
		}
		return p
	}
	p.Costs.Weights, p.Costs.First = []int{5, 2, 1}, []int{r.IntN(3), r.IntN(3), r.IntN(3)}
	setup := func() []int { return []int{r.IntN(3), r.IntN(4), r.IntN(4)} }
	lumps := r.IntN(3) == 0
	for i := range n {
		p.Costs.Setups = append(p.Costs.Setups, setup())
		if lumps {
			leaves := slices.Clone(p.Costs.Setups[i])
			if r.IntN(3) == 0 {
				leaves = setup()
			}
			p.Costs.Leaves = append(p.Costs.Leaves, leaves)
		}
	}
	return p
}

// everyOrder finds the least cost by trying every order.
func everyOrder(t *testing.T, p *Problem) int {
	best := -1
	var order []int
	done := make([]bool, len(p.Before))
	var visit func()
	visit = func() {
		if len(order) == len(done) {
			if cost := walked(t, p, order); best < 0 || cost < best {
				best = cost
			}
			return
		}
		for i := range done {
			if done[i] || slices.ContainsFunc(p.Before[i], func(b int) bool { return !done[b] }) {
				continue
			}
			done[i] = true
			order = append(order, i)
			visit()
			order = order[:len(order)-1]
			done[i] = false
		}
	}
	visit()
	return best
}

// Small problems are proven, and the proof agrees with trying every order; so does the
// exact search where the annealing is kept from finding the best.
func TestEveryOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 1))
	improved := 0
	for k := range 2000 {
		p := random(r)
		best := everyOrder(t, p)
		for _, moves := range []int{1, 2000} {
			res, err := Solve(p, Options{Moves: moves})
			if err != nil {
				t.Fatal(err)
			}
			if cost := walked(t, p, res.Order); !res.Proven || res.Cost != best || cost != best || res.Bound != best {
				t.Fatalf("problem %d: cost %d, walked %d, bound %d, proven %v; the best is %d\n%+v", k, res.Cost, cost, res.Bound, res.Proven, best, p)
			}
		}
		q, _ := prepare(p)
		if q.total(q.greedy()) > best {
			improved++
		}
	}
	if improved < 100 {
		t.Errorf("the greedy list is the best in all but %d problems: that proves little", improved)
	}
}

// A bound is never above what some order costs, and a search that gives up says so.
func TestBoundOfLargeProblems(t *testing.T) {
	for seed := range uint64(4) {
		p := workshop(60, seed)
		res, err := Solve(p, Options{Moves: 20000, States: 200})
		if err != nil {
			t.Fatal(err)
		}
		better, _ := Solve(p, Options{Moves: 400000, States: -1})
		if res.Proven || res.Bound > better.Cost || res.Bound < 50 {
			t.Errorf("seed %d: bound %d, proven %v; an order costs %d", seed, res.Bound, res.Proven, better.Cost)
		}
	}
}

// The same problem has the same answer.
func TestSameAnswer(t *testing.T) {
	p := workshop(80, 9)
	a, _ := Solve(p, Options{})
	b, _ := Solve(p, Options{})
	if !slices.Equal(a.Order, b.Order) || a.Bound != b.Bound {
		t.Errorf("two answers to one question")
	}
}

// Thirty operations are proven with few states, whatever the clock says.
func TestThirtyOperations(t *testing.T) {
	for seed := range uint64(6) {
		res, err := Solve(workshop(30, seed), Options{})
		if err != nil || !res.Proven {
			t.Errorf("seed %d: not proven (%v)", seed, err)
		}
	}
}

// What cannot be solved is told.
func TestRefusals(t *testing.T) {
	for name, p := range map[string]*Problem{
		"a loop":              {Before: [][]int{{1}, {0}}, Costs: Costs{Setups: [][]int{{1}, {1}}, Weights: []int{1}}},
		"an unknown thing":    {Before: [][]int{{2}, nil}, Costs: Costs{Setups: [][]int{{1}, {1}}, Weights: []int{1}}},
		"a missing set-up":    {Before: [][]int{nil, nil}, Costs: Costs{Setups: [][]int{{1}}, Weights: []int{1}}},
		"a negative cost":     {Before: [][]int{nil, nil}, Costs: Costs{Table: [][]int{{0, -3}, {0, 0}}}},
		"a ragged table":      {Before: [][]int{nil, nil}, Costs: Costs{Table: [][]int{{0, 3}, {0}}}},
		"a set-up below zero": {Before: [][]int{nil}, Costs: Costs{Setups: [][]int{{-1}}, Weights: []int{1}}},
		"too heavy a weight":  {Before: [][]int{nil}, Costs: Costs{Setups: [][]int{{1}}, Weights: []int{1 << 40}}},
		"leaving nothing":     {Before: [][]int{nil}, Costs: Costs{Setups: [][]int{{1}}, Leaves: [][]int{{}}, Weights: []int{1}}},
		"a start that is cut": {Before: [][]int{nil, nil}, Costs: Costs{Table: [][]int{{0, 3}, {1, 0}}, Start: []int{1}}},
		"a first that is cut": {Before: [][]int{nil}, Costs: Costs{Setups: [][]int{{1}}, First: []int{}, Weights: []int{1}}},
	} {
		if res, err := Solve(p, Options{}); err == nil {
			t.Errorf("%s is solved: %+v", name, res)
		}
	}
	if res, err := Solve(&Problem{}, Options{}); err != nil || !res.Proven {
		t.Errorf("nothing to do is not solved: %v", err)
	}
}

func BenchmarkThirtyOperations(b *testing.B) {
	p := workshop(30, 1)
	for b.Loop() {
		if res, _ := Solve(p, Options{}); !res.Proven {
			b.Fatal("not proven")
		}
	}
}
