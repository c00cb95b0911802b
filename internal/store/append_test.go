package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/journal"
)

func TestAppendKeepsTheReceivedBytes(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	odd := []byte("  {\"kind\":\"note\", \"id\":\"n\\u002d1\",\t\"at\":\"2026-03-02T11:04:00+01:00\",\"text\":\"µ ± — \\u00b5\",\"later\":[1,{\"x\":null}]}  ")
	unknown := []byte(`{"id":"u-1","at":"2026-03-02T10:04:00Z","kind":"spell","power":11}`)
	lines := [][]byte{reading("r-1", "92.004 mm"), append(bytes.Clone(odd), "\r\n"...), unknown}
	results, err := s.Append(ctx, "j-1", lines...)
	if err != nil {
		t.Fatal(err)
	}
	want := [][]byte{lines[0], odd, unknown}
	for i, id := range []string{"r-1", "n-1", "u-1"} {
		if r := results[i]; r.Outcome != Kept || r.ID != id || r.Seq != int64(i)+1 {
			t.Errorf("result %d is %+v", i, r)
		}
	}
	if results[0].Problem != nil || results[1].Problem != nil {
		t.Errorf("problems with sound lines: %v, %v", results[0].Problem, results[1].Problem)
	}
	var p journal.Problem
	if !errors.As(results[2].Problem, &p) || p.Code != journal.CodeUnknownKind {
		t.Errorf("an unknown kind has the problem %v", results[2].Problem)
	}
	checkStored(t, mustRead(t, s, "j-1"), want)
	mustBeSound(t, s)
}

// A phone that hears no answer sends everything again.
func TestAppendTwiceCountsOnce(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	mustJob(t, s, "j-2")
	first := mustAppend(t, s, "j-1", reading("r-1", "92.004 mm"), reading("r-2", "92.006 mm"))
	again, err := s.Append(ctx, "j-1", reading("r-2", "92.006 mm"), reading("r-3", "92.001 mm"), reading("r-3", "92.001 mm"), reading("r-1", "92.004 mm"))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		outcome Outcome
		seq     int64
	}{{Already, 2}, {Kept, 3}, {Already, 3}, {Already, 1}} {
		if again[i].Outcome != want.outcome || again[i].Seq != want.seq {
			t.Errorf("line %d: %v as %d, want %v as %d", i, again[i].Outcome, again[i].Seq, want.outcome, want.seq)
		}
	}
	if again[3].Hash != first[0].Hash {
		t.Error("the hash of an event that was there is another one")
	}
	checkStored(t, mustRead(t, s, "j-1"), [][]byte{reading("r-1", "92.004 mm"), reading("r-2", "92.006 mm"), reading("r-3", "92.001 mm")})
	// The ids of one job mean nothing in another.
	if r := mustAppend(t, s, "j-2", reading("r-1", "91.9 mm")); r[0].Seq != 1 {
		t.Errorf("the first event of another job has number %d", r[0].Seq)
	}
}

// The first event of an id counts. The other is neither kept in its place nor lost.
func TestAppendKeepsAnotherEventOfTheSameIDAside(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", reading("r-1", "92.004 mm"))
	for range 3 {
		results, err := s.Append(ctx, "j-1", reading("r-1", "92.400 mm"), reading("r-2", "92.001 mm"))
		if err != nil {
			t.Fatal(err)
		}
		r := results[0]
		var p journal.Problem
		if r.Outcome != Different || r.Seq != 1 || !r.Aside || !errors.As(r.Problem, &p) || p.Code != journal.CodeSameID || p.Event != "r-1" {
			t.Fatalf("the result is %+v", r)
		}
	}
	checkStored(t, mustRead(t, s, "j-1"), [][]byte{reading("r-1", "92.004 mm"), reading("r-2", "92.001 mm")})
	asides, err := s.Asides(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	if len(asides) != 1 || asides[0].ID != "r-1" || asides[0].Code != journal.CodeSameID || !bytes.Equal(asides[0].Bytes, reading("r-1", "92.400 mm")) {
		t.Errorf("set aside: %+v", asides)
	}
}

func TestAppendKeepsWhatIsNoEventAside(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	broken := []string{
		`{"id":"r-1","at":"2026-03-02T10:04:00Z","kind":"reading","of":"bore"`,
		`{"id":"r-1","at":"yesterday","kind":"note","text":"x"}`,
		`not JSON at all`,
		"{\"id\":\"r-1\",\n\"at\":\"2026-03-02T10:04:00Z\",\"kind\":\"note\",\"text\":\"on two lines\"}",
		"\xff\xfe",
	}
	var lines [][]byte
	for _, b := range broken {
		lines = append(lines, []byte(b))
	}
	lines = append(lines, nil, bytes.Repeat([]byte("x"), journal.MaxLine+1), reading("r-9", "92.004 mm"))
	results, err := s.Append(ctx, "j-1", lines...)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range results[:len(results)-1] {
		var p journal.Problem
		if r.Outcome != Refused || r.Seq != 0 || !errors.As(r.Problem, &p) || p.Detail == "" || r.Aside != (i < len(broken)) {
			t.Errorf("line %d is %+v", i, r)
		}
	}
	if r := results[len(results)-1]; r.Outcome != Kept || r.Seq != 1 {
		t.Errorf("a sound line among broken ones is %+v", r)
	}
	asides, err := s.Asides(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	if len(asides) != len(broken) {
		t.Fatalf("%d lines were set aside, want %d", len(asides), len(broken))
	}
	for i, a := range asides {
		if string(a.Bytes) != broken[i] || a.Number != int64(i)+1 || a.Code != journal.CodeBrokenLine {
			t.Errorf("set aside: %+v, want %q", a, broken[i])
		}
	}
	mustBeSound(t, s)
}

// Whatever is sent in whatever pieces, in whatever order and how often: the store
// agrees with a model of a dozen lines, over being closed and opened, and what it
// exports is read back whole.
func TestAppendAgreesWithAModel(t *testing.T) {
	seeds := 6
	if testing.Short() {
		seeds = 2
	}
	for seed := range uint64(seeds) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			r := seeded(t, seed)
			dir := folder(t)
			s := mustOpen(t, dir)
			mustJob(t, s, "j-1")
			var kept [][]byte
			seqOf := map[string]int64{}
			asides := map[string]bool{}
			for range 60 {
				var lines [][]byte
				var want []Appended
				for range r.IntN(6) {
					sent, received, id := randomLine(r)
					w := Appended{ID: id}
					switch seq := seqOf[id]; {
					case id == "":
						asides[string(received)] = true
					case seq == 0:
						kept = append(kept, received)
						seqOf[id] = int64(len(kept))
						w.Outcome, w.Seq = Kept, int64(len(kept))
					case bytes.Equal(kept[seq-1], received):
						w.Outcome, w.Seq = Already, seq
					default:
						w.Outcome, w.Seq = Different, seq
						asides[string(received)] = true
					}
					lines, want = append(lines, sent), append(want, w)
				}
				got, err := s.Append(ctx, "j-1", lines...)
				if err != nil {
					t.Fatal(err)
				}
				for i := range want {
					if got[i].Outcome != want[i].Outcome || got[i].Seq != want[i].Seq || got[i].ID != want[i].ID {
						t.Fatalf("%q gives %v, %d, %q; want %v, %d, %q", lines[i], got[i].Outcome, got[i].Seq, got[i].ID, want[i].Outcome, want[i].Seq, want[i].ID)
					}
				}
				if r.IntN(20) == 0 {
					mustClose(t, s)
					s = mustOpen(t, dir)
				}
			}
			checkStored(t, mustRead(t, s, "j-1"), kept)
			lines, err := s.Asides(ctx, "j-1")
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range lines {
				if !asides[string(l.Bytes)] {
					t.Errorf("set aside, and should not be: %q", l.Bytes)
				}
				delete(asides, string(l.Bytes))
			}
			for line := range asides {
				t.Errorf("not set aside: %q", line)
			}
			text, err := s.Export(ctx, "j-1")
			if err != nil {
				t.Fatal(err)
			}
			j := journal.Read(text)
			if !j.Chained {
				t.Errorf("the chain of the export does not hold: %v", j.Problems)
			}
			for i, e := range j.Received() {
				if !bytes.Equal(e.Bytes, kept[i]) {
					t.Errorf("line %d of the export is %q, want %q", i+1, e.Bytes, kept[i])
				}
			}
			mustBeSound(t, s)
		})
	}
}

// randomLine returns a line to send, what should be kept of it, and its id, which is
// empty for a line that is no event.
func randomLine(r *rand.Rand) (sent, received []byte, id string) {
	id = fmt.Sprintf("r-%d", r.IntN(40))
	if r.IntN(10) == 0 {
		b := fmt.Appendf(nil, `{"id":%q,"kind":"reading" broken %d`, id, r.IntN(5))
		return b, b, ""
	}
	line := reading(id, fmt.Sprintf("92.%03d mm", r.IntN(3)))
	switch r.IntN(6) {
	case 0:
		line = fmt.Appendf(nil, `{"id":%q,"at":"2026-03-02T10:04:00Z","kind":"spell","n":%d}`, id, r.IntN(3))
	case 1:
		line = append([]byte("\t "), append(line, " \t"...)...)
	case 2: // one that was exported before, with a seq and hash of another journal
		sealed := journal.Export([]journal.Event{{Bytes: line}})
		return sealed, line, id
	}
	sent = bytes.Clone(line)
	if r.IntN(4) == 0 {
		sent = append(sent, "\r\n"...)
	}
	return sent, line, id
}

func TestAppendRefusesAJournalThatNobodyCouldRead(t *testing.T) {
	if testing.Short() {
		t.Skip("writes 64 MB")
	}
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	note := func(i int) []byte {
		line, err := journal.New(fmt.Sprintf("n-%d", i), epoch, "bench", journal.Note{Text: strings.Repeat("x", 1<<20-200)}).Encode()
		if err != nil {
			t.Fatal(err)
		}
		return line
	}
	var lines [][]byte
	for i := range 64 {
		lines = append(lines, note(i))
	}
	mustAppend(t, s, "j-1", lines...)
	_, err := s.Append(ctx, "j-1", reading("r-1", "92.004 mm"), note(64))
	mustRefuse(t, err, ErrTooLarge, "append to job j-1: the journal would have ", "67108864 is the most; begin another job")
	if n := len(mustRead(t, s, "j-1")); n != 64 {
		t.Errorf("%d events are there after a call that was refused, want 64", n)
	}
	text, err := s.Export(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	if j := journal.Read(text); len(j.Events) != 64 || !j.Chained {
		t.Errorf("of the largest journal %d events are read back, chained %v", len(j.Events), j.Chained)
	}
	if job, err := s.Job(ctx, "j-1"); err != nil || job.Size != int64(len(bytes.Join(lines, []byte("\n"))))+1 {
		t.Errorf("the job has %d bytes, %v", job.Size, err)
	}
}

// Something that sends rubbish neither fills the disk nor holds up a reading.
func TestAppendDoesNotSetAsideForEver(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	var lines [][]byte
	for i := range MaxAsides {
		lines = append(lines, fmt.Appendf(nil, "broken %d", i))
	}
	if _, err := s.Append(ctx, "j-1", lines...); err != nil {
		t.Fatal(err)
	}
	results, err := s.Append(ctx, "j-1", reading("r-1", "92.004 mm"), []byte("one more"), reading("r-1", "92.4 mm"), lines[7])
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []Appended{{Outcome: Kept}, {Outcome: Refused}, {Outcome: Different}, {Outcome: Refused, Aside: true}} {
		if got := results[i]; got.Outcome != want.Outcome || got.Aside != want.Aside || (got.Problem == nil) != (i == 0) {
			t.Errorf("line %d is %+v", i, got)
		}
	}
	if asides, err := s.Asides(ctx, "j-1"); err != nil || len(asides) != MaxAsides {
		t.Errorf("%d lines were set aside, %v", len(asides), err)
	}
}

func TestAppendToNoJob(t *testing.T) {
	s := mustOpen(t, folder(t))
	_, err := s.Append(ctx, "j-9", reading("r-1", "92.004 mm"))
	mustRefuse(t, err, ErrNotFound, `append to job j-9: there is no job "j-9"`)
	_, err = s.Append(ctx, "j-9")
	mustRefuse(t, err, ErrNotFound)
	_, err = s.Read(ctx, "j-9", 0)
	mustRefuse(t, err, ErrNotFound, `read job j-9: there is no job "j-9"`)
	_, err = s.Asides(ctx, "j-9")
	mustRefuse(t, err, ErrNotFound)
	_, err = s.Texts(ctx, "j-9")
	mustRefuse(t, err, ErrNotFound)
	_, err = s.Export(ctx, "j-9")
	mustRefuse(t, err, ErrNotFound)
	_, err = s.Import(ctx, "j-9", reading("r-1", "92.004 mm"))
	mustRefuse(t, err, ErrNotFound)
	_, err = s.Job(ctx, "../j")
	mustRefuse(t, err, ErrNotFound)
}

func TestAppendGivenUpBeforeItBegan(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := s.Append(gone, "j-1", reading("r-1", "92.004 mm")); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	if n := len(mustRead(t, s, "j-1")); n != 0 {
		t.Errorf("%d events are there", n)
	}
	mustAppend(t, s, "j-1", reading("r-1", "92.004 mm"))
}

func TestReadFrom(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	for i := range 5 {
		mustAppend(t, s, "j-1", reading(lineNumber(i), "92.004 mm"))
	}
	for from, want := range map[int64]int{-3: 5, 0: 5, 1: 5, 2: 4, 5: 1, 6: 0, 99: 0} {
		events, err := s.Read(ctx, "j-1", from)
		if err != nil || len(events) != want {
			t.Errorf("from %d: %d events, %v; want %d", from, len(events), err, want)
		}
		if want > 0 && events[len(events)-1].Seq != 5 {
			t.Errorf("from %d: the last is %d", from, events[len(events)-1].Seq)
		}
	}
	j, err := s.Journal(ctx, "j-1")
	if err != nil || len(j.Events) != 5 || j.Events[3].Line != 4 || len(j.Problems) != 0 {
		t.Errorf("the journal has %d events and the problems %v, %v", len(j.Events), j.Problems, err)
	}
}
