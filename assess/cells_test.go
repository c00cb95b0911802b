package assess_test

import (
	"math"
	"slices"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
)

const cellsPack = `
pack "cells" {
  title    = "Cells"
  revision = "1"
  source   = "made up for the test"
  language = 1
  units    = "mm"
}

dimension "bore" {
  title = "Bore"
  step  = "0.001 mm"
  judge = "largest"
  new   = "92.000 .. 92.013 mm"
  limit = "<= 92.090 mm"
  metal = "cast aluminium"
  read {
    positions = ["top", "low"]
    axes      = ["thrust", "pin"]
  }
}

number "bore_oval" {
  title = "Oval"
  value = oval(bore)
  unit  = "mm"
}

number "twice" {
  title = "Twice two millimetres"
  value = 2 * "2 mm"
  unit  = "mm"
}
`

func cellsModel(t *testing.T) *assess.Model {
	t.Helper()
	p, mistakes := pack.Load([]pack.File{{Name: "cells.pack", Text: []byte(cellsPack)}}, nil)
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	return assess.Prepare(p)
}

const cellsJournal = `{"id":"1","at":"2026-03-02T10:00:00Z","kind":"reading","of":"bore","cell":{"position":"top","axis":"thrust"},"value":"92.030 mm","phase":"as-found"}
{"id":"2","at":"2026-03-02T10:01:00Z","kind":"reading","of":"bore","cell":{"position":"top","axis":"thrust"},"value":"92.010 mm","temperature":"20 degC","phase":"as-machined"}
{"id":"3","at":"2026-03-02T10:02:00Z","kind":"reading","of":"bore","cell":{"position":"top","axis":"thrust"},"value":"92.011 mm","temperature":"20 degC"}
{"id":"4","at":"2026-03-02T10:03:00Z","kind":"reading","of":"bore","cell":{"position":"low","axis":"pin"},"value":"92.200 mm","temperature":"30 degC"}
{"id":"5","at":"2026-03-02T10:04:00Z","kind":"reading","of":"bore","cell":{"position":"low","axis":"thrust"},"value":"92.005 mm"}
{"id":"6","at":"2026-03-02T10:05:00Z","kind":"strike","event":"5","why":"wrong barrel"}
`

func TestCellsStandAsTheyWereRead(t *testing.T) {
	m := cellsModel(t)
	state := journal.Read([]byte(cellsJournal)).Fold()
	cells, limits, ok := m.Cells(state, "bore", "")
	if !ok || len(cells) != 4 || limits.Limit.High < 0.09208 {
		t.Fatalf("%v %v %v", cells, limits, ok)
	}
	if c := cells[0]; c.Position != "top" || c.Axis != "thrust" || !c.Begun || c.Value != 0.092011 || c.Verdict != measure.NewFit || !slices.Equal(c.Seqs, []int{1, 2}) {
		t.Errorf("the newest of the set begun last counts: %+v", c)
	}
	if cells[1].Begun || cells[2].Begun {
		t.Errorf("cells that were not read, or struck: %+v %+v", cells[1], cells[2])
	}
	// 10 °C above 20 °C: aluminium 21.5e-6 on a steel gauge 11.7e-6 is 9.0 µm less.
	if c := cells[3]; c.Axis != "pin" || math.Abs(c.Value-(0.0922-9.8e-6*0.0922*10)) > 1e-9 || c.Verdict != measure.OutOfLimits {
		t.Errorf("at 20 °C: %+v", c)
	}
	// What a cell shows is what the dimension is judged by.
	a := m.Assess(state, assess.Options{})
	for i := range a.Results {
		if r := &a.Results[i]; r.Name == "bore" && math.Abs(r.Value-cells[3].Value) > 1e-15 {
			t.Errorf("the dimension has %g, its largest cell %g", r.Value, cells[3].Value)
		}
	}
	if _, _, ok := m.Cells(state, "bore", "front"); ok {
		t.Error("a place that is not there has cells")
	}
}

func TestUsedInNamesWhatIsComputed(t *testing.T) {
	m := cellsModel(t)
	if got := m.UsedIn("bore", ""); !slices.Equal(got, []string{"number.bore_oval"}) {
		t.Errorf("%v", got)
	}
	if got := m.UsedIn("bore", "front"); len(got) != 0 {
		t.Errorf("%v", got)
	}
}
