package joint

import (
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

// limitOf picks a limit by the name that a check file gives it.
func limitOf(l Limits, name string) quantity.Length {
	return map[string]quantity.Length{
		"major max": l.BoltMajorMax, "major min": l.BoltMajorMin,
		"bolt pitch max": l.BoltPitchMax, "bolt pitch min": l.BoltPitchMin,
		"tapped pitch max": l.TappedPitchMax, "tapped pitch min": l.TappedPitchMin,
		"minor max": l.TappedMinorMax, "minor min": l.TappedMinorMin,
	}[name]
}

func TestLimitsAgainstPublishedTables(t *testing.T) {
	for _, name := range []string{"limits-6g", "limits-6H", "limits-2A2B", "limits-UN", "limits-2B"} {
		for _, f := range check.Glob(t, "testdata/published/"+name+".check") {
			for _, row := range f.Rows {
				th := thread(t, row.In["thread"])
				l, err := th.Limits()
				if err != nil {
					t.Fatal(err)
				}
				for column := range row.Out {
					wanted := column
					switch name {
					case "limits-6g":
						if column[:5] == "pitch" {
							wanted = "bolt " + column
						}
					case "limits-6H", "limits-2B":
						if column[:5] == "pitch" {
							wanted = "tapped " + column
						}
					}
					got := limitOf(l, wanted).Millimetres()
					if th.Standard() == UnifiedInch {
						got = limitOf(l, wanted).Inches()
					}
					f.Compare(t, row, column, got)
				}
			}
		}
	}
	for _, f := range check.Glob(t, "testdata/published/limits-TD2.check") {
		for _, row := range f.Rows {
			th := thread(t, row.In["thread"])
			l, err := th.Limits()
			if err != nil {
				t.Fatal(err)
			}
			tolerance := float64(l.TappedPitchMax-l.TappedPitchMin) * 1e6
			allowance := float64(th.Diameter()-l.BoltMajorMax) * 1e6
			f.Compare(t, row, "6H", tolerance)
			f.Compare(t, row, "6G", tolerance+allowance)
		}
	}
}

// On every thread of the tables the limits must be in order and the parts must go
// together: the largest bolt never above the smallest hole.
func TestLimitsAreInOrder(t *testing.T) {
	for _, th := range everyThread(t) {
		l, err := th.Limits()
		if err != nil {
			t.Fatal(err)
		}
		if !(l.BoltMajorMin < l.BoltMajorMax && l.BoltMajorMax < th.Diameter()) {
			t.Errorf("%v: major %v .. %v", th, l.BoltMajorMin, l.BoltMajorMax)
		}
		if !(l.BoltPitchMin < l.BoltPitchMax && l.BoltPitchMax < l.TappedPitchMin && l.TappedPitchMin < l.TappedPitchMax) {
			t.Errorf("%v: pitch %v .. %v in %v .. %v", th, l.BoltPitchMin, l.BoltPitchMax, l.TappedPitchMin, l.TappedPitchMax)
		}
		if !(l.TappedMinorMin < l.TappedMinorMax && l.TappedMinorMax < l.BoltMajorMin) {
			t.Errorf("%v: minor %v .. %v under major %v", th, l.TappedMinorMin, l.TappedMinorMax, l.BoltMajorMin)
		}
	}
	if _, err := (Thread{}).Limits(); err == nil {
		t.Error("no thread has limits")
	}
}

// everyThread lists every thread of the tables.
func everyThread(t testing.TB) []Thread {
	var all []Thread
	for d, p := range isoCoarse {
		all = append(all, thread(t, "M"+number(d)+"x"+number(p)))
		for _, fine := range isoFine[d] {
			all = append(all, thread(t, "M"+number(d)+"x"+number(fine)))
		}
	}
	for _, row := range inchRows {
		for _, n := range []float64{row.unc, row.unf, row.unef} {
			if n > 0 {
				all = append(all, thread(t, sizeText(row.diameter)+"-"+number(n)))
			}
		}
	}
	return all
}
