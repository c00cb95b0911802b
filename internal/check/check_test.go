package check

import (
	"errors"
	"math"
	"strings"
	"testing"
)

const whole = `source: a book, p. 4
seen: memory
# a comment
tolerance: 0.5 %   why: the table prints two figures
note: first
note: second
columns: nominal, grade -> width

 10 mm, IT14 -> 0.36 mm
100 mm, IT14 -> 0.87 mm
`

func TestParse(t *testing.T) {
	f, err := Parse("a.check", whole)
	if err != nil {
		t.Fatal(err)
	}
	if f.Path != "a.check" || f.Source != "a book, p. 4" || !f.FromMemory() || f.Tolerance != "0.5 %   why: the table prints two figures" {
		t.Errorf("headers read as %+v", f)
	}
	if got := strings.Join(f.Columns, "|"); got != "nominal|grade|width" || f.Inputs != 2 {
		t.Errorf("columns %q, %d inputs", got, f.Inputs)
	}
	if len(f.Notes) != 2 || f.Notes[1] != "second" {
		t.Errorf("notes %q", f.Notes)
	}
	if len(f.Rows) != 2 {
		t.Fatalf("%d rows", len(f.Rows))
	}
	if r := f.Rows[1]; r.Line != 10 || r.In["nominal"] != "100 mm" || r.In["grade"] != "IT14" || r.Out["width"] != "0.87 mm" || len(r.In) != 2 || len(r.Out) != 1 {
		t.Errorf("row %+v", r)
	}
}

func TestParseRefuses(t *testing.T) {
	swap := func(old, new string) string { return strings.Replace(whole, old, new, 1) }
	for _, c := range []struct{ name, text, says string }{
		{"unknown header", swap("# a comment", "sorce: a book"), "a.check:3: unknown header sorce:"},
		{"header in capitals", swap("seen: memory", "Seen: memory"), "unknown header Seen:"},
		{"no source", swap("source: a book, p. 4\n", ""), "the header source: is missing"},
		{"empty source", swap("source: a book, p. 4", "source:"), "the header source: is empty"},
		{"no seen", swap("seen: memory\n", ""), "the header seen: is missing"},
		{"empty seen", swap("seen: memory", "seen:"), "the header seen: is empty"},
		{"no columns", swap("columns: nominal, grade -> width\n", ""), "the header columns: is missing"},
		{"columns without arrow", swap("grade -> width", "grade, width"), "0 arrows"},
		{"a name twice", swap("grade -> width", "grade -> nominal"), `the name "nominal" stands twice`},
		{"a header twice", swap("# a comment", "seen: a page"), "the header seen: was already given in line 2"},
		{"a header after a row", whole + "note: late\n", "stands after the first row"},
		{"a row before columns", swap("note: second", "5 mm, IT14 -> 3"), "a row stands before the columns: header"},
		{"a cell too few", swap("10 mm, IT14", "10 mm"), "a.check:9: the row has 1 -> 1 cells, and columns: names 2 -> 1"},
		{"a cell too many", swap("0.36 mm", "0.36 mm, 4"), "the row has 2 -> 2 cells"},
		{"cells on the wrong side", swap("10 mm, IT14 -> 0.36 mm", "10 mm -> IT14, 0.36 mm"), "the row has 1 -> 2 cells"},
		{"an empty cell", swap("IT14 ->", " ->"), "an empty cell"},
		{"no arrow", swap("IT14 ->", "IT14,"), "0 arrows"},
		{"two arrows", swap("IT14 ->", "IT14 -> ->"), "2 arrows"},
		{"no rows", whole[:strings.Index(whole, " 10 mm")], "there is no row"},
		{"nothing", "", "the header source: is missing"},
		{"tolerance in words", swap("0.5 %", "close enough"), "a.check:4: the tolerance"},
		{"tolerance zero", swap("0.5 %", "0 %"), "the tolerance"},
		{"tolerance negative", swap("0.5 %", "abs -1"), "the tolerance"},
		{"tolerance not a number", swap("0.5 %", "abs NaN"), "the tolerance"},
		{"tolerance endless", swap("0.5 %", "abs inf"), "the tolerance"},
		{"tolerance of the whole", swap("0.5 %", "100 %"), "the tolerance"},
		{"tolerance bare", swap("0.5 %", "0.5"), "the tolerance"},
		{"tolerance empty", swap("0.5 %   why: the table prints two figures", ""), "the header tolerance: is empty"},
		{"why without a reason", swap("the table prints two figures", ""), "has a why: without a reason"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Parse("a.check", c.text)
			if err == nil {
				t.Fatalf("read as %+v", f)
			}
			if !strings.Contains(err.Error(), c.says) {
				t.Errorf("says %q, want %q in it", err, c.says)
			}
		})
	}
}

// A file with two faults reports both, so that it is mended in one go.
func TestParseReportsAll(t *testing.T) {
	_, err := Parse("a.check", "colour: red\ncolumns: a -> b\n1, 2 -> 3\n")
	for _, says := range []string{"unknown header colour:", "the row has 2 -> 1", "source: is missing", "seen: is missing"} {
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q is not in %v", says, err)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		cell string
		want Printed
	}{
		{"92.004 mm", Printed{92.004, 0.001, "mm"}},
		{"-28", Printed{-28, 1, ""}},
		{"−28 µm", Printed{-28, 1, "µm"}},
		{"+7", Printed{7, 1, ""}},
		{"7.50", Printed{7.5, 0.01, ""}},
		{"21200 N", Printed{21200, 1, "N"}},
		{"1.638706E-05 m³", Printed{1.638706e-5, 1e-11, "m³"}},
		{"6.894757e+03 Pa", Printed{6894.757, 0.001, "Pa"}},
		{"2.2%", Printed{2.2, 0.1, "%"}},
		{"90°", Printed{90, 1, "°"}},
		{"12. mm", Printed{12, 1, "mm"}},
		{".5", Printed{0.5, 0.1, ""}},
		{"11.9e-6 1/K", Printed{11.9e-6, 1e-7, "1/K"}},
	} {
		got, err := Number(c.cell)
		if err != nil {
			t.Errorf("%q: %v", c.cell, err)
			continue
		}
		if got.Unit != c.want.Unit || got.Value != c.want.Value || math.Abs(got.LastDigit/c.want.LastDigit-1) > 1e-15 {
			t.Errorf("%q = %+v, want %+v", c.cell, got, c.want)
		}
	}
	for _, cell := range []string{"", "mm", "-", ".", "6 894.757", "92,004 mm", "1/2 in", "92.004mm", "NaN", "inf", "0x10", "1e", "1e999", "2..3", "3 -4", "± 3"} {
		if got, err := Number(cell); err == nil {
			t.Errorf("%q was read as %+v", cell, got)
		}
	}
}

func TestAgrees(t *testing.T) {
	for _, c := range []struct {
		tolerance, cell string
		yes, no         []float64
	}{
		{"", "2.50", []float64{2.5, 2.495, 2.505}, []float64{2.4949, 2.5051, math.NaN(), math.Inf(1), -2.5}},
		{halfUnit, "1.638706e-05 m³", []float64{1.6387064e-5}, []float64{1.638707e-5}},
		{"one unit of the last printed digit", "32.4430", []float64{32.4429, 32.4431}, []float64{32.4428, 32.4432}},
		{"0.5 %  why: two figures", "-200 N", []float64{-199, -201}, []float64{-198.9, -201.1, 200}},
		{"rel 1e-9", "1000", []float64{1000.000001}, []float64{1000.000002}},
		{"abs 1e-6", "0", []float64{1e-6, -1e-6}, []float64{1.1e-6, math.NaN()}},
	} {
		header := ""
		if c.tolerance != "" {
			header = "tolerance: " + c.tolerance + "\n"
		}
		f, err := Parse("a.check", "source: s\nseen: memory\n"+header+"columns: a -> b\n1 -> "+c.cell+"\n")
		if err != nil {
			t.Fatal(err)
		}
		for _, got := range c.yes {
			if err := f.Agrees(c.cell, got); err != nil {
				t.Errorf("%s: %v", c.tolerance, err)
			}
		}
		for _, got := range c.no {
			var d *Disagreement
			if err := f.Agrees(c.cell, got); !errors.As(err, &d) {
				t.Errorf("%s: %v passed for %s (%v)", c.tolerance, got, c.cell, err)
			}
		}
	}
}

// recorder is a test that notes whether it was failed.
type recorder struct {
	testing.TB
	errors, fatals int
}

func (r *recorder) Helper()               {}
func (r *recorder) Errorf(string, ...any) { r.errors++ }
func (r *recorder) Fatalf(string, ...any) { r.fatals++ }

func TestCompareFailsTheTest(t *testing.T) {
	f := Glob(t, "testdata/published/*.check")[0]
	row := f.Rows[0]
	f.Compare(t, row, "in SI", 1.3558179483314004)
	r := &recorder{}
	f.Compare(r, row, "in SI", 1.3558179483314004)
	if r.errors+r.fatals != 0 {
		t.Errorf("a right value failed: %+v", r)
	}
	f.Compare(r, row, "in SI", 1.36)
	f.Compare(r, row, "in SI", math.NaN())
	if r.errors != 2 {
		t.Errorf("two wrong values gave %d errors", r.errors)
	}
	f.Compare(r, row, "one", 1)
	if r.fatals != 1 {
		t.Error("an input was compared")
	}
}
