package assess

import (
	"slices"

	"buttonup/pack"
	"buttonup/parts"
)

// replacing finds the cheapest way to buy what a tear-back uses up: single parts, or a
// kit where what it fills would cost more one by one. Freight is left out; the order
// list knows it.
type replacing struct {
	*run
	lines    []UsedUp
	groups   []group
	kits     []kit
	currency string
	bought   []int // how many of each kit, in the way that is tried
	best     []int
	cost     int64
	missing  int // lines without a price in the best way
	tries    int
}

// group is the pieces of one slot, at whatever places, and the cheapest single part.
type group struct {
	slot   string
	lines  []int // in the list of what is used up
	slots  []int
	single *pack.Part // nil where none is offered
	each   int64
	in     int // pieces in one purchase
}

// kit is a part that fills several of the slots.
type kit struct {
	part  *pack.Part
	price int64
	holds []int // pieces for each group, 0 for none
	most  int
}

// mostBuys bounds how many ways of buying kits are tried; a pack has a handful.
const mostBuys = 20000

// buy prices a list of what is used up and names the part for each line.
func (r *run) buy(lines []UsedUp) (total parts.Money, unpriced bool) {
	b := &replacing{run: r, lines: lines}
	b.gather()
	b.bought = make([]int, len(b.kits))
	b.missing = len(lines) + 1
	b.try(0, 0)
	return b.settle()
}

// gather puts the lines together by slot and finds what may fill them.
func (b *replacing) gather() {
	engine := b.engine()
	at := map[string]int{}
	for i := range b.lines {
		slot := b.lines[i].slot
		if slot < 0 {
			continue // fasteners of a joint: no part is known for them
		}
		name := b.slots[slot].Name
		g, known := at[name]
		if !known {
			g = len(b.groups)
			at[name] = g
			b.groups = append(b.groups, group{slot: name})
		}
		b.groups[g].lines = append(b.groups[g].lines, i)
		b.groups[g].slots = append(b.groups[g].slots, slot)
	}
	seen := map[string]int{}
	for g := range b.groups {
		for _, p := range b.catalogue.Filling(b.groups[g].slot) {
			price, pieces, ok := b.offered(p)
			if !ok || !b.suits(engine, &b.groups[g], p) {
				continue
			}
			if several := len(p.Fills) > 1 && !p.Either; several {
				k, known := seen[p.Name]
				if !known {
					k = len(b.kits)
					seen[p.Name] = k
					b.kits = append(b.kits, kit{part: p, price: price, holds: make([]int, len(b.groups))})
				}
				x := &b.kits[k]
				x.holds[g] = pieces * max(1, p.Count[b.groups[g].slot])
				x.most = max(x.most, up(len(b.groups[g].lines), x.holds[g]))
				continue
			}
			in := pieces * max(1, p.Count[b.groups[g].slot])
			x := &b.groups[g]
			if n := len(x.lines); x.single == nil || int64(up(n, in))*price < int64(up(n, x.in))*x.each {
				x.single, x.each, x.in = p, price, in
			}
		}
	}
}

func up(n, by int) int { return (n + by - 1) / by }

// suits reports whether a part fits everywhere where a slot is to be filled, and is of
// the sizes of what was there: another thickness would change what was measured.
func (b *replacing) suits(e *parts.Engine, g *group, p *pack.Part) bool {
	for _, i := range g.slots {
		s, was := &b.slots[i], &b.fills[i]
		if was.part == p.Name {
			continue
		}
		for name, q := range p.Sizes {
			if size, known := was.size(name); known && size != q.SI {
				return false
			}
		}
		if len(b.catalogue.Misfit(e, s.Name, s.place, p.Name)) > 0 {
			return false
		}
	}
	return true
}

// offered is the lowest price of a part in the currency of the first that has one, and
// how many come for it.
func (b *replacing) offered(p *pack.Part) (price int64, pieces int, ok bool) {
	for _, o := range b.catalogue.Offers(p.Name) {
		m, err := parts.ParseMoney(o.Price, b.currencyOf(o))
		if err != nil {
			continue
		}
		if b.currency == "" {
			b.currency = m.Currency
		}
		if n := max(1, o.Pack); m.Currency == b.currency && (!ok || m.Hundredths < price) {
			price, pieces, ok = m.Hundredths, n, true
		}
	}
	return price, pieces, ok
}

// try goes through the numbers of kits that may be bought.
func (b *replacing) try(k int, spent int64) {
	if b.tries++; b.tries > mostBuys || b.missing == 0 && spent >= b.cost {
		return
	}
	if k < len(b.kits) {
		for n := 0; n <= b.kits[k].most; n++ {
			b.bought[k] = n
			b.try(k+1, spent+int64(n)*b.kits[k].price)
		}
		b.bought[k] = 0
		return
	}
	missing := 0
	for g := range b.groups {
		left := len(b.groups[g].lines)
		for j, n := range b.bought {
			left -= n * b.kits[j].holds[g]
		}
		switch x := &b.groups[g]; {
		case left <= 0:
		case x.single == nil:
			missing += left
		default:
			spent += int64(up(left, x.in)) * x.each
		}
	}
	if missing < b.missing || missing == b.missing && spent < b.cost {
		b.missing, b.cost, b.best = missing, spent, slices.Clone(b.bought)
	}
}

// settle writes the best way into the lines. A purchase that fills several lines is paid
// where it is named first.
func (b *replacing) settle() (total parts.Money, unpriced bool) {
	left := make([][]int, len(b.kits))
	paid := make([]bool, len(b.kits))
	for k := range b.kits {
		left[k] = make([]int, len(b.groups))
		for g := range b.groups {
			left[k][g] = b.best[k] * b.kits[k].holds[g]
		}
	}
	open := make([]int, len(b.groups)) // pieces of a single purchase that are still free
	groupOf := map[int]int{}
	for g := range b.groups {
		for _, i := range b.groups[g].lines {
			groupOf[i] = g
		}
	}
	for i := range b.lines {
		g, slotted := groupOf[i]
		if !slotted {
			unpriced = true
			continue
		}
		u := &b.lines[i]
		u.Cost.Currency = b.currency
		k := slices.IndexFunc(left, func(of []int) bool { return of[g] > 0 })
		switch x := &b.groups[g]; {
		case k >= 0:
			left[k][g]--
			u.Part, u.Priced, u.With = b.kits[k].part.Name, true, paid[k]
			if !paid[k] {
				u.Cost.Hundredths, paid[k] = int64(b.best[k])*b.kits[k].price, true
			}
		case x.single != nil:
			u.Part, u.Priced, u.With = x.single.Name, true, open[g] > 0
			if open[g] == 0 {
				u.Cost.Hundredths, open[g] = x.each, x.in
			}
			open[g]--
		default:
			unpriced, u.Cost.Currency = true, ""
			continue
		}
		total.Hundredths += u.Cost.Hundredths
		total.Currency = b.currency
	}
	return total, unpriced
}
