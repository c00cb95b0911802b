package syntax

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// Parse reads the blocks of a file. Kinds are the block kinds of the language; a
// file is cut where one of them begins a line. Blocks come in the order of the file,
// those that were damaged too, with what could be read of them.
func Parse(f File, kinds map[string]bool) ([]*Block, Mistakes) {
	p, bad := newParser(f, kinds)
	var blocks []*Block
	if !bad {
		p.closeComments(kinds)
		for _, c := range cut(p.text, kinds) {
			blocks = append(blocks, p.chunk(c)...)
		}
	}
	p.mistakes.Sort()
	p.mistakes.Shorten()
	p.mistakes.Illustrate([]File{f})
	return blocks, p.mistakes
}

// ParseExpression reads a single expression, as a command-line argument holds it.
func ParseExpression(f File) (Expr, Mistakes) {
	p, bad := newParser(f, nil)
	var expr Expr = &Broken{p.lines.span(0, len(p.text))}
	if !bad {
		e, diags := hclsyntax.ParseExpression(p.text, f.Name, hcl.InitialPos)
		if d := firstError(diags); d != nil {
			r := &repair{parser: p, text: p.text, tail: len(p.text), lost: map[string]bool{}}
			r.diagnose(d, statement{0, len(p.text), false})
			expr = &Broken{p.mistakes[0].Span}
		} else {
			expr = p.expr(e)
		}
	}
	p.mistakes.Illustrate([]File{f})
	return expr, p.mistakes
}

type parser struct {
	lines    *lines
	text     []byte // as it is parsed: what could not be is blanked
	mistakes Mistakes
	kinds    map[string]bool
	// budget is how many more bytes may be read again after a mistake.
	budget int
}

// newParser passes a text by the guards; bad says that it must not be parsed.
func newParser(f File, kinds map[string]bool) (p *parser, bad bool) {
	f.Text = withoutMark(f.Text)
	if len(f.Text) > LargestFile {
		p = &parser{lines: newLines(File{Name: f.Name, Text: f.Text[:1]})}
		p.add("syntax.too-large", p.lines.span(0, 1), fmt.Sprintf("the file has %d bytes, and a pack file may have %d", len(f.Text), LargestFile), "split the pack into several files in one folder")
		return p, true
	}
	p = &parser{lines: newLines(f), text: bytes.Clone(f.Text), kinds: kinds, budget: 2 << 20}
	m, bad := guard(p.lines, kinds)
	if bad {
		p.mistakes = Mistakes{m}
	}
	return p, bad
}

// closeComments reports a comment or a long text that is not closed before the file
// ends, and lets it end with its line or before the next block.
func (p *parser) closeComments(kinds map[string]bool) {
	for range 10 {
		var w walker
		for i := range p.text {
			w.step(p.text, i)
		}
		at := w.opened
		switch {
		case w.inBlock:
			p.add("syntax.quote", p.lines.span(at, at+2), "this comment is not closed", "put */ where it ends, or begin a comment of one line with #")
			copy(p.text[at:], "# ")
		case w.heredoc != "":
			p.add("syntax.quote", p.lines.span(at, lineEnd(p.text, at)), "this long text is not closed", "put a line that holds only "+w.heredoc+" where it ends")
			copy(p.text[at:], `""`)
			for i := at + 2; i < len(p.text); i++ {
				if p.text[i-1] == '\n' && (p.text[i] == '}' || startsBlock(p.text[i:], kinds)) {
					break
				}
				if p.text[i] != '\n' {
					p.text[i] = ' '
				}
			}
		default:
			return
		}
	}
}

func (p *parser) add(code string, span Span, says, do string) {
	p.mistakes = append(p.mistakes, Mistake{Code: code, Span: span, Says: says, Do: do})
}

func (p *parser) span(r hcl.Range) Span { return p.lines.span(r.Start.Byte, r.End.Byte) }

// mostRetries bounds how often a block is read again with a bad statement blanked.
const mostRetries = 40

// chunk parses one top-level block. What cannot be read is reported, blanked out
// and remembered as lost, and the rest is read again.
func (p *parser) chunk(c chunk) []*Block {
	r := &repair{parser: p, text: bytes.Clone(c.text), start: c.start, lost: map[string]bool{}}
	r.headQuote()
	r.missingBraces()
	r.brackets()
	for try := range mostRetries {
		if try > 0 {
			if p.budget -= len(r.text); p.budget < 0 || len(p.mistakes) > MostMistakes {
				break
			}
		}
		file, diags := hclsyntax.ParseConfig(r.text, p.lines.file.Name, hcl.Pos{Line: 1, Column: 1, Byte: c.start})
		first := firstError(diags)
		if first == nil {
			if blocks := r.read(file.Body.(*hclsyntax.Body)); len(blocks) > 0 || len(r.lost) == 0 {
				return blocks
			}
			break // the head itself was lost
		}
		at := min(max(first.Subject.Start.Byte-c.start, 0), len(r.text))
		s, ok := statementAt(r.text, at)
		if !ok || s.start >= r.tail {
			break
		}
		s.end = min(s.end, r.tail)
		if r.tableWithoutEquals(s) {
			continue
		}
		r.diagnose(first, s)
		if r.joinBrace(s) || s.head && r.repairHead(s) {
			continue
		}
		if s.head || !r.blank(s.start, r.goesOn(s)) {
			break
		}
	}
	return r.name(c)
}

// headQuote mends the head of the block when a quote is missing in it, because the
// brace behind it would count as text.
func (r *repair) headQuote() {
	end := lineEnd(r.text, 0)
	line := bytes.TrimRight(r.text[:end], " \t\r")
	var w walker
	for i := range line {
		w.step(line, i)
	}
	if !w.inString || !bytes.HasSuffix(line, []byte("{")) || attributePattern.Match(line) {
		return
	}
	openQuote(line, mask(line), true, func(from, to int, kind, says, do string) { r.report(kind, from, to, says, do) })
	r.repairHead(statement{0, len(line), true})
}

// missingBraces mends what lacks one sign at the end of a line that opens something:
// the head of a block without its brace, and a table without its brace or its =.
func (r *repair) missingBraces() {
	for from := 0; from < len(r.text); from = lineEnd(r.text, from) + 1 {
		end := lineEnd(r.text, from)
		line := bytes.TrimRight(mask(r.text[from:end]), " \t\r")
		head := bytes.TrimLeft(line, " \t")
		if len(head) == 0 {
			continue
		}
		indent := len(line) - len(head)
		at, next := from+indent, nextLine(r.text, from)
		deeper := len(next)-len(bytes.TrimLeft(next, " \t")) > indent
		switch {
		case bareHead.Match(head) && attributePattern.Match(next) && deeper, namedHead.Match(head) && bytes.HasPrefix(next, []byte("}")) && indent == 0:
			r.report("syntax.line", at, at+len(head), "the brace { of this block is missing", `write kind "name" { on one line`)
			r.insertBrace(from+len(line), end)
		case openedPairs.Match(head) && quotedKey.Match(next):
			word := bytes.IndexByte(head, ' ')
			r.report("syntax.line", at, at+word, fmt.Sprintf("= is missing behind %s", head[:word]), fmt.Sprintf("write %s = {", head[:word]))
			r.text[at+word] = '='
		case unopenedPairs.Match(head) && quotedKey.Match(next):
			r.report("syntax.bracket", at, at+len(head), "the { that opens this table is missing", `write name = { "key" = "value", … }`)
			r.insertBrace(from+len(line), end)
		}
	}
}

var (
	namedHead     = regexp.MustCompile(`^[a-z_]+\s+"[^"]*"$`)
	openedPairs   = regexp.MustCompile(`^[a-z_]+ +\{$`)
	unopenedPairs = regexp.MustCompile(`^[a-z_]+\s*=$`)
)

// insertBrace writes a brace at a place near the end of a line.
func (r *repair) insertBrace(at, end int) {
	switch {
	case at < end:
		for i := at; i < end; i++ {
			r.text[i] = ' ' // a comment, or blanks
		}
		r.text[at] = '{'
	case end+1 < len(r.text) && bytes.IndexByte([]byte(" \t"), r.text[end+1]) >= 0:
		// The line end and the first blank of the next line make room for it.
		r.text[end], r.text[end+1] = '{', '\n'
	default:
		// The blank between kind and name does.
		from := lineStart(r.text, at)
		if blank := from + bytes.IndexByte(r.text[from:end], ' '); blank >= from {
			copy(r.text[blank:end], r.text[blank+1:end])
			r.text[end-1] = '{'
		}
	}
}

// goesOn returns where a statement ends that cannot be read: behind the next line
// if it breaks off at an operator and that line begins nothing new.
func (r *repair) goesOn(s statement) int {
	next := min(s.end+1, len(r.text))
	line := r.text[next:lineEnd(r.text, next)]
	if !operatorEnd.Match(mask(r.text[s.start:s.end])) || beginsStatement(line) || bytes.IndexByte(line, '}') >= 0 {
		return s.end
	}
	return next + len(line)
}

// firstError returns the error that stands first in the text.
func firstError(diags hcl.Diagnostics) *hcl.Diagnostic {
	var first *hcl.Diagnostic
	for _, d := range diags {
		if d.Severity == hcl.DiagError && d.Subject != nil && (first == nil || d.Subject.Start.Byte < first.Subject.Start.Byte) {
			first = d
		}
	}
	return first
}

func (r *repair) read(body *hclsyntax.Body) []*Block {
	for _, a := range body.Attributes {
		r.add("pack.stray-attribute", r.span(a.NameRange), fmt.Sprintf("%s stands outside of any block", a.Name), "move it into the block that it belongs to")
	}
	blocks := r.blocks(body.Blocks)
	if len(r.lost) > 0 {
		damage(blocks, r.lost)
	}
	return blocks
}

// damage tells blocks and those inside them what was lost.
func damage(blocks []*Block, lost map[string]bool) {
	for _, b := range blocks {
		b.Lost = lost
		damage(b.Blocks, lost)
	}
}

// name keeps the name of a block that cannot be read at all, so that references to
// it stand.
func (r *repair) name(c chunk) []*Block {
	end := len(c.text)
	if i := bytes.IndexByte(bytes.TrimLeft(c.text, " \t\r\n"), '\n'); i >= 0 {
		end = len(c.text) - len(bytes.TrimLeft(c.text, " \t\r\n")) + i
	}
	m := headParts.FindSubmatchIndex(c.text[:end])
	if m == nil || !r.kinds[string(c.text[m[2]:m[3]])] {
		return nil
	}
	span := r.lines.span(c.start+m[2], c.start+m[5])
	return []*Block{{Kind: string(c.text[m[2]:m[3]]), Labels: []Label{{Text: string(c.text[m[4]:m[5]]), Span: span}}, Span: span, Lost: map[string]bool{"*": true}}}
}

// headParts finds the kind and the name in the head of a block, whatever stands for
// the quotes.
var headParts = regexp.MustCompile(`^\s*([A-Za-z_]+)[^A-Za-z0-9_{\n]+([A-Za-z_][^"”“{\n]*[A-Za-z0-9_)]|[A-Za-z_])[^A-Za-z0-9_]*$`)

// repairHead rewrites the head of a block that cannot be read as kind "name" {, if
// there is room for it.
func (r *repair) repairHead(s statement) bool {
	line := r.text[s.start:s.end]
	m := headParts.FindSubmatch(line)
	if m == nil {
		return false
	}
	head := fmt.Sprintf("%s %q", m[1], m[2])
	if bytes.HasSuffix(line, []byte("{")) {
		head += "{"
	}
	if len(head) > len(line) {
		head = strings.Replace(head, " ", "", 1)
	}
	if len(head) > len(line) || string(line) == head {
		return false
	}
	copy(line, head+strings.Repeat(" ", len(line)-len(head)))
	return true
}

// joinBrace draws up to the head of a block the brace that stands on a line below.
func (r *repair) joinBrace(s statement) bool {
	at := s.end
	for at < r.tail && bytes.IndexByte([]byte(" \t\r\n"), r.text[at]) >= 0 {
		at++
	}
	if s.head || at == s.end || at >= r.tail || r.text[at] != '{' || !bareHead.Match(r.text[s.start:s.end]) {
		return false
	}
	for i := s.end; i < at; i++ {
		r.text[i] = ' '
	}
	return true
}

// bareHead is the head of a block without its brace.
var bareHead = regexp.MustCompile(`^[a-z_]+\s*("[^"]*")?\s*$`)

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
		slices.SortFunc(block.Attributes, func(a, b *Attribute) int { return a.Span.Start - b.Span.Start })
		for _, a := range block.Attributes {
			a.Value = p.expr(b.Body.Attributes[a.Name].Expr)
		}
		block.Blocks = p.blocks(b.Body.Blocks)
		out = append(out, block)
	}
	return out
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
		return refuse("syntax.for", forSays, forDo)
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
		// The bounds of quantities, so that no formula leaves the range of float64
		// by what is written in it.
		if size := math.Abs(f); e.Val.AsBigFloat().Sign() != 0 && (size > 1e30 || size < 1e-30) {
			p.add("syntax.expression", span, "this number is too large or too small", "write 0, or a number between 1e-30 and 1e30")
			return &Broken{span}
		}
		return &Number{f, string(p.lines.file.Text[span.Start:span.End]), span}
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
