package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"buttonup/journal"
)

// Damage is one thing in the record that is not as it was written.
type Damage struct {
	// Job and Seq say where; they are empty and 0 where that has no meaning.
	Job string
	Seq int64
	// What is the kind of thing that is wrong: "event", "photo", "pack", "signature",
	// "frame" for the file around them, "file" for another part; empty where only Says
	// tells. Name is which one.
	What, Name string
	// Says is what is wrong, as a sentence without a full stop.
	Says string
}

// Report is what Verify and Restore found.
type Report struct {
	// Jobs, Events, Texts, Photos and Seals are how many were looked at.
	Jobs, Events, Texts, Photos, Seals int
	// Damage is empty for a sound record.
	Damage []Damage
}

// Verify reads the whole record and checks it: the file of the database, the guards
// that keep it append-only, the chain of each journal, each text and each photo
// against its hash, and that every photo which a journal names is there. It takes
// about as long as reading all photos does.
func (s *Store) Verify(ctx context.Context) (Report, error) {
	const operation = "check the record"
	if err := s.enter(operation, false); err != nil {
		return Report{}, err
	}
	defer s.calls.Done()
	r, err := s.verify(ctx)
	return r, explain(operation, err)
}

func (s *Store) verify(ctx context.Context) (r Report, err error) {
	found, err := s.db.check(ctx)
	if err != nil {
		return r, err
	}
	for _, says := range found {
		r.add("", 0, "the database: %s", says)
	}
	lost, err := s.db.lostGuards(ctx)
	if err != nil {
		return r, err
	}
	for _, guard := range lost {
		r.add("", 0, "the database: the guard %s is missing or was changed", guard)
	}
	if err := s.verifyTexts(ctx, &r); err != nil {
		return r, err
	}
	// The journals come before the list of photos: a photo is kept before it is named.
	named, err := s.verifyJournals(ctx, &r)
	if err != nil {
		return r, err
	}
	photos, err := s.photos.list()
	if err != nil {
		return r, err
	}
	there := make(map[string]bool, len(photos))
	for _, sha := range photos {
		if err := ctx.Err(); err != nil {
			return r, err
		}
		there[sha] = true
		r.Photos++
		switch got, err := hashFile(s.photos.path(sha)); {
		case err != nil:
			r.add("", 0, "photo %s cannot be read: %v", sha, err)
		case got != sha:
			r.add("", 0, "photo %s has other content than it was kept with", sha)
		}
	}
	for _, n := range named {
		if !there[n.sha] {
			r.add(n.job, n.seq, "photo %s, which event %d of job %s names, is missing", n.sha, n.seq, n.job)
		}
	}
	return r, nil
}

func (r *Report) add(job string, seq int64, format string, args ...any) {
	r.Damage = append(r.Damage, Damage{Job: job, Seq: seq, Says: fmt.Sprintf(format, args...)})
}

// namedPhoto is a photo that an event names.
type namedPhoto struct {
	job string
	seq int64
	sha string
}

func (s *Store) verifyJournals(ctx context.Context, r *Report) ([]namedPhoto, error) {
	jobs, err := s.jobs(ctx, "")
	if err != nil {
		return nil, err
	}
	var named []namedPhoto
	for _, job := range jobs {
		r.Jobs++
		events, err := s.read(ctx, job.ID, 0)
		if err != nil {
			return nil, err
		}
		if damage := checkChain(job.ID, events); damage != nil {
			r.Damage = append(r.Damage, *damage)
		}
		if n := int64(len(events)); n < job.Events {
			r.add(job.ID, n, "job %s had %d events a moment ago and has %d now", job.ID, job.Events, n)
		}
		if err := s.verifySeals(ctx, job.ID, events, r); err != nil {
			return nil, err
		}
		for _, e := range events {
			r.Events++
			event, err := journal.Decode(e.Bytes)
			if photo, ok := event.Body.(journal.Photo); ok && err == nil {
				named = append(named, namedPhoto{job.ID, e.Seq, photo.SHA256})
			}
			if event.ID != "" && event.ID != e.ID {
				r.add(job.ID, e.Seq, "event %d of job %s is filed under the id %q and has the id %q", e.Seq, job.ID, e.ID, event.ID)
			}
		}
	}
	return named, nil
}

// verifySeals checks the signatures of a job.
func (s *Store) verifySeals(ctx context.Context, job string, events []StoredEvent, r *Report) error {
	var heads [][32]byte
	sum := ""
	for i := range events {
		if !bytes.Contains(events[i].Bytes, []byte(`"seal"`)) {
			continue
		}
		e, err := journal.Decode(events[i].Bytes)
		seal, ok := e.Body.(journal.Seal)
		if err != nil || !ok {
			continue
		}
		if heads == nil {
			heads = make([][32]byte, 1, len(events)+1)
			for k := range events {
				heads = append(heads, journal.Chain(heads[k], events[k].Bytes))
			}
			texts, err := s.texts(ctx, job)
			if err == nil {
				sum = texts.Sum()
			} else {
				r.Damage = append(r.Damage, Damage{Job: job, What: "pack", Says: err.Error()})
			}
		}
		r.Seals++
		if wrong := journal.CheckSeal(seal, e.At, i, heads, sum); wrong != "" {
			r.Damage = append(r.Damage, Damage{Job: job, Seq: events[i].Seq, What: "signature", Says: fmt.Sprintf("the signature in event %d of job %s does not hold: %s", events[i].Seq, job, wrong)})
		}
	}
	return nil
}

func (s *Store) verifyTexts(ctx context.Context, r *Report) error {
	rows, err := s.db.reader().QueryContext(ctx, "select sha256, body from texts order by sha256")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var sha string
		var body []byte
		if err := rows.Scan(&sha, &body); err != nil {
			return err
		}
		r.Texts++
		if sum := sha256.Sum256(body); hex.EncodeToString(sum[:]) != sha {
			r.add("", 0, "the pack text %s has other content than it was kept with", sha)
		}
	}
	return rows.Err()
}
