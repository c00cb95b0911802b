package syntax

import "fmt"

// Span is a stretch of source text. Lines and columns start at 1; columns count
// characters, not bytes. Start and End are byte offsets into the file.
type Span struct {
	File           string
	Line, Column   int
	EndLine, EndCo int
	Start, End     int
}

// String returns file:line:column.
func (s Span) String() string { return fmt.Sprintf("%s:%d:%d", s.File, s.Line, s.Column) }

// Until returns the span from s to the end of t.
func (s Span) Until(t Span) Span {
	s.EndLine, s.EndCo, s.End = t.EndLine, t.EndCo, t.End
	return s
}

// Label is the quoted name behind the kind of a block.
type Label struct {
	Text string
	Span Span
}

// Block is `kind "label" { … }`.
type Block struct {
	Kind   string
	Labels []Label
	// Attributes in the order in which they are written.
	Attributes []*Attribute
	Blocks     []*Block
	// Span covers the kind and the labels.
	Span Span
	// Lost names attributes that stand in the block but could not be read. They
	// have been reported; that they are missing must not be reported again.
	Lost map[string]bool
}

// Attribute finds an attribute by name, nil if the block has none.
func (b *Block) Attribute(name string) *Attribute {
	for _, a := range b.Attributes {
		if a.Name == name {
			return a
		}
	}
	return nil
}

// Name returns the text of the first label, "" without one.
func (b *Block) Name() string {
	if len(b.Labels) == 0 {
		return ""
	}
	return b.Labels[0].Text
}

// Attribute is `name = value`.
type Attribute struct {
	Name  string
	Span  Span // of the name
	Value Expr
}

// Expr is a node of an expression: one of the types below.
type Expr interface {
	Where() Span
}

// Number is a bare number; Text keeps how it was written.
type Number struct {
	Value float64
	Text  string
	Span  Span
}

// Text is a quoted string. Inner is the span between the quotes.
type Text struct {
	Value string
	Span  Span
}

// Bool is true or false.
type Bool struct {
	Value bool
	Span  Span
}

// Reference is a name with what follows it: bore, operation.close_cases,
// barrel.oversize, bore["front"].
type Reference struct {
	Root  string
	Steps []Step
	Span  Span
}

// Step is one part of a reference behind its root: `.Name`, or `["Key"]` when
// IsKey is set.
type Step struct {
	Name  string
	IsKey bool
	Span  Span
}

// Call is a function with its arguments.
type Call struct {
	Function  string
	Arguments []Expr
	Span      Span
	NameSpan  Span
}

// Unary is -X or !X.
type Unary struct {
	Operator string
	X        Expr
	Span     Span
}

// Binary is X op Y.
type Binary struct {
	Operator string
	X, Y     Expr
	Span     Span
}

// Conditional is Test ? Then : Else.
type Conditional struct {
	Test, Then, Else Expr
	Span             Span
}

// List is [a, b, …].
type List struct {
	Items []Expr
	Span  Span
}

// Object is { key = value, … }. A key is a [Text] or a [Reference].
type Object struct {
	Items []Item
	Span  Span
}

// Item is one entry of an object.
type Item struct {
	Key, Value Expr
}

// Broken stands where an expression was refused; it has been reported.
type Broken struct {
	Span Span
}

// Where returns where the node stands in the source.
func (e *Number) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Text) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Bool) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Reference) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Call) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Unary) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Binary) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Conditional) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *List) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Object) Where() Span { return e.Span }

// Where returns where the node stands in the source.
func (e *Broken) Where() Span { return e.Span }
