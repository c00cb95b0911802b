package policy

import (
	"flag"
	"fmt"
	"go/ast"
	"regexp"
	"sort"
	"strings"
	"testing"
)

// listMemory is set by make check, forbidMemory by make release STRICT=1.
var (
	listMemory   = flag.Bool("list-memory", false, "print every source that is from memory")
	forbidMemory = flag.Bool("forbid-memory", false, "fail if a source is from memory")
)

var (
	fromMemory = regexp.MustCompile(`(?i)\bmemory\b`)
	blanks     = regexp.MustCompile(`\s+`)
	// seenHeader is the line of a check file that says what was seen.
	seenHeader = regexp.MustCompile(`(?mi)^seen:.*\bmemory\b.*$`)
	// restOfProgram is memory of another kind.
	restOfProgram = regexp.MustCompile(`(?i)shares? memory|memory with|memory does not grow|the memory of|fills? .* memory|(?:made|kept|is) in memory|most memory`)
)

// A source is the part of a comment from "Source:" to the next empty line, a text in
// the program that ends in "Memory", the header of a check file, or a page on a
// source. Memory is allowed while something is being made and must be seen before it
// is relied on.
func TestSourcesFromMemory(t *testing.T) {
	all := repository(t)
	var list []string
	add := func(where, text string) {
		text = strings.TrimSpace(blanks.ReplaceAllString(text, " "))
		if r := []rune(text); len(r) > 150 {
			text = string(r[:150]) + "…"
		}
		list = append(list, where+": "+text)
	}
	sources := 0
	for _, s := range all.sources {
		if s.folder == "internal/policy" || s.folder == "internal/check" {
			continue
		}
		for _, g := range s.file.Comments {
			for _, paragraph := range strings.Split(g.Text(), "\n\n") {
				at := strings.Index(paragraph, "Source:")
				if at >= 0 {
					sources++
				}
				if fromMemory.MatchString(paragraph) && (at >= 0 || !restOfProgram.MatchString(paragraph)) {
					add(all.at(g.Pos()), paragraph[max(at, 0):])
				}
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if l, ok := n.(*ast.BasicLit); ok && !s.test {
				if text, ok := textOf(l); ok && strings.HasSuffix(text, "Memory") {
					add(all.at(l.Pos()), text)
				}
			}
			return true
		})
	}
	for name, text := range all.texts {
		switch {
		case strings.HasSuffix(name, ".check"):
			sources++
			if m := seenHeader.FindString(text); m != "" {
				add(name, m)
			}
		case strings.HasPrefix(name, "docs/sources/"):
			for i, line := range strings.Split(text, "\n") {
				if fromMemory.MatchString(line) {
					add(fmt.Sprintf("%s:%d", name, i+1), line)
				}
			}
		}
	}
	if sources < 50 {
		t.Fatalf("only %d sources were found; this test looks in the wrong place", sources)
	}
	sort.Strings(list)
	if *listMemory {
		for _, line := range list {
			fmt.Println("from memory: " + line)
		}
		fmt.Printf("%d places name a source that is from memory or partly so, of %d that name one\n", len(list), sources)
	}
	if *forbidMemory && len(list) > 0 {
		t.Errorf("%d sources are from memory: see them, or say in the text that they were not seen", len(list))
	}
}
