package assess

import (
	"slices"
	"strings"

	"buttonup/journal"
	"buttonup/route"
)

// Closing is what an operation would shut in: everything inside, proven or not, and what
// it would cost to come back.
type Closing struct {
	Operation Operation
	// Closes are the spaces that it closes, with their places. Trial says that they are
	// closed for trial only, and opened again.
	Closes []string
	Trial  bool
	// Begins says that it closes them together with After, which comes later: they are
	// closed only then, and hidden now.
	Begins bool
	// Open is what is inside and not done, not measured, not photographed, not out again
	// or not proven; Proven is the rest.
	Open, Proven []Inside
	// Never says that it is not to be done while anything is open.
	Never bool
	// After are the operations that close the same spaces after it.
	After []Operation
	// Price is the least that must come off to come back once the engine is together, which
	// is when what was forgotten shows; Soon is that right after the closing. Both are nil
	// if the spaces are closed for trial only.
	Price, Soon *Way
}

// InsideKind says what is wanted of something inside.
type InsideKind uint8

// What is inside is work, a value or a look that is held, a photo, or something that was
// put in for a while.
const (
	InsideWork InsideKind = iota
	InsideHold
	InsidePhoto
	InsideTemporary
)

// Inside is one thing that would be shut in.
type Inside struct {
	Kind InsideKind
	// Of is the reference of the work, the value, the check or the temporary.
	Of string
	// By is what proves it: the operation itself, the one that holds the value, or the
	// one that takes the temporary out.
	By Operation
	// Result is that of a hold or of the check that wants a photo.
	Result *Result
	// Accepted is the deviation that stands for it, nil for none.
	Accepted *journal.DeviationRecord
	Count    int
	// Last is the operation before which it can be done without taking anything back.
	// Gone says that it can no longer: the space is closed already.
	Last Operation
	Gone bool
}

// BeforeClosing says what an operation would shut in. It is false for an operation that
// closes nothing in this job, or that is done.
func (m *Model) BeforeClosing(s *journal.State, o Options, op Operation) (*Closing, bool) {
	r := &run{Model: m, state: s, opts: o}
	r.assess()
	i, known := r.operationIndex[instance{op.Name, op.Place}]
	if !known || !r.standing(i) || r.work.ops[i].done {
		return nil, false
	}
	c := r.closing(i)
	return c, c != nil
}

// Closings lists, for every space that is open, the operation that closes it next.
func (a *Assessment) Closings() []Operation { return a.closings }

// concludeClosings finds the operation that begins to close each open space.
func (r *run) concludeClosings() {
	for s := range r.spaces {
		if r.work.closed[s] || !r.stands(r.spaces[s].when) {
			continue
		}
		if c, ok := r.closesNext(s); ok {
			op := Operation{r.operations[c].Name, r.operations[c].place}
			if !slices.Contains(r.out.closings, op) {
				r.out.closings = append(r.out.closings, op)
			}
		}
	}
}

// closesNext finds the operation with which the closing of an open space begins for
// good: the first of the closers after which only closers come.
func (r *run) closesNext(space int) (int, bool) {
	for _, c := range r.order.closers[space] {
		if r.standing(c) && !r.finished(r.work, c) && !r.work.ops[c].done && (r.trialAhead(c) || r.closesLast(r.work, c, space)) {
			return c, true
		}
	}
	return 0, false
}

// trialAhead reports whether an operation is a trial that is still to be done once.
func (r *run) trialAhead(op int) bool { return r.operations[op].Trial && r.work.ops[op].times == 0 }

func (r *run) closing(op int) *Closing {
	x := &r.operations[op]
	c := &Closing{Operation: Operation{x.Name, x.place}, Never: x.Never, Trial: r.trialAhead(op)}
	var spaces []int
	for _, s := range r.order.closes[op] {
		if r.stands(r.spaces[s].when) && (c.Trial || r.closesLast(r.work, op, s)) {
			spaces = append(spaces, s)
			c.Closes = append(c.Closes, r.spaceName(s))
		}
	}
	if len(spaces) == 0 {
		if spaces = r.beginsToClose(op); len(spaces) == 0 {
			return nil
		}
		c.Begins = true
		for _, s := range spaces {
			c.Closes = append(c.Closes, r.spaceName(s))
		}
	}
	for _, i := range r.order.needs[op] {
		if r.standing(i) && !r.work.ops[i].done {
			r.insideWork(c, i)
		}
	}
	if !c.Trial {
		for _, s := range spaces {
			for _, i := range r.order.work[s] {
				if i != op && r.standing(i) && r.belongsInside(i, s) && !(c.Begins && r.after[i].has(op)) {
					r.insideWork(c, i)
				}
			}
		}
		for _, i := range r.deadEnd(r.work, op) {
			r.insideWork(c, i)
		}
	}
	for _, s := range spaces {
		r.insideTemporaries(c, op, s)
	}
	r.insideHolds(c, op)
	if !c.Trial {
		for i := range r.operations {
			if i != op && r.standing(i) && !r.after[op].has(i) && slices.ContainsFunc(r.order.closes[i], func(s int) bool { return slices.Contains(spaces, s) }) && !r.finished(r.work, i) {
				c.After = append(c.After, Operation{r.operations[i].Name, r.operations[i].place})
			}
		}
		c.Soon = r.priceOf(spaces, false)
		c.Price = r.priceOf(spaces, true)
	}
	for k := range c.Open {
		r.lastMoment(&c.Open[k], c.Operation)
	}
	return c
}

// beginsToClose lists the open spaces that an operation closes together with others that
// are still to come.
func (r *run) beginsToClose(op int) []int {
	return slices.DeleteFunc(slices.Clone(r.order.closes[op]), func(s int) bool { return r.work.closed[s] || !r.stands(r.spaces[s].when) })
}

func (c *Closing) add(open bool, x Inside) {
	list := &c.Proven
	if open {
		list = &c.Open
	}
	if !slices.ContainsFunc(*list, func(y Inside) bool { return y.Kind == x.Kind && y.Of == x.Of }) {
		*list = append(*list, x)
	}
}

// insideWork adds an operation, and what it holds if it is not done.
func (r *run) insideWork(c *Closing, i int) {
	name := Operation{r.operations[i].Name, r.operations[i].place}
	done := r.finished(r.work, i)
	c.add(!done, Inside{Kind: InsideWork, Of: name.String(), By: name})
	if done && r.hasClosed(i) {
		return // what it holds was hidden by it, and told before it was done
	}
	r.insideHolds(c, i)
}

// hasClosed reports whether an operation closed something that is closed.
func (r *run) hasClosed(i int) bool {
	return slices.ContainsFunc(r.order.closes[i], func(s int) bool { return r.work.closed[s] })
}

// insideHolds adds the values and looks that an operation holds, and the photos that
// they want.
func (r *run) insideHolds(c *Closing, i int) {
	name := Operation{r.operations[i].Name, r.operations[i].place}
	done := r.finished(r.work, i)
	for _, h := range r.order.holds[i] {
		res, ok := r.heldResult(h)
		if !ok {
			continue
		}
		x := Inside{Kind: InsideHold, Of: at(h.ref, h.place), By: name, Result: res}
		met := r.holdMet(res, r.operations[i].Never)
		for _, code := range res.InTheWay() {
			x.Accepted = r.deviationFor(&Finding{Code: code, Of: res.Reference(), Place: res.Place})
		}
		c.add(!met && !(done && r.wasMet(res, r.work.ops[i].seq)), x)
		if h.kind == "check" && r.checks[h.index].Photo {
			c.add(!r.photographed(h, name), Inside{Kind: InsidePhoto, Of: x.Of, By: name, Result: res})
		}
	}
}

// photographed reports whether a photo of a check, or of the operation that holds it, was
// kept.
func (r *run) photographed(h held, op Operation) bool {
	of := at(h.ref, h.place)
	for i := range r.state.Photos {
		if p := strings.TrimSpace(r.state.Photos[i].Of); p == of || p == op.String() || p == h.ref && h.place == "" {
			return true
		}
	}
	return false
}

// insideTemporaries adds what was put in and must be counted out again.
func (r *run) insideTemporaries(c *Closing, op, space int) {
	for _, t := range r.pack.Temporaries {
		x := Inside{Kind: InsideTemporary, Of: "temporary." + t.Name, Count: r.inside(r.work, t, space)}
		if x.Count == 0 || r.comesOutLater(t.Name, op) {
			continue
		}
		for i := range r.operations {
			if r.standing(i) && !r.work.ops[i].done && slices.Contains(r.order.takesOut[i], t.Name) {
				x.By = Operation{r.operations[i].Name, r.operations[i].place}
				break
			}
		}
		c.add(true, x)
	}
}

// lastMoment says until when something can be done without taking anything back: until
// the first of its spaces is closed.
func (r *run) lastMoment(x *Inside, closing Operation) {
	x.Last = closing
	i, known := r.operationIndex[instance{x.By.Name, x.By.Place}]
	if !known {
		return
	}
	for _, s := range r.order.inside[i] {
		if r.work.closed[s] && r.stands(r.spaces[s].when) {
			x.Gone = !r.work.ops[i].done
		}
	}
}

// priceOf is the least that must come off to come back into spaces, supposing that all
// that closes them is done, and the rest is as it is now or, together, done too.
func (r *run) priceOf(spaces []int, together bool) *Way {
	w := r.work
	r.work = w.clone()
	defer func() { r.work = w }()
	last := 0
	for i := range w.ops {
		last = max(last, w.ops[i].seq)
	}
	finish := func(op int) {
		if p := &r.work.ops[op]; r.standing(op) {
			last++
			p.done, p.waiting, p.times, p.seq = true, false, max(2, p.times+1), last
		}
	}
	for _, s := range spaces {
		for _, c := range r.order.closers[s] {
			finish(c)
		}
		r.work.closed[s], r.work.closedBy[s] = true, true
	}
	if together {
		for i := range r.operations {
			if !r.work.ops[i].done || r.trialNow(r.work, i) {
				finish(i)
			}
		}
		for s := range r.spaces {
			if len(r.order.closers[s]) > 0 {
				r.work.closed[s], r.work.closedBy[s] = true, true
			}
		}
	}
	b := r.bind()
	tear := route.TearBack(b.problem, route.Target{Spaces: b.spaceNumbers(spaces)})
	if len(tear.Ways) == 0 {
		return nil
	}
	way := b.way(&tear.Ways[0])
	return &way
}

func (w *replayed) clone() *replayed {
	return &replayed{ops: slices.Clone(w.ops), closed: slices.Clone(w.closed), closedBy: slices.Clone(w.closedBy), locked: slices.Clone(w.locked)}
}
