package journal

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf8"
)

// The most that is read. They are far above any real journal, which has some
// thousand lines of some hundred bytes, and keep a wrong or hostile file from
// using up the machine. Neither counts the seq and hash of an export.
const (
	// MaxLine is the length of a line in bytes, without its line end.
	MaxLine = 1 << 20
	// MaxJournal is the length of a journal in bytes.
	MaxJournal = 64 << 20
	// MaxBrokenLines is how many lines that cannot be used are reported one by one
	// and kept in Aside; a last problem counts the others.
	MaxBrokenLines = 10_000
)

// maxIDLength is the longest id, in characters.
const maxIDLength = 64

// Journal is the text of a journal, read.
type Journal struct {
	// Events are the lines that can be used, in the order of the file, repeated
	// deliveries among them.
	Events []Event
	// Aside are the lines that were set aside, in the order of the file. For an
	// unknown kind ID, At, By, Kind and Late are known and Body is nil; of a broken
	// line there is only Line and Bytes.
	Aside []Event
	// Problems are what was found on reading, in the order of the file. Fold adds
	// its own.
	Problems []Problem
	// Chained is true when every line carries a seq and a hash and all of them are
	// right. It says that nothing was changed, left out or put in before the last
	// line; that nothing is missing after it, only Head can show, compared with
	// one kept elsewhere.
	Chained bool
	// Head is the hash that the chain ends in: that of the last line when Chained,
	// else the one in which Export(j.Events) will end. It is zero for no events.
	Head [32]byte
}

// Received returns all events, those of an unknown kind among them, in the order
// of the file: what a store should keep and what an export should hold.
func (j *Journal) Received() []Event {
	unknown := 0
	for i := range j.Aside {
		if j.Aside[i].Kind != "" {
			unknown++
		}
	}
	if unknown == 0 {
		return j.Events
	}
	all := make([]Event, 0, len(j.Events)+unknown)
	rest := j.Events
	for _, e := range j.Aside {
		if e.Kind == "" {
			continue
		}
		n := 0
		for n < len(rest) && rest[n].Line < e.Line {
			n++
		}
		all = append(append(all, rest[:n]...), e)
		rest = rest[n:]
	}
	return append(all, rest...)
}

// Read reads the text of a journal. It never fails as a whole: what cannot be used
// is set aside, with a Problem that gives its line. Empty lines are skipped, as are
// lines of NUL that a crash can leave; a byte order mark at the start, line ends
// with a carriage return and a last line without a line end are taken. The events
// share memory with data, which must not be changed afterwards.
//
// A line that has seq and hash is checked against the chain; see [Export]. Where a
// line does not fit, that line is reported and the chain is taken up again after
// it, so that one changed line is one problem.
func Read(data []byte) *Journal {
	r := reader{journal: &Journal{}}
	data = bytes.TrimLeft(data, "\x00")
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	r.room = len(data)
	// A line is hardly ever shorter than this, so the slice seldom grows.
	r.journal.Events = make([]Event, 0, min(bytes.Count(data, []byte{'\n'}), len(data)/64)+1)
	for number := 1; len(data) > 0 && !r.stopped; number++ {
		line, rest, ended := bytes.Cut(data, []byte{'\n'})
		if ended {
			line = bytes.TrimSuffix(line, []byte{'\r'})
		}
		r.left = len(data)
		data = rest
		if isBlank(line) {
			continue
		}
		r.line(number, line[:len(line):len(line)])
	}
	r.finish()
	return r.journal
}

// reader holds what Read knows so far.
type reader struct {
	journal *Journal
	scanner scanner
	chain   verifier
	// arena holds the received bytes of sealed lines, which are nowhere in one
	// piece in the file; room is how much it may need.
	arena []byte
	room  int
	// size is how much was read, left how much of the file there was before this
	// line.
	size, left int
	stopped    bool
	// broken counts lines set aside; lastBroken is the last of them.
	broken, lastBroken int
}

// line takes the next line that is not blank.
func (r *reader) line(number int, line []byte) {
	received := line
	s, sealed := sealOf(line)
	if sealed {
		if r.arena == nil {
			r.arena = make([]byte, 0, r.room)
		}
		start := len(r.arena)
		r.arena = append(r.arena, line[:s.start]...)
		r.arena = append(r.arena, line[s.brace:]...)
		received = r.arena[start:len(r.arena):len(r.arena)]
	}
	if r.size += len(received) + 1; r.size > MaxJournal {
		r.stopped = true
		r.report(Problem{Code: CodeTooLarge, Line: number,
			Detail: fmt.Sprintf("the journal is larger than %d MB; %d bytes from this line on were not read", MaxJournal>>20, r.left)})
		return
	}
	chained := received
	received, line = trimReturns(received), trimReturns(line)
	var e Event
	var p *Problem
	if p = tooLong(len(received)); p == nil {
		e, p = decode(&r.scanner, line)
	}
	usable := p == nil || p.Code == CodeUnknownKind
	stray := !sealed && usable && (r.scanner.has(fieldSeq) || r.scanner.has(fieldHash))
	if sealed {
		if detail := r.chain.check(s, chained); detail != "" {
			r.report(Problem{Code: CodeChainBroken, Line: number, Event: e.ID, Detail: detail})
		}
	} else {
		r.chain.bare(number, stray)
	}
	e.Line = number
	if sealed || e.Bytes == nil {
		e.Bytes = received
	}
	if p == nil {
		r.journal.Events = append(r.journal.Events, e)
		return
	}
	p.Line = number
	if p.Code == CodeUnknownKind {
		r.report(*p)
		r.journal.Aside = append(r.journal.Aside, e)
		return
	}
	if r.broken++; r.broken <= MaxBrokenLines {
		r.report(*p)
		r.journal.Aside = append(r.journal.Aside, Event{Line: number, Bytes: e.Bytes})
	}
	r.lastBroken = number
}

func (r *reader) report(p Problem) {
	p.Attention = true
	r.journal.Problems = append(r.journal.Problems, p)
}

// finish says what can only be said of the whole file.
func (r *reader) finish() {
	j := r.journal
	if more := r.broken - MaxBrokenLines; more > 0 {
		r.report(Problem{Code: CodeMoreLines, Line: r.lastBroken,
			Detail: fmt.Sprintf("%d more lines were set aside, this one the last; is this a journal?", more)})
	}
	if p := r.chain.verdict(); p != nil {
		r.report(*p)
	}
	sortProblems(j.Problems)
	j.Chained = r.chain.sound() && !r.stopped
	if j.Chained {
		j.Head = r.chain.stated
		return
	}
	for i := range j.Events {
		j.Head = Chain(j.Head, j.Events[i].Bytes)
	}
}

// trimReturns takes carriage returns off the end of a line. Received bytes never end
// in one: it could not be told from a part of the line end once it is in a file. The
// chain sees a needless one all the same, so that it is noticed in an export.
func trimReturns(line []byte) []byte {
	line = bytes.TrimRight(line, "\r")
	return line[:len(line):len(line)]
}

// tooLong returns a problem for a line of n bytes that is longer than is read.
func tooLong(n int) *Problem {
	if n <= MaxLine {
		return nil
	}
	return &Problem{Code: CodeLineTooLong, Attention: true,
		Detail: fmt.Sprintf("the line is %d bytes long; %d is the most that is read", n, MaxLine)}
}

// decode reads one line without its line end, whatever its length. The event's Line
// is not set.
func decode(sc *scanner, line []byte) (Event, *Problem) {
	broken := func(id, detail string) *Problem {
		return &Problem{Code: CodeBrokenLine, Event: id, Detail: detail, Attention: true}
	}
	if detail := sc.scan(string(line)); detail != "" {
		return Event{}, broken("", detail)
	}
	e := Event{Bytes: sc.marks.cut(line)}
	c := coder{sc: sc}
	var at, kind string
	c.common(&e.ID, &at, &e.By, &kind, &e.Late)
	if c.fail == "" {
		if detail := badID(e.ID); detail != "" {
			return Event{Bytes: e.Bytes}, broken("", detail)
		}
		var ok bool
		if e.At, ok = parseTime(at); !ok {
			c.failf("the value of \"at\" is not a time: %s; write it like 2026-03-02T10:04:00Z", quoted(at))
		}
	}
	if c.fail != "" {
		return Event{Bytes: e.Bytes}, broken(e.ID, c.fail)
	}
	t := typeOfKind(Kind(kind))
	if t == nil {
		e.Kind = Kind(kind)
		return e, &Problem{Code: CodeUnknownKind, Event: e.ID, Attention: true,
			Detail: fmt.Sprintf("the kind %s is none that this version knows", quoted(kind))}
	}
	e.Kind, c.kind = t.kind, t.kind
	e.Body = t.read(&c)
	if c.fail != "" {
		return Event{Bytes: e.Bytes}, broken(e.ID, c.fail)
	}
	return e, nil
}

// common reads the fields that every event has.
func (c *coder) common(id, at, by, kind *string, late *bool) {
	for _, need := range [...]field{fieldID, fieldAt, fieldKind} {
		if !c.sc.has(need) {
			c.failf("the event has no %q", fieldNames[need])
			return
		}
	}
	c.text(fieldID, id, optional)
	c.text(fieldAt, at, optional)
	c.text(fieldBy, by, optional)
	c.text(fieldKind, kind, optional)
	c.insist(c.fail != "" || *kind != "", "the event's kind is empty")
	var given bool
	c.claim(fieldLate, late, &given)
}

// badID returns "" or what is wrong with an id.
func badID(id string) string {
	if id == "" {
		return "the id is empty"
	}
	if n := utf8.RuneCountInString(id); n > maxIDLength {
		return fmt.Sprintf("the id %s is %d characters long; %d is the most", quoted(id), n, maxIDLength)
	}
	for _, r := range id {
		if !unicode.IsPrint(r) {
			return fmt.Sprintf("the id %s holds U+%04X, which cannot be printed", quoted(id), r)
		}
	}
	return ""
}

// isBlank says whether a line holds nothing but white space and NULs, which a file
// system may leave at the end of a file when the power fails.
func isBlank(line []byte) bool {
	for _, b := range line {
		if !isSpace(b) && b != 0 {
			return false
		}
	}
	return true
}
