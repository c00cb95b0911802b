package journal_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"buttonup/journal"
)

// The format's page is a contract: its examples must be read without a problem and
// written as they stand, and it must name every kind and every code.
func TestFormatPage(t *testing.T) {
	page, err := os.ReadFile("../docs/journal-format.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := map[journal.Kind]bool{}
	for _, block := range regexp.MustCompile("(?s)```json\n(.*?)```").FindAllSubmatch(page, -1) {
		j := journal.Read(block[1])
		if len(j.Problems) != 0 {
			t.Errorf("%s\ngives %v", block[1], j.Problems)
		}
		for _, e := range j.Events {
			shown[e.Kind] = true
			if text, err := e.Encode(); err != nil || string(text) != string(e.Bytes) {
				t.Errorf("the page shows\n%s\nand the program writes\n%s, %v", e.Bytes, text, err)
			}
		}
	}
	for _, kind := range journal.Kinds() {
		if !shown[kind] {
			t.Errorf("the page has no example of %s", kind)
		}
	}
	for _, code := range journal.Codes() {
		if !strings.Contains(string(page), "| `"+code+"` |") {
			t.Errorf("the page does not explain %s", code)
		}
	}
	for _, code := range regexp.MustCompile("`journal\\.[a-z-]+`").FindAllString(string(page), -1) {
		if !strings.Contains(strings.Join(journal.Codes(), " ")+" ", strings.Trim(code, "`")+" ") {
			t.Errorf("the page explains %s, which is no code", code)
		}
	}
}
