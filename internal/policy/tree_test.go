// Package policy holds no code. Its tests keep the rules that a reviewer would
// otherwise have to remember: who may import whom, what is documented, which codes
// exist, and what may not stand in any file.
//
// The tables in these files are statements of policy. Change one with a decision
// record in docs/decisions, never merely to make a build pass.
package policy

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// module is the path of the module, the beginning of every import of our own.
const module = "buttonup"

// root is the root of the repository as seen from this folder.
const root = "../.."

// source is one Go file, read and parsed.
type source struct {
	// name is the file's path in the repository, folder that of its package.
	name, folder string
	test         bool
	text         string
	file         *ast.File
}

// tree is everything the tests look at.
type tree struct {
	fset    *token.FileSet
	sources []*source
	// texts holds every file that is not Go source, by its path.
	texts map[string]string
}

// skipped are folders that hold nothing of ours, or only what a build left.
var skipped = map[string]bool{".git": true, "bin": true, "dist": true, "node_modules": true}

// read reads the repository once for all tests.
var read = sync.OnceValues(func() (*tree, error) {
	t := &tree{fset: token.NewFileSet(), texts: map[string]string{}}
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if skipped[d.Name()] {
				return fs.SkipDir
			}
			return nil
		}
		if !d.Type().IsRegular() || d.Name() == ".git" { // a worktree has a file of that name
			return nil
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		b, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if !strings.HasSuffix(rel, ".go") {
			t.texts[rel] = string(b)
			return nil
		}
		f, err := parser.ParseFile(t.fset, rel, b, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		t.sources = append(t.sources, &source{name: rel, folder: path.Dir(rel), test: strings.HasSuffix(rel, "_test.go"), text: string(b), file: f})
		return nil
	})
	return t, err
})

func repository(t *testing.T) *tree {
	t.Helper()
	all, err := read()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// folders lists the folders that hold a package with more than tests in it.
func (t *tree) folders() []string {
	seen := map[string]bool{}
	for _, s := range t.sources {
		if !s.test {
			seen[s.folder] = true
		}
	}
	list := make([]string, 0, len(seen))
	for f := range seen {
		list = append(list, f)
	}
	sort.Strings(list)
	return list
}

// isCore reports whether a folder belongs to the core, which may be imported and
// touches nothing of the world.
func isCore(folder string) bool {
	return folder != "." && !strings.HasPrefix(folder, "internal") && !strings.HasPrefix(folder, "cmd")
}

// imports lists what a file imports, with the position of each.
func (s *source) imports() []imported {
	var list []imported
	for _, spec := range s.file.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			continue
		}
		name := path.Base(p)
		if spec.Name != nil {
			name = spec.Name.Name
		}
		list = append(list, imported{p, name, spec.Pos()})
	}
	return list
}

type imported struct {
	path, name string
	pos        token.Pos
}

// own returns the folder of an import of our own, "" for another.
func (i imported) own() string {
	if rest, ok := strings.CutPrefix(i.path, module+"/"); ok {
		return rest
	}
	return ""
}

// standard reports whether an import belongs to the standard library: its first
// part has no dot.
func (i imported) standard() bool {
	first, _, _ := strings.Cut(i.path, "/")
	return i.path != module && i.own() == "" && !strings.Contains(first, ".")
}

// at writes a position for a message.
func (t *tree) at(p token.Pos) string {
	q := t.fset.Position(p)
	return q.Filename + ":" + strconv.Itoa(q.Line)
}
