package store

import (
	"bytes"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"buttonup/journal"
)

// next takes a change that must come.
func next(t *testing.T, changes <-chan Change) Change {
	t.Helper()
	select {
	case c, open := <-changes:
		if !open {
			t.Fatal("the watch has ended")
		}
		return c
	case <-time.After(10 * time.Second):
		t.Fatal("no change came")
	}
	return Change{}
}

func TestWatch(t *testing.T) {
	s := mustOpen(t, folder(t))
	all, stopAll := s.Watch("")
	defer stopAll()
	mustJob(t, s, "j-1")
	mustJob(t, s, "j-2")
	one, stopOne := s.Watch("j-1")
	mustAppend(t, s, "j-1", killLine(0), killLine(1))
	mustAppend(t, s, "j-2", killLine(0))
	mustAppend(t, s, "j-1", killLine(2))
	for _, want := range []Change{{"j-1", 0}, {"j-2", 0}, {"j-1", 2}, {"j-2", 1}, {"j-1", 3}} {
		if got := next(t, all); got != want {
			t.Errorf("change %v, want %v", got, want)
		}
	}
	for _, want := range []Change{{"j-1", 2}, {"j-1", 3}} {
		if got := next(t, one); got != want {
			t.Errorf("change %v, want %v", got, want)
		}
	}
	// What was there before is no change; what is set aside is one.
	if _, err := s.Append(ctx, "j-1", killLine(0)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(ctx, "j-1", []byte("not an event")); err != nil {
		t.Fatal(err)
	}
	if got := next(t, one); got != (Change{"j-1", 3}) {
		t.Errorf("change %v", got)
	}
	select {
	case c := <-one:
		t.Errorf("one change too many: %v", c)
	default:
	}
	stopOne()
	stopOne()
	if _, open := <-one; open {
		t.Error("a watch goes on after it was stopped")
	}
	mustAppend(t, s, "j-1", killLine(3))
}

// A page that is asleep holds nobody up, and the others miss nothing.
func TestSlowListenerIsDropped(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	slow, stop := s.Watch("j-1")
	defer stop()
	quick, stopQuick := s.Watch("j-1")
	defer stopQuick()
	const n = watchRoom + 20
	for i := range n {
		mustAppend(t, s, "j-1", killLine(i))
		if c := next(t, quick); c.Seq != int64(i)+1 {
			t.Fatalf("change %v after event %d", c, i+1)
		}
	}
	got := 0
	for c := range slow {
		got++
		if c.Seq != int64(got) {
			t.Fatalf("change %v as number %d", c, got)
		}
	}
	if got != watchRoom {
		t.Errorf("the slow listener got %d changes before it was dropped, want %d", got, watchRoom)
	}
}

// Two benches write, four pages read all the time. Every reading of the journal is a
// whole one: what it holds is a beginning of the end, with a chain that holds.
func TestReadersBesideWriters(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	const each = 150
	var writers, others sync.WaitGroup
	var done atomic.Bool
	for w := range 2 {
		writers.Go(func() {
			for i := range each {
				results, err := s.Append(ctx, "j-1", killLine(w*each+i))
				if err != nil || results[0].Outcome != Kept {
					t.Errorf("%v, %v", results, err)
					return
				}
				// Its own event is there for all from now on.
				events, err := s.Read(ctx, "j-1", results[0].Seq)
				if err != nil || len(events) == 0 || !bytes.Equal(events[0].Bytes, killLine(w*each+i)) {
					t.Errorf("an acknowledged event is not what is read: %v, %v", events, err)
					return
				}
			}
		})
	}
	var reads atomic.Int64
	for range 4 {
		others.Go(func() {
			var before []StoredEvent
			for !done.Load() {
				events, err := s.Read(ctx, "j-1", 0)
				if err != nil {
					t.Error(err)
					return
				}
				if d := checkChain("j-1", events); d != nil {
					t.Error(d.Says)
					return
				}
				if n := len(before); len(events) < n || n > 0 && events[n-1].Hash != before[n-1].Hash {
					t.Errorf("%d events, and then %d, or others", n, len(events))
					return
				}
				before = events
				reads.Add(1)
			}
		})
	}
	changes, stop := s.Watch("j-1")
	others.Go(func() {
		var last int64
		for c := range changes {
			if c.Seq <= last {
				t.Errorf("change %d after %d", c.Seq, last)
			}
			last = c.Seq
		}
	})
	writers.Wait()
	done.Store(true)
	stop()
	others.Wait()
	if r := mustBeSound(t, s); r.Events != 2*each {
		t.Errorf("%d events", r.Events)
	}
	t.Logf("%d readings of the journal beside %d appends", reads.Load(), 2*each)
}

func TestImport(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "here")
	mustJob(t, s, "there")
	var lines [][]byte
	for i := range 10 {
		lines = append(lines, killLine(i))
	}
	unknown := []byte(`{"id":"u-1","at":"2026-03-02T10:04:00Z","kind":"spell","power":11}`)
	lines = append(lines, unknown)
	mustAppend(t, s, "here", lines...)
	text, err := s.Export(ctx, "here")
	if err != nil {
		t.Fatal(err)
	}
	done, err := s.Import(ctx, "there", text)
	if err != nil || done.Kept != 11 || !done.Chained || len(done.Lines) != 11 {
		t.Fatalf("the import did %+v, %v", done, err)
	}
	if len(done.Problems) != 1 || done.Problems[0].Code != journal.CodeUnknownKind {
		t.Errorf("problems: %v", done.Problems)
	}
	checkStored(t, mustRead(t, s, "there"), lines)
	// Again it adds nothing, and what it gives back is byte for byte what was put in.
	if done, err = s.Import(ctx, "there", text); err != nil || done.Kept != 0 || done.Already != 11 {
		t.Errorf("the second import did %+v, %v", done, err)
	}
	if again, err := s.Export(ctx, "there"); err != nil || !bytes.Equal(again, text) {
		t.Errorf("what was imported is exported as something else, %v", err)
	}
	// A file with a little of everything, over what is there.
	mixed := fmt.Appendf(nil, "\ufeff%s\r\n\n%s\nbroken\n%s\n{\"id\":\"x\"}\n", killLine(3), reading("e-0004", "93.000 mm"), killLine(20))
	done, err = s.Import(ctx, "there", mixed)
	if err != nil {
		t.Fatal(err)
	}
	if done.Kept != 1 || done.Already != 1 || done.Different != 1 || done.Refused != 2 || done.Chained {
		t.Errorf("the import did %+v", done)
	}
	var outcomes []Outcome
	for _, l := range done.Lines {
		outcomes = append(outcomes, l.Outcome)
	}
	if got := fmt.Sprint(outcomes); got != "[already different refused kept refused]" {
		t.Errorf("the outcomes are %s", got)
	}
	checkStored(t, mustRead(t, s, "there"), append(lines, killLine(20)))
	asides, err := s.Asides(ctx, "there")
	if err != nil || len(asides) != 3 || string(asides[1].Bytes) != "broken" {
		t.Errorf("set aside: %+v, %v", asides, err)
	}
	mustBeSound(t, s)
}

// A journal that somebody has worked on comes in as it is, and it is said.
func TestImportOfABrokenChain(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "here")
	mustJob(t, s, "there")
	mustAppend(t, s, "here", killLine(0), killLine(1), killLine(2))
	text, err := s.Export(ctx, "here")
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("92.001"), []byte("92.000"), 1)
	done, err := s.Import(ctx, "there", text)
	if err != nil || done.Kept != 3 || done.Chained || len(done.Problems) == 0 || done.Problems[0].Code != journal.CodeChainBroken || done.Problems[0].Line != 2 {
		t.Errorf("the import did %+v, %v", done, err)
	}
	mustBeSound(t, s)
}
