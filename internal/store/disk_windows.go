package store

import (
	"errors"
	"os"
	"syscall"
)

// Codes of Windows that package syscall has no name for.
const (
	errorWriteProtect     = syscall.Errno(19)
	errorCRC              = syscall.Errno(23)
	errorSharingViolation = syscall.Errno(32)
	errorHandleDiskFull   = syscall.Errno(39)
	errorDiskFull         = syscall.Errno(112)
	errorIODevice         = syscall.Errno(1117)
)

// isFull says whether the disk is full.
func isFull(err error) bool {
	return errors.Is(err, errorDiskFull) || errors.Is(err, errorHandleDiskFull)
}

// isReadOnly says whether the disk cannot be written to at all.
func isReadOnly(err error) bool { return errors.Is(err, errorWriteProtect) }

// isDiskError says whether the disk itself failed.
func isDiskError(err error) bool { return errors.Is(err, errorCRC) || errors.Is(err, errorIODevice) }

// syncDir does nothing: Windows gives no way to sync a folder, and NTFS keeps its
// own journal of names.
func syncDir(string) error { return nil }

// takeLock opens the file so that nobody else can open it for writing until it is
// closed or the process ends. When somebody has it open like that, held is true and
// the file is open for reading.
func takeLock(path string) (f *os.File, held bool, err error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, false, &os.PathError{Op: "lock", Path: path, Err: err}
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE,
		syscall.FILE_SHARE_READ, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	switch {
	case err == nil:
		return os.NewFile(uintptr(h), path), false, nil
	case errors.Is(err, errorSharingViolation):
		f, err = os.Open(path)
		return f, true, err
	}
	return nil, false, &os.PathError{Op: "lock", Path: path, Err: err}
}
