package book

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// Every byte of a book counts: one that is changed is found, and the sheet or photo is
// named.
func TestEveryFlippedByteOfABookIsFound(t *testing.T) {
	j := handful(t)
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, 32))
	d := BuildBook(j)
	pdf, err := d.PDF(j.FileID())
	if err != nil {
		t.Fatal(err)
	}
	html, err := d.HTML()
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(3, 2026))
	for form, plain := range map[string][]byte{"PDF": pdf, "HTML": html} {
		whole := j.Seal(plain, key)
		r := CheckSums(whole)
		if len(r.Damage) > 0 || r.Photos != len(j.State.Photos) || r.Key == "" || r.Signature != "" || r.Sheets < 8 {
			t.Fatalf("%s: %+v", form, r)
		}
		pieces := pdfPieces(plain)
		if form == "HTML" {
			pieces = htmlPieces(plain)
		}
		flip := func(at int) {
			old := whole[at]
			whole[at] ^= 1 << random.IntN(8)
			r := CheckSums(whole)
			whole[at] = old
			if len(r.Damage) == 0 {
				t.Fatalf("%s: byte %d of %d changed, and it was not found", form, at, len(whole))
			}
			for _, p := range pieces {
				if at >= p.from && at < p.to && r.Damage[0].Name != p.name {
					t.Fatalf("%s: byte %d is in %s, and %+v was named", form, at, p.name, r.Damage[0])
				}
			}
		}
		n := 500
		if testing.Short() {
			n = 100
		}
		for range n {
			flip(random.IntN(len(whole)))
		}
		for range n { // the list and what stands around it, which are small
			flip(len(plain) + random.IntN(len(whole)-len(plain)))
		}
		for at := len(whole) - 120; at < len(whole); at++ {
			flip(at)
		}
		if r := CheckSums(whole[:len(plain)]); len(r.Damage) == 0 {
			t.Errorf("%s: a book without its list passes", form)
		}
	}
	// Other programs read the sealed file as before.
	name := asFile(t, j.Seal(pdf, key))
	if text := outside(t, "pdftotext", name, "-"); !strings.Contains(text, "The answers most asked") {
		t.Error("the sealed book cannot be read")
	}
}

// The whole book is whole too, in both forms.
func TestTheWholeBookIsWhole(t *testing.T) {
	j, book, _ := book(t)
	for form, plain := range map[string][]byte{"PDF": book.pdf, "HTML": book.html} {
		if r := CheckSums(j.Seal(plain, nil)); len(r.Damage) > 0 || r.Photos != len(j.State.Photos) || r.Key != "" {
			t.Errorf("%s: %+v", form, r)
		}
	}
}

// A book tells of the signature of its job wherever it was printed, with the shop's key
// at hand or without, and openssl finds the same.
func TestABookCarriesTheSignatureOfItsJob(t *testing.T) {
	j := handful(t)
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, 32))
	at := time.Date(2026, 5, 15, 9, 0, 0, 0, time.UTC)
	seal := journal.SignSeal(journal.Seal{Events: j.State.Events, Head: hex.EncodeToString(j.Head[:]), PackSum: strings.Repeat("ab", 32)}, at, key)
	j.Seals = []SealState{{SealRecord: journal.SealRecord{Stamp: journal.Stamp{At: at}, Seal: seal}}}
	file := j.Seal([]byte("<!doctype html><title>Build book</title>"), nil)
	r := CheckSums(file)
	if len(r.Damage) > 0 || len(r.Seals) != 1 || r.Seals[0].Wrong != "" || r.Seals[0].Events != j.State.Events || r.Key != "" {
		t.Fatalf("%+v", r)
	}
	// Somebody who makes the sums anew without the key cannot make the signature fit.
	j.Seals[0].Events--
	if r := CheckSums(j.Seal([]byte("<!doctype html><title>Build book</title>"), nil)); len(r.Damage) == 0 || r.Damage[0].What != "signature" {
		t.Errorf("another count of events was not found: %+v", r)
	}
	// The line holds all that another program needs.
	line := regexp.MustCompile(`(?m)^seal (\d+) (\w+) (\w+) (\S+) (\w+) (\w+)$`).FindSubmatch(file)
	if line == nil {
		t.Fatal("there is no line of the signature")
	}
	dir := t.TempDir()
	write := func(name string, text []byte) string {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
		return filepath.Join(dir, name)
	}
	public, _ := hex.DecodeString(string(line[5]))
	der, err := x509.MarshalPKIXPublicKey(ed25519.PublicKey(public))
	if err != nil {
		t.Fatal(err)
	}
	signature, _ := hex.DecodeString(string(line[6]))
	text := write("seal.txt", fmt.Appendf(nil, "buttonup seal 1\nevents %s\nchain %s\npack %s\nclosed %s\n", line[1], line[2], line[3], line[4]))
	out := outside(t, "openssl", "pkeyutl", "-verify", "-pubin", "-inkey", write("seal.pem", pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})), "-rawin", "-in", text, "-sigfile", write("seal.sig", signature))
	if !strings.Contains(out, "Verified Successfully") {
		t.Errorf("openssl says %q", out)
	}
}

// Books of earlier versions are verified by this one: the first of each form there was,
// and none is ever made anew. The second carries the signature of its job.
func TestTheBooksOnTheShelfAreWhole(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "shelf", "book-*"))
	if err != nil || len(files) < 3 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		r := CheckSums(b)
		if len(r.Damage) > 0 || r.Key == "" || r.Signature != "" || r.Sheets < 3 {
			t.Errorf("%s: %+v", file, r)
		}
		if signed := strings.Contains(file, "sealed"); signed && (len(r.Seals) != 1 || r.Seals[0].Wrong != "" || r.Seals[0].Events < 3) {
			t.Errorf("%s: %+v", file, r.Seals)
		}
	}
}
