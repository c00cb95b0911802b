package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

const smallPack = `pack "small-engine" {
  title    = "Small engine"
  revision = "REV"
}
dimension "bore" {
  title = "Bore"
  new   = "70.000 .. 70.013 mm"
  limit = "LIMIT"
}
joint "head" {
  title  = "Head nuts"
  thread = "M8"
  torque = "TORQUE"
}
`

func smallRevision(revision, limit, torque string) string {
	return strings.NewReplacer("REV", revision, "LIMIT", limit, "TORQUE", torque).Replace(smallPack)
}

// A newer pack changes nothing of a job by itself. What is taken over is in force, and not
// checked by anybody until it is confirmed; what was confirmed before does not count.
func TestAnotherRevisionIsTakenOverFigureByFigure(t *testing.T) {
	b := newBench(t)
	start := `{"id":"job-00001","at":"2026-03-02T10:00:00Z","kind":"job","title":"single"}` + "\n" +
		`{"id":"note-0001","at":"2026-03-02T10:01:00Z","kind":"note","of":"dimension.bore","text":"Checked against the manual"}` + "\n"
	b.job("old", smallRevision("1", "<= 70.090 mm", "20 .. 22 N·m"), start)
	contains(t, b.get("/job/old/revision"), "No other revision of this pack is here")
	b.job("new", smallRevision("2", "<= 70.060 mm", "23 .. 25 N·m")+"check \"stud_seen\" {\n  ask = \"Studs seen?\"\n  pass = [\"yes\"]\n  answers = [\"yes\", \"no\"]\n}\n", start)
	page := b.get("/job/old/revision")
	contains(t, page, "revision 2", "Bore", "was &lt;= 70.090 mm", "now &lt;= 70.060 mm", "was 20 .. 22 N·m", "now 23 .. 25 N·m", "is new")
	contains(t, b.get("/job/old/read/bore"), "70.09")
	form := url.Values{"token": {b.token}, "key": {"take-0001"}, "from": {"new"}, "take": {"dimension.bore limit", "check.stud_seen "}}
	if w := b.do("POST", "/job/old/revision", form); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	page = b.get("/job/old/revision")
	contains(t, page, "Taken over, not checked by you", "now 23 .. 25 N·m")
	lacks(t, page, "now &lt;= 70.060 mm", "is new")
	contains(t, b.get("/job/old/read/bore"), "70.06")
	lacks(t, b.get("/job/old/wrench/head"), "23 to 25", "23 .. 25")
	// Confirmed, it is no longer open.
	for i, reference := range []string{"dimension.bore", "check.stud_seen"} {
		confirm := url.Values{"token": {b.token}, "key": {"note-100" + string(rune('0'+i))}, "kind": {"note"}, "of": {reference}, "text": {checkedAgainst + "revision 2 of the paper"}, "back": {"/"}}
		if w := b.do("POST", "/job/old/write", confirm); w.Code != http.StatusSeeOther {
			t.Fatalf("%d", w.Code)
		}
	}
	lacks(t, b.get("/job/old/revision"), "Taken over, not checked by you")
	// Nothing ticked, and what is not there, write nothing.
	before := b.events("old")
	for _, take := range [][]string{nil, {"dimension.nothing limit"}} {
		if w := b.do("POST", "/job/old/revision", url.Values{"token": {b.token}, "key": {"take-0002"}, "from": {"new"}, "take": take}); w.Code < 400 || b.events("old") != before {
			t.Errorf("%v: %d", take, w.Code)
		}
	}
}
