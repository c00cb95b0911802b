package journal_test

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"buttonup/journal"
)

// line returns a sound line of a kind with the given fields.
func line(id, kind, fields string) string {
	return fmt.Sprintf(`{"id":%q,"at":"2026-03-02T10:04:00Z","by":"bench","kind":%q,%s}`, id, kind, fields)
}

const soundNote = `{"id":"n","at":"2026-03-02T10:04:00Z","by":"","kind":"note","text":"x"}`

// Each of these is set aside alone, with its line, its id where it could be read,
// and words that say what was wrong; the lines around it are used.
func TestBrokenLines(t *testing.T) {
	for _, c := range []struct {
		text string
		id   string
		says string
	}{
		{`[1,2]`, "", `not an event in braces: it starts with "[1,2]"`},
		{`"note"`, "", "not an event in braces"},
		{`null`, "", "not an event in braces"},
		{`42`, "", "not an event in braces"},
		{`bore front 92.004`, "", "not an event in braces"},
		{`{}`, "", `no "id"`},
		{`{"id":"a"`, "", "the line breaks off where a comma or the closing brace should stand"},
		{`{"id":"a`, "", "closing quotation mark is missing"},
		{`{"id":"a\`, "", "closing quotation mark is missing"},
		{`{"id"`, "", "the line breaks off where a colon should stand"},
		{`{"id":`, "", "the line breaks off where a value should stand"},
		{`{`, "", "the line breaks off where a name in quotation marks should stand"},
		{`{"id":"a",}`, "", `a name in quotation marks should stand before "}", at character 11`},
		{`{"id" "a"}`, "", "a colon should stand before"},
		{`{id:"a"}`, "", "a name in quotation marks should stand before"},
		{`{"id":'a'}`, "", "a value should stand before"},
		{soundNote + soundNote, "", `something follows the closing brace: "{`},
		{soundNote + ",", "", `something follows the closing brace: ","`},
		{soundNote + "\x00", "", `something follows the closing brace: "\x00"`},
		{`{"id":"a","id":"a"}`, "", `the name "id" stands twice`},
		{`{"id":"a","\u0069d":"b"}`, "", `the name "id" stands twice`},
		{`{"x":1,"x":2}`, "", `the name "x" stands twice`},
		{line("a", "reading", `"of":"bore","value":"1 mm","cell":{"n":1,"n":2}`), "", `the name "n" stands twice`},
		{line("a", "note", `"text":"x","extra":[{"k":1,"k":2}]`), "", `the name "k" stands twice`},
		{line("a", "note", `"text":"x","deep":`+strings.Repeat("[", 32)+strings.Repeat("]", 32)), "", "nested more than 32 deep"},
		{line("a", "note", `"text":"x","deep":`+strings.Repeat(`{"a":`, 100_000)+"1"+strings.Repeat("}", 100_000)), "", "nested more than 32 deep"},
		{line("a", "note", `"text":"x","deep":`+strings.Repeat(`[`, 500_000)), "", "nested more than 32 deep"},
		{line("a", "note", "\"text\":\"\xff\""), "", "the line is not UTF-8 text: byte 0xFF at character 74"},
		{line("a", "note", "\"text\":\"\xed\xa0\x80\""), "", "not UTF-8"},
		{line("a", "note", "\"text\":\"a\tb\""), "", `a raw control character U+0009`},
		{line("a", "note", "\"text\":\"a\x00b\""), "", `a raw control character U+0000 stands inside a text; write it as \u0000`},
		{line("a", "note", `"text":"\x41"`), "", `a backslash before "x" is no escape of JSON`},
		{line("a", "note", `"text":"\u12g4"`), "", `a backslash before "u" is no escape of JSON`},
		{line("a", "note", `"text":"\µ"`), "", `a backslash before "µ" is no escape of JSON`},
		{line("a", "note", `"text":"x","n":01`), "", "needless zero"},
		{line("a", "note", `"text":"x","n":.5`), "", "a value should stand before"},
		{line("a", "note", `"text":"x","n":1.`), "", "a digit after the decimal point"},
		{line("a", "note", `"text":"x","n":NaN`), "", "a value should stand before"},
		{line("a", "note", `"text":"x","n":tru`), "", "a value should stand before"},
		{`{"at":"2026-03-02T10:04:00Z","kind":"note","text":"x"}`, "", `no "id"`},
		{`{"id":"a","kind":"note","text":"x"}`, "", `no "at"`},
		{`{"id":"a","at":"2026-03-02T10:04:00Z","text":"x"}`, "", `no "kind"`},
		{`{"id":7,"at":"2026-03-02T10:04:00Z","kind":"note","text":"x"}`, "", `the value of "id" is not text: 7`},
		{`{"id":"","at":"2026-03-02T10:04:00Z","kind":"note","text":"x"}`, "", "the id is empty"},
		{`{"id":"` + strings.Repeat("é", 65) + `","at":"2026-03-02T10:04:00Z","kind":"note","text":"x"}`, "", "is 65 characters long; 64 is the most"},
		{`{"id":"a\u0007","at":"2026-03-02T10:04:00Z","kind":"note","text":"x"}`, "", "U+0007, which cannot be printed"},
		{`{"id":"a","at":"yesterday","kind":"note","text":"x"}`, "a", `the value of "at" is not a time: "yesterday"; write it like 2026-03-02T10:04:00Z`},
		{`{"id":"a","at":1772445840,"kind":"note","text":"x"}`, "a", `the value of "at" is not text: 1772445840`},
		{`{"id":"a","at":"2026-03-02T10:04:00Z","kind":"","text":"x"}`, "a", "kind is empty"},
		{`{"id":"a","at":"2026-03-02T10:04:00Z","by":null,"kind":"note","text":"x"}`, "a", `the value of "by" is not text: null`},
		{line("a", "note", `"text":"x","late":"yes"`), "a", `the value of "late" is not true or false: "yes"`},
		{line("a", "note", `"text":["x"]`), "a", `the value of "text" is not text: ["x"]`},
		{line("a", "note", `"remark":"x"`), "a", `the note event has no "text"`},
		{line("a", "reading", `"of":"bore"`), "a", `the reading event has no "value"`},
		{line("a", "reading", `"value":"92 mm"`), "a", `the reading event has no "of"`},
		{line("a", "reading", `"of":"bore","value":92.004`), "a", `the value of "value" is not text: 92.004`},
		{line("a", "reading", `"of":"bore","value":"92 mm","place":null`), "a", `the value of "place" is not text: null`},
		{line("a", "reading", `"of":"bore","value":"92 mm","place":1`), "a", `the value of "place" is not text: 1`},
		{line("a", "reading", `"of":"bore","value":"92 mm","cell":"10 mm"`), "a", `the value of "cell" is not an object like`},
		{line("a", "reading", `"of":"bore","value":"92 mm","cell":{"n":0}`), "a", `the value of "n" in "cell" is not a whole number from 1: 0`},
		{line("a", "reading", `"of":"bore","value":"92 mm","cell":{"n":1.5}`), "a", `is not a whole number from 1: 1.5`},
		{line("a", "reading", `"of":"bore","value":"92 mm","cell":{"n":"1"}`), "a", `is not a whole number from 1: "1"`},
		{line("a", "reading", `"of":"bore","value":"92 mm","cell":{"position":10}`), "a", `the value of "position" in "cell" is not text: 10`},
		{line("a", "reading", `"of":"bore","value":"92 mm","phase":"found"`), "a", `the value of "phase" is "found"; it can be as-found, as-machined or as-built`},
		{line("a", "check", `"of":"seal"`), "a", `no "answer"`},
		{line("a", "strike", `"why":"wrong"`), "a", `no "event"`},
		{line("a", "option", `"option":"series"`), "a", `no "choice"`},
		{line("a", "instrument", `"step":"0.01 mm"`), "a", `no "name"`},
		{line("a", "extra", `"why":"sheet"`), "a", `no "text"`},
		{line("a", "part", `"state":"kept"`), "a", `neither a "part" nor a "slot"`},
		{line("a", "part", `"part":"p"`), "a", `no "state"`},
		{line("a", "part", `"part":"p","state":"lost"`), "a", `the value of "state" is "lost"; it can be kept,`},
		{line("a", "part", `"part":"p","state":"kept","count":"four"`), "a", `the value of "count" is not a whole number`},
		{line("a", "part", `"part":"p","state":"kept","sizes":["0.3 mm"]`), "a", `the value of "sizes" is not an object`},
		{line("a", "part", `"part":"p","state":"kept","sizes":{"t":0.3}`), "a", `the value of "t" in "sizes" is not text: 0.3`},
		{line("a", "operation", `"operation":"fit_cam"`), "a", `no "state"`},
		{line("a", "operation", `"state":"done"`), "a", `no "operation"`},
		{line("a", "operation", `"operation":"fit_cam","state":"finished"`), "a", `it can be done or undone`},
		{line("a", "torque", `"point":1`), "a", `no "joint"`},
		{line("a", "torque", `"joint":"head","point":"every"`), "a", `the value of "point" is not a whole number from 1 or "all": "every"`},
		{line("a", "torque", `"joint":"head","point":0`), "a", `whole number from 1 or "all": 0`},
		{line("a", "torque", `"joint":"head","stage":"last"`), "a", `the value of "stage" is not a whole number`},
		{line("a", "torque", `"joint":"head","stage":99999999999999999999`), "a", `the value of "stage" is not a whole number`},
		{line("a", "torque", `"joint":"head","stage":1000001`), "a", `the value of "stage" is not a whole number`},
		{line("a", "wait", `"operation":"seal","state":"over"`), "a", "it can be started or ended"},
		{line("a", "deviation", `"finding":"f"`), "a", `no "why"`},
		{line("a", "deviation", `"why":"f"`), "a", `no "finding"`},
		{line("a", "approval", `"amount":"10"`), "a", `no "what"`},
		{line("a", "photo", `"of":"x"`), "a", `no "sha256"`},
		{line("a", "photo", `"sha256":"xyz"`), "a", "64 hexadecimal digits"},
		{line("a", "photo", `"sha256":"`+strings.Repeat("ſ", 32)+`"`), "a", "64 hexadecimal digits"},
		{line("a", "link", `"of":"x"`), "a", `no "address"`},
		{line("a", "time", `"operation":"x"`), "a", `no "minutes"`},
		{line("a", "time", `"minutes":-1`), "a", "minutes from 0: -1"},
		{line("a", "time", `"minutes":1e999`), "a", "minutes from 0"},
		{line("a", "time", `"minutes":"25 min"`), "a", `minutes from 0: "25 min"`},
		{line("a", "time", `"minutes":"0x10"`), "a", "minutes from 0"},
		{line("a", "time", `"minutes":"Inf"`), "a", "minutes from 0"},
		{line("a", "time", `"minutes":true`), "a", "minutes from 0"},
		{line("a", "cost", `"what":"x"`), "a", `no "amount"`},
		{line("a", "job", `"assembled":1`), "a", `the value of "assembled" is not true or false: 1`},
		{line("a", "addition", `"text":""`), "a", `no "text"`},
	} {
		text := soundNote + "\n" + c.text + "\n" + line("z", "note", `"text":"y"`)
		j := journal.Read([]byte(text))
		name := c.text[:min(len(c.text), 120)]
		if len(j.Events) != 2 || j.Events[0].ID != "n" || j.Events[1].ID != "z" || j.Events[1].Line != 3 {
			t.Errorf("%s\nleft %d events of the two around it", name, len(j.Events))
		}
		if len(j.Aside) != 1 || j.Aside[0].Line != 2 || string(j.Aside[0].Bytes) != c.text {
			t.Errorf("%s\nis not kept aside as it is", name)
		}
		if len(j.Problems) != 1 {
			t.Errorf("%s\ngives problems %v, want one", name, j.Problems)
			continue
		}
		p := j.Problems[0]
		if p.Code != journal.CodeBrokenLine || p.Line != 2 || p.Event != c.id || !p.Attention {
			t.Errorf("%s\ngives %+v", name, p)
		}
		if !strings.Contains(p.Detail, c.says) || len(p.Detail) > 300 {
			t.Errorf("%s\nsays  %q\nwants %q", name, p.Detail, c.says)
		}
		_, err := journal.Decode([]byte(c.text))
		var asProblem journal.Problem
		if !errors.As(err, &asProblem) || asProblem.Detail != p.Detail {
			t.Errorf("%s\nDecode says %v, Read %v", name, err, p)
		}
	}
}

// What looks odd and is sound all the same.
func TestOddLinesThatAreRead(t *testing.T) {
	at := `"at":"2026-03-02T10:04:00Z"`
	for _, c := range []struct {
		text string
		body any
	}{
		{`{"text":"x","kind":"note",` + at + `,"id":"a"}`, journal.Note{Text: "x"}},
		{" {\t\"id\" : \"a\" ," + at + ",\"kind\":\"note\",\"text\":\"x\" } \t", journal.Note{Text: "x"}},
		{`{"id":"a",` + at + `,"k\u0069nd":"note","text":"\u00b1\ud83d\ude00\"\\\/\b\f\n\r\t\u0000"}`, journal.Note{Text: "±😀\"\\/\b\f\n\r\t\x00"}},
		{`{"id":"a",` + at + `,"kind":"note","text":"\ud83d x \ude00\ud83d\ud83d\ude00\ud83d\u0041"}`, journal.Note{Text: "\ufffd x \ufffd\ufffd😀\ufffdA"}},
		{`{"id":"a",` + at + `,"kind":"note","text":"x","place":null,"n":-1.5e+3,"deep":` + strings.Repeat("[", 31) + strings.Repeat("]", 31) + `}`, journal.Note{Text: "x"}},
		{`{"id":"a",` + at + `,"kind":"note","text":"x","ID":"b","Text":"y","":0}`, journal.Note{Text: "x"}},
		{`{"id":"a",` + at + `,"kind":"reading","of":"bore","value":"92 mm","cell":{}}`, journal.Reading{Of: "bore", Value: "92 mm"}},
		{`{"id":"a",` + at + `,"kind":"reading","of":"bore","value":"92 mm","cell":{"n":3,"axis":"pin","depth":{"n":4}, "position" : "10 mm"}}`,
			journal.Reading{Of: "bore", Value: "92 mm", Cell: journal.Cell{Position: "10 mm", Axis: "pin", N: 3}}},
		{`{"id":"a",` + at + `,"kind":"reading","of":"bore","value":"92 mm","phase":""}`, journal.Reading{Of: "bore", Value: "92 mm"}},
		{`{"id":"a",` + at + `,"kind":"instrument","name":"tw-1","min":10,"max":6e1,"graduation":0.50,"unit":"N·m"}`,
			journal.Instrument{Name: "tw-1", Min: "10", Max: "6e1", Graduation: "0.50", Unit: "N·m"}},
		{`{"id":"a",` + at + `,"kind":"cost","what":"x","amount":18.40}`, journal.Cost{What: "x", Amount: "18.40"}},
		{`{"id":"a",` + at + `,"kind":"time","minutes":"25"}`, journal.TimeWorked{Minutes: 25}},
		{`{"id":"a",` + at + `,"kind":"photo","sha256":"` + strings.ToUpper(sha) + `"}`, journal.Photo{SHA256: sha}},
		{`{"id":"a",` + at + `,"kind":"part","slot":"s","state":"kept","sizes":{}}`, journal.Part{Slot: "s", State: journal.Kept}},
		{`{"id":"a",` + at + `,"kind":"job","assembled":false}`, journal.Job{AssembledGiven: true}},
		{`{"id":"a",` + at + `,"kind":"job"}`, journal.Job{}},
		{`{"id":"a",` + at + `,"kind":"torque","joint":"head"}`, journal.Torque{Joint: "head"}},
	} {
		j := journal.Read([]byte(c.text))
		if len(j.Events) != 1 || len(j.Problems) != 0 {
			t.Errorf("%s\ngives %d events, problems %v", c.text, len(j.Events), j.Problems)
			continue
		}
		e := j.Events[0]
		if !reflect.DeepEqual(e.Body, c.body) {
			t.Errorf("%s\ngives %+v\nwant  %+v", c.text, e.Body, c.body)
		}
		if e.ID != "a" || string(e.Bytes) != c.text {
			t.Errorf("%s\nhas id %q, bytes %q", c.text, e.ID, e.Bytes)
		}
	}
}

func TestIDs(t *testing.T) {
	for _, id := range []string{"a", "a b", "±–é😀", strings.Repeat("x", 64), strings.Repeat("é", 64), `"\`} {
		e := journal.New(id, at0, "", journal.Note{Text: "x"})
		text, err := e.Encode()
		if err != nil {
			t.Errorf("id %q: %v", id, err)
			continue
		}
		if got, err := journal.Decode(text); err != nil || got.ID != id {
			t.Errorf("id %q comes back as %q, %v", id, got.ID, err)
		}
	}
}

// Line ends, empty lines, marks at the start and what a crash leaves at the end.
func TestFileShapes(t *testing.T) {
	a, b := line("a", "note", `"text":"x"`), line("b", "note", `"text":"y"`)
	for _, c := range []struct {
		name, text string
		lines      []int
	}{
		{"empty", "", nil},
		{"only line ends", "\n\r\n\n", nil},
		{"no line end at the end", a + "\n" + b, []int{1, 2}},
		{"carriage returns", a + "\r\n" + b + "\r\n", []int{1, 2}},
		{"a carriage return alone at the end", a + "\r\r\n" + b + "\r", []int{1, 2}},
		{"empty lines", "\n" + a + "\n \t\n\n" + b + "\n\n", []int{2, 5}},
		{"byte order mark", "\xef\xbb\xbf" + a + "\n" + b + "\n", []int{1, 2}},
		{"byte order mark before an empty line", "\xef\xbb\xbf\n" + a + "\n" + b, []int{2, 3}},
		{"NULs at the start", "\x00\x00" + a + "\n" + b + "\n", []int{1, 2}},
		{"NULs and a mark at the start", "\x00\xef\xbb\xbf" + a + "\n" + b + "\n", []int{1, 2}},
		{"NULs after a crash", a + "\n" + b + "\n\x00\x00\x00\x00", []int{1, 2}},
	} {
		j := journal.Read([]byte(c.text))
		var lines []int
		for i, e := range j.Events {
			lines = append(lines, e.Line)
			if want := []string{a, b}[i]; string(e.Bytes) != want {
				t.Errorf("%s: bytes %q, want %q", c.name, e.Bytes, want)
			}
		}
		if !reflect.DeepEqual(lines, c.lines) || len(j.Problems) != 0 || j.Chained {
			t.Errorf("%s: lines %v, want %v; problems %v; chained %v", c.name, lines, c.lines, j.Problems, j.Chained)
		}
	}
}

func TestUnknownKind(t *testing.T) {
	later := line("b", "dyno", `"text":"x"`)
	text := line("a", "note", `"text":"x"`) + "\n" + later + "\n" + "broken\n" + line("c", "note", `"text":"x"`) + "\n"
	j := journal.Read([]byte(text))
	if len(j.Events) != 2 || len(j.Aside) != 2 {
		t.Fatalf("%d events and %d aside, want 2 and 2", len(j.Events), len(j.Aside))
	}
	p := j.Problems[0]
	if p.Code != journal.CodeUnknownKind || p.Line != 2 || p.Event != "b" || !strings.Contains(p.Detail, `"dyno"`) {
		t.Errorf("problem %+v", p)
	}
	if e := j.Aside[0]; e.Kind != "dyno" || e.ID != "b" || e.Body != nil || string(e.Bytes) != later {
		t.Errorf("aside %+v", e)
	}
	var received []string
	for _, e := range j.Received() {
		received = append(received, e.ID)
	}
	if got := strings.Join(received, " "); got != "a b c" {
		t.Errorf("received %q, want a b c: all but the broken line, in the order of the file", got)
	}
	e, err := journal.Decode([]byte(later))
	if err == nil || e.ID != "b" || e.Body != nil {
		t.Errorf("Decode gives %+v, %v; want the event and a problem", e, err)
	}
	// An export keeps what this version does not understand, for one that does.
	back := journal.Read(journal.Export(j.Received()))
	if !back.Chained || len(back.Aside) != 1 || string(back.Aside[0].Bytes) != later {
		t.Errorf("exported: chained %v, aside %v, problems %v", back.Chained, back.Aside, back.Problems)
	}
}

func TestSizes(t *testing.T) {
	fill := func(n int) string {
		text := line("a", "note", `"text":""`)
		return strings.Replace(text, `"text":""`, `"text":"`+strings.Repeat("x", n-len(text))+`"`, 1)
	}
	longest, tooLong := fill(journal.MaxLine), fill(journal.MaxLine+1)
	j := journal.Read([]byte(longest + "\n" + tooLong + "\n" + soundNote))
	if len(j.Events) != 2 || len(j.Problems) != 1 {
		t.Fatalf("%d events, problems %v", len(j.Events), j.Problems)
	}
	if p := j.Problems[0]; p.Code != journal.CodeLineTooLong || p.Line != 2 || p.Detail != "the line is 1048577 bytes long; 1048576 is the most that is read" {
		t.Errorf("problem %+v", p)
	}
	if _, err := journal.Decode([]byte(tooLong)); err == nil {
		t.Errorf("Decode takes a line that Read does not")
	}
	// The longest line can be exported and read again, seq and hash not counted.
	if back := journal.Read(journal.Export(j.Events)); !back.Chained || len(back.Events) != 2 {
		t.Errorf("exported: chained %v, %d events, problems %v", back.Chained, len(back.Events), back.Problems)
	}
	if sealed := bytes.TrimSuffix(journal.Export(j.Events[:1]), []byte("\n")); len(sealed) <= journal.MaxLine {
		t.Errorf("the exported line has %d bytes", len(sealed))
	} else if e, err := journal.Decode(sealed); err != nil || string(e.Bytes) != longest {
		t.Errorf("Decode of the exported longest line: %v", err)
	}
}

func TestWholeJournalTooLarge(t *testing.T) {
	if testing.Short() {
		t.Skip("needs some hundred MB")
	}
	// Lines of exactly half a MB with their line ends, so that 128 fill a journal.
	empty := len(line("a", "note", `"text":""`)) + 1
	one := line("a", "note", `"text":"`+strings.Repeat("x", 1<<19-empty)+`"`) + "\n"
	n := journal.MaxJournal/len(one) + 3
	j := journal.Read(bytes.Repeat([]byte(one), n))
	if want := journal.MaxJournal / len(one); len(j.Events) != want {
		t.Errorf("%d events read of %d, want %d", len(j.Events), n, want)
	}
	last := j.Problems[len(j.Problems)-1]
	if last.Code != journal.CodeTooLarge || last.Line != len(j.Events)+1 {
		t.Errorf("problem %+v", last)
	}
	if sealed := journal.Read(journal.Export(journal.Read(bytes.Repeat([]byte(one), n-3)).Events)); !sealed.Chained {
		t.Errorf("an export of all that can be read is not read whole: %v", sealed.Problems)
	}
}

// A file that is no journal must not fill the memory with problems.
func TestManyBrokenLines(t *testing.T) {
	j := journal.Read([]byte(strings.Repeat("x\n", journal.MaxBrokenLines+5) + soundNote))
	if len(j.Events) != 1 || len(j.Problems) != journal.MaxBrokenLines+1 || len(j.Aside) != journal.MaxBrokenLines {
		t.Fatalf("%d events, %d problems, %d aside", len(j.Events), len(j.Problems), len(j.Aside))
	}
	if p := j.Problems[journal.MaxBrokenLines]; p.Code != journal.CodeMoreLines || p.Line != journal.MaxBrokenLines+5 || !strings.HasPrefix(p.Detail, "5 more lines") {
		t.Errorf("last problem %+v", p)
	}
}
