package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"buttonup/internal/sheet"
	"buttonup/internal/typed"
)

// tableRead is a table as text with separators, wherever it came from.
type tableRead struct {
	text    []byte
	refused []rowReport
	remarks []rowReport
}

// tableOf takes a table in CSV as it is, and one sheet of a workbook as CSV whose lines
// are the rows of the sheet. flag is how the table was given.
func tableOf(flag, name, of string, content []byte) (*tableRead, error) {
	if !sheet.IsWorkbook(content) {
		if of != "" {
			return nil, misused("--sheet", "leave it out for CSV", "%s is no workbook, so it has no sheets", shownName(name))
		}
		if is := natureOf(content); !is.isTable() {
			return nil, notTable(flag, shownName(name), is)
		}
		return &tableRead{text: content}, nil
	}
	r, err := sheet.ReadWorkbook(content, of)
	var none *sheet.NoSheetError
	switch {
	case errors.As(err, &none):
		return nil, misused("--sheet", "its sheets are "+strings.Join(none.Names, ", "), "%s has no sheet %q", shownName(name), of)
	case errors.Is(err, sheet.ErrTooLarge):
		return nil, failedArgument(flag, "copy the readings into a workbook of their own", "%s is larger than any table of readings", shownName(name))
	case err != nil:
		return nil, failedArgument(flag, "save it anew as a workbook (XLSX) or as CSV in UTF-8", "%s is a spreadsheet or another zipped file, and no workbook that can be read", shownName(name))
	}
	t := &tableRead{text: r.CSV()}
	for _, x := range r.Trouble {
		t.refused = append(t.refused, rowReport{Row: x.Row, Says: x.Says, Do: x.Remedy})
	}
	if len(r.Rows) > 0 && r.Formulas > 0 {
		t.remarks = append(t.remarks, rowReport{Row: r.Rows[0].Number, Says: fmt.Sprintf("%s of sheet %s: the value that the workbook was saved with was taken, nothing was computed", count(r.Formulas, "formula"), r.Name)})
	}
	if len(r.Names) > 1 && of == "" && slices.Contains(r.Names, r.Name) {
		t.remarks = append(t.remarks, rowReport{Row: 1, Says: "only sheet " + r.Name + " was read; there are " + strings.Join(r.Names, ", "), Do: "name another with --sheet"})
	}
	return t, nil
}

// tableError says what is wrong with a whole table.
func tableError(flag string, err error) error {
	var told *typed.Error
	if errors.As(err, &told) {
		return failedArgument(flag, told.Do, "%s", told.Says)
	}
	return err
}

// plainTable is the content of a table that was named, or one sheet of a workbook as CSV.
// A cell without a value refuses the whole: rows here are not told of one by one.
func (a *app) plainTable(flag, name string, content []byte) ([]byte, error) {
	if !sheet.IsWorkbook(content) {
		return content, nil
	}
	t, err := tableOf(flag, name, "", content)
	if err != nil {
		return nil, err
	}
	if len(t.refused) > 0 {
		return nil, failedArgument(flag, t.refused[0].Do, "%s: %s", shownName(name), t.refused[0].Says)
	}
	a.out.Flush()
	for _, r := range t.remarks {
		a.say("note: %s", r.Says)
	}
	return t.text, nil
}
