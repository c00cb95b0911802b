package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"time"

	"buttonup/journal"
)

// StoredEvent is one event as it is kept.
type StoredEvent struct {
	// Seq is its number in the journal, from 1, without gaps.
	Seq int64
	ID  string
	// Bytes is the line as received.
	Bytes []byte
	// Hash is its hash in the chain of the journal; see [journal.Chain].
	Hash [32]byte
	// Received is when the store took it in, which for an event written without a
	// connection is later than the event's own time.
	Received time.Time
}

// Read returns the events of a job from the number from on, in their order; 0 and 1
// both mean all. There may be none. The error is of kind ErrNotFound when there is no
// such job.
func (s *Store) Read(ctx context.Context, job string, from int64) ([]StoredEvent, error) {
	operation := "read job " + job
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	events, err := s.read(ctx, job, from)
	return events, explain(operation, err)
}

func (s *Store) read(ctx context.Context, job string, from int64) ([]StoredEvent, error) {
	rows, err := s.db.reader().QueryContext(ctx,
		"select seq, id, body, hash, received from events where job = $1 and seq >= $2 order by seq", job, from)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var events []StoredEvent
	for rows.Next() {
		var e StoredEvent
		var hash []byte
		var received string
		if err := rows.Scan(&e.Seq, &e.ID, &e.Bytes, &hash, &received); err != nil {
			return nil, err
		}
		copy(e.Hash[:], hash)
		if e.Received, err = parseTime(received); err != nil {
			return nil, err
		}
		events = append(events, e)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if len(events) == 0 {
		return nil, s.insistOnJob(ctx, job)
	}
	return events, nil
}

// insistOnJob returns an error unless there is such a job.
func (s *Store) insistOnJob(ctx context.Context, job string) error {
	var one int
	err := s.db.reader().QueryRowContext(ctx, "select 1 from jobs where id = $1", job).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return noSuchJob(job)
	}
	return err
}

// Journal returns the journal of a job, read, ready for its Fold. The Line of an
// event is its Seq.
func (s *Store) Journal(ctx context.Context, job string) (*journal.Journal, error) {
	events, err := s.Read(ctx, job, 0)
	if err != nil {
		return nil, err
	}
	return journal.Read(plain(events)), nil
}

// plain returns the text of a journal without numbers and hashes.
func plain(events []StoredEvent) []byte {
	size := 0
	for i := range events {
		size += len(events[i].Bytes) + 1
	}
	var b bytes.Buffer
	b.Grow(size)
	for i := range events {
		b.Write(events[i].Bytes)
		b.WriteByte('\n')
	}
	return b.Bytes()
}
