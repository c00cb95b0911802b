package web

import (
	"net/http"
	"strings"
)

// pageOfJob is a page of a job that a builder goes to. A feature adds its line to
// jobPages and its routes to features; the navigation and the page that lists them all
// follow.
type pageOfJob struct {
	// Key is what a page says of itself in view.At.
	Key string
	// Path comes after the address of the job; empty is the job itself.
	Path string
	// Sign is the name of a glyph; Says the label, one or two words; For is the line
	// that tells what it is good for.
	Sign, Says, For string
	// Foot keeps it in the bar at the foot of a phone, which has room for four and
	// the rest; the left column of a wide screen shows all.
	Foot bool
	// Near offers it on the page of the job itself.
	Near bool
}

// address returns where the page is for one job.
func (p pageOfJob) address(job string) string {
	switch {
	case p.Path == "":
		return jobPath(job)
	case strings.HasPrefix(p.Path, "/"):
		return p.Path // one for all jobs
	case strings.HasPrefix(p.Path, "#"):
		return jobPath(job) + p.Path
	}
	return jobPath(job, p.Path)
}

// jobPages are in the order in which they are offered. One line each.
var jobPages = []pageOfJob{
	{Key: "job", Path: "", Sign: "next", Says: "Job", For: "what stops it, what can be done now", Foot: true},
	{Key: "readings", Path: "readings", Sign: "mic", Says: "Readings", For: "every dimension, and how far it is read", Foot: true},
	{Key: "spaces", Path: "spaces", Sign: "spaces", Says: "Spaces", For: "open or closed, by what, and what is not proven inside", Foot: true},
	{Key: "numbers", Path: "numbers", Sign: "chart", Says: "Numbers", For: "what the readings come to, with ±"},
	{Key: "route", Path: "route", Sign: "route", Says: "Order of work", For: "all that is left, in an order that closes nothing over something unfinished", Near: true},
	{Key: "tearback", Path: "tearback", Sign: "tear", Says: "Tear-back", For: "what must come off to reach something, and what that costs", Near: true},
	{Key: "parts", Path: "parts", Sign: "parts", Says: "Parts", For: "every place: last time, what fits and why not, what is ordered and here", Near: true},
	{Key: "order", Path: "order", Sign: "parts", Says: "Order list", For: "what to buy and where: cheapest, soonest, fewest orders"},
	{Key: "shelf", Path: "shelf", Sign: "parts", Says: "The shelf", For: "what lies there from all jobs, and which engines have a lot"},
	{Key: "photos", Path: "photos", Sign: "plus", Says: "Photos", For: "what it looked like, and of what"},
	{Key: "whatif", Path: "whatif", Sign: "chart", Says: "What if", For: "suppose a size, a part or a choice, and see what moves", Near: true},
	{Key: "instruments", Path: "instruments", Sign: "wrench", Says: "Tools", For: "gauges and wrenches under the names you give them"},
	{Key: "paper", Path: "paper", Sign: "pen", Says: "Paper", For: "build book, labels, stage card, tables to take away", Near: true},
	{Key: "film", Path: "film", Sign: "chart", Says: "Film", For: "camera on, chapters, handouts and text to give away"},
	{Key: "money", Path: "money", Sign: "pen", Says: "Money", For: "estimate, approvals, what it came to"},
	{Key: "stands", Path: "stands", Sign: "next", Says: "Where it stands", For: "a photo and two sentences for the owner"},
	{Key: "readingstable", Path: "readingstable", Sign: "mic", Says: "A table of readings", For: "readings from a spreadsheet, CSV or XLSX"},
	{Key: "find", Path: "/find", Sign: "right", Says: "Find", For: "any figure, part or lot of any job", Near: true},
	{Key: "add", Path: "add", Sign: "plus", Says: "Add", For: "a step, a reading, a limit: only for this job"},
	{Key: "catchup", Path: "catchup", Sign: "pen", Says: "Catch up", For: "what was done this afternoon, entered in the evening"},
	{Key: "start", Path: "start", Sign: "wait", Says: "First start", For: "one word, a stopwatch, what to stop for"},
	{Key: "options", Path: "options", Sign: "spaces", Says: "Which engine", For: "what was seen on the parts, on which the rest hangs"},
	{Key: "entries", Path: "entries", Sign: "more", Says: "Entries", For: "all that was entered, to strike or put back; time and cost"},
	{Key: "revision", Path: "revision", Sign: "book", Says: "Another revision", For: "what a newer pack says otherwise, taken over figure by figure"},
	{Key: "keep", Path: "keep", Sign: "book", Says: "My way", For: "what this job did, as a pack for the next of its kind"},
}

// features register their routes. One line each.
var features = []func(*Server, *http.ServeMux){
	(*Server).shopRoutes,
	(*Server).jobPageRoutes,
	(*Server).partsRoutes,
	(*Server).actRoutes,
	(*Server).whatIfRoutes,
	(*Server).toolRoutes,
	(*Server).doorRoutes,
	(*Server).paperRoutes,
	(*Server).recordRoutes,
	(*Server).figureRoutes,
	(*Server).flatsRoutes,
	(*Server).catchRoutes,
	(*Server).startRoutes,
	(*Server).keepRoutes,
	(*Server).diaryRoutes,
	(*Server).settingRoutes,
	(*Server).orderRoutes,
	(*Server).signRoutes,
	(*Server).revisionRoutes,
}

func (s *Server) jobPageRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/more", hurry(s.more))
}

// more lists all pages of a job.
func (s *Server) more(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := s.view(r, "more", sh)
	v.Title = "All of this job"
	s.show(w, r, http.StatusOK, morePage(v))
}
