package assess

import (
	"math"
	"sort"
	"time"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
)

// Options are what an assessment depends on beside the pack and the journal.
type Options struct {
	// Now is the time, for waits and for what must follow in time. Without it
	// nothing is said about the clock.
	Now time.Time
	// Suppose replaces values without writing them down: "what if".
	Suppose []Supposition
	// FirstOrder takes the ± of every number to first order, also where samples are
	// wanted: for an answer that is drawn at once and is followed by the whole one.
	FirstOrder bool
}

// Supposition is something taken for granted: the value of a dimension, number or sweep,
// exact; with Size that size of the part in the slot Name; or the Choice of the option
// Name or of a part for the slot Name.
type Supposition struct {
	Name, Place  string
	Size, Choice string
	Value        quantity.Value
}

// Assess concludes what a journal shows against a pack. Job-local pieces of pack
// text in the journal are merged over the pack first; one with mistakes is set aside
// and reported.
func Assess(p *pack.Pack, s *journal.State, o Options) *Assessment {
	p, findings := WithExtras(p, s)
	a := Prepare(p).Assess(s, o)
	a.Findings = append(findings, a.Findings...)
	return a
}

// WithExtras merges the pieces of pack text that a journal holds over the pack. A
// piece with mistakes is set aside whole and reported.
func WithExtras(p *pack.Pack, s *journal.State) (*pack.Pack, []Finding) {
	var findings []Finding
	for _, x := range s.Extras {
		q, mistakes := p.Extend(pack.File{Name: "extra " + x.Event, Text: []byte(x.Text)})
		if len(mistakes) > 0 {
			f := Finding{Code: CodeExtraMistake, Severity: Attention, Of: "extra." + x.Event, Event: x.Event, Line: x.Line,
				Detail: mistakes[0].Span.String() + ": " + mistakes[0].Says, Do: mistakes[0].Do}
			findings = append(findings, f)
			continue
		}
		p = q
	}
	return p, findings
}

// run is one assessment under way.
type run struct {
	*Model
	state *journal.State
	opts  Options
	out   *Assessment

	unknowns measure.Unknowns
	gauges   map[string]*measure.Gauge
	// gaugeUnits says what kind of figures a registered instrument was given.
	gaugeUnits map[*measure.Gauge]quantity.Dimension
	room       measure.Room
	facts      *formula.Values
	values     *formula.Values
	forms      [][]measure.Term // what each input of the numbers graph owes
	choices    map[string]string
	fills      []fill // by slot instance
	answers    map[instance]*answer
	after      []bits // what each operation of this job needs, directly or through others
	// lastDisturbed is the seq of the last event that made readings stale.
	lastDisturbed int
	supposed      map[instance]float64
	// observed holds, for each dimension, the readings that count.
	observed []observed
	drivers  []Driver // of all results, one after the other
	// instrumentNames holds references to instruments.
	instrumentNames map[string]string
	// key and met are room for what spreadOf asks by.
	key []float64
	met []measure.Unknown
	// results by kind, as indices into out.Results.
	dimensionResult, numberResult, checkResult []int
	touchedBySupposition                       map[int32]bool
	// supposedFacts holds the suppositions about options and parts that were taken.
	supposedFacts map[formula.Input]bool
	expired       map[string]bool
	past          map[int]*Assessment
	// work is how far the work has come, as the journal tells it.
	work *replayed
}

// Assess concludes what a journal shows. The pieces of pack text in the journal are
// not looked at; see [WithExtras].
func (m *Model) Assess(s *journal.State, o Options) *Assessment {
	return (&run{Model: m, state: s, opts: o}).assess()
}

func (r *run) assess() *Assessment {
	s := r.state
	r.out = &Assessment{Pack: r.pack, Job: s.Job, Now: r.opts.Now, Events: s.Events, Chained: s.Chained}
	r.problems()
	r.measureAll()
	r.replay()
	r.judgeJoints()
	r.concludeClosings()
	r.concludePoint()
	r.judgeParts()
	r.settleDoubts()
	r.accept()
	r.gatherRepeats()
	sortLines(r.out.Findings)
	r.out.planning = &planning{run: r.forPlanning()}
	r.sizes.findings.Store(int64(len(r.out.Findings)))
	r.sizes.drivers.Store(int64(len(r.drivers)))
	return r.out
}

func (r *run) find(f Finding) { r.out.Findings = append(r.out.Findings, f) }

// problems reports what in the journal could not be used.
func (r *run) problems() {
	for _, p := range r.state.Problems {
		f := Finding{Code: p.Code, Severity: Attention, Line: p.Line, Event: p.Event, Detail: p.Detail}
		if p.Line > 0 {
			f.Of = lineReference(p.Line)
		}
		r.find(f)
	}
}

func lineReference(line int) string {
	const digits = "0123456789"
	if line < 10 {
		return "line " + digits[line:line+1]
	}
	return lineReference(line/10) + digits[line%10:line%10+1]
}

// broken reports an event whose content cannot be used, like a line that does not
// parse.
func (r *run) broken(s journal.Stamp, code, detail, do string) {
	f := Finding{Code: code, Severity: Attention, Line: s.Line, Event: s.Event, Detail: detail, Do: do}
	if s.Line > 0 {
		f.Of = lineReference(s.Line)
	} else {
		f.Of = "event " + s.Event
	}
	r.find(f)
}

// measureAll goes from facts through readings to numbers.
func (r *run) measureAll() {
	r.collectRoom()
	r.collectChoices()
	r.collectFills()
	r.supposeFacts()
	r.evaluateFacts()
	r.collectGauges()
	r.collectSupposed()
	groups := r.groupReadings()
	r.assembleSets(groups)
	r.evaluateNumbers()
	r.judgeChecks()
}

func (r *run) collectRoom() {
	r.room = r.pack.Room
	if r.state.Job == nil || r.state.Job.Room == "" {
		return
	}
	room, says, do := pack.ParseRoom(r.state.Job.Room)
	if says != "" {
		r.broken(r.state.Job.Stamp, journal.CodeBrokenLine, says, do)
		return
	}
	r.room = room
}

func (r *run) collectChoices() {
	r.choices = make(map[string]string, len(r.pack.Options))
	for _, o := range r.pack.Options {
		if o.Default != "" {
			r.choices[o.Name] = o.Default
		}
		rec, ok := r.state.Options[o.Name]
		if !ok {
			if o.Default == "" {
				r.find(Finding{Code: CodeOptionOpen, Severity: Note, Of: "option." + o.Name, Title: o.Title, Detail: o.Ask})
			}
			continue
		}
		known := false
		for _, c := range o.Choices {
			known = known || c == rec.Choice
		}
		if !known {
			r.broken(rec.Stamp, CodeUnknownName, quoted(rec.Choice)+" is no choice of "+o.Name, nearest(rec.Choice, o.Choices))
			continue
		}
		r.choices[o.Name] = rec.Choice
	}
	var names []string
	for name := range r.state.Options {
		if _, ok := r.options[name]; !ok {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		r.broken(r.state.Options[name].Stamp, CodeUnknownName, "the pack has no option called "+name, nearest(name, keys(r.options)))
	}
}

func quoted(s string) string { return `"` + s + `"` }

// nearest proposes a name that a misspelt one may have meant.
func nearest(word string, names []string) string {
	if n := formula.Nearest(word, names); n != "" {
		return "perhaps " + n + " is meant"
	}
	return ""
}

func keys[V any](m map[string]V) []string {
	list := make([]string, 0, len(m))
	for k := range m {
		list = append(list, k)
	}
	sort.Strings(list)
	return list
}

// evaluateFacts computes what depends on options and parts alone.
func (r *run) evaluateFacts() {
	r.facts = r.Model.facts.NewValues()
	r.fillFacts(r.Model.facts, r.facts)
	r.Model.facts.Evaluate(r.facts)
}

// fillFacts fills the inputs of a graph that come from options and parts.
func (r *run) fillFacts(g *formula.Graph, v *formula.Values) {
	for i, in := range g.Inputs {
		var x float64
		known := false
		switch in.Kind {
		case formula.OptionIs:
			var choice string
			choice, known = r.choices[in.Name]
			if choice == in.Detail {
				x = 1
			}
		case formula.OptionValue:
			o := r.options[in.Name]
			choice, ok := r.choices[in.Name]
			for k, c := range o.Choices {
				if ok && c == choice && o.Numeric {
					x, known = o.Values[k], true
				}
			}
		case formula.PartIs:
			if f := r.fillOf(in.Name, in.Place); f != nil && f.part != "" {
				known = true
				if f.part == in.Detail {
					x = 1
				}
			}
		case formula.Size:
			if f := r.fillOf(in.Name, in.Place); f != nil {
				x, known = f.size(in.Detail)
			}
		case formula.Given:
			x, known = in.Number, true
		case formula.Model:
			x, known = 0, true
		default:
			continue
		}
		if known {
			v.Input[i], v.InputStatus[i] = x, formula.Known
		}
	}
}

// stands reports whether a block is part of this job: its `when` is true or not
// there. What cannot be decided yet stands.
func (r *run) stands(when formula.NodeID) bool {
	if when == never {
		return true
	}
	x, status := r.facts.Of(when)
	return status != formula.Known || x != 0
}

// rangeOf returns the range of a setting as it stands for this job; false where it
// needs something that is not known yet, with what that is.
func (r *run) rangeOf(s *setting) (quantity.Range, []string) {
	if !s.there || s.expr == nil {
		return s.constant, nil
	}
	low, ls := r.facts.Of(s.low)
	high, hs := r.facts.Of(s.high)
	if ls == formula.Known && hs == formula.Known {
		return s.expr.Range(low, high), nil
	}
	var missing []string
	for _, id := range []formula.NodeID{s.low, s.high} {
		inputs, _ := r.Model.facts.Why(id, r.facts)
		for _, i := range inputs {
			name := r.Model.facts.Inputs[i].Reference()
			if !contains(missing, name) {
				missing = append(missing, name)
			}
		}
	}
	if len(missing) == 0 {
		missing = []string{"limit"} // it divides by zero, or the like: there is none
	}
	return quantity.Range{}, missing
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// collectGauges makes the instruments of the job ready.
func (r *run) collectGauges() {
	r.gauges = make(map[string]*measure.Gauge, len(r.state.Instruments))
	r.gaugeUnits = make(map[*measure.Gauge]quantity.Dimension, len(r.state.Instruments))
	for _, name := range r.state.InstrumentOrder {
		rec := r.state.Instruments[name]
		g := &measure.Gauge{Name: name, Class: rec.Class, Scale: measure.Steel}
		if c := r.gaugeClasses[rec.Class]; c != nil {
			*g = classGauge(c)
			g.Name = name
		}
		r.readGauge(g, rec)
		r.gauges[name] = g
	}
}

func classGauge(c *pack.Instrument) measure.Gauge {
	return measure.Gauge{Name: c.Name, Class: c.Name, Step: c.Step, Uncertainty: c.Uncertainty, Relative: c.Relative, Shared: c.Shared, Scale: c.Scale, Known: c.Known}
}

// whatIsWrong splits an error about a quantity into what is wrong and what to do.
func whatIsWrong(err error) (says, do string) {
	if pe, ok := err.(*quantity.ParseError); ok {
		return pe.Says, pe.Do
	}
	return err.Error(), ""
}

func (r *run) readGauge(g *measure.Gauge, rec journal.InstrumentRecord) {
	bad := func(field string, err error) {
		says, do := whatIsWrong(err)
		r.broken(rec.Stamp, journal.CodeBrokenLine, field+" of instrument "+rec.Name+": "+says, do)
	}
	if rec.Step != "" {
		if q, err := quantity.Parse(rec.Step); err != nil {
			bad("the step", err)
		} else {
			g.Step = math.Abs(q.SI)
			r.gaugeUnits[g] = q.Dimension.Difference()
		}
	}
	if rec.Uncertainty != "" {
		text := rec.Uncertainty
		for _, sign := range []string{"±", "+-", "+/-"} {
			if len(text) > len(sign) && text[:len(sign)] == sign {
				text = text[len(sign):]
			}
		}
		q, err := quantity.Parse(text)
		switch {
		case err != nil:
			bad("the uncertainty", err)
		case q.Unit.Symbol == "%":
			g.Relative, g.Uncertainty, g.Known = math.Abs(q.SI), 0, true
		default:
			g.Uncertainty, g.Relative, g.Known = math.Abs(q.SI), 0, true
			r.gaugeUnits[g] = q.Dimension.Difference()
		}
	}
	if rec.Scale != "" {
		if a, ok := r.metal(rec.Scale); ok {
			g.Scale = a
		} else {
			r.broken(rec.Stamp, CodeUnknownName, "nothing is known of the metal "+quoted(rec.Scale), "")
		}
	}
	g.Shared = math.Min(g.Shared, math.Max(g.Uncertainty, g.Shared*truth(g.Relative > 0)))
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (r *run) metal(name string) (quantity.Expansion, bool) {
	for _, m := range r.pack.Metals {
		if m.Name == name {
			return m.Expansion, true
		}
	}
	m, ok := measure.FindMetal(name)
	return m.Expansion, ok
}
