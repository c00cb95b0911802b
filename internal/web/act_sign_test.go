package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/internal/shop"
	"buttonup/journal"
)

// signer is a bench at which a step that is held may be done, and its form.
func signer(t *testing.T) (b *bench, path string, form func(more ...string) url.Values) {
	b = newBench(t, "clean-rebuild")
	lines := `{"id":"extra-0001","at":"2026-03-18T09:00:00Z","kind":"extra","text":"check \"guard_seen\" {\n  ask = \"Guard sits all round?\"\n  answers = [\"yes\", \"no\"]\n  pass = [\"yes\"]\n}\noperation \"guard_on\" {\n  title = \"Guard on\"\n  holds = [check.guard_seen]\n}","why":"ours"}
{"id":"check-0001","at":"2026-03-18T09:01:00Z","kind":"check","of":"guard_seen","answer":"yes"}
`
	if _, a := b.deliver("clean-rebuild", lines); outcomes(a) != "kept kept" {
		t.Fatalf("%+v", a)
	}
	here := assess.Operation{Name: "guard_on"}
	keys := 0
	return b, jobPath("clean-rebuild", "do", here.Name), func(more ...string) url.Values {
		keys++
		v := url.Values{"token": {b.token}, "key": {"sign-" + strconv.Itoa(1000+keys)}, "operation": {here.Name}, "place": {here.Place}, "back": {"/"}}
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
}

// Off by default: whoever works alone is asked for nobody, and may read a step back.
func TestASecondPersonIsOffByDefault(t *testing.T) {
	b, path, form := signer(t)
	page := b.get(path)
	contains(t, page, "Alone? Read it back another day", "Press and hold")
	lacks(t, page, "A second person looks first", "Not signed off")
	if w := b.do("POST", "/job/clean-rebuild/write", form("kind", "operation", "state", "done")); w.Code != http.StatusSeeOther {
		t.Errorf("alone: %d", w.Code)
	}
	lacks(t, b.get(path), "without a second person")
}

func TestASecondPersonLooksFirst(t *testing.T) {
	b, path, form := signer(t)
	set := func(name string) {
		if w := b.do("POST", "/devices/set", url.Values{"token": {b.token}, "name": {name}, "on": {"true"}, "back": {"/people"}}); w.Code != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", name, w.Code, w.Body)
		}
	}
	set(shop.SettingSecond)
	set(shop.SettingSigning)
	contains(t, b.get("/people"), "A second person looks before such a step is done", "Such a step is signed off once it is done")
	contains(t, b.get(path), "A second person looks first", "Go on without, and say why")
	done := func() int {
		return b.do("POST", "/job/clean-rebuild/write", form("kind", "operation", "state", "done")).Code
	}
	before := b.events("clean-rebuild")
	if code := done(); code < 400 || b.events("clean-rebuild") != before {
		t.Fatalf("done unseen: %d", code)
	}
	// A person with a PIN signs with it alone.
	for _, p := range []url.Values{{"name": {"A. Pell"}, "pin": {"2468"}}, {"name": {"R. Hurst"}}} {
		p.Set("token", b.token)
		if w := b.do("POST", "/people", p); w.Code != http.StatusSeeOther {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
	}
	id := ""
	for _, p := range b.server.house.now().People {
		if p.PIN != "" {
			id = p.ID
		}
	}
	sign := func(more ...string) int {
		return b.do("POST", "/job/clean-rebuild/sign", form(append([]string{"act", "second look"}, more...)...)).Code
	}
	for _, wrong := range [][]string{{"person", id}, {"person", id, "pin", "1357"}, {"name", "A. Pell"}, {"name", ""}, {"name", by}, {"person", "nobody"}} {
		if code := sign(wrong...); code < 400 {
			t.Errorf("%v signs: %d", wrong, code)
		}
	}
	if b.events("clean-rebuild") != before {
		t.Fatal("a refused signature is in the record")
	}
	// A phone cannot send a look of another.
	if _, a := b.deliver("clean-rebuild", `{"id":"forged-01","at":"2026-03-18T10:00:00Z","kind":"approval","what":"second look: operation.`+strings.TrimSpace(form().Get("operation")+" "+form().Get("place"))+`","who":"A. Pell"}`); outcomes(a) != "refused" {
		t.Errorf("forged: %+v", a)
	}
	if code := sign("person", id, "pin", "2468"); code != http.StatusSeeOther {
		t.Fatalf("%d", code)
	}
	if a := b.last("clean-rebuild").Body.(journal.Approval); a.Who != "A. Pell" || !strings.HasPrefix(a.What, "second look: operation.") || strings.Contains(a.What, "2468") {
		t.Errorf("%+v", a)
	}
	contains(t, b.get(path), "A second person looked", "A. Pell", "Press and hold")
	if code := done(); code != http.StatusSeeOther {
		t.Fatalf("done: %d", code)
	}
	contains(t, b.get(path), "Not signed off", "Sign it off")
	if w := b.do("POST", "/job/clean-rebuild/sign", form("act", "signed off", "person", id, "pin", "2468")); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	lacks(t, b.get(path), "Not signed off")
	contains(t, b.get(path), "Signed off")
	// Taken back, a new look is wanted.
	if w := b.do("POST", "/job/clean-rebuild/write", form("kind", "operation", "state", "undone", "note", "again")); w.Code != http.StatusSeeOther {
		t.Fatalf("%d", w.Code)
	}
	lacks(t, b.get(path), "A second person looked", "Signed off")
	// A look lapses when what is held is looked at again.
	sign("person", id, "pin", "2468")
	contains(t, b.get(path), "A second person looked")
	if _, a := b.deliver("clean-rebuild", `{"id":"check-0002","at":"2026-03-18T10:59:00Z","kind":"check","of":"guard_seen","answer":"yes"}`); outcomes(a) != "kept" {
		t.Fatal(a)
	}
	contains(t, b.get(path), "something was read again since", "A second person looks first")
}

// The reason goes into the record of whoever goes on without.
func TestGoingOnWithoutASecondPersonHasItsReason(t *testing.T) {
	b, path, form := signer(t)
	b.do("POST", "/devices/set", url.Values{"token": {b.token}, "name": {shop.SettingSecond}, "on": {"true"}, "back": {"/people"}})
	if w := b.do("POST", "/job/clean-rebuild/write", form("kind", "anyway", "why", "alone this week")); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	contains(t, b.get(path), "Done without a second person", "alone this week")
}
