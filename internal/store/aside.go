package store

import (
	"context"
	"time"

	"buttonup/journal"
)

// MaxAsides is how many lines are set aside for one job, so that something that sends
// rubbish cannot fill the disk. Those above it are reported and not kept.
const MaxAsides = journal.MaxBrokenLines

// AsideLine is a line that could not go into a journal, kept as it came.
type AsideLine struct {
	// Number counts the lines set aside for a job, from 1.
	Number int64
	// ID is the event's id, empty where it could not be read.
	ID    string
	Bytes []byte
	// Code and Detail say why, as a [journal.Problem] does.
	Code, Detail string
	Received     time.Time
}

// Asides returns the lines that were set aside for a job, in the order in which they
// came. A line that came several times is in it once.
func (s *Store) Asides(ctx context.Context, job string) ([]AsideLine, error) {
	operation := "read what was set aside for job " + job
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	lines, err := s.asides(ctx, job)
	return lines, explain(operation, err)
}

func (s *Store) asides(ctx context.Context, job string) ([]AsideLine, error) {
	rows, err := s.db.reader().QueryContext(ctx,
		"select number, id, body, code, detail, received from asides where job = $1 order by number", job)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var lines []AsideLine
	for rows.Next() {
		var l AsideLine
		var received string
		if err := rows.Scan(&l.Number, &l.ID, &l.Bytes, &l.Code, &l.Detail, &received); err != nil {
			return nil, err
		}
		if l.Received, err = parseTime(received); err != nil {
			return nil, err
		}
		lines = append(lines, l)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, s.insistOnJob(ctx, job)
	}
	return lines, nil
}
