package store

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// outside runs a program that shares no code with this one.
func outside(t *testing.T, dir, name string, args ...string) (string, error) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("BUTTONUP_WITHOUT_REFERENCES") == "1" {
			t.Skipf("%s is not here, and comparisons were switched off", name)
		}
		t.Fatalf("%s is not here: make needs installs it, or set BUTTONUP_WITHOUT_REFERENCES=1", name)
	}
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	return string(out), err
}

// closedJob is a record with a job that has readings, photos, a line set aside and a
// signature, and an addition after it.
func closedJob(t *testing.T) (*Store, string) {
	t.Helper()
	dir := t.TempDir()
	now := time.Date(2026, 5, 15, 9, 0, 0, 0, time.UTC)
	s, err := Open(dir, Options{Now: func() time.Time { now = now.Add(time.Second); return now }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	ctx := context.Background()
	texts := Texts{Pack: []NamedText{{"twin.pack", []byte("pack \"twin\" { title = \"Twin\" }\n")}, {"more/limits.pack", []byte("# µ\n")}},
		Templates: []Template{{ID: "base pack", Files: []NamedText{{"base.pack", []byte("pack \"base pack\" { title = \"Base\" }\n")}}}}}
	if _, err := s.CreateJob(ctx, NewJob{ID: "j-1", Title: "Twin, customer 41", Texts: texts}); err != nil {
		t.Fatal(err)
	}
	var lines [][]byte
	for i := range 40 {
		e := journal.New(fmt.Sprintf("e%02d", i), now, "bench", journal.Reading{Of: "bore", Place: "front", Value: fmt.Sprintf("92.%03d mm", i)})
		b, err := e.Encode()
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, b)
	}
	for i := range 5 {
		photo := bytes.Repeat([]byte{byte(i), 7, 200, 13}, 60+i)
		sha, _, err := s.PutPhoto(ctx, bytes.NewReader(photo))
		if err != nil {
			t.Fatal(err)
		}
		b, _ := journal.New(fmt.Sprintf("p%02d", i), now, "phone", journal.Photo{SHA256: sha, Of: "space.crankcase"}).Encode()
		lines = append(lines, b)
	}
	lines = append(lines, []byte(`{"id":"e00","at":"2026-05-15T09:00:00Z","by":"x","kind":"note","text":"the same id again"}`))
	if _, err := s.Append(ctx, "j-1", lines...); err != nil {
		t.Fatal(err)
	}
	if _, err := s.CloseJob(ctx, "j-1", "T. O."); err != nil {
		t.Fatal(err)
	}
	b, _ := journal.New("add-1", now, "T. O.", journal.Addition{Text: "head nuts checked at 800 km"}).Encode()
	if _, err := s.Append(ctx, "j-1", b); err != nil {
		t.Fatal(err)
	}
	return s, dir
}

func bundled(t *testing.T, s *Store) []byte {
	t.Helper()
	var b bytes.Buffer
	if _, err := s.Bundle(context.Background(), "j-1", &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func check(t *testing.T, b []byte) (*Checked, error) {
	t.Helper()
	return CheckBundle(context.Background(), bytes.NewReader(b), int64(len(b)))
}

// Every byte of a bundle counts: one that is changed is found, wherever it lies, and
// the right thing is named.
func TestEveryFlippedByteOfABundleIsFound(t *testing.T) {
	s, _ := closedJob(t)
	whole := bundled(t, s)
	c, err := check(t, whole)
	if err != nil || !c.Whole() || c.Events != 47 || c.Photos != 5 || len(c.Seals) != 1 || c.Seals[0].Wrong != "" {
		t.Fatalf("%+v, %v", c, err)
	}
	z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		t.Fatal(err)
	}
	inside := func(at int) (name string, offset int) {
		for _, f := range z.File {
			o, err := f.DataOffset()
			if err != nil {
				t.Fatal(err)
			}
			if at >= int(o) && at < int(o)+int(f.CompressedSize64) {
				return f.Name, at - int(o)
			}
		}
		return "", 0
	}
	journalText := func() []byte {
		f, _ := z.Open("journal.jsonl")
		var b bytes.Buffer
		b.ReadFrom(f)
		return b.Bytes()
	}()
	random := rand.New(rand.NewPCG(1, 2026))
	flip := func(at int, bit byte) {
		b := bytes.Clone(whole)
		b[at] ^= bit
		c, err := check(t, b)
		if err != nil {
			t.Fatalf("byte %d: not even read: %v", at, err)
		}
		if c.Whole() {
			t.Fatalf("byte %d changed from %#x to %#x was not found", at, whole[at], b[at])
		}
		name, offset := inside(at)
		d := c.Damage[0]
		switch {
		case name == "journal.jsonl":
			line := int64(1 + bytes.Count(journalText[:offset], []byte("\n")))
			// A line end that is gone joins two lines; either of them is named.
			if d.What != "event" || d.Seq != line && !(journalText[offset] == '\n' && d.Seq == line+1) {
				t.Fatalf("byte %d is in event %d, and %+v was named", at, line, d)
			}
		case strings.HasPrefix(name, "photos/"):
			if d.What != "photo" || d.Name != strings.TrimPrefix(name, "photos/") {
				t.Fatalf("byte %d is in %s, and %+v was named", at, name, d)
			}
		case strings.HasPrefix(name, "pack/"), strings.HasPrefix(name, "templates/"):
			if d.What != "pack" || d.Name != name {
				t.Fatalf("byte %d is in %s, and %+v was named", at, name, d)
			}
		case name == "SHA256SUMS":
			if d.Name != "SHA256SUMS" && !strings.Contains(d.Says, "list of sums") && d.What != "file" {
				t.Fatalf("byte %d is in %s, and %+v was named", at, name, d)
			}
		case name != "":
			if d.Name != name {
				t.Fatalf("byte %d is in %s, and %+v was named", at, name, d)
			}
		}
	}
	for range 1000 {
		flip(random.IntN(len(whole)), 1<<random.IntN(8))
	}
	if !testing.Short() {
		for at := range whole {
			flip(at, 1<<random.IntN(8))
		}
	}
	if _, err := check(t, whole[:len(whole)/2]); err == nil {
		t.Error("half a bundle was read")
	}
}

// A bundle goes into another record without loss, again without a change, and comes
// out of it byte for byte the same.
func TestBundleThereAndBack(t *testing.T) {
	s, _ := closedJob(t)
	whole := bundled(t, s)
	other, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	ctx := context.Background()
	done, err := other.ImportBundle(ctx, bytes.NewReader(whole), int64(len(whole)), "")
	if err != nil || !done.New || done.Kept != 47 || done.Photos != 5 {
		t.Fatalf("%+v, %v", done, err)
	}
	if again := bundled(t, other); !bytes.Equal(again, whole) {
		t.Error("the bundle of the copy differs from the first")
	}
	done, err = other.ImportBundle(ctx, bytes.NewReader(whole), int64(len(whole)), "")
	if err != nil || done.New || done.Kept != 0 || done.Already != 47 || done.Photos != 0 {
		t.Errorf("the second time: %+v, %v", done, err)
	}
	if asides, err := other.Asides(ctx, "j-1"); err != nil || len(asides) != 1 {
		t.Errorf("%d lines set aside, want 1: %v", len(asides), err)
	}
	r, err := other.Verify(ctx)
	if err != nil || len(r.Damage) != 0 || r.Seals != 1 {
		t.Errorf("%+v, %v", r, err)
	}
	// Nothing that is there is overwritten.
	third, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer third.Close()
	if _, err := third.CreateJob(ctx, NewJob{ID: "j-1", Title: "another engine", Texts: Texts{Pack: []NamedText{{"a.pack", []byte("x")}}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := third.ImportBundle(ctx, bytes.NewReader(whole), int64(len(whole)), ""); err == nil {
		t.Error("another job of the same id was taken for this one")
	}
	if done, err := third.ImportBundle(ctx, bytes.NewReader(whole), int64(len(whole)), "j-1b"); err != nil || done.Job.ID != "j-1b" {
		t.Errorf("%+v, %v", done, err)
	}
	bad := bytes.Clone(whole)
	bad[len(bad)/2] ^= 1
	if _, err := third.ImportBundle(ctx, bytes.NewReader(bad), int64(len(bad)), "j-2"); err == nil {
		t.Error("a damaged bundle was taken")
	}
	if _, err := third.Job(ctx, "j-2"); err == nil {
		t.Error("a damaged bundle left a job behind")
	}
}

// openssl and sha256sum, which share no code with this program, find the signature and
// the sums right, and a changed one wrong.
func TestAnotherProgramChecksTheSignature(t *testing.T) {
	s, _ := closedJob(t)
	whole := bundled(t, s)
	dir := t.TempDir()
	z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	args := []string{"pkeyutl", "-verify", "-pubin", "-inkey", "seal-1.pem", "-rawin", "-in", "seal-1.txt", "-sigfile", "seal-1.sig"}
	if out, err := outside(t, dir, "openssl", args...); err != nil || !strings.Contains(out, "Verified Successfully") {
		t.Errorf("openssl says %q, %v", out, err)
	}
	if out, err := outside(t, dir, "sha256sum", "--quiet", "-c", "SHA256SUMS"); err != nil {
		t.Errorf("sha256sum says %q, %v", out, err)
	}
	message, err := os.ReadFile(filepath.Join(dir, "seal-1.txt"))
	if err != nil {
		t.Fatal(err)
	}
	// What is signed is what the page on sealing says: the pack's sum by hand.
	h := sha256.New()
	for _, name := range []string{"pack/twin.pack", "pack/more/limits.pack", "templates/1/base.pack"} {
		b, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(b)
		h.Write(sum[:])
	}
	if !strings.Contains(string(message), "\nevents 45\n") || !strings.Contains(string(message), "\npack "+hex.EncodeToString(h.Sum(nil))+"\n") {
		t.Errorf("what is signed is\n%s", message)
	}
	message[20] ^= 1
	if err := os.WriteFile(filepath.Join(dir, "seal-1.txt"), message, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := outside(t, dir, "openssl", args...); err == nil {
		t.Errorf("openssl takes a changed text for signed: %s", out)
	}
}

// The key is made once, for its owner alone, and another program reads it.
func TestTheKeyIsMadeOnce(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, err := s.SigningKey()
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.SigningKey()
	if err != nil || !a.Equal(b) {
		t.Error("the key changed", err)
	}
	s.Close()
	info, err := os.Stat(filepath.Join(dir, "keys", "seal.pem"))
	if err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	out, err := outside(t, dir, "openssl", "pkey", "-in", "keys/seal.pem", "-noout", "-text")
	if err != nil || !strings.Contains(out, "ED25519") {
		t.Errorf("openssl says %q, %v", out, err)
	}
	// Only looking makes none.
	empty := t.TempDir()
	if s, err = Open(empty, Options{}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	if s, err = OpenReading(empty, Options{}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.SigningKey(); err == nil {
		t.Error("a record that is only read got a key")
	}
}

func TestClosingSignsAndAdditionsLeaveItValid(t *testing.T) {
	s, dir := closedJob(t)
	ctx := context.Background()
	again, err := s.CloseJob(ctx, "j-1", "T. O.")
	if err != nil || again.Body.(journal.Seal).Events != 47 {
		t.Errorf("closing again signs what came since: %+v, %v", again, err)
	}
	same, err := s.CloseJob(ctx, "j-1", "T. O.")
	if err != nil || same.ID != again.ID {
		t.Errorf("closing twice signed twice: %+v, %v", same, err)
	}
	r, err := s.Verify(ctx)
	if err != nil || r.Seals != 2 || len(r.Damage) != 0 {
		t.Errorf("%+v, %v", r, err)
	}
	// Whoever changes an event and makes the chain anew is found by the signature.
	var b bytes.Buffer
	if _, err := s.Bundle(ctx, "j-1", &b); err != nil {
		t.Fatal(err)
	}
	events, err := s.Read(ctx, "j-1", 0)
	if err != nil {
		t.Fatal(err)
	}
	var lines []journal.Event
	for i, e := range events {
		text := e.Bytes
		if i == 7 {
			text = bytes.Replace(text, []byte("92.007"), []byte("92.001"), 1)
		}
		lines = append(lines, journal.Event{Bytes: text})
	}
	heads := journal.Heads(lines)
	seal := again.Body.(journal.Seal)
	if wrong := journal.CheckSeal(seal, again.At, 47, heads, ""); !strings.Contains(wrong, "changed") {
		t.Errorf("a forged chain was taken: %q", wrong)
	}
	_ = dir
}
