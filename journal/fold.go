package journal

import (
	"bytes"
	"fmt"
	"slices"
)

// Fold returns the state that the events give, in the order of the file.
//
// An id that comes again with the same bytes counts once and silently; with other
// bytes the first counts and the other is a problem. A strike reaches only what
// stands before it; striking a strike restores. A strike that names an unknown id,
// its own or one that only comes later does nothing and is a problem.
//
// Fold does not change the journal. It takes time in proportion to the events.
func (j *Journal) Fold() *State {
	f := folder{
		events: j.Received(),
		state: &State{
			Instruments: make(map[string]InstrumentRecord),
			Options:     make(map[string]OptionRecord),
			Problems:    slices.Clone(j.Problems),
			Chained:     j.Chained,
		},
	}
	f.link()
	f.strike()
	f.collect()
	sortProblems(f.state.Problems)
	return f.state
}

// folder holds the steps of a fold. Its slices run along events.
type folder struct {
	events []Event
	state  *State
	// repeated marks events that do not count because their id came before.
	repeated []bool
	// target is the event that a strike names, plus one; 0 for all other events.
	target []int32
	// struckBy is the first standing strike against an event, plus one.
	struckBy []int32
}

// link finds repeated ids and what each strike names, from the front, because an id
// means the first event that has it and a strike sees only what stands before it.
func (f *folder) link() {
	f.repeated = make([]bool, len(f.events))
	f.target = make([]int32, len(f.events))
	first := make(map[string]int32, len(f.events))
	for i := range f.events {
		e := &f.events[i]
		if k, again := first[e.ID]; again {
			f.repeated[i] = true
			if !sameContent(&f.events[k], e) {
				f.problem(e, CodeSameID, fmt.Sprintf("the id %s was used before%s with other content, which counts; this does not", quoted(e.ID), inLine(f.events[k].Line)))
			}
			continue
		}
		if s, ok := e.Body.(Strike); ok {
			if k, known := first[s.Event]; known {
				f.target[i] = k + 1
			} else {
				f.problem(e, CodeStrikeUnknown, fmt.Sprintf("no event before this one has the id %s; nothing was struck", quoted(s.Event)))
			}
		}
		first[e.ID] = int32(i)
	}
}

// strike finds what is struck, from the back: whether a strike stands is known once
// all that comes after it is.
func (f *folder) strike() {
	f.struckBy = make([]int32, len(f.events))
	for i := len(f.events) - 1; i >= 0; i-- {
		if t := f.target[i]; t > 0 && f.struckBy[i] == 0 {
			f.struckBy[t-1] = int32(i) + 1
		}
	}
}

// collect puts what counts and stands into the state.
func (f *folder) collect() {
	s := f.state
	stamps := make([]Stamp, len(f.events))
	for i := range f.events {
		e := &f.events[i]
		if f.repeated[i] || e.Body == nil {
			continue
		}
		stamps[i] = Stamp{Seq: s.Events, At: e.At, By: e.By, Late: e.Late, Event: e.ID, Line: e.Line}
		s.Events++
		if e.At.After(s.Last) {
			s.Last = e.At
		}
		if f.struckBy[i] == 0 {
			s.add(stamps[i], e.Body)
		}
	}
	for i := range f.events {
		if by := f.struckBy[i]; by > 0 && f.events[i].Body != nil {
			why := f.events[by-1].Body.(Strike).Why
			s.Struck = append(s.Struck, StruckRecord{stamps[i], f.events[i].Kind, f.events[i].Body, why, stamps[by-1]})
		}
	}
}

// add puts one event that stands into the state.
func (s *State) add(at Stamp, body any) {
	switch b := body.(type) {
	case Job:
		if s.Job == nil {
			s.Job = &JobRecord{Opened: at}
		}
		s.Job.Stamp = at
		s.Job.update(b)
	case Instrument:
		if _, known := s.Instruments[b.Name]; !known {
			s.InstrumentOrder = append(s.InstrumentOrder, b.Name)
		}
		s.Instruments[b.Name] = InstrumentRecord{at, b}
	case Option:
		s.Options[b.Option] = OptionRecord{at, b}
	case Extra:
		s.Extras = append(s.Extras, ExtraRecord{at, b})
	case Reading:
		s.Readings = append(s.Readings, ReadingRecord{at, b})
	case Check:
		s.Checks = append(s.Checks, CheckRecord{at, b})
	case Part:
		s.Parts = append(s.Parts, PartRecord{at, b})
	case Operation:
		s.Operations = append(s.Operations, OperationRecord{at, b})
	case Torque:
		s.Torques = append(s.Torques, TorqueRecord{at, b})
	case Wait:
		s.Waits = append(s.Waits, WaitRecord{at, b})
	case Deviation:
		s.Deviations = append(s.Deviations, DeviationRecord{at, b})
	case Approval:
		s.Approvals = append(s.Approvals, ApprovalRecord{at, b})
	case Note:
		s.Notes = append(s.Notes, NoteRecord{at, b})
	case Photo:
		s.Photos = append(s.Photos, PhotoRecord{at, b})
	case Link:
		s.Links = append(s.Links, LinkRecord{at, b})
	case TimeWorked:
		s.Times = append(s.Times, TimeRecord{at, b})
	case Cost:
		s.Costs = append(s.Costs, CostRecord{at, b})
	case Addition:
		s.Additions = append(s.Additions, AdditionRecord{at, b})
	case Seal:
		s.Seals = append(s.Seals, SealRecord{at, b})
	case Estimate:
		s.Estimates = append(s.Estimates, EstimateRecord{at, b})
	case Mark:
		s.Marks = append(s.Marks, MarkRecord{at, b})
	case Published:
		s.Published = append(s.Published, PublishedRecord{at, b})
	}
}

// update takes over what a newer job event states.
func (b *Job) update(newer Job) {
	for _, field := range [...]struct {
		old *string
		new string
	}{
		{&b.Title, newer.Title},
		{&b.Pack, newer.Pack},
		{&b.EngineNumber, newer.EngineNumber},
		{&b.Owner, newer.Owner},
		{&b.Room, newer.Room},
	} {
		if field.new != "" {
			*field.old = field.new
		}
	}
	if newer.Assembled || newer.AssembledGiven {
		b.Assembled, b.AssembledGiven = newer.Assembled, true
	}
}

func (f *folder) problem(e *Event, code, detail string) {
	f.state.Problems = append(f.state.Problems, Problem{Code: code, Line: e.Line, Event: e.ID, Detail: detail, Attention: true})
}

// sameContent says whether two events are the same delivery twice.
func sameContent(a, b *Event) bool {
	x, errX := a.content()
	y, errY := b.content()
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// inLine is " in line 7", or nothing for an event that was not read from a file.
func inLine(line int) string {
	if line == 0 {
		return ""
	}
	return fmt.Sprintf(" in line %d", line)
}
