package parts

import (
	"slices"
	"sync"

	"buttonup/pack"
)

// Catalogue is the parts of a pack made ready to be asked. It is not changed by
// asking and may be used by several callers at once.
type Catalogue struct {
	pack    *pack.Pack
	parts   map[string]*pack.Part
	slots   map[string]*pack.Slot
	options map[string]*pack.Option
	filling map[string][]*pack.Part // by slot, in the order of the pack
	having  map[string][]*pack.Part // by feature
	offers  map[string][]*pack.Offer
	// replaced names the parts that take the place of another, by the old one.
	replaced map[string][]*pack.Part
	once     sync.Once
	search   *index
}

// NewCatalogue makes the parts of a pack ready.
func NewCatalogue(p *pack.Pack) *Catalogue {
	c := &Catalogue{pack: p, parts: map[string]*pack.Part{}, slots: map[string]*pack.Slot{}, options: map[string]*pack.Option{},
		filling: map[string][]*pack.Part{}, having: map[string][]*pack.Part{}, offers: map[string][]*pack.Offer{}, replaced: map[string][]*pack.Part{}}
	for _, s := range p.Slots {
		c.slots[s.Name] = s
	}
	for _, o := range p.Options {
		c.options[o.Name] = o
	}
	for _, x := range p.Parts {
		c.parts[x.Name] = x
		for _, s := range x.Fills {
			c.filling[s] = append(c.filling[s], x)
		}
		for _, f := range x.Has {
			c.having[f] = append(c.having[f], x)
		}
		if x.Supersedes != "" {
			c.replaced[x.Supersedes] = append(c.replaced[x.Supersedes], x)
		}
	}
	for _, o := range p.Offers {
		c.offers[o.Part] = append(c.offers[o.Part], o)
	}
	return c
}

// Pack returns the pack that the catalogue was made of.
func (c *Catalogue) Pack() *pack.Pack { return c.pack }

// Part returns a part by its ID, nil where there is none.
func (c *Catalogue) Part(id string) *pack.Part { return c.parts[id] }

// Slot returns a slot by its name, nil where there is none.
func (c *Catalogue) Slot(name string) *pack.Slot { return c.slots[name] }

// Filling lists the parts that fill a slot, in the order of the pack. The list belongs
// to the catalogue.
func (c *Catalogue) Filling(slot string) []*pack.Part { return c.filling[slot] }

// Offers lists who offers a part. The list belongs to the catalogue.
func (c *Catalogue) Offers(part string) []*pack.Offer { return c.offers[part] }

// Newest follows what takes the place of a part to the end: the parts that nothing
// supersedes, or the part itself. A circle ends where it began.
func (c *Catalogue) Newest(part string) []string {
	var out []string
	seen := map[string]bool{}
	var follow func(id string)
	follow = func(id string) {
		if seen[id] {
			return
		}
		seen[id] = true
		if len(c.replaced[id]) == 0 {
			out = append(out, id)
		}
		for _, x := range c.replaced[id] {
			follow(x.Name)
		}
	}
	follow(part)
	if len(out) == 0 {
		return []string{part}
	}
	return out
}

// Older lists the parts whose place a part takes, the nearest first.
func (c *Catalogue) Older(part string) []string {
	var out []string
	for x := c.parts[part]; x != nil && x.Supersedes != "" && x.Supersedes != part && !slices.Contains(out, x.Supersedes); x = c.parts[x.Supersedes] {
		out = append(out, x.Supersedes)
	}
	return out
}

func slotTitle(s *pack.Slot) string {
	if s.Title != "" {
		return s.Title
	}
	return s.Name
}

func (c *Catalogue) titleOfSlot(name string) string {
	if s := c.slots[name]; s != nil {
		return slotTitle(s)
	}
	return name
}
