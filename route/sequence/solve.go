package sequence

// Solve finds a cheap order, and proves it the cheapest where it can.
//
// It begins with a greedy list and improves it by annealing. Up to 64 things an exact
// search over the sets that may come first then looks for anything cheaper; it is
// bounded by what each part of the set-up must still cost by itself. Where the search
// comes to its end the order is proven.
//
// Source: dynamic programming over the sets of a sequence is Held and Karp, 1962, with
// precedences as in every textbook (from memory); the bound by parts is ours.
func Solve(p *Problem, o Options) (*Result, error) {
	q, err := prepare(p)
	if err != nil {
		return nil, err
	}
	if q.n == 0 {
		return &Result{Order: []int{}, Proven: true}, nil
	}
	order := q.improve(o.Moves)
	res := &Result{Cost: q.total(order), Bound: q.roughBound()}
	if res.Bound < res.Cost && q.n <= widest && o.States >= 0 {
		states := o.States
		if states == 0 {
			states = 100000
		}
		budget := 4 * states
		e := q.newExact(&budget)
		better, bound := e.search(res.Cost, states)
		if better != nil {
			order, res.Cost = better, q.total(better)
		}
		res.Bound = max(res.Bound, bound)
	}
	res.Proven = res.Bound >= res.Cost
	for _, i := range order {
		res.Order = append(res.Order, int(i))
	}
	return res, nil
}

// improve gives a cheap order after so many moves.
func (q *prepared) improve(moves int) []int32 {
	order := q.greedy()
	if moves == 0 {
		moves = 40000 + 2000*q.n
	}
	hot, cold := q.heat()
	if q.n > widest {
		return q.anneal(order, moves, hot, cold, 1)
	}
	// A small problem is soon frozen; it is better begun several times.
	best, cost := order, q.total(order)
	for d := range dice(starts) {
		if o := q.anneal(order, moves/starts, hot, cold, d+1); q.total(o) < cost {
			best, cost = o, q.total(o)
		}
	}
	return best
}

const starts = 8

// heat says where annealing begins and ends: in shares of what a step of an order
// costs on average.
func (q *prepared) heat() (hot, cold float64) {
	order := q.greedy()
	mean := float64(q.total(order)) / float64(len(order))
	return max(0.7*mean, 0.01), max(0.04*mean, 0.001)
}

// roughBound is a least cost that is found at once: every thing must be come to in the
// cheapest way that is possible at all.
func (q *prepared) roughBound() int {
	sum := 0
	for i := range q.n {
		sum += int(q.cheapestWay(i))
	}
	return sum
}
