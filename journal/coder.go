package journal

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// Whether a field must be there and say something.
const (
	optional = false
	required = true
)

// coder moves the fields of a body between its struct and a line: out of the spans
// of a scanned line, or into out when writing. The first thing that is wrong is
// kept in fail; what comes after it does nothing.
type coder struct {
	kind    Kind
	sc      *scanner
	writing bool
	out     []byte
	fail    string
}

func (c *coder) failf(format string, args ...any) {
	if c.fail == "" {
		c.fail = fmt.Sprintf(format, args...)
	}
}

// insist fails with a sentence unless what it says is so.
func (c *coder) insist(so bool, sentence string) {
	if !so {
		c.failf("%s", sentence)
	}
}

// given returns the span of a field that the line has.
func (c *coder) given(f field) (span, bool) {
	if c.fail != "" || !c.sc.has(f) {
		return span{}, false
	}
	return c.sc.spans[f], true
}

// missing fails for a required field that is absent or blank.
func (c *coder) missing(f field) {
	c.failf("the %s event has no %q", c.kind, fieldNames[f])
}

// wrong fails for a value that is not what it should be.
func (c *coder) wrong(f field, v span, what string) {
	c.failf("the value of %q is not %s: %s", fieldNames[f], what, c.raw(v))
}

// raw is a value as it stands in the line, shortened.
func (c *coder) raw(v span) string {
	if v.is == '"' {
		return quoted(textOf(c.sc.s, v))
	}
	return shown(c.sc.s[v.start:v.end])
}

func (c *coder) writeName(name string) {
	c.out = append(c.out, ',')
	c.out = appendText(c.out, name)
	c.out = append(c.out, ':')
}

// text is a field that holds text.
func (c *coder) text(f field, p *string, need bool) {
	if c.writing {
		if *p != "" || need {
			c.writeName(fieldNames[f])
			c.out = appendText(c.out, *p)
		}
		return
	}
	v, ok := c.given(f)
	switch {
	case !ok:
		if need {
			c.missing(f)
		}
	case v.is != '"':
		c.wrong(f, v, "text")
	default:
		*p = textOf(c.sc.s, v)
		if need && blankText(*p) {
			c.missing(f)
		}
	}
}

// figure is a field that holds an amount as text, where a bare JSON number is kept
// as its own text.
func (c *coder) figure(f field, p *string, need bool) {
	if !c.writing {
		if v, ok := c.given(f); ok && v.is == '0' {
			*p = c.sc.s[v.start:v.end]
			return
		}
	}
	c.text(f, p, need)
}

// word is a field that holds one of a few words.
func (c *coder) word(f field, p *string, words []string, need bool) {
	c.text(f, p, need)
	if c.writing || c.fail != "" || *p == "" || slices.Contains(words, *p) {
		return
	}
	c.failf("the value of %q is %s; it can be %s", fieldNames[f], quoted(*p), orList(words))
}

// claim is a field that is true or false; given tells a false from a silence.
func (c *coder) claim(f field, p, given *bool) {
	if c.writing {
		if *p || *given {
			c.writeName(fieldNames[f])
			c.out = strconv.AppendBool(c.out, *p)
		}
		return
	}
	v, ok := c.given(f)
	if !ok {
		return
	}
	if v.is != 't' && v.is != 'f' {
		c.wrong(f, v, "true or false")
		return
	}
	*p, *given = v.is == 't', true
}

// count is a field that holds a whole number from 1; 0 is not stated.
func (c *coder) count(f field, p *int) {
	if c.writing {
		if *p != 0 {
			c.writeName(fieldNames[f])
			c.out = strconv.AppendInt(c.out, int64(*p), 10)
		}
		return
	}
	if v, ok := c.given(f); ok {
		*p, ok = wholeNumber(c.sc.s, v)
		if !ok {
			c.wrong(f, v, "a whole number from 1")
		}
	}
}

// point is the fastener of a pattern: a whole number from 1, or "all".
func (c *coder) point(f field, p *int, all *bool) {
	const everyPoint = "all"
	if c.writing {
		c.insist(!*all || *p == 0, `the event says both one point and all points`)
		if *all {
			c.writeName(fieldNames[f])
			c.out = appendText(c.out, everyPoint)
			return
		}
		c.count(f, p)
		return
	}
	v, ok := c.given(f)
	if !ok {
		return
	}
	if v.is == '"' && textOf(c.sc.s, v) == everyPoint {
		*all = true
		return
	}
	if *p, ok = wholeNumber(c.sc.s, v); !ok {
		c.wrong(f, v, `a whole number from 1 or "all"`)
	}
}

// minutes is a number that is not negative; a text that holds nothing but the
// number is read as well.
func (c *coder) minutes(f field, p *float64) {
	if c.writing {
		c.insist(!math.IsNaN(*p) && !math.IsInf(*p, 0), "the minutes are not a number")
		c.writeName(fieldNames[f])
		c.out = strconv.AppendFloat(c.out, *p, 'f', -1, 64)
		return
	}
	v, ok := c.given(f)
	if !ok {
		c.missing(f)
		return
	}
	number := c.sc.s[v.start:v.end]
	if v.is == '"' {
		number = textOf(c.sc.s, v)
	}
	m, err := strconv.ParseFloat(number, 64)
	if (v.is != '0' && v.is != '"') || !plainNumber(number) || err != nil || m < 0 {
		c.wrong(f, v, "a number of minutes from 0")
		return
	}
	*p = m + 0 // a negative zero becomes zero
}

// digest is a required SHA-256 in hexadecimal digits, kept in lower case.
func (c *coder) digest(f field, p *string) {
	c.text(f, p, required)
	if c.writing || c.fail != "" {
		return
	}
	if len(*p) != 64 || strings.ContainsFunc(*p, func(r rune) bool { return r > 0x7f || !isHex(byte(r)) }) {
		c.failf("the value of %q is not 64 hexadecimal digits: %s", fieldNames[f], quoted(*p))
		return
	}
	*p = strings.ToLower(*p)
}

// cell is an object of position, axis and n.
func (c *coder) cell(f field, p *Cell) {
	if c.writing {
		if *p == (Cell{}) {
			return
		}
		c.writeName(fieldNames[f])
		start := len(c.out)
		if p.Position != "" {
			c.writeName("position")
			c.out = appendText(c.out, p.Position)
		}
		if p.Axis != "" {
			c.writeName("axis")
			c.out = appendText(c.out, p.Axis)
		}
		if p.N != 0 {
			c.writeName("n")
			c.out = strconv.AppendInt(c.out, int64(p.N), 10)
		}
		c.out[start] = '{' // in place of the first comma
		c.out = append(c.out, '}')
		return
	}
	v, ok := c.given(f)
	if !ok {
		return
	}
	if v.is != '{' {
		c.wrong(f, v, `an object like {"position":"10 mm","axis":"thrust","n":1}`)
		return
	}
	c.members(v, func(name string, v span) {
		switch name {
		case "position":
			c.member(f, name, v, &p.Position)
		case "axis":
			c.member(f, name, v, &p.Axis)
		case "n":
			if p.N, ok = wholeNumber(c.sc.s, v); !ok {
				c.failf("the value of \"n\" in %q is not a whole number from 1: %s", fieldNames[f], c.raw(v))
			}
		}
	})
}

// sizes is an object of quantity texts by name.
func (c *coder) sizes(f field, p *map[string]string) {
	if c.writing {
		if len(*p) == 0 {
			return
		}
		names := make([]string, 0, len(*p))
		for name := range *p {
			names = append(names, name)
		}
		sort.Strings(names)
		c.writeName(fieldNames[f])
		start := len(c.out)
		for _, name := range names {
			c.writeName(name)
			c.out = appendText(c.out, (*p)[name])
		}
		c.out[start] = '{' // in place of the first comma
		c.out = append(c.out, '}')
		return
	}
	v, ok := c.given(f)
	if !ok {
		return
	}
	if v.is != '{' {
		c.wrong(f, v, `an object like {"thickness":"0.30 mm"}`)
		return
	}
	c.members(v, func(name string, v span) {
		var size string
		c.member(f, name, v, &size)
		c.insist(!blankText(size), fmt.Sprintf("the size %s is empty", quoted(name)))
		if *p == nil {
			*p = make(map[string]string)
		}
		(*p)[name] = size
	})
}

// member is a text inside an object.
func (c *coder) member(f field, name string, v span, p *string) {
	if v.is != '"' {
		c.failf("the value of %s in %q is not text: %s", quoted(name), fieldNames[f], c.raw(v))
		return
	}
	*p = textOf(c.sc.s, v)
}

// members goes through the members of an object that the scanner has accepted.
func (c *coder) members(object span, each func(name string, v span)) {
	inner := scanner{s: c.sc.s[:object.end], at: object.start + 1}
	for inner.space(); inner.s[inner.at] == '"'; inner.space() {
		name, _ := inner.name()
		v, _ := inner.value(1)
		each(name, v)
		inner.space()
		inner.next(',')
	}
}

// wholeNumber reads a whole number from 1, written without point or exponent. The
// most is what any list in an engine stays far below.
func wholeNumber(s string, v span) (int, bool) {
	const most = 1_000_000
	if v.is != '0' {
		return 0, false
	}
	n, err := strconv.Atoi(s[v.start:v.end])
	if err != nil || n < 1 || n > most {
		return 0, false
	}
	return n, true
}

// plainNumber says whether text is a JSON number: strconv reads more than that.
func plainNumber(text string) bool {
	sc := scanner{s: text}
	v, ok := sc.value(1)
	return ok && v.is == '0' && sc.at == len(text)
}

// blankText says whether text says nothing.
func blankText(text string) bool { return strings.TrimSpace(text) == "" }

// orList writes words as "a, b or c".
func orList(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
