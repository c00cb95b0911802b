package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"
)

// What stands in a data folder.
const (
	fileDatabase = "buttonup.db"
	fileLock     = "lock"
	dirPhotos    = "photos"
	dirKeys      = "keys"
)

// Options are what a Store takes from outside. The zero value is what a server wants.
type Options struct {
	// Now tells the time at which something was received; nil is time.Now.
	Now func() time.Time
	// Random is where ids get their random part; nil is crypto/rand.
	Random io.Reader
	// Holder is what the program calls itself to a second one that finds the folder
	// in use, as in "buttonup serve at 127.0.0.1:8484"; empty is "buttonup".
	Holder string
	// MaxPhoto is the largest photo in bytes; 0 is [DefaultMaxPhoto].
	MaxPhoto int64
}

// Store is an open data folder. Its methods may be called at the same time.
type Store struct {
	dir     string
	options Options
	db      database
	photos  photoFolder
	ids     identity
	search  searchIndex
	hub     hub
	// lock is nil for a store that only reads.
	lock *folderLock
	// The statements of Append, which are prepared once.
	lockJob, tail, find, insert *sql.Stmt

	mu     sync.Mutex
	closed bool
	// calls are those under way, which Close waits for.
	calls sync.WaitGroup
}

// Open opens a data folder for reading and writing and makes it when it is not
// there. It brings the layout of an older database up to date, after making a copy
// of it beside it.
//
// The error is an [*Error]: of kind ErrInUse when another program has the folder,
// ErrReadOnly or ErrFull when the folder cannot be written to, ErrVersion when a
// newer version of Buttonup has used it, ErrDamaged when the database is none.
func Open(dir string, o Options) (*Store, error) {
	return open(dir, o, nil)
}

// open opens a folder with other migrations than the built-in ones, for tests.
func open(dir string, o Options, migrations fs.FS) (s *Store, err error) {
	operation := "open data folder " + dir
	o = o.filled()
	if err := makeFolder(dir); err != nil {
		return nil, explain(operation, err)
	}
	host, _ := os.Hostname() // without a name the lock tells less, and is a lock
	s = &Store{dir: dir, options: o}
	s.lock, err = lockFolder(dir, holder{name: o.Holder, pid: os.Getpid(), host: host, since: o.Now()})
	if err != nil {
		return nil, explain(operation, err)
	}
	defer func() {
		if err != nil {
			err = explain(operation, errors.Join(err, s.shut()))
			s = nil
		}
	}()
	s.photos = photoFolder{dir: filepath.Join(dir, dirPhotos), limit: o.MaxPhoto}
	if err := s.photos.prepare(); err != nil {
		return s, err
	}
	file := filepath.Join(dir, fileDatabase)
	ctx := context.Background()
	if err := lookFirst(ctx, file, migrations); err != nil {
		return s, err
	}
	if s.db, err = openSQLite(file, false); err != nil {
		return s, err
	}
	if err := migrate(ctx, s.db, file, o.Now(), migrations); err != nil {
		return s, err
	}
	// The names of the files must be on the disk before the first event is.
	if err := syncDir(dir); err != nil {
		return s, err
	}
	return s, s.start(ctx)
}

// OpenReading opens an existing data folder to look at it, also while another
// program has it open. All that would write fails with ErrClosed. It does not bring
// an older database up to date but refuses it with ErrVersion. The account must be
// allowed to write to the folder all the same: SQLite keeps an index of its log there,
// which readers and the writer share.
func OpenReading(dir string, o Options) (s *Store, err error) {
	operation := "open data folder " + dir
	o = o.filled()
	file := filepath.Join(dir, fileDatabase)
	if _, err := os.Stat(file); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, refuse(ErrNotFound, "name the folder that holds one, or begin one: start a job in it, or the server",
				"%s: there is no record yet, no %s", operation, fileDatabase)
		}
		return nil, explain(operation, err)
	}
	s = &Store{dir: dir, options: o}
	defer func() {
		if err == nil {
			return
		}
		err = explain(operation, errors.Join(err, s.shut()))
		s = nil
		if e, ok := err.(*Error); ok && e.Kind == ErrReadOnly {
			e.Do = "reading takes the right to write there too; use that account, or copy the folder and open the copy"
		}
	}()
	s.photos = photoFolder{dir: filepath.Join(dir, dirPhotos), limit: o.MaxPhoto}
	if s.db, err = openSQLite(file, true); err != nil {
		return s, err
	}
	ctx := context.Background()
	if err := insistOnVersion(ctx, s.db, file); cutOff(err) {
		return s, refuse(ErrNotFound, "start the server once: it makes the record anew", "a program was ended while it made the record, and nothing is in it yet")
	} else if err != nil {
		return s, err
	}
	return s, s.start(ctx)
}

// filled puts the defaults in.
func (o Options) filled() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Random == nil {
		o.Random = rand.Reader
	}
	if o.Holder == "" {
		o.Holder = "buttonup"
	}
	if o.MaxPhoto == 0 {
		o.MaxPhoto = DefaultMaxPhoto
	}
	return o
}

// start makes ready what does not depend on how the folder was opened.
func (s *Store) start(ctx context.Context) (err error) {
	s.ids.now, s.ids.random = s.options.Now, s.options.Random
	if s.db.writer() == nil {
		return nil
	}
	for _, p := range []struct {
		to  **sql.Stmt
		sql string
	}{
		{&s.lockJob, s.db.lockJob()},
		{&s.tail, "select seq, hash, size from events where job = $1 order by seq desc limit 1"},
		{&s.find, "select seq, body, hash from events where job = $1 and id = $2"},
		{&s.insert, "insert into events (job, seq, id, body, hash, size, received) values ($1, $2, $3, $4, $5, $6, $7)"},
	} {
		if *p.to, err = s.db.writer().PrepareContext(ctx, p.sql); err != nil {
			return err
		}
	}
	return nil
}

// Dir returns the data folder as it was named to Open.
func (s *Store) Dir() string { return s.dir }

// NewID returns a new id for a job or an event: 26 digits and capitals that sort in
// the order in which they were made. It panics if Options.Random fails.
func (s *Store) NewID() string { return s.ids.next() }

// Close waits for what is under way, ends all watches and closes the folder. Closing
// twice does nothing.
func (s *Store) Close() error {
	s.mu.Lock()
	was := s.closed
	s.closed = true
	s.mu.Unlock()
	if was {
		return nil
	}
	s.hub.close()
	s.calls.Wait()
	return explain("close data folder "+s.dir, s.shut())
}

// shut closes what is open. The lock goes last.
func (s *Store) shut() error {
	var errs []error
	for _, stmt := range []*sql.Stmt{s.lockJob, s.tail, s.find, s.insert} {
		if stmt != nil {
			errs = append(errs, stmt.Close())
		}
	}
	if s.search.db != nil {
		errs = append(errs, s.search.db.Close())
	}
	if s.db != nil {
		errs = append(errs, s.db.close())
	}
	if s.lock != nil {
		errs = append(errs, s.lock.release())
	}
	return errors.Join(errs...)
}

// enter begins a call; the caller ends it with s.calls.Done.
func (s *Store) enter(operation string, writes bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return refuse(ErrClosed, "", "%s: the data folder has been closed", operation)
	}
	if writes && s.lock == nil {
		return refuse(ErrClosed, "", "%s: the data folder is open for reading only", operation)
	}
	s.calls.Add(1)
	return nil
}

// write runs f in a transaction, and then, when it is committed, done, both before
// anybody else can write. It waits for its turn as long as ctx lives. From there on
// it goes through: a call that is given up half way would leave its caller with less
// certainty than one that is finished.
func (s *Store) write(ctx context.Context, f func(ctx context.Context, tx *sql.Tx) error, done func()) error {
	conn, err := s.db.writer().Conn(ctx)
	if err != nil {
		return err
	}
	ctx = context.WithoutCancel(ctx)
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return errors.Join(err, conn.Close())
	}
	if err := f(ctx, tx); err != nil {
		_ = tx.Rollback() // SQLite may have rolled back already; err is what counts
		_ = conn.Close()
		return err
	}
	if err := tx.Commit(); err != nil {
		_ = conn.Close()
		return err
	}
	if done != nil {
		done()
	}
	_ = conn.Close() // gives it back to the pool; what was committed stays so
	return nil
}

// stamp is how the database keeps a time: in UTC and of one length, so that times
// sort as text.
const stamp = "2006-01-02T15:04:05.000Z"

func formatTime(t time.Time) string { return t.UTC().Format(stamp) }

func parseTime(text string) (time.Time, error) { return time.Parse(stamp, text) }
