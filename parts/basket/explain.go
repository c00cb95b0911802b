package basket

import "slices"

// explain finds a smallest set of reasons for a problem that has no solution.
//
// Places are reasons only where something is missing that no lifting brings: a place
// that nothing offered fills. Everything else is told by what would have to be lifted,
// and by the places at which it collides.
func explain(p *Problem) (because []Reason, where []int, smallest bool) {
	e := &explainer{choices: newChoices(p, p.limit(), true)}
	e.guide = newGuide(e.choices, nil, func(place int) bool { return e.isTrue(e.lift[Reason{BecausePlace, place}].variable()) })
	var places, others []Reason
	for _, r := range p.reasons() {
		if r.Kind == BecausePlace {
			places = append(places, r)
		} else {
			others = append(others, r)
		}
	}
	if core, ok := e.refuted(places); ok {
		core = e.shrink(nil, core)
		return core, placesOf(core), len(core) == 1
	}
	core, _ := e.refuted(slices.Concat(places, others))
	core = e.shrink(places, without(core, BecausePlace))
	if len(core) > 1 {
		core, smallest = e.smallest(places, others, core)
	} else {
		smallest = true
	}
	collide := e.shrink(core, e.only(core, places))
	return core, placesOf(collide), smallest
}

func without(list []Reason, kind ReasonKind) []Reason {
	var out []Reason
	for _, r := range list {
		if r.Kind != kind {
			out = append(out, r)
		}
	}
	return out
}

func placesOf(list []Reason) []int {
	var out []int
	for _, r := range list {
		if r.Kind == BecausePlace {
			out = append(out, r.Index)
		}
	}
	return out
}

type explainer struct {
	*choices
	guide *guide
}

// refuted reports whether reasons cannot all be kept to, and which of them are enough.
func (e *explainer) refuted(list []Reason) ([]Reason, bool) {
	assumptions := make([]literal, len(list))
	reason := make(map[literal]Reason, len(list))
	for i, r := range list {
		assumptions[i] = e.lift[r]
		reason[e.lift[r]] = r
	}
	found, known, core := e.solve(assumptions, explainBudget)
	if found || !known {
		return nil, false
	}
	guilty := map[Reason]bool{}
	for _, l := range core {
		guilty[reason[l]] = true
	}
	var out []Reason
	for _, r := range list {
		if guilty[r] {
			out = append(out, r)
		}
	}
	return out, true
}

// explainBudget is how many conflicts one question may take. What is not known after
// that is kept as a reason.
const explainBudget = 200_000

// shrink drops every reason of a list that can be spared beside a fixed one.
func (e *explainer) shrink(fixed, list []Reason) []Reason {
	kept, needed := slices.Clone(list), []Reason{}
	for len(kept) > 0 {
		last := kept[len(kept)-1]
		kept = kept[:len(kept)-1]
		core, ok := e.refuted(slices.Concat(fixed, kept, needed))
		if !ok {
			needed = append(needed, last)
			continue
		}
		kept = slices.DeleteFunc(kept, func(r Reason) bool { return !slices.Contains(core, r) })
	}
	slices.Reverse(needed)
	return needed
}

// only is the part of the places that a set of reasons is refuted with.
func (e *explainer) only(reasons, places []Reason) []Reason {
	core, ok := e.refuted(slices.Concat(reasons, places))
	if !ok {
		return places
	}
	var out []Reason
	for _, r := range core {
		if r.Kind == BecausePlace {
			out = append(out, r)
		}
	}
	return out
}

// smallest looks for a set of reasons with fewer members than a core has. It gathers
// sets of reasons of which one must always be lifted; a smallest set that hits all of
// them is either refuted, and then it is the answer, or shows one more such set.
func (e *explainer) smallest(places, others, core []Reason) ([]Reason, bool) {
	var lifts [][]int
	for _, r := range others {
		e.guide.first = append(e.guide.first, e.lift[r].variable())
	}
	defer func() { e.guide.first = nil }()
	for range smallestTries {
		hit := hitting(lifts, len(others), len(core)-1)
		if hit == nil {
			return core, true
		}
		chosen := make([]Reason, len(hit))
		for i, k := range hit {
			chosen[i] = others[k]
		}
		if smaller, ok := e.refuted(slices.Concat(places, chosen)); ok {
			return without(smaller, BecausePlace), true
		}
		set, ok := e.liftedBeside(places, others, chosen)
		if !ok {
			return core, false
		}
		lifts = append(lifts, set)
	}
	return core, false
}

const smallestTries = 200

// liftedBeside keeps to as many reasons as it can beside those chosen and lists the
// others by their index. It fails where a question takes too long.
func (e *explainer) liftedBeside(places, others, chosen []Reason) ([]int, bool) {
	kept := slices.Concat(places, chosen)
	var left []int
	for i, r := range others {
		if slices.Contains(chosen, r) || e.isTrue(e.lift[r].variable()) {
			if !slices.Contains(chosen, r) {
				kept = append(kept, r)
			}
			continue
		}
		left = append(left, i)
	}
	var out []int
	for _, i := range left {
		switch _, refuted := e.refuted(append(kept, others[i])); {
		case refuted:
			out = append(out, i)
		case e.isTrue(e.lift[others[i]].variable()):
			kept = append(kept, others[i])
		default:
			return nil, false // it took too long to know
		}
	}
	return out, len(out) > 0
}

// hitting finds a smallest set of numbers below n that has one of every set, of at
// most so many members; nil where there is none.
func hitting(sets [][]int, n, most int) []int {
	for size := 0; size <= most; size++ {
		steps := 100_000
		if hit, ok := hit(sets, nil, size, &steps); ok {
			return hit
		}
	}
	return nil
}

func hit(sets [][]int, chosen []int, size int, steps *int) ([]int, bool) {
	*steps--
	for _, s := range sets {
		if slices.ContainsFunc(s, func(k int) bool { return slices.Contains(chosen, k) }) {
			continue
		}
		if len(chosen) == size || *steps < 0 {
			return nil, false
		}
		for _, k := range s {
			if found, ok := hit(sets, append(chosen[:len(chosen):len(chosen)], k), size, steps); ok {
				return found, true
			}
		}
		return nil, false
	}
	if chosen == nil {
		chosen = []int{}
	}
	return chosen, true
}
