package parts

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// past reads a job from short lines: "DAY STATE PART SLOT [PLACE]; field=value; …".
func past(t *testing.T, c *Catalogue, job, family string, lines ...string) Past {
	t.Helper()
	var b strings.Builder
	for i, line := range lines {
		fields := strings.Split(line, "; ")
		words := strings.Fields(fields[0])
		fmt.Fprintf(&b, `{"id":"%s-%d","at":"2026-03-%sT10:00:00Z","by":"bench"`, job, i, words[0])
		if words[1] == "addition" {
			fmt.Fprintf(&b, `,"kind":"addition","text":%q}`+"\n", strings.Join(words[2:], " "))
			continue
		}
		fmt.Fprintf(&b, `,"kind":"part","state":%q`, words[1])
		if words[2] != "-" {
			fmt.Fprintf(&b, `,"part":%q`, words[2])
		}
		if len(words) > 3 && words[3] != "-" {
			fmt.Fprintf(&b, `,"slot":%q`, words[3])
		}
		if len(words) > 4 {
			fmt.Fprintf(&b, `,"place":%q`, strings.Join(words[4:], " "))
		}
		for _, f := range fields[1:] {
			name, value, _ := strings.Cut(f, "=")
			switch name {
			case "count":
				fmt.Fprintf(&b, `,"count":%s`, value)
			case "thickness", "diameter":
				fmt.Fprintf(&b, `,"sizes":{%q:%q}`, name, value)
			default:
				fmt.Fprintf(&b, `,%q:%q`, name, value)
			}
		}
		b.WriteString("}\n")
	}
	j := journal.Read([]byte(b.String()))
	s := j.Fold()
	if len(s.Problems) > 0 {
		t.Fatal(s.Problems)
	}
	return Past{Job: job, Title: "Job " + job, Engine: "B-" + job, Family: family, State: s, Catalogue: c}
}

func TestLastTime(t *testing.T) {
	c := benchPack(t)
	jobs := []Past{
		past(t, c, "1", "bench", "01 ordered G-2 gasket; to=Quillmere Spares; price=3.10", "03 received G-2 gasket; lot=L 7", "04 fitted G-2 gasket", "09 addition weeps after 400 km"),
		past(t, c, "2", "bench", "05 received G-3 gasket; from=Ostlow; price=2.90", "06 fitted G-3 gasket", "08 removed - gasket; why=feed hole covered"),
		past(t, c, "3", "another", "10 fitted G-3 gasket"),
		past(t, c, "4", "bench", "11 received G-3 gasket"),
	}
	got := LastTime(jobs, "bench", "gasket", "4")
	if len(got) != 2 {
		t.Fatalf("%d were fitted, want 2: %v", len(got), got)
	}
	if f := got[0]; f.Job != "2" || f.Part != "G-3" || f.From != "Ostlow" || f.Price != "2.90" || f.How != TakenOut || f.Why != "feed hole covered" || f.After != 48*time.Hour {
		t.Errorf("the newest is %+v", f)
	}
	if f := got[1]; f.Job != "1" || f.From != "Quillmere Spares" || f.Price != "3.10" || f.Lot != "L 7" || f.How != StillIn || f.Said != "weeps after 400 km" {
		t.Errorf("the one before is %+v", f)
	}
	if again := LastTime(jobs, "bench", "gasket", "2"); len(again) != 1 || again[0].Job != "1" {
		t.Errorf("a job is told of itself: %v", again)
	}
}

func TestWithLot(t *testing.T) {
	c := benchPack(t)
	jobs := []Past{
		past(t, c, "1", "bench", "03 received G-2 gasket; lot=L 7", "04 fitted G-2 gasket"),
		past(t, c, "2", "bench", "03 received G-2 gasket; lot=l-7"), // never fitted: on the shelf
		past(t, c, "3", "bench", "04 fitted G-2 gasket; lot=L 8"),
		past(t, c, "4", "bench", "04 fitted C-L carrier; lot=L 7"),
	}
	if got := WithLot(jobs, "G-2", "L7"); len(got) != 1 || got[0].Job != "1" {
		t.Errorf("lot L7 of G-2 is in %v", got)
	}
	if got := WithLot(jobs, "", "L7"); len(got) != 3 { // the carriers sit at two places
		t.Errorf("lot L7 is in %v", got)
	}
	if got := WithLot(jobs, "", ""); len(got) != 0 {
		t.Errorf("no lot is in %v", got)
	}
}

// A law: pieces are neither made nor lost. What was received and came back is what
// was fitted, rejected and sent, and what lies on the shelf.
func TestShelf(t *testing.T) {
	c := benchPack(t)
	jobs := []Past{
		past(t, c, "1", "bench", "01 received G-2 gasket; count=4; lot=L 7; price=3.10", "02 fitted G-2 gasket", "03 rejected G-2 gasket; why=torn"),
		past(t, c, "2", "bench", "01 received C-L carrier", "02 fitted C-L carrier left", "03 received C-R carrier right", "04 sent C-R carrier right", "06 back C-R carrier right"),
		past(t, c, "4", "bench", "01 received KIT gasket", "01 received KIT spring", "01 received KIT shim"),
		past(t, c, "5", "bench", "01 received KIT gasket", "01 received KIT spring", "02 fitted KIT gasket"),
		past(t, c, "3", "bench", "01 wanted G-3 gasket", "01 ordered G-3 gasket"),
	}
	got := map[string]int{}
	for _, s := range Shelf(jobs) {
		got[s.Part] += s.Count
	}
	want := map[string]int{"G-2": 2, "C-L": 1, "C-R": 1, "KIT": 1}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("on the shelf: %v, want %v", got, want)
	}
}

func TestSentOut(t *testing.T) {
	c := benchPack(t)
	p := past(t, c, "1", "bench",
		"01 sent C-L carrier left; to=Harbour Grinding; asked=regrind the face; due=2026-03-05",
		"01 sent C-R carrier right; to=Harbour Grinding; due=2026-03-09",
		"04 back - carrier left; thickness=19.98 mm; why=face clean; price=30.00")
	got := SentOut(p.State)
	if len(got) != 2 || got[0].Out() || got[0].Sizes["thickness"] != "19.98 mm" || got[0].Asked != "regrind the face" || got[0].Price != "30.00" {
		t.Fatalf("sent out: %+v", got)
	}
	day := func(d int) time.Time { return time.Date(2026, 3, d, 12, 0, 0, 0, time.UTC) }
	if !got[1].Out() || got[1].Overdue(day(9)) || !got[1].Overdue(day(10)) || got[0].Overdue(day(20)) || got[1].Overdue(time.Time{}) {
		t.Error("what is due on the 9th is overdue from the 10th, and only while it is out")
	}
}
