//go:build darwin || freebsd || linux || netbsd || openbsd

package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

func init() {
	// "buttonup-limited N …" is the program on a disk with room for files of N bytes.
	programs["buttonup-limited"] = func() {
		n, err := strconv.ParseUint(os.Args[1], 10, 64)
		if err != nil {
			panic(err)
		}
		signal.Ignore(syscall.SIGXFSZ)
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: n, Max: n}); err != nil {
			panic(err)
		}
		os.Exit(Main(os.Args[2:], os.Stdin, os.Stdout, os.Stderr))
	}
}

// process prepares this test to run again as the program.
func process(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return &exec.Cmd{Path: self, Args: args}
}

// An interrupted command says whether anything was changed and ends with 130; with
// --json on standard output, as JSON.
func TestInterrupt(t *testing.T) {
	for _, asJSON := range []bool{false, true} {
		args := []string{"buttonup", "assess", "--pack", "aldermoor-v1150", "--journal", "-"}
		if asJSON {
			args = append(args, "--json")
		}
		c := process(t, args...)
		var stdout, stderr bytes.Buffer
		c.Stdout, c.Stderr = &stdout, &stderr
		in, err := c.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		// More than a pipe holds: when all of it is written, the program is reading, and
		// it watches for the signal before that.
		if _, err := io.WriteString(in, strings.Repeat(" \n", 1<<20)); err != nil {
			t.Fatal(err)
		}
		if err := c.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		c.Wait()
		if code := c.ProcessState.ExitCode(); code != ExitCancelled {
			t.Fatalf("exit code %d, want %d: %s", code, ExitCancelled, stderr.Bytes())
		}
		if !asJSON {
			if stdout.Len() > 0 || stderr.String() != "\nbuttonup: cancelled; nothing was changed\n" {
				t.Errorf("%q %q", stdout.Bytes(), stderr.Bytes())
			}
			continue
		}
		if err := checkOutput(args, ExitCancelled, stdout.Bytes(), stderr.Bytes()); err != nil {
			t.Error(err)
		}
		if !bytes.Contains(stdout.Bytes(), []byte(`"says": "cancelled; nothing was changed"`)) {
			t.Errorf("%s", stdout.Bytes())
		}
	}
}

// Where the disk is full in the middle of a line, the journal is what it was, byte for
// byte, and is added to when there is room again.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write := func(name, text string) {
		if err := os.WriteFile(at(name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("plain.pack", plainPack)
	write("one.csv", "of,n,value\ngap,1,1 mm\ngap,2,2 mm\n")
	before := `{"id":"1","at":"2026-03-02T09:00:00Z","by":"bench","kind":"note","text":"x"}` + "\n"
	for room := len(before); room < len(before)+250; room += 50 {
		write("job.jsonl", before)
		c := process(t, "buttonup-limited", fmt.Sprint(room), "readings", "--pack", at("plain.pack"), "--csv", at("one.csv"), "--journal", at("job.jsonl"))
		var stderr bytes.Buffer
		c.Stderr = &stderr
		c.Run()
		if code := c.ProcessState.ExitCode(); code != ExitFailed || !strings.Contains(stderr.String(), "job.jsonl") {
			t.Fatalf("room for %d bytes: exit code %d: %s", room, code, stderr.Bytes())
		}
		if after, err := os.ReadFile(at("job.jsonl")); err != nil || string(after) != before {
			t.Fatalf("room for %d bytes: %v %q", room, err, after)
		}
	}
	run(t, ExitDone, "readings", "--pack", at("plain.pack"), "--csv", at("one.csv"), "--journal", at("job.jsonl"))
	stdout, _ := run(t, ExitDone, "assess", "--pack", at("plain.pack"), "--journal", at("job.jsonl"), "--json")
	if !bytes.Contains(stdout, []byte(`"events": 3`)) {
		t.Errorf("%s", stdout)
	}
	// A pack that does not fit is not there at all, and leaves nothing behind.
	table, err := filepath.Abs("../../packs/published/tables/torque.csv")
	if err != nil {
		t.Fatal(err)
	}
	c := process(t, "buttonup-limited", "1000", "pack", "from-table", table, "--out", at("made.pack"))
	c.Run()
	if code := c.ProcessState.ExitCode(); code != ExitFailed {
		t.Errorf("exit code %d", code)
	}
	if left, _ := filepath.Glob(at("*made*")); len(left) > 0 {
		t.Errorf("%v", left)
	}
	if left, _ := filepath.Glob(at(".buttonup-*")); len(left) > 0 {
		t.Errorf("%v", left)
	}
}

// A journal that another program holds is waited for.
func TestJournalIsWaitedFor(t *testing.T) {
	dir := t.TempDir()
	pack, csv, job := filepath.Join(dir, "plain.pack"), filepath.Join(dir, "one.csv"), filepath.Join(dir, "job.jsonl")
	for name, text := range map[string]string{pack: plainPack, csv: "of,n,value\ngap,1,1 mm\n"} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	f, err := openLocked(job)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := openLocked(job); err != errLocked {
		t.Fatalf("a second lock: %v", err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		run(t, ExitDone, "readings", "--pack", pack, "--csv", csv, "--journal", job)
	}()
	select {
	case <-done:
		t.Error("it did not wait")
	case <-time.After(100 * time.Millisecond):
	}
	f.Close()
	<-done
	if text, _ := os.ReadFile(job); bytes.Count(text, []byte("\n")) != 1 {
		t.Errorf("%q", text)
	}
}

// A result that cannot be written is an error, whatever was found.
func TestOutputThatIsFull(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("there is no device that is always full")
	}
	defer full.Close()
	for _, args := range [][]string{{"version"}, {"version", "--json"}, {"assess", "--demo"}, {"assess", "--demo", "--json"}} {
		var stderr bytes.Buffer
		if code := Main(args, strings.NewReader(""), full, &stderr); code != ExitFailed {
			t.Errorf("%v: exit code %d", args, code)
		}
		if !strings.Contains(stderr.String(), "buttonup: the result cannot be written: no space left") || strings.Contains(stderr.String(), "fault") {
			t.Errorf("%v: %q", args, stderr.String())
		}
	}
}
