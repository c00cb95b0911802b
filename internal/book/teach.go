package book

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// Lesson is what teaching sheets are made of: a pack, the figures as they stand, and
// links of one's own. It holds no job, so that no owner, person, price or photo can
// get onto a sheet.
type Lesson struct {
	Pack *pack.Pack
	// Assessment is made of the pack and the options and parts chosen; readings in it
	// are not shown.
	Assessment *assess.Assessment
	// Options are the choices that the sheet is for, by name.
	Options map[string]string
	// Links are addresses of own films and pages, by reference ("operation.carrier_on").
	Links map[string][]string
	Now   time.Time
	Paper Paper
}

// Teach makes what teaching sheets are made of: the pack as it is carried or kept,
// without the job's own text, and the choices and parts of a job, without readings,
// people or prices.
func Teach(p *pack.Pack, state *journal.State, now time.Time, paper Paper) *Lesson {
	facts := &journal.State{Options: state.Options, Instruments: map[string]journal.InstrumentRecord{}}
	for _, x := range state.Parts {
		switch x.State {
		case journal.Fitted, journal.Received, journal.Kept, journal.Wanted, journal.Ordered:
			facts.Parts = append(facts.Parts, x)
		}
	}
	l := &Lesson{Pack: p, Assessment: assess.Prepare(p).Assess(facts, assess.Options{}), Options: map[string]string{}, Links: map[string][]string{}, Now: now, Paper: paper}
	for _, o := range p.Options {
		if o.Default != "" {
			l.Options[o.Name] = o.Default
		}
		if c, ok := state.Options[o.Name]; ok {
			l.Options[o.Name] = c.Choice
		}
	}
	for _, x := range state.Links {
		ref, _, _ := strings.Cut(x.Of, " ")
		l.Links[ref] = append(l.Links[ref], x.Address)
	}
	return l
}

// File is the sheet as a PDF; its code is its identifier.
func (s *Sheet) File() ([]byte, error) {
	return s.Document.PDF([]byte((s.Code + "----------------")[:16]))
}

// Sheet is a teaching sheet with the figures on it, which tell later whether it is
// still right.
type Sheet struct {
	// What is its kind, Of the reference it is of.
	What, Of, Place string
	Document        *Document
	Figures         []string
	Code            string
}

// ErrNothing says that the pack has no such operation or measurement.
var ErrNothing = errors.New("the pack has none of that name")

// code is the revision of a sheet: it changes when a figure on it does.
func code(of string, figures []string) string {
	sum := sha256.Sum256([]byte(of + "\n" + strings.Join(figures, "\n")))
	d := strings.ToUpper(hex.EncodeToString(sum[:4]))
	return d[:4] + "-" + d[4:]
}

// FiguresOf returns the figures that a sheet of a reference shows today, and their
// code.
func (l *Lesson) FiguresOf(of, place string) ([]string, string, error) {
	t, err := l.topic(of, place)
	if err != nil {
		return nil, "", err
	}
	figures := t.figures()
	return figures, code(t.of, figures), nil
}

// topic is one operation or measurement with all that belongs to it.
type topic struct {
	*Lesson
	of, name, place, title string
	op                     *pack.Operation
	joints                 []*assess.Joint
	holds                  []*assess.Result
	slots                  []*pack.Slot
	result                 []*assess.Result // of a measurement
	dimension              *pack.Dimension
	cautions               []*pack.Caution
}

// topic finds what a sheet is of: operation.NAME, dimension.NAME, number.NAME or
// joint.NAME.
func (l *Lesson) topic(of, place string) (*topic, error) {
	kind, name, ok := strings.Cut(of, ".")
	if !ok {
		kind, name = l.kindOf(of)
	}
	t := &topic{Lesson: l, of: kind + "." + name, name: name, place: place}
	switch kind {
	case "operation":
		for _, o := range l.Pack.Operations {
			if o.Name == name {
				t.op, t.title = o, o.Title
			}
		}
		if t.op == nil {
			return nil, ErrNothing
		}
		for _, s := range t.op.Fits {
			for _, slot := range l.Pack.Slots {
				if "slot."+slot.Name == s || slot.Name == s {
					t.slots = append(t.slots, slot)
				}
			}
		}
		t.takeBefore()
		for _, j := range t.op.Tightens {
			t.addJoint(strings.TrimPrefix(j, "joint."))
		}
		for _, h := range t.op.Holds {
			t.addHold(h.Kind, h.Name)
		}
		if len(t.joints) == 1 && len(t.together()) > 1 {
			t.title = t.joints[0].Title // the piece of work goes by what is screwed on
		}
		for _, c := range l.Pack.Cautions {
			if slices.Contains(c.AppliesTo, t.op.Name) || slices.Contains(c.AppliesTo, "operation."+t.op.Name) {
				t.cautions = append(t.cautions, c)
			}
		}
	case "joint":
		t.addJoint(name)
		if len(t.joints) == 0 {
			return nil, ErrNothing
		}
		t.title = t.joints[0].Title
	case "dimension", "number", "sweep", "check":
		for i := range l.Assessment.Results {
			r := &l.Assessment.Results[i]
			if r.Kind == kind && r.Name == name && (place == "" || r.Place == place) {
				t.result = append(t.result, r)
				t.title = r.Title
			}
		}
		for _, d := range l.Pack.Dimensions {
			if d.Name == name && kind == "dimension" {
				t.dimension = d
			}
		}
		if len(t.result) == 0 {
			return nil, ErrNothing
		}
	default:
		return nil, ErrNothing
	}
	return t, nil
}

// takeBefore adds what belongs to the same piece of work: operations that this one
// needs directly, work in the space that it closes, and share its number in the title
// ("069 …").
func (t *topic) takeBefore() {
	number, _, ok := strings.Cut(t.op.Title, " ")
	if !ok || number == "" || number[0] < '0' || number[0] > '9' {
		return
	}
	for _, o := range t.Pack.Operations {
		if o == t.op || !strings.HasPrefix(o.Title, number+" ") {
			continue
		}
		for _, s := range o.Fits {
			for _, slot := range t.Pack.Slots {
				if "slot."+slot.Name == s || slot.Name == s {
					t.slots = append(t.slots, slot)
				}
			}
		}
		for _, h := range o.Holds {
			t.addHold(h.Kind, h.Name)
		}
	}
}

// together lists the operations of the same number, in the order of the pack.
func (t *topic) together() []*pack.Operation {
	if t.op == nil {
		return nil
	}
	number, _, _ := strings.Cut(t.op.Title, " ")
	var list []*pack.Operation
	for _, o := range t.Pack.Operations {
		if o == t.op || number != "" && number[0] >= '0' && number[0] <= '9' && strings.HasPrefix(o.Title, number+" ") {
			list = append(list, o)
		}
	}
	return list
}

func (l *Lesson) kindOf(name string) (kind, same string) {
	for _, o := range l.Pack.Operations {
		if o.Name == name {
			return "operation", name
		}
	}
	for _, j := range l.Pack.Joints {
		if j.Name == name {
			return "joint", name
		}
	}
	for _, d := range l.Pack.Dimensions {
		if d.Name == name {
			return "dimension", name
		}
	}
	return "number", name
}

func (t *topic) addJoint(name string) {
	for i := range t.Assessment.Joints {
		j := &t.Assessment.Joints[i]
		if j.Name == name && (t.place == "" || j.Place == "" || j.Place == t.place) {
			t.joints = append(t.joints, j)
			return // the same at each place
		}
	}
}

func (t *topic) addHold(kind, name string) {
	for i := range t.Assessment.Results {
		r := &t.Assessment.Results[i]
		if r.Kind == kind && r.Name == name {
			for _, h := range t.holds {
				if h.Kind == kind && h.Name == name {
					return
				}
			}
			t.holds = append(t.holds, r)
			return
		}
	}
}

// wantedBoth says what a value must be, in both systems.
func wantedBoth(r *assess.Result) string {
	one := words.Wanted(r)
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		if o := words.ResultIn(r, s); o.Unit.Symbol != r.Unit.Symbol {
			return one + " (" + words.Wanted(o) + ")"
		}
	}
	return one
}

// figures are the lines that a change of would make the sheet wrong.
func (t *topic) figures() []string {
	var out []string
	for _, j := range t.joints {
		if j.Torque.Bounded() {
			out = append(out, j.Title+": torque "+rangeBothOf(j.Torque))
		}
		if j.Target.SI != 0 {
			out = append(out, j.Title+": aim for "+unitText(j.Target.SI, j.Unit, targetDecimals(j)))
		}
		for i, s := range stageTexts(j) {
			out = append(out, fmt.Sprintf("%s: stage %d %s", j.Title, i+1, s))
		}
		if j.Joint.State != "" {
			out = append(out, j.Title+": on the threads "+j.Joint.State)
		}
	}
	for _, r := range append(slices.Clone(t.result), t.holds...) {
		if w := wantedBoth(r); w != "" {
			out = append(out, r.Title+": "+w)
		}
	}
	for _, s := range t.slots {
		for _, p := range t.fitting(s) {
			out = append(out, s.Title+": "+p.Name)
		}
	}
	for _, o := range t.together() {
		if o.HasWait {
			out = append(out, o.Title+": wait "+words.Duration(o.Wait))
		}
	}
	return out
}

func targetDecimals(j *assess.Joint) int {
	if x := j.Unit.In(j.Target.SI); x == float64(int(x+0.5)) {
		return 0
	}
	return 1
}

// fitting lists the parts that fill a slot, as the pack offers them.
func (t *topic) fitting(s *pack.Slot) []*pack.Part {
	var list []*pack.Part
	for _, p := range t.Pack.Parts {
		for _, f := range p.Fills {
			if f == s.Name || f == "slot."+s.Name {
				list = append(list, p)
			}
		}
	}
	return list
}

// pattern draws the fasteners with the order in which they are gone round.
func pattern(j *assess.Joint) *Drawing {
	pts := j.Joint.Points
	if len(pts) < 2 {
		return nil
	}
	lowX, highX, lowY, highY := pts[0][0], pts[0][0], pts[0][1], pts[0][1]
	for _, p := range pts {
		lowX, highX, lowY, highY = min(lowX, p[0]), max(highX, p[0]), min(lowY, p[1]), max(highY, p[1])
	}
	const w, h, margin = 240.0, 170.0, 34.0
	k := min((w-2*margin)/max(highX-lowX, 1e-9), (h-2*margin)/max(highY-lowY, 1e-9))
	d := &Drawing{Width: w, Height: h}
	at := func(i int) (float64, float64) {
		return w/2 + k*(pts[i][0]-(lowX+highX)/2), h/2 - k*(pts[i][1]-(lowY+highY)/2)
	}
	order := j.Joint.Order
	if len(order) != len(pts) {
		order = nil
		for i := range pts {
			order = append(order, i+1)
		}
	}
	d.rect(margin*0.4, margin*0.4, w-0.8*margin, h-0.8*margin, None, Grey, 0.9)
	for i := 1; i < len(order); i++ {
		ax, ay := at(order[i-1] - 1)
		bx, by := at(order[i] - 1)
		d.add(shape{path: polyline([]float64{ax, ay, bx, by}), fill: None, stroke: Grey, width: 0.8, dash: []float64{3, 2.4}})
	}
	for n, o := range order {
		x, y := at(o - 1)
		d.circle(x, y, 12, White, Black, 1.6)
		d.word(x, y+4.6, 13, true, Black, alignMiddle, fmt.Sprint(n+1))
	}
	return d
}

// barrelFigure draws where a dimension is read, in a bar cut open.
func readingFigure(d *pack.Dimension) *Drawing {
	positions, axes := d.Plan.Positions, d.Plan.Axes
	if len(positions) == 0 {
		return nil
	}
	out := &Drawing{Width: 460, Height: 170}
	gap := 130 / float64(len(positions))
	out.rect(60, 16, 14, 140, Shade, Black, 1)
	out.rect(200, 16, 14, 140, Shade, Black, 1)
	for i, p := range positions {
		y := 16 + gap*(float64(i)+0.6)
		out.line(Black, 1.1, 76, y, 198, y)
		out.area(Black, None, 0, 75, y, 83, y-3.5, 83, y+3.5)
		out.area(Black, None, 0, 199, y, 191, y-3.5, 191, y+3.5)
		out.circle(137, y, 9, White, Black, 1.1)
		out.word(137, y+4, 11, true, Black, alignMiddle, fmt.Sprint(i+1))
		out.word(224, y+4, 10.5, false, Black, alignLeft, p)
	}
	if len(axes) > 0 {
		out.circle(380, 82, 62, Shade, Black, 1.1)
		out.circle(380, 82, 48, White, Black, 1.4)
		for i, a := range axes {
			if i == 0 {
				out.line(Black, 1.1, 380, 34, 380, 130)
				out.word(384, 56, 10.5, true, Black, alignLeft, "A "+a)
			} else if i == 1 {
				out.line(Black, 1.1, 332, 82, 428, 82)
				out.word(338, 78, 10.5, true, Black, alignLeft, "B "+a)
			}
		}
	}
	return out
}

// Handout makes the sheet of one operation or measurement: on two sides at most, in one
// colour, without anything of a job.
func (l *Lesson) Handout(of, place string) (*Sheet, error) {
	t, err := l.topic(of, place)
	if err != nil {
		return nil, err
	}
	s := t.sheet("handout")
	d := s.Document
	d.add(&Heading{Level: 1, Text: plainTitle(t.title), Stay: true, Aside: "handout, revision " + s.Code})
	d.add(&Para{Text: t.applies(), Style: Body})
	t.drawingOf(d)
	if t.op != nil {
		t.operationSheet(d)
	} else {
		t.measurementSheet(d)
	}
	t.linksOf(d)
	t.foot(d)
	return s, nil
}

// plainTitle leaves out the number that a pack's titles begin with.
func plainTitle(title string) string {
	number, rest, ok := strings.Cut(title, " ")
	if ok && len(number) <= 4 && number != "" && strings.Trim(number, "0123456789T") == "" {
		return words.Upper(rest)
	}
	return title
}

func (t *topic) sheet(what string) *Sheet {
	figures := t.figures()
	s := &Sheet{What: what, Of: t.of, Place: t.place, Figures: figures, Code: code(t.of, figures)}
	paper := t.Paper
	if paper.Width == 0 {
		paper = A4
	}
	s.Document = &Document{Title: plainTitle(t.title), Subject: t.Pack.Title, Paper: paper, Made: t.Now, Head: plainTitle(t.title),
		Foot: fmt.Sprintf("%s, revision %s. Made with Buttonup from the pack %s, revision %s. Copy freely.", day(t.Now), s.Code, t.Pack.Title, orDash(t.Pack.Revision))}
	return s
}

func (t *topic) drawingOf(d *Document) {
	for _, j := range t.joints {
		p := pattern(j)
		if p == nil {
			continue
		}
		facts := []Block{&Heading{Level: 3, Text: plainTitle(j.Title)}, &List{Items: stepItems(j), Numbered: true}}
		d.add(&Columns{Left: []Block{&Figure{Drawing: p, Says: "The pattern of the fasteners: " + orderText(j), Caption: "The figures tell the order.", Most: 150}}, Right: facts})
	}
	if t.dimension != nil {
		if f := readingFigure(t.dimension); f != nil {
			d.add(&Figure{Drawing: f, Says: "Where it is read", Most: 170})
		}
	}
}

func orderText(j *assess.Joint) string {
	var out []string
	for _, o := range j.Joint.Order {
		out = append(out, fmt.Sprint(o))
	}
	return strings.Join(out, ", ")
}

func stepItems(j *assess.Joint) []Item {
	var out []Item
	for _, s := range stageTexts(j) {
		out = append(out, Item{"", s})
	}
	return out
}

func (t *topic) operationSheet(d *Document) {
	list := t.together()
	var tools, uses, waits, notes []string
	for _, o := range list {
		for _, x := range []struct {
			to   *[]string
			text string
		}{{&tools, o.Tool}, {&tools, o.Fixture}} {
			if x.text != "" && !slices.Contains(*x.to, x.text) {
				*x.to = append(*x.to, x.text)
			}
		}
		for _, u := range o.Uses {
			if !slices.Contains(uses, u) {
				uses = append(uses, u)
			}
		}
		for _, p := range sortedPours(o) {
			uses = append(uses, p)
		}
		if o.HasWait {
			waits = append(waits, plainTitle(o.Title)+": "+words.Duration(o.Wait)+" for the "+orElse(o.WaitsFor, "next step"))
		}
		if o.Note != "" {
			notes = append(notes, o.Note)
		}
	}
	left := []Block{&Heading{Level: 3, Text: "Tools"}}
	items := []Item{}
	for _, j := range t.joints {
		if j.Joint.Socket != "" || j.Joint.Drive != "" {
			items = append(items, Item{"", "socket " + orDash(j.Joint.Socket) + ", drive " + orDash(j.Joint.Drive)})
		}
	}
	for _, x := range tools {
		items = append(items, Item{"", x})
	}
	left = append(left, &List{Items: items})
	right := []Block{&Heading{Level: 3, Text: "Parts and what goes on them"}}
	items = nil
	for _, s := range t.slots {
		sign, once := "", ""
		if s.OneUse || s.AlwaysReplace {
			sign, once = "once", " – new each time"
		}
		items = append(items, Item{sign, s.Title + once})
	}
	for _, j := range t.joints {
		if j.Joint.SingleUse {
			items = append(items, Item{"once", plainTitle(j.Title) + ": new fasteners each time"})
		}
	}
	for _, u := range uses {
		items = append(items, Item{"", u})
	}
	right = append(right, &List{Items: items})
	d.add(&Columns{Left: left, Right: right})
	if len(list) > 1 {
		d.add(&Heading{Level: 2, Text: "In this order"})
		var steps []Item
		for _, o := range list {
			steps = append(steps, Item{"", plainTitle(o.Title)})
		}
		d.add(&List{Items: steps, Numbered: true})
	}
	t.numbersTable(d)
	d.add(&Heading{Level: 2, Text: "What good looks like"})
	good := []Item{}
	for _, o := range list {
		if o.Good != "" {
			good = append(good, Item{"done", o.Good})
		}
	}
	for _, r := range t.holds {
		if r.Kind == "check" {
			good = append(good, Item{"done", r.Title + ": " + strings.Join(t.passOf(r.Name), " or ")})
		}
	}
	if len(good) == 0 {
		good = append(good, Item{"", "The pack does not say; look it up in the maker's manual."})
	}
	d.add(&List{Items: good})
	mistakes := []Item{}
	for _, o := range list {
		for _, m := range o.Mistakes {
			mistakes = append(mistakes, Item{"block", words.Upper(m)})
		}
	}
	for _, n := range notes {
		if len(mistakes) < 3 {
			mistakes = append(mistakes, Item{"block", n})
		}
	}
	if len(mistakes) > 0 {
		d.add(&Heading{Level: 2, Text: "Mistakes, and how they show"}, &List{Items: mistakes[:min(3, len(mistakes))]})
	}
	if len(waits) > 0 {
		items = nil
		for _, w := range waits {
			items = append(items, Item{"wait", w})
		}
		d.add(&Heading{Level: 2, Text: "Waits"}, &List{Items: items})
	}
	t.beforeClosing(d, list)
}

func sortedPours(o *pack.Operation) []string {
	var out []string
	for name, q := range o.Pours {
		out = append(out, strings.ReplaceAll(name, "_", " ")+" "+unitText(q.Value.SI, q.Unit, max(q.Decimals, 0)))
	}
	sort.Strings(out)
	return out
}

func (t *topic) passOf(name string) []string {
	for _, c := range t.Pack.Checks {
		if c.Name == name {
			return c.Pass
		}
	}
	return nil
}

// beforeClosing lists what must be right before the space is shut.
func (t *topic) beforeClosing(d *Document, list []*pack.Operation) {
	var closes []string
	for _, o := range list {
		for _, s := range o.Closes {
			closes = append(closes, words.Named(t.Pack, reference("space", s)))
		}
	}
	if len(closes) == 0 {
		return
	}
	var items []Item
	for _, r := range t.holds {
		if r.Kind != "check" {
			items = append(items, Item{"todo", r.Title + " " + words.Wanted(r)})
		} else {
			items = append(items, Item{"todo", r.Title})
		}
	}
	for _, o := range list {
		for _, p := range o.TakesOut {
			items = append(items, Item{"todo", "out and counted: " + strings.ToLower(words.Named(t.Pack, reference("temporary", p)))})
		}
	}
	d.add(&Heading{Level: 2, Text: "Before you close: " + strings.Join(closes, ", ")}, &List{Items: items})
}

// reference writes a name with its kind, once.
func reference(kind, name string) string { return kind + "." + strings.TrimPrefix(name, kind+".") }

// numbersTable tells every figure in both units with its source and whose it is.
func (t *topic) numbersTable(d *Document) {
	table := &Table{Small: true, Columns: []Column{{Head: "Number", Share: 50}, {Head: "", Share: 60}, {Head: "Source", Share: 40}}}
	for _, j := range t.joints {
		on := orElse(j.Joint.State, "not stated")
		text := ""
		if j.Torque.Bounded() {
			text = rangeBothOf(j.Torque)
		}
		if j.Target.SI != 0 {
			text += ", aim for " + unitText(j.Target.SI, j.Unit, targetDecimals(j))
		}
		under := fmt.Sprintf("%d × %s, on the threads: %s", max(j.Points, 1), j.Joint.Thread, on)
		if j.Joint.IsLH {
			under += ". LEFT-HAND THREAD"
		}
		table.Rows = append(table.Rows, Row{Cells: []Cell{{Text: plainTitle(j.Title) + ", torque", Bold: true}, {Text: strings.TrimPrefix(text, ", "), Bold: true}, {Text: sourceText(firstOf(j.Joint.Sources, "torque", "target"), j.Joint.Basis)}}, Under: under})
	}
	said := map[string]bool{}
	for _, r := range append(slices.Clone(t.result), t.holds...) {
		if w := wantedBoth(r); w != "" && r.Kind != "check" {
			if said[r.Title+w] {
				continue // the same at another place
			}
			said[r.Title+w] = true
			table.Rows = append(table.Rows, Row{Cells: []Cell{{Text: titled(r.Title, t.placeOf(r, w))}, {Text: w}, {Text: sourceText(r.Source, r.Basis)}}})
		}
	}
	if len(table.Rows) > 0 {
		d.add(&Heading{Level: 2, Text: "Numbers"}, table)
	}
}

// placeOf names a place only where the figure is not the same at all of them.
func (t *topic) placeOf(r *assess.Result, wanted string) string {
	for _, o := range t.result {
		if t.op == nil && wantedBoth(o) != wanted {
			return r.Place
		}
	}
	return ""
}

func (t *topic) measurementSheet(d *Document) {
	t.numbersTable(d)
	dim := t.dimension
	if dim != nil {
		var items []Item
		if dim.With != "" {
			items = append(items, Item{"", "with a " + dim.With})
		}
		if dim.Step > 0 {
			items = append(items, Item{"", "to the nearest " + unitText(dim.Step, dim.Unit, max(dim.Decimals, 0))})
		}
		if n := len(dim.Plan.Positions); n > 0 {
			items = append(items, Item{"", fmt.Sprintf("at %d heights: %s", n, strings.Join(dim.Plan.Positions, ", "))})
		}
		if n := len(dim.Plan.Axes); n > 0 {
			items = append(items, Item{"", "across: " + strings.Join(dim.Plan.Axes, ", ")})
		}
		if dim.HasMetal {
			items = append(items, Item{"", "part, gauge and ring at the same temperature, best 20 °C; note it"})
		}
		if dim.Note != "" {
			items = append(items, Item{"", dim.Note})
		}
		d.add(&Heading{Level: 2, Text: "How to take it"}, &List{Items: items})
	}
	for _, r := range t.result[:min(1, len(t.result))] {
		shown := *r
		shown.HasValue, shown.Expanded = false, 0
		shown.Verdict = measure.None
		if bar := limitBar(&shown); bar != nil {
			d.add(&Heading{Level: 2, Text: "What good looks like"}, &Figure{Drawing: bar, Says: words.Wanted(r), Most: 50},
				&Para{Text: "High is new, lower is serviceable, flat is past the limit; the post is the limit. A reading whose ± reaches across the post is too close to call.", Style: Small})
		}
	}
	if dim == nil {
		return // a torque or a number is not read into a table
	}
	d.add(&Heading{Level: 2, Text: "Your turn"})
	grid := &Table{Grid: true, Columns: []Column{{Head: "", Share: 30}}}
	axes := []string{"reading"}
	if len(dim.Plan.Axes) > 0 {
		axes = dim.Plan.Axes
	}
	for _, a := range axes {
		grid.Columns = append(grid.Columns, Column{Head: a, Share: 40})
	}
	rows := []string{"1", "2"}
	if len(dim.Plan.Positions) > 0 {
		rows = dim.Plan.Positions
	}
	for _, p := range rows {
		cells := []Cell{{Text: p}}
		for range axes {
			cells = append(cells, Cell{})
		}
		grid.Rows = append(grid.Rows, Row{Cells: cells, Blank: 20})
	}
	d.add(grid)
}

func (t *topic) linksOf(d *Document) {
	var items []Item
	for _, l := range t.Links[t.of] {
		items = append(items, Item{"point", l})
	}
	if len(items) > 0 {
		d.add(&Heading{Level: 2, Text: "Films and pages"}, &List{Items: items})
	}
}

func (t *topic) foot(d *Document) {
	for _, c := range t.cautions {
		d.add(&Para{Text: c.Title + ": " + c.Text, Style: Warning})
	}
	if t.op != nil && t.op.Caution != "" {
		d.add(&Para{Text: t.op.Caution, Style: Warning})
	}
	d.add(&Para{Text: Caution, Style: Warning})
}
