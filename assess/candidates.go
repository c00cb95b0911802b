package assess

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"buttonup/journal"
	"buttonup/measure"
)

// Candidate is a part that may fill a slot, with what a result would then be.
type Candidate struct {
	Part string
	// Result is the result with the part in the slot, nil where it has no value then.
	Result *Result
	// Off is how far the value is from what is aimed at.
	Off float64
	// Misfit says why the part does not fit, nil where it does.
	Misfit *Misfit
}

// Fits reports whether the part fits and the result is inside its limits for sure.
func (c *Candidate) Fits() bool {
	return c.Misfit == nil && c.Result != nil && (c.Result.Verdict == measure.NewFit || c.Result.Verdict == measure.Serviceable)
}

// Candidates tries every part of the pack that fills a slot at a place and says what a
// dimension, number or sweep at another place comes to, the best first: parts that fit
// before those that do not, the better verdict before the worse, and of equal ones what
// lies nearer to the aim. The aim is the middle of the new band, else of the limit; of a
// range with one end, what lies deeper inside it is better.
//
// It returns an error where there is no such slot, no part for it or no such result.
func (m *Model) Candidates(s *journal.State, o Options, slot, slotPlace, of, place string) ([]Candidate, error) {
	r := &run{Model: m, state: s, opts: o}
	if !r.isSlot(slot) {
		return nil, fmt.Errorf("the pack has no slot called %s", slot)
	}
	if _, ok := r.slotIndex[instance{slot, slotPlace}]; !ok {
		return nil, fmt.Errorf("there is no %s at %q", slot, slotPlace)
	}
	names, _ := r.partsFor(slot)
	if len(names) == 0 {
		return nil, fmt.Errorf("the pack has no part for %s", slot)
	}
	var list []Candidate
	found := false
	for _, name := range names {
		with := o
		with.Suppose = append(slices.Clone(o.Suppose), Supposition{Name: slot, Place: slotPlace, Choice: name})
		a := m.Assess(s, with)
		c := Candidate{Part: name, Off: math.Inf(1)}
		for i := range a.Results {
			if x := &a.Results[i]; x.Kind != "check" && x.Name == of && x.Place == place {
				found = true
				if x.HasValue && x.Stale == nil {
					c.Result, c.Off = x, off(x)
				}
			}
		}
		for i := range a.Misfits {
			if x := &a.Misfits[i]; x.Slot == slot && x.Place == slotPlace && x.Part == name {
				c.Misfit = x
			}
		}
		list = append(list, c)
	}
	if !found {
		return nil, fmt.Errorf("the job has no dimension or number called %s", at(of, place))
	}
	slices.SortStableFunc(list, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(a.Off, b.Off))
	})
	return list, nil
}

// Nearest lists the parts of the pack that fill a slot by how near their size is to what
// a number wants, nearest first; those that do not fit come last. Result is the number.
//
// It returns an error as Candidates does, and where the number has no value or no part
// has the size.
func (m *Model) Nearest(s *journal.State, o Options, slot, slotPlace, size, of, place string) ([]Candidate, error) {
	r := &run{Model: m, state: s, opts: o}
	if _, ok := r.slotIndex[instance{slot, slotPlace}]; !ok {
		return nil, fmt.Errorf("the pack has no slot called %s at %q", slot, slotPlace)
	}
	now := r.assess()
	var wanted *Result
	for i := range now.Results {
		if x := &now.Results[i]; x.Kind != "check" && x.Name == of && x.Place == place {
			wanted = x
		}
	}
	switch {
	case wanted == nil:
		return nil, fmt.Errorf("the job has no dimension or number called %s", at(of, place))
	case !wanted.HasValue:
		return nil, fmt.Errorf("%s has no value yet", at(of, place))
	}
	names, _ := r.partsFor(slot)
	var list []Candidate
	for _, name := range names {
		if q, ok := r.parts[name].Sizes[size]; ok && q.Dimension == wanted.Unit.Dimension {
			list = append(list, Candidate{Part: name, Result: wanted, Off: math.Abs(q.SI - wanted.Value)})
		}
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("no part for %s has a size %s of that kind", slot, size)
	}
	slices.SortStableFunc(list, func(a, b Candidate) int { return cmp.Compare(a.Off, b.Off) })
	list = list[:min(len(list), mostTried)]
	for i := range list {
		with := o
		with.Suppose = append(slices.Clone(o.Suppose), Supposition{Name: slot, Place: slotPlace, Choice: list[i].Part})
		for _, x := range m.Assess(s, with).Misfits {
			if x.Slot == slot && x.Place == slotPlace && x.Part == list[i].Part {
				list[i].Misfit = &x
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Candidate) int { return truthOf(a.Misfit != nil) - truthOf(b.Misfit != nil) })
	return list, nil
}

// mostTried bounds how many of the nearest parts are looked at for whether they fit.
const mostTried = 8

func truthOf(b bool) int {
	if b {
		return 1
	}
	return 0
}

// rank orders candidates by whether they fit and by their verdict.
func (c *Candidate) rank() int {
	rank := 9
	if c.Result != nil {
		switch c.Result.Verdict {
		case measure.NewFit:
			rank = 0
		case measure.Serviceable, measure.None:
			rank = 1
		case measure.TooClose:
			rank = 2
		case measure.OutOfLimits:
			rank = 3
		}
	}
	if c.Misfit != nil {
		rank += 10
	}
	return rank
}

// off is how far a value is from the middle of what is aimed at; for a range with one
// end it falls as the value goes deeper inside.
func off(r *Result) float64 {
	x := r.New
	if !x.Bounded() {
		x = r.Limit
	}
	switch {
	case x.HasLow && x.HasHigh:
		return math.Abs(r.Value - (x.Low+x.High)/2)
	case x.HasLow:
		return x.Low - r.Value
	case x.HasHigh:
		return r.Value - x.High
	}
	return 0
}
