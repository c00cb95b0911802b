package basket

import "cmp"

// pick is the offer that each piece of each place comes from: pick[place][piece].
// It is nil for a place that is in hand.
type pick [][]int

func (p *Problem) pieces(place int) int { return max(1, p.Places[place].Pieces) }

// packs returns how many packs of every offer a pick takes: as few as give the
// pieces.
func (p *Problem) packs(x pick) []int {
	taken := map[[2]int]int{} // pieces by offer and content
	for place, offers := range x {
		for _, o := range offers {
			taken[[2]int{o, p.contentOf(p.Offers[o].Part, place)}]++
		}
	}
	n := make([]int, len(p.Offers))
	for k, count := range taken {
		o := &p.Offers[k[0]]
		inPack := max(1, p.Parts[o.Part].Contents[k[1]].Count) * max(1, o.Pack)
		n[k[0]] = max(n[k[0]], (count+inPack-1)/inPack)
	}
	return n
}

// contentOf returns which content of a part fills a place, -1 for none.
func (p *Problem) contentOf(part, place int) int {
	for i, c := range p.Parts[part].Contents {
		for _, q := range c.Places {
			if q == place {
				return i
			}
		}
	}
	return -1
}

// bill is what a pick comes to.
func (p *Problem) bill(x pick) Result {
	r := Result{Shipping: make([]int64, len(p.Suppliers))}
	goods := make([]int64, len(p.Suppliers))
	used := make([]bool, len(p.Suppliers))
	for o, n := range p.packs(x) {
		if n == 0 {
			continue
		}
		offer := &p.Offers[o]
		r.Buy = append(r.Buy, Purchase{o, n})
		goods[offer.Supplier] += int64(n) * offer.Price
		used[offer.Supplier] = true
		r.Lead = max(r.Lead, offer.Lead)
	}
	for s, u := range used {
		if !u {
			continue
		}
		r.Orders++
		if seller := &p.Suppliers[s]; seller.FreeOver == 0 || goods[s] < seller.FreeOver {
			r.Shipping[s] = seller.Shipping
		}
		r.Total += goods[s] + r.Shipping[s]
	}
	for place, offers := range x {
		if len(offers) > 0 {
			r.Fills = append(r.Fills, Fill{place, p.Offers[offers[0]].Part, offers[0]})
		}
	}
	return r
}

// better compares two bills under the preference; the written order comes last.
func (p *Problem) better(a, b *Result, x, y pick) bool {
	if by := p.compare(a, b); by != 0 {
		return by < 0
	}
	for place := range x {
		for i := range x[place] {
			if x[place][i] != y[place][i] {
				return x[place][i] < y[place][i]
			}
		}
	}
	return false
}

// compare is below zero where a bill is better than another, whatever the written order
// says.
func (p *Problem) compare(a, b *Result) int {
	total, lead, orders := cmp.Compare(a.Total, b.Total), cmp.Compare(a.Lead, b.Lead), cmp.Compare(a.Orders, b.Orders)
	switch p.Prefer {
	case Soonest:
		return cmp.Or(lead, total, orders)
	case FewestOrders:
		return cmp.Or(orders, total, lead)
	}
	return cmp.Or(total, lead, orders)
}
