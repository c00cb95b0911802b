package assess

import (
	"cmp"
	"math"
	"slices"

	"buttonup/journal"
)

// Moved is a number that hangs on which part is in a slot, with the parts ranked as
// Candidates does.
type Moved struct {
	// Of is the number as it stands now.
	Of         *Result
	Candidates []Candidate
}

// mostSizes bounds how many parts of a slot are tried.
const mostSizes = 24

// Moves finds the numbers with limits that the choice of a part for a slot changes: which
// shim, which spacer, which pushrod. Those that a part brings out of limits come first.
// There are none for a slot that fewer than two parts with sizes fill.
func (m *Model) Moves(s *journal.State, o Options, slot, place string) []Moved {
	r := &run{Model: m, state: s, opts: o}
	if _, ok := r.slotIndex[instance{slot, place}]; !ok {
		return nil
	}
	names, _ := r.partsFor(slot)
	names = slices.DeleteFunc(slices.Clone(names), func(name string) bool { return len(r.parts[name].Sizes) == 0 })
	if len(names) < 2 || len(m.SizesAsked(slot)) == 0 {
		return nil
	}
	names = names[:min(len(names), mostSizes)]
	now := m.Assess(s, o)
	with := make([]*Assessment, len(names))
	for i, name := range names {
		supposed := o
		supposed.Suppose = append(slices.Clone(o.Suppose), Supposition{Name: slot, Place: place, Choice: name})
		with[i] = m.Assess(s, supposed)
	}
	var list []Moved
	for k := range now.Results {
		x := &now.Results[k]
		if x.Kind != "number" && x.Kind != "sweep" || !x.New.Bounded() && !x.Limit.Bounded() {
			continue
		}
		if moved := (Moved{Of: x}); moved.rankParts(names, with, slot, place) {
			list = append(list, moved)
		}
	}
	slices.SortStableFunc(list, func(a, b Moved) int {
		return cmp.Compare(b.Candidates[len(b.Candidates)-1].rank(), a.Candidates[len(a.Candidates)-1].rank())
	})
	return list
}

// rankParts fills in the candidates; it is false where no part makes a difference.
func (m *Moved) rankParts(names []string, with []*Assessment, slot, place string) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for i, name := range names {
		c := Candidate{Part: name, Off: math.Inf(1)}
		for j := range with[i].Results {
			if x := &with[i].Results[j]; x.Kind == m.Of.Kind && x.Name == m.Of.Name && x.Place == m.Of.Place && x.HasValue && x.Stale == nil {
				c.Result, c.Off = x, off(x)
				low, high = math.Min(low, x.Value), math.Max(high, x.Value)
			}
		}
		for j := range with[i].Misfits {
			if x := &with[i].Misfits[j]; x.Slot == slot && x.Place == place && x.Part == name {
				c.Misfit = x
			}
		}
		m.Candidates = append(m.Candidates, c)
	}
	slices.SortStableFunc(m.Candidates, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(a.Off, b.Off))
	})
	return high > low
}
