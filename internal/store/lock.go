package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// holder is who has a data folder open, as the lock file tells it.
type holder struct {
	// name is what the program calls itself; pid is 0 when it is not known.
	name  string
	pid   int
	host  string
	since time.Time
}

// folderLock keeps a second program out of a data folder. The lock itself is one of
// the operating system, which ends with the process, however it ends; the text in
// the file only says whose it is.
type folderLock struct{ file *os.File }

// lockFolder takes the lock of the data folder.
func lockFolder(dir string, me holder) (*folderLock, error) {
	f, held, err := takeLock(filepath.Join(dir, fileLock))
	if err != nil {
		return nil, err
	}
	if held {
		text, _ := io.ReadAll(io.LimitReader(f, 4096))
		_ = f.Close() // it was only read
		return nil, refuse(ErrInUse, "stop that one first, or name another folder",
			"%s", parseHolder(string(text)).says(me.host))
	}
	l := &folderLock{file: f}
	if err := l.write(me.text()); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return l, nil
}

// release takes the holder's name out of the file and gives the lock up. The file
// stays: were it removed, two programs could hold locks of two files of one name.
func (l *folderLock) release() error {
	return errors.Join(l.write(""), l.file.Close())
}

func (l *folderLock) write(text string) error {
	if err := l.file.Truncate(0); err != nil {
		return err
	}
	_, err := l.file.WriteAt([]byte(text), 0)
	return err
}

// text is what stands in the lock file.
func (h holder) text() string {
	line := strings.NewReplacer("\n", " ", "\r", " ")
	return fmt.Sprintf("holder %s\npid %d\nhost %s\nsince %s\n",
		line.Replace(h.name), h.pid, line.Replace(h.host), h.since.UTC().Format(time.RFC3339))
}

func parseHolder(text string) holder {
	var h holder
	for line := range strings.Lines(text) {
		word, rest, _ := strings.Cut(strings.TrimRight(line, "\r\n"), " ")
		switch word {
		case "holder":
			h.name = rest
		case "pid":
			h.pid, _ = strconv.Atoi(rest)
		case "host":
			h.host = rest
		case "since":
			h.since, _ = time.Parse(time.RFC3339, rest)
		}
	}
	return h
}

// says tells who has the folder, to somebody on the machine called here.
func (h holder) says(here string) string {
	who := h.name
	if who == "" {
		who = "another program"
	}
	if h.pid > 0 {
		who += fmt.Sprintf(" (pid %d)", h.pid)
	}
	if h.host != "" && h.host != here {
		who += " on " + h.host
	}
	if h.since.IsZero() {
		return who + " has it open"
	}
	return who + " has had it open since " + h.since.Local().Format("2006-01-02 15:04:05")
}
