package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
	"buttonup/quantity"
)

func TestWhen(t *testing.T) {
	now := time.Date(2026, 3, 2, 10, 0, 0, 0, time.FixedZone("shop", 3600))
	for _, x := range []struct {
		says string
		want time.Time
		late bool
	}{
		{"", now, false},
		{"40 min", now.Add(-40 * time.Minute), true},
		{"2 h", now.Add(-2 * time.Hour), true},
		{"9:15", now.Add(-45 * time.Minute), true},
		{"14:20", now.Add(-20 * time.Hour).Add(20 * time.Minute), true}, // yesterday: it cannot be later today
		{"2026-03-01T23:00", time.Date(2026, 3, 1, 23, 0, 0, 0, now.Location()), true},
	} {
		at, late, refused := when(x.says, now)
		if refused != nil || !at.Equal(x.want) || late != x.late {
			t.Errorf("when(%q) = %v, %v, %v; want %v, %v", x.says, at, late, refused, x.want, x.late)
		}
	}
	for _, says := range []string{"soon", "-5 min", "3 mm", "2026-03-03T10:00", "25:00", "1000 days"} {
		if _, _, refused := when(says, now); refused == nil {
			t.Errorf("when(%q) is taken", says)
		}
	}
}

// The order of a ring goes from side to side: every fastener once, and the second as far
// from the first as there is.
func TestCrossed(t *testing.T) {
	for n := 2; n <= 40; n++ {
		order := crossed(n)
		seen := map[int]bool{}
		for _, k := range order {
			if k < 1 || k > n || seen[k] {
				t.Fatalf("crossed(%d) = %v", n, order)
			}
			seen[k] = true
		}
		if len(order) != n || n%2 == 0 && order[1]-order[0] != n/2 {
			t.Errorf("crossed(%d) = %v does not begin across", n, order)
		}
	}
	if got := crossed(4); got[0] != 1 || got[1] != 3 || got[2] != 2 || got[3] != 4 {
		t.Errorf("crossed(4) = %v, want 1 3 2 4", got)
	}
}

func TestShopWords(t *testing.T) {
	page := `<h1 title="inlet">Inlet valve</h1><a href="/inlet">both inlets</a><textarea>inlet</textarea><option>inlet</option><option value="inlet">inlet</option><code>inlet</code> inletting`
	want := `<h1 title="inlet">Intake valve</h1><a href="/inlet">both intakes</a><textarea>inlet</textarea><option>inlet</option><option value="inlet">intake</option><code>inlet</code> inletting`
	if got := string(inShopWords([]byte(page), []string{"intake"})); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := string(inShopWords([]byte(page), nil)); got != page {
		t.Error("a page changes that was asked to stay")
	}
}

// post sends a form as a page of ours does.
func (b *benchTest) post(path string, fields ...string) *httptest.ResponseRecorder {
	form := url.Values{"token": {b.s.token}, "key": {b.s.record.NewID()}}
	for i := 0; i+1 < len(fields); i += 2 {
		form.Set(fields[i], fields[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Host, r.RemoteAddr = "127.0.0.1:8484", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	b.s.Handler().ServeHTTP(w, r)
	return w
}

type benchTest struct {
	s *Server
	t *testing.T
}

func (b *benchTest) sheet(job string) *sheet {
	b.t.Helper()
	sh, err := b.s.desks.sheet(context.Background(), job)
	if err != nil {
		b.t.Fatal(err)
	}
	return sh
}

func newBenchTest(t *testing.T) *benchTest {
	t.Helper()
	return &benchTest{emptyServer(t), t}
}

// A form that arrives twice counts once, one that says something else under the same
// name is refused, and what the pack does not know is not kept.
func TestWriteOnce(t *testing.T) {
	b := newBenchTest(t)
	if w := b.post("/new/join", "engine", "One", "title", "Lid", "look1", "Clean", "torque_low", "9", "torque_high", "11", "torque_unit", "N·m", "thread", "M6x1.0", "fasteners", "4", "key", "0123456789abcdef"); w.Code != http.StatusSeeOther {
		t.Fatalf("the form was answered with %d: %.600s", w.Code, strings.TrimSpace(troubleOfPage(w.Body.String())))
	}
	if w := b.post("/new/join", "engine", "One", "title", "Lid", "look1", "Clean", "torque_low", "9", "torque_high", "11", "torque_unit", "N·m", "thread", "M6x1.0", "fasteners", "4", "key", "0123456789abcdef"); w.Code != http.StatusSeeOther {
		t.Fatalf("the same form again was answered with %d", w.Code)
	}
	jobs, err := b.s.record.Jobs(context.Background())
	if err != nil || len(jobs) != 1 {
		t.Fatalf("%d jobs, %v", len(jobs), err)
	}
	job := jobs[0].ID
	events := b.sheet(job).A.Events
	write := "/job/" + job + "/write"
	key := "fedcba9876543210"
	for range 2 {
		if w := b.post(write, "key", key, "kind", "check", "of", "clean", "answer", "yes"); w.Code != http.StatusSeeOther {
			t.Fatalf("an answer was answered with %d: %.600s", w.Code, strings.TrimSpace(troubleOfPage(w.Body.String())))
		}
	}
	if got := b.sheet(job).A.Events; got != events+1 {
		t.Errorf("%d entries after one answer sent twice, want %d", got, events+1)
	}
	if w := b.post(write, "key", key, "kind", "check", "of", "clean", "answer", "no"); w.Code != http.StatusBadRequest {
		t.Errorf("another answer under the same name was answered with %d", w.Code)
	}
	for _, fields := range [][]string{
		{"kind", "check", "of", "clean", "answer", "perhaps"}, {"kind", "check", "of", "dirty", "answer", "yes"}, {"kind", "operation", "operation", "lid", "place", "front", "state", "done"},
		{"kind", "operation", "operation", "lid", "state", "half done"}, {"kind", "torque", "joint", "lid_fasteners", "stage", "7", "point", "all"}, {"kind", "torque", "joint", "lid_fasteners", "stage", "1", "point", "9"},
		{"kind", "torque", "joint", "lid_fasteners", "stage", "1", "point", "all", "value", "10 mm"}, {"kind", "note", "text", " "}, {"kind", "strike", "event", "nobody", "why", "x"}, {"kind", "strike", "event", key}, {"kind", "extra", "text", "x"},
		{"kind", "anyway", "operation", "lid"}, {"kind", "instrument", "name", "x", "max", "ten"}, {"kind", "instrument", "name", "x", "arm", "300 mm"}, {"kind", "reading", "of", "clean", "value", "3 flats"}, {},
	} {
		if w := b.post(write, fields...); w.Code != http.StatusBadRequest && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%v was answered with %d", fields, w.Code)
		}
	}
	if got := b.sheet(job).A.Events; got != events+1 {
		t.Errorf("%d entries after forms that were refused, want %d", got, events+1)
	}
	b.post(write, "kind", "operation", "operation", "lid", "state", "done", "earlier", "40 min")
	sh := b.sheet(job)
	last := sh.event[len(sh.event)-1]
	if _, ok := last.Body.(journal.Operation); !ok || !last.Late {
		t.Errorf("what was done earlier is kept as %+v", last)
	}
}

// Going on anyway writes one accepted finding for each thing in the way, with the reason,
// and then the operation; nothing stops the job afterwards that was accepted.
func TestAnyway(t *testing.T) {
	b := newBenchTest(t)
	b.post("/new/join", "engine", "One", "title", "Lid", "look1", "Clean", "closes", "Chest", "inside", "Oiled")
	jobs, _ := b.s.record.Jobs(context.Background())
	job := jobs[0].ID
	if w := b.post("/job/"+job+"/write", "kind", "anyway", "operation", "lid", "why", "the customer waits"); w.Code != http.StatusSeeOther {
		t.Fatalf("answered with %d: %.600s", w.Code, strings.TrimSpace(troubleOfPage(w.Body.String())))
	}
	sh := b.sheet(job)
	if len(sh.State.Deviations) < 2 {
		t.Errorf("%d accepted findings, want one for the look and one for what is unfinished inside", len(sh.State.Deviations))
	}
	for _, d := range sh.State.Deviations {
		if d.Why != "the customer waits" {
			t.Errorf("%s is accepted because %q", d.Finding, d.Why)
		}
	}
	for i := range sh.A.Findings {
		if f := &sh.A.Findings[i]; f.Code == "route.closed-too-early" && f.Accepted == nil || f.Code == "route.hold-passed" {
			t.Errorf("%s still stands", f.ID())
		}
	}
}

// What is set on a wrench lies within the torque of the last pass, in every unit and for
// graduations that miss it.
func TestSettingStaysWithin(t *testing.T) {
	for _, x := range []struct{ low, high, unit, wrench, graduation string }{
		{"9.0", "11.0", "N·m", "in-lb", "1"}, {"9.0", "9.4", "N·m", "in-lb", "5"}, {"41", "45", "N·m", "ft-lb", "1"}, {"32", "33", "ft-lb", "N·m", "5"}, {"80", "84", "in-lb", "N·m", "0.5"},
	} {
		b := newBenchTest(t)
		b.post("/new/join", "engine", "One", "title", "Lid", "torque_low", x.low, "torque_high", x.high, "torque_unit", x.unit, "thread", "M10x1.5", "fasteners", "2")
		jobs, _ := b.s.record.Jobs(context.Background())
		if len(jobs) == 0 {
			b.post("/new/join", "engine", "One", "title", "Lid", "torque_low", x.low, "torque_high", x.high, "torque_unit", x.unit, "thread", "M6x1.0", "fasteners", "2")
			jobs, _ = b.s.record.Jobs(context.Background())
		}
		b.post("/job/"+jobs[0].ID+"/write", "kind", "instrument", "name", "w", "class", "torque wrench", "min", "1", "max", "200", "graduation", x.graduation, "unit", x.wrench)
		sh := b.sheet(jobs[0].ID)
		v := &wrenchView{J: sh.joint("lid_fasteners", "")}
		v.Sheet = sh
		v.passes()
		v.choose("w", true)
		v.press()
		q, err := quantity.Parse(v.Set.Value)
		if err != nil || !v.within(q.SI) {
			t.Errorf("%s to %s %s on a wrench in %s of %s: the value written is %q, %v", x.low, x.high, x.unit, x.wrench, x.graduation, v.Set.Value, err)
		}
		if !strings.HasSuffix(v.Set.Value, x.wrench) || v.Set.Unit != x.wrench {
			t.Errorf("the setting %+v is not in %s", v.Set, x.wrench)
		}
	}
}

// troubleOfPage is what a page of trouble says.
func troubleOfPage(page string) string {
	_, rest, _ := strings.Cut(page, `id="says"`)
	return rest
}
