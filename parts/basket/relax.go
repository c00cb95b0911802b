package basket

import "slices"

// relaxation bounds the total from below. Rules, shipping and shared prices are not
// asked to hold; each has a multiplier that charges for breaking it, and what is left
// falls apart into groups of positions. Whatever the multipliers, the sum is a bound;
// they are moved to make it large.
//
// Source: Lagrangian relaxation with subgradient steps of Polyak's length, as in Held,
// Wolfe and Crowder, "Validation of subgradient optimization", 1974. Seen: no; from
// general knowledge.
type relaxation struct {
	*market
	// Multipliers: of rows, of pairs of position and seller, of columns in bundles, of
	// free shipping.
	row, pair, share, free []float64
	record                 multipliers

	// What is decided so far.
	alive  []int32 // columns by position, those that still count first
	where  []int32 // of a column in alive
	count  []int32 // how many of a position count
	state  []sellerState
	packs  [][2]int32 // least and most packs of a bundle
	choice []float64  // what rows charge a choice

	// What the last bound was made of.
	lower     float64
	pick      []int32 // column by position
	pickCost  []float64
	open      []bool    // sellers that the bound pays shipping for
	take      []int32   // packs of a bundle
	inTake    []bool    // columns that those packs serve
	worth     []float64 // what one pack of a bundle costs more than it serves
	groupCost [][]float64
	groupPick []int32
	leastOf   [][]float64 // by position: least cost by class, the last for any class
	leastAt   [][]int32

	picked   []int32 // choices picked
	isPicked []bool
	onRow    []float64
	rowStamp []int32
	stamp    int32
	touched  []int32
	slope    struct{ row, pair, share, free []float64 }
	tally    *tally
	sorted   []int32
}

type multipliers struct {
	lower                  float64
	row, pair, share, free []float64
}

// sellerState is what is decided of a seller.
type sellerState uint8

const (
	undecided sellerState = iota
	out
	in     // something is ordered; shipping may be free
	inPaid // and shipping is paid
	inFree // and goods reach free shipping
)

func newRelaxation(m *market) *relaxation {
	r := &relaxation{market: m, row: make([]float64, len(m.rows)), pair: make([]float64, m.pairs), share: make([]float64, len(m.column)), free: make([]float64, len(m.sellers)),
		alive: make([]int32, len(m.column)), where: make([]int32, len(m.column)), count: make([]int32, len(m.position)), state: make([]sellerState, len(m.sellers)),
		packs: make([][2]int32, len(m.bundles)), choice: make([]float64, len(m.logic.list)),
		pick: make([]int32, len(m.position)), pickCost: make([]float64, len(m.column)), open: make([]bool, len(m.sellers)), take: make([]int32, len(m.bundles)), inTake: make([]bool, len(m.column)), worth: make([]float64, len(m.bundles)),
		groupCost: make([][]float64, len(m.groups)), groupPick: make([]int32, len(m.groups)), leastOf: make([][]float64, len(m.position)), leastAt: make([][]int32, len(m.position)),
		isPicked: make([]bool, len(m.logic.list)), onRow: make([]float64, len(m.rows)), rowStamp: make([]int32, len(m.rows)), tally: m.newTally()}
	for i := range r.alive {
		r.alive[i], r.where[i] = int32(i), int32(i)
	}
	for i, p := range m.position {
		r.count[i] = p.end - p.first
	}
	for i := range m.bundles {
		r.packs[i] = [2]int32{0, m.bundles[i].most}
	}
	for g := range m.groups {
		n := m.groups[g].classes
		r.groupCost[g] = make([]float64, max(1, n))
		for _, p := range m.groups[g].positions {
			r.leastOf[p], r.leastAt[p] = make([]float64, n+1), make([]int32, n+1)
		}
	}
	r.slope.row, r.slope.pair, r.slope.share, r.slope.free = make([]float64, len(r.row)), make([]float64, len(r.pair)), make([]float64, len(r.share)), make([]float64, len(r.free))
	r.start()
	r.record = r.copy()
	return r
}

// start spreads the price of every bundle over its columns, in proportion to what the
// position costs otherwise, and the shipping of every seller over its positions.
func (r *relaxation) start() {
	least := make([]float64, len(r.position))
	for i, p := range r.position {
		least[i] = infinite
		for k := p.first; k < p.end; k++ {
			if c := &r.column[k]; c.bundle < 0 {
				least[i] = min(least[i], c.price)
			}
		}
		if least[i] == infinite {
			least[i] = 1
		}
	}
	for i := range r.bundles {
		b := &r.bundles[i]
		sum := 0.0
		for _, c := range b.contents {
			for _, k := range c.columns[:min(int(c.pieces), len(c.columns))] {
				sum += least[r.column[k].position] + 1e-9
			}
		}
		for _, c := range b.contents {
			for _, k := range c.columns {
				r.share[k] = b.price * (least[r.column[k].position] + 1e-9) / sum
			}
		}
	}
}

func (r *relaxation) copy() multipliers {
	return multipliers{r.lower, slices.Clone(r.row), slices.Clone(r.pair), slices.Clone(r.share), slices.Clone(r.free)}
}

func (r *relaxation) keepBest() {
	b := &r.record
	b.lower = r.lower
	copy(b.row, r.row)
	copy(b.pair, r.pair)
	copy(b.share, r.share)
	copy(b.free, r.free)
}

func (r *relaxation) use(b *multipliers) {
	copy(r.row, b.row)
	copy(r.pair, b.pair)
	copy(r.share, b.share)
	copy(r.free, b.free)
	r.chargeChoices()
}

func (r *relaxation) chargeChoices() {
	clear(r.choice)
	for i := range r.rows {
		if y := r.row[i]; y > 0 {
			for _, t := range r.rows[i].terms {
				r.choice[t.of] += y * t.factor
			}
		}
	}
}

// fixed is what the bound charges for an order at a seller, and whether that is sure.
func (r *relaxation) fixed(u int) (charge float64, sure bool) {
	s := &r.sellers[u]
	switch r.state[u] {
	case out:
		return 0, true
	case inPaid:
		return s.shipping, true
	case inFree, in:
		if s.freeOver > 0 {
			return r.free[u] * s.freeOver, true
		}
		return s.shipping, true
	}
	if s.freeOver > 0 {
		return r.free[u] * s.freeOver, false
	}
	return s.shipping, false
}

// rebate is the factor on prices of a seller: goods count towards free shipping.
func (r *relaxation) rebate(u int32) float64 {
	if r.sellers[u].freeOver == 0 || r.state[u] == inPaid {
		return 1
	}
	return 1 - r.free[u]
}

// bound computes the bound for the multipliers as they are, and what it picks. It is
// infinite where a position has nothing left.
func (r *relaxation) bound() float64 {
	sum := 0.0
	for u := range r.sellers {
		charge, sure := r.fixed(u)
		r.open[u] = sure && r.state[u] != out
		if sure {
			sum += charge
			continue
		}
		for _, k := range r.sellers[u].pairs {
			charge -= r.pair[k]
		}
		if charge < 0 {
			r.open[u] = true
			sum += charge
		}
	}
	for i := range r.rows {
		sum -= r.row[i] * r.rows[i].limit
	}
	for i := range r.bundles {
		sum += r.boundBundle(i)
	}
	for g := range r.groups {
		sum += r.boundGroup(g)
	}
	r.lower = sum
	return sum
}

// boundBundle chooses how many packs pay for themselves by what its columns charge.
func (r *relaxation) boundBundle(i int) float64 {
	b := &r.bundles[i]
	low, high := r.packs[i][0], r.packs[i][1]
	price := b.price * r.rebate(b.seller)
	if high == 0 {
		r.take[i] = 0
		for _, c := range b.contents {
			for _, k := range c.columns {
				r.inTake[k] = false
			}
		}
		return 0
	}
	if high == 1 {
		return r.boundKit(i, price, low == 1)
	}
	best, take := infinite, int32(0)
	for n := low; n <= high; n++ {
		if v := float64(n)*price - r.served(b, n, false); v < best {
			best, take = v, n
		}
	}
	r.take[i] = take
	r.served(b, take, true)
	return best
}

func (r *relaxation) boundKit(i int, price float64, sure bool) float64 {
	b := &r.bundles[i]
	v := price
	for c := range b.contents {
		content := &b.contents[c]
		if int(content.pieces) >= len(content.columns) {
			for _, k := range content.columns {
				if r.counts(k) {
					v -= r.share[k]
				}
			}
		} else {
			v -= r.top(content, 1, false)
		}
	}
	r.worth[i] = v
	r.take[i] = 0
	if v < 0 || sure {
		r.take[i] = 1
	} else {
		v = 0
	}
	r.served(b, r.take[i], true)
	return v
}

// served adds up the shares that so many packs serve at most; with mark it notes
// which.
func (r *relaxation) served(b *bundle, packs int32, mark bool) float64 {
	sum := 0.0
	for c := range b.contents {
		sum += r.top(&b.contents[c], packs, mark)
	}
	return sum
}

func (r *relaxation) top(c *bundleContent, packs int32, mark bool) float64 {
	n := int(packs * c.pieces)
	sum := 0.0
	r.sorted = r.sorted[:0]
	for _, k := range c.columns {
		if mark {
			r.inTake[k] = false
		}
		if n > 0 && r.share[k] > 0 && r.counts(k) {
			r.sorted = append(r.sorted, k)
		}
	}
	if n < len(r.sorted) {
		slices.SortFunc(r.sorted, func(a, b int32) int {
			switch x, y := r.share[a], r.share[b]; {
			case x > y:
				return -1
			case x < y:
				return 1
			}
			return int(a - b)
		})
		r.sorted = r.sorted[:n]
	}
	for _, k := range r.sorted {
		sum += r.share[k]
		if mark {
			r.inTake[k] = true
		}
	}
	return sum
}

// counts reports whether a column may still be picked.
func (r *relaxation) counts(k int32) bool {
	p := r.column[k].position
	return r.where[k]-r.position[p].first < r.count[p]
}

// boundGroup picks the class that costs least, and the columns of it.
func (r *relaxation) boundGroup(g int) float64 {
	group := &r.groups[g]
	n := group.classes
	cost := r.groupCost[g]
	clear(cost)
	for _, p := range group.positions {
		r.least(p, n)
		least, at := r.leastOf[p], r.leastAt[p]
		any := least[n]
		if n == 0 {
			cost[0] += any
			continue
		}
		for k := range n {
			if any < least[k] {
				least[k], at[k] = any, at[n]
			}
			cost[k] += least[k]
		}
	}
	best := 0
	for k := range cost {
		if cost[k] < cost[best] {
			best = k
		}
	}
	r.groupPick[g] = int32(best)
	for _, p := range group.positions {
		r.pick[p] = r.leastAt[p][best]
	}
	return cost[best]
}

// least finds the cheapest column of a position by class; n stands for any class.
func (r *relaxation) least(p, n int32) {
	least, at := r.leastOf[p], r.leastAt[p]
	for k := range least {
		least[k], at[k] = infinite, -1
	}
	first := r.position[p].first
	whole := r.position[p].piece == 0
	for _, i := range r.alive[first : first+r.count[p]] {
		c := &r.column[i]
		v := c.price
		if c.bundle >= 0 {
			v = r.share[i]
		} else if f := &r.sellers[c.seller]; f.freeOver > 0 {
			v *= r.rebate(c.seller)
		}
		if r.state[c.seller] == undecided {
			v += r.pair[c.pair]
		}
		if whole {
			v += r.choice[c.choice]
		}
		r.pickCost[i] = v
		k := c.class
		if k < 0 {
			k = n
		}
		if v < least[k] || v == least[k] && i < at[k] {
			least[k], at[k] = v, i
		}
	}
}

// climb moves the multipliers for so many steps towards a larger bound, given that
// nothing above upper is of interest. It keeps the best, and stops once upper is
// reached.
func (r *relaxation) climb(steps int, upper float64) float64 {
	r.chargeChoices()
	r.bound()
	r.record.lower = -infinite
	if r.lower > r.record.lower {
		r.keepBest()
	}
	length, since := 1.0, 0
	for range steps {
		if r.record.lower >= upper || r.lower == infinite {
			break
		}
		norm := r.measure()
		if norm == 0 {
			break
		}
		goal := upper
		if goal == infinite {
			goal = r.record.lower*1.02 + 1
		}
		step := length * (goal - r.lower) / norm
		r.move(step)
		r.bound()
		if r.lower > r.record.lower+1e-7 {
			if r.lower > r.record.lower+0.02*(goal-r.record.lower) {
				since = 0
			}
			r.keepBest()
		}
		if since++; since >= 12 {
			length, since = length*0.6, 0
			r.use(&r.record)
			r.bound()
		}
	}
	r.use(&r.record)
	return r.bound()
}

// measure finds in which direction the bound grows; it returns the square of its
// length.
func (r *relaxation) measure() float64 {
	sum := 0.0
	r.countRows()
	r.touched = r.touched[:0]
	r.stamp++
	note := func(i int32) {
		if r.rowStamp[i] == r.stamp {
			return
		}
		r.rowStamp[i] = r.stamp
		d := r.onRow[i] - r.rows[i].limit
		if d < 0 && r.row[i] <= 0 {
			return
		}
		if d != 0 {
			r.slope.row[i] = d
			r.touched = append(r.touched, i)
			sum += d * d
		}
	}
	for _, v := range r.picked {
		for _, t := range r.rowsOf[v] {
			note(t.of)
		}
	}
	for i := range r.rows {
		if r.row[i] > 0 || r.rows[i].limit < 0 {
			note(int32(i))
		}
	}
	sum += r.measurePairs()
	sum += r.measureShares()
	return sum + r.measureFree()
}

// countRows adds up every row for the choices that are picked.
func (r *relaxation) countRows() {
	for _, v := range r.picked {
		r.isPicked[v] = false
		for _, t := range r.rowsOf[v] {
			r.onRow[t.of] = 0
		}
	}
	r.picked = r.picked[:0]
	for p, i := range r.pick {
		if i < 0 || r.position[p].piece > 0 {
			continue
		}
		v := r.column[i].choice
		r.picked = append(r.picked, v)
		r.isPicked[v] = true
		for _, t := range r.rowsOf[v] {
			r.onRow[t.of] += t.factor
		}
	}
}

func (r *relaxation) measurePairs() float64 {
	sum := 0.0
	for u := range r.sellers {
		charge := 0.0
		if r.open[u] {
			charge = -1
		}
		for _, k := range r.sellers[u].pairs {
			r.slope.pair[k] = 0
			if r.state[u] == undecided {
				r.slope.pair[k] = charge
			}
		}
	}
	for _, i := range r.pick {
		if i < 0 {
			continue
		}
		if c := &r.column[i]; r.state[c.seller] == undecided {
			r.slope.pair[c.pair]++
		}
	}
	for k, d := range r.slope.pair {
		if d < 0 && r.pair[k] <= 0 {
			r.slope.pair[k] = 0
			continue
		}
		sum += d * d
	}
	return sum
}

func (r *relaxation) measureShares() float64 {
	sum := 0.0
	for i := range r.bundles {
		for _, c := range r.bundles[i].contents {
			for _, k := range c.columns {
				d := 0.0
				if r.pick[r.column[k].position] == k {
					d++
				}
				if r.inTake[k] {
					d--
				}
				if d < 0 && r.share[k] <= 0 {
					d = 0
				}
				r.slope.share[k] = d
				sum += d * d
			}
		}
	}
	return sum
}

// measureFree is scaled by what is needed for free shipping, so that a step has the
// size of the others.
func (r *relaxation) measureFree() float64 {
	sum := 0.0
	for u := range r.sellers {
		s := &r.sellers[u]
		r.slope.free[u] = 0
		if s.freeOver == 0 || r.state[u] == inPaid || r.state[u] == out {
			continue
		}
		goods := 0.0
		for _, i := range r.pick {
			if i >= 0 && r.column[i].seller == int32(u) {
				goods += r.column[i].price
			}
		}
		for i := range r.bundles {
			if r.bundles[i].seller == int32(u) {
				goods += float64(r.take[i]) * r.bundles[i].price
			}
		}
		d := -goods / s.freeOver
		if r.open[u] {
			d++
		}
		if d < 0 && r.free[u] <= 0 {
			d = 0
		}
		if d > 0 && r.state[u] != inFree && r.free[u] >= s.shipping/s.freeOver {
			d = 0
		}
		r.slope.free[u] = d
		sum += d * d
	}
	return sum
}

func (r *relaxation) move(step float64) {
	for _, i := range r.touched {
		y := max(0, r.row[i]+step*r.slope.row[i])
		if d := y - r.row[i]; d != 0 {
			for _, t := range r.rows[i].terms {
				r.choice[t.of] += d * t.factor
			}
			r.row[i] = y
		}
	}
	for k, d := range r.slope.pair {
		if d != 0 {
			r.pair[k] = max(0, r.pair[k]+step*d)
		}
	}
	for i := range r.bundles {
		for _, c := range r.bundles[i].contents {
			for _, k := range c.columns {
				if d := r.slope.share[k]; d != 0 {
					r.share[k] = max(0, r.share[k]+step*d)
				}
			}
		}
	}
	for u, d := range r.slope.free {
		if d == 0 {
			continue
		}
		s := &r.sellers[u]
		r.free[u] = max(0, r.free[u]+step*d/s.freeOver)
		if r.state[u] != inFree {
			r.free[u] = min(r.free[u], s.shipping/s.freeOver)
		}
	}
}
