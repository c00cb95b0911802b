package cli

import (
	"fmt"

	"buttonup/internal/store"
)

type backupCommand struct {
	dataFlags `embed:""`
	File      string `arg:"" help:"The zip file to write; it must not be there yet."`
	Keys      bool   `help:"Take the keys of the folder along. Whoever has the file then has them too."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run writes a backup, also while a server has the record open.
func (c *backupCommand) Run(a *app) error {
	s, err := c.reading(a)
	if err != nil {
		return err
	}
	defer s.Close()
	done := a.watch("writing the backup")
	saved, err := s.Backup(a.context, c.File, store.BackupOptions{Keys: c.Keys})
	done()
	if err != nil {
		return storeError(err)
	}
	if a.json {
		a.printJSON(saved)
		return nil
	}
	fmt.Fprintf(a.out, "The record is saved in %s.\n", c.File)
	return nil
}

type restoreCommand struct {
	dataFlags `embed:""`
	File      string `arg:"" help:"The backup."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run puts a backup into an empty folder and checks it.
func (c *restoreCommand) Run(a *app) error {
	folder, err := c.folder()
	if err != nil {
		return err
	}
	done := a.watch("restoring")
	report, err := store.Restore(a.context, c.File, folder, store.Options{Now: a.now})
	done()
	if err != nil {
		return storeError(err)
	}
	if a.json {
		a.printJSON(report)
		return nil
	}
	fmt.Fprintf(a.out, "The record is restored into %s.\n", folder)
	return nil
}
