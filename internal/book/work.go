package book

import (
	"fmt"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// joints tell every pass of every joint, with the wrench.
func (b *builder) joints() {
	list := b.tightened()
	if len(list) == 0 {
		return
	}
	b.heading("Joints", "")
	t := &Table{Columns: []Column{{Head: "Pass", Share: 40}, {Head: "Torque", Share: 40}, {Head: "Wrench", Share: 22}, {Head: "When and who", Share: 44}}}
	for _, jt := range list {
		t.Rows = append(t.Rows, Row{Group: titled(jt.Title, jt.Place)})
		facts := jointFacts(jt.Joint)
		for i := range jt.passes {
			p := &jt.passes[i]
			row := Row{Cells: []Cell{{Text: passText(p)}, {Text: b.inBoth(orDash(p.Value)), Bold: true}, {Text: orDash(p.Wrench)}, {Text: b.when(p.Stamp)}}}
			if i == 0 {
				row.Under = facts
			}
			t.Rows = append(t.Rows, row)
		}
	}
	b.d.add(t)
	var never []Item
	for i := range b.Assessment.Joints {
		jt := &b.Assessment.Joints[i]
		if jt.State == "loose" {
			never = append(never, Item{"", titled(jt.Title, jt.Place)})
		}
	}
	if len(never) > 0 {
		b.d.add(&Heading{Level: 2, Text: "No pass recorded"}, &List{Items: never})
	}
}

func passText(p *journal.TorqueRecord) string {
	text := "all points"
	if p.Point > 0 {
		text = fmt.Sprintf("point %d", p.Point)
	} else if !p.All {
		text = "point not stated"
	}
	if p.Stage > 0 {
		text = fmt.Sprintf("stage %d, ", p.Stage) + text
	}
	return text
}

// jointFacts says what is screwed together and how it is to be done.
func jointFacts(j *assess.Joint) string {
	p := j.Joint
	var parts []string
	count := max(j.Points, 1)
	if p.Thread != "" {
		parts = append(parts, fmt.Sprintf("%d × %s", count, p.Thread))
	}
	if p.IsLH {
		parts = append(parts, "left-hand thread")
	}
	for _, s := range []struct{ label, text string }{{"grade ", p.Grade}, {"in ", p.Into}, {"on the threads: ", p.State}, {"figure is for: ", p.TorqueFor}} {
		if s.text != "" {
			parts = append(parts, s.label+s.text)
		}
	}
	if j.Torque.Bounded() {
		parts = append(parts, "torque "+rangeBothOf(j.Torque))
	}
	if stages := stageTexts(j); len(stages) > 1 {
		parts = append(parts, "stages "+strings.Join(stages, ", "))
	}
	if p.SingleUse {
		parts = append(parts, "fasteners for one use")
	}
	if p.Retorque != "" {
		parts = append(parts, "re-torque "+p.Retorque)
	}
	return strings.Join(parts, "; ")
}

func rangeBothOf(x quantity.Range) string {
	first := rangeText(x)
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		u, d := words.UnitIn(x.Unit, max(x.Decimals, 0), s)
		if u.Symbol == x.Unit.Symbol {
			continue
		}
		if u.Symbol == "ft-lb" && u.In(x.High) < 20 && x.HasHigh {
			u, d = quantity.MustUnit("in-lb"), 0
		}
		y := x
		y.Unit, y.Decimals = u, max(d, 0)
		return first + " (" + rangeText(y) + ")"
	}
	return first
}

func stageTexts(j *assess.Joint) []string {
	var out []string
	for i, s := range j.Stages {
		text := ""
		if s != 0 {
			d := max(j.Torque.Decimals, 0)
			if x := j.Unit.In(s); x != float64(int(x+0.5)) && d == 0 {
				d = 1
			}
			text = unitText(s, j.Unit, d)
		}
		if i < len(j.Joint.Steps) {
			st := j.Joint.Steps[i]
			if st.Angle != 0 {
				text = strings.TrimSpace(text + " then " + quantity.MustUnit("deg").Text(st.Angle, 0))
			}
			if st.BackOff {
				text = strings.TrimSpace("back off " + text)
			}
			if st.Say != "" {
				text = strings.TrimSpace(st.Say + " " + text)
			}
		}
		out = append(out, text)
	}
	return out
}

// operations list the work in the order in which it was written down.
func (b *builder) operations() {
	if len(b.State.Operations) == 0 {
		return
	}
	b.heading("Work", "")
	t := &Table{Columns: []Column{{Head: "Operation", Share: 62}, {Head: "", Share: 16}, {Head: "When and who", Share: 42}}}
	for _, o := range b.State.Operations {
		name := o.OperationBody.Operation
		title := titled(name, o.Place)
		var under []string
		if op := b.byOperation[name]; op != nil {
			title = titled(op.Title, o.Place)
			if o.State == journal.Done {
				if len(op.Closes) > 0 {
					under = append(under, "Closed "+b.spaceTitles(op.Closes))
				}
				if len(op.Uses) > 0 {
					under = append(under, "With "+strings.Join(op.Uses, ", "))
				}
			}
		}
		if o.Note != "" {
			under = append(under, o.Note)
		}
		state := Cell{Text: "Done", Sign: "done", Ink: Blue}
		if o.State != journal.Done {
			state = Cell{Text: "Taken back", Bold: true}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: title}, state, {Text: b.when(o.Stamp)}}, Under: strings.Join(under, ". ")})
	}
	b.d.add(t)
	if len(b.State.Waits) > 0 {
		w := &Table{Columns: []Column{{Head: "Wait after", Share: 62}, {Head: "", Share: 16}, {Head: "When and who", Share: 42}}}
		for _, x := range b.State.Waits {
			title := words.Named(b.Pack, "operation."+x.Wait.Operation)
			w.Rows = append(w.Rows, Row{Cells: []Cell{{Text: titled(title, x.Place)}, {Text: words.Upper(x.State)}, {Text: b.when(x.Stamp)}}})
		}
		b.d.add(&Heading{Level: 2, Text: "Waits"}, w)
	}
	b.times()
}

func (b *builder) times() {
	if len(b.State.Times) == 0 {
		return
	}
	t := &Table{Columns: []Column{{Head: "Time worked on", Share: 62}, {Head: "", Share: 16, Right: true}, {Head: "When and who", Share: 42}}}
	for _, x := range b.State.Times {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: words.Named(b.Pack, "operation."+x.Operation)}, {Text: words.Duration(x.Minutes * 60)}, {Text: b.when(x.Stamp)}}})
	}
	b.d.add(&Heading{Level: 2, Text: "Time"}, t)
}

func (b *builder) spaceTitles(refs []string) string {
	var out []string
	for _, r := range refs {
		out = append(out, words.Named(b.Pack, reference("space", r)))
	}
	return strings.Join(out, ", ")
}

// holds tell of each hold point what was held and what of it was not simply right.
func (b *builder) holds() {
	t := &Table{Columns: []Column{{Head: "Before", Share: 74}, {Head: "Held", Share: 40}, {Head: "Passed", Share: 34}}}
	results := map[string][]*assess.Result{}
	for i := range b.Assessment.Results {
		r := &b.Assessment.Results[i]
		results[r.Kind+"."+r.Name] = append(results[r.Kind+"."+r.Name], r)
	}
	accepted := map[string]string{}
	for i := range b.Assessment.Findings {
		if f := &b.Assessment.Findings[i]; f.Accepted != nil {
			accepted[f.Of+" "+f.Place] = f.Accepted.Why
		}
	}
	for _, op := range b.Pack.Operations {
		when, done := b.doneAt(op)
		if len(op.Holds) == 0 || !done {
			continue
		}
		held, bad := 0, []string{}
		for _, h := range op.Holds {
			for _, r := range results[h.String()] {
				held++
				good := r.Passed || r.Kind != "check" && r.HasValue && (r.Verdict == measure.NewFit || r.Verdict == measure.Serviceable || r.Verdict == measure.None)
				why := accepted[r.Reference()+" "+r.Place]
				if good && why == "" {
					continue
				}
				text := titled(r.Title, r.Place) + ": " + verdictWord(r)
				if why != "" {
					text += ", accepted: " + why
				}
				bad = append(bad, text)
			}
		}
		if held == 0 {
			continue
		}
		state := Cell{Text: words.Count(held, "thing, right", "things, all right"), Sign: "new", Ink: Good}
		if len(bad) > 0 {
			state = Cell{Text: fmt.Sprintf("%d of %d not simply right", len(bad), held), Sign: "hold", Ink: Used}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: op.Title}, state, {Text: when}}, Under: strings.Join(bad, ". ")})
	}
	if len(t.Rows) == 0 {
		return
	}
	b.heading("Hold points", "what had to be right before going on, as it stands now")
	b.d.add(t)
}

// doneAt tells when an operation was done last, at any place.
func (b *builder) doneAt(op *pack.Operation) (string, bool) {
	for i := len(b.State.Operations) - 1; i >= 0; i-- {
		if o := &b.State.Operations[i]; o.OperationBody.Operation == op.Name && o.State == journal.Done {
			return b.when(o.Stamp), true
		}
	}
	return "", false
}

// findingTitle names what a finding was about that does not stand any more: its thing, and
// its code as people read it.
func (b *builder) findingTitle(id string) string {
	code, of, ok := strings.Cut(id, " ")
	if !ok {
		return id
	}
	_, kind, _ := strings.Cut(code, ".")
	return words.Named(b.Pack, of) + ": " + strings.ReplaceAll(kind, "-", " ")
}

// deviations tell what was accepted and why, and what is open.
func (b *builder) deviations() {
	t := &Table{Columns: []Column{{Head: "Accepted", Share: 60}, {Head: "Reason", Share: 60}, {Head: "When and who", Share: 34}}}
	for _, d := range b.State.Deviations {
		says := b.findingTitle(d.Finding)
		for i := range b.Assessment.Findings {
			if f := &b.Assessment.Findings[i]; f.ID() == d.Finding {
				says = words.FindingIn(b.Pack, f, b.Units).Says
			}
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: says}, {Text: d.Why, Bold: true}, {Text: who(d.Stamp)}}})
	}
	open := &Table{Columns: []Column{{Head: "Open", Share: 80}, {Head: "What to do", Share: 60}}}
	unread := 0
	for i := range b.Assessment.Findings {
		f := &b.Assessment.Findings[i]
		if f.Accepted != nil {
			continue
		}
		if f.Severity == assess.Note {
			if f.Code == assess.CodeNotMeasured || f.Code == assess.CodeCheckOpen {
				unread++
			}
			continue
		}
		s := words.FindingIn(b.Pack, f, b.Units)
		open.Rows = append(open.Rows, Row{Cells: []Cell{{Text: words.Upper(s.Says)}, {Text: words.Upper(s.Do)}}})
	}
	if len(t.Rows)+len(open.Rows)+unread == 0 {
		return
	}
	b.heading("Deviations and what is open", "")
	if len(t.Rows) > 0 {
		b.d.add(t)
	}
	if len(open.Rows) > 0 {
		b.d.add(&Heading{Level: 2, Text: "Open"}, open)
	}
	if unread > 0 {
		b.d.add(&Para{Text: words.Upper(words.Count(unread, "value or check of the pack was", "values and checks of the pack were")) + " not read or looked at in this job."})
	}
}

// photos are those of what was closed first, then the others, in their order.
func (b *builder) photos() {
	if len(b.State.Photos) == 0 {
		return
	}
	b.heading("Photos", words.Count(len(b.State.Photos), "photo", "photos"))
	p := &Photos{}
	for i, x := range b.State.Photos {
		of := words.Named(b.Pack, x.Of)
		photo := Photo{SHA256: x.SHA256, Caption: fmt.Sprintf("Photo %d. %s. %s. %s", i+1, orElse(of, "Not said of what"), who(x.Stamp), x.SHA256[:12])}
		switch {
		case b.Photo == nil:
			photo.Missing = "the photo is not kept here"
		default:
			content, err := b.Photo(x.SHA256)
			if err != nil {
				photo.Missing = "the photo is not kept here"
			} else {
				photo.Content = content
			}
		}
		p.List = append(p.List, photo)
	}
	b.d.add(p)
}

// running is the log after the last space was closed: tests, first start, running in.
func (b *builder) running() {
	var last time.Time
	for _, c := range b.closed {
		if c.at.After(last) {
			last = c.at
		}
	}
	if last.IsZero() {
		return
	}
	t := &Table{Columns: []Column{{Head: "When and who", Share: 36}, {Head: "What", Share: 56}, {Head: "", Share: 40}}}
	type line struct {
		seq   int
		stamp journal.Stamp
		a, b  string
	}
	var lines []line
	add := func(s journal.Stamp, what, value string) {
		if s.At.After(last) {
			lines = append(lines, line{s.Seq, s, what, value})
		}
	}
	for _, o := range b.State.Operations {
		add(o.Stamp, titled(words.Named(b.Pack, "operation."+o.OperationBody.Operation), o.Place), o.State)
	}
	for _, r := range b.State.Readings {
		add(r.Stamp, strings.TrimSpace(titled(words.Named(b.Pack, "dimension."+r.Of), r.Place)+" "+cellText(r.Cell)), b.inBoth(r.Value))
	}
	for _, c := range b.State.Checks {
		add(c.Stamp, titled(words.Named(b.Pack, "check."+c.Of), c.Place), c.Answer)
	}
	for _, n := range b.State.Notes {
		add(n.Stamp, n.Text, "")
	}
	if len(lines) == 0 {
		return
	}
	sortBy(lines, func(l line) int { return l.seq })
	for _, l := range lines {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: b.when(l.stamp)}, {Text: l.a}, {Text: l.b, Bold: true}}})
	}
	b.heading("Tests, first start and running in", "after the last space was closed")
	b.d.add(t)
}

func sortBy[T any](list []T, key func(T) int) {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && key(list[k]) < key(list[k-1]); k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
}
