package store

import (
	"bytes"
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// raw opens the database as any other program would, past everything in this package.
func raw(t *testing.T, dir string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, fileDatabase))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// fullFolder returns a folder with something in every table.
func fullFolder(t *testing.T) string {
	t.Helper()
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0), killLine(1), killLine(2))
	if _, err := s.Append(ctx, "j-1", []byte("not an event")); err != nil {
		t.Fatal(err)
	}
	mustClose(t, s)
	return dir
}

func TestNothingIsChangedOrRemoved(t *testing.T) {
	dir := fullFolder(t)
	db := raw(t, dir)
	for _, statement := range []string{
		"update events set body = 'x'",
		"update events set seq = seq + 10",
		"update events set received = ''",
		"delete from events",
		"delete from events where seq = 3",
		"insert or replace into events select * from events where seq = 2",
		"replace into events (job, seq, id, body, hash, size, received) values ('j-1', 4, 'e-0001', x'7b7d', zeroblob(32), 1, '')",
		"replace into events (job, seq, id, body, hash, size, received) values ('j-1', 2, 'new', x'7b7d', zeroblob(32), 1, '')",
		"replace into events (rowid, job, seq, id, body, hash, size, received) values (1, 'j-1', 4, 'new', x'7b7d', zeroblob(32), 1, '')",
		"insert into events (job, seq, id, body, hash, size, received) values ('j-1', 2, 'e-0001', x'7b7d', zeroblob(32), 1, '') on conflict do update set body = excluded.body",
		"insert into events (job, seq, id, body, hash, size, received) values ('j-1', 9, 'new', x'7b7d', zeroblob(32), 1, '')",
		"insert into events (job, seq, id, body, hash, size, received) values ('j-1', 0, 'new', x'7b7d', zeroblob(32), 1, '')",
		"update texts set body = 'x'",
		"delete from texts",
		"insert or replace into texts select sha256, x'00' from texts",
		"insert or replace into texts (rowid, sha256, body) values (1, '0123456789012345678901234567890123456789012345678901234567890123', x'00')",
		"update jobs set title = 'x'",
		"delete from jobs",
		"insert or replace into jobs (id, title, created) values ('j-1', 'x', '')",
		"insert or replace into jobs (rowid, id, title, created) values (1, 'j-9', 'x', '')",
		"update job_files set sha256 = (select min(sha256) from texts)",
		"delete from job_files",
		"insert or replace into job_files select job, position, template, name, (select min(sha256) from texts) from job_files",
		"insert or replace into job_files (rowid, job, position, template, name, sha256) select 1, 'j-1', 9, '', 'x', sha256 from texts limit 1",
		"update asides set body = 'x'",
		"delete from asides",
		"insert or replace into asides select job, number, sha256, id, x'00', code, detail, received from asides",
		"insert or replace into asides (rowid, job, number, sha256, id, body, code, detail, received) select 1, job, 9, '0123456789012345678901234567890123456789012345678901234567890123', id, x'00', code, detail, received from asides",
	} {
		for _, recursive := range []string{"off", "on"} {
			if _, err := db.Exec("pragma recursive_triggers = " + recursive); err != nil {
				t.Fatal(err)
			}
			if _, err := db.Exec(statement); err == nil || !strings.Contains(err.Error(), "the record is append-only") {
				t.Errorf("%s: %v", statement, err)
			}
		}
	}
	_ = db.Close()
	s := mustOpen(t, dir)
	checkStored(t, mustRead(t, s, "j-1"), [][]byte{killLine(0), killLine(1), killLine(2)})
	if r := mustBeSound(t, s); r.Events != 3 || r.Texts != 3 || r.Jobs != 1 {
		t.Errorf("the record has %+v", r)
	}
}

// Every table has its guards: one that is added later must not be forgotten.
func TestEveryTableIsGuarded(t *testing.T) {
	s := mustOpen(t, folder(t))
	tables, err := s.db.tables(ctx)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(guards(), "\n")
	n := 0
	for _, table := range tables {
		if table == tableVersions || strings.HasPrefix(table, "sqlite_") {
			continue
		}
		n++
		for _, verb := range []string{"update", "delete", "insert"} {
			if !strings.Contains(all, "before "+verb+" on "+table+" ") {
				t.Errorf("table %s has no guard before %s", table, verb)
			}
		}
	}
	if n != 6 || len(guards()) != 20 {
		t.Errorf("%d tables have %d guards", n, len(guards()))
	}
}

// Somebody who gets round the guards is found out.
func TestVerifyFindsWhatWasChanged(t *testing.T) {
	for name, c := range map[string]struct {
		sql  []string
		says []string
	}{
		"a guard is gone":    {[]string{"drop trigger events_are_not_changed"}, []string{"the guard events_are_not_changed is missing or was changed"}},
		"a guard is a dummy": {[]string{"drop trigger events_are_not_changed", "create trigger events_are_not_changed before update on events begin select 1; end"}, []string{"the guard events_are_not_changed is missing or was changed"}},
		"a reading was made better": {[]string{"drop trigger events_are_not_changed",
			"update events set body = cast(replace(cast(body as text), '92.001', '92.000') as blob) where seq = 2"},
			[]string{"the guard events_are_not_changed", "the hash of event 2 of job j-1 does not fit"}},
		"an event was taken out": {[]string{"drop trigger events_are_not_removed", "delete from events where seq = 2"},
			[]string{"the guard events_are_not_removed", "event 3 of job j-1 stands where event 2 should"}},
		"an event was filed under another id": {[]string{"drop trigger events_are_not_changed", "update events set id = 'other' where seq = 2"},
			[]string{"the guard events_are_not_changed", `event 2 of job j-1 is filed under the id "other" and has the id "e-0001"`}},
		"a pack was changed": {[]string{"drop trigger texts_are_not_changed", "update texts set body = cast('x' as blob) where length(body) > 40"},
			[]string{"the guard texts_are_not_changed", "the pack text ", " has other content than it was kept with"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := fullFolder(t)
			db := raw(t, dir)
			for _, statement := range c.sql {
				if _, err := db.Exec(statement); err != nil {
					t.Fatal(err)
				}
			}
			_ = db.Close()
			s := mustOpen(t, dir)
			r, err := s.Verify(ctx)
			if err != nil {
				t.Fatal(err)
			}
			var all []string
			for _, d := range r.Damage {
				all = append(all, d.Says)
			}
			rest := strings.Join(all, "\n")
			for _, want := range c.says {
				_, after, found := strings.Cut(rest, want)
				if !found {
					t.Fatalf("%q is not in the report %q", want, all)
				}
				rest = after
			}
		})
	}
}

// A disk that forgets: a byte of the file changes. Either it is found, when the folder
// is opened or when it is checked, or it changed nothing that anybody wrote.
func TestVerifyFindsADiskThatForgets(t *testing.T) {
	dir := fullFolder(t)
	file := filepath.Join(dir, fileDatabase)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	r := seeded(t, 3)
	found, harmless := 0, 0
	for range 60 {
		bad := bytes.Clone(text)
		bad[r.IntN(len(bad))] ^= byte(1 + r.IntN(255))
		if err := os.WriteFile(file, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(dir, Options{})
		if err != nil {
			found++
			continue
		}
		report, err := s.Verify(ctx)
		switch {
		case err != nil || len(report.Damage) > 0:
			found++
		default:
			harmless++
			checkStored(t, mustRead(t, s, "j-1"), [][]byte{killLine(0), killLine(1), killLine(2)})
			if texts, err := s.Texts(ctx, "j-1"); err != nil {
				t.Error(err)
			} else {
				sameTexts(t, texts, demoTexts())
			}
		}
		_ = s.Close()
		for _, beside := range []string{"-wal", "-shm"} {
			if err := removeIfThere(file + beside); err != nil {
				t.Fatal(err)
			}
		}
	}
	t.Logf("%d changes were found, %d were in empty space", found, harmless)
	if found == 0 {
		t.Error("no change was ever found")
	}
}

// A damaged chain is not covered up by a new one.
func TestExportOfADamagedJournal(t *testing.T) {
	dir := fullFolder(t)
	db := raw(t, dir)
	if _, err := db.Exec("drop trigger events_are_not_changed; update events set body = cast('no brace' as blob) where seq = 2"); err != nil {
		t.Fatal(err)
	}
	_ = db.Close()
	s := mustOpen(t, dir)
	text, err := s.Export(ctx, "j-1")
	mustRefuse(t, err, ErrDamaged, "export job j-1: the hash of event 2 of job j-1 does not fit", "the lines are written without seq and hash")
	want := string(killLine(0)) + "\nno brace\n" + string(killLine(2)) + "\n"
	if string(text) != want {
		t.Errorf("the lines are %q, want %q", text, want)
	}
	if journal.Read(text).Chained {
		t.Error("a damaged journal is exported with a chain")
	}
}

func TestVerifyLooksAtPhotos(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	sha := mustPut(t, s, killPhoto(1))
	other := mustPut(t, s, killPhoto(2))
	gone := strings.Repeat("ab", 32)
	for i, named := range []string{sha, other, gone} {
		line, err := journal.New(lineNumber(i), epoch, "bench", journal.Photo{SHA256: named, Of: "bore front"}).Encode()
		if err != nil {
			t.Fatal(err)
		}
		mustAppend(t, s, "j-1", line)
	}
	if err := os.WriteFile(s.photos.path(other), []byte("spoilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := s.Verify(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if r.Photos != 2 || len(r.Damage) != 2 || r.Damage[0].Says != "photo "+other+" has other content than it was kept with" ||
		r.Damage[1] != (Damage{Job: "j-1", Seq: 3, Says: "photo " + gone + ", which event 3 of job j-1 names, is missing"}) {
		t.Errorf("the report is %+v", r)
	}
	// Sent again, a spoilt photo is sound again.
	if again := mustPut(t, s, killPhoto(2)); again != other {
		t.Errorf("the photo is %s now and was %s", again, other)
	}
	if r, err := s.Verify(ctx); err != nil || len(r.Damage) != 1 {
		t.Errorf("the report is %+v, %v", r, err)
	}
}

func TestClosedStore(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	changes, stop := s.Watch("")
	defer stop()
	mustClose(t, s)
	mustClose(t, s)
	select {
	case _, open := <-changes:
		if open {
			t.Error("a change after the end")
		}
	case <-time.After(5 * time.Second):
		t.Error("a watch goes on after the end")
	}
	_, err := s.Append(ctx, "j-1", killLine(0))
	mustRefuse(t, err, ErrClosed, "append to job j-1: the data folder has been closed")
	_, err = s.Jobs(ctx)
	mustRefuse(t, err, ErrClosed)
	_, _, err = s.PutPhoto(ctx, bytes.NewReader(killPhoto(1)))
	mustRefuse(t, err, ErrClosed)
	if again, stop := s.Watch("j-1"); again != nil {
		if _, open := <-again; open {
			t.Error("a change after the end")
		}
		stop()
	}
}

func TestFoldersWithOddNames(t *testing.T) {
	base := t.TempDir()
	for _, name := range []string{"motor #1", "100% & more?mode=memory", "ü µ", "a;b 'c' [d]*", "-x"} {
		dir := filepath.Join(base, name)
		s, err := Open(dir, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		mustJob(t, s, "j-1")
		mustAppend(t, s, "j-1", killLine(0))
		if _, err := s.Backup(ctx, filepath.Join(dir, "b.zip"), BackupOptions{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		mustClose(t, s)
		if _, err := os.Stat(filepath.Join(dir, fileDatabase)); err != nil {
			t.Errorf("%s: the database is elsewhere: %v", name, err)
		}
		s, err = Open(dir, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if n := len(mustRead(t, s, "j-1")); n != 1 {
			t.Errorf("%s: %d events", name, n)
		}
		mustClose(t, s)
	}
	if len(names(t, base)) != 5 {
		t.Errorf("the folders are %v", names(t, base))
	}
	file := filepath.Join(base, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(file, Options{})
	mustRefuse(t, err, ErrArgument, "open data folder "+file+": "+file+" is a file; name a folder")
}
