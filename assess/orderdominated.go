package assess

import (
	"fmt"
	"slices"

	"buttonup/parts/basket"
)

// dropDominated leaves out offers that no best list needs: of parts that are the same
// to every rule and fill the same places from one seller, one that is neither cheaper
// nor sooner than another. Where a seller sends free of charge above an amount, a
// dearer part may be what reaches it, so that there only equal prices count.
func (b *orderBuilder) dropDominated() {
	ruled := map[int]bool{}
	for _, r := range b.problem.Rules {
		for _, c := range append(slices.Clone(r.Of), r.With...) {
			ruled[c.Part] = true
		}
	}
	better := map[string][]int{} // offers that stand, by what they offer
	var keep []int
	for i := range b.problem.Offers {
		o := &b.problem.Offers[i]
		if ruled[o.Part] || b.inHand[o.Part] {
			keep = append(keep, i)
			continue
		}
		key := fmt.Sprint(o.Supplier, max(1, o.Pack), b.problem.Parts[o.Part].Contents)
		free := b.problem.Suppliers[o.Supplier].FreeOver > 0
		beats := func(x, y *basket.Offer) bool {
			return x.Lead <= y.Lead && (x.Price == y.Price || x.Price < y.Price && !free)
		}
		if slices.ContainsFunc(better[key], func(k int) bool { return beats(&b.problem.Offers[k], o) }) {
			continue
		}
		better[key] = append(slices.DeleteFunc(better[key], func(k int) bool {
			if !beats(o, &b.problem.Offers[k]) {
				return false
			}
			keep = slices.DeleteFunc(keep, func(n int) bool { return n == k })
			return true
		}), i)
		keep = append(keep, i)
	}
	slices.Sort(keep)
	offers, problem := b.offers, b.problem.Offers
	b.offers, b.problem.Offers = nil, nil
	for _, i := range keep {
		b.offers, b.problem.Offers = append(b.offers, offers[i]), append(b.problem.Offers, problem[i])
	}
}
