package parts

import (
	"slices"

	"buttonup/formula"
	"buttonup/pack"
	"buttonup/quantity"
)

// Answer says whether a part fits a slot.
type Answer uint8

// The answers. Nothing is claimed by the zero value.
const (
	Ask      Answer = iota // something has to be looked at first
	Refused                // it does not fit, and the reasons say why
	Fits                   // it fits as things stand
	FitsWith               // it fits with companions that are still to be chosen
)

var answerWords = [...]string{"ask", "refused", "fits", "fits-with"}

// String returns the word for the answer.
func (a Answer) String() string { return answerWords[a] }

// The kinds of reasons.
const (
	ReasonSlot     = "slot"     // it fills other slots
	ReasonFits     = "fits"     // its condition of fit is not met
	ReasonFamily   = "family"   // it belongs to other families
	ReasonFeature  = "feature"  // the slot needs a feature that it does not have
	ReasonNeeds    = "needs"    // it needs a feature that nothing chosen has
	ReasonExcludes = "excludes" // it excludes a feature of a chosen part
	ReasonExcluded = "excluded" // a chosen part excludes a feature of it
	ReasonUnknown  = "unknown"  // the pack has no such part
)

// Reason says why a part does not fit, with the names it is about.
type Reason struct {
	Kind string
	// Names are those that the reason is about: slots it fills, options it asks for,
	// the feature and then the part in whose way it stands.
	Names []string
	// Titles are the titles of slots among them; Has are the features of the part
	// that should have another.
	Titles, Has []string
	// Where is the title of the slot in which the other part is.
	Where string
	// Lacks are the comparisons that keep a condition of fit from being met.
	Lacks []Lack
}

// Lack is one comparison of a condition of fit that is not met.
type Lack struct {
	// Name and Title are those of the option or slot that was asked for; Has is what
	// the job says of it and Wants what would do.
	Name, Title string
	Slot        bool
	Has         string
	Wants       []string
	// Look is what to look at, Assumed that nobody has.
	Look    string
	Assumed bool
	// Figures are the two sides of a comparison of figures, Operator how they had to
	// compare.
	Figures  [2]Figure
	Operator string
}

// Figure is one side of a comparison: what it is, and how much.
type Figure struct {
	Title, Size string
	Value       float64
	Known       bool
	Dimension   quantity.Dimension
}

// Question is what has to be looked at before a part can be judged.
type Question struct {
	Option, Title, Look string
	// Wants are the answers under which the part fits; Has is what the pack takes
	// for granted until somebody looks, "" for nothing.
	Wants []string
	Has   string
}

// Companion is a part that must come with another.
type Companion struct {
	Feature string
	// Parts have the feature; Slot is the title of the place of the first.
	Parts []string
	Slot  string
}

// Verdict says whether a part fits a slot at a place, and why not.
type Verdict struct {
	Slot, Place, Part string
	Answer            Answer
	Because           []Reason
	Questions         []Question
	Companions        []Companion
	// Nearest is the part most like it that would fit, "" where none does.
	Nearest string
	// Advice is what the stamped number says; it never decides.
	Advice *NumberAdvice
}

// Judge says whether a part fits a slot at a place of an engine.
//
// Refused wins over every question: what cannot fit needs no look. A condition that
// depends on a choice that nobody made is a question even where the pack has a
// default. A needed feature that no chosen part brings makes a companion where one
// can still be chosen, and a reason where it cannot: the place is taken, or no part
// of the pack has the feature.
func (c *Catalogue) Judge(e *Engine, slot, place, part string) Verdict {
	v := c.judge(e, slot, place, part)
	if v.Answer == Refused || v.Answer == Ask {
		v.Nearest = c.nearest(e, slot, place, part, v.Answer == Refused)
	}
	return v
}

func (c *Catalogue) judge(e *Engine, slot, place, part string) Verdict {
	v := Verdict{Slot: slot, Place: place, Part: part}
	p := c.parts[part]
	seen := e.seen()
	v.Because = c.reasons(seen, slot, place, part, p)
	if p == nil {
		v.Answer = Refused
		return v
	}
	kept := v.Because[:0]
	for _, r := range v.Because {
		if r.Kind == ReasonNeeds {
			if companion, ok := c.companion(e, r.Names[0], part); ok {
				v.Companions = append(v.Companions, companion)
				continue
			}
		}
		kept = append(kept, r)
	}
	v.Because = append(kept, c.excluded(e, p, slot, place)...)
	v.Questions = c.questions(e, seen, p, slot, place)
	v.Advice = adviceOf(p, e.Number)
	switch {
	case len(v.Because) > 0:
		v.Answer = Refused
	case len(v.Questions) > 0:
		v.Answer = Ask
	case len(v.Companions) > 0:
		v.Answer = FitsWith
	default:
		v.Answer = Fits
	}
	return v
}

// Misfit lists why the part chosen for a slot does not fit it. An option that nobody
// chose counts as its default, and a needed feature must be there: this is about what
// is in hand, where [Catalogue.Judge] is about what is wanted.
func (c *Catalogue) Misfit(e *Engine, slot, place, part string) []Reason {
	p := c.parts[part]
	if p == nil && len(c.parts) == 0 {
		return nil // a pack without parts judges none
	}
	return c.reasons(e, slot, place, part, p)
}

func (c *Catalogue) reasons(e *Engine, slot, place, part string, p *pack.Part) []Reason {
	if p == nil {
		return []Reason{{Kind: ReasonUnknown, Names: []string{part}}}
	}
	var list []Reason
	s := c.slots[slot]
	if !slices.Contains(p.Fills, slot) {
		r := Reason{Kind: ReasonSlot, Names: p.Fills}
		for _, f := range p.Fills {
			r.Titles = append(r.Titles, c.titleOfSlot(f))
		}
		r.Where = c.titleOfSlot(slot)
		list = append(list, r)
	}
	if lacks, no := c.unfit(e, p, s, place); no {
		r := Reason{Kind: ReasonFits, Lacks: lacks}
		for _, l := range lacks {
			if l.Name != "" {
				r.Names = append(r.Names, l.Name)
			}
		}
		list = append(list, r)
	}
	if len(p.Families) > 0 && !slices.Contains(p.Families, c.pack.Name) && !slices.Contains(p.Families, c.pack.Extends) {
		list = append(list, Reason{Kind: ReasonFamily, Names: p.Families, Has: []string{c.pack.Name}})
	}
	if s != nil {
		for _, n := range s.Needs {
			if !slices.Contains(p.Has, n) {
				list = append(list, Reason{Kind: ReasonFeature, Names: []string{n}, Has: p.Has, Where: slotTitle(s)})
			}
		}
	}
	for _, n := range p.Needs {
		// What a part has itself it need not be given.
		if !slices.Contains(p.Has, n) && len(c.bringers(e, n, "")) == 0 {
			list = append(list, c.needs(e, n))
		}
	}
	for _, n := range p.Excludes {
		told := map[string]bool{}
		for _, other := range c.bringers(e, n, part) {
			if !told[other.Part] {
				list = append(list, Reason{Kind: ReasonExcludes, Names: []string{n, other.Part}, Where: c.titleOfSlot(other.Slot)})
			}
			told[other.Part] = true
		}
	}
	return list
}

// needs names a feature that nothing chosen has, what is in the place where it would
// be, and a part that has it.
func (c *Catalogue) needs(e *Engine, feature string) Reason {
	r := Reason{Kind: ReasonNeeds, Names: []string{feature}}
	for _, x := range c.having[feature] {
		r.Has = append(r.Has, x.Name)
		for i := range e.Chosen {
			if y := &e.Chosen[i]; r.Where == "" && slices.Contains(x.Fills, y.Slot) {
				r.Names = append(r.Names, y.Part)
				r.Where = c.titleOfSlot(y.Slot)
			}
		}
	}
	return r
}

// excluded lists the chosen parts, other than what this one replaces, that exclude a
// feature of it.
func (c *Catalogue) excluded(e *Engine, p *pack.Part, slot, place string) []Reason {
	var list []Reason
	told := map[*pack.Part]bool{}
	for i := range e.Chosen {
		x := &e.Chosen[i]
		other := c.parts[x.Part]
		if other == nil || other == p || told[other] || x.Slot == slot && x.Place == place {
			continue
		}
		for _, n := range other.Excludes {
			if slices.Contains(p.Has, n) {
				told[other] = true
				list = append(list, Reason{Kind: ReasonExcluded, Names: []string{n, x.Part}, Where: c.titleOfSlot(x.Slot)})
			}
		}
	}
	return list
}

// unfit reports whether a condition of the part fails, and by what.
func (c *Catalogue) unfit(e *Engine, p *pack.Part, s *pack.Slot, place string) ([]Lack, bool) {
	conditions := conditionsOf(p, s)
	if len(conditions) == 0 {
		return nil, false
	}
	facts := c.Facts(e, at(s), place)
	var lacks []Lack
	no := false
	for _, condition := range conditions {
		answer, unmet := condition.Unmet(facts)
		if answer != formula.No {
			continue
		}
		no = true
		for i := range unmet {
			lacks = append(lacks, c.lack(e, &unmet[i]))
		}
	}
	return lacks, no
}

// conditionsOf lists what must hold for a part to be in a slot: its condition of fit,
// and that the engine has the part and the slot at all.
func conditionsOf(p *pack.Part, s *pack.Slot) []*formula.Expr {
	all := []*formula.Expr{p.Fits, p.When}
	if s != nil {
		all = append(all, s.When)
	}
	return slices.DeleteFunc(all, func(e *formula.Expr) bool { return e == nil })
}

func at(s *pack.Slot) string {
	if s == nil {
		return ""
	}
	return s.At
}

func (c *Catalogue) lack(e *Engine, u *formula.Unmet) Lack {
	if u.Thing == nil {
		return Lack{Figures: [2]Figure{c.figure(u.Left), c.figure(u.Right)}, Operator: u.Operator}
	}
	l := Lack{Name: u.Thing.Name, Title: u.Thing.Name, Has: u.Has, Wants: u.Wants, Slot: u.Thing.Kind == formula.Slot}
	switch {
	case l.Slot:
		l.Title = c.titleOfSlot(l.Name)
	case c.options[l.Name] != nil:
		o := c.options[l.Name]
		l.Look, l.Assumed = o.Ask, e.Assumed[l.Name]
		if o.Title != "" {
			l.Title = o.Title
		}
	}
	return l
}

func (c *Catalogue) figure(f formula.Figure) Figure {
	out := Figure{Size: f.Size, Value: f.Value, Known: f.Known, Dimension: f.Dimension}
	if f.Thing != nil {
		out.Title = c.titleOfSlot(f.Thing.Name)
	}
	return out
}

// questions lists the options that a part's conditions ask for and nobody looked at,
// with the answers under which the part fits.
func (c *Catalogue) questions(e, seen *Engine, p *pack.Part, slot, place string) []Question {
	conditions := conditionsOf(p, c.slots[slot])
	if len(conditions) == 0 {
		return nil
	}
	facts := c.Facts(seen, at(c.slots[slot]), place)
	var list []Question
	for _, condition := range conditions {
		answer, unmet := condition.Unmet(facts)
		if answer != formula.Maybe {
			continue
		}
		for i := range unmet {
			l := c.lack(e, &unmet[i])
			if l.Name == "" || l.Slot || !unmet[i].Open() {
				continue
			}
			list = append(list, Question{Option: l.Name, Title: l.Title, Look: l.Look, Wants: l.Wants, Has: e.Choices[l.Name]})
		}
	}
	return list
}

// companion finds parts that can still bring a feature: they fit, and what fills
// their slots is not chosen yet.
func (c *Catalogue) companion(e *Engine, feature, but string) (Companion, bool) {
	out := Companion{Feature: feature}
	for _, x := range c.having[feature] {
		if x.Name == but || c.taken(e, x) {
			continue
		}
		if _, no := c.unfit(e, x, c.slots[first(x.Fills)], ""); no {
			continue
		}
		if out.Slot == "" {
			out.Slot = c.titleOfSlot(first(x.Fills))
		}
		out.Parts = append(out.Parts, x.Name)
	}
	return out, len(out.Parts) > 0
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

// taken reports whether every slot of a part holds another part already.
func (c *Catalogue) taken(e *Engine, p *pack.Part) bool {
	for _, s := range p.Fills {
		k := c.slots[s]
		if k == nil {
			continue
		}
		members := []string{""}
		if kind := c.pack.PlaceKinds[k.At]; kind != nil {
			members = kind.Members
		}
		for _, m := range members {
			if x := e.at(s, m); x == nil || x.Part == "" {
				return false
			}
		}
	}
	return len(p.Fills) > 0
}
