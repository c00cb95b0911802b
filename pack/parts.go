package pack

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

var decimalMoney = regexp.MustCompile(`^\d{1,9}(\.\d{1,2})?$`)

// money checks a price, which stays decimal text.
func (l *loader) money(b *syntax.Block, name string) string {
	a := b.Attribute(name)
	if a == nil {
		return ""
	}
	s := ""
	switch e := a.Value.(type) {
	case *syntax.Text:
		s = e.Value
	case *syntax.Number:
		s = e.Text
	}
	if !decimalMoney.MatchString(s) {
		l.wrong(a, "an amount of money", `"18.40"`)
		return ""
	}
	return s
}

func (l *loader) supplier(b *syntax.Block) {
	l.pack.Suppliers = append(l.pack.Suppliers, &Supplier{Common: l.common(b), Shipping: l.money(b, "shipping"), FreeOver: l.money(b, "free_over"), Currency: l.text(b, "currency")})
}

func (l *loader) slot(b *syntax.Block) {
	s := &Slot{Common: l.common(b), At: l.at(b), AlwaysReplace: l.flag(b, "always_replace"), OneUse: l.flag(b, "one_use"), Needs: l.texts(b, "needs"), Sizes: map[string]quantity.Dimension{}}
	s.loose = l.loosePlace
	s.Member = l.member(b)
	s.WornBy = l.refs(b, "worn_by", "dimension", "number", "sweep", "check")
	l.pack.Slots = append(l.pack.Slots, s)
}

// member reads the one member of a place at which a slot is filled.
func (l *loader) member(b *syntax.Block) string {
	name := l.text(b, "member")
	if name == "" {
		return ""
	}
	for _, p := range l.pack.Places {
		if p.Kind.Unknown || slices.Contains(p.Kind.Members, name) {
			return name
		}
	}
	l.wrong(b.Attribute("member"), "a member of one of the places of the pack", `"front"`)
	return ""
}

func (l *loader) part(b *syntax.Block) {
	before := len(l.mistakes)
	p := &Part{Common: l.common(b), Families: l.texts(b, "families"), Years: l.text(b, "years"), Has: l.texts(b, "has"), Needs: l.texts(b, "needs"),
		Excludes: l.texts(b, "excludes"), Supersedes: l.text(b, "supersedes"), Sheet: l.text(b, "sheet"),
		Engines: l.text(b, "engines"), Look: l.text(b, "look"), LooksLike: l.texts(b, "looks_like"), Either: l.flag(b, "either"), Sizes: map[string]quantity.Quantity{}, Bands: map[string]quantity.Range{}}
	fills := len(l.mistakes)
	p.Fills = names(l.refs(b, "fills", "slot"))
	if a := b.Attribute("fills"); a != nil && len(p.Fills) == 0 && len(l.mistakes) == fills && !l.misreads(a.Value) {
		l.wrong(a, "a list with at least one slot", "[slot.base_gasket]")
	}
	unsure := len(l.mistakes) > fills || lost(b, "fills", "sizes", "count")
	if b.Attribute("numbers") != nil {
		p.Numbers = l.table(b, "numbers")
	}
	l.eachItem(b, "sizes", `{ thickness = "0.30 mm" }`, func(key string, item syntax.Item) {
		if band, ok := bandOf(item.Value); ok {
			p.Bands[key] = band
			p.Sizes[key] = quantity.Quantity{Value: quantity.Value{SI: (band.Low + band.High) / 2, Dimension: band.Dimension}, Unit: band.Unit, Decimals: band.Decimals}
		} else if q, ok := l.quantityOf(key, item.Value, nil); ok {
			p.Sizes[key] = q
		}
	})
	l.unsureParts = l.unsureParts || unsure || len(l.mistakes) > before
	l.eachItem(b, "count", `{ circlip = 2 }`, func(key string, item syntax.Item) {
		n, ok := bareNumber(item.Value)
		switch {
		case !ok || n < 1 || n != math.Trunc(n):
			l.add("pack.attribute", item.Value.Where(), "a count is a whole number, 1 or more", "write it like count = { "+key+" = 2 }")
		case !slices.Contains(p.Fills, key) && unsure:
		case !slices.Contains(p.Fills, key):
			l.add("pack.unknown-name", item.Key.Where(), fmt.Sprintf("the part does not fill a slot %s", key), "name a slot from fills")
		default:
			if p.Count == nil {
				p.Count = map[string]int{}
			}
			p.Count[key] = int(n)
		}
	})
	if p.Supersedes != "" {
		if _, ok := l.declared["part"][p.Supersedes]; !ok {
			l.unknown("part", p.Supersedes, b.Attribute("supersedes").Value.Where())
		}
	}
	for _, id := range p.LooksLike {
		if _, ok := l.declared["part"][id]; !ok {
			l.unknown("part", id, b.Attribute("looks_like").Value.Where())
		}
	}
	l.pack.Parts = append(l.pack.Parts, p)
}

// bandOf reads a size that is given with a tolerance, like "0.50 ± 0.02 mm".
func bandOf(e syntax.Expr) (quantity.Range, bool) {
	text, ok := e.(*syntax.Text)
	if !ok {
		return quantity.Range{}, false
	}
	if _, err := quantity.Parse(text.Value); err == nil {
		return quantity.Range{}, false
	}
	band, err := quantity.ParseRange(text.Value)
	return band, err == nil && band.HasLow && band.HasHigh
}

// slotThings makes the slots known to formulas, with the sizes of their parts.
func (l *loader) slotThings() {
	if len(l.pack.Slots) == 0 {
		return
	}
	for _, s := range l.pack.Slots {
		var ids []string
		for _, p := range l.pack.Parts {
			if !slices.Contains(p.Fills, s.Name) {
				continue
			}
			ids = append(ids, p.Name)
			for name, q := range p.Sizes {
				if dim, ok := s.Sizes[name]; ok && dim != q.Dimension {
					l.add("parts.size", keySpan(p.block, "sizes", name), fmt.Sprintf("%s of part %q is %s, and of another part for %s %s", name, p.Name, syntax.WithArticle(q.Dimension.String()), s.Name, syntax.WithArticle(dim.String())), "give one size one kind of unit")
					continue
				}
				s.Sizes[name] = q.Dimension
			}
		}
		l.declare(l.declared["slot"][s.Name], &formula.Thing{Kind: formula.Slot, Name: s.Name, Place: s.At, Choices: ids, Sizes: s.Sizes, Unknown: l.unsureParts || s.loose})
	}
}

// compileFits reads the conditions of fit, at the place of the first slot that a
// part fills.
func (l *loader) compileFits() {
	at := map[string]*Slot{}
	for _, s := range l.pack.Slots {
		at[s.Name] = s
	}
	for _, p := range l.pack.Parts {
		l.loosePlace = true
		if len(p.Fills) > 0 && at[p.Fills[0]] != nil {
			p.FitsAt, l.loosePlace = at[p.Fills[0]].At, at[p.Fills[0]].loose
		}
		if a := p.block.Attribute("fits"); a != nil {
			p.Fits = l.condition(a, p.FitsAt)
		}
	}
}

// condition compiles an expression over options and chosen parts.
func (l *loader) condition(a *syntax.Attribute, at string) *formula.Expr {
	x, mistakes := formula.Compile(a.Value, l.facts(at))
	if len(mistakes) > 0 {
		l.mistakes = append(l.mistakes, mistakes...)
		return nil
	}
	if x.Broken() {
		return nil
	}
	if !x.Condition {
		l.add("formula.condition", a.Value.Where(), fmt.Sprintf("%s is a condition, and this is %s", a.Name, syntax.WithArticle(x.Dimension.String())), `compare an option or a slot, like series == "C"`)
		return nil
	}
	return x
}

func (l *loader) offer(b *syntax.Block) {
	o := &Offer{Common: l.common(b), Part: l.idOf(b, "part", "part"), Supplier: l.idOf(b, "supplier", "supplier"), Number: l.text(b, "number"), Price: l.money(b, "price"), Currency: l.text(b, "currency"), Pack: l.whole(b, "pack", 1, 1)}
	o.Lead, _ = l.duration(b, "lead")
	l.pack.Offers = append(l.pack.Offers, o)
}

// idOf reads the ID of a part or supplier: a text, or part.NAME.
func (l *loader) idOf(b *syntax.Block, name, kind string) string {
	a := b.Attribute(name)
	if a == nil {
		return ""
	}
	id := ""
	switch e := a.Value.(type) {
	case *syntax.Text:
		id = e.Value
	case *syntax.Reference:
		id = e.Root
		if e.Root == kind && len(e.Steps) == 1 {
			id = e.Steps[0].Name
		}
	default:
		l.wrong(a, "the ID of a "+kind, `"…"`)
		return ""
	}
	if _, ok := l.declared[kind][id]; !ok {
		l.unknown(kind, id, a.Value.Where())
	}
	return id
}

// misreads reports whether a list holds what was reported elsewhere: an item that
// cannot be read, or the name of a block whose kind is misspelt.
func (l *loader) misreads(e syntax.Expr) bool {
	found := false
	syntax.Walk(e, func(e syntax.Expr) {
		if r, ok := e.(*syntax.Reference); ok && len(r.Steps) > 0 {
			found = found || l.misread[r.Steps[0].Name]
		}
		found = found || broken(e)
	})
	return found
}

// mostChoices bounds how many combinations of options are tried.
const mostChoices = 4096

// checkSlots reports a needed slot that no part can fill under some choice of
// options, once the pack declares parts.
func (l *loader) checkSlots() {
	if len(l.pack.Parts) == 0 || l.unsureParts || l.full() {
		return
	}
	needed := map[string]bool{}
	for _, o := range l.pack.Operations {
		for _, s := range o.Fits {
			needed[s] = true
		}
	}
	candidates := map[string][]*Part{}
	for _, p := range l.pack.Parts {
		for _, s := range p.Fills {
			candidates[s] = append(candidates[s], p)
		}
	}
	for _, s := range l.pack.Slots {
		if !needed[s.Name] && !s.AlwaysReplace || lost(s.block, "when", "always_replace") {
			continue
		}
		uses := usesOf(s.When)
		for _, p := range candidates[s.Name] {
			uses = append(append(uses, usesOf(p.When)...), usesOf(p.Fits)...)
		}
		for _, choice := range l.combinations(uses) {
			if formula.Decide(s.When, choice) != formula.No && !fillable(candidates[s.Name], choice) {
				l.add("parts.unfillable", s.Span, fmt.Sprintf("no part fills slot %s%s", s.Name, describeChoice(choice, l.pack.Options)), "declare a part for it, or give the slot a when")
				break
			}
		}
	}
}

func usesOf(e *formula.Expr) []formula.Use {
	if e == nil {
		return nil
	}
	return e.Uses
}

func fillable(parts []*Part, choice map[string]string) bool {
	for _, p := range parts {
		if formula.Decide(p.When, choice) != formula.No && formula.Decide(p.Fits, choice) != formula.No {
			return true
		}
	}
	return false
}

// combinations lists the choices of the options that are used, as many as are worth
// trying.
func (l *loader) combinations(uses []formula.Use) []map[string]string {
	used := map[string]bool{}
	for _, u := range uses {
		used[u.Thing.Name] = u.Thing.Kind == formula.Option
	}
	list := []map[string]string{{}}
	for _, o := range l.pack.Options {
		if !used[o.Name] || len(o.Choices) == 0 {
			continue
		}
		if len(list)*len(o.Choices) > mostChoices {
			break
		}
		var next []map[string]string
		for _, before := range list {
			for _, c := range o.Choices {
				m := map[string]string{o.Name: c}
				for k, v := range before {
					m[k] = v
				}
				next = append(next, m)
			}
		}
		list = next
	}
	return list
}

func describeChoice(choice map[string]string, options []*Option) string {
	var words []string
	for _, o := range options {
		if c, ok := choice[o.Name]; ok && len(o.Choices) > 1 {
			words = append(words, fmt.Sprintf("%s is %q", o.Name, c))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return " when " + strings.Join(words, " and ")
}
