package words

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
)

// The finest steps that a shop reads lengths in: a thousandth of a millimetre and a
// ten-thousandth of an inch.
const (
	finestMillimetre = 3
	finestInch       = 4
)

var inchSymbols = []string{"in", "thou", "ft", "sq in", "cu in", "oz", "lb", "lbf", "slug", "ft-lb", "in-lb", "psi", "ksi", "inHg", "degF",
	"fl oz", "pt", "qt", "gal", "imp fl oz", "imp pt", "imp qt", "imp gal", "lbf/in", "lb/in3", "ft/s", "oz·in"}

// UnitIn returns the unit in which a shop of a system shows what a pack shows in u,
// and how many decimals stand for as many as it has in u. A unit that belongs to the
// system already, or to both, stays.
func UnitIn(u quantity.Unit, decimals int, s quantity.System) (quantity.Unit, int) {
	if slices.Contains(inchSymbols, u.Symbol) == (s == quantity.Inch) {
		return u, finest(u, decimals)
	}
	other, ok := (1 - s).Other(u)
	if !ok {
		return u, decimals
	}
	if u.Symbol == "µm" && s == quantity.Inch {
		other = quantity.MustUnit("thou")
	}
	if decimals >= 0 {
		decimals = max(decimals+int(math.Ceil(math.Log10(other.Factor/u.Factor)-0.2)), 0)
	}
	return other, finest(other, decimals)
}

// finest cuts decimals down to the steps that a shop reads lengths in.
func finest(u quantity.Unit, decimals int) int {
	switch u.Symbol {
	case "in":
		return min(decimals, finestInch)
	case "mm":
		return min(decimals, finestMillimetre)
	}
	return decimals
}

// Parts prints a value, its ± and its unit apart, so that a page can give each its
// own ink. The ± has the decimals of the value and is at least one count.
func Parts(r *assess.Result) (value, plusMinus, unit string) {
	if !r.HasValue {
		return "", "", ""
	}
	d := max(r.Decimals, 0)
	value = quantity.FormatNumber(r.Unit.In(r.Value), d)
	switch {
	case uneven(r):
		less, more := evenly(r)
		plusMinus = "−" + less + " +" + more
	case r.Expanded > 0:
		// One count is the least: a ± that is there is never shown as zero.
		plusMinus = "±" + quantity.FormatNumber(max(r.Unit.InDifference(r.Expanded), math.Pow10(-d)), d)
	}
	if r.Unit.Symbol != "1" {
		unit = r.Unit.Symbol
	}
	return value, plusMinus, unit
}

// Shown prints a value with its ± as on a page: "92.088 ±0.006 mm".
func Shown(r *assess.Result) string {
	value, plusMinus, unit := Parts(r)
	return strings.Join(slices.DeleteFunc([]string{value, plusMinus, unit}, func(s string) bool { return s == "" }), " ")
}

func rangeIn(x quantity.Range, u quantity.Unit, s quantity.System) quantity.Range {
	if !x.Bounded() {
		return x
	}
	if x.Unit.Symbol == "" {
		x.Unit = u
	}
	x.Unit, x.Decimals = UnitIn(x.Unit, x.Decimals, s)
	return x
}

// ResultIn returns a result as a shop of a system shows it.
func ResultIn(r *assess.Result, s quantity.System) *assess.Result {
	if r == nil {
		return nil
	}
	shown := *r
	shown.New, shown.Limit = rangeIn(r.New, r.Unit, s), rangeIn(r.Limit, r.Unit, s)
	shown.Unit, shown.Decimals = UnitIn(r.Unit, r.Decimals, s)
	return &shown
}

// FindingIn says a finding in the units of a system and with the titles of the pack
// in the place of names.
func FindingIn(p *pack.Pack, f *assess.Finding, s quantity.System) Sentence {
	shown := *f
	shown.Result = ResultIn(f.Result, s)
	if f.Range.Bounded() {
		shown.Range = rangeIn(f.Range, f.Range.Unit, s)
	}
	shown.Reasons = reasonsIn(f.Reasons, s)
	for i := range shown.Reasons {
		shown.Reasons[i].Of = Named(p, shown.Reasons[i].Of)
	}
	said := sayFinding(&shown, band)
	said.Says, said.Do = titled(p, said.Says), titled(p, said.Do)
	for i, b := range said.Because {
		said.Because[i] = titled(p, b)
	}
	return said
}

// referencePattern finds references in a sentence.
var referencePattern = regexp.MustCompile(`\b(?:operation|space|dimension|number|sweep|check|joint|slot|temporary|lock)\.[a-z][a-z0-9_]*`)

// titled puts titles in the place of the references in a sentence.
func titled(p *pack.Pack, sentence string) string {
	return referencePattern.ReplaceAllStringFunc(sentence, func(reference string) string { return Named(p, reference) })
}

func reasonsIn(reasons []assess.Reason, s quantity.System) []assess.Reason {
	out := slices.Clone(reasons)
	for i := range out {
		out[i].Result = ResultIn(out[i].Result, s)
	}
	return out
}

// ReasonsIn says why an operation cannot be done, with the titles of the pack in the
// place of names.
func ReasonsIn(p *pack.Pack, reasons []assess.Reason, s quantity.System) []string {
	var out []string
	for _, r := range reasonsIn(reasons, s) {
		r.Of = Named(p, r.Of)
		if r.Kind == assess.Locked {
			r.Of = "“" + r.Of + "”"
		}
		out = append(out, Reason(r))
	}
	return out
}

// Named puts the title of the pack in the place of a reference: "operation.final_wash"
// or "space.cylinders front". What the pack does not know stays.
func Named(p *pack.Pack, reference string) string {
	name, place, _ := strings.Cut(reference, " ")
	kind, name, ok := strings.Cut(name, ".")
	if !ok {
		return reference
	}
	name, feature, _ := strings.Cut(name, ".") // of a part in a slot: "slot.head_gasket.crushed front"
	title := titleOf(p, kind, name)
	switch {
	case title == "":
		return reference
	case feature != "":
		return Title(title, place) + " (" + strings.ReplaceAll(feature, "_", " ") + ")"
	}
	return Title(title, place)
}

func titleOf(p *pack.Pack, kind, name string) string {
	switch kind {
	case "operation":
		return find(p.Operations, name, func(x *pack.Operation) *pack.Common { return &x.Common })
	case "space":
		return find(p.Spaces, name, func(x *pack.Space) *pack.Common { return &x.Common })
	case "dimension":
		return find(p.Dimensions, name, func(x *pack.Dimension) *pack.Common { return &x.Common })
	case "number":
		return find(p.Numbers, name, func(x *pack.Number) *pack.Common { return &x.Common })
	case "sweep":
		return find(p.Sweeps, name, func(x *pack.Sweep) *pack.Common { return &x.Common })
	case "check":
		return find(p.Checks, name, func(x *pack.Check) *pack.Common { return &x.Common })
	case "joint":
		return find(p.Joints, name, func(x *pack.Joint) *pack.Common { return &x.Common })
	case "slot":
		return find(p.Slots, name, func(x *pack.Slot) *pack.Common { return &x.Common })
	case "temporary":
		return find(p.Temporaries, name, func(x *pack.Temporary) *pack.Common { return &x.Common })
	case "lock":
		return find(p.Locks, name, func(x *pack.Lock) *pack.Common { return &x.Common })
	}
	return ""
}

func find[T any](list []*T, name string, common func(*T) *pack.Common) string {
	for _, x := range list {
		if c := common(x); c.Name == name {
			return c.Title
		}
	}
	return ""
}

// Operation names an operation by its title and place.
func Operation(p *pack.Pack, o assess.Operation) string { return Named(p, o.String()) }

// InTheWay says in one line what keeps a job from going on: the first thing that
// stops it, else the first that needs attention; how many more there are; and how
// bad it is. It is empty for nothing.
func InTheWay(a *assess.Assessment, s quantity.System) (says string, worst assess.Severity, more int) {
	for _, severity := range []assess.Severity{assess.Stop, assess.Attention} {
		for i := range a.Findings {
			f := &a.Findings[i]
			if f.Severity != severity || f.Accepted != nil {
				continue
			}
			if says == "" {
				says, worst = Brief(a.Pack, f, s), severity
				continue
			}
			if severity == worst {
				more++
			}
		}
	}
	return says, worst, more
}

// Brief says a finding in a few words: what, and what the matter is.
func Brief(p *pack.Pack, f *assess.Finding, s quantity.System) string {
	if r := ResultIn(f.Result, s); r != nil {
		title := Title(f.Title, f.Place)
		switch f.Code {
		case assess.CodeOutOfLimits, assess.CodeTooClose:
			return title + " " + Verdict(r)
		case assess.CodeStale:
			return title + " to be read again"
		}
	}
	return FindingIn(p, f, s).Says
}

// TakenOff says what a temperature takes off a reading or adds to it.
func TakenOff(si float64, u quantity.Unit, decimals int) string {
	text := u.DifferenceText(math.Abs(si), decimals)
	switch {
	case si == 0:
		return "nothing to correct"
	case si < 0:
		return "takes off " + text
	}
	return "adds " + text
}

// Slip asks about a value that looks like a slip: what is odd, and what may have been
// meant. Typed is the value as it was typed, with its unit.
func Slip(slip measure.Slip, typed, meant, title, wanted, neighbour string) Sentence {
	s := Sentence{Says: fmt.Sprintf("Is %s right for %s?", typed, title)}
	if wanted != "" {
		s.Because = append(s.Because, "Looked for: "+wanted+".")
	}
	switch slip.Kind {
	case measure.InchForMillimetre:
		s.Because = append(s.Because, "It looks like a reading in inches.")
	case measure.MillimetreForInch:
		s.Because = append(s.Because, "It looks like a reading in millimetres.")
	case measure.ThouForMillimetre:
		s.Because = append(s.Because, "It looks like a reading in thou.")
	case measure.HundredthForThou:
		s.Because = append(s.Because, "It looks like a reading in hundredths of a millimetre.")
	case measure.ThousandTimes:
		s.Because = append(s.Because, "It looks a thousand times too large.")
	case measure.ThousandthOf:
		s.Because = append(s.Because, "It looks a thousand times too small.")
	case measure.JumpToNeighbour:
		s.Because = append(s.Because, "The nearest of the other readings is "+neighbour+".")
	case measure.FarOutside:
		s.Because = append(s.Because, "It is far from anything the limits allow.")
	}
	if slip.HasMeant && meant != "" {
		s.Do = fmt.Sprintf("Did you mean %s?", meant)
	}
	return s
}

// Wanted says what a result is held against: "new 92.000 to 92.013 mm, limit up to 92.090 mm".
func Wanted(r *assess.Result) string {
	var parts []string
	if r.New.Bounded() {
		parts = append(parts, "new "+band(r, r.New))
	}
	if r.Limit.Bounded() {
		parts = append(parts, "limit "+band(r, r.Limit))
	}
	return strings.Join(parts, ", ")
}

// band prints a range as a builder says it: "92.000 to 92.013 mm", "up to 0.05 mm".
func band(r *assess.Result, x quantity.Range) string {
	u := x.Unit
	if u.Symbol == "" {
		u = r.Unit
	}
	d := max(x.Decimals, 0)
	if x.Decimals < 0 {
		d = r.Decimals
	}
	switch {
	case x.HasLow && x.HasHigh:
		symbol := ""
		if u.Symbol != "1" {
			symbol = " " + u.Symbol
		}
		return quantity.FormatNumber(u.In(x.Low), d) + " to " + quantity.FormatNumber(u.In(x.High), d) + symbol
	case x.HasLow:
		return "at least " + u.Text(x.Low, d)
	}
	return "up to " + u.Text(x.High, d)
}

// SettleIn says what Settle does, with the titles of the pack in the place of names.
func SettleIn(p *pack.Pack, r *assess.Result, instrument string) string {
	shown := *r
	shown.Missing = slices.Clone(r.Missing)
	for i, m := range shown.Missing {
		// A list of names has commas of its own: the place stands without one.
		reference, place, _ := strings.Cut(m, " ")
		if title := Named(p, reference); title != reference {
			shown.Missing[i] = strings.TrimSpace(title + " " + place)
		}
	}
	return Settle(&shown, instrument)
}

// Settle says what to make of a result in one or two sentences, for the place beside
// its verdict.
func Settle(r *assess.Result, instrument string) string {
	unit := func(x float64) string { return r.Unit.DifferenceText(x, marginDecimals(r)) }
	switch r.Verdict {
	case measure.TooClose:
		_, plusMinus, u := Parts(r)
		says := fmt.Sprintf("The edge lies inside %s %s. Read it with less than ±%s", plusMinus, u, settles(r))
		if instrument != "" {
			return says + ": " + instrument + " can settle it."
		}
		return says + ", or rework it."
	case measure.OutOfLimits:
		switch {
		case r.Short && r.Kind == "dimension":
			return "Smaller than new: a wrong part or a wrong reading."
		case r.Short:
			return "Tighter than new. Check the reading and the part first."
		case r.HasMargin && r.Margin < 0 && below(r):
			return "Under the limit by " + unit(-r.Margin) + ". Replace or rework it."
		case r.HasMargin && r.Margin < 0:
			return "Over by " + unit(-r.Margin) + ". Replace or rework it."
		}
		return "Outside its limits. Replace or rework it."
	case measure.NotMeasured:
		if n := len(r.Missing); n > 0 && r.Kind == "dimension" && r.Readings > 0 {
			return fmt.Sprintf("So far; still to read: %s.", list(shorten(r.Missing, 3)))
		}
		if len(r.Missing) > 0 {
			return "Waits for " + list(shorten(r.Missing, 3)) + "."
		}
		return "Not read yet."
	case measure.Serviceable, measure.NewFit:
		if r.HasMargin {
			return unit(r.Margin) + " to the limit."
		}
	}
	return ""
}

// settles prints the ± that would settle a value with enough figures not to be zero.
func settles(r *assess.Result) string {
	d := marginDecimals(r)
	if x := r.Unit.InDifference(r.Settles); x > 0 && x < math.Pow10(-d) {
		d = quantity.DecimalsFor(x, 1)
	}
	return r.Unit.DifferenceText(r.Settles, d)
}

// Clock prints a time as a shop says it: "Wed 14 Oct 14:31".
func Clock(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 15:04")
}

// Count prints a number of things: "1 reading", "2 readings".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Upper begins a sentence with a capital.
func Upper(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// WaitIn says a wait with the title of its operation.
func WaitIn(p *pack.Pack, w *assess.Wait, now time.Time) string {
	says := Wait(w, now)
	return Operation(p, w.Operation) + strings.TrimPrefix(says, w.Operation.String())
}

// Until says what ends a lock.
func Until(p *pack.Pack, l assess.Lock) string {
	var ends []string
	for _, u := range l.Until {
		ends = append(ends, Named(p, u))
	}
	return list(ends)
}

// OpenClosed says how a space stands.
func OpenClosed(s assess.Space) string {
	if s.Closed {
		return "closed"
	}
	return "open"
}

// Unfinished says what is left to do inside a space.
func Unfinished(p *pack.Pack, s assess.Space) string {
	var left []string
	for _, op := range s.Unfinished {
		left = append(left, Operation(p, op))
	}
	says := Count(len(left), "left to do inside", "left to do inside") + ": " + list(shorten(left, 2))
	if s.Closed {
		return says + ". It is closed over this."
	}
	return says
}

// OperationFacts says what an operation wants: time, tool, what is used.
func OperationFacts(p *pack.Pack, o assess.Operation) string {
	for _, op := range p.Operations {
		if op.Name != o.Name {
			continue
		}
		var facts []string
		if op.Seconds > 0 {
			facts = append(facts, "about "+Duration(op.Seconds))
		}
		if op.Fixture != "" {
			facts = append(facts, op.Fixture)
		}
		if op.Tool != "" {
			facts = append(facts, op.Tool)
		}
		facts = append(facts, op.Uses...)
		return Upper(strings.Join(facts, ", "))
	}
	return ""
}

// Closes says what an operation closes; it is empty for nothing.
func Closes(p *pack.Pack, o assess.Operation) string {
	for _, op := range p.Operations {
		if op.Name != o.Name || len(op.Closes) == 0 {
			continue
		}
		var spaces []string
		for _, s := range op.Closes {
			title := find(p.Spaces, strings.TrimPrefix(s, "space."), func(x *pack.Space) *pack.Common { return &x.Common })
			spaces = append(spaces, orElse(title, s))
		}
		return "This closes: " + list(spaces)
	}
	return ""
}

// Driver names what a ± comes from as a builder would.
func Driver(p *pack.Pack, name string) string {
	switch name {
	case "gauge":
		return "the gauge"
	case "step":
		return "the step it is read in"
	case "repeats":
		return "the spread of repeats"
	case "temperature":
		return "the temperature"
	}
	if gauge, ok := strings.CutPrefix(name, "instrument."); ok {
		return gauge
	}
	return Named(p, name)
}

// DrivenBy says in one line what the ± of a result comes from, the largest first.
func DrivenBy(p *pack.Pack, r *assess.Result) string {
	var parts []string
	for i, d := range ComesFrom(r) {
		if i == 3 || d.Share < 0.05 {
			break
		}
		parts = append(parts, Driver(p, d.Name)+" "+Share(d.Share))
	}
	return strings.Join(parts, ", ")
}

// Phase names a set of readings: "as found".
func Phase(phase string) string { return strings.ReplaceAll(phase, "-", " ") }

// Degrees prints the unit of a temperature as on a thermometer.
func Degrees(u quantity.Unit) string {
	if s, ok := strings.CutPrefix(u.Symbol, "deg"); ok && s != "" {
		return "°" + s
	}
	return u.Symbol
}

// Temperature prints a temperature that was written in a journal as on a thermometer.
func Temperature(text string) string {
	return strings.NewReplacer(" degC", "\u00a0°C", " degF", "\u00a0°F", "degC", "°C", "degF", "°F").Replace(text)
}

// Held says what the next operation of a job is held by when nothing can be done: the
// first that only wants something proven, and what that is. It is empty when there is
// none.
func Held(a *assess.Assessment, s quantity.System) (operation, by string) {
	for _, b := range a.Blocked {
		var holds []string
		for _, r := range b.Because {
			if r.Kind != assess.Hold {
				holds = nil
				break
			}
			holds = append(holds, Named(a.Pack, r.Of)+" "+holdWords(ResultIn(r.Result, s)))
		}
		if len(holds) > 0 {
			return Operation(a.Pack, b.Operation), "held by " + list(shorten(holds, 1))
		}
	}
	return "", ""
}
