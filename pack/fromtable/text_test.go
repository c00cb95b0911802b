package fromtable

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var (
	headLine      = regexp.MustCompile(`^ *(pack|dimension|number|joint|step)(?: "([^"]*)")? \{$`)
	attributeLine = regexp.MustCompile(`^ +([a-z_]+) += (.+)$`)
	stringForm    = regexp.MustCompile(`^"[^"\\\n]*"$`)
	nameForm      = regexp.MustCompile(`^[a-z][a-z0-9_]{0,59}$`)
	// The values of the pack language, as far as these packs use them.
	number    = `[+-]?\d+(?:\.\d+)?|[+-]?(?:\d+-)?\d+/\d+`
	unit      = `(?: (?:in|mm|cm|lbf|kgf|N|deg|ft-lb|in-lb|N·m))?`
	rangeForm = regexp.MustCompile(`^(?:(?:` + number + `) \.\. (?:` + number + `)|[<>]= (?:` + number + `))` + unit + `$`)
	valueForm = regexp.MustCompile(`^(?:` + number + `)` + unit + `$`)
)

// text blocks, read without the code under test.
type readBlock struct {
	kind, name string
	attributes map[string]string
}

// readPack reads a pack line by line and refuses every line it does not know.
func readPack(t *testing.T, name, text string) []readBlock {
	t.Helper()
	var blocks []readBlock
	depth := 0
	for n, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		trimmed := strings.TrimSpace(line)
		switch {
		case trimmed == "", strings.HasPrefix(trimmed, "#"):
		case trimmed == "}":
			depth--
		case headLine.MatchString(line):
			m := headLine.FindStringSubmatch(line)
			blocks = append(blocks, readBlock{m[1], m[2], map[string]string{}})
			depth++
		case attributeLine.MatchString(line) && depth > 0:
			m := attributeLine.FindStringSubmatch(line)
			value := m[2]
			if stringForm.MatchString(value) {
				value = strings.Trim(value, `"`)
			} else if strings.Count(value, `"`)%2 != 0 {
				t.Errorf("%s:%d: an open string: %s", name, n+1, line)
			}
			b := blocks[len(blocks)-1]
			if _, twice := b.attributes[m[1]]; twice {
				t.Errorf("%s:%d: %s stands twice", name, n+1, m[1])
			}
			b.attributes[m[1]] = value
		default:
			t.Errorf("%s:%d: not a line of a pack: %s", name, n+1, line)
		}
		if strings.Contains(line, "${") || strings.Contains(line, "%{") {
			t.Errorf("%s:%d: a template opens: %s", name, n+1, line)
		}
	}
	if depth != 0 {
		t.Errorf("%s: %d blocks are not closed", name, depth)
	}
	return blocks
}

// TestCommittedPacksAreWellFormed holds every committed pack against the grammar
// of the pack language, by a reading of its own.
func TestCommittedPacksAreWellFormed(t *testing.T) {
	paths, _ := filepath.Glob(filepath.Join(packFolder, "*.pack"))
	ids := map[string]string{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(path)
		blocks := readPack(t, name, string(text))
		if len(blocks) < 2 || blocks[0].kind != "pack" {
			t.Fatalf("%s: no pack block, or nothing in it", name)
		}
		head := blocks[0]
		for _, needed := range []string{"title", "revision", "source", "language", "units"} {
			if head.attributes[needed] == "" {
				t.Errorf("%s: the pack has no %s", name, needed)
			}
		}
		if other := ids[head.name]; other != "" {
			t.Errorf("%s and %s have one ID, %s", name, other, head.name)
		}
		ids[head.name] = name
		if strings.Contains(name, "both-units") && !strings.Contains(head.attributes["title"], "both units") {
			t.Errorf("%s: the title does not say that it has both units", name)
		}
		names := map[string]bool{}
		for _, b := range blocks[1:] {
			if b.kind != "step" {
				if !nameForm.MatchString(b.name) || names[b.name] {
					t.Errorf("%s: the name %q is taken or not lower_snake_case", name, b.name)
				}
				names[b.name] = true
				if b.attributes["title"] == "" {
					t.Errorf("%s: %s has no title", name, b.name)
				}
			}
			for _, a := range []string{"new", "limit", "torque"} {
				if v, there := b.attributes[a]; there {
					if !rangeForm.MatchString(v) {
						t.Errorf("%s: %s: %s = %q is no range", name, b.name, a, v)
					}
					if !strings.Contains(b.attributes["sources"], a+` = "TM `) {
						t.Errorf("%s: %s has a %s without a source", name, b.name, a)
					}
				}
			}
			for _, a := range []string{"step", "to", "angle", "target", "length"} {
				if v, there := b.attributes[a]; there && !valueForm.MatchString(v) {
					t.Errorf("%s: %s: %s = %q is no value", name, b.name, a, v)
				}
			}
		}
	}
	if len(paths) != len(committed) {
		t.Errorf("%d packs stand there, %d are made", len(paths), len(committed))
	}
}

// TestNoFigureIsInvented reads the packs back and traces every figure of every
// band and limit to a printed cell of its row; the only others are the zero of a
// run-out and the limits made by a wear allowance, and those must be the sum.
func TestNoFigureIsInvented(t *testing.T) {
	traced, sums := 0, 0
	conversions(t, func(name, text string, cells []map[string]string, rows []Row) {
		blocks := map[string]readBlock{}
		for _, b := range readPack(t, name, text) {
			blocks[b.name] = b
		}
		for i, row := range rows {
			r := cells[i]
			if row.Name == "" || r["fastener"] != "" {
				continue
			}
			b, there := blocks[row.Name]
			if !there {
				t.Errorf("%s:%d: no block %s", name, row.Line, row.Name)
				continue
			}
			if r["confidence"] != "aligned" {
				for _, a := range []string{"new", "limit", "value"} {
					if b.attributes[a] != "" {
						t.Errorf("%s:%d is in doubt and has %s = %s", name, row.Line, a, b.attributes[a])
					}
				}
				if !strings.HasPrefix(b.attributes["note"], "in doubt:") {
					t.Errorf("%s:%d is in doubt and its note begins %.40q", name, row.Line, b.attributes["note"])
				}
				for column, cell := range r {
					if figure := strings.HasPrefix(column, "new_") || strings.HasPrefix(column, "wear_limit") && column != "wear_limit_kind" || column == "repair"; figure && !strings.Contains(b.attributes["note"], cell) {
						t.Errorf("%s:%d: the note does not quote %s %s", name, row.Line, column, cell)
					}
				}
				continue
			}
			for _, a := range []string{"new", "limit"} {
				for _, x := range readValues(t, b.attributes[a]) {
					if printedIn(t, r, x) || a == "new" && x == 0 && r["feature"] == "runout" {
						traced++
						continue
					}
					if a == "limit" && r["wear_limit_kind"] == "wear" {
						wear := readValues(t, r["wear_limit"])[0]
						if r["feature"] == "shaft" || r["feature"] == "thickness" {
							wear = -wear
						}
						from := readValues(t, b.attributes["new"])
						end := from[0]
						if wear > 0 {
							end = from[1]
						}
						if math.Abs(end+wear-x) < 1e-9 {
							sums++
							continue
						}
					}
					t.Errorf("%s:%d: %s = %q has %g, which no cell prints", name, row.Line, a, b.attributes[a], x)
				}
			}
		}
	})
	if traced < 700 || sums != 33 { // 9 bores, 15 shafts and 9 grooves print a wear allowance
		t.Errorf("%d figures traced to a cell and %d to a sum", traced, sums)
	}
}

// readValues reads the numbers of a value or range, fractions and degrees with
// minutes too.
func readValues(t *testing.T, text string) []float64 {
	t.Helper()
	var out []float64
	for _, word := range strings.Fields(text) {
		if x, ok := readValue(word); ok {
			out = append(out, x)
		}
	}
	return out
}

func readValue(word string) (float64, bool) {
	word, tight := strings.CutSuffix(word, "T")
	whole := 0.0
	if before, after, mixed := strings.Cut(word, "-"); mixed && before != "" && strings.Contains(after, "/") {
		w, err := strconv.ParseFloat(before, 64)
		if err != nil {
			return 0, false
		}
		whole, word = w, after
	}
	top, bottom, fraction := strings.Cut(word, "/")
	x, err := strconv.ParseFloat(top, 64)
	if err != nil {
		return 0, false
	}
	if fraction {
		d, err := strconv.ParseFloat(bottom, 64)
		if err != nil {
			return 0, false
		}
		x = whole + x/d
	}
	if tight {
		x = -x
	}
	return x, true
}

// printedIn reports whether a cell of the row prints x, in either unit.
func printedIn(t *testing.T, r map[string]string, x float64) bool {
	for column, cell := range r {
		if !strings.HasPrefix(column, "new_") && !strings.HasPrefix(column, "wear_limit") && !strings.Contains(column, "clearance") {
			continue
		}
		if degrees, minutes, ok := strings.Cut(strings.TrimSuffix(cell, "'"), " "); ok && r["unit"] == "degree minute" {
			d, m := readValues(t, degrees), readValues(t, minutes)
			if math.Abs(d[0]+m[0]/60-x) < 1e-9 {
				return true
			}
		}
		if y, ok := readValue(cell); ok && math.Abs(x-y) < 1e-12 {
			return true
		}
	}
	return false
}
