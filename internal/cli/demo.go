package cli

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"buttonup/internal/store"
	"buttonup/packs"
)

// demoShop is the invented shop of the demo jobs.
const demoShop = "Pell Street Engines"

// demoMarker is the file that tells a demo folder from a shop's own: only a folder
// that holds it is ever thrown away.
const demoMarker = "DEMO"

const demoMarkerText = "This folder holds invented demo jobs. \"buttonup serve --demo\" throws it away and\nmakes it anew each time. Keep nothing of your own in it.\n"

// demoJobs are engines of the demo family in different phases.
var demoJobs = []struct{ id, title, journal string }{
	{"0412", "Aldermoor V1150, Series B, clean rebuild", "clean-rebuild"},
	{"0415", "Aldermoor V1150, Series B, inspection half done", "mid-inspection"},
	{"0417", "Aldermoor V1150, Series B, rear carrier gasket swapped", "swapped-gasket"},
	{"0418", "Aldermoor V1150, Series A, crank being trued", "crank-truing"},
}

// isDemo says whether a folder is one of demo jobs.
func isDemo(folder string) bool {
	info, err := os.Lstat(filepath.Join(folder, demoMarker))
	return err == nil && info.Mode().IsRegular()
}

// makeDemo throws a demo folder away and makes it anew. It refuses a folder that
// holds anything and is not a demo.
func makeDemo(ctx context.Context, folder string, o store.Options) (*store.Store, error) {
	if err := clearDemo(folder, o); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, writeError(folder, err)
	}
	if err := os.WriteFile(filepath.Join(folder, demoMarker), []byte(demoMarkerText), 0o600); err != nil {
		return nil, writeError(folder, err)
	}
	record, err := store.Open(folder, o)
	if err != nil {
		return nil, storeError(err)
	}
	if err := fillDemo(ctx, record); err != nil {
		record.Close()
		return nil, storeError(err)
	}
	return record, nil
}

// clearDemo removes a demo folder that nobody has open.
func clearDemo(folder string, o store.Options) error {
	entries, err := os.ReadDir(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fileError(folder, err)
	case len(entries) == 0:
		return nil
	}
	if info, err := os.Lstat(folder); err != nil || !info.IsDir() || !isDemo(folder) {
		return failed("name another folder with --data", "%s is not a demo folder, so it is left as it is", folder)
	}
	// Whoever has it open keeps it.
	record, err := store.Open(folder, o)
	if errors.Is(err, store.ErrInUse) {
		return storeError(err)
	}
	if err == nil {
		record.Close()
	}
	if err := os.RemoveAll(folder); err != nil {
		return writeError(folder, err)
	}
	return nil
}

// fillDemo puts the demo jobs into an empty record.
func fillDemo(ctx context.Context, record *store.Store) error {
	files, _ := packs.Find(packs.Demo)
	texts := store.Texts{}
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	for _, j := range demoJobs {
		text, ok := packs.Journal(packs.Demo, j.journal)
		if !ok {
			return failed("", "the program carries no journal %s", j.journal)
		}
		if _, err := record.CreateJob(ctx, store.NewJob{ID: j.id, Title: j.title, Texts: texts}); err != nil {
			return err
		}
		if _, err := record.Import(ctx, j.id, text); err != nil {
			return err
		}
	}
	return nil
}
