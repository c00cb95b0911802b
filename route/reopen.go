package route

import "slices"

// reopen looks whether what a plan leaves out lies in spaces that are closed already.
// If so, it takes back the least that opens them, and plans from there; nil if that
// brings nothing.
func (r *rules) reopen(plan *Plan, o Options) *Plan {
	var to Target
	for _, x := range plan.Stuck {
		for _, sp := range r.in[x.Operation] {
			if r.Spaces[sp].Closed && !slices.Contains(to.Spaces, sp) {
				to.Spaces = append(to.Spaces, sp)
			}
		}
	}
	if len(to.Spaces) == 0 {
		return nil
	}
	tear := TearBack(r.Problem, to)
	if len(tear.Ways) == 0 {
		return nil
	}
	b := r.startBench()
	for _, st := range tear.Ways[0].Steps {
		r.take(b, move{st.Operation, st.Kind})
	}
	rest := newRules(r.problemAt(b)).plan(o)
	if len(rest.Stuck) >= len(plan.Stuck) {
		return nil
	}
	return join(&tear.Ways[0], rest)
}

// problemAt writes a problem down as it stands after some steps.
func (r *rules) problemAt(b *bench) *Problem {
	p := *r.Problem
	p.Before = b.setup
	p.Operations, p.Spaces = slices.Clone(p.Operations), slices.Clone(p.Spaces)
	p.Holds, p.Locks = slices.Clone(p.Holds), slices.Clone(p.Locks)
	for i := range p.Operations {
		x := &p.Operations[i]
		x.Done, x.Times, x.Seq = b.done[i], int(b.times[i]), int(b.seq[i])
		x.Left = max(0, b.over[i]-b.now)
		x.Waiting = x.Done && x.Left > 0
		x.Within = slices.Clone(x.Within)
		for w := range x.Within {
			x.Within[w].Left = x.Within[w].Most - (b.now - b.ended[i])
		}
	}
	for i := range p.Spaces {
		p.Spaces[i] = Space{b.closed[i], b.byJob[i]}
	}
	for h := range p.Holds {
		if p.Holds[h].State == Met && !b.read[h] {
			p.Holds[h].State = Unread
		}
	}
	for k := range p.Locks {
		l := &p.Locks[k]
		l.Since, l.Passed = int(b.locked[k]), nil
		for c, h := range l.Checks {
			if b.passed[k]>>c&1 != 0 {
				l.Passed = append(l.Passed, h)
			}
		}
	}
	return &p
}

// join puts a tear-back before a plan.
func join(way *Way, rest *Plan) *Plan {
	out := *rest
	out.Steps = slices.Clone(way.Steps)
	for _, st := range way.Steps {
		out.Work += st.End - st.Start
	}
	for _, st := range rest.Steps {
		st.Start += way.Time
		st.End += way.Time
		out.Steps = append(out.Steps, st)
	}
	out.Changes += way.Changes
	out.Finish += way.Time
	out.Reopens = len(way.Steps)
	// What is proven is proven of what comes after.
	out.Proven, out.Soonest = false, false
	return &out
}
