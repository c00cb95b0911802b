package syntax

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
)

// diagnose reports why a statement cannot be read, in the words of the language. It
// looks at the text first, for the slips that people make, and takes the parser's
// own complaint only when none of them is there.
func (r *repair) diagnose(d *hcl.Diagnostic, s statement) {
	raw := r.text[s.start:s.end]
	code := mask(raw)
	report := func(from, to int, kind, says, do string) {
		from, to = min(from, len(raw)), min(to, len(raw))
		r.report(kind, s.start+from, s.start+max(to, from), says, do)
	}
	if !s.head && bareHead.Match(bytes.TrimSpace(raw)) && r.braceBelow(s) {
		report(0, len(bytes.TrimRight(raw, " \t\r")), "syntax.line", "the brace { of this block does not stand on its line", `write kind "name" { on one line`)
		return
	}
	if bytes.IndexByte(mask(r.text[lineStart(r.text, s.start):s.start]), '{') >= 0 {
		plain := report
		report = func(from, to int, kind, says, do string) {
			if kind == "syntax.line" {
				kind, says, do = "syntax.one-line", "a block on one line may hold one attribute", "put each attribute, and the closing brace, on a line of its own"
			}
			plain(from, to, kind, says, do)
		}
	}
	looked := slips
	if r.kinds == nil {
		looked = formulaSlips // an expression by itself has no attribute to begin
	}
	for _, slip := range looked {
		if slip(raw, code, s.head, report) {
			return
		}
	}
	at := min(max(d.Subject.Start.Byte-r.start-s.start, 0), len(raw))
	end := min(max(d.Subject.End.Byte-r.start-s.start, at), len(raw))
	if at < len(raw) && raw[at] == '"' {
		end = at + max(quoted(raw[at:]), 1)
	}
	kind, says, do := complaint(d, string(raw[at:end]), s.head)
	if says == neither {
		at, end = 0, len(bytes.TrimRight(code, " \t\r\n"))
	}
	report(at, max(end, at+1), kind, says, do)
}

const neither = "this line is neither an attribute nor a block"

// tableHead is a word and a brace, as a table has it whose = is missing.
var tableHead = regexp.MustCompile(`^\s*([a-z_]+)\s*\{$`)

// pairKey begins a pair that cannot be an attribute: its key is in quotes or a
// reference.
var pairKey = regexp.MustCompile(`^\s*("[^"]*"|[a-z_]+\.[a-z0-9_]+)\s*=`)

// tableWithoutEquals finds that the statement is the inside of a table on one line
// whose = is missing, name { a = "…", b = "…" }, and blanks all of it.
func (r *repair) tableWithoutEquals(s statement) bool {
	from := lineStart(r.text, s.start)
	m := tableHead.FindSubmatchIndex(bytes.TrimRight(r.text[from:s.start], " \t"))
	if inside := r.text[s.start:s.end]; m == nil || bytes.IndexByte(mask(inside), ',') < 0 && !pairKey.Match(inside) {
		return false
	}
	name := string(r.text[from+m[2] : from+m[3]])
	r.report("syntax.line", from+m[2], from+m[3], fmt.Sprintf("= is missing behind %s", name), "write "+name+" = { … }")
	return r.blank(from, min(s.end+1, r.limit()))
}

// braceBelow reports whether the next code behind a statement is an opening brace.
func (r *repair) braceBelow(s statement) bool {
	return bytes.HasPrefix(bytes.TrimLeft(r.text[s.end:r.tail], " \t\r\n"), []byte("{"))
}

// quoted returns the length of the quoted text that raw begins with.
func quoted(raw []byte) int {
	for i := 1; i < len(raw) && raw[i] != '\n'; i++ {
		switch raw[i] {
		case '\\':
			i++
		case '"':
			return i + 1
		}
	}
	return 1
}

// slip looks for one thing that people get wrong; raw is the statement, code the
// same without the insides of strings.
type slip func(raw, code []byte, head bool, report func(from, to int, kind, says, do string)) bool

// slips in the order in which they are looked for: an open quote first, because it
// makes nonsense of what follows it.
var slips = []slip{openQuote, foreignQuote, forExpression, wrongOperator, unquoted, foreignSign, power, decimalComma, wordOperator, noEquals, secondEquals, stopBehind, overLines}

// formulaSlips are those that an expression by itself can have.
var formulaSlips = []slip{openQuote, foreignQuote, forExpression, wrongOperator, unquoted, foreignSign, power, decimalComma, wordOperator}

func openQuote(raw, _ []byte, head bool, report func(int, int, string, string, string)) bool {
	var w walker
	for i := 0; i <= len(raw); i++ {
		if i < len(raw) {
			open, at := w.inString, w.opened
			w.step(raw, i)
			if !open || w.inString || raw[i] != '\n' {
				continue
			}
			w.opened = at
		} else if !w.inString {
			break
		}
		end := w.opened + len(bytes.TrimRight(raw[w.opened:i], " \t\r{"))
		if end <= w.opened+1 && w.opened > 0 && bytes.IndexByte(raw[lineStart(raw, w.opened):w.opened], '"') < 0 {
			report(w.opened, w.opened+1, "syntax.quote", "a text ends here that has no quote before it", `begin and end every text with "`)
		} else {
			report(w.opened, end, "syntax.quote", "a quote is opened here and not closed", `begin and end every text with " on the same line; an inch mark inside it is written \"`)
		}
		return true
	}
	return false
}

var forBegin = regexp.MustCompile(`[\[{]\s*(for)\b`)

// forExpression finds a for-expression that is not even a whole one.
func forExpression(_, code []byte, head bool, report func(int, int, string, string, string)) bool {
	m := forBegin.FindSubmatchIndex(code)
	if m == nil || head {
		return false
	}
	report(m[2], m[3], "syntax.for", forSays, forDo)
	return true
}

const (
	forSays = "a for-expression is not part of the language"
	forDo   = "use each(name) inside smallest, largest, mean, spread or sum"
)

// swaps are signs that people type or paste for those of the language.
var swaps = map[rune]string{
	'×': "*", '·': "*", '∙': "*", '⋅': "*", '÷': "/", '∕': "/", '−': "-", '–': "-", '—': "-", '‐': "-", '‑': "-",
	'≥': ">=", '≤': "<=", '≠': "!=", '²': "sq(…)", '³': "cube(…)", '√': "sqrt(…)", 'π': "pi",
}

const (
	printersQuotes = "“”„‟″«»"
	singleQuotes   = "'‘’‚`´"
)

// foreignQuote finds a text in other quotes than the language has.
func foreignQuote(raw, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	i := bytes.IndexAny(code, printersQuotes+singleQuotes)
	if i < 0 {
		return false
	}
	c, n := utf8.DecodeRune(code[i:])
	end := i + n
	if j := bytes.IndexAny(code[end:], printersQuotes+singleQuotes+"\n"); j >= 0 && code[end+j] != '\n' {
		_, m := utf8.DecodeRune(code[end+j:])
		end += j + m
	}
	says, do := fmt.Sprintf("%c is a printer's quote", c), `write a plain quote " on both sides`
	if strings.ContainsRune(singleQuotes, c) {
		says, do = fmt.Sprintf("%c does not begin a text", c), `write a double quote " on both sides`
	}
	report(i, end, "syntax.quote", says, do)
	return true
}

// foreignSign finds a sign that the language does not have.
func foreignSign(raw, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	for i, c := range string(code) {
		n := utf8.RuneLen(c)
		switch {
		case c == '°' || c == '±' || c == '½' || c == '¼' || c == '¾' || c == 'Ω' || c == '′':
			from, to := i, i+n
			for from > 0 && strings.IndexByte("0123456789. ", code[from-1]) >= 0 {
				from--
			}
			from += len(code[from:i]) - len(bytes.TrimLeft(code[from:i], " "))
			report(from, to, "syntax.unquoted", fmt.Sprintf("%c can stand only inside a quantity, and a quantity stands in quotes", c), `write it like "92.004 mm", "15 deg" or "178.00 ± 0.03 mm"`)
		case c == '\u00a0' || c == '\u202f' || c == '\u2009' || c == '\u200b' || c == '\ufeff' || c == '\u3000':
			report(i, i+n, "syntax.symbol", "this blank is not a plain space", "write an ordinary space; it came with text from elsewhere")
		case c < ' ' && c != '\t' && c != '\n' && c != '\r' || c == 0x7f:
			report(i, i+n, "syntax.symbol", "a control character stands here", "take it out")
		case strings.ContainsRune("@$~\\", c):
			report(i, i+n, "syntax.symbol", fmt.Sprintf("%c is not a sign of the language", c), "leave it out, or put the text that it belongs to in quotes")
		default:
			swap, ok := swaps[c]
			if !ok {
				continue
			}
			do := "write " + swap
			if len(swap) <= 2 && c != 'π' {
				do += " with a space on each side; a quantity with a unit stands in quotes"
			}
			report(i, i+n, "syntax.symbol", fmt.Sprintf("%c is not a sign of the language", c), do)
		}
		return true
	}
	return false
}

var powerSign = regexp.MustCompile(`\*\*|\^`)

func power(_, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	m := powerSign.FindIndex(code)
	if m != nil {
		report(m[0], m[1], "syntax.power", "there is no power operator", "write sq(x), cube(x) or pow(x, n)")
	}
	return m != nil
}

var (
	swapped = regexp.MustCompile(`=<|=>|<>|===|!==|\+\+|=!`)
	meant   = map[string]string{"=<": "<=", "=>": ">=", "<>": "!=", "===": "==", "!==": "!=", "++": "+", "=!": "!="}
	bitwise = regexp.MustCompile(`(?:^|[^&])(&)(?:[^&]|$)|(?:^|[^|])(\|)(?:[^|]|$)|(<<|>>)`)
)

// wrongOperator finds an operator written the wrong way round, and & or | alone.
func wrongOperator(_, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	if m := swapped.FindIndex(code); m != nil {
		sign := string(code[m[0]:m[1]])
		report(m[0], m[1], "syntax.operator", fmt.Sprintf("%s is not an operator of the language", sign), "write "+meant[sign])
		return true
	}
	m := bitwise.FindSubmatchIndex(code)
	if m == nil {
		return false
	}
	from, to := max(m[2], m[4], m[6]), max(m[3], m[5], m[7])
	report(from, to, "syntax.operator", fmt.Sprintf("%s is not an operator of the language", code[from:to]), "use + - * / % and for conditions && || ! == != < <= > >=")
	return true
}

// bareQuantity finds a number, or a range of numbers, with a word or a % behind it.
var bareQuantity = regexp.MustCompile(`(?:[<>]=[ \t]*)?[-+]?(?:\d[\d.]*|\.\d+)(?:[ \t]*(?:\.\.|-|\+-)[ \t]*(?:\d[\d.]*|\.\d+))?[ \t]*([A-Za-zµ][A-Za-zµ0-9·*/^-]*|%)`)

// bareRange finds a range of numbers, or one side of one, without quotes.
var bareRange = regexp.MustCompile(`\d[\d.]*[ \t]*\.\.[ \t]*\.?\d[\d.]*|[=,\[(][ \t]*[<>]=?[ \t]*\.?\d[\d.]*`)

// operatorWords may follow a number without being its unit.
var operatorWords = map[string]bool{"and": true, "or": true, "not": true, "is": true, "if": true, "then": true, "else": true, "x": true, "X": true, "times": true, "to": true, "for": true, "in": false}

func unquoted(raw, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	show := func(from, to int) bool {
		text := strings.TrimSpace(string(raw[from:to]))
		from += bytes.Index(raw[from:to], []byte(text))
		report(from, from+len(text), "syntax.unquoted", "a quantity stands in quotes", "write "+`"`+text+`"`)
		return true
	}
	for _, m := range bareQuantity.FindAllSubmatchIndex(code, -1) {
		before, word := byte(' '), string(code[m[2]:m[3]])
		if m[0] > 0 {
			before = code[m[0]-1]
		}
		switch {
		case isWord(before) || before == '.' || operatorWords[word] || next(code, m[3]) == '(':
			continue // the end of a name like main_2, or no unit at all
		case word == "%" && (isWord(next(code, m[3])) || next(code, m[3]) == '('):
			continue // a remainder
		case word == "e" || word == "E":
			continue
		}
		to := m[1]
		// A second unit word belongs to it, as in 1 cu in or 2 fl oz.
		if rest := secondWord.Find(code[to:]); rest != nil && next(code, to+len(rest)) != '=' {
			to += len(rest)
		}
		return show(m[0], to)
	}
	if m := bareRange.FindIndex(code); m != nil {
		from := m[0]
		if strings.IndexByte("=,[(", code[from]) >= 0 {
			from++
		}
		return show(from, m[1])
	}
	return false
}

var secondWord = regexp.MustCompile(`^[ \t]+(in|oz|ft|lb|mm)\b`)

func isWord(c byte) bool {
	return c == '_' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= utf8.RuneSelf
}

// next returns the next byte of code behind blanks, a newline at the end.
func next(code []byte, at int) byte {
	for ; at < len(code); at++ {
		if code[at] != ' ' && code[at] != '\t' {
			return code[at]
		}
	}
	return '\n'
}

var commaDigits = regexp.MustCompile(`=\s*[-+]?\d+,\d+`)

func decimalComma(_, code []byte, _ bool, report func(int, int, string, string, string)) bool {
	m := commaDigits.FindIndex(code)
	if m == nil {
		return false
	}
	from := m[0] + bytes.IndexAny(code[m[0]:m[1]], "-+0123456789")
	report(from, m[1], "syntax.line", "a comma stands in this number, and whether it marks decimals or thousands is never guessed", "write a decimal point, and thousands without a mark")
	return true
}

var (
	wordOps     = regexp.MustCompile(`[^A-Za-z0-9_.\-"](and|or|not|is|AND|OR|NOT|x|times)[ \t]+[A-Za-z0-9_("!]`)
	forWords    = map[string]string{"and": "&&", "or": "||", "not": "!", "is": "==", "x": "*", "times": "*"}
	beforeWord  = regexp.MustCompile(`[A-Za-z0-9_)"\]][ \t]+$`)
	conditional = regexp.MustCompile(`=\s*(if)\b`)
)

// wordOperator finds words where the language has signs.
func wordOperator(_, code []byte, head bool, report func(int, int, string, string, string)) bool {
	if head {
		return false
	}
	if m := conditional.FindSubmatchIndex(code); m != nil {
		report(m[2], m[3], "syntax.operator", "a choice is not written with if", "write test ? a : b")
		return true
	}
	for _, m := range wordOps.FindAllSubmatchIndex(code, -1) {
		word := strings.ToLower(string(code[m[2]:m[3]]))
		if word != "not" && !beforeWord.Match(code[:m[2]]) || !bytes.Contains(code[:m[2]], []byte("=")) {
			continue
		}
		report(m[2], m[3], "syntax.operator", fmt.Sprintf("%s is not an operator of the language", code[m[2]:m[3]]), "write "+forWords[word])
		return true
	}
	return false
}

var (
	twoEquals = regexp.MustCompile(`^\s*[A-Za-z_][A-Za-z0-9_-]*\s*(==)`)
	twoWords  = regexp.MustCompile(`^\s*([a-z_][A-Za-z0-9_]*)[ \t]+[a-z_][A-Za-z0-9_]*\s*$`)
	noName    = regexp.MustCompile(`^\s*=`)
	colonName = regexp.MustCompile(`^\s*"?[A-Za-z_][A-Za-z0-9_-]*"?\s*(:)`)
	bareName  = regexp.MustCompile(`^\s*([a-z_][A-Za-z0-9_]*)[ \t]+("[^"]*"|[-+.]?\d|\[|true\b|false\b|[a-z_]+\.[a-z_]+\s*$)`)
	quoteName = regexp.MustCompile(`^\s*("[^"]*")\s*=`)
)

// noEquals finds an attribute without its =, or with a colon for it.
func noEquals(raw, code []byte, head bool, report func(int, int, string, string, string)) bool {
	if m := noName.FindIndex(code); m != nil {
		report(m[1]-1, m[1], "syntax.line", "the name of this attribute is missing", "write name = value")
		return true
	}
	if m := colonName.FindSubmatchIndex(code); m != nil {
		report(m[2], m[3], "syntax.line", "a colon stands where = belongs", "write name = value")
		return true
	}
	if m := twoEquals.FindSubmatchIndex(code); m != nil && !head {
		report(m[2], m[3], "syntax.line", "two = stand where one belongs", "write name = value")
		return true
	}
	if m := twoWords.FindSubmatchIndex(code); m != nil && !head {
		report(m[2], m[3], "syntax.line", fmt.Sprintf("= is missing behind %s", raw[m[2]:m[3]]), "write name = value")
		return true
	}
	if m := quoteName.FindSubmatchIndex(raw); m != nil {
		report(m[2], m[3], "syntax.line", "the name of an attribute stands without quotes", "write name = value")
		return true
	}
	if m := bareName.FindSubmatchIndex(raw); m != nil && !head && !bytes.Contains(code, []byte("=")) && !bytes.Contains(code, []byte("{")) {
		report(m[2], m[3], "syntax.line", fmt.Sprintf("= is missing behind %s", raw[m[2]:m[3]]), "write name = value")
		return true
	}
	return false
}

var (
	secondAssigned = regexp.MustCompile(`([A-Za-z_][A-Za-z0-9_.]*)[ \t]*(=)[ \t]*[^= \t]`)
	firstAssigned  = regexp.MustCompile(`^\s*[A-Za-z_][A-Za-z0-9_-]*\s*=[ \t]*`)
)

// secondEquals finds a second = on a line: a comparison with one =, or a second
// attribute.
func secondEquals(_, code []byte, head bool, report func(int, int, string, string, string)) bool {
	m := firstAssigned.FindIndex(code)
	if m == nil || head {
		return false
	}
	line := code[m[1]:]
	if bytes.HasPrefix(line, []byte("{")) {
		return false
	}
	line = line[:lineEnd(line, 0)]
	n := secondAssigned.FindSubmatchIndex(line)
	if n == nil || n[4] > 0 && bytes.IndexByte([]byte("=!<>"), line[n[4]-1]) >= 0 {
		return false
	}
	before := bytes.TrimSpace(line[:n[2]])
	if len(before) == 0 || bytes.IndexByte([]byte("(!&|?:"), before[len(before)-1]) >= 0 {
		report(m[1]+n[4], m[1]+n[5], "syntax.operator", "two values are compared with ==, not with =", "write ==")
		return true
	}
	if c := before[len(before)-1]; c == ',' || c == ';' {
		before = before[:len(before)-1]
	}
	if open := len(openBrackets(before)); open > 0 {
		return false
	}
	report(m[1]+n[2], m[1]+n[3], "syntax.line", "a second attribute stands on this line", "put each attribute on a line of its own")
	return true
}

// openBrackets returns the brackets that stand open at the end of code.
func openBrackets(code []byte) []byte {
	var w walker
	for i := range code {
		w.step(code, i)
	}
	return w.brackets
}

// stopBehind finds a comma or semicolon that ends an attribute.
func stopBehind(_, code []byte, head bool, report func(int, int, string, string, string)) bool {
	line := bytes.TrimRight(code, " \t\r\n")
	if len(line) == 0 || head {
		return false
	}
	if i := bytes.IndexByte(line, ';'); i >= 0 {
		report(i, i+1, "syntax.line", "a ; stands here, and attributes are parted by the end of the line", "put each attribute on a line of its own, without ;")
		return true
	}
	if line[len(line)-1] == ',' && bytes.IndexByte(line, '\n') < 0 {
		report(len(line)-1, len(line), "syntax.line", "a comma stands behind this attribute, which ends with its line", "leave the comma out; only the items of a list are parted by commas")
		return true
	}
	return false
}

var (
	operatorEnd   = regexp.MustCompile(`([-+*/%?:<>]|&&|\|\||[=!<>]=)[ \t\r]*$`)
	operatorBegin = regexp.MustCompile(`^\s*([-+*/%?:<>]|&&|\|\||[=!<>]=)`)
)

// overLines finds a formula that goes on over the end of a line.
func overLines(_, code []byte, head bool, report func(int, int, string, string, string)) bool {
	const says, do = "the formula goes on over the end of a line", "put a formula over several lines in parentheses"
	if head || len(bytes.TrimSpace(code)) == 0 {
		return false
	}
	if m := operatorBegin.FindSubmatchIndex(code); m != nil {
		report(m[2], m[3], "syntax.line", says, do)
		return true
	}
	if m := operatorEnd.FindSubmatchIndex(code); m != nil && firstAssigned.Match(code) && len(bytes.TrimSpace(code[:m[2]])) > len(bytes.TrimSpace(firstAssigned.Find(code))) {
		report(m[2], m[3], "syntax.expression", "a value is missing behind this sign", do+", or write the value")
		return true
	}
	return false
}

// complaint rewrites the parser's own words.
func complaint(d *hcl.Diagnostic, spot string, head bool) (kind, says, do string) {
	has := func(words string) bool { return strings.Contains(d.Summary+" "+d.Detail, words) }
	switch {
	case has("Attribute redefined"):
		return "pack.twice", fmt.Sprintf("%s is given twice in this block", spot), "keep one of the two"
	case has("single-argument block") || has("Only one argument") || has("single-line block"):
		return "syntax.one-line", "a block on one line may hold one attribute", "put each attribute, and the closing brace, on a line of its own"
	case has("Invalid escape sequence"):
		return "syntax.quote", fmt.Sprintf("%s has no meaning inside a text", spot), `write \\ for a plain \`
	case has("Missing item separator") || has("Missing attribute separator"):
		return "syntax.comma", "a comma is missing before this item of the list", "put a comma after each item but the last"
	case has("Missing argument separator"):
		return "syntax.comma", "a comma is missing before this value", "put a comma between the values of a function"
	case has("Missing false expression"):
		return "syntax.expression", "the second value of this choice is missing", "write test ? a : b"
	case has("Invalid expression") || has("Missing expression") || has("Missing attribute value"):
		return "syntax.expression", "a value is missing or cannot be read here", "write a number, a quantity in quotes, a name or a formula"
	case has("key/value separator"):
		return "syntax.line", "the items of { } are pairs", `write { name = "value", … }`
	case has("Invalid attribute name"):
		return "syntax.index", "a name is missing behind the point", `write bore["front"] for a place, or slot.size`
	case has("legacy index") || has("bracket on"):
		return "syntax.index", "only a place in quotes stands behind a name in square brackets", `write it like bore["front"]`
	case has("splat"):
		return "syntax.splat", "a splat (* or [*]) is not part of the language", "use each(name) inside smallest, largest, mean, spread or sum"
	case has("'for' expression"):
		return "syntax.for", forSays, forDo
	case has("template") || has("Template"):
		return "syntax.template", "a ${ } or %{ } inside a text is not part of the language", "write the text without it; $${ stands for a plain ${"
	case head:
		return "syntax.line", "this is not the head of a block", `write kind "name" {, with the name in quotes and the brace on the same line`
	case has("Missing newline after argument") || has("Extra characters") || has("Missing newline after block"):
		return "syntax.line", "something stands behind the end of this attribute or block", "put each attribute on a line of its own, and a formula over several lines in parentheses"
	case has("Argument or block definition required") || has("Invalid block definition") || has("Invalid argument name"):
		return "syntax.line", neither, `write name = value, or kind "name" { … } with the brace on the same line`
	case has("function") || has("parenthes"):
		return "syntax.bracket", "a bracket is missing or misplaced in this formula", "count the opening and the closing brackets"
	}
	return "syntax.broken", "this cannot be read", `write name = value on one line, quantities and texts in quotes, formulas with names and + - * /`
}
