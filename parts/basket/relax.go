package basket

import (
	"cmp"
	"math"
	"slices"
)

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
	dual, row, pair, share, free []float64
	record                       multipliers

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

	picked                                            []int32 // choices picked
	isPicked                                          []bool
	onRow                                             []float64
	slope, slopeRow, slopePair, slopeShare, slopeFree []float64
	way                                               []float64 // the average of late slopes
	tally                                             *tally
	factor                                            []factor
	sorted, ends                                      []int32
}

// factor is what the prices of a seller count, and whether its pairs charge.
type factor struct {
	price float64
	pair  bool
}

// multipliers are all of them, with the bound that they gave.
type multipliers struct {
	lower float64
	dual  []float64
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
	r := &relaxation{market: m,
		alive: make([]int32, len(m.column)), where: make([]int32, len(m.column)), count: make([]int32, len(m.position)), state: make([]sellerState, len(m.sellers)),
		packs: make([][2]int32, len(m.bundles)), choice: make([]float64, len(m.logic.list)),
		pick: make([]int32, len(m.position)), pickCost: make([]float64, len(m.column)), open: make([]bool, len(m.sellers)), take: make([]int32, len(m.bundles)), inTake: make([]bool, len(m.column)), worth: make([]float64, len(m.bundles)),
		groupCost: make([][]float64, len(m.groups)), groupPick: make([]int32, len(m.groups)), leastOf: make([][]float64, len(m.position)), leastAt: make([][]int32, len(m.position)),
		isPicked: make([]bool, len(m.logic.list)), onRow: make([]float64, len(m.rows)), tally: m.newTally(), factor: make([]factor, len(m.sellers))}
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
	r.dual, r.row, r.pair, r.share, r.free = r.split()
	r.slope, r.slopeRow, r.slopePair, r.slopeShare, r.slopeFree = r.split()
	r.way = make([]float64, len(r.dual))
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
			by := make([]float64, len(c.columns))
			for j, k := range c.columns {
				by[j] = -least[r.column[k].position] - 1e-9
			}
			slices.Sort(by)
			for _, v := range by[:min(int(c.pieces), len(by))] {
				sum -= v
			}
		}
		for _, c := range b.contents {
			for _, k := range c.columns {
				r.share[r.column[k].shared] = b.price * (least[r.column[k].position] + 1e-9) / sum
			}
		}
	}
}

// split makes one list for all multipliers, and its parts.
func (m *market) split() (all, row, pair, share, free []float64) {
	a := len(m.rows)
	b := a + m.pairs
	c := b + m.shared
	all = make([]float64, c+len(m.sellers))
	return all, all[:a:a], all[a:b:b], all[b:c:c], all[c:]
}

func (r *relaxation) copy() multipliers { return multipliers{r.lower, slices.Clone(r.dual)} }

func (r *relaxation) keepBest() {
	r.record.lower = r.lower
	copy(r.record.dual, r.dual)
}

func (r *relaxation) use(b *multipliers) {
	copy(r.dual, b.dual)
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
		r.factor[u] = factor{r.rebate(int32(u)), r.state[u] == undecided}
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

// boundBundle chooses how many packs pay for themselves by what its columns charge. One
// pack more serves what is charged less, so that the first that does not pay is the last.
func (r *relaxation) boundBundle(i int) float64 {
	b := &r.bundles[i]
	low, high := r.packs[i][0], r.packs[i][1]
	r.take[i] = 0
	for c := range b.contents {
		for _, k := range b.contents[c].columns {
			r.inTake[k] = false
		}
	}
	if high == 0 {
		return 0
	}
	price := b.price * r.rebate(b.seller)
	r.gather(b)
	r.worth[i] = price - r.served(b, 0)
	v := 0.0
	for n := range high {
		more := price - r.served(b, n)
		if n >= low && more >= 0 {
			break
		}
		v += more
		r.take[i] = n + 1
	}
	r.mark(b, r.take[i])
	return v
}

// gather lists the columns of a bundle that charge something, content by content, those
// that charge most first.
func (r *relaxation) gather(b *bundle) {
	r.sorted, r.ends = r.sorted[:0], r.ends[:0]
	for c := range b.contents {
		content := &b.contents[c]
		first := len(r.sorted)
		for _, k := range content.columns {
			if r.share[r.column[k].shared] > 0 && r.counts(k) {
				r.sorted = append(r.sorted, k)
			}
		}
		if list := r.sorted[first:]; int(content.pieces) < len(list) {
			slices.SortFunc(list, func(a, b int32) int {
				return cmp.Or(cmp.Compare(r.share[r.column[b].shared], r.share[r.column[a].shared]), cmp.Compare(a, b))
			})
		}
		r.ends = append(r.ends, int32(len(r.sorted)))
	}
}

// served adds up what the pack after the first so many serves, of what was gathered.
func (r *relaxation) served(b *bundle, after int32) float64 {
	sum := 0.0
	first := int32(0)
	for c, end := range r.ends {
		pieces := b.contents[c].pieces
		for _, k := range r.sorted[min(end, first+after*pieces):min(end, first+(after+1)*pieces)] {
			sum += r.share[r.column[k].shared]
		}
		first = end
	}
	return sum
}

// mark notes which columns so many packs serve, of what was gathered.
func (r *relaxation) mark(b *bundle, packs int32) {
	first := int32(0)
	for c, end := range r.ends {
		for _, k := range r.sorted[first:min(end, first+packs*b.contents[c].pieces)] {
			r.inTake[k] = true
		}
		first = end
	}
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
		f := &r.factor[c.seller]
		v := c.price * f.price
		if c.bundle >= 0 {
			v = r.share[c.shared]
		}
		if f.pair {
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
	r.reach()
	r.record.lower = -infinite
	if r.lower > r.record.lower {
		r.keepBest()
	}
	length, since := float64(climbLength), 0
	for n := range steps {
		if r.record.lower >= upper || r.lower == infinite {
			break
		}
		r.measure()
		norm := r.turn(n == 0)
		if norm == 0 {
			break
		}
		goal := r.record.lower + 0.01*math.Abs(r.record.lower) + 1
		if upper < infinite {
			goal = min(upper, max(goal, r.record.lower+0.1*(upper-r.record.lower)))
		}
		r.move(length * (goal - r.lower) / norm)
		r.bound()
		if r.lower > r.record.lower+1e-7 {
			if r.lower > r.record.lower+0.02*(goal-r.record.lower) {
				since = 0
			}
			r.keepBest()
		}
		if since++; since >= climbWait {
			if length < climbShortest {
				break
			}
			length, since = length*0.6, 0
			r.use(&r.record)
			r.bound()
		}
	}
	r.use(&r.record)
	return r.bound()
}

// The first length of a step, after how many steps without progress it gets shorter,
// and how much of the way gone so far counts. Found by trying on the families of the
// tests.
const climbLength, climbWait, climbKeep, climbShortest = 1.5, 12, 0.9, 0.2

// turn adds the slope to the way gone so far, so that what only swings to and fro
// cancels. It returns the square of the length of what can be gone.
func (r *relaxation) turn(first bool) float64 {
	keep := float64(climbKeep)
	if first {
		keep = 0
	}
	sum := 0.0
	for i, d := range r.slope {
		d += keep * r.way[i]
		r.way[i] = d
		if d < 0 && r.dual[i] <= 0 {
			continue
		}
		sum += d * d
	}
	return sum
}

// measure finds in which direction the bound grows.
func (r *relaxation) measure() {
	r.countRows()
	for i := range r.rows {
		r.slopeRow[i] = r.onRow[i] - r.rows[i].limit
	}
	r.measurePairs()
	r.measureShares()
	r.measureFree()
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

func (r *relaxation) measurePairs() {
	for u := range r.sellers {
		charge := 0.0
		if r.open[u] && r.state[u] == undecided {
			charge = -1
		}
		for _, k := range r.sellers[u].pairs {
			r.slopePair[k] = charge
		}
	}
	for _, i := range r.pick {
		if i < 0 {
			continue
		}
		if c := &r.column[i]; r.state[c.seller] == undecided {
			r.slopePair[c.pair]++
		}
	}
}

func (r *relaxation) measureShares() {
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
				r.slopeShare[r.column[k].shared] = d
			}
		}
	}
}

// measureFree is scaled by what is needed for free shipping, so that a step has the
// size of the others.
func (r *relaxation) measureFree() {
	for u := range r.sellers {
		s := &r.sellers[u]
		r.slopeFree[u] = 0
		if s.freeOver == 0 || r.state[u] == inPaid || r.state[u] == out {
			continue
		}
		d := -r.goods(u) / s.freeOver
		if r.open[u] {
			d++
		}
		if d > 0 && r.state[u] != inFree && r.free[u] >= s.shipping/s.freeOver {
			d = 0
		}
		r.slopeFree[u] = d
	}
}

func (r *relaxation) move(step float64) {
	a := len(r.row)
	for i, d := range r.way[:a] {
		if d == 0 {
			continue
		}
		y := max(0, r.row[i]+step*d)
		if d := y - r.row[i]; d != 0 {
			for _, t := range r.rows[i].terms {
				r.choice[t.of] += d * t.factor
			}
			r.row[i] = y
		}
	}
	z := len(r.dual) - len(r.free)
	for i := a; i < z; i++ {
		if d := r.way[i]; d != 0 {
			r.dual[i] = max(0, r.dual[i]+step*d)
		}
	}
	for u, d := range r.way[z:] {
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
