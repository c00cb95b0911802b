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
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// BackupOptions say what else goes into a backup.
type BackupOptions struct {
	// Keys takes the folder keys/ in as well. Whoever has the file then has the keys.
	Keys bool
}

// Saved is what a backup holds.
type Saved struct {
	// Size is that of the file in bytes.
	Size int64
	// Photos and Keys are how many went in.
	Photos, Keys int
	// Damage is what was found not to be as it was kept. It is in the backup as found.
	Damage []Damage
}

// manifest is the table of contents of a backup, which is a zip file. It is the last
// file in it, so a backup that was cut short has none.
type manifest struct {
	Format string         `json:"format"`
	Made   string         `json:"made"`
	Layout int64          `json:"layout"`
	Files  []manifestFile `json:"files"`
}

type manifestFile struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

const (
	nameManifest = "manifest.json"
	// formatBackup names the shape of the zip file, and would change with it.
	formatBackup = "buttonup-backup-1"
)

// Backup writes the whole record into one zip file: the database as it is at one
// moment, and all photos. Others go on reading and writing meanwhile, and it can be
// taken from a store that was opened for reading only. The file appears under its
// name when it is whole and on the disk; it must not be there before.
//
// The error is of kind ErrExists when the file is there, ErrFull or ErrReadOnly when
// it cannot be written; then nothing is left behind.
func (s *Store) Backup(ctx context.Context, file string, o BackupOptions) (Saved, error) {
	operation := "back up to " + file
	if err := s.enter(operation, false); err != nil {
		return Saved{}, err
	}
	defer s.calls.Done()
	saved, err := s.backup(ctx, file, o)
	return saved, explain(operation, err)
}

func (s *Store) backup(ctx context.Context, file string, o BackupOptions) (saved Saved, err error) {
	if _, err := os.Lstat(file); err == nil {
		return saved, refuse(ErrExists, "choose another name, or move the older one away", "the file is there already")
	}
	dir := filepath.Dir(file)
	work, err := os.MkdirTemp(dir, ".buttonup-backup-*")
	if err != nil {
		return saved, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	copied := filepath.Join(work, fileDatabase)
	if err := s.db.copyTo(ctx, copied); err != nil {
		return saved, err
	}
	partial := filepath.Join(work, "backup.zip")
	out, err := os.OpenFile(partial, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return saved, err
	}
	b := &backupWriter{ctx: ctx, zip: zip.NewWriter(out), at: s.options.Now()}
	err = errors.Join(s.fill(b, copied, o), b.zip.Close(), out.Sync(), out.Close())
	if err != nil {
		return saved, err
	}
	info, err := os.Stat(partial)
	if err != nil {
		return saved, err
	}
	b.saved.Size = info.Size()
	if err := os.Rename(partial, file); err != nil {
		return saved, err
	}
	return b.saved, syncDir(dir)
}

// fill writes everything into the zip file. The photos come after the database, so
// that those which an event in it names are there.
func (s *Store) fill(b *backupWriter, copied string, o BackupOptions) error {
	p, err := provider(s.db, nil)
	if err != nil {
		return err
	}
	layout, _, err := versions(b.ctx, s.db, p)
	if err != nil {
		return err
	}
	b.manifest = manifest{Format: formatBackup, Made: formatTime(b.at), Layout: layout}
	if _, err := b.add(fileDatabase, copied, zip.Deflate); err != nil {
		return err
	}
	photos, err := s.photos.list()
	if err != nil {
		return err
	}
	for _, sha := range photos {
		got, err := b.add(dirPhotos+"/"+sha[:2]+"/"+sha, s.photos.path(sha), zip.Store)
		if err != nil {
			return err
		}
		if got != sha {
			b.saved.Damage = append(b.saved.Damage, Damage{Says: fmt.Sprintf("photo %s has other content than it was kept with", sha)})
		}
		b.saved.Photos++
	}
	if o.Keys {
		if err := s.addKeys(b); err != nil {
			return err
		}
	}
	return b.addManifest()
}

// addKeys adds the files that lie in keys/, without those in folders below it.
func (s *Store) addKeys(b *backupWriter) error {
	dir := filepath.Join(s.dir, dirKeys)
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for _, e := range entries {
		if err != nil || !e.Type().IsRegular() {
			continue
		}
		_, err = b.add(dirKeys+"/"+e.Name(), filepath.Join(dir, e.Name()), zip.Deflate)
		b.saved.Keys++
	}
	return err
}

// backupWriter writes a zip file and its manifest.
type backupWriter struct {
	ctx      context.Context
	zip      *zip.Writer
	at       time.Time
	manifest manifest
	saved    Saved
}

// add puts a file in and returns the hash of what went in.
func (b *backupWriter) add(name, path string, method uint16) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	w, err := b.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: b.at})
	if err != nil {
		return "", err
	}
	h := sha256.New()
	size, err := io.Copy(io.MultiWriter(w, h), cancellable{b.ctx, f})
	if err != nil {
		return "", err
	}
	sha := hex.EncodeToString(h.Sum(nil))
	b.manifest.Files = append(b.manifest.Files, manifestFile{Name: name, Size: size, SHA256: sha})
	return sha, nil
}

func (b *backupWriter) addManifest() error {
	text, err := json.MarshalIndent(b.manifest, "", "  ")
	if err != nil {
		return err
	}
	w, err := b.zip.CreateHeader(&zip.FileHeader{Name: nameManifest, Method: zip.Deflate, Modified: b.at})
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}
