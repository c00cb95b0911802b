package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// fileSearch is the index of what can be found. It is made of the journals and can be
// thrown away at any time; the next search makes it anew.
const fileSearch = "search.db"

// searchForm changes when what is kept in the index changes, so that an older one is
// made anew.
const searchForm = 1

// Passage is one thing that can be found: what is shown, and the words it is found by.
type Passage struct {
	Seq   int64
	At    time.Time
	Kind  string
	Says  string
	Words string
}

// FoundPassage is a passage that a search found, and its job.
type FoundPassage struct {
	Job string
	Passage
}

// searchIndex is the open index.
type searchIndex struct {
	mu sync.Mutex
	db *sql.DB
}

// JobHead is how far the journal of a job has come.
type JobHead struct {
	Job, Title string
	Events     int64
}

// Stale returns the jobs whose passages in the index are not those of their journal as
// it is now.
func (s *Store) Stale(ctx context.Context) ([]JobHead, error) {
	const operation = "look at the index"
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	list, err := s.stale(ctx)
	return list, explain(operation, err)
}

func (s *Store) stale(ctx context.Context) ([]JobHead, error) {
	index, err := s.index()
	if err != nil {
		return nil, err
	}
	there := map[string]int64{}
	rows, err := index.QueryContext(ctx, "select job, events from indexed")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var job string
		var n int64
		if err := rows.Scan(&job, &n); err != nil {
			return nil, err
		}
		there[job] = n
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	heads, err := s.db.reader().QueryContext(ctx, "select j.id, j.title, coalesce((select max(e.seq) from events e where e.job = j.id), 0) from jobs j order by j.created, j.id")
	if err != nil {
		return nil, err
	}
	defer heads.Close()
	var list []JobHead
	for heads.Next() {
		var h JobHead
		if err := heads.Scan(&h.Job, &h.Title, &h.Events); err != nil {
			return nil, err
		}
		if n, ok := there[h.Job]; !ok || n != h.Events {
			list = append(list, h)
		}
	}
	return list, heads.Err()
}

// index opens the index, and makes it where there is none or it is of an older form.
// Where it cannot be written to, it is made in memory.
func (s *Store) index() (*sql.DB, error) {
	s.search.mu.Lock()
	defer s.search.mu.Unlock()
	if s.search.db != nil {
		return s.search.db, nil
	}
	file := filepath.Join(s.dir, fileSearch)
	db, err := openIndex(sqliteName(file, "_txlock=immediate", "_pragma=busy_timeout(5000)", "_pragma=journal_mode(WAL)", "_pragma=synchronous(OFF)"))
	if err != nil {
		if db, err = openIndex(":memory:"); err != nil {
			return nil, err
		}
	}
	s.search.db = db
	return db, nil
}

func openIndex(source string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", source)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	var form int
	err = db.QueryRow("pragma user_version").Scan(&form)
	if err == nil && form != searchForm {
		_, err = db.Exec(fmt.Sprintf(`begin;
			drop table if exists passages; drop table if exists indexed;
			create virtual table passages using fts5(words, job unindexed, seq unindexed, at unindexed, kind unindexed, says unindexed, tokenize="unicode61 tokenchars '_'");
			create table indexed (job text primary key, events integer not null, first integer not null, last integer not null);
			pragma user_version = %d; commit`, searchForm))
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// IndexJob puts the passages of a job into the index, in place of those that were there.
// events is how many events they were made of.
func (s *Store) IndexJob(ctx context.Context, job string, events int64, passages []Passage) error {
	operation := "index job " + job
	if err := s.enter(operation, false); err != nil {
		return err
	}
	defer s.calls.Done()
	return explain(operation, s.indexJob(ctx, job, events, passages))
}

func (s *Store) indexJob(ctx context.Context, job string, events int64, passages []Passage) error {
	index, err := s.index()
	if err != nil {
		return err
	}
	tx, err := index.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var first, last int64
	switch err := tx.QueryRowContext(ctx, "select first, last from indexed where job = $1", job).Scan(&first, &last); {
	case err == nil:
		if _, err := tx.ExecContext(ctx, "delete from passages where rowid between $1 and $2", first, last); err != nil {
			return err
		}
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	var top sql.NullInt64
	if err := tx.QueryRowContext(ctx, "select max(last) from indexed").Scan(&top); err != nil {
		return err
	}
	insert, err := tx.PrepareContext(ctx, "insert into passages (rowid, words, job, seq, at, kind, says) values ($1, $2, $3, $4, $5, $6, $7)")
	if err != nil {
		return err
	}
	defer insert.Close()
	for i, p := range passages {
		if _, err := insert.ExecContext(ctx, top.Int64+int64(i)+1, p.Words, job, p.Seq, formatTime(p.At), p.Kind, p.Says); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, "insert or replace into indexed (job, events, first, last) values ($1, $2, $3, $4)", job, events, top.Int64+1, top.Int64+int64(len(passages))); err != nil {
		return err
	}
	return tx.Commit()
}

// Find returns the passages that have every one of the words, the closest first, at
// most limit of them. The words are letters, digits and underscores; one that ends in a
// star means all that begin so.
func (s *Store) Find(ctx context.Context, words []string, limit int) ([]FoundPassage, error) {
	const operation = "search"
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	found, err := s.lookUp(ctx, words, limit)
	return found, explain(operation, err)
}

func (s *Store) lookUp(ctx context.Context, words []string, limit int) ([]FoundPassage, error) {
	index, err := s.index()
	if err != nil {
		return nil, err
	}
	var match []string
	for _, w := range words {
		bare, star := strings.CutSuffix(w, "*")
		if bare == "" || strings.ContainsAny(bare, `"*`) {
			continue
		}
		term := `"` + bare + `"`
		if star {
			term += "*"
		}
		match = append(match, term)
	}
	if len(match) == 0 {
		return nil, nil
	}
	// SQLite's own rank counts for each word all passages that have it, which takes longer
	// than finding the few that have all; so those are scored here.
	rows, err := index.QueryContext(ctx, "select job, seq, at, kind, says, words from passages where passages match $1 order by rowid desc limit $2", strings.Join(match, " AND "), mostScored)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []scored
	for rows.Next() {
		var f scored
		var at, words string
		if err := rows.Scan(&f.Job, &f.Seq, &at, &f.Kind, &f.Says, &words); err != nil {
			return nil, err
		}
		if f.At, err = parseTime(at); err != nil {
			return nil, err
		}
		f.score = closeness(match, words)
		list = append(list, f)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	slices.Reverse(list) // the oldest first where two are as close
	slices.SortStableFunc(list, func(a, b scored) int { return cmp.Compare(b.score, a.score) })
	found := make([]FoundPassage, 0, min(limit, len(list)))
	for _, f := range list[:min(limit, len(list))] {
		found = append(found, f.FoundPassage)
	}
	return found, nil
}

// mostScored is how many passages are held against one another; of more than that the
// newest are.
const mostScored = 4000

// scored is a passage with how close it comes to what was asked.
type scored struct {
	FoundPassage
	score float64
}

// closeness is how close a passage comes to words that are all in it: the more often they
// stand there and the less besides, the closer.
//
// Source: Okapi BM25 with its usual k1 = 1.2 and b = 0.75, every word of the same weight;
// from memory.
func closeness(match []string, words string) float64 {
	const k1, b, usual = 1.2, 0.75, 24.0
	text := strings.Fields(words)
	norm := k1 * (1 - b + b*float64(len(text))/usual)
	score := 0.0
	for _, m := range match {
		bare, star := strings.CutSuffix(m, "*")
		bare = strings.Trim(bare, `"`)
		n := 0.0
		for _, w := range text {
			if w == bare || star && strings.HasPrefix(w, bare) {
				n++
			}
		}
		score += n * (k1 + 1) / (n + norm)
	}
	return score
}
