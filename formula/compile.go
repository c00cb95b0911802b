package formula

import (
	"fmt"
	"math"
	"strings"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// Expr is a checked expression.
type Expr struct {
	root *node
	// Dimension of its value; a condition has none and Condition set.
	Dimension quantity.Dimension
	Condition bool
	// Uses lists the things it names, in the order of the text.
	Uses []Use
}

// Use is one naming of a thing.
type Use struct {
	Thing *Thing
	Span  syntax.Span
}

// Constant returns the value of an expression that names nothing.
func (e *Expr) Constant() (float64, bool) {
	if e.root != nil && e.root.op == opConstant {
		return e.root.k, true
	}
	return 0, false
}

// Broken reports whether there is nothing to compute: a mistake in the text or in
// something that it names was reported where it stands.
func (e *Expr) Broken() bool { return e.root == nil }

// RangeExpr is a checked expression that gives a range: two ends, an absent one at
// infinity.
type RangeExpr struct {
	low, high *node
	Dimension quantity.Dimension
	Unit      quantity.Unit
	Decimals  int
	Uses      []Use
}

// node is a node of a checked expression, not yet bound to a place.
type node struct {
	op        op
	args      []*node
	k         float64
	ref       reference
	fn        *Function
	table     *Table
	dim       quantity.Dimension
	condition bool
}

// reference is a thing as an expression names it.
type reference struct {
	thing *Thing
	set   SetFunction
	// member is the place in square brackets; keyed says there is one.
	member string
	keyed  bool
	each   bool
	// detail is the size of a slot, the choice of an option or the ID of a part.
	detail string
	given  quantity.Uncertain
	kind   InputKind
}

type compiler struct {
	scope    *Scope
	mistakes syntax.Mistakes
	uses     []Use
}

// Compile checks an expression that gives one value or, where it compares, a
// condition.
func Compile(e syntax.Expr, scope *Scope) (*Expr, syntax.Mistakes) {
	c := compiler{scope: scope}
	n := c.refuseText(c.value(e), e.Where())
	if n == nil {
		return &Expr{Uses: c.uses}, c.mistakes
	}
	return &Expr{root: n, Dimension: n.dim, Condition: n.condition, Uses: c.uses}, c.mistakes
}

// CompileRange checks an expression that gives a range: a range in quotes, a range
// plus or minus a quantity, or a choice between ranges.
func CompileRange(e syntax.Expr, scope *Scope) (*RangeExpr, syntax.Mistakes) {
	c := compiler{scope: scope}
	r := c.rangeOf(e)
	if r == nil {
		r = &RangeExpr{}
	}
	r.Uses = c.uses
	return r, c.mistakes
}

// Broken reports whether there is no range, as for an [Expr].
func (r *RangeExpr) Broken() bool { return r.low == nil }

// Constant returns the range of an expression that names nothing.
func (r *RangeExpr) Constant() (quantity.Range, bool) {
	if r.low == nil || r.low.op != opConstant || r.high.op != opConstant {
		return quantity.Range{}, false
	}
	return r.Range(r.low.k, r.high.k), true
}

// Range makes a range of the two ends, infinite ones left out.
func (r *RangeExpr) Range(low, high float64) quantity.Range {
	return quantity.Range{
		Low: low, High: high, HasLow: !math.IsInf(low, -1), HasHigh: !math.IsInf(high, 1),
		Dimension: r.Dimension, Unit: r.Unit, Decimals: r.Decimals,
	}
}

func (c *compiler) add(code string, span syntax.Span, says, do string) *node {
	c.mistakes = append(c.mistakes, syntax.Mistake{Code: code, Span: span, Says: says, Do: do})
	return nil
}

func (c *compiler) rangeOf(e syntax.Expr) *RangeExpr {
	switch e := e.(type) {
	case *syntax.Broken:
		return nil
	case *syntax.Text:
		r, err := quantity.ParseRange(e.Value)
		if err != nil {
			c.quantityError(err, e.Span)
			return nil
		}
		low, high := math.Inf(-1), math.Inf(1)
		if r.HasLow {
			low = r.Low
		}
		if r.HasHigh {
			high = r.High
		}
		return &RangeExpr{low: constant(low, r.Dimension), high: constant(high, r.Dimension), Dimension: r.Dimension, Unit: r.Unit, Decimals: r.Decimals}
	case *syntax.Conditional:
		test, then, other := c.test(e.Test), c.rangeOf(e.Then), c.rangeOf(e.Else)
		if test == nil || then == nil || other == nil {
			return nil
		}
		if then.Dimension != other.Dimension {
			c.add("formula.dimension", e.Span, fmt.Sprintf("one choice is %s, the other %s", a(then.Dimension), a(other.Dimension)), "give both choices the same kind of unit")
			return nil
		}
		pick := func(a, b *node) *node {
			return fold(&node{op: opSelect, args: []*node{test, a, b}, dim: a.dim})
		}
		return &RangeExpr{low: pick(then.low, other.low), high: pick(then.high, other.high), Dimension: then.Dimension, Unit: then.Unit, Decimals: max(then.Decimals, other.Decimals)}
	case *syntax.Binary:
		if e.Operator != "+" && e.Operator != "-" {
			break
		}
		rangeSide, shift := e.X, e.Y
		if e.Operator == "+" && !isRange(e.X) && isRange(e.Y) {
			rangeSide, shift = e.Y, e.X
		}
		r, by := c.rangeOf(rangeSide), c.value(shift)
		if r == nil || by == nil {
			return nil
		}
		if by.condition || r.Dimension.Difference() != by.dim.Difference() {
			c.add("formula.dimension", e.Span, fmt.Sprintf("a range of %s cannot be moved by %s", r.Dimension, describe(by)), "move it by a value of the same kind")
			return nil
		}
		o := opAdd
		if e.Operator == "-" {
			o = opSubtract
		}
		move := func(end *node) *node { return fold(&node{op: o, args: []*node{end, by}, dim: end.dim}) }
		return &RangeExpr{low: move(r.low), high: move(r.high), Dimension: r.Dimension, Unit: r.Unit, Decimals: r.Decimals}
	}
	c.add("formula.range", e.Where(), "a range is needed here", `write both ends ("1.0 .. 1.5 mm"), one side ("<= 1.5 mm"), or a range plus or minus a value`)
	return nil
}

// isRange reports whether an expression gives a range, judged by its text alone.
func isRange(e syntax.Expr) bool {
	switch e := e.(type) {
	case *syntax.Text:
		_, err := quantity.ParseRange(e.Value)
		return err == nil
	case *syntax.Conditional:
		return isRange(e.Then) || isRange(e.Else)
	case *syntax.Binary:
		return isRange(e.X) || isRange(e.Y)
	}
	return false
}

func (c *compiler) quantityError(err error, span syntax.Span) {
	says, do := Explain(err)
	c.add("quantity.unreadable", span, says, do)
}

// Explain parts what is wrong from what to do in an error about somebody's text.
func Explain(err error) (says, do string) {
	if pe, ok := err.(*quantity.ParseError); ok {
		says, do = pe.Says, pe.Do
	} else {
		says, do, _ = strings.Cut(err.Error(), "; ")
	}
	if do == "" {
		do = `write a value with its unit, like "92.004 mm"`
	}
	return says, do
}

func describe(n *node) string {
	if n.condition {
		return "a condition"
	}
	return a(n.dim)
}

// a names a dimension with its article.
func a(d quantity.Dimension) string { return syntax.WithArticle(d.String()) }

func constant(k float64, dim quantity.Dimension) *node {
	return &node{op: opConstant, k: k, dim: dim}
}

// test compiles a condition.
func (c *compiler) test(e syntax.Expr) *node {
	n := c.value(e)
	if n != nil && !n.condition {
		return c.add("formula.condition", e.Where(), fmt.Sprintf("a condition is needed here, and this is %s", a(n.dim)), `compare with == != < <= > >=`)
	}
	return n
}

// number compiles a value that is not a condition.
func (c *compiler) number(e syntax.Expr) *node {
	n := c.value(e)
	if n != nil && n.condition {
		return c.add("formula.condition", e.Where(), "a value is needed here, and this is a condition", "choose between two values with test ? a : b")
	}
	return c.refuseText(n, e.Where())
}

func (c *compiler) value(e syntax.Expr) *node {
	switch e := e.(type) {
	case *syntax.Number:
		return constant(e.Value, quantity.OfNumber)
	case *syntax.Bool:
		k := 0.0
		if e.Value {
			k = 1
		}
		return &node{op: opConstant, k: k, condition: true}
	case *syntax.Text:
		return c.text(e)
	case *syntax.Reference:
		return c.reference(e, Judged)
	case *syntax.Call:
		return c.call(e)
	case *syntax.Unary:
		return c.unary(e)
	case *syntax.Binary:
		return c.binary(e)
	case *syntax.Conditional:
		test, then, other := c.test(e.Test), c.refuseText(c.value(e.Then), e.Then.Where()), c.refuseText(c.value(e.Else), e.Else.Where())
		if test == nil || then == nil || other == nil {
			return nil
		}
		if then.condition != other.condition || then.dim != other.dim {
			return c.add("formula.dimension", e.Span, fmt.Sprintf("one choice is %s, the other %s", describe(then), describe(other)), "give both choices the same kind of value")
		}
		return fold(&node{op: opSelect, args: []*node{test, then, other}, dim: then.dim, condition: then.condition})
	case *syntax.Broken:
		return nil
	case *syntax.List, *syntax.Object:
		return c.add("formula.list", e.Where(), "a list cannot stand in a formula", "write one value, or use each(name)")
	}
	return c.add("formula.broken", e.Where(), "this cannot stand in a formula", "write a value, a name or a formula")
}

func (c *compiler) text(e *syntax.Text) *node {
	if !quantity.LooksLike(e.Value) {
		return c.add("formula.text", e.Span, fmt.Sprintf("%q is a text, and a formula needs a value here", e.Value), `a quantity begins with its number; a text may stand only beside == or != with an option or a slot`)
	}
	q, err := quantity.ParseUncertain(e.Value)
	if err != nil {
		c.quantityError(err, e.Span)
		return nil
	}
	if q.Standard == 0 {
		return constant(q.SI, q.Dimension)
	}
	return &node{op: opInput, dim: q.Dimension, ref: reference{kind: Given, given: q, detail: e.Span.String() + " " + e.Value}}
}

func (c *compiler) unary(e *syntax.Unary) *node {
	if e.Operator == "!" {
		n := c.test(e.X)
		if n == nil {
			return nil
		}
		return fold(&node{op: opNot, args: []*node{n}, condition: true})
	}
	n := c.number(e.X)
	if n == nil {
		return nil
	}
	if n.dim.Point {
		return c.add("formula.temperature", e.Span, "a temperature has no opposite", "subtract it from another temperature, or write a difference in K")
	}
	return fold(&node{op: opNegate, args: []*node{n}, dim: n.dim})
}

var comparisons = map[string]op{"<": opLess, "<=": opLessEqual, ">": opGreater, ">=": opGreaterEqual, "==": opEqual, "!=": opUnequal}

func (c *compiler) binary(e *syntax.Binary) *node {
	switch e.Operator {
	case "&&", "||":
		x, y := c.test(e.X), c.test(e.Y)
		if x == nil || y == nil {
			return nil
		}
		o := opAnd
		if e.Operator == "||" {
			o = opOr
		}
		return fold(&node{op: o, args: []*node{x, y}, condition: true})
	case "==", "!=":
		if n, done := c.textComparison(e); done {
			return n
		}
	}
	x, y := c.number(e.X), c.number(e.Y)
	if x == nil || y == nil {
		return nil
	}
	if o, ok := comparisons[e.Operator]; ok {
		if x.dim != y.dim {
			return c.clash(e, x, y, "compared")
		}
		return fold(&node{op: o, args: []*node{x, y}, condition: true})
	}
	switch e.Operator {
	case "+":
		if x.dim.Point && y.dim.Point {
			return c.add("formula.temperature", e.Span, "two temperatures cannot be added", "add a temperature difference in K to a temperature")
		}
		if x.dim.Difference() != y.dim.Difference() {
			return c.clash(e, x, y, "added")
		}
		dim := x.dim
		dim.Point = x.dim.Point || y.dim.Point
		return fold(&node{op: opAdd, args: []*node{x, y}, dim: dim})
	case "-":
		if !x.dim.Point && y.dim.Point && x.dim.Difference() == y.dim.Difference() {
			return c.add("formula.temperature", e.Span, "a temperature cannot be subtracted from a temperature difference", "subtract the difference from the temperature")
		}
		if x.dim.Difference() != y.dim.Difference() {
			return c.clash(e, x, y, "subtracted")
		}
		dim := x.dim
		dim.Point = x.dim.Point && !y.dim.Point
		return fold(&node{op: opSubtract, args: []*node{x, y}, dim: dim})
	}
	if x.dim.Point || y.dim.Point {
		return c.add("formula.temperature", e.Span, "a temperature cannot be multiplied or divided", "subtract a reference temperature first, or write a difference in K")
	}
	switch e.Operator {
	case "*":
		return fold(&node{op: opMultiply, args: []*node{x, y}, dim: x.dim.Times(y.dim)})
	case "/":
		if k, ok := constantOf(y); ok && k == 0 {
			return c.add("formula.zero", e.Y.Where(), "this divides by zero", "check the divisor")
		}
		return fold(&node{op: opDivide, args: []*node{x, y}, dim: x.dim.Over(y.dim)})
	case "%":
		if x.dim != y.dim {
			return c.clash(e, x, y, "divided with a remainder")
		}
		return fold(&node{op: opRemainder, args: []*node{x, y}, dim: x.dim})
	}
	return c.add("formula.broken", e.Span, fmt.Sprintf("%q is not an operator of formulas", e.Operator), "use + - * / %")
}

func constantOf(n *node) (float64, bool) {
	if n.op == opConstant {
		return n.k, true
	}
	return 0, false
}

func (c *compiler) clash(e *syntax.Binary, x, y *node, verb string) *node {
	do := "only like can be " + verb + " with like"
	switch {
	case x.dim.IsNumber() || y.dim.IsNumber():
		do = `a value with a unit stands in quotes, like "0.05 mm"`
	}
	return c.add("formula.dimension", e.Span, fmt.Sprintf("%s and %s cannot be %s", a(x.dim), a(y.dim), verb), do)
}

// textComparison compiles option == "choice" and slot == "part".
func (c *compiler) textComparison(e *syntax.Binary) (*node, bool) {
	ref, text := e.X, e.Y
	if _, ok := ref.(*syntax.Text); ok {
		ref, text = text, ref
	}
	r, ok := ref.(*syntax.Reference)
	if !ok {
		return nil, false
	}
	thing, _ := c.thing(r)
	if thing != nil && thing.Unknown {
		return nil, true
	}
	if t, ok := text.(*syntax.Text); ok && thing == nil && !quantity.LooksLike(t.Value) {
		return c.unknown(r), true
	}
	if thing == nil || thing.Kind != Option && thing.Kind != Slot || thing.Kind == Slot && hasSize(r) {
		return nil, false
	}
	t, ok := text.(*syntax.Text)
	if !ok {
		if _, number := text.(*syntax.Number); !number && thing.Kind == Option && thing.Numeric {
			return nil, false
		}
		return c.add("formula.text", text.Where(), fmt.Sprintf("%s is compared with a text in quotes", thing.Name), fmt.Sprintf("write %s == %q", thing.Name, first(thing.Choices))), true
	}
	known := false
	for _, choice := range thing.Choices {
		known = known || choice == t.Value
	}
	if !known {
		do := "its choices are " + quoteList(thing.Choices)
		if thing.Kind == Slot {
			do = "the parts that may fill it are " + quoteList(thing.Choices)
		}
		if near := Nearest(t.Value, thing.Choices); near != "" {
			do = fmt.Sprintf("perhaps %q is meant; %s", near, do)
		}
		return c.add("formula.choice", t.Span, fmt.Sprintf("%s is never %q", thing.Name, t.Value), do), true
	}
	n := c.reference(r, Judged)
	if n == nil {
		return nil, true
	}
	n.ref.detail = t.Value
	n.ref.kind = OptionIs
	if thing.Kind == Slot {
		n.ref.kind = PartIs
	}
	n.condition = true
	n.dim = quantity.OfNumber
	if e.Operator == "!=" {
		n = &node{op: opNot, args: []*node{n}, condition: true}
	}
	return n, true
}

func first(list []string) string {
	if len(list) == 0 {
		return "…"
	}
	return list[0]
}

func quoteList(list []string) string {
	if len(list) == 0 {
		return "none yet"
	}
	var b strings.Builder
	for i, s := range list {
		if i == 8 {
			fmt.Fprintf(&b, " and %d more", len(list)-i)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", s)
	}
	return b.String()
}

func hasSize(r *syntax.Reference) bool {
	for _, s := range r.Steps {
		if !s.IsKey {
			return true
		}
	}
	return false
}

// thing finds what a reference names and returns the steps behind the name.
// `dimension.bore` names the same as `bore`.
func (c *compiler) thing(r *syntax.Reference) (*Thing, []syntax.Step) {
	if t, ok := c.scope.Things[r.Root]; ok {
		return t, r.Steps
	}
	if len(r.Steps) > 0 && !r.Steps[0].IsKey {
		if t, ok := c.scope.Things[r.Steps[0].Name]; ok && (t.Kind.String() == r.Root || t.Unknown) {
			return t, r.Steps[1:]
		}
	}
	return nil, r.Steps
}

func (c *compiler) reference(r *syntax.Reference, set SetFunction) *node {
	if r.Root == "pi" && len(r.Steps) == 0 {
		return constant(math.Pi, quantity.OfNumber)
	}
	if r.Root == "x" && c.scope.X != nil && len(r.Steps) == 0 {
		return &node{op: opInput, dim: *c.scope.X, ref: reference{kind: X}}
	}
	t, steps := c.thing(r)
	if t == nil {
		return c.unknown(r)
	}
	c.uses = append(c.uses, Use{t, r.Span})
	if t.Unknown {
		return nil
	}
	n := &node{op: opInput, dim: t.Dimension, ref: reference{thing: t, set: set}}
	for _, s := range steps {
		switch {
		case s.IsKey && !n.ref.keyed && n.ref.detail == "":
			if t.Place == "" {
				return c.add("formula.place", s.Span, fmt.Sprintf("%s is one for the whole engine and has no places", t.Name), "leave the square brackets out")
			}
			k := c.scope.Places[t.Place]
			if k == nil || k.Unknown {
				return nil
			}
			if members := k.Members; !contains(members, s.Name) {
				do := "the places are " + quoteList(members)
				if near := Nearest(s.Name, members); near != "" {
					do = fmt.Sprintf("perhaps %q is meant; %s", near, do)
				}
				return c.add("formula.place", s.Span, fmt.Sprintf("%s has no place %q", t.Name, s.Name), do)
			}
			n.ref.keyed, n.ref.member = true, s.Name
		case !s.IsKey && t.Kind == Slot && n.ref.detail == "":
			dim, ok := t.Sizes[s.Name]
			if !ok {
				var sizes []string
				for name := range t.Sizes {
					sizes = append(sizes, name)
				}
				do := "the sizes of its parts are " + quoteList(sorted(sizes))
				if near := Nearest(s.Name, sizes); near != "" {
					do = fmt.Sprintf("perhaps %q is meant; %s", near, do)
				}
				return c.add("formula.size", s.Span, fmt.Sprintf("no part for %s has a size %s", t.Name, s.Name), do)
			}
			n.dim, n.ref.detail, n.ref.kind = dim, s.Name, Size
		default:
			do := "leave it out"
			if k := c.scope.Places[t.Place]; k != nil && contains(k.Members, s.Name) {
				do = fmt.Sprintf("a place stands in square brackets: %s[%q]", t.Name, s.Name)
			}
			return c.add("formula.name", s.Span, fmt.Sprintf("%s has nothing called %s", t.Name, s.Name), do)
		}
	}
	switch t.Kind {
	case Curve:
		return c.add("formula.curve", r.Span, fmt.Sprintf("%s is a curve and needs its argument", t.Name), fmt.Sprintf("write %s(x)", t.Name))
	case Option:
		if n.ref.kind != OptionIs {
			n.ref.kind = OptionValue
			if !t.Numeric {
				// Legal only beside == and !=; textComparison replaces the kind.
				n.ref.kind = OptionText
			}
		}
	case Slot:
		if n.ref.detail == "" {
			n.ref.kind = SlotText
		}
	default:
		n.ref.kind = Value
		if c.scope.FactsOnly {
			return c.add("formula.facts-only", r.Span, fmt.Sprintf("%s is a %s, and only options and sizes of parts may stand here", t.Name, t.Kind), "to judge a reading by others, make a number of them and give the number a limit")
		}
	}
	if !n.ref.keyed && !n.ref.each && !c.scope.AnyPlace && !c.scope.Places.Within(c.scope.At, t.Place) {
		if c.scope.Places.anyUnknown(c.scope.At) || c.scope.Places.anyUnknown(t.Place) {
			return nil
		}
		k := c.scope.Places[t.Place]
		example := ""
		if k != nil {
			example = first(k.Members)
		}
		return c.add("formula.place", r.Span, fmt.Sprintf("%s is read at each %s, and this formula stands at %s", t.Name, t.Place, atWords(c.scope.At)), fmt.Sprintf("write each(%s) inside smallest, largest, mean, spread or sum, or one place: %s[%q]", t.Name, t.Name, example))
	}
	return n
}

func atWords(place string) string {
	if place == "" {
		return "the whole engine"
	}
	return "each " + place
}

// refuseText refuses an option or a slot that stands for a text where a value is
// computed with; beside == and != it may stand.
func (c *compiler) refuseText(n *node, span syntax.Span) *node {
	if n == nil {
		return nil
	}
	switch n.ref.kind {
	case OptionText:
		return c.add("formula.option", span, fmt.Sprintf("the choices of %s are texts, so it cannot be computed with", n.ref.thing.Name), fmt.Sprintf("compare it: %s == %q", n.ref.thing.Name, first(n.ref.thing.Choices)))
	case SlotText:
		return c.add("formula.slot", span, fmt.Sprintf("%s is a slot, so it cannot be computed with", n.ref.thing.Name), fmt.Sprintf("name a size of its part, like %s.thickness, or compare it with a part", n.ref.thing.Name))
	}
	return n
}

func (c *compiler) unknown(r *syntax.Reference) *node {
	do := ""
	if strings.Contains(r.Root, "-") {
		do = "put a space each side of the minus"
	} else {
		names := make([]string, 0, len(c.scope.Things))
		for name := range c.scope.Things {
			names = append(names, name)
		}
		if r.Root == "x" {
			do = "x has a meaning only inside the value of a sweep"
		} else if near := Nearest(r.Root, names); near != "" {
			do = fmt.Sprintf("perhaps %s is meant", near)
		} else if _, ok := c.function(r.Root); ok {
			do = fmt.Sprintf("%s is a function: write %s(…)", r.Root, r.Root)
		} else {
			do = "declare it as a dimension, number, option or slot, or correct the name"
		}
	}
	return c.add("formula.unknown-name", r.Span, fmt.Sprintf("nothing in this pack is called %s", r.Root), do)
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
