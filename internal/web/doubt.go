package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// askedNote stands in the note of a reading that looked like a slip, was asked about and
// was kept as typed.
const askedNote = "asked, kept as typed"

// rightAsTyped begins the note of an answer that came after the reading was kept.
const rightAsTyped = "Looked at again: it is right as typed"

// doubt is a reading that was kept without the question that it deserves, as one that
// came by another way than the page.
type doubt struct {
	words.Sentence
	Event, Of, Place, Typed string
}

// aboutEvent is what a note of one entry is of.
func aboutEvent(id string) string { return "event " + id }

// doubts are the readings of the set under way that look like slips and of which nobody
// said that they are right. Each is held against those that were there before it, as it
// would have been when it was typed.
func (s *sheet) doubts(d *pack.Dimension, place string, system quantity.System) []doubt {
	cells, limits, ok := s.pack.model.Cells(s.State, d.Name, place)
	if !ok {
		return nil
	}
	type read struct {
		*journal.ReadingRecord
		q    quantity.Quantity
		cell int
	}
	var all []read
	for c := range cells {
		seqs := slices.Clone(cells[c].Seqs)
		slices.Sort(seqs)
		for _, seq := range seqs[max(0, len(seqs)-d.Plan.Times()):] {
			rec := s.reading(seq)
			if rec == nil {
				continue
			}
			if q, err := quantity.Parse(rec.Value); err == nil && q.Dimension == d.Dimension {
				all = append(all, read{rec, q, c})
			}
		}
	}
	var list []doubt
	for i := range all {
		x := &all[i]
		if strings.Contains(x.Note, askedNote) || s.answered(x.Event) {
			continue
		}
		var before []float64
		for k := range all {
			if all[k].cell != x.cell && all[k].Seq < x.Seq {
				before = append(before, all[k].q.SI)
			}
		}
		slip, odd := measure.FindSlip(x.q.SI, x.q.Unit, limits, before)
		if !odd {
			continue
		}
		wanted := ""
		if res := s.result("dimension", d.Name, place); res != nil {
			wanted = words.Wanted(words.ResultIn(res, system))
		}
		list = append(list, doubt{words.Slip(slip, x.Value, meant(slip, x.Value, x.q), words.Title(d.Title, strings.TrimSpace(place+" "+d.Plan.Label(x.cell))), wanted, s.neighbour(d, slip, system)), x.Event, d.Name, place, x.Value})
	}
	return list
}

// answered says whether somebody looked at an entry again and found it right.
func (s *sheet) answered(event string) bool {
	of := aboutEvent(event)
	return slices.ContainsFunc(s.State.Notes, func(n journal.NoteRecord) bool {
		return n.Of == of && strings.HasPrefix(n.Text, rightAsTyped)
	})
}

// meant writes what may have been meant, as it would have been typed.
func meant(slip measure.Slip, text string, typed quantity.Quantity) string {
	if !slip.HasMeant {
		return ""
	}
	decimals := max(typed.Decimals, 0)
	switch {
	case slip.Unit.Symbol != "":
		return strings.TrimSpace(strings.TrimSuffix(text, typed.Unit.Symbol)) + " " + slip.Unit.Symbol
	case slip.Kind == measure.ThousandTimes:
		return typed.Unit.Text(slip.Meant, decimals+3)
	}
	return typed.Unit.Text(slip.Meant, max(decimals-3, 0))
}

func (s *sheet) neighbour(d *pack.Dimension, slip measure.Slip, system quantity.System) string {
	if slip.Kind != measure.JumpToNeighbour {
		return ""
	}
	u, decimals := words.UnitIn(d.Unit, d.Decimals, system)
	return u.Text(slip.Neighbour, decimals)
}

// slipData is what a phone needs to ask about a likely slip while the computer cannot be
// reached: the ends of all that the limits allow, in the unit of the field.
func slipData(l measure.Limits, u quantity.Unit) string {
	fields := map[string]any{"unit": u.Symbol}
	if low, high, width, ok := measure.SlipSpan(l); ok {
		fields["low"], fields["high"], fields["width"] = u.In(low), u.In(high), u.InDifference(width)
	}
	text, err := json.Marshal(fields)
	if err != nil {
		panic(err) // numbers of ours
	}
	return string(text)
}

// askAbout adds to the answers of a delivery the questions about readings that look like
// slips: they are kept, and not silently.
func (s *Server) askAbout(r *http.Request, job string, lines [][]byte, answers []taken) {
	var sh *sheet
	for i := range answers {
		if answers[i].Outcome != store.Kept.String() {
			continue
		}
		e, err := journal.Decode(lines[i])
		if err != nil {
			continue
		}
		reading, ok := e.Body.(journal.Reading)
		if !ok || strings.Contains(reading.Note, askedNote) {
			continue
		}
		if sh == nil {
			if sh, err = s.desks.quick(r.Context(), job); err != nil {
				return
			}
		}
		d := sh.dimension(strings.TrimPrefix(reading.Of, "dimension."))
		if d == nil {
			continue
		}
		for _, x := range sh.doubts(d, reading.Place, sh.pack.Units) {
			if x.Event == e.ID {
				answers[i].Asks = strings.Join(append([]string{x.Says}, append(x.Because, x.Do)...), " ")
				answers[i].Address = query(jobPath(job, "read", d.Name), "place", reading.Place)
			}
		}
	}
}

// eachOf is the event that a tick of a form with several writes, for the outbox.
func (s *sheet) eachOf(reference string) string {
	bodies, refused := s.manyBodies([]string{reference})
	if refused != nil {
		return "{}"
	}
	return outboxOf(bodies[0])
}
