// Package check reads published check values, so that a formula can be tested
// against numbers that somebody else printed. It is for tests only.
//
// A check file lives in testdata/published of the package it tests and ends in
// .check. It is headers, then rows:
//
//	source:    ISO 286-1, Table 1, tolerance grades
//	seen:      two stored tables that quote it; the standard itself not seen
//	tolerance: 0.5 %   why: the table prints two figures
//	columns:   nominal, grade -> width
//	# Lines that begin with # are comments.
//	 10 mm, IT14 -> 0.36 mm
//	100 mm, IT14 -> 0.87 mm
//
// The headers are these, one a line, each once but for note; all stand before the
// first row.
//
//	source:    the publication, with edition and table or page. Required.
//	seen:      what was seen of it; "memory" where nothing was. Required.
//	columns:   the inputs, an arrow, the outputs; every name once. Required.
//	tolerance: see below. Without it, half a unit of the last printed digit.
//	note:      anything a reader of the file should know. May be repeated.
//
// A row has the inputs, an arrow and the outputs, as many as columns names and in
// its order. Commas part the cells, so a cell holds none; no cell is empty. A file
// without a row is refused: it would check nothing.
//
// A tolerance is one of these, and "why:" with a reason may follow it:
//
//	half a unit of the last printed digit
//	one unit of the last printed digit
//	0.5 %                of the printed value
//	rel 1e-12            the same as a share
//	abs 1e-6             in the unit of the cell
//
// The last printed digit of 21200 is its final zero, and of 1.50e-3 the zero of
// 1.50. Every tolerance also grants the rounding of a float64.
package check

import (
	"math"
	"os"
	"path/filepath"
	"sort"
	"testing"
)

// File is a check file that has been read and found whole.
type File struct {
	// Path is where it was read.
	Path string
	// Source and Seen are the headers of those names.
	Source, Seen string
	// Tolerance is the header as written, or the default spelt out.
	Tolerance string
	// Notes are the note headers in their order.
	Notes []string
	// Columns names the inputs and then the outputs.
	Columns []string
	// Inputs counts how many of Columns are inputs.
	Inputs int
	// Rows are the rows in their order.
	Rows []Row

	tolerance tolerance
}

// Row is one row: its cells as text, by column.
type Row struct {
	// Line is where the row stands in its file, from 1.
	Line int
	// In holds the inputs and Out the printed results.
	In, Out map[string]string
}

// FromMemory reports whether nothing was seen of the source.
func (f *File) FromMemory() bool { return f.Seen == "memory" }

// Glob reads every check file that the pattern matches, sorted by path. A file
// that is refused stops the test, and so does a pattern that matches nothing.
func Glob(t testing.TB, pattern string) []*File {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatalf("pattern %q: %v", pattern, err)
	}
	if len(paths) == 0 {
		t.Fatalf("no check file matches %q", pattern)
	}
	sort.Strings(paths)
	var files []*File
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := Parse(path, string(text))
		if err != nil {
			t.Fatalf("check file refused:\n%v", err)
		}
		files = append(files, f)
	}
	return files
}

// Compare fails the test unless got agrees with the number printed in the row's
// output of that name, within the tolerance of the file. The cell is a number or a
// number with a unit; got is in that unit. NaN agrees with nothing.
func (f *File) Compare(t testing.TB, row Row, column string, got float64) {
	t.Helper()
	cell, ok := row.Out[column]
	if !ok {
		t.Fatalf("%s:%d: no output is called %q", f.Path, row.Line, column)
		return
	}
	if err := f.Agrees(cell, got); err != nil {
		t.Errorf("%s:%d: %s: %v", f.Path, row.Line, column, err)
	}
}

// Agrees is [File.Compare] without a test: nil if got agrees with the number that
// the cell prints, or an error that says by how much it does not or why the cell is
// no number.
func (f *File) Agrees(cell string, got float64) error {
	p, err := Number(cell)
	if err != nil {
		return err
	}
	allowed := f.tolerance.width(p)
	// A value halfway between two printed ones may come out an ulp too far.
	allowed += 4 * 0x1p-53 * math.Abs(p.Value)
	if off := math.Abs(got - p.Value); !(off <= allowed) {
		return &Disagreement{Cell: cell, Got: got, Off: off, Allowed: allowed, Tolerance: f.Tolerance}
	}
	return nil
}
