package typed

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/quantity"
)

// readingColumns are the headings that are understood, and the column each means.
var readingColumns = map[string]string{
	"of": "of", "dimension": "of", "name": "of", "place": "place", "position": "position", "axis": "axis", "n": "n", "repeat": "n",
	"value": "value", "reading": "value", "unit": "unit", "instrument": "instrument", "gauge": "instrument",
	"temperature": "temperature", "phase": "phase", "note": "note", "at": "at", "time": "at", "by": "by",
	// What a table of ours has besides.
	"title": "title", "late": "late", "event": "event",
}

// headingsHint names the headings.
const headingsHint = "the headings are of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at and by; of and value are needed"

// Table makes reading events of a table.
type Table struct {
	// By is who took the readings where no column says so, Now when.
	By  string
	Now time.Time
	// Again takes rows as new readings although the same ones were taken before.
	Again bool
	// Decimal says what a comma in a figure is.
	Decimal Decimal
	// Known are the readings that are there, by event: a row of a table that was written
	// from them is not taken again.
	Known map[string]journal.Reading

	// Events are what the rows come to, Refused what is wrong with rows.
	Events  []journal.Event
	Refused []Row
	// Already counts rows that are there by their event.
	Already int
	// Commas counts figures with a comma that nobody has explained.
	Commas int

	columns map[string]int
	heads   int
	// nameless are the columns without a heading; what stands in one is not guessed.
	nameless []int
	seen     map[string]int
}

// Decimal is what a comma in a figure marks.
type Decimal string

// The answers. Until one is given, a comma is asked about.
const (
	NotSaid Decimal = ""
	Point   Decimal = "point"
	Comma   Decimal = "comma"
)

// Row says something of one line of a table.
type Row struct {
	Row  int    `json:"row"`
	Says string `json:"says"`
	Do   string `json:"do"`
}

// Error is what is wrong with a table as a whole, with what to do.
type Error struct{ Says, Do string }

func (e *Error) Error() string { return e.Says }

func wrong(do, format string, values ...any) error {
	return &Error{Says: fmt.Sprintf(format, values...), Do: do}
}

// Read takes a table apart (CSV in UTF-8). The error is about the table as a whole, an
// *Error; what is wrong with a row is in Refused. name is what the table is called.
func (t *Table) Read(name string, text []byte) error {
	t.seen = map[string]int{}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !utf8.Valid(text) {
		return wrong("save it as CSV in UTF-8", "line %d of %s is not in UTF-8", BadLine(text), name)
	}
	skipped, text, comma := 0, text, rune(0)
	if first, rest, ok := bytes.Cut(text, []byte("\n")); ok {
		// Spreadsheets may write their separator in a line of its own.
		if s, ok := strings.CutPrefix(strings.TrimRight(string(first), "\r"), "sep="); ok && utf8.RuneCountInString(s) == 1 {
			comma, _ = utf8.DecodeRuneInString(s)
			skipped, text = 1, rest
		}
	}
	if comma == 0 {
		comma = Separator(text)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = comma, -1, true
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return wrong("begin it with a line of headings, like of,place,position,axis,value", "%s is empty", name)
	}
	if err != nil {
		says, do := Words(err)
		return wrong(do, "the line of headings cannot be read: %s", says)
	}
	if err := t.headings(head); err != nil {
		return err
	}
	for {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			row := 0
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				row = pe.StartLine + skipped
			}
			says, do := Words(err)
			t.Refused = append(t.Refused, Row{row, says, do})
			continue
		}
		line, _ := r.FieldPos(0)
		t.row(line+skipped, fields)
	}
}

// BadLine is the first line that is not UTF-8.
func BadLine(text []byte) int {
	line := 1
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if r == utf8.RuneError && n == 1 {
			break
		}
		if r == '\n' {
			line++
		}
		text = text[n:]
	}
	return line
}

// Separator guesses what divides the columns from the line of headings.
func Separator(text []byte) rune {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', 0
	for _, r := range []rune{',', ';', '\t'} {
		if n := bytes.Count(line, []byte(string(r))); n > most {
			best, most = r, n
		}
	}
	return best
}

func (t *Table) headings(head []string) error {
	t.columns, t.heads = map[string]int{}, len(head)
	if !slices.ContainsFunc(head, func(h string) bool { return readingColumns[strings.ToLower(strings.TrimSpace(h))] != "" }) {
		return wrong("begin the table with one, like of,place,position,axis,value", "the first line, %q, is no line of headings", Shortened(strings.Join(head, ",")))
	}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(h))
		if h == "" {
			t.nameless = append(t.nameless, i)
			continue
		}
		name, ok := readingColumns[h]
		if !ok {
			hint := headingsHint
			if near := formula.Nearest(h, slices.Sorted(maps.Keys(readingColumns))); near != "" {
				hint = "perhaps " + near + " is meant; " + hint
			}
			return wrong(hint, "the heading %q is not understood", h)
		}
		if _, twice := t.columns[name]; twice {
			return wrong("keep one of the two", "two headings mean %s, one of them %q", name, h)
		}
		t.columns[name] = i
	}
	for _, name := range []string{"of", "value"} {
		if _, ok := t.columns[name]; !ok {
			return wrong(headingsHint, "the table has no heading %s", name)
		}
	}
	return nil
}

// Words says what is wrong with a line of CSV.
func Words(err error) (says, do string) {
	switch {
	case errors.Is(err, csv.ErrBareQuote):
		return "a quotation mark stands inside a field that is not in quotes", `leave it out, or put the field in quotes and write the mark twice: "3/8"" drive"`
	case errors.Is(err, csv.ErrQuote):
		return "a field that begins with a quotation mark does not end with one", `close the quotes in this line; a mark inside them is written twice: "3/8"" drive"`
	}
	return err.Error(), "save the table as CSV again"
}

func (t *Table) refuse(line int, do, format string, values ...any) {
	t.Refused = append(t.Refused, Row{line, fmt.Sprintf(format, values...), do})
}

// row makes an event of one row, or says why not.
func (t *Table) row(line int, fields []string) {
	for i := range fields {
		fields[i] = strings.TrimSpace(fields[i])
	}
	if strings.Join(fields, "") == "" {
		return
	}
	get := func(name string) string {
		if i, ok := t.columns[name]; ok && i < len(fields) {
			return fields[i]
		}
		return ""
	}
	if n := len(fields); n > t.heads && strings.Join(fields[t.heads:], "") != "" {
		t.refuse(line, "take the surplus separator out; a decimal comma is written as a point, and a field that holds the separator stands in quotes", "there are %d fields under %d headings", n, t.heads)
		return
	}
	for _, i := range t.nameless {
		if i < len(fields) && fields[i] != "" {
			t.refuse(line, "write a heading above it, or take it out", "%q stands under no heading", Shortened(fields[i]))
			return
		}
	}
	for _, name := range []string{"of", "value"} {
		if get(name) == "" {
			t.refuse(line, "fill it in, or take the row out", "the field %s is empty", name)
			return
		}
	}
	t.event(line, get)
}

func (t *Table) event(line int, get func(string) string) {
	value := t.figure(get("value"))
	if u := get("unit"); u != "" {
		value += " " + u
	}
	body := journal.Reading{Of: get("of"), Place: get("place"), Value: value, Instrument: get("instrument"), Temperature: t.figure(get("temperature")), Phase: get("phase"), Note: get("note"),
		Cell: journal.Cell{Position: get("position"), Axis: get("axis")}}
	if n := get("n"); n != "" {
		x, err := strconv.Atoi(n)
		if err != nil || x < 1 {
			t.refuse(line, "number repeated readings 1, 2, 3", "the field n is %q, which is no number of a repeat", Shortened(n))
			return
		}
		body.Cell.N = x
	}
	if was, ok := t.Known[get("event")]; ok && same(was, body) {
		t.Already++
		return
	}
	at := t.Now.UTC().Truncate(time.Second)
	if s := get("at"); s != "" {
		var err error
		if at, err = timeOf(s); err != nil {
			t.refuse(line, "write it like 2026-03-02T10:04:00Z", "the field at is %q, which is not a time", Shortened(s))
			return
		}
	}
	by := t.By
	if s := get("by"); s != "" {
		by = s
	}
	e := journal.New(t.id(get), at, by, body)
	e.Late = get("late") != ""
	var err error
	if e.Bytes, err = e.Encode(); err != nil {
		says := err.Error()
		if _, cause, ok := strings.Cut(says, " cannot be written: "); ok {
			says = cause
		}
		t.refuse(line, "shorten or correct the field", "%s", says)
		return
	}
	e.Line = line
	t.Events = append(t.Events, e)
}

// KnownOf are the readings of a journal by their event.
func KnownOf(state *journal.State) map[string]journal.Reading {
	known := map[string]journal.Reading{}
	for _, r := range state.Readings {
		known[r.Event] = r.Reading
	}
	return known
}

// same says whether a row tells the same reading; a workbook leaves zeros at the end of
// a figure out.
func same(a, b journal.Reading) bool {
	if a.Of != b.Of || a.Place != b.Place || a.Cell.Position != b.Cell.Position || a.Cell.Axis != b.Cell.Axis || a.Phase != b.Phase {
		return false
	}
	x, err1 := quantity.Parse(a.Value)
	y, err2 := quantity.Parse(b.Value)
	return a.Value == b.Value || err1 == nil && err2 == nil && x.Value == y.Value
}

// commaFigure is a figure with a comma between digits and no point.
var commaFigure = regexp.MustCompile(`^([-+±]?\s*\d+),(\d+)([^0-9.,].*)?$`)

// figure reads a decimal comma as what it was said to be. Without a word it stays, and is
// refused further on: it is asked about, not guessed.
func (t *Table) figure(text string) string {
	m := commaFigure.FindStringSubmatch(text)
	if m == nil {
		return text
	}
	if t.Decimal == Comma {
		return m[1] + "." + m[2] + m[3]
	}
	t.Commas++
	return text
}

// timeOf reads a time as people write it in tables.
func timeOf(s string) (time.Time, error) {
	var err error
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"} {
		var t time.Time
		if t, err = time.Parse(layout, s); err == nil {
			return t, nil
		}
	}
	return time.Time{}, err
}

// id makes the id of a row's event out of all that the row says: the same row taken
// twice counts once, and the same words on two rows are two readings.
func (t *Table) id(get func(string) string) string {
	var key strings.Builder
	for _, name := range []string{"of", "place", "position", "axis", "n", "value", "unit", "instrument", "temperature", "phase", "note", "at", "by"} {
		key.WriteString(get(name))
		key.WriteByte('\x1f')
	}
	if t.Again {
		key.WriteString(t.Now.UTC().Format(time.RFC3339Nano))
	}
	text := key.String()
	t.seen[text]++
	sum := sha256.Sum256([]byte(text + strconv.Itoa(t.seen[text])))
	return "csv-" + hex.EncodeToString(sum[:10])
}

// Shortened keeps a message readable.
func Shortened(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}
