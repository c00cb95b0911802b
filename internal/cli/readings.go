package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

type readingsCommand struct {
	jobFlags `embed:""`
	CSV      string `name:"csv" required:"" placeholder:"FILE" help:"The table of readings; - for standard input. Columns: of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at."`
	By       string `default:"bench" help:"Who took the readings."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// columns of a table of readings, with the other headings that are understood.
var readingColumns = map[string]string{
	"of": "of", "dimension": "of", "name": "of", "place": "place", "position": "position", "axis": "axis", "n": "n", "repeat": "n",
	"value": "value", "reading": "value", "unit": "unit", "instrument": "instrument", "gauge": "instrument",
	"temperature": "temperature", "phase": "phase", "note": "note", "at": "at", "time": "at", "by": "by",
}

type refusedRow struct {
	Row  int    `json:"row"`
	Says string `json:"says"`
	Do   string `json:"do"`
}

// Run takes a table of readings. Either every row is understood and all become
// events, or none does: with a journal they are added to it, without one they are
// printed as its lines.
func (c *readingsCommand) Run(a *app) error {
	p, state, err := a.loadJob(c.jobFlags)
	if err != nil {
		return err
	}
	text, err := a.readInput(c.CSV)
	if err != nil {
		return err
	}
	events, refused, err := c.events(a, text)
	if err != nil {
		return err
	}
	if len(refused) == 0 {
		refused = c.against(p, state, events)
	}
	if len(refused) > 0 {
		return c.refuse(a, refused)
	}
	var lines bytes.Buffer
	for _, e := range events {
		line, err := e.Encode()
		if err != nil {
			return failed("", "%v", err)
		}
		lines.Write(append(line, '\n'))
	}
	added := len(events)
	if c.Journal != "" && c.Journal != "-" {
		if added, err = appendNew(c.Journal, events); err != nil {
			return err
		}
	}
	if a.json {
		list := []string{}
		for _, l := range bytes.Split(bytes.TrimSpace(lines.Bytes()), []byte("\n")) {
			if len(l) > 0 {
				list = append(list, string(l))
			}
		}
		a.printJSON(map[string]any{"rows": len(events), "added": added, "refused": []refusedRow{}, "events": list})
		return nil
	}
	if c.Journal == "" || c.Journal == "-" {
		_, err := a.out.Write(lines.Bytes())
		return err
	}
	fmt.Fprintf(a.out, "%s: %s taken, %d of them new. Assess with: buttonup assess --pack %s --journal %s\n", c.Journal, count(len(events), "reading"), added, c.Pack, c.Journal)
	return nil
}

func (c *readingsCommand) refuse(a *app, refused []refusedRow) error {
	says := fmt.Sprintf("%s of the table cannot be used, so nothing was taken", count(len(refused), "row"))
	if a.json {
		a.printJSON(map[string]any{"error": errorJSON{Says: says + ": row " + strconv.Itoa(refused[0].Row) + ": " + refused[0].Says, Argument: "--csv", Hint: refused[0].Do}, "refused": refused})
		return exit(ExitFailed)
	}
	for _, r := range refused {
		fmt.Fprintf(a.out, "row %d: %s\n", r.Row, r.Says)
		if r.Do != "" {
			fmt.Fprintf(a.out, "  → %s\n", r.Do)
		}
	}
	return failed("mend the rows and take the table again", "%s", says)
}

// events makes a reading event of every row.
func (c *readingsCommand) events(a *app, text []byte) ([]journal.Event, []refusedRow, error) {
	if !utf8.Valid(text) {
		return nil, nil, failedArgument("--csv", "save it as CSV in UTF-8", "the table is not plain text (invalid UTF-8)")
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = separator(text), -1, true
	head, err := r.Read()
	if err != nil {
		return nil, nil, failedArgument("--csv", "begin with a line of headings: of,place,position,axis,value", "the table is empty or not readable: %v", csvWords(err))
	}
	columns, err := headings(head)
	if err != nil {
		return nil, nil, err
	}
	var events []journal.Event
	var refused []refusedRow
	seen := map[string]int{}
	for row := 2; ; row++ {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			return events, refused, nil
		}
		if err != nil {
			refused = append(refused, refusedRow{row, csvWords(err), "check the quotes in this row"})
			continue
		}
		get := func(name string) string {
			if i, ok := columns[name]; ok && i < len(fields) {
				return strings.TrimSpace(fields[i])
			}
			return ""
		}
		if strings.TrimSpace(strings.Join(fields, "")) == "" {
			continue
		}
		e, says, do := c.event(a, get, seen)
		if says != "" {
			refused = append(refused, refusedRow{row, says, do})
			continue
		}
		e.Line = row
		events = append(events, e)
	}
}

func (c *readingsCommand) event(a *app, get func(string) string, seen map[string]int) (e journal.Event, says, do string) {
	for _, name := range []string{"of", "value"} {
		if get(name) == "" {
			return e, "the field " + name + " is empty", "fill it in, or take the row out"
		}
	}
	value := get("value")
	if u := get("unit"); u != "" {
		value += " " + u
	}
	body := journal.Reading{Of: get("of"), Place: get("place"), Value: value, Instrument: get("instrument"), Temperature: get("temperature"), Phase: get("phase"), Note: get("note"),
		Cell: journal.Cell{Position: get("position"), Axis: get("axis")}}
	if n := get("n"); n != "" {
		x, err := strconv.Atoi(n)
		if err != nil || x < 1 {
			return e, fmt.Sprintf("n is %q", n), "number repeated readings from 1"
		}
		body.Cell.N = x
	}
	at := a.now().UTC()
	if s := get("at"); s != "" {
		t, err := parseTime(s)
		if err != nil {
			return e, fmt.Sprintf("at is %q, which is no time", s), "write it like 2026-03-02T10:04:00Z"
		}
		at = t
	}
	by := c.By
	if s := get("by"); s != "" {
		by = s
	}
	// The same row taken twice has the same id, so that it counts once; the same
	// words on two rows are two readings.
	key := strings.Join([]string{body.Of, body.Place, body.Cell.Position, body.Cell.Axis, strconv.Itoa(body.Cell.N), body.Value, body.Instrument, body.Temperature, body.Phase, get("at")}, "\x1f")
	seen[key]++
	sum := sha256.Sum256([]byte(key + "\x1f" + strconv.Itoa(seen[key])))
	return journal.New("csv-"+hex.EncodeToString(sum[:10]), at, by, body), "", ""
}

// separator guesses what divides the columns from the line of headings.
func separator(text []byte) rune {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', 0
	for _, r := range []rune{',', ';', '\t'} {
		if n := bytes.Count(line, []byte(string(r))); n > most {
			best, most = r, n
		}
	}
	return best
}

func headings(head []string) (map[string]int, error) {
	columns := map[string]int{}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(h))
		name, ok := readingColumns[h]
		if !ok {
			hint := "the headings are of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at"
			if near := formula.Nearest(h, sortedKeys(readingColumns)); near != "" {
				hint = near + " is meant, perhaps; " + hint
			}
			return nil, failedArgument("--csv", hint, "the heading %q is not understood", h)
		}
		if _, twice := columns[name]; twice {
			return nil, failedArgument("--csv", "keep one of the two", "the heading %s stands twice", name)
		}
		columns[name] = i
	}
	for _, name := range []string{"of", "value"} {
		if _, ok := columns[name]; !ok {
			return nil, failedArgument("--csv", "begin with a line of headings: of,place,position,axis,value", "the table has no heading %s", name)
		}
	}
	return columns, nil
}

func csvWords(err error) string {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	if errors.Is(err, io.EOF) {
		return "there is nothing in it"
	}
	return err.Error()
}

// against holds every reading against the pack and the journal and reports those
// that an assessment would set aside.
func (c *readingsCommand) against(p *pack.Pack, state *journal.State, events []journal.Event) []refusedRow {
	p, _ = assess.WithExtras(p, state)
	m := assess.Prepare(p)
	s := &journal.State{Instruments: state.Instruments, InstrumentOrder: state.InstrumentOrder, Options: state.Options, Parts: state.Parts, Job: state.Job}
	rows := map[string]int{}
	for i, e := range events {
		rows[e.ID] = e.Line
		s.Readings = append(s.Readings, journal.ReadingRecord{Stamp: journal.Stamp{Seq: i, At: e.At, Event: e.ID}, Reading: e.Body.(journal.Reading)})
	}
	var refused []refusedRow
	out := m.Assess(s, assess.Options{})
	for i := range out.Findings {
		f := &out.Findings[i]
		if row, ok := rows[f.Event]; ok {
			sentence := words.Finding(f)
			refused = append(refused, refusedRow{row, sentence.Says, sentence.Do})
		}
	}
	return refused
}

// appendNew adds the events that a journal does not hold yet, and syncs it.
func appendNew(name string, events []journal.Event) (added int, err error) {
	old, err := os.ReadFile(name)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return 0, fileError(name, err)
	}
	have := map[string]bool{}
	for _, e := range journal.Read(old).Events {
		have[e.ID] = true
	}
	var lines bytes.Buffer
	if len(old) > 0 && old[len(old)-1] != '\n' {
		lines.WriteByte('\n')
	}
	for _, e := range events {
		if have[e.ID] {
			continue
		}
		line, err := e.Encode()
		if err != nil {
			return 0, failed("", "%v", err)
		}
		lines.Write(append(line, '\n'))
		added++
	}
	if added == 0 {
		return 0, nil
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o644)
	if err != nil {
		return 0, fileError(name, err)
	}
	if _, err = f.Write(lines.Bytes()); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return 0, fileError(name, err)
	}
	return added, nil
}
