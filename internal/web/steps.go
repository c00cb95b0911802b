package web

import (
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

// step is one operation at one place on the way through a job.
type step struct {
	assess.Operation
	Title  string
	Done   bool
	Closes []string
}

// steps lists the operations of a job in the order in which the pack writes them:
// those recorded as done and those that the assessment says are still to do.
func (s *sheet) steps() []step {
	done := map[assess.Operation]bool{}
	for _, rec := range s.State.Operations {
		op := assess.Operation{Name: strings.TrimPrefix(rec.Operation, "operation."), Place: rec.Place}
		done[op] = rec.State == "done"
	}
	ahead := map[assess.Operation]bool{}
	for _, op := range s.A.Next {
		ahead[op] = true
	}
	for _, b := range s.A.Blocked {
		ahead[b.Operation] = true
	}
	var list []step
	for _, op := range s.pack.Operations {
		for _, place := range members(s.pack.Pack, op.At) {
			at := assess.Operation{Name: op.Name, Place: place}
			if !ahead[at] && !done[at] {
				continue
			}
			list = append(list, step{at, words.Operation(s.pack.Pack, at), !ahead[at], op.Closes})
		}
	}
	return list
}

// members lists what a place comes in; one empty name for the whole engine.
func members(p *pack.Pack, at string) []string {
	if kind := p.PlaceKinds[at]; kind != nil {
		return kind.Members
	}
	return []string{""}
}

// operation returns what the pack says of an operation.
func (s *sheet) operation(name string) *pack.Operation {
	for _, op := range s.pack.Operations {
		if op.Name == name {
			return op
		}
	}
	return nil
}

// dimension returns what the pack says of a dimension.
func (s *sheet) dimension(name string) *pack.Dimension {
	for _, d := range s.pack.Dimensions {
		if d.Name == name {
			return d
		}
	}
	return nil
}

// result finds a result.
func (s *sheet) result(kind, name, place string) *assess.Result {
	for i := range s.A.Results {
		if r := &s.A.Results[i]; r.Kind == kind && r.Name == name && r.Place == place {
			return r
		}
	}
	return nil
}

// settle names the instrument that would settle a result that is too close.
func (s *sheet) settle(r *assess.Result) string {
	if r.Settle == nil || len(r.Settle.Options) == 0 || len(r.Settle.Options[0].Repeats) != 1 {
		return ""
	}
	return r.Settle.Options[0].Repeats[0].Instrument
}

// title is what a job is called on its pages.
func (s *sheet) title() string {
	if s.A.Job != nil && s.A.Job.Title != "" {
		return s.A.Job.Title
	}
	return s.Job.Title
}

// engine is the engine as the pack names it, without what stands in brackets.
func (s *sheet) engine() string {
	title := s.pack.Title
	if s.pack.Name == ownEngine {
		title = s.title() // the engine has no pack: the job names it
	}
	if title == "" {
		title = s.pack.Name
	}
	if i := strings.Index(title, " ("); i > 0 {
		title = title[:i]
	}
	return title
}

// owner is whose engine it is.
func (s *sheet) owner() string {
	if s.A.Job == nil {
		return ""
	}
	return s.A.Job.Owner
}

// number is the engine's own number.
func (s *sheet) number() string {
	if s.A.Job == nil {
		return ""
	}
	return s.A.Job.EngineNumber
}

// findings returns those of a severity that nobody has accepted.
func (s *sheet) findings(severity assess.Severity) []*assess.Finding {
	var list []*assess.Finding
	for i := range s.A.Findings {
		if f := &s.A.Findings[i]; f.Severity == severity && f.Accepted == nil && !words.ToldBefore(f) {
			list = append(list, f)
		}
	}
	return list
}

// kept is a reading as the pages list it: it stands, or it was struck.
type kept struct {
	journal.Stamp
	journal.Reading
	Struck bool
	// Why is the reason of the strike, and Strike its event, which can be struck itself.
	Why, Strike string
}

// readings lists what was ever read of a dimension at a place, the newest first.
func (s *sheet) readings(of, place string) []kept {
	var list []kept
	match := func(r journal.Reading) bool {
		return r.Place == place && strings.TrimPrefix(r.Of, "dimension.") == of
	}
	for _, r := range s.State.Readings {
		if match(r.Reading) {
			list = append(list, kept{Stamp: r.Stamp, Reading: r.Reading})
		}
	}
	for _, x := range s.State.Struck {
		if r, ok := x.Body.(journal.Reading); ok && match(r) {
			list = append(list, kept{Stamp: x.Stamp, Reading: r, Struck: true, Why: x.Why, Strike: x.Strike.Event})
		}
	}
	slices.SortStableFunc(list, func(a, b kept) int { return b.Seq - a.Seq })
	return list
}

// reading finds an unstruck reading by its place in the journal.
func (s *sheet) reading(seq int) *journal.ReadingRecord {
	for i := range s.State.Readings {
		if r := &s.State.Readings[i]; r.Seq == seq {
			return r
		}
	}
	return nil
}
