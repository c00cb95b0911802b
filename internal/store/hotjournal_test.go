package store

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// A program that is killed while it makes its database leaves a rollback journal beside
// it, which must be played back before anything can be read: so says the file format of
// SQLite, and a connection that only reads is refused.
func TestKilledWhileTheDatabaseIsMade(t *testing.T) {
	dir := folder(t)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	leaveHotJournal(t, filepath.Join(dir, fileDatabase))
	_, err := OpenReading(dir, Options{})
	mustRefuse(t, err, ErrNotFound, "open data folder "+dir+": a program was ended while it made the record, and nothing is in it yet; start the server once")
	s := mustOpen(t, dir)
	defer mustClose(t, s)
	mustBeSound(t, s)
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
}

// leaveHotJournal leaves what stands on the disk in the middle of the first transaction of
// a database: pages that were written, and the journal that takes them back.
func leaveHotJournal(t *testing.T, file string) {
	t.Helper()
	under := filepath.Join(t.TempDir(), "under-way.db")
	db, err := sql.Open("sqlite", sqliteName(under, "_pragma=journal_mode(DELETE)", "_pragma=cache_size(2)"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if _, err := tx.Exec("create table half (a text)"); err != nil {
		t.Fatal(err)
	}
	for i := range 50 { // more than the cache holds, so that pages go to the disk
		if _, err := tx.Exec("insert into half values (?)", fmt.Sprintf("%4000d", i)); err != nil {
			t.Fatal(err)
		}
	}
	for _, ending := range []string{"", "-journal"} {
		text, err := os.ReadFile(under + ending)
		if err != nil || len(text) == 0 {
			t.Fatalf("%s: %d bytes, %v", under+ending, len(text), err)
		}
		if err := os.WriteFile(file+ending, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
