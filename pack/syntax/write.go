package syntax

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain makes text safe for one line of a pack: line ends and tabs become blanks, what
// cannot be seen is left out, and blanks at either end too.
func Plain(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, unicode.IsControl(r), unicode.Is(unicode.Cf, r), unicode.In(r, unicode.Zl, unicode.Zp, unicode.Co, unicode.Cs):
			return -1
		}
		return r
	}, text)
	return strings.Join(strings.Fields(text), " ")
}

// Quote writes text as a string of the pack language that reads back as Plain(text),
// whatever the text holds: it cannot end the string or begin a template.
func Quote(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "${", "$${", "%{", "%%{").Replace(Plain(text)) + `"`
}

// QuoteName writes text as the name of a block that is free text: without quotes, since a
// name takes none.
func QuoteName(text string) string {
	return `"` + strings.NewReplacer(`\`, "/", `"`, "'", "${", "$ {", "%{", "% {").Replace(Plain(text)) + `"`
}

// QuoteList writes texts as a list.
func QuoteList(texts []string) string {
	list := make([]string, len(texts))
	for i, t := range texts {
		list[i] = Quote(t)
	}
	return "[" + strings.Join(list, ", ") + "]"
}

// Line is `name = expression` in a block that is being written.
type Line struct{ Name, Expression string }

// Draft is a block that is being written. What stands in Lines is written as it is:
// make it with Quote and its kin.
type Draft struct {
	Kind, Name string
	Lines      []Line
	Nested     []Draft
}

// Set adds a line.
func (d *Draft) Set(name, expression string) { d.Lines = append(d.Lines, Line{name, expression}) }

// Text adds a line with a text, or none when it is empty.
func (d *Draft) Text(name, text string) {
	if Plain(text) != "" {
		d.Set(name, Quote(text))
	}
}

// String is the block as text.
func (d *Draft) String() string {
	var b strings.Builder
	d.write(&b, "")
	return b.String()
}

func (d *Draft) write(b *strings.Builder, indent string) {
	b.WriteString(indent + d.Kind)
	if d.Name != "" {
		b.WriteString(" " + QuoteName(d.Name))
	}
	b.WriteString(" {\n")
	widest := 0
	for _, l := range d.Lines {
		widest = max(widest, len(l.Name))
	}
	for _, l := range d.Lines {
		b.WriteString(indent + "  " + l.Name + strings.Repeat(" ", widest-len(l.Name)) + " = " + l.Expression + "\n")
	}
	for i := range d.Nested {
		d.Nested[i].write(b, indent+"  ")
	}
	b.WriteString(indent + "}\n")
}

// DraftOf is a block that was read, ready to be written again.
func DraftOf(block *Block) Draft {
	d := Draft{Kind: block.Kind, Name: block.Name()}
	for _, a := range block.Attributes {
		d.Set(a.Name, Print(a.Value))
	}
	for _, n := range block.Blocks {
		d.Nested = append(d.Nested, DraftOf(n))
	}
	return d
}

// Print writes an expression so that it reads back as the same.
func Print(e Expr) string {
	switch x := e.(type) {
	case *Number:
		return x.Text
	case *Text:
		return Quote(x.Value)
	case *Bool:
		if x.Value {
			return "true"
		}
		return "false"
	case *Reference:
		text := x.Root
		for _, s := range x.Steps {
			if s.IsKey {
				text += "[" + Quote(s.Name) + "]"
			} else {
				text += "." + s.Name
			}
		}
		return text
	case *Call:
		return x.Function + "(" + printList(x.Arguments) + ")"
	case *Unary:
		return x.Operator + within(x.X)
	case *Binary:
		return within(x.X) + " " + x.Operator + " " + within(x.Y)
	case *Conditional:
		return within(x.Test) + " ? " + within(x.Then) + " : " + within(x.Else)
	case *List:
		return "[" + printList(x.Items) + "]"
	case *Object:
		items := make([]string, len(x.Items))
		for i, item := range x.Items {
			items[i] = Print(item.Key) + " = " + Print(item.Value)
		}
		return "{ " + strings.Join(items, ", ") + " }"
	}
	return `""`
}

func printList(list []Expr) string {
	texts := make([]string, len(list))
	for i, e := range list {
		texts[i] = Print(e)
	}
	return strings.Join(texts, ", ")
}

// within prints a part of an expression; one that has an operator itself gets its
// brackets.
func within(e Expr) string {
	switch e.(type) {
	case *Unary, *Binary, *Conditional:
		return "(" + Print(e) + ")"
	}
	return Print(e)
}
