package sequence

import "math/rand/v2"

// workshop makes a problem as the benchmark of the order of work has them: n
// operations, each with a side of 4, a tool of 8 and a wrench of 10, a change of which
// costs 5, 2 and 1; one to three others before each, and spaces that are closed over
// work done before.
func workshop(n int, seed uint64) *Problem {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	p := &Problem{Before: make([][]int, n), Costs: Costs{Weights: []int{5, 2, 1}}}
	for range n {
		p.Costs.Setups = append(p.Costs.Setups, []int{1 + r.IntN(4), 1 + r.IntN(8), 1 + r.IntN(10)})
	}
	add := func(a, b int) {
		for _, x := range p.Before[b] {
			if x == a {
				return
			}
		}
		p.Before[b] = append(p.Before[b], a)
	}
	near := max(6, n/6)
	for i := 1; i < n; i++ {
		for range []int{1, 1, 2, 2, 2, 3}[r.IntN(6)] {
			low := max(0, i-4*near)
			add(low+r.IntN(i-low), i)
		}
	}
	for range max(2, n/25) {
		c := n/3 + r.IntN(n-n/3)
		low := max(0, c-n/2)
		for range min(12, n/10) {
			add(low+r.IntN(c-low), c)
		}
	}
	return p
}
