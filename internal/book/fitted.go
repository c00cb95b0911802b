package book

import (
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// life is what became of the part in one slot at one place.
type life struct {
	slot, place, slotTitle string
	part                   *pack.Part
	partID                 string
	events                 []journal.PartRecord
	last                   journal.PartRecord
	lot                    string
	sizes                  map[string]string
	kept                   bool
	sent                   []outing
	slotSizes              map[string]quantity.Dimension
}

// outing is work that somebody else did.
type outing struct {
	to, asked string
	at, back  time.Time
}

func (l *life) partTitle() string {
	if l.part != nil && l.part.Title != l.partID {
		return l.partID + " " + l.part.Title
	}
	return l.partID
}

// lives follows every part through the journal, slot by slot in the order of the pack.
func (b *builder) lives() []*life {
	titles := map[string]string{}
	slotSizes := map[string]map[string]quantity.Dimension{}
	order := map[string]int{}
	for i, s := range b.Pack.Slots {
		titles[s.Name], order[s.Name], slotSizes[s.Name] = s.Title, i, s.Sizes
	}
	parts := map[string]*pack.Part{}
	for _, p := range b.Pack.Parts {
		parts[p.Name] = p
	}
	by := map[[2]string]*life{}
	var all []*life
	for _, e := range b.State.Parts {
		key := [2]string{e.Slot, e.Place}
		if e.Slot == "" {
			key = [2]string{"part " + e.PartBody.Part, e.Place}
		}
		l := by[key]
		if l == nil {
			title := titles[e.Slot]
			if title == "" {
				title = orElse(e.Slot, "without a slot")
			}
			l = &life{slot: e.Slot, place: e.Place, slotTitle: titled(title, e.Place), slotSizes: slotSizes[e.Slot]}
			by[key] = l
			all = append(all, l)
		}
		l.events = append(l.events, e)
		l.last = e
		if e.PartBody.Part != "" {
			if e.PartBody.Part != l.partID {
				l.lot, l.sizes = "", nil // another piece
			}
			l.partID, l.part = e.PartBody.Part, parts[e.PartBody.Part]
		}
		if e.Lot != "" {
			l.lot = e.Lot
		}
		if len(e.Sizes) > 0 {
			l.sizes = e.Sizes
		}
		switch e.State {
		case journal.Kept:
			l.kept = true
		case journal.Sent:
			l.sent = append(l.sent, outing{to: e.To, asked: e.Asked, at: e.At})
		case journal.Back:
			if n := len(l.sent); n > 0 {
				l.sent[n-1].back = e.At
			}
		case journal.Rejected, journal.Removed:
			l.kept = false
		}
	}
	slices.SortStableFunc(all, func(x, y *life) int { return order[x.slot] - order[y.slot] })
	return all
}

// sizesText prints the sizes of the piece in hand, else those that the pack gives.
func (b *builder) sizesText(l *life) string {
	var out []string
	for _, name := range sortedNames(l.sizes) {
		out = append(out, strings.ReplaceAll(name, "_", " ")+" "+b.inBoth(l.sizes[name]))
	}
	if len(out) == 0 {
		for _, n := range b.sizesOf(l) {
			q := l.part.Sizes[n]
			text := unitText(q.Value.SI, q.Unit, max(q.Decimals, 0))
			if q.Value.SI == 0 {
				text = q.Unit.Text(0, 0) // nothing is nothing in both systems
			}
			out = append(out, strings.ReplaceAll(n, "_", " ")+" "+text)
		}
	}
	return strings.Join(out, ", ")
}

// sizesOf names the sizes that a part has in its slot. A kit has those of all that is in
// it: there only those count that the pack asks of this slot.
func (b *builder) sizesOf(l *life) []string {
	if l.part == nil {
		return nil
	}
	kit := len(l.part.Fills) > 1 && !l.part.Either
	var asked, names []string
	if kit {
		asked = b.prepared().SizesAsked(l.slot)
	}
	for n := range l.part.Sizes {
		if _, ok := l.slotSizes[n]; ok && (!kit || slices.Contains(asked, n)) {
			names = append(names, n)
		}
	}
	slices.Sort(names)
	return names
}

func sortedNames(m map[string]string) []string {
	names := make([]string, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

// partNumbers prints every number that a part goes by.
func partNumbers(p *pack.Part) string {
	if p == nil {
		return ""
	}
	var out []string
	for _, k := range sortedNames(p.Numbers) {
		out = append(out, k+" "+p.Numbers[k])
	}
	return strings.Join(out, ", ")
}

// parts lists every part with all its numbers, its lot and its life.
func (b *builder) parts() {
	lives := b.lives()
	if len(lives) == 0 {
		return
	}
	b.heading("Parts", "")
	t := &Table{Columns: []Column{{Head: "Where", Share: 34}, {Head: "Part and its numbers", Share: 48}, {Head: "Lot", Share: 16}, {Head: "Sizes", Share: 30}, {Head: "Now", Share: 18}}}
	for _, l := range lives {
		var life []string
		for _, e := range l.events {
			text := e.State + " " + b.when(e.Stamp)
			if e.To != "" {
				text += " to " + e.To
			}
			if e.Asked != "" {
				text += ", asked: " + e.Asked
			}
			life = append(life, text)
		}
		row := Row{Cells: []Cell{{Text: l.slotTitle}, {Text: orDash(l.partTitle()), Second: partNumbers(l.part), Bold: true}, {Text: l.lot}, {Text: b.sizesText(l)}, {Text: words.Upper(l.last.State)}}}
		row.Under = strings.Join(life, "; ")
		t.Rows = append(t.Rows, row)
	}
	b.d.add(t)
	if used := b.usedUp(); len(used) > 0 {
		b.d.add(&Heading{Level: 2, Text: "Used up, not to be used again"}, &List{Items: used})
	}
}

// usedUp lists one-use slots that were filled.
func (b *builder) usedUp() []Item {
	once := map[string]string{}
	for _, s := range b.Pack.Slots {
		if s.OneUse {
			once[s.Name] = s.Title
		}
	}
	var items []Item
	seen := map[string]bool{}
	for _, e := range b.State.Parts {
		if title, ok := once[e.Slot]; ok && e.State == journal.Fitted && !seen[e.Slot+" "+e.Place] {
			seen[e.Slot+" "+e.Place] = true
			items = append(items, Item{"once", titled(title, e.Place) + ": " + orDash(e.PartBody.Part)})
		}
	}
	return items
}

// pressed is a joint with every pass that was recorded of it.
type pressed struct {
	*assess.Joint
	passes []journal.TorqueRecord
}

func (b *builder) tightened() []pressed {
	var out []pressed
	for i := range b.Assessment.Joints {
		jt := &b.Assessment.Joints[i]
		p := pressed{Joint: jt}
		for _, t := range b.State.Torques {
			if t.Torque.Joint == jt.Name && t.Place == jt.Place {
				p.passes = append(p.passes, t)
			}
		}
		if len(p.passes) > 0 {
			out = append(out, p)
		}
	}
	return out
}
