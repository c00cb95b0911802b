package assess

import (
	"slices"

	"buttonup/formula"
	"buttonup/measure"
)

// Recheck is why a conclusion is to be looked at once more: an operation was done on
// the strength of a result, and what the result comes from was changed since.
type Recheck struct {
	Operation Operation
	// Changed are references to what was read again, chosen or replaced since.
	Changed []string
	// Struck is what was taken back since.
	Struck []StruckSince
}

// checkChanged reports an operation whose holds are met and were met by other values
// when it was done. A hold that is not met now is reported as passed; what was struck
// since is the reason that it was met then.
func (r *run) checkChanged(w *replayed, op int) {
	x := &r.operations[op]
	for _, h := range r.order.holds[op] {
		res, ok := r.heldResult(h)
		if !ok || res.Stale != nil || res.Recheck != nil || res.Supposed {
			continue
		}
		met := r.holdMet(res, x.Never)
		struck := r.struckSince(h, w.ops[op].seq)
		var changed []string
		if met {
			changed = r.changedSince(h, w.ops[op].seq)
		}
		if len(changed)+len(struck) == 0 {
			continue
		}
		res.Recheck = &Recheck{Operation{x.Name, x.place}, changed, struck}
		if !met {
			continue
		}
		r.find(Finding{Code: CodeChangedAfterHold, Severity: Note, Of: res.Reference(), Place: res.Place, Title: res.Title, Result: res, Operation: Operation{x.Name, x.place}})
	}
}

// changedSince lists what a held result comes from that was there before an event and
// became another after it.
func (r *run) changedSince(h held, seq int) []string {
	var list []string
	add := func(name string) {
		if !contains(list, name) {
			list = append(list, name)
		}
	}
	switch h.kind {
	case "check":
		return nil // its newest answer is the result itself
	case "dimension":
		if r.readAgain(h.index, seq) {
			add(r.dimensions[h.index].reference)
		}
		return list
	}
	g := r.Model.numbers
	for _, slot := range r.computed[h.index].inputs {
		in := g.Inputs[slot]
		switch in.Kind {
		case formula.Value:
			if d, ok := r.dimensionIndex[instance{in.Name, in.Place}]; ok && r.readAgain(d, seq) {
				add(in.Reference())
			}
		case formula.OptionIs, formula.OptionValue:
			if rec, ok := r.state.Options[in.Name]; ok && rec.Seq > seq && !rec.Late {
				add("option." + in.Name)
			}
		case formula.PartIs, formula.Size:
			if f := r.fillOf(in.Name, in.Place); f != nil && f.part != "" && r.otherPart(f, seq) {
				add(at("slot."+in.Name, in.Place))
			}
		}
	}
	return list
}

// otherPart reports whether the part of a slot, or a size of it, became known only
// after an event. That the same part was ordered, received or fitted since changes
// nothing.
func (r *run) otherPart(f *fill, seq int) bool {
	there := false
	for i := range r.state.Parts {
		rec := &r.state.Parts[i]
		switch {
		case rec.PartBody.Part != f.part || rec.Late:
		case rec.Seq <= seq:
			there = true
		case len(rec.Sizes) > 0:
			return true
		}
	}
	return !there
}

// readAgain reports whether a cell of a dimension that had a reading before an event
// has another value since. What was entered late was read before.
func (r *run) readAgain(d int, seq int) bool {
	o := &r.observed[d]
	for i, rec := range o.records {
		if rec.Seq <= seq || rec.Late {
			continue
		}
		same := func(k int) bool {
			return o.records[k].Seq <= seq && o.list[k].Cell == o.list[i].Cell && (o.list[k].N == o.list[i].N || o.list[i].N == 0)
		}
		newest := -1
		for k := range o.records {
			if same(k) {
				newest = k
			}
		}
		if newest >= 0 && (measure.Past(o.list[newest].Value, o.list[i].Value) || measure.Past(o.list[i].Value, o.list[newest].Value)) && !r.replaced(o, i) {
			return true
		}
	}
	return false
}

// replaced reports whether a later reading of the same cell took the place of one.
func (r *run) replaced(o *observed, i int) bool {
	return slices.ContainsFunc(o.list[i+1:], func(later measure.Observation) bool {
		return later.Cell == o.list[i].Cell && later.N == o.list[i].N && later.N != 0
	})
}
