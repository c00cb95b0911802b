package basket

// shrunk is a market with only what still counts in a relaxation, and the relaxation of
// it with the same multipliers. The numbers of columns, rows and bundles differ; back
// says which multiplier of the old stands for which of the new, −1 for none.
func (r *relaxation) shrunk() (small *relaxation, back []int32) {
	h := &shrinker{from: r, to: &market{Problem: r.Problem, logic: r.logic}}
	h.columns()
	h.bundles()
	h.rows()
	small = newRelaxation(h.to)
	copy(small.state, r.state)
	for i, b := range h.bundleOf {
		small.packs[i] = [2]int32{r.packs[b][0], min(r.packs[b][1], small.packs[i][1])}
	}
	back = h.back(len(small.dual))
	for i, k := range back {
		if k >= 0 {
			small.dual[i] = r.dual[k]
		}
	}
	return small, back
}

// shrinker copies what counts from one market to another.
type shrinker struct {
	from *relaxation
	to   *market
	// Of the new: the old column, bundle, row, pair and share.
	columnOf, bundleOf, rowOf, pairOf, shareOf []int32
}

func (h *shrinker) columns() {
	r, m := h.from, h.to
	m.columnsOf, m.firstOf, m.rowsOf = make([][]int32, len(r.columnsOf)), make([][]int32, len(r.columnsOf)), make([][]term, len(r.columnsOf))
	m.sellers = make([]seller, len(r.sellers))
	for u := range m.sellers {
		m.sellers[u] = seller{shipping: r.sellers[u].shipping, freeOver: r.sellers[u].freeOver}
	}
	m.position = append(m.position, r.position...)
	m.groups = make([]group, len(r.groups))
	pairNow := make([]int32, r.pairs)
	for i := range pairNow {
		pairNow[i] = -1
	}
	for g := range r.groups {
		m.groups[g].positions = r.groups[g].positions
		classNow := make([]int32, r.groups[g].classes)
		for i := range classNow {
			classNow[i] = -1
		}
		for _, p := range r.groups[g].positions {
			h.position(p, pairNow, classNow, &m.groups[g])
		}
	}
}

func (h *shrinker) position(p int32, pairNow, classNow []int32, g *group) {
	r, m := h.from, h.to
	old := &r.position[p]
	m.position[p].first = int32(len(m.column))
	for k := old.first; k < old.end; k++ {
		if !r.counts(k) {
			continue
		}
		c := r.column[k]
		if pairNow[c.pair] < 0 {
			pairNow[c.pair] = int32(m.pairs)
			m.sellers[c.seller].pairs = append(m.sellers[c.seller].pairs, int32(m.pairs))
			h.pairOf = append(h.pairOf, c.pair)
			m.pairs++
		}
		c.pair = pairNow[c.pair]
		if c.class >= 0 {
			if classNow[c.class] < 0 {
				classNow[c.class] = g.classes
				g.classes++
			}
			c.class = classNow[c.class]
		}
		n := int32(len(m.column))
		m.column = append(m.column, c)
		h.columnOf = append(h.columnOf, k)
		m.columnsOf[c.choice] = append(m.columnsOf[c.choice], n)
		if old.piece == 0 {
			m.firstOf[c.choice] = append(m.firstOf[c.choice], n)
		}
		m.sellers[c.seller].columns = append(m.sellers[c.seller].columns, n)
	}
	m.position[p].end = int32(len(m.column))
}

// bundles copies those that still serve something. One that serves a single piece is
// no bundle any more.
func (h *shrinker) bundles() {
	r, m := h.from, h.to
	now := make([]int32, len(r.column))
	for n, k := range h.columnOf {
		now[k] = int32(n)
	}
	for i := range r.bundles {
		old := &r.bundles[i]
		b := bundle{offer: old.offer, seller: old.seller, price: old.price}
		count, last := 0, int32(-1)
		for _, content := range old.contents {
			var list []int32
			for _, k := range content.columns {
				if r.counts(k) {
					list, last = append(list, now[k]), now[k]
				}
			}
			if count += len(list); len(list) > 0 {
				b.contents = append(b.contents, bundleContent{content.pieces, list})
				b.most = max(b.most, (int32(len(list))+content.pieces-1)/content.pieces)
			}
		}
		switch {
		case count == 0 && r.packs[i][0] == 0:
		case count == 1 && r.packs[i][0] == 0:
			x := &m.column[last]
			x.bundle, x.price = -1, b.price
		default:
			h.bundle(int32(i), &b)
		}
	}
}

func (h *shrinker) bundle(old int32, b *bundle) {
	m := h.to
	for slot := range b.contents {
		for _, n := range b.contents[slot].columns {
			x := &m.column[n]
			h.shareOf = append(h.shareOf, x.shared)
			x.bundle, x.slot, x.shared = int32(len(m.bundles)), int32(slot), int32(m.shared)
			m.shared++
		}
	}
	h.bundleOf = append(h.bundleOf, old)
	m.bundles = append(m.bundles, *b)
}

// rows copies those that the choices left can still break.
func (h *shrinker) rows() {
	r, m := h.from, h.to
	places := map[int]bool{}
	var plus, minus []int32
	for i := range r.rows {
		plus, minus = plus[:0], minus[:0]
		clear(places)
		for _, t := range r.rows[i].terms {
			switch {
			case len(m.columnsOf[t.of]) == 0:
			case t.factor > 0:
				plus = append(plus, t.of)
				places[m.logic.list[t.of].Place] = true
			default:
				minus = append(minus, t.of)
			}
		}
		if len(plus)+len(minus) > 0 && float64(len(places)) > r.rows[i].limit {
			m.addRow(plus, minus, r.rows[i].limit)
			h.rowOf = append(h.rowOf, int32(i))
		}
	}
}

// back lists for every multiplier of the new the one of the old.
func (h *shrinker) back(n int) []int32 {
	r := h.from
	out := make([]int32, 0, n)
	out = append(out, h.rowOf...)
	at := int32(len(r.rows))
	for _, k := range h.pairOf {
		out = append(out, at+k)
	}
	at += int32(r.pairs)
	for _, k := range h.shareOf {
		out = append(out, at+k)
	}
	at += int32(r.shared)
	for u := range r.sellers {
		out = append(out, at+int32(u))
	}
	return out
}
