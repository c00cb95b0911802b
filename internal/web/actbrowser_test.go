package web

import (
	"os"
	"path/filepath"
	"testing"

	"buttonup/internal/store"
)

// TestBenchPagesInABrowser drives the pages on which work is done, over the demo jobs and
// from an empty bench; what is checked stands in browser/act.mjs.
func TestBenchPagesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	checkInBrowser(t, nil, "act.mjs", serveDemo(t), serveEmpty(t))
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
