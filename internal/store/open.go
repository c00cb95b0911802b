package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"io/fs"
	"net/url"
	"path/filepath"
	"slices"
	"strings"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// database is what differs between the programs that can keep the tables. All other
// SQL in this package is written so that SQLite and PostgreSQL both take it.
type database interface {
	// writer is for everything that changes the record: a transaction begun on it
	// has the right to write from its start.
	writer() *sql.DB
	// reader may not write. It sees what was committed before its statement began.
	reader() *sql.DB
	// dialect and migrations are what goose needs.
	dialect() goose.Dialect
	migrations() fs.FS
	// lockJob selects the job $1 and, in a transaction, keeps others from appending
	// to it until the end.
	lockJob() string
	// tables lists the tables that are there.
	tables(ctx context.Context) ([]string, error)
	// copyTo writes a consistent copy of the live database to a file that must not
	// exist. It does not stop writers and does not sync the file.
	copyTo(ctx context.Context, file string) error
	// check looks for damage below the tables and returns what it found.
	check(ctx context.Context) ([]string, error)
	// lostGuards names what should keep the tables append-only and does not, in a
	// database whose layout is that of this program.
	lostGuards(ctx context.Context) ([]string, error)
	close() error
}

//go:embed migrations/sqlite/*.sql
var sqliteMigrations embed.FS

// databaseTrouble tells the kind of an error of the database, nil for others.
func databaseTrouble(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return nil
	}
	// The low byte is the primary code, what is above it says more.
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return ErrBusy
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN:
		return ErrReadOnly
	case sqlite3.SQLITE_IOERR:
		return ErrDisk
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return ErrDamaged
	case sqlite3.SQLITE_FULL:
		return ErrFull
	}
	return nil
}

// cutOff reports whether a file cannot be read before a transaction is taken back in
// which a program was killed. Our databases keep a log that does without that, but the
// switch to the log is such a transaction itself.
func cutOff(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code() == sqlite3.SQLITE_READONLY_ROLLBACK
}

// takeBack undoes what was not committed, which SQLite does at the first look by a
// connection that may write.
func takeBack(ctx context.Context, file string) (err error) {
	db, err := sql.Open("sqlite", sqliteName(file, "mode=rw", "_pragma=busy_timeout(5000)", "_pragma=fullfsync(1)"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	_, err = texts(ctx, db, "select name from sqlite_master")
	return err
}

// sqliteDatabase keeps the tables in one file.
type sqliteDatabase struct{ write, read *sql.DB }

// readers is how many may read at once. More would only wait for the processor of a
// small shop computer.
const readers = 4

// openSQLite opens the database file, which it makes when it is not there. Reading
// only, it opens an existing one and cannot write to it.
func openSQLite(file string, readOnly bool) (database, error) {
	d := &sqliteDatabase{}
	var err error
	if !readOnly {
		// One connection: SQLite has one writer at a time anyway, and waiting for it
		// in Go is fair, which busy_timeout is not. An immediate transaction takes
		// the write lock at once, where a deferred one that has read could be
		// refused it later, whatever the timeout. FULL syncs at each commit, and
		// fullfsync is what that takes on a Mac.
		d.write, err = sql.Open("sqlite", sqliteName(file,
			"_txlock=immediate",
			"_pragma=busy_timeout(5000)",
			"_pragma=journal_mode(WAL)",
			"_pragma=synchronous(FULL)",
			"_pragma=fullfsync(1)",
			"_pragma=checkpoint_fullfsync(1)",
			"_pragma=foreign_keys(1)",
			// A large import does not leave a large log behind for good.
			"_pragma=journal_size_limit(16777216)"))
		if err != nil {
			return nil, err
		}
		d.write.SetMaxOpenConns(1)
		// The file must exist before it can be opened for reading.
		if err = d.write.Ping(); err != nil {
			return nil, errors.Join(err, d.close())
		}
	}
	d.read, err = sql.Open("sqlite", sqliteName(file, "mode=ro", "_pragma=busy_timeout(5000)"))
	if err != nil {
		return nil, errors.Join(err, d.close())
	}
	d.read.SetMaxOpenConns(readers)
	d.read.SetMaxIdleConns(readers)
	return d, nil
}

// sqliteName returns what the driver calls a file and how to open it. Defensive mode
// keeps SQL from damaging the file; without dqs a misspelt name in double quotes is
// an error and not a text.
func sqliteName(file string, settings ...string) string {
	path := filepath.ToSlash(file)
	if len(path) > 1 && path[1] == ':' {
		path = "/" + path // C:/Shop is written file:///C:/Shop
	}
	name := (&url.URL{Scheme: "file", Path: path}).EscapedPath()
	if strings.HasPrefix(path, "/") {
		name = "//" + name
	}
	return "file:" + name + "?_defensive=1&_dqs=0&_error_rc=1&" + strings.Join(settings, "&")
}

func (d *sqliteDatabase) writer() *sql.DB        { return d.write }
func (d *sqliteDatabase) reader() *sql.DB        { return d.read }
func (d *sqliteDatabase) dialect() goose.Dialect { return goose.DialectSQLite3 }

func (d *sqliteDatabase) migrations() fs.FS {
	sub, err := fs.Sub(sqliteMigrations, "migrations/sqlite")
	if err != nil {
		panic("store: " + err.Error())
	}
	return sub
}

// lockJob need not lock: an immediate transaction has locked the whole database.
func (d *sqliteDatabase) lockJob() string { return "select 1 from jobs where id = $1" }

func (d *sqliteDatabase) tables(ctx context.Context) ([]string, error) {
	return texts(ctx, d.read, "select name from sqlite_master where type = 'table' order by name")
}

func (d *sqliteDatabase) copyTo(ctx context.Context, file string) error {
	_, err := d.read.ExecContext(ctx, "vacuum into $1", file)
	return err
}

func (d *sqliteDatabase) check(ctx context.Context) ([]string, error) {
	found, err := texts(ctx, d.read, "pragma integrity_check(20)")
	if err != nil {
		return nil, err
	}
	// A file of a job whose text is not there: the check above does not look at that.
	lost, err := texts(ctx, d.read, `select "table" || ' names what is not in ' || parent from pragma_foreign_key_check limit 20`)
	if err != nil {
		return nil, err
	}
	return append(slices.DeleteFunc(found, func(line string) bool { return line == "ok" }), lost...), nil
}

func (d *sqliteDatabase) lostGuards(ctx context.Context) ([]string, error) {
	there, err := texts(ctx, d.read, "select sql from sqlite_master where type = 'trigger'")
	if err != nil {
		return nil, err
	}
	for i, guard := range there {
		there[i] = oneLine(guard)
	}
	var lost []string
	for _, guard := range guards() {
		if !slices.Contains(there, guard) {
			name, _, _ := strings.Cut(strings.TrimPrefix(guard, createTrigger), " ")
			lost = append(lost, name)
		}
	}
	return lost, nil
}

const createTrigger = "create trigger "

// guards returns the triggers that the migrations make, each in one line of lower
// case.
func guards() []string {
	var all []string
	files, _ := fs.Glob(sqliteMigrations, "migrations/sqlite/*.sql")
	for _, name := range files {
		text, err := sqliteMigrations.ReadFile(name)
		if err != nil {
			panic("store: " + err.Error())
		}
		for _, statement := range strings.Split(string(text), "-- +goose StatementBegin\n")[1:] {
			statement, _, _ = strings.Cut(statement, "-- +goose StatementEnd")
			if statement = oneLine(statement); strings.HasPrefix(statement, createTrigger) {
				all = append(all, statement)
			}
		}
	}
	return all
}

// oneLine makes SQL comparable that differs only in spacing and capitals.
func oneLine(statement string) string {
	return strings.TrimSuffix(strings.ToLower(strings.Join(strings.Fields(statement), " ")), ";")
}

// close closes the readers first: the connection that is closed last empties the
// write-ahead log into the database, which a reader may not.
func (d *sqliteDatabase) close() error {
	var errs []error
	for _, db := range []*sql.DB{d.read, d.write} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	return errors.Join(errs...)
}

// texts runs a query that gives one text a row.
func texts(ctx context.Context, db *sql.DB, query string) ([]string, error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		all = append(all, text)
	}
	return all, rows.Err()
}
