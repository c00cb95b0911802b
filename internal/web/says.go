package web

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// htmxConfig keeps htmx within the policy: no style of its own, nothing evaluated, no
// other host, and answers that are errors go to the place for them.
const htmxConfig = `{"includeIndicatorStyles":false,"allowEval":false,"allowScriptTags":false,"selfRequestsOnly":true,"historyCacheSize":0,` +
	`"responseHandling":[{"code":"204","swap":false},{"code":"[23]..","swap":true},{"code":"(409|422)","swap":true},` +
	`{"code":"[45]..","swap":true,"error":true,"target":"#trouble","select":"#says","swapOverride":"innerHTML"}]}`

// phases are the sets that a reading may begin.
var phases = []string{"as-found", "as-machined", "as-built"}

func titled(v view, title string) view {
	v.Title = title
	return v
}

func pageTitle(v view) string {
	title := v.Title + " · Buttonup"
	if v.Sheet != nil && v.At != "bench" {
		title = v.Title + " · " + v.Sheet.Job.ID + " · Buttonup"
	}
	return title
}

// shortTitle is the title of a job without the shop's name before it.
func shortTitle(s *sheet) string {
	title := s.title()
	if _, after, ok := strings.Cut(title, ": "); ok && len(after) > 8 {
		return after
	}
	return title
}

func jobFacts(s *sheet) string {
	var facts []string
	if n := s.number(); n != "" {
		facts = append(facts, "engine "+n)
	}
	facts = append(facts, words.Count(s.A.Events, "entry", "entries"))
	if !s.State.Last.IsZero() {
		facts = append(facts, "the last "+words.Clock(s.State.Last))
	}
	return words.Upper(strings.Join(facts, ", "))
}

// readPath is where a dimension is read; flats are tapped until they are all there, not typed.
func readPath(s *sheet, r *assess.Result) string {
	if !r.HasValue && isFlats(s.dimension(r.Name)) {
		return flatsPath(s, r)
	}
	return query(jobPath(s.Job.ID, "read", r.Name), "place", r.Place)
}

func readFacts(s *sheet, r *assess.Result) string {
	d := s.dimension(r.Name)
	if d == nil {
		return ""
	}
	n := d.Plan.Cells() * d.Plan.Times()
	var facts []string
	if r.HasValue {
		facts = append(facts, words.Shown(r))
	}
	if r.Readings < n {
		facts = append(facts, fmt.Sprintf("%d of %s", r.Readings, words.Count(n, "reading", "readings")))
	}
	if d.With != "" {
		facts = append(facts, d.With)
	}
	return strings.Join(facts, ", ")
}

func findingGlyph(f *assess.Finding) (glyph, ink string) {
	switch {
	case f.Severity == assess.Stop && f.Code == assess.CodeOutOfLimits:
		return "worn", "worn"
	case f.Severity == assess.Stop:
		return "block", "worn"
	case f.Severity == assess.Attention:
		return "close", "unsure"
	}
	return "none", "mute"
}

// because joins what a finding rests on; for a value it is what the ± comes from.
func because(p *pack.Pack, f *assess.Finding, s words.Sentence) string {
	if f.Result != nil && (f.Code == assess.CodeOutOfLimits || f.Code == assess.CodeTooClose) {
		return "± from " + words.DrivenBy(p, f.Result)
	}
	if f.Code == assess.CodePartMisfit {
		return "" // the sentence says it already
	}
	return strings.Join(s.Because, ", ")
}

func entryTitle(e *entryView) string {
	label := e.Slots[e.At].Label
	if label == "" {
		return e.Title
	}
	return e.D.Title + ": " + strings.Join(strings.Fields(label), " ")
}

func entryFacts(e *entryView) string {
	filled := 0
	for i := range e.Slots {
		if e.Slots[i].Filled {
			filled++
		}
	}
	says := fmt.Sprintf("%d of %d read", filled, len(e.Slots))
	if len(e.Slots) > 1 {
		says = fmt.Sprintf("reading %d of %d, %d read", e.At+1, len(e.Slots), filled)
	}
	if e.Place != "" {
		says = e.Place + ", " + says
	}
	return words.Upper(says)
}

// isGrid says whether the cells are drawn as rows and columns.
func isGrid(e *entryView) bool {
	return e.D.Plan.Times() == 1 && len(e.D.Plan.Axes) >= 2 && len(e.D.Plan.Axes) <= 3 && len(e.D.Plan.Positions) >= 2
}

// isBarrel says whether the cells lie at heights of a bore.
func isBarrel(e *entryView) bool {
	if !isGrid(e) || len(e.D.Plan.Axes) != 2 || e.D.With != "bore gauge" {
		return false
	}
	for _, p := range e.D.Plan.Positions {
		if q, err := quantity.Parse(p); err != nil || q.Dimension != quantity.OfLength {
			return false
		}
	}
	return true
}

func slotName(e *entryView, sl *slot) string {
	if isGrid(e) {
		return sl.Position
	}
	return sl.Label
}

func current(is bool) string {
	if is {
		return "true"
	}
	return "false"
}

// cellResult is a cell as a result, for its word.
func cellResult(e *entryView, sl *slot) *assess.Result {
	r := *e.Result
	r.Judgement = sl.Of.Judgement
	return &r
}

// shownResult is what the bar shows: the lit cell where it has a verdict of its own,
// else the set.
func shownResult(e *entryView) *assess.Result {
	if e.Cell != nil && e.Cell.Verdict > measure.NotMeasured {
		return e.Cell
	}
	return e.Result
}

func setSays(e *entryView) string {
	if len(e.Result.Missing) > 0 {
		return "The set so far"
	}
	return "The whole set"
}

func noticeOf(ink string) string {
	if ink == "mute" {
		return "n-mute"
	}
	return "n-" + ink
}

func enterSays(e *entryView) string {
	next := -1
	for i := 1; i < len(e.Slots); i++ {
		if k := (e.At + i) % len(e.Slots); !e.Slots[k].Filled {
			next = k
			break
		}
	}
	switch {
	case next >= 0:
		return "Enter keeps it, then " + e.Slots[next].Label
	case e.Slots[e.At].Filled && len(e.Slots) > 1:
		return "Read. Enter keeps a new reading for this cell"
	case e.Slots[e.At].Filled:
		return "Read. Enter keeps a new reading"
	}
	return "Enter keeps it: the last one"
}

func keepSays(e *entryView) string {
	for i := 1; i < len(e.Slots); i++ {
		if k := (e.At + i) % len(e.Slots); !e.Slots[k].Filled {
			return "Keep, go to " + e.Slots[k].Label
		}
	}
	if e.Slots[e.At].Filled {
		return "Keep"
	}
	return "Keep it"
}

// keptFacts says where and with what a reading was taken.
func keptFacts(k kept) string {
	var facts []string
	if where := measure.CellText(k.Cell.Position, k.Cell.Axis, k.Cell.N); where != "" {
		facts = append(facts, where)
	}
	if k.Instrument != "" {
		facts = append(facts, k.Instrument)
	}
	if k.Temperature != "" {
		facts = append(facts, words.Temperature(k.Temperature))
	}
	if k.Phase != "" {
		facts = append(facts, words.Phase(k.Phase))
	}
	if k.Note != "" {
		facts = append(facts, k.Note)
	}
	// Two devices may have read the same cell; both stand here.
	if k.By != "" && k.By != by {
		facts = append(facts, "by "+k.By)
	}
	return strings.Join(facts, ", ")
}

func driverGlyph(name string) string {
	switch name {
	case "gauge", "step", "repeats":
		return "mic"
	case "temperature":
		return "temp"
	}
	return "gasket"
}

// placeholder reminds of what the lit cell holds.
func placeholder(e *entryView) string {
	if v := e.Slots[e.At].Value; v != "" {
		return "now " + v
	}
	return ""
}

func plusMinus(r *assess.Result) string {
	_, u, unit := words.Parts(r)
	return strings.TrimSpace(u + " " + unit)
}
