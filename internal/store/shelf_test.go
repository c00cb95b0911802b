package store

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The shelf holds a record and a bundle of every form there has been, made by the
// program of its day. Today's program opens each, finds it whole, and reads out of it
// byte for byte what went in. A new form adds its file; none is ever taken away.

func shelved(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "shelf", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A layout that is new lies on the shelf too before it leaves this program, as a database
// and as a backup: what is not there is not opened by the program of ten years on.
func TestTheNewestLayoutIsOnTheShelf(t *testing.T) {
	steps, err := filepath.Glob(filepath.Join("migrations", "sqlite", "*.sql"))
	if err != nil || len(steps) < 2 {
		t.Fatal(steps, err)
	}
	for _, name := range []string{"v%d.db", "layout-%d-backup.zip"} {
		for n := 1; n <= len(steps); n++ {
			file := fmt.Sprintf(name, n)
			if _, err := os.Stat(filepath.Join("testdata", "shelf", file)); err != nil {
				t.Errorf("%s is not on the shelf: testdata/shelf/README.md says how it is made", file)
			}
		}
	}
	s, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var b bytes.Buffer
	if _, err := s.CreateJob(context.Background(), NewJob{ID: "j", Title: "j", Texts: Texts{Pack: []NamedText{{"a.pack", []byte("pack \"a\" { title = \"A\" }\n")}}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Bundle(context.Background(), "j", &b); err != nil {
		t.Fatal(err)
	}
	form := regexp.MustCompile(`"buttonup-bundle-(\d+)"`).FindSubmatch(b.Bytes())
	if form == nil {
		t.Fatal("a bundle does not say its form")
	}
	if _, err := os.Stat(filepath.Join("testdata", "shelf", "bundle-"+string(form[1])+".buttonup")); err != nil {
		t.Errorf("no bundle of form %s is on the shelf", form[1])
	}
}

func TestEveryLayoutOnTheShelfOpens(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "shelf", "layout-*-backup.zip"))
	if err != nil || len(files) < 2 {
		t.Fatal(files, err)
	}
	want := bytes.Split(bytes.TrimSpace(shelved(t, "journal.jsonl")), []byte("\n"))
	ctx := context.Background()
	for _, file := range files {
		dir := filepath.Join(t.TempDir(), "restored")
		if _, err := Restore(ctx, file, dir, Options{}); err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		s, err := Open(dir, Options{})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		r, err := s.Verify(ctx)
		if err != nil || len(r.Damage) > 0 || r.Jobs != 1 {
			t.Errorf("%s: %+v, %v", file, r, err)
		}
		events, err := s.Read(ctx, "shelf-1", 0)
		if err != nil || len(events) < len(want) {
			t.Fatalf("%s: %d events, %v", file, len(events), err)
		}
		for i := range want {
			if !bytes.Equal(events[i].Bytes, want[i]) {
				t.Errorf("%s: event %d is\n%s\nwant\n%s", file, i+1, events[i].Bytes, want[i])
			}
		}
		if texts, err := s.Texts(ctx, "shelf-1"); err != nil || !strings.Contains(string(texts.Pack[0].Text), "Shelf twin (invented)") {
			t.Errorf("%s: %v", file, err)
		}
		// It is worked on as any other.
		if _, err := s.CloseJob(ctx, "shelf-1", "T. O."); err != nil {
			t.Errorf("%s: %v", file, err)
		}
		s.Close()
	}
}

func TestEveryBundleOnTheShelfIsTakenIn(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "shelf", "bundle-*.buttonup"))
	if err != nil || len(files) < 1 {
		t.Fatal(files, err)
	}
	ctx := context.Background()
	for _, file := range files {
		b := shelved(t, filepath.Base(file))
		s, err := Open(t.TempDir(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		done, err := s.ImportBundle(ctx, bytes.NewReader(b), int64(len(b)), "")
		if err != nil || done.Kept != 7 {
			t.Errorf("%s: %+v, %v", file, done, err)
		}
		r, err := s.Verify(ctx)
		if err != nil || len(r.Damage) > 0 || r.Seals != 1 {
			t.Errorf("%s: %+v, %v", file, r, err)
		}
		var again bytes.Buffer
		if _, err := s.Bundle(ctx, "shelf-1", &again); err != nil || !bytes.Equal(again.Bytes(), b) {
			t.Errorf("%s: what comes out differs from what went in: %v", file, err)
		}
		s.Close()
	}
}
