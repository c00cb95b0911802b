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
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"buttonup/formula"
	"buttonup/journal"
)

// readingColumns are the headings that are understood, and the column each means.
var readingColumns = map[string]string{
	"of": "of", "dimension": "of", "name": "of", "place": "place", "position": "position", "axis": "axis", "n": "n", "repeat": "n",
	"value": "value", "reading": "value", "unit": "unit", "instrument": "instrument", "gauge": "instrument",
	"temperature": "temperature", "phase": "phase", "note": "note", "at": "at", "time": "at", "by": "by",
}

const headingsHint = "the headings are of, place, position, axis, n, value, unit, instrument, temperature, phase, note, at and by; of and value are needed"

// readingTable makes reading events of a table.
type readingTable struct {
	by    string
	now   time.Time
	again bool

	columns map[string]int
	heads   int
	// nameless are the columns without a heading; what stands in one is not guessed.
	nameless []int
	seen     map[string]int
	events   []journal.Event
	refused  []rowReport
}

// read takes a table apart. The error is about the table as a whole; what is wrong
// with a row is in refused.
func (t *readingTable) read(name string, text []byte) error {
	if is := natureOf(text); !is.isTable() {
		return notTable("--csv", shownName(name), is)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !utf8.Valid(text) {
		return failedArgument("--csv", "save it as CSV in UTF-8", "line %d of %s is not in UTF-8", badLine(text), shownName(name))
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
		comma = separator(text)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = comma, -1, true
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return failedArgument("--csv", "begin it with a line of headings, like of,place,position,axis,value", "%s is empty", shownName(name))
	}
	if err != nil {
		says, do := csvWords(err)
		return failedArgument("--csv", do, "the line of headings cannot be read: %s", says)
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
			says, do := csvWords(err)
			t.refused = append(t.refused, rowReport{row, says, do})
			continue
		}
		line, _ := r.FieldPos(0)
		t.row(line+skipped, fields)
	}
}

// badLine is the first line that is not UTF-8.
func badLine(text []byte) int {
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

func (t *readingTable) headings(head []string) error {
	t.columns, t.heads = map[string]int{}, len(head)
	if !slices.ContainsFunc(head, func(h string) bool { return readingColumns[strings.ToLower(strings.TrimSpace(h))] != "" }) {
		return failedArgument("--csv", "begin the table with one, like of,place,position,axis,value", "the first line, %q, is no line of headings", shortened(strings.Join(head, ",")))
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
			if near := formula.Nearest(h, sortedKeys(readingColumns)); near != "" {
				hint = "perhaps " + near + " is meant; " + hint
			}
			return failedArgument("--csv", hint, "the heading %q is not understood", h)
		}
		if _, twice := t.columns[name]; twice {
			return failedArgument("--csv", "keep one of the two", "two headings mean %s, one of them %q", name, h)
		}
		t.columns[name] = i
	}
	for _, name := range []string{"of", "value"} {
		if _, ok := t.columns[name]; !ok {
			return failedArgument("--csv", headingsHint, "the table has no heading %s", name)
		}
	}
	return nil
}

func csvWords(err error) (says, do string) {
	switch {
	case errors.Is(err, csv.ErrBareQuote):
		return "a quotation mark stands inside a field that is not in quotes", `leave it out, or put the field in quotes and write the mark twice: "3/8"" drive"`
	case errors.Is(err, csv.ErrQuote):
		return "a field that begins with a quotation mark does not end with one", `close the quotes in this line; a mark inside them is written twice: "3/8"" drive"`
	}
	return err.Error(), "save the table as CSV again"
}

func (t *readingTable) refuse(line int, do, format string, values ...any) {
	t.refused = append(t.refused, rowReport{line, fmt.Sprintf(format, values...), do})
}

// row makes an event of one row, or says why not.
func (t *readingTable) row(line int, fields []string) {
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
			t.refuse(line, "write a heading above it, or take it out", "%q stands under no heading", shortened(fields[i]))
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

func (t *readingTable) event(line int, get func(string) string) {
	value := get("value")
	if u := get("unit"); u != "" {
		value += " " + u
	}
	body := journal.Reading{Of: get("of"), Place: get("place"), Value: value, Instrument: get("instrument"), Temperature: get("temperature"), Phase: get("phase"), Note: get("note"),
		Cell: journal.Cell{Position: get("position"), Axis: get("axis")}}
	if n := get("n"); n != "" {
		x, err := strconv.Atoi(n)
		if err != nil || x < 1 {
			t.refuse(line, "number repeated readings 1, 2, 3", "the field n is %q, which is no number of a repeat", shortened(n))
			return
		}
		body.Cell.N = x
	}
	at := t.now.UTC().Truncate(time.Second)
	if s := get("at"); s != "" {
		var err error
		if at, err = parseTime(s); err != nil {
			t.refuse(line, "write it like 2026-03-02T10:04:00Z", "the field at is %q, which is not a time", shortened(s))
			return
		}
	}
	by := t.by
	if s := get("by"); s != "" {
		by = s
	}
	e := journal.New(t.id(get), at, by, body)
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
	t.events = append(t.events, e)
}

// id makes the id of a row's event out of all that the row says: the same row taken
// twice counts once, and the same words on two rows are two readings.
func (t *readingTable) id(get func(string) string) string {
	var key strings.Builder
	for _, name := range []string{"of", "place", "position", "axis", "n", "value", "unit", "instrument", "temperature", "phase", "note", "at", "by"} {
		key.WriteString(get(name))
		key.WriteByte('\x1f')
	}
	if t.again {
		key.WriteString(t.now.UTC().Format(time.RFC3339Nano))
	}
	text := key.String()
	t.seen[text]++
	sum := sha256.Sum256([]byte(text + strconv.Itoa(t.seen[text])))
	return "csv-" + hex.EncodeToString(sum[:10])
}

// shortened keeps a message readable.
func shortened(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}
