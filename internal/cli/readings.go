package cli

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"buttonup/internal/typed"
)

type readingsCommand struct {
	jobFlags `embed:""`
	CSV      string `name:"csv" required:"" placeholder:"FILE" help:"The table of readings, CSV or a workbook (XLSX); - for standard input. Columns: of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at, by."`
	Sheet    string `placeholder:"NAME" help:"Which sheet of a workbook; left out: the first that can be seen."`
	Decimal  string `enum:",point,comma" default:"" placeholder:"point|comma" help:"What a comma in a figure marks: with comma, 92,004 is 92.004; with point it is refused. Left out: it is asked about."`
	By       string `default:"bench" help:"Who took the readings, where no column by says so."`
	Again    bool   `help:"Take rows as new readings although the journal holds the same ones: everything was read a second time."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// rowReport says something of one line of a table.
type rowReport = typed.Row

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
	table, err := tableOf("--csv", c.CSV, c.Sheet, text)
	if err != nil {
		return err
	}
	t := &typed.Table{By: c.By, Now: a.now(), Again: c.Again, Decimal: typed.Decimal(c.Decimal), Known: typed.KnownOf(state)}
	if err := t.Read(shownName(c.CSV), table.text); err != nil {
		return tableError("--csv", err)
	}
	refused, remarks := typed.Against(p, state, t.Events)
	refused = append(append(refused, t.Refused...), table.refused...)
	slices.SortStableFunc(refused, func(a, b rowReport) int { return cmp.Compare(a.Row, b.Row) })
	if len(refused) > 0 {
		return c.refuse(a, refused, t.Commas)
	}
	if len(t.Events) == 0 && t.Already == 0 {
		return failedArgument("--csv", "write the readings below the line of headings, one on each line", "%s holds no readings", shownName(c.CSV))
	}
	added := len(t.Events)
	if c.keeps() {
		if added, err = a.appendEvents(c.Journal, t.Events); err != nil {
			return err
		}
	}
	return c.report(a, t, added, begins, append(append(remarks, table.remarks...), typed.Struck(state, t.Events)...))
}

// keeps reports whether there is a journal to add to.
func (c *readingsCommand) keeps() bool { return c.Journal != "" && c.Journal != "-" }

func (c *readingsCommand) report(a *app, t *typed.Table, added int, begins bool, remarks []rowReport) error {
	events := t.Events
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
		}{c.Journal, len(events) + t.Already, added, []rowReport{}, append([]rowReport{}, remarks...), list})
		return nil
	}
	if !c.keeps() {
		for i := range events {
			a.out.Write(append(events[i].Bytes, '\n'))
		}
		c.tell(a, "note", remarks)
		return nil
	}
	there := len(events) - added + t.Already
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

func (c *readingsCommand) refuse(a *app, refused []rowReport, commas int) error {
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
	hint := "mend the rows and take the whole table again"
	if commas > 0 && c.Decimal == "" {
		hint += ", with --decimal comma if the commas mark decimals"
	}
	return failedArgument("--csv", hint+"; what is in the journal already is not doubled", "%s", says)
}
