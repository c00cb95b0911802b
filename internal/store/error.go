package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
)

// The kinds of failure that a caller may want to tell apart, with errors.Is.
var (
	// ErrInUse: another program has the data folder open.
	ErrInUse = errors.New("in use")
	// ErrReadOnly: the folder, the file or the disk may not be written to.
	ErrReadOnly = errors.New("read-only")
	// ErrFull: the disk is full.
	ErrFull = errors.New("disk full")
	// ErrDisk: the disk refused a read or a write for another reason.
	ErrDisk = errors.New("disk error")
	// ErrBusy: another program was writing to the database for too long.
	ErrBusy = errors.New("busy")
	// ErrNotFound: there is no such folder, job or photo.
	ErrNotFound = errors.New("not found")
	// ErrExists: what should be made is there already, and is different.
	ErrExists = errors.New("exists already")
	// ErrDamaged: what was read is not what was written, or not ours at all.
	ErrDamaged = errors.New("damaged")
	// ErrVersion: the database is of a version that this program does not work with.
	ErrVersion = errors.New("wrong version")
	// ErrTooLarge: a limit of size was passed.
	ErrTooLarge = errors.New("too large")
	// ErrArgument: an argument cannot be used.
	ErrArgument = errors.New("unusable argument")
	// ErrClosed: the store has been closed, or was opened for reading only.
	ErrClosed = errors.New("closed")
)

// Error is a failure told in words that can be shown to a person.
type Error struct {
	// Says is the operation and what stopped it, as a sentence without a full stop.
	Says string
	// Do is what to do about it; it may be empty.
	Do string
	// Kind is one of the errors above, or nil for a failure that none of them fits.
	Kind error
	// Cause is the error underneath; it may be nil.
	Cause error
}

// Error returns what went wrong and, after a semicolon, what to do.
func (e *Error) Error() string {
	if e.Do == "" {
		return e.Says
	}
	return e.Says + "; " + e.Do
}

// Unwrap returns the kind and the cause.
func (e *Error) Unwrap() []error {
	var all []error
	for _, err := range []error{e.Kind, e.Cause} {
		if err != nil {
			all = append(all, err)
		}
	}
	return all
}

// refuse returns an Error without a cause.
func refuse(kind error, do, format string, args ...any) error {
	return &Error{Kind: kind, Do: do, Says: fmt.Sprintf(format, args...)}
}

// explain puts an operation before a failure and says in plain words what stands
// behind it, where that is known. An Error keeps its words.
func explain(operation string, err error) error {
	var told *Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &told):
		e := *told
		e.Says = operation + ": " + told.Says
		return &e
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %w", operation, err)
	}
	kind := diskTrouble(err)
	if kind == nil {
		kind = databaseTrouble(err)
	}
	e := &Error{Kind: kind, Cause: err, Says: fmt.Sprintf("%s: %v", operation, err)}
	switch kind {
	case ErrFull:
		e.Says = operation + ": the disk is full"
		e.Do = "free some space and do it again; what was acknowledged before is safe"
	case ErrReadOnly:
		e.Says = operation + ": the disk or the folder cannot be written to by this account"
		if isReadOnly(err) {
			e.Says = operation + ": the disk is read-only"
		}
		e.Do = "give the account the right to write there, or name another folder"
	case ErrDisk:
		e.Says = fmt.Sprintf("%s: the disk refused a read or a write: %v", operation, err)
		e.Do = "check the disk, and take a backup while it still reads"
	case ErrBusy:
		e.Says = operation + ": another program is writing to the database"
		e.Do = "close it and do it again"
	case ErrDamaged:
		e.Says = fmt.Sprintf("%s: the database is damaged or is none: %v", operation, err)
		e.Do = "leave the folder as it is, and restore the last backup into an empty one"
	}
	return e
}

// diskTrouble tells the kind of an error of the operating system, nil for others.
func diskTrouble(err error) error {
	switch {
	case isFull(err):
		return ErrFull
	case isReadOnly(err), errors.Is(err, fs.ErrPermission):
		return ErrReadOnly
	case errors.Is(err, fs.ErrNotExist):
		return ErrNotFound
	case isDiskError(err):
		return ErrDisk
	}
	return nil
}
