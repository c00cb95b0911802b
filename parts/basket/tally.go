package basket

// tally adds up a set of columns, and keeps the sum while single columns come and go.
// Amounts are whole and small enough to be exact, so that what comes and goes leaves
// nothing behind.
type tally struct {
	market *market
	sum    float64
	goods  []float64 // by seller
	used   []int32   // columns by seller
	packs  []int32   // by bundle
	taken  []int32   // by content of a bundle; base is where those of a bundle begin
	base   []int32
}

func (m *market) newTally() *tally {
	t := &tally{market: m, goods: make([]float64, len(m.sellers)), used: make([]int32, len(m.sellers)), packs: make([]int32, len(m.bundles)), base: make([]int32, len(m.bundles))}
	n := 0
	for i := range m.bundles {
		t.base[i] = int32(n)
		n += len(m.bundles[i].contents)
	}
	t.taken = make([]int32, n)
	return t
}

// total adds up columns, one for each position, those below zero left out.
func (t *tally) total(x []int32) float64 {
	t.sum = 0
	clear(t.goods)
	clear(t.used)
	clear(t.packs)
	clear(t.taken)
	for _, k := range x {
		if k >= 0 {
			t.count(&t.market.column[k])
		}
	}
	for u := range t.goods {
		t.sum += t.bill(int32(u))
	}
	return t.sum
}

// bill is what an order at a seller comes to.
func (t *tally) bill(u int32) float64 {
	if t.used[u] == 0 {
		return 0
	}
	f := &t.market.sellers[u]
	if f.freeOver > 0 && t.goods[u] >= f.freeOver {
		return t.goods[u]
	}
	return t.goods[u] + f.shipping
}

func (t *tally) count(c *column) {
	t.used[c.seller]++
	t.goods[c.seller] += c.price
	if c.bundle < 0 {
		return
	}
	b := &t.market.bundles[c.bundle]
	k, pieces := t.base[c.bundle]+c.slot, b.contents[c.slot].pieces
	if t.taken[k]++; t.taken[k] > t.packs[c.bundle]*pieces {
		t.packs[c.bundle]++
		t.goods[c.seller] += b.price
	}
}

// take adds a column.
func (t *tally) take(k int32) {
	c := &t.market.column[k]
	t.sum -= t.bill(c.seller)
	t.count(c)
	t.sum += t.bill(c.seller)
}

// drop takes a column away.
func (t *tally) drop(k int32) {
	c := &t.market.column[k]
	t.sum -= t.bill(c.seller)
	t.used[c.seller]--
	t.goods[c.seller] -= c.price
	if c.bundle >= 0 {
		b := &t.market.bundles[c.bundle]
		first := t.base[c.bundle]
		t.taken[first+c.slot]--
		packs := int32(0)
		for i := range b.contents {
			pieces := b.contents[i].pieces
			packs = max(packs, (t.taken[first+int32(i)]+pieces-1)/pieces)
		}
		t.goods[c.seller] -= float64(t.packs[c.bundle]-packs) * b.price
		t.packs[c.bundle] = packs
	}
	t.sum += t.bill(c.seller)
}
