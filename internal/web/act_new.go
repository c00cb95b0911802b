package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/packs"
	"buttonup/quantity"
	"buttonup/words"
)

// doorRoutes are the ways in: a new job from nothing, and what is added to one later.
func (s *Server) doorRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /new", hurry(s.doors))
	m.HandleFunc("GET /new/{door}", hurry(s.door))
	m.HandleFunc("POST /new/{door}", hurry(s.enter))
	m.HandleFunc("GET /job/{job}/add", hurry(s.adding))
	m.HandleFunc("GET /job/{job}/add/{door}", hurry(s.door))
	m.HandleFunc("POST /job/{job}/add/{door}", hurry(s.enter))
}

// ownEngine is the ID of that pack.
const ownEngine = "own-engine"

// ownPack is the pack of an engine that no pack knows: empty, until the job fills it.
func ownPack(system quantity.System) []byte {
	d := syntax.Draft{Kind: "pack", Name: ownEngine}
	d.Text("title", "An engine without a pack")
	d.Text("revision", "1")
	d.Text("source", "what this job writes down")
	d.Set("language", "1")
	if system == quantity.Inch {
		d.Set("units", `"inch"`)
	} else {
		d.Set("units", `"mm"`)
	}
	d.Text("caution", "The engine maker's manual, local codes and licensed practice decide.")
	return []byte(d.String())
}

// doorView is a form by which something comes into a job, or a job into the shop.
type doorView struct {
	view
	Door    string // "part", "join" or "pack"
	Action  string
	New     bool
	Form    func(string) string // what was typed before
	Mistake *words.Sentence
	Packs   []packChoice
	Spaces  []*pack.Space
	Names   []string
}

type packChoice struct{ ID, Title string }

// doors shows the two doors.
func (s *Server) doors(w http.ResponseWriter, r *http.Request) {
	v := s.view(r, "bench", nil)
	v.Title, v.Also = "New job", []string{"act.css"}
	s.show(w, r, http.StatusOK, doorsPage(v))
}

// adding shows what may be added to a job.
func (s *Server) adding(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := s.view(r, "add", sh)
	v.Title, v.Also = "Add to this job", []string{"act.css"}
	s.show(w, r, http.StatusOK, addingPage(v))
}

func (s *Server) doorView(r *http.Request, sh *sheet) (*doorView, bool) {
	d := &doorView{view: s.view(r, "bench", sh), Door: r.PathValue("door"), New: sh == nil, Form: r.URL.Query().Get}
	if r.Method == http.MethodPost {
		d.Form = r.PostForm.Get
	}
	d.Also = []string{"act.css", "act.js", "pattern.js"}
	d.Action = "/new/" + d.Door
	if sh != nil {
		d.At, d.Action, d.Spaces = "add", jobPath(sh.Job.ID, "add", d.Door), sh.pack.Spaces
	}
	switch d.Door {
	case "part":
		d.Title = "Judge a part"
	case "join":
		d.Title = "Put something together"
	case "pack":
		if sh != nil {
			return nil, false
		}
		d.Title = "An engine whose pack is here"
		if jobs, err := s.record.Jobs(r.Context()); err == nil {
			for _, j := range jobs {
				if like, err := s.desks.sheet(r.Context(), j.ID); err == nil && len(like.State.Extras) > 0 {
					d.Packs = append(d.Packs, packChoice{"job:" + j.ID, "as in job " + j.ID + ": " + like.title()})
				}
			}
		}
		for _, id := range packs.IDs() {
			if files, ok := packs.Find(id); ok {
				if title := titleIn(files); title != "" {
					d.Packs = append(d.Packs, packChoice{id, title})
				}
			}
		}
	default:
		return nil, false
	}
	return d, true
}

// titleIn is the title of a carried pack that stands for an engine of its own.
func titleIn(files []packs.File) string {
	for _, f := range files {
		text := string(f.Text)
		at := strings.Index(text, "\npack \"")
		if at < 0 && !strings.HasPrefix(text, "pack \"") {
			continue
		}
		_, rest, ok := strings.Cut(text[max(at, 0):], "title")
		if !ok {
			continue
		}
		_, rest, _ = strings.Cut(rest, `"`)
		title, _, _ := strings.Cut(rest, `"`)
		return title
	}
	return ""
}

// door shows a form.
func (s *Server) door(w http.ResponseWriter, r *http.Request) {
	var sh *sheet
	if id := r.PathValue("job"); id != "" {
		var err error
		if sh, err = s.desks.sheet(r.Context(), id); err != nil {
			s.failed(w, r, err)
			return
		}
	}
	d, ok := s.doorView(r, sh)
	if !ok {
		s.trouble(w, r, notFound("There is no such form."))
		return
	}
	s.show(w, r, http.StatusOK, doorPage(d))
}

// enter takes a form: it starts a job where there is none, and writes what the form adds.
func (s *Server) enter(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("job")
	key := r.PostForm.Get("key")
	if !soundKey(key) || len(key) > 56 {
		s.trouble(w, r, unusable("The form was not whole.", "Open the page again. Nothing was kept."))
		return
	}
	var sh *sheet
	var err error
	if id != "" {
		if sh, err = s.desks.sheet(r.Context(), id); err != nil {
			s.failed(w, r, err)
			return
		}
	}
	d, ok := s.doorView(r, sh)
	if !ok {
		s.trouble(w, r, notFound("There is no such form."))
		return
	}
	refuse := func(says *words.Sentence) {
		d.Mistake = says
		s.show(w, r, http.StatusUnprocessableEntity, doorPage(d))
	}
	texts, title, says := s.pinned(d, sh)
	if says != nil {
		refuse(says)
		return
	}
	base, g := (*pack.Pack)(nil), (*growth)(nil)
	if sh != nil {
		base = sh.pack.Pack
		if i, again := sh.ids[key]; again {
			// The form came twice: what it added stands already.
			g = grow(base)
			s.goOn(w, r, sh, goesOf(sh, i))
			return
		}
	} else {
		var mistakes pack.Mistakes
		if base, mistakes = LoadPinned(texts); len(mistakes) > 0 {
			refuse(&words.Sentence{Says: "This pack has mistakes, so no job was started.", Because: []string{mistakes[0].Says}})
			return
		}
	}
	g = grow(base)
	switch d.Door {
	case "part":
		g.addReading(r.PostForm.Get, d.System)
	case "join":
		g.addStep(r.PostForm.Get, d.System)
	}
	if says := g.over(base); says != nil {
		refuse(says)
		return
	}
	bodies := g.bodies()
	if sh == nil {
		if sh, err = s.startJob(r, key, title, texts); err != nil {
			s.failed(w, r, err)
			return
		}
		bodies = append([]any{journal.Job{Title: title, Pack: base.Name, EngineNumber: syntax.Plain(r.PostForm.Get("engine_number")), Owner: syntax.Plain(r.PostForm.Get("owner")), Assembled: r.PostForm.Get("assembled") != ""}}, bodies...)
		if _, again := sh.ids[key]; again {
			s.goOn(w, r, sh, g.Goes)
			return
		}
	}
	s.append(w, r, sh, bodies, goPath(sh, g.Goes))
}

// pinned is the text that a new job starts on, and its title.
func (s *Server) pinned(d *doorView, sh *sheet) (store.Texts, string, *words.Sentence) {
	if sh != nil {
		return store.Texts{}, "", nil
	}
	title := syntax.Plain(d.Form("engine"))
	if title == "" && d.Door == "part" {
		title = syntax.Plain(d.Form("title"))
	}
	if title == "" {
		return store.Texts{}, "", &words.Sentence{Says: "The job has no name.", Do: "Write what engine it is, as you would say it to a customer."}
	}
	if r := []rune(title); len(r) > 200 {
		title = string(r[:200])
	}
	if d.Door != "pack" {
		return store.Texts{Pack: []store.NamedText{{Name: "own-engine.pack", Text: ownPack(d.System)}}}, title, nil
	}
	if id, ok := strings.CutPrefix(d.Form("pack"), "job:"); ok {
		like, err := s.desks.sheet(context.Background(), id)
		if err != nil {
			return store.Texts{}, "", &words.Sentence{Says: "There is no such job to do it like.", Do: "Choose another from the list."}
		}
		return likeJob(like), title, nil
	}
	files, ok := packs.Find(d.Form("pack"))
	if !ok {
		return store.Texts{}, "", &words.Sentence{Says: "No pack was chosen.", Do: "Choose one from the list."}
	}
	var texts store.Texts
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	return texts, title, nil
}

// startJob starts a job, or finds the one that the same form started before.
func (s *Server) startJob(r *http.Request, key, title string, texts store.Texts) (*sheet, error) {
	s.delivery.Lock()
	defer s.delivery.Unlock()
	jobs, err := s.record.Jobs(r.Context())
	if err != nil {
		return nil, err
	}
	taken := map[string]bool{}
	for _, j := range jobs {
		taken[j.ID] = true
		if j.Title != title || j.Events == 0 {
			continue
		}
		if sh, err := s.desks.sheet(r.Context(), j.ID); err == nil {
			if _, there := sh.ids[key]; there {
				return sh, nil
			}
		}
	}
	for n := 1; ; n++ {
		id := fmt.Sprintf("%04d", n)
		if taken[id] {
			continue
		}
		j, err := s.record.CreateJob(r.Context(), store.NewJob{ID: id, Title: title, Texts: texts})
		if errors.Is(err, store.ErrExists) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return s.desks.sheet(r.Context(), j.ID)
	}
}

// goPath is where a person goes on with what was added.
func goPath(sh *sheet, reference string) string {
	kind, name, _ := strings.Cut(reference, ".")
	switch kind {
	case "dimension":
		return jobPath(sh.Job.ID, "read", name)
	case "operation":
		return doPath(sh, assess.Operation{Name: name})
	case "joint":
		return wrenchPath(sh, name, "")
	}
	return jobPath(sh.Job.ID)
}

// goesOf finds what an extra added that was written before.
func goesOf(sh *sheet, event int) string {
	x, ok := sh.event[event].Body.(journal.Extra)
	if !ok {
		return ""
	}
	for _, kind := range []string{"operation", "dimension"} {
		for _, line := range strings.Split(x.Text, "\n") {
			if rest, ok := strings.CutPrefix(line, kind+` "`); ok {
				name, _, _ := strings.Cut(rest, `"`)
				return kind + "." + name
			}
		}
	}
	return ""
}

func (s *Server) goOn(w http.ResponseWriter, r *http.Request, sh *sheet, reference string) {
	http.Redirect(w, r, goPath(sh, reference), http.StatusSeeOther)
}

// numbered is the name of one row of several in a form.
func numbered(name string, i int) string { return name + strconv.Itoa(i) }

// lengthUnits are what a part may be read in, those of the shop first.
func readingUnits(s quantity.System) []string {
	if s == quantity.Inch {
		return []string{"in", "thou", "mm", "deg", "cc", "g", "oz", "psi", "lbf", "s"}
	}
	return []string{"mm", "in", "µm", "deg", "cc", "g", "bar", "N", "s"}
}
