package pack

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// seeds adds the planted mistakes, the demo pack and a few published packs.
func seeds(f *testing.F) {
	for _, pattern := range []string{"testdata/bad/*.pack", "testdata/several/*.pack", "../packs/aldermoor-v1150/*.pack", "../packs/published/tm-5-49*.pack"} {
		paths, _ := filepath.Glob(pattern)
		for _, path := range paths {
			text, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(text))
		}
	}
}

// FuzzLoad: whatever a file holds, loading it ends soon, does not panic, tells
// mistakes that point into the text, and tells the same ones again. The text is read
// as a pack, as a template, and as a piece that a job adds to a pack.
func FuzzLoad(f *testing.F) {
	seeds(f)
	base, mistakes := Load([]File{{Name: "base.pack", Text: []byte(pair)}}, nil)
	if len(mistakes) > 0 {
		f.Fatal(mistakes)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 20_000 {
			return
		}
		// What hangs would hang the fuzzing too; a panic names the text.
		watch := time.AfterFunc(10*time.Second, func() { panic(fmt.Sprintf("still busy after 10 s: %q", text)) })
		defer watch.Stop()
		file := File{Name: "f.pack", Text: []byte(text)}
		_, first := Load([]File{file}, nil)
		wellFormed(t, text, first)
		_, second := Load([]File{file}, nil)
		if told(first) != told(second) {
			t.Errorf("two readings differ:\n%s\n%s", told(first), told(second))
		}
		child := File{Name: "child.pack", Text: []byte("pack \"child\" {\n  title = \"t\"\n  extends = \"f\"\n}\n\ndimension \"bore\" {\n  limit = \"<= 93 mm\"\n}\n")}
		_, together := Load([]File{child}, func(string) ([]File, bool) { return []File{file}, true })
		wellFormed(t, text+string(child.Text), together)
		if q, extra := base.Extend(File{Name: "extra", Text: []byte(text)}); (q == nil) != (len(extra) > 0) {
			t.Errorf("a pack %v with %d mistakes", q != nil, len(extra))
		}
		var b strings.Builder
		if err := first.Write(&b); err != nil || len(first) > 0 && b.Len() == 0 {
			t.Errorf("%v", err)
		}
	})
}

func told(ms Mistakes) string {
	var b strings.Builder
	for _, m := range ms {
		fmt.Fprintf(&b, "%s: %s, %s\n%s\n%s\n", m.Span, m.Says, m.Do, m.Source, m.Underline)
	}
	return b.String()
}

func wellFormed(t *testing.T, text string, ms Mistakes) {
	t.Helper()
	for _, m := range ms {
		if m.Code == "" || m.Says == "" || m.Do == "" || strings.Contains(m.Says, "\n") || strings.Contains(m.Source, "\n") ||
			m.Span.Line < 1 || m.Span.Column < 1 || m.Span.Start < 0 || m.Span.End < m.Span.Start || m.Span.End > len(text) {
			t.Errorf("%+v", m)
		}
	}
}
