package web

import (
	"context"

	"buttonup/internal/store"
)

// Record is what the pages need of the shop's record. A [store.Store] is one.
type Record interface {
	// Jobs returns all jobs and Job one of them.
	Jobs(ctx context.Context) ([]store.Job, error)
	Job(ctx context.Context, id string) (store.Job, error)
	// Texts returns the pack files that a job was started on.
	Texts(ctx context.Context, job string) (store.Texts, error)
	// Read returns the events from a number on.
	Read(ctx context.Context, job string, from int64) ([]store.StoredEvent, error)
	// Append returns when the events are safe.
	Append(ctx context.Context, job string, lines ...[]byte) ([]store.Appended, error)
	// Watch tells of changes; a listener that is too slow is dropped.
	Watch(job string) (changes <-chan store.Change, stop func())
	// CreateJob starts a job on the text of a pack.
	CreateJob(ctx context.Context, n store.NewJob) (store.Job, error)
	// NewID makes an id for an event.
	NewID() string
}
