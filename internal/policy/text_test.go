package policy

import (
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// every lists all files that are text, Go sources among them. What others made and
// squeezed together (.min.) is carried as it came.
func (t *tree) every() map[string]string {
	all := map[string]string{}
	for name, text := range t.texts {
		if utf8.ValidString(text) && !strings.ContainsRune(text, 0) && !strings.Contains(path.Base(name), ".min.") {
			all[name] = text
		}
	}
	for _, s := range t.sources {
		all[s.name] = s.text
	}
	return all
}

// unwelcome are what no file may hold. The pieces are put together here so that
// this file does not hold them either.
func unwelcome(t *testing.T) map[string]*regexp.Regexp {
	t.Helper()
	slash := string('/')
	hosts := []string{"proxy.golang" + ".org", "sum.golang" + ".org", "registry.npmjs" + ".org", "py" + "pi.org", "deb.debian" + ".org", "ports.ubuntu" + ".com"}
	// What this machine is set up with is found out, not written down.
	if out, err := exec.Command("go", "env", "GOPROXY").Output(); err == nil {
		for _, entry := range strings.FieldsFunc(string(out), func(r rune) bool { return r == ',' || r == '|' || r == '\n' }) {
			if _, rest, ok := strings.Cut(entry, "://"); ok {
				rest = rest[strings.LastIndex(rest, "@")+1:]
				host, _, _ := strings.Cut(rest, slash)
				hosts = append(hosts, host)
			}
		}
	}
	var quoted []string
	for _, h := range hosts {
		quoted = append(quoted, regexp.QuoteMeta(h))
	}
	folders := []string{"wo" + "rk", "ro" + "ot", "ho" + "me", "Us" + "ers", "Users", "var" + slash + "tmp"}
	list := map[string]*regexp.Regexp{
		"the host of a package registry": regexp.MustCompile(strings.Join(quoted, "|")),
		"a path of a machine":            regexp.MustCompile(`(^|[\s"'(=` + "`" + `:])` + slash + `(` + strings.Join(folders, "|") + `)` + slash),
		"a note of unfinished work":      regexp.MustCompile(`\b(TO` + `DO|FIX` + `ME)\b`),
	}
	if here, err := filepath.Abs(root); err == nil && strings.Count(here, slash) > 1 {
		list["the path of this copy"] = regexp.MustCompile(regexp.QuoteMeta(here) + `\b`)
	}
	return list
}

func TestNoFileTellsOfAMachine(t *testing.T) {
	patterns := unwelcome(t)
	for name, text := range repository(t).every() {
		for what, p := range patterns {
			if at := p.FindStringIndex(text); at != nil {
				line := 1 + strings.Count(text[:at[0]], "\n")
				t.Errorf("%s:%d holds %s: %q", name, line, what, strings.TrimSpace(text[at[0]:at[1]]))
			}
		}
	}
}

var localLink = regexp.MustCompile(`\]\(([^)#:\s]+)(#[^)\s]*)?\)`)

// mention is a page of ours that is named in running text or in a comment.
var mention = regexp.MustCompile(`\bdocs/[A-Za-z0-9_/.-]+\.(md|check)\b`)

func TestPagesThatAreNamedExist(t *testing.T) {
	for name, text := range repository(t).every() {
		var pages []string
		if strings.HasSuffix(name, ".md") {
			for _, m := range localLink.FindAllStringSubmatch(text, -1) {
				pages = append(pages, path.Join(path.Dir(name), m[1]))
			}
		}
		for _, m := range mention.FindAllString(text, -1) {
			if !strings.Contains(m, "NNNN") {
				pages = append(pages, m)
			}
		}
		slices.Sort(pages)
		for _, p := range slices.Compact(pages) {
			if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(p))); err != nil {
				t.Errorf("%s names %s, and there is no such file", name, p)
			}
		}
	}
}

var headword = regexp.MustCompile(`(?m)^\| \*\*([^*|]+)\*\*`)

// wordsPage returns docs/words.md and its head words.
func wordsPage(t *testing.T) (string, []string) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, "docs", "words.md"))
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, m := range headword.FindAllStringSubmatch(string(b), -1) {
		for _, w := range strings.Split(m[1], ",") {
			list = append(list, strings.TrimSpace(w))
		}
	}
	return string(b), list
}

func TestWordsExplainEveryPackage(t *testing.T) {
	text, _ := wordsPage(t)
	for _, f := range repository(t).folders() {
		name := path.Base(f)
		if f == "." {
			name = module
		}
		if !regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(name) + `\b`).MatchString(text) {
			t.Errorf("docs/words.md does not explain %q, the name of package %s", name, f)
		}
	}
}

func TestOneWordForOneThing(t *testing.T) {
	_, words := wordsPage(t)
	if len(words) < 40 {
		t.Fatalf("only %d words were found in docs/words.md; this test looks in the wrong place", len(words))
	}
	slices.Sort(words)
	for i := range words[1:] {
		if words[i] == words[i+1] {
			t.Errorf("docs/words.md explains %q twice", words[i])
		}
	}
}

var decisionName = regexp.MustCompile(`^docs/decisions/(\d{4})-[a-z0-9]+(-[a-z0-9]+)*\.md$`)

func TestDecisionsAreNumberedAndWhole(t *testing.T) {
	numbers := map[string]string{}
	for name, text := range repository(t).texts {
		if path.Dir(name) != "docs/decisions" || name == "docs/decisions/README.md" {
			continue
		}
		m := decisionName.FindStringSubmatch(name)
		if m == nil {
			t.Errorf("%s is not called like 0001-values-are-si-floats.md", name)
			continue
		}
		if other := numbers[m[1]]; other != "" {
			t.Errorf("%s and %s have one number", name, other)
		}
		numbers[m[1]] = name
		for _, heading := range []string{"Status", "Context", "Decision", "Consequences"} {
			if !strings.Contains(text, "\n## "+heading+"\n") {
				t.Errorf("%s has no heading %s", name, heading)
			}
		}
	}
}

var mapRow = regexp.MustCompile(`(?m)^//\t([a-z0-9/]+) {2,}[a-z]`)

// The map in doc.go lists every package, and each imports only what stands above it.
func TestMapListsPackagesInOrder(t *testing.T) {
	all := repository(t)
	position := map[string]int{}
	for _, s := range all.sources {
		if s.name == "doc.go" {
			for i, m := range mapRow.FindAllStringSubmatch(s.text, -1) {
				if _, twice := position[m[1]]; !twice {
					position[m[1]] = i
				}
			}
		}
	}
	for _, f := range append(all.folders(), "internal/policy") {
		if _, listed := position[f]; !listed && f != "." {
			t.Errorf("doc.go does not list the package %s", f)
		}
	}
	for _, s := range all.sources {
		if s.test || !isCore(s.folder) {
			continue
		}
		for _, i := range s.imports() {
			if own := i.own(); own != "" && position[own] >= position[s.folder] {
				t.Errorf("%s: doc.go lists %s below %s, which imports it", all.at(i.pos), own, s.folder)
			}
		}
	}
}
