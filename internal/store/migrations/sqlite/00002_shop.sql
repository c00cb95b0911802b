-- +goose Up

-- What the shop has settled outside of jobs: devices that were paired and sent away,
-- people, settings. Like a journal it is only ever added to, and the newest word on a
-- thing counts. body is JSON; what it means is not the store's business. It holds
-- hashes of secrets and no secrets.
create table shop (
    number   bigint not null primary key check (number > 0),
    kind     text   not null,
    body     bytea  not null,
    received text   not null
);

-- +goose StatementBegin
create trigger shop_is_not_changed before update on shop
begin select raise(abort, 'the record is append-only: what the shop settled is never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger shop_is_not_removed before delete on shop
begin select raise(abort, 'the record is append-only: what the shop settled is never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger shop_follows_one_another before insert on shop
when new.number <> coalesce((select max(number) from shop), 0) + 1
begin select raise(abort, 'the record is append-only: what the shop settles follows what stood before'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger shop_is_not_replaced before insert on shop
when exists (select 1 from shop where number = new.number)
  or exists (select 1 from shop where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: what the shop settled is never replaced'); end;
-- +goose StatementEnd
