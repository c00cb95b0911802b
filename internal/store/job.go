package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// NewJob is what a job is started with.
type NewJob struct {
	// ID is 1 to 64 letters, digits, dots, hyphens and underscores, and starts with a
	// letter or a digit. When it is empty the store makes one.
	ID string
	// Title is what people call the job, 1 to 200 characters.
	Title string
	// Texts are the pack and the templates it extends; they are kept as they are.
	Texts
	// At is when the job was started; zero is now.
	At time.Time
}

// Job is one job as the store knows it. What has become of it, its title included,
// is in its journal.
type Job struct {
	ID, Title string
	Created   time.Time
	// Files are those of the pack, then those of the templates.
	Files []PinnedFile
	// Events is how many events the journal has and the Seq of the last, Size the
	// length of the journal in bytes and Head the hash that its chain ends in.
	Events, Size int64
	Head         [32]byte
	// Changed is when the last event was received, or Created before the first.
	Changed time.Time
}

// CreateJob starts a job on the exact text of a pack. A job of that id with the same
// title and files is returned as it is, so that the call can be made again; with
// others the error is of kind ErrExists.
func (s *Store) CreateJob(ctx context.Context, n NewJob) (Job, error) {
	if n.ID == "" {
		n.ID = s.NewID()
	}
	operation := "start job " + n.ID
	if err := s.enter(operation, true); err != nil {
		return Job{}, err
	}
	defer s.calls.Done()
	if err := s.createJob(ctx, n); err != nil {
		return Job{}, explain(operation, err)
	}
	job, err := s.job(ctx, n.ID)
	return job, explain(operation, err)
}

func (s *Store) createJob(ctx context.Context, n NewJob) error {
	if !soundJobID(n.ID) {
		return refuse(ErrArgument, "", "the id %q cannot be used: 1 to 64 letters a to z, digits, dots, hyphens and underscores, a letter or digit first", n.ID)
	}
	if length := utf8.RuneCountInString(n.Title); !utf8.ValidString(n.Title) || length < 1 || length > 200 || strings.ContainsFunc(n.Title, unicode.IsControl) {
		return refuse(ErrArgument, "", "the title %q cannot be used: it must be plain text of 1 to 200 characters", n.Title)
	}
	files, err := n.pin()
	if err != nil {
		return err
	}
	if n.At.IsZero() {
		n.At = s.options.Now()
	}
	return s.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		there, err := sameJob(ctx, tx, n, files)
		if err != nil || there {
			return err
		}
		_, err = tx.ExecContext(ctx, "insert into jobs (id, title, created) values ($1, $2, $3)", n.ID, n.Title, formatTime(n.At))
		if err != nil {
			return err
		}
		for i, f := range files {
			if err := keepText(ctx, tx, f); err != nil {
				return err
			}
			_, err := tx.ExecContext(ctx, "insert into job_files (job, position, template, name, sha256) values ($1, $2, $3, $4, $5)",
				n.ID, i+1, f.Template, f.Name, f.SHA256)
			if err != nil {
				return err
			}
		}
		return nil
	}, func() { s.hub.publish(Change{Job: n.ID}) })
}

// sameJob says whether the job is there; it is an error when it is another one.
func sameJob(ctx context.Context, tx *sql.Tx, n NewJob, files []pinned) (bool, error) {
	var title string
	err := tx.QueryRowContext(ctx, "select title from jobs where id = $1", n.ID).Scan(&title)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	rows, err := tx.QueryContext(ctx, "select template, name, sha256 from job_files where job = $1 order by position", n.ID)
	if err != nil {
		return false, err
	}
	defer rows.Close()
	var there []PinnedFile
	for rows.Next() {
		var f PinnedFile
		if err := rows.Scan(&f.Template, &f.Name, &f.SHA256); err != nil {
			return false, err
		}
		there = append(there, f)
	}
	if err := rows.Err(); err != nil {
		return false, err
	}
	same := slices.EqualFunc(there, files, func(a PinnedFile, b pinned) bool {
		return a.Template == b.Template && a.Name == b.Name && a.SHA256 == b.SHA256
	})
	switch {
	case title != n.Title:
		return false, refuse(ErrExists, "choose another id", "there is a job of that id already, %q", title)
	case !same:
		return false, refuse(ErrExists, "choose another id", "there is a job of that id already, started on another pack text")
	}
	return true, nil
}

// Jobs returns all jobs, in the order in which they were started.
func (s *Store) Jobs(ctx context.Context) ([]Job, error) {
	const operation = "list the jobs"
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	jobs, err := s.jobs(ctx, "")
	return jobs, explain(operation, err)
}

// Job returns one job. The error is of kind ErrNotFound when there is none of that
// id.
func (s *Store) Job(ctx context.Context, id string) (Job, error) {
	operation := "look up job " + id
	if err := s.enter(operation, false); err != nil {
		return Job{}, err
	}
	defer s.calls.Done()
	job, err := s.job(ctx, id)
	return job, explain(operation, err)
}

func (s *Store) job(ctx context.Context, id string) (Job, error) {
	if !soundJobID(id) {
		return Job{}, noSuchJob(id)
	}
	jobs, err := s.jobs(ctx, id)
	if err != nil {
		return Job{}, err
	}
	if len(jobs) == 0 {
		return Job{}, noSuchJob(id)
	}
	return jobs[0], nil
}

// jobs returns the job of that id, or all for none.
func (s *Store) jobs(ctx context.Context, id string) ([]Job, error) {
	where, args := "", []any{}
	if id != "" {
		where, args = "where j.id = $1", []any{id}
	}
	rows, err := s.db.reader().QueryContext(ctx, `select j.id, j.title, j.created, e.seq, e.size, e.hash, e.received
		from jobs j left join events e on e.job = j.id and e.seq = (select max(seq) from events where job = j.id)
		`+where+` order by j.created, j.id`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var jobs []Job
	at := map[string]int{}
	for rows.Next() {
		var j Job
		var created string
		var seq, size sql.NullInt64
		var hash []byte
		var received sql.NullString
		if err := rows.Scan(&j.ID, &j.Title, &created, &seq, &size, &hash, &received); err != nil {
			return nil, err
		}
		if j.Created, err = parseTime(created); err != nil {
			return nil, err
		}
		j.Changed = j.Created
		if seq.Valid {
			j.Events, j.Size = seq.Int64, size.Int64
			copy(j.Head[:], hash)
			if j.Changed, err = parseTime(received.String); err != nil {
				return nil, err
			}
		}
		at[j.ID] = len(jobs)
		jobs = append(jobs, j)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	return jobs, s.addFiles(ctx, jobs, at, where, args)
}

// addFiles fills in the files of jobs, whose places at tells.
func (s *Store) addFiles(ctx context.Context, jobs []Job, at map[string]int, where string, args []any) error {
	rows, err := s.db.reader().QueryContext(ctx, `select f.job, f.template, f.name, f.sha256, length(t.body)
		from jobs j join job_files f on f.job = j.id join texts t on t.sha256 = f.sha256
		`+where+` order by f.job, f.position`, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var job string
		var f PinnedFile
		if err := rows.Scan(&job, &f.Template, &f.Name, &f.SHA256, &f.Size); err != nil {
			return err
		}
		// A job started since the list was read is not in it.
		if i, ok := at[job]; ok {
			jobs[i].Files = append(jobs[i].Files, f)
		}
	}
	return rows.Err()
}

func noSuchJob(id string) error {
	return refuse(ErrNotFound, "look at the list of jobs", "there is no job %q", id)
}

// soundJobID says whether an id can stand in an address, a file name and a command.
func soundJobID(id string) bool {
	if id == "" || len(id) > 64 {
		return false
	}
	for i := range len(id) {
		c := id[i]
		letter := 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9'
		if !letter && (i == 0 || c != '.' && c != '-' && c != '_') {
			return false
		}
	}
	return true
}
