package syntax

import (
	"bytes"
	"fmt"
	"regexp"
)

// repair is the text of one chunk on its way to being readable. What cannot be read
// is reported, blanked out and remembered as lost; the length of the text before
// its tail never changes, so that every place in it is a place in the file.
type repair struct {
	*parser
	text  []byte
	start int // byte offset of the text in the file
	tail  int // where closing braces were added, the length of the text if none
	lost  map[string]bool
}

// statement is a stretch that stands by itself: `name = value`, the head of a block
// with its brace, or whatever else somebody typed there.
type statement struct {
	start, end int
	head       bool
}

// bracket is one that stands open. A block's brace opens a body, any other a part of
// an expression; stmt is where its statement begins.
type bracket struct {
	char     byte
	at, stmt int
	block    bool
}

// outline walks the text and keeps the brackets that stand open.
type outline struct {
	text   []byte
	w      walker
	stack  []bracket
	stmt   int // where the statement begins, -1 before its first code
	equals bool
}

func newOutline(text []byte) *outline { return &outline{text: text, stmt: -1} }

// inBlock reports whether no bracket of an expression stands open.
func (o *outline) inBlock() bool { return len(o.stack) == 0 || o.top().block }

func (o *outline) top() *bracket { return &o.stack[len(o.stack)-1] }

func (o *outline) pop() bracket {
	b := *o.top()
	o.stack = o.stack[:len(o.stack)-1]
	return b
}

// restart forgets the statement.
func (o *outline) restart() { o.stmt, o.equals = -1, false }

// step takes the next byte and does what needs no judgement: it begins statements
// and opens brackets.
func (o *outline) step(i int) byte {
	c := o.w.step(o.text, i)
	switch t := o.text[i]; {
	case t == ' ' || t == '\t' || t == '\r' || t == '\n':
	case o.stmt < 0 && (c != 0 && c != '}' || o.w.inString || o.w.heredoc != ""):
		o.stmt = i
	}
	switch c {
	case '=':
		if o.inBlock() && !isOperatorEquals(o.text, i) {
			o.equals = true
		}
	case '(', '[':
		o.stack = append(o.stack, bracket{char: c, at: i, stmt: o.stmt})
	case '{':
		block := o.inBlock() && !o.equals
		o.stack = append(o.stack, bracket{char: c, at: i, stmt: o.stmt, block: block})
		if block {
			o.restart()
		}
	}
	return c
}

// isOperatorEquals reports whether the = at i is part of ==, !=, <= or >=.
func isOperatorEquals(text []byte, i int) bool {
	return i+1 < len(text) && text[i+1] == '=' || i > 0 && bytes.IndexByte([]byte("=!<>"), text[i-1]) >= 0
}

var opposite = map[byte]byte{'(': ')', '[': ']', '{': '}', ')': '(', ']': '[', '}': '{'}

// brackets reports brackets that do not pair up and blanks the statements that they
// spoil. An open bracket is taken to end before the next line that begins an
// attribute or a block, or before the brace that ends its block.
func (r *repair) brackets() {
	o := newOutline(r.text)
	bad := false
	surplus := braceSurplus(r.text)
	var tooEarly *bracket // a block that was closed by a brace further left
	before := -1          // where the statement before began, in the same block
	headless := -1        // where attributes began that stand in no block
	spoil := func(end int) {
		from := o.stmt
		if from < 0 {
			from = end
		}
		r.blank(from, end)
		o.restart()
		bad, before = false, -1
	}
	// leave drops the open brackets of an expression down to an object or block.
	leave := func(end int) {
		first := *o.top()
		for len(o.stack) > 0 && o.top().char != '{' {
			first = o.pop()
		}
		if !bad && (o.stmt < 0 || !openQuote(r.text[o.stmt:end], nil, false, r.reporter(o.stmt))) {
			r.reportOpen(first) // and not a text that swallowed the closing one
		}
		if bad = true; o.inBlock() {
			spoil(end)
		}
	}
	for i := 0; i < len(r.text); i++ {
		switch c := o.step(i); c {
		case ')', ']':
			if !o.inBlock() && o.top().char == opposite[c] {
				o.pop()
				break
			}
			switch open := o.opener(opposite[c]); {
			case open >= 0:
				// Those opened later were not closed; this one closes its own.
				if !bad {
					r.reportOpen(o.stack[open+1])
				}
				o.stack = o.stack[:open]
			case bad:
			case !o.inBlock() && o.top().char != '{':
				r.report("syntax.bracket", i, i+1, fmt.Sprintf("this %c stands where a %c would close", c, opposite[o.top().char]), "close each bracket with its own kind, the last opened first")
			default:
				r.report("syntax.bracket", i, i+1, fmt.Sprintf("this %c closes nothing", c), fmt.Sprintf("leave it out, or put the %c that it closes before it", opposite[c]))
				if o.inBlock() && !o.equals && before >= 0 {
					// A formula over several lines whose bracket closed too early.
					o.stmt = before
				}
			}
			bad = true
		case '}':
			if !o.inBlock() && o.top().char != '{' {
				leave(i)
			}
			if !o.inBlock() && r.firstOnLine(i) && r.indent(i) < r.indent(o.top().at) {
				open := o.pop()
				r.reportOpen(open)
				o.stmt = open.stmt
				spoil(r.endOfPairs(open.at))
			}
			if surplus > 0 && r.behindBrace(i, '}') {
				surplus--
				r.report("syntax.bracket", i, i+1, "this } closes nothing", "leave it out")
				r.text[i] = ' '
				break
			}
			if len(o.stack) > 0 && o.top().block && r.behindBrace(i, '}') {
				r.report("syntax.line", i, i+1, "two closing braces stand on one line", "put each on a line of its own")
				r.breakBefore(i)
			}
			if len(o.stack) > 0 && o.top().block && o.equals && !r.firstOnLine(i) && lineStart(r.text, o.top().at) < lineStart(r.text, i) {
				// It stands behind an attribute: the end of a table that was never
				// opened, or that of the block.
				if surplus > 0 {
					surplus--
					r.report("syntax.bracket", i, i+1, "this } closes nothing", "leave it out, or put the { that it closes before it")
					bad = true
					break
				}
				r.report("syntax.line", i, i+1, "the closing brace stands on the line of an attribute", "put it on a line of its own")
				r.blank(o.stmt, i)
				o.restart()
			}
			if len(o.stack) == 0 && headless >= 0 {
				r.report("pack.stray-attribute", headless, headless+r.codeLength(headless), "the head of a block is missing above this attribute", `write kind "name" { on a line above it`)
				r.blank(headless, i+1)
				headless = -1
				surplus--
				break
			}
			if len(o.stack) == 0 {
				r.report("syntax.bracket", i, i+1, "this } closes nothing", "leave it out; perhaps a block above is closed too early")
				r.text[i] = ' '
				surplus--
				break
			}
			if o.top().block && bad {
				spoil(i)
			}
			b := o.pop()
			if b.block {
				if tooEarly == nil && r.firstOnLine(i) && r.indent(i) < r.indent(b.at) {
					tooEarly = &b
				}
				o.restart()
				before = -1
			}
		case '{':
			if r.behindBrace(i, '{') {
				r.report("syntax.bracket", i, i+1, "a second { opens nothing", "leave it out")
				r.text[i] = ' '
				o.pop()
				surplus++
				break
			}
			if o.top().block {
				before = -1
				if len(o.stack) == 1 && r.indent(i) == 0 {
					headless = -1
				}
			}
		case '\n':
			if o.inBlock() {
				if o.stmt >= 0 && o.equals {
					before = o.stmt
					if len(o.stack) == 0 && headless < 0 {
						headless = o.stmt
					}
				}
				if bad {
					spoil(i)
				} else if o.stmt >= 0 && o.equals && len(o.stack) > 0 && o.top().at >= lineStart(r.text, i) {
					r.report("syntax.one-line", o.stmt, o.stmt+r.codeLength(o.stmt), "this attribute stands behind the brace that opens its block, and the block goes on", "put it on a line of its own")
					r.breakBefore(o.stmt)
				}
				o.restart()
			} else if o.top().char != '{' && beginsStatement(nextLine(r.text, i)) {
				leave(i)
			}
		}
	}
	r.finish(o, tooEarly, leave)
}

// opener finds the innermost bracket of a kind that stands open in the expression.
func (o *outline) opener(char byte) int {
	for i := len(o.stack) - 1; i >= 0 && !o.stack[i].block; i-- {
		if o.stack[i].char == char {
			return i
		}
	}
	return -1
}

// braceSurplus counts the closing braces that no opening one is left for.
func braceSurplus(text []byte) int {
	code := mask(text)
	return bytes.Count(code, []byte("}")) - bytes.Count(code, []byte("{"))
}

// quotedKey begins a line of a table whose keys are in quotes.
var quotedKey = regexp.MustCompile(`^\s*"[^"]*"\s*=`)

// endOfPairs returns where the lines of a table end that begins at open and is never
// closed: with its first line, and those below that begin with a key in quotes.
func (r *repair) endOfPairs(open int) int {
	end := lineEnd(r.text, open)
	for end < len(r.text) {
		next := lineEnd(r.text, end+1)
		if !quotedKey.Match(r.text[end+1 : next]) {
			break
		}
		end = next
	}
	return end
}

// finish reports what still stands open at the end of the chunk and closes it.
func (r *repair) finish(o *outline, tooEarly *bracket, leave func(int)) {
	if !o.inBlock() && o.top().char != '{' {
		leave(len(r.text))
	}
	r.text = bytes.TrimRight(r.text, " \t\r\n")
	r.tail = len(r.text)
	if len(o.stack) == 0 {
		return
	}
	open := o.stack[0]
	if tooEarly != nil && tooEarly.stmt >= 0 {
		open = *tooEarly
		r.lost["*"] = true // what follows it may belong to either block
	}
	if !open.block {
		r.reportOpen(open)
	} else {
		from := open.stmt
		if from < 0 {
			from = open.at
		}
		head := bytes.TrimRight(r.text[from:open.at], " \t\r\n")
		r.report("syntax.unclosed", from, from+max(len(head), 1), "this block is not closed", "put a closing brace } on a line of its own where the block ends")
	}
	r.text = append(r.text, bytes.Repeat([]byte("\n}"), len(o.stack))...)
}

// reporter returns a function that reports places counted from a statement's start.
func (r *repair) reporter(start int) func(from, to int, kind, says, do string) {
	return func(from, to int, kind, says, do string) { r.report(kind, start+from, start+to, says, do) }
}

func (r *repair) reportOpen(b bracket) {
	r.report("syntax.bracket", b.at, b.at+1, fmt.Sprintf("this %c is not closed", b.char), fmt.Sprintf("put the %c that closes it where the formula or list ends", opposite[b.char]))
}

// report adds a mistake at a range of the chunk.
func (r *repair) report(code string, start, end int, says, do string) {
	r.add(code, r.lines.span(r.start+start, r.start+end), says, do)
}

// firstOnLine reports whether only blanks stand before text[i] on its line.
func (r *repair) firstOnLine(i int) bool {
	return len(bytes.TrimSpace(r.text[lineStart(r.text, i):i])) == 0
}

// behindBrace reports whether the code before text[i] on its line ends in a brace
// that begins or ends a block.
func (r *repair) behindBrace(i int, brace byte) bool {
	line := bytes.TrimSpace(mask(r.text[lineStart(r.text, i):i]))
	return len(line) > 0 && line[len(line)-1] == brace && (brace == '{' || bytes.IndexByte(line, '=') < 0)
}

// codeLength returns how long the code is from text[i] to the end of its line.
func (r *repair) codeLength(i int) int {
	return len(bytes.TrimRight(mask(r.text[i:lineEnd(r.text, i)]), " \t\r"))
}

// breakBefore ends the line before text[i], if there is a blank to make room.
func (r *repair) breakBefore(i int) {
	from := lineStart(r.text, i)
	switch {
	case i > 0 && r.text[i-1] == ' ':
		r.text[i-1] = '\n'
	case r.text[from] == ' ':
		copy(r.text[from:i-1], r.text[from+1:i])
		r.text[i-1] = '\n'
	}
}

// indent counts the blanks that begin the line of text[i].
func (r *repair) indent(i int) int {
	line := r.text[lineStart(r.text, i):]
	return len(line) - len(bytes.TrimLeft(line, " \t"))
}

var (
	attributePattern = regexp.MustCompile(`^\s*([A-Za-z_][A-Za-z0-9_-]*)\s*=(?:[^=]|$)`)
	nestedHead       = regexp.MustCompile(`^\s*[A-Za-z_]+\s*("[^"]*"\s*)?\{\s*$`)
)

// beginsStatement reports whether a line begins an attribute or a block.
func beginsStatement(line []byte) bool {
	return attributePattern.Match(line) || nestedHead.Match(line)
}

func lineStart(text []byte, i int) int { return bytes.LastIndexByte(text[:i], '\n') + 1 }

func lineEnd(text []byte, i int) int {
	if n := bytes.IndexByte(text[i:], '\n'); n >= 0 {
		return i + n
	}
	return len(text)
}

// nextLine returns the next line below text[i] that is not empty.
func nextLine(text []byte, i int) []byte {
	for at := lineEnd(text, i) + 1; at < len(text); at = lineEnd(text, at) + 1 {
		if line := text[at:lineEnd(text, at)]; len(bytes.TrimSpace(line)) > 0 {
			return line
		}
	}
	return nil
}

// assigned finds the attributes that a stretch of code gives values to.
var assigned = regexp.MustCompile(`([A-Za-z_][A-Za-z0-9_-]*)\s*=(?:[^=]|$)`)

// firstWord finds what a line without = was probably meant to name.
var firstWord = regexp.MustCompile(`^\s*([A-Za-z_][A-Za-z0-9_]*)`)

// blank overwrites a stretch with spaces and records as lost what it may have held.
// It is false when there was nothing to blank.
func (r *repair) blank(start, end int) bool {
	end = min(end, r.limit())
	if start >= end || len(bytes.TrimSpace(r.text[start:end])) == 0 {
		return false
	}
	code := mask(r.text[start:end])
	if bytes.HasPrefix(bytes.TrimSpace(code), []byte("=")) {
		r.lost["*"] = true // an attribute without its name may be any
	}
	for _, m := range assigned.FindAllSubmatch(code, -1) {
		r.lost[string(m[1])] = true
	}
	if m := firstWord.FindSubmatch(code); m != nil {
		r.lost[string(m[1])] = true
	}
	for i := start; i < end; i++ {
		if r.text[i] != '\n' {
			r.text[i] = ' '
		}
	}
	return true
}

// limit is where the text of the file ends.
func (r *repair) limit() int {
	if r.tail > 0 {
		return r.tail
	}
	return len(r.text)
}

// statementAt finds the statement that holds a place, or the last one before it.
func statementAt(text []byte, at int) (statement, bool) {
	o := newOutline(text)
	var found statement
	ok := false
	end := func(i int, head bool) {
		if s := o.stmt; s >= 0 && s <= at {
			found, ok = statement{s, i, head}, true
		}
		o.restart()
	}
	for i := range text {
		before := o.stmt
		switch c := o.step(i); {
		case c == '{' && o.top().block:
			o.stmt = before
			if before < 0 {
				o.stmt = i
			}
			end(i+1, true)
		case c == '}' || c == ')' || c == ']':
			if len(o.stack) > 0 {
				if o.top().block {
					end(i, false)
				}
				o.pop()
			}
		case c == '\n' && o.inBlock():
			end(i, false)
		}
		if i > at && o.stmt < 0 && ok {
			break
		}
	}
	end(len(text), false)
	return found, ok
}
