package typed

import (
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

func read(t *testing.T, table *Table, text string) {
	t.Helper()
	table.Now = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	if err := table.Read("bores.csv", []byte(text)); err != nil {
		t.Fatal(err)
	}
}

// A comma in a figure is asked about until it was said what it marks; then each is taken
// alike, and only where it stands in a figure.
func TestACommaIsAskedAboutOnce(t *testing.T) {
	const text = "of;place;value;temperature;note\nbore;front;92,004 mm;20,5 degC;left, then right\nbore;rear;-0,003 mm;;1,5 turns\n"
	asked := &Table{By: "bench"}
	read(t, asked, text)
	if asked.Commas != 3 || asked.Events[0].Body.(journal.Reading).Value != "92,004 mm" {
		t.Errorf("%d commas, %+v", asked.Commas, asked.Events[0].Body)
	}
	said := &Table{By: "bench", Decimal: Comma}
	read(t, said, text)
	first, second := said.Events[0].Body.(journal.Reading), said.Events[1].Body.(journal.Reading)
	if said.Commas != 0 || first.Value != "92.004 mm" || first.Temperature != "20.5 degC" || second.Value != "-0.003 mm" || second.Note != "1,5 turns" {
		t.Errorf("%+v %+v", first, second)
	}
	// A comma beside a point cannot mark decimals; neither can two.
	odd := &Table{By: "bench", Decimal: Comma}
	read(t, odd, "of;value\nbore;1.234,5 mm\nbore;1,234,5 mm\n")
	for i, want := range []string{"1.234,5 mm", "1,234,5 mm"} {
		if got := odd.Events[i].Body.(journal.Reading).Value; got != want {
			t.Errorf("%s became %s", want, got)
		}
	}
}

// A row that was written from a reading is that reading, unless its value was changed.
func TestARowOfOurOwnTable(t *testing.T) {
	known := map[string]journal.Reading{"01A": {Of: "bore", Place: "front", Value: "92.010 mm"}}
	table := &Table{By: "bench", Known: known}
	read(t, table, "of,title,place,value,unit,late,event\nbore,Bore,front,92.01,mm,,01A\nbore,Bore,front,92.02,mm,entered later,01A\n")
	if table.Already != 1 || len(table.Events) != 1 || !table.Events[0].Late || table.Events[0].ID == "01A" {
		t.Errorf("%d there already, %+v", table.Already, table.Events)
	}
}

// What is wrong with the whole table is said with what to do.
func TestATableThatIsNone(t *testing.T) {
	for text, want := range map[string]string{"": "is empty", "a,b\n1,2\n": "no line of headings", "of,vaule\n": "not understood", "of\nbore\n": "no heading value", "of,value\xff\n": "not in UTF-8", "of,name,value\n": "two headings"} {
		err := (&Table{}).Read("x.csv", []byte(text))
		told, ok := err.(*Error)
		if !ok || !strings.Contains(told.Says, want) || told.Do == "" {
			t.Errorf("%q: %v", text, err)
		}
	}
}
