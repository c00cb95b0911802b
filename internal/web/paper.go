package web

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"buttonup/internal/book"
	"buttonup/internal/recall"
	"buttonup/journal"
	"buttonup/quantity"
)

func (s *Server) paperRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /find", hurry(s.findPage))
	m.HandleFunc("GET /job/{job}/paper", hurry(s.paperPage))
	m.HandleFunc("GET /job/{job}/paper/{name}", hurry(s.paper))
}

// findView is what a search found.
type findView struct {
	view
	Question string
	Asked    bool
	Groups   []foundGroup
	Count    int
	// Cannot says that this record cannot be searched.
	Cannot bool
}

// foundGroup is what was found of one job.
type foundGroup struct {
	Job, Title string
	Lines      []recall.Answer
}

// findPage looks through all jobs.
func (s *Server) findPage(w http.ResponseWriter, r *http.Request) {
	f := &findView{view: s.view(r, "find", nil), Question: strings.TrimSpace(r.URL.Query().Get("q"))}
	f.Title = "Find"
	if len(f.Question) > 200 {
		f.Question = f.Question[:200]
	}
	f.Asked = len(recall.Query(f.Question)) > 0
	search := s.searcher()
	f.Cannot = search == nil
	if f.Asked && search != nil {
		found, err := search.Find(r.Context(), f.Question, 60)
		if err != nil {
			s.failed(w, r, err)
			return
		}
		f.Count = len(found)
		at := map[string]int{}
		for _, x := range found {
			i, ok := at[x.Job]
			if !ok {
				i = len(f.Groups)
				at[x.Job] = i
				f.Groups = append(f.Groups, foundGroup{Job: x.Job, Title: x.Title})
			}
			f.Groups[i].Lines = append(f.Groups[i].Lines, x)
		}
	}
	s.show(w, r, http.StatusOK, findPageOf(f))
}

// searcher is the one search of the server, nil where the record cannot be searched.
func (s *Server) searcher() *recall.Searcher {
	record, ok := s.record.(recall.Record)
	if !ok {
		return nil
	}
	s.searching.Do(func() { s.search = &recall.Searcher{Record: record, Load: LoadPinned} })
	return s.search
}

// paperView offers what can be printed of a job or taken away.
type paperView struct {
	view
	Closed string
}

// Papers are what can be had of a job.
var papers = []struct{ Name, Says, For string }{
	{"book.pdf", "Build book", "the whole record, to print or keep (PDF)"},
	{"book.html", "Build book as one page", "the same for a screen; needs nothing else"},
	{"stage-card.pdf", "Stage card", "torques large, with blanks to tick, for when the phone films"},
	{"labels.pdf", "Labels", "for trays, bags and parts; scanning one opens it"},
	{"estimate.pdf", "Estimate and account", "what was said, what it came to, what was approved"},
	{"calendar.ics", "Calendar", "waits, promised dates, re-torques"},
	{"readings.csv", "Readings as a table", "for a spreadsheet"},
	{"results.csv", "Results as a table", "values with ±, limits and verdicts"},
	{"parts.csv", "Parts as a table", "with lots and prices"},
	{"torques.csv", "Torque passes as a table", "with wrenches"},
}

func (s *Server) paperPage(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	p := &paperView{view: s.view(r, "paper", sh)}
	p.Title, p.Also = "Paper", []string{"act.css", "act.js"}
	if n := len(sh.State.Seals); n > 0 {
		p.Closed = "Closed and signed " + sh.State.Seals[0].At.Format("2 Jan 2006 15:04") + "."
	}
	s.show(w, r, http.StatusOK, paperPageOf(p))
}

// paper makes one of the papers.
func (s *Server) paper(w http.ResponseWriter, r *http.Request) {
	j, err := s.paperJob(r.Context(), r.PathValue("job"), s.view(r, "paper", nil).System, r)
	if err != nil {
		s.failed(w, r, err)
		return
	}
	name := r.PathValue("name")
	body, kind, err := s.paperOf(j, name, r)
	switch {
	case errors.Is(err, book.ErrNothing):
		http.NotFound(w, r)
		return
	case err != nil:
		s.failed(w, r, err)
		return
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-store")
	show := "attachment"
	if strings.HasSuffix(name, ".pdf") || strings.HasSuffix(name, ".txt") {
		show = "inline"
	}
	h.Set("Content-Disposition", fmt.Sprintf("%s; filename=%q", show, j.ID+"-"+name))
	w.Write(body)
}

func (s *Server) paperOf(j *book.Job, name string, r *http.Request) ([]byte, string, error) {
	document := func(d *book.Document, err error) ([]byte, string, error) {
		if err != nil {
			return nil, "", err
		}
		b, err := d.PDF(j.FileID())
		return b, "application/pdf", err
	}
	key := s.signingKey()
	switch name {
	case "book.pdf":
		b, kind, err := document(book.BuildBook(j), nil)
		if err != nil {
			return nil, "", err
		}
		return j.Seal(b, key), kind, nil
	case "book.html":
		b, err := book.BuildBook(j).HTML()
		if err != nil {
			return nil, "", err
		}
		return j.Seal(b, key), "text/html; charset=utf-8", nil
	case "stage-card.pdf":
		return document(j.StageCard(nil))
	case "labels.pdf":
		scheme := "http"
		if r.TLS != nil {
			scheme = "https"
		}
		list := j.LabelsFor(scheme + "://" + r.Host)
		if text := strings.TrimSpace(r.URL.Query().Get("text")); text != "" {
			list = nil
			for _, line := range strings.Split(text, "\n") {
				if line = strings.TrimSpace(line); line != "" && len(list) < 48 {
					list = append(list, j.BagLabel(scheme+"://"+r.Host, line))
				}
			}
		}
		return document(j.Labels(list))
	case "estimate.pdf":
		return document(book.MakeAccount(j, "").Document(j), nil)
	case "handout.pdf", "card.pdf", "description.txt":
		return s.teaching(r, j, name)
	case "sublet.pdf":
		return document(j.Sublet(r.URL.Query().Get("of"), "", ""))
	case "calendar.ics":
		return j.Calendar(), "text/calendar; charset=utf-8", nil
	}
	list, ok := strings.CutSuffix(name, ".csv")
	if !ok {
		return nil, "", book.ErrNothing
	}
	l, err := j.Listing(list)
	if err != nil {
		return nil, "", err
	}
	return l.CSV(false), "text/csv; charset=utf-8", nil
}

// signingKey is the key that the shop signs books with, nil where the record has none.
func (s *Server) signingKey() ed25519.PrivateKey {
	record, ok := s.record.(interface {
		SigningKey() (ed25519.PrivateKey, error)
	})
	if !ok {
		return nil
	}
	key, err := record.SigningKey()
	if err != nil {
		return nil // the book still carries the signature of the job
	}
	return key
}

// paperJob puts a job together for its papers.
func (s *Server) paperJob(ctx context.Context, id string, units quantity.System, r *http.Request) (*book.Job, error) {
	sh, err := s.desks.sheet(ctx, id)
	if err != nil {
		return nil, err
	}
	texts, err := s.record.Texts(ctx, id)
	if err != nil {
		return nil, err
	}
	events := make([]journal.Event, len(sh.event))
	copy(events, sh.event)
	j := book.Make(id, sh.pack.Pack, texts.Sum(), events, sh.State, s.options.Now())
	j.Shop = s.options.Shop
	j.Units = s.view(r, "paper", sh).System
	j.Photo = func(sha string) ([]byte, error) {
		f, err := s.record.Photo(sha)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return io.ReadAll(f)
	}
	return j, nil
}
