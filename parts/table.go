package parts

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"buttonup/formula"
	"buttonup/pack"
)

// TableRow says what became of one row of a parts table.
type TableRow struct {
	// Line is the line of the table that the row begins on; the head is line 1.
	Line int
	// Part is the number that the row is about, as far as it could be read.
	Part string
	// Understood lists what was taken from the row. It stands empty where the row was
	// refused: no row is taken in part.
	Understood []string
	// Refused says what was wrong and what to do, one entry a fault.
	Refused []string
}

// Taken reports whether the row was understood whole.
func (r *TableRow) Taken() bool { return len(r.Refused) == 0 }

// Table is a parts table that was read against a pack.
type Table struct {
	Rows []TableRow
	// Text is pack text of the rows that were understood; it extends the pack without
	// a mistake.
	Text []byte
	// Notes say what holds of the whole table: a column that was not understood.
	Notes []string
}

// Refused counts the rows that were refused.
func (t *Table) Refused() int {
	n := 0
	for i := range t.Rows {
		if !t.Rows[i].Taken() {
			n++
		}
	}
	return n
}

// The columns of a parts table, each with the heads it goes by. The first is the one
// that the documentation names.
var tableColumns = map[string][]string{
	"part":       {"part", "part number", "part no", "number", "maker number", "maker's number"},
	"title":      {"title", "description", "name", "what"},
	"fills":      {"fills", "slot", "slots", "place", "for"},
	"marked":     {"marked", "marked number", "stamped"},
	"supersedes": {"supersedes", "superseded", "replaces"},
	"supplier":   {"supplier", "seller", "from"},
	"order":      {"seller's number", "supplier number", "supplier's number", "order number", "order no"},
	"price":      {"price", "cost"},
	"currency":   {"currency"},
	"lead":       {"lead", "lead time", "days"},
	"pack":       {"pack", "pack of", "sold by"},
	"fits":       {"fits", "condition"},
	"has":        {"has", "features"},
	"needs":      {"needs"},
	"excludes":   {"excludes"},
	"families":   {"families", "family"},
	"years":      {"years"},
	"engines":    {"engines", "engine numbers"},
	"sizes":      {"sizes", "size"},
	"look":       {"look", "what to look at"},
	"looks_like": {"looks like"},
	"note":       {"note", "remark"},
	"sheet":      {"sheet", "maker's paper"},
	"count":      {"count", "how many"},
}

// mostTableRows bounds a table: a shop's own is a few hundred rows.
const mostTableRows = 50_000

// ReadTable reads a table of parts and offers (CSV, the first line the heads) against
// a pack.
//
// A row is taken whole or refused whole, with what was understood or what was wrong.
// A part that the pack has already is not changed: its row can only add an offer. What
// is taken together extends the pack without a mistake; a row that would bring one is
// refused with it. Amounts are decimal with a point; commas, signs of money and
// formulas are refused, never guessed.
func ReadTable(text []byte, p *pack.Pack) (*Table, error) {
	r := &tableReader{catalogue: NewCatalogue(p), table: &Table{}, seen: map[string]int{}, offered: map[string]int{}, sellers: map[string]bool{}}
	if err := r.read(text); err != nil {
		return nil, err
	}
	r.check(p)
	return r.table, nil
}

type tableReader struct {
	catalogue *Catalogue
	table     *Table
	columns   map[int]string
	seen      map[string]int // line of a part's first row
	offered   map[string]int // line of an offer's first row
	sellers   map[string]bool
	texts     []string // pack text of each row
}

func (r *tableReader) read(text []byte) error {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(text))
	c.Comma = separatorOf(text)
	c.FieldsPerRecord = -1
	c.LazyQuotes = false
	head, err := c.Read()
	if err == io.EOF {
		return fmt.Errorf("the table is empty")
	}
	if err != nil {
		return fmt.Errorf("the table cannot be read: %w", err)
	}
	if err := r.heads(head); err != nil {
		return err
	}
	for {
		fields, err := c.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("the table cannot be read: %w; a quote in a cell is written twice", err)
		}
		line, _ := c.FieldPos(0)
		if len(r.table.Rows) == mostTableRows {
			return fmt.Errorf("the table has more than %d rows: split it", mostTableRows)
		}
		if !slices.ContainsFunc(fields, func(s string) bool { return strings.TrimSpace(s) != "" }) {
			continue
		}
		r.row(line, fields, len(head))
	}
}

// separatorOf finds what parts the cells: a comma, or the semicolon or tab of other
// spreadsheets, judged by the first line.
func separatorOf(text []byte) rune {
	head, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', bytes.Count(head, []byte(","))
	for _, s := range []rune{';', '\t'} {
		if n := bytes.Count(head, []byte(string(s))); n > most {
			best, most = s, n
		}
	}
	return best
}

func (r *tableReader) heads(head []string) error {
	r.columns = map[int]string{}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(strings.ReplaceAll(h, "’", "'")))
		name := ""
		for column, words := range tableColumns {
			if slices.Contains(words, strings.ReplaceAll(h, "_", " ")) || h == column {
				name = column
			}
		}
		switch {
		case h == "":
		case name == "":
			r.table.Notes = append(r.table.Notes, fmt.Sprintf("the column %q is not understood and was left out", head[i])+r.nearestHead(h))
		case r.columnAt(name) >= 0:
			return fmt.Errorf("two columns are the %s: leave one out", tableColumns[name][0])
		default:
			r.columns[i] = name
		}
	}
	if r.columnAt("part") < 0 {
		return fmt.Errorf("no column holds the part numbers: head one with %q", "part")
	}
	return nil
}

func (r *tableReader) nearestHead(h string) string {
	var all []string
	for _, words := range tableColumns {
		all = append(all, words...)
	}
	slices.Sort(all)
	if near := formula.Nearest(h, all); near != "" {
		return fmt.Sprintf("; perhaps %q is meant", near)
	}
	return ""
}

func (r *tableReader) columnAt(name string) int {
	for i, n := range r.columns {
		if n == name {
			return i
		}
	}
	return -1
}

// row reads one row into pack text, or refuses it.
func (r *tableReader) row(line int, fields []string, width int) {
	w := &rowWriter{reader: r, row: TableRow{Line: line}, cells: map[string]string{}}
	if len(fields) > width && slices.ContainsFunc(fields[width:], func(s string) bool { return strings.TrimSpace(s) != "" }) {
		w.refuse("the row has %d cells, and the head %d: put a cell that holds a separator in quotes", len(fields), width)
	}
	for i, name := range r.columns {
		if i < len(fields) {
			w.cells[name] = strings.TrimSpace(fields[i])
		}
	}
	w.row.Part = w.cells["part"]
	text := w.write()
	if !w.row.Taken() {
		text, w.row.Understood = "", nil
	}
	r.table.Rows = append(r.table.Rows, w.row)
	r.texts = append(r.texts, text)
}

// check extends the pack by what was understood and refuses the rows that bring
// mistakes, until none is left.
func (r *tableReader) check(p *pack.Pack) {
	for range r.texts {
		var b strings.Builder
		var ends []int // the last line of each row's text
		lines := 0
		for _, t := range r.texts {
			b.WriteString(t)
			lines += strings.Count(t, "\n")
			ends = append(ends, lines)
		}
		text := []byte(b.String())
		if lines == 0 {
			return
		}
		_, mistakes := p.Extend(pack.File{Name: "table", Text: text})
		if len(mistakes) == 0 {
			r.table.Text = text
			return
		}
		refused := false
		for _, m := range mistakes {
			i, _ := slices.BinarySearch(ends, m.Span.Line)
			if m.Span.File != "table" || i >= len(ends) {
				continue
			}
			row := &r.table.Rows[i]
			row.Refused = append(row.Refused, m.Says+inFront("; ", m.Do))
			row.Understood = nil
			refused = true
		}
		for i := range r.texts {
			if !r.table.Rows[i].Taken() {
				r.texts[i] = ""
			}
		}
		if !refused { // a mistake of the whole that no row owns
			for i := range r.table.Rows {
				if r.texts[i] != "" {
					r.table.Rows[i].Refused = []string{mistakes[0].Says + inFront("; ", mistakes[0].Do)}
					r.table.Rows[i].Understood, r.texts[i] = nil, ""
				}
			}
			return
		}
	}
}

func inFront(with, s string) string {
	if s == "" {
		return ""
	}
	return with + s
}

// rowWriter turns one row into pack text.
type rowWriter struct {
	reader *tableReader
	row    TableRow
	cells  map[string]string
}

func (w *rowWriter) refuse(format string, args ...any) {
	w.row.Refused = append(w.row.Refused, fmt.Sprintf(format, args...))
}

func (w *rowWriter) understood(format string, args ...any) {
	w.row.Understood = append(w.row.Understood, fmt.Sprintf(format, args...))
}

func (w *rowWriter) write() string {
	for _, name := range sortedKeys(w.cells) {
		switch s := w.cells[name]; {
		case strings.HasPrefix(s, "="), strings.HasPrefix(s, "@"):
			w.refuse("the cell %s holds a formula (%s): put its value there", name, s)
		case strings.ContainsAny(s, "\n\r\t"):
			w.cells[name] = strings.Join(strings.Fields(s), " ")
		}
	}
	id := w.cells["part"]
	switch {
	case id == "":
		w.refuse("the row names no part: fill in its number")
	case strings.ContainsAny(id, `"`):
		w.refuse("the number %s holds a quote: leave it out", id)
	}
	var b strings.Builder
	known := w.reader.catalogue.Part(id)
	before, again := w.reader.seen[id]
	switch {
	case known == nil && !again:
		w.part(&b, id)
	case again:
		w.offerOnly(id, fmt.Sprintf("line %d", before))
	default:
		w.offerOnly(id, "the pack")
	}
	w.offer(&b, id)
	if w.row.Taken() {
		if !again {
			w.reader.seen[id] = w.row.Line
		}
		if s := w.cells["supplier"]; s != "" {
			w.reader.sellers[s] = true
			w.reader.offered[s+"\n"+id] = w.row.Line
		}
	}
	return b.String()
}

// offerOnly is for a row about a part that is there already.
func (w *rowWriter) offerOnly(id, where string) {
	if w.cells["supplier"] == "" {
		w.refuse("part %s stands in %s already, and the row offers nothing new: name a seller and a price, or leave the row out", id, where)
		return
	}
	if known := w.reader.catalogue.Part(id); known != nil {
		if t := w.cells["title"]; t != "" && known.Title != id && !strings.EqualFold(t, known.Title) {
			w.refuse("part %s is %q in the pack and %q here: correct one of them, it may be another part", id, known.Title, t)
			return
		}
	}
	w.understood("part %s of %s stays as it is", id, where)
}

func (w *rowWriter) part(b *strings.Builder, id string) {
	slots := w.slots()
	if len(slots) == 0 && w.row.Taken() {
		w.refuse("it is not said what the part fills: name a slot in the column %q", "fills")
	}
	fmt.Fprintf(b, "part %s {\n", quote(id))
	w.understood("part %s for %s", id, w.slotTitles(slots))
	w.text(b, "title", "title")
	names := make([]string, len(slots))
	for i, s := range slots {
		names[i] = "slot." + s
	}
	fmt.Fprintf(b, "  fills = [%s]\n", strings.Join(names, ", "))
	if n := w.cells["count"]; n != "" && len(slots) == 1 {
		if k, err := strconv.Atoi(n); err != nil || k < 1 {
			w.refuse("the count %q is no whole number from 1", n)
		} else if k > 1 {
			fmt.Fprintf(b, "  count = { %s = %d }\n", slots[0], k)
			w.understood("%d in one", k)
		}
	}
	var numbers []string
	if m := w.cells["marked"]; m != "" {
		numbers = append(numbers, "marked = "+quote(m))
		w.understood("marked %s", m)
	}
	if len(numbers) > 0 {
		fmt.Fprintf(b, "  numbers = { %s }\n", strings.Join(numbers, ", "))
	}
	if f := w.cells["fits"]; f != "" {
		fmt.Fprintf(b, "  fits = %s\n", strings.Join(strings.Fields(f), " "))
		w.understood("fits where %s", f)
	}
	for _, list := range []string{"has", "needs", "excludes", "families", "looks_like"} {
		w.list(b, list)
	}
	for _, text := range []string{"years", "engines", "supersedes", "look", "note", "sheet"} {
		w.text(b, text, text)
	}
	w.sizes(b)
	b.WriteString("  basis = \"mine\"\n}\n")
}

// slots finds the slots that the row names, by name or by title.
func (w *rowWriter) slots() []string {
	var out []string
	for _, s := range listOf(w.cells["fills"]) {
		name := strings.TrimPrefix(s, "slot.")
		if w.reader.catalogue.Slot(name) != nil {
			out = append(out, name)
			continue
		}
		found := ""
		var all []string
		for _, k := range w.reader.catalogue.pack.Slots {
			all = append(all, k.Name, slotTitle(k))
			if strings.EqualFold(slotTitle(k), s) {
				found = k.Name
			}
		}
		if found == "" {
			do := "the pack's slots are told by its parts page"
			if near := formula.Nearest(s, all); near != "" {
				do = fmt.Sprintf("perhaps %q is meant", near)
			}
			w.refuse("the pack has no slot %q: %s", s, do)
			continue
		}
		out = append(out, found)
	}
	return out
}

func (w *rowWriter) slotTitles(slots []string) string {
	var out []string
	for _, s := range slots {
		out = append(out, w.reader.catalogue.titleOfSlot(s))
	}
	return strings.Join(out, ", ")
}

func (w *rowWriter) text(b *strings.Builder, cell, attribute string) {
	if s := w.cells[cell]; s != "" {
		fmt.Fprintf(b, "  %s = %s\n", attribute, quote(s))
		w.understood("%s: %s", strings.ReplaceAll(attribute, "_", " "), s)
	}
}

func (w *rowWriter) list(b *strings.Builder, name string) {
	items := listOf(w.cells[name])
	if len(items) == 0 {
		return
	}
	var quoted []string
	for _, s := range items {
		quoted = append(quoted, quote(s))
	}
	fmt.Fprintf(b, "  %s = [%s]\n", name, strings.Join(quoted, ", "))
	w.understood("%s: %s", strings.ReplaceAll(name, "_", " "), strings.Join(items, ", "))
}

func (w *rowWriter) sizes(b *strings.Builder) {
	var out []string
	for _, s := range listOf(w.cells["sizes"]) {
		name, value, ok := strings.Cut(s, "=")
		if !ok {
			w.refuse("the size %q has no name: write it like thickness = 0.30 mm", s)
			continue
		}
		out = append(out, strings.TrimSpace(name)+" = "+quote(strings.TrimSpace(value)))
		w.understood("%s %s", strings.TrimSpace(name), strings.TrimSpace(value))
	}
	if len(out) > 0 {
		fmt.Fprintf(b, "  sizes = { %s }\n", strings.Join(out, ", "))
	}
}

// offer writes what the row says of a seller.
func (w *rowWriter) offer(b *strings.Builder, id string) {
	seller, price := w.cells["supplier"], w.cells["price"]
	if seller == "" {
		if price != "" {
			w.refuse("the row has a price and no seller: name who asks %s", price)
		}
		return
	}
	if price == "" {
		w.refuse("%s asks no price: fill it in, or leave the seller out", seller)
		return
	}
	money, err := ParseMoney(price, w.cells["currency"])
	if err != nil {
		w.refuse("%s", err)
		return
	}
	if line, twice := w.reader.offered[seller+"\n"+id]; twice {
		w.refuse("%s offers part %s in line %d already: leave one of the rows out", seller, id, line)
		return
	}
	if !w.known(seller) {
		fmt.Fprintf(b, "supplier %s {\n", quote(seller))
		if money.Currency != "" {
			fmt.Fprintf(b, "  currency = %s\n", quote(money.Currency))
		}
		b.WriteString("}\n")
		w.understood("%s is a new seller, with no shipping known", seller)
	}
	fmt.Fprintf(b, "offer {\n  part = %s\n  supplier = %s\n", quote(id), quote(seller))
	if n := w.cells["order"]; n != "" {
		fmt.Fprintf(b, "  number = %s\n", quote(n))
	}
	fmt.Fprintf(b, "  price = %q\n", money.Amount())
	if money.Currency != "" {
		fmt.Fprintf(b, "  currency = %s\n", quote(money.Currency))
	}
	w.understood("%s asks %s%s", seller, money, inFront(" under ", w.cells["order"]))
	if lead := w.cells["lead"]; lead != "" {
		if _, err := strconv.Atoi(lead); err == nil {
			lead += " days"
			if lead == "1 days" {
				lead = "1 day"
			}
		}
		fmt.Fprintf(b, "  lead = %s\n", quote(lead))
		w.understood("in %s", lead)
	}
	if n := w.cells["pack"]; n != "" {
		if k, err := strconv.Atoi(n); err != nil || k < 1 {
			w.refuse("%q is no number of pieces in a pack: write a whole number from 1", n)
		} else {
			fmt.Fprintf(b, "  pack = %d\n", k)
			w.understood("sold by %d", k)
		}
	}
	b.WriteString("}\n")
}

// known reports whether the pack, or a row before, has the seller.
func (w *rowWriter) known(seller string) bool {
	if w.reader.sellers[seller] {
		return true
	}
	return slices.ContainsFunc(w.reader.catalogue.pack.Suppliers, func(s *pack.Supplier) bool { return s.Name == seller })
}

// listOf parts a cell at semicolons and bars.
func listOf(s string) []string {
	var out []string
	for _, item := range strings.FieldsFunc(s, func(r rune) bool { return r == ';' || r == '|' }) {
		if item = strings.TrimSpace(item); item != "" {
			out = append(out, item)
		}
	}
	return out
}

// quote writes a text as the pack language reads it back.
func quote(s string) string {
	s = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "${", "$${", "%{", "%%{").Replace(s)
	return `"` + s + `"`
}
