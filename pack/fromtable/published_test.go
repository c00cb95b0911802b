package fromtable

import (
	"bytes"
	"encoding/csv"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// update rewrites the committed packs: go test ./pack/fromtable -run TestCommittedPacks -update
var update = flag.Bool("update", false, "rewrite the packs made from the published tables")

const (
	tableFolder = "../../packs/published/tables"
	packFolder  = "../../packs/published"
	runningText = "limits_in_running_text.csv"
)

// committed is every pack that is made from a published table. The titles say
// what the pages themselves say about the engine; no maker is named.
var committed = []struct {
	table, pack string
	options     Options
}{
	{"tm_9-6115-604-34_table_1-4.csv", "tm-9-6115-604-34", Options{Title: "Inspection limits of a 12-cylinder V diesel, 2300 cu in (TM 9-6115-604-34)"}},
	{"tm_9-6115-604-34_table_1-4.csv", "tm-9-6115-604-34-both-units", Options{Title: "Inspection limits of a 12-cylinder V diesel, 2300 cu in, with both units (TM 9-6115-604-34)", BothUnits: true}},
	{"tm_10-4320-344-24_tables_3-2_to_4-12.csv", "tm-10-4320-344-24", Options{Title: "Inspection limits of a six-cylinder push-rod diesel, water pump (TM 10-4320-344-24)"}},
	{"tm_10-4320-344-24_tables_3-2_to_4-12.csv", "tm-10-4320-344-24-both-units", Options{Title: "Inspection limits of a six-cylinder push-rod diesel, water pump, with both units (TM 10-4320-344-24)", BothUnits: true}},
	{"tm_10-4320-343-14_table_6-1.csv", "tm-10-4320-343-14", Options{Title: "Inspection limits of a diesel with separate cylinders, 100 mm bore (TM 10-4320-343-14)"}},
	{"tm_5-4310-276-14_table_1-1.csv", "tm-5-4310-276-14", Options{Title: "Inspection limits of a very small engine, valve gear (TM 5-4310-276-14)"}},
	{"tm_5-4310-354-14_table_5-2.csv", "tm-5-4310-354-14", Options{Title: "Inspection limits of a compressor engine, oil pump (TM 5-4310-354-14)"}},
	{"tm_5-4320-234-34_table_4-1.csv", "tm-5-4320-234-34", Options{Title: "Inspection limits of a small petrol engine, 3.4375 in bore (TM 5-4320-234-34)"}},
	{"tm_5-4320-240-15_page_4-2.csv", "tm-5-4320-240-15", Options{Title: "Inspection limits of a pump engine (TM 5-4320-240-15)"}},
	{"tm_5-4320-302-14_paras_6-16_to_6-20.csv", "tm-5-4320-302-14", Options{Title: "Inspection limits of a pump diesel with loose main bearing supports (TM 5-4320-302-14)"}},
	{"tm_5-4930-227-14_table_5-2.csv", "tm-5-4930-227-14", Options{Title: "Inspection limits of a magneto engine, 2-7/8 x 2-3/4 in (TM 5-4930-227-14)"}},
	{"tm_5-6115-465-34_table_1-1.csv", "tm-5-6115-465-34", Options{Title: "Inspection limits of a push-rod diesel, 30 kW generator set, bottom end (TM 5-6115-465-34)"}},
	{"tm_9-6115-464-34_table_1-1.csv", "tm-9-6115-464-34", Options{Title: "Inspection limits of a push-rod diesel, 15 kW generator set, valve gear (TM 9-6115-464-34)"}},
	{"tm_5-6115-584-34_table_1-2.csv", "tm-5-6115-584-34", Options{Title: "Inspection limits of a two-cylinder air-cooled diesel, 5 kW generator set (TM 5-6115-584-34)"}},
	{"tm_5-6115-585-34_table_1-2.csv", "tm-5-6115-585-34", Options{Title: "Inspection limits in the sister manual of the two-cylinder air-cooled diesel (TM 5-6115-585-34)"}},
	{"tm_9-2815-252-24_table_3-4.csv", "tm-9-2815-252-24", Options{Title: "Inspection limits of a small generator diesel, cylinder head (TM 9-2815-252-24)"}},
	{"tm_9-2815-253-24_table_3-5.csv", "tm-9-2815-253-24", Options{Title: "Inspection limits of a small generator diesel, camshaft (TM 9-2815-253-24)"}},
	{runningText, "tm-10-4320-309-14", Options{Manual: "TM 10-4320-309-14"}},
	{runningText, "tm-10-4320-310-14", Options{Manual: "TM 10-4320-310-14"}},
	{runningText, "tm-5-4320-313-14", Options{Manual: "TM 5-4320-313-14"}},
	{runningText, "tm-10-4320-315-24", Options{Manual: "TM 10-4320-315-24"}},
	{runningText, "tm-9-2815-254-24", Options{Manual: "TM 9-2815-254-24"}},
	{runningText, "tm-9-2815-255-24", Options{Manual: "TM 9-2815-255-24"}},
	{runningText, "tm-9-2815-257-24", Options{Manual: "TM 9-2815-257-24"}},
	{runningText, "tm-9-6115-670-14p", Options{Manual: "TM 9-6115-670-14&P"}},
	{"torque.csv", "tm-10-4320-315-24-joints", Options{Manual: "TM 10-4320-315-24"}},
}

// TestCommittedPacks proves that the committed packs are what the committed tables
// give, byte for byte, and that no pack stands there without a table.
func TestCommittedPacks(t *testing.T) {
	var expected []string
	for _, c := range committed {
		text, _, err := Convert(c.table, readFile(t, tableFolder, c.table), c.options)
		if err != nil {
			t.Fatal(err)
		}
		name := c.pack + ".pack"
		expected = append(expected, name)
		if *update {
			if err := os.WriteFile(filepath.Join(packFolder, name), text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if have := readFile(t, packFolder, name); !bytes.Equal(have, text) {
			t.Errorf("%s is not what %s gives: look at the difference and run this test with -update", name, c.table)
		}
	}
	there, err := filepath.Glob(filepath.Join(packFolder, "*.pack"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range there {
		if !slices.Contains(expected, filepath.Base(path)) {
			t.Errorf("%s is made from no table", path)
		}
	}
}

// TestEveryManualOfLimitsHasAPack guards the list above: a manual whose limits are
// typed in is not forgotten.
func TestEveryManualOfLimitsHasAPack(t *testing.T) {
	have := map[string]bool{}
	for _, c := range committed {
		for _, r := range readRows(t, c.table) {
			if c.options.Manual == "" || c.options.Manual == r["manual"] {
				have[c.table+" "+r["manual"]] = true
			}
		}
	}
	for _, name := range tableNames(t) {
		for _, r := range readRows(t, name) {
			if _, torque := r["fastener"]; !torque && !have[name+" "+r["manual"]] {
				t.Errorf("no pack is made of %s in %s", r["manual"], name)
			}
		}
	}
}

func readFile(t *testing.T, folder, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func tableNames(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(tableFolder, "*.csv"))
	if err != nil || len(paths) != 17 {
		t.Fatalf("%d tables found, 17 are committed: %v", len(paths), err)
	}
	for i := range paths {
		paths[i] = filepath.Base(paths[i])
	}
	return paths
}

// readRows reads a table without the code under test; "line" holds the line.
func readRows(t *testing.T, name string) []map[string]string {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(string(readFile(t, tableFolder, name)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, cells := range all[1:] {
		r := map[string]string{}
		for i, column := range all[0] {
			r[column] = cells[i]
		}
		rows = append(rows, r)
	}
	return rows
}

// conversions converts every committed table whole, and gives for every row what
// became of it: the rows of readRows and of Convert are in one order.
func conversions(t *testing.T, each func(name string, text string, cells []map[string]string, rows []Row)) {
	t.Helper()
	for _, name := range tableNames(t) {
		text, rows, err := Convert(name, readFile(t, tableFolder, name), Options{})
		if err != nil {
			t.Fatal(err)
		}
		cells := readRows(t, name)
		if len(rows) != len(cells) {
			t.Fatalf("%s has %d rows and %d outcomes", name, len(cells), len(rows))
		}
		each(name, string(text), cells, rows)
	}
}
