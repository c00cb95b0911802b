package book

import (
	"cmp"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/quantity"
	"buttonup/words"
)

// The answers most asked are one sheet: what the owner asks on the telephone, years
// later. All of it stands in the body too, so that what has no room here is not lost.

// asked are the words by which people ask for a figure on the telephone, those that come
// first first. One line is one question; a title that has any of its phrases answers it.
//
// Source: the questions of the call-back, common practice, no published source.
var asked = [][]string{
	{"piston to bore", "piston to barrel", "piston clearance", "skirt clearance", "piston in the bore", "piston in its bore"},
	{"ring end gap", "ring gap", "rail end gap", "rail gap"},
	{"squish"},
	{"static compression", "compression ratio"},
	{"preload", "tappet clearance", "valve clearance", "valve lash"},
	{"valve to piston", "piston to valve"},
	{"end play"},
	{"radial clearance", "running clearance", "oil clearance"},
	{"backlash"},
	{"in its guide", "in the guide", "stem clearance", "guide clearance"},
	{"installed height"},
	{"oil pressure"},
	{"clearance", "end float"},
	{"on its shaft", "in the carrier", "deck", "oversize"},
}

// unasked are words of figures that only lead to one.
var unasked = []string{"straight-edge", "trial", "aimed", "window", "closes", "to file", "lost", "gained", "less", "adds up", "add up", "again", "brought", "flange", "case deck", "solder", "moved", "settled", "old gasket", "difference", "spread", "roller, end", "groove", "time to", "manifold"}

// question is which of the questions a title answers, -1 for none.
func question(title string) int {
	t := strings.ToLower(title)
	for _, u := range unasked {
		if strings.Contains(t, u) {
			return -1
		}
	}
	for i, phrases := range asked {
		for _, p := range phrases {
			if strings.Contains(t, p) {
				return i
			}
		}
	}
	return -1
}

// answer is one line of the sheet, with how early it is asked for.
type answer struct {
	rank int
	row  Row
}

// answerSheet is what there is to choose from, section by section.
type answerSheet struct {
	// ends are the two members that most figures come in: front and rear.
	ends []string
	// each are figures of each end, whole those of the engine, came what was found.
	each, whole, sizes, torques, came, out []answer
	kept                                   []string
	fitted                                 int
}

// answers is the sheet that is opened first when the owner rings.
func (b *builder) answers() {
	b.heading("The answers most asked", "")
	b.verdictLine()
	a := b.collectAnswers()
	lists := []*[]answer{&a.each, &a.whole, &a.sizes, &a.torques, &a.came, &a.out}
	for _, list := range lists {
		slices.SortStableFunc(*list, func(x, y answer) int { return cmp.Compare(x.rank, y.rank) })
	}
	// Each list grows by what is asked first, in turn, as long as the sheet holds it.
	l := newLettering()
	all := make([][]answer, len(lists))
	open := make([]bool, len(lists))
	for i, list := range lists {
		all[i], open[i] = *list, true
		*list = (*list)[:min(1, len(*list))]
	}
	for slices.Contains(open, true) {
		for i, list := range lists {
			n := len(*list)
			if open[i] = open[i] && n < len(all[i]); !open[i] {
				continue
			}
			*list = all[i][:n+1]
			if !b.onOneSheet(l, a.blocks()) {
				*list, open[i] = all[i][:n], false
			}
		}
	}
	b.d.add(a.blocks()...)
}

// onOneSheet says whether blocks go on the sheet that the heading began.
func (b *builder) onOneSheet(l *lettering, blocks []Block) bool {
	try := &Document{Paper: b.d.Paper, Head: b.d.Head, Foot: b.d.Foot, Blocks: append(slices.Clone(b.d.Blocks[len(b.d.Blocks)-2:]), blocks...)}
	f := try.layOut(l, 0)
	return f.err == nil && f.pages == 1 && f.y <= f.bottom()
}

func rowsOf(list []answer) []Row {
	var rows []Row
	for _, x := range list {
		rows = append(rows, x.row)
	}
	return rows
}

// blocks lays the sheet out.
func (a *answerSheet) blocks() []Block {
	table := func(rows []answer, columns ...Column) []Block {
		if len(rows) == 0 {
			return nil
		}
		return []Block{&Table{Small: true, Columns: columns, Rows: rowsOf(rows)}}
	}
	var out []Block
	each := table(a.each, append([]Column{{Head: "What was set", Share: 32}}, columnsOf(a.ends, 30)...)...)
	whole := table(a.whole, Column{Head: "What was set", Share: 44}, Column{Head: "", Share: 40})
	switch {
	case len(each) > 0 && len(whole) > 0:
		out = append(out, &Columns{Left: each, Right: whole, Share: 0.57})
	default:
		out = append(out, append(each, whole...)...)
	}
	out = append(out, table(a.came, Column{Head: "How it came in, and what became of it", Share: 50}, Column{Head: "As found", Share: 46}, Column{Head: "Now", Share: 46})...)
	out = append(out, table(a.sizes, Column{Head: "Which size", Share: 46}, Column{Head: "Size", Share: 50}, Column{Head: "Part and lot", Share: 56})...)
	out = append(out, table(a.torques, Column{Head: "What torque", Share: 60}, Column{Head: "Last pass", Share: 32}, Column{Head: "On the threads", Share: 44}, Column{Head: "Wrench", Share: 12})...)
	out = append(out, table(a.out, Column{Head: "Who did work outside", Share: 34}, Column{Head: "What was asked for", Share: 74}, Column{Head: "Sent and back", Share: 34})...)
	again := ""
	if len(a.kept) > 0 {
		again = "Used again: " + strings.Join(a.kept, "; ") + ". "
	}
	if a.fitted > 0 {
		again += words.Upper(words.Count(a.fitted, "other piece", "other pieces")) + " fitted, each with its number and lot under Parts."
	}
	if again != "" {
		out = append(out, &Para{Text: strings.TrimSpace(again), Style: Small})
	}
	if len(out) == 0 {
		return []Block{&Para{Text: "Nothing of what is asked most was read, fitted or tightened yet."}}
	}
	return append(out, &Para{Text: "The rest stands in the body: What was read, What follows from it, Joints, Parts.", Style: Small})
}

func columnsOf(ends []string, share float64) []Column {
	var out []Column
	for _, e := range ends {
		out = append(out, Column{Head: words.Upper(e), Share: share})
	}
	return out
}

func (b *builder) collectAnswers() *answerSheet {
	a := &answerSheet{ends: b.ends()}
	list := b.Assessment.Results
	for i := 0; i < len(list); {
		k := i
		for k < len(list) && list[k].Name == list[i].Name && list[k].Kind == list[i].Kind {
			k++
		}
		b.figureAnswer(a, list[i:k])
		i = k
	}
	b.sizeAnswers(a)
	b.torqueAnswers(a)
	return a
}

// ends finds the two places that most figures come in.
func (b *builder) ends() []string {
	count := map[string]int{}
	best := ""
	list := b.Assessment.Results
	for i := 0; i+1 < len(list); i++ {
		x, y := &list[i], &list[i+1]
		alone := (i == 0 || list[i-1].Name != x.Name) && (i+2 >= len(list) || list[i+2].Name != x.Name)
		if x.Name != y.Name || !alone || question(x.Title) < 0 {
			continue
		}
		key := x.Place + "\x00" + y.Place
		if count[key]++; count[key] > count[best] {
			best = key
		}
	}
	if best == "" {
		return nil
	}
	return strings.Split(best, "\x00")
}

// figureAnswer takes the results of one figure at all its places.
func (b *builder) figureAnswer(a *answerSheet, same []assess.Result) {
	r := &same[0]
	rank := question(r.Title)
	if r.Kind == "check" || !r.New.Bounded() && !r.Limit.Bounded() {
		return
	}
	b.cameIn(a, same, rank)
	if rank < 0 {
		return
	}
	same = slices.Clone(same)
	same = slices.DeleteFunc(same, func(x assess.Result) bool { return !x.HasValue })
	if len(same) == 0 {
		return
	}
	if cells, ok := b.byEnd(a.ends, same); ok {
		row := Row{Cells: []Cell{{Text: r.Title, Second: verdictsOf(same)}}}
		a.each = append(a.each, answer{rank, Row{Cells: append(row.Cells, cells...)}})
		return
	}
	worst := worstOf(same)
	sign, ink := verdictSign(worst)
	first, second := b.span(same)
	a.whole = append(a.whole, answer{rank, Row{Cells: []Cell{{Text: r.Title, Second: verdictsOf(same)}, {Text: first, Second: second, Bold: true, Sign: sign, Ink: ink}}}})
}

// byEnd gives a cell to each end; false for a figure that does not come in ends.
func (b *builder) byEnd(ends []string, same []assess.Result) ([]Cell, bool) {
	if len(ends) == 0 || same[0].Place == "" {
		return nil, false
	}
	groups := make([][]assess.Result, len(ends))
	for _, x := range same {
		i := slices.IndexFunc(ends, func(e string) bool { return x.Place == e || strings.HasPrefix(x.Place, e+" ") })
		if i < 0 {
			return nil, false
		}
		groups[i] = append(groups[i], x)
	}
	var cells []Cell
	for i, g := range groups {
		if len(g) == 0 {
			cells = append(cells, Cell{Text: "–"})
			continue
		}
		for k := range g {
			g[k].Place = strings.TrimSpace(strings.TrimPrefix(g[k].Place, ends[i]))
		}
		sign, ink := verdictSign(worstOf(g))
		first, second := b.span(g)
		cells = append(cells, Cell{Text: first, Second: second, Bold: true, Sign: sign, Ink: ink})
	}
	return cells, true
}

// span prints one figure, or the smallest and the largest of several with where they are.
func (b *builder) span(list []assess.Result) (first, second string) {
	low, high := &list[0], &list[0]
	for i := range list {
		if list[i].Value < low.Value {
			low = &list[i]
		}
		if list[i].Value > high.Value {
			high = &list[i]
		}
	}
	between := func(s quantity.System) string {
		x, y := words.ResultIn(low, s), words.ResultIn(high, s)
		v, plus, unit := words.Parts(x)
		w, plus2, unit2 := words.Parts(y)
		if plus != plus2 || unit != unit2 {
			return words.Shown(x) + " to " + words.Shown(y)
		}
		return strings.TrimSpace(v + " to " + w + " " + strings.TrimSpace(plus+" "+unit))
	}
	one := words.Shown(words.ResultIn(low, b.Units))
	if one == words.Shown(words.ResultIn(high, b.Units)) {
		return b.both(low)
	}
	first, second = between(b.Units), between(b.other())
	if second == first {
		second = ""
	}
	return first, second
}

func worstOf(list []assess.Result) *assess.Result {
	worst := &list[0]
	for i := range list {
		if rank(&list[i]) > rank(worst) {
			worst = &list[i]
		}
	}
	return worst
}

// verdictsOf says the verdict, and where only some have it, which have another.
func verdictsOf(list []assess.Result) string {
	best := &list[0]
	for i := range list {
		if rank(&list[i]) < rank(best) {
			best = &list[i]
		}
	}
	worst := worstOf(list)
	if verdictWord(worst) == verdictWord(best) {
		return verdictWord(best)
	}
	return verdictWord(best) + "; " + worst.Place + ": " + strings.ToLower(verdictWord(worst))
}

// cameIn tells how a figure was before it was machined.
func (b *builder) cameIn(a *answerSheet, same []assess.Result, rank int) {
	for i := range same {
		x := &same[i]
		_, history := journal.CurrentPhase(b.sets[[2]string{x.Name, x.Place}])
		old := (*assess.Result)(nil)
		if len(history) > 0 {
			old = resultOf(b.before[history[0][0].Phase], x)
		}
		if old == nil || !old.HasValue || !x.HasValue {
			continue
		}
		a.came = append(a.came, answer{rank, Row{Cells: []Cell{{Text: titled(x.Title, x.Place)}, b.judged(old), b.judged(x)}}})
	}
}

// judged is a value with its sign and its verdict in words.
func (b *builder) judged(r *assess.Result) Cell {
	first, second := b.both(r)
	sign, ink := verdictSign(r)
	if sign != "" {
		second = strings.TrimPrefix(second+", "+strings.ToLower(verdictWord(r)), ", ")
	}
	return Cell{Text: first, Second: second, Bold: true, Sign: sign, Ink: ink}
}

// sizeAnswers tell which of several parts went in, and its size.
func (b *builder) sizeAnswers(a *answerSheet) {
	at := map[string]int{}
	for _, l := range b.lives() {
		if l.kept {
			a.kept = append(a.kept, strings.TrimSpace(l.slotTitle+" "+l.partID))
		} else if l.last.State == journal.Fitted {
			a.fitted++
		}
		for _, s := range l.sent {
			dates := day(s.at)
			if !s.back.IsZero() {
				dates += ", back " + day(s.back)
			}
			a.out = append(a.out, answer{0, Row{Cells: []Cell{{Text: orDash(s.to), Bold: true}, {Text: l.slotTitle + ": " + orDash(s.asked)}, {Text: dates}}}})
		}
		text, rank := b.chosenSize(l)
		if text == "" {
			continue
		}
		part := strings.TrimSpace(l.partID + orText(", ", l.lot))
		key := l.slot + "\x00" + text + "\x00" + part
		if i, ok := at[key]; ok {
			a.sizes[i].row.Cells[0].Text += ", " + l.place
			continue
		}
		at[key] = len(a.sizes)
		a.sizes = append(a.sizes, answer{rank, Row{Cells: []Cell{{Text: l.slotTitle}, {Text: text, Bold: true}, {Text: part}}}})
	}
}

// chosenSize prints the size of a part where there is one to choose: the other parts for
// its slot have another. What was measured on the piece itself counts too.
func (b *builder) chosenSize(l *life) (text string, rank int) {
	if len(l.sizes) > 0 {
		return b.sizesText(l), 0
	}
	var out []string
	for _, n := range b.sizesOf(l) {
		q := l.part.Sizes[n]
		others := 0
		for _, p := range b.Pack.Parts {
			o, ok := p.Sizes[n]
			if ok && slices.Contains(p.Fills, l.slot) && o.Value.SI != q.Value.SI {
				others++
			}
		}
		if others == 0 || q.Value.Dimension != quantity.OfLength {
			continue
		}
		rank = min(rank, -others) // the more there is to choose from, the more it is asked
		name := strings.ReplaceAll(n, "_", " ")
		if q.Value.SI == 0 {
			out = append(out, "standard, "+name+" 0")
			continue
		}
		out = append(out, name+" "+unitText(q.Value.SI, q.Unit, max(q.Decimals, 0)))
	}
	return strings.Join(out, ", "), rank
}

// torqueAnswers tell the last pass of each joint, the same at several places in one
// line, the greatest first.
func (b *builder) torqueAnswers(a *answerSheet) {
	at := map[string]int{}
	for _, jt := range b.tightened() {
		last := jt.passes[len(jt.passes)-1]
		threads := orElse(jt.Joint.Joint.State, "not stated")
		key := jt.Name + "\x00" + last.Value + "\x00" + last.Wrench
		if i, ok := at[key]; ok {
			a.torques[i].row.Cells[0].Text += ", " + jt.Place
			continue
		}
		size := 0
		if q, err := quantity.Parse(last.Value); err == nil {
			size = -int(q.Value.SI * 100)
		}
		at[key] = len(a.torques)
		a.torques = append(a.torques, answer{size, Row{Cells: []Cell{{Text: titled(jt.Title, jt.Place)}, {Text: b.inBoth(orDash(last.Value)), Bold: true}, {Text: threads}, {Text: orDash(last.Wrench)}}}})
	}
}
