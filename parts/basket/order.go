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
	best, most := noLiteral, math.Inf(-1)
	for place, list := range c.at {
		if d.trouble[place] <= most && best != noLiteral || d.need != nil && !d.need(place) {
			continue
		}
		if v, open := d.cheapest(c, list); open {
			best, most = yes(v), d.trouble[place]
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

// cheapest is the choice of a place to try first; it is not open where one is taken
// or none is left.
func (d *guide) cheapest(c *choices, list []int32) (int32, bool) {
	var best int32 = -1
	for _, v := range list {
		switch {
		case c.values[v] > 0:
			return 0, false
		case c.values[v] == 0 && (best < 0 || d.cost != nil && d.cost[v] < d.cost[best]):
			best = v
		}
	}
	return best, best >= 0
}
