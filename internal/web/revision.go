package web

import (
	"net/http"
	"slices"
	"strings"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/packs"
	"buttonup/words"
)

func (s *Server) revisionRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/revision", hurry(s.revision))
	m.HandleFunc("POST /job/{job}/revision", hurry(s.takeRevision))
}

// fromRevision begins the reason of pack text that was taken from another revision.
const fromRevision = "revision "

// carried is the source of a revision that came with the program.
const carried = "carried"

// revisionView is what another revision of a job's pack says otherwise.
type revisionView struct {
	view
	// Sources are where other revisions are: the program, and other jobs.
	Sources []revisionSource
	From    string
	Next    *pack.Pack
	// Figures are changes of what is measured or set, Added what is new as a whole, Rest
	// the others.
	Figures, Added, Rest []revisionChange
	// Taken were taken into this job and are not checked by anybody.
	Taken []unchecked
}

type revisionSource struct {
	Key, Says string
	pack      *pack.Pack
}

// revisionChange is one change as it is shown.
type revisionChange struct {
	pack.Change
	Key, Title, Says, Was, Now string
	// Takes is set where the change can be taken into the job.
	Takes bool
}

// figureWords are the attributes that are figures.
var figureWords = map[string]string{
	"new": "new", "limit": "limit", "torque": "torque", "target": "torque aimed at", "stages": "stages", "step": "steps", "engagement": "engagement", "thread": "thread", "grade": "grade",
	"friction": "friction", "value": "formula", "metal": "metal", "judge": "which reading is judged", "wait": "wait", "within": "longest time", "holds": "what it holds", "needs": "what it needs",
	"closes": "what it closes", "points": "pattern", "order": "order of the pattern", "text": "caution", "pass": "answers that pass", "critical": "critical",
}

func (s *Server) revisionView(r *http.Request, sh *sheet) *revisionView {
	v := &revisionView{view: s.view(r, "revision", sh), From: r.FormValue("from")}
	v.Title, v.Also = "Another revision", []string{"act.css", "act.js"}
	add := func(key, says string, p *pack.Pack) {
		if p == nil || p.Name != sh.pack.Name || p.SHA256 == sh.pinned() || slices.ContainsFunc(v.Sources, func(x revisionSource) bool { return x.pack.SHA256 == p.SHA256 }) {
			return
		}
		v.Sources = append(v.Sources, revisionSource{key, says + ", revision " + orElse(p.Revision, "not said"), p})
	}
	add(carried, "with the program", carriedPack(sh.pack.Name))
	if jobs, err := s.record.Jobs(r.Context()); err == nil {
		for _, j := range jobs {
			if j.ID == sh.Job.ID {
				continue
			}
			if p, err := s.desks.load(r.Context(), j); err == nil {
				add(j.ID, "on job "+j.ID, p)
			}
		}
	}
	for i := range v.Sources {
		if v.Next == nil && (v.From == "" || v.Sources[i].Key == v.From) {
			v.From, v.Next = v.Sources[i].Key, v.Sources[i].pack
		}
	}
	if v.Next != nil {
		for _, c := range sh.pack.Changes(v.Next) {
			if c.Now == "" && sh.isOwn(c.Reference()) {
				continue // the job's own, which no revision can have
			}
			x := v.change(c)
			switch _, is := figureWords[c.Attribute]; {
			case c.Attribute == "":
				v.Added = append(v.Added, x)
			case is:
				v.Figures = append(v.Figures, x)
			default:
				v.Rest = append(v.Rest, x)
			}
		}
	}
	for _, x := range sh.State.Extras {
		if !strings.HasPrefix(x.Why, fromRevision) {
			continue
		}
		for _, reference := range blocksOf(x.Text) {
			if u, ok := sh.unchecked(reference, &pack.Common{Title: words.Named(sh.pack.Pack, reference)}); ok && !slices.Contains(v.Taken, u) {
				v.Taken = append(v.Taken, u)
			}
		}
	}
	return v
}

// pinned is the hash of the pack text that the job was started on.
func (s *sheet) pinned() string { return s.pack.SHA256 }

// carriedPack is the pack of an ID that came with the program, nil for none.
func carriedPack(id string) *pack.Pack {
	read := func(id string) ([]pack.File, bool) {
		files, ok := packs.Find(id)
		list := make([]pack.File, len(files))
		for i, f := range files {
			list[i] = pack.File{Name: f.Name, Text: f.Text}
		}
		return list, ok
	}
	files, ok := read(id)
	if !ok {
		return nil
	}
	p, mistakes := pack.Load(files, read)
	if len(mistakes) > 0 {
		return nil
	}
	return p
}

func (v *revisionView) change(c pack.Change) revisionChange {
	x := revisionChange{Change: c, Key: c.Reference() + " " + c.Attribute, Title: words.Named(v.Sheet.pack.Pack, c.Reference()), Was: withoutQuotes(c.Was), Now: withoutQuotes(c.Now)}
	if x.Title == c.Reference() {
		x.Title = words.Named(v.Next, c.Reference())
	}
	x.Says = orElse(figureWords[c.Attribute], strings.ReplaceAll(c.Attribute, "_", " "))
	switch {
	case c.Attribute == "" && c.Now == "":
		x.Says, x.Was = "is gone", ""
	case c.Attribute == "":
		x.Says, x.Now = "is new", ""
		x.Takes = true
	default:
		x.Takes = c.Now != "" && !c.Nested
	}
	return x
}

// withoutQuotes writes an expression of the pack language without its quotes.
func withoutQuotes(text string) string {
	if inside, ok := strings.CutPrefix(text, `"`); ok && strings.Count(text, `"`) == 2 {
		return strings.TrimSuffix(inside, `"`)
	}
	return text
}

// blocksOf names the blocks of a piece of pack text.
func blocksOf(text string) []string {
	var list []string
	for _, line := range strings.Split(text, "\n") {
		kind, rest, ok := strings.Cut(line, " \"")
		name, _, closed := strings.Cut(rest, `"`)
		if ok && closed && !strings.HasPrefix(line, " ") && strings.HasSuffix(strings.TrimSpace(line), "{") {
			list = append(list, kind+"."+name)
		}
	}
	return list
}

// revision shows what changed.
func (s *Server) revision(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	s.show(w, r, http.StatusOK, revisionPage(s.revisionView(r, sh)))
}

// takeRevision takes what was ticked into the job, as pack text of the job that is not
// checked by anybody here. The pack that the job was started on stays as it is.
func (s *Server) takeRevision(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := s.revisionView(r, sh)
	ticked := r.PostForm["take"]
	if v.Next == nil || len(ticked) == 0 {
		s.trouble(w, r, unusable("Nothing was ticked.", "Tick what this job is to take over, and send it again."))
		return
	}
	g := grow(sh.pack.Pack)
	for _, x := range slices.Concat(v.Figures, v.Added, v.Rest) {
		if !x.Takes || !slices.Contains(ticked, x.Key) {
			continue
		}
		g.adopt(x.Change, v.Next)
	}
	if len(g.drafts) == 0 {
		s.trouble(w, r, *noSuch("change"))
		return
	}
	g.why = fromRevision + orElse(v.Next.Revision, "not said") + " of " + v.Next.Name
	if says := g.over(sh.pack.Pack); says != nil {
		s.trouble(w, r, trouble{http.StatusUnprocessableEntity, "Not taken", *says})
		return
	}
	s.append(w, r, sh, g.bodies(), jobPath(sh.Job.ID, "revision"))
}

// adopt adds one change to what a job adds; several of one block become one.
func (g *growth) adopt(c pack.Change, next *pack.Pack) {
	if c.Attribute == "" {
		if d, ok := next.Draft(c.Kind, c.Name); ok {
			g.drafts = append(g.drafts, d)
		}
		return
	}
	i := slices.IndexFunc(g.drafts, func(d syntax.Draft) bool { return d.Kind == c.Kind && d.Name == c.Name })
	if i < 0 {
		i = len(g.drafts)
		g.drafts = append(g.drafts, syntax.Draft{Kind: c.Kind, Name: c.Name})
	}
	g.drafts[i].Set(c.Attribute, c.Now)
}

// isOwn says whether pack text that this job added itself touches a block.
func (s *sheet) isOwn(reference string) bool {
	return slices.ContainsFunc(s.State.Extras, func(x journal.ExtraRecord) bool {
		return !strings.HasPrefix(x.Why, fromRevision) && slices.Contains(blocksOf(x.Text), reference)
	})
}

// takenAt is the newest piece of pack text from another revision that touches a block, 0
// for none: what was confirmed before it does not count for it.
func (s *sheet) takenAt(reference string) int {
	seq := 0
	for _, x := range s.State.Extras {
		if strings.HasPrefix(x.Why, fromRevision) && slices.Contains(blocksOf(x.Text), reference) {
			seq = x.Seq
		}
	}
	return seq
}
