package check

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
)

const arrow = "->"

// header is a word and a colon at the start of a line. A row never looks like one,
// because a cell that begins so would have to hold the colon.
var header = regexp.MustCompile(`^([A-Za-z][A-Za-z-]*):(?:\s+|$)(.*)$`)

// Parse reads the text of a check file. The path is used in messages only. All that
// is wrong with the file is reported together, one line each.
func Parse(path, text string) (*File, error) {
	f := &File{Path: path, Tolerance: halfUnit, tolerance: tolerance{digits: 0.5}}
	var problems []error
	refuse := func(line int, format string, args ...any) {
		problems = append(problems, fmt.Errorf("%s:%d: %s", path, line, fmt.Sprintf(format, args...)))
	}
	seen := map[string]int{}
	for i, raw := range strings.Split(text, "\n") {
		n, line := i+1, strings.TrimSpace(raw)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if m := header.FindStringSubmatch(line); m != nil {
			name, value := m[1], strings.TrimSpace(m[2])
			switch first, again := seen[name]; {
			case len(f.Rows) > 0:
				refuse(n, "the header %s: stands after the first row; headers stand before it", name)
				continue
			case again && name != "note":
				refuse(n, "the header %s: was already given in line %d", name, first)
				continue
			case value == "":
				refuse(n, "the header %s: is empty", name)
			}
			seen[name] = n
			switch name {
			case "source":
				f.Source = value
			case "seen":
				f.Seen = value
			case "note":
				f.Notes = append(f.Notes, value)
			case "tolerance":
				t, err := parseTolerance(value)
				if err != nil {
					refuse(n, "%v", err)
				}
				f.Tolerance, f.tolerance = value, t
			case "columns":
				if err := f.columns(value); err != nil {
					refuse(n, "%v", err)
				}
			default:
				refuse(n, "unknown header %s:; write source, seen, tolerance, columns or note", name)
			}
			continue
		}
		if seen["columns"] == 0 {
			refuse(n, "a row stands before the columns: header")
			continue
		}
		row, err := f.row(line)
		if err != nil {
			refuse(n, "%v", err)
			continue
		}
		row.Line = n
		f.Rows = append(f.Rows, row)
	}
	for _, name := range []string{"source", "seen", "columns"} {
		if seen[name] == 0 {
			problems = append(problems, fmt.Errorf("%s: the header %s: is missing", path, name))
		}
	}
	if len(f.Rows) == 0 && len(problems) == 0 {
		problems = append(problems, fmt.Errorf("%s: there is no row, so nothing would be checked", path))
	}
	if len(problems) > 0 {
		return nil, errors.Join(problems...)
	}
	return f, nil
}

func (f *File) columns(value string) error {
	in, out, err := cells(value)
	if err != nil {
		return fmt.Errorf("columns: %w", err)
	}
	f.Inputs, f.Columns = len(in), append(in, out...)
	named := map[string]bool{}
	for _, name := range f.Columns {
		if named[name] {
			return fmt.Errorf("columns: the name %q stands twice", name)
		}
		named[name] = true
	}
	return nil
}

func (f *File) row(line string) (Row, error) {
	in, out, err := cells(line)
	if err != nil {
		return Row{}, err
	}
	if outputs := len(f.Columns) - f.Inputs; len(in) != f.Inputs || len(out) != outputs {
		return Row{}, fmt.Errorf("the row has %d -> %d cells, and columns: names %d -> %d", len(in), len(out), f.Inputs, outputs)
	}
	row := Row{In: map[string]string{}, Out: map[string]string{}}
	for i, cell := range in {
		row.In[f.Columns[i]] = cell
	}
	for i, cell := range out {
		row.Out[f.Columns[f.Inputs+i]] = cell
	}
	return row, nil
}

// cells parts "a, b -> c, d" at its arrow and its commas.
func cells(line string) (in, out []string, err error) {
	sides := strings.Split(line, arrow)
	if len(sides) != 2 {
		return nil, nil, fmt.Errorf("%d arrows (->) where one is needed in %q", len(sides)-1, line)
	}
	for i, side := range sides {
		list := strings.Split(side, ",")
		for j, cell := range list {
			if list[j] = strings.TrimSpace(cell); list[j] == "" {
				return nil, nil, fmt.Errorf("an empty cell in %q", line)
			}
		}
		if i == 0 {
			in = list
		} else {
			out = list
		}
	}
	return in, out, nil
}
