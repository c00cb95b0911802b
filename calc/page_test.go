package calc

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/measure"
	"buttonup/quantity"
)

var update = flag.Bool("update", false, "write the calculations of docs/calc.md anew")

var page = filepath.Join("..", "docs", "calc.md")

// What stands between these lines of the page is written by the test; the rest is by
// hand.
const (
	pageBegin = "<!-- written by the tests of package calc: go test ./calc -run TestPage -update -->"
	pageEnd   = "<!-- end of what is written by the tests -->"
)

func TestPage(t *testing.T) {
	b, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(b), pageBegin)
	_, after, ok2 := strings.Cut(rest, pageEnd)
	if !ok || !ok2 {
		t.Fatalf("%s lost the lines between which the calculations stand", page)
	}
	want := before + pageBegin + "\n\n" + sections(t) + pageEnd + after
	if *update {
		if err := os.WriteFile(page, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if string(b) != want {
		t.Errorf("%s is not what the calculations say; write it anew with -update", page)
	}
	for _, c := range All() {
		if !strings.Contains(before, "`"+c.Name+"`") {
			t.Errorf("the overview of %s lacks %s", page, c.Name)
		}
	}
}

// TestPageQuotes holds what the hand-written part of the page quotes of answers and
// errors to what they are.
func TestPageQuotes(t *testing.T) {
	b, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	c, _ := Find("piston-drop")
	if _, e := run(t, c, set(t, "stroke=4 in|rod=1 in|angle=10 deg")); e == nil || !strings.Contains(string(b), e.Says) {
		t.Errorf("the error of a short rod is not as %s quotes it: %v", page, e)
	}
	c, _ = Find("compression")
	a, _ := run(t, c, set(t, "bore=92 mm|stroke=86.5 mm|chamber=62.5 cc|gasket_bore=93.5 mm|gasket_thickness=1.14 mm|deck=0.20 mm|pockets=4.0 cc"))
	j, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	_, outputs, _ := strings.Cut(string(j), `"outputs":`)
	outputs, _, _ = strings.Cut(outputs, `,"source"`)
	if !strings.Contains(string(b), outputs) {
		t.Errorf("%s does not quote %s", page, outputs)
	}
}

func sections(t *testing.T) string {
	var b strings.Builder
	for _, c := range All() {
		section(t, &b, c)
	}
	b.WriteString("## Metals\n\nNames that `metal`, `ring_metal` and `bore_metal` know. A coefficient that was measured goes before any of them.\n\n| metal | coefficient | source |\n|---|---|---|\n")
	for _, m := range measure.Metals() {
		fmt.Fprintf(&b, "| %s | %s·10⁻⁶ 1/K | %s |\n", m.Name, quantity.FormatNumber(float64(m.Expansion)*1e6, 1), m.Source)
	}
	b.WriteByte('\n')
	return b.String()
}

func section(t *testing.T, b *strings.Builder, c *Calculation) {
	fmt.Fprintf(b, "## %s\n\n%s%s.\n\n", c.Name, strings.ToUpper(c.Summary[:1]), c.Summary[1:])
	b.WriteString("| argument | what it is | what may be written | left out |\n|---|---|---|---|\n")
	for _, a := range c.Arguments {
		takes := a.Takes()
		if takes == "" {
			takes = "text"
		}
		left := ""
		switch {
		case c.Required(a.Name):
			left = "no output"
		case a.Default != "":
			left = a.Default
		}
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", a.Name, a.Is, takes, left)
	}
	b.WriteString("\n| output | what it is | needs |\n|---|---|---|\n")
	for _, o := range c.Outputs {
		var ways []string
		for _, set := range o.Needs {
			ways = append(ways, strings.Join(set, ", "))
		}
		name := "`" + o.Name + "`"
		if o.Beside {
			name += " (beside)"
		}
		fmt.Fprintf(b, "| %s | %s | %s |\n", name, o.Is, strings.Join(ways, "; or "))
	}
	b.WriteByte('\n')
	for _, p := range c.About {
		b.WriteString(p + "\n\n")
	}
	fmt.Fprintf(b, "Source: %s.\n\n", c.Source)
	given, ok := arguments(c.Example)
	if !ok {
		t.Fatalf("%s: the example is not name=value", c.Name)
	}
	a, err := c.Run(given)
	if err != nil {
		t.Fatalf("%s: the example: %v", c.Name, err)
	}
	fmt.Fprintf(b, "    buttonup calc %s", c.Name)
	for _, e := range c.Example {
		if strings.ContainsAny(e, " ;/") {
			e = `"` + e + `"`
		}
		b.WriteString(" " + e)
	}
	b.WriteString("\n\n")
	width := 0
	for _, f := range a.Figures {
		width = max(width, len(f.Name))
	}
	for _, f := range a.Figures {
		fmt.Fprintf(b, "    %-*s  %s\n", width, f.Name, f.Text)
	}
	for _, n := range a.Notes {
		fmt.Fprintf(b, "    note: %s\n", n)
	}
	fmt.Fprintf(b, "\nThe example: %s.\n\n", c.ExampleFrom)
}
