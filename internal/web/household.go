package web

import (
	"context"
	"encoding/json"
	"sync"

	"buttonup/internal/shop"
)

// household is what the shop settled, as it stands. The record has it; this is a copy
// that need not be read for each request.
type household struct {
	record Record

	mu      sync.Mutex
	entries []shop.Entry
	state   *shop.State
	changed chan struct{}
}

func newHousehold(ctx context.Context, record Record) (*household, error) {
	h := &household{record: record, changed: make(chan struct{})}
	stored, err := record.Shop(ctx)
	if err != nil {
		return nil, err
	}
	for _, e := range stored {
		h.entries = append(h.entries, shop.Entry{Kind: e.Kind, Body: e.Body, At: e.Received})
	}
	h.state = shop.Fold(h.entries)
	return h, nil
}

// now returns how the shop stands. The state is never changed once it is made.
func (h *household) now() *shop.State {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.state
}

// watch returns a channel that is closed when something else is settled.
func (h *household) watch() <-chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.changed
}

// settle adds an entry; it holds when settle returns without an error.
func (h *household) settle(ctx context.Context, kind string, value any) error {
	body, err := json.Marshal(value)
	if err != nil {
		panic(err) // a value of ours
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	e, err := h.record.AddShop(ctx, kind, body)
	if err != nil {
		return err
	}
	h.entries = append(h.entries, shop.Entry{Kind: kind, Body: body, At: e.Received})
	h.state = shop.Fold(h.entries)
	close(h.changed)
	h.changed = make(chan struct{})
	return nil
}
