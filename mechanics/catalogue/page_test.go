package catalogue

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/formula"
	"buttonup/internal/check"
	"buttonup/quantity"
)

var update = flag.Bool("update", false, "write docs/pack-functions.md anew")

var page = filepath.Join("..", "..", "docs", "pack-functions.md")

// TestPage holds docs/pack-functions.md to the catalogue. Write it anew with
//
//	go test ./mechanics/catalogue -run TestPage -update
func TestPage(t *testing.T) {
	want := written(t)
	if *update {
		if err := os.WriteFile(page, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not what the catalogue says; write it anew with -update", page)
	}
}

func written(t *testing.T) string {
	var b strings.Builder
	b.WriteString(`# Functions of mechanics in formulas

Written from mechanics/catalogue by its tests; change it there.

A formula of a pack may call these besides the mathematical and set functions that [pack-language.md](pack-language.md) lists: ` + "`number \"compression\" { value = compression_ratio(swept_volume(bore, stroke), \"75.66 cc\") }`" + `. Values stand in the order given here and must be of the kind that is named; a wrong one is a mistake at its spot, with both kinds. What stands in square brackets may be left out at the end. An angle may be a plain number, which counts as radians.

A function that cannot be computed (a rod shorter than the throw, a load on a spring that hangs loose) leaves the number undefined, with the reason. None gives NaN or an infinity. A value that is not measured makes the result not measured. The ± goes through every function by its slopes.

A name that the pack declares goes before a function of the same name, except in a call.

Nothing here says what is good: limits stand in packs, and the engine maker's manual, local codes and licensed practice go first.

`)
	examples := examples(t)
	subject := ""
	for _, e := range Entries() {
		if e.Subject != subject {
			subject = e.Subject
			fmt.Fprintf(&b, "## %s\n\n", subject)
			b.WriteString("| function | gives | source |\n|---|---|---|\n")
		}
		fmt.Fprintf(&b, "| `%s`<br>%s | %s: %s. Example: `%s` is %s | %s |\n", call(e), kinds(e), e.Result, strings.ReplaceAll(e.Is, "|", `\|`), examples[e.Name][0], examples[e.Name][1], e.Source)
		if last(e) {
			b.WriteByte('\n')
		}
	}
	return strings.TrimRight(b.String(), "\n") + "\n"
}

// last reports whether an entry ends its subject.
func last(e Entry) bool {
	for _, s := range subjects {
		if s.name == e.Subject {
			return s.entries[len(s.entries)-1].Name == e.Name
		}
	}
	return false
}

// call writes a call with the names of its arguments.
func call(e Entry) string {
	var b strings.Builder
	b.WriteString(e.Name + "(")
	open := false
	for i, a := range e.Arguments {
		if a.HasDefault && !open {
			b.WriteString("[")
			open = true
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(a.Name)
	}
	if open {
		b.WriteString("]")
	}
	return b.String() + ")"
}

// kinds lists what the arguments are, those of a kind together, and what stands for
// those that are left out.
func kinds(e Entry) string {
	var order []string
	names := map[string][]string{}
	for _, a := range e.Arguments {
		kind := a.Dimension.String()
		if names[kind] == nil {
			order = append(order, kind)
		}
		name := a.Name
		if a.HasDefault {
			name += " (left out: " + standard(a) + ")"
		}
		names[kind] = append(names[kind], name)
	}
	var list []string
	for _, kind := range order {
		list = append(list, kind+": "+strings.Join(names[kind], ", "))
	}
	return strings.Join(list, "; ")
}

func standard(a formula.Argument) string {
	u := quantity.Metric.Unit(a.Dimension)
	return u.Text(a.Default, -1)
}

// examples takes an example for each function from the checks, so that each is a call
// that was held against a value.
func examples(t *testing.T) map[string][2]string {
	list := map[string][2]string{}
	for _, f := range check.Glob(t, "testdata/ours/*.check") {
		for _, row := range f.Rows {
			text := strings.ReplaceAll(row.In["formula"], ";", ",")
			name := text[:strings.Index(text, "(")]
			if _, there := list[name]; !there {
				list[name] = [2]string{text, row.Out["value"]}
			}
		}
	}
	for name := range Functions() {
		if _, there := list[name]; !there {
			t.Errorf("%s has no example", name)
		}
	}
	return list
}
