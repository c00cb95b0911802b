//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package cli

import (
	"errors"
	"os"
	"syscall"
)

// openLocked opens a file for reading and adding, makes it where it is not there,
// and locks it until it is closed or the program ends. It returns errLocked when
// somebody else holds the lock.
func openLocked(name string) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return nil, err
	}
	for {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			break
		}
	}
	switch {
	case err == nil:
		return f, nil
	case errors.Is(err, syscall.EWOULDBLOCK):
		f.Close()
		return nil, errLocked
	case errors.Is(err, syscall.ENOTSUP), errors.Is(err, syscall.ENOSYS), errors.Is(err, syscall.ENOLCK):
		return f, nil // a file system without locks; the single write must do
	}
	f.Close()
	return nil, &os.PathError{Op: "lock", Path: name, Err: err}
}

// syncFolder makes sure that the name of a new file is on the disk. The content is
// already, so an error here is not worth refusing the work for.
func syncFolder(folder string) {
	if d, err := os.Open(folder); err == nil {
		d.Sync()
		d.Close()
	}
}
