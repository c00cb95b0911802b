package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// programs are what scripts can run: this test, under the name of each.
var programs = map[string]func(){}

func TestMain(m *testing.M) {
	programs["buttonup"] = func() { os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
	testscript.Main(m, programs)
}

// TestScripts runs the scripts of testdata/scripts, in which the program is used as a
// builder uses it. They have these commands besides those of testscript:
//
//	code N buttonup …     runs it and wants that exit code; see checkOutput
//	json PATH VALUE …     wants values in the JSON on standard output: error.argument --set
//	lines FILE N          wants so many lines in a file
//	write FILE TEXT …     writes a file, TEXT in the quoting of Go, for bytes that a script cannot hold
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join(root, "testdata", "scripts"), RequireUniqueNames: true, RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("PACKS", filepath.Join(root, "packs"))
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"code": scriptCode, "json": scriptJSON, "lines": scriptLines, "write": scriptWrite,
		},
	})
}

func scriptCode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N program …")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var ee *exec.ExitError
	if errors.As(err, &ee) {
		got = ee.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
	if args[1] != "buttonup" {
		return
	}
	line := args[2:]
	stdout, stderr := ts.ReadFile("stdout"), ts.ReadFile("stderr")
	ts.Check(checkOutput(line, got, []byte(stdout), []byte(stderr)))
	if _, isJSON := takeJSON(line); isJSON || got == ExitDone || got == ExitStops || slices.Contains(line, "-") {
		return
	}
	// An error changes nothing, so it can be had once more as JSON.
	again := exec.Command("buttonup", append([]string{"--json"}, line...)...)
	again.Dir, again.Env = ts.MkAbs("."), append(os.Environ(), "HOME="+ts.Getenv("HOME"), "USERPROFILE="+ts.Getenv("USERPROFILE"))
	var out, fault bytes.Buffer
	again.Stdout, again.Stderr = &out, &fault
	if err := again.Run(); !errors.As(err, &ee) || ee.ExitCode() != got {
		ts.Fatalf("with --json: %v, without it exit code %d", err, got)
	}
	if err := checkOutput(append([]string{"--json"}, line...), got, out.Bytes(), fault.Bytes()); err != nil {
		ts.Fatalf("with --json: %v", err)
	}
}

// checkOutput holds one run to what is promised for all: with --json standard output
// is one JSON value without null, NaN or infinity, and standard error is empty; an
// error has a sentence; without --json an error is said on standard error, begins
// with the name of the program and does not end in a full stop, and nothing else of
// it is on standard output.
func checkOutput(args []string, code int, stdout, stderr []byte) error {
	if bytes.Contains(stdout, []byte("fault in Buttonup")) || bytes.Contains(stderr, []byte("fault in Buttonup")) {
		return errors.New("it came to a fault")
	}
	if _, wantsJSON := takeJSON(args); wantsJSON {
		if len(stderr) > 0 {
			return fmt.Errorf("with --json something is on standard error: %q", stderr)
		}
		return checkJSON(code, stdout)
	}
	if notNumber.Match(stdout) {
		return fmt.Errorf("a number that is none was printed: %q", notNumber.Find(stdout))
	}
	switch code {
	case ExitDone, ExitStops:
		if bytes.Contains(stderr, []byte("buttonup: ")) {
			return fmt.Errorf("an error was told, and the exit code is %d", code)
		}
		return nil
	}
	if code == ExitMistakes && len(stdout) > 0 {
		return nil // pack check: the mistakes are the result
	}
	if len(stdout) > 0 {
		return fmt.Errorf("an error has something on standard output: %q", stdout)
	}
	m := errorLine.FindSubmatch(stderr)
	if m == nil {
		return fmt.Errorf("an error without a sentence: %q", stderr)
	}
	if bytes.HasSuffix(m[1], []byte(".")) && !bytes.HasSuffix(m[1], []byte("…")) {
		return fmt.Errorf("the sentence of an error ends in a full stop: %q", m[1])
	}
	return nil
}

var (
	errorLine = regexp.MustCompile(`(?m)^buttonup: (\S.*)$`)
	notNumber = regexp.MustCompile(`\b(NaN|[+-]?Inf)\b`)
)

func checkJSON(code int, stdout []byte) error {
	d := json.NewDecoder(bytes.NewReader(stdout))
	var v any
	if err := d.Decode(&v); err != nil {
		return fmt.Errorf("standard output is not JSON: %v: %q", err, stdout)
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("more than one JSON value is on standard output")
	}
	if err := checkValue("", v); err != nil {
		return err
	}
	top, ok := v.(map[string]any)
	if !ok {
		return errors.New("the JSON is no object")
	}
	e, isError := top["error"].(map[string]any)
	wantsError := code != ExitDone && code != ExitStops && top["mistakes"] == nil
	if isError != wantsError {
		return fmt.Errorf("exit code %d, and an error object: %v", code, isError)
	}
	if !isError {
		return nil
	}
	for _, name := range []string{"says", "argument", "hint"} {
		if _, ok := e[name].(string); !ok {
			return fmt.Errorf("the error has no text %s", name)
		}
	}
	if says := e["says"].(string); says == "" || strings.HasSuffix(says, ".") {
		return fmt.Errorf("the error says %q", says)
	}
	if code == ExitMistakes && e["mistakes"] == nil {
		return errors.New("exit code 4 without mistakes")
	}
	return nil
}

// checkValue refuses null, which the contract has nowhere, and numbers that are none
// in texts.
func checkValue(path string, v any) error {
	switch v := v.(type) {
	case nil:
		return fmt.Errorf("%s is null", path)
	case string:
		// What a person wrote is quoted in an error.
		if notNumber.MatchString(v) && !strings.HasPrefix(path, ".error.") {
			return fmt.Errorf("%s is %q", path, v)
		}
	case []any:
		for i, x := range v {
			if err := checkValue(fmt.Sprintf("%s.%d", path, i), x); err != nil {
				return err
			}
		}
	case map[string]any:
		for k, x := range v {
			if err := checkValue(path+"."+k, x); err != nil {
				return err
			}
		}
	}
	return nil
}

func scriptJSON(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args)%2 != 0 {
		ts.Fatalf("usage: json PATH VALUE …")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &v))
	for i := 0; i < len(args); i += 2 {
		got, err := reach(v, args[i])
		ts.Check(err)
		if got != args[i+1] {
			ts.Fatalf("%s is %q, want %q", args[i], got, args[i+1])
		}
	}
}

// reach follows a path of names, indices and the word length into JSON.
func reach(v any, path string) (string, error) {
	for _, step := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			next, ok := x[step]
			if !ok {
				return "", fmt.Errorf("%s: there is no %s", path, step)
			}
			v = next
		case []any:
			if step == "length" {
				v = strconv.Itoa(len(x))
				continue
			}
			i, err := strconv.Atoi(step)
			if err != nil || i < 0 || i >= len(x) {
				return "", fmt.Errorf("%s: %s is no place in a list of %d", path, step, len(x))
			}
			v = x[i]
		default:
			return "", fmt.Errorf("%s: %s leads nowhere", path, step)
		}
	}
	switch x := v.(type) {
	case string:
		return x, nil
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64), nil
	}
	text, err := json.Marshal(v)
	return string(text), err
}

func scriptLines(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: lines FILE N")
	}
	want, err := strconv.Atoi(args[1])
	ts.Check(err)
	if got := strings.Count(ts.ReadFile(args[0]), "\n"); got != want {
		ts.Fatalf("%s has %d lines, want %d", args[0], got, want)
	}
}

func scriptWrite(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: write FILE TEXT …")
	}
	var b strings.Builder
	for _, s := range args[1:] {
		times := 1
		if n, rest, ok := strings.Cut(s, "*"); ok {
			if x, err := strconv.Atoi(n); err == nil {
				times, s = x, rest
			}
		}
		text, err := strconv.Unquote(`"` + s + `"`)
		ts.Check(err)
		for range times {
			b.WriteString(text)
		}
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o666))
}
