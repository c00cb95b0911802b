package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/quantity"
	"buttonup/words"
)

// whatIfView is the page on which a value is supposed without being written down.
type whatIfView struct {
	view
	// Of and Value are what was asked; Choices what may be supposed.
	Of, Value string
	Choices   []supposable
	// Trouble says why it cannot be supposed, and Do what to do.
	Trouble, Do string
	Changes     []whatIfChange
	New, Gone   []string
	Asked       bool
}

// supposable is something that a value may be supposed for.
type supposable struct{ Of, Says string }

// whatIfChange is one result before and after.
type whatIfChange struct {
	Title, Says, Through string
	Before, After        *assess.Result
}

func (s *Server) whatIfRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/whatif", hurry(s.whatIf))
}

// whatIf shows what a supposed value moves. Nothing is written down, so it is a page to
// get and not a form to send.
func (s *Server) whatIf(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &whatIfView{view: s.view(r, "whatif", sh), Of: strings.TrimSpace(r.URL.Query().Get("of")), Value: strings.TrimSpace(r.URL.Query().Get("value"))}
	v.Title, v.Also = "What if", []string{"act.css", "figures.css"}
	v.Choices = v.supposables()
	if v.Of != "" && v.Value != "" {
		v.Asked = true
		v.suppose()
	}
	s.show(w, r, http.StatusOK, whatIfPage(v))
}

// supposables lists what may be supposed: sizes, numbers, parts, sizes of parts and
// options, by their titles.
func (v *whatIfView) supposables() []supposable {
	var list []supposable
	add := func(reference, place string) {
		of := reference
		if place != "" {
			of += " " + place
		}
		list = append(list, supposable{of, words.Named(v.Sheet.pack.Pack, of)})
	}
	for i := range v.Sheet.A.Results {
		if r := &v.Sheet.A.Results[i]; r.Kind != "check" {
			add(r.Reference(), r.Place)
		}
	}
	p := v.Sheet.pack.Pack
	for _, slot := range p.Slots {
		places := []string{""}
		if k := p.PlaceKinds[slot.At]; slot.At != "" && k != nil {
			places = k.Members
		}
		var sizes []string
		for _, part := range p.Parts {
			if !slices.Contains(part.Fills, slot.Name) {
				continue
			}
			for size := range part.Sizes {
				if !slices.Contains(sizes, size) {
					sizes = append(sizes, size)
				}
			}
		}
		slices.Sort(sizes)
		for _, place := range places {
			add("slot."+slot.Name, place)
			for _, size := range sizes {
				add("slot."+slot.Name+"."+size, place)
			}
		}
	}
	for _, o := range p.Options {
		list = append(list, supposable{"option." + o.Name, orElse(o.Title, o.Name)})
	}
	return list
}

// shown is what was asked for by its title, to be asked for again.
func (v *whatIfView) shown() string {
	for _, c := range v.Choices {
		if c.Of == v.Of {
			return c.Says
		}
	}
	return v.Of
}

// suppose assesses the job with the value.
func (v *whatIfView) suppose() {
	of := v.Of
	for _, c := range v.Choices {
		if strings.EqualFold(c.Says, v.Of) {
			of = c.Of
		}
	}
	reference, place, _ := strings.Cut(of, " ")
	kind, name, ok := strings.Cut(reference, ".")
	if !ok || !slices.ContainsFunc(v.Choices, func(c supposable) bool { return c.Of == of }) {
		v.Trouble, v.Do = "Nothing in this job is called “"+v.Of+"”.", "Choose one of the list."
		return
	}
	x := assess.Supposition{Name: name, Place: place, Choice: v.Value}
	if slot, size, hasSize := strings.Cut(name, "."); kind == "slot" && hasSize {
		x.Name, x.Size = slot, size
	}
	if kind != "option" && (kind != "slot" || x.Size != "") {
		q, err := quantity.Parse(v.Value)
		if err == nil && q.Dimension.IsNumber() {
			// A bare number is meant in the unit that the page shows.
			if unit := v.unitOf(kind, x); unit.Symbol != "" && unit.Symbol != "1" {
				q, err = quantity.Parse(v.Value + " " + unit.Symbol)
			}
		}
		if err != nil {
			var pe *quantity.ParseError
			if errors.As(err, &pe) {
				v.Trouble, v.Do = words.Upper(pe.Says)+".", words.Upper(pe.Do)+"."
			} else {
				v.Trouble = words.Upper(err.Error()) + "."
			}
			return
		}
		x.Value = q.Value
	}
	what := v.Sheet.pack.model.Suppose(v.Sheet.State, assess.Options{Now: v.Now, Suppose: []assess.Supposition{x}})
	p := v.Sheet.pack.Pack
	for i := range what.After.Findings {
		if f := &what.After.Findings[i]; f.Code == assess.CodeSupposedUnknown {
			v.Trouble, v.Do = words.Upper(f.Detail)+".", words.Upper(f.Do)
			return
		}
	}
	for i := range what.Changes {
		c := what.Changes[i]
		for k, t := range c.Through {
			c.Through[k] = words.Named(p, t)
		}
		c.Before, c.After = words.ResultIn(c.Before, v.System), words.ResultIn(c.After, v.System)
		one := c.After
		if one == nil {
			one = c.Before
		}
		v.Changes = append(v.Changes, whatIfChange{Title: words.Title(one.Title, one.Place), Says: words.Change(&c), Through: words.Through(&c), Before: c.Before, After: c.After})
	}
	say := func(list []assess.Finding) (out []string) {
		for i := range list {
			if f := &list[i]; !words.ToldBefore(f) {
				out = append(out, words.FindingIn(p, f, v.System).Says)
			}
		}
		return out
	}
	v.New, v.Gone = say(what.New), say(what.Gone)
}

// unitOf is the unit in which a page shows what is supposed.
func (v *whatIfView) unitOf(kind string, x assess.Supposition) quantity.Unit {
	if kind != "slot" {
		if r := v.Sheet.result(kind, x.Name, x.Place); r != nil {
			return words.ResultIn(r, v.System).Unit
		}
		return quantity.Unit{}
	}
	for _, part := range v.Sheet.pack.Parts {
		if q, ok := part.Sizes[x.Size]; ok && slices.Contains(part.Fills, x.Name) {
			return q.Unit
		}
	}
	return quantity.Unit{}
}
