package recall

import (
	"fmt"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// Passages turns a job into sentences that can be found. Each is found by its own words
// and by what names the job: its number, title, owner and engine number.
func Passages(id, title string, p *pack.Pack, state *journal.State, a *assess.Assessment) []store.Passage {
	m := &maker{pack: p, state: state, a: a}
	head := []string{id, title, p.Title}
	if j := state.Job; j != nil {
		head = append(head, j.Title, j.EngineNumber, j.Owner)
	}
	m.head = strings.Join(Tokens(strings.Join(head, " ")), " ")
	m.job(id, title)
	m.results()
	m.olderReadings()
	m.parts()
	m.joints()
	m.work()
	m.said()
	return m.out
}

type maker struct {
	pack  *pack.Pack
	state *journal.State
	a     *assess.Assessment
	head  string
	out   []store.Passage
}

func (m *maker) add(s journal.Stamp, kind, says string, also ...string) {
	says = strings.Join(strings.Fields(says), " ")
	text := strings.Join(Tokens(says+" "+strings.Join(also, " ")), " ")
	m.out = append(m.out, store.Passage{Seq: int64(s.Seq) + 1, At: at(s.At), Kind: kind, Says: says, Words: text + " " + m.head})
}

func at(t time.Time) time.Time {
	if t.IsZero() {
		return time.Unix(0, 0).UTC()
	}
	return t
}

func when(s journal.Stamp) string {
	if s.At.IsZero() {
		return ""
	}
	text := s.At.Format("2 Jan 2006")
	if s.By != "" {
		text += ", " + s.By
	}
	if s.Late {
		text += ", entered later"
	}
	return text
}

func (m *maker) name(kind, name, place string) string {
	return words.Title(words.Named(m.pack, kind+"."+name), place)
}

func (m *maker) job(id, title string) {
	var s journal.Stamp
	engine, owner := "", ""
	if j := m.state.Job; j != nil {
		s, engine, owner = j.Opened, j.EngineNumber, j.Owner
		title = j.Title
	}
	says := title + "."
	if engine != "" {
		says += " Engine number " + engine + ","
	}
	if owner != "" {
		says += " owner " + owner + ","
	}
	m.add(s, "job", says+" taken in "+when(s))
	for _, o := range m.pack.Options {
		if c, ok := m.state.Options[o.Name]; ok {
			m.add(c.Stamp, "option", fmt.Sprintf("%s: %s (%s)", o.Title, c.Choice, when(c.Stamp)), o.Name)
		}
	}
}

// both prints a result in both systems.
func both(r *assess.Result) string {
	first := words.Shown(r)
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		if other := words.Shown(words.ResultIn(r, s)); other != first && words.ResultIn(r, s).Unit.Symbol != r.Unit.Symbol {
			return first + " (" + other + ")"
		}
	}
	return first
}

func (m *maker) results() {
	newest := map[[2]string]journal.Stamp{}
	typed := map[[2]string][]string{}
	for _, r := range m.state.Readings {
		k := [2]string{r.Of, r.Place}
		newest[k] = r.Stamp
		typed[k] = append(typed[k], r.Value)
	}
	for _, c := range m.state.Checks {
		m.add(c.Stamp, "check", fmt.Sprintf("%s: %s %s (%s)", m.name("check", c.Of, c.Place), c.Answer, c.Note, when(c.Stamp)), c.Of)
	}
	for i := range m.a.Results {
		r := &m.a.Results[i]
		if r.Kind == "check" || !r.HasValue {
			continue
		}
		k := [2]string{r.Name, r.Place}
		says := fmt.Sprintf("%s %s", words.Title(r.Title, r.Place), both(r))
		if w := words.Wanted(r); w != "" {
			says += ", " + words.Verdict(r) + " (" + w + ")"
		}
		if s, ok := newest[k]; ok && r.Kind == "dimension" {
			says += ", read " + when(s)
		}
		m.add(newest[k], "value", says, append(typed[k], r.Name)...)
	}
}

// olderReadings are what was found before it was machined, and what was struck.
func (m *maker) olderReadings() {
	sets := map[[2]string][]journal.ReadingRecord{}
	var order [][2]string
	for _, r := range m.state.Readings {
		k := [2]string{r.Of, r.Place}
		if len(sets[k]) == 0 {
			order = append(order, k)
		}
		sets[k] = append(sets[k], r)
	}
	for _, k := range order {
		_, history := journal.CurrentPhase(sets[k])
		for _, h := range history {
			var values []string
			for _, r := range h {
				values = append(values, strings.TrimSpace(r.Cell.Position+" "+r.Cell.Axis+" "+r.Value))
			}
			m.add(h[0].Stamp, "value", fmt.Sprintf("%s %s: %s (%s)", m.name("dimension", k[0], k[1]), words.Phase(h[0].Phase), strings.Join(values, "; "), when(h[0].Stamp)))
		}
	}
	for i := range m.state.Struck {
		s := &m.state.Struck[i]
		if r, ok := s.Body.(journal.Reading); ok {
			m.add(s.Stamp, "struck", fmt.Sprintf("Struck: %s %s, because %s", m.name("dimension", r.Of, r.Place), r.Value, s.Why))
		}
	}
}

func (m *maker) parts() {
	byID := map[string]*pack.Part{}
	for _, p := range m.pack.Parts {
		byID[p.Name] = p
	}
	for _, e := range m.state.Parts {
		title, numbers, sizes := e.PartBody.Part, "", ""
		if p := byID[e.PartBody.Part]; p != nil {
			title = strings.TrimSpace(e.PartBody.Part + " " + p.Title)
			for k, v := range p.Numbers {
				numbers += " " + k + " " + v
			}
			for n, q := range p.Sizes {
				sizes += fmt.Sprintf(", %s %s", strings.ReplaceAll(n, "_", " "), q.Unit.Text(q.Value.SI, max(q.Decimals, 0)))
			}
		}
		for n, v := range e.Sizes {
			sizes += fmt.Sprintf(", %s %s", strings.ReplaceAll(n, "_", " "), v)
		}
		slot := m.name("slot", e.Slot, e.Place)
		if e.Slot == "" {
			slot = "Part"
		}
		switch e.State {
		case journal.Sent, journal.Back:
			m.add(e.Stamp, "outside", fmt.Sprintf("%s: %s %s %s %s (%s)", slot, title, e.State, toWhom(e), asked(e), when(e.Stamp)), "outside work machining who", numbers)
		default:
			says := fmt.Sprintf("%s: %s %s", slot, title, e.State)
			if e.State == journal.Kept {
				says += ", used again"
			}
			if e.State == journal.Fitted {
				says += sizes
			}
			if e.Lot != "" {
				says += ", lot " + e.Lot
			}
			if e.To != "" {
				says += ", " + toWhom(e)
			}
			m.add(e.Stamp, "part", says+" ("+when(e.Stamp)+")", numbers, sizes, "part number")
		}
	}
}

func toWhom(e journal.PartRecord) string {
	if e.To == "" {
		return ""
	}
	if e.State == journal.Back {
		return "from " + e.To
	}
	return "to " + e.To
}

func asked(e journal.PartRecord) string {
	if e.Asked == "" {
		return ""
	}
	return "asked: " + e.Asked
}

func (m *maker) joints() {
	for i := range m.a.Joints {
		j := &m.a.Joints[i]
		var last *journal.TorqueRecord
		var all []string
		for k := range m.state.Torques {
			t := &m.state.Torques[k]
			if t.Torque.Joint == j.Name && t.Place == j.Place {
				last = t
				all = append(all, t.Value)
			}
		}
		if last == nil {
			continue
		}
		says := fmt.Sprintf("%s: torque %s", words.Title(j.Title, j.Place), strings.Join(all, ", "))
		if j.Joint.State != "" {
			says += ", on the threads: " + j.Joint.State
		}
		if last.Wrench != "" {
			says += ", wrench " + last.Wrench
		}
		m.add(last.Stamp, "torque", says+" ("+when(last.Stamp)+")", j.Name, "threads", j.Joint.Thread)
	}
}

func (m *maker) work() {
	for _, o := range m.state.Operations {
		m.add(o.Stamp, "work", fmt.Sprintf("%s: %s %s (%s)", m.name("operation", o.OperationBody.Operation, o.Place), o.State, o.Note, when(o.Stamp)), "who did")
	}
	for _, d := range m.state.Deviations {
		m.add(d.Stamp, "deviation", fmt.Sprintf("Accepted: %s, because %s (%s)", words.Named(m.pack, afterCode(d.Finding)), d.Why, when(d.Stamp)), d.Finding)
	}
}

// afterCode leaves the reference of a finding's id.
func afterCode(id string) string {
	_, rest, ok := strings.Cut(id, " ")
	if !ok {
		return id
	}
	return rest
}

func (m *maker) said() {
	for _, n := range m.state.Notes {
		m.add(n.Stamp, "note", n.Text+" ("+when(n.Stamp)+")", "note")
	}
	for _, x := range m.state.Approvals {
		m.add(x.Stamp, "approval", fmt.Sprintf("Approved: %s %s by %s (%s)", x.What, x.Amount, x.Who, when(x.Stamp)))
	}
	for _, c := range m.state.Costs {
		m.add(c.Stamp, "cost", fmt.Sprintf("Cost: %s %s (%s)", c.What, c.Amount, when(c.Stamp)))
	}
	for _, x := range m.state.Photos {
		m.add(x.Stamp, "photo", fmt.Sprintf("Photo of %s (%s)", words.Named(m.pack, x.Of), when(x.Stamp)), x.SHA256[:12])
	}
	for _, l := range m.state.Links {
		m.add(l.Stamp, "link", fmt.Sprintf("%s %s (%s)", l.Address, words.Named(m.pack, l.Of), when(l.Stamp)))
	}
	for _, x := range m.state.Additions {
		m.add(x.Stamp, "addition", fmt.Sprintf("Added: %s (%s)", x.Text, when(x.Stamp)))
	}
}
