package basket

import "math"

// reach sets the multiplier of every seller whose goods have to reach free shipping to
// where the bound is largest, the others as they are. There the picks change between
// too few goods and enough, which halving finds sooner than many small steps.
func (r *relaxation) reach() {
	for u := range r.sellers {
		if r.state[u] != inFree || r.sellers[u].freeOver == 0 {
			continue
		}
		short := r.missing(u)
		if math.Abs(short) <= reachEnough*r.sellers[u].freeOver || short < 0 && r.free[u] == 0 {
			continue
		}
		was, before := r.free[u], r.lower
		best, most := was, before
		low, high := 0.0, was
		if short > 0 {
			low, high = was, 1
		}
		for range reachHalvings {
			r.free[u] = (low + high) / 2
			if r.bound() > most {
				best, most = r.free[u], r.lower
			}
			if r.missing(u) > 0 {
				low = r.free[u]
			} else {
				high = r.free[u]
			}
		}
		r.free[u] = best
		r.bound()
	}
}

const (
	reachEnough   = 0.01 // of the goods needed, beyond which halving begins
	reachHalvings = 10
)

// missing is how much a seller's goods fall short of free shipping in the last bound.
func (r *relaxation) missing(u int) float64 {
	return r.sellers[u].freeOver - r.goods(u)
}

// goods is what the last bound picks and takes at a seller.
func (r *relaxation) goods(u int) float64 {
	sum := 0.0
	for _, i := range r.pick {
		if i >= 0 && r.column[i].seller == int32(u) {
			sum += r.column[i].price
		}
	}
	for i := range r.bundles {
		if r.bundles[i].seller == int32(u) {
			sum += float64(r.take[i]) * r.bundles[i].price
		}
	}
	return sum
}

// byDearest branches on a position where a seller's goods could be worth more or less.
func (s *search) byDearest(u int) []branch {
	best, spread := -1, -1.0
	for p := range s.position {
		first := s.position[p].first
		low, high := infinite, 0.0
		for _, k := range s.alive[first : first+s.count[p]] {
			v := 0.0
			if c := &s.column[k]; c.seller == int32(u) {
				if v = c.price; c.bundle >= 0 {
					v = s.bundles[c.bundle].price
				}
			}
			low, high = min(low, v), max(high, v)
		}
		if s.count[p] > 1 && high-low > spread {
			best, spread = p, high-low
		}
	}
	if best < 0 {
		return nil
	}
	return []branch{only(s.pick[best]), leaving(s.pick[best])}
}
