package book

import (
	"bytes"
	"crypto/ed25519"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every byte of a book counts: one that is changed is found, and the sheet or photo is
// named.
func TestEveryFlippedByteOfABookIsFound(t *testing.T) {
	j := finished(t)
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
		whole := Seal(plain, j.Mark(), j.Now, key)
		r := CheckSums(whole)
		if len(r.Damage) > 0 || r.Photos != len(j.State.Photos) || r.Key == "" || r.Signature != "" || r.Sheets < 10 {
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
		n := 150
		if testing.Short() {
			n = 30
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
	name := filepath.Join(t.TempDir(), "sealed.pdf")
	if err := os.WriteFile(name, Seal(pdf, j.Mark(), j.Now, key), 0o600); err != nil {
		t.Fatal(err)
	}
	if text := outside(t, "pdftotext", name, "-"); !strings.Contains(text, "The answers most asked") {
		t.Error("the sealed book cannot be read")
	}
}

// A book of an earlier version is verified by this one.
func TestTheBookOnTheShelfIsWhole(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("testdata", "shelf", "book-sums-1.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	if r := CheckSums(b); len(r.Damage) > 0 || r.Key == "" || r.Sheets < 3 {
		t.Errorf("%+v", r)
	}
}
