package pack

import (
	"bytes"
	"fmt"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"buttonup/pack/syntax"
)

const head = "pack \"p\" {\n  title = \"t\"\n}\n"

// only demands one mistake with a code at a place, and returns it.
func only(t *testing.T, text, code string, line, column int) Mistake {
	t.Helper()
	_, mistakes := Load([]File{{Name: "p.pack", Text: []byte(text)}}, nil)
	if len(mistakes) != 1 || mistakes[0].Code != code || mistakes[0].Span.Line != line || mistakes[0].Span.Column != column {
		t.Errorf("want one mistake %s at %d:%d, got %d: %v", code, line, column, len(mistakes), mistakes)
		return Mistake{}
	}
	if mistakes[0].Says == "" || mistakes[0].Do == "" {
		t.Errorf("%+v says too little", mistakes[0])
	}
	return mistakes[0]
}

// growth demands that four times the text is read with little more than four times the
// memory: what looks through everything again for each block shows in it on any machine.
// How long it takes is for [BenchmarkGuards]; a test that hangs ends by its own limit.
func growth(t *testing.T, text func(n int) string, n int) {
	t.Helper()
	spent := func(n int) float64 {
		file := []File{{Name: "p.pack", Text: []byte(text(n))}}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		Load(file, nil)
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc - before.TotalAlloc)
	}
	if small, large := spent(n/4), spent(n); large > 5*small {
		t.Errorf("%d blocks need %.0f MB, %d need %.0f MB: %.1f times as much", n/4, small/1e6, n, large/1e6, large/small)
	}
}

// Danger: a file that is no pack, or a hostile one, ends the process or hangs it.
func TestGuards(t *testing.T) {
	deep := func(open, close string, n int) string {
		return "number \"n\" {\n  value = " + strings.Repeat(open, n) + "1" + strings.Repeat(close, n) + "\n}\n" + head
	}
	for name, c := range map[string]struct {
		text         string
		code         string
		line, column int
	}{
		"ten megabytes":               {strings.Repeat("# ten bytes\n", 10<<20/12), "syntax.too-large", 1, 1},
		"one byte too many":           {head + strings.Repeat("#", syntax.LargestFile-len(head)) + "\n", "syntax.too-large", 1, 1},
		"a hundred thousand brackets": {deep("(", ")", 100_000), "syntax.too-deep", 2, 110},
		"brackets that never close":   {"number \"n\" {\n  value = " + strings.Repeat("[", 100_000), "syntax.too-deep", 2, 110},
		"braces that never close":     {strings.Repeat("a {\n", 100_000), "syntax.too-deep", 101, 3},
		"a million nots":              {deep("!", "", 1_000_000), "syntax.too-deep", 2, 110},
		"half a million minuses":      {deep("- ", "", 500_000), "syntax.too-deep", 2, 11 + 2*99},
		"choices inside choices":      {deep("1 > 2 ? 1 : ", "", 80_000), "syntax.too-deep", 2, 11 + 12*99 + 6},
		"a sum of half a million":     {deep("1 + ", "", 200_000), "syntax.too-deep", 2, 11 + 4*2000 + 2},
		"invalid UTF-8":               {head + "# caf\xe9\n", "syntax.not-text", 4, 6},
		"UTF-16 of a word processor":  {"\xff\xfep\x00a\x00c\x00k\x00", "syntax.not-text", 1, 1},
		"a NUL":                       {head + "#\x00\n", "syntax.not-text", 4, 2},
		"a picture":                   {"\x89PNG\r\n\x1a\n\x00\x00", "syntax.not-text", 1, 1},
	} {
		t.Run(name, func(t *testing.T) {
			_, mistakes := Load([]File{{Name: "p.pack", Text: []byte(c.text)}}, nil)
			// A file that is not read holds no pack block either; that is not told too.
			if len(mistakes) != 1 || mistakes[0].Code != c.code || mistakes[0].Span.Line != c.line || mistakes[0].Span.Column != c.column {
				t.Errorf("want %s at %d:%d alone, got %d: %.300v", c.code, c.line, c.column, len(mistakes), mistakes)
			}
			for _, m := range mistakes {
				if m.Do == "" || len(m.Source) > 1000 || len(m.Underline) > 1000 {
					t.Errorf("%.500v: source of %d bytes", m, len(m.Source))
				}
			}
		})
	}
}

// Danger: the cap on nesting refuses an honest formula, or lets a dishonest one by.
func TestNestingBelowTheCap(t *testing.T) {
	sum := strings.TrimSuffix(strings.Repeat("1 + ", 1500), " + ")
	for name, value := range map[string]string{
		"brackets": strings.Repeat("(", 98) + "1" + strings.Repeat(")", 98),
		"calls":    strings.Repeat("sqrt(", 98) + "1" + strings.Repeat(")", 98),
		"choices":  strings.Repeat("1 > 2 ? 1 : ", 98) + "1",
		"nots":     strings.Repeat("!", 98) + "true ? 1 : 2",
		"a sum":    sum,
		"all":      "(" + sum + ") * (" + strings.Repeat("(", 50) + "1 > 2 ? 1 : -2" + strings.Repeat(")", 50) + ")",
		"points":   "sum(" + strings.TrimSuffix(strings.Repeat("-1, ", 5000), ", ") + ")",
	} {
		t.Run(name, func(t *testing.T) {
			p, mistakes := Load([]File{{Name: "p.pack", Text: []byte(head + "number \"n\" {\n  value = " + value + "\n}\n")}}, nil)
			if len(mistakes) > 0 || len(p.Numbers) != 1 || p.Numbers[0].Value == nil {
				t.Errorf("%.300v", mistakes)
			}
		})
	}
}

// longLines are texts with a line of a megabyte, and with 100,000 mistakes on one.
func longLines() (note, list, wrong string) {
	return head + "dimension \"bore\" {\n  note = \"" + strings.Repeat("é", 500_000) + "\"\n  step = \"0.001 mm\"\n}\n",
		head + "operation \"a\" {\n}\noperation \"b\" {\n  needs = [" + strings.Repeat("operation.a, ", 20_000) + "operation.missing]\n}\n",
		head + "operation \"b\" {\n  needs = [" + strings.Repeat("a,", 100_000) + "a]\n}\n"
}

// A line of a megabyte is read, and a mistake in it is shown with what stands about
// it, not with all of the line.
func TestAVeryLongLine(t *testing.T) {
	note, list, wrong := longLines()
	p, mistakes := Load([]File{{Name: "p.pack", Text: []byte(note)}}, nil)
	if len(mistakes) > 0 || len([]rune(p.Dimensions[0].Note)) != 500_000 {
		t.Errorf("%.300v", mistakes)
	}
	m := only(t, list, "pack.unknown-name", 7, 12+13*20_000)
	at := strings.IndexByte(m.Underline, '~')
	if source := []rune(m.Source); len(source) > 200 || at < 0 || !strings.HasPrefix(string(source[at:]), "operation.missing]") {
		t.Errorf("source %q\nunderline %q", m.Source, m.Underline)
	}
	_, mistakes = Load([]File{{Name: "p.pack", Text: []byte(wrong)}}, nil)
	if len(mistakes) != syntax.MostMistakes {
		t.Errorf("%d mistakes", len(mistakes))
	}
}

// Columns count characters: tabs, accents and signs of several bytes are one each,
// and neither a byte order mark nor the line ends of another system move them.
func TestColumns(t *testing.T) {
	for name, text := range map[string]string{
		"as it is":               "%s",
		"with a byte order mark": "\ufeff%s",
	} {
		for ends, end := range map[string]string{"LF": "\n", "CRLF": "\r\n"} {
			t.Run(name+" "+ends, func(t *testing.T) {
				load := func(block, code string, line, column int) {
					t.Helper()
					m := only(t, strings.ReplaceAll(fmt.Sprintf(text, head+block), "\n", end), code, line, column)
					if strings.ContainsAny(m.Source, "\r\t\ufeff") || strings.IndexByte(m.Underline, '~') != column-1 {
						t.Errorf("source %q, underline %q", m.Source, m.Underline)
					}
				}
				load("dimension \"bore\" {\n  step = 0.001 mm\n}\n", "syntax.unquoted", 5, 10)
				load("dimension \"bore\" {\n\tstep\t= 0.001 mm\n}\n", "syntax.unquoted", 5, 9)
				load("dimension \"bore\" {\n  sources = { new = \"Müller, Größe 5 µm · ½\", limit = 5 }\n}\n", "pack.attribute", 5, 55)
				load("number \"n\" {\n  value = max(1, unheard_of)\n}\n", "formula.unknown-name", 5, 18)
				load("dimension \"bore\" {\n  title = \"Bore\n}\n", "syntax.quote", 5, 11)
				load("dimension \"bore\" {\n  new = \"92,004 .. 93 mm\"\n}\n", "quantity.unreadable", 5, 9)
				load("dimension \"bore\" {\n  step = \"0.001 mm\"\n", "syntax.unclosed", 4, 1)
				load("dimension \"bore\" {\n  step = \"0.001 mm\"\n}\n}\n", "syntax.bracket", 7, 1)
				load("dimension \"bore\" {\n  note = <<END\none\ntwo\nEND\n  stpe = \"1 mm\"\n}\n", "pack.unknown-attribute", 9, 3)
			})
		}
	}
}

// Comments, long texts and odd spacing are no mistakes.
func TestLayout(t *testing.T) {
	for name, text := range map[string]string{
		"comments":               "# one { \"\n// two [\n/* three (\n\" */\n/**/\n/***/\n" + head + "# last",
		"comment inside a block": "pack \"p\" {\n  # a } here\n  title = \"t\" # and \" here\n  /* and { here */\n}\n",
		"no end of line":         strings.TrimSuffix(head, "\n"),
		"blank lines":            "\n\n  \n" + head + "\n\t\n",
		"brackets in texts":      "pack \"p\" {\n  title = \"a } and { and ( \\\" [ # // /* \"\n}\n",
		"a long text":            "pack \"p\" {\n  title = \"t\"\n  note = <<END\n  } { \" (\nEND\n}\n",
		"indented":               "  pack \"p\" {\n    title = \"t\"\n  }\n",
		"one line":               "pack \"p\" { title = \"t\" }\n",
		"formula over lines":     head + "number \"n\" {\n  value = (1\n    + 2\n    - 3)\n}\n",
		"list over lines":        head + "place \"p\" {\n  each = [\n    \"a\", # first\n    \"b\",\n  ]\n}\n",
		"table over lines":       head + "dimension \"d\" {\n  sources = {\n    new = \"a\"\n    limit = \"b\",\n    \"step\" = \"c\"\n  }\n}\n",
		"kind words in texts":    head + "dimension \"d\" {\n  note = <<END\ndimension \"e\" {\nEND\n}\n",
		"dollar":                 "pack \"p\" {\n  title = \"costs $5, 5 %, $${plain}\"\n}\n",
	} {
		t.Run(name, func(t *testing.T) {
			if p, mistakes := Load([]File{{Name: "p.pack", Text: []byte(text)}}, nil); len(mistakes) > 0 || p.Name != "p" {
				var b bytes.Buffer
				_ = mistakes.Write(&b)
				t.Errorf("pack %q\n%s", p.Name, b.String())
			}
		})
	}
}

// synthetic writes a pack of n blocks: dimensions, numbers on them, checks and
// operations that need each other in a chain.
func synthetic(n int) []byte {
	var b bytes.Buffer
	b.WriteString(head + "place \"cylinder\" {\n  each = [\"front\", \"rear\"]\n}\n")
	for i := range n / 4 {
		fmt.Fprintf(&b, "dimension \"d%d\" {\n  at    = cylinder\n  step  = \"0.001 mm\"\n  new   = \"10.000 .. 10.010 mm\"\n  limit = \"<= 10.050 mm\"\n}\n", i)
		if i == 0 {
			b.WriteString("number \"n0\" {\n  at = cylinder\n  value = 2 * d0\n  unit = \"mm\"\n}\noperation \"o0\" {\n}\n")
		} else {
			fmt.Fprintf(&b, "number \"n%d\" {\n  at    = cylinder\n  value = n%d + d%d - d%d\n  unit  = \"mm\"\n}\n", i, i-1, i, i-1)
			fmt.Fprintf(&b, "operation \"o%d\" {\n  needs = [operation.o%d]\n  holds = [number.n%d, dimension.d%d]\n}\n", i, i-1, i, i)
		}
		fmt.Fprintf(&b, "check \"c%d\" {\n  ask = \"Is it clean?\"\n}\n", i)
	}
	return b.Bytes()
}

// Danger: reading a big pack takes what grows with the square of its size.
func TestTenThousandBlocks(t *testing.T) {
	p, mistakes := Load([]File{{Name: "p.pack", Text: synthetic(10_000)}}, nil)
	if len(mistakes) > 0 || len(p.Dimensions) != 2500 || len(p.Numbers) != 2500 || len(p.Checks) != 2500 || len(p.Operations) != 2500 {
		t.Errorf("%.300v", mistakes)
	}
	growth(t, func(n int) string { return string(synthetic(n)) }, 10_000)
}

// wrongTexts are texts of so many blocks, each with a mistake or all of them with one.
var wrongTexts = []struct {
	name string
	text func(n int) string
	code string
	many int
}{
	{"unknown names", blocks("number \"a%[1]d\" {\n  value = b%[1]d\n}\n"), "formula.unknown-name", syntax.MostMistakes},
	{"unquoted quantities", blocks("number \"a%[1]d\" {\n  value = 1 mm\n}\n"), "syntax.unquoted", syntax.MostMistakes},
	{"open blocks", blocks("number \"a%[1]d\" {\n  value = 1\n"), "syntax.unclosed", syntax.MostMistakes},
	{"one loop of them all", blocks("number \"a%[1]d\" {\n  value = a%[2]d\n}\n"), "formula.loop", 1},
	{"in one block", func(n int) string { return "number \"a\" {\n" + strings.Repeat("  value = 1 mm\n", 2*n) + "}\n" }, "syntax.unquoted", 2},
}

// blocks writes a block for each number below n, with the number after it, the last
// with the first.
func blocks(format string) func(n int) string {
	return func(n int) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(strings.NewReplacer("%[1]d", strconv.Itoa(i), "%[2]d", strconv.Itoa((i+1)%n)).Replace(format))
		}
		return b.String()
	}
}

// Mistakes by the thousand are cut off, the first of each file are kept, and the cut
// takes no more for each than a few of them do.
func TestTenThousandMistakes(t *testing.T) {
	for _, c := range wrongTexts {
		t.Run(c.name, func(t *testing.T) {
			_, mistakes := Load([]File{{Name: "p.pack", Text: []byte(head + c.text(10_000))}}, nil)
			if len(mistakes) < c.many || len(mistakes) > syntax.MostMistakes {
				t.Fatalf("%d mistakes, want %d", len(mistakes), c.many)
			}
			for i, m := range mistakes {
				if m.Code != c.code || i > 0 && m.Span.Start < mistakes[i-1].Span.Start || len(m.Says) > 600 {
					t.Fatalf("%d: %.300v", i, m)
				}
			}
			if first := mistakes[0].Span.Line; first > 6 {
				t.Errorf("the first is told at line %d", first)
			}
			growth(t, func(n int) string { return head + c.text(n) }, 10_000)
		})
	}
}

// BenchmarkGuards is the goal that no text, however wrong, keeps a person waiting: 4
// seconds for ten thousand blocks, 8 for as many mistakes. What it guards against takes
// minutes.
func BenchmarkGuards(b *testing.B) {
	note, list, wrong := longLines()
	texts := []struct {
		name, text string
		most       time.Duration
	}{{"blocks", string(synthetic(10_000)), 4 * time.Second}, {"a long note", note, 5 * time.Second}, {"a long list", list, 8 * time.Second}, {"mistakes on one line", wrong, 8 * time.Second}}
	for _, c := range wrongTexts {
		texts = append(texts, struct {
			name, text string
			most       time.Duration
		}{c.name, head + c.text(10_000), 8 * time.Second})
	}
	for _, c := range texts {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				Load([]File{{Name: "p.pack", Text: []byte(c.text)}}, nil)
			}
			if took := b.Elapsed() / time.Duration(b.N); took > c.most {
				b.Errorf("took %v, more than %v", took, c.most)
			}
		})
	}
}

// Two files with more mistakes than are shown: each shows its own.
func TestMistakesOfEveryFile(t *testing.T) {
	var wrong bytes.Buffer
	for i := range 300 {
		fmt.Fprintf(&wrong, "check \"c%%[1]s%d\" {\n  photo = 1\n}\n", i)
	}
	a, b := fmt.Sprintf(wrong.String(), "a"), fmt.Sprintf(wrong.String(), "b")
	_, mistakes := Load([]File{{Name: "b.pack", Text: []byte(b)}, {Name: "a.pack", Text: []byte(head + a)}}, nil)
	count := map[string]int{}
	for _, m := range mistakes {
		count[m.Span.File]++
		if m.Source != "  photo = 1" || m.Underline != "          ~" {
			t.Fatalf("%+v", m)
		}
	}
	if count["a.pack"] != syntax.MostMistakes || count["b.pack"] != syntax.MostMistakes {
		t.Errorf("%v", count)
	}
}
