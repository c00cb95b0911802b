package basket

import (
	"math"
	"slices"
)

// choices are all parts in all places that could come about, as variables of a logic
// in which every rule of the problem is a clause.
type choices struct {
	*logic
	problem *Problem
	// list holds the choices by variable, at the variables of a place, of those the
	// one that is in hand (or −1), byPart those of a part. Variables of choices come
	// first; others stand for what clauses share.
	list   []Choice
	at     [][]int32
	held   []int32
	byPart [][]int32
	number map[Choice]int32
	// wishes are variables beside the choices that some clause may want to be true;
	// orderAt says of every seller whether something is ordered there.
	wishes, orderAt []int32
	// lift is, for each reason, the literal that keeps it in force; nil when nothing
	// can be lifted.
	lift map[Reason]literal
}

// newChoices builds the logic of a problem. within is the longest lead allowed. With liftable, every reason has a literal of its own and counts only where that
// is assumed.
func newChoices(p *Problem, within int, liftable bool) *choices {
	c := &choices{logic: &logic{}, problem: p, number: map[Choice]int32{}, at: make([][]int32, len(p.Places)), held: make([]int32, len(p.Places)), byPart: make([][]int32, len(p.Parts))}
	for i := range c.held {
		c.held[i] = -1
	}
	offers := make([][]int, len(p.Parts))
	for i, o := range p.Offers {
		if liftable || p.open(&o, within) {
			offers[o.Part] = append(offers[o.Part], i)
		}
	}
	if liftable {
		c.lift = map[Reason]literal{}
	}
	inHand := make([]int, len(p.Places))
	for i, h := range p.InHand {
		inHand[h.Place] = i + 1
		c.held[h.Place] = c.choice(h)
	}
	for part := range p.Parts {
		if len(offers[part]) == 0 {
			continue
		}
		for _, content := range p.Parts[part].Contents {
			for _, place := range content.Places {
				if liftable || inHand[place] == 0 {
					c.choice(Choice{part, place})
				}
			}
		}
	}
	if liftable {
		// The variables that choices come first of are all there now.
		for _, r := range p.reasons() {
			c.lift[r] = yes(c.variable())
		}
	}
	c.places(inHand)
	if liftable {
		c.leads(offers, inHand, within)
	}
	for i := range p.Rules {
		c.rule(Reason{BecauseRule, i}, &p.Rules[i])
	}
	for i := range p.Agreements {
		c.agreement(Reason{BecauseSizes, i}, &p.Agreements[i])
	}
	return c
}

// anyLead is a limit that no lead reaches.
const anyLead = math.MaxInt

// limit is the longest lead allowed.
func (p *Problem) limit() int {
	if p.Within == 0 {
		return anyLead
	}
	return p.Within
}

// open reports whether an offer may be taken within a lead.
func (p *Problem) open(o *Offer, within int) bool {
	return o.Lead <= within && !p.Suppliers[o.Supplier].Refused
}

// choice is the variable of a choice.
func (c *choices) choice(x Choice) int32 {
	if v, ok := c.number[x]; ok {
		return v
	}
	v := c.variable()
	c.number[x] = v
	c.list = append(c.list, x)
	c.at[x.Place] = append(c.at[x.Place], v)
	c.byPart[x.Part] = append(c.byPart[x.Part], v)
	return v
}

// meant lists the variables that a choice of a rule stands for.
func (c *choices) meant(list []Choice) []int32 {
	var out []int32
	for _, x := range list {
		if x.Place == Anywhere {
			out = append(out, c.byPart[x.Part]...)
		} else if v, ok := c.number[x]; ok {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// unless adds a clause that counts while a reason does.
func (c *choices) unless(r Reason, literals ...literal) {
	if l, ok := c.lift[r]; ok {
		literals = append(literals, l.not())
	}
	c.add(literals...)
}

func (c *choices) places(inHand []int) {
	for place, list := range c.at {
		c.one(list)
		if n := inHand[place]; n > 0 {
			c.unless(Reason{BecauseInHand, n - 1}, yes(c.held[place]))
		}
		some := make([]literal, 0, len(list)+1)
		for _, v := range list {
			some = append(some, yes(v))
		}
		c.unless(Reason{BecausePlace, place}, some...)
	}
}

// leads ties every choice to the offers that could bring it.
func (c *choices) leads(offers [][]int, inHand []int, within int) {
	p := c.problem
	offered := map[[2]int]int32{} // by too late or not, and refused supplier or −1
	for part, list := range c.byPart {
		if len(list) == 0 {
			continue
		}
		ways, free := []literal{}, false
		for _, o := range offers[part] {
			key := [2]int{0, -1}
			if p.Offers[o].Lead > within {
				key[0] = 1
			}
			if s := p.Offers[o].Supplier; p.Suppliers[s].Refused {
				key[1] = s
			}
			if key == [2]int{0, -1} {
				free = true
				break
			}
			v, ok := offered[key]
			if !ok {
				v = c.variable()
				offered[key] = v
				c.wishes = append(c.wishes, v)
				if key[0] == 1 {
					c.add(no(v), c.lift[Reason{Kind: BecauseLead}].not())
				}
				if key[1] >= 0 {
					c.add(no(v), c.lift[Reason{BecauseSupplier, key[1]}].not())
				}
			}
			if !slices.Contains(ways, yes(v)) {
				ways = append(ways, yes(v))
			}
		}
		for _, v := range list {
			if free && p.contentOf(part, c.list[v].Place) >= 0 {
				continue
			}
			clause := []literal{no(v)}
			if p.contentOf(part, c.list[v].Place) >= 0 {
				clause = append(clause, ways...)
			}
			if n := inHand[c.list[v].Place]; n > 0 && c.held[c.list[v].Place] == v {
				clause = append(clause, c.lift[Reason{BecauseInHand, n - 1}])
			}
			c.add(clause...)
		}
	}
}

func (c *choices) rule(why Reason, r *Rule) {
	of := c.meant(r.Of)
	switch r.Kind {
	case Insists:
		some := make([]literal, len(of))
		for i, v := range of {
			some[i] = yes(v)
		}
		c.unless(why, some...)
	case Refuses:
		for _, v := range of {
			c.unless(why, no(v))
		}
	case Needs:
		c.needs(why, of, c.meant(r.With))
	case Excludes:
		c.excludes(why, of, c.meant(r.With))
	}
}

// many is from how many on a clause names a list by one variable of its own.
const many = 4

// any returns a variable that is true when one of a list is, or the list's only one.
func (c *choices) any(list []int32) int32 {
	if len(list) == 1 {
		return list[0]
	}
	t := c.variable()
	for _, v := range list {
		c.add(no(v), yes(t))
	}
	return t
}

func (c *choices) needs(why Reason, of, with []int32) {
	some := make([]literal, 0, len(with)+2)
	for _, v := range with {
		some = append(some, yes(v))
	}
	if len(of) >= many {
		of = []int32{c.any(of)}
	}
	for _, v := range of {
		c.unless(why, append(some[:len(with):len(with)], no(v))...)
	}
}

func (c *choices) excludes(why Reason, of, with []int32) {
	parts := map[int]bool{}
	for _, v := range of {
		parts[c.list[v].Part] = true
	}
	apart := !slices.ContainsFunc(with, func(v int32) bool { return parts[c.list[v].Part] })
	if apart && len(of)*len(with) >= many {
		if len(of) > 0 && len(with) > 0 {
			c.unless(why, no(c.any(of)), no(c.any(with)))
		}
		return
	}
	for _, a := range of {
		for _, b := range with {
			if x, y := c.list[a], c.list[b]; x.Part != y.Part && x.Place != y.Place {
				c.unless(why, no(a), no(b))
			}
		}
	}
}

func (c *choices) agreement(why Reason, a *Agreement) {
	classes := map[int]int32{}
	var group []int32
	for _, s := range a.Sized {
		t, ok := classes[s.Class]
		if !ok {
			t = c.variable()
			classes[s.Class] = t
			group = append(group, t)
		}
		for _, v := range c.meant([]Choice{s.Choice}) {
			c.unless(why, no(v), yes(t))
		}
	}
	c.one(group)
}
