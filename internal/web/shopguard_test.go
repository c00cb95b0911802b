package web

import (
	"bytes"
	"crypto/tls"
	"encoding/json"
	"image"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"buttonup/internal/shop"
	"buttonup/journal"
)

// visitor is another device on the shop's network.
type visitor struct {
	b         *bench
	encrypted bool
	from      string
	host      string
	cookie    *http.Cookie
}

func (b *bench) visitor() *visitor {
	b.server.options.Names = benchNames
	return &visitor{b: b, encrypted: true, from: "192.168.1.77:40000", host: "bench.local:8484"}
}

func (v *visitor) do(method, path string, form url.Values, change ...func(*http.Request)) *httptest.ResponseRecorder {
	scheme := "http://"
	if v.encrypted {
		scheme = "https://"
	}
	return v.b.do(method, path, form, append([]func(*http.Request){func(r *http.Request) {
		r.Host, r.RemoteAddr = v.host, v.from
		r.Header.Del("Sec-Fetch-Site")
		if form != nil {
			r.Header.Set("Origin", scheme+v.host)
		}
		if v.encrypted {
			r.TLS = &tls.ConnectionState{}
		}
		if v.cookie != nil {
			r.AddCookie(v.cookie)
		}
	}}, change...)...)
}

// token is what a form on a page for this visitor holds.
func (v *visitor) token() string {
	m := tokenOnPage.FindStringSubmatch(v.do("GET", "/pair", nil).Body.String())
	if m == nil {
		m = tokenOnPage.FindStringSubmatch(v.do("GET", "/people", nil).Body.String())
	}
	if m == nil {
		v.b.t.Fatal("no page has a token")
	}
	return m[1]
}

// pair lets the visitor in.
func (v *visitor) pair(name string) *shop.Device {
	v.b.t.Helper()
	s := v.b.server
	code, err := s.pairing.codes.New(s.options.Random, s.options.Now())
	if err != nil {
		v.b.t.Fatal(err)
	}
	w := v.do("POST", "/pair", url.Values{"token": {v.token()}, "code": {code}, "name": {name}})
	if w.Code != http.StatusSeeOther || len(w.Result().Cookies()) != 1 {
		v.b.t.Fatalf("not paired: %d\n%s", w.Code, w.Body)
	}
	v.cookie = w.Result().Cookies()[0]
	return s.house.now().Holder(v.cookie.Value, v.encrypted)
}

func TestStrangersSeeThePairingPageAndNothingElse(t *testing.T) {
	b := newBench(t, "mid-inspection")
	v := b.visitor()
	for _, path := range []string{"/", "/job/mid-inspection", "/job/mid-inspection/readings", "/job/mid-inspection/numbers", "/job/mid-inspection/photos", "/job/mid-inspection/events", "/events", "/token", "/devices", "/people", "/sw.js", "/offline",
		"/photo/" + strings.Repeat("ab", 32), "/no/such/page", "/trust/../job/mid-inspection", "/assets/../job/mid-inspection", "//job/mid-inspection", "/pair/../job/mid-inspection", "/job/mid-inspection/operation/x"} {
		w := v.do("GET", path, nil)
		if w.Code != http.StatusUnauthorized && w.Code != http.StatusTemporaryRedirect && w.Code != http.StatusMovedPermanently && w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
		lacks(t, w.Body.String(), "Pell Street", "Aldermoor", "B24417", "Bore", b.token)
	}
	token := v.token()
	before := b.events("mid-inspection")
	for _, path := range []string{"/job/mid-inspection/events", "/job/mid-inspection/read/bore?place=front", "/job/mid-inspection/strike", "/photos", "/job/mid-inspection/photo", "/devices/code", "/devices/set", "/devices/gone", "/people", "/people/at", "/people/gone", "/look"} {
		if w := v.do("POST", path, url.Values{"token": {token}, "name": {shop.SettingPlain}, "on": {"true"}}); w.Code != http.StatusUnauthorized {
			t.Errorf("POST %s: %d", path, w.Code)
		}
	}
	if b.events("mid-inspection") != before || b.server.house.now().On(shop.SettingPlain) {
		t.Error("a stranger changed something")
	}
	for path, want := range map[string]int{"/trust": 200, "/pair": 200, "/pair/ABCDEFGH": 200, address("app.css"): 200} {
		w := v.do("GET", path, nil)
		if w.Code != want {
			t.Errorf("%s: %d", path, w.Code)
		}
		lacks(t, w.Body.String(), "Pell Street", b.token)
	}
}

// A request counts as one from this computer only when both its name and its other end
// say so: neither a name that points here nor a header that claims it will do.
func TestWhoIsHere(t *testing.T) {
	b := newBench(t, "mid-inspection")
	b.server.options.Names = benchNames
	for _, c := range []struct {
		name, host, from string
		plain            bool
		want             int
	}{
		{"this computer", "127.0.0.1:8484", "127.0.0.1:9", true, 200},
		{"this computer by the name of the network", "bench.local:8484", "127.0.0.1:9", false, 401},
		{"a phone that says localhost", "localhost:8484", "192.168.1.77:9", false, 401},
		{"a phone that says 127.0.0.1", "127.0.0.1:8484", "10.0.0.9:9", false, 401},
		{"a page of the world whose name points here", "evil.example:8484", "127.0.0.1:9", false, 403},
		{"the same on a phone", "evil.example:8484", "192.168.1.77:9", false, 403},
		{"an address of another machine", "192.168.1.99:8484", "192.168.1.77:9", false, 403},
		{"our address", "192.168.1.20:8484", "192.168.1.77:9", false, 401},
		{"from the whole world", "bench.local:8484", "203.0.113.9:9", false, 403},
		{"from nowhere", "bench.local:8484", "", false, 403},
		{"without encryption", "bench.local:8484", "192.168.1.77:9", true, 303},
	} {
		v := &visitor{b: b, encrypted: !c.plain, host: c.host, from: c.from}
		w := v.do("GET", "/job/mid-inspection", nil, func(r *http.Request) {
			r.Header.Set("X-Forwarded-For", "127.0.0.1")
			r.Header.Set("Forwarded", "for=127.0.0.1;host=localhost")
			r.Header.Set("X-Forwarded-Host", "localhost")
		})
		if w.Code != c.want {
			t.Errorf("%s: %d, want %d", c.name, w.Code, c.want)
		}
	}
}

func TestAPairedDevice(t *testing.T) {
	b := newBench(t, "mid-inspection")
	v := b.visitor()
	d := v.pair("phone of Anna")
	if !v.cookie.HttpOnly || !v.cookie.Secure || v.cookie.SameSite != http.SameSiteStrictMode || v.cookie.Name != cookieSecure || v.cookie.Domain != "" || v.cookie.Path != "/" {
		t.Errorf("the cookie is %+v", v.cookie)
	}
	entries, err := b.record.Shop(t.Context())
	if err != nil || bytes.Contains(entries[0].Body, []byte(v.cookie.Value)) {
		t.Error("the token stands in the record", err)
	}
	page := v.do("GET", "/job/mid-inspection", nil)
	if page.Code != http.StatusOK {
		t.Fatal(page.Code)
	}
	contains(t, page.Body.String(), "Pell Street", `data-device="phone of Anna"`)
	form := url.Values{"key": {"key00001"}, "at": {"0"}, "cell": {"upper along the shaft"}, "value": {"98.07"}}
	send := func(token string) int {
		form.Set("token", token)
		return v.do("POST", "/job/mid-inspection/read/case_spigot_bore?place=front", form).Code
	}
	// Neither the token of this computer's pages nor that of another device will do.
	other := b.visitor()
	other.from = "192.168.1.78:1"
	other.pair("other phone")
	for _, token := range []string{b.token, other.token(), "", b.server.bound("form of nobody")} {
		if code := send(token); code != http.StatusForbidden {
			t.Errorf("with the token %q: %d", token, code)
		}
	}
	if code := send(v.token()); code != http.StatusSeeOther {
		t.Fatalf("with its own token: %d", code)
	}
	if e := b.last("mid-inspection"); e.By != "phone of Anna" {
		t.Errorf("written by %q", e.By)
	}
	// Another site, and the plain sister of this one, cannot send a form in its name.
	for _, origin := range []string{"https://evil.example", "http://bench.local:8484", "https://bench.local:9", "null"} {
		form.Set("token", v.token())
		if w := v.do("POST", "/job/mid-inspection/read/case_spigot_bore?place=front", form, func(r *http.Request) { r.Header.Set("Origin", origin) }); w.Code != http.StatusForbidden {
			t.Errorf("from %s: %d", origin, w.Code)
		}
	}
	// What settles who may come in is not for phones.
	for path, form := range map[string]url.Values{"/devices/code": {}, "/devices/set": {"name": {shop.SettingPlain}, "on": {"true"}}, "/people": {"name": {"Mallory"}}, "/people/gone": {"person": {"x"}}} {
		form.Set("token", v.token())
		if w := v.do("POST", path, form); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	// A phone sends away nobody but itself.
	mine := url.Values{"token": {v.token()}, "device": {b.server.house.now().Holder(other.cookie.Value, true).ID}}
	if w := v.do("POST", "/devices/gone", mine); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if b.server.house.now().Device(d.ID) != nil || b.server.house.now().Holder(other.cookie.Value, true) == nil {
		t.Error("it sent away another device")
	}
	if w := v.do("GET", "/job/mid-inspection", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("sent away, and it still sees: %d", w.Code)
	}
}

// The stream of a device that is sent away ends, and one that was closed out too.
func TestStreamsEndWithThePairing(t *testing.T) {
	b := newBench(t, "mid-inspection")
	for name, end := range map[string]func(d *shop.Device){
		"sent away": func(d *shop.Device) {
			b.do("POST", "/devices/gone", url.Values{"token": {b.token}, "device": {d.ID}})
		},
		"closed": func(*shop.Device) {
			b.do("POST", "/devices/set", url.Values{"token": {b.token}, "name": {shop.SettingOpen}, "on": {"false"}})
		},
	} {
		b.server.shut.Store(false)
		v := b.visitor()
		d := v.pair(name)
		ended := make(chan struct{})
		go func() {
			v.do("GET", "/job/mid-inspection/events", nil)
			close(ended)
		}()
		time.Sleep(50 * time.Millisecond)
		end(d)
		select {
		case <-ended:
		case <-time.After(5 * time.Second):
			t.Fatalf("%s: the stream goes on", name)
		}
		if w := v.do("GET", "/", nil); w.Code == http.StatusOK {
			t.Errorf("%s: it still sees", name)
		}
	}
}

func TestNamesAndPINs(t *testing.T) {
	b := newBench(t, "mid-inspection")
	add := func(name, pin string) int {
		return b.do("POST", "/people", url.Values{"token": {b.token}, "name": {name}, "pin": {pin}}).Code
	}
	if code := add("Anna", "4711"); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	if code := add("anna", "4711"); code != http.StatusConflict {
		t.Errorf("a second Anna: %d", code)
	}
	if code := add("Ben", "12"); code != http.StatusUnprocessableEntity {
		t.Errorf("a PIN of two digits: %d", code)
	}
	if code := add("Ben", ""); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	state := b.server.house.now()
	anna, ben := state.People[0], state.People[1]
	v := b.visitor()
	v.pair("phone")
	at := func(person, pin string) int {
		return v.do("POST", "/people/at", url.Values{"token": {v.token()}, "person": {person}, "pin": {pin}, "back": {"/people"}}).Code
	}
	by := func() string {
		_, token := v, v.token()
		id := b.record.NewID()
		r := httptest.NewRequest("POST", "/job/mid-inspection/events", strings.NewReader(`{"id":"`+id+`","at":"2026-03-18T09:00:00Z","by":"Ben","kind":"note","text":"x"}`))
		r.Host, r.RemoteAddr, r.TLS = v.host, v.from, &tls.ConnectionState{}
		r.Header.Set("Origin", "https://"+v.host)
		r.Header.Set("Content-Type", "application/x-ndjson")
		r.Header.Set(headerToken, token)
		r.AddCookie(v.cookie)
		w := httptest.NewRecorder()
		b.server.Handler().ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			t.Fatal(w.Code, w.Body)
		}
		return b.last("mid-inspection").By
	}
	if got := by(); got != "phone" {
		t.Errorf("before anybody is at it: %q", got)
	}
	// Without PINs a name is a press.
	if code := at(anna.ID, ""); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	if got := by(); got != "Anna" {
		t.Errorf("with Anna at it: %q", got)
	}
	if w := b.do("POST", "/devices/set", url.Values{"token": {b.token}, "name": {shop.SettingPINs}, "on": {"true"}}); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	// A name that was taken without a PIN does not stand any more.
	if got := by(); got != "phone" {
		t.Errorf("with PINs, and none given: %q", got)
	}
	if code := at(anna.ID, "0000"); code != http.StatusForbidden {
		t.Errorf("a wrong PIN: %d", code)
	}
	if code := at(ben.ID, ""); code != http.StatusForbidden {
		t.Errorf("without a PIN of his: %d", code)
	}
	if code := at(anna.ID, "4711"); code != http.StatusSeeOther || by() != "Anna" {
		t.Errorf("the right PIN: %d %q", code, by())
	}
	for range 8 {
		at(anna.ID, "0000")
	}
	if code := at(anna.ID, "4711"); code != http.StatusTooManyRequests {
		t.Errorf("after many wrong ones: %d", code)
	}
}

func TestAPhotoByAForm(t *testing.T) {
	b := newBench(t, "mid-inspection")
	var picture bytes.Buffer
	if err := jpeg.Encode(&picture, image.NewGray(image.Rect(0, 0, 400, 300)), nil); err != nil {
		t.Fatal(err)
	}
	send := func(content []byte, token string) *httptest.ResponseRecorder {
		var body bytes.Buffer
		f := multipart.NewWriter(&body)
		for _, x := range [][2]string{{"token", token}, {"key", "photo-key-1"}, {"of", "dimension.bore front"}, {"back", "/job/mid-inspection/photos"}} {
			if err := f.WriteField(x[0], x[1]); err != nil {
				t.Fatal(err)
			}
		}
		part, err := f.CreateFormFile("photo", "../../evil.html")
		if err != nil {
			t.Fatal(err)
		}
		part.Write(content)
		f.Close()
		return b.do("POST", "/job/mid-inspection/photo", url.Values{}, func(r *http.Request) {
			n := httptest.NewRequest("POST", r.URL.Path, &body)
			r.Body, r.ContentLength = n.Body, n.ContentLength
			r.Header.Set("Content-Type", f.FormDataContentType())
		})
	}
	if w := send(picture.Bytes(), "wrong"); w.Code != http.StatusForbidden {
		t.Errorf("a wrong token: %d", w.Code)
	}
	if w := send([]byte("<script>alert(1)</script>"), b.token); w.Code != http.StatusUnsupportedMediaType {
		t.Errorf("a page for a photo: %d", w.Code)
	}
	for range 2 { // pressed twice it is one
		if w := send(picture.Bytes(), b.token); w.Code != http.StatusSeeOther {
			t.Fatalf("%d\n%s", w.Code, w.Body)
		}
	}
	e, ok := b.last("mid-inspection").Body.(journal.Photo)
	if !ok || e.Of != "dimension.bore front" {
		t.Fatalf("%+v", e)
	}
	w := b.do("GET", "/photo/"+e.SHA256, nil)
	if w.Header().Get("Content-Type") != "image/jpeg" || w.Header().Get("X-Content-Type-Options") != "nosniff" {
		t.Errorf("%v", w.Header())
	}
	small := b.do("GET", "/photo/"+e.SHA256+"/small", nil)
	if c, err := jpeg.DecodeConfig(small.Body); err != nil || c.Width != 320 {
		t.Errorf("%+v %v", c, err)
	}
	contains(t, b.get("/job/mid-inspection/photos"), "/photo/"+e.SHA256+"/small", "Bore, front")
	for _, path := range []string{"/photo/..%2f..%2fkeys%2fsecret", "/photo/" + strings.Repeat("AB", 32), "/photo/" + strings.Repeat("ab", 32)} {
		if w := b.do("GET", path, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	// One that came in by another way, as with a restored backup, is never shown as a page.
	sha, _, err := b.record.PutPhoto(t.Context(), strings.NewReader("<html><script>alert(1)</script></html>"))
	if err != nil {
		t.Fatal(err)
	}
	if w := b.do("GET", "/photo/"+sha, nil); w.Header().Get("Content-Type") != "application/octet-stream" || w.Header().Get("Content-Disposition") != "attachment" {
		t.Errorf("%v", w.Header())
	}
}

func TestTheServiceWorkerNamesItsFiles(t *testing.T) {
	b := newBench(t, "mid-inspection")
	script := b.get("/sw.js")
	line, _, _ := strings.Cut(strings.TrimPrefix(script, "const assets = "), ";\n")
	var files []string
	if err := json.Unmarshal([]byte(line), &files); err != nil || len(files) < 8 {
		t.Fatal(err, line)
	}
	for _, f := range files {
		if w := b.do("GET", f, nil); w.Code != http.StatusOK {
			t.Errorf("%s: %d", f, w.Code)
		}
	}
}
