package basket

import (
	"math"
	"slices"
)

// search is a branch and bound over what the relaxation gets wrong: a rule that its
// picks break, shipping that it does not pay in full, a pack that it shares. Where it
// gets nothing wrong its picks are the best of the branch.
type search struct {
	*relaxation
	best      Result
	bestPick  pick
	has       bool    // there is a best
	mostOrder int     // orders allowed, 0 for any
	most      float64 // no larger total is looked for
	proven    float64 // no total is smaller

	unit     int64 // every total is a multiple of it
	ties     int   // how many nodes may still be spent on equal totals
	nodes    int
	halted   bool
	lost     float64  // the least bound of what was left unsearched
	guess    *choices // a logic of its own to find complete solutions with
	early    int      // nodes in which solutions are still guessed at
	polished int      // solutions that were bettered step by step

	rootDual []float64 // the multipliers at the root

	gone   []int32 // positions in which a column was removed, for undoing
	undo   []func()
	looked int // of the logic's trail

	// Room for what betters a solution.
	was, kits []int32
	wasUsed   []int32
	moved     [][2]int32
}

// tieNodes is how many nodes are spent on finding, among equal totals, the soonest,
// then the fewest orders, then the one written first.
const tieNodes = 2000

const tolerance = 1e-4 // of a minor unit; totals are whole

func newSearch(r *relaxation) *search {
	s := &search{relaxation: r, ties: tieNodes, lost: infinite, most: infinite}
	for _, o := range r.Offers {
		s.unit = divisor(s.unit, o.Price)
	}
	for _, x := range r.Suppliers {
		s.unit = divisor(s.unit, x.Shipping)
	}
	s.unit = max(1, s.unit)
	return s
}

func divisor(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// limit is the largest total that is still of interest.
func (s *search) limit() float64 {
	switch {
	case !s.has:
		return s.most
	case s.ties > 0:
		return min(s.most, float64(s.best.Total))
	}
	return min(s.most, float64(s.best.Total-s.unit))
}

// tied reports whether there can be nothing but equal totals below.
func (s *search) tied() bool {
	return s.has && s.lower > float64(s.best.Total-s.unit)+tolerance
}

func (s *search) hopeless(lower float64) bool { return lower > s.limit()+tolerance }

// offer takes a set of columns as the best if it is.
func (s *search) offer(x []int32) {
	if s.has && !s.comparable(x) {
		return
	}
	offers := s.offersOf(x)
	r := s.bill(offers)
	if s.mostOrder > 0 && r.Orders > s.mostOrder {
		return
	}
	if !s.has || s.better(&r, &s.best, offers, s.bestPick) {
		if !s.has || r.Total < s.best.Total {
			s.ties = tieNodes
		}
		s.best, s.bestPick, s.has = r, offers, true
	}
}

// comparable reports whether a set of columns is as good as the best at least, whatever
// the written order says.
func (s *search) comparable(x []int32) bool {
	r := Result{Total: int64(s.tally.total(x) + 0.5)}
	for _, n := range s.tally.used {
		if n > 0 {
			r.Orders++
		}
	}
	for _, k := range x {
		r.Lead = max(r.Lead, s.column[k].lead)
	}
	return s.compare(&r, &s.best) <= 0
}

func (s *search) offersOf(x []int32) pick {
	out := make(pick, len(s.Places))
	for p, i := range x {
		place := s.position[p].place
		out[place] = append(out[place], int(s.column[i].offer))
	}
	for _, offers := range out {
		slices.Sort(offers)
	}
	return out
}

// remove takes a column out; it reports false where nothing is left of its position.
func (s *search) remove(k int32) bool {
	p := s.column[k].position
	first, n := s.position[p].first, s.count[p]
	at := s.where[k]
	if at-first >= n {
		return n > 0
	}
	last := first + n - 1
	other := s.alive[last]
	s.alive[at], s.alive[last] = other, k
	s.where[other], s.where[k] = at, last
	s.count[p]--
	s.gone = append(s.gone, p)
	return n > 1
}

// mark is where everything stood when a node began.
type mark struct{ level, gone, undo, looked int }

func (s *search) mark() mark {
	m := mark{len(s.logic.limits), len(s.gone), len(s.undo), s.looked}
	s.logic.limits = append(s.logic.limits, len(s.logic.trail))
	return m
}

func (s *search) return_(m mark) {
	for len(s.gone) > m.gone {
		s.count[s.gone[len(s.gone)-1]]++
		s.gone = s.gone[:len(s.gone)-1]
	}
	for len(s.undo) > m.undo {
		s.undo[len(s.undo)-1]()
		s.undo = s.undo[:len(s.undo)-1]
	}
	s.logic.back(m.level)
	s.looked = m.looked
}

func (s *search) decide(u int, state sellerState) {
	was := s.state[u]
	s.state[u] = state
	s.undo = append(s.undo, func() { s.state[u] = was })
}

func (s *search) decidePacks(b int, low, high int32) {
	was := s.packs[b]
	s.packs[b] = [2]int32{low, high}
	s.undo = append(s.undo, func() { s.packs[b] = was })
}

// conclude draws what follows from what was decided, for rules, columns, sellers and
// packs, until nothing more does; it reports false for a contradiction.
func (s *search) conclude() bool {
	for {
		if s.logic.follow() != nil {
			return false
		}
		if !s.hear() {
			return false
		}
		changed, ok := s.tell()
		if !ok {
			return false
		}
		if !changed && s.looked == len(s.logic.trail) {
			return true
		}
	}
}

// hear removes the columns of choices that the logic has ruled out.
func (s *search) hear() bool {
	for ; s.looked < len(s.logic.trail); s.looked++ {
		l := s.logic.trail[s.looked]
		v := l.variable()
		if int(v) >= len(s.logic.list) || l.value() > 0 {
			continue
		}
		for _, k := range s.columnsOf[v] {
			if !s.remove(k) {
				return false
			}
		}
	}
	return true
}

// tell lets sellers, packs and the logic know what the columns that are left mean.
func (s *search) tell() (changed, ok bool) {
	orders := 0
	for u := range s.sellers {
		if st := s.state[u]; st != undecided && st != out {
			orders++
		}
	}
	for u := range s.sellers {
		if s.state[u] == undecided && s.mostOrder > 0 && orders == s.mostOrder {
			s.decide(u, out)
			changed = true
		}
		if s.state[u] == out {
			for _, k := range s.sellers[u].columns {
				if s.counts(k) {
					changed = true
					if !s.remove(k) {
						return true, false
					}
				}
			}
		}
	}
	if s.mostOrder > 0 && orders > s.mostOrder {
		return true, false
	}
	for b := range s.bundles {
		if s.packs[b][1] > 0 {
			continue
		}
		for _, c := range s.bundles[b].contents {
			for _, k := range c.columns {
				if s.counts(k) {
					changed = true
					if !s.remove(k) {
						return true, false
					}
				}
			}
		}
	}
	for p := range s.position {
		more, fine := s.tellPosition(p)
		if !fine {
			return true, false
		}
		changed = changed || more
	}
	return changed, true
}

// tellPosition looks at a position in which something may have changed: who is the
// only seller left, and which choices have no column any more.
func (s *search) tellPosition(p int) (changed, ok bool) {
	n := s.count[p]
	first := s.position[p].first
	if n == 0 {
		return true, false
	}
	only := s.column[s.alive[first]].seller
	for _, k := range s.alive[first : first+n] {
		if s.column[k].seller != only {
			only = -1
			break
		}
	}
	if only >= 0 && s.state[only] == undecided {
		s.decide(int(only), in)
		changed = true
	}
	for _, v := range s.logic.at[s.position[p].place] {
		if s.logic.values[v] < 0 || s.hasColumn(v, int32(p)) {
			continue
		}
		if s.logic.values[v] > 0 {
			return true, false
		}
		s.logic.set(no(v), decided)
		changed = true
	}
	return changed, true
}

func (s *search) hasColumn(v, p int32) bool {
	for _, k := range s.columnsOf[v] {
		if s.column[k].position == p && s.counts(k) {
			return true
		}
	}
	return false
}

// fix removes what could only make totals that are of no interest. It reports whether
// anything changed.
func (s *search) fix() (changed, ok bool) {
	spare := s.limit() + tolerance - s.lower
	if spare == infinite {
		return false, true
	}
	if spare < 0 {
		return false, false
	}
	for u := range s.sellers {
		if s.state[u] != undecided {
			continue
		}
		charge, _ := s.fixed(u)
		for _, k := range s.sellers[u].pairs {
			charge -= s.pair[k]
		}
		if charge > spare {
			s.decide(u, out)
			changed = true
		} else if -charge > spare {
			s.decide(u, in)
			changed = true
		}
	}
	for b := range s.bundles {
		if s.packs[b] == [2]int32{0, 1} && s.worth[b] > spare {
			s.decidePacks(b, 0, 0)
			changed = true
		}
	}
	for g := range s.groups {
		more, fine := s.fixGroup(g, spare)
		if !fine {
			return true, false
		}
		changed = changed || more
	}
	return changed, true
}

func (s *search) fixGroup(g int, spare float64) (changed, ok bool) {
	group := &s.groups[g]
	n := group.classes
	cost := s.groupCost[g]
	least := cost[s.groupPick[g]]
	for _, p := range group.positions {
		first := s.position[p].first
		beside := infinite // what the others cost at least
		for k := range cost {
			beside = min(beside, cost[k]-s.leastOf[p][k])
		}
		for i := s.count[p] - 1; i >= 0; i-- {
			k := s.alive[first+i]
			with := beside
			if c := s.column[k].class; c >= 0 && n > 0 {
				with = cost[c] - s.leastOf[p][c]
			}
			if !(s.pickCost[k]+with-least > spare) { // also keeps what is not a number
				continue
			}
			changed = true
			if !s.remove(k) {
				return true, false
			}
		}
	}
	return changed, true
}

// explore searches everything below what is decided.
func (s *search) explore() {
	if s.enter(nodeSteps, 1) {
		s.split()
	}
}

// enter draws the conclusions of what was decided and finds the bound; it reports false
// where nothing of interest is left. Multipliers are moved for so many steps and at
// least so many rounds.
func (s *search) enter(steps, rounds int) bool {
	if s.nodes++; s.nodes > mostNodes || s.Stop != nil && s.nodes%16 == 0 && s.Stop() {
		s.halted = true
	}
	if !s.conclude() {
		return false
	}
	root := rounds > 1
	if s.tied() {
		steps = min(steps, tieSteps)
	}
	for {
		s.climb(steps, s.limit()+2*tolerance)
		if root {
			s.rootDual = append(s.rootDual[:0], s.dual...)
		}
		rounds--
		if s.hopeless(s.lower) || s.lower == infinite {
			return false
		}
		if s.halted {
			s.lost = min(s.lost, s.lower)
			return false
		}
		if s.early > 0 && s.guess != nil && (!s.has || float64(s.best.Total) > s.most) {
			s.early--
			s.guessAgain()
			if s.hopeless(s.lower) {
				return false
			}
		}
		before := len(s.gone)
		changed, ok := s.fix()
		if !ok || changed && !s.conclude() {
			return false
		}
		if rounds <= 0 && len(s.gone)-before <= len(s.column)/50 {
			if changed {
				s.bound()
			}
			break
		}
		if rounds <= 0 {
			steps = steps/2 + 1
		}
	}
	if s.lower == infinite || s.hopeless(s.lower) {
		return false
	}
	if s.tied() {
		if s.ties--; s.ties <= 0 {
			return false
		}
	}
	return true
}

// split searches a node that was entered from one way to go on to the next.
func (s *search) split() {
	b, ok := s.wrong()
	if !ok {
		return
	}
	kept := s.copy()
	for _, child := range b {
		m := s.mark()
		if child(s) {
			s.use(&kept)
			s.explore()
		}
		s.return_(m)
		if s.hopeless(kept.lower) {
			return
		}
	}
}

// mostPolished is how many solutions that come up are bettered step by step.
const mostPolished = 400

// mostNodes is after how many nodes the best so far has to do.
const mostNodes = 100_000

// nodeSteps is how many steps multipliers are moved in a node, tieSteps in one that can
// hold nothing but ties; at the root it is rootSteps, so many rounds of them. Found by trying on the families of the tests.
const (
	nodeSteps             = 35
	rootSteps, rootRounds = 100, 3
	tieSteps              = 3
)

// branch is one way to go on; it reports whether it can be.
type branch func(*search) bool

func supposing(l literal) branch {
	return func(s *search) bool {
		if s.logic.of(l) < 0 {
			return false
		}
		if s.logic.of(l) == 0 {
			s.logic.set(l, decided)
		}
		return true
	}
}

func deciding(u int, state sellerState) branch {
	return func(s *search) bool { s.decide(u, state); return true }
}

func packing(b int, low, high int32) branch {
	return func(s *search) bool {
		if low > high {
			return false
		}
		s.decidePacks(b, low, high)
		return true
	}
}

// wrong finds what the picks get most wrong and how to branch on it. Where they get
// nothing wrong they are taken for the best, and there is nothing to branch on.
func (s *search) wrong() ([]branch, bool) {
	s.countRows()
	s.tally.total(s.pick)
	most, ways := tolerance, []branch(nil)
	see := func(by float64, b ...branch) {
		if by > most && len(b) > 0 {
			most, ways = by, b
		}
	}
	s.wrongSellers(func(by float64, u int, likely, other sellerState) { see(by, deciding(u, likely), deciding(u, other)) })
	s.wrongFree(see)
	s.wrongBundles(see)
	s.wrongRows(see)
	bad := s.tryPick()
	if s.hopeless(s.lower) {
		return nil, false
	}
	switch {
	case ways != nil:
		return ways, true
	case bad >= 0:
		return []branch{supposing(yes(bad)), supposing(no(bad))}, true
	}
	return s.untie()
}

// tryPick takes the picks for a solution if they keep to all rules, else it returns the
// first that does not go with those before it.
func (s *search) tryPick() int32 {
	bad := s.contradiction()
	if bad >= 0 {
		return bad
	}
	s.offer(s.pick)
	if !s.tied() && s.polished < mostPolished {
		s.polished++
		x := slices.Clone(s.pick)
		s.polish(x)
		s.offer(x)
	}
	return -1
}

// untie branches on any position that is still open, where equal totals are looked at.
func (s *search) untie() ([]branch, bool) {
	for p := range s.position {
		if s.count[p] < 2 {
			continue
		}
		return []branch{only(s.pick[p]), leaving(s.pick[p])}, true
	}
	s.offer(s.pick)
	return nil, false
}

// wrongSellers tells what the picks get wrong of sellers: by how much, which, and the
// two ways to decide it, the likelier first.
func (s *search) wrongSellers(see func(by float64, u int, likely, other sellerState)) {
	orders := 0
	for u := range s.sellers {
		if s.tally.used[u] > 0 || s.state[u] >= in {
			orders++
		}
	}
	for u := range s.sellers {
		if s.mostOrder > 0 && orders > s.mostOrder && s.tally.used[u] > 0 && s.state[u] == undecided {
			see(infinite, u, in, out)
		}
		f := &s.sellers[u]
		goods, used := s.tally.goods[u], s.tally.used[u] > 0
		ship := 0.0
		if used && (f.freeOver == 0 || goods < f.freeOver) {
			ship = f.shipping
		}
		switch s.state[u] {
		case undecided:
			charge, _ := s.fixed(u)
			paid := 0.0
			for _, k := range f.pairs {
				charge -= s.pair[k]
			}
			if s.open[u] {
				paid = charge
			}
			for _, i := range s.pick {
				if s.column[i].seller == int32(u) {
					paid += s.pair[s.column[i].pair]
				}
			}
			if f.freeOver > 0 {
				paid -= s.free[u] * goods
			}
			if ship-paid > tolerance {
				see(2*(ship-paid), u, in, out)
			} else if paid-ship > tolerance || s.open[u] != used {
				see(math.Abs(paid-ship)+2*tolerance, u, out, in)
			}
		case in:
			if f.freeOver > 0 {
				if under := ship - s.free[u]*(f.freeOver-goods); math.Abs(under) > tolerance {
					see(2*math.Abs(under), u, inFree, inPaid)
				}
			}
		}
	}
}

// wrongFree branches where goods do not reach free shipping as they must, or are more
// than what that is paid for.
func (s *search) wrongFree(see func(float64, ...branch)) {
	for u := range s.sellers {
		if s.state[u] != inFree {
			continue
		}
		f := &s.sellers[u]
		if short := f.freeOver - s.tally.goods[u]; short > 0 {
			see(f.shipping, s.byDearest(u)...)
		} else if s.free[u]*-short > tolerance {
			see(s.free[u]*-short, s.byDearest(u)...)
		}
	}
}

func (s *search) wrongBundles(see func(float64, ...branch)) {
	for i := range s.bundles {
		b := &s.bundles[i]
		low, high := s.packs[i][0], s.packs[i][1]
		need := s.tally.packs[i]
		if high == 0 {
			continue
		}
		price := b.price * s.rebate(b.seller)
		charged := float64(s.take[i]) * price
		for _, p := range s.bundleColumns(b) {
			if s.pick[s.column[p].position] == p {
				charged += s.share[s.column[p].shared]
			}
			if s.inTake[p] {
				charged -= s.share[s.column[p].shared]
			}
		}
		under := float64(need)*price - charged
		if math.Abs(under) <= tolerance && need <= high && need >= low {
			continue
		}
		if need > high || low == high {
			see(b.price, s.splitBundle(b)...)
			continue
		}
		cut := min(max(min(need, s.take[i]), low), high-1)
		more, fewer := packing(i, cut+1, high), packing(i, low, cut)
		if s.take[i] > cut {
			see(2*math.Abs(under), more, fewer)
		} else {
			see(2*math.Abs(under), fewer, more)
		}
	}
}

func (s *search) bundleColumns(b *bundle) []int32 {
	s.sorted = s.sorted[:0]
	for _, c := range b.contents {
		s.sorted = append(s.sorted, c.columns...)
	}
	return s.sorted
}

// splitBundle branches on the column of a bundle about which picks and packs differ
// most.
func (s *search) splitBundle(b *bundle) []branch {
	best, most := int32(-1), -1.0
	for _, k := range s.bundleColumns(b) {
		p := s.column[k].position
		if s.count[p] < 2 || !s.counts(k) {
			continue
		}
		by := 0.0
		if picked := s.pick[p] == k; picked != s.inTake[k] {
			by = 1 + s.share[s.column[k].shared]
		} else if picked {
			by = 0.5
		}
		if by > most {
			best, most = k, by
		}
	}
	if best < 0 {
		return nil
	}
	if s.pick[s.column[best].position] == best {
		return []branch{leaving(best), only(best)}
	}
	return []branch{only(best), leaving(best)}
}

// only leaves nothing but one column in its position, leaving all but it.
func only(k int32) branch {
	return func(s *search) bool {
		p := s.column[k].position
		first := s.position[p].first
		for i := s.count[p] - 1; i >= 0; i-- {
			if o := s.alive[first+i]; o != k {
				s.remove(o)
			}
		}
		return true
	}
}

func leaving(k int32) branch {
	return func(s *search) bool { return s.remove(k) }
}

func (s *search) wrongRows(see func(float64, ...branch)) {
	for i := range s.rows {
		r := &s.rows[i]
		act := -r.limit
		if len(s.picked) > 0 {
			act += s.rowNow(int32(i))
		}
		switch {
		case act > 0.5:
			s.wrongRow(r, see)
		case act < -0.5 && s.row[i]*-act > tolerance:
			for _, t := range r.terms {
				if s.logic.values[t.of] == 0 {
					v := t.of
					first, second := supposing(no(v)), supposing(yes(v))
					if s.isPicked[v] {
						first, second = second, first
					}
					see(s.row[i]*-act, first, second)
					break
				}
			}
		}
	}
}

// rowNow is what a row adds up to for the picks.
func (s *search) rowNow(i int32) float64 {
	sum := 0.0
	for _, t := range s.rows[i].terms {
		if s.isPicked[t.of] {
			sum += t.factor
		}
	}
	return sum
}

// wrongRow branches on the picked choice of a broken row whose two ways cost most.
func (s *search) wrongRow(r *row, see func(float64, ...branch)) {
	var some [2]int32
	var regret [2]float64
	n := 0
	for _, t := range r.terms {
		if t.factor > 0 && s.isPicked[t.of] && s.logic.values[t.of] == 0 && n < 2 {
			some[n], regret[n] = t.of, s.regret(t.of)
			n++
		}
	}
	switch n {
	case 0:
		// What needs it is settled: branch on what could bring it.
		for _, t := range r.terms {
			if t.factor < 0 && s.logic.values[t.of] == 0 {
				see(2*tolerance, supposing(yes(t.of)), supposing(no(t.of)))
				return
			}
		}
	case 1:
		see(regret[0]+2*tolerance, supposing(no(some[0])), supposing(yes(some[0])))
	default:
		k := 0
		if regret[1] < regret[0] {
			k = 1
		}
		see(2*regret[k]+2*tolerance, supposing(no(some[k])), supposing(yes(some[k])))
	}
}

// regret is about how much the bound grows without a picked choice.
func (s *search) regret(v int32) float64 {
	for _, k := range s.firstOf[v] {
		p := s.column[k].position
		if s.pick[p] != k {
			continue
		}
		next := infinite
		first := s.position[p].first
		for _, o := range s.alive[first : first+s.count[p]] {
			if c := &s.column[o]; c.choice != v && (c.class < 0 || c.class == s.column[k].class || s.column[k].class < 0) {
				next = min(next, s.pickCost[o]-s.pickCost[k])
			}
		}
		g := s.position[p].group
		for c := range s.groupCost[g] {
			if int32(c) != s.groupPick[g] {
				next = min(next, s.groupCost[g][c]-s.groupCost[g][s.groupPick[g]])
			}
		}
		return min(next, 1e9)
	}
	return 0
}

// contradiction returns the first picked choice that does not go with those before
// it, or −1.
func (s *search) contradiction() int32 {
	level := len(s.logic.limits)
	s.logic.limits = append(s.logic.limits, len(s.logic.trail))
	defer s.logic.back(level)
	for p, k := range s.pick {
		if s.position[p].piece > 0 {
			continue
		}
		v := s.column[k].choice
		switch s.logic.values[v] {
		case -1:
			return v
		case 0:
			s.logic.set(yes(v), decided)
			if s.logic.follow() != nil {
				return v
			}
		}
	}
	return -1
}
