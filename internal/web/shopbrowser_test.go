package web

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
)

// TestPhonesInABrowser pairs phones, cuts their network and kills the server, in
// Chromium; what is checked stands in browser/shop.mjs.
func TestPhonesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	if _, err := exec.LookPath("certutil"); err != nil {
		t.Fatal("certutil is missing: install it (Debian and its kin: sudo apt-get install libnss3-tools)")
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	checkInBrowser(t, []string{"HOME=" + t.TempDir()}, "shop.mjs", program, freePort(t), filepath.Join(t.TempDir(), "record"))
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
