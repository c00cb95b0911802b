package book

import (
	"fmt"
	"strings"
	"time"

	"buttonup/journal"
	"buttonup/words"
)

// Listing is a table for other programs: a head and rows, values with a decimal point.
type Listing struct {
	Name   string
	Head   []string
	Number []bool
	Rows   [][]string
}

// Listings are the tables that a job can be given away as, by name.
var Listings = []string{"readings", "results", "parts", "torques", "work"}

// Listing makes one of the tables. Figures stand without their unit, which has a column
// of its own, so that a spreadsheet can add them up.
func (j *Job) Listing(name string) (*Listing, error) {
	l := &Listing{Name: name}
	head := func(titles ...string) {
		for _, t := range titles {
			bare := strings.TrimPrefix(t, "#")
			l.Head = append(l.Head, bare)
			l.Number = append(l.Number, bare != t)
		}
	}
	add := func(cells ...string) { l.Rows = append(l.Rows, cells) }
	stampOf := func(s journal.Stamp) []string {
		late := ""
		if s.Late {
			late = "entered later"
		}
		return []string{s.At.Format(time.RFC3339), s.By, late}
	}
	switch name {
	case "readings":
		head("of", "title", "place", "position", "axis", "#n", "#value", "unit", "instrument", "temperature", "phase", "at", "by", "late", "note", "event")
		for _, r := range j.State.Readings {
			value, unit := splitUnit(r.Value)
			n := ""
			if r.Cell.N > 0 {
				n = fmt.Sprint(r.Cell.N)
			}
			st := stampOf(r.Stamp)
			add(r.Of, words.Named(j.Pack, "dimension."+r.Of), r.Place, r.Cell.Position, r.Cell.Axis, n, value, unit, r.Instrument, r.Temperature, r.Phase, st[0], st[1], st[2], r.Note, r.Event)
		}
	case "results":
		head("kind", "name", "title", "place", "#value", "#expanded", "unit", "new", "limit", "verdict", "#wear_used")
		for i := range j.Assessment.Results {
			r := &j.Assessment.Results[i]
			value, plus, unit := "", "", ""
			if r.Kind == "check" {
				value = r.Answer
			} else {
				value, plus, unit = words.Parts(r)
				plus = strings.TrimPrefix(plus, "±")
			}
			used := ""
			if r.HasWearUsed && r.HasValue {
				used = fmt.Sprintf("%.3f", r.WearUsed)
			}
			add(r.Kind, r.Name, r.Title, r.Place, value, plus, unit, words.Range(r, r.New), words.Range(r, r.Limit), verdictWord(r), used)
		}
	case "parts":
		head("slot", "place", "part", "state", "lot", "sizes", "#price", "#count", "to", "due", "at", "by", "late")
		for _, p := range j.State.Parts {
			var sizes []string
			for _, n := range sortedNames(p.Sizes) {
				sizes = append(sizes, n+" "+p.Sizes[n])
			}
			n := ""
			if p.Count > 0 {
				n = fmt.Sprint(p.Count)
			}
			st := stampOf(p.Stamp)
			add(p.Slot, p.Place, p.PartBody.Part, p.State, p.Lot, strings.Join(sizes, ", "), p.Price, n, p.To, p.Due, st[0], st[1], st[2])
		}
	case "torques":
		head("joint", "place", "point", "#stage", "#value", "unit", "wrench", "at", "by", "late")
		for _, t := range j.State.Torques {
			value, unit := splitUnit(t.Value)
			point := "all"
			if t.Point > 0 {
				point = fmt.Sprint(t.Point)
			}
			st := stampOf(t.Stamp)
			add(t.Torque.Joint, t.Place, point, fmt.Sprint(t.Stage), value, unit, t.Wrench, st[0], st[1], st[2])
		}
	case "work":
		head("operation", "title", "place", "state", "note", "at", "by", "late")
		for _, o := range j.State.Operations {
			st := stampOf(o.Stamp)
			add(o.OperationBody.Operation, words.Named(j.Pack, "operation."+o.OperationBody.Operation), o.Place, o.State, o.Note, st[0], st[1], st[2])
		}
	default:
		return nil, ErrNothing
	}
	return l, nil
}

// splitUnit parts "92.004 mm"; what has no figure first stays whole.
func splitUnit(text string) (value, unit string) {
	value, unit, _ = strings.Cut(strings.TrimSpace(text), " ")
	if value == "" || !strings.ContainsAny(value[:1], "0123456789.-+") || strings.Trim(value, "0123456789.-+") != "" {
		return text, ""
	}
	return value, unit
}

// Calendar makes a calendar file (RFC 5545) of what is waited for and what is to be
// done on a day: waits, parts promised and work outside, and re-torques that a joint
// asks for, those on the day after the last pass because a re-torque is done cold.
func (j *Job) Calendar() []byte {
	var b strings.Builder
	line := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		// Lines are folded at 75 bytes, never within a character.
		for len(text) > 75 {
			n := 74
			for n > 0 && text[n]&0xC0 == 0x80 {
				n--
			}
			b.WriteString(text[:n] + "\r\n ")
			text = text[n:]
		}
		b.WriteString(text + "\r\n")
	}
	line("BEGIN:VCALENDAR")
	line("VERSION:2.0")
	line("PRODID:-//Buttonup//Buttonup//EN")
	made := j.Now.UTC().Format("20060102T150405Z")
	event := func(id string, at time.Time, allDay bool, what string) {
		line("BEGIN:VEVENT")
		line("UID:%s@buttonup", id)
		line("DTSTAMP:%s", made)
		if allDay {
			line("DTSTART;VALUE=DATE:%s", at.Format("20060102"))
		} else {
			line("DTSTART:%s", at.UTC().Format("20060102T150405Z"))
		}
		line("SUMMARY:%s", icsText(j.name()+": "+what))
		line("END:VEVENT")
	}
	for i := range j.Assessment.Waits {
		w := &j.Assessment.Waits[i]
		if !w.Due.IsZero() {
			event(fmt.Sprintf("wait-%s-%d", strings.ReplaceAll(w.Operation.String(), " ", "-"), w.Due.Unix()), w.Due, false, "look at "+orElse(w.For, "the wait")+" after "+plainTitle(words.Operation(j.Pack, w.Operation)))
		}
	}
	for _, p := range j.State.Parts {
		due, err := time.Parse("2006-01-02", p.Due)
		if err != nil {
			continue
		}
		what := "promised: " + orElse(p.PartBody.Part, words.Named(j.Pack, "slot."+p.Slot))
		if p.State == journal.Sent {
			what = "back from " + orElse(p.To, "outside") + ": " + words.Named(j.Pack, "slot."+p.Slot)
		}
		event("part-"+p.Event, due, true, what)
	}
	b2 := &builder{Job: j}
	for _, x := range b2.tightened() {
		if x.Joint.Joint.Retorque == "" {
			continue
		}
		last := x.passes[len(x.passes)-1]
		event("retorque-"+x.Name+"-"+last.Event, last.At.AddDate(0, 0, 1), true, "re-torque "+titled(plainTitle(x.Title), x.Place)+": "+x.Joint.Joint.Retorque)
	}
	line("END:VCALENDAR")
	return []byte(b.String())
}

func icsText(s string) string {
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`).Replace(s)
}

// CSV writes the table as RFC 4180 has it: with a decimal comma the fields are parted by semicolons.
// What a spreadsheet would take for a formula is made harmless.
func (l *Listing) CSV(comma bool) []byte {
	sep := ","
	if comma {
		sep = ";"
	}
	var b strings.Builder
	row := func(cells []string, head bool) {
		for i, c := range cells {
			if i > 0 {
				b.WriteString(sep)
			}
			if !head && l.Number[i] && isFigure(c) {
				if comma {
					c = strings.Replace(c, ".", ",", 1)
				}
			} else {
				c = harmless(c)
			}
			if strings.ContainsAny(c, "\"\r\n"+sep) {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			b.WriteString(c)
		}
		b.WriteString("\r\n")
	}
	row(l.Head, true)
	for _, r := range l.Rows {
		row(r, false)
	}
	return []byte(b.String())
}

func isFigure(s string) bool {
	digits := strings.TrimPrefix(strings.TrimPrefix(s, "-"), "+")
	return digits != "" && strings.Trim(digits, "0123456789.") == "" && strings.Count(digits, ".") <= 1
}

// harmless keeps a spreadsheet from taking a text for a formula.
//
// Source: the rule of OWASP, "CSV Injection" (memory).
func harmless(text string) string {
	if text == "" {
		return text
	}
	if begin := strings.TrimLeft(text, " \t\r\n\u00a0\ufeff"); strings.ContainsRune("\t\r\n", rune(text[0])) || begin != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(begin)[0]) {
		return "'" + text
	}
	return text
}
