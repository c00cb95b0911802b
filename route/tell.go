package route

import "slices"

// tell walks a plan once more and writes down what each step brings.
func (r *rules) tell(moves []move) *Plan {
	p := &Plan{}
	b := r.startBench()
	for _, m := range moves {
		p.Steps = append(p.Steps, r.tellStep(b, m))
		last := &p.Steps[len(p.Steps)-1]
		p.Work += last.End - last.Start
	}
	p.Changes, p.Finish = b.changes, b.finish()
	r.placeReadings(p)
	return p
}

func (r *rules) tellStep(b *bench, m move) Step {
	st := Step{Operation: m.operation, Kind: m.kind, Start: b.now, Changes: b.setup.Changes(r.Operations[m.operation].Setup)}
	if m.kind != Undo {
		st.Start, st.Late = r.startOf(b, m.operation), r.tooLate(b, m.operation)
		st.Trial = r.Operations[m.operation].Trial && b.times[m.operation] == 0
	}
	st.Idle = st.Start - b.now
	before := slices.Clone(b.closed)
	r.take(b, m)
	st.End = b.now
	for sp := range before {
		switch {
		case !before[sp] && b.closed[sp]:
			st.Closes = append(st.Closes, sp)
		case before[sp] && !b.closed[sp]:
			st.Opens = append(st.Opens, sp)
		}
	}
	return st
}

// placeReadings says before which step each hold is read: as late as it can be, which
// is right before the step that holds it, or before one that makes it unreadable.
func (r *rules) placeReadings(p *Plan) {
	b := r.startBench()
	states := []*state{b.state.clone()}
	for _, st := range p.Steps {
		r.take(b, move{st.Operation, st.Kind})
		states = append(states, b.state.clone())
	}
	met := make([]bool, len(r.Holds))
	for h := range r.Holds {
		met[h] = r.Holds[h].State == Met
	}
	for k, st := range p.Steps {
		if st.Kind != Undo {
			for _, h := range r.Operations[st.Operation].Holds {
				if met[h] {
					continue
				}
				for at := k; at >= 0; at-- {
					if r.readable(states[at], h) {
						p.Steps[at].Reads = append(p.Steps[at].Reads, h)
						met[h] = true
						break
					}
				}
			}
		}
		for _, h := range r.Operations[st.Operation].Disturbs {
			met[h] = false
		}
	}
}
