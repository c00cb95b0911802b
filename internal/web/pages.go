package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/words"
)

// benchJob is one engine on the bench.
type benchJob struct {
	Job     store.Job
	Sheet   *sheet
	Trouble *trouble // of a job that cannot be shown
	Next    string
	Way     string
	Worst   assess.Severity
	More    int
	Held    string // what Next is held by
}

type benchView struct {
	view
	Going, Waiting []benchJob
}

// bench shows all jobs, each with one line on where it stands.
func (s *Server) bench(w http.ResponseWriter, r *http.Request) {
	jobs, err := s.record.Jobs(r.Context())
	if err != nil {
		s.failed(w, r, err)
		return
	}
	b := &benchView{view: s.view(r, "bench", nil)}
	b.Title, b.Seq = "Bench", allEvents(jobs)
	if len(jobs) == 0 {
		b.Also = []string{"act.css"}
	}
	for _, j := range jobs {
		x := benchJob{Job: j}
		sh, err := s.desks.sheet(r.Context(), j.ID)
		if err != nil {
			t := troubleOf(err)
			x.Trouble = &t
			b.Going = append(b.Going, x)
			continue
		}
		x.Sheet = sh
		x.Way, x.Worst, x.More = words.InTheWay(sh.A, b.view.System)
		if len(sh.A.Next) > 0 {
			x.Next = words.Operation(sh.pack.Pack, sh.A.Advised()[0])
		}
		waits := false
		if x.Next == "" {
			x.Next, x.Held = words.Held(sh.A, b.view.System)
		}
		if x.Next == "" && len(sh.A.Waits) > 0 {
			wait := &sh.A.Waits[0]
			x.Next = words.WaitIn(sh.pack.Pack, wait, b.Now)
			waits = wait.Due.IsZero() || b.Now.Before(wait.Due)
		}
		if waits {
			b.Waiting = append(b.Waiting, x)
		} else {
			b.Going = append(b.Going, x)
		}
	}
	s.show(w, r, http.StatusOK, benchPage(b))
}

type jobView struct {
	view
	Stops, Attention []*assess.Finding
	ToRead           []*assess.Result
	Unread           int
}

// job shows what one job needs.
func (s *Server) job(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	j := &jobView{view: s.view(r, "job", sh), Stops: sh.findings(assess.Stop), Attention: sh.findings(assess.Attention)}
	j.Title, j.Also = sh.title(), []string{"work.css"}
	j.ToRead = toRead(sh)
	j.Unread = len(j.ToRead)
	s.show(w, r, http.StatusOK, jobPage(j))
}

// toRead lists the dimensions that are not read in full: sets that were begun and
// what must be read again, then what the next operations hold for, then the rest.
func toRead(sh *sheet) []*assess.Result {
	held := map[string]bool{}
	for _, op := range sh.A.Next {
		o := sh.operation(op.Name)
		if o == nil {
			continue
		}
		for _, h := range o.Holds {
			held[h.String()] = true
		}
	}
	rank := func(r *assess.Result) int {
		switch {
		case r.Stale != nil || r.Readings > 0:
			return 0
		case held[r.Reference()]:
			return 1
		}
		return 2
	}
	var list []*assess.Result
	for i := range sh.A.Results {
		r := &sh.A.Results[i]
		if r.Kind == "dimension" && (r.Verdict == measure.NotMeasured || len(r.Missing) > 0 || r.Stale != nil) {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b *assess.Result) int { return rank(a) - rank(b) })
	return list
}

// filters are the states by which numbers are chosen.
var filters = []struct{ Key, Says string }{
	{"judged", "Judged"}, {"out", "Out"}, {"close", "Too close"}, {"svc", "Serviceable"}, {"new", "New fit"}, {"open", "Not read"}, {"all", "All"},
}

func inFilter(key string, r *assess.Result) bool {
	switch key {
	case "out":
		return r.Verdict == measure.OutOfLimits || r.Failed
	case "close":
		return r.Verdict == measure.TooClose
	case "svc":
		return r.Verdict == measure.Serviceable
	case "new":
		return r.Verdict == measure.NewFit || r.Passed
	case "open":
		return r.Verdict == measure.NotMeasured || r.Kind == "check" && !r.Passed && !r.Failed
	case "all":
		return true
	}
	return r.Verdict >= measure.NewFit || r.Passed || r.Failed
}

type numbersView struct {
	view
	Filter  string
	Counts  map[string]int
	Results []*assess.Result
	// From and To are the part of the list that is shown, Of how long it is.
	From, To, Of int
	Read         int
	Figures      []figure
}

// numbers lists all results, the worst first.
func (s *Server) numbers(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	n := &numbersView{view: s.view(r, "numbers", sh), Filter: "judged", Counts: map[string]int{}, Read: len(sh.State.Readings)}
	n.Title = "Numbers"
	for _, f := range filters {
		if f.Key == r.URL.Query().Get("show") {
			n.Filter = f.Key
		}
	}
	for i := range sh.A.Results {
		x := &sh.A.Results[i]
		for _, f := range filters {
			if inFilter(f.Key, x) {
				n.Counts[f.Key]++
			}
		}
		if inFilter(n.Filter, x) {
			n.Results = append(n.Results, words.ResultIn(x, n.System))
		}
	}
	order := map[measure.Verdict]int{measure.OutOfLimits: 0, measure.TooClose: 1, measure.Serviceable: 2, measure.NewFit: 3}
	rank := func(x *assess.Result) int {
		switch {
		case x.Failed:
			return 0
		case x.Passed:
			return 4
		}
		if k, ok := order[x.Verdict]; ok {
			return k
		}
		return 5
	}
	slices.SortStableFunc(n.Results, func(a, b *assess.Result) int { return rank(a) - rank(b) })
	n.part(r.URL.Query().Get("from"))
	if n.From == 0 {
		n.Figures = n.figures(sh.pack.model)
		n.Also = append(n.Also, "figures.css")
	}
	s.show(w, r, http.StatusOK, numbersPage(n))
}

// numbersAtOnce keeps a page light enough for a phone far from the shop's Wi-Fi.
const numbersAtOnce = 120

// part leaves the results from a place in the list on that one page holds.
func (n *numbersView) part(from string) {
	n.Of = len(n.Results)
	if k, err := strconv.Atoi(from); err == nil && k > 0 && k < n.Of {
		n.From = k - k%numbersAtOnce
	}
	n.To = min(n.From+numbersAtOnce, n.Of)
	n.Results = n.Results[n.From:n.To]
}

// address is that of the same list from another place on.
func (n *numbersView) address(from int) string {
	parameters := []string{"show", n.Filter}
	if from > 0 {
		parameters = append(parameters, "from", strconv.Itoa(from))
	}
	return query(jobPath(n.Sheet.Job.ID, "numbers"), parameters...)
}

type historyView struct {
	view
	E    *entryView
	List []kept
	Keys string
}

// history shows all that was ever read of a dimension at a place, struck readings
// too.
func (s *Server) history(w http.ResponseWriter, r *http.Request) {
	sh, d, place, ok := s.subject(w, r)
	if !ok {
		return
	}
	e, ok := s.entryView(r, sh, d, place, 0, "")
	if !ok {
		s.trouble(w, r, notFound(d.Title+" is left out of this job by the options that were chosen."))
		return
	}
	h := &historyView{view: s.view(r, "readings", sh), E: e, List: e.Kept, Keys: s.record.NewID()}
	h.Title = "Kept: " + words.Title(d.Title, place)
	s.show(w, r, http.StatusOK, historyPage(h))
}

// strike takes a reading back, or puts a struck one in force again. Nothing is
// removed: both stay readable.
func (s *Server) strike(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	event, why, key := r.PostForm.Get("event"), strings.TrimSpace(r.PostForm.Get("why")), r.PostForm.Get("key")
	i, there := sh.ids[event]
	switch {
	case !there:
		s.trouble(w, r, unusable("There is no such entry in this job.", "Go back and choose it from the list. Nothing was struck."))
		return
	case why == "":
		s.trouble(w, r, unusable("A strike needs its reason.", "Go back and write why: it stands beside the struck entry for good. Nothing was struck."))
		return
	case !soundKey(key):
		s.trouble(w, r, unusable("The form was not whole.", "Open the page again. Nothing was struck."))
		return
	}
	switch sh.event[i].Body.(type) {
	case journal.Reading, journal.Strike:
	default:
		s.trouble(w, r, unusable("Only readings are struck on this page.", "Nothing was struck."))
		return
	}
	back := ownPath(r.PostForm.Get("back"))
	strike := journal.Strike{Event: event, Why: why}
	if i, again := sh.ids[key]; again {
		if old, ok := sh.event[i].Body.(journal.Strike); !ok || old != strike {
			s.trouble(w, r, unusable("This form was used before, for another entry.", "Open the page again. Nothing was struck."))
			return
		}
		http.Redirect(w, r, back, http.StatusSeeOther)
		return
	}
	line, err := journal.New(key, s.options.Now(), s.who(r), strike).Encode()
	if err != nil {
		s.trouble(w, r, unusable(words.Upper(err.Error())+".", "Nothing was struck."))
		return
	}
	done, err := s.record.Append(r.Context(), sh.Job.ID, line)
	switch {
	case err != nil:
		s.failed(w, r, err)
	case done[0].Outcome != store.Kept && done[0].Outcome != store.Already:
		s.trouble(w, r, unusable("The strike was not kept.", "Open the page again."))
	default:
		http.Redirect(w, r, back, http.StatusSeeOther)
	}
}
