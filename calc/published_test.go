package calc

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

// nothingGiven stands in a cell for an argument that is left out.
const nothingGiven = "-"

// alsoInput stands before an output that is called as an argument is: the columns of a
// check file differ.
const alsoInput = "gives "

// TestPublished runs what others printed through the calculations as text, the way a
// person would write it. A file is called after its calculation.
func TestPublished(t *testing.T) { runChecks(t, "testdata/published/*.check") }

// Worked apart from this code from formulas or inputs of others; nobody printed them.
func TestOurs(t *testing.T) { runChecks(t, "testdata/ours/*.check") }

// The figures of the invented demo engine guard against change; they prove nothing.
func TestInvented(t *testing.T) { runChecks(t, "testdata/invented/*.check") }

func runChecks(t *testing.T, pattern string) {
	t.Helper()
	for _, f := range check.Glob(t, pattern) {
		base := filepath.Base(f.Path)
		name, _, _ := strings.Cut(base, ".")
		t.Run(strings.TrimSuffix(base, ".check"), func(t *testing.T) {
			c, err := Find(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range f.Rows {
				given := map[string]string{}
				for column, cell := range row.In {
					if cell == nothingGiven {
						continue
					}
					if column == "points" {
						cell = withCommas(cell)
					}
					given[column] = cell
				}
				a, err := c.Run(given)
				if err != nil {
					t.Errorf("%s:%d: %v", f.Path, row.Line, err)
					continue
				}
				for _, column := range f.Columns[f.Inputs:] {
					compare(t, f, row, column, a)
				}
			}
		})
	}
}

// withCommas writes points as the argument wants them; a check file parts its cells by
// commas.
func withCommas(cell string) string {
	points := strings.Split(cell, ";")
	for i, p := range points {
		points[i] = strings.Join(strings.Fields(p), ",")
	}
	return strings.Join(points, "; ")
}

// derived are columns made of several outputs.
var derived = map[string]func(si func(string) float64) float64{
	"primary":    func(si func(string) float64) float64 { return math.Hypot(si("primary_x"), si("primary_y")) },
	"bow_along":  func(si func(string) float64) float64 { return si("bow") * math.Cos(si("bow_angle")) },
	"bow_square": func(si func(string) float64) float64 { return si("bow") * math.Sin(si("bow_angle")) },
}

func compare(t *testing.T, f *check.File, row check.Row, column string, a *Answer) {
	t.Helper()
	si := func(name string) float64 {
		fig, ok := a.Figure(name)
		if !ok || fig.SI == nil {
			t.Fatalf("%s:%d: there is no number %s in the answer", f.Path, row.Line, name)
		}
		return *fig.SI
	}
	cell := row.Out[column]
	name := strings.TrimPrefix(column, alsoInput)
	printed, err := check.Number(cell)
	if err != nil {
		fig, ok := a.Figure(name)
		if !ok || fig.SI != nil || fig.Text != cell {
			t.Errorf("%s:%d: %s is %+v, want %q", f.Path, row.Line, column, fig, cell)
		}
		return
	}
	var got float64
	if make, ok := derived[name]; ok {
		got = make(si)
	} else {
		got = si(name)
	}
	if printed.Unit != "" {
		u, err := quantity.ParseUnit(printed.Unit)
		if err != nil {
			t.Fatalf("%s:%d: %v", f.Path, row.Line, err)
		}
		got = u.InDifference(got)
	}
	f.Compare(t, row, column, got)
}
