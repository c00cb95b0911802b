package web

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"buttonup/internal/book"
	table "buttonup/internal/sheet"
	"buttonup/journal"
)

// enter sends what one of the forms of these pages sends.
func (b *bench) enter(job string, fields ...string) *httptest.ResponseRecorder {
	form := url.Values{"token": {b.token}, "key": {b.record.NewID()}, "back": {"/job/" + job + "/film"}}
	for i := 0; i+1 < len(fields); i += 2 {
		form.Set(fields[i], fields[i+1])
	}
	return b.do("POST", "/job/"+job+"/write", form)
}

// One tap when the camera starts, and the steps that are done become chapters.
func TestFilmPage(t *testing.T) {
	b := newBench(t, "mid-inspection")
	if page := b.get("/job/mid-inspection/film"); !strings.Contains(page, "The camera is off") || strings.Contains(page, "Chapters of film") {
		t.Error("the camera runs before it was started")
	}
	if w := b.enter("mid-inspection", "kind", "mark", "what", "camera on"); w.Code != http.StatusSeeOther {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	page := b.get("/job/mid-inspection/film")
	if !strings.Contains(page, "The camera runs since") || !strings.Contains(page, "Chapters of film 1") || !strings.Contains(page, "Camera off") {
		t.Error("the page does not tell that the camera runs")
	}
	if w := b.enter("mid-inspection", "kind", "mark", "what", "lights"); w.Code != http.StatusBadRequest {
		t.Errorf("a mark that is none: %d", w.Code)
	}
	if w := b.enter("mid-inspection", "kind", "link", "address", "javascript:alert(1)", "of", "operation.carrier_on"); w.Code != http.StatusBadRequest {
		t.Errorf("a link that is none: %d", w.Code)
	}
	b.enter("mid-inspection", "kind", "link", "address", "https://example.org/carrier", "of", "operation.carrier_on")
	for _, name := range []string{"handout.pdf", "card.pdf", "description.txt"} {
		w := b.do("GET", "/job/mid-inspection/paper/"+name+"?of=operation.carrier_on", nil)
		if w.Code != http.StatusOK || w.Body.Len() < 300 {
			t.Errorf("%s: %d", name, w.Code)
		}
		if name == "description.txt" && (!strings.Contains(w.Body.String(), "https://example.org/carrier") || !strings.Contains(w.Body.String(), "Check your own manual")) {
			t.Error(w.Body.String())
		}
		if w := b.do("GET", "/job/mid-inspection/paper/"+name+"?of=operation.nothing", nil); w.Code != http.StatusNotFound {
			t.Errorf("%s of nothing: %d", name, w.Code)
		}
	}
}

// Estimate, approvals and what it came to, in decimal money. The job has parts for 330.20
// in its journal.
func TestMoneyPage(t *testing.T) {
	b := newBench(t, "mid-inspection")
	for _, x := range [][]string{
		{"kind", "estimate", "what", "labour", "amount", "0.10"}, {"kind", "estimate", "what", "more", "amount", "0.20"},
		{"kind", "cost", "what", "gasket", "amount", "0.40"}, {"kind", "approval", "what", "stop and call at", "amount", "400.00", "who", "customer 7"},
	} {
		if w := b.enter("mid-inspection", x...); w.Code != http.StatusSeeOther {
			t.Fatalf("%v: %d\n%s", x, w.Code, w.Body)
		}
	}
	page := b.get("/job/mid-inspection/money")
	for _, want := range []string{"It came to 330.60 GBP until now, estimated were 0.30 GBP. That is 330.30 GBP over the estimate. Agreed: stop and call at 400.00 GBP. 69.40 GBP is left.", "customer 7"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not tell %q:\n%.300s", want, page[max(0, strings.Index(page, "It came to")):])
		}
	}
	for _, x := range [][]string{{"kind", "estimate", "what", "labour", "amount", "1,50"}, {"kind", "estimate", "what", "", "amount", "1"}, {"kind", "approval", "what", "all", "who", ""}, {"kind", "approval", "what", "all", "who", "me", "amount", "much"}} {
		if w := b.enter("mid-inspection", x...); w.Code != http.StatusBadRequest {
			t.Errorf("%v: %d", x, w.Code)
		}
	}
}

func TestStandsPage(t *testing.T) {
	b := newBench(t, "mid-inspection")
	page := b.get("/job/mid-inspection/stands")
	if !strings.Contains(page, "steps on your engine are done") && !strings.Contains(page, "has not begun") || !strings.Contains(page, "mailto:?subject=") {
		t.Error("the page does not say where the job stands")
	}
}

// A label opens the very tray, part or bag, and every label of a job leads somewhere.
func TestLabelsOpenWhatTheyAreOn(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	sh, err := b.server.desks.sheet(context.Background(), "clean-rebuild")
	if err != nil {
		t.Fatal(err)
	}
	j := &book.Job{ID: "clean-rebuild", Pack: sh.pack.Pack, State: sh.State, Assessment: sh.A}
	labels := j.LabelsFor("http://127.0.0.1:8484")
	if len(labels) < 5 {
		t.Fatalf("%d labels", len(labels))
	}
	seen := map[string]bool{}
	for _, l := range labels {
		if seen[l.Address] {
			t.Errorf("two labels lead to %s", l.Address)
		}
		seen[l.Address] = true
		w := b.do("GET", strings.TrimPrefix(l.Address, "http://127.0.0.1:8484"), nil)
		if w.Code == http.StatusSeeOther {
			to := w.Header().Get("Location")
			path, anchor, _ := strings.Cut(to, "#")
			w = b.do("GET", path, nil)
			if anchor != "" && !strings.Contains(w.Body.String(), `id="`+anchor+`"`) {
				t.Errorf("%s leads to %s, and there is no such thing on the page", l.Text, to)
			}
		}
		if w.Code != http.StatusOK {
			t.Errorf("%s leads to %s: %d", l.Text, l.Address, w.Code)
		}
	}
	bag := strings.TrimPrefix(j.BagLabel("http://127.0.0.1:8484", "Screws & pins, rear / top").Address, "http://127.0.0.1:8484")
	b.enter("clean-rebuild", "kind", "note", "text", "six, one bent", "of", "bag.Screws & pins, rear / top")
	if page := b.get(bag); !strings.Contains(page, "six, one bent") || !strings.Contains(page, "Screws &amp; pins, rear / top") {
		t.Errorf("the bag tells nothing of what was noted: %s", bag)
	}
	for _, none := range []string{"/job/clean-rebuild/at/space.attic", "/job/clean-rebuild/at/slot.gear middle", "/job/clean-rebuild/at/x"} {
		if w := b.do("GET", strings.ReplaceAll(none, " ", "%20"), nil); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", none, w.Code)
		}
	}
}

// sendTable sends a table as the page does, as a file or as text.
func (b *bench) sendTable(job, name string, content []byte, fields ...string) *httptest.ResponseRecorder {
	var body bytes.Buffer
	f := multipart.NewWriter(&body)
	f.WriteField("token", b.token)
	for i := 0; i+1 < len(fields); i += 2 {
		f.WriteField(fields[i], fields[i+1])
	}
	if name != "" {
		part, _ := f.CreateFormFile("file", name)
		part.Write(content)
	}
	f.Close()
	return b.do("POST", "/job/"+job+"/readingstable", url.Values{}, func(r *http.Request) {
		n := httptest.NewRequest("POST", r.URL.Path, &body)
		r.Body, r.ContentLength = n.Body, n.ContentLength
		r.Header.Set("Content-Type", f.FormDataContentType())
	})
}

// Readings come from a spreadsheet: understood first, then kept, once, and what a comma
// marks is asked once.
func TestReadingsTable(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := len(b.state("mid-inspection").Readings)
	workbook, err := table.Workbook([]table.Table{{Name: "bores", Head: []table.Column{{Title: "of"}, {Title: "place"}, {Title: "position"}, {Title: "axis"}, {Title: "value", Number: true}, {Title: "unit"}},
		Rows: [][]string{{"bore", "front", "10 mm", "thrust", "92.005", "mm"}, {"bore", "front", "10 mm", "pin", "92.004", "mm"}}}})
	if err != nil {
		t.Fatal(err)
	}
	w := b.sendTable("mid-inspection", "bores.xlsx", workbook)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Keep 2 readings") || len(b.state("mid-inspection").Readings) != before {
		t.Fatalf("%d\n%.900s", w.Code, w.Body)
	}
	const typed = "of;place;position;axis;value\nbore;front;10 mm;thrust;92,005 mm\nbore;front;10 mm;pin;92,004 mm\n"
	w = b.sendTable("mid-inspection", "bores.csv", []byte(typed), "keep", "1")
	if !strings.Contains(w.Body.String(), "What do the commas mark?") || len(b.state("mid-inspection").Readings) != before {
		t.Fatalf("the comma is not asked about: %d\n%.900s", w.Code, w.Body)
	}
	for range 2 { // pressed twice it is kept once
		w = b.sendTable("mid-inspection", "", nil, "table", typed, "decimal", "comma", "keep", "1")
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "kept.") {
			t.Fatalf("%d\n%.900s", w.Code, w.Body)
		}
	}
	after := b.state("mid-inspection").Readings
	if len(after) != before+2 || after[before].Value != "92.005 mm" || after[before].By == "" {
		t.Errorf("%d readings, %d before: %+v", len(after), before, after[before:])
	}
	// A row that cannot be used keeps the whole table out.
	w = b.sendTable("mid-inspection", "", nil, "table", "of,place,value\nbore,middle,92.004 mm\nbore,front,92.001 mm\n", "keep", "1")
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "has no place") || len(b.state("mid-inspection").Readings) != before+2 {
		t.Errorf("%d\n%.900s", w.Code, w.Body)
	}
	for _, x := range [][]byte{[]byte("PK\x03\x04 no workbook"), []byte("nothing of the kind"), nil} {
		if w := b.sendTable("mid-inspection", "x.xlsx", x); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", x, w.Code)
		}
	}
	if w := b.sendTable("mid-inspection", "x.csv", []byte(typed), "token", "wrong"); w.Code != http.StatusOK && w.Code != http.StatusForbidden {
		t.Errorf("two tokens: %d", w.Code)
	}
}

func (b *bench) state(job string) *journal.State {
	b.t.Helper()
	sh, err := b.server.desks.sheet(context.Background(), job)
	if err != nil {
		b.t.Fatal(err)
	}
	return sh.State
}

// A job is signed on the page, its book carries the signature, and what comes later is a
// page with its own date.
func TestClosingOnAPage(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	if w := b.do("POST", "/job/clean-rebuild/close", url.Values{"token": {b.token}}); w.Code != http.StatusBadRequest {
		t.Errorf("signed without a word: %d", w.Code)
	}
	if page := b.get("/job/clean-rebuild/paper"); !strings.Contains(page, "Close and sign") {
		t.Error("the page does not offer to sign")
	}
	if w := b.do("POST", "/job/clean-rebuild/close", url.Values{"token": {b.token}, "sure": {"1"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	if w := b.enter("clean-rebuild", "kind", "addition", "text", "seen again after 500 km"); w.Code != http.StatusSeeOther {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	if page := b.get("/job/clean-rebuild/paper"); !strings.Contains(page, "Closed and signed") || strings.Contains(page, "Sign it") {
		t.Error("the page does not tell that it was signed")
	}
	for _, name := range []string{"book.pdf", "book.html"} {
		r := book.CheckSums(b.do("GET", "/job/clean-rebuild/paper/"+name, nil).Body.Bytes())
		if len(r.Damage) > 0 || len(r.Seals) != 1 || r.Seals[0].Wrong != "" || r.Key == "" || r.Key != r.Seals[0].Key || r.Signature != "" {
			t.Errorf("%s: %+v", name, r)
		}
	}
}
