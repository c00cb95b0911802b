package assess

import (
	"slices"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
)

// accept marks the findings that a deviation covers.
func (r *run) accept() {
	for i := range r.out.Findings {
		f := &r.out.Findings[i]
		f.Accepted = r.deviationFor(f)
	}
	for i := range r.state.Deviations {
		if d := &r.state.Deviations[i]; r.expired[d.Event] {
			r.find(Finding{Code: CodeDeviationExpired, Severity: Attention, Of: d.Finding, Event: d.Event, Line: d.Line, Detail: d.Why})
		}
	}
}

// deviationFor returns the newest deviation that covers a finding. It ends when the
// value gets worse by more than its ±.
func (r *run) deviationFor(f *Finding) *journal.DeviationRecord {
	if len(r.state.Deviations) == 0 {
		return nil
	}
	id := f.ID()
	for i := len(r.state.Deviations) - 1; i >= 0; i-- {
		d := &r.state.Deviations[i]
		if d.Finding != id {
			continue
		}
		if r.worseSince(f.Result, d.Seq) {
			if r.expired == nil {
				r.expired = map[string]bool{}
			}
			r.expired[d.Event] = true
			continue
		}
		return d
	}
	return nil
}

// worseSince reports whether a value is worse by more than its ± than it was when a
// deviation was written.
func (r *run) worseSince(now *Result, seq int) bool {
	if now == nil || !now.HasValue || !now.HasMargin || len(r.supposed) == 0 && !r.changedAfter(seq) {
		return false
	}
	before := r.before(seq).result(now.Kind, now.Name, now.Place)
	if before == nil || !before.HasValue || !before.HasMargin {
		return false
	}
	return measure.Past(before.Margin-now.Margin, now.Expanded)
}

// changedAfter reports whether anything that values depend on came after an event.
func (r *run) changedAfter(seq int) bool {
	s := r.state
	if n := len(s.Readings); n > 0 && s.Readings[n-1].Seq > seq {
		return true
	}
	for i := range s.Struck {
		if s.Struck[i].Strike.Seq > seq {
			return true
		}
	}
	for _, o := range s.Options {
		if o.Seq > seq {
			return true
		}
	}
	for _, p := range s.Parts {
		if p.Seq > seq {
			return true
		}
	}
	for _, i := range s.Instruments {
		if i.Seq > seq {
			return true
		}
	}
	return false
}

// before assesses the values as they were at an event.
func (r *run) before(seq int) *Assessment {
	if a, ok := r.past[seq]; ok {
		return a
	}
	s := *r.state
	s.Deviations, s.Problems = nil, nil
	s.Readings = until(withStruck(s.Readings, s.Struck, seq), seq, func(x journal.ReadingRecord) int { return x.Seq })
	s.Parts = until(s.Parts, seq, func(x journal.PartRecord) int { return x.Seq })
	s.Operations = until(s.Operations, seq, func(x journal.OperationRecord) int { return x.Seq })
	s.Checks = until(s.Checks, seq, func(x journal.CheckRecord) int { return x.Seq })
	s.Torques, s.Waits = nil, nil
	s.Options = map[string]journal.OptionRecord{}
	for name, o := range r.state.Options {
		if o.Seq <= seq {
			s.Options[name] = o
		}
	}
	q := &run{Model: r.Model, state: &s, opts: Options{}}
	q.out = &Assessment{Pack: r.Model.pack}
	q.measureAll()
	if r.past == nil {
		r.past = map[int]*Assessment{}
	}
	r.past[seq] = q.out
	return q.out
}

// withStruck puts the readings back that were struck only after an event.
func withStruck(list []journal.ReadingRecord, struck []journal.StruckRecord, seq int) []journal.ReadingRecord {
	var back []journal.ReadingRecord
	for i := range struck {
		if body, ok := struck[i].Body.(journal.Reading); ok && struck[i].Strike.Seq > seq {
			back = append(back, journal.ReadingRecord{Stamp: struck[i].Stamp, Reading: body})
		}
	}
	if back == nil {
		return list
	}
	back = append(back, list...)
	slices.SortFunc(back, func(a, b journal.ReadingRecord) int { return a.Seq - b.Seq })
	return back
}

func until[T any](list []T, seq int, of func(T) int) []T {
	n := 0
	for n < len(list) && of(list[n]) <= seq {
		n++
	}
	return list[:n]
}

func (a *Assessment) result(kind, name, place string) *Result {
	for i := range a.Results {
		if r := &a.Results[i]; r.Kind == kind && r.Name == name && r.Place == place {
			return r
		}
	}
	return nil
}

// evaluateFact computes an expression over options and part sizes.
func (r *run) evaluateFact(e *formula.Expr, place, member string) (float64, bool) {
	g := formula.NewGraph()
	id := g.Add(e, r.binder(place, member))
	v := g.NewValues()
	r.fillFacts(g, v)
	g.Evaluate(v)
	x, status := v.Of(id)
	return x, status == formula.Known
}
