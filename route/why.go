package route

import "slices"

// Why says why a step of a plan stands where it does: first the last thing before it
// that it had to wait for, then the shortest chain of what waits for it, up to the next
// step that closes something. Where neither is, it says what else put it there: that
// nothing changes after the step before, that it fills a wait, or the order of the pack.
func Why(p *Problem, plan *Plan, step int) []Reason {
	w := &walk{rules: newRules(p), steps: plan.Steps}
	var list []Reason
	for j := step - 1; j >= 0; j-- {
		if why, must := w.comesAfter(j, step); must {
			list = append(list, why)
			break
		}
	}
	list = append(list, w.ahead(step)...)
	if len(list) == 0 {
		list = append(list, w.otherwise(step))
	}
	return list
}

// walk is a plan with the rules that it keeps.
type walk struct {
	*rules
	steps []Step
}

// because is a reason that names an operation and what it waits for.
func because(kind ReasonKind, of, by int) Reason { return Reason{kind, of, by, -1, -1, -1, -1} }

// comesAfter says by which rule step k comes after step j, if by any.
func (w *walk) comesAfter(j, k int) (Reason, bool) {
	a, b := &w.steps[j], &w.steps[k]
	i, o := a.Operation, b.Operation
	x := &w.Operations[o]
	switch {
	case b.Kind == Undo:
		why := because(StandsForTrial, o, i)
		return why, a.Kind == Do && (i == o || slices.Contains(w.neededBy[o], i))
	case a.Kind == Undo && i == o:
		return because(NeedsGood, o, i), true
	case slices.ContainsFunc(w.Operations[i].Within, func(v Within) bool { return v.Operation == o }) && a.Kind == Do:
		return because(InTime, o, i), true
	case slices.Contains(x.Needs, i) && a.Kind == Do && w.lastDoing(i, k) == j:
		switch {
		case a.Trial:
			return because(Needs, o, i), true
		case w.Operations[i].Waits && b.Idle > 0 && b.Start == a.End+w.Operations[i].Wait:
			return because(NeedsWait, o, i), true
		case w.Operations[i].Trial && w.closeTogether(i, o):
			return because(NeedsGood, o, i), true
		}
		return because(Needs, o, i), true
	}
	for _, sp := range a.Opens {
		if slices.Contains(w.in[o], sp) {
			why := because(Works, o, i)
			why.Space = sp
			return why, true
		}
	}
	return w.shutBetween(j, k)
}

// shutBetween looks for what a closing, a lock, a temporary or a hold puts between two
// steps.
func (w *walk) shutBetween(j, k int) (Reason, bool) {
	a, b := &w.steps[j], &w.steps[k]
	i, o := a.Operation, b.Operation
	for _, sp := range b.Closes {
		why := because(ShutIn, o, i)
		why.Space = sp
		if a.Kind == Do && !a.Trial && slices.Contains(w.work[sp], i) && (b.Trial || !w.follows(i, o)) {
			return why, true
		}
		for _, t := range w.takes[i] {
			if why.Temporary = t.temporary; w.mayBeIn(t, sp) {
				why.Kind = LeftInside
				return why, true
			}
		}
	}
	for l := range w.Locks {
		lock := &w.Locks[l]
		switch {
		case slices.Contains(lock.Forbids, o) && (slices.Contains(lock.Until, i) || slices.ContainsFunc(w.passes[i], func(p pass) bool { return p.lock == l })):
			why := because(LockedUntil, o, i)
			why.Lock = l
			return why, true
		case slices.Contains(lock.Forbids, i) && slices.Contains(lock.From, o):
			why := because(LockedBy, i, o)
			why.Lock = l
			return why, true
		}
	}
	for _, h := range w.Operations[i].Holds {
		if slices.Contains(w.Holds[h].Until, o) || meets(w.Holds[h].Open, b.Closes) {
			why := because(HoldBefore, i, o)
			why.Hold = h
			return why, true
		}
	}
	for _, h := range w.Operations[o].Holds {
		if slices.Contains(w.Holds[h].After, i) {
			why := because(HoldAfter, o, i)
			why.Hold = h
			return why, true
		}
	}
	return Reason{}, false
}

// mayBeIn reports whether a temporary is put into a space at one of its places.
func (w *walk) mayBeIn(t spot, space int) bool {
	return slices.ContainsFunc(w.Temporaries[t.temporary].Places[t.place].PutBy, func(i int) bool {
		return len(w.in[i]) == 0 || slices.Contains(w.in[i], space)
	})
}

// lastDoing is the newest step before another that does an operation; -1 for none.
func (w *walk) lastDoing(i, before int) int {
	for j := before - 1; j >= 0; j-- {
		if w.steps[j].Operation == i && w.steps[j].Kind == Do {
			return j
		}
	}
	return -1
}

// ahead is the shortest chain from a step to the next that closes something and has to
// wait for it.
func (w *walk) ahead(step int) []Reason {
	if len(w.steps[step].Closes) > 0 {
		return nil
	}
	from := make([]int, len(w.steps))
	links := make([]Reason, len(w.steps))
	for k := range from {
		from[k] = -1
	}
	for queue := []int{step}; len(queue) > 0; queue = queue[1:] {
		j := queue[0]
		for k := j + 1; k < len(w.steps); k++ {
			if from[k] >= 0 {
				continue
			}
			why, must := w.comesAfter(j, k)
			if !must {
				continue
			}
			from[k], links[k] = j, why
			if len(w.steps[k].Closes) == 0 {
				queue = append(queue, k)
				continue
			}
			var chain []Reason
			for ; k != step; k = from[k] {
				chain = append(chain, links[k])
			}
			slices.Reverse(chain)
			return chain
		}
	}
	return nil
}

// otherwise says what puts a step where no rule does.
func (w *walk) otherwise(step int) Reason {
	st := &w.steps[step]
	for j := step - 1; j >= 0; j-- {
		x := &w.Operations[w.steps[j].Operation]
		if w.steps[j].Kind == Do && x.Waits && w.steps[j].End+x.Wait >= st.End && slices.ContainsFunc(w.steps[step+1:], func(later Step) bool {
			return slices.Contains(w.Operations[later.Operation].Needs, w.steps[j].Operation)
		}) {
			return because(FillsWait, st.Operation, w.steps[j].Operation)
		}
	}
	if step > 0 && st.Changes == 0 && w.Operations[st.Operation].Setup != (Setup{}) {
		return because(SameSetup, st.Operation, w.steps[step-1].Operation)
	}
	return because(Written, st.Operation, -1)
}
