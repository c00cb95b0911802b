package pack

import (
	"os"
	"path/filepath"
	"testing"
)

// folder reads the files of a pack's folder.
func folder(tb testing.TB, pattern string) []File {
	tb.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		tb.Fatalf("%s: %d files, %v", pattern, len(paths), err)
	}
	var files []File
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			tb.Fatal(err)
		}
		files = append(files, File{Name: filepath.Base(path), Text: text})
	}
	return files
}

func BenchmarkLoadDemo(b *testing.B) {
	files := append(folder(b, "../packs/aldermoor-v1150/*.pack"), folder(b, "../packs/templates/vtwin-pushrod-hydraulic.pack")...)
	b.ReportAllocs()
	for b.Loop() {
		if _, mistakes := Load(files, nil); len(mistakes) > 0 {
			b.Fatal(mistakes)
		}
	}
}

func BenchmarkLoad3000Blocks(b *testing.B) {
	files := []File{{Name: "p.pack", Text: synthetic(3000)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, mistakes := Load(files, nil); len(mistakes) > 0 {
			b.Fatal(mistakes)
		}
	}
}
