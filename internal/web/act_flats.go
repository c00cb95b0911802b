package web

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

func (s *Server) flatsRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/flats/{of}", hurry(s.flats))
	m.HandleFunc("GET /job/{job}/flats/{of}/{place...}", hurry(s.flats))
}

// isFlats says whether a dimension is set by turning an adjuster flat by flat.
func isFlats(d *pack.Dimension) bool { return d != nil && d.Unit.Symbol == "flats" }

func flatsPath(s *sheet, r *assess.Result) string {
	if r.Place == "" {
		return jobPath(s.Job.ID, "flats", r.Name)
	}
	return jobPath(s.Job.ID, "flats", r.Name, r.Place)
}

// flatsView is the page of an adjuster: a tap a flat.
type flatsView struct {
	view
	D       *pack.Dimension
	Place   string
	Turned  int // flats turned so far, -1 before the first
	Wanted  string
	Target  int
	Derived []*assess.Result
	Tap     journal.Reading
	Zero    journal.Reading
}

// flats shows how far an adjuster is turned, and what that comes to for this rod and
// this lifter. Each tap is a reading of where it stands now, so that a call at flat nine
// loses nothing.
func (s *Server) flats(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	d, place := sh.dimension(r.PathValue("of")), r.PathValue("place")
	if !isFlats(d) || !sh.isPlace(d.At, place) || d.Plan.Cells()*d.Plan.Times() != 1 {
		s.trouble(w, r, notFound("Nothing of that name is turned flat by flat at that place."))
		return
	}
	v := &flatsView{view: s.view(r, "job", sh), D: d, Place: place, Turned: -1}
	v.Title = words.Title(d.Title, place)
	v.Also = []string{"act.css", "act.js"}
	for _, k := range sh.readings(d.Name, place) {
		if k.Struck {
			continue
		}
		if q, err := quantity.Parse(k.Value); err == nil {
			v.Turned = int(math.Round(d.Unit.In(q.SI)))
		}
		break
	}
	if x := sh.result("number", d.Name+"_wanted", place); x != nil && x.HasValue {
		v.Target = int(math.Round(x.Unit.In(x.Value)))
		v.Wanted = words.Shown(words.ResultIn(x, v.System))
	} else if x := sh.result("number", d.Name+"_wanted", ""); x != nil && x.HasValue {
		v.Target = int(math.Round(x.Unit.In(x.Value)))
		v.Wanted = words.Shown(words.ResultIn(x, v.System))
	}
	for _, reference := range sh.pack.UsedIn(d.Name, place) {
		name, where, _ := strings.Cut(reference, " ")
		kind, name, _ := strings.Cut(name, ".")
		if x := sh.result(kind, name, where); x != nil {
			v.Derived = append(v.Derived, words.ResultIn(x, v.System))
		}
	}
	v.Zero = journal.Reading{Of: d.Name, Place: place, Value: "0 flats"}
	v.Tap = journal.Reading{Of: d.Name, Place: place, Value: strconv.Itoa(max(v.Turned, 0)+1) + " flats"}
	s.show(w, r, http.StatusOK, flatsPage(v))
}

// flatsBody is one tap.
func (s *sheet) flatsBody(field func(string) string) ([]any, *trouble) {
	d := s.dimension(field("of"))
	if !isFlats(d) || !s.isPlace(d.At, field("place")) {
		return nil, noSuch("adjuster")
	}
	q, err := quantity.Parse(field("value"))
	if err != nil || q.Unit.Symbol != "flats" || q.SI < 0 {
		return nil, noSuch("number of flats")
	}
	return []any{journal.Reading{Of: d.Name, Place: field("place"), Value: field("value")}}, nil
}
