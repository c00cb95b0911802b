package assess

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/route"
)

// TearBack is what must come off to get at something again, and what that costs.
type TearBack struct {
	// To is what is to be got at: operation.NAME PLACE or space.NAME PLACE.
	To string
	// Ways are the ways to get there, the least first.
	Ways []Way
	// Why says what stands in the way where there is none.
	Why []Link
	// Open says that nothing has to come off.
	Open bool
}

// Way is one way to get there.
type Way struct {
	// Undo is what is taken back, in order; Do what is done because it opens something.
	Undo, Do []Operation
	// Replace is what is used up and must be there again before it is closed.
	Replace []UsedUp
	// Remeasure is what no longer counts or is held on the way back: references with
	// their places. Retorque are the joints that are tightened again.
	Remeasure, Retorque []string
	// Work is what taking back takes, Again what doing it all again takes, Waits the
	// waits on the way back, one after the other.
	Work, Again, Waits time.Duration
	// Cost is that of what is used up, from the cheapest offers, without shipping;
	// Unpriced says that some of it has no price.
	Cost     parts.Money
	Unpriced bool
}

// UsedUp is what cannot be used again once an operation is taken back: the part in a
// slot that is one-use, or the fasteners of a joint that are.
type UsedUp struct {
	// Of is slot.NAME PLACE or joint.NAME PLACE.
	Of string
	// Part is the part to buy, or that was in where nobody offers one; "" where nothing is
	// known of it.
	Part  string
	Count int
	// Cost is that of the purchase that it comes with. With says that it was counted where
	// that kit or pack is named first.
	Cost   parts.Money
	Priced bool
	With   bool

	slot int // -1 for the fasteners of a joint
}

// NotFoundError says that a reference names nothing of the job.
type NotFoundError struct{ Says, Do string }

// Error says it without the remedy.
func (e *NotFoundError) Error() string { return e.Says }

// TearBack finds the least that must come off to reach an operation or a space: one
// that is done is taken back; to one that is not done the spaces are opened in which it
// is done.
func (m *Model) TearBack(s *journal.State, o Options, to string) (*TearBack, error) {
	r := &run{Model: m, state: s, opts: o}
	r.assess()
	b := r.bind()
	target, reference, err := b.target(to)
	if err != nil {
		return nil, err
	}
	out := &TearBack{To: reference}
	if len(target.Operations) == 0 && !slices.ContainsFunc(target.Spaces, func(sp int) bool { return b.problem.Spaces[sp].Closed }) {
		out.Open = true
		return out, nil
	}
	tear := route.TearBack(b.problem, target)
	for i := range tear.Ways {
		out.Ways = append(out.Ways, b.way(&tear.Ways[i]))
	}
	for _, reason := range tear.Why {
		out.Why = append(out.Why, b.link(reason))
	}
	return out, nil
}

// target finds what a reference means.
func (b *binding) target(to string) (route.Target, string, error) {
	reference, place, _ := strings.Cut(strings.TrimSpace(to), " ")
	kind, name, dotted := strings.Cut(reference, ".")
	if !dotted {
		return route.Target{}, "", &NotFoundError{fmt.Sprintf("%q is no reference", to), "write operation.NAME or space.NAME, with its place behind it where it has one"}
	}
	var index map[instance]int
	var number []int
	var names []string
	switch kind {
	case "operation":
		index, number = b.run.operationIndex, b.number
	case "space":
		index, number = b.run.spaceIndex, b.space
	default:
		return route.Target{}, "", &NotFoundError{kind + " cannot be got at", "write operation.NAME or space.NAME"}
	}
	var places []string
	for key := range index {
		names = append(names, key.name)
		if key.name == name {
			places = append(places, key.place)
		}
	}
	slices.Sort(places)
	slices.Sort(names)
	if len(places) == 0 {
		return route.Target{}, "", &NotFoundError{"the pack has no " + kind + " called " + name, nearest(name, slices.Compact(names))}
	}
	if place == "" && len(places) == 1 {
		place = places[0]
	}
	i, there := index[instance{name, place}]
	switch {
	case !there && place == "":
		return route.Target{}, "", &NotFoundError{"it is not said which " + kind + " " + name + " is meant", "name its place: " + joinWords(places)}
	case !there:
		return route.Target{}, "", &NotFoundError{kind + " " + name + " has no place " + quoted(place), orElse(nearest(place, places), "its places are "+joinWords(places))}
	case number[i] < 0:
		return route.Target{}, "", &NotFoundError{kind + " " + name + " is not part of this job", "see which options and parts were chosen"}
	}
	reference = at(kind+"."+name, place)
	switch {
	case kind == "space":
		return route.Target{Spaces: []int{number[i]}}, reference, nil
	case b.run.work.ops[i].done:
		return route.Target{Operations: []int{number[i]}}, reference, nil
	}
	return route.Target{Spaces: b.problem.Operations[number[i]].In}, reference, nil
}

// way tells one way in the names of the pack, with what it costs.
func (b *binding) way(w *route.Way) Way {
	out := Way{}
	bill := &bill{binding: b, way: &out}
	for i := range w.Steps {
		s := &w.Steps[i]
		out.Work += s.End - s.Start
		op := b.operations[s.Operation]
		if s.Kind != route.Undo {
			out.Do = append(out.Do, b.name(s.Operation))
			continue
		}
		out.Undo = append(out.Undo, b.name(s.Operation))
		x := &b.run.operations[op]
		out.Again += seconds(x.Seconds)
		out.Waits += seconds(x.Wait)
		bill.add(op)
	}
	out.Cost, out.Unpriced = b.run.buy(out.Replace)
	return out
}

// bill adds up what taking operations back uses up.
type bill struct {
	*binding
	way *Way
}

func (b *bill) add(op int) {
	r := b.run
	x := &r.operations[op]
	for _, name := range x.Fits {
		for i := range r.slots {
			s := &r.slots[i]
			if s.Name == name && s.OneUse && r.stands(s.when) && r.fillsAt(x, s) {
				b.usedUp(UsedUp{Of: at("slot."+s.Name, s.place), Part: r.fills[i].part, Count: 1, slot: i})
			}
		}
	}
	for _, name := range x.Tightens {
		for i := range r.joints {
			j := &r.joints[i]
			if j.Name != name || !r.stands(j.when) || !slices.Contains(r.reach(x.At, x.place, j.At), j.place) {
				continue
			}
			ref := at("joint."+j.Name, j.place)
			if b.way.Retorque = append(b.way.Retorque, ref); j.SingleUse {
				b.usedUp(UsedUp{Of: ref, Count: max(1, len(j.Points)), slot: -1})
			}
		}
	}
	for _, d := range r.order.disturbs[op] {
		b.remeasure(r.dimensions[d].reference)
	}
	for _, h := range r.order.holds[op] {
		b.remeasure(at(h.ref, h.place))
	}
}

func (b *bill) remeasure(reference string) {
	if !slices.Contains(b.way.Remeasure, reference) {
		b.way.Remeasure = append(b.way.Remeasure, reference)
	}
}

func (b *bill) usedUp(u UsedUp) { b.way.Replace = append(b.way.Replace, u) }

// currencyOf is that of an offer, else that of its seller.
func (r *run) currencyOf(o *pack.Offer) string {
	if o.Currency != "" {
		return o.Currency
	}
	for _, s := range r.pack.Suppliers {
		if s.Name == o.Supplier {
			return s.Currency
		}
	}
	return ""
}
