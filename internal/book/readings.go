package book

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/words"
)

// cellText names the cell of a reading.
func cellText(c journal.Cell) string {
	var parts []string
	for _, s := range []string{c.Position, c.Axis} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if c.N > 0 {
		parts = append(parts, fmt.Sprintf("no. %d", c.N))
	}
	return strings.Join(parts, " ")
}

// readLines prints the readings of a set: each with its cell, and who read them with
// what and when, said once where it is the same for all.
func (b *builder) readLines(set []journal.ReadingRecord) string {
	var runs, cells []string
	tail := func(r *journal.ReadingRecord) string {
		var parts []string
		for _, s := range []string{r.Instrument, words.Temperature(r.Temperature), b.when(r.Stamp), r.Note} {
			if s != "" {
				parts = append(parts, s)
			}
		}
		return strings.Join(parts, ", ")
	}
	for i := range set {
		r := &set[i]
		cells = append(cells, strings.TrimSpace(cellText(r.Cell)+" "+r.Value))
		if i+1 == len(set) || tail(&set[i+1]) != tail(r) {
			runs = append(runs, "Read "+strings.Join(cells, "; ")+" ("+tail(r)+").")
			cells = nil
		}
	}
	return strings.Join(runs, " ")
}

// readings tell every result with its bar and its verdict, and every reading under it.
func (b *builder) readings() {
	kinds := []struct{ kind, title string }{{"dimension", "What was read"}, {"number", "What follows from it"}, {"check", "What was looked at"}}
	for _, k := range kinds {
		t := &Table{Columns: []Column{{Head: "What", Share: 45}, {Head: "Value", Share: 31, Right: true}, {Head: "New, limit", Share: 42}, {Head: "Where it lies", Share: 19}, {Head: "Verdict", Share: 26}}}
		others := &Table{Small: true, Columns: []Column{{Head: "What", Share: 60}, {Head: "Value", Share: 36, Right: true}, {Head: "", Share: 36, Right: true}}}
		list := b.Assessment.Results
		for i := range list {
			r := &list[i]
			if r.Kind != k.kind && !(k.kind == "number" && r.Kind == "sweep") {
				continue
			}
			if k.kind == "check" {
				b.checkRows(t, r)
				continue
			}
			if k.kind == "number" && !r.New.Bounded() && !r.Limit.Bounded() {
				if r.HasValue {
					first, second := b.both(r)
					others.Rows = append(others.Rows, Row{Cells: []Cell{{Text: titled(r.Title, r.Place)}, {Text: first, Bold: true}, {Text: second}}})
				}
				continue
			}
			name := titled(r.Title, r.Place)
			if i > 0 && list[i-1].Kind == r.Kind && list[i-1].Name == r.Name && r.Place != "" && len(t.Rows) > 0 {
				name = "– " + r.Place // the title stands above
			}
			b.resultRows(t, r, name)
		}
		if len(t.Rows) == 0 {
			continue
		}
		if k.kind == "check" {
			t.Columns = []Column{{Head: "What", Share: 70}, {Head: "Seen", Share: 40}, {Head: "When and who", Share: 26}, {Head: "", Share: 20}}
		}
		b.heading(k.title, "")
		switch k.kind {
		case "dimension":
			b.d.add(&Para{Text: "± is that of gauge, step and temperature together, k = 2 (about 95 in 100). Values are at 20 °C; what was typed stands below each. The bar: new is high, serviceable lower, past the limit flat; the post is the limit, the hatching as wide as the ±, the pointer the value with its ±.", Style: Small})
		case "number":
			b.d.add(&Para{Text: "Computed from the readings with the formulas of the pack; what a ± comes from is named below.", Style: Small})
		}
		b.d.add(t)
		if len(others.Rows) > 0 {
			b.d.add(&Heading{Level: 2, Text: "Figures that nothing is held against"}, others)
		}
	}
	b.unused()
}

// resultRows adds the rows of one result: each older phase, then the current one. name
// is what the first cell says.
func (b *builder) resultRows(t *Table, r *assess.Result, name string) {
	set := b.sets[[2]string{r.Name, r.Place}]
	current, history := journal.CurrentPhase(set)
	if r.Kind == "dimension" && len(set) == 0 && r.Verdict == measure.NotMeasured {
		return // the summary tells what was never read
	}
	if r.Kind != "dimension" && !r.HasValue {
		return
	}
	if r.Kind == "dimension" {
		for _, h := range history {
			phase := words.Phase(orElse(h[0].Phase, "first set"))
			row := Row{Cells: []Cell{{}, {}, {}, {}, {}}}
			if old := resultOf(b.before[h[0].Phase], r); old != nil {
				row = b.resultRow(old)
			}
			row.Cells[0].Text = name + ", " + phase
			row.Under = strings.TrimSpace(row.Under + " " + b.readLines(h))
			t.Rows = append(t.Rows, row)
		}
	}
	row := b.resultRow(r)
	row.Cells[0].Text = name
	under := []string{row.Under}
	if len(current) > 0 {
		if current[0].Phase != "" {
			row.Cells[0].Text += ", " + words.Phase(current[0].Phase)
		}
		under = append(under, b.readLines(current))
	}
	if r.Kind != "dimension" && len(r.Drivers) > 0 {
		under = append(under, "± from "+words.DrivenBy(b.Pack, r)+".")
	}
	if r.Late && r.Kind != "dimension" {
		under = append(under, "Something of it was entered later.")
	}
	row.Under = strings.TrimSpace(strings.Join(under, " "))
	t.Rows = append(t.Rows, row)
}

func resultOf(a *assess.Assessment, r *assess.Result) *assess.Result {
	if a == nil {
		return nil
	}
	for i := range a.Results {
		if o := &a.Results[i]; o.Kind == r.Kind && o.Name == r.Name && o.Place == r.Place {
			return o
		}
	}
	return nil
}

// resultRow is a row of the readings: the other system stands below it.
func (b *builder) resultRow(r *assess.Result) Row {
	first, second := b.both(r)
	one, two := words.ResultIn(r, b.Units), words.ResultIn(r, b.other())
	wanted, also := words.Wanted(one), words.Wanted(two)
	row := Row{Cells: []Cell{{}, {Text: first, Bold: true}, {Text: wanted}, {Bar: limitBar(one)}, verdictCell(r)}}
	switch {
	case second != "" && also != wanted && also != "":
		row.Under = second + " (" + also + ")."
	case second != "":
		row.Under = second + "."
	}
	return row
}

func (b *builder) checkRows(t *Table, r *assess.Result) {
	for i := range b.State.Checks {
		c := &b.State.Checks[i]
		if c.Of != r.Name || c.Place != r.Place {
			continue
		}
		newest := true
		for k := i + 1; k < len(b.State.Checks); k++ {
			if o := &b.State.Checks[k]; o.Of == c.Of && o.Place == c.Place {
				newest = false
			}
		}
		verdict := Cell{Text: "earlier", Ink: Grey}
		if newest {
			verdict = verdictCell(r)
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: titled(r.Title, r.Place)}, {Text: c.Answer, Second: c.Note, Bold: true}, {Text: b.when(c.Stamp)}, verdict}})
	}
}

// unused lists readings that the pack has no place for: they are in the journal, so
// they are in the book.
func (b *builder) unused() {
	known := map[[2]string]bool{}
	for i := range b.Assessment.Results {
		r := &b.Assessment.Results[i]
		known[[2]string{r.Name, r.Place}] = true
	}
	t := &Table{Columns: []Column{{Head: "Of", Share: 40}, {Head: "Reading", Share: 30}, {Head: "When and who", Share: 40}}}
	for _, r := range b.State.Readings {
		if !known[[2]string{r.Of, r.Place}] {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: strings.TrimSpace(r.Of + " " + r.Place + " " + cellText(r.Cell))}, {Text: r.Value}, {Text: who(r.Stamp)}}})
		}
	}
	if len(t.Rows) > 0 {
		b.d.add(&Heading{Level: 2, Text: "Readings that the pack has no place for"}, t)
	}
}

// struck shows what was taken back, struck through, with the reason.
func (b *builder) struck() {
	if len(b.State.Struck) == 0 {
		return
	}
	b.heading("Struck", "nothing is rubbed out")
	t := &Table{Columns: []Column{{Head: "What was written", Share: 62}, {Head: "When and who", Share: 40}}}
	for i := range b.State.Struck {
		s := &b.State.Struck[i]
		why := s.Why
		if why == "" {
			why = "no reason given"
		}
		t.Rows = append(t.Rows, Row{Struck: true, Cells: []Cell{{Text: b.eventText(s.Body)}, {Text: who(s.Stamp)}}, Under: "Struck " + who(s.Strike) + ": " + why})
	}
	b.d.add(t)
}

// eventText says in a line what an event wrote.
func (b *builder) eventText(body any) string {
	name := func(reference, place string) string { return titled(words.Named(b.Pack, reference), place) }
	switch e := body.(type) {
	case journal.Reading:
		return strings.TrimSpace(name("dimension."+e.Of, e.Place)+" "+cellText(e.Cell)) + ": " + b.inBoth(e.Value)
	case journal.Check:
		return name("check."+e.Of, e.Place) + ": " + e.Answer
	case journal.Operation:
		return name("operation."+e.Operation, e.Place) + ": " + e.State
	case journal.Torque:
		return name("joint."+e.Joint, e.Place) + ", stage " + fmt.Sprint(e.Stage) + ": " + b.inBoth(e.Value)
	case journal.Part:
		return name("slot."+e.Slot, e.Place) + ": " + e.Part + " " + e.State
	case journal.Note:
		return e.Text
	case journal.Deviation:
		return "accepted " + e.Finding + ": " + e.Why
	case journal.Strike:
		return "a strike of event " + e.Event
	case journal.Photo:
		return "photo of " + words.Named(b.Pack, e.Of)
	case journal.Addition:
		return e.Text
	}
	kind := fmt.Sprintf("%T", body)
	return strings.ToLower(kind[strings.LastIndex(kind, ".")+1:])
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

// rank orders verdicts from good to bad.
func rank(r *assess.Result) int {
	switch r.Verdict {
	case measure.OutOfLimits:
		return 4
	case measure.TooClose:
		return 3
	case measure.NotMeasured:
		return 2
	case measure.Serviceable:
		return 1
	}
	return 0
}

// verdictLine says in one sentence how the job stands.
func (b *builder) verdictLine() {
	stops, open := 0, 0
	for i := range b.Assessment.Findings {
		f := &b.Assessment.Findings[i]
		if f.Accepted == nil && f.Severity == assess.Stop {
			stops++
		}
	}
	for i := range b.Assessment.Results {
		if b.Assessment.Results[i].Verdict == measure.NotMeasured && b.Assessment.Results[i].Kind != "check" {
			open++
		}
	}
	says := "Nothing stops the job."
	if stops > 0 {
		says = words.Count(stops, "finding stops the job", "findings stop the job") + "; they stand under Deviations and what is open."
	}
	if open > 0 {
		says += " " + words.Upper(words.Count(open, "value is", "values are")) + " not measured."
	}
	if n := len(b.State.Deviations); n > 0 {
		says += " " + words.Count(n, "deviation was", "deviations were") + " accepted with a reason."
	}
	b.d.add(&Para{Text: says, Style: Lead})
}
