package fromtable

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

// Factors of the printed units, exact by definition: 25.4 mm to the inch,
// 0.45359237 kg to the pound, 9.80665 m/s². TM 5-4320-234-34 is the known trap: it
// converts with 2.5 cm to the inch throughout, which its column says.
var twinFactors = map[string]float64{
	"in mm": 25.4, "in cm": 2.54, "in cm (2.5 per inch)": 2.5,
	"lb kg": 0.45359237, "lb g": 453.59237,
	"ft-lb N.m": 0.45359237 * 9.80665 * 0.3048, "ft-lb joule (N.m)": 0.45359237 * 9.80665 * 0.3048,
	"in-lb N.m":   0.45359237 * 9.80665 * 0.0254,
	"ft-lb kg-cm": 0.45359237 * 30.48, "ft-lb kg-m": 0.45359237 * 0.3048,
}

// cutTwins are the cells, beyond rounding, whose inch figure is the metric one
// with its further digits cut off: the manual was made from the metric figures.
// The test proves the claim for each.
var cutTwins = []string{
	"limits_in_running_text.csv:10 new_min", "limits_in_running_text.csv:10 new_max", "limits_in_running_text.csv:10 wear_limit", "limits_in_running_text.csv:17 new_min",
	"tm_10-4320-343-14_table_6-1.csv:3 new_max", "tm_10-4320-343-14_table_6-1.csv:11 new_max", "tm_10-4320-343-14_table_6-1.csv:19 new_max",
	"tm_10-4320-343-14_table_6-1.csv:20 new_max", "tm_10-4320-343-14_table_6-1.csv:21 new_max", "tm_10-4320-343-14_table_6-1.csv:23 new_min",
	"tm_10-4320-343-14_table_6-1.csv:27 new_max", "tm_10-4320-343-14_table_6-1.csv:30 new_max", "tm_10-4320-343-14_table_6-1.csv:40 new_min",
	"tm_9-2815-253-24_table_3-5.csv:3 new_min", "tm_9-2815-253-24_table_3-5.csv:5 new_min", "tm_9-2815-253-24_table_3-5.csv:7 new_min",
}

// coarseTwins are the cells whose twin was rounded more coarsely than its digits
// say. The reason is what the row's own note prints.
var coarseTwins = map[string]string{
	"limits_in_running_text.csv:18 wear_limit":  "twin rounded (0.030 in is 0.762 mm)",
	"limits_in_running_text.csv:19 wear_limit":  "twin rounded (0.060 in is 1.524 mm)",
	"limits_in_running_text.csv:20 wear_limit":  "twin rounded (0.060 in is 1.524 mm)",
	"tm_9-6115-604-34_table_1-4.csv:60 new_max": "2.3990 in is 60.935 mm, twin 0.003 mm off",
	"torque.csv:101 torque_min":                 "408 N.m is 301 ft-lb",
	"torque.csv:101 torque_max":                 "408 N.m is 301 ft-lb",
}

// TestTwinsAgree holds every pair of printed units in every aligned row of every
// table against each other: they may differ by half of the last place of both.
func TestTwinsAgree(t *testing.T) {
	cut, coarse := map[string]bool{}, map[string]bool{}
	for _, at := range cutTwins {
		cut[at] = true
	}
	compared := 0
	conversions(t, func(name, _ string, cells []map[string]string, rows []Row) {
		for i, r := range cells {
			if r["confidence"] != "aligned" {
				continue
			}
			for column := range r {
				twin := r[column+"_twin"]
				if twin == "" || r[column] == "" || column == "stages" {
					continue
				}
				factor, known := twinFactors[r["unit"]+" "+r["twin_unit"]]
				if !known {
					t.Errorf("%s:%d %s: no factor from %s to %s", name, rows[i].Line, column, r["unit"], r["twin_unit"])
					continue
				}
				a, lastA := plain(t, strings.TrimSuffix(r[column], "T"))
				b, lastB := plain(t, twin)
				at := fmt.Sprintf("%s:%d %s", name, rows[i].Line, column)
				compared++
				over := math.Abs(a*factor-b) - (lastA*factor+lastB)/2
				switch {
				case cut[at]:
					if rest := b/factor - a; over <= 1e-9 || rest < 0 || rest >= lastA {
						t.Errorf("%s: %s is not %s with digits cut off", at, r[column], twin)
					}
					delete(cut, at)
				case coarseTwins[at] != "":
					if over <= 1e-9 || !strings.Contains(r["note"], coarseTwins[at]) {
						t.Errorf("%s is listed as coarse (%s) and its row does not bear it out", at, coarseTwins[at])
					}
					coarse[at] = true
				case over > 1e-9:
					t.Errorf("%s: %s %s and %s %s differ by %.6f beyond rounding", at, r[column], r["unit"], twin, r["twin_unit"], over)
				}
			}
		}
	})
	if len(cut) > 0 || len(coarse) != len(coarseTwins) {
		t.Errorf("listed exceptions that do not occur: %v, %d of %d coarse ones found", cut, len(coarse), len(coarseTwins))
	}
	if compared < 700 {
		t.Errorf("only %d pairs compared", compared)
	}
}

// TestTwinRemarks holds the remarks of the packs against the same lists: a twin
// beyond rounding is said in the note of its row, and no other is.
func TestTwinRemarks(t *testing.T) {
	beyond := map[string]string{}
	for at, phrase := range coarseTwins {
		line, _, _ := strings.Cut(at, " ")
		beyond[line] = phrase
	}
	for _, at := range cutTwins {
		line, _, _ := strings.Cut(at, " ")
		beyond[line] = "cut off"
	}
	conversions(t, func(name, _ string, cells []map[string]string, rows []Row) {
		for i, row := range rows {
			if cells[i]["confidence"] != "aligned" || row.Name == "" {
				continue
			}
			at := fmt.Sprintf("%s:%d", name, row.Line)
			said := strings.Contains(row.Says, "twins disagree beyond rounding") || strings.Contains(row.Says, "digits cut off, not rounded")
			if said != (beyond[at] != "") {
				t.Errorf("%s: beyond rounding %t, said %t: %q", at, beyond[at] != "", said, row.Says)
			}
			if trap := strings.Contains(row.Says, "2.5 to the inch"); trap != (cells[i]["twin_unit"] == "cm (2.5 per inch)") {
				t.Errorf("%s: the cm of TM 5-4320-234-34 are named as a trap: %t", at, trap)
			}
		}
	})
}

// plain reads a decimal number and the size of its last place.
func plain(t *testing.T, cell string) (value, last float64) {
	t.Helper()
	value, err := strconv.ParseFloat(strings.TrimPrefix(cell, "+"), 64)
	if err != nil {
		t.Fatalf("%q: %v", cell, err)
	}
	_, decimals, _ := strings.Cut(cell, ".")
	return value, math.Pow10(-len(decimals))
}
