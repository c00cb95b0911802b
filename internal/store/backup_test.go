package store

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"buttonup/journal"
)

func TestBackupAndRestore(t *testing.T) {
	dir := folder(t)
	s, err := Open(dir, Options{Now: clock()})
	if err != nil {
		t.Fatal(err)
	}
	defer mustClose(t, s)
	mustJob(t, s, "j-1")
	mustJob(t, s, "j-2")
	sha := mustPut(t, s, killPhoto(1))
	mustPut(t, s, killPhoto(2))
	line, err := journal.New("p-1", epoch, "bench", journal.Photo{SHA256: sha}).Encode()
	if err != nil {
		t.Fatal(err)
	}
	mustAppend(t, s, "j-1", killLine(0), killLine(1), line)
	keys := filepath.Join(dir, dirKeys)
	if err := errors.Join(os.Mkdir(keys, 0o700), os.WriteFile(filepath.Join(keys, "shop.key"), []byte("secret"), 0o600)); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "monday.zip")
	saved, err := s.Backup(ctx, file, BackupOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if saved.Size != int64(len(mustReadFile(t, file))) || saved.Photos != 2 || saved.Keys != 0 || len(saved.Damage) != 0 {
		t.Errorf("saved %+v", saved)
	}
	if got := names(t, filepath.Dir(file)); len(got) != 1 {
		t.Errorf("beside the backup there is %v", got)
	}
	if bytes.Contains(mustReadFile(t, file), []byte("shop.key")) {
		t.Error("the keys are in a backup that was not to have them")
	}
	_, err = s.Backup(ctx, file, BackupOptions{})
	mustRefuse(t, err, ErrExists, "back up to "+file+": the file is there already; choose another name")

	back := folder(t)
	report, err := Restore(ctx, file, back, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if report.Jobs != 2 || report.Events != 3 || report.Photos != 2 || report.Texts != 3 || len(report.Damage) != 0 {
		t.Errorf("the report is %+v", report)
	}
	if got := names(t, back); !slices.Equal(got, []string{"buttonup.db", "lock", "photos/"}) {
		t.Errorf("the restored folder has %v", got)
	}
	r := mustOpen(t, back)
	for _, job := range []string{"j-1", "j-2"} {
		a, errA := s.Export(ctx, job)
		b, errB := r.Export(ctx, job)
		if errA != nil || errB != nil || !bytes.Equal(a, b) {
			t.Errorf("job %s is another one, %v, %v", job, errA, errB)
		}
		texts, err := r.Texts(ctx, job)
		if err != nil {
			t.Fatal(err)
		}
		sameTexts(t, texts, demoTexts())
	}
	was, err := s.Jobs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	is, err := r.Jobs(ctx)
	if err != nil || fmt.Sprint(was) != fmt.Sprint(is) {
		t.Errorf("the jobs are %v, %v; they were %v", is, err, was)
	}
	mustAppend(t, r, "j-1", killLine(2))
	mustBeSound(t, r)

	// With the keys, on request.
	withKeys := filepath.Join(t.TempDir(), "keys.zip")
	if saved, err = s.Backup(ctx, withKeys, BackupOptions{Keys: true}); err != nil || saved.Keys != 1 {
		t.Fatalf("saved %+v, %v", saved, err)
	}
	back = folder(t)
	if _, err := Restore(ctx, withKeys, back, Options{}); err != nil {
		t.Fatal(err)
	}
	key := filepath.Join(back, dirKeys, "shop.key")
	if info, err := os.Stat(key); err != nil || string(mustReadFile(t, key)) != "secret" || os.PathSeparator == '/' && info.Mode().Perm() != 0o600 {
		t.Errorf("the key came back as %v, %v", info, err)
	}
}

func mustReadFile(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestBackupGivenUp(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	mustPut(t, s, killPhoto(1))
	gone, cancel := context.WithCancel(ctx)
	cancel()
	dir := t.TempDir()
	if _, err := s.Backup(gone, filepath.Join(dir, "monday.zip"), BackupOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	if got := names(t, dir); len(got) != 0 {
		t.Errorf("a backup that was given up left %v", got)
	}
	file := filepath.Join(dir, "tuesday.zip")
	if _, err := s.Backup(ctx, file, BackupOptions{}); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(gone, file, filepath.Join(dir, "shop"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	_, err := s.Backup(ctx, filepath.Join(dir, "none", "monday.zip"), BackupOptions{})
	mustRefuse(t, err, ErrNotFound, "back up to "+filepath.Join(dir, "none", "monday.zip")+": ")
}

// Backups are taken while two benches write, one of them by another program that only
// looks. Each is a whole record as it was at one moment.
func TestBackupWhileWriting(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	reader, err := OpenReading(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = reader.Close() })
	var stop atomic.Bool
	var written atomic.Int64
	done := make(chan error, 1)
	go func() {
		for i := 0; !stop.Load(); i++ {
			photo := killPhoto(i)
			sha, _, err := s.PutPhoto(ctx, bytes.NewReader(photo))
			if err != nil {
				done <- err
				return
			}
			line, err := journal.New(lineNumber(i), epoch, "bench", journal.Photo{SHA256: sha}).Encode()
			if err != nil {
				done <- err
				return
			}
			if _, err := s.Append(ctx, "j-1", line, reading(fmt.Sprintf("r-%d", i), "92.004 mm")); err != nil {
				done <- err
				return
			}
			written.Add(2)
		}
		done <- nil
	}()
	var counts []int
	for i := range 4 {
		for target := written.Load() + 10; written.Load() < target && len(done) == 0; {
			runtime.Gosched()
		}
		from := s
		if i%2 == 1 {
			from = reader
		}
		file := filepath.Join(t.TempDir(), "live.zip")
		before := int(written.Load())
		if _, err := from.Backup(ctx, file, BackupOptions{}); err != nil {
			t.Fatal(err)
		}
		report, err := Restore(ctx, file, folder(t), Options{})
		if err != nil || len(report.Damage) != 0 {
			t.Fatalf("the report is %+v, %v", report, err)
		}
		if report.Events < before || report.Events%2 != 0 {
			t.Errorf("the backup has %d events; %d were acknowledged before it began, always two at once", report.Events, before)
		}
		counts = append(counts, report.Events)
	}
	stop.Store(true)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	t.Logf("backups of %v events, out of %d in the end", counts, written.Load())
}

func TestRestoreRefusesAFolderInUse(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	file := filepath.Join(t.TempDir(), "monday.zip")
	if _, err := s.Backup(ctx, file, BackupOptions{}); err != nil {
		t.Fatal(err)
	}
	_, err := Restore(ctx, file, s.Dir(), Options{})
	mustRefuse(t, err, ErrExists, "restore "+file+" into "+s.Dir()+": the folder is not empty: it has buttonup.db in it; name an empty folder")
	mustAppend(t, s, "j-1", killLine(0))
	_, err = Restore(ctx, filepath.Join(t.TempDir(), "none.zip"), folder(t), Options{})
	mustRefuse(t, err, ErrNotFound, "none.zip")
	dir := folder(t)
	text := filepath.Join(t.TempDir(), "text.zip")
	if err := os.WriteFile(text, bytes.Repeat([]byte("no zip "), 100), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Restore(ctx, text, dir, Options{})
	mustRefuse(t, err, ErrDamaged, "the file is not a whole backup of Buttonup: it is no zip file, or was cut short; use another backup")
	if _, err := os.Stat(dir); err == nil {
		t.Error("a refused backup made a folder")
	}
}

// A backup that was spoilt on its way is refused, or what was spoilt did not matter.
func TestRestoreOfADamagedBackup(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	mustPut(t, s, killPhoto(1)[:3000])
	mustAppend(t, s, "j-1", killLine(0), killLine(1))
	want, err := s.Export(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "monday.zip")
	if _, err := s.Backup(ctx, file, BackupOptions{}); err != nil {
		t.Fatal(err)
	}
	text := mustReadFile(t, file)
	r := seeded(t, 5)
	spoilt := filepath.Join(t.TempDir(), "spoilt.zip")
	refused := 0
	const rounds = 80
	for i := range rounds {
		bad := bytes.Clone(text)
		if i%4 == 0 {
			bad = bad[:r.IntN(len(bad))]
		} else {
			bad[r.IntN(len(bad))] ^= byte(1 + r.IntN(255))
		}
		if err := os.WriteFile(spoilt, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		report, err := Restore(ctx, spoilt, dir, Options{})
		if err != nil {
			var told *Error
			if !errors.As(err, &told) {
				t.Errorf("the error is %T: %v", err, err)
			}
			refused++
			if got := names(t, dir); len(got) > 1 || len(got) == 1 && got[0] != fileLock {
				t.Fatalf("a backup that was refused left %v", got)
			}
			// The folder still counts as empty.
			if _, err := Restore(ctx, file, dir, Options{}); err != nil {
				t.Fatal(err)
			}
			continue
		}
		back := mustOpen(t, dir)
		got, err := back.Export(ctx, "j-1")
		if err != nil || !bytes.Equal(got, want) || len(report.Damage) != 0 || report.Photos != 1 {
			t.Fatalf("round %d: a spoilt backup was taken and is something else: %v, %+v", i, err, report)
		}
		mustClose(t, back)
	}
	t.Logf("%d of %d spoilt backups were refused; the others differ only in what a zip file does not need", refused, rounds)
	if refused < rounds*3/4 {
		t.Errorf("only %d of %d spoilt backups were refused", refused, rounds)
	}
}

// A file that was made to write elsewhere, or of another kind, is refused.
func TestRestoreOfAHostileBackup(t *testing.T) {
	zero := strings.Repeat("0", 64)
	ok := manifestFile{Name: fileDatabase, SHA256: zero}
	for name, c := range map[string]struct {
		m    manifest
		kind error
		says string
	}{
		"up":            {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "../evil", SHA256: zero}}}, ErrDamaged, `an entry "../evil" that it cannot have`},
		"up from keys":  {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "keys/..", SHA256: zero}}}, ErrDamaged, `an entry "keys/.."`},
		"below keys":    {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "keys/a/b", SHA256: zero}}}, ErrDamaged, `an entry "keys/a/b"`},
		"wrong drawer":  {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "photos/01/" + zero, SHA256: zero}}}, ErrDamaged, `an entry "photos/01/`},
		"the lock":      {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "lock", SHA256: zero}}}, ErrDamaged, `an entry "lock"`},
		"twice":         {manifest{Format: formatBackup, Files: []manifestFile{ok, ok}}, ErrDamaged, `an entry "buttonup.db"`},
		"no database":   {manifest{Format: formatBackup}, ErrDamaged, "it has no buttonup.db"},
		"not in it":     {manifest{Format: formatBackup, Files: []manifestFile{ok, {Name: "photos/00/" + zero, SHA256: zero}}}, ErrDamaged, "is not"},
		"a later shape": {manifest{Format: "buttonup-backup-2"}, ErrVersion, `the backup is written as "buttonup-backup-2"`},
	} {
		t.Run(name, func(t *testing.T) {
			base := t.TempDir()
			file := filepath.Join(base, "hostile.zip")
			out, err := os.Create(file)
			if err != nil {
				t.Fatal(err)
			}
			z := zip.NewWriter(out)
			text, err := json.Marshal(c.m)
			if err != nil {
				t.Fatal(err)
			}
			for name, text := range map[string]string{nameManifest: string(text), fileDatabase: "x", "../evil": "evil", "keys/..": "evil"} {
				w, err := z.Create(name)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := io.WriteString(w, text); err != nil {
					t.Fatal(err)
				}
			}
			if err := errors.Join(z.Close(), out.Close()); err != nil {
				t.Fatal(err)
			}
			_, err = Restore(ctx, file, filepath.Join(base, "shop"), Options{})
			mustRefuse(t, err, c.kind, c.says)
			if got := names(t, base); slices.Contains(got, "evil") {
				t.Errorf("a file was written outside the folder: %v", got)
			}
		})
	}
}

// A photo that was spoilt in the folder goes into the backup as it is, and it is said.
func TestBackupOfASpoiltPhoto(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	sha := mustPut(t, s, killPhoto(1))
	if err := os.WriteFile(s.photos.path(sha), []byte("spoilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "monday.zip")
	saved, err := s.Backup(ctx, file, BackupOptions{})
	if err != nil || len(saved.Damage) != 1 || saved.Damage[0].Says != "photo "+sha+" has other content than it was kept with" {
		t.Errorf("saved %+v, %v", saved, err)
	}
	report, err := Restore(ctx, file, folder(t), Options{})
	if err != nil || len(report.Damage) != 1 {
		t.Errorf("the report is %+v, %v", report, err)
	}
}
