package syntax

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

var kinds = map[string]bool{"pack": true, "dimension": true, "number": true, "joint": true, "operation": true}

// dump writes an expression so that its shape can be seen.
func dump(e Expr) string {
	list := func(items []Expr) string {
		var parts []string
		for _, x := range items {
			parts = append(parts, dump(x))
		}
		return strings.Join(parts, " ")
	}
	switch e := e.(type) {
	case *Number:
		return e.Text
	case *Text:
		return strconv.Quote(e.Value)
	case *Bool:
		return fmt.Sprint(e.Value)
	case *Reference:
		s := e.Root
		for _, step := range e.Steps {
			if step.IsKey {
				s += "[" + step.Name + "]"
			} else {
				s += "." + step.Name
			}
		}
		return s
	case *Call:
		return "(" + e.Function + "() " + list(e.Arguments) + ")"
	case *Unary:
		return "(" + e.Operator + " " + dump(e.X) + ")"
	case *Binary:
		return "(" + e.Operator + " " + dump(e.X) + " " + dump(e.Y) + ")"
	case *Conditional:
		return "(? " + dump(e.Test) + " " + dump(e.Then) + " " + dump(e.Else) + ")"
	case *List:
		return "[" + list(e.Items) + "]"
	case *Object:
		var parts []string
		for _, i := range e.Items {
			parts = append(parts, dump(i.Key)+"="+dump(i.Value))
		}
		return "{" + strings.Join(parts, " ") + "}"
	case *Broken:
		return "broken"
	}
	return fmt.Sprintf("%T", e)
}

func TestExpressions(t *testing.T) {
	for text, want := range map[string]string{
		`1 + 2 * 3`:                      `(+ 1 (* 2 3))`,
		`(1 + 2) * 3`:                    `(* (+ 1 2) 3)`,
		`a - b - c`:                      `(- (- a b) c)`,
		`a / b * c % d`:                  `(% (* (/ a b) c) d)`,
		`-a + !b`:                        `(+ (- a) (! b))`,
		`a > 1 && b <= 2 || c != "x"`:    `(|| (&& (> a 1) (<= b 2)) (!= c "x"))`,
		`a ? b : c ? d : e`:              `(? a b (? c d e))`,
		`max(a, "1 mm", 2.50)`:           `(max() a "1 mm" 2.50)`,
		`bore["front"] + gasket.crushed`: `(+ bore[front] gasket.crushed)`,
		`gasket["front"].crushed`:        `gasket[front].crushed`,
		`operation.close_cases`:          `operation.close_cases`,
		`[1, [2, "x"], a]`:               `[1 [2 "x"] a]`,
		`{ a = 1, "b c" = x }`:           `{a=1 "b c"=x}`,
		`{ operation.b = "10 min" }`:     `{operation.b="10 min"}`,
		`true == false`:                  `(== true false)`,
		`"a \"b\" $${c} \\ é"`:           `"a \"b\" ${c} \\ é"`,
		`0.00012e3`:                      `0.00012e3`,
		"(a\n  + b)":                     `(+ a b)`,
		`f()`:                            `(f() )`,
		`µ_2`:                            `µ_2`,
	} {
		e, mistakes := ParseExpression(File{"f", []byte(text)})
		if len(mistakes) > 0 || dump(e) != want {
			t.Errorf("%s: %s, want %s; %v", text, dump(e), want, mistakes)
		}
		if s := e.Where(); s.Line != 1 || s.Column < 1 || s.Start < 0 || s.End > len(text) || s.End <= s.Start {
			t.Errorf("%s stands at %+v", text, s)
		}
	}
}

// A text that cannot be read gives one mistake and a broken expression; what stands
// in it is not looked at further.
func TestBrokenExpressions(t *testing.T) {
	for text, code := range map[string]string{
		``: "syntax.expression", ` `: "syntax.expression", `1 +`: "syntax.expression", `a b`: "syntax.line", `(a`: "syntax.bracket", `a)`: "syntax.line", `"a`: "syntax.quote", `a ^ 2`: "syntax.power",
		`5 mm`: "syntax.unquoted", `a = b`: "", `a @ b`: "syntax.symbol", `1e31`: "syntax.expression", `1e-31`: "syntax.expression", `null`: "syntax.broken", `"${a}"`: "syntax.template", `a[0]`: "syntax.index", `a[b]`: "syntax.index",
		`[for x in a : x]`: "syntax.for", `a[*]`: "syntax.splat", `a.*.b`: "syntax.splat", `f(a...)`: "syntax.splat", strings.Repeat("(", 101): "syntax.too-deep", "\x00": "syntax.not-text", "\xff": "syntax.not-text",
		strings.Repeat(" ", LargestFile+1): "syntax.too-large",
	} {
		e, mistakes := ParseExpression(File{"f", []byte(text)})
		if len(mistakes) != 1 || code != "" && mistakes[0].Code != code || mistakes[0].Says == "" || mistakes[0].Do == "" {
			t.Errorf("%.40q: %v, want %s", text, mistakes, code)
		}
		if _, broken := e.(*Broken); !broken {
			t.Errorf("%.40q: %s", text, dump(e))
		}
	}
}

const sample = `# A comment.
pack "p" {
  title = "é µ ²"
}

dimension "bore" "second" {
  step = "0.001 mm" # behind
  read {
    axes = ["a", "b"]
  }
  new  = "1 .. 2 mm"
  read {
    repeat = 2
  }
}

offer {
  price = "1"
}
`

// The blocks of a file in their order, their attributes in theirs, and every name
// where it stands.
func TestBlocks(t *testing.T) {
	blocks, mistakes := Parse(File{"f", []byte(sample)}, kinds)
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	var b strings.Builder
	var write func(list []*Block, indent string)
	write = func(list []*Block, indent string) {
		for _, x := range list {
			fmt.Fprintf(&b, "%s%s", indent, x.Kind)
			for _, l := range x.Labels {
				fmt.Fprintf(&b, " %q", l.Text)
			}
			b.WriteString(":")
			for _, a := range x.Attributes {
				fmt.Fprintf(&b, " %s=%s", a.Name, dump(a.Value))
			}
			b.WriteString("\n")
			write(x.Blocks, indent+"  ")
		}
	}
	write(blocks, "")
	want := `pack "p": title="é µ ²"
dimension "bore" "second": step="0.001 mm" new="1 .. 2 mm"
  read: axes=["a" "b"]
  read: repeat=2
offer: price="1"
`
	if b.String() != want {
		t.Errorf("got\n%swant\n%s", b.String(), want)
	}
	at := func(s Span) string { return sample[s.Start:s.End] }
	bore := blocks[1]
	for got, want := range map[string]string{
		at(bore.Span): `dimension "bore" "second"`, at(bore.Labels[1].Span): `"second"`, at(bore.Attribute("new").Span): "new", at(bore.Attribute("new").Value.Where()): `"1 .. 2 mm"`,
		at(bore.Blocks[0].Attribute("axes").Value.(*List).Items[1].Where()): `"b"`, bore.Name(): "bore", blocks[2].Name(): "", bore.Span.String(): "f:6:1",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if bore.Attribute("nothing") != nil || bore.Lost != nil {
		t.Errorf("%+v", bore)
	}
}

// What is lost to a mistake is named, so that nobody tells that it is missing.
func TestLost(t *testing.T) {
	for text, want := range map[string][]string{
		"dimension \"a\" {\n  step = 1 mm\n  new = \"1 .. 2 mm\"\n}\n":                {"step"},
		"dimension \"a\" {\n  step: \"1 mm\"\n  new = <= 2 mm\n}\n":                   {"new", "step"},
		"dimension \"a\" {\n  read {\n    axes = [\"a\"\n  }\n  step = \"1 mm\"\n}\n": {"axes"},
		"dimension \"a\" {\n  step = (1\n    + 2 mm)\n  with = \"x\"\n}\n":            {"step"},
		"dimension \"a\" { step = \"1 mm\", with = \"x\" }\n":                         {"step", "with"},
		"dimension \"a\" {\n  of = {\n    b = 1 mm\n  }\n}\n":                         {"b", "of"},
		"dimension \"a\" {\n  step = \"1 mm\"\n  read {\n    axes = [\"a\"]\n}\n":     {"*"},
		"dimension \"a\" {\n  = \"1 mm\"\n}\n":                                        {"*"},
	} {
		blocks, mistakes := Parse(File{"f", []byte(text)}, kinds)
		if len(blocks) != 1 || len(mistakes) == 0 {
			t.Errorf("%q: %d blocks, %v", text, len(blocks), mistakes)
			continue
		}
		var lost []string
		for name := range blocks[0].Lost {
			lost = append(lost, name)
		}
		slices.Sort(lost)
		if !slices.Equal(lost, want) || blocks[0].Name() != "a" {
			t.Errorf("%q: lost %v, want %v", text, lost, want)
		}
		for _, n := range blocks[0].Blocks {
			if len(n.Lost) != len(want) {
				t.Errorf("%q: the nested block lost %v", text, n.Lost)
			}
		}
	}
	// A head beyond repair keeps its name, so that references to it stand.
	blocks, mistakes := Parse(File{"f", []byte("dimension \"a\" ( {\n  step = \"1 mm\"\n}\nnumber \"b\" {\n}\n")}, kinds)
	if len(mistakes) != 1 || len(blocks) != 2 || blocks[0].Name() != "a" || blocks[0].Kind != "dimension" {
		t.Errorf("%d blocks, %v", len(blocks), mistakes)
	}
}

// The index of lines finds what counting from the start of the text finds.
func TestPositions(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	alphabet := []rune("ab \t\r\n\né²µ→𝄞")
	for range 50 {
		var text []byte
		for range random.IntN(2000) {
			text = utf8.AppendRune(text, alphabet[random.IntN(len(alphabet))])
		}
		l := newLines(File{"f", text})
		line, column := 1, 1
		for i, c := range string(text) + "x" {
			if gotLine, gotColumn := l.position(i); gotLine != line || gotColumn != column {
				t.Fatalf("byte %d of %q: %d:%d, want %d:%d", i, text, gotLine, gotColumn, line, column)
			}
			column++
			if c == '\n' {
				line, column = line+1, 1
			}
		}
		// Whatever is asked for stays inside the text.
		for range 20 {
			a, b := random.IntN(4000)-1000, random.IntN(4000)-1000
			if s := l.span(a, b); s.Start < 0 || s.End > len(text) || s.End < s.Start {
				t.Fatalf("%d to %d of %d bytes: %+v", a, b, len(text), s)
			}
		}
	}
}

// Mistakes come in the order of the source, each once, as a person reads them.
func TestMistakes(t *testing.T) {
	text := []byte("pack \"p\" {\n  stages = 30 N·m, 18 N·m, 45 N·m\n}\n")
	l := newLines(File{"b.pack", text})
	at := strings.Index(string(text), "18")
	ms := Mistakes{
		{Code: "z.z", Span: l.span(at, at+7), Says: "later", Do: "do this"},
		{Code: "joint.stage-order", Span: l.span(at, at+7), Says: "later stage is lower than the one before", Do: "correct the list, or write the loosening as a step of its own"},
		{Code: "joint.stage-order", Span: l.span(at, at+7), Says: "later stage is lower than the one before", Do: "correct the list, or write the loosening as a step of its own"},
		{Code: "a.a", Span: l.span(0, 4), Says: "first", Do: "ask?"},
		{Code: "a.a", Span: Span{File: "a.pack", Line: 3, Column: 1, Start: 99, End: 100}, Says: "in another file"},
	}
	if got := ms.Error(); got != "b.pack:2:20: later [z.z] (and 4 more)" {
		t.Error(got)
	}
	ms.Sort()
	ms.Illustrate([]File{{"b.pack", text}})
	var b strings.Builder
	if err := ms.Write(&b); err != nil {
		t.Fatal(err)
	}
	want := `a.pack:3:1: in another file [a.a]

b.pack:1:1: first [a.a]
  1 | pack "p" {
    | ~~~~
  Ask?

b.pack:2:20: later stage is lower than the one before [joint.stage-order]
  2 |   stages = 30 N·m, 18 N·m, 45 N·m
    |                    ~~~~~~
  Correct the list, or write the loosening as a step of its own.

b.pack:2:20: later [z.z]
  2 |   stages = 30 N·m, 18 N·m, 45 N·m
    |                    ~~~~~~
  Do this.
`
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
	if got := (Mistakes{}).Error(); got != "no mistakes" {
		t.Error(got)
	}
	if got := ms[:1].Error(); got != "a.pack:3:1: in another file [a.a]" {
		t.Error(got)
	}
	if err := ms.Write(full{}); err == nil {
		t.Error("a disk that is full is no error")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, fmt.Errorf("disk is full") }

// A mistake far along a long line shows what stands about it.
func TestIllustrateLongLines(t *testing.T) {
	for _, before := range []int{0, 10, 150, 170, 5000} {
		text := []byte(strings.Repeat("é", before) + "SPOT" + strings.Repeat("µ", 3000))
		l := newLines(File{"f", text})
		ms := Mistakes{{Code: "a.a", Span: l.span(2*before, 2*before+4), Says: "x", Do: "y"}}
		ms.Illustrate([]File{{"f", text}})
		source, at := []rune(ms[0].Source), strings.IndexByte(ms[0].Underline, '~')
		if len(source) > widest+10 || string(source[at:at+4]) != "SPOT" || strings.Count(ms[0].Underline, "~") != 4 {
			t.Errorf("%d before: %q\n%q", before, ms[0].Source, ms[0].Underline)
		}
	}
	// A spot that is longer than its line is underlined to the end of the line.
	text := []byte("one two\nthree\n")
	ms := Mistakes{{Code: "a.a", Span: newLines(File{"f", text}).span(4, 13), Says: "x", Do: "y"}}
	ms.Illustrate([]File{{"f", text}})
	if ms[0].Source != "one two" || ms[0].Underline != "    ~~~" {
		t.Errorf("%q\n%q", ms[0].Source, ms[0].Underline)
	}
}

// Walk visits everything below an expression once.
func TestWalk(t *testing.T) {
	e, _ := ParseExpression(File{"f", []byte(`max(-a, [b, { k = c }]) + (d ? e : f["g"])`)})
	var names []string
	Walk(e, func(e Expr) {
		if r, ok := e.(*Reference); ok {
			names = append(names, r.Root)
		}
	})
	if got := strings.Join(names, " "); got != "a b c d e f" {
		t.Errorf("visited %s", got)
	}
}

func TestWithArticle(t *testing.T) {
	for word, want := range map[string]string{"length": "a length", "angle": "an angle", "operation": "an operation", "unit": "a unit", "unbalance": "an unbalance", "area": "an area", "": "a "} {
		if got := WithArticle(word); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
