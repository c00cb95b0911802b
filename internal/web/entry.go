package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// by is who writes what is entered at the bench, until people have names here.
const by = "bench"

// slot is one reading to take: a cell, and which repeat of it.
type slot struct {
	Cell, N  int
	Label    string
	Position string
	Axis     string
	// Value is what the page shows; Typed what was written.
	Value, Typed string
	Filled       bool
	Of           assess.Cell
}

// gaugeChoice is an instrument that may be chosen for a reading.
type gaugeChoice struct{ Name, Says string }

// entryView is the page on which a dimension is read at a place.
type entryView struct {
	view
	D      *pack.Dimension
	Place  string
	Slots  []slot
	At     int
	Unit   quantity.Unit
	Result *assess.Result
	// Cell is the judged cell that is lit, as a result of its own, or nil.
	Cell   *assess.Result
	Settle string

	Digits digits
	// Slip is what the phone needs to ask about a likely slip by itself.
	Slip             string
	Field, Key, Sure string
	Gauges           []gaugeChoice
	Gauge            string
	Temperature      string
	TemperatureUnit  quantity.Unit
	Phase            string
	Kept             []kept
	Derived          []*assess.Result
	Next             *assess.Result // what comes after a complete set
	Question         *words.Sentence
	Accept           string // what may have been meant, as it would be written
	Mistake          *words.Sentence
	Heard            string
	// Doubts are readings that were kept unasked and look like slips.
	Doubts              []doubt
	Fragment, JustAdded bool
}

// subject reports what the entry page is about; it answers itself when that is nothing.
func (s *Server) subject(w http.ResponseWriter, r *http.Request) (*sheet, *pack.Dimension, string, bool) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return nil, nil, "", false
	}
	d := sh.dimension(r.PathValue("of"))
	if d == nil {
		s.trouble(w, r, notFound("The pack of this job has no dimension of that name."))
		return nil, nil, "", false
	}
	place := r.URL.Query().Get("place")
	if !slices.Contains(members(sh.pack.Pack, d.At), place) {
		if place != "" || d.At == "" {
			s.trouble(w, r, notFound("There is no such place for "+d.Title+"."))
			return nil, nil, "", false
		}
		place = members(sh.pack.Pack, d.At)[0]
	}
	return sh, d, place, true
}

// entry shows the page.
func (s *Server) entry(w http.ResponseWriter, r *http.Request) {
	sh, d, place, ok := s.subject(w, r)
	if !ok {
		return
	}
	at := -1
	if n, err := strconv.Atoi(r.URL.Query().Get("at")); err == nil {
		at = n
	}
	e, ok := s.entryView(r, sh, d, place, at, r.URL.Query().Get("judged"))
	if !ok {
		s.trouble(w, r, notFound(d.Title+" is left out of this job by the options that were chosen."))
		return
	}
	s.show(w, r, http.StatusOK, entryPage(e))
}

// entryView gathers what the page shows. At is the slot to light; below zero it is
// the first that is not filled. Judged numbers the slot whose verdict is shown as long
// as the lit one has none.
func (s *Server) entryView(r *http.Request, sh *sheet, d *pack.Dimension, place string, at int, judged string) (*entryView, bool) {
	cells, limits, ok := sh.pack.model.Cells(sh.State, d.Name, place)
	res := sh.result("dimension", d.Name, place)
	if !ok || res == nil {
		return nil, false
	}
	e := &entryView{view: s.view(r, "readings", sh), D: d, Place: place, Key: s.record.NewID()}
	e.Title = words.Title(d.Title, place)
	e.Result = words.ResultIn(res, e.System)
	e.Settle = sh.settle(res)
	unit, decimals := words.UnitIn(d.Unit, d.Decimals, e.System)
	e.Unit = unit
	e.Slip = slipData(limits, unit)
	e.slots(sh, cells)
	e.expect(r, limits, decimals)
	if at < 0 || at >= len(e.Slots) {
		at = e.firstEmpty(0)
	}
	e.At = max(at, 0)
	judge := func(i int) *assess.Result {
		c := &cells[e.Slots[i].Cell]
		if !c.Begun || len(cells)*d.Plan.Times() < 2 {
			return nil
		}
		return words.ResultIn(&assess.Result{Kind: "dimension", Title: d.Title, Place: place, Value: c.Value, HasValue: true, Expanded: c.Expanded, Unit: d.Unit,
			Decimals: res.Decimals, New: limits.New, Limit: limits.Limit, Judgement: c.Judgement, Readings: 1}, e.System)
	}
	e.Cell = judge(e.At)
	if i, err := strconv.Atoi(judged); err == nil && i >= 0 && i < len(e.Slots) && e.Cell == nil {
		e.Cell = judge(i) // the verdict of what was just kept stays in view
	} else {
		judged = ""
	}
	e.Path = query(jobPath(sh.Job.ID, "read", d.Name), "place", place, "at", strconv.Itoa(e.At), "judged", judged)
	e.Kept = sh.readings(d.Name, place)
	e.Doubts = sh.doubts(d, place, e.System)
	e.Also = []string{"slip.js"}
	e.chips(sh)
	for _, reference := range sh.pack.UsedIn(d.Name, place) {
		name, where, _ := strings.Cut(reference, " ")
		kind, name, _ := strings.Cut(name, ".")
		if x := sh.result(kind, name, where); x != nil {
			e.Derived = append(e.Derived, words.ResultIn(x, e.System))
		}
	}
	if e.firstEmpty(0) < 0 {
		e.Next = nextToRead(sh, res)
	}
	return e, true
}

// slots lays out the readings to take in the order the gauge goes.
func (e *entryView) slots(sh *sheet, cells []assess.Cell) {
	times := e.D.Plan.Times()
	for c := range cells {
		cell := &cells[c]
		at := make([]*journal.ReadingRecord, times)
		for _, seq := range cell.Seqs {
			rec := sh.reading(seq)
			if rec == nil {
				continue
			}
			n := rec.Cell.N
			for n == 0 || n > times {
				n = 1
				for n < times && at[n-1] != nil {
					n++
				}
			}
			at[n-1] = rec
		}
		for n := range times {
			sl := slot{Cell: c, N: n + 1, Label: e.D.Plan.Label(c), Position: cell.Position, Axis: cell.Axis, Of: *cell}
			if times > 1 {
				sl.Label = strings.TrimSpace(sl.Label + " no. " + strconv.Itoa(n+1))
			}
			if rec := at[n]; rec != nil {
				sl.Filled, sl.Typed = true, rec.Value
				sl.Value = e.shown(cell, rec, times)
			}
			e.Slots = append(e.Slots, sl)
		}
	}
}

// shown prints a cell: at 20 °C where it is one reading, else as it was typed.
func (e *entryView) shown(cell *assess.Cell, rec *journal.ReadingRecord, times int) string {
	u, decimals := words.UnitIn(e.D.Unit, e.Result.Decimals, e.System)
	if e.Result.Unit.Symbol == u.Symbol {
		decimals = e.Result.Decimals
	}
	if times == 1 {
		return quantity.FormatNumber(u.In(cell.Value), decimals)
	}
	if q, err := quantity.Parse(rec.Value); err == nil {
		return quantity.FormatNumber(u.In(q.SI), decimals)
	}
	return rec.Value
}

// firstEmpty returns the first slot from one on that is not filled, going round, or
// -1 when all are.
func (e *entryView) firstEmpty(from int) int {
	for i := range e.Slots {
		if k := (from + i) % len(e.Slots); !e.Slots[k].Filled {
			return k
		}
	}
	return -1
}

// chips proposes gauge and temperature: those of the newest reading, else the first
// registered instrument of the class that the pack expects.
func (e *entryView) chips(sh *sheet) {
	e.TemperatureUnit = e.System.Unit(quantity.OfTemperature)
	e.Gauges = append(e.Gauges, gaugeChoice{"", orElse(e.D.With, "not said")})
	for pass := range 2 {
		for _, name := range sh.State.InstrumentOrder {
			rec := sh.State.Instruments[name]
			if (rec.Class == e.D.With) != (pass == 0) || !fitsUnit(rec, e.D) {
				continue
			}
			says := rec.Name
			if rec.Class != "" {
				says += ", " + rec.Class
			}
			if rec.Uncertainty != "" {
				says += " ±" + shownIn(rec.Uncertainty, e.System)
			}
			e.Gauges = append(e.Gauges, gaugeChoice{rec.Name, says})
			if pass == 0 && e.Gauge == "" {
				e.Gauge = rec.Name
			}
		}
	}
	for _, k := range e.Kept {
		if k.Struck {
			continue
		}
		if _, registered := sh.State.Instruments[k.Instrument]; registered || k.Instrument == "" {
			e.Gauge = k.Instrument
		}
		if t, err := quantity.Parse(k.Temperature); err == nil && t.Dimension == quantity.OfTemperature {
			e.Temperature = strings.TrimSuffix(trimZeros(quantity.FormatNumber(e.TemperatureUnit.In(t.SI), 1)), ".")
		}
		break
	}
}

// shownIn prints a quantity that was written in a journal in the units of a system.
func shownIn(text string, s quantity.System) string {
	q, err := quantity.Parse(text)
	if err != nil {
		return text
	}
	u, d := words.UnitIn(q.Unit, q.Decimals, s)
	if u.Symbol == q.Unit.Symbol {
		return text
	}
	return u.DifferenceText(q.SI, d)
}

func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		return strings.TrimRight(s, "0")
	}
	return s
}

// fitsUnit leaves out instruments that read something else: scales for a length.
func fitsUnit(rec journal.InstrumentRecord, d *pack.Dimension) bool {
	q, err := quantity.Parse(rec.Step)
	return err != nil || q.Dimension == d.Dimension
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

// nextToRead proposes where to go when a set is complete: the same dimension at
// another place, else the next in the pack that is not complete.
func nextToRead(sh *sheet, done *assess.Result) *assess.Result {
	after := false
	var later, earlier *assess.Result
	for i := range sh.A.Results {
		r := &sh.A.Results[i]
		if r.Kind != "dimension" {
			continue
		}
		if r.Name == done.Name && r.Place == done.Place {
			after = true
			continue
		}
		if r.Verdict != measure.NotMeasured && r.Stale == nil || len(r.Missing) == 0 && r.Stale == nil {
			continue
		}
		switch {
		case r.Name == done.Name:
			return r
		case after && later == nil:
			later = r
		case !after && earlier == nil:
			earlier = r
		}
	}
	if later != nil {
		return later
	}
	return earlier
}

// typed is a reading as it came from the page, worked out.
type typed struct {
	quantity.Quantity
	text string
}

// readValue reads what was typed into a field; a bare number is in the unit of the
// field.
func readValue(text string, want quantity.Dimension, u quantity.Unit) (typed, *words.Sentence) {
	text = strings.TrimSpace(text)
	if text == "" {
		return typed{}, &words.Sentence{Says: "Nothing was typed.", Do: "Type the reading, then Enter."}
	}
	q, err := quantity.Parse(text)
	if err == nil && q.Dimension.IsNumber() && !want.IsNumber() {
		text += " " + u.Symbol
		q, err = quantity.Parse(text)
	}
	if err == nil && want == quantity.OfTemperature && q.Dimension == quantity.OfTemperatureDifference {
		q.Dimension = want
	}
	if pe, ok := err.(*quantity.ParseError); ok {
		return typed{}, &words.Sentence{Says: words.Upper(pe.Says) + ".", Do: words.Upper(pe.Do)}
	}
	if err != nil {
		return typed{}, &words.Sentence{Says: words.Upper(err.Error()) + "."}
	}
	if q.Dimension != want {
		return typed{}, &words.Sentence{Says: "“" + text + "” is a " + q.Dimension.String() + ", and this is a " + want.String() + ".", Do: "Type a number in " + u.Symbol + ", or write the unit after it."}
	}
	return typed{q, text}, nil
}

// readField reads what was typed as a reading, whole or by its last digits.
func (e *entryView) readField(text string) (typed, *words.Sentence) {
	text, doubt := e.Digits.whole(text)
	if doubt != nil {
		return typed{}, doubt
	}
	return readValue(text, e.D.Dimension, e.Unit)
}

// keep takes a reading: it is kept, judged, and the next cell is lit. A likely slip is
// asked about first and kept as typed on a second yes.
func (s *Server) keep(w http.ResponseWriter, r *http.Request) {
	sh, d, place, ok := s.subject(w, r)
	if !ok {
		return
	}
	form := r.PostForm
	at, err := strconv.Atoi(form.Get("at"))
	if err != nil {
		at = -1
	}
	e, ok := s.entryView(r, sh, d, place, at, "")
	if !ok {
		s.trouble(w, r, notFound(d.Title+" is left out of this job by the options that were chosen."))
		return
	}
	text := form.Get("value")
	if accepted := form.Get("accept"); accepted != "" {
		text = accepted // the person took what may have been meant
	}
	e.Field, e.Gauge, e.Temperature, e.Phase = text, form.Get("instrument"), form.Get("temperature"), form.Get("phase")
	e.Fragment = r.Header.Get("HX-Request") == "true"
	if form.Get("cell") != e.Slots[e.At].Label || at != e.At {
		// The plan may have changed since the page was made: no reading goes to a
		// cell that nobody saw.
		e.Mistake = &words.Sentence{Says: "This page shows the cells as they were before a change. Nothing was kept.", Do: "Look which cell is lit and press Enter again."}
		e.Heard = e.Mistake.Says
		s.show(w, r, http.StatusConflict, entryPage(e))
		return
	}
	key := form.Get("key")
	if !soundKey(key) {
		key = e.Key
	}
	if on := form.Get("digits") == "last"; on != e.Digits.On {
		e.Digits.On = on
		e.Digits.remember(w)
	}
	value, mistake := e.readField(e.Field)
	var temperature typed
	if mistake == nil && strings.TrimSpace(e.Temperature) != "" {
		temperature, mistake = readValue(e.Temperature, quantity.OfTemperature, e.TemperatureUnit)
	}
	if mistake != nil {
		e.Mistake, e.Heard = mistake, mistake.Says
		s.show(w, r, http.StatusUnprocessableEntity, entryPage(e))
		return
	}
	sl := e.Slots[e.At]
	reading := journal.Reading{Of: d.Name, Place: place, Cell: journal.Cell{Position: sl.Position, Axis: sl.Axis},
		Value: value.text, Instrument: e.Gauge, Temperature: temperature.text, Phase: e.Phase}
	if form.Get("zero") != "" {
		reading.Note = "zero checked"
	}
	if d.Plan.Times() > 1 {
		reading.Cell.N = sl.N
	}
	if form.Get("sure") == value.text {
		reading.Note = strings.TrimPrefix(reading.Note+"; "+askedNote, "; ")
	}
	if i, there := sh.ids[key]; there {
		s.sentAgain(w, r, sh, e, i, reading)
		return
	}
	if form.Get("sure") != value.text && s.ask(w, r, sh, e, value) {
		return
	}
	line, err := journal.New(key, s.options.Now(), s.who(r), reading).Encode()
	if err != nil {
		e.Mistake = &words.Sentence{Says: words.Upper(err.Error()) + "."}
		s.show(w, r, http.StatusUnprocessableEntity, entryPage(e))
		return
	}
	done, err := s.record.Append(r.Context(), sh.Job.ID, line)
	if err != nil {
		s.failed(w, r, err)
		return
	}
	if done[0].Outcome != store.Kept && done[0].Outcome != store.Already {
		s.refused(w, r, e, done[0])
		return
	}
	s.kept(w, r, d, place, e)
}

// kept answers with the next cell.
func (s *Server) kept(w http.ResponseWriter, r *http.Request, d *pack.Dimension, place string, before *entryView) {
	sh, err := s.desks.quick(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	filled, gauge, temperature := before.At, before.Gauge, before.Temperature
	after, ok := s.entryView(r, sh, d, place, filled, "")
	if !ok {
		s.trouble(w, r, notFound(d.Title+" is left out of this job by the options that were chosen."))
		return
	}
	next := after.firstEmpty(filled + 1)
	says := words.Upper(after.Slots[filled].Label) + ": " + after.Slots[filled].Value
	if c := after.Cell; c != nil && c.Verdict > measure.NotMeasured {
		says += ", " + words.Verdict(c)
	} else if after.Cell == nil {
		says += ", " + words.Verdict(after.Result)
	}
	says = strings.TrimPrefix(says, ": ")
	if next < 0 {
		next = filled
	}
	if !before.Fragment {
		http.Redirect(w, r, query(jobPath(sh.Job.ID, "read", d.Name), "place", place, "at", strconv.Itoa(next)), http.StatusSeeOther)
		return
	}
	if next != filled {
		if after, ok = s.entryView(r, sh, d, place, next, strconv.Itoa(filled)); !ok {
			return
		}
	}
	after.Fragment, after.JustAdded, after.Heard = true, true, says
	after.Gauge, after.Temperature = gauge, temperature
	s.show(w, r, http.StatusOK, entryPage(after))
}

// sentAgain answers a form that came twice: the same reading is kept once, another
// one under the same name is not kept.
func (s *Server) sentAgain(w http.ResponseWriter, r *http.Request, sh *sheet, e *entryView, i int, reading journal.Reading) {
	if old, ok := sh.event[i].Body.(journal.Reading); ok && old == reading {
		s.kept(w, r, e.D, e.Place, e)
		return
	}
	e.Mistake = &words.Sentence{Says: "This form was used before, for another entry. Nothing was kept this time.", Do: "Look at what is typed and press Enter again."}
	e.Heard = e.Mistake.Says
	s.show(w, r, http.StatusConflict, entryPage(e))
}

// refused answers when the store did not take the event.
func (s *Server) refused(w http.ResponseWriter, r *http.Request, e *entryView, done store.Appended) {
	e.Mistake = &words.Sentence{Says: "The reading was not kept.", Do: "Press Enter again."}
	if done.Problem != nil {
		e.Mistake.Because = []string{done.Problem.Error()}
	}
	status := http.StatusUnprocessableEntity
	if done.Outcome == store.Different {
		status = http.StatusConflict
		e.Mistake.Says = "Another device used this form for another entry. Nothing was kept this time."
	}
	e.Heard = e.Mistake.Says
	s.show(w, r, status, entryPage(e))
}

// phaseNow is the phase of the set that is under way: the one begun last. A reading
// that begins another set, as after machining, is not held against what was before.
func (e *entryView) phaseNow() string {
	now, begun := "", map[string]bool{}
	for _, k := range slices.Backward(e.Kept) {
		if k.Phase != "" && !k.Struck && !begun[k.Phase] {
			now, begun[k.Phase] = k.Phase, true
		}
	}
	return now
}

// ask asks about a likely slip; false when there is nothing to ask.
func (s *Server) ask(w http.ResponseWriter, r *http.Request, sh *sheet, e *entryView, value typed) bool {
	cells, limits, _ := sh.pack.model.Cells(sh.State, e.D.Name, e.Place)
	var neighbours []float64
	joins := e.Phase == "" || e.Phase == e.phaseNow()
	for c := range cells {
		if joins && c != e.Slots[e.At].Cell && cells[c].Begun {
			neighbours = append(neighbours, cells[c].Value)
		}
	}
	slip, odd := measure.FindSlip(value.SI, value.Unit, limits, neighbours)
	if !odd {
		return false
	}
	e.Accept = meant(slip, value.text, value.Quantity)
	neighbour := ""
	if slip.Kind == measure.JumpToNeighbour {
		u, d := words.UnitIn(e.D.Unit, e.Result.Decimals, e.System)
		neighbour = u.Text(slip.Neighbour, d)
	}
	q := words.Slip(slip, value.text, e.Accept, strings.TrimSpace(e.D.Title+" "+e.Slots[e.At].Label), words.Wanted(e.Result), neighbour)
	e.Question, e.Sure, e.Heard = &q, value.text, q.Says+" "+q.Do
	s.show(w, r, http.StatusUnprocessableEntity, entryPage(e))
	return true
}

// soundKey says whether a name that a page made for an event can stand in a journal.
func soundKey(key string) bool {
	if len(key) < 8 || len(key) > 64 {
		return false
	}
	for i := range len(key) {
		if c := key[i]; (c < '0' || c > '9') && (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && c != '-' {
			return false
		}
	}
	return true
}
