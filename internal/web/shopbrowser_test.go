package web

import (
	"bufio"
	"context"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestPhonesInABrowser pairs phones, cuts their network and kills the server, in
// Chromium; what is checked stands in browser/shop.mjs.
func TestPhonesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	if _, err := os.ReadFile(filepath.Join("browser", "shop.mjs")); err != nil {
		t.Fatal(err)
	}
	needBrowser(t)
	if _, err := exec.LookPath("certutil"); err != nil {
		t.Fatal("certutil is missing: install it (Debian and its kin: sudo apt-get install libnss3-tools)")
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, "node", "shop.mjs", program, freePort(t), filepath.Join(t.TempDir(), "record"))
	c.Dir = "browser"
	c.Env = append(os.Environ(), "HOME="+t.TempDir())
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
		t.Errorf("node shop.mjs: %v\n%s", err, out)
	}
	if checked == 0 && !t.Failed() {
		t.Errorf("nothing was checked:\n%s", out)
	}
	t.Logf("%d checks passed", checked)
}

// freePort is a port that nobody used a moment ago.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return strconv.Itoa(l.Addr().(*net.TCPAddr).Port)
}
