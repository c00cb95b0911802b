package basket

import (
	"math"
	"slices"
)

// market is a problem made ready for bounds: every piece of every open place is a
// position, everything that could be bought for it a column. Rules that a bound can
// use stand in rows; whether a set of columns keeps to all rules is for the logic.
type market struct {
	*Problem
	logic *choices

	position []position
	column   []column
	groups   []group
	bundles  []bundle
	rows     []row
	sellers  []seller
	// columnsOf are the columns of a choice, firstOf those of its first piece, rowsOf
	// the rows it stands in.
	columnsOf, firstOf [][]int32
	rowsOf             [][]term
	pairs              int // pairs of position and seller
	shared             int // columns in bundles
}

// position is one piece of one place. Its columns stand together.
type position struct {
	place, piece int
	group        int
	first, end   int32
}

// column is one piece of one offer in one position.
type column struct {
	position, choice, offer, seller, pair int32
	// class is that of its group, −1 goes with every class.
	class int32
	// bundle is −1 where the price of the piece stands for itself; shared numbers the
	// columns of bundles.
	bundle, slot, shared int32
	price                float64
	lead                 int
}

// group is positions that must agree in a class.
type group struct {
	positions []int32
	classes   int32
}

// bundle is an offer whose pieces share a price: a kit, or a pack of several.
type bundle struct {
	offer, seller int32
	price         float64
	contents      []bundleContent
	most          int32 // packs that could be of use
}

// bundleContent is up to so many pieces a pack for the columns of one content.
type bundleContent struct {
	pieces  int32
	columns []int32
}

// row is a sum of choices that may be at most limit.
type row struct {
	terms []term
	limit float64
}

// term is a choice in a row, or a row of a choice, with its factor 1 or −1.
type term struct {
	of     int32
	factor float64
}

// seller is a supplier as bounds see it.
type seller struct {
	shipping, freeOver float64
	columns            []int32
	pairs              []int32
}

// newMarket makes what the logic leaves open ready. The logic must be at level 0 with
// all conclusions drawn.
func newMarket(c *choices, within, orders int) *market {
	m := &market{Problem: c.problem, logic: c}
	d := newDominance(c, orders > 0)
	m.columnsOf, m.firstOf, m.rowsOf = make([][]int32, len(c.list)), make([][]int32, len(c.list)), make([][]term, len(c.list))
	m.sellers = make([]seller, len(m.Suppliers))
	for i, s := range m.Suppliers {
		m.sellers[i] = seller{shipping: float64(s.Shipping), freeOver: float64(s.FreeOver)}
		if s.FreeOver == 0 || s.Shipping == 0 {
			m.sellers[i].freeOver = 0
		}
	}
	offers := make([][]int32, len(m.Parts))
	for i, o := range m.Offers {
		if m.Problem.open(&o, within) {
			offers[o.Part] = append(offers[o.Part], int32(i))
		}
	}
	group, class := m.makeGroups()
	for place := range m.Places {
		if c.held[place] >= 0 {
			continue
		}
		for piece := range m.pieces(place) {
			m.addPosition(place, piece, group[place], d.worth(place, offers), class)
			m.groups[group[place]].positions = append(m.groups[group[place]].positions, int32(len(m.position)-1))
		}
	}
	m.forgetNeedless()
	m.makeBundles()
	m.makeRows()
	return m
}

// forgetNeedless tells the logic of choices that have nothing worth buying left.
func (m *market) forgetNeedless() {
	c := m.logic
	for v, x := range c.list {
		if len(m.columnsOf[v]) == 0 && c.held[x.Place] < 0 && c.values[v] == 0 {
			c.set(no(int32(v)), decided)
		}
	}
	c.follow()
}

// makeGroups gives every place its group, and tells the class of a choice there.
func (m *market) makeGroups() (groupOf []int, class []int32) {
	c := m.logic
	groupOf, class = make([]int, len(m.Places)), make([]int32, len(c.list))
	for i := range groupOf {
		groupOf[i] = -1
	}
	for i := range class {
		class[i] = -1
	}
	for place := range m.Places {
		if m.pieces(place) == 1 || c.held[place] >= 0 {
			continue
		}
		groupOf[place] = len(m.groups)
		for k, v := range c.at[place] {
			class[v] = int32(k)
		}
		m.groups = append(m.groups, group{classes: int32(len(c.at[place]))})
	}
	for i := range m.Agreements {
		number := map[int]int32{}
		mine := map[int]bool{}
		for _, s := range m.Agreements[i].Sized {
			for _, v := range c.meant([]Choice{s.Choice}) {
				place := c.list[v].Place
				if c.held[place] >= 0 || groupOf[place] >= 0 && !mine[place] || c.values[v] < 0 {
					continue
				}
				if !mine[place] {
					mine[place], groupOf[place] = true, len(m.groups)
				}
				k, ok := number[s.Class]
				if !ok {
					k = int32(len(number))
					number[s.Class] = k
				}
				class[v] = k
			}
		}
		if len(mine) > 0 {
			m.groups = append(m.groups, group{classes: int32(len(number))})
		}
	}
	for place := range m.Places {
		if groupOf[place] < 0 && c.held[place] < 0 {
			groupOf[place] = len(m.groups)
			m.groups = append(m.groups, group{})
		}
	}
	return groupOf, class
}

// addPosition takes a position with what is worth buying for it.
func (m *market) addPosition(place, piece, group int, worth []candidate, class []int32) {
	p := position{place: place, piece: piece, group: group, first: int32(len(m.column))}
	here := int32(len(m.position))
	pair := map[int32]int32{}
	for _, x := range worth {
		o := &m.Offers[x.offer]
		s := int32(o.Supplier)
		k, ok := pair[s]
		if !ok {
			k = int32(m.pairs)
			m.pairs++
			pair[s] = k
			m.sellers[s].pairs = append(m.sellers[s].pairs, k)
		}
		n := int32(len(m.column))
		m.column = append(m.column, column{position: here, choice: x.choice, offer: x.offer, seller: s, pair: k, class: class[x.choice], bundle: -1,
			price: float64(o.Price), lead: o.Lead})
		m.columnsOf[x.choice] = append(m.columnsOf[x.choice], n)
		if piece == 0 {
			m.firstOf[x.choice] = append(m.firstOf[x.choice], n)
		}
		m.sellers[s].columns = append(m.sellers[s].columns, n)
	}
	p.end = int32(len(m.column))
	m.position = append(m.position, p)
}

// makeBundles finds the offers whose pieces share a price.
func (m *market) makeBundles() {
	byOffer := make([][]int32, len(m.Offers))
	for i := range m.column {
		o := m.column[i].offer
		byOffer[o] = append(byOffer[o], int32(i))
	}
	for o, columns := range byOffer {
		if len(columns) == 0 {
			continue
		}
		offer := &m.Offers[o]
		contents := map[int]*bundleContent{}
		var order []int
		for _, i := range columns {
			k := m.contentOf(offer.Part, m.position[m.column[i].position].place)
			if contents[k] == nil {
				contents[k] = &bundleContent{pieces: int32(min(mostPieces, max(1, m.Parts[offer.Part].Contents[k].Count)*max(1, offer.Pack)))}
				order = append(order, k)
			}
			contents[k].columns = append(contents[k].columns, i)
		}
		if len(columns) == 1 || len(order) == 1 && contents[order[0]].pieces == 1 {
			continue // each piece costs its price
		}
		b := bundle{offer: int32(o), seller: int32(offer.Supplier), price: float64(offer.Price)}
		for _, k := range order {
			content := contents[k]
			for _, i := range content.columns {
				x := &m.column[i]
				x.bundle, x.slot, x.shared, x.price = int32(len(m.bundles)), int32(len(b.contents)), int32(m.shared), 0
				m.shared++
			}
			b.contents = append(b.contents, *content)
			b.most = max(b.most, (int32(len(content.columns))+content.pieces-1)/content.pieces)
		}
		m.bundles = append(m.bundles, b)
	}
}

// mostRows is how many rows one rule may make; beyond that it is left to the logic.
const mostRows = 400

func (m *market) makeRows() {
	for i := range m.Rules {
		r := &m.Rules[i]
		of := m.open(m.logic.meant(r.Of))
		switch r.Kind {
		case Insists:
			if !m.anyTrue(r.Of) {
				m.addRow(nil, of, -1)
			}
		case Needs:
			if !m.anyTrue(r.With) {
				m.needRows(r, of)
			}
		case Excludes:
			m.excludeRows(of, m.open(m.logic.meant(r.With)))
		}
	}
	for i := range m.Agreements {
		m.agreementRows(&m.Agreements[i])
	}
}

// open leaves the choices that are neither settled nor out of the question.
func (m *market) open(list []int32) []int32 {
	return slices.DeleteFunc(list, func(v int32) bool { return m.logic.values[v] < 0 || len(m.columnsOf[v]) == 0 })
}

func (m *market) anyTrue(list []Choice) bool {
	return slices.ContainsFunc(m.logic.meant(list), m.heldChoice)
}

func (m *market) heldChoice(v int32) bool { return m.logic.held[m.logic.list[v].Place] == v }

// byPlace sorts choices into lists of one place each.
func (m *market) byPlace(list []int32) [][]int32 {
	var out [][]int32
	where := map[int]int{}
	for _, v := range list {
		place := m.logic.list[v].Place
		k, ok := where[place]
		if !ok {
			k = len(out)
			where[place] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], v)
	}
	return out
}

func (m *market) needRows(r *Rule, of []int32) {
	with := m.open(m.logic.meant(r.With))
	if m.anyTrue(r.Of) {
		m.addRow(nil, with, -1)
		return
	}
	of = slices.DeleteFunc(slices.Clone(of), func(v int32) bool { return slices.Contains(with, v) })
	for _, list := range m.byPlace(of) {
		m.addRow(list, with, 0)
	}
}

func (m *market) excludeRows(of, with []int32) {
	parts := map[int]bool{}
	for _, v := range of {
		parts[m.logic.list[v].Part] = true
	}
	if slices.ContainsFunc(with, func(v int32) bool { return parts[m.logic.list[v].Part] }) {
		if len(of)*len(with) > mostRows {
			return
		}
		for _, a := range of {
			for _, b := range with {
				if x, y := m.logic.list[a], m.logic.list[b]; x.Part != y.Part && x.Place != y.Place {
					m.addRow([]int32{a, b}, nil, 1)
				}
			}
		}
		return
	}
	x, y := m.byPlace(of), m.byPlace(with)
	if len(x)*len(y) > mostRows {
		return
	}
	for _, a := range x {
		for _, b := range y {
			if m.logic.list[a[0]].Place != m.logic.list[b[0]].Place {
				m.addRow(slices.Concat(a, b), nil, 1)
			}
		}
	}
}

// agreementRows ties neighbours of an agreement that no group ties already.
func (m *market) agreementRows(a *Agreement) {
	classes := map[int][]int32{}
	var all []int32
	var names []int
	for _, s := range a.Sized {
		list := m.open(m.logic.meant([]Choice{s.Choice}))
		if classes[s.Class] == nil {
			names = append(names, s.Class)
		}
		classes[s.Class] = append(classes[s.Class], list...)
		all = append(all, list...)
	}
	for k, list := range classes {
		slices.Sort(list)
		classes[k] = slices.Compact(list)
	}
	slices.Sort(all)
	all = slices.Compact(all)
	places := m.byPlace(all)
	for i := 1; i < len(places); i++ {
		x, y := m.logic.list[places[i-1][0]].Place, m.logic.list[places[i][0]].Place
		if m.sameGroup(x, y) {
			continue
		}
		for _, k := range names {
			m.tie(classes[k], all, x, y)
			m.tie(classes[k], all, y, x)
		}
	}
}

// tie says that a choice of a class at one place goes with one of that class, or one
// without any, at the other.
func (m *market) tie(class, all []int32, x, y int) {
	var from, to []int32
	for _, v := range class {
		switch m.logic.list[v].Place {
		case x:
			from = append(from, v)
		case y:
			to = append(to, v)
		}
	}
	for _, v := range m.logic.at[y] {
		if m.logic.values[v] >= 0 && !slices.Contains(all, v) {
			to = append(to, v)
		}
	}
	if len(from) > 0 {
		m.addRow(from, to, 0)
	}
}

func (m *market) sameGroup(x, y int) bool {
	group := [2]int{-1, -2}
	for _, p := range m.position {
		if p.place == x {
			group[0] = p.group
		}
		if p.place == y {
			group[1] = p.group
		}
	}
	return group[0] == group[1]
}

// addRow takes a row: the choices of plus, less those of minus, are at most limit.
func (m *market) addRow(plus, minus []int32, limit float64) {
	n := int32(len(m.rows))
	r := row{limit: limit}
	for _, v := range plus {
		r.terms = append(r.terms, term{v, 1})
		m.rowsOf[v] = append(m.rowsOf[v], term{n, 1})
	}
	for _, v := range minus {
		r.terms = append(r.terms, term{v, -1})
		m.rowsOf[v] = append(m.rowsOf[v], term{n, -1})
	}
	if len(r.terms) > 0 {
		m.rows = append(m.rows, r)
	}
}

var infinite = math.Inf(1)
