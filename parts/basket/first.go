package basket

// first looks for a good solution before the search begins, so that there is
// something to be better than.
func (s *search) first(within, orders int) {
	if len(s.position) == 0 {
		s.best, s.found = s.bill(make(pick, len(s.Places))), true
		return
	}
	guess := newChoices(s.Problem, within, false)
	if orders > 0 {
		guess.atMostOrders(orders, within)
	}
	steps := []int{0, 40, 60}
	for _, n := range steps {
		if n > 0 {
			s.climb(n, s.limit())
		} else {
			s.chargeChoices()
			s.bound()
		}
		if s.hopeless(s.lower) {
			return
		}
		if !guess.possible(s.costs()) {
			return
		}
		s.settle(guess, orders)
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
	s.better1(x)
	s.offer(x)
}

// better1 moves single positions to other offers of the same part, and whole orders to
// other sellers, while that costs less.
func (s *search) better1(x []int32) {
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
			return
		}
	}
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
