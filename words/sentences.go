package words

import (
	"fmt"
	"math"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/quantity"
)

// Sentence is a finding in words.
type Sentence struct {
	Says    string
	Because []string
	Do      string
}

// Finding says a finding: what it is, because of what, and what to do.
func Finding(f *assess.Finding) Sentence { return sayFinding(f, Range) }

// spelling prints a band or a limit of a result: as a pack writes it, or as a page does.
type spelling func(*assess.Result, quantity.Range) string

func sayFinding(f *assess.Finding, spell spelling) Sentence {
	s := say(f, spell)
	if s.Do == "" {
		s.Do = f.Do
	}
	if f.Accepted != nil {
		s.Because = append(s.Because, "accepted: "+f.Accepted.Why)
	}
	return s
}

func say(f *assess.Finding, spell spelling) Sentence {
	title := Title(f.Title, f.Place)
	switch f.Code {
	case assess.CodeOutOfLimits, assess.CodeTooClose:
		return sayValue(f, title, spell)
	case assess.CodeNotMeasured:
		return sayMissing(f, title)
	case assess.CodeUndefined:
		return Sentence{Says: title + " cannot be computed: the formula " + f.Detail, Do: "check the readings that the formula uses, then the formula"}
	case assess.CodeBlank:
		return Sentence{Says: title + " has no verdict: " + list(blanks(f.Result.Blank)), Because: f.Result.Blank, Do: "fill the figure in with its source, or choose the part that it depends on"}
	case assess.CodeCoarseGauge:
		return Sentence{Says: fmt.Sprintf("%s is known to ± %s, more than a quarter of the new band %s", title, Expanded(f.Result), spell(f.Result, f.Result.New)), Because: drivers(f.Result), Do: "read it with a finer instrument where the verdict matters"}
	case assess.CodeGaugeUnknown:
		return Sentence{Says: fmt.Sprintf("how good the gauge is that read %s is not known", title), Do: "register the instrument with its uncertainty; until then only its step counts"}
	case assess.CodeOtherGauge:
		return Sentence{Says: fmt.Sprintf("%s was read with a %s; the pack expects a %s", title, f.Result.Gauge.Class, f.Detail), Do: "read it again with the expected instrument where the verdict matters"}
	case assess.CodeCheckFailed:
		return Sentence{Says: fmt.Sprintf("%s: %s", title, f.Detail), Do: "put it right and look again, or accept it with a reason"}
	case assess.CodeCheckOpen:
		says := title + " has not been looked at"
		return Sentence{Says: says, Do: f.Detail}
	case assess.CodeStale:
		return Sentence{Says: fmt.Sprintf("%s must be read again: %s was done after the last reading", title, f.Operation), Because: []string{f.Operation.String()}, Do: "read it again; the old value is kept as what it was"}
	case assess.CodeChangedAfterHold:
		return Sentence{Says: fmt.Sprintf("%s was good for %s, and what it comes from changed since", title, f.Operation), Because: []string{changedSince(f.Result.Recheck)},
			Do: "it still passes: see that nothing done on the old value has to be done again"}
	case assess.CodeReadingUnknown, assess.CodeReadingPlan, assess.CodeReadingGauge, assess.CodeUnknownName:
		return Sentence{Says: onLine(f) + f.Detail, Do: orElse(f.Do, "strike it and enter it again")}
	case assess.CodeExtraMistake:
		return Sentence{Says: fmt.Sprintf("the job's own text was set aside: %s", f.Detail), Do: f.Do}
	case assess.CodeOptionOpen:
		return Sentence{Says: fmt.Sprintf("%s is not chosen yet", title), Do: orElse(f.Detail, "choose it for this job")}
	case assess.CodeSupposedUnknown:
		return Sentence{Says: "cannot suppose " + Title(f.Of, f.Place) + ": " + f.Detail, Do: "name a dimension or number, with its place in square brackets"}
	case assess.CodeDeviationExpired:
		return Sentence{Says: fmt.Sprintf("the deviation for %s has ended: the value got worse since by more than its ±", f.Of), Because: []string{f.Detail}, Do: "settle it, or accept it again with a reason"}
	case assess.CodePartMissing:
		return Sentence{Says: "no part yet for " + title, Do: "choose, order or keep one"}
	case assess.CodePartMisfit:
		return sayMisfit(f)
	case assess.CodePartSize:
		return Sentence{Says: fmt.Sprintf("%s as it came: %s", f.Title, strings.Join(SizesOff(f.Sizes, quantity.Metric), "; ")), Do: "measure it again; then reject it with the reason, or accept it with one"}
	}
	if strings.HasPrefix(f.Code, "route.") {
		return sayOrder(f, title)
	}
	if strings.HasPrefix(f.Code, "joint.") {
		return sayJoint(f, title)
	}
	if strings.HasPrefix(f.Code, "journal.") {
		return Sentence{Says: onLine(f) + f.Detail, Do: orElse(f.Do, journalRemedy(f.Code))}
	}
	return Sentence{Says: orElse(f.Detail, f.Code+" "+title)}
}

// changedSince says what was changed or struck after an operation was done.
func changedSince(r *assess.Recheck) string {
	var parts []string
	for _, x := range r.Struck {
		says := fmt.Sprintf("%s of %s was struck", x.Value, x.Of)
		if x.Why != "" {
			says += " (" + x.Why + ")"
		}
		parts = append(parts, says)
	}
	if len(r.Changed) > 0 {
		verb := "was"
		if len(r.Changed) > 1 {
			verb = "were"
		}
		parts = append(parts, fmt.Sprintf("%s %s changed", list(r.Changed), verb))
	}
	return fmt.Sprintf("%s after %s was done", strings.Join(parts, ", and "), r.Operation)
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func onLine(f *assess.Finding) string {
	if f.Line > 0 {
		return fmt.Sprintf("journal line %d: ", f.Line)
	}
	return ""
}

func journalRemedy(code string) string {
	switch code {
	case journal.CodeChainBroken:
		return "compare with a backup: something was changed after it was written"
	case journal.CodeStrikeUnknown:
		return "check the id that is struck"
	case journal.CodeSameID:
		return "the first counts; enter the second again under an id of its own"
	}
	return "the line is kept and set aside; enter what it says again"
}

func sayValue(f *assess.Finding, title string, spell spelling) Sentence {
	r := f.Result
	says := title + " " + Measured(r)
	if r.Supposed {
		says += " (supposed)"
	}
	unit := func(x float64) string { return r.Unit.DifferenceText(x, marginDecimals(r)) }
	switch {
	case r.Limit.Bounded():
		says += ", limit " + spell(r, r.Limit)
	case r.New.Bounded():
		says += ", new " + spell(r, r.New)
	}
	s := Sentence{Because: drivers(r)}
	if f.Code == assess.CodeTooClose {
		says += fmt.Sprintf(": too close to call, %s from the edge with %s", unit(math.Abs(nearEdge(r))), spread(r))
		if s.Do = Settling(r); s.Do == "" {
			s.Do = fmt.Sprintf("read it again with a ± below %s", unit(r.Settles))
		}
		s.Says = says
		return s
	}
	switch {
	case r.Short:
		says += fmt.Sprintf("; outside of new %s on the side away from wear", spell(r, r.New))
		above := r.New.HasHigh && r.Value > r.New.High
		switch {
		case r.Kind == "dimension" && above:
			says += ": larger than new, a wrong part or a wrong reading"
		case r.Kind == "dimension":
			says += ": smaller than new, a wrong part or a wrong reading"
		case above:
			says += ": more than new"
		default:
			says += ": tighter than new"
		}
		s.Do = "check the reading and the part before anything else"
	default:
		if r.HasMargin && r.Margin < 0 {
			side := "over"
			if below(r) {
				side = "under"
			}
			says += ", " + side + " by " + unit(-r.Margin)
		}
		says += "; " + Verdict(r)
		s.Do = "replace or rework it, or accept it with a reason"
	}
	s.Says = says
	return s
}

// below reports whether a value lies under its lower limit.
func below(r *assess.Result) bool { return r.Limit.HasLow && r.Value < r.Limit.Low }

func nearEdge(r *assess.Result) float64 {
	if r.Settles > 0 {
		return r.Settles
	}
	return r.Margin
}

// drivers says what the ± comes from: of a reading by the instrument that answers, of
// a number by the dimension that was read.
func drivers(r *assess.Result) []string {
	var out []string
	for i, d := range ComesFrom(r) {
		if i == 3 || d.Share < 0.05 {
			break
		}
		out = append(out, strings.TrimPrefix(d.Name, "instrument.")+" "+Share(d.Share))
	}
	return out
}

// ComesFrom tells what a ± comes from as a builder asks it: of a reading by the
// instrument that answers, of a number by the dimension that was read.
func ComesFrom(r *assess.Result) []assess.Driver {
	if r.Kind == "dimension" && len(r.Instruments) > 0 {
		return r.Instruments
	}
	return r.Drivers
}

func sayMissing(f *assess.Finding, title string) Sentence {
	r := f.Result
	s := Sentence{Says: title + " is not measured", Because: r.Missing}
	switch {
	case r.Kind != "dimension":
		s.Says += "; it waits for " + list(shorten(r.Missing, 4))
		s.Do = "read what is missing"
	case r.Readings > 0:
		s.Says += fmt.Sprintf(" in full: %s so far", Measured(r))
		s.Do = "read " + list(shorten(r.Missing, 4))
	default:
		s.Do = "read it"
	}
	return s
}

func blanks(names []string) []string {
	var out []string
	for _, n := range names {
		if strings.Contains(n, ".") {
			out = append(out, n+" is not known")
		} else {
			out = append(out, n+" is to be filled in")
		}
	}
	return out
}

func sayOrder(f *assess.Finding, title string) Sentence {
	s := Sentence{Because: Reasons(f.Reasons)}
	switch f.Code {
	case assess.CodeClosedTooEarly:
		s.Says = fmt.Sprintf("%s is closed over unfinished work: %s", title, list(shorten(references(f.Reasons), 4)))
		s.Do = "open it and finish the work, or record what was done and when"
	case assess.CodeHoldPassed:
		s.Says = fmt.Sprintf("%s is done, and what it holds is not proven: %s", title, list(shorten(references(f.Reasons), 4)))
		s.Do = "prove it now if it can still be reached, or accept it with a reason"
		for i := range f.Reasons {
			if res := f.Reasons[i].Result; res != nil && res.Recheck != nil {
				s.Because = append(s.Because, changedSince(res.Recheck))
			}
		}
	case assess.CodeOutOfOrder:
		s.Says = fmt.Sprintf("%s was done out of order: %s", title, list(shorten(s.Because, 3)))
		s.Do = "check that nothing was harmed; enter what was done earlier as late"
	case assess.CodeTooLate:
		s.Says = fmt.Sprintf("%s came %s too late after %s", title, Duration(f.Late.Seconds()), f.Operation)
		s.Do = "follow the maker's word on what to do with sealant or locker that was left too long"
	case assess.CodeTemporaryInside:
		n := 0
		for _, r := range f.Reasons {
			n += r.Count
		}
		s.Says = fmt.Sprintf("%s: %d still inside %s", title, n, list(references(f.Reasons)))
		s.Do = "open it and take it out; count out what was counted in"
	case assess.CodeLockBroken:
		s.Says = fmt.Sprintf("%s was done while it was forbidden: %s", title, list(s.Because))
		s.Do = "look for damage before going on"
	default:
		s.Says = title + ": " + f.Code
	}
	return s
}

func references(reasons []assess.Reason) []string {
	var out []string
	for _, r := range reasons {
		out = append(out, r.Of)
	}
	return out
}

// Reasons says why an operation cannot be done.
func Reasons(reasons []assess.Reason) []string {
	var out []string
	for _, r := range reasons {
		out = append(out, Reason(r))
	}
	return out
}

// Reason says one reason.
func Reason(r assess.Reason) string {
	switch r.Kind {
	case assess.NeedsOperation:
		return r.Of + " is not done"
	case assess.NeedsForGood:
		return r.Of + " is done for trial only"
	case assess.NeedsWait:
		return "the wait after " + r.Of + " is not over" + inBrackets(r.Says)
	case assess.NeedsOpen:
		return r.Of + " is closed"
	case assess.Unfinished:
		return r.Of + " is not finished inside"
	case assess.Temporary:
		return fmt.Sprintf("%s: %d still in", r.Of, r.Count)
	case assess.Hold:
		return r.Of + " is " + holdWords(r.Result)
	case assess.Locked:
		return "forbidden by " + r.Of + inBrackets(r.Says)
	}
	return r.Of
}

func inBrackets(s string) string {
	if s == "" {
		return ""
	}
	return " (" + s + ")"
}

func holdWords(r *assess.Result) string {
	if r == nil {
		return "not proven"
	}
	if r.Stale != nil {
		return "to be read again"
	}
	w := Verdict(r)
	if r.HasValue && r.Verdict != measure.NotMeasured {
		w += ", " + Measured(r)
	}
	return w
}

func sayJoint(f *assess.Finding, title string) Sentence {
	u := f.Range.Unit
	if u.Symbol == "" {
		u = quantity.MustUnit("N·m")
	}
	d := max(f.Range.Decimals, 1)
	switch f.Code {
	case assess.CodeTorqueOutside:
		return Sentence{Says: fmt.Sprintf("%s was tightened to %s, and its torque is %s", title, u.Text(f.Torque, d), f.Range.Text()), Do: "check the wrench and the stretch of the fastener; replace it if it was overdone"}
	case assess.CodeStageSkipped:
		return Sentence{Says: fmt.Sprintf("%s: a stage was tightened before the one below it (%s)", title, u.Text(f.Torque, d)), Do: "loosen the pattern and begin again, or enter the pass that was left out"}
	}
	return Sentence{Says: onLine(f) + title + ": " + f.Detail, Do: "strike it and enter it again"}
}

// Wait says a wait that is not over.
func Wait(w *assess.Wait, now time.Time) string {
	s := w.Operation.String()
	if w.For != "" {
		s += ": " + w.For
	}
	if w.Length > 0 {
		s += ", " + Duration(w.Length)
	}
	if !w.Due.IsZero() && !now.IsZero() {
		if left := w.Due.Sub(now); left > 0 {
			s += ", " + Duration(left.Seconds()) + " to go"
		} else {
			s += "; the time is over, look and end the wait"
		}
	}
	return s
}
