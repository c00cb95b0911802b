package basket

import "slices"

// open is a set of decisions about sellers whose bound is known and below which nothing
// was searched yet.
type open struct {
	multipliers
	decided []decision
}

// decision is what is decided of one seller.
type decision struct {
	seller int
	state  sellerState
}

// bySellers searches everything, the decisions about sellers with the least bound first.
// Shipping is a large step in any total, so that a wrong decision about a seller costs
// more searching than any other.
func (s *search) bySellers() {
	var list []open
	s.pass(nil, &list)
	for n := 0; len(list) > 0; n++ {
		next := least(&list)
		if s.hopeless(next.lower) {
			return // and so is all that is left
		}
		if s.halted {
			s.lost = min(s.lost, next.lower)
			return
		}
		m := s.mark()
		for _, d := range next.decided {
			s.decide(d.seller, d.state)
		}
		s.use(&next.multipliers)
		switch {
		case !s.enter(nodeSteps, 1):
		case n < mostOpen:
			s.pass(next.decided, &list)
		default:
			s.split()
		}
		s.return_(m)
	}
}

// mostOpen is how many sets of decisions about sellers are looked at by bound.
const mostOpen = 300

// pass puts the two ways to decide the seller that is most wrong on the list. Where no
// seller is wrong it searches what is left.
func (s *search) pass(decided []decision, list *[]open) {
	s.countRows()
	s.tally.total(s.pick)
	most, u, ways := tolerance, -1, [2]sellerState{}
	s.wrongSellers(func(by float64, seller int, likely, other sellerState) {
		if by > most {
			most, u, ways = by, seller, [2]sellerState{likely, other}
		}
	})
	if u < 0 {
		s.split()
		return
	}
	s.tryPick()
	for _, state := range ways {
		*list = append(*list, open{s.copy(), append(slices.Clone(decided), decision{u, state})})
	}
}

// least takes the entry with the least bound off a list, of several the last.
func least(list *[]open) open {
	best := 0
	for i := range *list {
		if (*list)[i].lower <= (*list)[best].lower {
			best = i
		}
	}
	out := (*list)[best]
	*list = slices.Delete(*list, best, best+1)
	return out
}
