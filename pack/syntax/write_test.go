package syntax

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// Whatever a person types into a form stays inside its quotes: the block that is read
// back has the one line that was written, and that line says what was typed.
func TestQuoteHoldsAnyText(t *testing.T) {
	hostile := []string{
		`" }` + "\n" + `joint "evil" { thread = "M8" }`, `\`, `\\"`, `a\`, `${1+1}`, `$${`, `%{ if true }`, `"`, `""`, "\x00", "a\r\nb = 1",
		"\u2028x = 1", "# no comment", "/* nor this", "<<EOT\nx\nEOT", "}", `$`, `$"{`, `\${x}`, `%%{`, "‮evil", "$\u200b{x}", "é ½ µ", `\u0022`, "'", "`",
	}
	try := func(t interface{ Fatalf(string, ...any) }, text string) {
		d := Draft{Kind: "note", Name: text}
		if Plain(text) == "" {
			d.Name = "x"
		}
		d.Set("title", Quote(text))
		d.Set("list", QuoteList([]string{text, "end"}))
		blocks, mistakes := Parse(File{Name: "x.pack", Text: []byte(d.String())}, map[string]bool{"note": true})
		if len(mistakes) > 0 {
			t.Fatalf("%q: %v in\n%s", text, mistakes, d.String())
		}
		if len(blocks) != 1 || blocks[0].Kind != "note" || len(blocks[0].Attributes) != 2 || len(blocks[0].Labels) != 1 {
			t.Fatalf("%q broke out of its text:\n%s", text, d.String())
		}
		title, ok := blocks[0].Attribute("title").Value.(*Text)
		if !ok || title.Value != Plain(text) {
			t.Fatalf("%q reads back as %#v, want %q", text, blocks[0].Attribute("title").Value, Plain(text))
		}
		list, ok := blocks[0].Attribute("list").Value.(*List)
		if !ok || len(list.Items) != 2 || list.Items[1].(*Text).Value != "end" {
			t.Fatalf("%q broke out of its list:\n%s", text, d.String())
		}
		if again := DraftOf(blocks[0]); again.String() != d.String() {
			t.Fatalf("%q written again:\n%s\nwas\n%s", text, again.String(), d.String())
		}
	}
	for _, text := range hostile {
		try(t, text)
	}
	random := rand.New(rand.NewPCG(1, 2))
	pieces := append([]string{"$", "{", "%", `\`, `"`, "}", "\n", " ", "a", "é"}, hostile...)
	for range 3000 {
		var text strings.Builder
		for range 1 + random.IntN(6) {
			text.WriteString(pieces[random.IntN(len(pieces))])
			text.WriteRune(rune(random.IntN(0x300)))
		}
		try(t, text.String())
	}
}

// An expression that is printed reads back as the same tree, so that printing it once
// more gives the same text.
func TestPrintReadsBack(t *testing.T) {
	for _, text := range []string{
		`a - b - c`, `a - (b - c)`, `-a * (b + 2.50)`, `!(a == "x" && b != "y") || c`, `x > "2 mm" ? f(a, b["front"]) : (y ? 1 : 2)`, `a.b.c`, `[1, "two", [three]]`, `{ a = 1, "b c" = "d" }`,
		`a / (b * c) % d`, `a <= b`, `1e-3`,
	} {
		blocks, mistakes := Parse(File{Name: "x.pack", Text: []byte("n \"x\" {\n  v = " + text + "\n}\n")}, map[string]bool{"n": true})
		if len(mistakes) > 0 {
			t.Fatalf("%s: %v", text, mistakes)
		}
		once := Print(blocks[0].Attribute("v").Value)
		again, mistakes := Parse(File{Name: "x.pack", Text: []byte("n \"x\" {\n  v = " + once + "\n}\n")}, map[string]bool{"n": true})
		if len(mistakes) > 0 {
			t.Fatalf("%s printed as %s: %v", text, once, mistakes)
		}
		if twice := Print(again[0].Attribute("v").Value); twice != once {
			t.Errorf("%s printed as %s and then as %s", text, once, twice)
		}
		if !strings.Contains(text, "(") && once != text {
			// Brackets may come in; nothing may be lost.
			if strings.NewReplacer("(", "", ")", "").Replace(once) != text {
				t.Errorf("%s printed as %s", text, once)
			}
		}
	}
}
