package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/quantity"
	"buttonup/words"
)

// growth is what a form adds to the pack of one job: pieces of pack text that no person
// sees, and what the journal says beside them.
type growth struct {
	drafts []syntax.Draft
	parts  []journal.Part
	why    string
	// Goes is the reference of what was added, to go on with.
	Goes string

	names map[string]bool
	wrong []string
}

// grow begins an addition to a pack.
func grow(p *pack.Pack) *growth {
	g := &growth{names: map[string]bool{"x": true}}
	if p == nil {
		return g
	}
	for _, name := range namesOf(p) {
		g.names[name] = true
	}
	return g
}

// namesOf lists the names of all blocks of a pack.
func namesOf(p *pack.Pack) []string {
	var list []string
	add := func(c *pack.Common) { list = append(list, c.Name) }
	for _, x := range p.Places {
		add(&x.Common)
	}
	for _, x := range p.Options {
		add(&x.Common)
	}
	for _, x := range p.Spaces {
		add(&x.Common)
	}
	for _, x := range p.Dimensions {
		add(&x.Common)
	}
	for _, x := range p.Checks {
		add(&x.Common)
	}
	for _, x := range p.Numbers {
		add(&x.Common)
	}
	for _, x := range p.Curves {
		add(&x.Common)
	}
	for _, x := range p.Sweeps {
		add(&x.Common)
	}
	for _, x := range p.Joints {
		add(&x.Common)
	}
	for _, x := range p.Slots {
		add(&x.Common)
	}
	for _, x := range p.Parts {
		add(&x.Common)
	}
	for _, x := range p.Operations {
		add(&x.Common)
	}
	for _, x := range p.Temporaries {
		add(&x.Common)
	}
	for _, x := range p.Locks {
		add(&x.Common)
	}
	for _, x := range p.Cautions {
		add(&x.Common)
	}
	return list
}

// name makes a name for a title: small letters, digits and underscores, not yet taken.
func (g *growth) name(title, otherwise string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(syntax.Plain(title)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case unicode.IsLetter(r):
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "_"):
			b.WriteByte('_')
		}
		if b.Len() >= 40 {
			break
		}
	}
	name := strings.Trim(b.String(), "_")
	if name == "" || name[0] < 'a' {
		name = strings.Trim(otherwise+"_"+name, "_")
	}
	for base, n := name, 2; g.names[name]; n++ {
		name = base + "_" + strconv.Itoa(n)
	}
	g.names[name] = true
	return name
}

// free makes a name that is free text, for a part.
func (g *growth) free(text string) string {
	name := []rune(strings.NewReplacer(`"`, "'", `\`, "/", "${", "$ {", "%{", "% {").Replace(syntax.Plain(text)))
	if len(name) > 80 {
		name = name[:80]
	}
	out := strings.TrimSpace(string(name))
	for base, n := out, 2; g.names[out]; n++ {
		out = base + " " + strconv.Itoa(n)
	}
	g.names[out] = true
	return out
}

// say gathers what a form lacks.
func (g *growth) say(format string, args ...any) {
	g.wrong = append(g.wrong, fmt.Sprintf(format, args...))
}

func (g *growth) text() string {
	var b strings.Builder
	for i := range g.drafts {
		b.WriteString(g.drafts[i].String())
	}
	return b.String()
}

// bodies are the events that the addition comes to.
func (g *growth) bodies() []any {
	var list []any
	if len(g.drafts) > 0 {
		list = append(list, journal.Extra{Text: g.text(), Why: g.why})
	}
	for _, p := range g.parts {
		list = append(list, p)
	}
	return list
}

// over merges the addition over a pack, to see whether it stands. What is wrong is said
// in the words of the pack language's mistakes, which say what to do.
func (g *growth) over(p *pack.Pack) *words.Sentence {
	if len(g.wrong) > 0 {
		return &words.Sentence{Says: g.wrong[0], Because: g.wrong[1:]}
	}
	_, mistakes := p.Extend(pack.File{Name: "extra.pack", Text: []byte(g.text())})
	if len(mistakes) == 0 {
		return nil
	}
	m := mistakes[0]
	says := &words.Sentence{Says: words.Upper(m.Says) + ".", Do: words.Upper(m.Do)}
	for _, other := range mistakes[1:min(len(mistakes), 4)] {
		says.Because = append(says.Because, words.Upper(other.Says))
	}
	return says
}

// figure reads a number or range of a form, in a unit that stands beside it.
func (g *growth) figure(what, low, high, unit string, want quantity.Dimension) string {
	one := func(text string) string {
		text = strings.TrimSpace(text)
		if text == "" {
			return ""
		}
		q, err := quantity.Parse(text)
		if err == nil && q.Dimension.IsNumber() {
			text += " " + unit
			q, err = quantity.Parse(text)
		}
		if err != nil || q.Dimension != want {
			g.say("“%s” cannot be the %s: write a number in %s.", text, what, unit)
			return ""
		}
		return text
	}
	a, b := one(low), one(high)
	switch {
	case a == "" && b == "":
		return ""
	case a == "":
		return "<= " + b
	case b == "":
		return ">= " + a
	}
	x, errX := quantity.Parse(a)
	y, errY := quantity.Parse(b)
	if errX == nil && errY == nil && x.SI > y.SI {
		g.say("The %s runs from %s down to %s: turn the two round.", what, a, b)
		return ""
	}
	return a + " .. " + b
}

// lines are the lines of a field that takes several, without those that are empty.
func linesOf(text string) []string {
	var list []string
	for _, line := range strings.Split(text, "\n") {
		if line = syntax.Plain(line); line != "" {
			list = append(list, line)
		}
	}
	return list
}

// addReading adds something to measure, from the form of the first door.
func (g *growth) addReading(get func(string) string, system quantity.System) {
	title := syntax.Plain(get("title"))
	if title == "" {
		g.say("What is it that you measure? Give it a name, like front bore.")
		return
	}
	unit := orElse(get("unit"), system.Unit(quantity.OfLength).Symbol)
	u, err := quantity.ParseUnit(unit)
	if err != nil {
		g.say("“%s” is not a unit that is known here.", unit)
		return
	}
	d := syntax.Draft{Kind: "dimension", Name: g.name(title, "reading")}
	d.Text("title", title)
	if fresh := g.figure("new size", get("new_low"), get("new_high"), unit, u.Dimension); fresh != "" {
		d.Text("new", fresh)
	}
	if limit := g.figure("limit", get("limit_low"), get("limit_high"), unit, u.Dimension); limit != "" {
		d.Text("limit", limit)
	}
	if with := syntax.Plain(get("with")); with != "" {
		d.Text("with", with)
	}
	step := syntax.Plain(get("step"))
	if step == "" && u.Dimension == quantity.OfLength {
		step = stepHint(system)
		if u.Symbol == "mm" {
			step = "0.001 mm"
		} else if u.Symbol == "in" {
			step = "0.0001 in"
		}
	}
	if step != "" {
		if q, err := quantity.Parse(step); err == nil && q.Dimension.IsNumber() {
			step += " " + unit
		}
		d.Text("step", step)
	}
	if positions := linesOf(strings.ReplaceAll(get("positions"), ",", "\n")); len(positions) > 0 {
		read := syntax.Draft{Kind: "read"}
		read.Set("positions", syntax.QuoteList(positions))
		if axes := linesOf(strings.ReplaceAll(get("axes"), ",", "\n")); len(axes) > 0 {
			read.Set("axes", syntax.QuoteList(axes))
		}
		d.Nested = append(d.Nested, read)
	} else if n, err := strconv.Atoi(strings.TrimSpace(get("repeat"))); err == nil && n > 1 && n <= 50 {
		read := syntax.Draft{Kind: "read"}
		read.Set("repeat", strconv.Itoa(n))
		d.Nested = append(d.Nested, read)
	}
	d.Text("note", get("note"))
	g.sourced(&d, get("source"), "limit")
	g.drafts = append(g.drafts, d)
	g.Goes = "dimension." + d.Name
	g.why = orElse(syntax.Plain(get("source")), "added at the bench")
}

// sourced says where a figure comes from; without a source it is one's own.
func (g *growth) sourced(d *syntax.Draft, source, figure string) {
	source = syntax.Plain(source)
	if source == "" {
		d.Text("basis", "mine")
		return
	}
	d.Text("basis", "book")
	d.Set("sources", "{ "+figure+" = "+syntax.Quote(source)+" }")
}

// most is how many rows of each kind a stage card takes.
const (
	mostParts = 4
	mostLooks = 6
)

// addStep adds a step with its joint, parts and looks, from the form of the second door.
func (g *growth) addStep(get func(string) string, system quantity.System) {
	title := syntax.Plain(get("title"))
	if title == "" {
		g.say("What is being joined? Give it a name, like front lifter carrier.")
		return
	}
	op := syntax.Draft{Kind: "operation", Name: g.name(title, "step")}
	op.Text("title", title)
	var fits, holds, needs, uses []string
	for i := 1; i <= mostParts; i++ {
		n := strconv.Itoa(i)
		what := syntax.Plain(get("part" + n))
		number := syntax.Plain(get("number" + n))
		if what == "" && number == "" {
			continue
		}
		slot := syntax.Draft{Kind: "slot", Name: g.name(orElse(what, number), "part")}
		slot.Text("title", orElse(what, number))
		if get("new"+n) != "" {
			slot.Set("always_replace", "true")
			slot.Set("one_use", "true")
		}
		part := syntax.Draft{Kind: "part", Name: g.free(orElse(number, what))}
		part.Text("title", orElse(what, number))
		part.Set("fills", "[slot."+slot.Name+"]")
		if number != "" {
			part.Set("numbers", "{ maker = "+syntax.Quote(number)+" }")
		}
		g.drafts = append(g.drafts, slot, part)
		fits = append(fits, "slot."+slot.Name)
		g.parts = append(g.parts, journal.Part{Part: part.Name, Slot: slot.Name, State: journal.Received})
	}
	if text := syntax.Plain(get("faces")); text != "" {
		uses = append(uses, text)
	}
	for i := 1; i <= mostLooks; i++ {
		ask := syntax.Plain(get("look" + strconv.Itoa(i)))
		if ask == "" {
			continue
		}
		check := syntax.Draft{Kind: "check", Name: g.name(ask, "look")}
		check.Text("title", ask)
		check.Text("ask", ask)
		check.Set("answers", `["yes", "no"]`)
		check.Set("pass", `["yes"]`)
		g.drafts = append(g.drafts, check)
		holds = append(holds, "check."+check.Name)
	}
	space := ""
	if closes := syntax.Plain(get("closes")); closes != "" {
		if kind, name, ok := strings.Cut(get("closes"), "."); ok && kind == "space" && g.names[name] {
			space = name
		} else {
			d := syntax.Draft{Kind: "space", Name: g.name(closes, "space")}
			d.Text("title", closes)
			g.drafts = append(g.drafts, d)
			space = d.Name
		}
	}
	for _, first := range linesOf(get("inside")) {
		d := syntax.Draft{Kind: "operation", Name: g.name(first, "first")}
		d.Text("title", first)
		if space != "" {
			d.Set("in", "[space."+space+"]")
		}
		d.Text("basis", "mine")
		g.drafts = append(g.drafts, d)
		needs = append(needs, "operation."+d.Name)
	}
	if j := g.joint(get, title, system); j != nil {
		g.drafts = append(g.drafts, *j)
		op.Set("tightens", "[joint."+j.Name+"]")
	}
	list := func(name string, references []string) {
		if len(references) > 0 {
			op.Set(name, "["+strings.Join(references, ", ")+"]")
		}
	}
	list("needs", needs)
	list("fits", fits)
	list("holds", holds)
	if len(uses) > 0 {
		op.Set("uses", syntax.QuoteList(uses))
	}
	if space != "" {
		op.Set("closes", "[space."+space+"]")
	}
	if wait := g.figure("wait", get("wait"), "", "min", quantity.OfTime); wait != "" {
		op.Text("wait", strings.TrimPrefix(wait, ">= "))
		op.Text("waits_for", get("waits_for"))
	}
	op.Text("tool", get("tool"))
	op.Text("note", get("note"))
	op.Text("caution", get("caution"))
	op.Text("basis", "mine")
	g.drafts = append(g.drafts, op)
	g.Goes = "operation." + op.Name
	g.why = orElse(syntax.Plain(get("source")), "added at the bench")
}

// joint is that of a stage card, nil when the form has none.
func (g *growth) joint(get func(string) string, title string, system quantity.System) *syntax.Draft {
	unit := orElse(get("torque_unit"), unitFirst(system)[0])
	if get("torque_low") == "" && get("torque_high") == "" && strings.TrimSpace(get("stages")) == "" {
		return nil
	}
	j := &syntax.Draft{Kind: "joint", Name: g.name(title+" fasteners", "joint")}
	j.Text("title", title)
	thread := syntax.Plain(get("thread"))
	if thread == "" {
		g.say("Which thread is it? Choose it, or write it as on the bolt: M6x1.0 or 1/4-24.")
	}
	j.Text("thread", thread)
	low, high := get("torque_low"), get("torque_high")
	if low == "" {
		low = high
	}
	if high == "" {
		high = low
	}
	if torque := g.figure("torque", low, high, unit, quantity.OfTorque); torque != "" {
		j.Text("torque", torque)
	}
	last := ""
	if stages := splitFigures(get("stages")); len(stages) > 0 {
		var list []string
		for _, text := range stages {
			if one := g.figure("stage", text, "", unit, quantity.OfTorque); one != "" {
				last = strings.TrimPrefix(one, ">= ")
				list = append(list, last)
			}
		}
		j.Set("stages", syntax.QuoteList(list))
	} else if x, err := quantity.Parse(strings.TrimSpace(low) + " " + unit); err == nil {
		// The middle of what is printed, in the figures of the manual.
		if y, err := quantity.Parse(strings.TrimSpace(high) + " " + unit); err == nil {
			u, _ := quantity.ParseUnit(unit)
			middle := u.In((x.SI + y.SI) / 2)
			decimals := max(x.Decimals, y.Decimals, 0)
			if math.Abs(middle-mustRound(middle, decimals)) > 1e-9 {
				decimals++
			}
			last = quantity.FormatNumber(middle, decimals) + " " + unit
		}
	}
	if last != "" {
		j.Text("target", last)
	}
	if get("left") != "" {
		j.Set("hand", `"left"`)
	}
	if get("once") != "" {
		j.Set("single_use", "true")
	}
	if get("each") != "" {
		j.Set("confirm", `"point"`)
	}
	if state := syntax.Plain(get("threads")); state != "" {
		j.Text("torque_for", state)
		j.Text("state", state)
	}
	j.Text("socket", get("socket"))
	if n, err := strconv.Atoi(get("no_return")); err == nil && n > 0 {
		j.Set("point_of_no_return", strconv.Itoa(n))
	}
	g.pattern(j, get)
	g.sourced(j, get("source"), "torque")
	return j
}

// splitFigures takes "4, 8, 10" or "4 8 10" apart.
func splitFigures(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '/' || unicode.IsSpace(r) })
}

// pattern says where the fasteners are and in which order they are tightened: as they
// were tapped, else a plain ring crossed from side to side.
func (g *growth) pattern(j *syntax.Draft, get func(string) string) {
	n, err := strconv.Atoi(strings.TrimSpace(get("fasteners")))
	points, order := tapped(get("points")), splitFigures(get("order"))
	if len(points) > 1 {
		n = len(points)
	} else if err != nil || n < 2 {
		return
	} else if n > 40 {
		g.say("A pattern of more than 40 fasteners is more than one page shows: enter it in parts.")
		return
	} else {
		points = ring(n)
	}
	var list []string
	for _, p := range points {
		list = append(list, "["+quantity.FormatNumber(p[0], 1)+", "+quantity.FormatNumber(p[1], 1)+"]")
	}
	j.Set("points", "["+strings.Join(list, ", ")+"]")
	seen := map[string]bool{}
	var whole []string
	for _, o := range order {
		if k, err := strconv.Atoi(o); err == nil && k >= 1 && k <= n && !seen[strconv.Itoa(k)] {
			seen[strconv.Itoa(k)] = true
			whole = append(whole, strconv.Itoa(k))
		}
	}
	if len(whole) != n {
		whole = nil
		for _, k := range crossed(n) {
			whole = append(whole, strconv.Itoa(k))
		}
	}
	j.Set("order", "["+strings.Join(whole, ", ")+"]")
}

// tapped reads where a person tapped: "x,y x,y …" in parts of the picture's width, y down.
func tapped(text string) [][2]float64 {
	var list [][2]float64
	for _, pair := range strings.Fields(text) {
		a, b, ok := strings.Cut(pair, ",")
		x, errX := strconv.ParseFloat(a, 64)
		y, errY := strconv.ParseFloat(b, 64)
		if !ok || errX != nil || errY != nil || math.Abs(x) > 10 || math.Abs(y) > 10 || math.IsNaN(x) || math.IsNaN(y) || len(list) == 40 {
			return nil
		}
		list = append(list, [2]float64{math.Round(x * 1000), math.Round(-y * 1000)})
	}
	return list
}

// ring places n fasteners round a circle, from the top left on with the clock.
func ring(n int) [][2]float64 {
	var list [][2]float64
	for i := range n {
		a := math.Pi/2 + math.Pi/float64(n) - 2*math.Pi*float64(i)/float64(n)
		list = append(list, [2]float64{math.Round(50*math.Cos(a)*10) / 10, math.Round(50*math.Sin(a)*10) / 10})
	}
	return list
}

// crossed goes from side to side: 1, then the one opposite, then a quarter on.
// Common practice, no published source.
func crossed(n int) []int {
	var list []int
	taken := map[int]bool{}
	for step := 0; len(list) < n; step++ {
		// The halves, quarters, eighths of the ring in turn.
		i := spread(step, n)
		for taken[i] {
			i = (i + 1) % n
		}
		taken[i] = true
		list = append(list, i+1)
	}
	return list
}

// spread is the place of a step when a ring is halved again and again.
func spread(step, n int) int {
	place, part := 0.0, 0.5
	for ; step > 0; step >>= 1 {
		if step&1 == 1 {
			place += part
		}
		part /= 2
	}
	return int(place*float64(n)) % n
}

// threads are those that are offered; any other can be written.
var threads = []string{"M5x0.8", "M6x1.0", "M7x1.0", "M8x1.25", "M8x1.0", "M10x1.5", "M10x1.25", "M12x1.75", "M12x1.25", "M14x1.5",
	"10-24", "10-32", "1/4-20", "1/4-24", "1/4-28", "5/16-18", "5/16-24", "3/8-16", "3/8-24", "7/16-14", "7/16-20", "1/2-13", "1/2-20"}
