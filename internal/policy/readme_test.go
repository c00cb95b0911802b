package policy

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/internal/cli"
)

// The run in the README is what the program prints: every line of it, in the
// order in which they stand. "[…]" stands for lines that were left out.
func TestReadmeShowsARealRun(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, block, ok := strings.Cut(string(text), "```\n$ buttonup ")
	if !ok {
		t.Fatal("the README shows no run of buttonup")
	}
	block, _, _ = strings.Cut(block, "\n```")
	lines := strings.Split(block, "\n")
	var out, problems bytes.Buffer
	code := cli.Main(strings.Fields(lines[0]), strings.NewReader(""), &out, &problems)
	if want := "The exit code is 3"; code != cli.ExitStops || !strings.Contains(string(text), want) {
		t.Errorf("the run ended with exit code %d, and the README says %q; %s", code, want, problems.String())
	}
	if len(lines) < 10 {
		t.Errorf("the run has only %d lines", len(lines))
	}
	printed := strings.Split(out.String(), "\n")
	at, skip := 0, true // it may begin below the heading
	for _, line := range lines[1:] {
		if line == "[…]" {
			skip = true
			continue
		}
		from := at
		for at < len(printed) && printed[at] != line && (skip || printed[at] == "") {
			at++
		}
		if at == len(printed) || printed[at] != line {
			t.Fatalf("the README shows a line that the run does not print after line %d:\n%s", from, line)
		}
		at, skip = at+1, false
	}
}

// The README names every command there is, and two commands to set up.
func TestReadmeNamesTheCommands(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	var out bytes.Buffer
	cli.Main([]string{"--help"}, strings.NewReader(""), &out, &out)
	_, list, ok := strings.Cut(out.String(), "Commands:\n")
	if !ok {
		t.Fatalf("buttonup --help lists no commands:\n%s", out.String())
	}
	for _, line := range strings.Split(list, "\n") {
		if !strings.HasPrefix(line, "  ") || strings.HasPrefix(line, "   ") {
			continue
		}
		name, _, _ := strings.Cut(strings.TrimSpace(line), "  ")
		if words := strings.Fields(name); !strings.Contains(text, "`"+strings.Join(words, " ")) {
			t.Errorf("the README does not name the command %q", name)
		}
	}
	if n := strings.Count(text, "\n    make "); n != 2 {
		t.Errorf("the README gives %d commands to set up, and two are promised", n)
	}
	if n := strings.Count(text, "\n"); n > 60 {
		t.Errorf("the README has %d lines and no longer fits a screen", n)
	}
}
