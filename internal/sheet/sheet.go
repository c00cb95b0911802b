// Package sheet writes a table for other programs, as comma-separated values and as a
// workbook of Office Open XML (ECMA-376), and reads the texts of a workbook.
//
// It is for what leaves the shop, an order to a seller, a list for the accounts, and for
// what comes in as a spreadsheet. It refuses to know what stands in the table; it writes
// no formulas and computes none: a text that a spreadsheet would take for one is made
// harmless, and of a formula that comes in the saved value is taken and told of.
package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"regexp"
	"strings"
)

// Table is a head and rows of the same width.
type Table struct {
	// Name is that of the sheet in a workbook.
	Name string
	Head []Column
	Rows [][]string
}

// Column is the head of a column.
type Column struct {
	Title string
	// Number is set where the cells are decimal numbers; a cell that is none is
	// written as text all the same.
	Number bool
	// Money is set for a number with two decimals.
	Money bool
	// Width is about how many characters it shows; 0 is 12.
	Width int
}

// decimal is what a spreadsheet reads as a number and nothing else.
var decimal = regexp.MustCompile(`^-?\d{1,15}(\.\d{1,6})?$`)

// Harmless puts an apostrophe before a text that a spreadsheet would take for a
// formula: one that begins with =, +, -, @, a tab or a line end, also behind blanks. A
// decimal number stays.
//
// Source: the rule of OWASP, "CSV Injection" (memory).
func Harmless(text string) string {
	if decimal.MatchString(text) {
		return text
	}
	if text != "" && strings.ContainsRune("\t\r\n", rune(text[0])) {
		return "'" + text
	}
	if begin := strings.TrimLeft(text, " \t\r\n\u00a0\ufeff"); begin != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(begin)[0]) {
		return "'" + text
	}
	return text
}

// CSV returns the table as comma-separated values after RFC 4180, in UTF-8 with the
// mark that spreadsheets look for.
func (t *Table) CSV() []byte {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	head := make([]string, len(t.Head))
	for i, c := range t.Head {
		head[i] = Harmless(c.Title)
	}
	w.Write(head) // a buffer takes everything
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, s := range row {
			cells[i] = Harmless(s)
		}
		w.Write(cells)
	}
	w.Flush()
	return b.Bytes()
}

// Workbook returns the tables as a workbook, a sheet each. Texts are inline strings,
// which no program takes for formulas.
//
// Source: ECMA-376, parts 1 and 2: the packages' content types and relationships, and
// SpreadsheetML sheets, styles and cells. Seen: as other programs write it; memory for
// the standard's text.
func Workbook(tables []Table) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	names := sheetNames(tables)
	files := []struct{ name, text string }{
		{"[Content_Types].xml", contentTypes(len(tables))},
		{"_rels/.rels", relationships + `<Relationship Id="rId1" Type="` + office + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", workbook(names)},
		{"xl/_rels/workbook.xml.rels", workbookRelationships(len(tables))},
		{"xl/styles.xml", styles},
	}
	for i := range tables {
		files = append(files, struct{ name, text string }{fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1), tables[i].xml()})
	}
	for _, f := range files {
		w, err := z.Create(f.name)
		if err != nil {
			return nil, fmt.Errorf("write workbook: %w", err)
		}
		if _, err := w.Write([]byte(xml.Header + f.text)); err != nil {
			return nil, fmt.Errorf("write workbook: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("write workbook: %w", err)
	}
	return b.Bytes(), nil
}

const (
	spreadsheet   = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	office        = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	relationships = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">`
	content       = "application/vnd.openxmlformats-officedocument.spreadsheetml."
)

// The styles of cells: plain, head, text, money.
const styles = `<styleSheet xmlns="` + spreadsheet + `">` +
	`<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font><font><b/><sz val="11"/><name val="Calibri"/></font></fonts>` +
	`<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills>` +
	`<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>` +
	`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>` +
	`<cellXfs count="4"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>` +
	`<xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/>` +
	`<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>` +
	`<xf numFmtId="2" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/></cellXfs>` +
	`<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`

const (
	styleHead = iota + 1
	styleText
	styleMoney
)

func contentTypes(n int) string {
	var b strings.Builder
	b.WriteString(`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
		`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>` +
		`<Override PartName="/xl/workbook.xml" ContentType="` + content + `sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="` + content + `styles+xml"/>`)
	for i := range n {
		fmt.Fprintf(&b, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="%sworksheet+xml"/>`, i+1, content)
	}
	return b.String() + "</Types>"
}

func workbook(names []string) string {
	var b strings.Builder
	b.WriteString(`<workbook xmlns="` + spreadsheet + `" xmlns:r="` + office + `"><sheets>`)
	for i, n := range names {
		fmt.Fprintf(&b, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, escape(n), i+1, i+1)
	}
	return b.String() + "</sheets></workbook>"
}

func workbookRelationships(n int) string {
	var b strings.Builder
	b.WriteString(relationships)
	for i := range n {
		fmt.Fprintf(&b, `<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, i+1, office, i+1)
	}
	fmt.Fprintf(&b, `<Relationship Id="rId%d" Type="%s/styles" Target="styles.xml"/>`, n+1, office)
	return b.String() + "</Relationships>"
}

// sheetNames makes names that a workbook may have: 1 to 31 characters without some
// signs, no two alike.
func sheetNames(tables []Table) []string {
	seen := map[string]bool{}
	var out []string
	for i := range tables {
		name := strings.Map(func(r rune) rune {
			if strings.ContainsRune(`[]:*?/\`, r) || r < ' ' {
				return ' '
			}
			return r
		}, tables[i].Name)
		name = strings.Trim(name, " '")
		if r := []rune(name); len(r) > 31 {
			name = strings.TrimSpace(string(r[:31]))
		}
		for n := 2; name == "" || seen[strings.ToLower(name)]; n++ {
			r := []rune(name)
			name = fmt.Sprintf("%s %d", string(r[:min(len(r), 27)]), n)
			name = strings.TrimSpace(name)
		}
		seen[strings.ToLower(name)] = true
		out = append(out, name)
	}
	return out
}

func (t *Table) xml() string {
	var b strings.Builder
	b.WriteString(`<worksheet xmlns="` + spreadsheet + `"><sheetViews><sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews><cols>`)
	for i, c := range t.Head {
		width := c.Width
		if width == 0 {
			width = 12
		}
		fmt.Fprintf(&b, `<col min="%d" max="%d" width="%d" customWidth="1"/>`, i+1, i+1, width)
	}
	b.WriteString("</cols><sheetData>")
	fmt.Fprint(&b, `<row r="1">`)
	for i, c := range t.Head {
		b.WriteString(textCell(i, 1, styleHead, c.Title))
	}
	b.WriteString("</row>")
	for k, row := range t.Rows {
		fmt.Fprintf(&b, `<row r="%d">`, k+2)
		for i, s := range row {
			switch {
			case s == "":
			case i < len(t.Head) && (t.Head[i].Number || t.Head[i].Money) && decimal.MatchString(s):
				style := 0
				if t.Head[i].Money {
					style = styleMoney
				}
				fmt.Fprintf(&b, `<c r="%s%d" s="%d"><v>%s</v></c>`, columnName(i), k+2, style, s)
			default:
				b.WriteString(textCell(i, k+2, styleText, s))
			}
		}
		b.WriteString("</row>")
	}
	return b.String() + `</sheetData><pageMargins left="0.5" right="0.5" top="0.6" bottom="0.6" header="0.3" footer="0.3"/></worksheet>`
}

func textCell(column, row, style int, text string) string {
	return fmt.Sprintf(`<c r="%s%d" s="%d" t="inlineStr"><is><t xml:space="preserve">%s</t></is></c>`, columnName(column), row, style, escape(text))
}

// columnName is A, B, …, Z, AA, AB.
func columnName(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return columnName(i/26-1) + string(rune('A'+i%26))
}

func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a buffer takes everything; what XML cannot hold becomes U+FFFD
	return b.String()
}
