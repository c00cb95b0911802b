package store

import (
	"context"
	"database/sql"
	"time"
)

// maxShopEntry is the largest entry of the shop's own in bytes.
const maxShopEntry = 64 << 10

// ShopEntry is something that the shop settled outside of jobs, such as a device that
// was paired. The store does not know what it means.
type ShopEntry struct {
	// Number counts from 1, without gaps.
	Number   int64
	Kind     string
	Body     []byte
	Received time.Time
}

// AddShop adds an entry and returns it when it is on the disk. Nothing that was
// settled before is changed: the reader decides that the newest counts.
func (s *Store) AddShop(ctx context.Context, kind string, body []byte) (ShopEntry, error) {
	const operation = "keep what the shop settled"
	if err := s.enter(operation, true); err != nil {
		return ShopEntry{}, err
	}
	defer s.calls.Done()
	if kind == "" || len(body) > maxShopEntry {
		return ShopEntry{}, refuse(ErrArgument, "", "%s: an entry has a kind and at most %d bytes", operation, maxShopEntry)
	}
	e := ShopEntry{Kind: kind, Body: body, Received: s.options.Now().UTC().Truncate(time.Millisecond)}
	err := s.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, "select coalesce(max(number), 0) + 1 from shop").Scan(&e.Number); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "insert into shop (number, kind, body, received) values ($1, $2, $3, $4)",
			e.Number, e.Kind, e.Body, formatTime(e.Received))
		return err
	}, nil)
	return e, explain(operation, err)
}

// Shop returns all that the shop settled, in its order.
func (s *Store) Shop(ctx context.Context) ([]ShopEntry, error) {
	const operation = "read what the shop settled"
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	entries, err := s.shop(ctx)
	return entries, explain(operation, err)
}

func (s *Store) shop(ctx context.Context) ([]ShopEntry, error) {
	rows, err := s.db.reader().QueryContext(ctx, "select number, kind, body, received from shop order by number")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []ShopEntry
	for rows.Next() {
		var e ShopEntry
		var received string
		if err := rows.Scan(&e.Number, &e.Kind, &e.Body, &received); err != nil {
			return nil, err
		}
		if e.Received, err = parseTime(received); err != nil {
			return nil, err
		}
		list = append(list, e)
	}
	return list, rows.Err()
}
