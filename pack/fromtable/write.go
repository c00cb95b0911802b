package fromtable

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// block is one block of the pack language, with the comments above it. A block
// without a kind is comments only.
type block struct {
	comments    []string
	kind, label string
	attributes  []attribute
	nested      []block
}

type attribute struct{ name, expression string }

func (b *block) comment(format string, args ...any) {
	b.comments = append(b.comments, clean(fmt.Sprintf(format, args...)))
}

func (b *block) set(name, expression string) {
	b.attributes = append(b.attributes, attribute{name, expression})
}

func (b *block) write(out *strings.Builder) { b.indented(out, "") }

func (b *block) indented(out *strings.Builder, indent string) {
	for _, c := range b.comments {
		out.WriteString(indent + "# " + c + "\n")
	}
	if b.kind == "" {
		return
	}
	out.WriteString(indent + b.kind)
	if b.label != "" {
		out.WriteString(" " + quote(b.label))
	}
	out.WriteString(" {\n")
	widest := 0
	for _, a := range b.attributes {
		widest = max(widest, len(a.name))
	}
	for _, a := range b.attributes {
		fmt.Fprintf(out, "%s  %-*s = %s\n", indent, widest, a.name, a.expression)
	}
	for i := range b.nested {
		b.nested[i].indented(out, indent+"  ")
	}
	out.WriteString(indent + "}\n")
}

// clean makes text safe for one line of a pack: no line ends, control signs or
// template openings.
func clean(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || unicode.In(r, unicode.Zl, unicode.Zp) {
			return -1
		}
		return r
	}, text)
	text = strings.NewReplacer("${", "$ {", "%{", "% {").Replace(text)
	return strings.Join(strings.Fields(text), " ")
}

// quote writes text as a string of the pack language. Quotation marks and
// backslashes are replaced, so that the string needs no escapes.
func quote(text string) string {
	return `"` + strings.NewReplacer(`"`, `'`, `\`, `/`).Replace(clean(text)) + `"`
}

// sources writes the source of each figure; figures without one are left out.
func sources(pairs ...string) string {
	var parts []string
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			parts = append(parts, pairs[i]+" = "+quote(pairs[i+1]))
		}
	}
	if parts == nil {
		return ""
	}
	return "{ " + strings.Join(parts, ", ") + " }"
}

// capital gives a sentence its first letter; a label all in capitals loses them.
func capital(text string) string {
	if text == strings.ToUpper(text) {
		text = strings.ToLower(text)
	}
	r, n := utf8.DecodeRuneInString(text)
	if n == 0 {
		return text
	}
	return string(unicode.ToUpper(r)) + text[n:]
}
