package book

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

// Card makes an answer card: one torque, part or step in two lines and a picture.
func (l *Lesson) Card(of, place string) (*Sheet, error) {
	if slot, ok := strings.CutPrefix(of, "slot."); ok {
		return l.partCard(slot)
	}
	t, err := l.topic(of, place)
	if err != nil {
		return nil, err
	}
	s := t.sheet("card")
	first, second := t.twoLines()
	s.Document.add(&Heading{Level: 1, Text: plainTitle(t.title), Stay: true}, &Para{Text: first, Style: Lead}, &Para{Text: second, Style: Lead})
	for _, j := range t.joints {
		if p := pattern(j); p != nil {
			s.Document.add(&Figure{Drawing: p, Says: "The pattern of the fasteners", Most: 112})
			break
		}
	}
	if t.dimension != nil {
		if f := readingFigure(t.dimension); f != nil {
			s.Document.add(&Figure{Drawing: f, Says: "Where it is read", Most: 112})
		}
	}
	s.Document.add(&Para{Text: "Check your own manual. " + t.appliesShort(), Style: Small})
	s.Document.Paper = cardPaper
	s.Document.Foot = "Made with Buttonup, " + day(t.Now) + ", revision " + s.Code
	return s, nil
}

// cardPaper is A6, across.
var cardPaper = Paper{"A6", 419.53, 297.64}

// twoLines answers in two lines.
func (t *topic) twoLines() (string, string) {
	if len(t.joints) > 0 && (t.op == nil || len(t.holds) == 0 || len(t.joints) > 0) {
		j := t.joints[0]
		first := "Torque not given in this pack"
		if j.Target.SI != 0 {
			first = unitText(j.Target.SI, j.Unit, targetDecimals(j))
		} else if j.Torque.Bounded() {
			first = rangeBothOf(j.Torque)
		}
		second := "on the threads: " + orElse(j.Joint.State, "not stated") + "; " + fmt.Sprintf("%d × %s", max(j.Points, 1), j.Joint.Thread)
		if st := stageTexts(j); len(st) > 1 {
			second += "; in " + words.Count(len(st), "stage", "stages")
		}
		return first, second
	}
	if len(t.result) > 0 {
		r := t.result[0]
		return words.Upper(orElse(wantedBoth(r), "no limit in this pack")), "source: " + sourceText(r.Source, r.Basis)
	}
	uses := ""
	if t.op != nil {
		uses = strings.Join(t.op.Uses, ", ")
	}
	return plainTitle(t.title), orElse(words.Upper(uses), "see the handout")
}

func (l *Lesson) partCard(slot string) (*Sheet, error) {
	t := &topic{Lesson: l, of: "slot." + slot}
	for _, s := range l.Pack.Slots {
		if s.Name == slot {
			t.slots, t.title = append(t.slots, s), s.Title
		}
	}
	if len(t.slots) == 0 {
		return nil, ErrNothing
	}
	s := t.sheet("card")
	var names []string
	for _, p := range t.fitting(t.slots[0]) {
		names = append(names, strings.TrimSpace(p.Name+" "+p.Title))
	}
	first := orElse(strings.Join(names[:min(3, len(names))], "; "), "no part in this pack")
	second := "used again if it measures right"
	if t.slots[0].AlwaysReplace || t.slots[0].OneUse {
		second = "new each time"
	}
	s.Document.add(&Heading{Level: 1, Text: t.title, Stay: true}, &Para{Text: first, Style: Lead}, &Para{Text: words.Upper(second), Style: Lead}, &Para{Text: "Check your own manual. " + t.appliesShort(), Style: Small})
	s.Document.Paper = cardPaper
	s.Document.Foot = "Made with Buttonup, " + day(t.Now) + ", revision " + s.Code
	return s, nil
}

// Text is what a card says, for a message.
func (s *Sheet) Text() string {
	var out []string
	for _, b := range s.Document.Blocks {
		switch b := b.(type) {
		case *Heading:
			out = append(out, b.Text)
		case *Para:
			out = append(out, b.Text)
		}
	}
	return strings.Join(out, "\n") + "\n"
}

// Description is text to paste below a film: parts with numbers, tools, torque in both
// units, for which engines and for which not.
func (l *Lesson) Description(of []string) (*Sheet, string, error) {
	var b strings.Builder
	var figures []string
	all := &Sheet{What: "description", Of: strings.Join(of, ", ")}
	for i, ref := range of {
		t, err := l.topic(ref, "")
		if err != nil {
			return nil, "", fmt.Errorf("%s: %w", ref, err)
		}
		if i == 0 {
			fmt.Fprintf(&b, "%s\n\n", t.applies())
			all.Of = t.of
		}
		fmt.Fprintf(&b, "%s\n", plainTitle(t.title))
		var parts []string
		for _, s := range t.slots {
			var numbers []string
			for _, p := range t.fitting(s) {
				n := p.Name
				if m := partNumbers(p); m != "" {
					n += " (" + m + ")"
				}
				numbers = append(numbers, n)
			}
			line := s.Title
			if s.OneUse || s.AlwaysReplace {
				line += " (new each time)"
			}
			if len(numbers) > 0 {
				line += ": " + strings.Join(numbers[:min(4, len(numbers))], ", ")
			}
			parts = append(parts, line)
		}
		section(&b, "Parts", parts)
		var tools []string
		for _, j := range t.joints {
			if j.Joint.Socket != "" {
				tools = append(tools, "socket "+j.Joint.Socket+", drive "+orDash(j.Joint.Drive))
			}
		}
		for _, o := range t.together() {
			if o.Tool != "" && !slices.Contains(tools, o.Tool) {
				tools = append(tools, o.Tool)
			}
		}
		section(&b, "Tools", tools)
		var torques []string
		for _, j := range t.joints {
			text := plainTitle(j.Title)
			if j.Target.SI != 0 {
				text += ": " + unitText(j.Target.SI, j.Unit, targetDecimals(j))
			} else if j.Torque.Bounded() {
				text += ": " + rangeBothOf(j.Torque)
			}
			text += ", on the threads: " + orElse(j.Joint.State, "not stated")
			if st := stageTexts(j); len(st) > 1 {
				text += "; stages: " + strings.Join(st, ", ")
			}
			torques = append(torques, text)
		}
		section(&b, "Torque", torques)
		var numbers []string
		for _, r := range append(slices.Clone(t.result), t.holds...) {
			if w := wantedBoth(r); w != "" && r.Kind != "check" {
				numbers = append(numbers, r.Title+": "+w)
			}
		}
		section(&b, "Numbers", numbers)
		section(&b, "Films and pages", l.Links[t.of])
		figures = append(figures, t.figures()...)
	}
	all.Figures = figures
	all.Code = code(all.Of, figures)
	fmt.Fprintf(&b, "Check your own manual: figures differ from year to year and maker to maker. %s\nRevision %s, %s.\n", Caution, all.Code, day(l.Now))
	return all, b.String(), nil
}

func section(b *strings.Builder, head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", head)
	for _, l := range lines {
		fmt.Fprintf(b, "- %s\n", l)
	}
	b.WriteString("\n")
}

// Chapter is a mark in a film.
type Chapter struct {
	At    time.Duration
	Title string
}

// Chapters makes the chapter marks of a film: from the tap "camera on", each step that
// was done before the next tap "camera off" begins at the end of the one before it.
// There are as many films as taps.
func Chapters(p *pack.Pack, s *journal.State) [][]Chapter {
	titles := map[string]string{}
	for _, o := range p.Operations {
		titles[o.Name] = plainTitle(o.Title)
	}
	for _, j := range p.Joints {
		titles["joint "+j.Name] = plainTitle(j.Title)
	}
	type step struct {
		at    time.Time
		seq   int
		title string
	}
	var steps []step
	for _, o := range s.Operations {
		if o.State == journal.Done && !o.Late {
			steps = append(steps, step{o.At, o.Seq, strings.TrimSpace(orElse(titles[o.OperationBody.Operation], o.OperationBody.Operation) + placed(o.Place))})
		}
	}
	for _, t := range s.Torques {
		if t.Stage <= 1 && (t.All || t.Point <= 1) && !t.Late {
			steps = append(steps, step{t.At, t.Seq, orElse(titles["joint "+t.Torque.Joint], t.Torque.Joint) + ", torque" + placed(t.Place)})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int {
		if c := a.at.Compare(b.at); c != 0 {
			return c
		}
		return a.seq - b.seq
	})
	var films [][]Chapter
	for i, m := range s.Marks {
		if strings.ToLower(m.What) != "camera on" {
			continue
		}
		var end time.Time
		for _, n := range s.Marks[i+1:] {
			if w := strings.ToLower(n.What); w == "camera off" || w == "camera on" {
				end = n.At
				break
			}
		}
		film := []Chapter{}
		from := time.Duration(0)
		for _, st := range steps {
			if st.at.Before(m.At) || !end.IsZero() && st.at.After(end) || end.IsZero() && st.at.Sub(m.At) > 12*time.Hour {
				continue
			}
			// A step is written down when it is done: its chapter begins where the one
			// before it ended.
			if n := len(film); n > 0 && film[n-1].At == from {
				if film[n-1].Title != st.title {
					film[n-1].Title += ", " + st.title
				}
			} else {
				film = append(film, Chapter{from, st.title})
			}
			from = st.at.Sub(m.At)
		}
		films = append(films, film)
	}
	return films
}

func placed(place string) string {
	if place == "" {
		return ""
	}
	return ", " + place
}

// Clock prints a place in a film as film pages read it: 0:00, 12:05, 1:02:03.
func (c Chapter) Clock() string {
	s := int(c.At / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// Published is a sheet that was given away, and whether it is still right.
type Published struct {
	journal.PublishedRecord
	// Now is the code that the sheet would have today, empty where what it is of is
	// gone; Changed are the figures that differ, as they were and as they are.
	Now     string
	Changed []Change
}

// Change is one figure of a sheet: what it says and what it should say.
type Change struct{ Was, Is string }

// Wrong says whether a sheet tells something that is no longer so.
func (p *Published) Wrong() bool { return p.Now != p.Code }

// CheckPublished holds every sheet that was given away against today's figures.
func (l *Lesson) CheckPublished(list []journal.PublishedRecord) []Published {
	var out []Published
	for _, r := range list {
		p := Published{PublishedRecord: r}
		var figures []string
		ok := true
		for _, ref := range strings.Split(r.Of, ", ") {
			if slot, isSlot := strings.CutPrefix(ref, "slot."); isSlot {
				s, err := l.partCard(slot)
				if err != nil {
					ok = false
					continue
				}
				figures = append(figures, s.Figures...)
				continue
			}
			f, _, err := l.FiguresOf(ref, r.Place)
			if err != nil {
				ok = false
				continue
			}
			figures = append(figures, f...)
		}
		if ok {
			p.Now = code(r.Of, figures)
		}
		if p.Wrong() {
			p.Changed = changes(strings.Split(r.Figures, "\n"), figures)
		}
		out = append(out, p)
	}
	return out
}

// changes pairs figures by what stands before their colon.
func changes(was, is []string) []Change {
	name := func(s string) string { n, _, _ := strings.Cut(s, ": "); return n }
	var out []Change
	left := slices.Clone(is)
	for _, w := range was {
		if w == "" {
			continue
		}
		if i := slices.Index(left, w); i >= 0 {
			left = slices.Delete(left, i, i+1)
			continue
		}
		c := Change{Was: w}
		for i, x := range left {
			if name(x) == name(w) && !slices.Contains(was, x) {
				c.Is = x
				left = slices.Delete(left, i, i+1)
				break
			}
		}
		out = append(out, c)
	}
	for _, x := range left {
		if !slices.Contains(was, x) {
			out = append(out, Change{Is: x})
		}
	}
	return out
}
