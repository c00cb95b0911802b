//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package store

import (
	"errors"
	"os"
	"syscall"
)

// isFull says whether the disk, or this account's share of it, is full.
func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG)
}

// isReadOnly says whether the disk cannot be written to at all.
func isReadOnly(err error) bool { return errors.Is(err, syscall.EROFS) }

// isDiskError says whether the disk itself failed.
func isDiskError(err error) bool { return errors.Is(err, syscall.EIO) }

// syncDir makes sure that names made or changed in a folder are on the disk.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		// Some file systems have nothing to sync in a folder.
		err = nil
	}
	return errors.Join(err, d.Close())
}

// takeLock opens the file and locks it until it is closed or the process ends. When
// another process, or this one, holds the lock, held is true and the file is open
// all the same, so that its text can be read.
func takeLock(path string) (f *os.File, held bool, err error) {
	f, err = os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, false, err
	}
	for {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			break
		}
	}
	switch {
	case err == nil:
		return f, false, nil
	case errors.Is(err, syscall.EWOULDBLOCK):
		return f, true, nil
	}
	return nil, false, errors.Join(&os.PathError{Op: "lock", Path: path, Err: err}, f.Close())
}
