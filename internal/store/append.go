package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"

	"buttonup/journal"
)

// Outcome says what became of one line that was handed to Append.
type Outcome uint8

// The outcomes. Refused is the zero value: it claims nothing.
const (
	// Refused: the line is no event.
	Refused Outcome = iota
	// Different: another event of that id is in the journal, with other bytes. The
	// first stands.
	Different
	// Already: this very event was in the journal before.
	Already
	// Kept: the event is in the journal now.
	Kept
)

var outcomeNames = [...]string{"refused", "different", "already", "kept"}

// String returns the outcome as a word of one piece, for JSON and logs.
func (o Outcome) String() string {
	if int(o) < len(outcomeNames) {
		return outcomeNames[o]
	}
	return fmt.Sprintf("outcome %d", uint8(o))
}

// Appended is what became of one line.
type Appended struct {
	Outcome Outcome
	// ID is the event's id, empty when it could not be read.
	ID string
	// Seq and Hash are those of the event of that id in the journal, which for
	// Different is the other one. They are zero for Refused.
	Seq  int64
	Hash [32]byte
	// Problem is what was found wrong, a [journal.Problem], or nil. An event of an
	// unknown kind has one and is kept all the same, for a version that knows it.
	Problem error
	// Aside is true for a Refused or Different line that is kept aside, byte for byte:
	// see Asides. Where it is false, whoever sent it has the only copy. That is so for
	// a line that is empty or longer than [journal.MaxLine], and once [MaxAsides] lines
	// have been set aside.
	Aside bool
}

// Append adds events to the journal of a job, each a line of JSON as it came from a
// phone, a script or the page, with or without a line end. There is one result a
// line, in their order. When Append returns without an error, everything that the
// results say is on the disk; all lines of a call share one transaction, so that a
// phone's whole outbox costs one sync of the disk.
//
// An event is kept byte for byte, without the seq and hash that an export adds and
// without carriage returns at its end. Lines that cannot be kept do not hold up the
// others.
//
// With an error nothing is known of any line: send them all again. That is always
// safe, because an event that arrived counts once. The error is of kind ErrNotFound
// for an unknown job, ErrFull, ErrReadOnly or ErrDisk where the disk gives out, and
// ErrTooLarge when the journal would grow beyond [journal.MaxJournal], in which case
// none of the lines is kept.
func (s *Store) Append(ctx context.Context, job string, lines ...[]byte) ([]Appended, error) {
	operation := "append to job " + job
	if err := s.enter(operation, true); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	incoming := make([]incoming, len(lines))
	for i, line := range lines {
		incoming[i] = decode(line)
	}
	results, err := s.append(ctx, job, incoming)
	return results, explain(operation, err)
}

// incoming is a line that has been looked at.
type incoming struct {
	id    string
	bytes []byte
	// refused is true for a line that is no event, for the reason in problem.
	refused bool
	problem *journal.Problem
}

// decode looks at a line.
func decode(line []byte) incoming {
	e, err := journal.Decode(line)
	in := incoming{id: e.ID, bytes: e.Bytes}
	if in.bytes == nil {
		in.bytes = bytes.TrimRight(line, "\r\n")
	}
	var problem journal.Problem
	if errors.As(err, &problem) {
		in.problem = &problem
		in.refused = problem.Code != journal.CodeUnknownKind
		in.id = problem.Event
	}
	if !in.refused && bytes.IndexByte(in.bytes, '\n') >= 0 {
		// It would be several lines, none of them an event, once it is in a file.
		in.refused = true
		in.problem = &journal.Problem{Code: journal.CodeBrokenLine, Event: in.id, Attention: true,
			Detail: "the event is spread over several lines; write it in one"}
	}
	return in
}

// append does the work of Append on lines that have been looked at.
func (s *Store) append(ctx context.Context, job string, lines []incoming) ([]Appended, error) {
	var results []Appended
	var last int64
	changed := false
	err := s.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		w := journalWriter{store: s, tx: tx, job: job, received: formatTime(s.options.Now())}
		if err := w.begin(ctx); err != nil {
			return err
		}
		results = make([]Appended, len(lines))
		for i, line := range lines {
			var err error
			if results[i], err = w.line(ctx, line); err != nil {
				return err
			}
		}
		last, changed = w.seq, w.changed
		return nil
	}, func() {
		if changed {
			s.hub.publish(Change{Job: job, Seq: last})
		}
	})
	if err != nil {
		return nil, err
	}
	return results, nil
}

// journalWriter adds to one journal within one transaction.
type journalWriter struct {
	store    *Store
	tx       *sql.Tx
	job      string
	received string
	// seq, hash and size are those of the last event of the journal.
	seq, size int64
	hash      [32]byte
	// asides is how many lines have been set aside, -1 before they were counted.
	asides int64
	// changed is true once anything was written.
	changed bool
}

// begin finds the end of the journal.
func (w *journalWriter) begin(ctx context.Context) error {
	w.asides = -1
	var one int
	err := w.tx.StmtContext(ctx, w.store.lockJob).QueryRowContext(ctx, w.job).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return noSuchJob(w.job)
	}
	if err != nil {
		return err
	}
	var hash []byte
	err = w.tx.StmtContext(ctx, w.store.tail).QueryRowContext(ctx, w.job).Scan(&w.seq, &hash, &w.size)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	copy(w.hash[:], hash)
	return err
}

// line adds one line, or finds out why not.
func (w *journalWriter) line(ctx context.Context, in incoming) (Appended, error) {
	r := Appended{ID: in.id}
	if in.problem != nil {
		r.Problem = *in.problem
	}
	if in.refused {
		var err error
		r.Aside, err = w.setAside(ctx, in)
		return r, err
	}
	var there, hash []byte
	err := w.tx.StmtContext(ctx, w.store.find).QueryRowContext(ctx, w.job, in.id).Scan(&r.Seq, &there, &hash)
	switch {
	case err == nil:
		copy(r.Hash[:], hash)
		if bytes.Equal(there, in.bytes) {
			r.Outcome = Already
			return r, nil
		}
		r.Outcome = Different
		p := journal.Problem{Code: journal.CodeSameID, Event: in.id, Attention: true,
			Detail: fmt.Sprintf("event %d of the journal has the same id and other content, and that one counts", r.Seq)}
		in.problem, r.Problem = &p, p
		r.Aside, err = w.setAside(ctx, in)
		return r, err
	case !errors.Is(err, sql.ErrNoRows):
		return r, err
	}
	size := w.size + int64(len(in.bytes)) + 1
	if size > journal.MaxJournal {
		return r, refuse(ErrTooLarge, "begin another job for what is still to come",
			"the journal would have %d bytes; %d is the most", size, int64(journal.MaxJournal))
	}
	r.Outcome, r.Seq, r.Hash = Kept, w.seq+1, journal.Chain(w.hash, in.bytes)
	_, err = w.tx.StmtContext(ctx, w.store.insert).ExecContext(ctx, w.job, r.Seq, in.id, in.bytes, r.Hash[:], size, w.received)
	if err != nil {
		return r, err
	}
	w.seq, w.hash, w.size, w.changed = r.Seq, r.Hash, size, true
	return r, nil
}

// setAside keeps a line that cannot go into the journal, once for each content, and
// says whether it is kept.
func (w *journalWriter) setAside(ctx context.Context, in incoming) (bool, error) {
	if len(in.bytes) == 0 || len(in.bytes) > journal.MaxLine {
		return false, nil
	}
	sum := sha256.Sum256(in.bytes)
	sha := hex.EncodeToString(sum[:])
	var number int64
	err := w.tx.QueryRowContext(ctx, "select number from asides where job = $1 and sha256 = $2", w.job, sha).Scan(&number)
	if !errors.Is(err, sql.ErrNoRows) {
		return err == nil, err
	}
	if w.asides < 0 {
		if err := w.tx.QueryRowContext(ctx, "select count(*) from asides where job = $1", w.job).Scan(&w.asides); err != nil {
			return false, err
		}
	}
	if w.asides >= MaxAsides {
		return false, nil
	}
	w.asides++
	w.changed = true
	_, err = w.tx.ExecContext(ctx, "insert into asides (job, number, sha256, id, body, code, detail, received) values ($1, $2, $3, $4, $5, $6, $7, $8)",
		w.job, w.asides, sha, in.id, in.bytes, in.problem.Code, in.problem.Detail, w.received)
	return err == nil, err
}
