package web

import (
	"context"
	"crypto/sha256"
	"encoding/json"

	"buttonup/journal"
)

// ledger knows the events of one job by their ids and by what they say, so that a
// delivery is looked up without assessing the job.
type ledger struct {
	seq     int64
	entries map[string]ledgerEntry
}

type ledgerEntry struct {
	seq  int64
	says [sha256.Size]byte
}

// ledger brings the ledger of a job up to what the record has. The caller holds
// s.delivery.
func (s *Server) ledger(ctx context.Context, id string) (*ledger, error) {
	job, err := s.record.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	l := s.ledgers[id]
	if l == nil {
		l = &ledger{entries: map[string]ledgerEntry{}}
		s.ledgers[id] = l
	}
	if l.seq >= job.Events {
		return l, nil
	}
	events, err := s.record.Read(ctx, id, l.seq+1)
	if err != nil {
		return nil, err
	}
	for _, stored := range events {
		l.seq = stored.Seq
		e, err := journal.Decode(stored.Bytes)
		if err != nil {
			continue // of a kind that this version does not know: the store compares its bytes
		}
		l.entries[e.ID] = ledgerEntry{stored.Seq, saysOf(&e)}
	}
	return l, nil
}

// has returns the number of an event that says the same under the same id.
func (l *ledger) has(e *journal.Event) (int64, bool) {
	there, ok := l.entries[e.ID]
	return there.seq, ok && there.says == saysOf(e)
}

// saysOf is what an event says, apart from who wrote it and when.
func saysOf(e *journal.Event) [sha256.Size]byte {
	// As they are written bodies can be compared; as values they hold maps.
	body, err := json.Marshal(e.Body)
	if err != nil {
		panic(err) // a body is made of texts and numbers
	}
	return sha256.Sum256(append([]byte(string(e.Kind)+"\n"), body...))
}

// sameBody says whether two bodies of events say the same.
func sameBody(a, b any) bool {
	return saysOf(&journal.Event{Body: a}) == saysOf(&journal.Event{Body: b})
}
