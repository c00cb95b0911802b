package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Read is one sheet of a workbook as texts.
type Read struct {
	// Name is that of the sheet, Names those of all that can be seen in the workbook.
	Name  string
	Names []string
	Rows  []ReadRow
	// Formulas counts the cells whose value a formula gave when the workbook was last
	// saved: the value is taken, and that should be said.
	Formulas int
	// Trouble are cells that have no value to take.
	Trouble []CellTrouble
}

// ReadRow is one row, numbered as the spreadsheet shows it.
type ReadRow struct {
	Number int
	Cells  []string
}

// CellTrouble is a cell that cannot be taken, with what to do.
type CellTrouble struct {
	Row          int
	Cell         string
	Says, Remedy string
}

// The most that is read of a workbook. What is larger is no table of readings.
const (
	mostPart    = 8 << 20
	mostRows    = 100_000
	mostColumns = 256
	mostParts   = 4096
)

var (
	// ErrNoWorkbook is returned for a file that is no workbook (XLSX).
	ErrNoWorkbook = errors.New("it is no workbook (XLSX)")
	// ErrTooLarge is returned for a workbook that is larger than a table of readings.
	ErrTooLarge = errors.New("it is larger than any table of readings")
)

// NoSheetError says that a workbook has no sheet of a name.
type NoSheetError struct {
	Name  string
	Names []string
}

func (e *NoSheetError) Error() string {
	return fmt.Sprintf("there is no sheet %q; there are %s", e.Name, strings.Join(e.Names, ", "))
}

// IsWorkbook says whether a file begins like a workbook.
func IsWorkbook(content []byte) bool { return bytes.HasPrefix(content, []byte("PK\x03\x04")) }

// ReadWorkbook reads one sheet of a workbook; an empty name is the first one that can be
// seen. Every cell becomes a text: a number with a decimal point and as many figures as
// say the same, a day or time as ISO 8601 without a zone, since a workbook knows none.
// No formula is computed: where a cell has one, the value stored with it is taken and
// counted.
//
// Source: ECMA-376, part 1: 18.2 workbook, 18.3 worksheets (cell types in 18.18.11), 18.4
// shared strings, 18.8.30 number formats, 18.17.4 dates; from memory.
func ReadWorkbook(content []byte, name string) (*Read, error) {
	z, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	if err != nil || len(z.File) > mostParts {
		return nil, ErrNoWorkbook
	}
	b := &reader{parts: map[string]*zip.File{}}
	for _, f := range z.File {
		b.parts[strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/")] = f
	}
	r, err := b.read(name)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// reader is a workbook under way.
type reader struct {
	parts   map[string]*zip.File
	strings []string
	// dates says of each style of cells whether its numbers are days and times.
	dates    []bool
	from1904 bool
}

func (b *reader) part(name string, into any) error {
	f := b.parts[name]
	if f == nil {
		return ErrNoWorkbook
	}
	in, err := f.Open()
	if err != nil {
		return ErrNoWorkbook
	}
	defer in.Close()
	text, err := io.ReadAll(io.LimitReader(in, mostPart+1))
	if err != nil {
		return ErrNoWorkbook
	}
	if len(text) > mostPart {
		return ErrTooLarge
	}
	if err := xml.Unmarshal(text, into); err != nil {
		return ErrNoWorkbook
	}
	return nil
}

type xmlWorkbook struct {
	Properties struct {
		Date1904 string `xml:"date1904,attr"`
	} `xml:"workbookPr"`
	Sheets []struct {
		Name  string `xml:"name,attr"`
		State string `xml:"state,attr"`
		ID    string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
	} `xml:"sheets>sheet"`
}

type xmlRelationships struct {
	List []struct {
		ID     string `xml:"Id,attr"`
		Type   string `xml:"Type,attr"`
		Target string `xml:"Target,attr"`
	} `xml:"Relationship"`
}

func (b *reader) read(name string) (*Read, error) {
	var root xmlRelationships
	if err := b.part("_rels/.rels", &root); err != nil {
		return nil, err
	}
	main := ""
	for _, r := range root.List {
		if strings.HasSuffix(r.Type, "/officeDocument") {
			main = strings.TrimPrefix(r.Target, "/")
		}
	}
	var book xmlWorkbook
	if err := b.part(main, &book); err != nil {
		return nil, err
	}
	b.from1904 = book.Properties.Date1904 == "1" || book.Properties.Date1904 == "true"
	var relations xmlRelationships
	if err := b.part(path.Join(path.Dir(main), "_rels", path.Base(main)+".rels"), &relations); err != nil {
		return nil, err
	}
	targets := map[string]string{}
	for _, r := range relations.List {
		target := strings.TrimPrefix(r.Target, "/")
		if !strings.HasPrefix(r.Target, "/") {
			target = path.Join(path.Dir(main), r.Target)
		}
		targets[r.ID] = target
		switch {
		case strings.HasSuffix(r.Type, "/sharedStrings"):
			if err := b.readStrings(target); err != nil {
				return nil, err
			}
		case strings.HasSuffix(r.Type, "/styles"):
			if err := b.readStyles(target); err != nil {
				return nil, err
			}
		}
	}
	out := &Read{}
	file := ""
	for _, s := range book.Sheets {
		seen := s.State == "" || s.State == "visible"
		if seen {
			out.Names = append(out.Names, s.Name)
		}
		if file == "" && (name == "" && seen || name != "" && strings.EqualFold(s.Name, name)) {
			out.Name, file = s.Name, targets[s.ID]
		}
	}
	if file == "" {
		if name != "" {
			return nil, &NoSheetError{name, out.Names}
		}
		return nil, ErrNoWorkbook
	}
	return out, b.readSheet(file, out)
}

// xmlText is a text of several runs; what is read aloud above it is left out.
type xmlText struct {
	Text string `xml:"t"`
	Runs []struct {
		Text string `xml:"t"`
	} `xml:"r"`
}

func (t *xmlText) String() string {
	var s strings.Builder
	s.WriteString(t.Text)
	for _, r := range t.Runs {
		s.WriteString(r.Text)
	}
	return s.String()
}

func (b *reader) readStrings(name string) error {
	var table struct {
		Items []xmlText `xml:"si"`
	}
	if err := b.part(name, &table); err != nil {
		return err
	}
	for i := range table.Items {
		b.strings = append(b.strings, table.Items[i].String())
	}
	return nil
}

func (b *reader) readStyles(name string) error {
	var styles struct {
		Formats []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			Format int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if err := b.part(name, &styles); err != nil {
		return err
	}
	codes := map[int]string{}
	for _, f := range styles.Formats {
		codes[f.ID] = f.Code
	}
	for _, c := range styles.Cells {
		built := c.Format >= 14 && c.Format <= 22 || c.Format >= 45 && c.Format <= 47
		b.dates = append(b.dates, built || isDateCode(codes[c.Format]))
	}
	return nil
}

// isDateCode says whether a format code shows days or times: a letter of them outside of
// quotes, brackets and what is escaped.
func isDateCode(code string) bool {
	quoted, bracket := false, false
	for i := 0; i < len(code); i++ {
		switch c := code[i]; {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\\' || c == '_' || c == '*':
			i++
		case c == '[':
			bracket = true
		case c == ']':
			bracket = false
		case bracket:
		case strings.IndexByte("yYmMdDhHsS", c) >= 0:
			return true
		}
	}
	return false
}

type xmlCell struct {
	Reference string `xml:"r,attr"`
	Type      string `xml:"t,attr"`
	Style     int    `xml:"s,attr"`
	Formula   *struct {
		Text string `xml:",chardata"`
	} `xml:"f"`
	Value  *string `xml:"v"`
	Inline xmlText `xml:"is"`
}

func (b *reader) readSheet(name string, out *Read) error {
	var sheet struct {
		Rows []struct {
			Number int       `xml:"r,attr"`
			Cells  []xmlCell `xml:"c"`
		} `xml:"sheetData>row"`
	}
	if err := b.part(name, &sheet); err != nil {
		return err
	}
	if len(sheet.Rows) > mostRows {
		return ErrTooLarge
	}
	number := 0
	for _, r := range sheet.Rows {
		number++
		if r.Number > 0 {
			number = r.Number
		}
		row := ReadRow{Number: number}
		for i := range r.Cells {
			c := &r.Cells[i]
			column := len(row.Cells)
			if n, ok := columnOf(c.Reference); ok {
				column = n
			}
			if column >= mostColumns {
				return ErrTooLarge
			}
			for len(row.Cells) <= column {
				row.Cells = append(row.Cells, "")
			}
			row.Cells[column] = b.text(c, number, column, out)
		}
		out.Rows = append(out.Rows, row)
	}
	slices.SortStableFunc(out.Rows, func(a, b ReadRow) int { return a.Number - b.Number })
	return nil
}

// text is what a cell shows, or "" with a trouble.
func (b *reader) text(c *xmlCell, row, column int, out *Read) string {
	at := columnName(column) + strconv.Itoa(row)
	trouble := func(says, remedy string) string {
		out.Trouble = append(out.Trouble, CellTrouble{Row: row, Cell: at, Says: says, Remedy: remedy})
		return ""
	}
	value := ""
	if c.Value != nil {
		value = *c.Value
	}
	if c.Formula != nil {
		if value == "" && c.Type != "str" {
			return trouble("cell "+at+" holds a formula without a value", "open the workbook, let it compute, and save it; or write the value itself into the cell")
		}
		out.Formulas++
	}
	switch c.Type {
	case "s":
		n, err := strconv.Atoi(strings.TrimSpace(value))
		if err != nil || n < 0 || n >= len(b.strings) {
			return trouble("cell "+at+" names a text that is not in the workbook", "save the workbook again")
		}
		return b.strings[n]
	case "inlineStr":
		return c.Inline.String()
	case "str", "d":
		return value
	case "b":
		if value == "1" {
			return "TRUE"
		}
		return "FALSE"
	case "e":
		return trouble("cell "+at+" shows the error "+value, "mend the formula, or write the value itself into the cell")
	}
	if value == "" {
		return ""
	}
	x, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return trouble("cell "+at+" holds "+strconv.Quote(value)+", which is no number", "write it anew")
	}
	if c.Style >= 0 && c.Style < len(b.dates) && b.dates[c.Style] {
		return b.date(x)
	}
	return plainNumber(x)
}

// plainNumber prints a number with the 15 figures that spreadsheets keep, without an
// exponent: 92.004 is stored as 92.004000000000005 by some.
func plainNumber(x float64) string {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 15, 64), 64)
	if err != nil {
		y = x
	}
	return strconv.FormatFloat(y, 'f', -1, 64)
}

// date turns the days of a workbook into ISO 8601. The count begins so that 1 March 1900
// is 61; before it spreadsheets count a day that there never was.
func (b *reader) date(days float64) string {
	begin := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if b.from1904 {
		begin = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	if days < 0 || days > 2958465 {
		return plainNumber(days)
	}
	t := begin.AddDate(0, 0, int(days)).Add(time.Duration(math.Round((days-math.Floor(days))*86400)) * time.Second)
	switch {
	case days < 1:
		return t.Format("15:04:05")
	case days == math.Floor(days):
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02T15:04:05")
}

// columnOf is the number of a column from 0 in a reference like AB12.
func columnOf(reference string) (int, bool) {
	n := 0
	letters := strings.TrimRight(reference, "0123456789")
	if letters == "" || len(letters) > 3 {
		return 0, false
	}
	for _, r := range strings.ToUpper(letters) {
		if r < 'A' || r > 'Z' {
			return 0, false
		}
		n = n*26 + int(r-'A') + 1
	}
	return n - 1, true
}

// CSV writes the sheet as comma-separated values, each row on the line of its number, so
// that what is said of a line is said of the row. It is for reading on, not for giving
// away: texts are as they are.
func (r *Read) CSV() []byte {
	var b bytes.Buffer
	line := 1
	for _, row := range r.Rows {
		for ; line < row.Number; line++ {
			b.WriteString("\n")
		}
		for i, c := range row.Cells {
			if i > 0 {
				b.WriteByte(',')
			}
			c = strings.Map(func(x rune) rune {
				if x == '\n' || x == '\r' {
					return ' '
				}
				return x
			}, c)
			if strings.ContainsAny(c, `",`) || strings.TrimSpace(c) != c {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			b.WriteString(c)
		}
		b.WriteString("\n")
		line = row.Number + 1
	}
	return b.Bytes()
}
