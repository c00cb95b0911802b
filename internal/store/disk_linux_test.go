package store

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// childOnThisSystem has the roles that need Linux.
func childOnThisSystem(role, dir string) error {
	switch role {
	case "fill":
		return childFills(dir)
	case "nobody":
		return childIsNobody(dir)
	}
	return fmt.Errorf("no role is called %q", role)
}

// smallDisk mounts a disk of that many bytes, which takes root, and skips
// the test otherwise.
func smallDisk(t *testing.T, size int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%d", size)); err != nil {
		t.Skipf("no small disk could be mounted: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Errorf("unmount: %v", err)
			_ = syscall.Unmount(dir, syscall.MNT_DETACH)
		}
	})
	return dir
}

// fillUp writes a file until nothing more goes in, and returns its name.
func fillUp(t *testing.T, dir string) string {
	t.Helper()
	name := filepath.Join(dir, "filler")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	for block := make([]byte, 4096); ; {
		if _, err = f.Write(block); err != nil {
			break
		}
	}
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatalf("filling the disk: %v", err)
	}
	_ = f.Close()
	return name
}

func TestFullDisk(t *testing.T) {
	disk := smallDisk(t, 4<<20)
	dir := filepath.Join(disk, "shop")
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	mustJob(t, s, "j-1")
	sha, _, err := s.PutPhoto(ctx, bytes.NewReader(killPhoto(1)))
	if err != nil {
		t.Fatal(err)
	}
	filler := fillUp(t, disk)
	// Appending goes on for as long as the log has room in blocks it owns.
	n := 0
	for err == nil {
		if _, err = s.Append(ctx, "j-1", killLine(n), killLine(n+1)); err == nil {
			n += 2
		}
		if n > 10000 {
			t.Fatal("the disk never gets full")
		}
	}
	t.Logf("%d events went in after the disk was full for others", n)
	for range 3 {
		_, err = s.Append(ctx, "j-1", killLine(n), killLine(n+1))
		mustRefuse(t, err, ErrFull, "append to job j-1: the disk is full; free some space")
	}
	_, _, err = s.PutPhoto(ctx, bytes.NewReader(killPhoto(2)))
	mustRefuse(t, err, ErrFull, "keep a photo: the disk is full")
	_, err = s.CreateJob(ctx, NewJob{ID: "j-2", Title: "another", Texts: Texts{Pack: []NamedText{{Name: "big.pack", Text: make([]byte, 1<<20)}}}})
	mustRefuse(t, err, ErrFull, "start job j-2: the disk is full")
	_, err = s.Backup(ctx, filepath.Join(disk, "backup.zip"), BackupOptions{})
	mustRefuse(t, err, ErrFull, "back up to "+disk+"/backup.zip: the disk is full")
	if got := names(t, disk); len(got) != 2 {
		t.Errorf("a backup that failed left something: %v", got)
	}
	// What is there can be read, and nothing of what was acknowledged is missing.
	checkKilledDisk(t, s, n, sha)
	// With room again it goes on, without being opened anew.
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	mustAppend(t, s, "j-1", killLine(n), killLine(n+1))
	n += 2
	if _, _, err = s.PutPhoto(ctx, bytes.NewReader(killPhoto(2))); err != nil {
		t.Error(err)
	}
	checkKilledDisk(t, s, n, sha)
	mustClose(t, s)

	// A folder on a full disk is not opened, and not harmed.
	fillUp(t, disk)
	_, err = Open(dir, Options{})
	mustRefuse(t, err, ErrFull, "open data folder "+dir, "the disk is full")
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	s, err = Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkKilledDisk(t, s, n, sha)
	mustClose(t, s)
}

// checkKilledDisk checks that the first n events and the photo are there.
func checkKilledDisk(t *testing.T, s *Store, n int, photo string) {
	t.Helper()
	var want [][]byte
	for i := range n {
		want = append(want, killLine(i))
	}
	checkStored(t, mustRead(t, s, "j-1"), want)
	f, err := s.Photo(photo)
	if err != nil {
		t.Fatal(err)
	}
	_ = f.Close()
	mustBeSound(t, s)
}

// No room for the copy means no migration.
func TestFullDiskBeforeMigration(t *testing.T) {
	disk := smallDisk(t, 4<<20)
	dir := filepath.Join(disk, "shop")
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
	mustClose(t, s)
	// Enough for the log and its index, and not for the copy.
	filler := fillUp(t, disk)
	if err := os.Truncate(filler, fileSize(t, filler)-60<<10); err != nil {
		t.Fatal(err)
	}
	_, err = open(dir, Options{}, laterMigrations(t, goodMigration))
	mustRefuse(t, err, ErrFull, "open data folder "+dir+": copy ", fmt.Sprintf("before bringing it from version %d to %d: the disk is full", layout, layout+1))
	for _, name := range names(t, dir) {
		if strings.HasPrefix(name, "buttonup-v") {
			t.Errorf("a copy that failed left %s", name)
		}
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	s, err = Open(dir, Options{}) // this program still knows the layout: nothing was changed
	if err != nil {
		t.Fatal(err)
	}
	if n := len(mustRead(t, s, "j-1")); n != 1 {
		t.Errorf("%d events", n)
	}
	mustClose(t, s)
}

func fileSize(t *testing.T, name string) int64 {
	t.Helper()
	info, err := os.Stat(name)
	if err != nil {
		t.Fatal(err)
	}
	return info.Size()
}

// childFills appends under a limit on the size of files until it is refused.
func childFills(dir string) error {
	// Without this the limit would end the program where a disk only refuses.
	signal.Ignore(syscall.SIGXFSZ)
	s, err := Open(dir, Options{})
	if err != nil {
		return err
	}
	if _, err := s.CreateJob(ctx, NewJob{ID: "j-1", Title: "V1150", Texts: demoTexts(), At: epoch}); err != nil {
		return err
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 300 << 10, Max: 300 << 10}); err != nil {
		return err
	}
	if _, _, err := s.PutPhoto(ctx, bytes.NewReader(make([]byte, 400<<10))); err == nil {
		return errors.New("a photo went in above the limit")
	} else {
		fmt.Println("photo", err)
	}
	for i := range 10000 {
		if _, err := s.Append(ctx, "j-1", killLine(i)); err != nil {
			fmt.Println("refused", err)
			return nil
		}
		fmt.Println("ack", i)
	}
	return errors.New("nothing was refused")
}

// The same without root: a limit on the size of files, which the log runs into.
func TestFullDiskByLimit(t *testing.T) {
	dir := folder(t)
	cmd, out := startChild(t, "fill", dir)
	acked, refused := 0, ""
	for out.Scan() {
		word, rest, _ := strings.Cut(out.Text(), " ")
		switch word {
		case "ack":
			acked++
		case "photo":
			if !strings.Contains(rest, "keep a photo: the disk is full") {
				t.Errorf("the photo is refused with %q", rest)
			}
		default:
			refused = out.Text()
		}
	}
	if err := cmd.Wait(); err != nil || !strings.HasPrefix(refused, "refused append to job j-1: the disk ") {
		t.Fatalf("the program said %q, %v", refused, err)
	}
	t.Logf("%d events, then %q", acked, refused)
	s := mustOpen(t, dir)
	events := mustRead(t, s, "j-1")
	if len(events) < acked || len(events) > acked+1 {
		t.Errorf("%d events were acknowledged and %d are there", acked, len(events))
	}
	mustBeSound(t, s)
	mustAppend(t, s, "j-1", reading("after", "92.004 mm"))
}

// childIsNobody gives its rights away and tries a folder that it may not write to.
func childIsNobody(dir string) error {
	if os.Getuid() == 0 {
		if err := errors.Join(syscall.Setgid(65534), syscall.Setuid(65534)); err != nil {
			return err
		}
	}
	_, err := Open(dir, Options{})
	fmt.Println("open:", err)
	_, err = Open(filepath.Join(dir, "new"), Options{})
	fmt.Println("new:", err)
	_, err = Restore(ctx, os.Getenv("BUTTONUP_STORE_BACKUP"), filepath.Join(dir, "new"), Options{})
	fmt.Println("restore:", err)
	_, err = OpenReading(dir, Options{})
	fmt.Println("reading:", err)
	return nil
}

func TestReadOnlyFolder(t *testing.T) {
	base := t.TempDir()
	dir := filepath.Join(base, "shop")
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
	backup := filepath.Join(base, "backup.zip")
	if _, err := s.Backup(ctx, backup, BackupOptions{}); err != nil {
		t.Fatal(err)
	}
	mustClose(t, s)
	before := hashFolder(t, dir)
	// Another account may look but not touch.
	for path := base; path != "/" && path != os.TempDir(); path = filepath.Dir(path) {
		if err := os.Chmod(path, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for name, mode := range map[string]os.FileMode{dir: 0o555, filepath.Join(dir, fileDatabase): 0o444,
		filepath.Join(dir, fileLock): 0o444, filepath.Join(dir, dirPhotos): 0o555, backup: 0o444} {
		if err := os.Chmod(name, mode); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() { _ = os.Chmod(dir, 0o755) })
	cmd, out := startChild(t, "nobody", dir, "BUTTONUP_STORE_BACKUP="+backup)
	said := map[string]string{}
	for out.Scan() {
		word, rest, _ := strings.Cut(out.Text(), ": ")
		said[word] = rest
		t.Logf("%s", out.Text())
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	const refused = "cannot be written to by this account; give the account the right to write there, or name another folder"
	for word, operation := range map[string]string{"open": "open data folder " + dir, "new": "open data folder " + dir + "/new",
		"restore": "restore " + backup + " into " + dir + "/new"} {
		if got := said[word]; !strings.HasPrefix(got, operation+": ") || !strings.HasSuffix(got, refused) {
			t.Errorf("%s says %q", word, got)
		}
	}
	if got := said["reading"]; !strings.HasPrefix(got, "open data folder "+dir+": ") || !strings.HasSuffix(got,
		"cannot be written to by this account; reading takes the right to write there too; use that account, or copy the folder and open the copy") {
		t.Errorf("reading says %q", got)
	}
	if after := hashFolder(t, dir); after != before {
		t.Error("the folder was changed")
	}
}

// A disk that is read-only is something else than a folder of another account.
func TestReadOnlyDisk(t *testing.T) {
	disk := smallDisk(t, 4<<20)
	dir := filepath.Join(disk, "shop")
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
	mustClose(t, s)
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("the disk could not be made read-only: %v", err)
	}
	_, err = Open(dir, Options{})
	mustRefuse(t, err, ErrReadOnly, "open data folder "+dir+": the disk is read-only")
	_, err = Open(filepath.Join(disk, "new"), Options{})
	mustRefuse(t, err, ErrReadOnly, "open data folder "+disk+"/new: the disk is read-only")
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
	s, err = Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(mustRead(t, s, "j-1")); n != 1 {
		t.Errorf("%d events", n)
	}
	mustClose(t, s)
}

// hashFolder returns a text that differs when any file of the folder does.
func hashFolder(t *testing.T, dir string) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		b.WriteString(path)
		if d.Type().IsRegular() {
			sha, err := hashFile(path)
			b.WriteString(" " + sha)
			return err
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestEachAppendIsSynced counts the calls that the operating system sees.
func TestEachAppendIsSynced(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("there is no strace here to count syncs with")
	}
	if testing.Short() {
		t.Skip("slow under strace")
	}
	dir, trace := folder(t), filepath.Join(t.TempDir(), "trace")
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(strace, "-f", "-qq", "-e", "trace=fsync,fdatasync", "-o", trace, program)
	cmd.Env = append(os.Environ(), "BUTTONUP_STORE_CHILD=append", "BUTTONUP_STORE_DIR="+dir)
	out, err := cmd.Output()
	if err != nil {
		t.Skipf("strace does not work here: %v", err)
	}
	text, err := os.ReadFile(trace)
	if err != nil {
		t.Fatal(err)
	}
	calls := len(killGroups(0)) + len(killGroups(1))
	photos := strings.Count(string(out), "photo ")
	syncs := strings.Count(string(text), "sync(")
	t.Logf("%d calls of Append, %d photos, %d syncs", calls, photos, syncs)
	// A photo takes three: its content, its name and the name of its folder.
	if syncs < calls+3*photos {
		t.Errorf("%d calls of Append and %d photos were acknowledged with %d syncs", calls, photos, syncs)
	}
}
