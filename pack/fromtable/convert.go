package fromtable

import (
	"fmt"
	"slices"
	"strings"
)

// Outcome is what became of one row of a table. The zero value claims nothing.
type Outcome int

const (
	// Refused means that a printed figure is not used, because it is in doubt,
	// contradicts another, or has a meaning that the table does not give.
	Refused Outcome = iota
	// Noted means that nothing was wrong, but that a printed figure stands only
	// in a note or a comment, because the pack language has no place for it.
	Noted
	// Taken means that every printed figure stands in the pack as a figure.
	Taken
)

// String returns "refused", "noted" or "taken".
func (o Outcome) String() string {
	switch o {
	case Taken:
		return "taken"
	case Noted:
		return "noted"
	}
	return "refused"
}

// Row says what became of one row of the table.
type Row struct {
	// Line is the line of the table that the row begins on; the head is line 1.
	Line int
	// Name is the name of the dimension, number or joint that the row became, ""
	// when it became none.
	Name string
	// Outcome is Taken, Noted or Refused.
	Outcome Outcome
	// Says is the reason for an outcome other than Taken. For a taken row it is
	// empty, or what a reader of the pack should know.
	Says string
}

// Options are what the table itself does not say. The zero value will do.
type Options struct {
	// ID is the pack's; left empty it is made from the manual.
	ID string
	// Title is the pack's; left empty it is made from the manual and the table.
	Title string
	// Revision is the pack's; left empty it is "1".
	Revision string
	// Manual takes only the rows of that manual. Left empty all rows are taken,
	// and where they come from several manuals the pack is a collection: names
	// and titles begin with the manual.
	Manual string
	// BothUnits gives in every source the figures in both printed units.
	BothUnits bool
}

// Convert reads a limits table or a torque table and returns the text of a pack
// and, in the order of the table, what became of each row.
//
// name is the file name of the table, for messages. The table is CSV with a head
// line, UTF-8 with or without byte order mark, separated by commas, semicolons or
// tabs. An error is a sentence that names the column or the line and says what is
// needed; there is then no pack text. A cell that cannot be read is no error: its
// row is refused.
//
// A wear allowance is added to the end that wears:
//
//	upper limit = largest new size + allowance     bore, width of a groove
//	lower limit = smallest new size − allowance    shaft, thickness, piston ring
//
// Any other feature wears at an end that the table does not name, and its limit
// is left out.
//
// Source: the reading of the allowance is proved on two manuals of one engine
// family; see docs/sources/us-army-technical-manuals.md.
func Convert(name string, csv []byte, o Options) (packText []byte, rows []Row, err error) {
	t, err := readTable(baseName(name), csv)
	if err != nil {
		return nil, nil, err
	}
	if err := t.keepManual(o.Manual); err != nil {
		return nil, nil, err
	}
	c := &conversion{table: t, options: o, collection: len(t.distinct("manual")) > 1, used: map[string]bool{}}
	if t.joints {
		c.jointRows()
	} else {
		c.limitsRows()
	}
	return c.packText(), c.rows, nil
}

// conversion is one table on its way to a pack.
type conversion struct {
	table      *table
	options    Options
	collection bool
	used       map[string]bool // names given so far
	blocks     []block
	rows       []Row
}

// done keeps what became of a row.
func (c *conversion) done(r record, name string, o Outcome, says ...string) {
	c.rows = append(c.rows, Row{Line: r.line, Name: name, Outcome: o, Says: joined(says)})
}

// source names manual and table of a row.
func source(r record) string {
	return strings.Join(nonEmpty(r.get("manual"), r.get("table")), ", ")
}

// packText writes the head of the pack and all blocks.
func (c *conversion) packText() []byte {
	manuals, tables := c.table.distinct("manual"), c.table.distinct("table")
	kind, things := "limits", "inspection limits"
	if c.table.joints {
		kind, things = "joints", "tightening torques"
	}
	id, title := c.options.ID, c.options.Title
	if c.collection {
		id = first(id, strings.TrimSuffix(c.table.name, ".csv"))
		title = first(title, fmt.Sprintf("Collection from %d manuals, not one engine: %s", len(manuals), things))
	} else {
		id = first(id, manuals[0]+" "+kind)
		where := manuals[0]
		if len(tables) == 1 {
			where = source(c.table.rows[0])
		}
		title = first(title, capital(things)+" of "+where)
	}
	if c.options.BothUnits {
		if c.options.ID == "" {
			id += ", both units"
		}
		if !strings.Contains(title, "both units") {
			title += ", with both units"
		}
	}
	counts := map[Outcome]int{}
	for _, r := range c.rows {
		counts[r.Outcome]++
	}
	head := block{kind: "pack", label: id}
	head.comment("Made from the table %s by `buttonup pack from-table`: edit the table, not this file.", c.table.name)
	head.comment("Rows of the table: %d taken, %d noted, %d refused. A row that is not taken says why.", counts[Taken], counts[Noted], counts[Refused])
	head.set("title", quote(title))
	head.set("revision", quote(first(c.options.Revision, "1")))
	head.set("source", quote(strings.Join(manuals, ", ")+": "+strings.Join(tables, ", ")))
	head.set("language", "1")
	head.set("units", quote(c.units()))
	head.set("note", quote("figures as the table prints them; they are a record of the manual named, not advice: before use compare them with the maker's manual for the engine in hand"))
	var b strings.Builder
	head.write(&b)
	for i := range c.blocks {
		b.WriteByte('\n')
		c.blocks[i].write(&b)
	}
	return []byte(b.String())
}

// units is the system of the first length or torque of the table.
func (c *conversion) units() string {
	for _, r := range c.table.rows {
		switch r.get("unit") {
		case "in", "thou", "ft-lb", "in-lb":
			return "inch"
		case "mm", "cm", "N.m":
			return "mm"
		}
	}
	return "mm"
}

// joined puts several remarks into one sentence.
func joined(parts []string) string { return strings.Join(nonEmpty(parts...), "; ") }

func nonEmpty(parts ...string) []string {
	return slices.DeleteFunc(slices.Clone(parts), func(s string) bool { return s == "" })
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
