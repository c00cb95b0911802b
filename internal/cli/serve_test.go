package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/internal/store"
	"buttonup/packs"
)

// command runs a command line and returns the code and what it printed.
func command(t *testing.T, stdin string, args ...string) (code int, out, errs string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = Main(args, strings.NewReader(stdin), &stdout, &stderr)
	return code, stdout.String(), stderr.String()
}

func TestADemoFolderIsMadeAnewAndNothingElseIs(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "demo")
	ctx := context.Background()
	s, err := makeDemo(ctx, folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	jobs, err := s.Jobs(ctx)
	if err != nil || len(jobs) != len(demoJobs) {
		t.Fatalf("%v %v", jobs, err)
	}
	// While somebody has it open it stays.
	if _, err := makeDemo(ctx, folder, store.Options{}); err == nil || !strings.Contains(err.Error(), "in use") && !strings.Contains(err.Error(), "open") {
		t.Errorf("made anew under a server: %v", err)
	}
	if _, err := s.Append(ctx, "0412", []byte(`{"id":"mine","at":"2026-03-02T10:00:00Z","kind":"note","text":"x"}`)); err != nil {
		t.Fatal(err)
	}
	events := jobs[0].Events
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = makeDemo(ctx, folder, store.Options{}); err != nil {
		t.Fatal(err)
	}
	if j, err := s.Job(ctx, "0412"); err != nil || j.Events != events {
		t.Errorf("made anew with %d events, want %d, %v", j.Events, events, err)
	}
	s.Close()

	own := t.TempDir()
	mine := filepath.Join(own, "mine.txt")
	if err := os.WriteFile(mine, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := makeDemo(ctx, own, store.Options{}); err == nil || !strings.Contains(err.Error(), "not a demo folder") {
		t.Errorf("%v", err)
	}
	if text, err := os.ReadFile(mine); err != nil || string(text) != "mine" {
		t.Errorf("my file: %q %v", text, err)
	}
}

func TestServeRefusesTheWorldAndTheDemoAsARecord(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "record")
	code, _, errs := command(t, "", "serve", "--data", folder, "--addr", "203.0.113.9:0")
	if code != ExitUsage || !strings.Contains(errs, "not one of a shop's own network") {
		t.Errorf("%d %s", code, errs)
	}
	if _, err := os.Stat(folder); err == nil {
		t.Error("a folder was made all the same")
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, demoMarker), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs = command(t, "", "serve", "--data", folder, "--addr", "127.0.0.1:0"); code != ExitFailed || !strings.Contains(errs, "holds the demo jobs") {
		t.Errorf("%d %s", code, errs)
	}
}

func TestAJobGoesThroughBackupAndBack(t *testing.T) {
	dir := t.TempDir()
	record, back := filepath.Join(dir, "record"), filepath.Join(dir, "back")
	text, _ := packs.Journal(packs.Demo, "swapped-gasket")
	code, out, errs := command(t, string(text), "job", "import", "-", "--data", record, "--job", "0417", "--pack", packs.Demo, "--title", "Gasket swapped")
	if code != ExitDone || !strings.Contains(out, "42 events kept, 0 there already") {
		t.Fatalf("%d %s %s", code, out, errs)
	}
	// The same journal again adds nothing.
	code, out, errs = command(t, string(text), "job", "import", "-", "--data", record, "--job", "0417")
	if code != ExitDone || !strings.Contains(out, "0 events kept, 42 there already") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	code, out, errs = command(t, "", "job", "new", "--data", record, "--pack", packs.Demo, "--title", "Empty", "--id", "0500", "--json")
	var made jobReport
	if code != ExitDone || json.Unmarshal([]byte(out), &made) != nil || made.ID != "0500" || made.Title != "Empty" {
		t.Errorf("%d %s %s", code, out, errs)
	}
	code, out, errs = command(t, "", "job", "list", "--data", record)
	if code != ExitDone || !strings.Contains(out, "Gasket swapped, 42 events") || !strings.Contains(out, "Empty, 0 events") {
		t.Errorf("%d %s %s", code, out, errs)
	}
	code, exported, errs := command(t, "", "job", "export", "0417", "--data", record)
	if code != ExitDone || strings.Count(exported, `"hash"`) != 42 {
		t.Errorf("%d %.200s %s", code, exported, errs)
	}
	file := filepath.Join(dir, "record.zip")
	if code, out, errs = command(t, "", "backup", file, "--data", record); code != ExitDone {
		t.Fatalf("%d %s %s", code, out, errs)
	}
	if code, _, errs = command(t, "", "backup", file, "--data", record); code != ExitFailed {
		t.Errorf("written over: %d %s", code, errs)
	}
	if code, out, errs = command(t, "", "restore", file, "--data", back); code != ExitDone {
		t.Fatalf("%d %s %s", code, out, errs)
	}
	code, again, errs := command(t, "", "job", "export", "0417", "--data", back)
	if code != ExitDone || again != exported {
		t.Errorf("the journal came back changed: %d %s", code, errs)
	}
	target := filepath.Join(dir, "journal.jsonl")
	for i, want := range []int{ExitDone, ExitFailed} { // never written over
		if code, _, errs = command(t, "", "job", "export", "0417", "--data", back, "--out", target); code != want {
			t.Errorf("export %d: %d %s", i, code, errs)
		}
	}
	for _, args := range [][]string{
		{"job", "new", "--data", record, "--title", "No pack"},
		{"job", "new", "--data", record, "--pack", packs.Demo},
		{"job", "import", "-", "--data", record},
	} {
		if code, _, errs = command(t, "", args...); code != ExitUsage {
			t.Errorf("%v: %d %s", args, code, errs)
		}
	}
}
