package journal

import (
	"fmt"
	"unicode/utf8"
)

// MaxNesting is how deep objects and lists may stand inside one another in a line.
// The deepest field that means anything is at 2.
const MaxNesting = 32

// span is one value in a line. A text's span is without its quotation marks.
type span struct {
	start, end int
	// is is the first byte of the value: '"' '{' '[' 't' 'f' 'n', or '0' for any
	// number.
	is byte
	// escaped is true for a text with a backslash in it.
	escaped bool
}

// scanner checks that a line is one JSON object, by RFC 8259 and with no name
// twice, and notes where the fields stand that mean something. It does not copy.
// It may be used again.
type scanner struct {
	s      string
	at     int
	fail   string
	seen   [(int(fieldsEnd) + 63) / 64]uint64
	spans  [fieldsEnd]span
	others nameSet
	marks  sealMarks
}

func (sc *scanner) has(f field) bool { return sc.seen[f/64]&(1<<(f%64)) != 0 }

// scan scans s and returns "" or what is wrong with it.
func (sc *scanner) scan(s string) string {
	sc.s, sc.at, sc.fail, sc.marks = s, 0, "", sealMarks{}
	clear(sc.seen[:])
	sc.others.clear()
	if i := invalidUTF8(s); i >= 0 {
		return fmt.Sprintf("the line is not UTF-8 text: byte 0x%02X at character %d", s[i], column(s, i))
	}
	sc.space()
	if sc.at == len(s) {
		return "the line is empty"
	}
	if s[sc.at] != '{' {
		return fmt.Sprintf("the line is not an event in braces: it starts with %s", quoted(s[sc.at:]))
	}
	if !sc.event() {
		return sc.fail
	}
	sc.space()
	if sc.at < len(s) {
		return fmt.Sprintf("something follows the closing brace: %s", quoted(s[sc.at:]))
	}
	return ""
}

// event scans the top-level object.
func (sc *scanner) event() bool {
	sc.at++
	sc.space()
	if sc.next('}') {
		return true
	}
	comma := -1
	for {
		start := sc.at
		name, ok := sc.name()
		if !ok {
			return false
		}
		v, ok := sc.value(1)
		if !ok {
			return false
		}
		f, known := lookupField(name)
		if known {
			if sc.has(f) {
				return sc.twice(name)
			}
			sc.seen[f/64] |= 1 << (f % 64)
			sc.spans[f] = v
		} else if !sc.others.add(name) {
			return sc.twice(name)
		}
		sc.marks.note(f, known, comma, start, sc.at)
		sc.space()
		comma = sc.at
		if sc.next(',') {
			sc.space()
			continue
		}
		if sc.next('}') {
			return true
		}
		return sc.expected(`a comma or the closing brace`)
	}
}

// name scans a member's name and its colon and returns the name as meant.
func (sc *scanner) name() (string, bool) {
	if sc.at == len(sc.s) || sc.s[sc.at] != '"' {
		return "", sc.expected("a name in quotation marks")
	}
	v, ok := sc.text()
	if !ok {
		return "", false
	}
	sc.space()
	if !sc.next(':') {
		return "", sc.expected("a colon")
	}
	sc.space()
	return textOf(sc.s, v), true
}

// value scans any value. depth is how many objects and lists it stands in.
func (sc *scanner) value(depth int) (span, bool) {
	if sc.at == len(sc.s) {
		return span{}, sc.expected("a value")
	}
	v := span{start: sc.at, is: sc.s[sc.at]}
	var ok bool
	switch v.is {
	case '"':
		return sc.text()
	case '{':
		ok = sc.object(depth)
	case '[':
		ok = sc.list(depth)
	case 't':
		ok = sc.literal("true")
	case 'f':
		ok = sc.literal("false")
	case 'n':
		ok = sc.literal("null")
	case '-', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9':
		v.is = '0'
		ok = sc.number()
	default:
		ok = sc.expected("a value")
	}
	v.end = sc.at
	return v, ok
}

func (sc *scanner) object(depth int) bool {
	if depth == MaxNesting {
		return sc.tooDeep()
	}
	sc.at++
	sc.space()
	if sc.next('}') {
		return true
	}
	var names nameSet
	for {
		name, ok := sc.name()
		if !ok {
			return false
		}
		if !names.add(name) {
			return sc.twice(name)
		}
		if _, ok := sc.value(depth + 1); !ok {
			return false
		}
		sc.space()
		if sc.next(',') {
			sc.space()
			continue
		}
		if sc.next('}') {
			return true
		}
		return sc.expected("a comma or a closing brace")
	}
}

func (sc *scanner) list(depth int) bool {
	if depth == MaxNesting {
		return sc.tooDeep()
	}
	sc.at++
	sc.space()
	if sc.next(']') {
		return true
	}
	for {
		if _, ok := sc.value(depth + 1); !ok {
			return false
		}
		sc.space()
		if sc.next(',') {
			sc.space()
			continue
		}
		if sc.next(']') {
			return true
		}
		return sc.expected("a comma or a closing bracket")
	}
}

// text scans a text, from its opening quotation mark.
func (sc *scanner) text() (span, bool) {
	s := sc.s
	v := span{start: sc.at + 1, is: '"'}
	for i := v.start; i < len(s); {
		switch b := s[i]; {
		case b == '"':
			v.end, sc.at = i, i+1
			return v, true
		case b == '\\':
			v.escaped = true
			n := escapeLength(s[i:])
			if n == 0 && i+1 < len(s) {
				sc.at = i
				_, width := utf8.DecodeRuneInString(s[i+1:])
				return v, sc.say("a backslash before %s is no escape of JSON", quoted(s[i+1:i+1+width]))
			}
			i += max(n, 1)
			continue
		case b < 0x20:
			sc.at = i
			return v, sc.say("a raw control character U+%04X stands inside a text; write it as \\u%04x", b, b)
		}
		i++
	}
	sc.fail = "the line breaks off inside a text: its closing quotation mark is missing"
	return v, false
}

// escapeLength is the length of the escape that s starts with, 0 for none.
func escapeLength(s string) int {
	if len(s) < 2 {
		return 0
	}
	switch s[1] {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		return 2
	case 'u':
		if len(s) >= 6 && isHex(s[2]) && isHex(s[3]) && isHex(s[4]) && isHex(s[5]) {
			return 6
		}
	}
	return 0
}

func isHex(b byte) bool {
	return '0' <= b && b <= '9' || 'a' <= b|0x20 && b|0x20 <= 'f'
}

func (sc *scanner) number() bool {
	start := sc.at
	sc.next('-')
	if !sc.next('0') && !sc.digits() {
		return sc.expected("a digit")
	}
	if sc.next('.') && !sc.digits() {
		return sc.expected("a digit after the decimal point")
	}
	if sc.next('e') || sc.next('E') {
		_ = sc.next('+') || sc.next('-')
		if !sc.digits() {
			return sc.expected("a digit of the exponent")
		}
	}
	if sc.at < len(sc.s) && '0' <= sc.s[sc.at] && sc.s[sc.at] <= '9' {
		sc.at = start
		return sc.say("a number starts with a needless zero")
	}
	return true
}

func (sc *scanner) digits() bool {
	start := sc.at
	for sc.at < len(sc.s) && '0' <= sc.s[sc.at] && sc.s[sc.at] <= '9' {
		sc.at++
	}
	return sc.at > start
}

func (sc *scanner) literal(word string) bool {
	if len(sc.s)-sc.at < len(word) || sc.s[sc.at:sc.at+len(word)] != word {
		return sc.expected("a value")
	}
	sc.at += len(word)
	return true
}

func (sc *scanner) next(b byte) bool {
	if sc.at < len(sc.s) && sc.s[sc.at] == b {
		sc.at++
		return true
	}
	return false
}

func (sc *scanner) space() {
	for sc.at < len(sc.s) && isSpace(sc.s[sc.at]) {
		sc.at++
	}
}

// isSpace says whether b is white space of JSON inside a line.
func isSpace(b byte) bool { return b == ' ' || b == '\t' || b == '\r' || b == '\n' }

// expected fails with what should stand at the scanner's place.
func (sc *scanner) expected(what string) bool {
	if sc.at >= len(sc.s) {
		sc.fail = fmt.Sprintf("the line breaks off where %s should stand", what)
		return false
	}
	return sc.say("%s should stand before %s", what, quoted(sc.s[sc.at:]))
}

func (sc *scanner) twice(name string) bool {
	sc.fail = fmt.Sprintf("the name %s stands twice", quoted(name))
	return false
}

func (sc *scanner) tooDeep() bool {
	return sc.say("objects and lists are nested more than %d deep", MaxNesting)
}

// say fails with a sentence and the place.
func (sc *scanner) say(format string, args ...any) bool {
	sc.fail = fmt.Sprintf(format, args...) + fmt.Sprintf(", at character %d", column(sc.s, sc.at))
	return false
}

// invalidUTF8 returns the place of the first byte that is not UTF-8, or -1.
func invalidUTF8(s string) int {
	if utf8.ValidString(s) {
		return -1
	}
	for i, r := range s {
		if r == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(s[i:]); n == 1 {
				return i
			}
		}
	}
	return -1
}

// nameSet notices a name that comes twice. Most objects have few names, which a
// short list holds without an allocation; a map takes over before looking along
// the list could cost more than linear time.
type nameSet struct {
	few  [8]string
	n    int
	many map[string]struct{}
}

func (set *nameSet) clear() { set.n, set.many = 0, nil }

// add returns false when name is in the set already.
func (set *nameSet) add(name string) bool {
	for _, other := range set.few[:set.n] {
		if other == name {
			return false
		}
	}
	if set.n < len(set.few) {
		set.few[set.n] = name
		set.n++
		return true
	}
	if set.many == nil {
		set.many = make(map[string]struct{})
	}
	if _, twice := set.many[name]; twice {
		return false
	}
	set.many[name] = struct{}{}
	return true
}
