package policy

import (
	"go/ast"
	"path"
	"slices"
	"strings"
	"testing"
)

// mechanics lists the packages of mechanics, which most of the core may use.
const mechanics = "mechanics/argument mechanics/crank mechanics/cylinder mechanics/firstrun mechanics/fit mechanics/gear mechanics/joint mechanics/surface mechanics/valvetrain"

// mayImport says which packages of our own each package may import. The arrows
// point one way: quantity imports nothing of ours, assess knows the whole core, and
// the core never knows the shell. A package that is not listed may not exist; a new
// one comes with a sentence on what it is for and what it refuses to know.
var mayImport = map[string]string{
	".":                    "", // a map of the packages, no code
	"quantity":             "",
	"measure":              "quantity",
	"mechanics/argument":   "quantity",
	"mechanics/crank":      "quantity mechanics/argument",
	"mechanics/cylinder":   "quantity mechanics/argument",
	"mechanics/firstrun":   "quantity mechanics/argument",
	"mechanics/fit":        "quantity mechanics/argument",
	"mechanics/gear":       "quantity mechanics/argument",
	"mechanics/joint":      "quantity mechanics/argument",
	"mechanics/surface":    "quantity mechanics/argument",
	"mechanics/valvetrain": "quantity mechanics/argument mechanics/cylinder",
	"pack/syntax":          "",
	"pack/fromtable":       "",
	"formula":              "quantity pack/syntax",
	"mechanics/catalogue":  "quantity formula " + mechanics,
	"account":              "",
	"selectfit":            "quantity",
	"route/sequence":       "",
	"route":                "route/sequence",
	"pack":                 "quantity measure formula pack/syntax mechanics/catalogue " + mechanics,
	"journal":              "",
	"parts/basket":         "",
	"parts":                "quantity formula pack journal parts/basket",
	"packs":                "", // files that the program carries
	"calc":                 "quantity measure formula pack/syntax " + mechanics,
	"assess":               "quantity measure formula pack journal parts parts/basket route " + mechanics,
	"words":                "quantity measure formula pack journal parts parts/basket assess route",
	"internal/check":       "",
	"internal/sheet":       "",
	"internal/typed":       "quantity formula journal pack assess words", // a table of readings, row by row
	"internal/qr":          "",
	"internal/demo":        "journal packs",
	"internal/recall":      "quantity pack journal assess words internal/store",
	"internal/book":        "internal/qr account quantity measure pack journal assess words",
	"internal/store":       "journal",
	"internal/shop":        "", // who may come in, folded from what was settled
	"internal/authority":   "", // certificates of the shop's computer
	"internal/photo":       "", // pictures drawn anew
	"internal/web":         "internal/typed internal/qr internal/book internal/recall internal/shop internal/authority internal/photo quantity measure formula pack pack/syntax journal calc parts parts/basket assess words packs internal/store internal/sheet " + mechanics,
	"internal/cli":         "account internal/typed internal/recall internal/authority quantity measure formula pack pack/syntax pack/fromtable journal calc selectfit parts parts/basket assess words packs internal/demo internal/book internal/store internal/sheet internal/web " + mechanics,
	"cmd/buttonup":         "internal/cli",
}

// coming are packages whose row was agreed before they are there.
var coming = []string{}

// doors names the one package that may import a dependency; everything else sees
// what that package makes of it. A module that is not listed has no door.
var doors = map[string]string{
	"github.com/hashicorp/hcl/v2":    "pack/syntax",
	"github.com/pressly/goose/v3":    "internal/store",
	"modernc.org/sqlite":             "internal/store",
	"github.com/a-h/templ":           "internal/web",
	"github.com/alecthomas/kong":     "internal/cli",
	"github.com/piglig/go-qr":        "internal/qr",
	"golang.org/x/term":              "internal/cli",
	"github.com/carlos7ags/folio":    "internal/book",
	"golang.org/x/image":             "internal/book",
	"github.com/mattn/go-isatty":     "internal/cli",
	"github.com/zclconf/go-cty/cty":  "pack/syntax",
	"github.com/jackc/pgx/v5/stdlib": "internal/store",
}

// forTests are the modules that only tests may import.
var forTests = []string{"github.com/google/go-cmp", "github.com/rogpeppe/go-internal", "pgregory.net/rapid"}

// worldly are the parts of the standard library that only the shell may import, and
// which packages of the shell. Core packages see neither files nor the network, keep
// no log and ask nobody for randomness.
var worldly = map[string]string{
	"os":           "internal/store internal/authority internal/cli internal/check cmd/buttonup",
	"os/signal":    "internal/cli cmd/buttonup",
	"os/exec":      "internal/cli",
	"net":          "internal/authority internal/web",
	"net/http":     "internal/web",
	"net/url":      "internal/store internal/sheet internal/book internal/web",
	"database/sql": "internal/store",
	"log":          "internal/web",
	"log/slog":     "internal/cli internal/store internal/sheet internal/web",
	"syscall":      "internal/store internal/cli",
	"crypto/rand":  "internal/cli internal/store internal/sheet internal/web",
	"io/ioutil":    "",
	"plugin":       "",
	"unsafe":       "",
	"C":            "",
}

// readerForTests is the one package outside of tests that imports testing.
const readerForTests = "internal/check"

func TestImportsFollowTheTable(t *testing.T) {
	all := repository(t)
	for _, s := range all.sources {
		if s.test {
			continue
		}
		allowed, listed := mayImport[s.folder]
		if !listed {
			t.Errorf("%s: package %s is not in the table of imports: add it with what it may import, and say in its comment what it is for and what it refuses to know", s.name, s.folder)
			continue
		}
		for _, i := range s.imports() {
			own := i.own()
			switch {
			case own != "":
				if !slices.Contains(strings.Fields(allowed), own) {
					t.Errorf("%s: %s may not import %s; it may import: %s", all.at(i.pos), s.folder, own, allowed)
				}
				if isCore(s.folder) && !isCore(own) {
					t.Errorf("%s: the core may not know the shell: %s imports %s", all.at(i.pos), s.folder, own)
				}
			case i.standard():
				checkStandard(t, all, s, i)
			default:
				checkDoor(t, all, s, i)
			}
		}
	}
	there := all.folders()
	for f := range mayImport {
		if slices.Contains(there, f) || slices.Contains(coming, f) {
			continue
		}
		t.Errorf("the table of imports lists %s, and there is no such package", f)
	}
}

func checkStandard(t *testing.T, all *tree, s *source, i imported) {
	t.Helper()
	if i.path == "testing" && s.folder != readerForTests {
		t.Errorf("%s: testing is for tests", all.at(i.pos))
	}
	users, watched := worldly[i.path]
	if watched && !slices.Contains(strings.Fields(users), s.folder) {
		t.Errorf("%s: %s may not import %s; it belongs to: %s", all.at(i.pos), s.folder, i.path, users)
	}
	for p := range worldly {
		if !watched && strings.HasPrefix(i.path, p+"/") && isCore(s.folder) {
			t.Errorf("%s: the core may not import %s, which belongs to %s", all.at(i.pos), i.path, p)
		}
	}
}

func checkDoor(t *testing.T, all *tree, s *source, i imported) {
	t.Helper()
	for module, door := range doors {
		if i.path == module || strings.HasPrefix(i.path, module+"/") {
			if s.folder != door {
				t.Errorf("%s: %s has one door, %s; %s may not import it", all.at(i.pos), module, door, s.folder)
			}
			return
		}
	}
	t.Errorf("%s: %s is not in the table of doors: every dependency has one package that may import it", all.at(i.pos), i.path)
}

func TestTestsImportOnlyTestLibraries(t *testing.T) {
	all := repository(t)
	for _, s := range all.sources {
		if !s.test {
			continue
		}
		for _, i := range s.imports() {
			if i.standard() || i.own() != "" || i.path == module {
				continue
			}
			ok := false
			for _, m := range forTests {
				ok = ok || i.path == m || strings.HasPrefix(i.path, m+"/")
			}
			for m, door := range doors {
				ok = ok || s.folder == door && (i.path == m || strings.HasPrefix(i.path, m+"/"))
			}
			if !ok {
				t.Errorf("%s: %s is no library for tests, and its door is elsewhere", all.at(i.pos), i.path)
			}
		}
		for _, i := range s.imports() {
			if own := i.own(); own != "" && isCore(s.folder) && !isCore(own) && own != readerForTests {
				t.Errorf("%s: a test of the core may not import %s", all.at(i.pos), own)
			}
		}
	}
}

// clock are the functions of package time that read the clock or wait for it.
var clock = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer"}

// ownSource are the functions of math/rand and math/rand/v2 that take or make a
// source of their own; all others draw from the global one.
var ownSource = []string{"New", "NewSource", "NewPCG", "NewChaCha8", "NewZipf"}

func TestCoreReadsNoClockAndNoGlobalRandomness(t *testing.T) {
	all := repository(t)
	for _, s := range all.sources {
		if s.test || !isCore(s.folder) {
			continue
		}
		named := map[string]string{}
		for _, i := range s.imports() {
			if i.path == "math/rand/v2" && i.name == "v2" {
				i.name = "rand"
			}
			named[i.name] = i.path
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			x, ok := sel.X.(*ast.Ident)
			if !ok {
				return true
			}
			switch from := named[x.Name]; {
			case from == "time" && slices.Contains(clock, sel.Sel.Name):
				t.Errorf("%s: time.%s reads the clock; in the core the time is an argument", all.at(sel.Pos()), sel.Sel.Name)
			case strings.HasPrefix(from, "math/rand") && ast.IsExported(sel.Sel.Name) && !slices.Contains(ownSource, sel.Sel.Name) && !isRandomType(sel.Sel.Name):
				t.Errorf("%s: rand.%s draws from the global source; in the core the source is an argument", all.at(sel.Pos()), sel.Sel.Name)
			}
			return true
		})
	}
}

func isRandomType(name string) bool {
	return slices.Contains([]string{"Rand", "Source", "Source64", "PCG", "ChaCha8", "Zipf"}, name)
}

// vague are names that say nothing of what a package is for.
var vague = []string{"util", "utils", "common", "helper", "helpers", "model", "models", "type", "types", "pkg", "misc", "base", "shared", "lib", "core"}

func TestPackagesAreNamedForWhatTheyDo(t *testing.T) {
	all := repository(t)
	for _, f := range all.folders() {
		for _, part := range strings.Split(f, "/") {
			if slices.Contains(vague, part) {
				t.Errorf("the folder %s is called %q, which says nothing of what it is for", f, part)
			}
		}
	}
	for _, s := range all.sources {
		want := path.Base(s.folder)
		switch {
		case s.folder == ".":
			want = module
		case strings.HasPrefix(s.folder, "cmd/"):
			want = "main"
		}
		if got := strings.TrimSuffix(s.file.Name.Name, "_test"); got != want {
			t.Errorf("%s: the package is called %s and its folder %s", s.name, got, want)
		}
	}
}
