package assess

import (
	"maps"
	"slices"

	"buttonup/formula"
	"buttonup/quantity"
)

// cannotSuppose reports a supposition that means nothing for this job.
func (r *run) cannotSuppose(s Supposition, detail, do string) {
	r.find(Finding{Code: CodeSupposedUnknown, Severity: Attention, Of: s.Name, Place: s.Place, Detail: detail, Do: do})
}

// aboutFacts reports whether a supposition is about an option or a part.
func (r *run) aboutFacts(s Supposition) bool {
	_, isOption := r.options[s.Name]
	return s.Size != "" || isOption || r.isSlot(s.Name)
}

func (r *run) isSlot(name string) bool {
	for i := range r.slots {
		if r.slots[i].Name == name {
			return true
		}
	}
	return false
}

// supposeFacts takes what is supposed of options and parts in the place of what the
// journal says.
func (r *run) supposeFacts() {
	for _, s := range r.opts.Suppose {
		if !r.aboutFacts(s) {
			continue
		}
		if o, ok := r.options[s.Name]; ok && s.Size == "" {
			if !contains(o.Choices, s.Choice) {
				r.cannotSuppose(s, quoted(s.Choice)+" is no choice of "+s.Name, orElse(nearest(s.Choice, o.Choices), "its choices are "+joinWords(o.Choices)))
				continue
			}
			r.choices[s.Name] = s.Choice
			r.touchFacts(formula.Input{Kind: formula.OptionIs, Name: s.Name})
			r.touchFacts(formula.Input{Kind: formula.OptionValue, Name: s.Name})
			continue
		}
		r.supposePart(s)
	}
}

func (r *run) supposePart(s Supposition) {
	if !r.isSlot(s.Name) {
		r.cannotSuppose(s, "the pack has no slot called "+s.Name, nearest(s.Name, slices.Collect(maps.Keys(r.slotNames()))))
		return
	}
	at, ok := r.slotIndex[instance{s.Name, s.Place}]
	if !ok {
		var places []string
		for i := range r.slots {
			if r.slots[i].Name == s.Name && r.slots[i].place != "" {
				places = append(places, r.slots[i].place)
			}
		}
		r.cannotSuppose(s, "there is no "+s.Name+" at "+orElse(s.Place, "the engine as a whole"), "its places are "+joinWords(places))
		return
	}
	f := &r.fills[at]
	fitting, sizes := r.partsFor(s.Name)
	if s.Size == "" {
		part := r.parts[s.Choice]
		switch {
		case part == nil:
			r.cannotSuppose(s, "the pack has no part called "+quoted(s.Choice), orElse(nearest(s.Choice, fitting), "its parts are "+joinWords(fitting)))
		case !contains(fitting, s.Choice):
			r.cannotSuppose(s, "the part "+s.Choice+" is none for "+s.Name, "its parts are "+joinWords(fitting))
		default:
			*f = fill{part: s.Choice, state: f.state, pack: part, seq: f.seq, there: true}
			r.touchFacts(formula.Input{Kind: formula.PartIs, Name: s.Name, Place: s.Place})
			r.touchFacts(formula.Input{Kind: formula.Size, Name: s.Name, Place: s.Place})
		}
		return
	}
	want, known := sizes[s.Size]
	switch {
	case !known:
		r.cannotSuppose(s, "no part for "+s.Name+" has a size called "+s.Size, orElse(nearest(s.Size, keys(sizes)), "its sizes are "+joinWords(keys(sizes))))
	case want != s.Value.Dimension:
		r.cannotSuppose(s, s.Name+"."+s.Size+" is a "+want.String()+", and a "+s.Value.Dimension.String()+" was supposed", "give it a unit of "+want.String())
	default:
		supposed := maps.Clone(f.sizes)
		if supposed == nil {
			supposed = map[string]float64{}
		}
		supposed[s.Size] = s.Value.SI
		f.sizes = supposed
		r.touchFacts(formula.Input{Kind: formula.Size, Name: s.Name, Place: s.Place, Detail: s.Size})
	}
}

// partsFor lists the parts that fill a slot, and the sizes that they have.
func (r *run) partsFor(slot string) (names []string, sizes map[string]quantity.Dimension) {
	sizes = map[string]quantity.Dimension{}
	for _, name := range keys(r.parts) {
		p := r.parts[name]
		if !contains(p.Fills, slot) {
			continue
		}
		names = append(names, name)
		for size, q := range p.Sizes {
			sizes[size] = q.Dimension
		}
	}
	return names, sizes
}

func (r *run) slotNames() map[string]bool {
	names := map[string]bool{}
	for i := range r.slots {
		names[r.slots[i].Name] = true
	}
	return names
}

// touchFacts notes that what depends on an input follows from a supposition.
func (r *run) touchFacts(in formula.Input) {
	if r.supposedFacts == nil {
		r.supposedFacts = map[formula.Input]bool{}
	}
	r.supposedFacts[in] = true
}

// supposedFact reports whether an input of a graph is one that was supposed.
func (r *run) supposedFact(in formula.Input) bool {
	if len(r.supposedFacts) == 0 {
		return false
	}
	bare := formula.Input{Kind: in.Kind, Name: in.Name, Place: in.Place}
	if in.Kind == formula.OptionIs || in.Kind == formula.OptionValue {
		bare.Place = ""
	}
	if r.supposedFacts[bare] {
		return true
	}
	bare.Detail = in.Detail
	return r.supposedFacts[bare]
}

// collectSupposed takes the values that are supposed for dimensions and numbers.
func (r *run) collectSupposed() {
	if len(r.opts.Suppose) == 0 {
		return
	}
	r.supposed = map[instance]float64{}
	for _, s := range r.opts.Suppose {
		if r.aboutFacts(s) {
			continue
		}
		key := instance{s.Name, s.Place}
		var dim quantity.Dimension
		if i, ok := r.dimensionIndex[key]; ok {
			dim = r.dimensions[i].Dimension.Dimension
		} else if i, ok := r.numberIndex[key]; ok {
			dim = r.computed[i].Dimension
		} else {
			r.cannotSuppose(s, "there is nothing of this name at this place to suppose a value for", "")
			continue
		}
		if dim != s.Value.Dimension {
			r.cannotSuppose(s, s.Name+" is a "+dim.String()+", and a "+s.Value.Dimension.String()+" was supposed", "")
			continue
		}
		r.supposed[key] = s.Value.SI
	}
}
