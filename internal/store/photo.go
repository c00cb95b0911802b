package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// DefaultMaxPhoto is the largest photo that is taken, in bytes, unless Options say
// otherwise. A photo of a good phone has 3 to 12 million.
const DefaultMaxPhoto = 40 << 20

// PutPhoto keeps what r gives, byte for byte, and returns its SHA-256 in hexadecimal
// digits and its size. When it returns without an error the photo is on the disk, so
// an event that names it may be appended. The same photo again is kept once.
//
// The error is of kind ErrTooLarge above Options.MaxPhoto, ErrArgument when there is
// nothing to keep; an error of r comes back as it is, behind the operation.
func (s *Store) PutPhoto(ctx context.Context, r io.Reader) (sha string, size int64, err error) {
	const operation = "keep a photo"
	if err := s.enter(operation, true); err != nil {
		return "", 0, err
	}
	defer s.calls.Done()
	sha, size, err = s.photos.put(ctx, r)
	return sha, size, explain(operation, err)
}

// Photo opens a photo by its SHA-256. The caller closes it. The error is of kind
// ErrNotFound when it is not there.
func (s *Store) Photo(sha string) (io.ReadSeekCloser, error) {
	operation := "open photo " + sha
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	f, err := s.photos.open(sha)
	if err != nil {
		return nil, explain(operation, err)
	}
	return f, nil
}

// photoFolder keeps photos in files named by their hash, in folders named by its
// first two digits, as photos/ab/abcd….
type photoFolder struct {
	dir   string
	limit int64
}

// prefixIncoming marks a photo on its way in.
const prefixIncoming = "incoming-"

// prepare makes the folder, and clears away photos that were on their way in when the
// program was ended.
func (p photoFolder) prepare() error {
	if err := makeFolder(p.dir); err != nil {
		return err
	}
	left, err := filepath.Glob(filepath.Join(globEscape(p.dir), prefixIncoming+"*"))
	if err != nil {
		return err
	}
	for _, name := range left {
		if err := removeIfThere(name); err != nil {
			return err
		}
	}
	return nil
}

// globEscape makes a folder's name mean itself in a pattern.
func globEscape(dir string) string {
	if filepath.Separator == '\\' {
		return dir // Windows has no escape and allows no * and ? in names
	}
	return strings.NewReplacer("\\", "\\\\", "*", "\\*", "?", "\\?", "[", "\\[").Replace(dir)
}

func (p photoFolder) path(sha string) string { return filepath.Join(p.dir, sha[:2], sha) }

func (p photoFolder) put(ctx context.Context, r io.Reader) (sha string, size int64, err error) {
	f, err := os.CreateTemp(p.dir, prefixIncoming+"*")
	if err != nil {
		return "", 0, err
	}
	defer func() {
		// Both do nothing once the photo has its name.
		_ = f.Close()
		err = errors.Join(err, removeIfThere(f.Name()))
	}()
	hash := sha256.New()
	size, err = io.Copy(io.MultiWriter(f, hash), io.LimitReader(cancellable{ctx, r}, p.limit+1))
	switch {
	case err != nil:
		return "", 0, err
	case size > p.limit:
		return "", 0, refuse(ErrTooLarge, "make it smaller and send it again", "the photo has more than %d bytes", p.limit)
	case size == 0:
		return "", 0, refuse(ErrArgument, "send it again", "the photo is empty")
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return "", 0, err
	}
	sha = hex.EncodeToString(hash.Sum(nil))
	return sha, size, p.name(f.Name(), sha)
}

// name gives a finished file its place.
func (p photoFolder) name(file, sha string) error {
	path := p.path(sha)
	if found, err := hashFile(path); err == nil && found == sha {
		return nil // kept before, and sound
	}
	dir := filepath.Dir(path)
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	if err := os.Rename(file, path); err != nil {
		return err
	}
	// The folder's own name too: that it was there says nothing of whether somebody
	// else has got round to syncing it.
	return errors.Join(syncDir(dir), syncDir(p.dir))
}

func (p photoFolder) open(sha string) (*os.File, error) {
	if !isSHA256(sha) {
		return nil, refuse(ErrNotFound, "", "a photo is named by 64 hexadecimal digits in lower case")
	}
	f, err := os.Open(p.path(sha))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, refuse(ErrNotFound, "", "it is not in the folder")
	}
	return f, err
}

// list returns the hashes of all photos, sorted. Other files are left out.
func (p photoFolder) list() ([]string, error) {
	var all []string
	err := filepath.WalkDir(p.dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && isSHA256(d.Name()) && path == p.path(d.Name()) {
			all = append(all, d.Name())
		}
		return err
	})
	if errors.Is(err, fs.ErrNotExist) {
		err = nil // a record without photos
	}
	return all, err
}

// isSHA256 says whether a text is a hash as it is written everywhere.
func isSHA256(text string) bool {
	if len(text) != 2*sha256.Size {
		return false
	}
	return strings.Trim(text, "0123456789abcdef") == ""
}

// cancellable gives up reading when its context has ended.
type cancellable struct {
	ctx context.Context
	r   io.Reader
}

func (c cancellable) Read(b []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(b)
}
