package basket

import (
	"cmp"
	"slices"
)

// first looks for a good solution before the search begins, so that there is
// something to be better than.
func (s *search) first(within, orders int) {
	if len(s.position) == 0 {
		s.best, s.found = s.bill(make(pick, len(s.Places))), true
		return
	}
	s.guess = newChoices(s.Problem, within, false)
	if orders > 0 {
		s.guess.atMostOrders(orders, within)
	}
	for _, n := range []int{50, 50} {
		s.climb(n, s.limit())
		if s.hopeless(s.lower) {
			return
		}
		s.guessAgain()
	}
}

// guessAgain makes a complete solution out of what the relaxation charges now.
func (s *search) guessAgain() {
	if s.guess.possible(s.costs()) {
		s.settle(s.guess, s.mostOrder)
	}
}

// costs is what the relaxation charges for every choice.
func (s *search) costs() []float64 {
	out := make([]float64, len(s.logic.list))
	for v := range out {
		out[v] = infinite
		for _, k := range s.firstOf[v] {
			extra := 0.0
			p := s.column[k].position
			g := s.position[p].group
			if c := s.column[k].class; c >= 0 && s.groups[g].classes > 0 {
				extra = s.groupCost[g][c] - s.groupCost[g][s.groupPick[g]] - s.leastOf[p][c]
			} else {
				extra = -s.leastOf[p][s.groupPick[g]]
			}
			out[v] = min(out[v], s.pickCost[k]+extra)
		}
	}
	return out
}

// settle chooses offers for the choices of an example and betters them one by one.
func (s *search) settle(guess *choices, orders int) {
	x := make([]int32, len(s.position))
	for p := range s.position {
		x[p] = -1
		for _, v := range s.logic.at[s.position[p].place] {
			if !guess.isTrue(v) {
				continue
			}
			for _, k := range s.columnsOf[v] {
				c := &s.column[k]
				if int(c.position) != p || orders > 0 && !guess.isTrue(guess.orderAt[c.seller]) {
					continue
				}
				if x[p] < 0 || s.pickCost[k] < s.pickCost[x[p]] {
					x[p] = k
				}
			}
		}
		if x[p] < 0 {
			return
		}
	}
	s.polish(x)
	s.offer(x)
}

// polish betters a complete set of columns as long as something cheap to try helps.
func (s *search) polish(x []int32) {
	now := s.total(x, s.tally)
	for range 6 {
		before := now
		for g := range s.groups {
			now = s.regroup(x, g, now)
		}
		now = s.better1(x)
		if now > before-tolerance {
			return
		}
	}
}

// regroup tries every class for a group, with its cheapest columns beside what the
// other groups have, once without kits and once with each kit that fills some of it.
func (s *search) regroup(x []int32, g int, now float64) float64 {
	group := &s.groups[g]
	was := make([]int32, len(group.positions))
	for i, p := range group.positions {
		was[i] = x[p]
	}
	for k := range max(1, group.classes) {
		for _, kit := range append(s.kitsOf(group, k), -1) {
			if !s.fill(x, group, k, kit) {
				continue
			}
			if t := s.total(x, s.tally); t < now-tolerance && s.goTogether(x) {
				now = t
				for i, p := range group.positions {
					was[i] = x[p]
				}
			}
		}
	}
	for i, p := range group.positions {
		x[p] = was[i]
	}
	return now
}

// kitsOf lists the bundles with columns for a class of a group, a few that come nearest
// to paying for themselves.
func (s *search) kitsOf(group *group, class int32) []int32 {
	var list []int32
	for _, p := range group.positions {
		for _, k := range s.alive[s.position[p].first : s.position[p].first+s.count[p]] {
			if c := &s.column[k]; c.bundle >= 0 && (c.class < 0 || c.class == class) {
				list = append(list, c.bundle)
			}
		}
	}
	slices.Sort(list)
	list = slices.Compact(list)
	slices.SortStableFunc(list, func(a, b int32) int { return cmp.Compare(s.worth[a], s.worth[b]) })
	return list[:min(len(list), kitsTried):min(len(list), kitsTried)]
}

const kitsTried = 6

// fill gives every position of a group its cheapest column of a class: those of one
// kit wherever it has any, else what is bought by itself or is in a pack that the
// other groups open anyway.
func (s *search) fill(x []int32, group *group, class, kit int32) bool {
	for _, p := range group.positions {
		x[p] = -1
	}
	s.total(x, s.tally)
	for _, p := range group.positions {
		best, least := int32(-1), infinite
		for _, k := range s.alive[s.position[p].first : s.position[p].first+s.count[p]] {
			c := &s.column[k]
			if c.class >= 0 && c.class != class {
				continue
			}
			v := c.price
			switch {
			case c.bundle >= 0 && c.bundle == kit:
				v = -1
			case c.bundle >= 0 && s.tally.packs[c.bundle] == 0:
				v = s.bundles[c.bundle].price
			}
			if !s.tally.used[c.seller] {
				v += s.sellers[c.seller].shipping
			}
			if v < least || v == least && k < best {
				best, least = k, v
			}
		}
		if best < 0 {
			return false
		}
		x[p] = best
	}
	return true
}

// goTogether reports whether a complete set of columns keeps to all rules.
func (s *search) goTogether(x []int32) bool {
	was := s.pick
	s.pick = x
	defer func() { s.pick = was }()
	return s.contradiction() < 0
}

// better1 moves single positions to other offers of the same part, and whole orders to
// other sellers, while that costs less.
func (s *search) better1(x []int32) float64 {
	now := s.total(x, s.tally)
	for range 20 {
		before := now
		for p := range x {
			v, was := s.column[x[p]].choice, x[p]
			for _, k := range s.columnsOf[v] {
				if int(s.column[k].position) != p || k == x[p] {
					continue
				}
				was = x[p]
				x[p] = k
				if t := s.total(x, s.tally); t < now-tolerance {
					now = t
				} else {
					x[p] = was
				}
			}
		}
		for u := range s.sellers {
			now = s.without(x, int32(u), now)
		}
		if now > before-tolerance {
			break
		}
	}
	return now
}

// without tries what it costs to order nothing at a seller.
func (s *search) without(x []int32, u int32, now float64) float64 {
	var moved [][2]int32
	s.total(x, s.tally)
	used := append([]bool(nil), s.tally.used...)
	for p, k := range x {
		if s.column[k].seller != u {
			continue
		}
		best := int32(-1)
		for _, o := range s.columnsOf[s.column[k].choice] {
			if c := &s.column[o]; int(c.position) == p && c.seller != u && used[c.seller] && (best < 0 || s.pickCost[o] < s.pickCost[best]) {
				best = o
			}
		}
		if best < 0 {
			for _, m := range moved {
				x[m[0]] = m[1]
			}
			return now
		}
		moved = append(moved, [2]int32{int32(p), k})
		x[p] = best
	}
	if t := s.total(x, s.tally); t < now-tolerance {
		return t
	}
	for _, m := range moved {
		x[m[0]] = m[1]
	}
	return now
}
