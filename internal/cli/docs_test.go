package cli

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

// The examples of docs/cli.md are what the program prints: files are written and
// commands run in the order of the page, in one folder.
func TestExamplesOfThePage(t *testing.T) {
	page, err := os.ReadFile("../../docs/cli.md")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	commands := 0
	for _, block := range blocksOf(string(page)) {
		if block.kind != "console" {
			if block.name == "" {
				t.Errorf("line %d: a block of %s without a name", block.line, block.kind)
				continue
			}
			if err := os.WriteFile(block.name, []byte(block.text), 0o666); err != nil {
				t.Fatal(err)
			}
			continue
		}
		for _, x := range examplesOf(block) {
			commands++
			x.hold(t)
		}
	}
	if commands < 20 {
		t.Errorf("the page has only %d examples; is this test still reading it?", commands)
	}
}

type docBlock struct {
	kind, name, text string
	line             int
}

// blocksOf cuts the fenced blocks out of a page.
func blocksOf(page string) []docBlock {
	var list []docBlock
	var open *docBlock
	for i, line := range strings.Split(page, "\n") {
		info, fence := strings.CutPrefix(line, "```")
		switch {
		case fence && open == nil:
			kind, name, _ := strings.Cut(info, " ")
			open = &docBlock{kind: kind, name: name, line: i + 1}
		case fence:
			list = append(list, *open)
			open = nil
		case open != nil:
			open.text += line + "\n"
		}
	}
	return list
}

type docExample struct {
	line    int
	command string
	want    []string
	code    int
}

func examplesOf(b docBlock) []docExample {
	var list []docExample
	for i, line := range strings.Split(strings.TrimSuffix(b.text, "\n"), "\n") {
		if command, ok := strings.CutPrefix(line, "$ buttonup "); ok {
			list = append(list, docExample{line: b.line + i + 1, command: command})
			continue
		}
		x := &list[len(list)-1]
		if _, err := fmt.Sscanf(line, "[exit %d]", &x.code); err != nil {
			x.want = append(x.want, line)
		}
	}
	return list
}

// word is an argument as a shell reads it; only double quotes are used on the page.
var word = regexp.MustCompile(`(?:"[^"]*"|[^\s"])+`)

func (x docExample) hold(t *testing.T) {
	t.Helper()
	args := word.FindAllString(x.command, -1)
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], `"`, "")
	}
	var out bytes.Buffer
	code := Main(args, strings.NewReader(""), &out, &out)
	if code != x.code {
		t.Errorf("docs/cli.md:%d: buttonup %s: exit code %d, want %d", x.line, x.command, code, x.code)
	}
	// A line … stands for any lines, an … in a line for any characters.
	var p strings.Builder
	p.WriteString(`^`)
	for _, line := range x.want {
		if line == "…" {
			p.WriteString(`(?:.*\n)*?`)
			continue
		}
		p.WriteString(strings.ReplaceAll(regexp.QuoteMeta(line), "…", ".*") + `\n`)
	}
	p.WriteString(`$`)
	if !regexp.MustCompile(p.String()).MatchString(out.String()) {
		t.Errorf("docs/cli.md:%d: buttonup %s prints\n%s", x.line, x.command, out.String())
	}
}
