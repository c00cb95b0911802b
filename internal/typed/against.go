package typed

import (
	"slices"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

// Against holds every new reading against the pack and the journal. It refuses those
// that an assessment would set aside and remarks on those that it would count but
// find something in.
func Against(p *pack.Pack, state *journal.State, events []journal.Event) (refused, remarks []Row) {
	p, _ = assess.WithExtras(p, state)
	m := assess.Prepare(p)
	s := *state
	s.Readings = slices.Clone(state.Readings)
	have, rows := map[string]bool{}, map[string]int{}
	for _, r := range state.Readings {
		have[r.Event] = true
	}
	for i, e := range events {
		if have[e.ID] {
			continue
		}
		rows[e.ID] = e.Line
		stamp := journal.Stamp{Seq: state.Events + 1 + i, At: e.At, Event: e.ID}
		s.Readings = append(s.Readings, journal.ReadingRecord{Stamp: stamp, Reading: e.Body.(journal.Reading)})
	}
	out := m.Assess(&s, assess.Options{})
	for i := range out.Findings {
		f := &out.Findings[i]
		row, ok := rows[f.Event]
		if !ok {
			continue
		}
		r := Row{row, words.Finding(f).Says, f.Do}
		if r.Do == "" {
			r.Do = "correct it in the table" // the remedy for a journal is to strike it
		}
		if f.Code == assess.CodeReadingGauge {
			remarks = append(remarks, r)
		} else {
			refused = append(refused, r)
		}
	}
	return refused, remarks
}

// Struck remarks on rows that the journal holds and that were struck there:
// they are not added again, and do not count.
func Struck(state *journal.State, events []journal.Event) []Row {
	struck := map[string]string{}
	for _, s := range state.Struck {
		struck[s.Event] = s.Why
	}
	var list []Row
	for _, e := range events {
		if why, ok := struck[e.ID]; ok {
			list = append(list, Row{e.Line, "this reading was struck in the journal (" + why + ") and stays struck", "if it was read anew, give its time in a column at, or add --again"})
		}
	}
	return list
}
