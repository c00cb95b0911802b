package fromtable

import (
	"math"
	"strings"
	"testing"
)

// TestWearAgainstTheSisterManual proves how a wear allowance is read. TM
// 5-6115-465-34 and TM 9-6115-464-34 print new sizes and wear allowances of an
// engine family, TM 10-4320-344-24 prints for an engine with the same parts the
// sizes at which they are worn out.
//
// Source: the three manuals named; seen as stored web copies of their pages.
func TestWearAgainstTheSisterManual(t *testing.T) {
	checks := []struct {
		table, row   string // new size and wear allowance
		sister, worn string // the row that prints the worn size
		says         string // and that size, as printed
	}{
		{"tm_5-6115-465-34_table_1-1.csv", "camshaft_bearing_journal_diameter", "tm_10-4320-344-24_tables_3-2_to_4-12.csv", "camshaft_bearing_journal_diameter_all", "2.0510"},
		{"tm_5-6115-465-34_table_1-1.csv", "connecting_rod_piston_pin_bushing_bore", "tm_10-4320-344-24_tables_3-2_to_4-12.csv", "connecting_rod_piston_pin_bushing_diameter", "1.2523"},
		{"tm_9-6115-464-34_table_1-1.csv", "valve_intake_stem_diameter", "tm_10-4320-344-24_tables_3-2_to_4-12.csv", "valve_intake_stem_diameter", "0.3700"},
	}
	for _, c := range checks {
		made := blockOf(t, c.table, c.row).attributes["limit"]
		if _, figure, _ := strings.Cut(made, "= "); figure != c.says+" in" {
			t.Errorf("%s %s: limit = %q, the sister manual prints %s", c.table, c.row, made, c.says)
		}
		worn := blockOf(t, c.sister, c.worn)
		if text := worn.attributes["limit"] + worn.attributes["note"]; !strings.Contains(text, c.says) {
			t.Errorf("%s %s does not print %s: %s", c.sister, c.worn, c.says, text)
		}
	}
}

// TestWearInBothUnits proves the sums in a second way: TM 5-4310-354-14 prints new
// sizes and allowances in inches and in millimetres, so the limit can be worked
// out in either.
//
// Source: TM 5-4310-354-14, Table 5-2, seen as a stored web copy; 25.4 mm to the
// inch by definition.
func TestWearInBothUnits(t *testing.T) {
	name, done := "tm_5-4310-354-14_table_5-2.csv", 0
	_, rows, err := Convert(name, readFile(t, tableFolder, name), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range readRows(t, name) {
		if r["wear_limit_kind"] != "wear" || rows[i].Outcome != Taken {
			continue
		}
		allowed, last := plain(t, r["wear_limit_twin"])
		limit, _ := plain(t, r["new_max_twin"])
		if r["feature"] == "shaft" {
			limit, _ = plain(t, r["new_min_twin"])
			allowed = -allowed
		}
		made := readValues(t, blockOf(t, name, rows[i].Name).attributes["limit"])
		if len(made) != 1 || math.Abs(made[0]*25.4-limit-allowed) > last {
			t.Errorf("%s: %v in, and %.4f mm by the printed millimetres", rows[i].Name, made, limit+allowed)
		}
		done++
	}
	if done != 4 {
		t.Errorf("%d allowances checked, the table prints 4 that can be", done)
	}
}

func blockOf(t *testing.T, table, name string) readBlock {
	t.Helper()
	text, _, err := Convert(table, readFile(t, tableFolder, table), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range readPack(t, table, string(text)) {
		if b.name == name {
			return b
		}
	}
	t.Fatalf("%s has no %s", table, name)
	return readBlock{}
}
