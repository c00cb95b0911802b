package policy

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
)

// languagePage returns docs/pack-language.md.
func languagePage(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, "docs", "pack-language.md"))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestLanguagePageListsFunctions(t *testing.T) {
	page := languagePage(t)
	for name := range pack.Functions() {
		if !strings.Contains(page, "`"+name+"(") {
			t.Errorf("docs/pack-language.md does not list the function %s", name)
		}
	}
}

func TestLanguagePageListsUnits(t *testing.T) {
	page := languagePage(t)
	for _, symbol := range quantity.Symbols() {
		if symbol != "1" && !strings.Contains(page, "`"+symbol+"`") {
			t.Errorf("docs/pack-language.md does not list the unit %s", symbol)
		}
	}
}

func TestLanguagePageListsMetals(t *testing.T) {
	rows := map[string]string{}
	for _, line := range strings.Split(languagePage(t), "\n") {
		if cells := strings.Split(line, "|"); len(cells) == 5 {
			name, _, _ := strings.Cut(strings.TrimSpace(cells[1]), " (")
			rows[name] = strings.TrimSpace(cells[2]) + "|" + cells[3]
		}
	}
	for _, m := range measure.Metals() {
		want := quantity.FormatNumber(float64(m.Expansion)*1e6, 1) + "|"
		row, listed := rows[m.Name]
		switch {
		case !listed:
			t.Errorf("docs/pack-language.md does not list the metal %s", m.Name)
		case !strings.HasPrefix(row, want):
			t.Errorf("docs/pack-language.md has %s for %s, and the program %s", row, m.Name, want)
		case strings.HasSuffix(m.Source, "Memory") != strings.Contains(row, "Memory"):
			t.Errorf("docs/pack-language.md and the program do not agree whether the figure of %s was seen", m.Name)
		}
	}
}
