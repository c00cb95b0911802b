package fromtable

import (
	"fmt"
	"slices"
	"strings"
)

// figureColumns are the columns of a limits table that hold figures.
var figureColumns = []string{"new_min", "new_max", "wear_limit", "desired_clearance_min", "desired_clearance_max", "max_allowable_clearance"}

// inPack is how the pack language writes the printed unit of a feature, and
// whether it can. Pounds and kilograms of a spring or a pull are forces.
func inPack(unit, feature string) (string, bool) {
	force := feature == "force"
	switch unit {
	case "in", "thou", "mm", "cm":
		return unit, !force && feature != "angle" && feature != "count"
	case "lb":
		return "lbf", force
	case "kg":
		return "kgf", force
	case "N":
		return "N", force
	case "degree", "degree minute":
		return "deg", feature == "angle"
	case "count":
		return "", feature == "count"
	}
	return "", false
}

// sized is a row of a limits table with its figures read.
type sized struct {
	record
	name, title, unit string
	read              map[string]figure
	unreadable        []string
}

// limitsRows makes a dimension of every row.
func (c *conversion) limitsRows() {
	rows := make([]sized, len(c.table.rows))
	for i, r := range c.table.rows {
		rows[i] = c.sizedRow(r)
	}
	var group, page string
	for i := range rows {
		from := len(c.blocks)
		c.limitsRow(rows, i)
		var heading []string
		if g := capital(rows[i].get("component")); g != group {
			group, heading = g, append(heading, "== "+g)
		}
		if p := rows[i].get("page_address"); p != page {
			page, heading = p, append(heading, "Page: "+p)
		}
		for j := range heading {
			heading[j] = clean(heading[j])
		}
		c.blocks[from].comments = append(heading, c.blocks[from].comments...)
	}
}

// sizedRow names a row and reads its cells.
func (c *conversion) sizedRow(r record) sized {
	s := sized{record: r, read: map[string]figure{}}
	s.title = c.titleOf(r, r.get("component"), r.get("characteristic"), r.get("position"))
	var known bool
	if s.unit, known = inPack(r.get("unit"), r.get("feature")); !known {
		return s
	}
	s.name = c.givenName(c.collectionPrefix(r), r.get("component"), r.get("characteristic"), r.get("position"))
	for _, column := range figureColumns {
		cell := r.get(column)
		if cell == "" {
			continue
		}
		read := readFigure
		if r.get("unit") == "degree minute" {
			read = readDegrees
		}
		if f, err := read(cell); err != nil {
			s.unreadable = append(s.unreadable, err.Error())
		} else {
			s.read[column] = f
		}
	}
	return s
}

// figure returns the figure under a column, nil where none is printed.
func (s sized) figure(column string) *figure {
	if f, ok := s.read[column]; ok {
		return &f
	}
	return nil
}

// figures returns all figures of a row in the order of the columns.
func (s sized) figures() []*figure {
	var all []*figure
	for _, column := range figureColumns {
		if f := s.figure(column); f != nil {
			all = append(all, f)
		}
	}
	return all
}

// printed quotes the cells of a row as they stand, with or without the twins.
func (s sized) printed(suffix string) string {
	cell := func(column string) string { return s.get(column + suffix) }
	var parts []string
	pair := func(what, low, high string) {
		if low != "" && high != "" {
			parts = append(parts, what+low+" .. "+high)
		} else if low+high != "" {
			parts = append(parts, what+low+high)
		}
	}
	pair("new ", cell("new_min"), cell("new_max"))
	if limit := cell("wear_limit"); limit != "" {
		parts = append(parts, first(s.get("wear_limit_kind"), "limit")+" "+limit)
	}
	pair("desired clearance ", cell("desired_clearance_min"), cell("desired_clearance_max"))
	if most := cell("max_allowable_clearance"); most != "" {
		parts = append(parts, "max clearance "+most)
	}
	if parts == nil {
		return ""
	}
	unit := s.shownUnit()
	if suffix != "" {
		unit = twinOf(unit, s.get("twin_unit")).name
	}
	return withUnit(strings.Join(parts, ", "), unit)
}

// shownUnit is the printed unit as people read it; a count has none.
func (r record) shownUnit() string {
	if unit := r.get("unit"); unit != "count" {
		return unit
	}
	return ""
}

// twinNote quotes the twins.
func (s sized) twinNote() string {
	if twin := s.printed("_twin"); twin != "" {
		return "printed too: " + twin
	}
	return ""
}

// tableNote quotes the note of the row.
func (s sized) tableNote() string {
	if note := s.get("note"); note != "" {
		return "table note: " + note
	}
	return ""
}

// source is the source of a figure of the row; with both units it quotes them.
func (c *conversion) source(s sized, more string) string {
	out := source(s.record)
	if more != "" {
		out += ", " + more
	}
	if c.options.BothUnits {
		out += ": printed " + s.printed("")
		if twin := s.printed("_twin"); twin != "" {
			out += " and " + twin
		}
	}
	return out
}

// limitsRow writes row i of a limits table.
func (c *conversion) limitsRow(rows []sized, i int) {
	s := rows[i]
	switch {
	case s.name == "":
		says := fmt.Sprintf("the unit %q of a %q has no place in the pack language", s.get("unit"), s.get("feature"))
		b := block{}
		b.comment("Not taken: %s, %s: %s", s.title, s.printed(""), joined([]string{says, s.doubt(), s.tableNote()}))
		c.blocks = append(c.blocks, b)
		c.done(s.record, "", Refused, says, s.doubt())
	case s.get("confidence") == "doubtful":
		c.without(s, s.doubt())
	case s.unreadable != nil:
		c.without(s, "cannot be read: "+strings.Join(s.unreadable, ", "))
	default:
		remarks, clash := twins(s.record, s.read)
		if clash != "" {
			c.without(s, clash)
			return
		}
		c.certain(rows, i, remarks)
	}
}

// doubt says what is in doubt, "" for an aligned row.
func (s sized) doubt() string {
	if s.get("confidence") != "doubtful" {
		return ""
	}
	what := "in doubt: " + first(s.get("doubt"), "not said why")
	if repair := s.get("repair"); repair != "" {
		what += ", a repair is suggested and not applied: " + repair
	}
	return what
}

// without writes a dimension that has no new range and no limit, so that readings
// can be kept and nothing can be passed by them. The printed cells go into its
// note.
func (c *conversion) without(s sized, reason string) {
	b := block{kind: "dimension", label: s.name}
	if s.get("confidence") == "doubtful" {
		b.comment("In doubt (%s): %s", first(s.get("doubt"), "not said why"), strings.Join(nonEmpty(s.printed(""), s.printed("_twin")), "; twin "))
	} else {
		b.comment("Not taken: %s", s.printed(""))
	}
	b.set("title", quote(s.title))
	if step := s.commonStep(); step != "" {
		b.set("step", quote(withUnit(step, s.unit)))
	}
	b.set("note", quote(joined([]string{reason, "printed: " + s.printed(""), s.twinNote(), s.tableNote(), "source: " + source(s.record)})))
	c.blocks = append(c.blocks, b)
	c.done(s.record, s.name, Refused, reason)
}

// commonStep is the last place that most figures of a doubtful row share, the
// coarser of two; figures without a point count only if there are no others.
func (s sized) commonStep() string {
	count := map[int]int{}
	for _, f := range s.figures() {
		if f.places != 0 {
			count[f.places]++
		}
	}
	best := 0
	for _, places := range []int{1, 2, 3, 4, 5, 6, 7, 8} {
		if count[places] > count[best] {
			best = places
		}
	}
	figures := slices.DeleteFunc(s.figures(), func(f *figure) bool { return f.places != best })
	if len(figures) == 0 {
		figures = s.figures()
	}
	if len(figures) == 0 {
		return ""
	}
	return writeStep(figures[0].last)
}

func withUnit(text, unit string) string { return strings.TrimSpace(text + " " + unit) }

// certain writes the dimension of a row whose cells are sure, and a second one
// where a clearance of the pair is printed beside a size.
func (c *conversion) certain(rows []sized, i int, remarks []string) {
	s := rows[i]
	d, refusal := sizeOf(s)
	if refusal != "" {
		c.without(s, refusal)
		return
	}
	if d.negative() {
		signedFit(rows, i, &d)
	}
	d.remarks = remarks
	c.blocks = append(c.blocks, d.block(c))
	if d.pair.printed() {
		c.pairRow(rows, s, &d)
	}
	c.done(s.record, s.name, d.outcome, slices.Concat(d.says, remarks)...)
}
