package syntax

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"
)

// The guards, checked before anything is parsed.
const (
	// LargestFile is the most bytes a file of a pack may have.
	LargestFile = 1 << 20
	// DeepestNesting is how many brackets, choices and signs may stand open at
	// once. The parser recurses, and ten thousand times this depth would end the
	// process.
	DeepestNesting = 100
	// LongestFormula is how many operators one attribute may have. A chain of them
	// becomes as deep as it is long.
	LongestFormula = 2000
	// MostMistakes is how many mistakes of one file are reported.
	MostMistakes = 200
)

// chunk is one top-level block as text.
type chunk struct {
	text  []byte
	start int // byte offset in the file
}

// guard looks for what must not reach the parser.
func guard(l *lines, kinds map[string]bool) (Mistake, bool) {
	text := l.file.Text
	at := func(offset int, code, says, do string) (Mistake, bool) {
		return Mistake{Code: code, Span: l.span(offset, offset+1), Says: says, Do: do}, true
	}
	if i := invalidUTF8(text); i >= 0 {
		return at(i, "syntax.not-text", "the file is not plain text (invalid UTF-8 here)", "save it as UTF-8 text")
	}
	if i := bytes.IndexByte(text, 0); i >= 0 {
		return at(i, "syntax.not-text", "the file holds a NUL character, so it is not plain text", "save it as UTF-8 text")
	}
	var s walker
	d := depth{open: []int{0}}
	for i := 0; i < len(text); i++ {
		if s.atBlock(text, i, kinds) {
			d = depth{open: []int{0}}
		}
		c := s.step(text, i)
		d.step(text, i, c, s.before)
		switch {
		case d.deep > DeepestNesting:
			return at(i, "syntax.too-deep", fmt.Sprintf("more than %d brackets, choices or signs stand open here", DeepestNesting), "close brackets that were left open, or split the formula into several numbers")
		case d.operators > LongestFormula:
			return at(i, "syntax.too-deep", fmt.Sprintf("this formula has more than %d operators", LongestFormula), "split it into several numbers")
		}
	}
	return Mistake{}, false
}

// depth counts what the parser will recurse on: brackets, the nested halves of
// choices, and signs in a row. It also counts operators, whose chains make a tree
// as deep as they are long.
type depth struct {
	open      []int // for each open bracket, what stands open inside it
	deep      int
	operators int
	sign      bool // the last code was a sign or an operator
}

// step looks at text[i], which is code, or stands in a string or comment if c is 0;
// before is the innermost bracket that stands open behind it.
func (d *depth) step(text []byte, i int, c, before byte) {
	top := len(d.open) - 1
	add := func(n int) {
		d.open[top] += n
		d.deep += n
	}
	followed := i+1 < len(text) && text[i+1] == '='
	wasSign := d.sign
	d.sign = true
	switch c {
	case '(', '[', '{':
		d.open = append(d.open, 0)
		d.deep++
	case ')', ']', '}':
		d.sign = false
		if top > 0 {
			d.deep -= d.open[top] + 1
			d.open = d.open[:top]
		}
	case ',':
		add(-d.open[top])
	case '\n':
		// A line ends an attribute, unless it stands inside a bracket of a formula.
		d.sign = wasSign
		if before == '{' || before == 0 {
			add(-d.open[top])
			d.operators = 0
		}
	case '?':
		add(1)
		d.operators++
	case '!', '-':
		switch {
		case followed || !wasSign:
			d.operators++
		default:
			add(1)
		}
	case '=':
		if followed {
			d.operators++
		}
	case '+', '*', '/', '%', '&', '|', '<', '>':
		d.operators++
	case ':':
	case 0, ' ', '\t', '\r':
		d.sign = wasSign
	default:
		d.sign = false
	}
	if c == 0 && text[i] == '"' {
		d.sign = false
	}
}

func invalidUTF8(text []byte) int {
	for i := 0; i < len(text); {
		if text[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// walker steps through text and knows whether it is inside a string or a comment.
type walker struct {
	inString, inLine, inBlock, escaped bool
	heredoc                            string
	// opened is where the string, comment or long text began.
	opened int
	// brackets that stand open; before is the innermost one, 0 if there is none.
	brackets []byte
	before   byte
}

// step looks at text[i] and returns it if it is code, 0 if it is inside a string
// or a comment. Strings end with their line, as the language has it.
func (w *walker) step(text []byte, i int) byte {
	c := text[i]
	switch {
	case w.heredoc != "":
		if c == '\n' {
			line, _, _ := bytes.Cut(text[i+1:], []byte("\n"))
			if strings.TrimSpace(string(line)) == w.heredoc {
				w.heredoc = ""
			}
		}
		return 0
	case w.inLine:
		w.inLine = c != '\n'
		if c == '\n' {
			return c
		}
		return 0
	case w.inBlock:
		if c == '/' && text[i-1] == '*' && i > w.opened+2 {
			w.inBlock = false
		}
		return 0
	case w.inString:
		switch {
		case c == '\n':
			w.inString, w.escaped = false, false
			return c
		case w.escaped:
			w.escaped = false
		case c == '\\':
			w.escaped = true
		case c == '"':
			w.inString = false
		}
		return 0
	case c == '"':
		w.inString, w.opened = true, i
		return 0
	case c == '#', c == '/' && i+1 < len(text) && text[i+1] == '/':
		w.inLine = true
		return 0
	case c == '/' && i+1 < len(text) && text[i+1] == '*':
		w.inBlock, w.opened = true, i
		return 0
	case c == '<' && i+2 < len(text) && text[i+1] == '<':
		line, _, _ := bytes.Cut(text[i+2:], []byte("\n"))
		word := strings.TrimPrefix(strings.TrimSpace(string(line)), "-")
		if word != "" && strings.Trim(word, "ABCDEFGHIJKLMNOPQRSTUVWXYZ_") == "" {
			w.heredoc, w.opened = word, i
			return 0
		}
	case c == '(' || c == '[' || c == '{':
		w.brackets = append(w.brackets, c)
		w.before = c
	case c == ')' || c == ']' || c == '}':
		if n := len(w.brackets); n > 0 {
			w.brackets = w.brackets[:n-1]
		}
		w.before = 0
		if n := len(w.brackets); n > 0 {
			w.before = w.brackets[n-1]
		}
	}
	return c
}

// atBlock reports whether a block begins at text[i], at the left margin, and if so
// forgets what was left open before it.
func (w *walker) atBlock(text []byte, i int, kinds map[string]bool) bool {
	if i > 0 && text[i-1] != '\n' || w.heredoc != "" || w.inBlock || !startsBlock(text[i:], kinds) {
		return false
	}
	w.brackets, w.before = w.brackets[:0], 0
	return true
}

// cut divides the file at its top-level blocks. A block that is never closed ends
// where the next one begins at the left margin.
func cut(text []byte, kinds map[string]bool) []chunk {
	var chunks []chunk
	var w walker
	start := 0
	flush := func(end int) {
		if len(bytes.TrimSpace(text[start:end])) > 0 {
			chunks = append(chunks, chunk{text: text[start:end], start: start})
		}
		start = end
	}
	for i := range text {
		if w.atBlock(text, i, kinds) {
			flush(i)
		}
		w.step(text, i)
	}
	flush(len(text))
	return chunks
}

// headerLike is a line that looks like the head of a block of whatever kind.
var headerLike = regexp.MustCompile(`^[A-Za-z_]+[ \t]*"[^"]*"[ \t]*\{`)

// startsBlock reports whether a line at the left margin begins a block: a kind with
// a quote, a brace or a line that ends in a brace behind it, or any word with a name
// in quotes and a brace.
func startsBlock(text []byte, kinds map[string]bool) bool {
	n := 0
	for n < len(text) && (text[n] >= 'a' && text[n] <= 'z' || text[n] >= 'A' && text[n] <= 'Z' || text[n] == '_') {
		n++
	}
	if n == 0 || n == len(text) {
		return false
	}
	line := text
	if i := bytes.IndexByte(text, '\n'); i >= 0 {
		line = text[:i]
	}
	if !kinds[string(text[:n])] {
		return headerLike.Match(line)
	}
	rest := bytes.TrimSpace(line[n:])
	switch {
	case len(rest) == 0 || rest[0] == '=' || rest[0] == '.':
		return false
	case rest[0] == '"' || rest[0] == '{':
		return true
	}
	// A quote that is missing in the head makes a text of its brace.
	return bytes.HasSuffix(bytes.TrimSpace(line), []byte("{")) || bytes.HasSuffix(bytes.TrimSpace(mask(line)), []byte("{"))
}

// mask returns a copy of text in which the insides of strings and all comments are
// blank, so that what is left is code. The quotes themselves stay.
func mask(text []byte) []byte {
	out := bytes.Clone(text)
	var w walker
	for i := range text {
		wasString := w.inString
		c := w.step(text, i)
		if c == 0 && text[i] != '\n' && text[i] != '\r' && (text[i] != '"' || wasString && w.inString || w.inLine || w.inBlock) {
			out[i] = ' '
		}
	}
	return out
}
