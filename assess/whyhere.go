package assess

import (
	"slices"
	"time"

	"buttonup/journal"
	"buttonup/route"
)

// WhyHere says why an operation stands where it does in a route: what lets it come right
// after the step before it, and the shortest chain of what must come first. It is false
// where the route does not do the operation.
func (m *Model) WhyHere(s *journal.State, o Options, op Operation) (chain []Link, step int, r *Route, known bool) {
	rn := &run{Model: m, state: s, opts: o}
	rn.assess()
	b := rn.bind()
	r = b.route(route.Find(b.problem, route.Options{}))
	step = slices.IndexFunc(r.Steps, func(x RouteStep) bool { return x.Operation == op && !x.Undo && !x.Trial })
	if step < 0 {
		return nil, 0, r, false
	}
	if link, ok := rn.beside(r, step); ok {
		chain = append(chain, link)
	}
	return append(chain, rn.mustFollow(r, op)...), step, r, true
}

// beside says what makes a step follow the one before it where no rule does.
func (r *run) beside(out *Route, step int) (Link, bool) {
	x := out.Steps[step]
	if step == 0 {
		return Link{}, false
	}
	before := out.Steps[step-1]
	if slices.ContainsFunc(r.mustPrecede(out, x.Operation), func(l Link) bool { return l.By == before.Operation }) {
		return Link{}, false
	}
	for k := step - 1; k >= 0; k-- {
		if w := out.Steps[k].Wait; w != nil && out.Steps[k].End+time.Duration(w.Length*float64(time.Second)) > x.Start {
			return Link{Kind: route.FillsWait, Of: x.Operation, By: out.Steps[k].Operation}, true
		}
	}
	if x.Changes == 0 {
		return Link{Kind: route.SameSetup, Of: x.Operation, By: before.Operation}, true
	}
	return Link{Kind: route.Written, Of: x.Operation, By: before.Operation}, true
}

// mustPrecede lists what a rule puts before an operation, of the steps of a route.
func (r *run) mustPrecede(out *Route, op Operation) []Link {
	i, known := r.operationIndex[instance{op.Name, op.Place}]
	if !known {
		return nil
	}
	var list []Link
	add := func(kind route.ReasonKind, j, space int) {
		l := Link{Kind: kind, Of: op, By: Operation{r.operations[j].Name, r.operations[j].place}}
		if space >= 0 {
			l.Space = r.spaceName(space)
		}
		if !r.finished(r.work, j) && r.standing(j) {
			list = append(list, l)
		}
	}
	for _, j := range r.order.needs[i] {
		kind := route.Needs
		if r.operations[j].HasWait || r.operations[j].WaitsFor != "" {
			kind = route.NeedsWait
		}
		add(kind, j, -1)
	}
	for _, s := range r.order.closes[i] {
		if !r.closesLast(r.work, i, s) {
			continue
		}
		for _, j := range r.order.work[s] {
			if j != i && !r.follows(j, i) {
				add(route.ShutIn, j, s)
			}
		}
	}
	return list
}

// mustFollow finds the shortest chain from an operation to one that waits for nothing.
func (r *run) mustFollow(out *Route, op Operation) []Link {
	from := map[Operation]Link{}
	for queue := []Operation{op}; len(queue) > 0; queue = queue[1:] {
		x := queue[0]
		list := r.mustPrecede(out, x)
		if len(list) == 0 {
			var chain []Link
			for x != op {
				l := from[x]
				chain = append([]Link{l}, chain...)
				x = l.Of
			}
			return chain
		}
		for _, l := range list {
			if _, seen := from[l.By]; !seen && l.By != op {
				from[l.By] = l
				queue = append(queue, l.By)
			}
		}
	}
	return nil
}
