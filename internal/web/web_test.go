package web

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/packs"
)

// clock stands still, so that pages are the same each time.
func clock() time.Time { return time.Date(2026, 3, 18, 11, 0, 0, 0, time.UTC) }

// bench is a record with the demo jobs and the pages over it.
type bench struct {
	t      testing.TB
	record *store.Store
	server *Server
	token  string
}

func newBench(t testing.TB, journals ...string) *bench {
	t.Helper()
	record, err := store.Open(filepath.Join(t.TempDir(), "record"), store.Options{Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { record.Close() })
	files, _ := packs.Find(packs.Demo)
	var texts store.Texts
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	for _, name := range journals {
		text, ok := packs.Journal(packs.Demo, name)
		if !ok {
			t.Fatalf("no journal %s", name)
		}
		if _, err := record.CreateJob(context.Background(), store.NewJob{ID: name, Title: name, Texts: texts}); err != nil {
			t.Fatal(err)
		}
		if _, err := record.Import(context.Background(), name, text); err != nil {
			t.Fatal(err)
		}
	}
	s, err := New(record, Options{Shop: "Pell Street Engines", Demo: true, Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return &bench{t, record, s, s.token}
}

// do sends a request as a browser on this machine would.
func (b *bench) do(method, path string, form url.Values, change ...func(*http.Request)) *httptest.ResponseRecorder {
	b.t.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequest(method, path, body)
	r.Host, r.RemoteAddr = "127.0.0.1:8484", "127.0.0.1:50000"
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", "http://127.0.0.1:8484")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for _, f := range change {
		f(r)
	}
	w := httptest.NewRecorder()
	b.server.Handler().ServeHTTP(w, r)
	return w
}

func (b *bench) get(path string) string {
	b.t.Helper()
	w := b.do("GET", path, nil)
	if w.Code != http.StatusOK {
		b.t.Fatalf("GET %s: %d\n%s", path, w.Code, w.Body)
	}
	return w.Body.String()
}

// read types a reading as the page does.
func (b *bench) read(job, of, place, at, key, value string, more ...string) *httptest.ResponseRecorder {
	cells := []string{"upper along the shaft", "upper across the shaft", "lower along the shaft", "lower across the shaft"}
	form := url.Values{"token": {b.token}, "key": {key}, "at": {at}, "value": {value}}
	if i, err := strconv.Atoi(at); err == nil && i >= 0 && i < len(cells) {
		form.Set("cell", cells[i])
	}
	for i := 0; i+1 < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	return b.do("POST", query(jobPath(job, "read", of), "place", place), form, asHtmx)
}

func asHtmx(r *http.Request) { r.Header.Set("HX-Request", "true") }

func (b *bench) events(job string) int64 {
	b.t.Helper()
	j, err := b.record.Job(context.Background(), job)
	if err != nil {
		b.t.Fatal(err)
	}
	return j.Events
}

// last returns the newest event of a job.
func (b *bench) last(job string) journal.Event {
	b.t.Helper()
	list, err := b.record.Read(context.Background(), job, b.events(job))
	if err != nil || len(list) != 1 {
		b.t.Fatalf("last event: %v, %v", list, err)
	}
	e, err := journal.Decode(list[0].Bytes)
	if err != nil {
		b.t.Fatal(err)
	}
	return e
}

func contains(t testing.TB, text string, wanted ...string) {
	t.Helper()
	for _, w := range wanted {
		if !strings.Contains(text, w) {
			t.Errorf("the page does not say %q", w)
		}
	}
}

func lacks(t testing.TB, text string, unwanted ...string) {
	t.Helper()
	for _, w := range unwanted {
		if strings.Contains(text, w) {
			t.Errorf("the page says %q", w)
		}
	}
}

func TestPagesSayWhatTheyMust(t *testing.T) {
	b := newBench(t, "mid-inspection", "clean-rebuild", "swapped-gasket", "crank-truing")
	for _, c := range []struct {
		path   string
		wanted []string
	}{
		{"/", []string{"Pell Street Engines", "Invented demo jobs", "Bore, rear too close to call", "Bore, rear worn out", "Mainshaft runout after final truing, left worn out", "of 138 done"}},
		{"/job/mid-inspection", []string{"What stops it", "92.088", "Needs attention", "Spaces", "Waits", "Readings to take", "Engine B24417", `href="/job/mid-inspection/read/bore?place=rear"`}},
		{"/job/clean-rebuild", []string{"Nothing stops this job", "052 Chosen shim in", "closed"}},
		{"/job/mid-inspection/readings", []string{"Small-end bush bore, fork", "3 of 4 readings", "To read"}},
		{"/job/mid-inspection/read/bore?place=rear&at=0", []string{"Too close to call", "92.088", "Bore: 10 mm thrust", `inputmode="decimal"`, "Piston to bore, forged, rear", "bg-1, bore gauge ±0.005 mm", "Limit bar: new 92.000 to 92.013 mm, limit up to 92.090 mm; read 92.088 ±0.005 mm"}},
		{"/job/mid-inspection/kept/bore?place=rear", []string{"92.052 mm", "Strike"}},
		{"/job/mid-inspection/numbers", []string{"Piston pin diameter, rear", "Worn out", "om-25 99 %", "scratched"}},
		{"/job/mid-inspection/numbers?show=close", []string{"Cam-cover joint, gap under the straight-edge, cover"}},
	} {
		page := b.get(c.path)
		contains(t, page, c.wanted...)
		contains(t, page, `<html lang="en"`, `<main id="main"`, "<h1")
	}
	lacks(t, b.get("/job/mid-inspection/numbers?show=close"), "Worn out")
}

// inline finds what the policy forbids inside a page.
var inline = regexp.MustCompile(`(?i)\sstyle=|<style|<script(?: [^>]*)?>[^<]|\son[a-z]+=|javascript:`)

func TestPagesKeepToThePolicy(t *testing.T) {
	b := newBench(t, "mid-inspection", "clean-rebuild")
	for _, path := range []string{"/", "/job/mid-inspection", "/job/mid-inspection/readings", "/job/mid-inspection/read/bore?place=front", "/job/clean-rebuild/read/case_deck?place=front",
		"/job/mid-inspection/kept/bore?place=front", "/job/mid-inspection/numbers?show=all",
		"/job/mid-inspection/route", "/job/mid-inspection/spaces", "/job/mid-inspection/tearback", "/job/clean-rebuild/tearback?to=space.crankcase"} {
		w := b.do("GET", path, nil)
		page := w.Body.String()
		if found := inline.FindString(page); found != "" {
			t.Errorf("%s holds %q", path, found)
		}
		for _, m := range regexp.MustCompile(`(?:src|href|action)="([^"]*)"`).FindAllStringSubmatch(page, -1) {
			if !strings.HasPrefix(m[1], "/") && !strings.HasPrefix(m[1], "#") {
				t.Errorf("%s leads elsewhere: %s", path, m[1])
			}
		}
		if got := w.Header().Get("Content-Security-Policy"); got != policy {
			t.Errorf("%s has the policy %q", path, got)
		}
		if w.Header().Get("X-Content-Type-Options") != "nosniff" || w.Header().Get("Cache-Control") != "no-store" {
			t.Errorf("%s: headers %v", path, w.Header())
		}
	}
	lacks(t, policy, "unsafe", "http:", "https:", "*")
}

// A first visit must not weigh more than 120 kB as it is sent.
func TestFirstLoadIsLight(t *testing.T) {
	b := newBench(t, "mid-inspection", "clean-rebuild", "crank-truing")
	zipped := func(r *http.Request) { r.Header.Set("Accept-Encoding", "gzip, br") }
	weight := map[string]int{}
	for _, name := range assetOrder {
		if strings.HasSuffix(name, ".txt") {
			continue
		}
		w := b.do("GET", address(name), nil, zipped)
		if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d %v", name, w.Code, w.Header())
		}
		weight[name] = w.Body.Len()
	}
	for _, path := range []string{"/", "/job/mid-inspection", "/job/clean-rebuild/readings", "/job/mid-inspection/read/bore?place=front", "/job/clean-rebuild/numbers", "/job/clean-rebuild/numbers?show=all", "/job/crank-truing/route", "/job/mid-inspection/spaces", "/job/clean-rebuild/tearback?to=space.crankcase"} {
		w := b.do("GET", path, nil, zipped)
		z, err := gzip.NewReader(bytes.NewReader(w.Body.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(z)
		if err != nil || !strings.Contains(string(text), "</html>") {
			t.Errorf("%s does not unzip to a whole page: %v", path, err)
		}
		// The page says what it loads; the style sheets load the fonts.
		own := 0
		for name, n := range weight {
			if strings.Contains(string(text), address(name)) || strings.HasSuffix(name, ".woff2") {
				own += n
			}
		}
		if sum := own + w.Body.Len(); sum > 120_000 {
			t.Errorf("%s weighs %d bytes with all it needs", path, sum)
		} else {
			t.Logf("%s: %d bytes, %d with all it needs", path, w.Body.Len(), sum)
		}
	}
}

func TestAReadingIsKeptJudgedAndMovesOn(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	w := b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07", "instrument", "bg-1", "temperature", "21.5")
	if w.Code != http.StatusOK {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	got := b.last("mid-inspection")
	want := journal.Reading{Of: "case_spigot_bore", Place: "front", Cell: journal.Cell{Position: "upper", Axis: "along the shaft"}, Value: "98.07 mm", Instrument: "bg-1", Temperature: "21.5 degC"}
	if got.Body != want || got.ID != "key00001" || !got.At.Equal(clock()) || b.events("mid-inspection") != before+1 {
		t.Errorf("kept %+v", got)
	}
	page := w.Body.String()
	contains(t, page, "Upper along the shaft: 98.07, new fit", `name="at" value="1"`, "data-taken", "New fit")
	lacks(t, page, "<html")
	contains(t, page, `hx-get="/job/mid-inspection/read/case_spigot_bore?at=1&amp;judged=0&amp;place=front"`)
	// The same press again counts once and is answered alike.
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07", "instrument", "bg-1", "temperature", "21.5"); w.Code != http.StatusOK || b.events("mid-inspection") != before+1 {
		t.Errorf("sent again: %d, %d events", w.Code, b.events("mid-inspection")-before)
	}
	// Another reading under the same name is not kept.
	w = b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00001", "98.09")
	if w.Code != http.StatusConflict || b.events("mid-inspection") != before+1 {
		t.Errorf("under a used name: %d", w.Code)
	}
	contains(t, w.Body.String(), "Nothing was kept this time")
	lacks(t, w.Body.String(), "data-taken") // so that what was typed stays in the field
}

func TestAReadingWithoutScriptsComesBackToThePage(t *testing.T) {
	b := newBench(t, "mid-inspection")
	w := b.do("POST", "/job/mid-inspection/read/case_spigot_bore?place=front", url.Values{"token": {b.token}, "key": {"key00001"}, "at": {"0"}, "cell": {"upper along the shaft"}, "value": {"98.07"}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/job/mid-inspection/read/case_spigot_bore?at=1&place=front" {
		t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
	}
}

func TestLikelySlipsAreAskedAboutAndNeverChanged(t *testing.T) {
	b := newBench(t, "mid-inspection")
	b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07")
	before := b.events("mid-inspection")
	w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00002", "3.861")
	if w.Code != http.StatusUnprocessableEntity || b.events("mid-inspection") != before {
		t.Fatalf("asked: %d, kept %d", w.Code, b.events("mid-inspection")-before)
	}
	contains(t, w.Body.String(), "Is 3.861 mm right", "Did you mean 3.861 in?", `name="sure" value="3.861 mm"`, `name="accept" value="3.861 in"`, "Nothing is kept yet")
	// A yes to one value is no yes to another.
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00002", "3.862", "sure", "3.861 mm"); w.Code != http.StatusUnprocessableEntity || b.events("mid-inspection") != before {
		t.Errorf("another value: %d", w.Code)
	}
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00002", "3.861", "sure", "3.861 mm"); w.Code != http.StatusOK {
		t.Fatalf("second yes: %d", w.Code)
	}
	if r := b.last("mid-inspection").Body.(journal.Reading); r.Value != "3.861 mm" {
		t.Errorf("kept %q", r.Value)
	}
	// A person may take what was meant: it is kept in the unit it was read in.
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00003", "3.861", "accept", "3.861 in"); w.Code != http.StatusOK {
		t.Fatalf("taken: %d\n%s", w.Code, w.Body)
	}
	if r := b.last("mid-inspection").Body.(journal.Reading); r.Value != "3.861 in" {
		t.Errorf("kept %q", r.Value)
	}
}

func TestWhatCannotBeReadIsExplained(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	for value, says := range map[string]string{
		"98,07":    "has a comma",
		"":         "Nothing was typed",
		"12 N·m":   "is a torque",
		"ninety":   "ninety",
		"98.05..7": "98.05",
	} {
		w := b.read("mid-inspection", "case_spigot_bore", "front", "0", "key0000x", value)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", value, w.Code)
		}
		contains(t, w.Body.String(), says, `id="mistake"`)
	}
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "0", "key0000y", "98.07", "temperature", "warm"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("temperature: %d", w.Code)
	}
	if b.events("mid-inspection") != before {
		t.Error("something was kept")
	}
}

func TestNoReadingGoesToACellThatNobodySaw(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	for _, at := range []string{"", "-1", "4", "99999999999999999999", "x"} {
		if w := b.read("mid-inspection", "case_spigot_bore", "front", at, "key00001", "98.07", "cell", "upper along the shaft"); w.Code != http.StatusConflict {
			t.Errorf("at %q: %d", at, w.Code)
		}
	}
	if w := b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00001", "98.07", "cell", "upper along the shaft"); w.Code != http.StatusConflict {
		t.Errorf("another cell: %d", w.Code)
	}
	if b.events("mid-inspection") != before {
		t.Error("something was kept")
	}
}

func TestStrikingKeepsTheReadingReadable(t *testing.T) {
	b := newBench(t, "mid-inspection")
	b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07")
	strike := func(key, event, why string) *httptest.ResponseRecorder {
		return b.do("POST", "/job/mid-inspection/strike", url.Values{"token": {b.token}, "key": {key}, "event": {event}, "why": {why}, "back": {"/job/mid-inspection/kept/case_spigot_bore?place=front"}})
	}
	if w := strike("strike01", "key00001", "  "); w.Code != http.StatusBadRequest {
		t.Errorf("without a reason: %d", w.Code)
	}
	if w := strike("strike01", "nothing", "why"); w.Code != http.StatusBadRequest {
		t.Errorf("of nothing: %d", w.Code)
	}
	if w := strike("strike01", "01J0001", "why"); w.Code != http.StatusBadRequest {
		t.Errorf("of the job itself: %d", w.Code)
	}
	before := b.events("mid-inspection")
	for range 2 { // sent twice, struck once
		if w := strike("strike01", "key00001", "read warm"); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/job/mid-inspection/kept/case_spigot_bore?place=front" {
			t.Fatalf("%d to %q\n%s", w.Code, w.Header().Get("Location"), w.Body)
		}
	}
	if b.events("mid-inspection") != before+1 {
		t.Errorf("%d events", b.events("mid-inspection")-before)
	}
	contains(t, b.get("/job/mid-inspection/kept/case_spigot_bore?place=front"), "<s>98.07 mm</s>", "struck: read warm")
	contains(t, b.get("/job/mid-inspection/read/case_spigot_bore?place=front"), "0 read", "Not measured")
	// The strike can be struck, and the reading stands again.
	if w := strike("strike02", "strike01", "it was cold after all"); w.Code != http.StatusSeeOther {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	contains(t, b.get("/job/mid-inspection/read/case_spigot_bore?place=front&at=0"), "1 read", "98.07")
}

func TestALockStandsInTheTitleBlock(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	lacks(t, b.get("/job/clean-rebuild"), "must not be turned")
	_, err := b.record.Append(context.Background(), "clean-rebuild", []byte(`{"id":"on","at":"2026-03-18T10:00:00Z","by":"bench","kind":"operation","operation":"barrel_on","place":"front","state":"done"}`))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/job/clean-rebuild", "/job/clean-rebuild/readings", "/job/clean-rebuild/numbers", "/job/clean-rebuild/read/bore?place=front", "/job/clean-rebuild/kept/bore?place=front"} {
		contains(t, b.get(path), "The crank must not be turned: this barrel is not clamped down, front", "until ")
	}
}

func TestUnitsAndGroundAreKeptOnTheDevice(t *testing.T) {
	b := newBench(t, "mid-inspection")
	w := b.do("POST", "/look", url.Values{"token": {b.token}, "units": {"in"}, "back": {"/job/mid-inspection"}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/job/mid-inspection" {
		t.Fatalf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	cookies := w.Result().Cookies()
	if len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteStrictMode {
		t.Fatalf("cookies %v", cookies)
	}
	inch := func(r *http.Request) { r.AddCookie(cookies[0]) }
	page := b.do("GET", "/job/mid-inspection/read/bore?place=rear&at=0", nil, inch).Body.String()
	// 92.088 mm is 3.625 51 in, the limit 92.090 mm 3.625 59 in.
	contains(t, page, "3.6255", "limit up to 3.6256 in", `<span class="u">in</span>`, "°F")
	w = b.do("POST", query("/job/mid-inspection/read/case_spigot_bore", "place", "front"), url.Values{"token": {b.token}, "key": {"key00001"}, "at": {"0"}, "cell": {"upper along the shaft"}, "value": {"3.8610"}}, inch, asHtmx)
	if w.Code != http.StatusOK {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	if r := b.last("mid-inspection").Body.(journal.Reading); r.Value != "3.8610 in" {
		t.Errorf("kept %q", r.Value)
	}
	w = b.do("POST", "/look", url.Values{"token": {b.token}, "theme": {"dark"}, "back": {"https://elsewhere.example/"}})
	if w.Header().Get("Location") != "/" {
		t.Errorf("led to %q", w.Header().Get("Location"))
	}
	contains(t, b.do("GET", "/", nil, func(r *http.Request) { r.AddCookie(w.Result().Cookies()[0]) }).Body.String(), `data-theme="dark"`)
}

func TestOnlyThisComputerIsAnswered(t *testing.T) {
	b := newBench(t, "mid-inspection")
	host := func(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }
	for _, name := range []string{"127.0.0.1", "127.0.0.1:8484", "localhost:9", "LOCALHOST", "[::1]:8484", "[::1]"} {
		if w := b.do("GET", "/", nil, host(name)); w.Code != http.StatusOK {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	for _, name := range []string{"bench.example", "127.0.0.1.example", "192.168.1.7:8484", "localhost.example:8484", "", "127.0.0.1:8484:1", "127.0.0.1:x", "[::2]:8484", "127.0.0.1:"} {
		w := b.do("GET", "/", nil, host(name))
		if w.Code != http.StatusForbidden {
			t.Errorf("%q: %d", name, w.Code)
		}
		contains(t, w.Body.String(), "does not answer under this name")
	}
}

func TestChangesComeFromOurOwnPages(t *testing.T) {
	b := newBench(t, "mid-inspection")
	before := b.events("mid-inspection")
	form := func() url.Values {
		return url.Values{"token": {b.token}, "key": {"key00001"}, "at": {"0"}, "cell": {"upper along the shaft"}, "value": {"98.07"}}
	}
	set := func(name, value string) func(*http.Request) {
		return func(r *http.Request) {
			if r.Header.Set(name, value); value == "" {
				r.Header.Del(name)
			}
		}
	}
	path := "/job/mid-inspection/read/case_spigot_bore?place=front"
	for name, change := range map[string][]func(*http.Request){
		"another origin":      {set("Origin", "http://elsewhere.example")},
		"another port":        {set("Origin", "http://127.0.0.1:9999")},
		"no origin at all":    {set("Origin", ""), set("Sec-Fetch-Site", "")},
		"origin null":         {set("Origin", "null")},
		"cross-site":          {set("Origin", ""), set("Sec-Fetch-Site", "cross-site")},
		"same site only":      {set("Sec-Fetch-Site", "same-site")},
		"https of the name":   {set("Origin", "https://127.0.0.1:8484")},
		"another method name": {func(r *http.Request) { r.Method = "PUT" }, set("Origin", "http://elsewhere.example")},
	} {
		if w := b.do("POST", path, form(), change...); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	for _, token := range []string{"", "wrong", b.token + "0"} {
		f := form()
		f.Set("token", token)
		w := b.do("POST", path, f)
		if w.Code != http.StatusForbidden {
			t.Errorf("token %q: %d", token, w.Code)
		}
		contains(t, w.Body.String(), "was started again")
	}
	f := form()
	f.Set("note", strings.Repeat("x", largestForm))
	if w := b.do("POST", path, f); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("too large: %d", w.Code)
	}
	if b.events("mid-inspection") != before {
		t.Error("something was kept")
	}
	if w := b.do("POST", path, form(), set("Sec-Fetch-Site", "")); w.Code != http.StatusSeeOther {
		t.Errorf("an old browser that sends the origin alone: %d", w.Code)
	}
}

func TestErrorsArePages(t *testing.T) {
	b := newBench(t, "mid-inspection")
	for path, says := range map[string]string{
		"/nowhere":                      "There is no such page",
		"/job/none":                     "There is no such job",
		"/job/none/events":              "There is no such job",
		"/job/mid-inspection/read/none": "no dimension of that name",
		"/job/mid-inspection/read/bore?place=middle":      "no such place",
		"/job/mid-inspection/kept/none":                   "no dimension of that name",
		"/job/none/numbers":                               "There is no such job",
		"/job/none/readings":                              "There is no such job",
		"/assets/none.css":                                "no such file",
		"/assets/..%2f..%2fweb_test.go":                   "no such",
		"/job/" + strings.Repeat("x", 80):                 "There is no such job",
		"/job/%3Cscript%3Ealert(1)%3C%2Fscript%3E/events": "There is no such job",
	} {
		w := b.do("GET", path, nil)
		if w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
		contains(t, w.Body.String(), says, `id="says"`, "To the bench")
		lacks(t, w.Body.String(), "<script>")
	}
}

// full is a record on a full disk.
type full struct{ *store.Store }

func (f full) Append(context.Context, string, ...[]byte) ([]store.Appended, error) {
	return nil, &store.Error{Says: "keep the event: the disk is full", Do: "make room and send it again", Kind: store.ErrFull}
}

// broken has a fault of ours in it.
type broken struct{ *store.Store }

func (broken) Jobs(context.Context) ([]store.Job, error) { panic("a fault for the test") }

func TestAFullDiskIsSaidPlainly(t *testing.T) {
	b := newBench(t, "mid-inspection")
	s, err := New(full{b.record}, Options{Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	b.server, b.token = s, s.token
	w := b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07")
	if w.Code != http.StatusInsufficientStorage {
		t.Errorf("%d", w.Code)
	}
	contains(t, w.Body.String(), "The disk is full", "Make room and send it again")
}

func TestAFaultOfOursIsOwned(t *testing.T) {
	b := newBench(t, "mid-inspection")
	var told string
	s, err := New(broken{b.record}, Options{Now: clock, Faults: func(says string, trace []byte) { told = says + string(trace) }})
	if err != nil {
		t.Fatal(err)
	}
	b.server = s
	w := b.do("GET", "/", nil)
	if w.Code != http.StatusInternalServerError {
		t.Errorf("%d", w.Code)
	}
	contains(t, w.Body.String(), "This is a fault in Buttonup", "The journal is safe", "a fault for the test")
	contains(t, told, "a fault for the test", "web_test.go")
}

// listener reads a stream of events.
type listener struct {
	response *http.Response
	lines    *bufio.Scanner
	cancel   context.CancelFunc
}

func listen(t *testing.T, address, last string) *listener {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	r, err := http.NewRequestWithContext(ctx, "GET", address, nil)
	if err != nil {
		t.Fatal(err)
	}
	if last != "" {
		r.Header.Set("Last-Event-ID", last)
	}
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cancel(); response.Body.Close() })
	if got := response.Header.Get("Content-Type"); got != "text/event-stream" {
		t.Fatalf("%s: %s", response.Status, got)
	}
	return &listener{response, bufio.NewScanner(response.Body), cancel}
}

// id returns the id of the next event.
func (l *listener) id(t *testing.T) string {
	t.Helper()
	for l.lines.Scan() {
		if id, ok := strings.CutPrefix(l.lines.Text(), "id: "); ok {
			return id
		}
	}
	t.Fatalf("the stream ended: %v", l.lines.Err())
	return ""
}

func TestAChangeIsHeardElsewhere(t *testing.T) {
	b := newBench(t, "mid-inspection")
	web := httptest.NewServer(b.server.Handler())
	defer web.Close()
	defer b.server.Close() // ends the streams, or the server would wait for them
	address := web.URL + "/job/mid-inspection/events"
	n := b.events("mid-inspection")
	live := listen(t, address, "")
	back := listen(t, address, fmt.Sprint(n-3)) // knows less than there is
	all := listen(t, web.URL+"/events", "")
	if got := back.id(t); got != fmt.Sprint(n) {
		t.Errorf("coming back heard %s, want %d", got, n)
	}
	b.read("mid-inspection", "case_spigot_bore", "front", "0", "key00001", "98.07")
	want := fmt.Sprint(n + 1)
	if got := live.id(t); got != want {
		t.Errorf("heard %s, want %s", got, want)
	}
	if got := back.id(t); got != want {
		t.Errorf("after coming back heard %s, want %s", got, want)
	}
	if got := all.id(t); got != fmt.Sprint(n+2) { // the job itself counts as well
		t.Errorf("the bench heard %s", got)
	}
	// A page that knows everything hears nothing old.
	quiet := listen(t, address+"?after="+want, "")
	b.read("mid-inspection", "case_spigot_bore", "front", "1", "key00002", "98.08")
	if got := quiet.id(t); got != fmt.Sprint(n+2) {
		t.Errorf("heard %s, want %d", got, n+2)
	}
	if b.server.streams.Load() != 4 {
		t.Errorf("%d streams", b.server.streams.Load())
	}
}

// dropped is a record whose hub drops every listener at once.
type dropped struct{ *store.Store }

func (dropped) Watch(string) (<-chan store.Change, func()) {
	c := make(chan store.Change)
	close(c)
	return c, func() {}
}

// A listener that the record dropped is sent away, and comes back by itself.
func TestADroppedListenerIsSentAway(t *testing.T) {
	b := newBench(t, "mid-inspection")
	s, err := New(dropped{b.record}, Options{Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	b.server = s
	w := b.do("GET", "/job/mid-inspection/events", nil)
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "retry: 1000\n") || s.streams.Load() != 0 {
		t.Errorf("%d %q, %d streams", w.Code, w.Body, s.streams.Load())
	}
	s.streams.Store(mostStreams)
	if w := b.do("GET", "/job/mid-inspection/events", nil); w.Code != http.StatusServiceUnavailable {
		t.Errorf("too many: %d", w.Code)
	}
}

func TestStreamsEndWithTheServer(t *testing.T) {
	b := newBench(t, "mid-inspection")
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- b.server.Serve(ctx, l) }()
	listen(t, "http://"+l.Addr().String()+"/job/mid-inspection/events", "")
	cancel()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(5 * time.Second):
		t.Fatal("the server waits for a stream")
	}
}

// What the whole world could reach is not opened, not even by mistake.
func TestOnlyTheShopsOwnAddressesAreListenedOn(t *testing.T) {
	for _, address := range []string{":0", "192.0.2.1:0", "203.0.113.9:0", "bench.example:0", "8484", "[2001:db8::1]:0"} {
		l, err := Listen(address)
		if err == nil {
			l.Close()
			t.Errorf("%s was opened", address)
		}
	}
	for _, address := range []string{"127.0.0.1:0", "localhost:0", "0.0.0.0:0"} {
		l, err := Listen(address)
		if err != nil {
			t.Errorf("%s: %v", address, err)
			continue
		}
		l.Close()
	}
}

// Every cell of every dimension can be opened, and every drawing is whole.
func TestEveryDimensionOpens(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	sh, err := b.server.desks.sheet(context.Background(), "clean-rebuild")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range sh.A.Results {
		r := &sh.A.Results[i]
		if r.Kind != "dimension" {
			continue
		}
		page := b.get(readPath(sh, r))
		n++
		if strings.Contains(page, "NaN") || strings.Contains(page, "+Inf") || strings.Count(page, "<svg") != strings.Count(page, "</svg>") {
			t.Errorf("%s: a drawing is not whole", r.Reference())
		}
	}
	if n < 150 {
		t.Errorf("only %d dimensions", n)
	}
}

// No reading of the demo jobs that stands is asked about, except those that were
// planted as wrong.
func TestTheDemoIsNotAskedAbout(t *testing.T) {
	b := newBench(t, "clean-rebuild", "mid-inspection", "crank-truing")
	for _, job := range []string{"clean-rebuild", "mid-inspection", "crank-truing"} {
		sh, err := b.server.desks.sheet(context.Background(), job)
		if err != nil {
			t.Fatal(err)
		}
		var asked []string
		for _, rec := range sh.State.Readings {
			if s := slipOf(sh, rec); s != "" {
				asked = append(asked, s)
			}
		}
		slices.Sort(asked)
		if len(asked) > 0 {
			t.Errorf("%s: %s", job, strings.Join(asked, "; "))
		}
	}
}
