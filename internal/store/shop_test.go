package store

import (
	"errors"
	"strings"
	"testing"
)

func TestWhatTheShopSettledIsKeptInOrderAndOnlyAddedTo(t *testing.T) {
	dir := t.TempDir()
	s := mustOpen(t, dir)
	for i, kind := range []string{"device", "setting", "device-gone"} {
		e, err := s.AddShop(ctx, kind, []byte(`{"a":"b"}`))
		if err != nil || e.Number != int64(i+1) || e.Received.IsZero() {
			t.Fatalf("%+v %v", e, err)
		}
	}
	mustClose(t, s)
	s = mustOpen(t, dir)
	list, err := s.Shop(ctx)
	if err != nil || len(list) != 3 || list[2].Kind != "device-gone" || string(list[0].Body) != `{"a":"b"}` {
		t.Fatalf("%+v %v", list, err)
	}
	for _, statement := range []string{
		"update shop set kind = 'x'", "delete from shop", "insert or replace into shop (number, kind, body, received) values (1, 'x', 'x', 'x')",
		"insert or replace into shop (rowid, number, kind, body, received) values (1, 4, 'x', 'x', 'x')",
		"insert into shop (number, kind, body, received) values (9, 'x', 'x', 'x')",
	} {
		if _, err := s.db.writer().Exec(statement); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%s: %v", statement, err)
		}
	}
	if _, err := s.AddShop(ctx, "", nil); !errors.Is(err, ErrArgument) {
		t.Errorf("without a kind: %v", err)
	}
	if _, err := s.AddShop(ctx, "x", make([]byte, maxShopEntry+1)); !errors.Is(err, ErrArgument) {
		t.Errorf("too large: %v", err)
	}
}
