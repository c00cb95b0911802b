package web

import (
	"net/http"
	"strings"

	"buttonup/internal/store"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/words"
)

func (s *Server) keepRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/keep", hurry(s.keepWay))
	m.HandleFunc("GET /job/{job}/own.pack", hurry(s.ownWay))
}

type keepView struct {
	view
	ID, Heading string
	Extras      int
}

// keepWay offers what a job did as a pack for every engine of its kind.
func (s *Server) keepWay(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &keepView{view: s.view(r, "keep", sh), Extras: len(sh.State.Extras)}
	v.Title, v.Also = "Keep it as my way", []string{"act.css"}
	v.ID, v.Heading = ownName(sh), sh.engine()
	s.show(w, r, http.StatusOK, keepPage(v))
}

// ownName proposes an ID for the pack of a job.
func ownName(sh *sheet) string {
	name := grow(nil).name(sh.engine(), "engine")
	return strings.ReplaceAll(name, "_", "-")
}

// ownWay sends the pack of a job as a file, without anything of the owner's.
func (s *Server) ownWay(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	id := strings.Trim(syntax.QuoteName(r.URL.Query().Get("id")), `"`)
	if id == "" {
		id = ownName(sh)
	}
	text := sh.pack.Write(pack.Heading{ID: id, Title: r.URL.Query().Get("title"), Revision: orElse(r.URL.Query().Get("revision"), "1"), Source: r.URL.Query().Get("source")})
	if _, mistakes := pack.Load([]pack.File{{Name: "own.pack", Text: text}}, nil); len(mistakes) > 0 {
		s.trouble(w, r, unusable("As a pack for every engine of its kind this does not stand: "+mistakes[0].Says+".", words.Upper(mistakes[0].Do)))
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	file := strings.ReplaceAll(grow(nil).name(id, "own"), "_", "-") + ".pack"
	h.Set("Content-Disposition", `attachment; filename="`+file+`"`)
	w.Write(text)
}

// likeJob is the pack of a job that is there, for a new one that is done the same way.
func likeJob(sh *sheet) store.Texts {
	text := sh.pack.Write(pack.Heading{ID: ownName(sh), Title: sh.engine()})
	return store.Texts{Pack: []store.NamedText{{Name: ownName(sh) + ".pack", Text: text}}}
}
