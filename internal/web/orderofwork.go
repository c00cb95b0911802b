package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

// orderRoutes are the pages of what comes before what: the order of work, the spaces and
// the tear-back.
func (s *Server) orderRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/route", hurry(s.orderOfWork))
	m.HandleFunc("GET /job/{job}/spaces", hurry(s.spaces))
	m.HandleFunc("GET /job/{job}/tearback", hurry(s.tearBack))
}

// routeView is the order of work as a page.
type routeView struct {
	view
	Facts string
	Done  []doneLine
	// LastDone is when the newest of them was, Hours what was written down as worked.
	LastDone, Hours string
	Steps           []orderStep
	Waits           []obstacle
	Stuck           []stuckGroup
	// Next is the first of all steps, nil on a page that begins later.
	Next *orderStep
	// From and To are the part of the order that is shown, Of how long it is.
	From, To, Of int
}

// doneLine is an operation that is done.
type doneLine struct {
	Number, Title, Says, Address string
	Closed                       []string
}

// orderStep is one step of the order of work.
type orderStep struct {
	assess.RouteStep
	Number, Title, Time, Address string
	// Class and Sign are how it is drawn on the rule.
	Class, Sign string
	Idle        string
	Facts       []orderFact
	Gates       []stepGate
	// Key is its name in the address of the page; Why is told when that is asked.
	Key     string
	Asked   bool
	Why     []string
	SetUp   string
	WhyPath string
}

// orderFact is a line below a step.
type orderFact struct{ Sign, Ink, Says string }

// stepGate is a space that a step closes.
type stepGate struct {
	Says, Address string
	Left          int
}

// stuckGroup is work that no order can finish, all for the same reason.
type stuckGroup struct {
	Chain []chainLine
	Loop  bool
	// Breaks says what could be done about it.
	Breaks  string
	Waiting []obstacle
}

// chainLine is one link, with where to see to it; Here marks the one that can be broken.
type chainLine struct {
	Says, Address string
	Here          bool
}

func (s *Server) orderOfWork(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &routeView{view: s.view(r, "route", sh)}
	v.Title, v.Also = "Order of work", []string{"work.css"}
	v.fill(r.URL.Query().Get("why"), r.URL.Query().Get("from"))
	s.show(w, r, http.StatusOK, routePage(v))
}

func (v *routeView) fill(why, from string) {
	sh := v.Sheet
	route := sh.A.Route()
	v.Facts = words.WorkFacts(route)
	if len(route.Steps) == 0 {
		v.Facts = "Nothing can be done now"
		if len(route.Stuck) == 0 {
			v.Facts = "Nothing is left to be done"
		}
	}
	v.done()
	v.part(route, from)
	for i := v.From; i < v.To; i++ {
		v.Steps = append(v.Steps, v.step(route, i, why))
	}
	if v.From == 0 && len(v.Steps) > 0 {
		v.Next = &v.Steps[0]
	}
	for i := range sh.A.Waits {
		w := &sh.A.Waits[i]
		v.Waits = append(v.Waits, obstacle{words.WaitIn(sh.pack.Pack, w, v.Now), doPath(sh, w.Operation)})
	}
	v.Stuck = sh.stuckGroups(route)
}

// stepsAtOnce keeps a page light enough for a phone far from the shop's Wi-Fi.
const stepsAtOnce = 160

// part chooses the steps that one page holds.
func (v *routeView) part(route *assess.Route, from string) {
	v.Of = len(route.Steps)
	if k, err := strconv.Atoi(from); err == nil && k > 0 && k < v.Of {
		v.From = k - k%stepsAtOnce
	}
	v.To = min(v.From+stepsAtOnce, v.Of)
}

// address is that of the same order from another step on.
func (v *routeView) address(from int, more ...string) string {
	if from > 0 {
		more = append(more, "from", strconv.Itoa(from))
	}
	return query(jobPath(v.Sheet.Job.ID, "route"), more...)
}

// done lists what is done, the newest last.
func (v *routeView) done() {
	sh := v.Sheet
	newest := map[assess.Operation]*journal.OperationRecord{}
	for i := range sh.State.Operations {
		rec := &sh.State.Operations[i]
		newest[assess.Operation{Name: strings.TrimPrefix(rec.Operation, "operation."), Place: rec.Place}] = rec
	}
	var list []assess.Operation
	for op, rec := range newest {
		if rec.State == journal.Done && sh.operation(op.Name) != nil {
			list = append(list, op)
		}
	}
	slices.SortFunc(list, func(a, b assess.Operation) int { return newest[a].Seq - newest[b].Seq })
	for _, op := range list {
		rec := newest[op]
		x := doneLine{Says: words.DoneWhen(rec.At, rec.By, rec.Late), Address: doPath(sh, op)}
		x.Number, x.Title = words.NumberAndTitle(sh.pack.Pack, op)
		for _, sp := range sh.closes(sh.operation(op.Name), op.Place) {
			if sp.Closed {
				x.Closed = append(x.Closed, words.Title(sp.Title, sp.Place))
			}
		}
		v.Done = append(v.Done, x)
		v.LastDone = x.Says
	}
	var worked time.Duration
	for _, t := range sh.State.Times {
		worked += time.Duration(t.Minutes * float64(time.Minute))
	}
	if worked > 0 {
		v.Hours = words.HoursMinutes(worked)
	}
}

// step makes one row of the order.
func (v *routeView) step(route *assess.Route, i int, why string) orderStep {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	s := &route.Steps[i]
	op := sh.operation(s.Operation.Name)
	x := orderStep{RouteStep: *s, Address: doPath(sh, s.Operation), Key: s.Operation.String(), Class: "ahead", Sign: "todo", Idle: words.StepIdle(s), SetUp: words.SetUp(op)}
	x.Number, x.Title = words.NumberAndTitle(p, s.Operation)
	if took := s.End - s.Start; took >= time.Minute {
		x.Time = words.HoursMinutes(took)
	}
	switch {
	case s.Undo:
		x.Sign, x.Title = "tear", "Take back: "+x.Title
	case s.Trial:
		x.Title += ", for trial"
	}
	add := func(sign, ink, says string) {
		if says != "" {
			x.Facts = append(x.Facts, orderFact{sign, ink, says})
		}
	}
	if !s.Undo {
		v.before(&x, route, i, op)
		if len(s.Reads) > 0 {
			x.Sign, x.Class = "hold", "hp"
			add("", "", words.StepReads(p, s))
		}
		for _, w := range op.Within {
			for _, place := range sh.reach(op.At, s.Operation.Place, sh.operationAt(w.Operation)) {
				add("wait", "worn", words.StepInTime(p, assess.Operation{Name: w.Operation, Place: place}, w.Time))
			}
		}
		v.locks(&x, op)
	}
	for _, c := range s.Closes {
		name, place, _ := strings.Cut(c, " ")
		x.Gates = append(x.Gates, stepGate{words.Named(p, c), spacesPath(sh, strings.TrimPrefix(name, "space."), place), sh.leftInside(c)})
	}
	for _, o := range s.Opens {
		add("open", "blue", words.Named(p, o)+" is open again")
	}
	if len(s.Closes) > 0 {
		x.Class, x.Sign = "gate", "closing"
	}
	add("wait", "", words.StepWait(s))
	if s.Late {
		add("wait", "worn", "Later than what comes before it allows")
	}
	if fillsWait(route, i) {
		x.Class += " during"
	}
	if i == 0 {
		x.Class, x.Sign = x.Class+" now", "next"
	}
	if x.Asked = why != "" && why == x.key(); x.Asked {
		x.Why = v.why(s)
		x.WhyPath = v.address(v.From)
	} else {
		x.WhyPath = v.address(v.From, "why", x.key())
	}
	return x
}

// key names a step: an operation may stand in an order more than once.
func (x *orderStep) key() string {
	switch {
	case x.Undo:
		return x.Key + " back"
	case x.Trial:
		return x.Key + " trial"
	}
	return x.Key
}

// before names the waits that a step comes after.
func (v *routeView) before(x *orderStep, route *assess.Route, i int, op *pack.Operation) {
	for _, need := range op.Needs {
		name := strings.TrimPrefix(need, "operation.")
		for _, place := range v.Sheet.reach(op.At, x.Operation.Place, v.Sheet.operationAt(name)) {
			for k := range i {
				if b := &route.Steps[k]; b.Operation == (assess.Operation{Name: name, Place: place}) && !b.Undo && b.Wait != nil {
					x.Facts = append(x.Facts, orderFact{"wait", "", words.StepWaitsFor(v.Sheet.pack.Pack, b.Operation, b.Wait)})
					break
				}
			}
		}
	}
}

// fillsWait says whether a step is done while the wait after an earlier one runs.
func fillsWait(route *assess.Route, i int) bool {
	for k := range i {
		b := &route.Steps[k]
		if b.Wait != nil && b.Wait.Length > 0 && b.End+time.Duration(b.Wait.Length*float64(time.Second)) > route.Steps[i].Start {
			return true
		}
	}
	return false
}

// locks says which locks begin or end with a step.
func (v *routeView) locks(x *orderStep, op *pack.Operation) {
	sh := v.Sheet
	for _, l := range sh.pack.Locks {
		for _, member := range members(sh.pack.Pack, l.At) {
			at := func(name string) bool {
				name = strings.TrimPrefix(name, "operation.")
				return name == op.Name && slices.Contains(sh.reach(l.At, member, op.At), x.Operation.Place)
			}
			for _, from := range l.From {
				if at(from) {
					x.Facts = append(x.Facts, orderFact{"block", "worn", words.StepLocks(sh.pack.Pack, l, member, true)})
				}
			}
			for _, until := range l.Until {
				if until.Kind == "operation" && at(until.Name) {
					x.Facts = append(x.Facts, orderFact{"done", "blue", words.StepLocks(sh.pack.Pack, l, member, false)})
				}
			}
		}
	}
}

// operationAt is the place that an operation stands at.
func (s *sheet) operationAt(name string) string {
	if op := s.operation(name); op != nil {
		return op.At
	}
	return ""
}

// leftInside counts what is still to do inside a space.
func (s *sheet) leftInside(reference string) int {
	for i := range s.A.Spaces {
		if sp := &s.A.Spaces[i]; spaceReference(sp) == reference {
			return len(sp.Unfinished)
		}
	}
	return 0
}

func spaceReference(sp *assess.Space) string {
	return strings.TrimSpace("space." + sp.Name + " " + sp.Place)
}

// why tells why a step stands where it does.
func (v *routeView) why(s *assess.RouteStep) []string {
	sh := v.Sheet
	if s.Undo {
		return []string{words.WhyTakenBack(sh.pack.Pack, s, sh.operation(s.Operation.Name).Trial)}
	}
	chain, _, _, known := sh.pack.model.WhyHere(sh.State, assess.Options{Now: sh.made}, s.Operation)
	if says := words.Chain(sh.pack.Pack, chain); known && len(says) > 0 {
		return says
	}
	if s.Trial {
		return []string{words.WhyTrial}
	}
	return []string{words.WhyNow}
}

// stuckGroups puts together what is stuck for the same reason; the chain of each is that
// of the operation nearest to the reason.
func (s *sheet) stuckGroups(route *assess.Route) []stuckGroup {
	type group struct {
		stuck []*assess.Stuck
		least *assess.Stuck
	}
	var order []string
	groups := map[string]*group{}
	for i := range route.Stuck {
		x := &route.Stuck[i]
		key := x.Operation.String()
		if n := len(x.Chain); n > 0 {
			key = linkKey(x.Chain[n-1])
			if x.Loop {
				key = loopKey(x.Chain)
			}
		}
		g := groups[key]
		if g == nil {
			g = &group{}
			groups[key] = g
			order = append(order, key)
		}
		g.stuck = append(g.stuck, x)
		if g.least == nil || len(x.Chain) < len(g.least.Chain) {
			g.least = x
		}
	}
	var list []stuckGroup
	for _, key := range order {
		g := groups[key]
		out := stuckGroup{Loop: g.least.Loop}
		at, breaks := words.Breaks(s.pack.Pack, g.least.Chain)
		out.Breaks = breaks
		for k, says := range words.Chain(s.pack.Pack, g.least.Chain) {
			out.Chain = append(out.Chain, chainLine{says, s.linkAddress(g.least.Chain[k]), k == at})
		}
		for _, x := range g.stuck {
			if x != g.least {
				out.Waiting = append(out.Waiting, obstacle{words.Operation(s.pack.Pack, x.Operation), doPath(s, x.Operation)})
			}
		}
		list = append(list, out)
	}
	return list
}

func linkKey(l assess.Link) string {
	return strings.Join([]string{strconv.Itoa(int(l.Kind)), l.Of.String(), l.By.String(), l.Space, l.Hold, l.Lock, l.Temporary}, "|")
}

// loopKey is the same for a loop wherever it is entered.
func loopKey(chain []assess.Link) string {
	var list []string
	for _, l := range chain {
		list = append(list, l.Of.String())
	}
	slices.Sort(list)
	return "loop " + strings.Join(list, "|")
}

// linkAddress is where a link can be seen to: the value that holds, else the operation.
func (s *sheet) linkAddress(l assess.Link) string {
	if l.Hold != "" {
		if at := s.addressOf(l.Hold); at != "" {
			return at
		}
	}
	return doPath(s, l.Of)
}

// slug makes a name for an element of a reference.
func slug(reference string) string {
	return strings.NewReplacer(" ", "-", ".", "-").Replace(reference)
}

// heldNext is the operation that waits for nothing but what it holds, where nothing can be
// done before something is read.
func (s *sheet) heldNext() *assess.Operation {
	for i := range s.A.Blocked {
		b := &s.A.Blocked[i]
		if len(b.Because) > 0 && !slices.ContainsFunc(b.Because, func(r assess.Reason) bool { return r.Kind != assess.Hold }) {
			return &b.Operation
		}
	}
	return nil
}
