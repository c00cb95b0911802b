package assess

import (
	"slices"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
)

// Change is a result that something supposed makes another.
type Change struct {
	// Before and After are the result without and with what is supposed; nil where it
	// is there only on the other side.
	Before, After *Result
	// Moved is how much the value changes; it stands only if HasMoved is set.
	Moved    float64
	HasMoved bool
	// Through names what the change comes through, from what was supposed up to the
	// last thing before this one. Empty for what was supposed itself.
	Through []string
}

// WhatIf is a job as it stands and as it would stand.
type WhatIf struct {
	Before, After *Assessment
	// Changes are in the order of the results.
	Changes []Change
	// New and Gone are the findings that come and go.
	New, Gone []Finding
}

// Suppose assesses a job without and with what is supposed and says what moves. Notes
// do not count as findings that come and go.
func Suppose(p *pack.Pack, s *journal.State, o Options) *WhatIf {
	p, findings := WithExtras(p, s)
	w := Prepare(p).Suppose(s, o)
	for _, a := range []*Assessment{w.Before, w.After} {
		a.Findings = append(slices.Clone(findings), a.Findings...)
	}
	return w
}

// Suppose is the function of that name for a model. Pieces of pack text in the journal
// are not looked at.
func (m *Model) Suppose(s *journal.State, o Options) *WhatIf {
	plain := o
	plain.Suppose = nil
	r := &run{Model: m, state: s, opts: o}
	w := &WhatIf{Before: m.Assess(s, plain), After: r.assess()}
	before := map[string]*Result{}
	for i := range w.Before.Results {
		b := &w.Before.Results[i]
		before[at(b.Kind+"."+b.Name, b.Place)] = b
	}
	moved := map[string]bool{}
	for i := range w.After.Results {
		a := &w.After.Results[i]
		name := at(a.Kind+"."+a.Name, a.Place)
		b := before[name]
		delete(before, name)
		if b != nil && sameResult(a, b) {
			continue
		}
		moved[name] = true
		c := Change{Before: b, After: a}
		if b != nil && b.HasValue && a.HasValue {
			c.Moved, c.HasMoved = a.Value-b.Value, true
		}
		w.Changes = append(w.Changes, c)
	}
	for i := range w.Before.Results {
		b := &w.Before.Results[i]
		if before[at(b.Kind+"."+b.Name, b.Place)] != nil {
			w.Changes = append(w.Changes, Change{Before: b})
		}
	}
	for i := range w.Changes {
		if a := w.Changes[i].After; a != nil {
			w.Changes[i].Through = r.through(a, moved)
		}
	}
	w.New, w.Gone = onlyIn(w.After, w.Before), onlyIn(w.Before, w.After)
	return w
}

// sameResult reports whether a result stayed what it was.
func sameResult(a, b *Result) bool {
	return a.HasValue == b.HasValue && a.Value == b.Value && a.Expanded == b.Expanded && a.Verdict == b.Verdict &&
		sameRange(a.New, b.New) && sameRange(a.Limit, b.Limit) && (a.Stale == nil) == (b.Stale == nil)
}

func sameRange(a, b quantity.Range) bool {
	return a.HasLow == b.HasLow && a.HasHigh == b.HasHigh && (!a.HasLow || a.Low == b.Low) && (!a.HasHigh || a.High == b.High)
}

// through lists what a change comes through: of all that the result is computed from,
// what was supposed and the numbers and dimensions that moved, in the order in which
// they are computed. A limit that an option or part gives counts too.
func (r *run) through(res *Result, moved map[string]bool) []string {
	var list []string
	add := func(name string) {
		if name != at(res.Kind+"."+res.Name, res.Place) && !contains(list, name) {
			list = append(list, name)
		}
	}
	facts := func(g *formula.Graph, inputs []int) {
		for _, i := range inputs {
			if in := g.Inputs[i]; r.supposedFact(in) {
				add(in.Reference())
			} else if name := in.Reference(); moved[name] {
				add(name)
			}
		}
	}
	limits := func(s *setting) {
		for _, id := range []formula.NodeID{s.low, s.high} {
			if s.there && s.expr != nil && id != never {
				facts(r.Model.facts, r.Model.facts.InputsOf(id))
			}
		}
	}
	key := instance{res.Name, res.Place}
	if i, ok := r.dimensionIndex[key]; ok && res.Kind == "dimension" {
		limits(&r.dimensions[i].new)
		limits(&r.dimensions[i].limit)
		return list
	}
	i, ok := r.numberIndex[key]
	if !ok {
		return list
	}
	n := &r.computed[i]
	facts(r.Model.numbers, n.inputs)
	cone := r.Model.numbers.Cone(n.node)
	type step struct {
		at   int
		name string
	}
	var steps []step
	for j := range r.computed {
		x := &r.computed[j]
		name := at(x.of, x.place)
		if k := slices.Index(cone, x.node); j != i && k >= 0 && moved[name] {
			steps = append(steps, step{k, name})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int { return a.at - b.at })
	for _, s := range steps {
		add(s.name)
	}
	limits(&n.new)
	limits(&n.limit)
	return list
}

// onlyIn lists the findings of one assessment, but for notes, that the other has not.
func onlyIn(a, b *Assessment) []Finding {
	there := map[string]bool{}
	for i := range b.Findings {
		if b.Findings[i].Severity != Note {
			there[b.Findings[i].ID()] = true
		}
	}
	var list []Finding
	for i := range a.Findings {
		if f := &a.Findings[i]; f.Severity != Note && !there[f.ID()] {
			list = append(list, *f)
		}
	}
	return list
}
