package web

import (
	"os"
	"path/filepath"
	"testing"

	"buttonup/internal/store"
	"buttonup/packs"
)

// mostPictures is how much the pictures may take together.
const mostPictures = 2 << 20

// TestPicturesOfTheMainPages compares them with those that are kept in browser/pictures;
// how stands in browser/pictures.mjs. make golden takes them anew.
func TestPicturesOfTheMainPages(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" && !*update {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	args := []string{serve(t, stillServer(t))}
	if *update {
		args = append(args, "renew")
	}
	checkInBrowser(t, nil, "pictures.mjs", args...)
	size := int64(0)
	kept, _ := filepath.Glob("browser/pictures/*.webp")
	for _, name := range kept {
		if f, err := os.Stat(name); err == nil {
			size += f.Size()
		}
	}
	if size > mostPictures || len(kept) == 0 {
		t.Errorf("%d pictures take %d bytes together", len(kept), size)
	}
}

// stillServer is the pages over the demo jobs at a time that stands.
func stillServer(t *testing.T) *Server {
	t.Helper()
	record, err := store.Open(filepath.Join(t.TempDir(), "record"), store.Options{Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { record.Close() })
	files, _ := packs.Find(packs.Demo)
	var texts store.Texts
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	for _, job := range [][2]string{{"0412", "clean-rebuild"}, {"0415", "mid-inspection"}} {
		text, ok := packs.Journal(packs.Demo, job[1])
		if !ok {
			t.Fatalf("no journal %s", job[1])
		}
		if _, err := record.CreateJob(t.Context(), store.NewJob{ID: job[0], Title: job[1], Texts: texts}); err != nil {
			t.Fatal(err)
		}
		if _, err := record.Import(t.Context(), job[0], text); err != nil {
			t.Fatal(err)
		}
	}
	s, err := New(record, Options{Shop: "Pell Street Engines", Demo: true, Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
