package recall

import (
	"context"
	"slices"
	"strings"
	"sync"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
)

// Loader reads the pack that a job was started on.
type Loader func(store.Texts) (*pack.Pack, pack.Mistakes)

// Record is what a search needs of the shop's record. A [store.Store] is one.
type Record interface {
	Stale(ctx context.Context) ([]store.JobHead, error)
	Texts(ctx context.Context, job string) (store.Texts, error)
	Journal(ctx context.Context, job string) (*journal.Journal, error)
	Job(ctx context.Context, id string) (store.Job, error)
	IndexJob(ctx context.Context, job string, events int64, passages []store.Passage) error
	Find(ctx context.Context, words []string, limit int) ([]store.FoundPassage, error)
}

// Searcher asks a record. It remembers packs, so that many jobs on one cost one
// reading of it. Its methods may be called at the same time.
type Searcher struct {
	Record Record
	Load   Loader

	mu     sync.Mutex
	packs  map[string]*pack.Pack
	models map[string]*assess.Model
}

// Refresh brings the index up to date: jobs that got events since are read anew. told
// is called for each, nil for nobody.
func (s *Searcher) Refresh(ctx context.Context, told func(done, of int)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	list, err := s.Record.Stale(ctx)
	if err != nil {
		return err
	}
	for i, h := range list {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := s.index(ctx, h); err != nil {
			return err
		}
		if told != nil {
			told(i+1, len(list))
		}
	}
	return nil
}

func (s *Searcher) index(ctx context.Context, h store.JobHead) error {
	texts, err := s.Record.Texts(ctx, h.Job)
	if err != nil {
		return err
	}
	sum := texts.Sum()
	if s.packs == nil {
		s.packs, s.models = map[string]*pack.Pack{}, map[string]*assess.Model{}
	}
	p, ok := s.packs[sum]
	if !ok {
		p, _ = s.Load(texts) // one with mistakes has what could be read of it
		s.packs[sum] = p
		if p != nil {
			s.models[sum] = assess.Prepare(p)
		}
	}
	if p == nil {
		p = &pack.Pack{}
		s.models[sum] = assess.Prepare(p)
		s.packs[sum] = p
	}
	j, err := s.Record.Journal(ctx, h.Job)
	if err != nil {
		return err
	}
	state := j.Fold()
	model := s.models[sum]
	if len(state.Extras) > 0 {
		p, _ = assess.WithExtras(p, state)
		model = assess.Prepare(p)
	}
	passages := Passages(h.Job, h.Title, p, state, model.Assess(state, assess.Options{}))
	return s.Record.IndexJob(ctx, h.Job, h.Events, passages)
}

// named says whether a question names a kind of passage.
func named(kind string, asked []string) int {
	word := plainWord(kind)
	for _, a := range asked {
		if strings.TrimSuffix(a, "*") == word {
			return 1
		}
	}
	return 0
}

// Answer is what a search found: passages with the title of their job.
type Answer struct {
	store.FoundPassage
	Title string
}

// Find answers a question. Where nothing has all of its words, nothing is found: half
// an answer is the wrong one.
func (s *Searcher) Find(ctx context.Context, question string, limit int) ([]Answer, error) {
	if err := s.Refresh(ctx, nil); err != nil {
		return nil, err
	}
	asked := Query(question)
	found, err := s.Record.Find(ctx, asked, max(limit, 100))
	if err != nil {
		return nil, err
	}
	// "What torque" means the pass at the wrench before whatever else tells of torque.
	slices.SortStableFunc(found, func(a, b store.FoundPassage) int { return named(b.Kind, asked) - named(a.Kind, asked) })
	found = found[:min(limit, len(found))]
	titles := map[string]string{}
	var out []Answer
	for _, f := range found {
		if _, ok := titles[f.Job]; !ok {
			job, err := s.Record.Job(ctx, f.Job)
			if err != nil {
				return nil, err
			}
			titles[f.Job] = job.Title
		}
		out = append(out, Answer{f, titles[f.Job]})
	}
	return out, nil
}
