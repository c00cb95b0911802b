package store

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Restore puts a backup into a folder, which must be empty or not there, and checks
// it: every file against the hash in the backup, and then the record as Verify does.
// What Verify finds is in the report and does not stop Restore; it was so when the
// backup was made. With an error nothing is left in the folder but an empty lock file,
// which does not count as something in it. Of a database in an older layout only the
// file is checked, and the report counts nothing.
//
// The error is of kind ErrExists when the folder is not empty, ErrDamaged when the
// file is no backup or not whole, ErrVersion when a newer version of Buttonup made
// it. A backup of an older one is restored as it is, and brought up to date when it
// is opened.
func Restore(ctx context.Context, file, dir string, o Options) (Report, error) {
	report, err := restore(ctx, file, dir, o.filled())
	return report, explain(fmt.Sprintf("restore %s into %s", file, dir), err)
}

func restore(ctx context.Context, file, dir string, o Options) (report Report, err error) {
	z, err := zip.OpenReader(file)
	if err != nil {
		if errors.Is(err, zip.ErrFormat) {
			return report, noBackup("it is no zip file, or was cut short")
		}
		return report, err
	}
	defer z.Close()
	m, err := readManifest(&z.Reader)
	if err != nil {
		return report, err
	}
	lock, err := claimEmpty(dir, o)
	if err != nil {
		return report, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, clearFolder(dir))
		}
		err = errors.Join(err, lock.release())
	}()
	for _, f := range m.Files {
		if err := unpack(ctx, &z.Reader, f, dir); err != nil {
			return report, err
		}
	}
	partial := filepath.Join(dir, fileDatabase+suffixPartial)
	if report, err = checkRestored(ctx, partial, dir, o); err != nil {
		return report, err
	}
	if err := os.Rename(partial, filepath.Join(dir, fileDatabase)); err != nil {
		return report, err
	}
	return report, syncDir(dir)
}

func noBackup(format string, args ...any) error {
	return refuse(ErrDamaged, "use another backup", "the file is not a whole backup of Buttonup: "+format, args...)
}

// readManifest reads the table of contents and refuses one that names anything but
// what a backup holds: a name decides where a file is written.
func readManifest(z *zip.Reader) (m manifest, err error) {
	f, err := z.Open(nameManifest)
	if err != nil {
		return m, noBackup("it has no %s", nameManifest)
	}
	defer f.Close()
	if err := json.NewDecoder(f).Decode(&m); err != nil {
		return m, noBackup("its %s cannot be read: %v", nameManifest, err)
	}
	if m.Format != formatBackup {
		return m, refuse(ErrVersion, "use the version of Buttonup that made it",
			"the backup is written as %q, and this program reads %q", m.Format, formatBackup)
	}
	database := false
	seen := map[string]bool{}
	for _, f := range m.Files {
		dir, base, _ := strings.Cut(f.Name, "/")
		known := f.Name == fileDatabase ||
			dir == dirPhotos && len(base) > 3 && isSHA256(base[3:]) && base[:3] == base[3:5]+"/" ||
			dir == dirKeys && !strings.Contains(base, "/") && soundName(base)
		if !known || seen[f.Name] || f.Size < 0 || !isSHA256(f.SHA256) {
			return m, noBackup("its table of contents has an entry %q that it cannot have", f.Name)
		}
		seen[f.Name] = true
		database = database || f.Name == fileDatabase
	}
	if !database {
		return m, noBackup("it has no %s", fileDatabase)
	}
	return m, nil
}

// claimEmpty makes the folder, insists that it is empty, and keeps others out of it.
func claimEmpty(dir string, o Options) (*folderLock, error) {
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	empty := func() error {
		entries, err := os.ReadDir(dir)
		for _, e := range entries {
			if e.Name() != fileLock {
				return refuse(ErrExists, "name an empty folder; what is in this one stays as it is",
					"the folder is not empty: it has %s in it", e.Name())
			}
		}
		return err
	}
	if err := empty(); err != nil {
		return nil, err
	}
	host, _ := os.Hostname()
	lock, err := lockFolder(dir, holder{name: o.Holder + " restore", pid: os.Getpid(), host: host, since: o.Now()})
	if err != nil {
		return nil, err
	}
	// Somebody may have come and gone before the lock was ours.
	if err := empty(); err != nil {
		return nil, errors.Join(err, lock.release())
	}
	return lock, nil
}

// clearFolder removes what was put into a folder that was empty, all but the lock.
func clearFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	for _, e := range entries {
		if e.Name() != fileLock {
			err = errors.Join(err, os.RemoveAll(filepath.Join(dir, e.Name())))
		}
	}
	return err
}

// unpack writes one file and checks that it is the one that was put in.
func unpack(ctx context.Context, z *zip.Reader, f manifestFile, dir string) error {
	in, err := z.Open(f.Name)
	if err != nil {
		return noBackup("%s is not in it", f.Name)
	}
	defer in.Close()
	path := filepath.Join(dir, filepath.FromSlash(f.Name))
	if f.Name == fileDatabase {
		path += suffixPartial // it gets its name when all is well
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	out, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	h := sha256.New()
	size, err := io.Copy(io.MultiWriter(out, h), io.LimitReader(cancellable{ctx, in}, f.Size+1))
	if errors.Is(err, zip.ErrChecksum) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = noBackup("%s in it is damaged", f.Name)
	}
	if err = errors.Join(err, out.Sync(), out.Close()); err != nil {
		return err
	}
	if size != f.Size || hex.EncodeToString(h.Sum(nil)) != f.SHA256 {
		return noBackup("%s in it is not the one that was put in", f.Name)
	}
	return syncDir(filepath.Dir(path))
}

// checkRestored reads the record that was restored.
func checkRestored(ctx context.Context, database, dir string, o Options) (r Report, err error) {
	db, err := openSQLite(database, true)
	if err != nil {
		return r, err
	}
	s := &Store{dir: dir, options: o, db: db, photos: photoFolder{dir: filepath.Join(dir, dirPhotos)}}
	defer func() { err = errors.Join(err, s.shut()) }()
	p, err := provider(db, nil)
	if err != nil {
		return r, err
	}
	has, wants, err := versions(ctx, db, p)
	switch {
	case err != nil:
		return r, err
	case has > wants:
		return r, newerVersion("the database in the backup", has, wants)
	case has < wants:
		// The queries of this program need not fit an older layout, so only the file
		// is checked. Verify can do the rest once it has been opened.
		found, err := db.check(ctx)
		for _, says := range found {
			r.add("", 0, "the database: %s", says)
		}
		return r, err
	}
	return s.verify(ctx)
}
