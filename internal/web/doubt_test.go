package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"buttonup/journal"
)

// What a phone kept without a question is asked about when it comes, on its answer and on
// the page, until somebody strikes it or says that it is right.
func TestWhatCameUnaskedIsAskedAbout(t *testing.T) {
	b := newBench(t, "mid-inspection")
	line := func(id, axis, value, more string) string {
		return `{"id":"` + id + `","at":"2026-03-18T10:00:00Z","kind":"reading","of":"case_spigot_bore","place":"front","cell":{"position":"upper","axis":"` + axis + `"},"value":"` + value + `"` + more + "}\n"
	}
	_, a := b.deliver("mid-inspection", line("phone-001", "along the shaft", "98.07 mm", "")+line("phone-002", "across the shaft", "3.861 mm", ""))
	if outcomes(a) != "kept kept" || a.Answers[0].Asks != "" {
		t.Fatalf("%+v", a)
	}
	if asks := a.Answers[1].Asks; !strings.Contains(asks, "Did you mean 3.861 in?") || !strings.HasPrefix(a.Answers[1].Address, "/job/mid-inspection/read/case_spigot_bore?place=front") {
		t.Errorf("asked %q at %s", asks, a.Answers[1].Address)
	}
	page := b.get("/job/mid-inspection/read/case_spigot_bore?place=front")
	contains(t, page, "3.861 mm is right", "kept without being asked about", "Did you mean 3.861 in?", `data-slip=`)
	// A second delivery of the same asks no second time, and the question stays.
	if _, a := b.deliver("mid-inspection", line("phone-002", "across the shaft", "3.861 mm", "")); outcomes(a) != "already" || a.Answers[0].Asks != "" {
		t.Errorf("%+v", a)
	}
	// What the phone asked about itself is not asked again.
	if _, a := b.deliver("mid-inspection", line("phone-003", "across the shaft", "3.862 mm", `,"note":"zero checked; `+askedNote+`"`)); a.Answers[0].Asks != "" {
		t.Errorf("asked again: %+v", a)
	}
	lacks(t, b.get("/job/mid-inspection/read/case_spigot_bore?place=front"), "kept without being asked about")
	// A reading that is answered for is asked about no more.
	if _, a := b.deliver("mid-inspection", line("phone-004", "across the shaft", "3.863 mm", "")); a.Answers[0].Asks == "" {
		t.Error("nothing is asked")
	}
	if w := b.do("POST", "/job/mid-inspection/write", url.Values{"token": {b.token}, "key": {"answer-01"}, "kind": {"note"}, "text": {rightAsTyped + ": 3.863 mm."}, "of": {aboutEvent("phone-004")}, "back": {"/"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("%d", w.Code)
	}
	lacks(t, b.get("/job/mid-inspection/read/case_spigot_bore?place=front"), "kept without being asked about")
}

// A second yes on the page stands in the record, so that nobody asks again.
func TestASecondYesIsRecorded(t *testing.T) {
	b := newBench(t, "mid-inspection")
	b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07")
	b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00002", "3.861", "sure", "3.861 mm", "zero", "checked")
	if r := b.last("mid-inspection").Body.(journal.Reading); r.Note != "zero checked; "+askedNote {
		t.Errorf("the note is %q", r.Note)
	}
	lacks(t, b.get("/job/mid-inspection/read/case_spigot_bore?place=front"), "kept without being asked about")
}

// The events that a form with several keeps on a phone are those that the server writes
// from the same form, under the same names: sent both ways, they count once.
func TestSeveralEventsOfAFormCountOnce(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	sh, err := b.server.desks.sheet(t.Context(), "clean-rebuild")
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{"token": {b.token}, "key": {"many-0001"}, "back": {"/"}}
	lines, n := "", 0
	for _, c := range sh.pack.Checks {
		if n == 3 || len(c.Pass) == 0 {
			continue
		}
		reference := strings.TrimSpace("check." + c.Name + " " + members(sh.pack.Pack, c.At)[0])
		form.Add("yes", reference)
		id := "many-0001"
		if n > 0 {
			id += "-" + string(rune('1'+n))
		}
		lines += strings.Replace(sh.eachOf(reference), "{", `{"id":"`+id+`","at":"2026-03-18T10:00:00Z",`, 1) + "\n"
		n++
	}
	if w := b.do("POST", "/job/clean-rebuild/write", form); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if _, a := b.deliver("clean-rebuild", lines); outcomes(a) != "already already already" {
		t.Errorf("%s", outcomes(a))
	}
}
