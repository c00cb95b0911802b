package journal

import (
	"fmt"
	"strconv"
	"unicode/utf8"
)

// The codes of problems; docs/journal-format.md says what each means and what to
// do. A code is never renamed and never used for something else.
const (
	CodeBrokenLine    = "journal.broken-line"
	CodeLineTooLong   = "journal.line-too-long"
	CodeTooLarge      = "journal.too-large"
	CodeMoreLines     = "journal.more-lines"
	CodeUnknownKind   = "journal.unknown-kind"
	CodeSameID        = "journal.same-id-different-content"
	CodeStrikeUnknown = "journal.strike-unknown"
	CodeChainBroken   = "journal.chain-broken"
)

// Codes returns every code of a problem. The slice is the caller's.
func Codes() []string {
	return []string{
		CodeBrokenLine, CodeLineTooLong, CodeTooLarge, CodeMoreLines,
		CodeUnknownKind, CodeSameID, CodeStrikeUnknown, CodeChainBroken,
	}
}

// Problem says what in a journal could not be used as it stands.
type Problem struct {
	// Code is one of Codes.
	Code string
	// Line is the line of the file, from 1; 0 where there is none.
	Line int
	// Event is the id of the event, where it could be read.
	Event string
	// Detail says what was wrong and, where it helps, what to write.
	Detail string
	// Attention is true when something recorded does not count because of this, or
	// when the record cannot be trusted. It is true for every code so far.
	Attention bool
}

// Error returns the line and the detail as one sentence.
func (p Problem) Error() string {
	if p.Line == 0 {
		return p.Detail
	}
	return fmt.Sprintf("line %d: %s", p.Line, p.Detail)
}

// quotedLength is how many characters of an offending value are shown. It is
// enough to find the value again and short enough for a phone.
const quotedLength = 40

// quoted returns text in quotation marks, shortened, with characters that cannot
// be printed written as escapes.
func quoted(text string) string {
	n := 0
	for i := range text {
		if n == quotedLength {
			return strconv.Quote(text[:i] + "…")
		}
		n++
	}
	return strconv.Quote(text)
}

// shown returns a piece of JSON text as it stands, shortened.
func shown(text string) string {
	n := 0
	for i := range text {
		if n == quotedLength {
			return text[:i] + "…"
		}
		n++
	}
	return text
}

// column is the character, from 1, at which byte i of text stands.
func column(text string, i int) int { return utf8.RuneCountInString(text[:i]) + 1 }
