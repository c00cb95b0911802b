package assess

import (
	"slices"
	"time"

	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
)

// progress is what became of an operation.
type progress struct {
	done  bool
	times int // how often it was done
	seq   int // of the newest doing
	at    time.Time
	// waiting is set from its doing until a person ends the wait.
	waiting bool
	started time.Time
}

// replayed is the state of the work after the events of the journal.
type replayed struct {
	ops      []progress
	closed   []bool
	closedBy []bool // by an operation of this journal, not from the start
	locked   []int  // the seq at which each lock began, -1 if it does not stand
}

// replay walks through the events of the journal and concludes what may be done.
func (r *run) replay() {
	if len(r.operations) == 0 && len(r.spaces) == 0 {
		r.unknownOperations()
		r.work = &replayed{}
		return
	}
	w := r.walk()
	r.work = w
	r.concludeSpaces(w)
	r.concludeLocks(w)
	r.concludeOperations(w)
	r.concludeWaits(w)
	r.concludeTemporaries(w)
}

func (r *run) unknownOperations() {
	for i := range r.state.Operations {
		rec := &r.state.Operations[i]
		r.unknownPlace(rec.Stamp, "operation", trimKind(rec.OperationBody.Operation, "operation"), rec.Place)
	}
}

// unknownPlace reports an event about a block that the pack does not have, or not at
// that place.
func (r *run) unknownPlace(s journal.Stamp, kind, name, place string) {
	places := r.placesOf(kind, name)
	switch {
	case places == nil:
		r.broken(s, CodeUnknownName, "the pack has no "+kind+" called "+quoted(name), nearest(name, r.namesOf(kind)))
	case len(places) == 1 && places[0] == "":
		r.broken(s, CodeUnknownName, kind+" "+name+" is one for the whole engine and has no place "+quoted(place), "leave the place out")
	case place == "":
		r.broken(s, CodeUnknownName, "the event does not say at which place "+kind+" "+name+" is meant", "name one of "+joinWords(places))
	default:
		r.broken(s, CodeUnknownName, kind+" "+name+" has no place "+quoted(place), orElse(nearest(place, places), "its places are "+joinWords(places)))
	}
}

func (r *run) indexOf(kind string) map[instance]int {
	switch kind {
	case "operation":
		return r.operationIndex
	case "check":
		return r.checkIndex
	case "joint":
		return r.jointIndex
	case "slot":
		return r.slotIndex
	}
	return r.dimensionIndex
}

func (r *run) placesOf(kind, name string) []string {
	var places []string
	for key := range r.indexOf(kind) {
		if key.name == name {
			places = append(places, key.place)
		}
	}
	slices.Sort(places)
	return places
}

func (r *run) namesOf(kind string) []string {
	seen := map[string]bool{}
	for key := range r.indexOf(kind) {
		seen[key.name] = true
	}
	return keys(seen)
}

// step is an event that moves the work along.
type step struct {
	seq  int
	do   func(w *replayed)
	lock bool
}

func (r *run) walk() *replayed {
	w := &replayed{ops: make([]progress, len(r.operations)), closed: make([]bool, len(r.spaces)), closedBy: make([]bool, len(r.spaces)), locked: make([]int, len(r.locks))}
	for i := range w.locked {
		w.locked[i] = -1
	}
	assembled := r.state.Job != nil && r.state.Job.Assembled
	for i := range r.spaces {
		w.closed[i] = assembled || r.spaces[i].StartsClosed
	}
	r.after = r.order.after
	if r.conditional {
		r.after = r.order.needed(r.standing)
	}
	var steps []step
	for i := range r.state.Operations {
		rec := &r.state.Operations[i]
		name := trimKind(rec.OperationBody.Operation, "operation")
		op, ok := r.operationIndex[instance{name, rec.Place}]
		if !ok {
			r.unknownPlace(rec.Stamp, "operation", name, rec.Place)
			continue
		}
		if !r.stands(r.operations[op].when) {
			continue
		}
		steps = append(steps, step{seq: rec.Seq, do: func(w *replayed) { r.operate(w, op, rec) }})
	}
	for i := range r.state.Waits {
		rec := &r.state.Waits[i]
		steps = append(steps, step{seq: rec.Seq, do: func(w *replayed) { r.waited(w, rec) }})
	}
	if len(r.locks) > 0 {
		for i := range r.state.Checks {
			rec := &r.state.Checks[i]
			steps = append(steps, step{seq: rec.Seq, do: func(w *replayed) { r.unlock(w, rec.Seq) }})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int { return a.seq - b.seq })
	for _, s := range steps {
		s.do(w)
	}
	return w
}

// operate does or takes back an operation.
func (r *run) operate(w *replayed, op int, rec *journal.OperationRecord) {
	p := &w.ops[op]
	x := &r.operations[op]
	if rec.State == journal.Undone {
		for _, s := range r.order.closes[op] {
			// In an engine that came closed nobody wrote down that it was done.
			if p.done || !w.closedBy[s] {
				w.closed[s] = false
			}
		}
		if !p.done {
			return
		}
		p.done, p.waiting = false, false
		r.relock(w)
		return
	}
	if p.done {
		// It is not done once more; but what waits for a later doing may go on.
		p.seq = rec.Seq
		r.unlock(w, rec.Seq)
		return
	}
	r.complain(w, op, rec)
	p.done, p.seq, p.at = true, rec.Seq, rec.At
	p.times++
	p.waiting, p.started = x.HasWait || x.WaitsFor != "", rec.At
	for _, s := range r.order.opens[op] {
		r.endTrials(w, op, s)
		w.closed[s] = false
	}
	for _, s := range r.order.closes[op] {
		if r.trialNow(w, op) || r.allClosersDone(w, s) {
			w.closed[s], w.closedBy[s] = true, true
		}
	}
	for k := range r.locks {
		if slices.Contains(r.order.locks[k].from, op) && w.locked[k] < 0 && r.stands(r.locks[k].when) {
			w.locked[k] = rec.Seq
		}
	}
	r.unlock(w, rec.Seq)
}

// endTrials ends the trials that close a space which op opens: those done once, and
// those done again while not all that closes the space is done. With a trial all that
// it alone closed is open.
func (r *run) endTrials(w *replayed, op, space int) {
	whole := r.allClosersDone(w, space)
	for _, c := range r.order.closers[space] {
		if c == op || !r.operations[c].Trial || !w.ops[c].done || whole && !r.trialNow(w, c) {
			continue
		}
		for _, s := range r.order.closes[c] {
			if r.trialNow(w, c) {
				w.closed[s] = false
			}
		}
		w.ops[c].done, w.ops[c].waiting = false, false
		r.relock(w)
	}
}

// trialNow reports whether the operation stands done for trial: it is a trial and
// was done once.
func (r *run) trialNow(w *replayed, op int) bool {
	return r.operations[op].Trial && w.ops[op].times <= 1
}

// finished reports whether an operation is done for good.
func (r *run) finished(w *replayed, op int) bool {
	return w.ops[op].done && !r.trialNow(w, op)
}

func (r *run) allClosersDone(w *replayed, space int) bool {
	for _, c := range r.order.closers[space] {
		if r.stands(r.operations[c].when) && !r.finished(w, c) {
			return false
		}
	}
	return true
}

func (r *run) waited(w *replayed, rec *journal.WaitRecord) {
	name := trimKind(rec.Wait.Operation, "operation")
	found := false
	for i := range r.operations {
		if r.operations[i].Name != name || rec.Place != "" && r.operations[i].place != rec.Place {
			continue
		}
		found = true
		p := &w.ops[i]
		switch {
		case rec.State == journal.Ended:
			p.waiting = false
		case p.done:
			p.waiting, p.started = true, rec.At
		}
	}
	if !found {
		r.unknownPlace(rec.Stamp, "operation", name, rec.Place)
	}
}

// unlock ends the locks whose conditions are all met by now.
func (r *run) unlock(w *replayed, seq int) {
	for k := range r.locks {
		if w.locked[k] >= 0 && w.locked[k] < seq && len(r.lockWaitsFor(w, k, seq)) == 0 {
			w.locked[k] = -1
		}
	}
}

// lockWaitsFor lists what a standing lock still waits for, looking at events up to
// seq.
func (r *run) lockWaitsFor(w *replayed, k, seq int) []string {
	var list []string
	since := w.locked[k]
	for _, op := range r.order.locks[k].until {
		if p := w.ops[op]; r.stands(r.operations[op].when) && !(p.done && p.seq > since) {
			list = append(list, Operation{r.operations[op].Name, r.operations[op].place}.String())
		}
	}
	for _, c := range r.order.locks[k].checks {
		if !r.stands(r.checks[c].when) || r.passedBetween(c, since, seq) {
			continue
		}
		list = append(list, at("check."+r.checks[c].Name, r.checks[c].place))
	}
	return list
}

// passedBetween reports whether the newest answer to a check after since and up to
// seq passes.
func (r *run) passedBetween(check, since, seq int) bool {
	c := &r.checks[check]
	passed := false
	for i := range r.state.Checks {
		rec := &r.state.Checks[i]
		if rec.Seq > since && rec.Seq <= seq && trimKind(rec.Of, "check") == c.Name && rec.Place == c.place {
			if len(c.Answers) == 0 || contains(c.Answers, rec.Answer) {
				passed = passes(c.Pass, rec.Answer)
			}
		}
	}
	return passed
}

// relock ends locks whose operation was taken back.
func (r *run) relock(w *replayed) {
	for k := range r.locks {
		if w.locked[k] < 0 {
			continue
		}
		stillFrom := false
		for _, op := range r.order.locks[k].from {
			stillFrom = stillFrom || w.ops[op].done
		}
		if !stillFrom {
			w.locked[k] = -1
		}
	}
}

// complain reports an operation that the journal says was done although it should
// not have been yet.
func (r *run) complain(w *replayed, op int, rec *journal.OperationRecord) {
	var reasons []Reason
	for _, n := range r.order.needs[op] {
		switch p := w.ops[n]; {
		case !r.standing(n):
		case !p.done:
			reasons = append(reasons, Reason{Kind: NeedsOperation, Of: r.operationName(n)})
		case p.done && p.waiting:
			reasons = append(reasons, Reason{Kind: NeedsWait, Of: r.operationName(n), Says: r.operations[n].WaitsFor})
		}
	}
	for _, s := range r.order.in[op] {
		if r.stands(r.spaces[s].when) && w.closed[s] {
			reasons = append(reasons, Reason{Kind: NeedsOpen, Of: r.spaceName(s)})
		}
	}
	x := &r.operations[op]
	if len(reasons) > 0 {
		r.find(Finding{Code: CodeOutOfOrder, Severity: Attention, Of: "operation." + x.Name, Place: x.place, Title: x.Title, Event: rec.Event, Line: rec.Line, Reasons: reasons})
	}
	for _, k := range r.order.forbidden[op] {
		if w.locked[k] >= 0 {
			r.find(Finding{Code: CodeLockBroken, Severity: Stop, Of: "operation." + x.Name, Place: x.place, Title: x.Title, Event: rec.Event, Line: rec.Line,
				Reasons: []Reason{{Kind: Locked, Of: at("lock."+r.locks[k].Name, r.locks[k].place), Says: r.locks[k].Title}}})
		}
	}
	for i := range r.operations {
		for _, within := range r.operations[i].Within {
			if within.Operation != x.Name || !w.ops[i].done || !slices.Contains(r.reach(r.operations[i].At, r.operations[i].place, x.At), x.place) {
				continue
			}
			if late := rec.At.Sub(w.ops[i].at) - time.Duration(within.Time*float64(time.Second)); late > 0 && !w.ops[i].at.IsZero() && !rec.Late {
				r.find(Finding{Code: CodeTooLate, Severity: Attention, Of: "operation." + x.Name, Place: x.place, Title: x.Title, Event: rec.Event, Line: rec.Line,
					Operation: Operation{r.operations[i].Name, r.operations[i].place}, Late: late})
			}
		}
	}
}

func (r *run) operationName(i int) string {
	return Operation{r.operations[i].Name, r.operations[i].place}.String()
}

func (r *run) spaceName(i int) string { return at("space."+r.spaces[i].Name, r.spaces[i].place) }

// standing reports whether an operation is part of this job.
func (r *run) standing(op int) bool { return r.stands(r.operations[op].when) }

// unfinishedIn lists the work in a space that is not done for good. What closes the
// space is not itself in it.
func (r *run) unfinishedIn(w *replayed, space int) []int {
	var list []int
	for _, i := range r.order.work[space] {
		if !r.finished(w, i) && r.standing(i) {
			list = append(list, i)
		}
	}
	return list
}

func (r *run) concludeSpaces(w *replayed) {
	for i := range r.spaces {
		s := &r.spaces[i]
		if !r.stands(s.when) {
			continue
		}
		out := Space{Name: s.Name, Place: s.place, Title: s.Title, Closed: w.closed[i]}
		var forgotten []Reason
		for _, op := range r.unfinishedIn(w, i) {
			out.Unfinished = append(out.Unfinished, Operation{r.operations[op].Name, r.operations[op].place})
			if r.belongsInside(op, i) {
				forgotten = append(forgotten, Reason{Kind: Unfinished, Of: r.operationName(op)})
			}
		}
		r.out.Spaces = append(r.out.Spaces, out)
		if w.closed[i] && w.closedBy[i] && len(forgotten) > 0 && !r.closedForTrial(w, i) {
			r.find(Finding{Code: CodeClosedTooEarly, Severity: Stop, Of: "space." + s.Name, Place: s.place, Title: s.Title, Reasons: forgotten})
		}
	}
}

// closedForTrial reports whether a space is closed by a trial and not for good.
func (r *run) closedForTrial(w *replayed, space int) bool {
	for _, c := range r.order.closers[space] {
		if w.ops[c].done && r.trialNow(w, c) {
			return true
		}
	}
	return false
}

func (r *run) concludeLocks(w *replayed) {
	const forever = int(^uint(0) >> 1)
	for k := range r.locks {
		if w.locked[k] < 0 || !r.stands(r.locks[k].when) {
			continue
		}
		lock := &r.locks[k]
		r.out.Locks = append(r.out.Locks, Lock{Name: lock.Name, Place: lock.place, Title: lock.Title, Until: r.lockWaitsFor(w, k, forever), Forbids: lock.Forbids, since: w.locked[k]})
	}
}

func (r *run) concludeOperations(w *replayed) {
	for i := range r.operations {
		x := &r.operations[i]
		if !r.stands(x.when) {
			continue
		}
		if w.ops[i].done {
			r.checkHolds(w, i)
			r.checkChanged(w, i)
			continue
		}
		name := Operation{x.Name, x.place}
		if reasons := r.blocking(w, i); len(reasons) > 0 {
			r.out.Blocked = append(r.out.Blocked, Blocked{name, reasons})
		} else {
			r.out.Next = append(r.out.Next, name)
		}
	}
}

// blocking lists everything that keeps an operation from being done now.
func (r *run) blocking(w *replayed, op int) []Reason {
	var reasons []Reason
	add := func(reason Reason) { reasons = append(reasons, reason) }
	for _, n := range r.order.needs[op] {
		switch p := w.ops[n]; {
		case !r.standing(n):
		case !p.done:
			add(Reason{Kind: NeedsOperation, Of: r.operationName(n)})
		case r.trialNow(w, n) && r.closeTogether(n, op):
			add(Reason{Kind: NeedsForGood, Of: r.operationName(n)})
		case p.waiting:
			add(Reason{Kind: NeedsWait, Of: r.operationName(n), Says: r.operations[n].WaitsFor})
		}
	}
	for _, s := range r.order.in[op] {
		if r.stands(r.spaces[s].when) && w.closed[s] {
			add(Reason{Kind: NeedsOpen, Of: r.spaceName(s)})
		}
	}
	trial := r.operations[op].Trial && w.ops[op].times == 0
	for _, s := range r.order.closes[op] {
		if !r.stands(r.spaces[s].when) {
			continue
		}
		if !trial {
			for _, i := range r.shutIn(w, op, s) {
				add(Reason{Kind: Unfinished, Of: r.operationName(i)})
			}
		}
		if trial || r.closesLast(w, op, s) {
			for _, t := range r.pack.Temporaries {
				if n := r.inside(w, t, s); n > 0 && !r.comesOutLater(t.Name, op) {
					add(Reason{Kind: Temporary, Of: "temporary." + t.Name, Count: n})
				}
			}
		}
	}
	for _, h := range r.order.holds[op] {
		if res, ok := r.heldResult(h); ok && !r.holdMet(res, r.operations[op].Never) {
			add(Reason{Kind: Hold, Of: at(h.ref, h.place), Result: res})
		}
	}
	for _, k := range r.order.forbidden[op] {
		if w.locked[k] >= 0 {
			add(Reason{Kind: Locked, Of: at("lock."+r.locks[k].Name, r.locks[k].place), Says: r.locks[k].Title})
		}
	}
	if len(reasons) == 0 && len(r.order.closes[op]) > 0 && !trial {
		for _, i := range r.deadEnd(w, op) {
			add(Reason{Kind: Unfinished, Of: r.operationName(i)})
		}
	}
	return dedupe(reasons)
}

// closeTogether reports whether two operations close one space, so that the second
// must not go on top of a trial of the first.
func (r *run) closeTogether(a, b int) bool {
	return slices.ContainsFunc(r.order.closes[a], func(s int) bool { return slices.Contains(r.order.closes[b], s) })
}

func dedupe(list []Reason) []Reason {
	out := list[:0]
	for _, x := range list {
		if !slices.ContainsFunc(out, func(y Reason) bool { return y.Kind == x.Kind && y.Of == x.Of }) {
			out = append(out, x)
		}
	}
	return out
}

// inside counts the pieces of a temporary that closing a space would hide: those put
// in by work in that space, or by work that names no space, and not taken out again.
func (r *run) inside(w *replayed, t *pack.Temporary, space int) int {
	n := 0
	for op := range r.operations {
		if !w.ops[op].done || !slices.Contains(r.order.putsIn[op], t.Name) {
			continue
		}
		if in := r.order.in[op]; (len(in) == 0 || slices.Contains(in, space)) && r.stillIn(w, op, t.Name) {
			n += t.Count
		}
	}
	return n
}

// stillIn reports whether what an operation put in was not taken out since. What is
// put in at one place is taken out by what reaches it, first in, first out.
func (r *run) stillIn(w *replayed, put int, name string) bool {
	x := &r.operations[put]
	var puts, outs []int
	for op := range r.operations {
		y := &r.operations[op]
		switch {
		case !w.ops[op].done:
		case slices.Contains(r.order.putsIn[op], name) && y.At == x.At && y.place == x.place:
			puts = append(puts, w.ops[op].seq)
		case slices.Contains(r.order.takesOut[op], name) && slices.Contains(r.reach(y.At, y.place, x.At), x.place):
			outs = append(outs, w.ops[op].seq)
		}
	}
	slices.Sort(puts)
	slices.Sort(outs)
	for _, out := range outs {
		if len(puts) > 0 && puts[0] < out {
			puts = puts[1:]
		}
	}
	return slices.Contains(puts, w.ops[put].seq)
}

// comesOutLater reports whether a temporary is taken out by work that comes after an
// operation, so that the operation does not hide it for good.
func (r *run) comesOutLater(name string, op int) bool {
	for i := range r.operations {
		if slices.Contains(r.order.takesOut[i], name) && (i == op || r.standing(i) && r.after[i].has(op)) {
			return true
		}
	}
	return false
}

// heldResult finds the result of a hold; false where it is left out of the job.
func (r *run) heldResult(h held) (*Result, bool) {
	list := r.numberResult
	switch h.kind {
	case "dimension":
		list = r.dimensionResult
	case "check":
		list = r.checkResult
	}
	if at := list[h.index]; at >= 0 {
		return &r.out.Results[at], true
	}
	return nil, false
}

// holdMet reports whether a held value is measured and in limits, or accepted. What
// is not known may not be accepted where nothing may be skipped.
func (r *run) holdMet(res *Result, never bool) bool {
	for _, code := range res.InTheWay() {
		if never && unknown(code) {
			return false
		}
		f := Finding{Code: code, Of: res.Reference(), Place: res.Place, Result: res}
		if r.deviationFor(&f) != nil {
			continue
		}
		// What is stale is not measured either; accepting one accepts both.
		if f.Code = CodeNotMeasured; code != CodeStale || r.deviationFor(&f) == nil {
			return false
		}
	}
	return true
}

// InTheWay lists the codes of the findings that keep a result from passing a hold.
func (r *Result) InTheWay() []string {
	var codes []string
	switch {
	case r.Failed:
		return []string{CodeCheckFailed}
	case r.Kind == "check" && !r.Passed:
		return []string{CodeCheckOpen}
	case r.Kind == "check":
		return nil
	case r.Undefined != "":
		return []string{CodeUndefined}
	case r.Stale != nil:
		return []string{CodeStale}
	}
	if len(r.Blank) > 0 {
		codes = append(codes, CodeBlank)
	}
	switch {
	case r.Verdict == measure.TooClose:
		codes = append(codes, CodeTooClose)
	case r.Verdict == measure.OutOfLimits:
		codes = append(codes, CodeOutOfLimits)
	case r.unmeasured():
		codes = append(codes, CodeNotMeasured)
	}
	return codes
}

// unknown reports whether a finding says that something is not known, rather than
// that it is bad.
func unknown(code string) bool {
	switch code {
	case CodeCheckOpen, CodeUndefined, CodeStale, CodeBlank, CodeNotMeasured:
		return true
	}
	return false
}

// checkHolds reports an operation that is done although what it holds is not met.
func (r *run) checkHolds(w *replayed, op int) {
	var reasons []Reason
	x := &r.operations[op]
	for _, h := range r.order.holds[op] {
		if res, ok := r.heldResult(h); ok && !r.holdMet(res, x.Never) && !r.wasMet(res, w.ops[op].seq) {
			reasons = append(reasons, Reason{Kind: Hold, Of: at(h.ref, h.place), Result: res})
		}
	}
	if len(reasons) == 0 {
		return
	}
	severity := Attention
	if len(x.Closes) > 0 || x.Never {
		severity = Stop
	}
	r.find(Finding{Code: CodeHoldPassed, Severity: severity, Of: "operation." + x.Name, Place: x.place, Title: x.Title, Reasons: reasons})
}

// wasMet reports whether a hold that is not met now only because its readings became
// stale was met when its operation was done.
func (r *run) wasMet(res *Result, seq int) bool {
	if r.lastDisturbed <= seq || slices.ContainsFunc(res.InTheWay(), func(code string) bool { return !unknown(code) }) {
		return false
	}
	then := r.before(seq-1).result(res.Kind, res.Name, res.Place)
	return then != nil && !slices.ContainsFunc(then.InTheWay(), func(code string) bool {
		return r.deviationFor(&Finding{Code: code, Of: res.Reference(), Place: res.Place}) == nil
	})
}

func (r *run) concludeWaits(w *replayed) {
	for i := range r.operations {
		p := w.ops[i]
		if !p.done || !p.waiting {
			continue
		}
		x := &r.operations[i]
		out := Wait{Operation: Operation{x.Name, x.place}, For: x.WaitsFor, Since: p.started, Length: x.Wait}
		if !p.started.IsZero() {
			out.Due = p.started.Add(time.Duration(x.Wait * float64(time.Second)))
		}
		r.out.Waits = append(r.out.Waits, out)
	}
}

// concludeTemporaries reports what is shut in.
func (r *run) concludeTemporaries(w *replayed) {
	for _, t := range r.pack.Temporaries {
		for s := range r.spaces {
			if !w.closed[s] || !w.closedBy[s] {
				continue
			}
			if n := r.inside(w, t, s); n > 0 && r.putInThere(w, t.Name, s) {
				r.find(Finding{Code: CodeTemporaryInside, Severity: Stop, Of: "temporary." + t.Name, Place: r.spaces[s].place, Title: t.Title,
					Reasons: []Reason{{Kind: Temporary, Of: r.spaceName(s), Count: n}}})
			}
		}
	}
}

// putInThere reports whether work in this very space put a temporary in.
func (r *run) putInThere(w *replayed, name string, space int) bool {
	for op := range r.operations {
		if w.ops[op].done && slices.Contains(r.order.putsIn[op], name) && slices.Contains(r.order.in[op], space) {
			return true
		}
	}
	return false
}
