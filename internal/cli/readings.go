package cli

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

type readingsCommand struct {
	jobFlags `embed:""`
	CSV      string `name:"csv" required:"" placeholder:"FILE" help:"The table of readings; - for standard input. Columns: of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at, by."`
	By       string `default:"bench" help:"Who took the readings, where no column by says so."`
	Again    bool   `help:"Take rows as new readings although the journal holds the same ones: everything was read a second time."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// rowReport says something of one line of a table.
type rowReport struct {
	Row  int    `json:"row"`
	Says string `json:"says"`
	Do   string `json:"do"`
}

// Run takes a table of readings. Either every row is understood and all become
// events, or none does: with a journal they are added to it, without one they are
// printed as its lines.
func (c *readingsCommand) Run(a *app) error {
	if c.CSV == "-" && c.Journal == "-" {
		return misused("--csv", "give one of the two as a file", "standard input can be read once, and --csv and --journal both ask for it")
	}
	job, begins := c.jobFlags, false
	if job.Journal != "" && job.Journal != "-" {
		c.Journal = atHome(c.Journal)
		if _, err := os.Stat(c.Journal); errors.Is(err, fs.ErrNotExist) {
			job.Journal, begins = "", true
		}
	}
	p, state, err := a.loadJob(job)
	if err != nil {
		return err
	}
	text, err := a.readInput(c.CSV)
	if err != nil {
		return err
	}
	t := &readingTable{by: c.By, now: a.now(), again: c.Again, seen: map[string]int{}}
	if err := t.read(c.CSV, text); err != nil {
		return err
	}
	refused, remarks := against(p, state, t.events)
	refused = append(refused, t.refused...)
	slices.SortStableFunc(refused, func(a, b rowReport) int { return cmp.Compare(a.Row, b.Row) })
	if len(refused) > 0 {
		return c.refuse(a, refused)
	}
	if len(t.events) == 0 {
		return failedArgument("--csv", "write the readings below the line of headings, one on each line", "%s holds no readings", shownName(c.CSV))
	}
	added := len(t.events)
	if c.keeps() {
		if added, err = a.appendEvents(c.Journal, t.events); err != nil {
			return err
		}
	}
	return c.report(a, t.events, added, begins, append(remarks, struckRows(state, t.events)...))
}

// keeps reports whether there is a journal to add to.
func (c *readingsCommand) keeps() bool { return c.Journal != "" && c.Journal != "-" }

func (c *readingsCommand) report(a *app, events []journal.Event, added int, begins bool, remarks []rowReport) error {
	if a.json {
		list := make([]json.RawMessage, len(events))
		for i := range events {
			list[i] = events[i].Bytes
		}
		a.printJSON(struct {
			Journal string            `json:"journal"`
			Rows    int               `json:"rows"`
			Added   int               `json:"added"`
			Refused []rowReport       `json:"refused"`
			Remarks []rowReport       `json:"remarks"`
			Events  []json.RawMessage `json:"events"`
		}{c.Journal, len(events), added, []rowReport{}, append([]rowReport{}, remarks...), list})
		return nil
	}
	if !c.keeps() {
		for i := range events {
			a.out.Write(append(events[i].Bytes, '\n'))
		}
		c.tell(a, "note", remarks)
		return nil
	}
	there := len(events) - added
	switch {
	case begins:
		fmt.Fprintf(a.out, "%s: a new journal, with %s.\n", shownName(c.Journal), count(added, "reading"))
	case there == 0:
		fmt.Fprintf(a.out, "%s: %s added.\n", shownName(c.Journal), count(added, "reading"))
	default:
		fmt.Fprintf(a.out, "%s: %s added, %d there already and left alone.\n", shownName(c.Journal), count(added, "reading"), there)
		a.say("hint: a row that the journal holds is not taken twice. If it was read a second time, give its time in a column at, or add --again")
	}
	fmt.Fprintf(a.out, "Assess with: buttonup assess --pack %s --journal %s\n", shellWord(c.Pack), shellWord(c.Journal))
	c.tell(a, "note", remarks)
	return nil
}

// tell prints what is to be said of rows to standard error: standard output may be
// on its way into a journal.
func (c *readingsCommand) tell(a *app, kind string, list []rowReport) {
	a.out.Flush()
	for _, r := range list {
		if kind != "" {
			a.say("%s: line %d: %s", kind, r.Row, r.Says)
		} else {
			a.say("line %d: %s", r.Row, r.Says)
		}
		if r.Do != "" {
			a.say("  → %s", r.Do)
		}
	}
}

func (c *readingsCommand) refuse(a *app, refused []rowReport) error {
	rows := map[int]bool{}
	for _, r := range refused {
		rows[r.Row] = true
	}
	says := fmt.Sprintf("%s of the table cannot be used, so nothing was taken", count(len(rows), "row"))
	if a.json {
		a.printJSON(struct {
			Error   errorJSON   `json:"error"`
			Refused []rowReport `json:"refused"`
		}{errorJSON{Says: fmt.Sprintf("%s: line %d: %s", says, refused[0].Row, refused[0].Says), Argument: "--csv", Hint: refused[0].Do}, refused})
		return exit(ExitFailed)
	}
	c.tell(a, "", refused)
	return failedArgument("--csv", "mend the rows and take the whole table again; what is in the journal already is not doubled", "%s", says)
}

// against holds every new reading against the pack and the journal. It refuses those
// that an assessment would set aside and remarks on those that it would count but
// find something in.
func against(p *pack.Pack, state *journal.State, events []journal.Event) (refused, remarks []rowReport) {
	p, _ = assess.WithExtras(p, state)
	m := assess.Prepare(p)
	s := *state
	s.Readings = slices.Clone(state.Readings)
	have, rows := map[string]bool{}, map[string]int{}
	for _, r := range state.Readings {
		have[r.Event] = true
	}
	for i, e := range events {
		if have[e.ID] {
			continue
		}
		rows[e.ID] = e.Line
		stamp := journal.Stamp{Seq: state.Events + 1 + i, At: e.At, Event: e.ID}
		s.Readings = append(s.Readings, journal.ReadingRecord{Stamp: stamp, Reading: e.Body.(journal.Reading)})
	}
	out := m.Assess(&s, assess.Options{})
	for i := range out.Findings {
		f := &out.Findings[i]
		row, ok := rows[f.Event]
		if !ok {
			continue
		}
		r := rowReport{row, words.Finding(f).Says, f.Do}
		if r.Do == "" {
			r.Do = "correct it in the table" // the remedy for a journal is to strike it
		}
		if f.Code == assess.CodeReadingGauge {
			remarks = append(remarks, r)
		} else {
			refused = append(refused, r)
		}
	}
	return refused, remarks
}

// struckRows remarks on rows that the journal holds and that were struck there:
// they are not added again, and do not count.
func struckRows(state *journal.State, events []journal.Event) []rowReport {
	struck := map[string]string{}
	for _, s := range state.Struck {
		struck[s.Event] = s.Why
	}
	var list []rowReport
	for _, e := range events {
		if why, ok := struck[e.ID]; ok {
			list = append(list, rowReport{e.Line, "this reading was struck in the journal (" + why + ") and stays struck", "if it was read anew, give its time in a column at, or add --again"})
		}
	}
	return list
}
