package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"buttonup/assess"
	"buttonup/internal/typed"
	"buttonup/journal"
	"buttonup/quantity"
	"buttonup/selectfit"
)

// selectfitCommand gives measured parts to measured places.
type selectfitCommand struct {
	jobFlags `embed:""`
	CSV      string `name:"csv" placeholder:"FILE" help:"The table; - for standard input. Columns: what (place, part, oversize, forbid, force), name, size, low, high, target, place."`
	Around   bool   `help:"The part goes round the place, like a bearing round a pin."`
	Low      string `placeholder:"LENGTH" help:"The least clearance, for places whose row gives none."`
	High     string `placeholder:"LENGTH" help:"The greatest clearance, for places whose row gives none."`
	Target   string `placeholder:"LENGTH" help:"The clearance aimed at, for places whose row gives none; left out: midway."`
	Guard    string `placeholder:"LENGTH" help:"The ± of a clearance, by which the limits are narrowed on both sides."`
	Places   string `placeholder:"NAME" help:"Take the sizes of the places from this dimension of the job."`
	Slot     string `placeholder:"SLOT" help:"With --record: the slot that the parts fill."`
	Size     string `default:"diameter" placeholder:"NAME" help:"With --record: what the size of a part is called."`
	Part     string `placeholder:"ID" help:"With --record: the part of the pack that all the pieces are; their names are then kept as lots."`
	By       string `placeholder:"NAME" help:"Without --csv: try every part of the pack for --slot, and rank them by what this dimension or number is then."`
	Wanted   string `placeholder:"NAME" help:"Without --csv: rank the parts for --slot by how near their --size is to this number."`
	At       string `placeholder:"PLACE" help:"The place of the slot and of the number."`
	Record   bool   `help:"Add the choice to the journal."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// fitRow is one row of the table, with its line.
type fitRow struct {
	line                                       int
	what, name, size, low, high, target, place string
}

// Run finds the best pairing and the second best, or what stands in the way.
func (c *selectfitCommand) Run(a *app) error {
	if c.CSV == "" && (c.By != "" || c.Wanted != "") {
		return c.chooseOne(a)
	}
	if c.CSV == "" {
		return misused("--csv", "buttonup selectfit --csv FILE; or --pack PATH --journal FILE --slot SLOT --by NUMBER; buttonup selectfit --help tells how to use it", "selectfit needs --csv")
	}
	if c.CSV == "-" && c.Journal == "-" {
		return misused("--csv", "give one of the two as a file", "standard input can be read once, and --csv and --journal both ask for it")
	}
	if c.Record && (c.Journal == "" || c.Journal == "-" || c.Slot == "") {
		return misused("--record", "add --pack, --journal FILE and --slot SLOT", "to record the choice, a journal and the slot are needed")
	}
	text, err := a.readInput(c.CSV)
	if err != nil {
		return err
	}
	if text, err = a.plainTable("--csv", c.CSV, text); err != nil {
		return err
	}
	rows, err := fitRows(c.CSV, text)
	if err != nil {
		return err
	}
	problem, unit, err := c.problem(a, rows)
	if err != nil {
		return err
	}
	result, err := selectfit.Solve(problem)
	if err != nil {
		return failedArgument("--csv", "correct the table", "%v", err)
	}
	added := 0
	if c.Record && result.Best != nil {
		events, err := c.events(a, problem, result.Best, unit)
		if err != nil {
			return err
		}
		if added, err = a.appendEvents(c.Journal, events); err != nil {
			return err
		}
	}
	if a.json {
		a.printJSON(pairingReport(problem, result, unit, added))
	} else {
		printFit(a.out, problem, result, unit)
		if c.Record && result.Best != nil {
			fmt.Fprintf(a.out, "%s: %s added.\n", shownName(c.Journal), count(added, "part"))
		}
	}
	if result.Shortage != nil {
		return exit(ExitStops)
	}
	return nil
}

var fitColumns = []string{"what", "name", "size", "low", "high", "target", "place"}

// fitRows reads the table.
func fitRows(name string, text []byte) ([]fitRow, error) {
	if is := natureOf(text); !is.isTable() {
		return nil, notTable("--csv", shownName(name), is)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !utf8.Valid(text) {
		return nil, failedArgument("--csv", "save it as CSV in UTF-8", "line %d of %s is not in UTF-8", typed.BadLine(text), shownName(name))
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = typed.Separator(text), -1, true
	var columns []string
	var rows []fitRow
	for {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			says, do := typed.Words(err)
			return nil, failedArgument("--csv", do, "%s cannot be read: %s", shownName(name), says)
		}
		line, _ := r.FieldPos(0)
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
		if columns == nil {
			for _, f := range fields {
				f = strings.ToLower(f)
				if !slices.Contains(fitColumns, f) {
					return nil, failedArgument("--csv", "the headings are "+strings.Join(fitColumns, ", "), "the table has a heading %q", typed.Shortened(f))
				}
				columns = append(columns, f)
			}
			continue
		}
		if strings.Join(fields, "") == "" {
			continue
		}
		if len(fields) > len(columns) {
			return nil, failedArgument("--csv", "take the surplus separator out; a decimal comma is written as a point", "line %d has %d fields under %d headings", line, len(fields), len(columns))
		}
		row := fitRow{line: line}
		into := map[string]*string{"what": &row.what, "name": &row.name, "size": &row.size, "low": &row.low, "high": &row.high, "target": &row.target, "place": &row.place}
		for i, f := range fields {
			*into[columns[i]] = f
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return nil, failedArgument("--csv", "begin it with the headings "+strings.Join(fitColumns, ",")+" and write one row for each place and part", "%s holds no rows", shownName(name))
	}
	return rows, nil
}

// fitLength reads a length of the table or of a flag.
func fitLength(where, argument, text string) (quantity.Quantity, error) {
	q, err := quantity.Parse(text)
	if err == nil && q.Dimension != quantity.OfLength {
		return q, failedArgument(argument, "give it a unit of length, like mm", "%s is %q, which is %s", where, typed.Shortened(text), withArticle(q.Dimension))
	}
	if err != nil {
		says, do := err.Error(), ""
		var pe *quantity.ParseError
		if errors.As(err, &pe) {
			says, do = pe.Says, pe.Do
		}
		return q, failedArgument(argument, do, "%s: %s", where, says)
	}
	return q, nil
}

// problem makes the problem of a table. Sizes are shown in the unit of the first one.
func (c *selectfitCommand) problem(a *app, rows []fitRow) (selectfit.Problem, quantity.Unit, error) {
	p := selectfit.Problem{Around: c.Around}
	unit := quantity.MustUnit("mm")
	first := true
	var failed error
	read := func(where, argument, text string) quantity.Length {
		q, err := fitLength(where, argument, text)
		if err != nil && failed == nil {
			failed = err
		}
		if err == nil && first {
			unit, first = q.Unit, false
		}
		return quantity.Length(q.SI)
	}
	sizes, err := c.jobSizes(a)
	if err != nil {
		return p, unit, err
	}
	guard := quantity.Length(0)
	if c.Guard != "" {
		if guard = read("--guard", "--guard", c.Guard); guard < 0 {
			return p, unit, failedArgument("--guard", "write it without a sign", "--guard %s is negative", c.Guard)
		}
	}
	for _, row := range rows {
		at := func(field string) string { return fmt.Sprintf("line %d: %s", row.line, field) }
		need := func(field, text, flag string) quantity.Length {
			if text == "" {
				text = flag
			}
			if text == "" {
				if failed == nil {
					failed = failedArgument("--csv", "fill it in, or give --"+field, "%s is missing for %s", at(field), row.name)
				}
				return 0
			}
			return read(at(field), "--csv", text)
		}
		switch row.what {
		case "place":
			x := selectfit.Place{Name: row.name}
			switch known, ok := sizes[row.name]; {
			case row.size != "":
				x.Size = read(at("size"), "--csv", row.size)
			case ok:
				x.Size = known
			default:
				need("size", "", "")
			}
			low, high := need("low", row.low, c.Low), need("high", row.high, c.High)
			x.Low, x.High, x.Target = low+guard, high-guard, (low+high)/2
			if text := orFlag(row.target, c.Target); text != "" {
				x.Target = read(at("target"), "--csv", text)
			}
			if failed == nil && low <= high && x.Low > x.High {
				failed = failedArgument("--guard", "measure finer, or leave --guard out", "%s: the ± %s leaves nothing between low and high", at(row.name), c.Guard)
			}
			p.Places = append(p.Places, x)
		case "part":
			p.Parts = append(p.Parts, selectfit.Part{Name: row.name, Size: need("size", row.size, ""), From: row.place})
		case "oversize":
			p.Oversizes = append(p.Oversizes, selectfit.Oversize{Name: row.name, Size: need("size", row.size, "")})
		case "forbid":
			p.Forbidden = append(p.Forbidden, selectfit.Pair{Part: row.name, Place: row.place})
		case "force":
			p.Forced = append(p.Forced, selectfit.Pair{Part: row.name, Place: row.place})
		default:
			return p, unit, failedArgument("--csv", "write place, part, oversize, forbid or force", "%s is %q", at("what"), typed.Shortened(row.what))
		}
		if failed != nil {
			return p, unit, failed
		}
	}
	if len(p.Places) == 0 {
		return p, unit, failedArgument("--csv", "write a row place,NAME,SIZE for each", "the table has no place")
	}
	return p, unit, nil
}

func orFlag(text, flag string) string {
	if text == "" {
		return flag
	}
	return text
}

// jobSizes reads the sizes of the places from the job.
func (c *selectfitCommand) jobSizes(a *app) (map[string]quantity.Length, error) {
	if c.Places == "" {
		return nil, nil
	}
	p, state, err := a.loadJob(c.jobFlags)
	if err != nil {
		return nil, err
	}
	sizes := map[string]quantity.Length{}
	found := false
	out := assess.Assess(p, state, assess.Options{Now: a.now()})
	for i := range out.Results {
		r := &out.Results[i]
		if r.Name != c.Places || r.Kind == "check" {
			continue
		}
		found = true
		if r.HasValue && r.Stale == nil {
			sizes[r.Place] = quantity.Length(r.Value)
		}
	}
	if !found {
		return nil, misused("--places", "assess --json lists every dimension and number with its place", "the job has no dimension or number called %s", c.Places)
	}
	return sizes, nil
}

// events are the choice as the journal keeps it: a used part is kept in its place, a
// new one received for it.
func (c *selectfitCommand) events(a *app, p selectfit.Problem, s *selectfit.Solution, u quantity.Unit) ([]journal.Event, error) {
	at := a.now().UTC().Truncate(time.Second)
	var list []journal.Event
	for _, f := range s.Fits {
		body := journal.Part{Slot: c.Slot, Place: f.Place, State: journal.Received}
		for _, part := range p.Parts {
			if part.Name == f.Part {
				body.Sizes = map[string]string{c.Size: u.Text(float64(part.Size), lengthDecimals(u)+1)}
				if part.From != "" {
					body.State = journal.Kept
				}
			}
		}
		body.Part = f.Part
		if c.Part != "" {
			body.Part, body.Lot = c.Part, f.Part
		}
		sum := sha256.Sum256([]byte(strings.Join([]string{f.Part, c.Slot, f.Place, body.State, body.Sizes[c.Size], at.Format(time.RFC3339)}, "\x1f")))
		e := journal.New("fit-"+hex.EncodeToString(sum[:10]), at, "bench", body)
		var err error
		if e.Bytes, err = e.Encode(); err != nil {
			return nil, failedArgument("--csv", "shorten or correct the name", "%v", err)
		}
		list = append(list, e)
	}
	return list, nil
}

// lengthDecimals shows a micrometre.
func lengthDecimals(u quantity.Unit) int {
	if u.Symbol == "mm" {
		return 3
	}
	return quantity.DecimalsFor(u.InDifference(1e-6), 1)
}

type fittedJSON struct {
	Place     string `json:"place"`
	Part      string `json:"part"`
	Clearance figure `json:"clearance"`
	Off       figure `json:"off"`
}

type solutionJSON struct {
	Fits []fittedJSON `json:"fits"`
	Off  figure       `json:"off"`
}

type rescueJSON struct {
	Oversize  string `json:"oversize"`
	Place     string `json:"place"`
	Clearance figure `json:"clearance"`
	Off       figure `json:"off"`
	Left      int    `json:"left"`
}

type fitJSON struct {
	Status   string        `json:"status"`
	Best     *solutionJSON `json:"best,omitempty"`
	Second   *solutionJSON `json:"second,omitempty"`
	Shortage *shortageJSON `json:"shortage,omitempty"`
	Rescues  []rescueJSON  `json:"rescues"`
	Recorded int           `json:"recorded"`
}

type shortageJSON struct {
	Places   []string `json:"places"`
	Parts    []string `json:"parts"`
	Smallest bool     `json:"smallest"`
}

func pairingReport(p selectfit.Problem, r selectfit.Result, u quantity.Unit, added int) *fitJSON {
	length := func(l quantity.Length) figure {
		x := float64(l)
		return figure{&x, u.Text(x, lengthDecimals(u)+1)}
	}
	solution := func(s *selectfit.Solution) *solutionJSON {
		if s == nil {
			return nil
		}
		out := &solutionJSON{Fits: []fittedJSON{}, Off: length(s.Off)}
		for _, f := range s.Fits {
			out.Fits = append(out.Fits, fittedJSON{f.Place, f.Part, length(f.Clearance), length(f.Off)})
		}
		return out
	}
	out := &fitJSON{Status: "optimal", Best: solution(r.Best), Second: solution(r.Second), Rescues: []rescueJSON{}, Recorded: added}
	if s := r.Shortage; s != nil {
		out.Status = "infeasible"
		out.Shortage = &shortageJSON{append([]string{}, s.Places...), append([]string{}, s.Parts...), s.Smallest}
	}
	for _, x := range r.Rescues {
		out.Rescues = append(out.Rescues, rescueJSON{x.Part, x.Place, length(x.Clearance), length(x.Off), x.Left})
	}
	return out
}

// printFit shows the pairing to a person.
func printFit(w io.Writer, p selectfit.Problem, r selectfit.Result, u quantity.Unit) {
	d := lengthDecimals(u) + 1
	show := func(s *selectfit.Solution) {
		for _, f := range s.Fits {
			fmt.Fprintf(w, "  %-16s %-16s clearance %s, %s\n", f.Place, f.Part, u.Text(float64(f.Clearance), d), offWords(u, float64(f.Off), d))
		}
		fmt.Fprintf(w, "  together %s from the targets\n", u.Text(float64(s.Off), d))
	}
	switch {
	case r.Best != nil:
		fmt.Fprintln(w, "BEST")
		show(r.Best)
		if r.Second != nil {
			fmt.Fprintln(w, "\nSECOND BEST")
			show(r.Second)
		} else {
			fmt.Fprintln(w, "\nThere is no other way within the limits.")
		}
	case r.Shortage != nil:
		parts := "no part fits any of them"
		if n := len(r.Shortage.Parts); n > 0 {
			parts = fmt.Sprintf("%s fit any of them: %s", map[bool]string{true: "only this one may", false: "only these may"}[n == 1], strings.Join(r.Shortage.Parts, ", "))
		}
		fmt.Fprintf(w, "NOT ALL PLACES CAN BE SERVED\n  %s: %s\n", strings.Join(r.Shortage.Places, ", "), parts)
		for _, x := range r.Rescues {
			left := "then all are served"
			if x.Left > 0 {
				left = fmt.Sprintf("then %s goes without", count(x.Left, "place"))
			}
			fmt.Fprintf(w, "  → %s in %s: clearance %s, %s; %s\n", x.Part, x.Place, u.Text(float64(x.Clearance), d), offWords(u, float64(x.Off), d), left)
		}
		if len(r.Rescues) == 0 && len(p.Oversizes) > 0 {
			fmt.Fprintln(w, "  None of the oversizes fits there.")
		}
	}
}

func offWords(u quantity.Unit, off float64, d int) string {
	switch text := u.Text(max(off, -off), d); {
	case off > 5e-13:
		return text + " over the target"
	case off < -5e-13:
		return text + " under the target"
	}
	return "on the target"
}
