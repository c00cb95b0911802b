package formula

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// mathFunctions are the functions that are always there, with the number of
// arguments they take (-1: one or more).
var mathFunctions = map[string]struct {
	op        op
	arguments int
}{
	"abs": {opAbs, 1}, "sqrt": {opSqrt, 1}, "sq": {opSquare, 1}, "cube": {opCube, 1}, "pow": {opPower, 2},
	"exp": {opExp, 1}, "ln": {opLn, 1}, "sin": {opSin, 1}, "cos": {opCos, 1}, "tan": {opTan, 1},
	"asin": {opAsin, 1}, "acos": {opAcos, 1}, "atan": {opAtan, 1}, "atan2": {opAtan2, 2}, "hypot": {opHypot, 2},
	"min": {opMin, -1}, "max": {opMax, -1}, "clamp": {opClamp, 3},
}

func (c *compiler) call(e *syntax.Call) *node {
	if e.Function == "pi" && len(e.Arguments) == 0 {
		return constant(math.Pi, quantity.OfNumber)
	}
	if t, ok := c.scope.Things[e.Function]; ok && (t.Kind == Curve || t.Unknown) && !Reserved(e.Function) {
		return c.curve(e, t)
	}
	if f, ok := setFunctions[e.Function]; ok {
		return c.set(e, f)
	}
	if e.Function == "sum" {
		return c.gather(e, opSum)
	}
	if e.Function == "each" {
		return c.add("formula.each", e.Span, "each(…) is several values, and one is needed here", "put it inside smallest, largest, mean, spread or sum")
	}
	if f, ok := mathFunctions[e.Function]; ok {
		return c.mathCall(e, f.op, f.arguments)
	}
	if f, ok := c.scope.Functions[e.Function]; ok {
		return c.mechanics(e, f)
	}
	do := "the functions are listed in docs/pack-language.md"
	if t, ok := c.scope.Things[e.Function]; ok && !t.Unknown {
		do = fmt.Sprintf("%s is %s; write * before the bracket to multiply", t.Name, syntax.WithArticle(t.Kind.String()))
	} else if near := Nearest(e.Function, c.functionNames()); near != "" {
		do = "perhaps " + near + " is meant; " + do
	}
	return c.add("formula.unknown-function", e.NameSpan, fmt.Sprintf("there is no function called %s", e.Function), do)
}

func (c *compiler) functionNames() []string {
	names := []string{"each", "sum"}
	for name := range mathFunctions {
		names = append(names, name)
	}
	for name := range setFunctions {
		names = append(names, name)
	}
	for name := range c.scope.Functions {
		names = append(names, name)
	}
	return names
}

// function finds a function by its name.
func (c *compiler) function(name string) (string, bool) {
	for _, f := range c.functionNames() {
		if f == name {
			return f, true
		}
	}
	return "", false
}

func (c *compiler) count(e *syntax.Call, least, most int) bool {
	n := len(e.Arguments)
	if n >= least && (most < 0 || n <= most) {
		return true
	}
	want := plural(least, "value")
	if most != least {
		want = fmt.Sprintf("%d to %d values", least, most)
		if most < 0 {
			want = fmt.Sprintf("at least %s", plural(least, "value"))
		}
	}
	c.add("formula.arguments", e.Span, fmt.Sprintf("%s takes %s and has %d here", e.Function, want, n), "give it the values that docs/pack-language.md lists")
	return false
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// arguments compiles the arguments of a call; nil if one of them is broken.
func (c *compiler) arguments(e *syntax.Call) []*node {
	list := make([]*node, 0, len(e.Arguments))
	good := true
	for _, a := range e.Arguments {
		n := c.number(a)
		good = good && n != nil
		list = append(list, n)
	}
	if !good {
		return nil
	}
	return list
}

func (c *compiler) mathCall(e *syntax.Call, o op, count int) *node {
	least, most := count, count
	if count < 0 {
		least, most = 1, -1
		if n := c.gatherIfEach(e, o); n != nil || hasEach(e) {
			return n
		}
	}
	if !c.count(e, least, most) {
		return nil
	}
	args := c.arguments(e)
	if args == nil {
		return nil
	}
	wrong := func(i int, want string) *node {
		return c.add("formula.dimension", e.Arguments[i].Where(), fmt.Sprintf("%s needs %s here, and this is %s", e.Function, want, a(args[i].dim)), "check the units")
	}
	x := args[0]
	if x.dim.Point && o != opMin && o != opMax && o != opClamp {
		return c.add("formula.temperature", e.Arguments[0].Where(), fmt.Sprintf("%s of a temperature has no meaning", e.Function), "subtract a reference temperature first")
	}
	out := &node{op: o, args: args, dim: x.dim}
	switch o {
	case opAbs:
	case opSqrt, opSquare, opCube:
		twice := map[op]int{opSqrt: 1, opSquare: 4, opCube: 6}[o]
		dim, ok := x.dim.Power(twice)
		if !ok {
			return c.add("formula.dimension", e.Arguments[0].Where(), fmt.Sprintf("%s has no square root that could be measured", a(x.dim)), "check the formula")
		}
		out.dim = dim
	case opPower:
		if !args[1].dim.IsNumber() {
			return wrong(1, "a plain number")
		}
		k, fixed := constantOf(args[1])
		if !x.dim.IsNumber() {
			if !fixed {
				return c.add("formula.dimension", e.Arguments[1].Where(), "a value with a unit needs a fixed exponent", "write the exponent as a number")
			}
			dim, ok := x.dim.Power(int(math.Round(2 * k)))
			if !ok || math.Abs(2*k-math.Round(2*k)) > 1e-12 {
				return c.add("formula.dimension", e.Arguments[1].Where(), fmt.Sprintf("%s to the power %v is nothing that could be measured", a(x.dim), k), "check the exponent")
			}
			out.dim = dim
		}
	case opExp, opLn:
		if !x.dim.IsNumber() {
			return wrong(0, "a plain number")
		}
	case opSin, opCos, opTan:
		if x.dim != quantity.OfAngle && !x.dim.IsNumber() {
			return wrong(0, "an angle")
		}
		out.dim = quantity.OfNumber
	case opAsin, opAcos, opAtan:
		if !x.dim.IsNumber() {
			return wrong(0, "a plain number")
		}
		out.dim = quantity.OfAngle
	default:
		for i := range args[1:] {
			if args[i+1].dim != x.dim {
				return c.add("formula.dimension", e.Arguments[i+1].Where(), fmt.Sprintf("%s needs values of one kind, and these are %s and %s", e.Function, a(x.dim), a(args[i+1].dim)), "check the units")
			}
		}
		if o == opAtan2 {
			out.dim = quantity.OfAngle
		}
	}
	return fold(out)
}

func hasEach(e *syntax.Call) bool {
	for _, a := range e.Arguments {
		if call, ok := a.(*syntax.Call); ok && call.Function == "each" {
			return true
		}
	}
	return false
}

func (c *compiler) gatherIfEach(e *syntax.Call, o op) *node {
	if !hasEach(e) {
		return nil
	}
	return c.gather(e, o)
}

var setOps = map[SetFunction]op{Smallest: opMin, Largest: opMax, Mean: opMean, Spread: opSpread}

// set compiles smallest(bore), oval(bore), largest(each(bore)), mean(a, b).
func (c *compiler) set(e *syntax.Call, f SetFunction) *node {
	if !c.count(e, 1, -1) {
		return nil
	}
	r, single := e.Arguments[0].(*syntax.Reference)
	single = single && len(e.Arguments) == 1
	if f == Oval || f == Taper {
		if !single {
			return c.add("formula.set", e.Span, fmt.Sprintf("%s takes the name of one dimension", e.Function), fmt.Sprintf("write %s(bore)", e.Function))
		}
		t, _ := c.thing(r)
		if t != nil && !t.Unknown && t.Kind != Dimension {
			return c.add("formula.set", e.Arguments[0].Where(), fmt.Sprintf("%s takes a dimension, and %s is %s", e.Function, t.Name, syntax.WithArticle(t.Kind.String())), "name a dimension that is read at several positions")
		}
		n := c.reference(r, f)
		return n
	}
	if single {
		if t, _ := c.thing(r); t != nil && t.Kind == Dimension {
			return c.reference(r, f)
		}
	}
	return c.gather(e, setOps[f])
}

// gather compiles a function of several values, each(name) among them.
func (c *compiler) gather(e *syntax.Call, o op) *node {
	if !c.count(e, 1, -1) {
		return nil
	}
	out := &node{op: o}
	good := true
	for i, x := range e.Arguments {
		var n *node
		if call, ok := x.(*syntax.Call); ok && call.Function == "each" {
			n = c.each(call)
		} else {
			n = c.number(x)
		}
		if n == nil {
			good = false
			continue
		}
		if i > 0 && good && n.dim != out.dim {
			c.add("formula.dimension", x.Where(), fmt.Sprintf("%s needs values of one kind, and these are %s and %s", e.Function, a(out.dim), a(n.dim)), "check the units")
			good = false
			continue
		}
		if len(out.args) == 0 {
			out.dim = n.dim
		}
		out.args = append(out.args, n)
	}
	if !good {
		return nil
	}
	switch {
	case out.dim.Point && o == opSum:
		return c.add("formula.temperature", e.Span, "temperatures cannot be added up", "use mean")
	case o == opSpread:
		out.dim = out.dim.Difference()
	}
	return fold(out)
}

func (c *compiler) each(e *syntax.Call) *node {
	if !c.count(e, 1, 1) {
		return nil
	}
	r, ok := e.Arguments[0].(*syntax.Reference)
	if !ok {
		return c.add("formula.each", e.Arguments[0].Where(), "each takes a name", "write each(bore)")
	}
	t, steps := c.thing(r)
	if t == nil {
		return c.unknown(r)
	}
	if t.Unknown {
		return nil
	}
	for _, s := range steps {
		if s.IsKey {
			return c.add("formula.each", s.Span, "each takes a name without a place", "leave the square brackets out")
		}
	}
	if t.Place == "" {
		return c.add("formula.each", e.Span, fmt.Sprintf("%s is one for the whole engine", t.Name), "leave each( ) out")
	}
	at := c.scope.At
	c.scope.At = t.Place // the place is not asked for: every member is gathered
	n := c.reference(r, Judged)
	c.scope.At = at
	n = c.refuseText(n, e.Span)
	if n == nil {
		return nil
	}
	n.ref.each = true
	return n
}

func (c *compiler) curve(e *syntax.Call, t *Thing) *node {
	if !t.Unknown && !c.count(e, 1, 1) || len(e.Arguments) == 0 {
		return nil
	}
	x := c.number(e.Arguments[0])
	c.uses = append(c.uses, Use{t, e.NameSpan})
	if x == nil || t.Unknown || t.Table == nil {
		return nil
	}
	if x.dim != t.Table.XDimension {
		return c.add("formula.dimension", e.Arguments[0].Where(), fmt.Sprintf("%s needs %s, and this is %s", t.Name, a(t.Table.XDimension), a(x.dim)), "check the units")
	}
	return &node{op: opCurve, args: []*node{x}, dim: t.Dimension, table: t.Table}
}

func (c *compiler) mechanics(e *syntax.Call, f *Function) *node {
	least := len(f.Arguments)
	for least > 0 && f.Arguments[least-1].HasDefault {
		least--
	}
	if n := len(e.Arguments); n < least || n > len(f.Arguments) {
		var names []string
		for _, a := range f.Arguments {
			names = append(names, a.Name)
		}
		return c.add("formula.arguments", e.Span, fmt.Sprintf("%s takes %s and has %d here", f.Name, plural(len(f.Arguments), "value"), n), fmt.Sprintf("write %s(%s)", f.Name, strings.Join(names, ", ")))
	}
	args := c.arguments(e)
	if args == nil {
		return nil
	}
	good := true
	for i, arg := range args {
		want := f.Arguments[i].Dimension
		if arg.dim != want && !(want.Angle && arg.dim.IsNumber()) {
			c.add("formula.dimension", e.Arguments[i].Where(), fmt.Sprintf("%s needs %s for its %s, and this is %s", f.Name, a(want), f.Arguments[i].Name, a(arg.dim)), "check the units and the order of the values")
			good = false
		}
	}
	if !good {
		return nil
	}
	for _, a := range f.Arguments[len(args):] {
		args = append(args, constant(a.Default, a.Dimension))
	}
	return &node{op: opFunction, args: args, dim: f.Result, fn: f}
}

// fold computes a node whose arguments are all constants.
func fold(n *node) *node {
	for _, a := range n.args {
		if a.op != opConstant {
			return n
		}
	}
	if n.op == opCurve || n.op == opFunction {
		return n
	}
	var buffer [8]float64
	if len(n.args) > len(buffer) {
		return n
	}
	values := buffer[:len(n.args)]
	for i, a := range n.args {
		values[i] = a.k
	}
	v := compute(n.op, values)
	if math.IsNaN(v) || overflows(v, values) {
		return n
	}
	return &node{op: opConstant, k: v, dim: n.dim, condition: n.condition}
}

func sorted(list []string) []string {
	sort.Strings(list)
	return list
}

// Nearest returns the name that a misspelt one may have meant, "" if none is near. A
// number is never suggested: two words that differ in a digit are not near.
func Nearest(word string, names []string) string {
	length := len([]rune(word))
	most := min(1+length/4, 3)
	if length < 2 {
		most = 0
	}
	best := ""
	for _, n := range names {
		if n == word || !sameDigits(n, word) {
			continue
		}
		switch d := editDistance(word, n, most); {
		case d < most, d == most && (best == "" || n < best):
			best, most = n, d
		}
	}
	return best
}

// sameDigits reports whether two words hold the same digits in the same order.
func sameDigits(a, b string) bool {
	next := func(s string, i int) int {
		for i < len(s) && (s[i] < '0' || s[i] > '9') {
			i++
		}
		return i
	}
	i, j := next(a, 0), next(b, 0)
	for i < len(a) && j < len(b) {
		if a[i] != b[j] {
			return false
		}
		i, j = next(a, i+1), next(b, j+1)
	}
	return i == len(a) && j == len(b)
}

// editDistance counts insertions, deletions, replacements and swaps of neighbours;
// it gives up above most.
func editDistance(a, b string, most int) int {
	x, y := []rune(strings.ToLower(a)), []rune(strings.ToLower(b))
	if d := len(x) - len(y); d > most || -d > most {
		return most + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		if slices.Min(row) > most && slices.Min(last) > most {
			return most + 1 // the rows below can only be worse
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
