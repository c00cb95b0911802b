package web

import (
	"errors"
	"net/http"

	"buttonup/internal/store"
	"buttonup/words"
)

// trouble is what a page says when something could not be done.
type trouble struct {
	Status int
	Title  string
	words.Sentence
}

func notFound(says string) trouble {
	return trouble{http.StatusNotFound, "Not here", words.Sentence{Says: says, Do: "Go back to the bench and choose from there."}}
}

func forbidden(says, do string) trouble {
	return trouble{http.StatusForbidden, "Refused", words.Sentence{Says: says, Do: do}}
}

func tooLarge() trouble {
	return trouble{http.StatusRequestEntityTooLarge, "Too much at once", words.Sentence{Says: "What was sent is larger than a page of Buttonup sends.", Do: "Enter it in smaller pieces. Nothing was kept."}}
}

func busy() trouble {
	return trouble{http.StatusServiceUnavailable, "Too many pages are open", words.Sentence{Says: "More pages listen for changes than this program serves.", Do: "Close some of them and open this one again."}}
}

func unusable(says, do string) trouble {
	return trouble{http.StatusBadRequest, "Not kept", words.Sentence{Says: says, Do: do}}
}

// troubleOf puts a failure of the record into words.
func troubleOf(err error) trouble {
	t := trouble{Status: http.StatusInternalServerError, Title: "Not done", Sentence: words.Sentence{Says: words.Upper(err.Error()) + "."}}
	var e *store.Error
	if errors.As(err, &e) {
		t.Says, t.Do = words.Upper(e.Says)+".", words.Upper(e.Do)
		if t.Do != "" {
			t.Do += "."
		}
	}
	var p *errPack
	switch {
	case errors.Is(err, store.ErrNotFound):
		t = notFound("There is no such job.")
	case errors.Is(err, store.ErrFull):
		t.Status, t.Title = http.StatusInsufficientStorage, "The disk is full"
	case errors.Is(err, store.ErrReadOnly):
		t.Status, t.Title = http.StatusInsufficientStorage, "The folder cannot be written to"
	case errors.Is(err, store.ErrBusy), errors.Is(err, store.ErrClosed):
		t.Status, t.Title = http.StatusServiceUnavailable, "Not now"
	case errors.Is(err, store.ErrTooLarge), errors.Is(err, store.ErrArgument):
		t.Status, t.Title = http.StatusBadRequest, "Not kept"
	case errors.As(err, &p):
		t.Title = "The pack has mistakes"
		t.Because = nil
		for i, m := range p.mistakes {
			if i == 5 {
				break
			}
			t.Because = append(t.Because, m.Span.String()+": "+m.Says)
		}
	}
	return t
}

// failed answers with what went wrong in the record.
func (s *Server) failed(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return
	}
	s.trouble(w, r, troubleOf(err))
}

// trouble answers with a page that a builder understands.
func (s *Server) trouble(w http.ResponseWriter, r *http.Request, t trouble) {
	s.show(w, r, t.Status, troublePage(s.view(r, "", nil), t))
}
