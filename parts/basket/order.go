package basket

import "math"

// guide decides which choice the search of a logic tries next: the place that was most
// often in the way, and there the choice with the least cost.
type guide struct {
	cost    []float64 // by variable of a choice; nil counts all alike
	trouble []float64 // by place
	weight  float64
	// need reports whether a place must be filled; nil for all.
	need func(place int) bool
	// first are variables that are tried as true before anything else.
	first []int32
}

func newGuide(c *choices, cost []float64, need func(place int) bool) *guide {
	d := &guide{cost: cost, trouble: make([]float64, len(c.at)), weight: 1, need: need}
	c.blamed = func(v int32) {
		if int(v) < len(c.list) {
			d.trouble[c.list[v].Place] += d.weight
		}
		if d.weight *= 1.0005; d.weight > 1e100 {
			for i := range d.trouble {
				d.trouble[i] *= 1e-100
			}
			d.weight *= 1e-100
		}
	}
	c.choose = func() literal { return d.next(c) }
	return d
}

func (d *guide) next(c *choices) literal {
	for _, v := range d.first {
		if c.values[v] == 0 {
			return yes(v)
		}
	}
	best, most, regret := noLiteral, math.Inf(-1), math.Inf(-1)
	for place, list := range c.at {
		if d.trouble[place] < most || d.need != nil && !d.need(place) {
			continue
		}
		if v, spread, open := d.cheapest(c, list); open && (d.trouble[place] > most || spread > regret) {
			best, most, regret = yes(v), d.trouble[place], spread
		}
	}
	if best != noLiteral {
		return best
	}
	for _, v := range c.wishes {
		if c.values[v] == 0 {
			return yes(v)
		}
	}
	return noLiteral
}

// cheapest is the choice of a place to try first, and how much more the next one
// costs; it is not open where one is taken or none is left.
func (d *guide) cheapest(c *choices, list []int32) (best int32, spread float64, open bool) {
	best = -1
	least, next := math.Inf(1), math.Inf(1)
	for _, v := range list {
		if c.values[v] > 0 {
			return 0, 0, false
		}
		if c.values[v] < 0 {
			continue
		}
		cost := 0.0
		if d.cost != nil {
			cost = d.cost[v]
		}
		switch {
		case best < 0 || cost < least:
			best, least, next = v, cost, least
		case cost < next:
			next = cost
		}
	}
	return best, next - least, best >= 0
}
