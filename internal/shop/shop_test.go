package shop

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"testing"
	"time"
)

var start = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

func entry(t *testing.T, kind string, v any, minutes int) Entry {
	t.Helper()
	body, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return Entry{kind, body, start.Add(time.Duration(minutes) * time.Minute)}
}

func TestTheNewestWordCounts(t *testing.T) {
	list := []Entry{
		entry(t, KindDevice, Device{ID: "d1", Name: "phone", Token: HashToken("secret-1")}, 0),
		entry(t, KindDevice, Device{ID: "d2", Name: "tablet", Token: HashToken("secret-2"), Plain: true}, 1),
		entry(t, KindPerson, Person{ID: "p1", Name: "M. Pell"}, 2),
		entry(t, KindAtDevice, AtDevice{Device: "d1", Person: "p1"}, 3),
		entry(t, KindAtDevice, AtDevice{Device: Here, Person: "p1", Proven: true}, 4),
		entry(t, KindSetting, Setting{Name: SettingPlain, On: true}, 5),
		{"of a newer version", []byte("{}"), start},
		{KindDevice, []byte("not JSON"), start},
		entry(t, KindDevice, Device{ID: "d3", Name: "no token"}, 6),
	}
	s := Fold(list)
	if len(s.Devices) != 2 || len(s.People) != 1 || !s.On(SettingPlain) || s.On(SettingOpen) {
		t.Fatalf("%+v", s)
	}
	if d := s.Device("d1"); d.Person != "p1" || fmt.Sprint(d.Names) != "[phone M. Pell]" || !d.Paired.Equal(start) {
		t.Errorf("%+v", d)
	}
	if !s.Here.Proven || s.Here.Person != "p1" || !s.Here.Since.Equal(start.Add(4*time.Minute)) {
		t.Errorf("%+v", s.Here)
	}
	s = Fold(append(list, entry(t, KindDeviceGone, Gone{"d1"}, 7), entry(t, KindPersonGone, Gone{"p1"}, 8), entry(t, KindSetting, Setting{SettingPlain, false}, 9)))
	if len(s.Devices) != 1 || len(s.People) != 0 || s.On(SettingPlain) || s.Holder("secret-1", true) != nil {
		t.Errorf("%+v", s)
	}
}

// A token that may have been overheard opens nothing that is encrypted, and the other
// way round.
func TestATokenOpensItsOwnDoor(t *testing.T) {
	s := Fold([]Entry{
		entry(t, KindDevice, Device{ID: "d1", Name: "phone", Token: HashToken("secret-1")}, 0),
		entry(t, KindDevice, Device{ID: "d2", Name: "tablet", Token: HashToken("secret-2"), Plain: true}, 1),
	})
	for _, c := range []struct {
		token     string
		encrypted bool
		want      string
	}{
		{"secret-1", true, "d1"}, {"secret-1", false, ""}, {"secret-2", false, "d2"}, {"secret-2", true, ""},
		{"", true, ""}, {HashToken("secret-1"), true, ""}, {"secret-3", true, ""},
	} {
		got := ""
		if d := s.Holder(c.token, c.encrypted); d != nil {
			got = d.ID
		}
		if got != c.want {
			t.Errorf("%q encrypted %v: %q", c.token, c.encrypted, got)
		}
	}
}

func TestACodeIsUsedOnceAndNotForLong(t *testing.T) {
	var c Codes
	if ok, _ := c.Use("", "a", start); ok {
		t.Error("without a code everybody comes in")
	}
	fresh := func(at time.Time) string {
		t.Helper()
		code, err := c.New(rand.Reader, at)
		if err != nil || len(code) != 9 {
			t.Fatal(code, err)
		}
		return code
	}
	code := fresh(start)
	if ok, _ := c.Use(code, "a", start.Add(CodeLife-time.Second)); !ok {
		t.Error("the code is not taken")
	}
	if ok, _ := c.Use(code, "b", start.Add(CodeLife-time.Second)); ok {
		t.Error("it is taken twice")
	}
	code = fresh(start)
	if ok, _ := c.Use(code, "c", start.Add(CodeLife)); ok {
		t.Error("it is taken after its time")
	}
	old := fresh(start)
	code = fresh(start)
	if ok, _ := c.Use(old, "d", start); ok {
		t.Error("one that was replaced is taken")
	}
	// As a person types it.
	typed := string(bytes.ToLower([]byte(code[:4]))) + " " + code[5:]
	if ok, _ := c.Use(typed, "d", start); !ok {
		t.Errorf("%q is not taken for %q", typed, code)
	}
}

func TestGuessingACodeEnds(t *testing.T) {
	var c Codes
	code, err := c.New(rand.Reader, start)
	if err != nil {
		t.Fatal(err)
	}
	// One address is held up.
	for i := range triesFromOne {
		if ok, wait := c.Use("00000000", "one", start); ok || wait != 0 {
			t.Fatalf("try %d: %v %v", i, ok, wait)
		}
	}
	if ok, wait := c.Use(code, "one", start); ok || wait != triesWithin {
		t.Errorf("not held up: %v %v", ok, wait)
	}
	if ok, wait := c.Use("00000000", "one", start.Add(triesWithin)); ok || wait != 0 {
		t.Errorf("held up for ever: %v", wait)
	}
	// Many addresses make the code void.
	for i := range CodeTries {
		c.Use("00000000", fmt.Sprint("address ", i), start)
	}
	if ok, _ := c.Use(code, "another", start); ok {
		t.Error("the code stands any number of tries")
	}
	if c.Left(start) != 0 {
		t.Error("a void code is shown")
	}
}

func TestAPINIsKeptAsAHashThatNeedsTheMachine(t *testing.T) {
	secret := bytes.Repeat([]byte{7}, 32)
	kept, err := HashPIN("4711", secret, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	again, err := HashPIN("4711", secret, rand.Reader)
	if err != nil || again == kept {
		t.Error("the same PIN gives the same hash", err)
	}
	if bytes.Contains([]byte(kept), []byte("4711")) {
		t.Error("the PIN stands in the record")
	}
	if !IsPIN("4711", kept, secret) {
		t.Error("the PIN is not known again")
	}
	for _, wrong := range []struct{ pin, kept string }{
		{"4712", kept}, {"", kept}, {"4711 ", kept}, {"4711", ""}, {"4711", "pbkdf2-sha256:0::"}, {"4711", "pbkdf2-sha256:999999999:00:00"}, {"4711", kept[:len(kept)-2]},
	} {
		if IsPIN(wrong.pin, wrong.kept, secret) {
			t.Errorf("%q opens %q", wrong.pin, wrong.kept)
		}
	}
	if IsPIN("4711", kept, bytes.Repeat([]byte{8}, 32)) {
		t.Error("another machine knows the PIN too: a copy of the record could be tried through")
	}
	var tries Tries
	for i := range triesAtPIN {
		if wait := tries.Begin("p1", start); wait != 0 {
			t.Fatalf("try %d waits %v", i, wait)
		}
	}
	if wait := tries.Begin("p1", start); wait != waitAtPIN {
		t.Errorf("guessing goes on: %v", wait)
	}
	if wait := tries.Begin("p2", start); wait != 0 {
		t.Error("another person is held up")
	}
	tries.Right("p1")
	if wait := tries.Begin("p1", start); wait != 0 {
		t.Error("held up after the right PIN")
	}
}
