package cli

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"time"

	"buttonup/journal"
)

// lockPatience is how long a journal is waited for that another program adds to; it
// takes milliseconds.
const lockPatience = 10 * time.Second

// errLocked says that somebody else holds the lock of a file.
var errLocked = errors.New("another program is writing to it")

// appendEvents adds the events that a journal does not hold yet, and returns how
// many those were.
//
// A journal is only ever added to. It is not written anew and renamed: that would
// lose what another program adds meanwhile, and part the name from links to it.
// Instead the new lines go to its end in one write, in append mode, under a lock
// that every Buttonup takes, and are synced before they are reported. The lock also
// makes one step of looking for what is there and adding the rest, so that a table
// that two people take at once is added once. Where a write fails half-way the
// journal is cut back to what it was; where the machine stops half-way, the torn
// line is reported on reading, and the next line begins a new one.
func (a *app) appendEvents(name string, events []journal.Event) (added int, err error) {
	f, fresh, err := a.openJournal(name)
	if err != nil {
		return 0, err
	}
	err = a.change(shownName(name), func() error {
		added, err = addNew(f, events)
		if err = errors.Join(err, f.Close()); err == nil && fresh {
			syncFolder(filepath.Dir(name))
		}
		return err
	})
	var own *failure
	switch {
	case err == nil:
		return added, nil
	case errors.As(err, &own):
		return 0, own
	}
	return 0, writeError(name, err)
}

// openJournal opens a journal for adding to and locks it until it is closed.
func (a *app) openJournal(name string) (f *os.File, fresh bool, err error) {
	info, err := os.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		return nil, false, failedArgument("--journal", "name a file", "%s is no file that lines can be added to", shownName(name))
	}
	fresh = errors.Is(err, os.ErrNotExist)
	for until := time.Now().Add(lockPatience); ; time.Sleep(10 * time.Millisecond) {
		f, err = openLocked(name)
		switch {
		case err == nil:
			return f, fresh, nil
		case errors.Is(err, errLocked) && time.Now().Before(until):
			continue
		case errors.Is(err, errLocked):
			return nil, false, failedArgument("--journal", "end that one, or wait; nothing was taken", "another program is adding to %s and does not end", shownName(name))
		}
		return nil, false, writeError(name, err)
	}
}

// addNew writes the lines of the events that the file does not hold.
func addNew(f *os.File, events []journal.Event) (added int, err error) {
	old, err := io.ReadAll(io.LimitReader(f, largestInput+1))
	if err != nil {
		return 0, err
	}
	if len(old) > largestInput {
		return 0, tooLarge()
	}
	j := journal.Read(old)
	have := map[string]bool{}
	for _, e := range j.Received() {
		have[e.ID] = true
	}
	var fresh []journal.Event
	for _, e := range events {
		if !have[e.ID] {
			fresh = append(fresh, e)
		}
	}
	if len(fresh) == 0 {
		return 0, nil
	}
	lines := sealed(old, j, fresh)
	if len(old) > 0 && old[len(old)-1] != '\n' {
		lines = append([]byte{'\n'}, lines...)
	}
	if len(old)+len(lines) > largestInput {
		return 0, tooLarge()
	}
	if _, err = f.Write(lines); err == nil {
		err = f.Sync()
	}
	if err != nil {
		return 0, errors.Join(err, f.Truncate(int64(len(old))))
	}
	return len(fresh), nil
}

func tooLarge() error {
	return failedArgument("--journal", "find out what wrote so much; nothing was taken", "the journal would be larger than %d MB", largestInput>>20)
}

// sealed writes new lines. Where the journal is an export whose hash chain is whole,
// they continue the chain; a line without number and hash would put it in doubt.
func sealed(old []byte, j *journal.Journal, fresh []journal.Event) []byte {
	if j.Chained {
		all := bytes.SplitAfter(journal.Export(append(append([]journal.Event{}, j.Received()...), fresh...)), []byte("\n"))
		all = all[:len(all)-1] // behind the last line end
		lines := bytes.Join(all[len(all)-len(fresh):], nil)
		whole := append(append(bytes.TrimRight(bytes.Clone(old), "\n"), '\n'), lines...)
		if journal.Read(whole).Chained {
			return lines
		}
	}
	var lines []byte
	for i := range fresh {
		lines = append(append(lines, fresh[i].Bytes...), '\n')
	}
	return lines
}
