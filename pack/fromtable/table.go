package fromtable

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// The columns of the two layouts. The needed ones must be there even where all of
// their cells are empty, so that a misspelt head is never read as "not printed".
var (
	limitsNeeded = []string{"manual", "table", "component", "characteristic", "new_min", "new_max", "wear_limit_kind", "wear_limit", "unit", "confidence", "feature"}
	limitsMore   = []string{"page_address", "position", "desired_clearance_min", "desired_clearance_max", "max_allowable_clearance", "note", "doubt", "repair", "twin_unit",
		"new_min_twin", "new_max_twin", "wear_limit_twin", "desired_clearance_min_twin", "desired_clearance_max_twin", "max_allowable_clearance_twin"}
	jointsNeeded = []string{"manual", "table", "fastener", "thread", "torque_min", "torque_max", "unit", "confidence"}
	jointsMore   = []string{"page_address", "stages", "lubricant_note", "correction_factor", "note", "grade", "torque_min_twin", "torque_max_twin", "twin_unit", "stages_twin", "repair"}
)

// Cells with a fixed vocabulary.
var vocabulary = map[string][]string{
	"confidence":      {"aligned", "doubtful"},
	"wear_limit_kind": {"", "max", "min", "wear"},
}

// table is a CSV table with its head understood.
type table struct {
	name   string
	joints bool
	rows   []record
}

// record is one row of a table.
type record struct {
	line  int
	cells map[string]string
}

// get returns the cell under a column, "" where the table has no such column.
func (r record) get(column string) string { return r.cells[column] }

// readTable reads the text of a table and checks its columns and vocabulary.
func readTable(name string, text []byte) (*table, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !utf8.Valid(text) {
		return nil, fmt.Errorf("%s is not UTF-8 text: save the table as CSV, UTF-8", name)
	}
	head, _, _ := bytes.Cut(text, []byte("\n"))
	if len(bytes.TrimSpace(head)) == 0 {
		return nil, fmt.Errorf("%s is empty: a table begins with a line of column names", name)
	}
	reader := csv.NewReader(bytes.NewReader(text))
	reader.Comma = separator(head)
	reader.FieldsPerRecord = -1
	columns, err := reader.Read()
	if err != nil {
		return nil, fmt.Errorf("read the head of %s: %w", name, err)
	}
	t := &table{name: name}
	if err := t.understand(columns); err != nil {
		return nil, err
	}
	var mistakes []error
	for {
		cells, err := reader.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		line, _ := reader.FieldPos(0)
		if strings.TrimSpace(strings.Join(cells, "")) == "" {
			continue
		}
		if len(cells) != len(columns) {
			mistakes = append(mistakes, fmt.Errorf("line %d of %s has %d cells and the head %d: put cells that hold the separator in quotation marks", line, name, len(cells), len(columns)))
			continue
		}
		r := record{line, make(map[string]string, len(columns))}
		for i, column := range columns {
			r.cells[column] = strings.TrimSpace(cells[i])
		}
		mistakes = append(mistakes, t.words(r))
		t.rows = append(t.rows, r)
	}
	if err := errors.Join(mistakes...); err != nil {
		return nil, err
	}
	if len(t.rows) == 0 {
		return nil, fmt.Errorf("%s has a head and no rows: write one row for each figure of the manual", name)
	}
	return t, nil
}

// separator is the sign that the head has most of.
func separator(head []byte) rune {
	best, most := ',', bytes.Count(head, []byte(","))
	for _, sign := range []rune{';', '\t'} {
		if n := bytes.Count(head, []byte(string(sign))); n > most {
			best, most = sign, n
		}
	}
	return best
}

// understand tells the layout from the head and refuses what it does not know.
func (t *table) understand(columns []string) error {
	for i := range columns {
		columns[i] = strings.TrimSpace(columns[i])
	}
	needed, more, kind := limitsNeeded, limitsMore, "limits"
	if slices.Contains(columns, "fastener") {
		t.joints, needed, more, kind = true, jointsNeeded, jointsMore, "torque"
	}
	var mistakes []error
	for i, column := range columns {
		switch {
		case slices.Contains(columns[:i], column):
			mistakes = append(mistakes, fmt.Errorf("column %q stands twice in %s: keep one", column, t.name))
		case !slices.Contains(needed, column) && !slices.Contains(more, column):
			mistakes = append(mistakes, fmt.Errorf("column %q of %s is not known: a %s table needs %s and may have %s", column, t.name, kind, strings.Join(needed, ", "), strings.Join(more, ", ")))
		}
	}
	for _, column := range needed {
		if !slices.Contains(columns, column) {
			mistakes = append(mistakes, fmt.Errorf("column %q is missing in %s: a %s table needs %s; add the column and leave its cells empty where nothing is printed", column, t.name, kind, strings.Join(needed, ", ")))
		}
	}
	return errors.Join(mistakes...)
}

// words checks the cells that have a fixed vocabulary.
func (t *table) words(r record) error {
	for _, column := range []string{"confidence", "wear_limit_kind"} {
		cell, there := r.cells[column]
		if allowed := vocabulary[column]; there && !slices.Contains(allowed, cell) {
			return fmt.Errorf("line %d of %s: %s is %q: write %s", r.line, t.name, column, cell, strings.Join(nonEmpty(allowed...), " or "))
		}
	}
	if r.get("manual") == "" {
		return fmt.Errorf("line %d of %s names no manual: every figure needs its source, write it under manual", r.line, t.name)
	}
	return nil
}

// keepManual drops the rows of other manuals.
func (t *table) keepManual(manual string) error {
	if manual == "" {
		return nil
	}
	there := t.distinct("manual")
	if !slices.Contains(there, manual) {
		return fmt.Errorf("%s has no row of manual %q: it has %s", t.name, manual, strings.Join(there, ", "))
	}
	t.rows = slices.DeleteFunc(t.rows, func(r record) bool { return r.get("manual") != manual })
	return nil
}

// distinct returns the different cells of a column in the order of the rows.
func (t *table) distinct(column string) []string {
	var out []string
	for _, r := range t.rows {
		if cell := r.get(column); cell != "" && !slices.Contains(out, cell) {
			out = append(out, cell)
		}
	}
	return out
}

// baseName drops folders, so that no path of a machine gets into a pack.
func baseName(name string) string {
	return name[strings.LastIndexAny(name, `/\`)+1:]
}
