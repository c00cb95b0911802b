package assess

import (
	"slices"
	"time"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/route"
)

// Route is an order of all the work that is left, which breaks no rule.
type Route struct {
	Steps []RouteStep
	// Changes counts the changes of side, fixture and tool; no order has fewer than
	// Bound. Proven says that no order has fewer changes than this one; it may be that
	// another with as few is finished earlier.
	Changes, Bound int
	Proven         bool
	// Work is what the steps take, Finish when the last wait is over, from now.
	Work, Finish time.Duration
	// Stuck is the work that no order can finish as things stand.
	Stuck []Stuck
}

// RouteStep does an operation or takes it back.
type RouteStep struct {
	Operation Operation
	Undo      bool
	// Trial marks a doing that is taken back again.
	Trial bool
	// Start and End are from now; Idle is how long nothing can be done before Start.
	Start, End, Idle time.Duration
	// Changes counts the changes of side, fixture and tool before it.
	Changes int
	// Holds are what it holds, at every place in reach; Reads is what is to be read or
	// answered right before it: what it holds and what work before it will have disturbed,
	// and what cannot be read any more after it.
	Holds, Reads []string
	// Closes and Opens are spaces, with their places.
	Closes, Opens []string
	// Wait is what what needs it waits for afterwards, nil for nothing.
	Wait *Wait
	// Late says that it comes later than something before it allows.
	Late bool
}

// Stuck is an operation that cannot be finished, with the shortest chain of reasons.
type Stuck struct {
	Operation Operation
	Chain     []Link
	// Loop says that the chain comes back to where it began.
	Loop bool
}

// Link is one link of a chain: why one operation waits. Of and By are operations; what
// else it is about stands in Space, Hold, Lock and Temporary as a reference.
type Link struct {
	Kind                         route.ReasonKind
	Of, By                       Operation
	Space, Hold, Lock, Temporary string
	// Result is that of a hold.
	Result *Result
}

// Route finds an order for the work that is left. The assessment that it starts from
// comes along.
func (m *Model) Route(s *journal.State, o Options) (*Route, *Assessment) {
	a := m.Assess(s, o)
	return a.Route(), a
}

// binding ties the numbers of a route problem to the blocks of the job.
type binding struct {
	*run
	problem    *route.Problem
	operations []int // of the model, by operation of the problem
	number     []int // of the problem, by operation of the model, -1 for none
	spaces     []int
	space      []int
	holds      []held
	hold       map[held]int
	lockOf     []int // of the model, by lock of the problem
}

// bind puts the job into numbers. Blocks that are not part of it are left out.
func (r *run) bind() *binding {
	b := &binding{run: r, problem: &route.Problem{}, number: make([]int, len(r.operations)), space: make([]int, len(r.spaces)), hold: map[held]int{}}
	for i := range r.spaces {
		b.space[i] = -1
		if r.stands(r.spaces[i].when) {
			b.space[i] = len(b.spaces)
			b.spaces = append(b.spaces, i)
			b.problem.Spaces = append(b.problem.Spaces, route.Space{Closed: r.work.closed[i], ByJob: r.work.closedBy[i]})
		}
	}
	for i := range r.operations {
		b.number[i] = -1
		if r.standing(i) {
			b.number[i] = len(b.operations)
			b.operations = append(b.operations, i)
		}
	}
	setups := setupNames{}
	for _, i := range b.operations {
		b.problem.Operations = append(b.problem.Operations, b.operation(i, setups))
	}
	for _, i := range b.operations {
		b.disturbances(i)
	}
	for h := range b.holds {
		b.problem.Holds[h] = b.holdNow(b.holds[h])
	}
	b.temporaries()
	b.locks()
	b.problem.Before = b.setupNow(setups)
	return b
}

// setupNames numbers the sides, fixtures and tools as they come.
type setupNames map[string]int

func (n setupNames) number(name string) int {
	if name == "" {
		return 0
	}
	if _, known := n[name]; !known {
		n[name] = len(n) + 1
	}
	return n[name]
}

func (n setupNames) of(x *pack.Operation) route.Setup {
	return route.Setup{Side: n.number(x.Side), Fixture: n.number(x.Fixture), Tool: n.number(x.Tool)}
}

// setupNow is how the engine stood when something was done last.
func (b *binding) setupNow(names setupNames) route.Setup {
	last := -1
	for i := range b.problem.Operations {
		if x := &b.problem.Operations[i]; x.Seq > 0 && (last < 0 || x.Seq > b.problem.Operations[last].Seq) {
			last = i
		}
	}
	if last < 0 {
		return route.Setup{}
	}
	return names.of(b.run.operations[b.operations[last]].Operation)
}

func (b *binding) operation(i int, names setupNames) route.Operation {
	r := b.run
	x, p := &r.operations[i], &r.work.ops[i]
	out := route.Operation{
		Needs: b.numbers(r.order.needs[i]), In: b.spaceNumbers(r.order.inside[i]), Closes: b.spaceNumbers(r.order.closes[i]), Opens: b.spaceNumbers(r.order.opens[i]),
		Setup: names.of(x.Operation), Duration: seconds(x.Seconds), Undoing: seconds(x.OffSeconds),
		Waits: x.HasWait || x.WaitsFor != "", Wait: seconds(x.Wait),
		Binds: len(x.Fits)+len(x.Tightens) > 0, Trial: x.Trial, Stays: x.Stays, NeverSkip: x.Never,
		Done: p.done, Times: p.times,
	}
	if p.times > 0 {
		out.Seq = p.seq + 1 // the first event of a journal is number 0
	}
	if out.Waiting = p.done && p.waiting; out.Waiting {
		out.Left = r.left(p, out.Wait)
	}
	for _, h := range r.order.holds[i] {
		if _, ok := r.heldResult(h); ok {
			out.Holds = append(out.Holds, b.holdNumber(h))
		}
	}
	for _, within := range x.Within {
		for _, place := range r.reach(x.At, x.place, r.operationPlace(within.Operation)) {
			if j, ok := r.operationIndex[instance{within.Operation, place}]; ok && b.number[j] >= 0 {
				w := route.Within{Operation: b.number[j], Most: seconds(within.Time)}
				w.Left = r.left(p, w.Most)
				out.Within = append(out.Within, w)
			}
		}
	}
	return out
}

// left is what is left of a time that began when an operation was done; all of it if
// nobody knows what time it is.
func (r *run) left(p *progress, whole time.Duration) time.Duration {
	since := p.started
	if since.IsZero() {
		since = p.at
	}
	if !p.done || r.opts.Now.IsZero() || since.IsZero() {
		return whole
	}
	return whole - r.opts.Now.Sub(since)
}

func (r *run) operationPlace(name string) string {
	for i := range r.operations {
		if r.operations[i].Name == name {
			return r.operations[i].At
		}
	}
	return ""
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

func (b *binding) numbers(operations []int) []int {
	var list []int
	for _, i := range operations {
		if b.number[i] >= 0 {
			list = append(list, b.number[i])
		}
	}
	return list
}

func (b *binding) spaceNumbers(spaces []int) []int {
	var list []int
	for _, s := range spaces {
		if b.space[s] >= 0 {
			list = append(list, b.space[s])
		}
	}
	return list
}

func (b *binding) holdNumber(h held) int {
	n, known := b.hold[h]
	if !known {
		n = len(b.holds)
		b.hold[h] = n
		b.holds = append(b.holds, h)
		b.problem.Holds = append(b.problem.Holds, route.Hold{})
	}
	return n
}

// disturbances notes which holds no longer count once an operation is done.
func (b *binding) disturbances(i int) {
	for _, d := range b.run.order.disturbs[i] {
		for h := range b.holds {
			if b.holds[h].kind == "dimension" && b.holds[h].index == d {
				x := &b.problem.Operations[b.number[i]]
				x.Disturbs = append(x.Disturbs, h)
			}
		}
	}
}

// holdNow says what became of a hold. What is out of limits is read once more after
// work that is still to change it.
func (b *binding) holdNow(h held) route.Hold {
	res, _ := b.run.heldResult(h)
	if b.run.holdMet(res, false) {
		return route.Hold{State: route.Met}
	}
	if slices.ContainsFunc(res.InTheWay(), unknown) {
		return route.Hold{State: route.Unread}
	}
	out := route.Hold{State: route.Unmeetable}
	for _, i := range b.operations {
		if !b.run.finished(b.run.work, i) && h.kind == "dimension" && slices.Contains(b.run.order.disturbs[i], h.index) {
			out = route.Hold{State: route.Unread, After: append(out.After, b.number[i])}
		}
	}
	return out
}

// temporaries separates what is put in at one place from what is put in at another.
func (b *binding) temporaries() {
	r := b.run
	for _, t := range r.pack.Temporaries {
		out := route.Temporary{Count: t.Count}
		at := map[[2]string]int{}
		for _, i := range b.operations {
			if !slices.Contains(r.order.putsIn[i], t.Name) {
				continue
			}
			key := [2]string{r.operations[i].At, r.operations[i].place}
			k, known := at[key]
			if !known {
				k = len(out.Places)
				at[key] = k
				place := route.TemporaryPlace{}
				for _, j := range b.operations {
					if slices.Contains(r.order.takesOut[j], t.Name) && slices.Contains(r.reach(r.operations[j].At, r.operations[j].place, key[0]), key[1]) {
						place.TakenBy = append(place.TakenBy, b.number[j])
					}
				}
				out.Places = append(out.Places, place)
			}
			out.Places[k].PutBy = append(out.Places[k].PutBy, b.number[i])
		}
		for _, j := range b.operations {
			taken := func(p route.TemporaryPlace) bool { return slices.Contains(p.TakenBy, b.number[j]) }
			if slices.Contains(r.order.takesOut[j], t.Name) && !slices.ContainsFunc(out.Places, taken) {
				out.Places = append(out.Places, route.TemporaryPlace{TakenBy: []int{b.number[j]}})
			}
		}
		b.problem.Temporaries = append(b.problem.Temporaries, out)
	}
}

func (b *binding) locks() {
	r := b.run
	for k := range r.locks {
		if !r.stands(r.locks[k].when) {
			continue
		}
		out := route.Lock{From: b.numbers(r.order.locks[k].from), Until: b.numbers(r.order.locks[k].until)}
		for _, i := range b.operations {
			if slices.Contains(r.order.forbidden[i], k) {
				out.Forbids = append(out.Forbids, b.number[i])
			}
		}
		for _, c := range r.order.locks[k].checks {
			if !r.stands(r.checks[c].when) {
				continue
			}
			h, known := b.hold[held{"check", c, "check." + r.checks[c].Name, r.checks[c].place}]
			if !known {
				continue // no operation holds it: it is answered when somebody looks
			}
			out.Checks = append(out.Checks, h)
			if since := r.work.locked[k]; since >= 0 && r.passedBetween(c, since, int(^uint(0)>>1)) {
				out.Passed = append(out.Passed, h)
			}
		}
		if r.work.locked[k] >= 0 {
			out.Since = r.work.locked[k] + 1
		}
		b.lockOf = append(b.lockOf, k)
		b.problem.Locks = append(b.problem.Locks, out)
	}
}

// route tells a plan in the names of the pack.
func (b *binding) route(p *route.Plan) *Route {
	out := &Route{Changes: p.Changes, Bound: p.Bound, Proven: p.Proven, Work: p.Work, Finish: p.Finish}
	for i := range p.Steps {
		out.Steps = append(out.Steps, b.step(&p.Steps[i]))
	}
	for _, s := range p.Stuck {
		x := Stuck{Operation: b.name(s.Operation), Loop: s.Loop}
		for _, reason := range s.Chain {
			x.Chain = append(x.Chain, b.link(reason))
		}
		out.Stuck = append(out.Stuck, x)
	}
	return out
}

func (b *binding) step(s *route.Step) RouteStep {
	i := b.operations[s.Operation]
	out := RouteStep{
		Operation: b.name(s.Operation), Undo: s.Kind == route.Undo, Trial: s.Trial, Start: s.Start, End: s.End, Idle: s.Idle, Changes: s.Changes, Late: s.Late,
		Closes: b.spaceNames(s.Closes), Opens: b.spaceNames(s.Opens),
	}
	if out.Undo {
		return out
	}
	for _, h := range b.problem.Operations[s.Operation].Holds {
		out.Holds = append(out.Holds, at(b.holds[h].ref, b.holds[h].place))
	}
	for _, h := range s.Reads {
		out.Reads = append(out.Reads, at(b.holds[h].ref, b.holds[h].place))
	}
	if x := &b.run.operations[i]; x.HasWait || x.WaitsFor != "" {
		out.Wait = &Wait{Operation: out.Operation, For: x.WaitsFor, Length: x.Wait}
	}
	return out
}

// name is that of an operation of the problem; of none, nothing.
func (b *binding) name(i int) Operation {
	if i < 0 {
		return Operation{}
	}
	x := &b.run.operations[b.operations[i]]
	return Operation{x.Name, x.place}
}

func (b *binding) spaceNames(spaces []int) []string {
	var list []string
	for _, s := range spaces {
		list = append(list, b.run.spaceName(b.spaces[s]))
	}
	return list
}

func (b *binding) link(x route.Reason) Link {
	out := Link{Kind: x.Kind, Of: b.name(x.Of), By: b.name(x.By)}
	if x.Space >= 0 {
		out.Space = b.run.spaceName(b.spaces[x.Space])
	}
	if x.Hold >= 0 {
		out.Hold = at(b.holds[x.Hold].ref, b.holds[x.Hold].place)
		out.Result, _ = b.run.heldResult(b.holds[x.Hold])
	}
	if x.Lock >= 0 {
		out.Lock = at("lock."+b.run.locks[b.lockOf[x.Lock]].Name, b.run.locks[b.lockOf[x.Lock]].place)
	}
	if x.Temporary >= 0 {
		out.Temporary = "temporary." + b.run.pack.Temporaries[x.Temporary].Name
	}
	return out
}
