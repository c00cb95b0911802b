package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"testing"
)

var nasty = Table{
	Name: "Tarn & Sole: [gaskets] / a name that is much too long for a sheet",
	Head: []Column{{Title: "Part"}, {Title: "Count", Number: true}, {Title: "Price", Money: true}, {Title: "Note", Width: 40}},
	Rows: [][]string{
		{"=1+1", "2", "18.40", "a \"quote\", a comma; <b> & ü ± ½"},
		{"+49 30", "x", "0.10", "@SUM(A1)"},
		{"-cmd|' /C calc'!A0", "-3", "", "  =HYPERLINK(\"http://x\")"},
		{"0815", "007", "1e5", "two\nlines"},
		{"\t=1", "12345678901234567890", "-1.00", "＝1"},
	},
}

func TestHarmless(t *testing.T) {
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+1+1": "'+1+1", "-1+1": "'-1+1", "@A1": "'@A1", "  =1": "'  =1", "\t1": "'\t1", "\r=1": "'\r=1", "＝1": "'＝1", "\ufeff=1": "'\ufeff=1",
		"-1.50": "-1.50", "18.40": "18.40", "AV-3105": "AV-3105", "": "", "a=1": "a=1", "- 5": "'- 5", "-1e5": "'-1e5",
	} {
		if got := Harmless(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// A law: what is written as CSV reads back as it was, apart from the apostrophes.
func TestCSVReadsBack(t *testing.T) {
	text := bytes.TrimPrefix(nasty.CSV(), []byte("\ufeff"))
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) != len(nasty.Rows)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for k, row := range nasty.Rows {
		for i, s := range row {
			if got := rows[k+1][i]; got != Harmless(s) {
				t.Errorf("row %d, %d: %q, want %q", k, i, got, Harmless(s))
			}
		}
	}
}

const readBack = `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1])
out = []
for sheet in book.worksheets:
    rows = [[(c.data_type, c.value, c.number_format) for c in row] for row in sheet.iter_rows()]
    out.append({"name": sheet.title, "rows": rows, "frozen": sheet.freeze_panes})
print(json.dumps(out))
`

// Outside check: openpyxl, the general-purpose library of Debian for workbooks, reads
// the texts as texts, formulas as no formulas, and the numbers as numbers.
func TestAnotherLibraryReadsTheWorkbook(t *testing.T) {
	if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
		t.Skip("the comparisons with other programs are left out")
	}
	text, err := Workbook([]Table{nasty, {Name: "Second", Head: []Column{{Title: "A"}}}, {Name: "second", Head: []Column{{Title: "A"}}}, {}})
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "order.xlsx")
	if err := os.WriteFile(name, text, 0o600); err != nil {
		t.Fatal(err)
	}
	python := "/usr/bin/python3"
	if exec.Command("python3", "-c", "import openpyxl").Run() == nil {
		python = "python3"
	}
	out, err := exec.Command(python, "-c", readBack, name).CombinedOutput()
	if err != nil {
		t.Fatalf("python3-openpyxl does not read it: %v: %s\n(make needs installs it)", err, out)
	}
	var sheets []struct {
		Name   string
		Rows   [][][3]any
		Frozen string
	}
	if err := json.Unmarshal(out, &sheets); err != nil {
		t.Fatal(err)
	}
	if len(sheets) != 4 || sheets[0].Frozen != "A2" || sheets[1].Name != "Second" || sheets[2].Name != "second 2" {
		t.Fatalf("%d sheets: %.300s", len(sheets), out)
	}
	if n := len([]rune(sheets[0].Name)); n > 31 {
		t.Errorf("the name of the sheet has %d characters", n)
	}
	for k, row := range nasty.Rows {
		for i, s := range row {
			cell := sheets[0].Rows[k+1][i]
			number := i == 1 && (s == "2" || s == "-3" || s == "007") || i == 2 && (s == "18.40" || s == "0.10" || s == "-1.00")
			switch {
			case s == "":
				if cell[1] != nil {
					t.Errorf("row %d, %d: %v, want nothing", k, i, cell)
				}
			case number:
				if _, ok := cell[1].(float64); !ok || cell[0] != "n" || i == 2 && cell[2] != "0.00" {
					t.Errorf("row %d, %d: %v is not the number %s", k, i, cell, s)
				}
			case cell[0] == "f" || !reflect.DeepEqual(cell[1], s):
				t.Errorf("row %d, %d: %v, want the text %q", k, i, cell, s)
			}
		}
	}
}

func TestColumnName(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		if got := columnName(i); got != want {
			t.Errorf("column %d is %s, want %s", i, got, want)
		}
	}
}
