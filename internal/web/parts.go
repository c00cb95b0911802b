package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/quantity"
	"buttonup/words"
)

// partsRoutes are the pages of places, parts and orders.
func (s *Server) partsRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/parts", hurry(s.partsList))
	m.HandleFunc("GET /job/{job}/parts/{slot}", hurry(s.partPlace))
	m.HandleFunc("GET /job/{job}/order", hurry(s.order))
	m.HandleFunc("GET /job/{job}/order/{file}", hurry(s.orderFile))
	m.HandleFunc("GET /job/{job}/shelf", hurry(s.shelf))
	m.HandleFunc("GET /job/{job}/partstable", hurry(s.partsTable))
	m.HandleFunc("POST /job/{job}/partstable", hurry(s.partsTable))
}

// partsView is the list of places, or what a search found.
type partsView struct {
	view
	Query          string
	Hits           []partHit
	Wanting, There []placeRow
	Away           []parts.Away
	Shelf          []parts.Stock
}

// placeRow is a slot with all of its places.
type placeRow struct {
	Slot, Title, Says, Last string
	Sign, Ink               string
	Address                 string
}

// partHit is a part that a search found.
type partHit struct {
	*pack.Part
	By      string
	Numbers string
	Slots   []placeRow
	Newest  string
}

// mostHits is how many parts a search shows.
const mostHits = 30

func (s *Server) partsList(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	past, err := s.past(r.Context())
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &partsView{view: s.view(r, "parts", sh), Query: strings.TrimSpace(r.URL.Query().Get("q"))}
	v.Title, v.Also = "Parts", []string{"parts.css", "scan.js"}
	last := parts.LastTimes(past, sh.pack.Name, sh.Job.ID)
	v.fillPlaces(last)
	if v.Query != "" {
		v.search()
	}
	for _, a := range parts.SentOut(sh.State) {
		if a.Out() {
			v.Away = append(v.Away, a)
		}
	}
	s.show(w, r, http.StatusOK, partsPage(v))
}

// fillPlaces lists the slots that this engine has: those that want a part first.
func (v *partsView) fillPlaces(last map[string][]parts.Fitting) {
	sh := v.Sheet
	needs := map[string][]assess.Need{}
	for _, n := range sh.pack.model.Needs(sh.State, assess.Options{Now: v.Now}) {
		needs[n.Slot] = append(needs[n.Slot], n)
	}
	engine := sh.pack.model.Engine(sh.State)
	for _, slot := range sh.pack.Slots {
		row := placeRow{Slot: slot.Name, Title: orElse(slot.Title, slot.Name), Address: partPath(sh, slot.Name, "")}
		if list := last[slot.Name]; len(list) > 0 {
			row.Last = words.LastTime(&list[0])
		}
		chosen := chosenIn(engine, slot.Name)
		misfit := slices.ContainsFunc(sh.A.Misfits, func(m assess.Misfit) bool { return m.Slot == slot.Name })
		switch wants := needs[slot.Name]; {
		case misfit:
			row.Sign, row.Ink, row.Says = "block", "worn", "what is chosen does not fit"
			v.Wanting = append(v.Wanting, row)
		case len(wants) > 0:
			row.Sign, row.Ink, row.Says = "todo", "mute", words.WantsParts(wants, chosen)
			v.Wanting = append(v.Wanting, row)
		case len(chosen) > 0:
			row.Sign, row.Ink, row.Says = "done", "blue", words.ChosenParts(chosen)
			v.There = append(v.There, row)
		}
	}
}

func chosenIn(e *parts.Engine, slot string) []parts.Chosen {
	var out []parts.Chosen
	for _, x := range e.Chosen {
		if x.Slot == slot {
			out = append(out, x)
		}
	}
	return out
}

func (v *partsView) search() {
	c := v.Sheet.pack.model.Catalogue()
	for _, h := range c.Search(v.Query, mostHits) {
		hit := partHit{Part: h.Part, By: h.By, Numbers: words.PartNumbers(c.Numbers(h.Part.Name))}
		if newest := c.Newest(h.Part.Name); newest[0] != h.Part.Name {
			hit.Newest = strings.Join(newest, ", ")
		}
		for i, f := range h.Part.Fills {
			if i == 4 {
				hit.Slots = append(hit.Slots, placeRow{Title: words.Count(len(h.Part.Fills)-4, "place more", "places more")})
				break
			}
			hit.Slots = append(hit.Slots, placeRow{Title: c.Slot(f).Title, Address: partPath(v.Sheet, f, "")})
		}
		v.Hits = append(v.Hits, hit)
	}
}

// partPath is where a place of a part is.
func partPath(s *sheet, slot, place string) string {
	return query(jobPath(s.Job.ID, "parts", slot), "place", place)
}

// placeView is one slot at one place: last time, what is there, what fits and what
// does not, and what can be recorded.
type placeView struct {
	view
	Slot   *pack.Slot
	Place  string
	Places []string
	Name   string
	Last   []parts.Fitting
	Chosen *parts.Chosen
	Need   *assess.Need
	Told   []journal.PartRecord
	Fits   []offeredPart
	Asks   []offeredPart
	Not    []offeredPart
	Away   []parts.Away
	Misfit []string
	// OffSize says which sizes of the piece that came lie outside its tolerance.
	OffSize []string
	// Sizes are what is measured of a part that comes in, with what the pack says of
	// the part in hand.
	Sizes []sizeField
	Back  string
	On    []parts.Stock
	// Choices are the numbers that hang on which part is chosen.
	Choices []sizeChoice
}

// sizeField is a size to be measured on arrival.
type sizeField struct{ Name, Says, Stated, Unit string }

// offeredPart is a part with what is said of it for this place.
type offeredPart struct {
	*pack.Part
	Numbers  string
	Offers   []string
	Because  []string
	Do       string
	Nearest  string
	Look     string
	Replaces string
}

func (s *Server) partPlace(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	c := sh.pack.model.Catalogue()
	slot := c.Slot(r.PathValue("slot"))
	if slot == nil {
		s.trouble(w, r, notFound("The pack of this job has no place for a part of that name."))
		return
	}
	past, err := s.past(r.Context())
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &placeView{view: s.view(r, "parts", sh), Slot: slot, Places: c.Places(slot.Name), Name: orElse(slot.Title, slot.Name)}
	v.Place = r.URL.Query().Get("place")
	needs := sh.pack.model.Needs(sh.State, assess.Options{Now: v.Now})
	if !slices.Contains(v.Places, v.Place) {
		v.Place = v.Places[0]
		if i := slices.IndexFunc(needs, func(n assess.Need) bool { return n.Slot == slot.Name }); i >= 0 {
			v.Place = needs[i].Place
		}
	}
	v.Title, v.Also = words.Title(v.Name, v.Place), []string{"parts.css", "act.css", "act.js", "scan.js"}
	v.Back = partPath(sh, slot.Name, v.Place)
	v.Last = parts.LastTime(past, sh.pack.Name, slot.Name, sh.Job.ID)
	if len(v.Last) > 6 {
		v.Last = v.Last[:6]
	}
	for _, n := range needs {
		if n.Slot == slot.Name && n.Place == v.Place {
			v.Need = &n
		}
	}
	v.fill(c, past)
	v.whichSize()
	s.show(w, r, http.StatusOK, placePage(v))
}

func (v *placeView) fill(c *parts.Catalogue, past []parts.Past) {
	sh := v.Sheet
	engine := sh.pack.model.Engine(sh.State)
	for i := range engine.Chosen {
		if x := &engine.Chosen[i]; x.Slot == v.Slot.Name && x.Place == v.Place {
			v.Chosen = x
		}
	}
	for _, m := range sh.A.Misfits {
		if m.Slot == v.Slot.Name && m.Place == v.Place {
			v.Misfit = words.PartReasons(m.Because, v.System)
			if m.Nearest != "" {
				v.Misfit = append(v.Misfit, "the nearest that fits is "+m.Nearest)
			}
		}
	}
	for i := range sh.A.Findings {
		f := &sh.A.Findings[i]
		if f.Code == assess.CodePartSize && f.Of == "slot."+v.Slot.Name && f.Place == v.Place && f.Accepted == nil {
			v.OffSize = append(v.OffSize, words.SizesOff(f.Sizes, v.System)...)
		}
	}
	for i := range sh.State.Parts {
		rec := &sh.State.Parts[i]
		if v.isAbout(rec, c) {
			v.Told = append(v.Told, *rec)
		}
	}
	slices.Reverse(v.Told)
	for _, a := range parts.SentOut(sh.State) {
		if a.Out() && (a.Slot == v.Slot.Name || a.Slot == "") && (a.Place == v.Place || a.Place == "") {
			v.Away = append(v.Away, a)
		}
	}
	for _, x := range c.Filling(v.Slot.Name) {
		verdict := c.Judge(engine, v.Slot.Name, v.Place, x.Name)
		said := words.FitVerdict(&verdict, v.Name, v.System)
		o := offeredPart{Part: x, Numbers: words.PartNumbers(c.Numbers(x.Name)), Because: said.Because, Do: said.Do, Nearest: verdict.Nearest}
		if x.Look != "" {
			o.Look = words.LooksLike(x)
		}
		if newest := c.Newest(x.Name); newest[0] != x.Name {
			o.Replaces = "superseded by " + strings.Join(newest, ", ")
		}
		for _, offer := range c.Offers(x.Name) {
			o.Offers = append(o.Offers, words.Offer(offer, supplierCurrency(sh.pack.Pack, offer.Supplier)))
		}
		switch verdict.Answer {
		case parts.Fits, parts.FitsWith:
			v.Fits = append(v.Fits, o)
		case parts.Ask:
			v.Asks = append(v.Asks, o)
		default:
			v.Not = append(v.Not, o)
		}
	}
	for _, stock := range parts.Shelf(past) {
		if x := c.Part(stock.Part); x != nil && slices.Contains(x.Fills, v.Slot.Name) {
			v.On = append(v.On, stock)
		}
	}
	v.fillSizes(c)
}

// isAbout reports whether an event is about this slot at this place.
func (v *placeView) isAbout(rec *journal.PartRecord, c *parts.Catalogue) bool {
	if rec.Place != "" && rec.Place != v.Place {
		return false
	}
	if slot := strings.TrimPrefix(rec.Slot, "slot."); slot != "" {
		return slot == v.Slot.Name
	}
	x := c.Part(rec.PartBody.Part)
	return x != nil && slices.Contains(x.Fills, v.Slot.Name)
}

// fillSizes lists what is measured of a part on arrival.
func (v *placeView) fillSizes(c *parts.Catalogue) {
	var names []string
	for name := range v.Slot.Sizes {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		u := v.System.Unit(v.Slot.Sizes[name])
		f := sizeField{Name: name, Says: words.Upper(strings.ReplaceAll(name, "_", " ")), Unit: u.Symbol}
		if v.Chosen != nil {
			if x := c.Part(v.Chosen.Part); x != nil {
				if q, ok := x.Sizes[name]; ok {
					f.Stated = words.FigureText(q.SI, q.Dimension, v.System)
				}
			}
		}
		v.Sizes = append(v.Sizes, f)
	}
}

func supplierCurrency(p *pack.Pack, supplier string) string {
	for _, s := range p.Suppliers {
		if s.Name == supplier {
			return s.Currency
		}
	}
	return ""
}

// partBody reads what a form says of a part.
func (s *sheet) partBody(field func(string) string) ([]any, *trouble) {
	c := s.pack.model.Catalogue()
	b := journal.Part{Slot: strings.TrimPrefix(field("slot"), "slot."), Place: field("place"), State: field("state"), Lot: field("lot"), Price: field("price"),
		To: field("to"), From: field("from"), Due: field("due"), Asked: field("asked"), Why: field("why")}
	refuse := func(says, do string) ([]any, *trouble) {
		t := unusable(says, do)
		return nil, &t
	}
	slot := c.Slot(b.Slot)
	if slot == nil || !slices.Contains(c.Places(slot.Name), b.Place) && b.Place != "" {
		return nil, noSuch("place for a part")
	}
	b.Part = c.Called(field("part"))
	if b.Part == "" && b.State != journal.Back && b.State != journal.Sent && b.State != journal.Removed {
		return refuse("It is not said which part.", "Choose one, or write any of its numbers. Nothing was kept.")
	}
	if (b.State == journal.Rejected || b.State == journal.Removed) && b.Why == "" {
		return refuse("Why is missing.", "Say why in a few words: next time somebody wants to know. Nothing was kept.")
	}
	if b.Price != "" {
		if _, err := parts.ParseMoney(b.Price, ""); err != nil {
			return refuse(words.Upper(err.Error())+".", "Nothing was kept.")
		}
	}
	if n := field("count"); n != "" {
		k, err := strconv.Atoi(n)
		if err != nil || k < 1 {
			return refuse("“"+n+"” is no number of pieces.", "Write a whole number from 1. Nothing was kept.")
		}
		b.Count = k
	}
	for name, dimension := range slot.Sizes {
		text := field("sizes." + name)
		if text == "" {
			continue
		}
		if _, err := strconv.ParseFloat(text, 64); err == nil {
			text += " " + field("unit."+name)
		}
		q, err := quantity.Parse(text)
		if err != nil || q.Dimension != dimension {
			return refuse("“"+text+"” is no "+dimension.String()+".", "Write what was measured with its unit, like 1.14 mm. Nothing was kept.")
		}
		if b.Sizes == nil {
			b.Sizes = map[string]string{}
		}
		b.Sizes[name] = text
	}
	return []any{b}, nil
}

// shelfView is what lies on the shelf over all jobs, and which engines have a lot.
type shelfView struct {
	view
	Stock []parts.Stock
	Lot   string
	With  []parts.Fitting
	Title map[string]string
}

func (s *Server) shelf(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	past, err := s.past(r.Context())
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &shelfView{view: s.view(r, "shelf", sh), Stock: parts.Shelf(past), Lot: strings.TrimSpace(r.URL.Query().Get("lot")), Title: map[string]string{}}
	v.view.Title, v.Also = "The shelf", []string{"parts.css", "scan.js"}
	if v.Lot != "" {
		v.With = parts.WithLot(past, "", v.Lot)
	}
	for i := range past {
		if c := past[i].Catalogue; c != nil {
			for _, x := range c.Pack().Parts {
				v.Title[x.Name] = x.Title
			}
		}
	}
	s.show(w, r, http.StatusOK, shelfPage(v))
}

// tableView reads a table of parts into a job: first what is understood, then, when a
// person says so, the event.
type tableView struct {
	view
	Text  string
	Table *parts.Table
	Wrong string
	Extra journal.Extra
}

// largestTable keeps a table to what one event of a job may hold.
const largestTable = 48 << 10

func (s *Server) partsTable(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &tableView{view: s.view(r, "parts", sh)}
	v.Title, v.Also = "A table of parts", []string{"parts.css"}
	status := http.StatusOK
	if r.Method == http.MethodPost {
		v.Text = r.PostForm.Get("table")
		v.Table, err = parts.ReadTable([]byte(v.Text), sh.pack.Pack)
		switch {
		case len(v.Text) > largestTable:
			v.Table, v.Wrong, status = nil, "The table is too long for one entry: send it in pieces.", http.StatusUnprocessableEntity
		case err != nil:
			v.Wrong, status = words.Upper(err.Error())+".", http.StatusUnprocessableEntity
		case r.PostForm.Get("keep") != "":
			if v.Table.Refused() > 0 && r.PostForm.Get("keep") != "good" || len(v.Table.Text) == 0 {
				v.Wrong, status = "Nothing was kept: rows were refused.", http.StatusUnprocessableEntity
				break
			}
			s.append(w, r, sh, []any{journal.Extra{Text: string(v.Table.Text), Why: "parts table: " + words.Count(len(v.Table.Rows)-v.Table.Refused(), "row", "rows")}}, jobPath(sh.Job.ID, "parts"))
			return
		}
	}
	s.show(w, r, status, tablePage(v))
}

// exportName is the address of a seller's order.
func exportName(v *orderView, seller, ending string) string {
	q := v.Query
	if q != "" {
		q = "?" + q
	}
	return jobPath(v.Sheet.Job.ID, "order", seller+ending) + q
}
