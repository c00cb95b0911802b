package sheet

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// writeThere is a workbook that another library writes: texts, numbers as they come out
// of a sum, days, times, formulas, errors, empty rows, a hidden sheet.
const writeThere = `
import sys, datetime, openpyxl
w = openpyxl.Workbook()
s = w.active
s.title = "Bores"
s.append(["of", "value", "at"])
s.append(["bore", 92.001 + 0.003, datetime.datetime(2026, 3, 2, 10, 4)])
s.append(["Größe ± µm <b>", "92,004 mm", datetime.date(1904, 2, 29)])
s["A5"], s["B5"], s["C5"] = 1e-7, -0.5, 123456789012
s["A6"], s["B6"] = "=1+1", True
s["AB7"] = "far"
s["A8"] = "#DIV/0!"
s["A8"].data_type = "e"
s["A9"] = 0.25
s["A9"].number_format = "0.00 \"days\""
s["B9"] = 0.25
s["B9"].number_format = "hh:mm"
t = w.create_sheet("Hidden", 0)
t.sheet_state = "hidden"
t.append(["no"])
u = w.create_sheet("Second")
u.append(["two"])
w.active = 1
w.save(sys.argv[1])
`

// Outside check: what openpyxl, the general-purpose library of Debian for workbooks,
// writes is read cell by cell.
func TestAWorkbookOfAnotherLibraryIsRead(t *testing.T) {
	if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
		t.Skip("the comparisons with other programs are left out")
	}
	name := filepath.Join(t.TempDir(), "bores.xlsx")
	python := "/usr/bin/python3"
	if exec.Command("python3", "-c", "import openpyxl").Run() == nil {
		python = "python3"
	}
	if out, err := exec.Command(python, "-c", writeThere, name).CombinedOutput(); err != nil {
		t.Fatalf("python3-openpyxl does not write it: %v: %s\n(make needs installs it)", err, out)
	}
	content, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	r, err := ReadWorkbook(content, "")
	if err != nil {
		t.Fatal(err)
	}
	if r.Name != "Bores" || !reflect.DeepEqual(r.Names, []string{"Bores", "Second"}) {
		t.Errorf("sheet %s of %v", r.Name, r.Names)
	}
	cell := func(row, column int) string {
		for _, x := range r.Rows {
			if x.Number == row && column < len(x.Cells) {
				return x.Cells[column]
			}
		}
		return ""
	}
	for at, want := range map[[2]int]string{
		{1, 0}: "of", {2, 1}: "92.004", {2, 2}: "2026-03-02T10:04:00", {3, 0}: "Größe ± µm <b>", {3, 1}: "92,004 mm", {3, 2}: "1904-02-29",
		{5, 0}: "0.0000001", {5, 1}: "-0.5", {5, 2}: "123456789012", {6, 0}: "", {6, 1}: "TRUE", {7, 27}: "far", {8, 0}: "", {9, 0}: "0.25", {9, 1}: "06:00:00",
	} {
		if got := cell(at[0], at[1]); got != want {
			t.Errorf("row %d column %d: %q, want %q", at[0], at[1], got, want)
		}
	}
	if len(r.Trouble) != 2 || r.Trouble[0].Cell != "A6" || !strings.Contains(r.Trouble[0].Says, "formula without a value") || r.Trouble[1].Cell != "A8" || !strings.Contains(r.Trouble[1].Says, "#DIV/0!") {
		t.Errorf("%+v", r.Trouble)
	}
	if second, err := ReadWorkbook(content, "second"); err != nil || second.Rows[0].Cells[0] != "two" {
		t.Errorf("%+v %v", second, err)
	}
	var none *NoSheetError
	if _, err := ReadWorkbook(content, "Third"); !errors.As(err, &none) || !strings.Contains(none.Error(), "Bores, Second") {
		t.Error(err)
	}
}

// edited changes one part of a workbook of ours.
func edited(t *testing.T, part, old, new string) []byte {
	t.Helper()
	content, err := Workbook([]Table{{Name: "A", Head: []Column{{Title: "of"}, {Title: "value", Number: true}}, Rows: [][]string{{"bore", "92.004"}}}})
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	found := false
	for _, f := range z.File {
		in, _ := f.Open()
		text, _ := io.ReadAll(in)
		if f.Name == part {
			found = bytes.Contains(text, []byte(old))
			text = bytes.ReplaceAll(text, []byte(old), []byte(new))
		}
		out, _ := w.Create(f.Name)
		out.Write(text)
	}
	w.Close()
	if !found {
		t.Fatalf("%s has no %q", part, old)
	}
	return b.Bytes()
}

const firstSheet = "xl/worksheets/sheet1.xml"

// A formula is never computed: the value that was saved with it is taken, and counted.
func TestFormulasGiveTheirSavedValue(t *testing.T) {
	r, err := ReadWorkbook(edited(t, firstSheet, "<v>92.004</v>", "<f>91+1.004</f><v>92.004000000000005</v>"), "")
	if err != nil || r.Formulas != 1 || r.Rows[1].Cells[1] != "92.004" {
		t.Errorf("%+v %v", r, err)
	}
	r, err = ReadWorkbook(edited(t, firstSheet, "<v>92.004</v>", "<f>HYPERLINK(1)</f>"), "")
	if err != nil || r.Formulas != 0 || len(r.Trouble) != 1 || r.Rows[1].Cells[1] != "" {
		t.Errorf("%+v %v", r, err)
	}
}

// A file that is no workbook, a damaged one, and one that unpacks to far too much, are
// refused.
func TestWhatIsNoWorkbookIsRefused(t *testing.T) {
	good := edited(t, firstSheet, "92.004", "92.005")
	for name, content := range map[string][]byte{
		"empty": nil, "text": []byte("of,value\n"), "zip begin": []byte("PK\x03\x04 and nothing"), "half": good[:len(good)/2],
		"broken part": edited(t, firstSheet, "<sheetData>", "<sheetData"), "entity": edited(t, firstSheet, "<v>92.004</v>", "<v>&lol;</v>"),
	} {
		if _, err := ReadWorkbook(content, ""); !errors.Is(err, ErrNoWorkbook) {
			t.Errorf("%s: %v", name, err)
		}
	}
	large := edited(t, firstSheet, "<v>92.004</v>", "<v>"+strings.Repeat("1", mostPart)+"</v>")
	if _, err := ReadWorkbook(large, ""); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too large: %v", err)
	}
	if _, err := ReadWorkbook(edited(t, firstSheet, `r="B2"`, `r="ZZZ2"`), ""); !errors.Is(err, ErrTooLarge) {
		t.Errorf("too wide: %v", err)
	}
}

// What was written is read back as it was, whatever it looks like.
func TestWrittenIsRead(t *testing.T) {
	text, err := Workbook([]Table{nasty})
	if err != nil {
		t.Fatal(err)
	}
	r, err := ReadWorkbook(text, "")
	if err != nil || len(r.Trouble) > 0 || r.Formulas > 0 {
		t.Fatal(r, err)
	}
	for k, row := range nasty.Rows {
		for i, s := range row {
			got := ""
			if i < len(r.Rows[k+1].Cells) {
				got = r.Rows[k+1].Cells[i]
			}
			if s == "007" {
				s = "7" // a number in a column of numbers
			}
			if got != s && got != strings.TrimSuffix(strings.TrimRight(s, "0"), ".") {
				t.Errorf("row %d, %d: %q, want %q", k, i, got, s)
			}
		}
	}
}
