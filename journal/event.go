package journal

import (
	"bytes"
	"fmt"
	"time"
)

// Kind says what an event is about, as written in its line.
type Kind string

// The kinds of event, in the order of docs/journal-format.md.
const (
	KindJob        Kind = "job"
	KindInstrument Kind = "instrument"
	KindOption     Kind = "option"
	KindExtra      Kind = "extra"
	KindReading    Kind = "reading"
	KindCheck      Kind = "check"
	KindStrike     Kind = "strike"
	KindPart       Kind = "part"
	KindOperation  Kind = "operation"
	KindTorque     Kind = "torque"
	KindWait       Kind = "wait"
	KindDeviation  Kind = "deviation"
	KindApproval   Kind = "approval"
	KindNote       Kind = "note"
	KindPhoto      Kind = "photo"
	KindLink       Kind = "link"
	KindTime       Kind = "time"
	KindCost       Kind = "cost"
	KindAddition   Kind = "addition"
	KindSeal       Kind = "seal"
	KindEstimate   Kind = "estimate"
	KindMark       Kind = "mark"
	KindPublished  Kind = "published"
)

// Kinds returns every kind that this version knows, in the order of
// docs/journal-format.md. The slice is the caller's.
func Kinds() []Kind {
	kinds := make([]Kind, len(bodies))
	for i, b := range bodies {
		kinds[i] = b.kind
	}
	return kinds
}

// Event is one line of a journal.
type Event struct {
	// ID names the event in this journal: 1 to 64 printable characters, made by
	// whoever wrote the event, so that it can be sent twice and counts once.
	ID string
	// At is when it happened, in the zone in which it was written.
	At time.Time
	// By is who wrote it. It may be empty and is trusted text.
	By string
	// Kind says which type Body has.
	Kind Kind
	// Late is true for what was entered after the fact.
	Late bool
	// Line is the line of the file that the event was read from, from 1; 0 for an
	// event that was not read from a file.
	Line int
	// Bytes is the line as received, without line end and without the seq and hash
	// of an export. It shares memory with what was handed to Read or Decode and
	// must not be changed. It is nil for an event that was built with New.
	Bytes []byte
	// Body is one of the body structs by value: Job, Instrument, Option, Extra,
	// Reading, Check, Strike, Part, Operation, Torque, Wait, Deviation, Approval,
	// Note, Photo, Link, TimeWorked, Cost, Addition, Seal, Estimate, Mark or
	// Published. It is nil for a kind that this version does not know.
	Body any
}

// New returns an event of the kind that belongs to body, which must be one of the
// body structs by value. It checks nothing; Encode does.
func New(id string, at time.Time, by string, body any) Event {
	e := Event{ID: id, At: at, By: by, Body: body}
	if t := typeOfBody(body); t != nil {
		e.Kind = t.kind
	}
	return e
}

// Encode returns the event as one JSON line without a line end, fields in the
// order of docs/journal-format.md and empty ones left out. Fields that this
// version does not know are not in it: they stand in Bytes only.
//
// It returns an error when the line would not be read back: an id or a time
// missing, a required field empty, a number out of its range, text that is not
// UTF-8, a line above [MaxLine].
func (e Event) Encode() ([]byte, error) {
	t := typeOfBody(e.Body)
	if t == nil {
		return nil, fmt.Errorf("event %s cannot be written: a body of type %T is none of the event bodies; hand in one of them by value", quoted(e.ID), e.Body)
	}
	if e.Kind != "" && e.Kind != t.kind {
		return nil, fmt.Errorf("event %s cannot be written: its kind is %s and its body is that of a %s", quoted(e.ID), quoted(string(e.Kind)), t.kind)
	}
	c := coder{writing: true, kind: t.kind, out: make([]byte, 0, 256)}
	c.out = append(c.out, `{"id":`...)
	c.out = appendText(c.out, e.ID)
	c.out = append(c.out, `,"at":`...)
	c.out = appendText(c.out, formatTime(e.At))
	c.out = append(c.out, `,"by":`...)
	c.out = appendText(c.out, e.By)
	c.out = append(c.out, `,"kind":`...)
	c.out = appendText(c.out, string(t.kind))
	if e.Late {
		c.out = append(c.out, `,"late":true`...)
	}
	t.write(&c, e.Body)
	c.out = append(c.out, '}')
	if c.fail != "" {
		return nil, fmt.Errorf("event %s cannot be written: %s", quoted(e.ID), c.fail)
	}
	// Reading it back is the surest check that everybody else can read it.
	if _, err := Decode(c.out); err != nil {
		return nil, fmt.Errorf("event %s cannot be written: %w", quoted(e.ID), err)
	}
	return c.out, nil
}

// Decode reads one line, as a phone or a script sends it, with or without its line
// end. A seq and a hash in it are left out of the event's Bytes. The event shares
// memory with line, which must not be changed afterwards.
//
// The error is a [Problem]. For an unknown kind the event comes back as well, with
// a nil Body, so that it can be kept for a version that knows the kind.
func Decode(line []byte) (Event, error) {
	line = trimReturns(bytes.TrimSuffix(line, []byte{'\n'}))
	length := len(line)
	if s, sealed := sealOf(line); sealed {
		length -= s.brace - s.start
	}
	if p := tooLong(length); p != nil {
		return Event{}, *p
	}
	if bytes.IndexByte(line, '\n') >= 0 {
		return Event{}, Problem{Code: CodeBrokenLine, Detail: "the event has a line end inside; write it on one line", Attention: true}
	}
	var sc scanner
	e, p := decode(&sc, line)
	if p != nil {
		return e, *p
	}
	return e, nil
}
