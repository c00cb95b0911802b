package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"buttonup/internal/store"
)

// bundle writes a job into one new file, whole or not at all.
func (c *jobExport) bundle(a *app, s *store.Store) error {
	name := atHome(c.Out)
	if exists(name) {
		return alreadyThere(name)
	}
	var done store.Bundled
	err := a.change(shownName(name), func() error {
		f, err := os.CreateTemp(filepath.Dir(name), ".buttonup-*")
		if err != nil {
			return writeError(name, err)
		}
		defer os.Remove(f.Name())
		watched := a.watch("writing the bundle")
		done, err = s.Bundle(a.context, c.ID, f)
		watched()
		if err != nil {
			return errors.Join(storeError(err), f.Close())
		}
		if err := errors.Join(f.Sync(), f.Close()); err != nil {
			return writeError(name, err)
		}
		// A link takes no file away that came there meanwhile.
		if err := os.Link(f.Name(), name); errors.Is(err, fs.ErrExist) {
			return alreadyThere(name)
		} else if err != nil {
			if err := os.Rename(f.Name(), name); err != nil { // no links on this disk
				return writeError(name, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if a.json {
		missing := done.Missing
		if missing == nil {
			missing = []string{}
		}
		a.printJSON(map[string]any{"file": c.Out, "job": c.ID, "events": done.Events, "photos": done.Photos, "signatures": done.Seals, "missing": missing})
		return nil
	}
	fmt.Fprintf(a.out, "Job %s is in %s: %s, %s, %s\n", c.ID, shownName(name), count(done.Events, "event"), count(done.Photos, "photo"), count(done.Seals, "signature"))
	if n := len(done.Missing); n > 0 {
		a.say("hint: %s that the journal names %s not in the record, and so not in the file", count(n, "photo"), map[bool]string{true: "is", false: "are"}[n == 1])
	}
	return nil
}

// isBundleFile says whether a file is a bundle.
func isBundleFile(name string) bool {
	if name == "-" {
		return false
	}
	f, err := os.Open(atHome(name))
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 64)
	n, _ := io.ReadFull(f, head)
	return store.IsBundle(head[:n])
}

// runBundle takes a job over from a bundle.
func (c *jobImport) runBundle(a *app) error {
	if c.Pack != "" || c.Title != "" {
		return misused("--pack", "leave --pack and --title out", "a bundle brings its own pack and title")
	}
	f, err := os.Open(atHome(c.File))
	if err != nil {
		return fileError(c.File, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fileError(c.File, err)
	}
	s, err := c.record(a)
	if err != nil {
		return err
	}
	defer s.Close()
	done, err := s.ImportBundle(a.context, f, info.Size(), c.Job)
	if errors.Is(err, store.ErrExists) {
		e := failed("add it under another id: --job "+shellWord(c.Job+"-copy"), "%s", storeError(err).Error())
		return e
	}
	if err != nil {
		return storeError(err)
	}
	if a.json {
		problems := []string{}
		for _, p := range done.Problems {
			problems = append(problems, p.Error())
		}
		a.printJSON(map[string]any{"job": done.Job.ID, "new": done.New, "kept": done.Kept, "already": done.Already, "different": done.Different, "refused": done.Refused, "photos": done.Photos, "chained": done.Chained, "problems": problems})
		return nil
	}
	fmt.Fprintf(a.out, "Job %s: %s kept, %d there already, %s new\n", done.Job.ID, count(done.Kept, "event"), done.Already, count(done.Photos, "photo"))
	return nil
}
