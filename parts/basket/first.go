package basket

import (
	"cmp"
	"slices"
)

// first looks for a good solution before the search begins, so that there is
// something to be better than.
func (s *search) first(within, orders int) {
	if len(s.position) == 0 {
		s.best, s.has = s.bill(make(pick, len(s.Places))), true
		return
	}
	s.guess = newChoices(s.Problem, within, false)
	for v, x := range s.logic.list {
		if len(s.columnsOf[v]) == 0 && s.logic.held[x.Place] < 0 {
			s.guess.add(no(int32(v)))
		}
	}
	if orders > 0 {
		s.guess.atMostOrders(orders, within)
	}
	for range firstRounds {
		before := s.lower
		s.climb(firstSteps, s.limit())
		if s.hopeless(s.lower) || s.lower < before*(1+firstGain) {
			break
		}
	}
	if !s.hopeless(s.lower) {
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
	s.tally.total(x)
	for range 6 {
		before := s.tally.sum
		for g := range s.groups {
			s.regroup(x, g)
		}
		s.better1(x)
		if s.tally.sum > before-tolerance {
			return
		}
	}
}

// regroup tries every class for a group, with its cheapest columns beside what the
// other groups have, once without kits and once with each kit that fills some of it.
func (s *search) regroup(x []int32, g int) {
	group := &s.groups[g]
	now := s.tally.sum
	s.was = s.was[:0]
	for _, p := range group.positions {
		s.was = append(s.was, x[p])
		s.tally.drop(x[p])
	}
	for k := range max(1, group.classes) {
		for _, kit := range s.kitsOf(group, k) {
			if !s.fill(x, group, k, kit) {
				continue
			}
			for _, p := range group.positions {
				s.tally.take(x[p])
			}
			sum := s.tally.sum
			better := sum < now-tolerance && s.goTogether(x)
			for i, p := range group.positions {
				s.tally.drop(x[p])
				if better {
					s.was[i] = x[p]
				}
			}
			if better {
				now = sum
			}
		}
	}
	for i, p := range group.positions {
		x[p] = s.was[i]
		s.tally.take(x[p])
	}
}

// kitsOf lists the bundles with columns for a class of a group, a few that come nearest
// to paying for themselves, and −1 for none.
func (s *search) kitsOf(group *group, class int32) []int32 {
	list := s.kits[:0]
	for _, p := range group.positions {
		for _, k := range s.alive[s.position[p].first : s.position[p].first+s.count[p]] {
			if c := &s.column[k]; c.bundle >= 0 && (c.class < 0 || c.class == class) && !slices.Contains(list, c.bundle) {
				list = append(list, c.bundle)
			}
		}
	}
	slices.SortFunc(list, func(a, b int32) int { return cmp.Or(cmp.Compare(s.worth[a], s.worth[b]), cmp.Compare(a, b)) })
	s.kits = append(list[:min(len(list), kitsTried)], -1)
	return s.kits
}

const kitsTried = 6

// fill gives every position of a group its cheapest column of a class: those of one
// kit wherever it has any, else what is bought by itself or is in a pack that the
// other groups open anyway.
func (s *search) fill(x []int32, group *group, class, kit int32) bool {
	for _, p := range group.positions {
		x[p] = -1
	}
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
			if s.tally.used[c.seller] == 0 {
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
func (s *search) better1(x []int32) {
	for range 20 {
		before := s.tally.sum
		for p := range x {
			s.move1(x, int32(p))
		}
		for u := range s.sellers {
			s.without(x, int32(u))
		}
		if s.tally.sum > before-tolerance {
			return
		}
	}
}

// move1 moves one position to other offers of its part.
func (s *search) move1(x []int32, p int32) {
	list := s.columnsOf[s.column[x[p]].choice]
	if len(list) < 2 {
		return
	}
	now := s.tally.sum
	best := x[p]
	s.tally.drop(best)
	for _, k := range list {
		if s.column[k].position != p || k == best {
			continue
		}
		s.tally.take(k)
		if s.tally.sum < now-tolerance {
			now, best = s.tally.sum, k
		}
		s.tally.drop(k)
	}
	x[p] = best
	s.tally.take(best)
}

// without tries what it costs to order nothing at a seller.
func (s *search) without(x []int32, u int32) {
	if s.tally.used[u] == 0 {
		return
	}
	now, moved := s.tally.sum, s.moved[:0]
	used := append(s.wasUsed[:0], s.tally.used...)
	s.wasUsed = used
	done := true
	for p, k := range x {
		if s.column[k].seller != u {
			continue
		}
		best := int32(-1)
		for _, o := range s.columnsOf[s.column[k].choice] {
			if c := &s.column[o]; int(c.position) == p && c.seller != u && used[c.seller] > 0 && (best < 0 || s.pickCost[o] < s.pickCost[best]) {
				best = o
			}
		}
		if best < 0 {
			done = false
			break
		}
		moved = append(moved, [2]int32{int32(p), k})
		s.exchange(x, p, best)
	}
	s.moved = moved
	if done && s.tally.sum < now-tolerance {
		return
	}
	for _, m := range moved {
		s.exchange(x, int(m[0]), m[1])
	}
}

func (s *search) exchange(x []int32, p int, k int32) {
	s.tally.drop(x[p])
	x[p] = k
	s.tally.take(k)
}
