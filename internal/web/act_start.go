package web

import (
	"net/http"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/words"
)

func (s *Server) startRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/start", hurry(s.firstStart))
	m.HandleFunc("GET /job/{job}/card/{operation}", hurry(s.card))
	m.HandleFunc("GET /job/{job}/card/{operation}/{place...}", hurry(s.card))
}

// stopConditions end a first run at once. Common practice, no published source.
var stopConditions = []string{"No oil pressure after 5 s", "New metallic noise", "Smoke from the breather", "Oil on the floor", "One barrel much hotter", "Fuel or fire"}

// longestRuns are how long the first runs last, in seconds, before the engine cools
// down. Common practice, no published source.
var longestRuns = []int{60, 180, 300}

type startView struct {
	view
	Run      int
	Longest  int
	Pressure int // seconds within which pressure must show
	Runs     []journal.NoteRecord
	Op       *assess.Operation
	Blocked  []string
	Cautions []caution
}

const aboutRuns = "first start"

// firstStart is the screen for the first runs: one word that is seen from across the
// shop, a stopwatch, and what to stop for.
func (s *Server) firstStart(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &startView{view: s.view(r, "start", sh), Pressure: 5}
	v.Title, v.Also = "First start", []string{"act.css", "act.js", "start.js"}
	for _, n := range sh.State.Notes {
		if n.Of == aboutRuns {
			v.Runs = append(v.Runs, n)
		}
	}
	v.Run = len(v.Runs) + 1
	v.Longest = longestRuns[min(v.Run, len(longestRuns))-1]
	for _, st := range sh.steps() {
		if strings.Contains(strings.ToLower(st.Title), "first start") || strings.Contains(st.Name, "first_start") || strings.Contains(st.Name, "first_run") {
			here := st.Operation
			v.Op = &here
			for _, says := range words.ReasonsIn(sh.pack.Pack, sh.because(here), v.System) {
				v.Blocked = append(v.Blocked, words.Upper(says))
			}
			d := &doView{view: v.view, Op: sh.operation(here.Name), Here: here}
			d.cautions()
			v.Cautions = d.Cautions
			break
		}
	}
	s.show(w, r, http.StatusOK, startPage(v))
}

// cardPath is where the paper card of an operation is.
func cardPath(s *sheet, op assess.Operation) string {
	if op.Place == "" {
		return jobPath(s.Job.ID, "card", op.Name)
	}
	return jobPath(s.Job.ID, "card", op.Name, op.Place)
}

type cardView struct {
	*doView
	Joints []*wrenchView
}

// card is a page to print: big torques and blanks to tick with a pen, for when the phone
// is filming.
func (s *Server) card(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	op, here := sh.operation(r.PathValue("operation")), assess.Operation{Name: r.PathValue("operation"), Place: r.PathValue("place")}
	if op == nil || !sh.isPlace(op.At, here.Place) {
		s.trouble(w, r, notFound("The pack of this job has no operation of that name at that place."))
		return
	}
	d := &doView{view: s.view(r, "job", sh), Op: op, Here: here}
	d.Title = words.Operation(sh.pack.Pack, here)
	d.Also = []string{"act.css", "card.css", "act.js"}
	d.fill()
	c := &cardView{doView: d}
	for i := range d.Joints {
		v := &wrenchView{view: d.view, J: d.Joints[i].Joint, State: threadState(d.Joints[i].Joint.Joint)}
		v.passes()
		v.At = 0
		v.choose("", false)
		v.press()
		c.Joints = append(c.Joints, v)
	}
	s.show(w, r, http.StatusOK, cardPage(c))
}

func secondsText(s int) string {
	if s < 60 {
		return strconv.Itoa(s) + " s"
	}
	if s%60 == 0 {
		return strconv.Itoa(s/60) + " min"
	}
	return strconv.Itoa(s/60) + " min " + strconv.Itoa(s%60) + " s"
}
