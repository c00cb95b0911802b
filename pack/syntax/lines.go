package syntax

import (
	"bytes"
	"sort"
	"unicode/utf8"
)

// stride is how many bytes lie between two counts of the index of characters.
const stride = 256

// lines is an index of a text: where its lines begin, and how many characters lie
// before every stride-th byte. Every place in a source is found through it, so that
// a column is a count of characters whatever the text holds.
type lines struct {
	file   File
	starts []int
	runes  []int
}

func newLines(f File) *lines {
	l := &lines{file: f, starts: []int{0}}
	count := 0
	for i, c := range f.Text {
		if i%stride == 0 {
			l.runes = append(l.runes, count)
		}
		if utf8.RuneStart(c) {
			count++
		}
		if c == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	return l
}

// charactersBefore counts the characters that begin before a byte.
func (l *lines) charactersBefore(at int) int {
	if len(l.runes) == 0 {
		return 0
	}
	block := min(at/stride, len(l.runes)-1)
	count := l.runes[block]
	for _, c := range l.file.Text[block*stride : at] {
		if utf8.RuneStart(c) {
			count++
		}
	}
	return count
}

func (l *lines) position(at int) (line, column int) {
	line = sort.SearchInts(l.starts, at+1)
	from := l.starts[line-1]
	return line, l.charactersBefore(at) - l.charactersBefore(from) + 1
}

// span builds the span of a byte range of the file.
func (l *lines) span(start, end int) Span {
	start = min(max(start, 0), len(l.file.Text))
	end = min(max(end, start), len(l.file.Text))
	s := Span{File: l.file.Name, Start: start, End: end}
	s.Line, s.Column = l.position(start)
	s.EndLine, s.EndCo = l.position(end)
	return s
}

// byteOrderMark is what some editors put before a text in UTF-8.
var byteOrderMark = []byte("\ufeff")

// withoutMark returns the text that is read: a byte order mark is passed over.
func withoutMark(text []byte) []byte { return bytes.TrimPrefix(text, byteOrderMark) }
