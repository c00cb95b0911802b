package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
)

// Chain returns the hash of one more line in a chain:
//
//	hash = SHA-256(prev ‖ received)
//
// prev is the 32 bytes of the hash before it, all zero before the first line, and
// received the line as received, without line end, seq and hash.
//
// Source: SHA-256 is FIPS 180-4, by the standard library; the chain is ours.
func Chain(prev [32]byte, received []byte) [32]byte {
	// Nearly all lines fit on the stack in one piece.
	var buf [1024]byte
	if len(prev)+len(received) <= len(buf) {
		return sha256.Sum256(append(append(buf[:0], prev[:]...), received...))
	}
	h := sha256.New()
	h.Write(prev[:])
	h.Write(received)
	return [32]byte(h.Sum(nil))
}

// Export returns a journal's text in which each line carries its number, from 1,
// and its hash in the chain. They stand directly before the line's last brace,
//
//	,"seq":12,"hash":"64 hexadecimal digits in lower case"
//
// in exactly that spelling, so that cutting them out gives the received bytes
// again and the chain can be checked byte by byte. What stands after the last
// brace stays where it is. An event without Bytes is written by Encode.
//
// Export panics for an event that cannot be written: one that neither was read nor
// can be encoded. Use Encode first where events are not known to be sound.
func Export(events []Event) []byte {
	size := 0
	for i := range events {
		size += len(events[i].Bytes) + sealRoom
	}
	out := make([]byte, 0, size)
	var prev [32]byte
	for i, e := range events {
		received, err := e.content()
		brace := lastBrace(received)
		if err == nil && brace < 0 {
			err = fmt.Errorf("event %s cannot be exported: its bytes do not end in a brace", quoted(e.ID))
		}
		if err != nil {
			panic("journal: " + err.Error())
		}
		prev = Chain(prev, received)
		out = append(out, received[:brace]...)
		out = append(out, sealSeq...)
		out = strconv.AppendInt(out, int64(i)+1, 10)
		out = append(out, sealHash...)
		out = hex.AppendEncode(out, prev[:])
		out = append(out, '"')
		out = append(out, received[brace:]...)
		out = append(out, '\n')
	}
	return out
}

// content returns what of the event the chain covers.
func (e *Event) content() ([]byte, error) {
	if e.Bytes != nil {
		return e.Bytes, nil
	}
	return e.Encode()
}

const (
	sealSeq  = `,"seq":`
	sealHash = `,"hash":"`
	// sealRoom is enough for a seal with a line end in all but absurd journals; a
	// longer one only costs a reallocation.
	sealRoom = len(sealSeq) + 7 + len(sealHash) + 2*sha256.Size + 2
)

// seal is what an export adds to a line.
type seal struct {
	// start and brace bound the seal: it lies between them, and the line's last
	// brace is at brace.
	start, brace int
	seq          int
	hash         [32]byte
}

// sealOf finds the seal of a line. ok is false unless its spelling is exact to the
// byte: a seal that could be written in two ways could be changed unnoticed.
//
// In a line that is valid JSON the seal can only be two members of the top-level
// object: reading from the last brace backwards, its quotation marks follow a colon
// or a comma, so none of them is escaped and none can lie within a text.
func sealOf(line []byte) (s seal, ok bool) {
	s.brace = lastBrace(line)
	if s.brace < 1 || line[s.brace-1] != '"' {
		return s, false
	}
	rest := line[:s.brace-1]
	if len(rest) < 2*sha256.Size {
		return s, false
	}
	digits := rest[len(rest)-2*sha256.Size:]
	for _, d := range digits {
		if !('0' <= d && d <= '9' || 'a' <= d && d <= 'f') {
			return s, false
		}
	}
	if _, err := hex.Decode(s.hash[:], digits); err != nil {
		return s, false
	}
	rest, ok = bytes.CutSuffix(rest[:len(rest)-2*sha256.Size], []byte(sealHash))
	if !ok {
		return s, false
	}
	end := len(rest)
	for end > 0 && '0' <= rest[end-1] && rest[end-1] <= '9' {
		end--
	}
	number := rest[end:]
	if len(number) == 0 || len(number) > 15 || number[0] == '0' {
		return s, false
	}
	s.seq, _ = strconv.Atoi(string(number))
	rest, ok = bytes.CutSuffix(rest[:end], []byte(sealSeq))
	s.start = len(rest)
	return s, ok
}

// lastBrace is the place of the brace that closes a line, -1 for none.
func lastBrace(line []byte) int {
	for i := len(line) - 1; i >= 0; i-- {
		if line[i] == '}' {
			return i
		}
		if !isSpace(line[i]) {
			return -1
		}
	}
	return -1
}

// sealMarks notes where a line's seq and hash stand, wherever that is, so that
// they can be cut out: they belong to an export and never to the event.
type sealMarks struct {
	cuts [2]struct{ from, to int }
	n    int
	// kept is true once a member that stays was seen; before it, lead is the start
	// of the members to cut, plus one.
	kept bool
	lead int
}

// note takes the next member of the line, which reaches from start to end and
// follows a comma at comma.
func (m *sealMarks) note(f field, known bool, comma, start, end int) {
	mine := known && (f == fieldSeq || f == fieldHash)
	switch {
	case mine && m.kept:
		m.cuts[m.n].from, m.cuts[m.n].to = comma, end
		m.n++
	case mine && m.lead == 0:
		m.lead = start + 1
	case !mine && !m.kept:
		m.kept = true
		if m.lead > 0 {
			m.cuts[0].from, m.cuts[0].to = m.lead-1, start
			m.n = 1
		}
	}
}

// cut returns the line without its seq and hash: line itself when it has none.
func (m *sealMarks) cut(line []byte) []byte {
	if m.n == 0 {
		return line
	}
	out := make([]byte, 0, len(line))
	at := 0
	for _, c := range m.cuts[:m.n] {
		out = append(out, line[at:c.from]...)
		at = c.to
	}
	return append(out, line[at:]...)
}
