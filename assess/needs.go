package assess

import (
	"slices"
	"strings"

	"buttonup/journal"
	"buttonup/measure"
)

// The reasons why a slot wants a part.
const (
	NeedWorn    = "worn-out" // what was measured is out of limits
	NeedBroken  = "broken"   // a check failed
	NeedRefused = "rejected" // what was there was rejected
	NeedRemoved = "removed"  // what was there was taken out
	NeedAlways  = "always"   // it is always replaced
	NeedOpening = "opening"  // one-use, and opened more than once
	NeedNothing = "none-yet" // nothing is there yet
)

// Need is a slot at a place that wants a part, and why.
type Need struct {
	Slot, Place, Title string
	// Pieces is how many are wanted: one, or for a one-use part as many as there are
	// openings still to come.
	Pieces int
	Why    []NeedReason
}

// NeedReason is one reason why a slot wants a part.
type NeedReason struct {
	Kind string
	// Of is the reference that tells: of a result, or an operation.
	Of string
	// Result is that of wear, Why what was said, Count the openings.
	Result *Result
	Why    string
	Count  int
}

// Needs lists the slots of a job that want a part, and why, in the order of the pack.
func (m *Model) Needs(s *journal.State, o Options) []Need {
	r := &run{Model: m, state: s, opts: o}
	r.assess()
	return r.needs(nil)
}

// needs lists the slots that want buying, in the order of the pack. More gives further
// openings that somebody plans, by slot and place.
func (r *run) needs(more map[string]int) []Need {
	needed := r.neededSlots()
	var list []Need
	for i := range r.slots {
		s, f := &r.slots[i], &r.fills[i]
		extra := more[at("slot."+s.Name, s.place)] + more["slot."+s.Name]*truthInt(s.place != "")
		if !r.stands(s.when) || !needed[s.Name] && !s.AlwaysReplace && extra == 0 {
			continue
		}
		there := f.there && !(f.kept && s.AlwaysReplace)
		pieces := 1 - truthInt(there)
		planned, openings := 1, []string(nil)
		if s.OneUse {
			planned, openings = r.openings(s)
			planned += extra
			pieces = max(pieces, planned-r.acquired(s))
			if there {
				pieces = max(0, planned-max(1, r.acquired(s)))
			}
		}
		if pieces == 0 {
			continue
		}
		n := Need{Slot: s.Name, Place: s.place, Title: s.Title, Pieces: pieces, Why: r.whyNeeded(s, f)}
		if planned > 1 {
			why := NeedReason{Kind: NeedOpening, Count: planned}
			why.Of = strings.Join(openings, ", ")
			n.Why = append(n.Why, why)
		}
		if len(n.Why) == 0 {
			n.Why = []NeedReason{{Kind: NeedNothing}}
		}
		list = append(list, n)
	}
	return list
}

func truthInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// neededSlots names the slots that an operation of this job fits.
func (r *run) neededSlots() map[string]bool {
	needed := map[string]bool{}
	for i := range r.operations {
		if r.stands(r.operations[i].when) {
			for _, s := range r.operations[i].Fits {
				needed[s] = true
			}
		}
	}
	return needed
}

// fillsAt reports whether an operation that fits a slot fills it at its place: the two
// reach each other, and the slot is not one of another member.
func (m *Model) fillsAt(o *operationAt, s *slotAt) bool {
	return (s.Member == "" || o.place == "" || m.under(o.At, o.place, s.Member)) &&
		slices.Contains(m.reach(o.At, o.place, s.At), s.place) && slices.Contains(m.reach(s.At, s.place, o.At), o.place)
}

// under reports whether a member of a place is another one, or is part of it.
func (m *Model) under(place, member, of string) bool {
	for place != "" {
		if member == of {
			return true
		}
		k, ok := m.pack.PlaceKinds[place]
		if !ok || k.Parent == "" {
			return false
		}
		up, there := m.pack.PlaceKinds.Up(place, member, k.Parent)
		if !there {
			return false
		}
		place, member = k.Parent, up
	}
	return false
}

// openings counts the pieces of a one-use part that the job takes from its beginning:
// one for each doing of an operation that fits it, two for one that is tried dry and
// then done for good, and one more each time such an operation was taken back.
func (r *run) openings(s *slotAt) (int, []string) {
	count := 0
	var names []string
	for i := range r.operations {
		o := &r.operations[i]
		if !r.stands(o.when) || !slices.Contains(o.Fits, s.Name) || !r.fillsAt(o, s) {
			continue
		}
		n := 1
		if o.Trial {
			n = 2
		}
		n = max(n, 1+r.timesUndone(o))
		count += n
		names = append(names, at("operation."+o.Name, o.place))
	}
	return max(count, 1), names
}

// timesUndone counts how often an operation was taken back.
func (r *run) timesUndone(o *operationAt) int {
	n := 0
	for i := range r.state.Operations {
		rec := &r.state.Operations[i]
		if rec.State == journal.Undone && trimKind(rec.OperationBody.Operation, "operation") == o.Name && (rec.Place == o.place || rec.Place == "") {
			n++
		}
	}
	return n
}

// acquired counts the pieces that the journal knows of for a slot at a place: ordered,
// received or fitted, whichever tells most, less what was rejected. An event that
// gives a count for every place of the slot is shared out among them.
func (r *run) acquired(s *slotAt) int {
	type tally struct{ ordered, received, fitted, kept, rejected int }
	byPart := map[string]*tally{}
	places := len(r.members(s.At))
	for i := range r.state.Parts {
		rec := &r.state.Parts[i]
		if rec.Place != "" && rec.Place != s.place {
			continue
		}
		if slot := trimKind(rec.Slot, "slot"); slot != s.Name && (slot != "" || r.parts[rec.PartBody.Part] == nil || !slices.Contains(r.parts[rec.PartBody.Part].Fills, s.Name)) {
			continue
		}
		n := 1
		if rec.Count > 1 && (rec.Place != "" || places <= 1) {
			n = rec.Count
		} else if rec.Count > 1 {
			n = max(1, rec.Count/places)
		}
		t := byPart[rec.PartBody.Part]
		if t == nil {
			t = &tally{}
			byPart[rec.PartBody.Part] = t
		}
		switch rec.State {
		case journal.Ordered:
			t.ordered += n
		case journal.Received:
			t.received += n
		case journal.Fitted:
			t.fitted += n
		case journal.Kept:
			if !s.AlwaysReplace {
				t.kept += n
			}
		case journal.Rejected:
			t.rejected += n
		}
	}
	total := 0
	for _, t := range byPart {
		total += max(0, max(t.ordered, t.received, t.fitted, t.kept)-t.rejected)
	}
	return total
}

// whyNeeded lists what tells that a slot wants a new part.
func (r *run) whyNeeded(s *slotAt, f *fill) []NeedReason {
	var list []NeedReason
	for _, ref := range s.WornBy {
		for i := range r.out.Results {
			x := &r.out.Results[i]
			if x.Name != ref.Name || x.Kind != ref.Kind || !r.near(s, ref.Name, x) {
				continue
			}
			switch {
			case x.Failed:
				list = append(list, NeedReason{Kind: NeedBroken, Of: at(x.Reference(), x.Place), Result: x})
			case x.Verdict == measure.OutOfLimits && !x.Supposed:
				list = append(list, NeedReason{Kind: NeedWorn, Of: at(x.Reference(), x.Place), Result: x})
			}
		}
	}
	if rec := r.lastWord(s); rec != nil && !f.there {
		switch rec.State {
		case journal.Rejected:
			list = append(list, NeedReason{Kind: NeedRefused, Of: rec.PartBody.Part, Why: rec.Why})
		case journal.Removed:
			list = append(list, NeedReason{Kind: NeedRemoved, Of: rec.PartBody.Part, Why: rec.Why})
		}
	}
	if s.AlwaysReplace {
		list = append(list, NeedReason{Kind: NeedAlways})
	}
	return list
}

// near reports whether a result is about what is in a slot at its place: the same
// place, one that holds it or one below it.
func (r *run) near(s *slotAt, name string, x *Result) bool {
	if x.Place == s.place || x.Place == "" || s.place == "" {
		return true
	}
	place := ""
	switch x.Kind {
	case "dimension":
		if i, ok := r.dimensionIndex[instance{name, x.Place}]; ok {
			place = r.dimensions[i].At
		}
	case "check":
		if i, ok := r.checkIndex[instance{name, x.Place}]; ok {
			place = r.checks[i].At
		}
	default:
		if i, ok := r.numberIndex[instance{name, x.Place}]; ok {
			place = r.computed[i].At
		}
	}
	if up, ok := r.pack.PlaceKinds.Up(s.At, s.place, place); ok {
		return up == x.Place
	}
	if up, ok := r.pack.PlaceKinds.Up(place, x.Place, s.At); ok {
		return up == s.place
	}
	return false
}

// lastWord returns the newest event about a slot at a place.
func (r *run) lastWord(s *slotAt) *journal.PartRecord {
	for i := len(r.state.Parts) - 1; i >= 0; i-- {
		rec := &r.state.Parts[i]
		if trimKind(rec.Slot, "slot") == s.Name && (rec.Place == s.place || rec.Place == "") {
			return rec
		}
	}
	return nil
}
