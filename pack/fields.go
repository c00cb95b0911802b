package pack

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// wrong reports an attribute whose value is of the wrong kind.
func (l *loader) wrong(a *syntax.Attribute, want, example string) {
	if broken(a.Value) {
		return
	}
	l.add("pack.attribute", a.Value.Where(), fmt.Sprintf("%s is %s", a.Name, want), "write it like "+a.Name+" = "+example)
}

// broken reports whether an expression could not be read; that has been reported.
func broken(e syntax.Expr) bool {
	_, is := e.(*syntax.Broken)
	return is
}

// perhaps puts the name that is meant, if one is near, before what to do.
func perhaps(word string, names []string, do string) string {
	if near := formula.Nearest(word, names); near != "" {
		return fmt.Sprintf("perhaps %s is meant; %s", near, do)
	}
	return do
}

func (l *loader) text(b *syntax.Block, name string) string {
	a := b.Attribute(name)
	if a == nil {
		return ""
	}
	if t, ok := a.Value.(*syntax.Text); ok {
		return t.Value
	}
	l.wrong(a, "a text in quotes", `"…"`)
	return ""
}

// word reads a text that is one of a few words.
func (l *loader) word(b *syntax.Block, name string, words ...string) string {
	a := b.Attribute(name)
	if a == nil {
		return ""
	}
	t, ok := a.Value.(*syntax.Text)
	if !ok {
		l.wrong(a, "a text in quotes", fmt.Sprintf("%q", words[0]))
		return ""
	}
	if !slices.Contains(words, t.Value) {
		l.add("pack.word", t.Span, fmt.Sprintf("%s cannot be %q", name, t.Value), perhaps(t.Value, words, "write one of: "+strings.Join(words, ", ")))
		return ""
	}
	return t.Value
}

func (l *loader) flag(b *syntax.Block, name string) bool {
	a := b.Attribute(name)
	if a == nil {
		return false
	}
	if v, ok := a.Value.(*syntax.Bool); ok {
		return v.Value
	}
	l.wrong(a, "true or false", "true")
	return false
}

// whole reads a whole number of at least least.
func (l *loader) whole(b *syntax.Block, name string, least, otherwise int) int {
	a := b.Attribute(name)
	if a == nil {
		return otherwise
	}
	if n, ok := a.Value.(*syntax.Number); ok && n.Value == math.Trunc(n.Value) && n.Value >= float64(least) && n.Value <= 1e6 {
		return int(n.Value)
	}
	l.wrong(a, fmt.Sprintf("a whole number, %d or more", least), fmt.Sprint(max(least, 1)))
	return otherwise
}

// texts reads a list of texts.
func (l *loader) texts(b *syntax.Block, name string) []string {
	a := b.Attribute(name)
	if a == nil {
		return nil
	}
	list, ok := a.Value.(*syntax.List)
	if !ok {
		l.wrong(a, "a list of texts", `["…", "…"]`)
		return nil
	}
	var out []string
	seen := map[string]bool{}
	for _, e := range list.Items {
		t, ok := e.(*syntax.Text)
		if !ok {
			if !broken(e) {
				l.add("pack.attribute", e.Where(), fmt.Sprintf("an item of %s is a text in quotes", name), `write it like ["…", "…"]`)
			}
			continue
		}
		if seen[t.Value] {
			l.add("pack.repeated", t.Span, fmt.Sprintf("%q stands twice in %s", t.Value, name), "leave one out")
			continue
		}
		seen[t.Value] = true
		out = append(out, t.Value)
	}
	return out
}

// table reads { key = "text" }.
func (l *loader) table(b *syntax.Block, name string) map[string]string {
	out := map[string]string{}
	l.eachItem(b, name, `{ key = "…" }`, func(key string, item syntax.Item) {
		if t, ok := item.Value.(*syntax.Text); ok {
			out[key] = t.Value
			return
		}
		if !broken(item.Value) {
			l.add("pack.attribute", item.Value.Where(), fmt.Sprintf("%s of %s is a text in quotes", key, name), fmt.Sprintf("write it like { %q = \"…\" }", key))
		}
	})
	return out
}

// eachItem walks the entries of an object whose keys are plain names or texts.
func (l *loader) eachItem(b *syntax.Block, name, example string, do func(key string, item syntax.Item)) {
	a := b.Attribute(name)
	if a == nil {
		return
	}
	o, ok := a.Value.(*syntax.Object)
	if !ok {
		l.wrong(a, "a list of pairs in braces", example)
		return
	}
	seen := map[string]bool{}
	for _, item := range o.Items {
		key := ""
		switch k := item.Key.(type) {
		case *syntax.Text:
			key = k.Value
		case *syntax.Reference:
			if len(k.Steps) == 0 {
				key = k.Root
			}
		case *syntax.Broken:
			continue
		}
		switch {
		case key == "":
			l.add("pack.attribute", item.Key.Where(), fmt.Sprintf("a key of %s is a plain name", name), "write "+name+" = "+example)
		case seen[key]:
			l.add("pack.repeated", item.Key.Where(), fmt.Sprintf("%s stands twice in %s", key, name), "leave one out")
		default:
			seen[key] = true
			do(key, item)
		}
	}
}

// quantity reads a value of a dimension. A want of nil takes any.
func (l *loader) quantity(b *syntax.Block, name string, want *quantity.Dimension) (quantity.Quantity, bool) {
	a := b.Attribute(name)
	if a == nil {
		return quantity.Quantity{}, false
	}
	return l.quantityOf(a.Name, a.Value, want)
}

func (l *loader) quantityOf(name string, e syntax.Expr, want *quantity.Dimension) (quantity.Quantity, bool) {
	var q quantity.Quantity
	switch e := e.(type) {
	case *syntax.Text:
		var err error
		if q, err = quantity.Parse(e.Value); err != nil {
			l.quantityError(err, e.Span)
			return q, false
		}
	case *syntax.Number:
		q = quantity.Quantity{Value: quantity.Value{SI: e.Value}, Unit: quantity.MustUnit("1")}
		if _, fraction, ok := strings.Cut(e.Text, "."); ok {
			q.Decimals = len(fraction)
		}
	case *syntax.Broken:
		return q, false
	default:
		l.add("pack.attribute", e.Where(), fmt.Sprintf("%s is a value in quotes", name), `write it like "92.004 mm"`)
		return q, false
	}
	if want != nil && q.Dimension != *want {
		l.unitMismatch(name, e.Where(), q.Dimension, *want)
		return q, false
	}
	return q, true
}

func (l *loader) unitMismatch(name string, span syntax.Span, got, want quantity.Dimension) {
	do := "check the unit"
	if u := quantity.Metric.Unit(want); u.Symbol != "1" {
		do = fmt.Sprintf("give it a unit of %s, like %s", want, u.Symbol)
	}
	if want == quantity.OfTemperatureDifference {
		do = "write a difference in K"
	}
	l.add("quantity.dimension", span, fmt.Sprintf("%s is %s, and this is %s", name, syntax.WithArticle(want.String()), syntax.WithArticle(got.String())), do)
}

func (l *loader) quantityError(err error, span syntax.Span) {
	says, do := formula.Explain(err)
	l.add("quantity.unreadable", span, says, do)
}

// positive reads a value above zero, in SI.
func (l *loader) positive(b *syntax.Block, name string, want quantity.Dimension) (float64, bool) {
	q, ok := l.quantity(b, name, &want)
	if ok && !(q.SI > 0) {
		l.add("pack.range", b.Attribute(name).Value.Where(), fmt.Sprintf("%s must be above zero", name), "check the figure")
		return 0, false
	}
	return q.SI, ok
}

// duration reads a time of zero or more.
func (l *loader) duration(b *syntax.Block, name string) (float64, bool) {
	want := quantity.OfTime
	q, ok := l.quantity(b, name, &want)
	if ok && q.SI < 0 {
		l.add("pack.range", b.Attribute(name).Value.Where(), fmt.Sprintf("%s cannot be negative", name), "check the figure")
		return 0, false
	}
	return q.SI, ok
}

func (l *loader) facts(at string) *formula.Scope {
	return &formula.Scope{Things: l.things, Places: l.places, At: at, Functions: l.functions, FactsOnly: true, AnyPlace: l.loosePlace}
}

// setting reads a range that may depend on options and part sizes. A want of nil
// takes any dimension.
func (l *loader) setting(b *syntax.Block, name, at string, want *quantity.Dimension) *Setting {
	a := b.Attribute(name)
	if a == nil {
		return nil
	}
	r, mistakes := formula.CompileRange(a.Value, l.facts(at))
	if len(mistakes) > 0 {
		l.mistakes = append(l.mistakes, mistakes...)
		return nil
	}
	if r.Broken() {
		return nil
	}
	if want != nil && r.Dimension != *want {
		l.unitMismatch(name, a.Value.Where(), r.Dimension, *want)
		return nil
	}
	s := &Setting{Span: a.Value.Where()}
	if c, ok := r.Constant(); ok {
		s.Constant = c
	} else {
		s.Expression = r
		s.Constant.Dimension, s.Constant.Unit, s.Constant.Decimals = r.Dimension, r.Unit, r.Decimals
	}
	return s
}

// scalar reads one value that may depend on options and part sizes.
func (l *loader) scalar(name string, e syntax.Expr, at string, want quantity.Dimension) *Scalar {
	s := &Scalar{Span: e.Where(), Dimension: want, Unit: quantity.Metric.Unit(want)}
	switch e.(type) {
	case *syntax.Text, *syntax.Number, *syntax.Broken, *syntax.List, *syntax.Object, *syntax.Bool:
		q, ok := l.quantityOf(name, e, &want)
		if !ok {
			return nil
		}
		s.Constant, s.Unit, s.Decimals = q.Value, q.Unit, max(q.Decimals, 0)
		return s
	}
	x, mistakes := formula.Compile(e, l.facts(at))
	if len(mistakes) > 0 {
		l.mistakes = append(l.mistakes, mistakes...)
		return nil
	}
	if x.Broken() {
		return nil
	}
	if x.Condition {
		l.add("formula.condition", e.Where(), fmt.Sprintf("%s is a condition here, and a value is needed", name), "choose between two values with test ? a : b")
		return nil
	}
	if x.Dimension != want {
		l.unitMismatch(name, e.Where(), x.Dimension, want)
		return nil
	}
	if c, ok := x.Constant(); ok {
		s.Constant = quantity.Value{SI: c, Dimension: want}
		return s
	}
	s.Expr = x
	return s
}

// common reads what every block may say; `when` is compiled later, when all names
// are known.
func (l *loader) common(b *syntax.Block) Common {
	c := Common{Name: b.Name(), Title: l.text(b, "title"), Note: l.text(b, "note"), Caution: l.text(b, "caution"), Span: b.Span, block: b}
	if c.Title == "" {
		c.Title = c.Name
	}
	if b.Attribute("sources") != nil {
		c.Sources = l.table(b, "sources")
		for _, name := range slices.Sorted(maps.Keys(c.Sources)) {
			if !anyAttribute[name] {
				l.add("pack.unknown-attribute", keySpan(b, "sources", name), fmt.Sprintf("there is no %s that could have a source", name), perhaps(name, slices.Collect(maps.Keys(anyAttribute)), `name the attribute whose figure comes from there, like { limit = "manual page 41" }`))
			}
		}
	}
	c.Basis = l.word(b, "basis", "book", "part maker", "mine")
	if b.Attribute("blank") != nil {
		l.checkBlank(b)
		c.Blank = l.blankNames(b)
	}
	return c
}

// attributesOf lists the attributes of a kind of block, without those that every
// block has.
func attributesOf(kind string) []string {
	return strings.Fields(strings.NewReplacer("!", "", "[", "", "]", "").Replace(schema[kind]))
}

// anyAttribute holds the attributes of all kinds of blocks: a source may be named for
// a figure that stands in the note, too.
var anyAttribute = func() map[string]bool {
	all := map[string]bool{}
	for kind := range schema {
		for _, name := range append(attributesOf(kind), strings.Fields(commonAttributes)...) {
			all[name] = true
		}
	}
	return all
}()

func (l *loader) checkBlank(b *syntax.Block) {
	known := append(attributesOf(b.Kind), "when", "note", "caution")
	for _, name := range l.texts(b, "blank") {
		if !slices.Contains(known, name) {
			l.add("pack.blank", itemSpan(b, "blank", name), fmt.Sprintf("%s has no %s to be filled in", syntax.WithArticle(b.Kind), name), perhaps(name, known, `name attributes that are to be filled in, like ["new", "limit"]`))
		}
	}
}

// itemSpan finds a text in a list or among the values of a table, else all of it.
func itemSpan(b *syntax.Block, attribute, text string) syntax.Span {
	value := b.Attribute(attribute).Value
	span := value.Where()
	is := func(e syntax.Expr) {
		if t, ok := e.(*syntax.Text); ok && t.Value == text {
			span = t.Span
		}
	}
	switch v := value.(type) {
	case *syntax.List:
		for _, e := range v.Items {
			is(e)
		}
	case *syntax.Object:
		for _, i := range v.Items {
			is(i.Value)
		}
	}
	return span
}

// keySpan finds a key of a table.
func keySpan(b *syntax.Block, attribute, key string) syntax.Span {
	if o, ok := b.Attribute(attribute).Value.(*syntax.Object); ok {
		for _, i := range o.Items {
			switch k := i.Key.(type) {
			case *syntax.Text:
				if k.Value == key {
					return k.Span
				}
			case *syntax.Reference:
				if k.Root == key {
					return k.Span
				}
			}
		}
	}
	return b.Attribute(attribute).Value.Where()
}

// at reads the place of a block.
func (l *loader) at(b *syntax.Block) string {
	place := l.placeOf(b)
	l.loosePlace = place == "" && (b.Attribute("at") != nil || lost(b, "at"))
	return place
}

func (l *loader) placeOf(b *syntax.Block) string {
	a := b.Attribute("at")
	if a == nil {
		return ""
	}
	r, ok := a.Value.(*syntax.Reference)
	name := ""
	switch {
	case ok && len(r.Steps) == 0:
		name = r.Root
	case ok && r.Root == "place" && len(r.Steps) == 1:
		name = r.Steps[0].Name
	default:
		if t, isText := a.Value.(*syntax.Text); isText {
			name = t.Value
		} else {
			l.wrong(a, "the name of a place", "cylinder")
			return ""
		}
	}
	if _, ok := l.places[name]; !ok {
		l.unknown("place", name, a.Value.Where())
		return ""
	}
	return name
}

// unknown reports a reference to nothing.
func (l *loader) unknown(kind, name string, span syntax.Span) {
	if l.misread[name] || l.full() {
		return
	}
	names := make([]string, 0, len(l.declared[kind]))
	for n := range l.declared[kind] {
		names = append(names, n)
	}
	do := perhaps(name, names, fmt.Sprintf("declare %s %q, or correct the name", kind, name))
	l.add("pack.unknown-name", span, fmt.Sprintf("there is no %s called %s", kind, name), do)
}

// refs reads a list of references KIND.NAME, of the kinds given.
func (l *loader) refs(b *syntax.Block, name string, kinds ...string) []Ref {
	a := b.Attribute(name)
	if a == nil {
		return nil
	}
	items := []syntax.Expr{a.Value}
	if list, ok := a.Value.(*syntax.List); ok {
		items = list.Items
	} else if _, ok := a.Value.(*syntax.Reference); !ok {
		l.wrong(a, "a list of names", fmt.Sprintf("[%s.…]", kinds[0]))
		return nil
	}
	var out []Ref
	for _, e := range items {
		if l.full() {
			break
		}
		if r, ok := l.ref(name, e, kinds); ok {
			out = append(out, r)
		}
	}
	return out
}

func (l *loader) ref(attribute string, e syntax.Expr, kinds []string) (Ref, bool) {
	r, ok := e.(*syntax.Reference)
	if !ok {
		if !broken(e) {
			do := fmt.Sprintf("write %s.name without quotes", kinds[0])
			if t, ok := e.(*syntax.Text); ok {
				for _, k := range kinds {
					name := strings.TrimPrefix(t.Value, k+".")
					if _, ok := l.declared[k][name]; ok {
						do = fmt.Sprintf("write %s.%s without quotes", k, name)
					}
				}
			}
			l.add("pack.reference", e.Where(), fmt.Sprintf("%s names %s", attribute, oneOf(kinds)), do)
		}
		return Ref{}, false
	}
	kind, name := "", ""
	for _, k := range kinds {
		if r.Root == k && len(r.Steps) == 1 && !r.Steps[0].IsKey {
			kind, name = k, r.Steps[0].Name
		}
	}
	if kind == "" {
		do := fmt.Sprintf("write %s.name", strings.Join(kinds, ".name or "))
		for _, k := range kinds {
			if _, ok := l.declared[k][r.Root]; ok && len(r.Steps) == 0 {
				do = fmt.Sprintf("write %s.%s", k, r.Root)
			}
		}
		l.add("pack.reference", r.Span, fmt.Sprintf("%s names %s", attribute, oneOf(kinds)), do)
		return Ref{}, false
	}
	if _, ok := l.declared[kind][name]; !ok {
		l.unknown(kind, name, r.Span)
		return Ref{}, false
	}
	return Ref{kind, name, r.Span}, true
}

// oneOf lists kinds with their articles.
func oneOf(kinds []string) string {
	var list []string
	for _, k := range kinds {
		list = append(list, syntax.WithArticle(k))
	}
	return strings.Join(list, " or ")
}

func names(refs []Ref) []string {
	var out []string
	for _, r := range refs {
		out = append(out, r.Name)
	}
	return out
}

// metalNamed finds a metal in the pack or in the list of the program.
func (l *loader) metalNamed(b *syntax.Block, attribute string) (quantity.Expansion, bool) {
	name := l.text(b, attribute)
	if name == "" {
		return 0, false
	}
	for _, m := range l.pack.Metals {
		if m.Name == name {
			return m.Expansion, true
		}
	}
	if m, ok := measure.FindMetal(name); ok {
		return m.Expansion, true
	}
	var known []string
	for _, m := range measure.Metals() {
		known = append(known, m.Name)
	}
	for _, m := range l.pack.Metals {
		known = append(known, m.Name)
	}
	do := "the metals are " + strings.Join(known, ", ") + `; add another with metal "NAME" { expansion = "11.9e-6 1/K" }`
	l.add("pack.metal", b.Attribute(attribute).Value.Where(), fmt.Sprintf("nothing is known of the metal %q", name), perhaps(name, known, do))
	return 0, false
}
