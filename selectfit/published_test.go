package selectfit

import (
	"strconv"
	"strings"
	"testing"

	"buttonup/internal/check"
)

// table reads costs: rows parted by semicolons, a dot for a pair that may not be.
func table(t *testing.T, text string) costs {
	t.Helper()
	var c costs
	for _, line := range strings.Split(text, ";") {
		var row []int64
		for _, cell := range strings.Fields(line) {
			x := none
			if cell != "." {
				var err error
				if x, err = strconv.ParseInt(cell, 10, 64); err != nil {
					t.Fatal(err)
				}
			}
			row = append(row, x)
		}
		c = append(c, row)
	}
	return c
}

func TestPublishedAssignments(t *testing.T) {
	rows := 0
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		for _, r := range f.Rows {
			rows++
			a := assign(table(t, r.In["costs"]))
			f.Compare(t, r, "total", float64(a.total()))
			var chosen []string
			for i, j := range a.column {
				chosen = append(chosen, strconv.FormatInt(a.cost[i][j], 10))
			}
			if got := strings.Join(chosen, " "); got != r.Out["chosen"] {
				t.Errorf("%s:%d: chosen %s, want %s", f.Path, r.Line, got, r.Out["chosen"])
			}
		}
	}
	if rows != 4 {
		t.Errorf("%d rows were checked, want 4", rows)
	}
	// C13-03 goes on: with a column that nobody may have it is infeasible.
	a := assign(table(t, "10 . .; . . 1; 4 . ."))
	if rows, smallest := a.shortage(); len(rows) != 2 || rows[0] != 0 || rows[1] != 2 || !smallest {
		t.Errorf("rows 0 and 2 share one column, and %v (%v) is said", rows, smallest)
	}
}
