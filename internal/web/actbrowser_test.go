package web

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"buttonup/internal/store"
)

// TestBenchPagesInABrowser drives the pages on which work is done, over the demo jobs and
// from an empty bench; what is checked stands in browser/act.mjs.
func TestBenchPagesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	for _, name := range []string{"act.mjs", "package-lock.json"} {
		if _, err := os.ReadFile(filepath.Join("browser", name)); err != nil {
			t.Fatal(err)
		}
	}
	needBrowser(t)
	demo, empty := serveDemo(t), serveEmpty(t)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, "node", "act.mjs", demo, empty)
	c.Dir = "browser"
	c.WaitDelay = 10 * time.Second
	out, err := c.CombinedOutput()
	checked := 0
	for lines := bufio.NewScanner(strings.NewReader(string(out))); lines.Scan(); {
		switch line := lines.Text(); {
		case strings.HasPrefix(line, "FAIL "):
			t.Error(strings.TrimPrefix(line, "FAIL "))
		case strings.HasPrefix(line, "ok "):
			checked++
		case strings.HasPrefix(line, "measured "):
			t.Log(line)
		}
	}
	if err != nil && !t.Failed() {
		t.Errorf("node act.mjs: %v\n%s", err, out)
	}
	if checked == 0 && !t.Failed() {
		t.Errorf("nothing was checked:\n%s", out)
	}
	t.Logf("%d checks passed", checked)
}

// serveEmpty serves a record without a job.
func serveEmpty(t *testing.T) string {
	t.Helper()
	return serve(t, emptyServer(t))
}

// emptyServer is the pages over a record without a job.
func emptyServer(t *testing.T) *Server {
	t.Helper()
	record, err := store.Open(filepath.Join(t.TempDir(), "empty"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { record.Close() })
	s, err := New(record, Options{Faults: func(says string, trace []byte) {
		t.Errorf("a fault of ours: %s\n%s", says, trace)
	}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
