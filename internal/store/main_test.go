package store

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// TestMain lets the test binary be started again as another program: see child.
func TestMain(m *testing.M) {
	if role := os.Getenv("BUTTONUP_STORE_CHILD"); role != "" {
		os.Exit(child(role, os.Getenv("BUTTONUP_STORE_DIR")))
	}
	os.Exit(m.Run())
}

var ctx = context.Background()

// epoch is when the tests happen, and clock a clock that moves a second at each look.
var epoch = time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)

func clock() func() time.Time {
	now := epoch
	return func() time.Time {
		now = now.Add(time.Second)
		return now
	}
}

// mustOpen opens a folder that is closed at the end of the test.
func mustOpen(t testing.TB, dir string) *Store {
	t.Helper()
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func mustClose(t testing.TB, s *Store) {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// demoTexts is a small invented pack with a template.
func demoTexts() Texts {
	return Texts{
		Pack: []NamedText{
			{Name: "aldermoor-v1150.pack", Text: []byte("pack \"aldermoor-v1150\" { extends = \"v-twin\" }\n")},
			{Name: "numbers.pack", Text: []byte("# ± and µ stay as they are\r\n")},
		},
		Templates: []Template{
			{ID: "v-twin", Files: []NamedText{{Name: "v-twin.pack", Text: []byte("template \"v-twin\" {}\n")}}},
		},
	}
}

// mustJob starts a job.
func mustJob(t testing.TB, s *Store, id string) Job {
	t.Helper()
	job, err := s.CreateJob(ctx, NewJob{ID: id, Title: "V1150, clean rebuild", Texts: demoTexts(), At: epoch})
	if err != nil {
		t.Fatal(err)
	}
	return job
}

// reading returns a line that holds a reading.
func reading(id, value string) []byte {
	line, err := journal.New(id, epoch, "bench", journal.Reading{Of: "bore", Place: "front",
		Cell: journal.Cell{Position: "10 mm", Axis: "thrust"}, Value: value, Instrument: "bg-1"}).Encode()
	if err != nil {
		panic(err)
	}
	return line
}

// mustAppend appends lines that must all be kept.
func mustAppend(t testing.TB, s *Store, job string, lines ...[]byte) []Appended {
	t.Helper()
	results, err := s.Append(ctx, job, lines...)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range results {
		if r.Outcome != Kept {
			t.Fatalf("line %d is %v: %v", i, r.Outcome, r.Problem)
		}
	}
	return results
}

func mustRead(t testing.TB, s *Store, job string) []StoredEvent {
	t.Helper()
	events, err := s.Read(ctx, job, 0)
	if err != nil {
		t.Fatal(err)
	}
	return events
}

// mustBeSound checks the whole record.
func mustBeSound(t testing.TB, s *Store) Report {
	t.Helper()
	r, err := s.Verify(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range r.Damage {
		t.Errorf("damage: %s", d.Says)
	}
	return r
}

// mustRefuse checks that an error is of a kind, unless that is nil, and says these words in this order.
func mustRefuse(t testing.TB, err error, kind error, words ...string) {
	t.Helper()
	var e *Error
	switch {
	case err == nil:
		t.Fatalf("no error where %v was expected", kind)
	case !errors.As(err, &e):
		t.Fatalf("the error is %T, not *Error: %v", err, err)
	case kind != nil && !errors.Is(err, kind):
		t.Fatalf("the error is no %v: %v", kind, err)
	}
	rest := err.Error()
	for _, w := range words {
		_, after, found := strings.Cut(rest, w)
		if !found {
			t.Fatalf("%q is not, or not in this order, in the error %q", w, err)
		}
		rest = after
	}
	if strings.HasSuffix(e.Says, ".") || strings.HasSuffix(e.Do, ".") || e.Says[0] < 'a' || e.Says[0] > 'z' {
		t.Errorf("the error is not in house style: %q", err)
	}
}

// names lists what is in a folder, with a slash behind folders.
func names(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		name := e.Name()
		if e.IsDir() {
			name += "/"
		}
		all = append(all, name)
	}
	return all
}

// seeded returns a random source and logs how to get it again.
func seeded(t testing.TB, seed uint64) *rand.Rand {
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 0))
}

func randomBytes(r *rand.Rand, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

// copyFolder copies the files of a folder, as they are at this moment.
func copyFolder(t testing.TB, from, to string) {
	t.Helper()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// checkStored compares stored events with the lines they should be.
func checkStored(t testing.TB, got []StoredEvent, want [][]byte) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d events are stored; %d should be", len(got), len(want))
	}
	var prev [32]byte
	for i, e := range got {
		prev = journal.Chain(prev, want[i])
		if e.Seq != int64(i)+1 || !bytes.Equal(e.Bytes, want[i]) || e.Hash != prev {
			t.Fatalf("event %d is stored as %d %s with hash %s; it should be %s with hash %s",
				i+1, e.Seq, e.Bytes, hex.EncodeToString(e.Hash[:4]), want[i], hex.EncodeToString(prev[:4]))
		}
	}
}

func folder(t testing.TB) string { return filepath.Join(t.TempDir(), "shop") }

func lineNumber(i int) string { return fmt.Sprintf("e-%04d", i) }
