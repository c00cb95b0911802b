package fromtable

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
)

// notTaken is every aligned row of a limits table whose figures do not all stand
// in the pack, with the words that say why. A row that is not listed must be taken.
var notTaken = map[string]string{
	// A single figure has no band: it is a nominal size, a count or a setting.
	"limits_in_running_text.csv:9":                "2.8724 in, one figure",
	"limits_in_running_text.csv:36":               "0.0016 in, one figure",
	"tm_10-4320-343-14_table_6-1.csv:5":           "7, one figure",
	"tm_10-4320-344-24_tables_3-2_to_4-12.csv:3":  "6, one figure",
	"tm_10-4320-344-24_tables_3-2_to_4-12.csv:4":  "0.172 in, one figure",
	"tm_10-4320-344-24_tables_3-2_to_4-12.csv:14": "30 degree, one figure",
	"tm_10-4320-344-24_tables_3-2_to_4-12.csv:21": "45 degree, one figure",
	"tm_10-4320-344-24_tables_3-2_to_4-12.csv:30": "0.125 in, one figure",
	"tm_5-4930-227-14_table_5-2.csv:13":           "0.008 in, one figure",
	"tm_5-4930-227-14_table_5-2.csv:14":           "0.014 in, one figure",
	"tm_9-6115-464-34_table_1-1.csv:8":            "0.0150 in, one figure",
	"tm_9-6115-464-34_table_1-1.csv:11":           "0.0210 in, one figure",
	"tm_9-6115-464-34_table_1-1.csv:16":           "0.0150 in, one figure",
	"tm_9-6115-464-34_table_1-1.csv:19":           "0.0210 in, one figure",
	"tm_9-6115-464-34_table_1-1.csv:30":           "6-1/4, one figure",
	"tm_9-6115-464-34_table_1-1.csv:31":           "0.1770 in, one figure",
	"tm_9-6115-604-34_table_1-4.csv:52":           "3.349 in, one figure",
	"tm_9-6115-604-34_table_1-4.csv:53":           "2.470 in, one figure",
	// A length may grow or shrink with wear, and the table does not say which.
	"tm_5-4310-354-14_table_5-2.csv:4": "at which end a length wears",
	"tm_5-6115-584-34_table_1-2.csv:7": "at which end a length wears",
	"tm_5-6115-585-34_table_1-2.csv:7": "at which end a length wears",
}

// TestEveryAlignedRowIsTakenOrSaysWhy covers every row of every table.
func TestEveryAlignedRowIsTakenOrSaysWhy(t *testing.T) {
	listed := map[string]bool{}
	aligned, taken := 0, 0
	conversions(t, func(name, _ string, cells []map[string]string, rows []Row) {
		for i, row := range rows {
			at := fmt.Sprintf("%s:%d", name, row.Line)
			if row.Outcome != Taken && row.Says == "" {
				t.Errorf("%s is %s and does not say why", at, row.Outcome)
			}
			if cells[i]["confidence"] != "aligned" {
				if row.Outcome != Refused {
					t.Errorf("%s is in doubt and %s", at, row.Outcome)
				}
				continue
			}
			if _, torque := cells[i]["fastener"]; torque {
				continue
			}
			aligned++
			if row.Outcome == Taken {
				taken++
			}
			why, is := notTaken[at]
			if is {
				listed[at] = true
			}
			if is == (row.Outcome == Taken) || !strings.Contains(row.Says, why) {
				t.Errorf("%s is %s: %q; listed as %q", at, row.Outcome, row.Says, why)
			}
		}
	})
	if len(listed) != len(notTaken) || taken+len(notTaken) != aligned {
		t.Errorf("%d aligned rows, %d taken, %d of %d listed found", aligned, taken, len(listed), len(notTaken))
	}
	t.Logf("limits: %d aligned rows, %d taken, %d with a listed reason", aligned, taken, len(listed))
}

// TestTorqueRowsSayWhy covers every row of the torque table: a joint needs a
// thread with its pitch, and nearly none is printed.
func TestTorqueRowsSayWhy(t *testing.T) {
	// What each thread cell must come to, by its form.
	forms := []struct {
		form    *regexp.Regexp
		outcome Outcome
		says    string
		count   int
	}{
		{regexp.MustCompile(`^$`), Refused, "no thread is printed", 48},
		{regexp.MustCompile(` in$`), Refused, "a size without threads to the inch", 99},
		{regexp.MustCompile(`^M\d+$`), Refused, "without a pitch", 15},
		{regexp.MustCompile(`^M14 x 1\d\d$`), Refused, "gives a length, not a pitch", 3},
		{regexp.MustCompile(`^fuse plug$`), Refused, "not a thread", 1},
		{regexp.MustCompile(`^M10 x 1 x \d+$`), Taken, "ends on an angle", 0},
		{regexp.MustCompile(`^M14 x 1\.5$`), Refused, "in doubt", 0},
	}
	name := "torque.csv"
	_, rows, err := Convert(name, readFile(t, tableFolder, name), Options{})
	if err != nil {
		t.Fatal(err)
	}
	joints := 0
	for i, cells := range readRows(t, name) {
		row := rows[i]
		if cells["unit"] == "factor" || cells["unit"] == "rule" {
			if row.Outcome != Noted || row.Name != "" {
				t.Errorf("line %d, a %s, is %s", row.Line, cells["unit"], row.Outcome)
			}
			continue
		}
		found := false
		for f := range forms {
			if !forms[f].form.MatchString(cells["thread"]) {
				continue
			}
			found = true
			forms[f].count--
			outcome, says := forms[f].outcome, forms[f].says
			if outcome == Taken && cells["confidence"] == "doubtful" {
				outcome, says = Refused, "in doubt"
			}
			if row.Outcome != outcome || !strings.Contains(row.Says, says) {
				t.Errorf("line %d, thread %q: %s, %q", row.Line, cells["thread"], row.Outcome, row.Says)
			}
		}
		if !found {
			t.Errorf("line %d: no form for thread %q", row.Line, cells["thread"])
		}
		if row.Name != "" {
			joints++
		}
	}
	for _, f := range forms[:5] {
		if f.count != 0 {
			t.Errorf("thread cells like %s: %d fewer or more than counted", f.form, f.count)
		}
	}
	if joints != 9 {
		t.Errorf("%d joints, the table prints 9 threads with a pitch", joints)
	}
}
