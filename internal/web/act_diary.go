package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/words"
)

func (s *Server) diaryRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/entries", hurry(s.entries))
	m.HandleFunc("GET /job/{job}/options", hurry(s.choices))
}

// diaryLine is one entry as a person reads it.
type diaryLine struct {
	journal.Stamp
	Kind   journal.Kind
	Says   string
	Struck string // the reason, for one that was struck
	Strike string // the event that struck it
}

type diaryView struct {
	view
	Lines []diaryLine
	Whole int
	More  string
}

// mostEntries is how many entries one page shows.
const mostEntries = 100

// entries lists what was entered, the newest first; any of it can be struck.
func (s *Server) entries(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &diaryView{view: s.view(r, "entries", sh), Whole: len(sh.event)}
	v.Title, v.Also = "Entries", []string{"act.css", "act.js"}
	from, err := strconv.Atoi(r.URL.Query().Get("before"))
	if err != nil || from < 0 || from > len(sh.event) {
		from = len(sh.event)
	}
	struck := map[string]journal.StruckRecord{}
	for _, x := range sh.State.Struck {
		struck[x.Event] = x
	}
	seen := map[string]bool{}
	for i := from - 1; i >= 0; i-- {
		if len(v.Lines) == mostEntries {
			v.More = query(jobPath(sh.Job.ID, "entries"), "before", strconv.Itoa(i+1))
			break
		}
		e := &sh.event[i]
		if seen[e.ID] || e.Body == nil {
			continue
		}
		seen[e.ID] = true
		line := diaryLine{Stamp: journal.Stamp{Seq: i, At: e.At, By: e.By, Late: e.Late, Event: e.ID}, Kind: e.Kind, Says: entryWords(sh, e.Body)}
		if x, is := struck[e.ID]; is {
			line.Struck, line.Strike = orElse(x.Why, "no reason given"), x.Strike.Event
		}
		v.Lines = append(v.Lines, line)
	}
	s.show(w, r, http.StatusOK, entriesPage(v))
}

// entryWords says what an entry says.
func entryWords(sh *sheet, body any) string {
	p := sh.pack.Pack
	named := func(kind, name, place string) string {
		return words.Named(p, strings.TrimSpace(kind+"."+strings.TrimPrefix(name, kind+".")+" "+place))
	}
	join := func(parts ...string) string {
		return strings.Join(slices.DeleteFunc(parts, func(x string) bool { return x == "" }), ", ")
	}
	switch b := body.(type) {
	case journal.Job:
		return join("Job: "+b.Title, b.EngineNumber, b.Owner)
	case journal.Instrument:
		return join("Instrument: "+b.Name, b.Class)
	case journal.Option:
		return "Chosen: " + strings.ReplaceAll(b.Option, "_", " ") + " " + b.Choice
	case journal.Extra:
		return join("Added: "+lowerFirst(addedWords(sh, b.Text)), b.Why)
	case journal.Reading:
		return join(named("dimension", b.Of, b.Place), measure.CellText(b.Cell.Position, b.Cell.Axis, b.Cell.N)) + ": " + join(b.Value, b.Instrument, b.Note)
	case journal.Check:
		return join(named("check", b.Of, b.Place)+": "+b.Answer, b.Note)
	case journal.Strike:
		return join("Struck an entry", b.Why)
	case journal.Part:
		return join(words.Upper(b.State)+": "+orElse(b.Part, "a part"), named("slot", b.Slot, b.Place), b.Lot)
	case journal.Operation:
		state := "done"
		if b.State == journal.Undone {
			state = "taken back"
		}
		return join(named("operation", b.Operation, b.Place)+": "+state, b.Note)
	case journal.Torque:
		at := "all"
		if !b.All && b.Point > 0 {
			at = "fastener " + strconv.Itoa(b.Point)
		}
		return named("joint", b.Joint, b.Place) + ": " + join(at, "pass "+strconv.Itoa(max(b.Stage, 1)), b.Value, b.Wrench)
	case journal.Wait:
		return named("operation", b.Operation, b.Place) + ": wait " + b.State
	case journal.Deviation:
		return join("Accepted: "+findingWords(p, b.Finding), b.Why)
	case journal.Approval:
		return join("Approved: "+b.What, b.Amount, b.Who)
	case journal.Note:
		about := ""
		if strings.Contains(b.Of, ".") {
			about = words.Named(p, b.Of)
		}
		return join(b.Text, about)
	case journal.Photo:
		return join("Photo", words.Named(p, b.Of))
	case journal.Link:
		return join("Link: "+b.Address, b.Of)
	case journal.TimeWorked:
		return join("Time: "+strconv.FormatFloat(b.Minutes, 'f', -1, 64)+" min", named("operation", b.Operation, ""))
	case journal.Cost:
		return join("Cost: "+b.What, b.Amount)
	case journal.Addition:
		return "Addition: " + b.Text
	}
	return "An entry of a kind that this version does not show"
}

// findingWords names the thing that a finding's id is about.
func findingWords(p *pack.Pack, id string) string {
	_, of, ok := strings.Cut(id, " ")
	if !ok {
		return id
	}
	return words.Named(p, of)
}

type optionsView struct {
	view
	Options []optionLine
}

type optionLine struct {
	*pack.Option
	Chosen string
	Given  bool // chosen in this job, and not left to the pack
}

// choices shows what was seen or chosen of an engine, on which the rest hangs.
func (s *Server) choices(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &optionsView{view: s.view(r, "options", sh)}
	v.Title, v.Also = "Which engine it is", []string{"act.css", "act.js"}
	for _, o := range sh.pack.Options {
		line := optionLine{Option: o, Chosen: o.Default}
		if rec, ok := sh.State.Options[o.Name]; ok {
			line.Chosen, line.Given = rec.Choice, true
		}
		v.Options = append(v.Options, line)
	}
	s.show(w, r, http.StatusOK, optionsPage(v))
}
