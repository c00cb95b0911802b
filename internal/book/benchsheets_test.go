package book

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
)

// A bore is finished to the piston that was measured: skirt and clearance added by
// hand. Without the piston there is no size.
func TestABoreIsFinishedToItsPiston(t *testing.T) {
	p, mistakes := pack.Load([]pack.File{{Name: "a.pack", Text: []byte(`
pack "a" {
  title = "A (invented)"
}
place "cylinder" {
  each = ["front", "rear"]
}
dimension "bore" {
  at   = cylinder
  step = "0.001 mm"
}
dimension "skirt" {
  at   = cylinder
  step = "0.001 mm"
}
number "clearance" {
  at    = cylinder
  value = bore - skirt
  unit  = "mm"
  new   = "0.045 .. 0.065 mm"
}
`)}}, nil)
	if len(mistakes) > 0 {
		t.Fatal(mistakes[0])
	}
	state := journal.Read([]byte(`{"id":"1","at":"2026-03-02T10:00:00Z","by":"b","kind":"reading","of":"skirt","place":"front","value":"91.950 mm"}
{"id":"2","at":"2026-03-02T10:00:00Z","by":"b","kind":"reading","of":"bore","place":"front","value":"91.980 mm"}
{"id":"3","at":"2026-03-02T10:00:00Z","by":"b","kind":"reading","of":"bore","place":"rear","value":"91.980 mm"}
`)).Fold()
	j := &Job{Pack: p, State: state, Assessment: assess.Prepare(p).Assess(state, assess.Options{}), Paper: A4}
	got, err := j.Targets("bore")
	if err != nil || len(got) != 2 {
		t.Fatal(got, err)
	}
	// 91.950 + 0.045 = 91.995 mm, 91.950 + 0.065 = 92.015 mm.
	if f := got[0]; !f.Known() || math.Abs(f.Low-0.091995) > 1e-10 || math.Abs(f.High-0.092015) > 1e-10 {
		t.Errorf("front: %+v", f)
	}
	if r := got[1]; r.Known() || !strings.Contains(strings.Join(r.Missing, " "), "skirt") {
		t.Errorf("rear: %+v, and its piston has not been measured", r)
	}
	d, err := j.Sublet("dimension.bore", "", "")
	if err != nil {
		t.Fatal(err)
	}
	text, _ := sheetText(t, &Sheet{Document: d})
	flat := strings.Join(strings.Fields(text), " ")
	if !strings.Contains(flat, "92.005 mm ± 0.0100") || !strings.Contains(flat, "NO SIZE YET") {
		t.Error(flat)
	}
}

// Money is added exactly: ten dimes are a whole, which they are not in binary.
func TestMoneyIsExact(t *testing.T) {
	s := &journal.State{}
	for range 10 {
		s.Costs = append(s.Costs, journal.CostRecord{Cost: journal.Cost{What: "washer", Amount: "0.10"}})
	}
	s.Costs = append(s.Costs, journal.CostRecord{Cost: journal.Cost{What: "postage", Amount: "EUR 4.05"}}, journal.CostRecord{Cost: journal.Cost{What: "odd", Amount: "4,05"}})
	s.Parts = []journal.PartRecord{{PartBody: journal.Part{Part: "G-1", State: journal.Received, Price: "1.15", Count: 3}}}
	s.Times = []journal.TimeRecord{{TimeWorked: journal.TimeWorked{Minutes: 20}}}
	s.Approvals = []journal.ApprovalRecord{{Approval: journal.Approval{What: "stop and call at", Amount: "20.00"}}}
	a := MakeAccount(&Job{State: s}, "35.40")
	// 10 × 0.10 + 4.05 + 3 × 1.15 + 35.40 × 20/60 = 1.00 + 4.05 + 3.45 + 11.80 = 20.30
	if got := amount(a.Spent); got != "20.30" {
		t.Error(got)
	}
	if len(a.Unread) != 1 || !strings.Contains(a.Unread[0], "4,05") {
		t.Errorf("a decimal comma is asked about, not guessed: %v", a.Unread)
	}
	if a.Call == nil || amount(a.Call) != "20.00" {
		t.Error(a.Call)
	}
	if got := a.Says(); got != "It came to 20.30 EUR until now. Nothing was estimated. Agreed: stop and call at 20.00 EUR. That has been reached: ring the owner before going on." {
		t.Error(got)
	}
}

// Money of two currencies is never one sum: what is in another than the job's stands apart.
func TestCurrenciesAreNotAddedUp(t *testing.T) {
	s := &journal.State{
		Estimates: []journal.EstimateRecord{{Estimate: journal.Estimate{What: "all of it", Amount: "100.00 GBP"}}},
		Costs: []journal.CostRecord{{Cost: journal.Cost{What: "hone", Amount: "30.00"}}, {Cost: journal.Cost{What: "rings", Amount: "40.00 EUR"}},
			{Cost: journal.Cost{What: "sign", Amount: "€ 5.00"}}, {Cost: journal.Cost{What: "guess", Amount: "about 7.00"}}},
	}
	a := MakeAccount(&Job{State: s}, "")
	if got := a.Text(a.Spent); got != "37.00 GBP" {
		t.Error(got)
	}
	if want := []string{"rings: 40.00 EUR is not in GBP", "sign: € 5.00 is not in GBP"}; !slices.Equal(a.Unread, want) {
		t.Errorf("%q, want %q", a.Unread, want)
	}
	if got := a.Says(); got != "It came to 37.00 GBP until now, estimated were 100.00 GBP. That is 63.00 GBP below the estimate." {
		t.Error(got)
	}
	// Nobody names one: that of the sellers, if they have one among them.
	sellers := &pack.Pack{Suppliers: []*pack.Supplier{{Currency: "GBP"}, {}, {Currency: "GBP"}}}
	for _, want := range []string{"GBP", ""} {
		if got := MakeAccount(&Job{State: &journal.State{}, Pack: sellers}, "").Currency; got != want {
			t.Errorf("currency %q, want %q", got, want)
		}
		sellers.Suppliers[1].Currency = "EUR"
	}
}

// Another program reads the codes on the labels.
func TestLabelsAreRead(t *testing.T) {
	j := finished(t)
	list := []Label{{"Job 0410", "Tray: crankcase", "http://shop.test:8484/job/0410/spaces"}, {"Job 0410", "Piston, rear", "http://shop.test:8484/job/0410/parts"}}
	d, err := j.Labels(list)
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.PDF([]byte("0123456789abcdef"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "l.pdf"), b, 0o600); err != nil {
		t.Fatal(err)
	}
	outside(t, "pdftoppm", "-r", "200", "-png", filepath.Join(dir, "l.pdf"), filepath.Join(dir, "l"))
	if _, err := exec.LookPath("zbarimg"); err != nil {
		if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
			t.Skip("zbarimg is not here, and comparisons were switched off")
		}
		t.Fatal("zbarimg is not here: make needs installs it, or set BUTTONUP_WITHOUT_REFERENCES=1")
	}
	images, _ := filepath.Glob(filepath.Join(dir, "l-*.png"))
	out, err := exec.Command("zbarimg", "-q", "--raw", images[0]).Output()
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Fields(string(out))
	for _, l := range list {
		if !slices.Contains(got, l.Address) {
			t.Errorf("zbarimg reads %v, and not %s", got, l.Address)
		}
	}
}

// Every joint that is asked for stands on the stage card with a blank for each pass.
func TestStageCard(t *testing.T) {
	j := finished(t)
	d, err := j.StageCard([]string{"head_nuts"})
	if err != nil {
		t.Fatal(err)
	}
	text, _ := sheetText(t, &Sheet{Document: d})
	for _, want := range []string{"12 N·m", "25 N·m", "43 N·m", "ft-lb", "oiled", "Wrench:"} {
		if !strings.Contains(text, want) {
			t.Errorf("the card does not tell %q", want)
		}
	}
	// Without names there is nothing on it that has no torque to tick, and the sheets are
	// not one a joint.
	all, err := j.StageCard(nil)
	if err != nil {
		t.Fatal(err)
	}
	text, info := sheetText(t, &Sheet{Document: all})
	if strings.Contains(text, "Barrel studs in the cases") {
		t.Error("a joint without a torque is on the card")
	}
	joints := strings.Count(text, "Wrench:")
	var sheets int
	fmt.Sscanf(info[strings.Index(info, "Pages:")+6:], "%d", &sheets)
	if joints < 10 || sheets > joints*2/3 {
		t.Errorf("%d joints on %d sheets", joints, sheets)
	}
	if _, err := j.StageCard([]string{"no_such_joint"}); err == nil {
		t.Error("a card of nothing was made")
	}
}

// A calendar file keeps to RFC 5545: lines of at most 75 bytes, CR LF, texts escaped.
func TestCalendar(t *testing.T) {
	j := finished(t)
	j.Assessment.Waits = append(j.Assessment.Waits, assess.Wait{Operation: assess.Operation{Name: "carrier_on", Place: "front"}, For: "screw locker; all of it, and a long name so that the line is folded once at least", Due: time.Date(2026, 6, 2, 8, 0, 0, 0, time.UTC)})
	text := string(j.Calendar())
	for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("%d bytes: %q", len(line), line)
		}
	}
	whole := strings.ReplaceAll(text, "\r\n ", "")
	for _, want := range []string{"DTSTART:20260602T080000Z", `screw locker\; all of it\, and a long name so that the line is folded once at least`, "re-torque Barrel and head nuts"} {
		if !strings.Contains(whole, want) {
			t.Errorf("%q is not in\n%s", want, whole)
		}
	}
	if strings.Count(text, "BEGIN:VEVENT") != strings.Count(text, "END:VEVENT") {
		t.Error("an entry does not end")
	}
}

func TestStandsIsTwoSentences(t *testing.T) {
	j := finished(t)
	if says := j.Stands(); strings.Count(says, ".") != 2 || !strings.Contains(says, "finished") {
		t.Error(says)
	}
	empty := &journal.State{}
	j2 := &Job{Pack: j.Pack, State: empty, Assessment: assess.Prepare(j.Pack).Assess(empty, assess.Options{})}
	if says := j2.Stands(); !strings.Contains(says, "not begun") {
		t.Error(says)
	}
}

// What a spreadsheet would take for a formula is made harmless, figures stay figures,
// and with a decimal comma the fields are parted by semicolons.
func TestTablesAreHarmless(t *testing.T) {
	s := &journal.State{Readings: []journal.ReadingRecord{
		{Reading: journal.Reading{Of: "bore", Value: "92.004 mm", Note: "=HYPERLINK(\"http://x\")"}},
		{Reading: journal.Reading{Of: "step", Value: "-0.003 mm", Note: "a, \"b\"; c"}},
		{Reading: journal.Reading{Of: "@cmd", Value: "+1 mm", Note: "plain"}},
	}}
	l, err := (&Job{State: s, Pack: &pack.Pack{}}).Listing("readings")
	if err != nil {
		t.Fatal(err)
	}
	text := string(l.CSV(false))
	for _, want := range []string{"bore,dimension.bore,,,,,92.004,mm", `'=HYPERLINK(""http://x"")`, ",-0.003,mm,", `"a, ""b""; c"`, "'@cmd,"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	if comma := string(l.CSV(true)); !strings.Contains(comma, ";92,004;mm;") || !strings.Contains(comma, `"a, ""b""; c"`) {
		t.Error(comma)
	}
	if _, err := (&Job{State: s, Pack: &pack.Pack{}}).Listing("secrets"); err == nil {
		t.Error("a table that is none was made")
	}
}
