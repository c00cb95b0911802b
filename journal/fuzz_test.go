package journal_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"buttonup/journal"
)

func fuzzSeeds(f *testing.F) {
	f.Add(chained)
	f.Add(bytes.Replace(chained, []byte("92.004"), []byte("92.040"), 1))
	f.Add([]byte("\xef\xbb\xbf{}\r\n\x00\n[1]\n{\"id\":\"a\""))
	for _, c := range fullBodies {
		text, err := journal.New("a", at0, "bench", c.body).Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
		f.Add(journal.Export([]journal.Event{journal.New("a", at0, "bench", c.body)}))
	}
	f.Add([]byte(line("a", "torque", `"joint":"head","point":"all","stage":1`) + "\n" + line("b", "strike", `"event":"a"`)))
	f.Add([]byte(line("a", "note", `"text":"\ud83d\ude00","x":{"y":[1,{"z":null}]},"seq":3`)))
	f.Add([]byte(line("a", "later", `"text":"x"`)))
}

// Reading and folding never panic, whatever the file; what was read survives an
// export and is the same after it, to the byte.
func FuzzRead(f *testing.F) {
	fuzzSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		before := bytes.Clone(data)
		j := journal.Read(data)
		s := j.Fold()
		if !bytes.Equal(before, data) {
			t.Fatal("reading changed the data")
		}
		if j.Chained && !s.Chained || j.Chained && len(j.Events)+len(j.Aside) == 0 {
			t.Fatalf("chained %v with %d events, in the state %v", j.Chained, len(j.Events), s.Chained)
		}
		for _, p := range s.Problems {
			if p.Code == "" || p.Line < 1 || p.Detail == "" || len(p.Detail) > 2000 {
				t.Fatalf("problem %+v", p)
			}
		}
		for _, e := range j.Events {
			again, err := journal.Decode(e.Bytes)
			again.Line = e.Line
			if err != nil || !reflect.DeepEqual(again, e) {
				t.Fatalf("%s\ndecodes as %+v, %v\nwas read as %+v", e.Bytes, again, err, e)
			}
			text, err := e.Encode()
			if err != nil {
				t.Fatalf("%s\nwas read and cannot be written: %v", e.Bytes, err)
			}
			written, err := journal.Decode(text)
			if err != nil || written.ID != e.ID || written.Late != e.Late || written.By != e.By ||
				!written.At.Equal(e.At) || !reflect.DeepEqual(written.Body, e.Body) {
				t.Fatalf("%s\nis written as %s", e.Bytes, text)
			}
		}
		received := j.Received()
		exported := journal.Export(received)
		back := journal.Read(exported)
		if len(received) > 0 && !back.Chained {
			t.Fatalf("the export is not chained: %v\n%s", back.Problems, exported)
		}
		if got := back.Received(); len(got) != len(received) {
			t.Fatalf("%d events of %d survive the export\n%s", len(got), len(received), exported)
		} else {
			for i := range got {
				got[i].Line, received[i].Line = 0, 0
				if !reflect.DeepEqual(got[i], received[i]) {
					t.Fatalf("event %d is\n%+v\nafter the export and was\n%+v", i, got[i], received[i])
				}
			}
		}
		if !bytes.Equal(journal.Export(back.Received()), exported) {
			t.Fatal("exporting twice gives another text")
		}
	})
}

// Two ways: what Decode takes, encoding/json takes too and reads the same texts
// from.
func FuzzDecode(f *testing.F) {
	fuzzSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := journal.Decode(data)
		if err != nil {
			return
		}
		if !json.Valid(data) {
			t.Fatalf("%q was taken and is not JSON", data)
		}
		var members map[string]any
		if err := json.Unmarshal(data, &members); err != nil {
			t.Fatalf("%q was taken: %v", data, err)
		}
		same := func(name, ours string) {
			if theirs, _ := members[name].(string); theirs != ours {
				t.Fatalf("%q: %s is %q, by encoding/json %q", data, name, ours, theirs)
			}
		}
		same("id", e.ID)
		same("by", e.By)
		same("kind", string(e.Kind))
		if late, _ := members["late"].(bool); late != e.Late {
			t.Fatalf("%q: late is %v", data, e.Late)
		}
		if at, err := time.Parse(time.RFC3339, members["at"].(string)); err == nil && !at.Equal(e.At) {
			t.Fatalf("%q: at is %v, by the standard library %v", data, e.At, at)
		}
		switch b := e.Body.(type) {
		case journal.Reading:
			same("of", b.Of)
			same("place", b.Place)
			same("value", b.Value)
			same("instrument", b.Instrument)
			cell, _ := members["cell"].(map[string]any)
			position, _ := cell["position"].(string)
			n, _ := cell["n"].(float64)
			if position != b.Cell.Position || n != float64(b.Cell.N) {
				t.Fatalf("%q: cell is %+v, by encoding/json %v", data, b.Cell, cell)
			}
		case journal.Part:
			sizes, _ := members["sizes"].(map[string]any)
			if len(sizes) != len(b.Sizes) {
				t.Fatalf("%q: sizes are %v, by encoding/json %v", data, b.Sizes, sizes)
			}
			for name, size := range b.Sizes {
				if sizes[name] != size {
					t.Fatalf("%q: size %s is %q, by encoding/json %q", data, name, size, sizes[name])
				}
			}
		case journal.Note:
			same("text", b.Text)
		case journal.Strike:
			same("event", b.Event)
		case journal.TimeWorked:
			if m, ok := members["minutes"].(float64); ok && m != b.Minutes {
				t.Fatalf("%q: minutes are %v, by encoding/json %v", data, b.Minutes, m)
			}
		}
	})
}
