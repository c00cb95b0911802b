package words

import (
	"fmt"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/route"
)

// NumberAndTitle parts the number that an operation has in the pack's list from its
// title; the number is empty for a title without one.
func NumberAndTitle(p *pack.Pack, o assess.Operation) (number, title string) {
	title = Operation(p, o)
	head, rest, found := strings.Cut(title, " ")
	if found && head != "" && strings.Trim(head, "0123456789") == "" {
		return head, Upper(rest)
	}
	return "", title
}

// HoursMinutes prints a time as a clock does, in hours and minutes: 0:25, 31:40.
func HoursMinutes(d time.Duration) string {
	m := int(d.Round(time.Minute).Minutes())
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// WorkFacts says what is left in one line, in hours at the bench.
func WorkFacts(r *assess.Route) string {
	waits := 0
	for i := range r.Steps {
		if r.Steps[i].Wait != nil {
			waits++
		}
	}
	says := Count(len(r.Steps), "step", "steps") + " left, " + HoursMinutes(r.Work) + " at the bench"
	if waits > 0 {
		says += ", " + Count(waits, "wait", "waits")
	}
	if idle := r.Finish - r.Work; idle > time.Minute {
		says += "; " + HoursMinutes(idle) + " of them that nothing can fill"
	}
	return says
}

// StepReads says what is still to be read or looked at before a step.
func StepReads(p *pack.Pack, s *assess.RouteStep) string {
	if len(s.Reads) == 0 {
		return ""
	}
	return "First: " + list(shorten(loweredAll(Gathered(p, s.Reads)), 2))
}

// StepWait says what a step is waited for afterwards.
func StepWait(s *assess.RouteStep) string {
	if s.Wait == nil {
		return ""
	}
	return "Then wait: " + waitText(s.Wait)
}

// StepIdle says that nothing can be done for a while before a step.
func StepIdle(s *assess.RouteStep) string {
	if s.Idle < time.Minute {
		return ""
	}
	return "Nothing else can be done for " + hours(s.Idle)
}

// StepWaitsFor names the wait of an earlier step that must be over before a step.
func StepWaitsFor(p *pack.Pack, by assess.Operation, wait *assess.Wait) string {
	number, title := NumberAndTitle(p, by)
	return "After the wait of " + orElse(number, lowered(title)) + ": " + waitText(wait)
}

// StepLocks says that a lock begins with a step, or ends with it.
func StepLocks(p *pack.Pack, l *pack.Lock, place string, begins bool) string {
	if begins {
		return "From here: " + lowered(Title(l.Title, place))
	}
	return "From here no more: " + lowered(Title(l.Title, place))
}

// StepInTime says what must follow a step in time.
func StepInTime(p *pack.Pack, o assess.Operation, most float64) string {
	return "Within " + Duration(most) + " of it: " + Operation(p, o) + ". Have that ready first"
}

// SetUp says how the engine stands and what is in the hand for an operation.
func SetUp(o *pack.Operation) string {
	var list []string
	if o.Side != "" {
		list = append(list, o.Side+" side")
	}
	if o.Fixture != "" {
		list = append(list, o.Fixture)
	}
	if o.Tool != "" {
		list = append(list, o.Tool)
	}
	return strings.Join(list, ", ")
}

// Breaks says which link of a chain could be broken, and how: the place in the chain and
// what to do there. It is negative where a rule of the pack alone stands in the way.
func Breaks(p *pack.Pack, chain []assess.Link) (at int, says string) {
	for i := len(chain) - 1; i >= 0; i-- {
		l := chain[i]
		switch l.Kind {
		case route.HoldUnmet:
			return i, Named(p, l.Hold) + " is what can change: put it right and read it again, or accept it at " + Operation(p, l.Of) + " with a reason"
		case route.HoldBefore, route.HoldAfter:
			return i, "Read " + lowered(Named(p, l.Hold)) + " while it can be read, or take " + Operation(p, l.By) + " back to read it"
		case route.LeftInside:
			return i, "Take out " + lowered(Named(p, l.Temporary)) + " and count it"
		case route.LockedBy, route.LockedUntil:
			return i, "End the lock first: " + lowered(Named(p, l.Lock))
		case route.StandsForTrial, route.NeedsGood:
			return i, "Take " + Operation(p, l.By) + " back, or do it for good"
		}
	}
	for i := len(chain) - 1; i >= 0; i-- {
		l := chain[i]
		switch {
		case l.Kind == route.Works:
			return i, "Open " + lowered(Named(p, l.Space)) + " again, then do " + Operation(p, l.Of)
		case l.Kind == route.ShutIn && l.Space != "":
			return i, "Do " + Operation(p, l.By) + " before " + lowered(Named(p, l.Space)) + " is closed, or say in the pack that it is done elsewhere"
		}
	}
	return -1, "Only rules of the pack meet here: one of them must change, for this job or in the pack"
}

// DoneWhen says when something was done and by whom, and whether it was entered later.
func DoneWhen(at time.Time, by string, late bool) string {
	var facts []string
	if says := Clock(at); says != "" {
		facts = append(facts, says)
	}
	if by != "" && by != "bench" {
		facts = append(facts, by)
	}
	if late {
		facts = append(facts, "entered later")
	}
	return strings.Join(facts, ", ")
}

// StillIn says what was put in for a while and is not out again.
func StillIn(a *assess.Assessment, x assess.PutIn) string { return Upper(stillIn(a, x)) }

// WhyTakenBack says why an order of work takes something back.
func WhyTakenBack(p *pack.Pack, s *assess.RouteStep, trial bool) string {
	switch {
	case trial:
		return "It was done for trial: what comes next needs it out of the way again"
	case len(s.Opens) > 0:
		return "Work is still to be done in " + list(loweredAll(namedAll(p, s.Opens))) + ", and this is what closes it"
	}
	return "What is still to be done lies under it"
}

// WhyTrial and WhyNow say why a step comes where no rule puts it.
const (
	WhyTrial = "It is done once for trial before it is done for good"
	WhyNow   = "It waits for nothing and can be done now"
)
