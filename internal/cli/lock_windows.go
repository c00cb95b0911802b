package cli

import (
	"errors"
	"os"
	"syscall"
)

// errorSharingViolation is Windows's code for a file that another program holds.
const errorSharingViolation = syscall.Errno(32)

// openLocked opens a file for reading and adding, makes it where it is not there,
// and keeps everybody else from writing to it until it is closed or the program
// ends. It returns errLocked when somebody else has it open like that.
func openLocked(name string) (*os.File, error) {
	path, err := syscall.UTF16PtrFromString(name)
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: name, Err: err}
	}
	h, err := syscall.CreateFile(path, syscall.GENERIC_READ|syscall.GENERIC_WRITE,
		syscall.FILE_SHARE_READ, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	switch {
	case err == nil:
		// Reading it to its end leaves the place to write at its end, and nobody else
		// can write in between.
		return os.NewFile(uintptr(h), name), nil
	case errors.Is(err, errorSharingViolation):
		return nil, errLocked
	}
	return nil, &os.PathError{Op: "open", Path: name, Err: err}
}

// syncFolder does nothing: Windows keeps its own record of names.
func syncFolder(string) {}
