package basket

import (
	"cmp"
	"slices"
)

// candidate is one offer for one choice.
type candidate struct {
	choice, offer int32
}

// dominance knows which candidates of a place no best set needs, because another does
// all that they do for less.
//
// One stands in for another where it is in no rule that the other is not in, helps in
// all rules in which the other helps, and where both have a price of their own: neither
// is a kit or a pack that serves more than one piece. Then it may take the other's place
// in any complete set. It costs less in the end even if its seller's shipping has to be
// paid for it alone, and the other's goods no longer reach free shipping.
type dominance struct {
	*choices
	sameSeller bool      // orders are counted, so that no other seller may come in
	harm, help [][]int32 // the rules in which a choice may be in the way, or helps
	alone      []bool    // offers whose price is that of the one piece they can serve
}

func newDominance(c *choices, sameSeller bool) *dominance {
	d := &dominance{choices: c, sameSeller: sameSeller, harm: make([][]int32, len(c.list)), help: make([][]int32, len(c.list))}
	d.rules()
	d.findAlone()
	return d
}

func (d *dominance) rules() {
	number := int32(0)
	note := func(to [][]int32, list []int32) {
		for _, v := range list {
			to[v] = append(to[v], number)
		}
		number++
	}
	for i := range d.problem.Rules {
		r := &d.problem.Rules[i]
		of, with := d.meant(r.Of), d.meant(r.With)
		switch r.Kind {
		case Insists:
			note(d.help, of)
		case Needs:
			note(d.harm, of)
			note(d.help, with)
		case Excludes:
			if d.share(of, with) {
				// A part that stands on both sides is not held against itself: each
				// choice is in a case of its own.
				for _, v := range slices.Concat(of, with) {
					note(d.harm, []int32{v})
				}
				continue
			}
			note(d.harm, of)
			note(d.harm, with)
		}
	}
	for i := range d.problem.Agreements {
		classes := map[int]int32{}
		for _, s := range d.problem.Agreements[i].Sized {
			n, ok := classes[s.Class]
			if !ok {
				n = number
				classes[s.Class] = n
				number++
			}
			for _, v := range d.meant([]Choice{s.Choice}) {
				d.harm[v] = append(d.harm[v], n)
			}
		}
	}
	for v := range d.harm {
		slices.Sort(d.harm[v])
	}
}

// share reports whether two lists of choices have a part in common.
func (d *dominance) share(a, b []int32) bool {
	parts := map[int]bool{}
	for _, v := range a {
		parts[d.list[v].Part] = true
	}
	return slices.ContainsFunc(b, func(v int32) bool { return parts[d.list[v].Part] })
}

// findAlone looks which offers can only ever bring one piece for one place, or have
// one piece to a price.
func (d *dominance) findAlone() {
	p := d.problem
	one := make([]bool, len(p.Parts)) // one piece to a price, or one piece wanted
	single := make([]bool, len(p.Parts))
	for i := range p.Parts {
		pieces, contents, most := 0, 0, 0
		for _, c := range p.Parts[i].Contents {
			here := 0
			for _, place := range c.Places {
				if d.held[place] < 0 {
					here += p.pieces(place)
				}
			}
			if here > 0 {
				contents++
				most = max(most, c.Count)
			}
			pieces += here
		}
		single[i] = pieces <= 1
		one[i] = contents <= 1 && most <= 1
	}
	d.alone = make([]bool, len(p.Offers))
	for i, o := range p.Offers {
		d.alone[i] = single[o.Part] || one[o.Part] && o.Pack <= 1
	}
}

// worth lists the candidates of a place that a best set might need, in the written
// order of choices.
func (d *dominance) worth(place int, offers [][]int32) []candidate {
	var all []candidate
	for _, v := range d.at[place] {
		if d.values[v] < 0 {
			continue
		}
		for _, o := range offers[d.list[v].Part] {
			all = append(all, candidate{v, o})
		}
	}
	order := slices.Clone(all)
	slices.SortStableFunc(order, func(a, b candidate) int {
		x, y := &d.problem.Offers[a.offer], &d.problem.Offers[b.offer]
		return cmp.Or(cmp.Compare(x.Price, y.Price), cmp.Compare(x.Lead, y.Lead), cmp.Compare(a.offer, b.offer))
	})
	several := d.problem.pieces(place) > 1
	gone := map[candidate]bool{}
	kept := order[:0]
	for _, x := range order {
		if slices.ContainsFunc(kept, func(y candidate) bool { return (!several || x.choice == y.choice) && d.standsIn(y, x) }) {
			gone[x] = true
			continue
		}
		kept = append(kept, x)
	}
	if len(gone) == 0 {
		return all
	}
	return slices.DeleteFunc(all, func(x candidate) bool { return gone[x] })
}

// standsIn reports whether y makes x needless.
func (d *dominance) standsIn(y, x candidate) bool {
	if !d.alone[x.offer] || !d.alone[y.offer] {
		return false
	}
	a, b := &d.problem.Offers[x.offer], &d.problem.Offers[y.offer]
	extra := int64(0)
	if s := &d.problem.Suppliers[a.Supplier]; s.FreeOver > 0 {
		extra = s.Shipping
	}
	if a.Supplier != b.Supplier {
		if d.sameSeller {
			return false
		}
		extra += d.problem.Suppliers[b.Supplier].Shipping
	}
	switch less := a.Price - b.Price; {
	case less > extra:
	case less == 0 && a.Supplier == b.Supplier && b.Lead <= a.Lead && y.offer < x.offer:
		// Equal in all that counts, and written first.
	default:
		return false
	}
	return subset(d.harm[y.choice], d.harm[x.choice]) && subset(d.help[x.choice], d.help[y.choice])
}

// subset reports whether every number of a list is in another; both are sorted.
func subset(list, other []int32) bool {
	for _, n := range list {
		if _, found := slices.BinarySearch(other, n); !found {
			return false
		}
	}
	return true
}
