package assess

import "buttonup/journal"

// SpaceClosing is what closes a space for good, and what that would shut in.
type SpaceClosing struct {
	// Space is space.NAME PLACE.
	Space string
	// By are the operations that close it, those that are done for good among them; the
	// space is closed when all are.
	By []Operation
	// Next is the first of them that is still to do, with what it would shut in; nil for
	// a space that is closed, or that nothing closes.
	Next *Closing
}

// SpaceClosings lists all spaces of a job in the order of the pack.
func (m *Model) SpaceClosings(s *journal.State, o Options) []SpaceClosing {
	r := &run{Model: m, state: s, opts: o}
	r.assess()
	known := map[int]*Closing{}
	var list []SpaceClosing
	for sp := range r.spaces {
		if !r.stands(r.spaces[sp].when) {
			continue
		}
		x := SpaceClosing{Space: r.spaceName(sp)}
		for _, c := range r.order.closers[sp] {
			if r.standing(c) && !r.operations[c].Trial {
				x.By = append(x.By, Operation{r.operations[c].Name, r.operations[c].place})
			}
		}
		if c, ok := r.closesForGood(sp); ok {
			if _, done := known[c]; !done {
				known[c] = r.closing(c)
			}
			x.Next = known[c]
		}
		list = append(list, x)
	}
	return list
}

// closesForGood finds the operation with which the closing of an open space begins for
// good; a trial that comes before it does not count, unless nothing else closes it.
func (r *run) closesForGood(space int) (int, bool) {
	if r.work.closed[space] {
		return 0, false
	}
	for _, c := range r.order.closers[space] {
		if r.standing(c) && !r.work.ops[c].done && !r.trialAhead(c) && r.closesLast(r.work, c, space) {
			return c, true
		}
	}
	return r.closesNext(space)
}
