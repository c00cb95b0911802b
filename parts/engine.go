package parts

import (
	"slices"

	"buttonup/formula"
	"buttonup/pack"
)

// Engine is what is known of one engine as far as parts go: what was looked at, and
// what is chosen for its slots.
type Engine struct {
	// Number is the stamped engine number.
	Number string
	// Choices holds the choice of each option, Assumed those that nobody made: they
	// are the pack's defaults.
	Choices map[string]string
	Assumed map[string]bool
	// Chosen lists the parts in slots, on their way or wanted.
	Chosen []Chosen
}

// Chosen is a part in a slot at a place, or on its way there.
type Chosen struct {
	Slot, Place, Part string
	// State is a word of the journal: fitted, kept, received, back, ordered, wanted.
	State string
	// Sizes are those measured of the piece in hand, in SI.
	Sizes map[string]float64
}

// seen is the engine without what nobody looked at.
func (e *Engine) seen() *Engine {
	out := *e
	out.Assumed = nil
	out.Choices = make(map[string]string, len(e.Choices))
	for k, v := range e.Choices {
		if !e.Assumed[k] {
			out.Choices[k] = v
		}
	}
	return &out
}

// at returns what is chosen for a slot at a place.
func (e *Engine) at(slot, place string) *Chosen {
	for i := range e.Chosen {
		if e.Chosen[i].Slot == slot && e.Chosen[i].Place == place {
			return &e.Chosen[i]
		}
	}
	return nil
}

// Facts returns what conditions of fit may depend on for a slot at a place: the
// options, and the parts in slots at the same place, at the places that hold it, or
// on the engine.
func (c *Catalogue) Facts(e *Engine, at, place string) formula.Facts {
	choices := make(map[string]string, len(e.Choices)+len(e.Chosen))
	for k, v := range e.Choices {
		choices[k] = v
	}
	for i := range e.Chosen {
		x := &e.Chosen[i]
		if s := c.slots[x.Slot]; s != nil && x.Part != "" && c.reaches(at, place, s, x.Place) {
			choices[x.Slot] = x.Part
		}
	}
	return formula.Facts{Choices: choices, Size: func(slot, member, size string) (float64, bool) {
		for i := range e.Chosen {
			x := &e.Chosen[i]
			s := c.slots[slot]
			if x.Slot != slot || s == nil || member != "" && x.Place != member || member == "" && !c.reaches(at, place, s, x.Place) {
				continue
			}
			return c.size(x, size)
		}
		return 0, false
	}}
}

// Reached lists the places of a slot that a condition of fit at a place sees.
func (c *Catalogue) Reached(at, place, slot string) []string {
	s := c.slots[slot]
	if s == nil {
		return nil
	}
	var out []string
	for _, where := range c.Places(slot) {
		if c.reaches(at, place, s, where) {
			out = append(out, where)
		}
	}
	return out
}

// reaches reports whether a condition at a place sees a slot at another: the same
// place, one that holds it, the engine, or the only one there is.
func (c *Catalogue) reaches(at, place string, s *pack.Slot, where string) bool {
	if where == place || where == "" {
		return true
	}
	if k := c.pack.PlaceKinds[s.At]; k != nil && len(k.Members) == 1 {
		return true
	}
	up, ok := c.pack.PlaceKinds.Up(at, place, s.At)
	return ok && up == where && s.At != ""
}

// size returns a size of a chosen part: as measured, else as the pack has it.
func (c *Catalogue) size(x *Chosen, name string) (float64, bool) {
	if v, ok := x.Sizes[name]; ok {
		return v, true
	}
	if p := c.parts[x.Part]; p != nil {
		if q, ok := p.Sizes[name]; ok {
			return q.SI, true
		}
	}
	return 0, false
}

// bringers lists what is chosen that has a feature, other than one part.
func (c *Catalogue) bringers(e *Engine, feature, but string) []*Chosen {
	var out []*Chosen
	for i := range e.Chosen {
		x := &e.Chosen[i]
		if p := c.parts[x.Part]; p != nil && x.Part != but && slices.Contains(p.Has, feature) {
			out = append(out, x)
		}
	}
	return out
}
