package assess

import "slices"

// follows reports whether operation i comes after j is done for good, because it
// needs it. A trial comes once more after what needs it only through others; what
// names it waits.
func (r *run) follows(i, j int) bool {
	return r.after[i].has(j) && (!r.operations[j].Trial || slices.Contains(r.order.needs[i], j))
}

// closesLast reports whether op is sure to be the last to close a space.
func (r *run) closesLast(w *replayed, op, space int) bool {
	for _, c := range r.order.closers[space] {
		if c != op && r.standing(c) && !r.finished(w, c) && !r.follows(op, c) {
			return false
		}
	}
	return true
}

// shutIn lists the unfinished work that op would close a space over: none as long as
// another operation is still to close it, and none that needs op.
func (r *run) shutIn(w *replayed, op, space int) []int {
	if !r.closesLast(w, op, space) {
		return nil
	}
	return slices.DeleteFunc(r.unfinishedIn(w, space), func(i int) bool { return i == op || r.follows(i, op) })
}

// belongsInside reports whether work in a space should have been done before the
// space was closed: unless it comes after all that closes it.
func (r *run) belongsInside(work, space int) bool {
	return slices.ContainsFunc(r.order.closers[space], func(c int) bool { return r.standing(c) && !r.follows(work, c) })
}

// deadEnd lists the work that could never be finished once op is done, although it
// could before: where several operations close a space, the wrong one first leaves
// work to the last that cannot come before it. Of that work it lists what lies in the
// spaces that op closes, else all.
func (r *run) deadEnd(w *replayed, op int) []int {
	after := r.stuck(w, op)
	if len(after) == 0 {
		return nil
	}
	before := r.stuck(w, -1)
	after = slices.DeleteFunc(after, func(i int) bool { return slices.Contains(before, i) })
	near := slices.DeleteFunc(slices.Clone(after), func(i int) bool {
		return !slices.ContainsFunc(r.order.inside[i], func(s int) bool { return slices.Contains(r.order.closes[op], s) })
	})
	if len(near) > 0 {
		return near
	}
	return after
}

// stuck lists the operations that can never be finished when op is done now, -1 for
// none.
//
// It goes from the end: an operation may be put before all that is placed already if
// what needs it is placed, and with it, for every space that it is in, one of those
// that close the space. Placing one never keeps another from being placed, so any
// order of placing finds all that can be. What is opened again later is let pass.
func (r *run) stuck(w *replayed, op int) []int {
	var list []int
	open := make(bits, (len(r.operations)+63)/64)
	for i := range r.operations {
		if i != op && r.standing(i) && !r.finished(w, i) {
			list = append(list, i)
			open.set(i)
		}
	}
	for {
		left := slices.DeleteFunc(slices.Clone(list), func(i int) bool { return r.mayStandLast(w, op, i, open) })
		if len(left) == len(list) {
			return left
		}
		list = left
		clear(open)
		for _, i := range list {
			open.set(i)
		}
	}
}

// mayStandLast reports whether an operation may be done after all the others in open,
// of which it is one, when one more is done now.
func (r *run) mayStandLast(w *replayed, now, i int, open bits) bool {
	for _, n := range r.order.neededBy[i] {
		if open.has(n) && (!r.operations[i].Trial || r.meet(n, i)) {
			return false
		}
	}
	for _, s := range r.order.inside[i] {
		if !r.stands(r.spaces[s].when) || slices.ContainsFunc(r.order.openers[s], func(o int) bool { return r.standing(o) && o != now && !w.ops[o].done }) {
			continue
		}
		toCome, later := false, false
		for _, c := range r.order.closers[s] {
			if c != i && c != now && r.standing(c) && !r.finished(w, c) {
				toCome, later = true, later || !open.has(c)
			}
		}
		whole := w.closed[s] && !r.closedForTrial(w, s)
		if now >= 0 {
			whole = whole && !slices.Contains(r.order.opens[now], s) || slices.Contains(r.order.closes[now], s)
		}
		if !later && (whole || toCome) {
			return false
		}
	}
	return true
}

// meet reports whether an operation that needs a trial closes or works in a space that
// the trial closes, so that it waits until the trial is done for good.
func (r *run) meet(i, trial int) bool {
	return slices.ContainsFunc(r.order.closes[trial], func(s int) bool {
		return slices.Contains(r.order.closes[i], s) || slices.Contains(r.order.inside[i], s)
	})
}
