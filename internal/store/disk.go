package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// suffixPartial marks a file that is not finished, and means nothing once the
// program that wrote it has ended.
const suffixPartial = ".partial"

// syncFile makes sure that the content of a file is on the disk.
func syncFile(name string) error {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// removeIfThere removes a file that may not be there.
func removeIfThere(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// makeFolder makes a folder, and those above it that are missing, and makes sure
// that their names are on the disk.
func makeFolder(dir string) error {
	if info, err := os.Stat(dir); err == nil {
		if !info.IsDir() {
			return refuse(ErrArgument, "name a folder", "%s is a file", dir)
		}
		return nil
	}
	above := filepath.Dir(dir)
	if above != dir {
		if err := makeFolder(above); err != nil {
			return err
		}
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return syncDir(above)
}

// hashFile returns the SHA-256 of a file's content.
func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
