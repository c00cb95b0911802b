package web

import (
	"context"
	"net/http"
	"strings"

	"buttonup/internal/book"
	"buttonup/journal"
	"buttonup/words"
)

// recordRoutes are the pages that make the record of a job: the film and its chapters,
// what sheets teach, money, where it stands, tables that come in, and the signature.
func (s *Server) recordRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/film", hurry(s.film))
	m.HandleFunc("GET /job/{job}/money", hurry(s.money))
	m.HandleFunc("GET /job/{job}/stands", hurry(s.stands))
	m.HandleFunc("GET /job/{job}/readingstable", hurry(s.readingsTable))
	m.HandleFunc("POST /job/{job}/readingstable", hurry(s.readingsTable))
	m.HandleFunc("GET /job/{job}/at/{what}", hurry(s.at))
	m.HandleFunc("POST /job/{job}/close", hurry(s.closeJob))
}

const cameraOn, cameraOff = "camera on", "camera off"

// recordBody makes what the forms of these pages want to be written.
func recordBody(field func(string) string) ([]any, *trouble) {
	no := func(says, do string) ([]any, *trouble) {
		t := unusable(says, do+" Nothing was kept.")
		return nil, &t
	}
	amount := func() *trouble {
		if _, ok := book.Money(field("amount")); !ok {
			t := unusable("“"+field("amount")+"” is no amount.", "Write it like 1250.00, with a decimal point and thousands without a mark. Nothing was kept.")
			return &t
		}
		return nil
	}
	switch field("kind") {
	case "mark":
		if field("what") != cameraOn && field("what") != cameraOff {
			return no("That is no mark of a film.", "Open the page again.")
		}
		return []any{journal.Mark{What: field("what")}}, nil
	case "estimate":
		if field("what") == "" {
			return no("It is not said what was estimated.", "Go back and write it.")
		}
		if t := amount(); t != nil {
			return nil, t
		}
		return []any{journal.Estimate{What: field("what"), Amount: field("amount")}}, nil
	case "approval":
		if field("what") == "" || field("who") == "" {
			return no("An approval needs what was approved and by whom.", "Go back and write both.")
		}
		if field("amount") != "" {
			if t := amount(); t != nil {
				return nil, t
			}
		}
		return []any{journal.Approval{What: field("what"), Amount: field("amount"), Who: field("who")}}, nil
	case "link":
		address := field("address")
		if !strings.HasPrefix(address, "https://") && !strings.HasPrefix(address, "http://") {
			return no("“"+address+"” is no address of a film or page.", "Write it whole, from https:// on.")
		}
		return []any{journal.Link{Address: address, Of: field("of")}}, nil
	case "addition":
		if field("text") == "" {
			return no("The page is empty.", "Go back and write it.")
		}
		return []any{journal.Addition{Text: field("text")}}, nil
	}
	return nil, noSuch("kind of entry")
}

// filmView is the page beside the camera.
type filmView struct {
	view
	On    bool
	Since string
	Films [][]book.Chapter
	Texts []string
	Teach []taught
	Links []journal.LinkRecord
}

// taught is something that a sheet can be made of.
type taught struct{ Reference, Says string }

// film marks where the camera runs, and shows the chapters that follow from it.
func (s *Server) film(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &filmView{view: s.view(r, "film", sh), Links: sh.State.Links}
	v.Title, v.Also = "Film", []string{"act.css", "act.js"}
	for _, m := range sh.State.Marks {
		switch strings.ToLower(m.What) {
		case cameraOn:
			v.On, v.Since = true, words.Clock(m.At)
		case cameraOff:
			v.On = false
		}
	}
	v.Films = book.Chapters(sh.pack.Pack, sh.State)
	for _, f := range v.Films {
		var b strings.Builder
		for _, c := range f {
			b.WriteString(c.Clock() + " " + c.Title + "\n")
		}
		v.Texts = append(v.Texts, b.String())
	}
	seen := map[string]bool{}
	add := func(reference, says string) {
		if !seen[reference] {
			seen[reference] = true
			v.Teach = append(v.Teach, taught{reference, says})
		}
	}
	for _, op := range sh.A.Next {
		add("operation."+op.Name, words.Named(sh.pack.Pack, "operation."+op.Name))
	}
	for _, o := range sh.pack.Operations {
		add("operation."+o.Name, o.Title)
	}
	for _, j := range sh.pack.Joints {
		add("joint."+j.Name, j.Title)
	}
	for _, d := range sh.pack.Dimensions {
		add("dimension."+d.Name, d.Title)
	}
	s.show(w, r, http.StatusOK, filmPage(v))
}

// lesson is what the teaching sheets of a job are made of: its pack as it was written,
// and nothing of the job but its choices.
func (s *Server) lesson(ctx context.Context, id string, j *book.Job) (*book.Lesson, error) {
	texts, err := s.record.Texts(ctx, id)
	if err != nil {
		return nil, err
	}
	base, mistakes := LoadPinned(texts)
	if len(mistakes) > 0 {
		return nil, mistakes[0]
	}
	return book.Teach(base, j.State, j.Now, j.Paper), nil
}

// teaching makes one of the sheets that leave the shop.
func (s *Server) teaching(r *http.Request, j *book.Job, name string) ([]byte, string, error) {
	of := r.URL.Query().Get("of")
	l, err := s.lesson(r.Context(), j.ID, j)
	if err != nil {
		return nil, "", err
	}
	if name == "description.txt" {
		_, text, err := l.Description([]string{of})
		return []byte(text), "text/plain; charset=utf-8", err
	}
	draw := l.Handout
	if name == "card.pdf" {
		draw = l.Card
	}
	sheet, err := draw(of, r.URL.Query().Get("place"))
	if err != nil {
		return nil, "", err
	}
	b, err := sheet.File()
	return b, "application/pdf", err
}

// moneyView is estimate, approvals and what it came to.
type moneyView struct {
	view
	Account   *book.Account
	Estimates []journal.EstimateRecord
	Approvals []journal.ApprovalRecord
	Says      string
}

// money shows what was said and what it came to, and takes lines and approvals.
func (s *Server) money(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &moneyView{view: s.view(r, "money", sh), Estimates: sh.State.Estimates, Approvals: book.OwnersWord(sh.State.Approvals)}
	v.Title, v.Also = "Money", []string{"act.css", "act.js", "record.css"}
	v.Account = book.MakeAccount(&book.Job{Pack: sh.pack.Pack, State: sh.State}, "")
	v.Says = v.Account.Says()
	s.show(w, r, http.StatusOK, moneyPage(v))
}

// standsView is what the owner is told.
type standsView struct {
	view
	Says  string
	Photo string
	Of    string
}

// stands makes the two sentences and the newest photo ready to send.
func (s *Server) stands(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &standsView{view: s.view(r, "stands", sh)}
	v.Title, v.Also = "Where it stands", []string{"act.css", "shop.css", "record.css", "photo.js", "stands.js"}
	v.Says = (&book.Job{Pack: sh.pack.Pack, State: sh.State, Assessment: sh.A}).Stands()
	if n := len(sh.State.Photos); n > 0 {
		v.Photo, v.Of = sh.State.Photos[n-1].SHA256, words.Named(sh.pack.Pack, sh.State.Photos[n-1].Of)
	}
	s.show(w, r, http.StatusOK, standsPage(v))
}

// bagView is one bag or box with a label.
type bagView struct {
	view
	Says   string
	Of     string
	Notes  []journal.NoteRecord
	Photos []journal.PhotoRecord
	Key    string
}

// at is what a label opens: the very tray, part or bag.
func (s *Server) at(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	reference, place, _ := strings.Cut(r.PathValue("what"), " ")
	kind, name, _ := strings.Cut(reference, ".")
	switch kind {
	case "space":
		for _, x := range sh.A.Spaces {
			if x.Name == name && x.Place == place {
				http.Redirect(w, r, spacesPath(sh, name, place), http.StatusSeeOther)
				return
			}
		}
	case "slot":
		for _, x := range sh.pack.Slots {
			if x.Name == name && sh.isPlace(x.At, place) {
				http.Redirect(w, r, query(jobPath(sh.Job.ID, "parts", name), "place", place), http.StatusSeeOther)
				return
			}
		}
	case "bag":
		s.bag(w, r, sh, strings.TrimPrefix(r.PathValue("what"), "bag."))
		return
	}
	s.trouble(w, r, notFound("There is nothing in this job any more that this label belongs to."))
}

func (s *Server) bag(w http.ResponseWriter, r *http.Request, sh *sheet, says string) {
	v := &bagView{view: s.view(r, "bag", sh), Says: says, Of: "bag." + says, Key: s.record.NewID()}
	v.Title, v.Also = says, []string{"act.css", "act.js", "shop.css", "photo.js"}
	for _, n := range sh.State.Notes {
		if n.Of == v.Of {
			v.Notes = append(v.Notes, n)
		}
	}
	for _, p := range sh.State.Photos {
		if p.Of == v.Of {
			v.Photos = append(v.Photos, p)
		}
	}
	s.show(w, r, http.StatusOK, bagPage(v))
}

// closeJob signs a job that is finished.
func (s *Server) closeJob(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	record, ok := s.record.(interface {
		CloseJob(ctx context.Context, job, by string) (journal.Event, error)
	})
	switch {
	case !ok:
		s.trouble(w, r, unusable("This record cannot sign.", "Nothing was signed."))
		return
	case r.PostForm.Get("sure") == "":
		s.trouble(w, r, unusable("It was not said that the job is finished.", "Go back and tick it. Nothing was signed."))
		return
	}
	if _, err := record.CloseJob(r.Context(), sh.Job.ID, s.who(r)); err != nil {
		s.failed(w, r, err)
		return
	}
	http.Redirect(w, r, jobPath(sh.Job.ID, "paper"), http.StatusSeeOther)
}
