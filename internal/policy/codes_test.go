package policy

import (
	"go/ast"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// findingsDoc is where every code is explained.
const findingsDoc = "docs/findings.md"

// A code is an area, a point and a noun with its adjective: joint.stage-order.
var codePattern = regexp.MustCompile(`^[a-z]+\.[a-z]+(-[a-z]+)*$`)

// fileEndings keep file names from being taken for codes.
var fileEndings = []string{".pack", ".csv", ".json", ".jsonl", ".md", ".txt", ".sql", ".go", ".db", ".check", ".pdf", ".log", ".css", ".js"}

func isCode(text string) bool {
	for _, e := range fileEndings {
		if strings.HasSuffix(text, e) {
			return false
		}
	}
	return codePattern.MatchString(text)
}

// reporters are the functions that take a code as their first argument.
var reporters = map[string]bool{"add": true, "at": true, "refuse": true, "report": true}

// code is a code as the program uses it.
type code struct {
	where string
	// constants are the names under which code refers to it.
	constants []string
}

// codes collects the codes of the program: constants called Code…, texts that are
// given to a field called Code or to a function that reports, and any text in an
// area that has such a code.
func (t *tree) codes() map[string]*code {
	found := map[string]*code{}
	note := func(text string, p token.Pos) *code {
		if !isCode(text) {
			return nil
		}
		if found[text] == nil {
			found[text] = &code{where: t.at(p)}
		}
		return found[text]
	}
	note2 := func(e ast.Expr) {
		if text, ok := textOf(e); ok {
			note(text, e.Pos())
		}
	}
	t.inspect(func(n ast.Node) {
		switch n := n.(type) {
		case *ast.ValueSpec:
			for i, name := range n.Names {
				if i >= len(n.Values) || !strings.HasPrefix(name.Name, "Code") {
					continue
				}
				if text, ok := textOf(n.Values[i]); ok {
					if c := note(text, name.Pos()); c != nil {
						c.constants = append(c.constants, name.Name)
					}
				}
			}
		case *ast.KeyValueExpr:
			if k, ok := n.Key.(*ast.Ident); ok && k.Name == "Code" {
				note2(n.Value)
			}
		case *ast.CallExpr:
			name := ""
			switch f := n.Fun.(type) {
			case *ast.Ident:
				name = f.Name
			case *ast.SelectorExpr:
				name = f.Sel.Name
			}
			if reporters[name] && len(n.Args) > 1 {
				for _, a := range n.Args[:2] { // the guard hands in an offset first
					note2(a)
				}
			}
		}
	})
	areas := map[string]bool{}
	for c := range found {
		areas[areaOf(c)] = true
	}
	t.inspect(func(n ast.Node) {
		if e, ok := n.(*ast.BasicLit); ok {
			if text, ok := textOf(e); ok && areas[areaOf(text)] {
				note(text, e.Pos())
			}
		}
	})
	return found
}

func areaOf(code string) string {
	area, _, _ := strings.Cut(code, ".")
	return area
}

// inspect visits every node of the program, tests left out.
func (t *tree) inspect(visit func(ast.Node)) {
	for _, s := range t.sources {
		if s.test {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if n != nil {
				visit(n)
			}
			return true
		})
	}
}

func textOf(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

var codeRow = regexp.MustCompile("(?m)^\\| `([a-z]+\\.[a-z-]+)` \\|")

// documented lists the codes that have a row in a table of docs/findings.md.
func documented(t *testing.T) map[string]bool {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(findingsDoc)))
	if err != nil {
		t.Fatal(err)
	}
	list := map[string]bool{}
	for _, m := range codeRow.FindAllStringSubmatch(string(b), -1) {
		if list[m[1]] {
			t.Errorf("%s explains %s twice", findingsDoc, m[1])
		}
		list[m[1]] = true
	}
	return list
}

func TestCodesAreDocumented(t *testing.T) {
	inCode, inDocs := repository(t).codes(), documented(t)
	if len(inCode) < 50 {
		t.Fatalf("only %d codes were found in the program; this test looks in the wrong place", len(inCode))
	}
	for _, c := range sortedCodes(inCode) {
		if !inDocs[c] {
			t.Errorf("%s: the code %s has no row in %s", inCode[c].where, c, findingsDoc)
		}
	}
	for c := range inDocs {
		if inCode[c] == nil {
			t.Errorf("%s explains %s, which the program never gives; a retired code moves to the list of retired codes at the end", findingsDoc, c)
		}
	}
}

// A constant that nothing gives is a promise that is not kept.
func TestCodesAreGiven(t *testing.T) {
	all := repository(t)
	uses := map[string]int{}
	all.inspect(func(n ast.Node) {
		if id, ok := n.(*ast.Ident); ok && strings.HasPrefix(id.Name, "Code") {
			uses[id.Name]++
		}
	})
	inCode := all.codes()
	for _, c := range sortedCodes(inCode) {
		for _, constant := range inCode[c].constants {
			if uses[constant] < 2 {
				t.Errorf("%s: %s stands for %s, and nothing gives it", inCode[c].where, constant, c)
			}
		}
	}
}

// A code that no test provokes may have no way to come about.
func TestCodesOccurInTests(t *testing.T) {
	all := repository(t)
	inCode := all.codes()
	var tests strings.Builder
	for _, s := range all.sources {
		if s.test && s.folder != "internal/policy" {
			tests.WriteString(s.text)
		}
	}
	for name, text := range all.texts {
		if strings.Contains(name, "testdata/") {
			tests.WriteString(text)
		}
	}
	words := map[string]bool{}
	for _, w := range strings.FieldsFunc(tests.String(), func(r rune) bool { return !(r == '.' || r == '-' || r < 128 && isWordByte(byte(r))) }) {
		words[strings.Trim(w, ".-")] = true
		if _, after, ok := strings.Cut(w, "."); ok {
			words[after] = true // assess.CodeTooClose
		}
	}
	var unseen []string
	for _, c := range sortedCodes(inCode) {
		seen := words[c]
		for _, constant := range inCode[c].constants {
			seen = seen || words[constant]
		}
		if !seen {
			unseen = append(unseen, c+" ("+inCode[c].where+")")
		}
	}
	if len(unseen) > 0 {
		t.Errorf("%d of %d codes occur in no test and in no testdata:\n%s", len(unseen), len(inCode), strings.Join(unseen, "\n"))
	}
}

func sortedCodes(m map[string]*code) []string {
	list := make([]string, 0, len(m))
	for c := range m {
		list = append(list, c)
	}
	sort.Strings(list)
	return list
}
