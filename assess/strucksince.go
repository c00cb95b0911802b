package assess

import (
	"strings"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/quantity"
)

// StruckSince is something that a result came from when an operation was done on the
// strength of it, and that was taken back after that.
type StruckSince struct {
	// Of refers to what was read, looked at, chosen or fitted.
	Of string
	// Value is what was struck, as it was written, Why the reason.
	Value, Why string
}

// struckSince lists what a held result came from at an event and was struck later. What
// was struck and read again as the same changes nothing.
func (r *run) struckSince(h held, seq int) []StruckSince {
	var list []StruckSince
	for i := range r.state.Struck {
		rec := &r.state.Struck[i]
		if rec.Seq > seq || rec.Strike.Seq <= seq || rec.Strike.Late {
			continue
		}
		if of, value := r.struckOf(h, rec, seq); of != "" {
			list = append(list, StruckSince{of, value, rec.Why})
		}
	}
	return list
}

// struckOf tells what a struck event was to a held result; nothing where it was nothing.
func (r *run) struckOf(h held, rec *journal.StruckRecord, seq int) (of, value string) {
	switch body := rec.Body.(type) {
	case journal.Reading:
		d, ok := r.dimensionIndex[instance{trimKind(body.Of, "dimension"), body.Place}]
		if ok && r.comesFrom(h, d) && r.countedAt(d, rec.Seq, &body, seq) {
			return r.dimensions[d].reference, body.Value
		}
	case journal.Check:
		c, ok := r.checkIndex[instance{trimKind(body.Of, "check"), body.Place}]
		if ok && h.kind == "check" && h.index == c {
			return at("check."+r.checks[c].Name, body.Place), body.Answer
		}
	case journal.Option:
		for _, in := range r.heldInputs(h) {
			if (in.Kind == formula.OptionIs || in.Kind == formula.OptionValue) && in.Name == body.Option && r.choices[in.Name] != body.Choice {
				return "option." + body.Option, body.Choice
			}
		}
	case journal.Part:
		slot := trimKind(body.Slot, "slot")
		for _, in := range r.heldInputs(h) {
			if (in.Kind == formula.PartIs || in.Kind == formula.Size) && in.Name == slot && in.Place == body.Place {
				if f := r.fillOf(slot, body.Place); f == nil || f.part != body.Part || len(body.Sizes) > 0 {
					return at("slot."+slot, body.Place), body.Part
				}
			}
		}
	}
	return "", ""
}

// heldInputs lists the inputs of a held number; a dimension and a check have none.
func (r *run) heldInputs(h held) []formula.Input {
	if h.kind == "dimension" || h.kind == "check" {
		return nil
	}
	var list []formula.Input
	for _, slot := range r.computed[h.index].inputs {
		list = append(list, r.Model.numbers.Inputs[slot])
	}
	return list
}

// comesFrom reports whether a held result is a dimension or is computed from it.
func (r *run) comesFrom(h held, d int) bool {
	if h.kind == "dimension" {
		return h.index == d
	}
	for _, in := range r.heldInputs(h) {
		if in.Kind == formula.Value && in.Name == r.dimensions[d].Name && in.Place == r.dimensions[d].place {
			return true
		}
	}
	return false
}

// countedAt reports whether a struck reading was the newest of its cell at an event, and
// is not the value of the cell now.
func (r *run) countedAt(d, written int, body *journal.Reading, seq int) bool {
	plan := r.dimensions[d].Plan
	cell, ok := plan.Cell(body.Cell.Position, body.Cell.Axis)
	q, err := quantity.Parse(strings.TrimSpace(body.Value))
	if !ok || err != nil {
		return false // it never counted
	}
	for k, rec := range r.observed[d].records {
		o := &r.observed[d].list[k]
		if o.Cell != cell || o.N != body.Cell.N {
			continue
		}
		if rec.Seq > written && rec.Seq <= seq {
			return false
		}
		if rec.Seq > seq && !measure.Past(o.Value, q.SI) && !measure.Past(q.SI, o.Value) {
			return false
		}
	}
	return true
}
