package web

import (
	"context"
	"io"

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
	// Shop and AddShop are what the shop settled outside of jobs.
	Shop(ctx context.Context) ([]store.ShopEntry, error)
	AddShop(ctx context.Context, kind string, body []byte) (store.ShopEntry, error)
	// PutPhoto keeps a photo under the hash of its content, Photo opens it.
	PutPhoto(ctx context.Context, r io.Reader) (sha string, size int64, err error)
	Photo(sha string) (io.ReadSeekCloser, error)
	// NewID makes an id for an event.
	NewID() string
}
