package basket

import "fmt"

// check reports the first thing in a problem that makes no sense.
func (p *Problem) check() error {
	for i := range p.Parts {
		if err := p.checkPart(i); err != nil {
			return err
		}
	}
	for i, o := range p.Offers {
		switch {
		case o.Part < 0 || o.Part >= len(p.Parts):
			return fmt.Errorf("offer %d is of part %d, and there are %d parts", i, o.Part, len(p.Parts))
		case o.Supplier < 0 || o.Supplier >= len(p.Suppliers):
			return fmt.Errorf("offer %d is of supplier %d, and there are %d suppliers", i, o.Supplier, len(p.Suppliers))
		case o.Price < 0 || o.Price > dearest || o.Pack < 0 || o.Lead < 0:
			return fmt.Errorf("offer %d has price %d, pack %d, lead %d: none may be negative, and a price is at most %d", i, o.Price, o.Pack, o.Lead, int64(dearest))
		}
	}
	for i, s := range p.Suppliers {
		if s.Shipping < 0 || s.FreeOver < 0 || s.Shipping > dearest || s.FreeOver > dearest {
			return fmt.Errorf("supplier %d has shipping %d, free over %d: neither may be negative or above %d", i, s.Shipping, s.FreeOver, int64(dearest))
		}
	}
	for i, x := range p.Places {
		if x.Pieces < 0 || x.Pieces > mostPieces {
			return fmt.Errorf("place %d needs %d pieces: 0 to %d are possible", i, x.Pieces, mostPieces)
		}
	}
	if p.Within < 0 {
		return fmt.Errorf("the longest lead allowed is %d days: it may not be negative", p.Within)
	}
	if p.Prefer > FewestOrders {
		return fmt.Errorf("preference %d is not known", p.Prefer)
	}
	return p.checkRules()
}

// Amounts and counts stay so small that a sum of them is exact in a float64 too.
const (
	dearest    = 1 << 40
	mostPieces = 1000
)

func (p *Problem) checkPart(i int) error {
	seen := map[int]bool{}
	for _, c := range p.Parts[i].Contents {
		if c.Count < 0 {
			return fmt.Errorf("part %d holds %d pieces: it may not be negative", i, c.Count)
		}
		for _, place := range c.Places {
			if place < 0 || place >= len(p.Places) {
				return fmt.Errorf("part %d fills place %d, and there are %d places", i, place, len(p.Places))
			}
			if seen[place] {
				return fmt.Errorf("part %d names place %d twice", i, place)
			}
			seen[place] = true
		}
	}
	return nil
}

func (p *Problem) checkRules() error {
	held := map[int]bool{}
	for i, c := range p.InHand {
		if err := p.checkChoice(c); err != nil || c.Place == Anywhere {
			return fmt.Errorf("in hand %d: part %d in place %d is not there", i, c.Part, c.Place)
		}
		if held[c.Place] {
			return fmt.Errorf("in hand %d: place %d holds another part already", i, c.Place)
		}
		held[c.Place] = true
	}
	for i, r := range p.Rules {
		if r.Kind < Needs || r.Kind > Refuses {
			return fmt.Errorf("rule %d has no kind", i)
		}
		for _, list := range [][]Choice{r.Of, r.With} {
			for _, c := range list {
				if err := p.checkChoice(c); err != nil {
					return fmt.Errorf("rule %d: %w", i, err)
				}
			}
		}
	}
	for i, a := range p.Agreements {
		for _, s := range a.Sized {
			if err := p.checkChoice(s.Choice); err != nil {
				return fmt.Errorf("agreement %d: %w", i, err)
			}
		}
	}
	return nil
}

func (p *Problem) checkChoice(c Choice) error {
	if c.Part < 0 || c.Part >= len(p.Parts) || c.Place < Anywhere || c.Place >= len(p.Places) {
		return fmt.Errorf("there is no part %d in place %d", c.Part, c.Place)
	}
	return nil
}
