package assess

import (
	"slices"
	"sync"

	"buttonup/route"
)

// planning finds the order of work of an assessment when somebody asks for it, and once:
// most who change a reading want verdicts and no route.
type planning struct {
	run   *run
	once  sync.Once
	route *Route
	plan  *route.Plan
	bound *binding
}

// forPlanning is what of an assessment an order of work is found from; what only the
// values needed is left behind.
func (r *run) forPlanning() *run {
	light := *r
	light.values, light.forms, light.observed, light.drivers, light.past = nil, nil, nil, nil, nil
	light.key, light.met, light.gauges, light.gaugeUnits = nil, nil, nil, nil
	return &light
}

func (p *planning) find() {
	p.once.Do(func() {
		p.bound = p.run.bind()
		p.plan = route.Find(p.bound.problem, route.Options{})
		p.route = p.bound.route(p.plan)
	})
}

// Route is an order of all the work that is left. It is found when it is first asked for.
// It may be asked for by several at a time.
func (a *Assessment) Route() *Route {
	if a.planning == nil {
		return &Route{}
	}
	a.planning.find()
	return a.planning.route
}

// mostAdvised is the number of operations up to which Advised looks for a route.
const mostAdvised = 400

// Advised is Next in the order in which the route takes it: what it does first stands
// first, and what it cannot finish stands last, in the order of the pack. Of a job of
// more than 400 operations it is Next as it is.
func (a *Assessment) Advised() []Operation {
	if a.planning == nil || len(a.Next) < 2 || len(a.Next)+len(a.Blocked) > mostAdvised {
		return a.Next
	}
	r := a.Route()
	at := func(o Operation) int {
		if k := slices.IndexFunc(r.Steps, func(s RouteStep) bool { return s.Operation == o && !s.Undo }); k >= 0 {
			return k
		}
		return len(r.Steps)
	}
	list := slices.Clone(a.Next)
	slices.SortStableFunc(list, func(x, y Operation) int { return at(x) - at(y) })
	return list
}
