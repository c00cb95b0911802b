package web

import (
	"context"
	"sync"

	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/parts"
)

// pastJobs keeps what the journals of all jobs tell of parts, so that a page reads only
// those that changed.
type pastJobs struct {
	mu   sync.Mutex
	jobs map[string]pastJob
	made map[string]*parts.Catalogue // by the hash of a pack
}

type pastJob struct {
	events int64
	past   parts.Past
}

// past returns what every job tells of parts. A job whose pack cannot be used is told
// without it.
func (s *Server) past(ctx context.Context) ([]parts.Past, error) {
	jobs, err := s.record.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	p := &s.pastJobs
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.jobs == nil {
		p.jobs, p.made = map[string]pastJob{}, map[string]*parts.Catalogue{}
	}
	var list []parts.Past
	for _, j := range jobs {
		known, there := p.jobs[j.ID]
		if !there || known.events != j.Events {
			if known, err = s.readPast(ctx, j); err != nil {
				return nil, err
			}
			p.jobs[j.ID] = known
		}
		list = append(list, known.past)
	}
	return list, nil
}

func (s *Server) readPast(ctx context.Context, j store.Job) (pastJob, error) {
	events, err := s.record.Read(ctx, j.ID, 1)
	if err != nil {
		return pastJob{}, err
	}
	var text []byte
	for _, e := range events {
		text = append(append(text, e.Bytes...), '\n')
	}
	state := journal.Read(text).Fold()
	past := parts.Past{Job: j.ID, Title: j.Title, State: state}
	if state.Job != nil {
		past.Engine = state.Job.EngineNumber
		if state.Job.Title != "" {
			past.Title = state.Job.Title
		}
	}
	if p, err := s.desks.load(ctx, j); err == nil {
		past.Family = p.Name
		c := s.pastJobs.made[p.SHA256]
		if c == nil {
			c = parts.NewCatalogue(p)
			s.pastJobs.made[p.SHA256] = c
		}
		past.Catalogue = c
	}
	return pastJob{j.Events, past}, nil
}
