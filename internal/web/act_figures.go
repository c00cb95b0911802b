package web

import (
	"net/http"
	"slices"
	"strings"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/quantity"
	"buttonup/words"
)

func (s *Server) figureRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/figures", hurry(s.figures))
	m.HandleFunc("POST /job/{job}/figures", hurry(s.fill))
}

// blankLine is a figure that the pack leaves open, or one that is to be given otherwise.
type blankLine struct {
	Reference, Attribute string // dimension.guide_bore, new
	Title, Says          string
	Unit                 string
	Now                  string // what stands there
}

// unchecked is something of somebody else's pack that nobody here has held against the
// manual.
type unchecked struct{ Reference, Title string }

// checkedAgainst begins the note that confirms a figure.
const checkedAgainst = "Checked against "

// unchecked says whether the figures of a block are somebody else's and not confirmed.
func (s *sheet) unchecked(reference string, c *pack.Common) (unchecked, bool) {
	taken := s.takenAt(reference)
	if taken == 0 && (strings.HasPrefix(c.Span.File, "extra ") || s.pack.Name == ownEngine) {
		return unchecked{}, false
	}
	for _, n := range s.State.Notes {
		if n.Seq > taken && n.Of == reference && strings.HasPrefix(n.Text, checkedAgainst) {
			return unchecked{}, false
		}
	}
	return unchecked{reference, c.Title}, true
}

var attributeWords = map[string]string{
	"new": "new, from and to", "limit": "limit", "torque": "torque, from and to", "target": "torque aimed at", "stages": "stages, with commas", "engagement": "engagement",
	"text": "text", "value": "value", "thread": "thread", "step": "step", "uncertainty": "±",
}

// blankOf makes a line of what the pack lists as to be filled in.
func (s *sheet) blankOf(listed string, system quantity.System) (blankLine, bool) {
	reference, attribute, ok := strings.Cut(listed, " ")
	kind, name, known := strings.Cut(reference, ".")
	if !ok || !known {
		return blankLine{}, false
	}
	b := blankLine{Reference: reference, Attribute: attribute, Title: words.Named(s.pack.Pack, reference), Says: orElse(attributeWords[attribute], strings.ReplaceAll(attribute, "_", " "))}
	switch kind {
	case "dimension":
		if d := s.dimension(name); d != nil {
			u, _ := words.UnitIn(d.Unit, d.Decimals, system)
			b.Unit = u.Symbol
		}
	case "number":
		for _, n := range s.pack.Numbers {
			if n.Name == name {
				u, _ := words.UnitIn(n.Unit, 3, system)
				b.Unit = u.Symbol
			}
		}
	case "joint":
		if attribute == "torque" || attribute == "target" || attribute == "stages" {
			b.Unit = unitFirst(system)[0]
		}
	case "caution":
		for _, c := range s.pack.Cautions {
			if c.Name == name {
				b.Title = c.Title
			}
		}
	}
	return b, true
}

// blanks are those of what the operation holds and tightens.
func (d *doView) blanks() []blankLine {
	wanted := map[string]bool{}
	for _, h := range d.Op.Holds {
		wanted[h.String()] = true
	}
	for _, j := range d.Op.Tightens {
		wanted["joint."+strings.TrimPrefix(j, "joint.")] = true
	}
	var list []blankLine
	for _, listed := range d.Sheet.pack.ToBeFilledIn {
		reference, _, _ := strings.Cut(listed, " ")
		if !wanted[reference] {
			continue
		}
		if b, ok := d.Sheet.blankOf(listed, d.System); ok && b.Attribute != "value" {
			list = append(list, b)
		}
	}
	return list
}

type figuresView struct {
	view
	Blanks  []blankLine
	Joints  []*pack.Joint
	Reads   []*pack.Dimension
	Mistake *words.Sentence
	Added   []journal.ExtraRecord
	Of      string
	Form    func(string) string
}

func (s *Server) figuresView(r *http.Request, sh *sheet) *figuresView {
	v := &figuresView{view: s.view(r, "add", sh), Joints: sh.pack.Joints, Reads: sh.pack.Dimensions, Added: sh.State.Extras, Form: r.URL.Query().Get}
	v.Title, v.Also = "Limits and torques", []string{"act.css", "act.js"}
	for _, listed := range sh.pack.ToBeFilledIn {
		if b, ok := sh.blankOf(listed, v.System); ok && b.Attribute != "value" {
			v.Blanks = append(v.Blanks, b)
		}
	}
	return v
}

// figures is the sheet of figures to fill in, and of those to give otherwise.
func (s *Server) figures(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	s.show(w, r, http.StatusOK, figuresPage(s.figuresView(r, sh)))
}

// fill takes one figure with its source into the job.
func (s *Server) fill(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	g := grow(sh.pack.Pack)
	g.fill(sh, r.PostForm.Get)
	says := g.over(sh.pack.Pack)
	if says != nil {
		v := s.figuresView(r, sh)
		v.Mistake, v.Form = says, r.PostForm.Get
		s.show(w, r, http.StatusUnprocessableEntity, figuresPage(v))
		return
	}
	s.append(w, r, sh, g.bodies(), ownPath(r.PostForm.Get("back")))
}

var fillable = map[string][]string{
	"dimension": {"new", "limit"}, "number": {"new", "limit"}, "sweep": {"new", "limit"}, "joint": {"torque", "target", "stages", "engagement", "thread"}, "caution": {"text"}, "instrument": {"step", "uncertainty"},
}

// fill adds one figure to a block that is there.
func (g *growth) fill(sh *sheet, get func(string) string) {
	kind, name, _ := strings.Cut(get("of"), ".")
	attribute := get("attribute")
	if !slices.Contains(fillable[kind], attribute) || words.Named(sh.pack.Pack, get("of")) == get("of") && kind != "caution" && kind != "instrument" {
		g.say("This job has nothing of that name to fill in: open the page again.")
		return
	}
	text := syntax.Plain(get("value"))
	if text == "" {
		g.say("No figure was written. Write it as it is printed, or go on without it.")
		return
	}
	unit := get("unit")
	d := syntax.Draft{Kind: kind, Name: name}
	switch attribute {
	case "text", "thread":
		d.Text(attribute, text)
	case "stages":
		var list []string
		for _, one := range splitFigures(text) {
			list = append(list, withUnit(one, unit))
		}
		d.Set(attribute, syntax.QuoteList(list))
	default:
		d.Text(attribute, withUnit(text, unit))
	}
	before := map[string]string{}
	for _, c := range sh.commonOf(kind, name) {
		for figure, source := range c.Sources {
			before[figure] = source
		}
	}
	source := syntax.Plain(get("source"))
	if source != "" {
		before[attribute] = source
	}
	if len(before) > 0 && kind != "caution" {
		var list []string
		for figure, text := range before {
			list = append(list, figure+" = "+syntax.Quote(text))
		}
		slices.Sort(list)
		d.Set("sources", "{ "+strings.Join(list, ", ")+" }")
	}
	g.drafts = append(g.drafts, d)
	g.why = orElse(source, "filled in at the bench, no source given")
}

func (s *sheet) commonOf(kind, name string) []*pack.Common {
	var list []*pack.Common
	for _, d := range s.pack.Dimensions {
		if kind == "dimension" && d.Name == name {
			list = append(list, &d.Common)
		}
	}
	for _, n := range s.pack.Numbers {
		if kind == "number" && n.Name == name {
			list = append(list, &n.Common)
		}
	}
	for _, j := range s.pack.Joints {
		if kind == "joint" && j.Name == name {
			list = append(list, &j.Common)
		}
	}
	return list
}

// withUnit puts the unit behind figures that carry none: 92.000-92.013, <= 0.55, 43.
func withUnit(text, unit string) string {
	if unit == "" || strings.ContainsFunc(text, func(r rune) bool { return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r == 'µ' || r == '"' }) {
		return text
	}
	if a, b, ok := strings.Cut(text, " to "); ok {
		text = strings.TrimSpace(a) + " .. " + strings.TrimSpace(b)
	}
	return text + " " + unit
}
