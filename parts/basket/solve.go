package basket

import (
	"math"
	"sort"
)

// Solve finds the best set of purchases, or why there is none. It returns an error
// only for a problem that makes no sense: an index that is not there, an amount below
// zero.
//
// The same problem always gets the same answer. Among equal totals the written order
// is kept to as far as some thousand steps reach.
func Solve(p *Problem) (Result, error) {
	if err := p.check(); err != nil {
		return Result{}, err
	}
	within, orders := p.limit(), 0
	c := newChoices(p, within, false)
	if !c.possible(nil) {
		because, where, smallest := explain(p)
		return Result{Status: Infeasible, Because: because, Where: where, Smallest: smallest, Steps: c.conflicts}, nil
	}
	switch p.Prefer {
	case Soonest:
		within = soonest(p)
		c = newChoices(p, within, false)
	case FewestOrders:
		orders = fewestOrders(p)
	}
	return cheapest(c, within, orders), nil
}

// possible reports whether all rules can be kept to; afterwards the logic holds an
// example, or else is back at the start.
func (c *choices) possible(cost []float64) bool {
	newGuide(c, cost, nil)
	found, _, _ := c.solve(nil, 1<<62)
	return found
}

// soonest is the shortest lead with which there is a solution.
func soonest(p *Problem) int {
	leads := []int{}
	for _, o := range p.Offers {
		if p.open(&o, p.limit()) {
			leads = append(leads, o.Lead)
		}
	}
	sort.Ints(leads)
	k := sort.Search(len(leads), func(i int) bool { return newChoices(p, leads[i], false).possible(nil) })
	if k == len(leads) {
		return p.limit()
	}
	return leads[k]
}

// cheapest finds the least total with the leads allowed and so many orders at most.
func cheapest(c *choices, within, orders int) Result {
	c.back(0)
	c.follow()
	m := newMarket(c, within, orders)
	s := newSearch(newRelaxation(m))
	s.mostOrder = orders
	s.first(within, orders)
	s.narrow()
	r := s.best
	r.Status, r.Steps = Optimal, s.nodes
	r.Bound = r.Total
	if bound := max(s.proven, min(s.lost, s.most)); s.halted && bound < float64(r.Total) {
		r.Status = Feasible
		r.Bound = int64(math.Ceil(bound - tolerance))
	}
	return r
}
