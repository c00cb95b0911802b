package book

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/internal/qr"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

func (j *Job) plain(title string) *Document {
	d := &Document{Title: title, Subject: j.Pack.Title, Paper: j.Paper, Made: j.Now, Head: j.name() + ", " + title, Foot: j.name() + ", " + title + ", " + day(j.Now)}
	if d.Paper.Width == 0 {
		d.Paper = A4
	}
	return d
}

// StageCard prints the torques of joints large, with a blank for each pass and
// fastener: for when the phone films, or has fallen into the oil. Without names it
// prints the joints of the steps that may be done next, else every one that is not tight
// yet, or all when all are.
func (j *Job) StageCard(names []string) (*Document, error) {
	var list []*assess.Joint
	for i := range j.Assessment.Joints {
		x := &j.Assessment.Joints[i]
		if len(names) > 0 && !slices.Contains(names, x.Name) && !slices.Contains(names, "joint."+x.Name) {
			continue
		}
		if len(names) == 0 && len(torqueTexts(x)) == 0 {
			continue // the pack names no torque, so that there is nothing to tick
		}
		list = append(list, x)
	}
	if len(list) == 0 {
		return nil, ErrNothing
	}
	if len(names) == 0 {
		if next := j.nextJoints(list); len(next) > 0 {
			list = next
		}
	}
	if len(names) == 0 {
		if open := slices.DeleteFunc(slices.Clone(list), func(x *assess.Joint) bool { return x.State == "tight" }); len(open) > 0 {
			list = open
		}
	}
	d := j.plain("Stage card")
	for i, x := range list {
		// Two or three go on a sheet; none begins at the foot of one.
		stages := torqueTexts(x)
		if len(stages) == 0 {
			stages = []string{"no torque in this pack"}
		}
		figure := pattern(x)
		high := 70 + 48*float64(len(stages))
		if figure != nil {
			high += 166
		}
		d.add(&Heading{Level: 1, Stay: i > 0, Room: high, Text: titled(plainTitle(x.Title), x.Place), Aside: fmt.Sprintf("%d × %s, on the threads: %s", max(x.Points, 1), x.Joint.Thread, orElse(x.Joint.State, "not stated"))})
		if x.Joint.IsLH {
			d.add(&Para{Text: "LEFT-HAND THREAD: it tightens the other way.", Style: Warning})
		}
		if figure != nil {
			d.add(&Figure{Drawing: figure, Says: "The pattern: " + orderText(x), Most: 150})
		}
		points := max(x.Points, 1)
		t := &Table{Grid: true, Columns: []Column{{Head: "Stage", Share: 12}, {Head: "Torque", Share: 60}}}
		for n := range min(points, 12) {
			t.Columns = append(t.Columns, Column{Head: fmt.Sprint(n + 1), Share: 10})
		}
		for n, s := range stages {
			cells := []Cell{{Text: fmt.Sprint(n + 1), Bold: true}, {Text: s, Bold: true}}
			for range min(points, 12) {
				cells = append(cells, Cell{})
			}
			t.Rows = append(t.Rows, Row{Cells: cells, Blank: 34})
		}
		d.Lettering = 14
		d.add(t, &Para{Text: "Wrench: ______________________   Done at: ______________   By: ______________"})
	}
	d.add(&Para{Text: Caution, Style: Warning})
	return d, nil
}

// torqueTexts are the stages of a joint as they are printed, or its torque; none where the
// pack names none.
func torqueTexts(x *assess.Joint) []string {
	stages := stageTexts(x)
	if strings.Join(stages, "") == "" {
		stages = nil
	}
	if len(stages) == 0 && x.Torque.Bounded() {
		stages = []string{rangeBothOf(x.Torque)}
	}
	return stages
}

// nextJoints are those that the steps tighten which may be done now.
func (j *Job) nextJoints(list []*assess.Joint) []*assess.Joint {
	next := map[string]bool{}
	for _, op := range j.Assessment.Next {
		for _, o := range j.Pack.Operations {
			if o.Name == op.Name {
				for _, name := range o.Tightens {
					next[strings.TrimPrefix(name, "joint.")+" "+op.Place] = true
				}
			}
		}
	}
	var out []*assess.Joint
	for _, x := range list {
		if x.State != "tight" && (next[x.Name+" "+x.Place] || next[x.Name+" "]) {
			out = append(out, x)
		}
	}
	return out
}

// Target is what a dimension must be finished to at one place, so that every fit which
// depends on it comes out new.
type Target struct {
	Place     string
	Low, High float64
	Unit      quantity.Unit
	Decimals  int
	// Fits are the numbers that decide it; Missing says what must be read first, and
	// then there is no target.
	Fits    []string
	Missing []string
}

// Targets finds to what size a dimension must be finished: for each number that has a
// new range of two ends and depends on it, the sizes at which the number stands at its
// ends; the target is what all of them allow. Where a mate has not been measured there
// is none: no bore is finished before the very piston has been measured.
func (j *Job) Targets(name string) ([]Target, error) {
	var dim *pack.Dimension
	for _, d := range j.Pack.Dimensions {
		if d.Name == name {
			dim = d
		}
	}
	if dim == nil {
		return nil, ErrNothing
	}
	model := j.prepared()
	var out []Target
	for i := range j.Assessment.Results {
		r := &j.Assessment.Results[i]
		if r.Kind != "dimension" || r.Name != name {
			continue
		}
		out = append(out, j.target(model, r))
	}
	return out, nil
}

func (j *Job) target(model *assess.Model, r *assess.Result) Target {
	t := Target{Place: r.Place, Low: math.Inf(-1), High: math.Inf(1), Unit: r.Unit, Decimals: max(r.Decimals, r.New.Decimals, 0)}
	at := r.Value
	if !r.HasValue {
		switch {
		case r.New.HasLow && r.New.HasHigh:
			at = (r.New.Low + r.New.High) / 2
		case r.New.HasLow:
			at = r.New.Low
		case r.New.HasHigh:
			at = r.New.High
		case r.Limit.HasHigh:
			at = r.Limit.High
		}
	}
	suppose := func(x float64) *assess.Assessment {
		v := quantity.Value{SI: x, Dimension: r.Unit.Dimension}
		return model.Assess(j.State, assess.Options{Suppose: []assess.Supposition{{Name: r.Name, Place: r.Place, Value: v}}})
	}
	step := math.Max(math.Abs(at)*1e-4, 1e-6)
	low, high := suppose(at), suppose(at+step)
	for i := range low.Results {
		a, b := &low.Results[i], &high.Results[i]
		if a.Kind != "number" || !a.New.HasLow || !a.New.HasHigh {
			continue
		}
		if !a.HasValue {
			// It may be this dimension or a mate that is missing.
			if a.Place == r.Place && dependsOn(j.Pack, a.Name, r.Name) {
				for _, m := range a.Missing {
					t.Missing = append(t.Missing, words.Named(j.Pack, m))
				}
			}
			continue
		}
		slope := (b.Value - a.Value) / step
		if !b.HasValue || math.Abs(b.Value-a.Value) < 1e-12*math.Max(1, math.Abs(a.Value)) || slope == 0 {
			continue
		}
		x0, x1 := at+(a.New.Low-a.Value)/slope, at+(a.New.High-a.Value)/slope
		if x0 > x1 {
			x0, x1 = x1, x0
		}
		if x0 > t.Low || x1 < t.High {
			t.Fits = append(t.Fits, titled(a.Title, a.Place)+" "+words.Wanted(a))
		}
		t.Low, t.High = math.Max(t.Low, x0), math.Min(t.High, x1)
	}
	slices.Sort(t.Missing)
	t.Missing = slices.Compact(t.Missing)
	return t
}

// dependsOn says whether a number's formula names a dimension, directly.
func dependsOn(p *pack.Pack, number, dimension string) bool {
	for _, n := range p.Numbers {
		if n.Name == number && n.Value != nil {
			for _, x := range n.Value.Uses {
				if x.Thing != nil && x.Thing.Name == dimension {
					return true
				}
			}
		}
	}
	return false
}

// Known says whether there is a target.
func (t Target) Known() bool {
	return len(t.Missing) == 0 && t.Low <= t.High && !math.IsInf(t.Low, 0) && !math.IsInf(t.High, 0)
}

// Text prints a target as a size with its tolerance, in both systems.
func (t Target) Text() string {
	middle, half := (t.Low+t.High)/2, (t.High-t.Low)/2
	one := fmt.Sprintf("%s ± %s", t.Unit.Text(middle, t.Decimals), quantity.FormatNumber(t.Unit.InDifference(half), t.Decimals+1))
	for _, s := range []quantity.System{quantity.Metric, quantity.Inch} {
		if u, d := words.UnitIn(t.Unit, t.Decimals, s); u.Symbol != t.Unit.Symbol {
			one += fmt.Sprintf(" (%s ± %s)", u.Text(middle, max(d, 0)), quantity.FormatNumber(u.InDifference(half), max(d, 0)+1))
		}
	}
	return one
}

// Sublet is what somebody else needs in writing: the size with its tolerance, where it
// is taken, which goes with which, and what comes back.
func (j *Job) Sublet(name, to, asked string) (*Document, error) {
	targets, err := j.Targets(strings.TrimPrefix(name, "dimension."))
	if err != nil {
		return nil, err
	}
	d := j.plain("Work for outside")
	var dim *pack.Dimension
	for _, x := range j.Pack.Dimensions {
		if x.Name == strings.TrimPrefix(name, "dimension.") {
			dim = x
		}
	}
	d.add(&Heading{Level: 1, Text: "Please finish: " + dim.Title, Aside: orElse(to, "to: ____________________")})
	if asked != "" {
		d.add(&Para{Text: asked, Style: Lead})
	}
	t := &Table{Columns: []Column{{Head: "Piece", Share: 26}, {Head: "As it is", Share: 34}, {Head: "Finish to", Share: 56}}}
	for i := range targets {
		x := &targets[i]
		now := ""
		for k := range j.Assessment.Results {
			if r := &j.Assessment.Results[k]; r.Kind == "dimension" && r.Name == dim.Name && r.Place == x.Place && r.HasValue {
				now, _ = j.both(r)
			}
		}
		row := Row{Cells: []Cell{{Text: titled(dim.Title, x.Place), Bold: true}, {Text: orElse(now, "not read")}}}
		switch {
		case x.Known():
			row.Cells = append(row.Cells, Cell{Text: x.Text(), Bold: true})
			row.Under = "so that: " + strings.Join(x.Fits, "; ")
		case len(x.Missing) > 0:
			row.Cells = append(row.Cells, Cell{Text: "NO SIZE YET", Sign: "block", Bold: true})
			row.Under = "Not before this has been measured: " + strings.Join(x.Missing, ", ") + ". Do not finish to a size from a table."
		case x.Low > x.High && !math.IsInf(x.Low, 0):
			row.Cells = append(row.Cells, Cell{Text: "NO SIZE FITS", Sign: "worn", Bold: true})
			row.Under = "What is asked of it cannot all be met: " + strings.Join(x.Fits, "; ")
		default:
			row.Cells = append(row.Cells, Cell{Text: "as the pack: " + dimWanted(j, dim.Name, x.Place)})
		}
		t.Rows = append(t.Rows, row)
	}
	d.add(t)
	if f := readingFigure(dim); f != nil {
		d.add(&Figure{Drawing: f, Says: "Where it is measured", Most: 150})
	}
	var items []Item
	if n := len(dim.Plan.Positions); n > 0 {
		items = append(items, Item{"", "Measured at " + strings.Join(dim.Plan.Positions, ", ") + orText(", across ", strings.Join(dim.Plan.Axes, ", "))})
	}
	if dim.HasMetal {
		items = append(items, Item{"", "Sizes are at 20 °C"})
	}
	if dim.Note != "" {
		items = append(items, Item{"", dim.Note})
	}
	items = append(items, Item{"", "Each piece goes with its own mate, as marked. They are not to be changed over."},
		Item{"todo", "What comes back: every piece, dowel, plug, stud and tag that was sent"},
		Item{"todo", "Please write down the finished size of each piece: ____________________"},
		Item{"todo", "If the size cannot be held, stop and ring before the last cut"})
	d.add(&Heading{Level: 2, Text: "How"}, &List{Items: items}, &Signs{List: []Sign{{"", "sent, date"}, {"", "received back, date"}}})
	return d, nil
}

func dimWanted(j *Job, name, place string) string {
	for i := range j.Assessment.Results {
		if r := &j.Assessment.Results[i]; r.Kind == "dimension" && r.Name == name && r.Place == place {
			return orElse(words.Wanted(r), "no limit in the pack")
		}
	}
	return "no limit in the pack"
}

func orText(before, text string) string {
	if text == "" {
		return ""
	}
	return before + text
}

// Label is what one label says and opens.
type Label struct{ Head, Text, Address string }

// LabelsFor makes labels for the trays and parts of a job: one a space, and one for
// each part that is here. Scanning one opens that very tray or part.
func (j *Job) LabelsFor(address string) []Label {
	base := strings.TrimSuffix(address, "/") + "/job/" + url.PathEscape(j.ID)
	list := []Label{{j.name(), j.title(), base}}
	for _, s := range j.Assessment.Spaces {
		list = append(list, Label{j.name(), "Tray: " + titled(s.Title, s.Place), base + at("space", s.Name, s.Place)})
	}
	b := &builder{Job: j}
	for _, l := range b.lives() {
		switch l.last.State {
		case journal.Received, journal.Kept, journal.Back, journal.Sent:
			list = append(list, Label{j.name(), l.slotTitle + ": " + orDash(l.partTitle()) + orText(", lot ", l.lot), base + at("slot", l.slot, l.place)})
		}
	}
	return list
}

// at is where a label leads to below the job: /at/KIND.NAME, with the place behind it.
func at(kind, name, place string) string {
	return "/at/" + url.PathEscape(strings.TrimSpace(kind+"."+name+" "+place))
}

// BagLabel is one for a bag or box with a text of its own; scanning it opens what was
// noted of that bag.
func (j *Job) BagLabel(address, text string) Label {
	return Label{j.name(), text, strings.TrimSuffix(address, "/") + "/job/" + url.PathEscape(j.ID) + at("bag", text, "")}
}

// Labels prints labels, three across and eight down, each with its code.
func (j *Job) Labels(list []Label) (*Document, error) {
	d := j.plain("Labels")
	const w, h = 170.0, 84.0
	perRow, perSheet := 3, 24
	if d.Paper == Letter {
		perSheet = 21
	}
	for at := 0; at < len(list); at += perSheet {
		page := list[at:min(at+perSheet, len(list))]
		rows := (len(page) + perRow - 1) / perRow
		drawing := &Drawing{Width: w * float64(perRow), Height: h * float64(rows)}
		for i, l := range page {
			x, y := float64(i%perRow)*w, float64(i/perRow)*h
			drawing.rect(x+2, y+2, w-4, h-4, None, Line, 0.5)
			squares, err := qr.Squares(l.Address)
			if err != nil {
				return nil, err
			}
			drawing.squares(squares, x+6, y+9, 66)
			drawing.word(x+76, y+19, 9.5, true, Black, alignLeft, fitWord(l.Head, 17))
			for n, line := range cut(l.Text, 19, 5) {
				drawing.word(x+76, y+32+11*float64(n), 8.4, false, Black, alignLeft, line)
			}
		}
		if at > 0 {
			d.add(&Break{})
		}
		d.add(&Figure{Drawing: drawing, Says: words.Count(len(page), "label", "labels"), Most: d.Paper.Height - 120})
	}
	return d, nil
}

// squares draws a QR code into a box of a size, with the white round it.
func (d *Drawing) squares(squares [][]bool, x, y, size float64) {
	k := size / float64(len(squares)+2*qr.Quiet)
	for r, row := range squares {
		for c := 0; c < len(row); {
			if !row[c] {
				c++
				continue
			}
			n := c
			for n < len(row) && row[n] {
				n++
			}
			d.rect(x+k*float64(c+qr.Quiet), y+k*float64(r+qr.Quiet), k*float64(n-c), k*1.01, Black, None, 0)
			c = n
		}
	}
}

func fitWord(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

// cut breaks a text into at most so many lines of at most so many letters.
func cut(text string, width, most int) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(text) {
		switch {
		case line == "":
			line = w
		case len([]rune(line))+1+len([]rune(w)) <= width:
			line += " " + w
		default:
			lines = append(lines, fitWord(line, width))
			line = w
		}
	}
	if line != "" {
		lines = append(lines, fitWord(line, width))
	}
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] = fitWord(lines[most-1]+"…", width)
	}
	return lines
}
