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
	"buttonup/packs"
)

// The checks in a browser take a minute and a browser, so that `make test` asks for
// them and `go test ./...` alone does not.
const (
	askForBrowser = "BUTTONUP_BROWSER"
	askForBench   = "BUTTONUP_BENCH"
)

// TestPagesInABrowser drives the pages over the demo jobs in Chromium; what is checked
// stands in browser/check.mjs. With BUTTONUP_BENCH=1 it asserts the times from a
// reading to its verdict and to another device, and checks nothing else.
func TestPagesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" && os.Getenv(askForBench) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	checkInBrowser(t, nil, "check.mjs", serveDemo(t))
}

// longestInBrowser ends checks that hang; on two busy cores the longest take three minutes.
const longestInBrowser = 15 * time.Minute

// checkInBrowser runs a script of browser/ that prints a line for each check, with more in
// its environment. The script needs the browser, and a run without a check is no pass.
func checkInBrowser(t *testing.T, environment []string, script string, args ...string) {
	t.Helper()
	// Reading these makes a change to them a reason to run the test again.
	for _, name := range []string{script, "device.mjs", "package-lock.json"} {
		if _, err := os.ReadFile(filepath.Join("browser", name)); err != nil {
			t.Fatal(err)
		}
	}
	needBrowser(t)
	ctx, cancel := context.WithTimeout(t.Context(), longestInBrowser)
	defer cancel()
	c := exec.CommandContext(ctx, "node", append([]string{script}, args...)...)
	c.Dir = "browser"
	c.Env = append(os.Environ(), environment...)
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
		case strings.Contains(line, "a fault of ours"):
			t.Error(line)
		}
	}
	if err != nil && !t.Failed() {
		t.Errorf("node %s: %v\n%s", script, err, out)
	}
	if checked == 0 && !t.Failed() {
		t.Errorf("nothing was checked:\n%s", out)
	}
	t.Logf("%d checks passed", checked)
}

// needBrowser fails with what to install, because a check that did not run is no pass.
func needBrowser(t *testing.T) {
	t.Helper()
	browser := os.Getenv("BUTTONUP_CHROMIUM")
	if browser == "" {
		browser = "/usr/bin/chromium"
	}
	if _, err := exec.LookPath(browser); err != nil {
		t.Errorf("there is no browser at %s: install Chromium (Debian and its kin: sudo apt-get install chromium), or name another in BUTTONUP_CHROMIUM", browser)
	}
	if _, err := exec.LookPath("node"); err != nil {
		t.Error("node is missing: install Node.js 20 or newer (Debian and its kin: sudo apt-get install nodejs npm)")
	}
	for _, name := range []string{"playwright-core", "axe-core"} {
		if _, err := os.Stat(filepath.Join("browser", "node_modules", name, "package.json")); err != nil {
			t.Errorf("%s is missing: run npm ci --prefix internal/web/browser", name)
		}
	}
	if t.Failed() {
		t.FailNow()
	}
}

// serveDemo serves the demo jobs at a port of this machine and returns the address.
func serveDemo(t *testing.T) string {
	t.Helper()
	return serve(t, demoServer(t))
}

// demoServer is the pages over the demo jobs, in a record on the disk.
func demoServer(t *testing.T) *Server {
	t.Helper()
	record, err := store.Open(filepath.Join(t.TempDir(), "record"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { record.Close() })
	files, _ := packs.Find(packs.Demo)
	var texts store.Texts
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	for id, name := range map[string]string{"0412": "clean-rebuild", "0415": "mid-inspection", "0417": "swapped-gasket", "0418": "crank-truing"} {
		text, ok := packs.Journal(packs.Demo, name)
		if !ok {
			t.Fatalf("no journal %s", name)
		}
		if _, err := record.CreateJob(t.Context(), store.NewJob{ID: id, Title: name, Texts: texts}); err != nil {
			t.Fatal(err)
		}
		if _, err := record.Import(t.Context(), id, text); err != nil {
			t.Fatal(err)
		}
	}
	s, err := New(record, Options{Shop: "Pell Street Engines", Demo: true, Faults: func(says string, trace []byte) {
		t.Errorf("a fault of ours: %s\n%s", says, trace)
	}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// serve serves the pages at a port of this machine and returns the address.
func serve(t *testing.T, s *Server) string {
	t.Helper()
	listener, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, listener) }()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("serving ended: %v", err)
		}
	})
	return "http://" + listener.Addr().String()
}
