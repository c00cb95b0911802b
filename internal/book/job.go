package book

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// Job is what a book is made of.
type Job struct {
	// ID is the job's number; empty for a journal that was named by its file.
	ID   string
	Shop string
	// Pack is that of the job with its own pieces of pack text merged in, and State
	// what its journal says.
	Pack  *pack.Pack
	State *journal.State
	// Assessment is that of the whole journal.
	Assessment *assess.Assessment
	// Head is the last hash of the journal's chain, and Seals say of each signature in
	// it whether it holds.
	Head  [32]byte
	Seals []SealState
	// Photo returns the content of a photo; nil where there are none.
	Photo func(sha256 string) ([]byte, error)
	Now   time.Time
	// model is the pack made ready, once it was asked for.
	model *assess.Model
	// Units come first; the other system stands beside them.
	Units quantity.System
	Paper Paper
}

// Make puts a job together for its sheets: the hashes of its chain, its signatures, its
// assessment. sum is the hash of the pack text, and p has the job's own text merged in.
func Make(id string, p *pack.Pack, sum string, received []journal.Event, state *journal.State, now time.Time) *Job {
	j := &Job{ID: id, Pack: p, State: state, Now: now, Units: p.Units, Paper: A4}
	heads := journal.Heads(received)
	j.Head = heads[len(heads)-1]
	for _, s := range state.Seals {
		place := slices.IndexFunc(received, func(e journal.Event) bool { return e.ID == s.Event })
		j.Seals = append(j.Seals, SealState{SealRecord: s, Wrong: journal.CheckSeal(s.Seal, s.At, max(place, 0), heads, sum)})
	}
	j.Assessment = j.prepared().Assess(state, assess.Options{Now: now})
	return j
}

// prepared is the pack made ready to be assessed.
func (j *Job) prepared() *assess.Model {
	if j.model == nil {
		j.model = assess.Prepare(j.Pack)
	}
	return j.model
}

// SealState is a signature of the journal and what was found of it.
type SealState struct {
	journal.SealRecord
	// Wrong is empty for one that holds.
	Wrong string
}

// Mark is the record mark that stands on every sheet: the first 16 digits of the hash
// that the chain ends in, in groups of four.
func (j *Job) Mark() string {
	digits := strings.ToUpper(hex.EncodeToString(j.Head[:8]))
	return digits[:4] + " " + digits[4:8] + " " + digits[8:12] + " " + digits[12:]
}

func (j *Job) name() string {
	if j.ID != "" {
		return "Job " + j.ID
	}
	if j.State.Job != nil && j.State.Job.EngineNumber != "" {
		return "Engine " + j.State.Job.EngineNumber
	}
	return j.Pack.Title
}

func (j *Job) title() string {
	if j.State.Job != nil && j.State.Job.Title != "" {
		return j.State.Job.Title
	}
	return j.Pack.Title
}

// other is the system that is not the first.
func (j *Job) other() quantity.System { return 1 - j.Units }

// both prints a result in both systems; the second is empty where the unit belongs to
// both.
func (j *Job) both(r *assess.Result) (first, second string) {
	first = words.Shown(words.ResultIn(r, j.Units))
	second = words.Shown(words.ResultIn(r, j.other()))
	if second == first {
		second = ""
	}
	return first, second
}

// bothText prints a quantity that was written as text in both systems: as written, and
// in the other one.
func (j *Job) bothText(text string) (first, second string) {
	q, err := quantity.Parse(text)
	if err != nil {
		return text, ""
	}
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		u, d := words.UnitIn(q.Unit, q.Decimals, s)
		if u.Symbol != q.Unit.Symbol {
			return text, u.Text(q.Value.SI, max(d, 0))
		}
	}
	return text, ""
}

// inBoth joins both systems in one line.
func (j *Job) inBoth(text string) string {
	first, second := j.bothText(text)
	if second == "" {
		return first
	}
	return first + " (" + second + ")"
}

// rangeBoth prints a range in both systems.
func (j *Job) rangeBoth(x quantity.Range, decimals int) string {
	if !x.Bounded() {
		return ""
	}
	if x.Decimals < 0 {
		x.Decimals = decimals
	}
	first := rangeText(x)
	for _, s := range []quantity.System{j.Units, j.other()} {
		u, d := words.UnitIn(x.Unit, x.Decimals, s)
		if u.Symbol != x.Unit.Symbol {
			y := x
			y.Unit, y.Decimals = u, max(d, 0)
			return first + " (" + rangeText(y) + ")"
		}
	}
	return first
}

// rangeText prints a range as people say it.
func rangeText(x quantity.Range) string {
	d := max(x.Decimals, 0)
	switch {
	case x.HasLow && x.HasHigh:
		return quantity.FormatNumber(x.Unit.In(x.Low), d) + " to " + x.Unit.Text(x.High, d)
	case x.HasLow:
		return "at least " + x.Unit.Text(x.Low, d)
	case x.HasHigh:
		return "up to " + x.Unit.Text(x.High, d)
	}
	return ""
}

// unitText prints a value in its unit and, in brackets, in the other system.
func unitText(si float64, u quantity.Unit, decimals int) string {
	first := u.Text(si, decimals)
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		o, d := words.UnitIn(u, decimals, s)
		if o.Symbol != u.Symbol {
			if o.Symbol == "ft-lb" && o.In(si) < 20 {
				o = quantity.MustUnit("in-lb")
				d = 0
			}
			d = max(d, 0)
			for n := 0; n < 4 && si != 0 && strings.Trim(quantity.FormatNumber(o.In(si), d), "0.") == ""; n++ {
				d++ // a step that is there is not told as nothing
			}
			return first + " (" + o.Text(si, d) + ")"
		}
	}
	return first
}

// who prints who wrote something and when, with what was entered afterwards marked.
func who(s journal.Stamp) string {
	text := stamp(s.At)
	if s.By != "" {
		text += ", " + s.By
	}
	if s.Late {
		text += ", entered later"
	}
	return text
}

// when is who, short: without the year where it is that of the job.
func (b *builder) when(s journal.Stamp) string {
	layout := "2 Jan 15:04"
	if s.At.Year() != b.year {
		layout = "2 Jan 2006 15:04"
	}
	text := s.At.Format(layout)
	if s.By != "" {
		text += " " + s.By
	}
	if s.Late {
		text += ", entered later"
	}
	return text
}

func titled(title, place string) string { return words.Title(title, place) }

func verdictWord(r *assess.Result) string {
	if r.Kind == "check" {
		switch {
		case r.Passed:
			return "Passed"
		case r.Failed:
			return "Not passed"
		case r.Answer != "":
			return "Seen"
		}
		return "Not looked at"
	}
	return words.Upper(words.Verdict(r))
}

// verdictCell is the sign and the word of a verdict.
func verdictCell(r *assess.Result) Cell {
	sign, ink := verdictSign(r)
	if sign == "" {
		return Cell{}
	}
	return Cell{Text: verdictWord(r), Sign: sign, Ink: ink, Bold: true}
}

// BuildBook puts the whole book of a job together.
func BuildBook(j *Job) *Document {
	d := &Document{Title: "Build book: " + j.title(), Subject: j.Pack.Title + ", record mark " + j.Mark(), Paper: j.Paper, Made: j.Now,
		Head: j.name() + ", " + j.Pack.Title, Foot: "Buttonup build book. Record mark " + j.Mark()}
	if j.Paper.Width == 0 {
		d.Paper = A4
	}
	b := &builder{Job: j, d: d}
	b.prepare()
	b.cover()
	b.answers()
	b.spaces()
	b.readings()
	b.struck()
	b.joints()
	b.parts()
	b.operations()
	b.holds()
	b.deviations()
	b.photos()
	b.running()
	b.remarks()
	b.cautions()
	b.sources()
	b.instruments()
	b.seal()
	b.additions()
	return d
}

// builder puts a book together, section by section. A section without content is left
// out.
type builder struct {
	*Job
	d           *Document
	byOperation map[string]*pack.Operation
	// sets hold the readings by what they are of and where.
	sets map[[2]string][]journal.ReadingRecord
	// before are assessments of older phases, by phase.
	before map[string]*assess.Assessment
	// closed is when each space was closed, by name and place, and by what.
	closed map[[2]string]closing
	// year is that in which most of the job was done.
	year int
}

type closing struct {
	at  time.Time
	who string
	by  string
}

func (b *builder) prepare() {
	b.byOperation = map[string]*pack.Operation{}
	for _, o := range b.Pack.Operations {
		b.byOperation[o.Name] = o
	}
	b.sets = map[[2]string][]journal.ReadingRecord{}
	for _, r := range b.State.Readings {
		k := [2]string{r.Of, r.Place}
		b.sets[k] = append(b.sets[k], r)
	}
	years := map[int]int{}
	for _, r := range b.State.Readings {
		years[r.At.Year()]++
	}
	for y, n := range years {
		if n > years[b.year] || n == years[b.year] && y < b.year {
			b.year = y
		}
	}
	b.assessPhases()
	b.findClosings()
}

// assessPhases judges what was read in earlier phases by itself, so that the book can
// tell what was found beside what was built.
func (b *builder) assessPhases() {
	b.before = map[string]*assess.Assessment{}
	older := map[string][]journal.ReadingRecord{}
	for _, set := range b.sets {
		_, history := journal.CurrentPhase(set)
		for _, h := range history {
			older[h[0].Phase] = append(older[h[0].Phase], h...)
		}
	}
	if len(older) == 0 {
		return
	}
	model := b.prepared()
	for phase, readings := range older {
		slices.SortFunc(readings, func(x, y journal.ReadingRecord) int { return x.Seq - y.Seq })
		past := *b.State
		past.Readings, past.Problems = readings, nil
		past.Operations, past.Torques = nil, nil
		b.before[phase] = model.Assess(&past, assess.Options{})
	}
}

// findClosings finds when each space was closed last, as far as the journal tells.
func (b *builder) findClosings() {
	b.closed = map[[2]string]closing{}
	for _, o := range b.State.Operations {
		op := b.byOperation[o.OperationBody.Operation]
		if op == nil || o.State != journal.Done {
			continue
		}
		for _, s := range op.Closes {
			name := strings.TrimPrefix(s, "space.")
			for i := range b.Assessment.Spaces {
				sp := &b.Assessment.Spaces[i]
				if sp.Name == name && sp.Closed && (sp.Place == o.Place || sp.Place == "" || o.Place == "") {
					b.closed[[2]string{name, sp.Place}] = closing{o.At, who(o.Stamp), titled(op.Title, o.Place)}
				}
			}
		}
	}
}

func (b *builder) cover() {
	fields := &Fields{PerRow: 4}
	add := func(label, text string) {
		if text == "" {
			text = "–"
		}
		fields.List = append(fields.List, Field{label, text})
	}
	engine, owner, taken := "", "", ""
	if s := b.State.Job; s != nil {
		engine, owner, taken = s.EngineNumber, s.Owner, day(s.Opened.At)
	}
	presses := len(b.State.Torques)
	closed := ""
	if n := len(b.Seals); n > 0 {
		closed = day(b.Seals[0].At)
	}
	add("Job", strings.TrimPrefix(b.name(), "Job "))
	add("Engine number", engine)
	add("Owner", owner)
	add("Taken in", taken)
	add("Readings", fmt.Sprint(len(b.State.Readings)))
	add("Torque passes", fmt.Sprint(presses))
	add("Photos", fmt.Sprint(len(b.State.Photos)))
	add("Closed and signed", closed)
	drawing, says := b.section()
	b.d.add(&Cover{Shop: b.Shop, Title: "Build book", Sub: b.title(), Drawing: drawing, Says: says, Fields: fields, Signs: []string{"Built by", "Second person, or read again another day"}})
}

func (b *builder) heading(text, aside string) {
	b.d.add(&Heading{Level: 1, Text: text, Aside: aside})
}

// spaces tells what is closed, since when and by what.
func (b *builder) spaces() {
	if len(b.Assessment.Spaces) == 0 {
		return
	}
	t := &Table{Columns: []Column{{Head: "Space", Share: 26}, {Head: "Now", Share: 12}, {Head: "Closed", Share: 34}, {Head: "By", Share: 40}}}
	for _, s := range b.Assessment.Spaces {
		c := b.closed[[2]string{s.Name, s.Place}]
		state := Cell{Text: "Open"}
		if s.Closed {
			state = Cell{Text: "Closed", Bold: true, Ink: Blue}
		}
		row := Row{Cells: []Cell{{Text: titled(s.Title, s.Place)}, state, {Text: c.who}, {Text: c.by}}}
		if len(s.Unfinished) > 0 {
			row.Under = words.Unfinished(b.Pack, s)
		}
		t.Rows = append(t.Rows, row)
	}
	b.heading("What is closed", "")
	b.d.add(t)
}

func (b *builder) remarks() {
	s := b.State
	if len(s.Notes)+len(s.Links)+len(s.Approvals)+len(s.Extras) == 0 {
		return
	}
	b.heading("Notes, approvals and the job's own text", "")
	if len(s.Notes) > 0 {
		t := &Table{Columns: []Column{{Head: "When and who", Share: 30}, {Head: "Note", Share: 80}}}
		for _, n := range s.Notes {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: who(n.Stamp)}, {Text: n.Text}}})
		}
		b.d.add(&Heading{Level: 2, Text: "Notes"}, t)
	}
	if len(s.Approvals) > 0 {
		t := &Table{Columns: []Column{{Head: "When", Share: 30}, {Head: "What was approved", Share: 50}, {Head: "By", Share: 30}}}
		for _, a := range s.Approvals {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: who(a.Stamp)}, {Text: approvalSays(b.Pack, a.What)}, {Text: a.Who}}})
		}
		b.d.add(&Heading{Level: 2, Text: "Approvals"}, t)
	}
	if len(s.Links) > 0 {
		t := &Table{Columns: []Column{{Head: "When", Share: 30}, {Head: "Address", Share: 50}, {Head: "About", Share: 30}}}
		for _, l := range s.Links {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: who(l.Stamp)}, {Text: l.Address}, {Text: words.Named(b.Pack, l.Of)}}})
		}
		b.d.add(&Heading{Level: 2, Text: "Links"}, t)
	}
	for _, x := range s.Extras {
		b.d.add(&Heading{Level: 2, Text: "Pack text for this job only", Aside: who(x.Stamp)})
		if x.Why != "" {
			b.d.add(&Para{Text: "Why: " + x.Why})
		}
		b.d.add(&Para{Text: x.Text, Style: Small})
	}
}

func (b *builder) cautions() {
	b.heading("Cautions", "")
	b.d.add(&Para{Text: Caution, Style: Warning})
	if len(b.Pack.Cautions) == 0 {
		return
	}
	t := &Table{Columns: []Column{{Head: "About", Share: 30}, {Head: "Caution", Share: 80}}}
	for _, c := range b.Pack.Cautions {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: c.Title, Bold: true}, {Text: c.Text}}})
	}
	b.d.add(t)
}

// Caution stands on every sheet that tells somebody to do something.
const Caution = "This is a record and a computation; it certifies nothing. Check every figure in the engine maker's own manual. Where work can hurt someone the maker's manual, local codes and licensed practice go first."

func (b *builder) instruments() {
	if len(b.State.InstrumentOrder) == 0 {
		return
	}
	b.heading("Instruments and wrenches", "")
	t := &Table{Columns: []Column{{Head: "Name", Share: 16}, {Head: "What it is", Share: 34}, {Head: "Step", Share: 14}, {Head: "±", Share: 14}, {Head: "Range", Share: 22}, {Head: "Checked", Share: 16}}}
	for _, name := range b.State.InstrumentOrder {
		i := b.State.Instruments[name]
		span := ""
		if i.Min != "" || i.Max != "" {
			span = i.Min + " to " + i.Max
			if i.Unit != "" && !strings.HasSuffix(i.Max, i.Unit) {
				span += " " + i.Unit
			}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: name, Bold: true}, {Text: i.Class}, {Text: i.Step}, {Text: i.Uncertainty}, {Text: span}, {Text: i.Calibrated}}})
	}
	b.d.add(t)
}

// sources tells where every limit and torque comes from.
func (b *builder) sources() {
	b.heading("Where every limit comes from", "pack "+b.Pack.Name+", revision "+orDash(b.Pack.Revision))
	if b.Pack.Source != "" {
		b.d.add(&Para{Text: "The pack: " + b.Pack.Source})
	}
	b.d.add(&Para{Text: "SHA-256 of its text: " + b.Pack.SHA256, Style: Small})
	t := &Table{Small: true, Columns: []Column{{Head: "What", Share: 40}, {Head: "New, limit", Share: 40}, {Head: "Source", Share: 30}}}
	seen := map[string]bool{}
	for i := range b.Assessment.Results {
		r := &b.Assessment.Results[i]
		if !r.New.Bounded() && !r.Limit.Bounded() {
			continue
		}
		shown := words.ResultIn(r, b.Units)
		wanted := words.Wanted(shown)
		key := r.Title + "|" + wanted
		if seen[key] {
			continue // the same figure at another place
		}
		seen[key] = true
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: r.Title}, {Text: wanted}, {Text: sourceText(r.Source, r.Basis)}}})
	}
	for i := range b.Assessment.Joints {
		jt := &b.Assessment.Joints[i]
		if !jt.Torque.Bounded() || seen["joint."+jt.Name] {
			continue
		}
		seen["joint."+jt.Name] = true
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: jt.Title}, {Text: b.rangeBoth(jt.Torque, 0)}, {Text: sourceText(firstOf(jt.Joint.Sources, "torque", "target", "stages"), jt.Joint.Basis)}}})
	}
	b.d.add(t)
}

func sourceText(source, basis string) string {
	switch {
	case source == "" && basis == "":
		return "no source given"
	case source == "":
		return "basis: " + basis
	case basis == "":
		return source
	}
	return source + " (" + basis + ")"
}

func firstOf(m map[string]string, keys ...string) string {
	for _, k := range keys {
		if m[k] != "" {
			return m[k]
		}
	}
	return ""
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

// additions are pages of their own, each with its date: what came after the
// signature.
func (b *builder) additions() {
	for i, a := range b.State.Additions {
		b.heading(fmt.Sprintf("Addition %d, %s", i+1, day(a.At)), who(a.Stamp))
		b.d.add(&Para{Text: a.Text, Style: Lead})
		b.d.add(&Signs{List: []Sign{{a.By, "added " + stamp(a.At)}}})
	}
}

func (b *builder) seal() {
	b.heading("Signatures", "")
	head := hex.EncodeToString(b.Head[:])
	b.d.add(&Para{Text: fmt.Sprintf("The journal of this job has %d events. Each carries the hash of all before it; the chain ends in", b.State.Events)})
	b.d.add(&Para{Text: head, Style: Lead})
	b.d.add(&Para{Text: "Whoever changes, removes or puts in one event changes this hash. Who wrote an event is trusted text: anybody at the bench can write any name.", Style: Small})
	for _, s := range b.Seals {
		state := "holds"
		if s.Wrong != "" {
			state = "DOES NOT HOLD: " + s.Wrong
		}
		b.d.add(&Heading{Level: 2, Text: "Signed on closing, " + stamp(s.At), Aside: "Ed25519, " + state},
			&Table{Small: true, Columns: []Column{{Head: "", Share: 20}, {Head: "", Share: 90}}, Rows: []Row{
				{Cells: []Cell{{Text: "Events signed"}, {Text: fmt.Sprint(s.Events)}}},
				{Cells: []Cell{{Text: "Chain up to there"}, {Text: s.Head}}},
				{Cells: []Cell{{Text: "Pack text"}, {Text: s.PackSum}}},
				{Cells: []Cell{{Text: "Key"}, {Text: s.Key}}},
				{Cells: []Cell{{Text: "Signature"}, {Text: s.Signature}}},
			}})
	}
	if len(b.Seals) == 0 {
		b.d.add(&Para{Text: "The job is not closed, so nothing is signed yet.", Style: Warning})
	}
	b.d.add(&Para{Text: "buttonup verify tells whether this book, the job's bundle or the shop's record is whole, and if not, which event, photo or sheet is wrong. docs/sealing.md says how to check the signature with other programs.", Style: Small})
	b.d.add(&Para{Text: "This file is written as PDF/A-2u, not certified.", Style: Small, PaperOnly: true})
	b.d.add(&Signs{List: []Sign{{"", "built by, date"}, {"", "second person, or read again another day"}, {"", "owner, on collection"}}})
}

// FileID is the identifier of a PDF file of the job.
func (j *Job) FileID() []byte { return bytes.Clone(j.Head[:16]) }
