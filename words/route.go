package words

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/route"
)

// RouteReport is an order of work as scripts read it.
type RouteReport struct {
	Steps   []RouteStepReport `json:"steps"`
	Changes int               `json:"changes"`
	Proven  bool              `json:"proven"`
	Bound   int               `json:"bound"`
	// Minutes is the work of all steps; FinishMinutes counts the waits that nothing fills.
	Minutes       float64       `json:"minutes"`
	FinishMinutes float64       `json:"finish_minutes"`
	Loops         [][]string    `json:"loops"`
	Stuck         []StuckReport `json:"stuck"`
}

// RouteStepReport is one step of it.
type RouteStepReport struct {
	Operation string   `json:"operation"`
	Do        string   `json:"do"`
	Closes    []string `json:"closes"`
	Opens     []string `json:"opens"`
	Holds     []string `json:"holds"`
	Reads     []string `json:"reads"`
	Wait      string   `json:"wait"`
	Trial     bool     `json:"trial"`
	Changes   int      `json:"changes"`
	Start     float64  `json:"start_minutes"`
	End       float64  `json:"end_minutes"`
	Late      bool     `json:"late"`
}

// StuckReport is work that no order can finish, and why.
type StuckReport struct {
	Operation string   `json:"operation"`
	Because   []string `json:"because"`
	// Do names the link at which a loop can be broken; empty where there is no loop.
	Do string `json:"do"`
}

// MakeRoute turns a route into what scripts read.
func MakeRoute(r *assess.Route) *RouteReport {
	out := &RouteReport{Steps: []RouteStepReport{}, Changes: r.Changes, Proven: r.Proven, Bound: r.Bound, Minutes: r.Work.Minutes(), FinishMinutes: r.Finish.Minutes(), Loops: [][]string{}, Stuck: []StuckReport{}}
	for i := range r.Steps {
		s := &r.Steps[i]
		x := RouteStepReport{Operation: s.Operation.String(), Do: "do", Closes: whole(s.Closes), Opens: whole(s.Opens), Holds: whole(s.Holds), Reads: whole(s.Reads),
			Trial: s.Trial, Changes: s.Changes, Start: s.Start.Minutes(), End: s.End.Minutes(), Late: s.Late}
		if s.Undo {
			x.Do = "undo"
		}
		if s.Wait != nil {
			x.Wait = waitText(s.Wait)
		}
		out.Steps = append(out.Steps, x)
	}
	for _, s := range r.Stuck {
		x := StuckReport{Operation: s.Operation.String(), Because: []string{}}
		var loop []string
		for _, l := range s.Chain {
			x.Because = append(x.Because, linkText(l, l.Of.String(), l.By.String(), func(reference string) string { return reference }))
			loop = append(loop, l.Of.String())
		}
		if s.Loop {
			x.Do = breakText(s.Chain, assess.Operation.String, func(reference string) string { return reference })
		}
		out.Stuck = append(out.Stuck, x)
		if s.Loop && len(loop) > 0 && !slices.ContainsFunc(out.Loops, func(told []string) bool { return sameLoop(told, loop) }) {
			out.Loops = append(out.Loops, append(loop, loop[0]))
		}
	}
	return out
}

// sameLoop reports whether a loop that is told, with its beginning at its end, goes
// through the same operations as another.
func sameLoop(told, loop []string) bool {
	return len(told) == len(loop)+1 && !slices.ContainsFunc(loop, func(o string) bool { return !slices.Contains(told, o) })
}

// BreakLoop names the link at which a loop can be broken.
func BreakLoop(p *pack.Pack, chain []assess.Link) string {
	return Upper(breakText(chain, func(o assess.Operation) string { return Operation(p, o) }, func(reference string) string { return Named(p, reference) }))
}

// breakText prefers a lock or a closing to a need: what needs what is seldom wrong.
func breakText(chain []assess.Link, operation func(assess.Operation) string, named func(string) string) string {
	for _, l := range chain {
		if l.Kind == route.LockedUntil || l.Kind == route.LockedBy {
			return "allow " + operation(l.Of) + " under " + named(l.Lock) + ", or let another step end it"
		}
	}
	for _, l := range chain {
		switch {
		case l.Space == "":
		case l.Kind == route.ShutIn:
			return "do " + operation(l.By) + " before " + operation(l.Of) + " closes " + named(l.Space) + ", or let another step close it"
		case l.Kind == route.Works:
			return "do " + operation(l.Of) + " before " + operation(l.By) + " closes " + named(l.Space) + ", or open it again first"
		}
	}
	for k := len(chain) - 1; k >= 0; k-- {
		if l := chain[k]; l.By != (assess.Operation{}) {
			return "let " + operation(l.Of) + " not wait for " + operation(l.By)
		}
	}
	return ""
}

// WhyReport says why a step stands where it does, as scripts read it.
type WhyReport struct {
	Operation string   `json:"operation"`
	Step      int      `json:"step"`
	Because   []string `json:"because"`
}

// MakeWhy turns a chain of reasons into what scripts read. Steps are counted from 1.
func MakeWhy(op assess.Operation, step int, chain []assess.Link) *WhyReport {
	out := &WhyReport{Operation: op.String(), Step: step + 1, Because: []string{}}
	for _, l := range chain {
		out.Because = append(out.Because, linkText(l, l.Of.String(), l.By.String(), func(reference string) string { return reference }))
	}
	return out
}

// whole is a list that is never null in JSON.
func whole(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// waitText says how long a wait is and for what.
func waitText(w *assess.Wait) string {
	switch {
	case w.Length > 0 && w.For != "":
		return Duration(w.Length) + ", " + w.For
	case w.Length > 0:
		return Duration(w.Length)
	}
	return orElse(w.For, "until somebody ends it")
}

// RouteStep says a step in a builder's words: what is done, and what goes with it.
func RouteStep(p *pack.Pack, s *assess.RouteStep) (title string, facts []string) {
	title = Operation(p, s.Operation)
	switch {
	case s.Undo:
		title = "Take back: " + title
	case s.Trial:
		title += ", for trial"
	}
	if s.Idle > 0 {
		facts = append(facts, "wait first: nothing can be done for "+Duration(s.Idle.Seconds()))
	}
	if len(s.Reads) > 0 {
		facts = append(facts, "read before it: "+strings.Join(shorten(Gathered(p, s.Reads), 6), "; "))
	}
	if len(s.Closes) > 0 {
		facts = append(facts, "closes "+list(namedAll(p, s.Closes)))
	}
	if len(s.Opens) > 0 {
		facts = append(facts, "opens "+list(namedAll(p, s.Opens)))
	}
	if s.Wait != nil {
		facts = append(facts, "then wait: "+waitText(s.Wait))
	}
	if s.Late {
		facts = append(facts, "later than what comes before it allows")
	}
	return title, facts
}

func namedAll(p *pack.Pack, references []string) []string {
	var out []string
	for _, r := range references {
		out = append(out, Named(p, r))
	}
	return out
}

// Gathered names references by title, one at several places once with their number.
func Gathered(p *pack.Pack, references []string) []string {
	var order []string
	places := map[string]int{}
	first := map[string]string{}
	for _, r := range references {
		name, _, _ := strings.Cut(r, " ")
		if places[name]++; places[name] == 1 {
			order = append(order, name)
			first[name] = r
		}
	}
	var out []string
	for _, name := range order {
		if places[name] == 1 {
			out = append(out, Named(p, first[name]))
			continue
		}
		out = append(out, fmt.Sprintf("%s (%d)", Named(p, name), places[name]))
	}
	return out
}

// RouteFacts says what a whole route comes to.
func RouteFacts(r *assess.Route) string {
	says := fmt.Sprintf("%s, %s of work, %s of side, fixture or tool", Count(len(r.Steps), "step", "steps"), hours(r.Work), Count(r.Changes, "change", "changes"))
	if over := r.Finish - r.Work; over > time.Minute {
		says += "; " + hours(over) + " of waiting that nothing fills"
	}
	return says
}

func hours(d time.Duration) string { return Duration(d.Round(time.Minute).Seconds()) }

// Chain says why an operation waits or is stuck, the nearest reason first.
func Chain(p *pack.Pack, chain []assess.Link) []string {
	var out []string
	for _, l := range chain {
		out = append(out, Upper(linkText(l, Operation(p, l.Of), Operation(p, l.By), func(reference string) string { return Named(p, reference) })))
	}
	return out
}

// linkText says one link of a chain with given names.
func linkText(l assess.Link, of, by string, named func(string) string) string {
	switch l.Kind {
	case route.Needs:
		return of + " needs " + by
	case route.NeedsWait:
		return of + " waits until the wait after " + by + " is over"
	case route.NeedsGood:
		return of + " goes on top of " + by + ", which stands for trial only"
	case route.Works:
		if l.By == (assess.Operation{}) {
			return of + " works in " + named(l.Space) + ", which is closed"
		}
		return of + " works in " + named(l.Space) + ", which " + by + " closes"
	case route.ShutIn:
		if l.Space == "" {
			return of + " would shut in " + by
		}
		return of + " would close " + named(l.Space) + " over " + by
	case route.HoldUnmet:
		return of + " is held by " + named(l.Hold) + ", which is " + holdWords(l.Result)
	case route.HoldBefore:
		return of + " is held by " + named(l.Hold) + ", which can be read only before " + by
	case route.HoldAfter:
		return of + " is held by " + named(l.Hold) + ", which is read after " + by
	case route.LockedBy:
		return of + " is forbidden: " + named(l.Lock)
	case route.LockedUntil:
		return of + " is forbidden until " + by + " is done: " + named(l.Lock)
	case route.LeftInside:
		if l.By == (assess.Operation{}) {
			return of + " would shut in " + named(l.Temporary) + ", and no step that is left takes it out"
		}
		return of + " would shut in " + named(l.Temporary) + ", which " + by + " takes out"
	case route.InTime:
		return of + " must follow in time: " + by
	case route.StandsForTrial:
		return of + " stands for trial, and " + by + " keeps it from being taken back"
	case route.SameSetup:
		return of + " needs no change after " + by
	case route.FillsWait:
		return of + " is done while the wait after " + by + " runs"
	}
	return of + " comes next in the order of the pack"
}
