package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/pressly/goose/v3"
)

// tableVersions is where goose notes which migrations have run.
const tableVersions = "goose_db_version"

// provider returns goose for a database, with other migrations than the built-in
// ones unless they are nil.
func provider(db database, migrations fs.FS) (*goose.Provider, error) {
	if migrations == nil {
		migrations = db.migrations()
	}
	pool := db.writer()
	if pool == nil {
		pool = db.reader()
	}
	return goose.NewProvider(db.dialect(), pool, migrations, goose.WithDisableGlobalRegistry(true))
}

// versions returns the version of the layout that the database has, 0 for an empty
// one, and the one that this program works with.
func versions(ctx context.Context, db database, p *goose.Provider) (has, wants int64, err error) {
	for _, source := range p.ListSources() {
		wants = max(wants, source.Version)
	}
	tables, err := db.tables(ctx)
	if err != nil || len(tables) == 0 {
		return 0, wants, err
	}
	if !slices.Contains(tables, tableVersions) {
		return 0, wants, refuse(ErrDamaged, "move it away, or name another folder",
			"%s in this folder is a database of another program", fileDatabase)
	}
	err = db.reader().QueryRowContext(ctx, "select coalesce(max(version_id), 0) from "+tableVersions).Scan(&has)
	return has, wants, err
}

// lookFirst refuses a database that is not ours, or is of a newer version, before
// anything is opened for writing: that alone would change it. Only what a killed program
// began and did not commit is taken back, as whoever opens such a file does.
func lookFirst(ctx context.Context, file string, migrations fs.FS) error {
	err := lookAt(ctx, file, migrations)
	if cutOff(err) {
		if err := takeBack(ctx, file); err != nil {
			return err
		}
		err = lookAt(ctx, file, migrations)
	}
	return err
}

// lookAt reads what is in a file; one that is not there or empty has nothing wrong in it.
func lookAt(ctx context.Context, file string, migrations fs.FS) (err error) {
	if info, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) || err == nil && info.Size() == 0 {
		return nil
	} else if err != nil {
		return err
	}
	db, err := openSQLite(file, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	p, err := provider(db, migrations)
	if err != nil {
		return err
	}
	has, wants, err := versions(ctx, db, p)
	if err == nil && has > wants {
		err = newerVersion(file, has, wants)
	}
	return err
}

// migrate brings the database up to date. When there is something in it, a copy is
// made before anything is changed; without the copy nothing is.
func migrate(ctx context.Context, db database, file string, now time.Time, migrations fs.FS) error {
	p, err := provider(db, migrations)
	if err != nil {
		return err
	}
	has, wants, err := versions(ctx, db, p)
	if err != nil || has >= wants {
		return err
	}
	kept := ""
	if has > 0 {
		if kept, err = copyBefore(ctx, db, file, has, now); err != nil {
			return explain(fmt.Sprintf("copy %s before bringing it from version %d to %d", file, has, wants), err)
		}
	}
	if _, err := p.Up(ctx); err != nil {
		err = explain(fmt.Sprintf("bring %s from version %d to %d", file, has, wants), err)
		var e *Error
		if kept != "" && errors.As(err, &e) {
			e.Do = "the database as it was before is kept in " + kept
		}
		return err
	}
	return nil
}

// copyBefore copies the database to a file beside it whose name has the version and
// the time, syncs it and returns its name.
func copyBefore(ctx context.Context, db database, file string, version int64, now time.Time) (string, error) {
	dir := filepath.Dir(file)
	name := filepath.Join(dir, fmt.Sprintf("buttonup-v%d-%s.db", version, now.UTC().Format("20060102T150405Z")))
	if _, err := os.Lstat(name); err == nil {
		return "", refuse(ErrExists, "move it away and start again", "%s is there already", name)
	}
	partial := name + suffixPartial
	if err := removeIfThere(partial); err != nil {
		return "", err
	}
	err := db.copyTo(ctx, partial)
	if err == nil {
		err = syncFile(partial)
	}
	if err == nil {
		err = os.Rename(partial, name)
	}
	if err != nil {
		return "", errors.Join(err, removeIfThere(partial))
	}
	return name, syncDir(dir)
}

// insistOnVersion refuses a database whose layout is another than that of this
// program.
func insistOnVersion(ctx context.Context, db database, file string) error {
	p, err := provider(db, nil)
	if err != nil {
		return err
	}
	has, wants, err := versions(ctx, db, p)
	switch {
	case err != nil:
		return err
	case has > wants:
		return newerVersion(file, has, wants)
	case has < wants:
		return refuse(ErrVersion, "start the server on this folder once: it makes a copy and brings the database up to date",
			"%s has version %d of the layout, and this program works with %d", file, has, wants)
	}
	return nil
}

func newerVersion(file string, has, wants int64) error {
	return refuse(ErrVersion, "use the newer version of Buttonup that was here before, or another folder",
		"%s has version %d of the layout, and this program knows them up to %d", file, has, wants)
}
