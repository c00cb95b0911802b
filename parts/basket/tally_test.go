package basket

import (
	"math/rand/v2"
	"testing"
)

// What comes and goes column by column adds up to what the whole adds up to at once,
// and to the bill that is counted without any of this.
func TestTallyKeepsTheTotal(t *testing.T) {
	for _, name := range []string{"shop", "free"} {
		p := generate(familyNamed(name), 2)
		c := newChoices(p, p.limit(), false)
		c.follow()
		s := newSearch(newRelaxation(newMarket(c, p.limit(), 0)))
		x := make([]int32, len(s.position))
		for i := range x {
			x[i] = s.position[i].first
		}
		s.tally.total(x)
		fresh := s.newTally()
		r := rand.New(rand.NewPCG(1, 2))
		for range 2000 {
			q := r.IntN(len(x))
			s.tally.drop(x[q])
			x[q] = s.position[q].first + r.Int32N(s.position[q].end-s.position[q].first)
			s.tally.take(x[q])
			if total := fresh.total(x); s.tally.sum != total {
				t.Fatalf("%s: column by column %v, at once %v", name, s.tally.sum, total)
			}
			if bill := s.bill(s.offersOf(x)); float64(bill.Total) != s.tally.sum {
				t.Fatalf("%s: tally %v, bill %d", name, s.tally.sum, bill.Total)
			}
		}
	}
}
