package journal_test

import (
	"bytes"
	_ "embed"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

var at0 = time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)

// The file was sealed by a separate Python 3.11 script with hashlib that follows
// docs/journal-format.md; the first hash was made again with sha256sum (GNU
// coreutils 9.1). Its fourth line is not as Encode would write it, on purpose.
//
//go:embed testdata/chained.jsonl
var chained []byte

const chainedHead = "c3b31bd92613d8a12cacabbeba6b69a1da3bc46270f7c41e5289700a4487a2a7"

func TestChainOfAnotherProgram(t *testing.T) {
	j := journal.Read(chained)
	if !j.Chained || len(j.Problems) != 0 || len(j.Events) != 5 {
		t.Fatalf("chained %v, %d events, problems %v", j.Chained, len(j.Events), j.Problems)
	}
	if got := hex.EncodeToString(j.Head[:]); got != chainedHead {
		t.Errorf("head %s, want %s", got, chainedHead)
	}
	const fourth = `{ "kind" : "note", "id" : "phone-7", "by" : "", "at" : "2026-03-02T10:05:30.25Z", "text" : "liner lip \u2014 burr \"front\"", "mood" : {"a":[1,2]} } `
	if got := string(j.Events[3].Bytes); got != fourth {
		t.Errorf("the fourth line was received as\n%s\nwant\n%s", got, fourth)
	}
	if again := journal.Export(j.Events); !bytes.Equal(again, chained) {
		t.Errorf("exported again it reads\n%s", again)
	}
	if s := j.Fold(); !s.Chained || len(s.Struck) != 1 || s.Struck[0].Why != "wrong barrel" {
		t.Errorf("the state is %+v", s)
	}
}

// SHA-256 of 32 zero bytes, by sha256sum (GNU coreutils 9.1): head -c 32 /dev/zero
// | sha256sum. And the two forms of Chain, short and long, must be one function.
func TestChain(t *testing.T) {
	first := journal.Chain([32]byte{}, nil)
	if got := hex.EncodeToString(first[:]); got != sha {
		t.Errorf("the chain of nothing starts with %s, want %s", got, sha)
	}
	text := bytes.Repeat([]byte("x"), 3000)
	seen := map[[32]byte]int{}
	for n := range text {
		h := journal.Chain(first, text[:n])
		if other, twice := seen[h]; twice {
			t.Fatalf("%d and %d bytes have one hash", n, other)
		}
		seen[h] = n
	}
}

// A sequence whose hash of a long line is known from outside: SHA-256 of 32 zero
// bytes and a million letters a, by Python 3.11 hashlib.
func TestChainOfLongLine(t *testing.T) {
	h := journal.Chain([32]byte{}, bytes.Repeat([]byte("a"), 1_000_000))
	if got := hex.EncodeToString(h[:]); got != millionA {
		t.Errorf("%s, want %s", got, millionA)
	}
}

const millionA = "3a5f2dd5a5b19f7bfb6611d1b933f5e9f70ed1f28bd6ea9c4dbe45c795453723"

// noticed says whether reading shows that a file is not the export it claims to be.
func noticed(text []byte) bool {
	j := journal.Read(text)
	return !j.Chained && len(j.Problems) > 0
}

// Any single changed byte is noticed, in a journal of several lines and in one of a
// single line, where there is no neighbour to compare with.
func TestEveryFlippedByteIsNoticed(t *testing.T) {
	lines := bytes.SplitAfter(chained, []byte{'\n'})
	single := journal.Export(journal.Read(lines[3]).Events)
	for _, text := range [][]byte{chained, lines[0], single} {
		if noticed(text) {
			t.Fatalf("the sound file is reported: %v", journal.Read(text).Problems)
		}
		changed := bytes.Clone(text)
		for i, was := range text {
			for bit := range 8 {
				changed[i] = was ^ 1<<bit
				if !noticed(changed) {
					t.Errorf("byte %d changed from %q to %q is not noticed", i, was, changed[i])
				}
			}
			if len(text) == len(chained) {
				changed[i] = was // the bytes below only matter without neighbours
				continue
			}
			for _, b := range []byte("\n\r \t\x00\"\\{}[],:0123456789abcdefABCDEF.+-eutn\xef\xbb\xbf\xff") {
				if changed[i] = b; b != was && !noticed(changed) {
					t.Errorf("byte %d changed from %q to %q is not noticed", i, was, b)
				}
			}
			changed[i] = was
		}
	}
}

// Lines taken out, put in, moved or repeated are noticed; a torn-off end is not,
// and shows in the head only. That is a property of any such chain, and the book
// says so.
func TestMovedLinesAreNoticed(t *testing.T) {
	lines := bytes.SplitAfter(bytes.TrimSuffix(chained, []byte("\n")), []byte("\n"))
	join := func(order ...int) []byte {
		var out []byte
		for _, i := range order {
			out = append(append(out, bytes.TrimSuffix(lines[i], []byte("\n"))...), '\n')
		}
		return out
	}
	for _, order := range [][]int{{1, 2, 3, 4}, {0, 2, 3, 4}, {0, 1, 2, 4}, {0, 0, 1, 2, 3, 4}, {0, 1, 2, 3, 4, 4}, {1, 0, 2, 3, 4}, {0, 1, 3, 2, 4}, {4}} {
		if !noticed(join(order...)) {
			t.Errorf("lines in the order %v are not noticed", order)
		}
	}
	for _, c := range [][2]string{{`"seq":1,`, `"seq":01,`}, {`"seq":1,`, `"seq":1.0,`}, {`"seq":1,`, `"seq": 1,`}, {`"seq":1,`, ``}, {`"}` + "\n", `" }` + "\n"}} {
		if changed := strings.Replace(string(chained), c[0], c[1], 1); changed == string(chained) || !noticed([]byte(changed)) {
			t.Errorf("%q written as %q is not noticed", c[0], c[1])
		}
	}
	torn := journal.Read(join(0, 1, 2))
	if !torn.Chained || hex.EncodeToString(torn.Head[:]) == chainedHead {
		t.Errorf("a torn end: chained %v and head %x; want it chained with another head", torn.Chained, torn.Head)
	}
	spaced := bytes.ReplaceAll(chained, []byte("\n"), []byte("\r\n\n"))
	if noticed(spaced) {
		t.Errorf("line ends changed on the way are reported: %v", journal.Read(spaced).Problems)
	}
}

// What is reported, and at which line, for the ways a chain breaks in practice.
func TestChainProblems(t *testing.T) {
	plain := line("p", "note", `"text":"by hand"`)
	for _, c := range []struct {
		name    string
		change  func(lines []string) []string
		chained bool
		events  int
		want    string
	}{
		{"nothing", func(l []string) []string { return l }, true, 5, ""},
		{"one number changed", func(l []string) []string {
			l[2] = strings.Replace(l[2], "92.004", "92.040", 1)
			return l
		}, false, 5, "3: the hash does not fit: this line was changed after the export, or one before it was"},
		{"one hash changed", func(l []string) []string {
			l[2] = strings.Replace(l[2], "aec66b", "aec66c", 1)
			return l
		}, false, 5, "3: the hash does not fit: this line was changed after the export, or one before it was"},
		{"a line taken out", func(l []string) []string { return append(l[:1:1], l[2:]...) }, false, 4,
			"2: the line has seq 3 where 2 should stand, and its hash does not fit: a line is missing, was put in or was moved"},
		{"only the number of a line changed", func(l []string) []string {
			l[1] = strings.Replace(l[1], `"seq":2`, `"seq":7`, 1)
			return l
		}, false, 5, "2: the line has seq 7 where 2 should stand|3: the line has seq 3 where 8 should stand"},
		{"lines added by hand", func(l []string) []string { return append(l, plain, strings.Replace(plain, `"p"`, `"q"`, 1)) }, false, 7,
			"6: 2 of the 7 lines, this one the first, have no seq and hash as an export writes them; they cannot be checked"},
		{"all written anew by another program", func(l []string) []string {
			for i := range l {
				l[i] = strings.Replace(strings.Replace(l[i], `,"seq":`, `, "seq": `, 1), `,"hash":"`, `, "hash": "`, 1)
			}
			return l
		}, false, 5, "1: the line has a seq or hash that is not written as an export writes it; it cannot be checked"},
	} {
		lines := c.change(strings.Split(strings.TrimSuffix(string(chained), "\n"), "\n"))
		j := journal.Read([]byte(strings.Join(lines, "\n")))
		var got []string
		for _, p := range j.Problems {
			if p.Code != journal.CodeChainBroken || !p.Attention {
				t.Errorf("%s: problem %+v", c.name, p)
			}
			got = append(got, fmt.Sprintf("%d: %s", p.Line, p.Detail))
		}
		if s := strings.Join(got, "|"); s != c.want {
			t.Errorf("%s: %s", c.name, s)
		}
		if j.Chained != c.chained || len(j.Events) != c.events {
			t.Errorf("%s: chained %v, %d events; what can be read must be used", c.name, j.Chained, len(j.Events))
		}
		if exported := journal.Read(journal.Export(j.Events)); !exported.Chained || len(exported.Events) != c.events || exported.Head != j.Head {
			t.Errorf("%s: exported again: chained %v, head %x, want %x, problems %v", c.name, exported.Chained, exported.Head, j.Head, exported.Problems)
		}
	}
}

// seq and hash never belong to an event, wherever they stand in its line.
func TestStraySeqAndHash(t *testing.T) {
	const (
		id    = `"id":"a"`
		rest  = `"at":"2026-03-02T10:04:00Z","by":"","kind":"note","text":"x"`
		stray = `"seq" : 1`
		hash  = `"hash":["y"]`
	)
	want := "{" + id + "," + rest + "}"
	for _, text := range []string{
		"{" + id + "," + rest + "," + stray + "}",
		"{" + id + "," + rest + "," + stray + "," + hash + "}",
		"{" + stray + "," + hash + "," + id + "," + rest + "}",
		"{" + hash + ", " + id + "," + rest + "," + stray + "}",
		"{" + id + "," + hash + "," + rest + "}",
		"{" + id + "," + stray + "," + hash + "," + rest + "}",
		"{" + id + "," + hash + "," + rest + "," + stray + "}",
	} {
		e, err := journal.Decode([]byte(text))
		if err != nil || string(e.Bytes) != want {
			t.Errorf("%s: bytes %s, %v", text, e.Bytes, err)
		}
		j := journal.Read([]byte(text + "\n"))
		if len(j.Events) != 1 || j.Chained || len(j.Problems) != 1 || j.Problems[0].Code != journal.CodeChainBroken {
			t.Errorf("%s: %d events, chained %v, problems %v", text, len(j.Events), j.Chained, j.Problems)
		}
	}
	twice := strings.Replace(string(journal.Export([]journal.Event{journal.New("a", at0, "", journal.Note{Text: "x"})})), `,"seq"`, `,"seq":1,"seq"`, 1)
	if j := journal.Read([]byte(twice)); len(j.Events) != 0 || j.Chained {
		t.Errorf("%s is taken as %d events", twice, len(j.Events))
	}
	inner := line("a", "reading", `"of":"bore","value":"1 mm","cell":{"n":1,"seq":1,"hash":"`+sha+`"}`)
	if j := journal.Read([]byte(inner)); len(j.Events) != 1 || len(j.Problems) != 0 || string(j.Events[0].Bytes) != inner {
		t.Errorf("seq and hash inside a cell are taken for those of the line: %v", j.Problems)
	}
	text := line("a", "note", `"text":"{,\"seq\":1,\"hash\":\"`+sha+`\"}"`)
	if j := journal.Read([]byte(text)); len(j.Events) != 1 || len(j.Problems) != 0 || string(j.Events[0].Bytes) != text {
		t.Errorf("seq and hash inside a text are taken for those of the line: %v", j.Problems)
	}
}

func TestExportPanicsOnWhatCannotBeWritten(t *testing.T) {
	for _, e := range []journal.Event{
		journal.New("", at0, "", journal.Note{Text: "x"}),
		{ID: "a", Bytes: []byte("no brace")},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v was exported", e)
				}
			}()
			journal.Export([]journal.Event{e})
		}()
	}
	if out := journal.Export(nil); len(out) != 0 {
		t.Errorf("no events export as %q", out)
	}
}

// Laws on random journals.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1150, 2))
	for range 400 {
		lines := randomJournal(rng, 1+rng.IntN(40))
		text := []byte(strings.Join(lines, "\n") + "\n")
		j := journal.Read(text)
		if len(j.Events) != len(lines) {
			t.Fatalf("%d events of %d lines: %v", len(j.Events), len(lines), j.Problems)
		}

		// An export read back is what went in, and exporting again changes nothing.
		exported := journal.Export(j.Events)
		back := journal.Read(exported)
		if !back.Chained || back.Head != j.Head || !reflect.DeepEqual(back.Events, j.Events) {
			t.Fatalf("export of\n%s\nis read back differently: %v", text, back.Problems)
		}
		if !bytes.Equal(journal.Export(back.Events), exported) {
			t.Fatalf("exporting again changes\n%s", exported)
		}

		// Repeated deliveries change nothing but line numbers.
		repeated := repeatSome(rng, lines)
		plain, twice := j.Fold(), journal.Read([]byte(strings.Join(repeated, "\n"))).Fold()
		clearLines(reflect.ValueOf(plain))
		clearLines(reflect.ValueOf(twice))
		if !reflect.DeepEqual(plain, twice) {
			t.Fatalf("repeats in\n%s\nchange the state from\n%+v\nto\n%+v", strings.Join(repeated, "\n"), plain, twice)
		}

		// Struck or not, against the plain definition.
		struck := map[string]bool{}
		for _, x := range plain.Struck {
			struck[x.Event] = true
		}
		for i, e := range j.Events {
			if want := struckByDefinition(j.Events, i); struck[e.ID] != want {
				t.Fatalf("event %s of\n%s\nis struck: %v, by the definition %v", e.ID, text, struck[e.ID], want)
			}
		}

		// A changed byte, a line taken out or two lines exchanged are noticed.
		changed := bytes.Clone(exported)
		i := rng.IntN(len(changed))
		changed[i] ^= byte(1 + rng.IntN(255))
		if !noticed(changed) {
			t.Fatalf("byte %d changed to %q in\n%s\nis not noticed", i, changed[i], exported)
		}
	}
}

// struckByDefinition is the definition, written as it is said: an event is struck
// when a later event that is not struck itself strikes it.
func struckByDefinition(events []journal.Event, i int) bool {
	for k := i + 1; k < len(events); k++ {
		if s, ok := events[k].Body.(journal.Strike); ok && s.Event == events[i].ID && !struckByDefinition(events, k) {
			return true
		}
	}
	return false
}

// randomJournal returns lines with different ids, a third of them strikes of
// anything.
func randomJournal(rng *rand.Rand, n int) []string {
	lines := make([]string, n)
	for i := range lines {
		id := fmt.Sprintf("e%d", i)
		switch rng.IntN(6) {
		case 0, 1:
			lines[i] = line(id, "strike", fmt.Sprintf(`"event":"e%d"`, rng.IntN(n)))
		case 2:
			lines[i] = line(id, "instrument", fmt.Sprintf(`"name":"g%d","step":"0.0%d mm"`, rng.IntN(3), rng.IntN(9)))
		case 3:
			lines[i] = " " + line(id, "job", fmt.Sprintf(`"title":"t%d", "unheard":{"of":[%d]}`, i, i)) + " \t"
		default:
			lines[i] = line(id, "reading", fmt.Sprintf(`"of":"bore","value":"92.0%02d mm"`, rng.IntN(100)))
		}
	}
	return lines
}

// repeatSome puts repeats of lines somewhere after their first.
func repeatSome(rng *rand.Rand, lines []string) []string {
	var out []string
	for i, l := range lines {
		out = append(out, l)
		for rng.IntN(3) == 0 {
			out = append(out, lines[rng.IntN(i+1)])
		}
	}
	return out
}

// clearLines sets every field Line to 0, all through a state.
func clearLines(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			clearLines(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			clearLines(v.Index(i))
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			value := reflect.New(v.Type().Elem()).Elem()
			value.Set(v.MapIndex(key))
			clearLines(value)
			v.SetMapIndex(key, value)
		}
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).Name == "Line" {
				v.Field(i).SetInt(0)
			} else {
				clearLines(v.Field(i))
			}
		}
	}
}
