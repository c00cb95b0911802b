package words

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/quantity"
)

func sayMisfit(f *assess.Finding) Sentence {
	m := f.Misfit
	s := Sentence{Because: MisfitReasons(m), Do: "choose a part that fits, or correct what the job says of the engine"}
	if m.Nearest != "" {
		s.Do = "the nearest that fits is " + m.Nearest + "; else correct what the job says of the engine"
	}
	where := slotsAndPlaces(append([]assess.Slot{{Name: m.Slot, Place: m.Place, Title: m.Title}}, m.Also...))
	s.Says = fmt.Sprintf("part %s does not fit %s: %s", m.Part, strings.Join(shorten(where, 4), "; "), strings.Join(s.Because, "; "))
	return s
}

// SizesOff says of each size of a new piece what was measured and what it should be.
func SizesOff(off []assess.SizeOff, s quantity.System) []string {
	var list []string
	for _, x := range off {
		unit, decimals := UnitIn(x.Band.Unit, x.Band.Decimals, s)
		list = append(list, fmt.Sprintf("%s measures %s and should be %s", strings.ReplaceAll(x.Name, "_", " "), unit.Text(x.Measured, decimals+1), x.Band.TextIn(unit, decimals)))
	}
	return list
}

// slotsAndPlaces names slots, each once with its places.
func slotsAndPlaces(slots []assess.Slot) []string {
	var names []string
	places := map[string][]string{}
	for _, s := range slots {
		title := orElse(s.Title, s.Name)
		if !slices.Contains(names, title) {
			names = append(names, title)
		}
		places[title] = append(places[title], s.Place)
	}
	for i, title := range names {
		switch at := places[title]; {
		case len(at) == 1 && strings.HasSuffix(title, ", "+at[0]):
		case len(at) == 1:
			names[i] = Title(title, at[0])
		case len(at) < 5:
			names[i] = title + ", " + list(at)
		default:
			names[i] = fmt.Sprintf("%s, %d places", title, len(at))
		}
	}
	return names
}

// ToldBefore reports whether a finding only says again, of another slot, what one
// before it says of all of them.
func ToldBefore(f *assess.Finding) bool { return f.Misfit != nil && f.Misfit.Repeats }

// MisfitReasons says why a part does not fit.
func MisfitReasons(m *assess.Misfit) []string { return PartReasons(m.Because, quantity.Metric) }

// PartReasons says why a part does not fit: each reason with the feature and what
// stands against it. Features and numbers are as the pack writes them.
func PartReasons(reasons []parts.Reason, s quantity.System) []string {
	var out []string
	for i := range reasons {
		out = append(out, partReason(&reasons[i], s)...)
	}
	return out
}

func partReason(r *parts.Reason, s quantity.System) []string {
	name := func(i int) string {
		if i < len(r.Names) {
			return r.Names[i]
		}
		return ""
	}
	switch r.Kind {
	case parts.ReasonSlot:
		return []string{"it fills " + list(shorten(r.Titles, 4)) + orElse(inFront(", not ", r.Where), "")}
	case parts.ReasonFits:
		if len(r.Lacks) == 0 {
			return []string{"its condition of fit cannot be met: it contradicts itself"}
		}
		var out []string
		for i := range r.Lacks {
			out = append(out, lack(&r.Lacks[i], s))
		}
		return out
	case parts.ReasonFamily:
		return []string{"it belongs to " + list(r.Names) + inFront(", and this engine is ", strings.Join(r.Has, ", "))}
	case parts.ReasonFeature:
		return []string{fmt.Sprintf("%s needs %s, and the part has %s", r.Where, name(0), orElse(list(r.Has), "no feature at all"))}
	case parts.ReasonNeeds:
		says := fmt.Sprintf("it needs %s, and no part chosen has it", name(0))
		if name(1) != "" {
			says = fmt.Sprintf("it needs %s, and %s (%s) does not have it", name(0), name(1), r.Where)
		}
		if len(r.Has) > 0 {
			return []string{says + " (" + list(shorten(r.Has, 3)) + hasOrHave(len(r.Has)) + " it)"}
		}
		return []string{says + " (no part of the pack has it)"}
	case parts.ReasonExcludes:
		return []string{fmt.Sprintf("it excludes %s, which %s has (%s)", name(0), name(1), r.Where)}
	case parts.ReasonExcluded:
		return []string{fmt.Sprintf("it has %s, which %s excludes (%s)", name(0), name(1), r.Where)}
	case parts.ReasonUnknown:
		return []string{"the pack has no part of this number"}
	}
	return []string{r.Kind}
}

func hasOrHave(n int) string {
	if n == 1 {
		return " has"
	}
	return " have"
}

// InFront puts words before a text that is there, and nothing where it is not.
func InFront(with, s string) string { return inFront(with, s) }

func inFront(with, s string) string {
	if s == "" {
		return ""
	}
	return with + s
}

// lack says one comparison that is not met, with both sides of it.
func lack(l *parts.Lack, s quantity.System) string {
	if l.Name == "" {
		return fmt.Sprintf("%s must be %s %s", sideOf(l.Figures[0], s), comparing[l.Operator], sideOf(l.Figures[1], s))
	}
	wants := orList(shorten(l.Wants, 4))
	switch {
	case l.Has == "":
		return fmt.Sprintf("%s: it needs %s, and nobody has looked", l.Title, wants) + inFront(": ", l.Look)
	case l.Assumed:
		return fmt.Sprintf("%s: it needs %s, and this engine is taken for %s", l.Title, wants, l.Has) + inFront("; to be sure: ", l.Look)
	case l.Slot:
		return fmt.Sprintf("%s: it needs %s, and there is %s", l.Title, wants, l.Has)
	}
	return fmt.Sprintf("%s: it needs %s, and this engine is %s", l.Title, wants, l.Has)
}

var comparing = map[string]string{"<": "less than", "<=": "at most", ">": "more than", ">=": "at least", "==": "equal to", "!=": "other than"}

func sideOf(f parts.Figure, s quantity.System) string {
	value := "not known"
	if f.Known {
		value = FigureText(f.Value, f.Dimension, s)
	}
	if f.Title == "" {
		return value
	}
	return fmt.Sprintf("%s (%s), %s,", f.Title, strings.ReplaceAll(f.Size, "_", " "), value)
}

// FigureText prints a figure in the unit that a shop uses for its kind, without
// zeros that say nothing.
func FigureText(si float64, d quantity.Dimension, s quantity.System) string {
	u := s.Unit(d)
	if d.IsNumber() {
		u = quantity.Unit{Factor: 1}
	}
	text := quantity.FormatNumber(u.In(si), 4)
	if x := u.In(si); x != 0 && math.Abs(x) < 0.001 {
		return strings.TrimSpace(strconv.FormatFloat(x, 'g', 4, 64) + " " + u.Symbol)
	}
	if strings.Contains(text, ".") {
		text = strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
	}
	return strings.TrimSpace(text + " " + u.Symbol)
}

// orList joins words with commas and an "or".
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// FitVerdict says in one sentence whether a part fits, and the reasons.
func FitVerdict(v *parts.Verdict, slot string, s quantity.System) Sentence {
	out := Sentence{}
	where := Title(slot, v.Place)
	switch v.Answer {
	case parts.Fits:
		out.Says = fmt.Sprintf("%s fits %s", v.Part, where)
	case parts.FitsWith:
		out.Says = fmt.Sprintf("%s fits %s with what must come with it", v.Part, where)
		for i := range v.Companions {
			out.Because = append(out.Because, Companion(&v.Companions[i]))
		}
		out.Do = "choose what must come with it too"
	case parts.Ask:
		out.Says = fmt.Sprintf("whether %s fits %s nobody can say yet", v.Part, where)
		for _, q := range v.Questions {
			out.Because = append(out.Because, FitQuestion(&q))
		}
		out.Do = "look, and choose it for this job"
	default:
		out.Says = fmt.Sprintf("%s does not fit %s", v.Part, where)
		out.Because = PartReasons(v.Because, s)
		out.Do = "no other part of the pack fits for certain; correct what the job says of the engine, or add a part"
		if v.Nearest != "" {
			out.Do = "the nearest that fits is " + v.Nearest
		}
	}
	if a := v.Advice; a != nil && a.Outside {
		out.Because = append(out.Because, fmt.Sprintf("it is listed for engine numbers %s, and this one is %s; numbers are advice only", a.Range, a.Engine)+inFront(": ", a.Look))
	}
	return out
}

// FitQuestion asks what has to be looked at before a part can be judged.
func FitQuestion(q *parts.Question) string {
	says := fmt.Sprintf("%s: it fits with %s", q.Title, orList(q.Wants))
	if q.Has != "" {
		agrees := "which it would be"
		if !slices.Contains(q.Wants, q.Has) {
			agrees = "which it would not be"
		}
		says += fmt.Sprintf("; until somebody looks the engine is taken for %s, %s", q.Has, agrees)
	}
	return says + inFront("; ", q.Look)
}

// Companion says what must come with a part.
func Companion(c *parts.Companion) string {
	return fmt.Sprintf("it needs %s: choose %s (%s) too", c.Feature, orList(shorten(c.Parts, 3)), c.Slot)
}

// PartNumbers lists every number that a part goes by.
func PartNumbers(numbers []parts.Number) string {
	var out []string
	for _, n := range numbers {
		switch n.Kind {
		case "maker":
			out = append(out, "maker "+n.Number)
		case "marked":
			out = append(out, "marked "+n.Number)
		case "superseded":
			out = append(out, "for the older "+n.Number)
		case "seller":
			out = append(out, strings.TrimSpace(n.Of+" "+n.Number))
		default:
			out = append(out, n.Kind+" "+n.Number)
		}
	}
	return strings.Join(out, " · ")
}

// LooksLike says what tells a part from those it is taken for.
func LooksLike(p *pack.Part) string {
	if len(p.LooksLike) == 0 {
		return "look: " + p.Look
	}
	return "looks like " + list(p.LooksLike) + " but is not: " + p.Look
}

// LastTime says what was fitted last time: from whom, for how much, and how it went.
func LastTime(f *parts.Fitting) string {
	says := f.Part
	if f.From != "" {
		says += " from " + f.From
	}
	if f.Price != "" {
		says += " for " + f.Price
	}
	says += ", " + f.At.Format("January 2006") + ", " + orElse(inFront("engine ", f.Engine), "job "+f.Job)
	if f.Place != "" {
		says += " (" + f.Place + ")"
	}
	return says + ": " + HowItWent(f)
}

// HowItWent says how it went with a part that was fitted.
func HowItWent(f *parts.Fitting) string {
	after := ""
	if f.After >= 24*time.Hour {
		after = " after " + Count(int(f.After.Hours()/24), "day", "days")
	}
	says := "still in"
	switch f.How {
	case parts.TakenOut:
		says = "taken out again" + after + inFront(": ", f.Why)
	case parts.TurnedDown:
		says = "turned down" + after + inFront(": ", f.Why)
	case parts.SentAway:
		says = "sent away" + after + inFront(": ", f.Why)
	}
	return says + inFront("; said since: ", f.Said)
}

// WantsParts says what the places of a slot want.
func WantsParts(needs []assess.Need, chosen []parts.Chosen) string {
	pieces := 0
	var why []string
	for i := range needs {
		pieces += needs[i].Pieces
		for _, w := range NeedReasons(&needs[i]) {
			if !slices.Contains(why, w) {
				why = append(why, w)
			}
		}
	}
	says := "wants " + Count(pieces, "part", "parts") + ": " + strings.Join(shorten(why, 2), "; ")
	if len(chosen) > 0 {
		says += "; " + ChosenParts(chosen)
	}
	return says
}

// ChosenParts says what is in the places of a slot, or on its way there.
func ChosenParts(chosen []parts.Chosen) string {
	var order []string
	places := map[string][]string{}
	for _, x := range chosen {
		key := x.Part + " " + x.State
		if places[key] == nil {
			order = append(order, key)
		}
		places[key] = append(places[key], x.Place)
	}
	var out []string
	for _, key := range order {
		if n := len(places[key]); n > 1 && n == len(chosen) || places[key][0] == "" {
			out = append(out, key)
		} else {
			out = append(out, key+" ("+list(shorten(places[key], 4))+")")
		}
	}
	return strings.Join(shorten(out, 3), "; ")
}

// Offer says an offer in one line, with the seller's number.
func Offer(o *pack.Offer, currency string) string {
	says := o.Supplier + inFront(" ", o.Number) + ": " + strings.TrimSpace(o.Price+" "+orElse(o.Currency, currency))
	if o.Pack > 1 {
		says += fmt.Sprintf(" for %d", o.Pack)
	}
	if o.Lead > 0 {
		says += ", " + Count(int(math.Ceil(o.Lead/86400-1e-9)), "day", "days")
	}
	return says
}

// PartState says one entry about a part.
func PartState(p *journal.PartRecord) string {
	says := p.State
	switch {
	case p.To != "":
		says += " to " + p.To
	case p.From != "":
		says += " from " + p.From
	}
	for _, more := range []struct{ with, text string }{{" for ", p.Price}, {", lot ", p.Lot}, {", asked: ", p.Asked}, {", due ", p.Due}, {": ", p.Why}} {
		says += inFront(more.with, more.text)
	}
	if p.Count > 1 {
		says += fmt.Sprintf(", %d pieces", p.Count)
	}
	return says
}

// MeasuredSizes lists the sizes of a piece as they were measured.
func MeasuredSizes(sizes map[string]string) string {
	var names []string
	for n := range sizes {
		names = append(names, n)
	}
	slices.Sort(names)
	var out []string
	for _, n := range names {
		out = append(out, strings.ReplaceAll(n, "_", " ")+" "+sizes[n])
	}
	return strings.Join(out, ", ")
}

// AwayFacts says what is out, with whom, and since when.
func AwayFacts(a *parts.Away, now time.Time) string {
	says := "out since " + a.Sent.Format("2 January") + inFront(" at ", a.To) + inFront(": ", a.Asked) + inFront("; due ", a.Due)
	if a.Overdue(now) {
		says += ", overdue"
	}
	return says
}
