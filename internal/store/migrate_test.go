package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"
)

const (
	goodMigration = "-- +goose Up\ncreate table later (id text not null primary key);\n"
	badMigration  = "-- +goose Up\ncreate table later (id text not null primary key);\ncreate tabel oops;\n"
)

// laterMigrations are the built-in ones and one more.
func laterMigrations(t *testing.T, more string) fs.FS {
	t.Helper()
	all := fstest.MapFS{fmt.Sprintf("%05d_later.sql", layout+1): {Data: []byte(more)}}
	files, err := fs.Glob(sqliteMigrations, "migrations/sqlite/*.sql")
	if err != nil || len(files) != layout {
		t.Fatalf("%d migrations, and the layout is %d, %v", len(files), layout, err)
	}
	for _, name := range files {
		text, err := sqliteMigrations.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(name)] = &fstest.MapFile{Data: text}
	}
	return all
}

// layout is the version of the layout that this program works with; the tests write
// a database of it and bring it to the next.
const layout = 2

func TestMigrationMakesACopyFirst(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0), killLine(1))
	mustClose(t, s)
	if got := names(t, dir); len(got) != 3 {
		t.Fatalf("a folder that was never migrated has %v", got)
	}
	now := func() time.Time { return epoch }
	later, err := open(dir, Options{Now: now}, laterMigrations(t, goodMigration))
	if err != nil {
		t.Fatal(err)
	}
	mustAppend(t, later, "j-1", killLine(2))
	mustClose(t, later)
	copied := filepath.Join(dir, fmt.Sprintf("buttonup-v%d-20260302T100400Z.db", layout))
	if _, err := os.Stat(copied); err != nil {
		t.Fatalf("no copy: %v; the folder has %v", err, names(t, dir))
	}
	// Opening again changes nothing and copies nothing.
	later, err = open(dir, Options{Now: now}, laterMigrations(t, goodMigration))
	if err != nil {
		t.Fatal(err)
	}
	if n := len(mustRead(t, later, "j-1")); n != 3 {
		t.Errorf("%d events after the migration, want 3", n)
	}
	mustClose(t, later)
	if got := names(t, dir); len(got) != 4 {
		t.Errorf("the folder has %v", got)
	}
	// The copy is a whole record as it was before.
	old := folder(t)
	if err := os.MkdirAll(old, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(copied, filepath.Join(old, fileDatabase)); err != nil {
		t.Fatal(err)
	}
	s = mustOpen(t, old)
	checkStored(t, mustRead(t, s, "j-1"), [][]byte{killLine(0), killLine(1)})
	mustBeSound(t, s)
	// This program does not touch what a newer one has changed.
	before, err := hashFile(filepath.Join(dir, fileDatabase))
	if err != nil {
		t.Fatal(err)
	}
	_, err = Open(dir, Options{})
	mustRefuse(t, err, ErrVersion, fmt.Sprintf("has version %d of the layout, and this program knows them up to %d; use the newer version of Buttonup", layout+1, layout))
	_, err = OpenReading(dir, Options{})
	mustRefuse(t, err, ErrVersion, fmt.Sprintf("has version %d of the layout", layout+1))
	if after, err := hashFile(filepath.Join(dir, fileDatabase)); err != nil || after != before {
		t.Errorf("the newer database was changed, %v", err)
	}
}

func TestMigrationThatFailsLeavesTheOldLayout(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
	mustClose(t, s)
	_, err := open(dir, Options{Now: func() time.Time { return epoch }}, laterMigrations(t, badMigration))
	mustRefuse(t, err, nil, "open data folder "+dir+": bring ", fmt.Sprintf("from version %d to %d: ", layout, layout+1), "; the database as it was before is kept in ", fmt.Sprintf("buttonup-v%d-20260302T100400Z.db", layout))
	// A copy is never written over.
	_, err = open(dir, Options{Now: func() time.Time { return epoch }}, laterMigrations(t, badMigration))
	mustRefuse(t, err, ErrExists, fmt.Sprintf("buttonup-v%d-20260302T100400Z.db is there already; move it away", layout))
	s = mustOpen(t, dir)
	checkStored(t, mustRead(t, s, "j-1"), [][]byte{killLine(0)})
	mustBeSound(t, s)
}

func TestReadingDoesNotMigrate(t *testing.T) {
	dir := folder(t)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err := OpenReading(dir, Options{})
	mustRefuse(t, err, ErrNotFound, "open data folder "+dir+": there is no record yet, no buttonup.db; name the folder that holds one")
	// A database without any layout yet, as a program leaves it that was killed at once.
	if err := os.WriteFile(filepath.Join(dir, fileDatabase), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = OpenReading(dir, Options{})
	mustRefuse(t, err, ErrVersion, fmt.Sprintf("has version 0 of the layout, and this program works with %d; start the server on this folder once", layout))
	mustClose(t, mustOpen(t, dir))
	r, err := OpenReading(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.CreateJob(ctx, NewJob{ID: "j-1", Title: "V1150", Texts: demoTexts()})
	mustRefuse(t, err, ErrClosed, "start job j-1: the data folder is open for reading only")
	_, err = r.Append(ctx, "j-1", killLine(0))
	mustRefuse(t, err, ErrClosed)
	_, _, err = r.PutPhoto(ctx, bytes.NewReader(killPhoto(1)))
	mustRefuse(t, err, ErrClosed)
	if _, err := r.db.reader().Exec("insert into jobs (id, title, created) values ('j-1', 'x', '')"); err == nil {
		t.Error("a store that only reads could write")
	}
	mustClose(t, r)
}

// A file of that name which is not ours is left alone.
func TestForeignDatabaseIsRefused(t *testing.T) {
	for name, make := range map[string]func(t *testing.T, file string){
		"text": func(t *testing.T, file string) {
			if err := os.WriteFile(file, bytes.Repeat([]byte("a diary, not a database\n"), 100), 0o600); err != nil {
				t.Fatal(err)
			}
		},
		"other tables": func(t *testing.T, file string) {
			db, err := sql.Open("sqlite", file)
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			if _, err := db.Exec("create table recipes (id integer primary key)"); err != nil {
				t.Fatal(err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, fileDatabase)
			make(t, file)
			before, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, err = Open(dir, Options{})
			mustRefuse(t, err, ErrDamaged, "open data folder "+dir+": ")
			_, err = OpenReading(dir, Options{})
			mustRefuse(t, err, ErrDamaged, "open data folder "+dir+": ")
			after, err := os.ReadFile(file)
			if err != nil || !bytes.Equal(before, after) {
				t.Errorf("the file was changed, %v", err)
			}
		})
	}
}

// TestShelf opens the databases of earlier versions, which are kept on a shelf and
// never made anew: see testdata/shelf/README.md.
func TestShelf(t *testing.T) {
	if name := os.Getenv("BUTTONUP_SHELF"); name != "" {
		makeShelf(t, filepath.Join("testdata", "shelf", name))
	}
	files, err := filepath.Glob("testdata/shelf/*.db")
	if err != nil || len(files) == 0 {
		t.Fatalf("the shelf is empty: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, fileDatabase), text, 0o600); err != nil {
				t.Fatal(err)
			}
			s := mustOpen(t, dir)
			checkShelf(t, s)
			mustAppend(t, s, "shelf-1", reading("new", "92.004 mm"))
			if r := mustBeSound(t, s); r.Jobs != 2 || r.Events != 13 || r.Texts != 3 {
				t.Errorf("the record has %+v", r)
			}
		})
	}
}

// checkShelf checks what every database on the shelf holds.
func checkShelf(t *testing.T, s *Store) {
	t.Helper()
	jobs, err := s.Jobs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(jobs) != 2 || jobs[0].ID != "shelf-1" || jobs[0].Title != "V1150, clean rebuild" || !jobs[0].Created.Equal(epoch) ||
		len(jobs[0].Files) != 3 || jobs[0].Events != 12 || jobs[1].ID != "shelf-2" || jobs[1].Events != 0 {
		t.Fatalf("the jobs are %+v", jobs)
	}
	var want [][]byte
	for i := range 12 {
		want = append(want, killLine(i))
	}
	checkStored(t, mustRead(t, s, "shelf-1"), want)
	texts, err := s.Texts(ctx, "shelf-2")
	if err != nil {
		t.Fatal(err)
	}
	sameTexts(t, texts, demoTexts())
	asides, err := s.Asides(ctx, "shelf-1")
	if err != nil || len(asides) != 1 || string(asides[0].Bytes) != "not an event" {
		t.Errorf("set aside: %+v, %v", asides, err)
	}
}

// makeShelf writes a database for the shelf as this version does.
func makeShelf(t *testing.T, file string) {
	t.Helper()
	s, err := Open(folder(t), Options{Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	defer mustClose(t, s)
	mustJob(t, s, "shelf-1")
	mustJob(t, s, "shelf-2")
	for i := range 12 {
		mustAppend(t, s, "shelf-1", killLine(i))
	}
	if _, err := s.Append(ctx, "shelf-1", []byte("not an event")); err != nil {
		t.Fatal(err)
	}
	if err := s.db.copyTo(ctx, file); err != nil {
		t.Fatal(err)
	}
}
