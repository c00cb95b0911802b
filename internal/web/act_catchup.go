package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/words"
)

func (s *Server) catchRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/catchup", hurry(s.catchUp))
	m.HandleFunc("POST /job/{job}/catchup", hurry(s.caughtUp))
}

// caughtLine is something of the afternoon that may be ticked.
type caughtLine struct {
	Reference, Title, Says string
	Guess                  string // when it may have been, for the field
}

type catchView struct {
	view
	Lines []caughtLine
	Since string
}

// mostCaught is how many lines a page of an afternoon holds.
const mostCaught = 40

// catchUp lists what may have been done since the last entry, with guessed times.
func (s *Server) catchUp(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &catchView{view: s.view(r, "catchup", sh)}
	v.Title, v.Also = "Catch up", []string{"act.css", "act.js"}
	if !sh.State.Last.IsZero() {
		v.Since = words.Clock(sh.State.Last)
	}
	v.list()
	s.show(w, r, http.StatusOK, catchPage(v))
}

// list gathers what could follow one after the other: what may be done now, its looks
// before it, then what waits for nothing else.
func (v *catchView) list() {
	sh := v.Sheet
	listed := map[string]bool{}
	var seconds []float64
	add := func(reference, title, says string, takes float64) {
		if listed[reference] || len(v.Lines) >= mostCaught {
			return
		}
		listed[reference] = true
		v.Lines = append(v.Lines, caughtLine{Reference: reference, Title: title, Says: says})
		seconds = append(seconds, takes)
	}
	operation := func(here assess.Operation) {
		op := sh.operation(here.Name)
		for _, reason := range sh.because(here) {
			if reason.Kind == assess.Hold && reason.Result.Kind == "check" {
				if c := sh.check(reason.Result.Name); c != nil && len(c.Pass) > 0 && !reason.Result.Failed {
					add(strings.TrimSpace(reason.Result.Reference()+" "+reason.Result.Place), words.Upper(orElse(c.Ask, c.Title)), "look, "+words.Title(c.Title, reason.Result.Place)+": "+c.Pass[0], 60)
				}
			}
		}
		takes := 600.0
		if op.Seconds > 0 {
			takes = op.Seconds
		}
		add(here.String(), words.Operation(sh.pack.Pack, here), words.Closes(sh.pack.Pack, here), takes)
	}
	for _, here := range sh.A.Next {
		operation(here)
	}
	// What only waits for something on the list, or for a look, may have followed it.
	for changed := true; changed && len(v.Lines) < mostCaught; {
		changed = false
		for i := range sh.A.Blocked {
			b := &sh.A.Blocked[i]
			if listed[b.Operation.String()] {
				continue
			}
			follows := !slices.ContainsFunc(b.Because, func(x assess.Reason) bool {
				switch x.Kind {
				case assess.NeedsOperation, assess.Unfinished:
					return !listed[x.Of]
				case assess.Hold:
					return x.Result.Kind != "check" || x.Result.Failed
				}
				return true
			})
			if follows {
				operation(b.Operation)
				changed = true
			}
		}
	}
	// Times are guessed backwards from now, each as long as the pack says it takes; none
	// before the last entry.
	at := v.Now
	earliest := sh.State.Last
	for i := len(v.Lines) - 1; i >= 0; i-- {
		if !earliest.IsZero() && at.Before(earliest) {
			at = earliest
		}
		v.Lines[i].Guess = at.In(v.Now.Location()).Format("2006-01-02T15:04")
		at = at.Add(-time.Duration(seconds[i] * float64(time.Second)))
	}
}

// caughtUp writes what was ticked, each at its own time and marked as entered later.
func (s *Server) caughtUp(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	key := r.PostForm.Get("key")
	if !soundKey(key) || len(key) > 56 {
		s.trouble(w, r, unusable("The form was not whole.", "Open the page again. Nothing was kept."))
		return
	}
	ticked := r.PostForm["yes"]
	bodies, refused := sh.manyBodies(ticked)
	if refused != nil {
		s.trouble(w, r, *refused)
		return
	}
	if refused := s.unseen(r, sh, bodies); refused != nil {
		s.trouble(w, r, *refused)
		return
	}
	stamps := make([]stamp, len(bodies))
	for i, reference := range ticked {
		at, late, refused := when(orElse(r.PostForm.Get("at "+reference), "0 min"), s.options.Now())
		if refused != nil {
			s.trouble(w, r, *refused)
			return
		}
		stamps[i] = stamp{at, late}
	}
	s.appendAt(w, r, sh, bodies, stamps, jobPath(sh.Job.ID, "catchup"))
}
