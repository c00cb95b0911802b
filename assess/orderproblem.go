package assess

import (
	"fmt"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/parts/basket"
)

// orderBuilder turns the parts of a job into the plain problem that the search works
// on, and keeps what its numbers stand for.
type orderBuilder struct {
	*run
	want   OrderOptions
	engine *parts.Engine
	needs  []Need

	problem   basket.Problem
	places    []Need // by place of the problem; one in hand has no reasons
	placeOf   map[instance]int
	parts     []*pack.Part
	partOf    map[string]int
	offered   []bool
	offers    []*pack.Offer // by offer of the problem
	suppliers []string
	rules     []OrderReason
	currency  string
	inHand    map[int]bool // parts that are in hand
}

func (b *orderBuilder) build() error {
	b.problem.Prefer, b.problem.Within, b.problem.Stop = b.want.Prefer, b.want.Within, b.want.Stop
	b.addPlaces()
	b.addParts()
	if err := b.addOffers(); err != nil {
		return err
	}
	b.addInHand()
	b.addFeatures()
	b.addConditions()
	b.addApart()
	if err := b.addWishes(); err != nil {
		return err
	}
	b.dropDominated()
	return nil
}

// addPlaces lists the slots that want a part, and those that hold one.
func (b *orderBuilder) addPlaces() {
	b.placeOf = map[instance]int{}
	for i := range b.needs {
		n := &b.needs[i]
		b.placeOf[instance{n.Slot, n.Place}] = len(b.places)
		b.places = append(b.places, *n)
		b.problem.Places = append(b.problem.Places, basket.Place{Pieces: n.Pieces})
	}
	for i := range b.slots {
		s, f := &b.slots[i], &b.fills[i]
		key := instance{s.Name, s.place}
		if _, wants := b.placeOf[key]; wants || !f.there || !b.stands(s.when) {
			continue
		}
		b.placeOf[key] = len(b.places)
		b.places = append(b.places, Need{Slot: s.Name, Place: s.place, Title: s.Title, Pieces: 1})
		b.problem.Places = append(b.problem.Places, basket.Place{})
	}
}

// addParts lists the parts that this engine can have, each with the places that it can
// fill.
func (b *orderBuilder) addParts() {
	b.partOf = map[string]int{}
	for _, p := range b.pack.Parts {
		b.partOf[p.Name] = len(b.parts)
		b.parts = append(b.parts, p)
		b.problem.Parts = append(b.problem.Parts, basket.Part{Contents: b.contents(p)})
	}
}

func (b *orderBuilder) contents(p *pack.Part) []basket.Content {
	if len(p.Families) > 0 && !slices.Contains(p.Families, b.pack.Name) && !slices.Contains(p.Families, b.pack.Extends) || formula.Decide(p.When, b.choices) == formula.No {
		return nil
	}
	var list []basket.Content
	for _, name := range p.Fills {
		s := b.catalogue.Slot(name)
		if s == nil || slices.ContainsFunc(s.Needs, func(n string) bool { return !slices.Contains(p.Has, n) }) {
			continue
		}
		c := basket.Content{Count: p.Count[name]}
		for _, place := range b.members(s.At) {
			i, wanted := b.placeOf[instance{name, place}]
			if wanted && i < len(b.needs) && b.suits(p, s, place) {
				c.Places = append(c.Places, i)
			}
		}
		if len(c.Places) == 0 {
			continue
		}
		if p.Either && len(list) > 0 {
			list[0].Places = append(list[0].Places, c.Places...)
			continue
		}
		list = append(list, c)
	}
	return list
}

// suits reports whether nothing that is settled already, options and parts in hand,
// keeps a part from a place.
func (b *orderBuilder) suits(p *pack.Part, s *pack.Slot, place string) bool {
	if p.Fits == nil {
		return true
	}
	settled := *b.engine
	settled.Chosen = slices.DeleteFunc(slices.Clone(settled.Chosen), func(x parts.Chosen) bool {
		i, there := b.placeOf[instance{x.Slot, x.Place}]
		return !there || i < len(b.needs) // wanted, or to be bought anew
	})
	answer, _ := p.Fits.Unmet(b.catalogue.Facts(&settled, s.At, place))
	return answer != formula.No
}

// addOffers lists the offers of parts that could be bought, and the sellers.
func (b *orderBuilder) addOffers() error {
	index := map[string]int{}
	// Currency to an offer that names it; those of sellers that are out count only
	// where no other names one.
	currencies, refused := map[string]string{}, map[string]string{}
	of := map[string]*pack.Supplier{}
	for _, s := range b.pack.Suppliers {
		of[s.Name] = s
	}
	b.offered = make([]bool, len(b.parts))
	for _, o := range b.pack.Offers {
		part, known := b.partOf[o.Part]
		seller := of[o.Supplier]
		if !known || seller == nil || len(b.problem.Parts[part].Contents) == 0 ||
			formula.Decide(o.When, b.choices) == formula.No || formula.Decide(seller.When, b.choices) == formula.No {
			continue
		}
		i, there := index[o.Supplier]
		if !there {
			i = len(b.suppliers)
			index[o.Supplier] = i
			b.suppliers = append(b.suppliers, o.Supplier)
			shipping, err := moneyOf(seller.Shipping)
			free, err2 := moneyOf(seller.FreeOver)
			if err != nil || err2 != nil {
				return fmt.Errorf("supplier %s: its shipping is no amount of money", o.Supplier)
			}
			b.problem.Suppliers = append(b.problem.Suppliers, basket.Supplier{Shipping: shipping, FreeOver: free, Refused: slices.Contains(b.want.Without, o.Supplier)})
		}
		price, err := moneyOf(o.Price)
		if err != nil {
			return fmt.Errorf("offer of %s at %s: %w", o.Part, o.Supplier, err)
		}
		if b.problem.Suppliers[i].Refused {
			noteCurrencies(refused, o, seller)
		} else {
			noteCurrencies(currencies, o, seller)
		}
		b.problem.Offers = append(b.problem.Offers, basket.Offer{Part: part, Supplier: i, Price: price, Pack: max(1, o.Pack), Lead: days(o.Lead)})
		b.offers = append(b.offers, o)
		b.offered[part] = true
	}
	for _, name := range b.want.Without {
		if of[name] == nil {
			return b.unknown("seller", name, keys(of))
		}
	}
	names := keys(currencies)
	if len(names) > 1 {
		return fmt.Errorf("%w: %s (%s) and %s (%s) cannot be added up; leave a seller out, or write the offers in one currency", ErrCurrencies,
			names[0], currencies[names[0]], names[1], currencies[names[1]])
	}
	if len(names) == 0 {
		names = keys(refused)
	}
	if len(names) == 1 {
		b.currency = names[0]
	}
	return nil
}

// noteCurrencies notes what an offer is priced in, its own before its seller's, and
// what the seller's shipping is.
func noteCurrencies(currencies map[string]string, o *pack.Offer, seller *pack.Supplier) {
	priced := orElse(o.Currency, seller.Currency)
	if priced != "" {
		currencies[priced] = o.Part + " at " + o.Supplier
	}
	if seller.Shipping != "" && seller.Currency != "" && seller.Currency != priced {
		currencies[seller.Currency] = "the shipping of " + o.Supplier
	}
}

func moneyOf(text string) (int64, error) {
	if text == "" {
		return 0, nil
	}
	m, err := parts.ParseMoney(text, "")
	return m.Hundredths, err
}

func (b *orderBuilder) unknown(what, name string, names []string) error {
	do := nearest(name, names)
	switch {
	case do != "":
	case len(names) <= 8:
		do = "it has " + strings.Join(names, ", ")
	default:
		do = "a part goes by its ID here; its other numbers find it"
	}
	return &UsageError{Says: fmt.Sprintf("the pack has no %s called %s", what, name), Do: do}
}

// addInHand counts what is there as chosen. A part that the pack does not know holds
// its slot and says nothing else.
func (b *orderBuilder) addInHand() {
	b.inHand = map[int]bool{}
	for i := range b.slots {
		s, f := &b.slots[i], &b.fills[i]
		place, listed := b.placeOf[instance{s.Name, s.place}]
		if !listed || place < len(b.needs) {
			continue
		}
		part, known := b.partOf[f.part]
		if !known {
			part = len(b.parts)
			b.partOf[f.part] = part
			b.parts = append(b.parts, &pack.Part{Common: pack.Common{Name: f.part, Title: f.part}})
			b.offered = append(b.offered, false)
			b.problem.Parts = append(b.problem.Parts, basket.Part{})
		}
		b.problem.InHand = append(b.problem.InHand, basket.Choice{Part: part, Place: place})
		b.inHand[part] = true
	}
}

// usable reports whether a part can be in the engine at all: in hand or on offer.
func (b *orderBuilder) usable(part int) bool { return b.inHand[part] || b.offered[part] }

func anywhere(part int) basket.Choice { return basket.Choice{Part: part, Place: basket.Anywhere} }

func (b *orderBuilder) rule(r basket.Rule, reason OrderReason) {
	b.problem.Rules = append(b.problem.Rules, r)
	b.rules = append(b.rules, reason)
}

// addFeatures makes rules of what parts need and exclude. Two parts in hand that do
// not go together are a misfit and told as one; they make no list impossible.
func (b *orderBuilder) addFeatures() {
	having := map[string][]int{}
	for i, p := range b.parts {
		for _, f := range p.Has {
			having[f] = append(having[f], i)
		}
	}
	for i, p := range b.parts {
		if !b.usable(i) {
			continue
		}
		for _, f := range p.Needs {
			if slices.Contains(p.Has, f) {
				continue
			}
			r := basket.Rule{Kind: basket.Needs, Of: []basket.Choice{anywhere(i)}}
			reason := OrderReason{Kind: OrderNeeds, Part: p.Name, Feature: f}
			for _, k := range having[f] {
				reason.Others = append(reason.Others, b.parts[k].Name)
				if b.usable(k) {
					r.With = append(r.With, anywhere(k))
					reason.Offered = true
				}
			}
			b.rule(r, reason)
		}
		for _, f := range p.Excludes {
			r := basket.Rule{Kind: basket.Excludes, Of: []basket.Choice{anywhere(i)}}
			reason := OrderReason{Kind: OrderExcludes, Part: p.Name, Feature: f}
			for _, k := range having[f] {
				if k != i && b.usable(k) && !(b.inHand[i] && b.inHand[k]) {
					r.With = append(r.With, anywhere(k))
					reason.Others = append(reason.Others, b.parts[k].Name)
				}
			}
			if len(r.With) > 0 {
				b.rule(r, reason)
			}
		}
	}
}

// addConditions makes rules of conditions of fit that ask for other parts: where one
// slot alone decides a part of the condition, the parts in it under which it fails
// are excluded; where any of several would do, one of them is needed.
func (b *orderBuilder) addConditions() {
	for i, p := range b.parts {
		if !b.offered[i] || p.Fits == nil || len(p.Fits.SlotsNamed()) == 0 {
			continue
		}
		for _, c := range b.problem.Parts[i].Contents {
			for _, place := range c.Places {
				b.addCondition(i, p, place)
			}
		}
	}
}

func (b *orderBuilder) addCondition(i int, p *pack.Part, place int) {
	at := &b.places[place]
	slot := b.catalogue.Slot(at.Slot)
	for _, condition := range p.Fits.Conjuncts() {
		named := condition.SlotsNamed()
		if len(named) == 0 {
			continue
		}
		var failing, meeting []basket.Choice
		var others, help []string
		for _, name := range named {
			other := b.catalogue.Slot(name)
			for _, where := range b.catalogue.Reached(slot.At, at.Place, name) {
				k, there := b.placeOf[instance{name, where}]
				if !there || other == nil {
					continue
				}
				for _, x := range b.candidates(k) {
					e := *b.engine
					e.Chosen = []parts.Chosen{{Slot: name, Place: where, Part: b.parts[x].Name, State: journal.Wanted}}
					if k >= len(b.needs) {
						e.Chosen = b.engine.Chosen
					}
					switch answer, _ := condition.Unmet(b.catalogue.Facts(&e, slot.At, at.Place)); answer {
					case formula.No:
						failing = append(failing, basket.Choice{Part: x, Place: k})
						others = append(others, b.parts[x].Name)
					case formula.Yes:
						meeting = append(meeting, basket.Choice{Part: x, Place: k})
						help = append(help, b.parts[x].Name)
					}
				}
			}
		}
		of := []basket.Choice{{Part: i, Place: place}}
		reason := OrderReason{Kind: OrderFits, Part: p.Name, Slot: at.Slot, Place: at.Place, Feature: strings.Join(named, ", ")}
		switch {
		case len(named) == 1 && len(failing) > 0:
			reason.Others = unique(others)
			b.rule(basket.Rule{Kind: basket.Excludes, Of: of, With: failing}, reason)
		case len(named) > 1 && len(meeting) > 0:
			reason.Others, reason.Offered = unique(help), true
			b.rule(basket.Rule{Kind: basket.Needs, Of: of, With: meeting}, reason)
		}
	}
}

// candidates lists the parts that could be in a place.
func (b *orderBuilder) candidates(place int) []int {
	var list []int
	if place >= len(b.needs) {
		for _, c := range b.problem.InHand {
			if c.Place == place {
				list = append(list, c.Part)
			}
		}
		return list
	}
	for i := range b.problem.Parts {
		if b.offered[i] && basketFills(&b.problem.Parts[i], place) {
			list = append(list, i)
		}
	}
	return list
}

func unique(list []string) []string {
	out := slices.Clone(list)
	slices.Sort(out)
	return slices.Compact(out)
}

// mostEngines bounds how many engines are told apart where options are open.
const mostEngines = 64

// addApart keeps parts from one list that no engine can have together, where an option
// that they depend on is neither chosen nor has a default.
func (b *orderBuilder) addApart() {
	var open []*pack.Option
	engines := 1
	for _, o := range b.pack.Options {
		if _, chosen := b.choices[o.Name]; !chosen && len(o.Choices) > 0 && engines*len(o.Choices) <= mostEngines {
			open = append(open, o)
			engines *= len(o.Choices)
		}
	}
	if len(open) == 0 {
		return
	}
	groups := map[uint64][]basket.Choice{}
	var order []uint64
	for i, p := range b.parts {
		if !b.usable(i) || p.Fits == nil && p.When == nil {
			continue
		}
		set := b.enginesOf(p, open, engines)
		if groups[set] == nil {
			order = append(order, set)
		}
		groups[set] = append(groups[set], anywhere(i))
	}
	for k, set := range order {
		for _, other := range order[k+1:] {
			if set&other == 0 {
				reason := OrderReason{Kind: OrderApart, Part: b.parts[groups[set][0].Part].Name, Others: []string{b.parts[groups[other][0].Part].Name}}
				for _, o := range open {
					reason.Feature = strings.TrimPrefix(reason.Feature+", "+orElse(o.Title, o.Name), ", ")
				}
				b.rule(basket.Rule{Kind: basket.Excludes, Of: groups[set], With: groups[other]}, reason)
			}
		}
	}
}

// enginesOf returns, as a set of bits, the choices of the open options under which a
// part may fit.
func (b *orderBuilder) enginesOf(p *pack.Part, open []*pack.Option, engines int) uint64 {
	var set uint64
	choices := make(map[string]string, len(b.choices)+len(open))
	for k, v := range b.choices {
		choices[k] = v
	}
	for n := range engines {
		rest := n
		for _, o := range open {
			choices[o.Name] = o.Choices[rest%len(o.Choices)]
			rest /= len(o.Choices)
		}
		if formula.Decide(p.Fits, choices) != formula.No && formula.Decide(p.When, choices) != formula.No {
			set |= 1 << n
		}
	}
	return set
}

// addWishes makes rules of the parts that are insisted on and refused.
func (b *orderBuilder) addWishes() error {
	for _, name := range b.want.Refuse {
		i, known := b.partOf[name]
		if !known {
			return b.unknown("part", name, keys(b.partOf))
		}
		b.rule(basket.Rule{Kind: basket.Refuses, Of: []basket.Choice{anywhere(i)}}, OrderReason{Kind: OrderRefused, Part: name})
	}
	for _, text := range b.want.Insist {
		name, where, placed := strings.Cut(text, " in ")
		i, known := b.partOf[name]
		if !known {
			return b.unknown("part", name, keys(b.partOf))
		}
		choice := anywhere(i)
		reason := OrderReason{Kind: OrderInsisted, Part: name}
		if placed {
			slot, place, _ := strings.Cut(strings.TrimPrefix(where, "slot."), " ")
			k, wants := b.placeOf[instance{slot, place}]
			if !wants {
				return &UsageError{Says: fmt.Sprintf("slot.%s %s wants no part in this job", slot, place), Do: "name a slot that wants one, with its place, like slot.head_gasket front"}
			}
			choice.Place, reason.Slot, reason.Place = k, slot, place
		}
		b.rule(basket.Rule{Kind: basket.Insists, Of: []basket.Choice{choice}}, reason)
	}
	return nil
}
