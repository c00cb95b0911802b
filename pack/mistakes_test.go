package pack

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// A file in testdata/bad or testdata/several says itself which mistakes it holds. A
// comment behind the spot, or on the line below it (^) or above it (v) where the
// line cannot hold one, reads
//
//	# ERROR [^|v] COLUMN CODE `SPOT` "words" "more words"
//
// COLUMN counts characters from 1, SPOT is the text that must be underlined, and the
// words must occur in what the mistake says or in its remedy. A line `-- NAME --`
// begins another file; `-- find:ID --` one that only a template look-up finds.
var planted = regexp.MustCompile("# ERROR (?:([v^]) )?(\\d+) (\\S+) `([^`]*)`((?: \"(?:[^\"\\\\]|\\\\.)*\")+)$")

// expectation is a mistake as its file plants it.
type expectation struct {
	line, column int
	file         string
	code, spot   string
	words        []string
}

func (e expectation) String() string {
	return fmt.Sprintf("%s:%d:%d %s `%s`", e.file, e.line, e.column, e.code, e.spot)
}

// archive is a test file taken apart.
type archive struct {
	files    []File
	found    map[string][]File
	expected []expectation
}

func (a *archive) find(id string) ([]File, bool) {
	f, ok := a.found[id]
	return f, ok
}

func readArchive(t testing.TB, path string) *archive {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	a := &archive{found: map[string][]File{}}
	name, text, line := filepath.Base(path), "", 0
	flush := func() {
		f := File{Name: name, Text: []byte(text)}
		if id, ok := strings.CutPrefix(name, "find:"); ok {
			a.found[id] = append(a.found[id], f)
		} else {
			a.files = append(a.files, f)
		}
		text, line = "", 0
	}
	for _, l := range strings.SplitAfter(string(raw), "\n") {
		trimmed := strings.TrimRight(l, "\r\n")
		if strings.HasPrefix(l, "-- ") && strings.HasSuffix(trimmed, " --") {
			flush()
			name = strings.TrimSuffix(strings.TrimPrefix(trimmed, "-- "), " --")
			continue
		}
		text += l
		line++
		m := planted.FindStringSubmatch(trimmed)
		if m == nil {
			if strings.Contains(l, "# ERROR") {
				t.Fatalf("%s: this line plants no mistake that can be read: %s", path, trimmed)
			}
			continue
		}
		e := expectation{line: line + map[string]int{"": 0, "^": -1, "v": 1}[m[1]], file: name, code: m[3], spot: m[4]}
		e.column, _ = strconv.Atoi(m[2])
		for rest := strings.TrimSpace(m[5]); rest != ""; rest = strings.TrimSpace(rest) {
			q, err := strconv.QuotedPrefix(rest)
			if err != nil {
				t.Fatalf("%s: %v in %s", path, err, trimmed)
			}
			word, _ := strconv.Unquote(q)
			e.words = append(e.words, word)
			rest = rest[len(q):]
		}
		a.expected = append(a.expected, e)
	}
	flush()
	return a
}

// demand holds the mistakes that were found against those that were planted: the
// same ones, in the same places, and nothing else.
func demand(t *testing.T, a *archive, got Mistakes) {
	t.Helper()
	left := slices.Clone(a.expected)
	for _, m := range got {
		i := slices.IndexFunc(left, func(e expectation) bool {
			return e.code == m.Code && e.file == m.Span.File && e.line == m.Span.Line && e.column == m.Span.Column
		})
		if i < 0 {
			t.Errorf("not planted: %s\n  %s\n  %s\n  %s", m.Error(), m.Source, m.Underline, m.Do)
			continue
		}
		e := left[i]
		left = slices.Delete(left, i, i+1)
		for _, w := range e.words {
			if !strings.Contains(m.Says+"\n"+m.Do, w) {
				t.Errorf("%s: %q does not occur in %q, %q", e, w, m.Says, m.Do)
			}
		}
		illustrated(t, m, e)
	}
	for _, e := range left {
		t.Errorf("planted and not found: %s", e)
	}
	if t.Failed() {
		var b strings.Builder
		if err := got.Write(&b); err != nil {
			t.Fatal(err)
		}
		t.Logf("all that was found:\n%s", b.String())
	}
}

// illustrated checks what a mistake shows: a sentence, a remedy, its line, and an
// underline that stands under the spot.
func illustrated(t *testing.T, m Mistake, e expectation) {
	t.Helper()
	if m.Says == "" || m.Do == "" {
		t.Errorf("%s: says %q, do %q; both are needed", e, m.Says, m.Do)
	}
	if r, _ := utf8.DecodeRuneInString(m.Says); strings.HasSuffix(m.Says, ".") || r >= 'A' && r <= 'Z' {
		t.Errorf("%s: %q has a capital or a full stop", e, m.Says)
	}
	before := strings.IndexByte(m.Underline, '~')
	width := strings.Count(m.Underline, "~")
	if before != e.column-1 || m.Underline != strings.Repeat(" ", max(before, 0))+strings.Repeat("~", width) {
		t.Errorf("%s: the underline %q does not begin in column %d", e, m.Underline, e.column)
		return
	}
	source := []rune(m.Source + " ") // a spot may be the end of its line
	if before+width > len(source) {
		t.Errorf("%s: the underline %q is longer than the line %q", e, m.Underline, m.Source)
		return
	}
	if under := strings.TrimRight(string(source[before:before+width]), " "); under != strings.TrimRight(strings.ReplaceAll(e.spot, "\t", " "), " ") {
		t.Errorf("%s: %q is underlined", e, under)
	}
}

// Danger: a mistake goes unnoticed, is told at the wrong place, without a remedy, or
// drags others behind it that the builder did not make.
func TestOneMistakeEach(t *testing.T) {
	paths, err := filepath.Glob("testdata/bad/*.pack")
	if err != nil || len(paths) < 40 {
		t.Fatalf("%d files, %v", len(paths), err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".pack"), func(t *testing.T) {
			a := readArchive(t, path)
			if len(a.expected) != 1 {
				t.Fatalf("%d mistakes are planted; one belongs in each of these files", len(a.expected))
			}
			_, mistakes := Load(a.files, a.find)
			demand(t, a, mistakes)
		})
	}
}

// Danger: one mistake hides another, so that a builder corrects six in six rounds.
func TestSeveralMistakesAtOnce(t *testing.T) {
	paths, err := filepath.Glob("testdata/several/*.pack")
	if err != nil || len(paths) < 5 {
		t.Fatalf("%d files, %v", len(paths), err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".pack"), func(t *testing.T) {
			a := readArchive(t, path)
			if len(a.expected) < 3 {
				t.Fatalf("%d mistakes are planted; these files hold several", len(a.expected))
			}
			_, mistakes := Load(a.files, a.find)
			demand(t, a, mistakes)
		})
	}
}

// plantedElsewhere are the codes that no text file can hold, and the test that plants
// them.
var plantedElsewhere = map[string]string{
	"syntax.too-large":      "TestGuards",
	"syntax.not-text":       "TestGuards",
	"syntax.too-deep":       "TestGuards",
	"pack.class-undeclared": "TestRemarkOnAMisspeltClass",
	"pack.shadows":          "no function of mechanics can be called yet",
	"formula.broken":        "the parser lets nothing through that gives it",
}

var codeInSource = regexp.MustCompile(`"((?:syntax|pack|quantity|formula|joint|route|parts)\.[a-z]+(?:-[a-z]+)*)"`)

// Every code that the packages give must be planted at least once.
func TestEveryCodeIsPlanted(t *testing.T) {
	inBad := map[string]bool{}
	paths, _ := filepath.Glob("testdata/bad/*.pack")
	for _, path := range paths {
		for _, e := range readArchive(t, path).expected {
			inBad[e.code] = true
		}
	}
	var codes []string
	for _, pattern := range []string{"*.go", "syntax/*.go", "../formula/*.go"} {
		sources, _ := filepath.Glob(pattern)
		for _, source := range sources {
			if strings.HasSuffix(source, "_test.go") {
				continue
			}
			text, err := os.ReadFile(source)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range codeInSource.FindAllSubmatch(text, -1) {
				if !slices.Contains(codes, string(m[1])) {
					codes = append(codes, string(m[1]))
				}
			}
		}
	}
	sort.Strings(codes)
	if len(codes) < 50 {
		t.Fatalf("only %d codes were found in the sources", len(codes))
	}
	for _, c := range codes {
		if _, elsewhere := plantedElsewhere[c]; inBad[c] == elsewhere {
			t.Errorf("%s: planted in testdata/bad %v, listed as planted elsewhere %v", c, inBad[c], elsewhere)
		}
	}
}
