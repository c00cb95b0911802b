package book

import (
	"time"
)

// Paper is a size of sheet.
type Paper struct {
	Name string
	// Width and Height are in points, a 72nd of an inch.
	Width, Height float64
}

// The papers that a book may be printed on.
var (
	A4     = Paper{"A4", 595.28, 841.89}
	Letter = Paper{"letter", 612, 792}
)

// Document is what is to be printed, before it is laid out. Both back ends, PDF and
// HTML, show all of it.
type Document struct {
	Title, Subject string
	// Head stands above the line at the top of each sheet but the first, Foot at its
	// foot; the number of the sheet is added.
	Head, Foot string
	Paper      Paper
	// Made is the time that the file tells; nothing else of it depends on the clock.
	Made   time.Time
	Blocks []Block
	// Lettering is how large text in tables is, in points; 0 is the usual size.
	Lettering float64
}

func (d *Document) add(blocks ...Block) { d.Blocks = append(d.Blocks, blocks...) }

// Block is one piece of a document: *Heading, *Para, *Table, *Figure, *Photos,
// *Fields, *Signs, *List, *Columns or *Break.
type Block interface{ block() }

// Heading begins a section. One of level 1 begins a sheet and is a bookmark, one of
// level 2 is a bookmark below it.
type Heading struct {
	Level int
	Text  string
	// Aside stands at the right of the line, small.
	Aside string
	// Stay keeps a heading of level 1 on the sheet under way, if so many points are left
	// below it.
	Stay bool
	Room float64
}

// Style is how a paragraph looks.
type Style uint8

// The styles.
const (
	Body Style = iota
	Lead
	Small
	Warning // a heavy line at its left
)

// Para is a paragraph.
type Para struct {
	Text  string
	Style Style
	// PaperOnly leaves it out of a page of HTML: it tells of the PDF file itself.
	PaperOnly bool
}

// List is a list; each item has a sign before it.
type List struct {
	Items []Item
	// Numbered counts the items instead.
	Numbered bool
}

// Item is one line of a list.
type Item struct {
	Sign, Text string
}

// Column is a column of a table.
type Column struct {
	Head string
	// Share is how wide it is beside the others.
	Share float64
	Right bool
}

// Cell is one cell. Second stands under it, smaller.
type Cell struct {
	Text, Second string
	Bold         bool
	// Sign is a glyph before the text; Ink colours both.
	Sign string
	Ink  Ink
	Bar  *Drawing
}

// Row is one row of a table.
type Row struct {
	Cells []Cell
	// Under stands below the cells across the whole table, small.
	Under string
	// Group is a heading within the table; the row has no cells then.
	Group string
	// Struck rows are struck through and stay readable.
	Struck bool
	// Blank rows leave room to write: the height in points.
	Blank float64
}

// Table is a table whose head is repeated on each sheet.
type Table struct {
	Columns []Column
	Rows    []Row
	// Grid draws lines around every cell, for a table that is filled in by pen.
	Grid bool
	// Small sets it in small letters.
	Small bool
}

// Figure is a drawing across the sheet.
type Figure struct {
	Drawing *Drawing
	// Says is what the drawing shows, for those who cannot see it, and Caption what
	// stands below it.
	Says, Caption string
	// Most is the greatest height in points; 0 is half a sheet.
	Most float64
}

// Photo is a picture of the bench.
type Photo struct {
	SHA256  string
	Caption string
	// Content is a JPEG or PNG file; empty where it is not there or cannot be printed,
	// and Missing then says why.
	Content []byte
	Missing string
}

// Photos are pictures, two side by side.
type Photos struct{ List []Photo }

// Field is a label and what stands under it.
type Field struct{ Label, Text string }

// Fields is a block of ruled fields.
type Fields struct {
	PerRow int
	List   []Field
}

// Sign is a line to sign on.
type Sign struct{ Text, Under string }

// Signs are signature lines, side by side.
type Signs struct{ List []Sign }

// Columns are blocks side by side. Share is how much of the width the left ones have, 0
// for half.
type Columns struct {
	Left, Right []Block
	Share       float64
}

// Break ends the sheet.
type Break struct{}

// Cover is the frame of a first sheet: what stands at its head, a drawing, fields at
// its foot.
type Cover struct {
	Shop, Title, Sub string
	Drawing          *Drawing
	Says             string
	Fields           *Fields
	Signs            []string
}

func (*Heading) block() {}
func (*Para) block()    {}
func (*List) block()    {}
func (*Table) block()   {}
func (*Figure) block()  {}
func (*Photos) block()  {}
func (*Fields) block()  {}
func (*Signs) block()   {}
func (*Columns) block() {}
func (*Break) block()   {}
func (*Cover) block()   {}
