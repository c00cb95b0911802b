-- The tables are written so that PostgreSQL takes them as they stand: bytes are
-- bytea, which SQLite stores as the blobs they are, and times are text in UTC. What
-- is called a guard below is in the words of SQLite; another database needs its own.

-- +goose Up

-- Pack and template text by its SHA-256, in hexadecimal digits.
create table texts (
    sha256 text  not null primary key check (length(sha256) = 64),
    body   bytea not null
);

create table jobs (
    id      text not null primary key,
    title   text not null,
    created text not null
);

-- The files a job was started on, for ever. template is empty for the pack itself.
create table job_files (
    job      text   not null references jobs (id),
    position bigint not null,
    template text   not null,
    name     text   not null,
    sha256   text   not null references texts (sha256),
    primary key (job, position),
    unique (job, template, name)
);

-- The journals. body is the line as received; hash = SHA-256(hash before, body);
-- size is the length of the journal with this line, one byte a line end.
create table events (
    job      text   not null references jobs (id),
    seq      bigint not null check (seq > 0),
    id       text   not null,
    body     bytea  not null,
    hash     bytea  not null check (length(hash) = 32),
    size     bigint not null,
    received text   not null,
    primary key (job, seq),
    unique (job, id)
);

-- Lines that could not go into a journal, as received. id is empty where it could
-- not be read.
create table asides (
    job      text   not null references jobs (id),
    number   bigint not null check (number > 0),
    sha256   text   not null check (length(sha256) = 64),
    id       text   not null,
    body     bytea  not null,
    code     text   not null,
    detail   text   not null,
    received text   not null,
    primary key (job, number),
    unique (job, sha256)
);

-- The guards. Nothing is changed, nothing is removed, and nothing takes the place of
-- what is there: "insert or replace" removes without asking the guard of deletion,
-- so each table has a guard of insertion as well, which also looks at the row number
-- that SQLite keeps of each row. That of events keeps the sequence without a gap.

-- +goose StatementBegin
create trigger texts_are_not_changed before update on texts
begin select raise(abort, 'the record is append-only: a text is never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger texts_are_not_removed before delete on texts
begin select raise(abort, 'the record is append-only: a text is never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger texts_are_not_replaced before insert on texts
when exists (select 1 from texts where sha256 = new.sha256)
  or exists (select 1 from texts where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: a text is never replaced'); end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger jobs_are_not_changed before update on jobs
begin select raise(abort, 'the record is append-only: a job is never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger jobs_are_not_removed before delete on jobs
begin select raise(abort, 'the record is append-only: a job is never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger jobs_are_not_replaced before insert on jobs
when exists (select 1 from jobs where id = new.id)
  or exists (select 1 from jobs where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: a job is never replaced'); end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger job_files_are_not_changed before update on job_files
begin select raise(abort, 'the record is append-only: the files of a job are never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger job_files_are_not_removed before delete on job_files
begin select raise(abort, 'the record is append-only: the files of a job are never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger job_files_are_not_replaced before insert on job_files
when exists (select 1 from job_files where job = new.job
             and (position = new.position or template = new.template and name = new.name))
  or exists (select 1 from job_files where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: the files of a job are never replaced'); end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger events_are_not_changed before update on events
begin select raise(abort, 'the record is append-only: an event is never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger events_are_not_removed before delete on events
begin select raise(abort, 'the record is append-only: an event is never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger events_are_not_replaced before insert on events
when exists (select 1 from events where job = new.job and id = new.id)
  or exists (select 1 from events where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: an event is never replaced'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger events_follow_one_another before insert on events
when new.seq <> coalesce((select max(seq) from events where job = new.job), 0) + 1
begin select raise(abort, 'the record is append-only: an event follows the one before it'); end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger asides_are_not_changed before update on asides
begin select raise(abort, 'the record is append-only: a line set aside is never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger asides_are_not_removed before delete on asides
begin select raise(abort, 'the record is append-only: a line set aside is never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger asides_are_not_replaced before insert on asides
when exists (select 1 from asides where job = new.job and (number = new.number or sha256 = new.sha256))
  or exists (select 1 from asides where rowid = new.rowid and rowid > 0)
begin select raise(abort, 'the record is append-only: a line set aside is never replaced'); end;
-- +goose StatementEnd
