// Package authority makes the certificates by which phones know the shop's computer: a
// certificate authority of the machine's own, and short-lived certificates under it.
//
// It knows keys, names and dates; it refuses to know what is served under them. Its key
// is made on first use in a file that only the owner reads and is never sent anywhere.
// What the authority may vouch for is written into it: the machine's own .local name and
// addresses of private networks. A phone that trusts it trusts it for nothing else, even
// if the key were stolen.
package authority

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	fileKey         = "authority.key"
	fileCertificate = "authority.crt"
	// life is how long a phone need not be set up again.
	life = 10 * 365 * 24 * time.Hour
	// leafLife is how long a certificate of the server lives, and leafFresh when it is
	// made anew. Its key is never on the disk.
	leafLife  = 30 * 24 * time.Hour
	leafFresh = 10 * 24 * time.Hour
	// skew is how far a phone's clock may be behind.
	skew = 48 * time.Hour
)

// private are the networks that a shop's Wi-Fi can have: RFC 1918, RFC 3927 and RFC 4193
// addresses, IPv6 link-local ones, and the machine itself.
var private = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}

// Authority vouches for the server of one machine.
type Authority struct {
	key         crypto.Signer
	certificate *x509.Certificate
	random      io.Reader
	now         func() time.Time

	mu    sync.Mutex
	names Names
	leaf  *tls.Certificate
}

// Names are those under which a machine is reached.
type Names struct {
	// Host is its name without a dot, like "bench".
	Host string
	// Addresses are those of its networks.
	Addresses []net.IP
}

// Local is the name under which the machine is found on its own network, "" when it has
// none that can be used.
func (n Names) Local() string {
	if n.Host == "" {
		return ""
	}
	return n.Host + ".local"
}

// Here finds the names of this machine.
func Here() Names {
	var n Names
	if host, err := os.Hostname(); err == nil {
		n.Host = plainHost(host)
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return n
	}
	for _, a := range all {
		if ip, ok := a.(*net.IPNet); ok && IsPrivate(ip.IP) && !ip.IP.IsLoopback() {
			n.Addresses = append(n.Addresses, ip.IP)
		}
	}
	// Those that people have at home first, IPv6 last.
	slices.SortStableFunc(n.Addresses, func(a, b net.IP) int { return rank(a) - rank(b) })
	return n
}

func rank(ip net.IP) int {
	switch four := ip.To4(); {
	case four == nil:
		return 4
	case four[0] == 192:
		return 0
	case four[0] == 10:
		return 1
	case four[0] == 172: // also what machines inside machines use
		return 2
	}
	return 3
}

// plainHost is a machine's name as it stands before .local: letters, digits, hyphens.
func plainHost(host string) string {
	host, _, _ = strings.Cut(strings.ToLower(host), ".")
	if len(host) > 63 || strings.Trim(host, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || strings.Trim(host, "-") != host {
		return ""
	}
	return host
}

// IsPrivate says whether an address is one that the authority may vouch for.
func IsPrivate(ip net.IP) bool {
	return slices.ContainsFunc(networks(), func(n *net.IPNet) bool { return n.Contains(ip) })
}

func networks() []*net.IPNet {
	var list []*net.IPNet
	for _, text := range private {
		_, n, err := net.ParseCIDR(text)
		if err != nil {
			panic(err) // the list is ours
		}
		list = append(list, n)
	}
	return list
}

// Open reads the authority in a folder, or makes one there for a machine of these names.
// One that has no year left, or that is bound to another name of the machine, is kept
// under another file name and a new one is made: phones then have to be set up again.
func Open(dir string, names Names, random io.Reader, now func() time.Time) (*Authority, error) {
	a := &Authority{random: random, now: now, names: names}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of the keys: %w", err)
	}
	err := a.load(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return a, a.create(dir)
	case err != nil:
		return nil, err
	case !a.suits(names):
		stamp := a.certificate.NotBefore.UTC().Format("20060102T150405Z")
		for _, name := range []string{fileKey, fileCertificate} {
			if err := os.Rename(filepath.Join(dir, name), filepath.Join(dir, "old-"+stamp+"-"+name)); err != nil {
				return nil, err
			}
		}
		return a, a.create(dir)
	}
	return a, nil
}

// suits says whether the authority may still vouch for the machine.
func (a *Authority) suits(names Names) bool {
	return a.now().Add(365*24*time.Hour).Before(a.certificate.NotAfter) &&
		(names.Local() == "" || slices.Contains(a.certificate.PermittedDNSDomains, names.Local()))
}

func (a *Authority) load(dir string) error {
	key, err := readPEM(filepath.Join(dir, fileKey), "PRIVATE KEY")
	if err != nil {
		return err
	}
	der, err := readPEM(filepath.Join(dir, fileCertificate), "CERTIFICATE")
	if err != nil {
		return err
	}
	parsed, err := x509.ParsePKCS8PrivateKey(key)
	if err != nil {
		return fmt.Errorf("read %s: %w", fileKey, err)
	}
	signer, ok := parsed.(*ecdsa.PrivateKey)
	if !ok {
		return fmt.Errorf("read %s: it is not the kind of key that Buttonup makes", fileKey)
	}
	if a.certificate, err = x509.ParseCertificate(der); err != nil {
		return fmt.Errorf("read %s: %w", fileCertificate, err)
	}
	if !signer.PublicKey.Equal(a.certificate.PublicKey) {
		return fmt.Errorf("%s and %s in %s do not belong together: put back the pair from a backup, or move both away and pair the phones again", fileKey, fileCertificate, dir)
	}
	a.key = signer
	return nil
}

func readPEM(path, kind string) ([]byte, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != kind {
		return nil, fmt.Errorf("read %s: it holds no %s", path, strings.ToLower(kind))
	}
	return block.Bytes, nil
}

// create makes key and certificate. The certificate comes first on the disk: a key
// without one is made anew, never the other way round.
func (a *Authority) create(dir string) error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), a.random)
	if err != nil {
		return err
	}
	serial, err := a.serial()
	if err != nil {
		return err
	}
	now := a.now()
	permitted := []string{"localhost"}
	title := "Buttonup"
	if local := a.names.Local(); local != "" {
		permitted = append(permitted, local)
		title += " on " + a.names.Host
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: title, Organization: []string{"Buttonup: this shop only"}},
		NotBefore: now.Add(-skew), NotAfter: now.Add(life),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: permitted, PermittedIPRanges: networks(),
		// Nobody's mail and no other address: a name that is not listed is not permitted.
		PermittedEmailAddresses: []string{"buttonup.invalid"}, PermittedURIDomains: []string{"buttonup.invalid"},
	}
	der, err := x509.CreateCertificate(a.random, template, template, key.Public(), key)
	if err != nil {
		return fmt.Errorf("make the authority: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := writeFile(filepath.Join(dir, fileCertificate), "CERTIFICATE", der); err != nil {
		return err
	}
	if err := writeFile(filepath.Join(dir, fileKey), "PRIVATE KEY", secret); err != nil {
		return err
	}
	a.key = key
	a.certificate, err = x509.ParseCertificate(der)
	return err
}

// writeFile puts a file in place whole and readable by its owner only.
func writeFile(path, kind string, der []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // 0600
	if err != nil {
		return err
	}
	err = errors.Join(pem.Encode(f, &pem.Block{Type: kind, Bytes: der}), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

func (a *Authority) serial() (*big.Int, error) {
	raw := make([]byte, 16)
	if _, err := io.ReadFull(a.random, raw); err != nil {
		return nil, err
	}
	raw[0] = raw[0]&0x7f | 1 // positive and not zero, RFC 5280 4.1.2.2
	return new(big.Int).SetBytes(raw), nil
}

// Certificate returns the certificate that a phone is to trust, in DER.
func (a *Authority) Certificate() []byte { return slices.Clone(a.certificate.Raw) }

// Fingerprint returns the SHA-256 of the certificate in pairs of digits, as phones show it.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.certificate.Raw)
	text := strings.ToUpper(hex.EncodeToString(sum[:]))
	var pairs []string
	for i := 0; i < len(text); i += 2 {
		pairs = append(pairs, text[i:i+2])
	}
	return strings.Join(pairs, " ")
}

// Permits lists what the authority may vouch for, as a person reads it.
func (a *Authority) Permits() []string {
	list := slices.Clone(a.certificate.PermittedDNSDomains)
	for _, n := range a.certificate.PermittedIPRanges {
		list = append(list, n.String())
	}
	return list
}

// Names returns under which names the server is vouched for now.
func (a *Authority) Names() Names {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.names
}

// Rename tells the authority that the machine has other addresses now, as after the
// router gave it a new one. A certificate for them is made with the next connection.
func (a *Authority) Rename(names Names) {
	a.mu.Lock()
	defer a.mu.Unlock()
	same := a.names.Host == names.Host && slices.EqualFunc(a.names.Addresses, names.Addresses, net.IP.Equal)
	if !same {
		a.names, a.leaf = names, nil
	}
}

// Leaf returns the certificate of the server, made anew when it is not fresh.
func (a *Authority) Leaf() (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	if a.leaf != nil && now.Before(a.leaf.Leaf.NotAfter.Add(-leafFresh)) && now.After(a.leaf.Leaf.NotBefore) {
		return a.leaf, nil
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), a.random)
	if err != nil {
		return nil, err
	}
	serial, err := a.serial()
	if err != nil {
		return nil, err
	}
	names := []string{"localhost"}
	if local := a.names.Local(); slices.Contains(a.certificate.PermittedDNSDomains, local) {
		names = append(names, local)
	}
	addresses := append([]net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}, a.names.Addresses...)
	addresses = slices.DeleteFunc(addresses, func(ip net.IP) bool { return !IsPrivate(ip) })
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: names[len(names)-1]},
		NotBefore: now.Add(-skew), NotAfter: now.Add(leafLife),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames: names, IPAddresses: addresses, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(a.random, template, a.certificate, key.Public(), a.key)
	if err != nil {
		return nil, fmt.Errorf("make a certificate of the server: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	a.leaf = &tls.Certificate{Certificate: [][]byte{der, a.certificate.Raw}, PrivateKey: key, Leaf: leaf}
	return a.leaf, nil
}

// TLS returns how a server under this authority speaks.
func (a *Authority) TLS() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return a.Leaf() },
	}
}
