package syntax

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// Parse reads the blocks of a file. Kinds are the block kinds of the language; a
// file is cut where one of them begins a line. Blocks come in the order of the file,
// those that were damaged too, with what could be read of them.
func Parse(f File, kinds map[string]bool) ([]*Block, Mistakes) {
	f.Text = bytes.TrimPrefix(f.Text, []byte("\ufeff"))
	if m, bad := guard(f); bad {
		ms := Mistakes{m}
		ms.Illustrate([]File{f})
		return nil, ms
	}
	p := parser{file: f}
	var blocks []*Block
	for _, c := range cut(f, kinds) {
		blocks = append(blocks, p.chunk(c)...)
	}
	p.mistakes.Sort()
	if len(p.mistakes) > MostMistakes {
		p.mistakes = p.mistakes[:MostMistakes]
	}
	p.mistakes.Illustrate([]File{f})
	return blocks, p.mistakes
}

// ParseExpression reads a single expression, as a command-line argument holds it.
func ParseExpression(f File) (Expr, Mistakes) {
	if m, bad := guard(f); bad {
		ms := Mistakes{m}
		ms.Illustrate([]File{f})
		return &Broken{m.Span}, ms
	}
	p := parser{file: f}
	e, diags := hclsyntax.ParseExpression(f.Text, f.Name, hcl.InitialPos)
	if diags.HasErrors() {
		p.mistake(diags[0], f.Text, 0)
		p.mistakes.Illustrate([]File{f})
		return &Broken{p.mistakes[0].Span}, p.mistakes
	}
	expr := p.expr(e)
	p.mistakes.Illustrate([]File{f})
	return expr, p.mistakes
}

type parser struct {
	file     File
	mistakes Mistakes
}

func (p *parser) add(code string, span Span, says, do string) {
	p.mistakes = append(p.mistakes, Mistake{Code: code, Span: span, Says: says, Do: do})
}

func (p *parser) span(r hcl.Range) Span {
	return Span{File: p.file.Name, Line: r.Start.Line, Column: r.Start.Column, EndLine: r.End.Line, EndCo: r.End.Column, Start: r.Start.Byte, End: r.End.Byte}
}

// mostRetries bounds how often a block is read again with a bad attribute blanked.
const mostRetries = 40

// chunk parses one top-level block. What cannot be read is reported, blanked out
// and remembered as lost, and the rest is read again.
func (p *parser) chunk(c chunk) []*Block {
	text := bytes.Clone(c.text)
	if c.unclosed > 0 {
		at := c.start + len(c.text) - len(bytes.TrimLeft(c.text, " \t\r\n"))
		header := spanAt(p.file, at, at+len(strings.TrimRight(c.headerLine, " \t\r{")))
		p.add("syntax.unclosed", header, "this block is not closed", "put a closing brace } on a line of its own where the block ends")
		text = append(bytes.TrimRight(text, " \t\r\n"), bytes.Repeat([]byte("\n}"), c.unclosed)...)
	}
	lost := map[string]bool{}
	for range mostRetries {
		file, diags := hclsyntax.ParseConfig(text, p.file.Name, hcl.Pos{Line: c.line, Column: 1, Byte: c.start})
		var first *hcl.Diagnostic
		for _, d := range diags {
			if d.Severity == hcl.DiagError && d.Subject != nil && (first == nil || d.Subject.Start.Byte < first.Subject.Start.Byte) {
				first = d
			}
		}
		if first == nil {
			body := file.Body.(*hclsyntax.Body)
			for _, a := range body.Attributes {
				p.add("pack.stray-attribute", p.span(a.NameRange), fmt.Sprintf("%s stands outside of any block", a.Name), "move it into the block that it belongs to")
			}
			blocks := p.blocks(body.Blocks)
			if len(blocks) > 0 {
				blocks[0].Lost = lost
			}
			return blocks
		}
		if c.unclosed == 0 || first.Subject.Start.Byte < c.start+len(c.text) {
			p.mistake(first, text, c.start)
		}
		if !blank(text, first.Subject.Start.Byte-c.start, lost) {
			break
		}
	}
	// Not readable at all; keep the name so that references to it stand.
	if m := headerPattern.FindStringSubmatch(c.headerLine); m != nil {
		at := c.start + bytes.Index(c.text, []byte(m[0]))
		return []*Block{{Kind: m[1], Labels: []Label{{Text: m[2], Span: spanAt(p.file, at, at+len(m[0]))}}, Span: spanAt(p.file, at, at+len(m[0])), Lost: map[string]bool{"*": true}}}
	}
	return nil
}

var (
	headerPattern    = regexp.MustCompile(`([a-z_]+)\s+"([^"\n]*)"`)
	attributePattern = regexp.MustCompile(`^\s*([A-Za-z_][A-Za-z0-9_-]*)\s*=(?:[^=]|$)`)
)

// blank overwrites the attribute (or the line) that holds the byte at offset with
// spaces and records the attribute as lost. It is false when there is nothing left
// to blank there.
func blank(text []byte, offset int, lost map[string]bool) bool {
	offset = min(max(offset, 0), len(text)-1)
	from := bytes.LastIndexByte(text[:offset], '\n') + 1
	// The attribute may have begun some lines above: go up while brackets that
	// were opened there are still open here.
	start := from
	for s := from; ; {
		line := lineAt(text, s)
		if attributePattern.Match(line) {
			if s == from || openBrackets(text[s:from]) > 0 {
				start = s
			}
			break
		}
		if s == 0 {
			break
		}
		s = bytes.LastIndexByte(text[:s-1], '\n') + 1
	}
	end := start + len(lineAt(text, start))
	for end < len(text) && openBrackets(text[start:end]) > 0 && end-start < 4000 {
		next := lineAt(text, end+1)
		if attributePattern.Match(next) || start > 0 && bytes.HasPrefix(bytes.TrimSpace(next), []byte("}")) {
			break
		}
		end = min(len(text), end+1+len(next))
	}
	if end < offset {
		start, end = from, from+len(lineAt(text, from))
	}
	if len(bytes.TrimSpace(text[start:end])) == 0 || bytes.Equal(bytes.TrimSpace(text[start:end]), []byte("}")) {
		return false
	}
	if headerPattern.Match(lineAt(text, start)) && !attributePattern.Match(lineAt(text, start)) && start == firstLine(text) {
		return false
	}
	if m := attributePattern.FindSubmatch(lineAt(text, start)); m != nil {
		lost[string(m[1])] = true
	} else if f := bytes.Fields(lineAt(text, start)); len(f) > 0 {
		lost[strings.Trim(string(f[0]), `="{`)] = true
	}
	for i := start; i < end; i++ {
		if text[i] != '\n' {
			text[i] = ' '
		}
	}
	return true
}

func firstLine(text []byte) int {
	at := len(text) - len(bytes.TrimLeft(text, " \t\r\n"))
	return bytes.LastIndexByte(text[:at], '\n') + 1
}

func lineAt(text []byte, from int) []byte {
	if from >= len(text) {
		return nil
	}
	if i := bytes.IndexByte(text[from:], '\n'); i >= 0 {
		return text[from : from+i]
	}
	return text[from:]
}

func openBrackets(text []byte) int {
	var w walker
	n := 0
	for i := range text {
		switch w.step(text, i) {
		case '(', '[', '{':
			n++
		case ')', ']', '}':
			n--
		}
	}
	return n
}

func (p *parser) blocks(list hclsyntax.Blocks) []*Block {
	var out []*Block
	for _, b := range list {
		block := &Block{Kind: b.Type, Span: p.span(b.TypeRange)}
		for i, l := range b.Labels {
			s := p.span(b.LabelRanges[i])
			block.Labels = append(block.Labels, Label{l, s})
			block.Span = block.Span.Until(s)
		}
		for _, a := range b.Body.Attributes {
			block.Attributes = append(block.Attributes, &Attribute{Name: a.Name, Span: p.span(a.NameRange)})
		}
		sortBy(block.Attributes, func(a *Attribute) int { return a.Span.Start })
		for _, a := range block.Attributes {
			a.Value = p.expr(b.Body.Attributes[a.Name].Expr)
		}
		block.Blocks = p.blocks(b.Body.Blocks)
		out = append(out, block)
	}
	return out
}

func sortBy[T any](list []T, key func(T) int) {
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && key(list[j]) < key(list[j-1]); j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

var operators = map[*hclsyntax.Operation]string{
	hclsyntax.OpAdd: "+", hclsyntax.OpSubtract: "-", hclsyntax.OpMultiply: "*", hclsyntax.OpDivide: "/", hclsyntax.OpModulo: "%",
	hclsyntax.OpEqual: "==", hclsyntax.OpNotEqual: "!=", hclsyntax.OpLessThan: "<", hclsyntax.OpLessThanOrEqual: "<=",
	hclsyntax.OpGreaterThan: ">", hclsyntax.OpGreaterThanOrEqual: ">=", hclsyntax.OpLogicalAnd: "&&", hclsyntax.OpLogicalOr: "||",
	hclsyntax.OpNegate: "-", hclsyntax.OpLogicalNot: "!",
}

func (p *parser) expr(e hclsyntax.Expression) Expr {
	span := p.span(e.Range())
	refuse := func(code, says, do string) Expr {
		p.add(code, span, says, do)
		return &Broken{span}
	}
	switch e := e.(type) {
	case *hclsyntax.ParenthesesExpr:
		return p.expr(e.Expression)
	case *hclsyntax.LiteralValueExpr:
		return p.literal(e, span)
	case *hclsyntax.TemplateExpr:
		var text strings.Builder
		for _, part := range e.Parts {
			l, ok := part.(*hclsyntax.LiteralValueExpr)
			if !ok || l.Val.Type().FriendlyName() != "string" {
				return refuse("syntax.template", "a ${ } or %{ } inside a text is not part of the language", "write the text without it; $${ stands for a plain ${")
			}
			text.WriteString(l.Val.AsString())
		}
		return &Text{text.String(), span}
	case *hclsyntax.TemplateWrapExpr:
		return refuse("syntax.template", "a ${ } inside a text is not part of the language", "write the formula without the quotes and ${ }")
	case *hclsyntax.ScopeTraversalExpr:
		return p.reference(e.Traversal, span)
	case *hclsyntax.FunctionCallExpr:
		call := &Call{Function: e.Name, Span: span, NameSpan: p.span(e.NameRange)}
		if e.ExpandFinal {
			return refuse("syntax.splat", "... after an argument is not part of the language", "write each argument, or use each(name)")
		}
		for _, a := range e.Args {
			call.Arguments = append(call.Arguments, p.expr(a))
		}
		return call
	case *hclsyntax.ConditionalExpr:
		return &Conditional{p.expr(e.Condition), p.expr(e.TrueResult), p.expr(e.FalseResult), span}
	case *hclsyntax.BinaryOpExpr:
		return &Binary{operators[e.Op], p.expr(e.LHS), p.expr(e.RHS), span}
	case *hclsyntax.UnaryOpExpr:
		return &Unary{operators[e.Op], p.expr(e.Val), span}
	case *hclsyntax.TupleConsExpr:
		list := &List{Span: span}
		for _, x := range e.Exprs {
			list.Items = append(list.Items, p.expr(x))
		}
		return list
	case *hclsyntax.ObjectConsExpr:
		object := &Object{Span: span}
		for _, item := range e.Items {
			object.Items = append(object.Items, Item{p.key(item.KeyExpr), p.expr(item.ValueExpr)})
		}
		return object
	case *hclsyntax.IndexExpr:
		return p.index(e, span)
	case *hclsyntax.ForExpr:
		return refuse("syntax.for", "a for-expression is not part of the language", "use each(name) inside smallest, largest, mean, spread or sum")
	case *hclsyntax.SplatExpr:
		return refuse("syntax.splat", "a splat (* or [*]) is not part of the language", "use each(name) inside smallest, largest, mean, spread or sum")
	}
	return refuse("syntax.broken", "this is not an expression of the language", "write a quantity in quotes, a name, or a formula of names")
}

func (p *parser) literal(e *hclsyntax.LiteralValueExpr, span Span) Expr {
	switch kind := e.Val.Type().FriendlyName(); {
	case e.Val.IsNull():
		p.add("syntax.broken", span, "null is not part of the language", "leave the attribute out instead")
		return &Broken{span}
	case kind == "number":
		f, _ := e.Val.AsBigFloat().Float64()
		text := ""
		if span.Start >= 0 && span.End <= len(p.file.Text) && span.Start <= span.End {
			text = string(p.file.Text[span.Start:span.End])
		}
		return &Number{f, text, span}
	case kind == "bool":
		return &Bool{e.Val.True(), span}
	case kind == "string":
		return &Text{e.Val.AsString(), span}
	}
	p.add("syntax.broken", span, "this is not a value of the language", "write a number, a quantity in quotes, true or false")
	return &Broken{span}
}

func (p *parser) reference(t hcl.Traversal, span Span) Expr {
	r := &Reference{Root: t.RootName(), Span: span}
	for _, s := range t[1:] {
		switch s := s.(type) {
		case hcl.TraverseAttr:
			r.Steps = append(r.Steps, Step{Name: s.Name, Span: p.span(s.SrcRange)})
		case hcl.TraverseIndex:
			if s.Key.Type().FriendlyName() != "string" {
				p.add("syntax.index", p.span(s.SrcRange), "a number in square brackets does not name a place", `write the place in quotes, like bore["front"]`)
				return &Broken{span}
			}
			r.Steps = append(r.Steps, Step{Name: s.Key.AsString(), IsKey: true, Span: p.span(s.SrcRange)})
		default:
			p.add("syntax.splat", p.span(s.SourceRange()), "a splat (* or [*]) is not part of the language", "use each(name)")
			return &Broken{span}
		}
	}
	return r
}

func (p *parser) index(e *hclsyntax.IndexExpr, span Span) Expr {
	base, isReference := p.expr(e.Collection).(*Reference)
	key, isText := p.expr(e.Key).(*Text)
	if !isReference || !isText {
		p.add("syntax.index", span, "only a name can have a place in square brackets, and the place is a text in quotes", `write it like bore["front"]`)
		return &Broken{span}
	}
	return &Reference{base.Root, append(base.Steps, Step{Name: key.Value, IsKey: true, Span: key.Span}), span}
}

func (p *parser) key(e hclsyntax.Expression) Expr {
	if k, ok := e.(*hclsyntax.ObjectConsKeyExpr); ok {
		if t, ok := k.Wrapped.(*hclsyntax.ScopeTraversalExpr); ok {
			return p.reference(t.Traversal, p.span(t.Range()))
		}
		return p.expr(k.Wrapped)
	}
	return p.expr(e)
}

var bareQuantity = regexp.MustCompile(`=\s*(?:\[\s*)?([<>]=\s*)?[-+]?[\d.]+(?:\s*\.\.\s*[-+]?[\d.]+)?\s*(?:±|\+-|[A-Za-zµ°%])`)

// mistake rewrites a parser's complaint in the words of the language.
func (p *parser) mistake(d *hcl.Diagnostic, text []byte, start int) {
	span := p.span(*d.Subject)
	from := bytes.LastIndexByte(text[:min(max(span.Start-start, 0), len(text))], '\n') + 1
	line := string(lineAt(text, from))
	has := func(words string) bool { return strings.Contains(d.Summary+" "+d.Detail, words) }
	spot := ""
	if a, b := span.Start-start, span.End-start; a >= 0 && b <= len(text) && a < b {
		spot = string(text[a:b])
	}
	switch {
	case has("Bitwise operators") || has("Unsupported operator"):
		if strings.Contains(line, "^") || strings.Contains(line, "**") {
			p.add("syntax.power", span, "there is no power operator", "write sq(x), cube(x) or pow(x, n)")
			return
		}
		p.add("syntax.operator", span, fmt.Sprintf("%q is not an operator of the language", spot), "use + - * / % and for conditions && || ! == != < <= > >=")
	case has("Attribute redefined"):
		p.add("pack.twice", span, fmt.Sprintf("%s is given twice in this block", spot), "keep one of the two")
	case has("Invalid character") && strings.ContainsAny(spot, "×÷−–·"):
		swap := map[string]string{"×": "*", "÷": "/", "−": "-", "–": "-", "·": "*"}[spot]
		p.add("syntax.symbol", span, fmt.Sprintf("%s is not a sign of the language", spot), "write "+swap+" with a space on each side; a quantity with a unit stands in quotes")
	case bareQuantity.MatchString(line) && !strings.Contains(line, `"`):
		p.add("syntax.unquoted", span, "a quantity with a unit stands in quotes", `write it like "92.004 mm"`)
	case has("single-argument block") || has("Only one argument"):
		p.add("syntax.one-line", span, "a block on one line may hold one attribute", "put each attribute on a line of its own")
	case has("Invalid multi-line string") || has("Unterminated template") || has("Invalid string") || strings.Count(line, `"`)%2 == 1:
		p.add("syntax.quote", span, "a quote is opened on this line and not closed", `close it with " before the line ends`)
	case has("Missing item separator") || has("Missing attribute separator"):
		p.add("syntax.comma", span, "a comma is missing between two items of a list", "put a comma after each item")
	case has("Missing newline after argument") || has("Extra characters"):
		p.add("syntax.line", span, "something stands behind the end of this attribute", "put each attribute on a line of its own, and a formula over several lines in parentheses")
	case has("Invalid expression") || has("Missing expression"):
		p.add("syntax.expression", span, "a value is missing or cannot be read here", "write a number, a quantity in quotes, a name or a formula")
	case has("Unclosed configuration block") || has("closing brace"):
		p.add("syntax.unclosed", span, "this block is not closed", "put a closing brace } on a line of its own where the block ends")
	case has("Argument or block definition required"):
		p.add("syntax.line", span, fmt.Sprintf("%q does not begin an attribute or a block", spot), `write name = value, or kind "name" { … }`)
	case has("Invalid block definition") || has("Invalid argument name"):
		p.add("syntax.line", span, "this is neither an attribute nor a block", `write name = value, or kind "name" { … } with the brace on the same line`)
	case has("Unsupported function name") || has("function call") || has("Missing close parenthesis") || has("Unbalanced parentheses"):
		p.add("syntax.bracket", span, "a bracket is missing or misplaced in this formula", "count the opening and the closing brackets")
	default:
		p.add("syntax.broken", span, "this cannot be read", `write name = value on one line, quantities and texts in quotes, formulas with names and + - * /`)
	}
}
