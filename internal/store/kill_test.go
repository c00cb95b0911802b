package store

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"buttonup/journal"
)

// child is what the test binary does when it is started as another program.
func child(role, dir string) int {
	var err error
	switch role {
	case "append":
		err = childAppends(dir)
	case "hold":
		err = childHolds(dir)
	default:
		err = childOnThisSystem(role, dir)
	}
	if err != nil {
		fmt.Println("error", err)
		return 1
	}
	return 0
}

// startChild starts the test binary in a role and returns it with its output.
func startChild(t *testing.T, role, dir string, environment ...string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program)
	cmd.Env = append(os.Environ(), "BUTTONUP_STORE_CHILD="+role, "BUTTONUP_STORE_DIR="+dir)
	cmd.Env = append(cmd.Env, environment...)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	return cmd, bufio.NewScanner(out)
}

const (
	killEvents  = 200
	killWriters = 2
	killLives   = 2
)

// killLine is event i of the kill test, and killPhoto the photo that goes with it.
func killLine(i int) []byte { return reading(lineNumber(i), fmt.Sprintf("92.%03d mm", i)) }

func killPhoto(i int) []byte {
	return bytes.Repeat(fmt.Appendf(nil, "photo %04d ", i), 1000+i*20)
}

// killGroups parts the events among the writers: the first sends them one by one, the
// second in small heaps, as a phone does that was out of reach.
func killGroups(writer int) [][]int {
	r := rand.New(rand.NewPCG(7, 7))
	var groups [][]int
	for i := writer; i < killEvents; {
		n := 1
		if writer == 1 {
			n += r.IntN(5)
		}
		var group []int
		for ; n > 0 && i < killEvents; n, i = n-1, i+killWriters {
			group = append(group, i)
		}
		groups = append(groups, group)
	}
	return groups
}

// childAppends opens the folder and appends from two writers, telling what was
// acknowledged.
func childAppends(dir string) error {
	s, err := Open(dir, Options{})
	if err != nil {
		return err
	}
	if _, err := s.CreateJob(ctx, NewJob{ID: "j-1", Title: "V1150, clean rebuild", Texts: demoTexts(), At: epoch}); err != nil {
		return err
	}
	fmt.Println("job j-1")
	var wg sync.WaitGroup
	errs := make([]error, killWriters)
	for w := range killWriters {
		wg.Go(func() { errs[w] = appendGroups(s, killGroups(w)) })
	}
	wg.Wait()
	return errors.Join(append(errs, s.Close())...)
}

func appendGroups(s *Store, groups [][]int) error {
	for _, group := range groups {
		var lines [][]byte
		for _, i := range group {
			lines = append(lines, killLine(i))
		}
		if group[0]%10 == 0 {
			sha, _, err := s.PutPhoto(ctx, bytes.NewReader(killPhoto(group[0])))
			if err != nil {
				return err
			}
			fmt.Printf("photo %s\n", sha)
		}
		results, err := s.Append(ctx, "j-1", lines...)
		if err != nil {
			return err
		}
		for _, r := range results {
			// One write a line: the parent sees whole lines or nothing.
			fmt.Printf("ack %s %d %x\n", r.ID, r.Seq, r.Hash)
		}
	}
	return nil
}

// TestKilledWhileAppending ends a program that appends from two writers at a moment
// that it does not choose, without a warning, again and again. Nothing that it had
// acknowledged may be lost, nothing doubled, and the chain must hold. What a phone
// would then send again must complete the record, each event once.
//
// It shows what the program and the operating system do; that the disk keeps its word
// when the power goes is another matter, see TestPowerCut.
func TestKilledWhileAppending(t *testing.T) {
	rounds := 20
	if testing.Short() {
		rounds = 3
	}
	if text := os.Getenv("BUTTONUP_TORTURE_ROUNDS"); text != "" {
		var err error
		if rounds, err = strconv.Atoi(text); err != nil {
			t.Fatalf("BUTTONUP_TORTURE_ROUNDS is %q, not a number", text)
		}
	}
	r := seeded(t, uint64(time.Now().UnixNano()))
	killed, unacknowledged := 0, 0
	for round := range rounds {
		dir := folder(t)
		var acked killRecord
		// Two lives, so that a folder is also found again by a program that is then
		// killed in its turn.
		for life := range killLives {
			acked = acked.and(liveAndDie(t, r, dir))
			if acked.finished {
				break
			}
			killed++
			unacknowledged += checkKilled(t, dir, acked, fmt.Sprintf("round %d, life %d", round, life))
		}
		finishKilled(t, dir, acked)
		if t.Failed() {
			t.Fatalf("round %d: the folder was %s", round, dir)
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d rounds, killed %d times; %d events were on the disk that nobody had been told of", rounds, killed, unacknowledged)
	if killed < rounds/2 {
		t.Errorf("the program was killed only %d times in %d rounds: it was too quick to test anything", killed, rounds)
	}
}

// killRecord is what a program said before it was killed.
type killRecord struct {
	job, finished bool
	events        map[string]string // id to "seq hash"
	photos        map[string]bool
}

func (k killRecord) and(more killRecord) killRecord {
	for id, at := range k.events {
		if now, again := more.events[id]; again && now != at {
			panic(fmt.Sprintf("event %s was acknowledged as %s and then as %s", id, at, now))
		}
		more.events[id] = at
	}
	for sha := range k.photos {
		more.photos[sha] = true
	}
	more.job = more.job || k.job
	return more
}

// liveAndDie starts the appending program, kills it at some moment, and returns what
// it had said until then.
func liveAndDie(t *testing.T, r *rand.Rand, dir string) killRecord {
	t.Helper()
	said := killRecord{events: map[string]string{}, photos: map[string]bool{}}
	cmd, out := startChild(t, "append", dir)
	// One time in eight while it opens the folder, else after some acknowledgements
	// and a little more.
	after, delay := r.IntN(killEvents), time.Duration(r.IntN(2000))*time.Microsecond
	if r.IntN(8) == 0 {
		after, delay = 0, time.Duration(r.IntN(60))*time.Millisecond
	}
	kill := func() {
		time.Sleep(delay)
		_ = cmd.Process.Kill()
	}
	if after == 0 {
		go kill()
	}
	for out.Scan() {
		words := strings.Fields(out.Text())
		switch words[0] {
		case "job":
			said.job = true
		case "photo":
			said.photos[words[1]] = true
		case "ack":
			said.events[words[1]] = words[2] + " " + words[3]
			if after > 0 && len(said.events) == after {
				go kill()
			}
		default:
			t.Fatalf("the program said %q", out.Text())
		}
	}
	said.finished = cmd.Wait() == nil
	return said
}

// checkKilled opens the folder of a program that was killed, and returns how many
// events are there that it had not acknowledged.
func checkKilled(t *testing.T, dir string, acked killRecord, when string) int {
	t.Helper()
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatalf("%s: %v", when, err)
	}
	defer mustClose(t, s)
	mustBeSound(t, s)
	left, err := filepath.Glob(filepath.Join(dir, dirPhotos, prefixIncoming+"*"))
	if err != nil || len(left) > 0 {
		t.Errorf("%s: left over: %v, %v", when, left, err)
	}
	for sha := range acked.photos {
		if _, err := s.Photo(sha); err != nil {
			t.Errorf("%s: photo lost: %v", when, err)
		}
	}
	events, err := s.Read(ctx, "j-1", 0)
	if errors.Is(err, ErrNotFound) && !acked.job {
		return 0
	}
	if err != nil {
		t.Fatalf("%s: %v", when, err)
	}
	there := map[string]string{}
	for _, e := range events {
		if there[e.ID] != "" {
			t.Errorf("%s: event %s is there twice", when, e.ID)
		}
		there[e.ID] = fmt.Sprintf("%d %s", e.Seq, hex.EncodeToString(e.Hash[:]))
		i, err := strconv.Atoi(strings.TrimPrefix(e.ID, "e-"))
		if err != nil || !bytes.Equal(e.Bytes, killLine(i)) {
			t.Errorf("%s: event %s is kept as %s", when, e.ID, e.Bytes)
		}
	}
	for id, at := range acked.events {
		if there[id] != at {
			t.Errorf("%s: event %s was acknowledged as %s and is now %q", when, id, at, there[id])
		}
	}
	// Each writer can have one call under way, of five lines at most, in each life.
	extra := len(there) - len(acked.events)
	if extra > killLives*killWriters*5 {
		t.Errorf("%s: %d events are there that were never acknowledged", when, extra)
	}
	return extra
}

// finishKilled sends everything again and checks that it is there once.
func finishKilled(t *testing.T, dir string, acked killRecord) {
	t.Helper()
	s, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer mustClose(t, s)
	mustJob(t, s, "j-1")
	var lines [][]byte
	for i := range killEvents {
		lines = append(lines, killLine(i))
	}
	results, err := s.Append(ctx, "j-1", lines...)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range results {
		if _, was := acked.events[r.ID]; r.Outcome != Already && (was || r.Outcome != Kept) {
			t.Errorf("event %s, sent again, is %v", r.ID, r.Outcome)
		}
	}
	if r := mustBeSound(t, s); r.Events != killEvents {
		t.Errorf("%d events are there in the end; %d were sent", r.Events, killEvents)
	}
}

// TestPowerCut looks at what a power cut leaves behind if the disk has kept its word:
// all that was synced, and of what came after it any part, or garbage. Sync by sync
// the length of the write-ahead log is noted at the acknowledgement; then the log is
// torn or spoilt at a place behind it.
func TestPowerCut(t *testing.T) {
	r := seeded(t, 11)
	dir := folder(t)
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	log := filepath.Join(dir, fileDatabase+"-wal")
	var synced []int64
	for i := range 60 {
		mustAppend(t, s, "j-1", killLine(i))
		info, err := os.Stat(log)
		if err != nil {
			t.Fatal(err)
		}
		synced = append(synced, info.Size())
	}
	if synced[0] >= synced[59] {
		t.Fatalf("the log did not grow: %d and %d bytes", synced[0], synced[59])
	}
	for range 40 {
		acknowledged := 1 + r.IntN(len(synced)-1)
		keep := synced[acknowledged-1]
		cut := t.TempDir()
		copyFolder(t, dir, cut)
		torn := filepath.Join(cut, fileDatabase+"-wal")
		text, err := os.ReadFile(torn)
		if err != nil {
			t.Fatal(err)
		}
		at := keep + r.Int64N(int64(len(text))-keep+1)
		switch r.IntN(3) {
		case 0:
			text = text[:at]
		case 1:
			clear(text[at:])
		default:
			copy(text[at:], randomBytes(r, len(text)-int(at)))
		}
		// The index of the log is never synced: a power cut takes it away.
		if err := errors.Join(os.WriteFile(torn, text, 0o600), os.RemoveAll(filepath.Join(cut, fileDatabase+"-shm"))); err != nil {
			t.Fatal(err)
		}
		after := mustOpen(t, cut)
		mustBeSound(t, after)
		events := mustRead(t, after, "j-1")
		if len(events) < acknowledged {
			t.Fatalf("%d events were acknowledged and %d are there", acknowledged, len(events))
		}
		for i, e := range events {
			if !bytes.Equal(e.Bytes, killLine(i)) {
				t.Fatalf("event %d is %s", i+1, e.Bytes)
			}
		}
		mustAppend(t, after, "j-1", reading("after", "92.004 mm"))
		mustClose(t, after)
	}
	// Every append is synced on its own: that is what FULL means.
	var level int
	if err := s.db.writer().QueryRow("pragma synchronous").Scan(&level); err != nil || level != 2 {
		t.Errorf("synchronous is %d, %v; 2 is FULL", level, err)
	}
	var mode string
	if err := s.db.writer().QueryRow("pragma journal_mode").Scan(&mode); err != nil || mode != "wal" {
		t.Errorf("the journal mode is %s, %v", mode, err)
	}
}

// childHolds opens the folder and keeps it until it is killed.
func childHolds(dir string) error {
	s, err := Open(dir, Options{Holder: "buttonup serve at 127.0.0.1:8484"})
	if err != nil {
		return err
	}
	fmt.Println("open")
	time.Sleep(time.Minute)
	return s.Close()
}

func TestSecondServerIsRefused(t *testing.T) {
	dir := folder(t)
	cmd, out := startChild(t, "hold", dir)
	if !out.Scan() || out.Text() != "open" {
		t.Fatalf("the other program said %q", out.Text())
	}
	_, err := Open(dir, Options{})
	mustRefuse(t, err, ErrInUse, "open data folder "+dir, fmt.Sprintf("buttonup serve at 127.0.0.1:8484 (pid %d) has had it open since 20", cmd.Process.Pid),
		"stop that one first, or name another folder")
	// Looking is allowed.
	r, err := OpenReading(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Jobs(ctx); err != nil {
		t.Error(err)
	}
	mustClose(t, r)
	// A program that is killed leaves its name in the file but not the lock.
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	text, err := os.ReadFile(filepath.Join(dir, fileLock))
	if err != nil || !strings.Contains(string(text), "127.0.0.1:8484") {
		t.Errorf("the lock file says %q, %v", text, err)
	}
	s := mustOpen(t, dir)
	mustJob(t, s, "j-1")
	// A second time within one program is no different.
	_, err = Open(dir, Options{})
	mustRefuse(t, err, ErrInUse, "buttonup (pid "+strconv.Itoa(os.Getpid())+") has had it open since")
	mustClose(t, s)
	if text, err := os.ReadFile(filepath.Join(dir, fileLock)); err != nil || len(text) > 0 {
		t.Errorf("a closed folder has a lock file that says %q, %v", text, err)
	}
	mustClose(t, mustOpen(t, dir))
}

func TestLockSaysWhatItKnows(t *testing.T) {
	since := time.Date(2026, 3, 2, 10, 4, 5, 0, time.UTC)
	local := since.Local().Format("2006-01-02 15:04:05")
	for _, c := range []struct{ text, want string }{
		{"", "another program has it open"},
		{"rubbish\npid x\nsince then\n", "another program has it open"},
		{holder{name: "buttonup", pid: 12, host: "bench", since: since}.text(), "buttonup (pid 12) has had it open since " + local},
		{holder{name: "two\nlines", pid: 12, host: "office", since: since}.text(), "two lines (pid 12) on office has had it open since " + local},
	} {
		if got := parseHolder(c.text).says("bench"); got != c.want {
			t.Errorf("%q says %q, want %q", c.text, got, c.want)
		}
	}
}

// The chain that a program killed in the middle leaves can be exported and read.
func TestExportIsReadBack(t *testing.T) {
	s := mustOpen(t, folder(t))
	mustJob(t, s, "j-1")
	var lines [][]byte
	for i := range 20 {
		lines = append(lines, killLine(i))
	}
	last := mustAppend(t, s, "j-1", lines...)[19]
	text, err := s.Export(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	j := journal.Read(text)
	if !j.Chained || j.Head != last.Hash || len(j.Events) != 20 {
		t.Errorf("chained %v, %d events, head %x, want %x", j.Chained, len(j.Events), j.Head, last.Hash)
	}
	job, err := s.Job(ctx, "j-1")
	if err != nil || job.Head != last.Hash || job.Events != 20 {
		t.Errorf("the job has %d events and the head %x, %v", job.Events, job.Head, err)
	}
}
