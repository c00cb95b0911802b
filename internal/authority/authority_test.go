package authority

import (
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var names = Names{Host: "bench", Addresses: []net.IP{net.IPv4(192, 168, 1, 20)}}

func clockAt(t *time.Time) func() time.Time { return func() time.Time { return *t } }

func mustOpen(t *testing.T, dir string, n Names, now func() time.Time) *Authority {
	t.Helper()
	a, err := Open(dir, n, rand.Reader, now)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestTheKeyStaysWithItsOwner(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	a := mustOpen(t, dir, names, time.Now)
	for _, name := range []string{fileKey, fileCertificate} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v %v", name, info.Mode(), err)
		}
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder: %v %v", info.Mode(), err)
	}
	if b := mustOpen(t, dir, names, time.Now); b.Fingerprint() != a.Fingerprint() {
		t.Error("opened again it is another authority: phones would have to be set up anew")
	}
	if len(strings.Fields(a.Fingerprint())) != 32 {
		t.Error(a.Fingerprint())
	}
	// A pair that does not belong together is not used.
	other := filepath.Join(t.TempDir(), "keys")
	mustOpen(t, other, names, time.Now)
	text, err := os.ReadFile(filepath.Join(other, fileKey))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, fileKey), text, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir, names, rand.Reader, time.Now); err == nil || !strings.Contains(err.Error(), "do not belong together") {
		t.Error(err)
	}
}

func TestARenamedMachineGetsAnotherAuthority(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	a := mustOpen(t, dir, names, time.Now)
	b := mustOpen(t, dir, Names{Host: "lathe"}, time.Now)
	if a.Fingerprint() == b.Fingerprint() {
		t.Error("it vouches for a name that it must not")
	}
	if old, err := filepath.Glob(filepath.Join(dir, "old-*")); err != nil || len(old) != 2 {
		t.Errorf("the old pair is gone: %v %v", old, err)
	}
	// In its last year a new one is made too.
	late := time.Now().Add(life - 300*24*time.Hour)
	if c := mustOpen(t, dir, Names{Host: "lathe"}, clockAt(&late)); c.Fingerprint() == b.Fingerprint() {
		t.Error("it runs out in use")
	}
}

func TestTheServerIsVouchedForAndRenewsItself(t *testing.T) {
	now := time.Now()
	a := mustOpen(t, filepath.Join(t.TempDir(), "keys"), names, clockAt(&now))
	pool := x509.NewCertPool()
	root, err := x509.ParseCertificate(a.Certificate())
	if err != nil {
		t.Fatal(err)
	}
	pool.AddCert(root)
	leaf, err := a.Leaf()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"bench.local", "192.168.1.20", "127.0.0.1", "localhost"} {
		if _, err := leaf.Leaf.Verify(x509.VerifyOptions{DNSName: name, Roots: pool, CurrentTime: now}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if again, _ := a.Leaf(); again != leaf {
		t.Error("each connection gets another certificate")
	}
	now = now.Add(leafLife - leafFresh + time.Minute)
	renewed, err := a.Leaf()
	if err != nil || renewed == leaf || !renewed.Leaf.NotAfter.After(leaf.Leaf.NotAfter) {
		t.Error("it is not renewed", err)
	}
	a.Rename(Names{Host: "bench", Addresses: []net.IP{net.IPv4(10, 0, 0, 7), net.IPv4(203, 0, 113, 9)}})
	moved, err := a.Leaf()
	if err != nil {
		t.Fatal(err)
	}
	if moved.Leaf.VerifyHostname("10.0.0.7") != nil || moved.Leaf.VerifyHostname("192.168.1.20") == nil {
		t.Error("the new address is not in it, or the old one still is")
	}
	if moved.Leaf.VerifyHostname("203.0.113.9") == nil {
		t.Error("it stands for an address of the whole world")
	}
}

// forge signs what the authority must not sign, with its own key.
func forge(t *testing.T, a *Authority, name string, ip net.IP) *x509.Certificate {
	t.Helper()
	template := &x509.Certificate{NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	var err error
	if template.SerialNumber, err = a.serial(); err != nil {
		t.Fatal(err)
	}
	if name != "" {
		template.DNSNames = []string{name}
	}
	if ip != nil {
		template.IPAddresses = []net.IP{ip}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.certificate, a.key.Public(), a.key)
	if err != nil {
		t.Fatal(err)
	}
	c, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Whoever steals the key must not be able to stand in for a bank. Go and OpenSSL, which
// share no code, both refuse what is outside of the name constraints of RFC 5280, 4.2.1.10.
func TestAStolenKeyOpensNothingElse(t *testing.T) {
	dir := t.TempDir()
	a := mustOpen(t, filepath.Join(dir, "keys"), names, time.Now)
	root, err := x509.ParseCertificate(a.Certificate())
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	write := func(name string, der []byte) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	rootFile := write("root.pem", a.Certificate())
	openssl, err := exec.LookPath("openssl")
	if err != nil && os.Getenv("BUTTONUP_WITHOUT_REFERENCES") != "1" {
		t.Error("openssl is missing: install it (Debian and its kin: sudo apt-get install openssl), or set BUTTONUP_WITHOUT_REFERENCES=1")
	}
	for _, c := range []struct {
		name string
		ip   net.IP
		good bool
	}{
		{"bench.local", nil, true}, {"", net.IPv4(192, 168, 7, 7), true}, {"localhost", nil, true},
		{"bank.example", nil, false}, {"lathe.local", nil, false}, {"bench.local.bank.example", nil, false}, {"xbench.local", nil, false},
		{"", net.IPv4(203, 0, 113, 9), false}, {"", net.ParseIP("2001:db8::1"), false},
	} {
		leaf := forge(t, a, c.name, c.ip)
		_, err := leaf.Verify(x509.VerifyOptions{Roots: pool})
		if (err == nil) != c.good {
			t.Errorf("Go takes %s%s: %v", c.name, c.ip, err)
		}
		if openssl == "" {
			continue
		}
		out, err := exec.Command(openssl, "verify", "-CAfile", rootFile, write("leaf.pem", leaf.Raw)).CombinedOutput()
		if (err == nil) != c.good {
			t.Errorf("OpenSSL takes %s%s: %s", c.name, c.ip, out)
		}
	}
}

func TestSecretIsMadeOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	a, err := Secret(dir, rand.Reader)
	if err != nil || len(a) != secretSize {
		t.Fatal(a, err)
	}
	if b, err := Secret(dir, rand.Reader); err != nil || string(a) != string(b) {
		t.Error("another one each time", err)
	}
	if info, err := os.Stat(filepath.Join(dir, fileSecret)); err != nil || info.Mode().Perm() != 0o600 {
		t.Error(info.Mode(), err)
	}
	if err := os.WriteFile(filepath.Join(dir, fileSecret), []byte("short"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Secret(dir, rand.Reader); err == nil {
		t.Error("a secret that was cut short is used")
	}
}
