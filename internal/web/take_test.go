package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"buttonup/journal"
)

// deliver sends events as an outbox does.
func (b *bench) deliver(job, lines string, change ...func(*http.Request)) (*httptest.ResponseRecorder, takenAll) {
	b.t.Helper()
	r := httptest.NewRequest("POST", jobPath(job, "events"), strings.NewReader(lines))
	r.Host, r.RemoteAddr = "127.0.0.1:8484", "127.0.0.1:50000"
	r.Header.Set("Content-Type", "application/x-ndjson")
	r.Header.Set("Origin", "http://127.0.0.1:8484")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set(headerToken, b.token)
	for _, f := range change {
		f(r)
	}
	w := httptest.NewRecorder()
	b.server.Handler().ServeHTTP(w, r)
	var a takenAll
	if w.Code == http.StatusOK {
		if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil {
			b.t.Fatalf("%v: %s", err, w.Body)
		}
	}
	return w, a
}

func outcomes(a takenAll) string {
	var list []string
	for _, x := range a.Answers {
		list = append(list, x.Outcome)
	}
	return strings.Join(list, " ")
}

const twoEntries = `{"id":"phone-001","at":"2026-03-18T10:00:00Z","kind":"reading","of":"case_spigot_bore","place":"front","cell":{"position":"upper","axis":"along the shaft"},"value":"98.07 mm"}
{"id":"phone-002","at":"2026-03-18T09:00:00Z","kind":"note","text":"smells of fuel"}
`

func TestAnOutboxIsTakenInOrderAndOnce(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	w, a := b.deliver("mid-inspection", twoEntries)
	if w.Code != http.StatusOK || outcomes(a) != "kept kept" || a.Answers[0].Seq != before+1 || a.Answers[1].Seq != before+2 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if e := b.last("mid-inspection"); e.ID != "phone-002" || e.By != by {
		t.Errorf("the last is %s by %q", e.ID, e.By)
	}
	if a.Now != "2026-03-18T11:00:00.000Z" {
		t.Errorf("the time here is given as %s", a.Now)
	}
	// Sent again, whole and in part, it counts once.
	if _, a = b.deliver("mid-inspection", twoEntries); outcomes(a) != "already already" {
		t.Errorf("sent again: %s", outcomes(a))
	}
	if _, a = b.deliver("mid-inspection", twoEntries+`{"id":"phone-003","at":"2026-03-18T10:00:00Z","kind":"note","text":"x"}`); outcomes(a) != "already already kept" {
		t.Errorf("sent with more: %s", outcomes(a))
	}
	// Another entry under a used id is told apart, what is broken holds up nobody.
	w, a = b.deliver("mid-inspection", `{"id":"phone-002","at":"2026-03-18T09:00:00Z","kind":"note","text":"of coolant"}
nonsense
{"id":"phone-004","at":"2026-03-18T10:00:00Z","kind":"note","text":"y"}`)
	if outcomes(a) != "different refused kept" || a.Answers[0].Says == "" || a.Answers[1].Says == "" {
		t.Errorf("%s: %s", outcomes(a), w.Body)
	}
	if n := b.events("mid-inspection") - before; n != 4 {
		t.Errorf("%d events were kept", n)
	}
	// One that the page had already written from its form, at another time, is the same.
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "formkey1", "98.08"); w.Code != http.StatusOK {
		t.Fatal(w.Code)
	}
	if _, a = b.deliver("mid-inspection", `{"id":"formkey1","at":"2026-03-18T08:00:00Z","kind":"reading","of":"case_spigot_bore","place":"front","cell":{"position":"upper","axis":"across the shaft"},"value":"98.08 mm"}`); outcomes(a) != "already" {
		t.Errorf("after the form: %s", outcomes(a))
	}
	asides, err := b.record.Asides(t.Context(), "mid-inspection")
	if err != nil || len(asides) != 2 {
		t.Errorf("%d lines were set aside, %v", len(asides), err)
	}
}

func TestADeviceDoesNotDecideWhoWrote(t *testing.T) {
	b := newBench(t, "mid-inspection")
	_, a := b.deliver("mid-inspection", `{"id":"phone-001","at":"2026-03-18T09:00:00Z","by":"M. Pell","kind":"note","text":"x"}`)
	if e := b.last("mid-inspection"); outcomes(a) != "kept" || e.By != by || e.Body != (journal.Note{Text: "x"}) {
		t.Errorf("%s %+v", outcomes(a), e)
	}
}

// Whatever way a line claims it, who wrote it is not for the device to say.
func TestNobodyWritesUnderAnothersName(t *testing.T) {
	b := newBench(t, "mid-inspection")
	for i, line := range []string{
		`{"id":"forged-%d","at":"2026-03-18T09:00:00Z","by":"M. Pell","kind":"note","text":"x"}`,
		`{"id":"forged-%d","at":"2026-03-18T09:00:00Z","\u0062y":"M. Pell","kind":"note","text":"x"}`,
		`{"id":"forged-%d","at":"2026-03-18T09:00:00Z","\u0062y":"","kind":"note","text":"x"}`,
		`{"by":"M. Pell","id":"forged-%d","at":"2026-03-18T09:00:00Z","kind":"of a newer version","text":"x"}`,
		`{"id":"forged-%d","at":"2026-03-18T09:00:00Z","by":"M. Pell","kind":"note","text":"x","seq":1,"hash":"0000000000000000000000000000000000000000000000000000000000000000"}`,
		`{"id":"forged-%d","at":"2026-03-18T09:00:00Z","kind":"note","text":"x","seq":1,"hash":"0000000000000000000000000000000000000000000000000000000000000000"}`,
	} {
		w, _ := b.deliver("mid-inspection", fmt.Sprintf(line, i))
		if w.Code != http.StatusOK {
			t.Errorf("%s: %d", line, w.Code)
		}
	}
	events, err := b.record.Read(t.Context(), "mid-inspection", 0)
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	for _, stored := range events {
		e, _ := journal.Decode(stored.Bytes)
		if strings.HasPrefix(e.ID, "forged") {
			kept++
			if e.By != by {
				t.Errorf("%s stands under %q", stored.Bytes, e.By)
			}
		}
	}
	if kept < 3 {
		t.Errorf("only %d were kept", kept)
	}
}

func TestAnOutboxIsGuardedLikeTheRest(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	for name, change := range map[string]func(*http.Request){
		"no token":          func(r *http.Request) { r.Header.Del(headerToken) },
		"another token":     func(r *http.Request) { r.Header.Set(headerToken, "00") },
		"another site":      func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"another origin":    func(r *http.Request) { r.Header.Set("Origin", "http://example.org") },
		"no origin at all":  func(r *http.Request) { r.Header.Del("Origin"); r.Header.Del("Sec-Fetch-Site") },
		"another host":      func(r *http.Request) { r.Host = "example.org" },
		"text as of a form": func(r *http.Request) { r.Header.Set("Content-Type", "application/x-www-form-urlencoded") },
	} {
		if w, _ := b.deliver("mid-inspection", twoEntries, change); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	for body, want := range map[string]int{
		"":                                     http.StatusBadRequest,
		"\n\n":                                 http.StatusBadRequest,
		strings.Repeat("x\n", mostDelivered+1): http.StatusBadRequest,
		strings.Repeat("x", largestDelivery+1): http.StatusRequestEntityTooLarge,
	} {
		if w, _ := b.deliver("mid-inspection", body); w.Code != want {
			t.Errorf("%d bytes: %d, want %d", len(body), w.Code, want)
		}
	}
	if w, _ := b.deliver("none", twoEntries); w.Code != http.StatusNotFound {
		t.Errorf("no such job: %d", w.Code)
	}
	if b.events("mid-inspection") != before {
		t.Error("something was kept")
	}
}

func TestTheTokenIsForPagesOfOurs(t *testing.T) {
	b := newBench(t, "mid-inspection")
	if text := b.get("/token"); !strings.Contains(text, b.token) {
		t.Errorf("%s", text)
	}
	if w := b.do("GET", "/token", nil, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }); w.Code != http.StatusForbidden {
		t.Errorf("asked by another site: %d", w.Code)
	}
}
