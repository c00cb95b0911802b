package assess_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
)

// rulebook is the rules of order written down a second time, from docs/pack-language.md and
// in the names of the pack. It shares nothing with the planner or with the assessment.
type rulebook struct {
	pack   *pack.Pack
	stands map[assess.Operation]bool // which operations are part of this job
	closed bool                      // all spaces start closed
	events []deed

	blocks  map[string]*pack.Operation
	list    []assess.Operation // all that stand
	needed  map[[2]assess.Operation]bool
	volumes map[string][]spot // spaces, by operation and what it does to them
}

type deed struct {
	op   assess.Operation
	undo bool
}

type spot struct{ name, place string }

// stand is how things are after some deeds.
type stand struct {
	done, byJob map[any]bool
	closed      map[spot]bool
	times, when map[assess.Operation]int
	since       map[spot]int // locks that stand
	inside      map[string][]deedAt
}

type deedAt struct {
	op   assess.Operation
	when int
}

func (s *rulebook) members(place string) []string {
	if place == "" {
		return []string{""}
	}
	for _, p := range s.pack.Places {
		if p.Name == place {
			return p.Kind.Members
		}
	}
	return nil
}

// up is the member of a place above that holds a member; false where it is not above.
func (s *rulebook) up(from, member, to string) (string, bool) {
	for range 10 {
		if from == to {
			return member, true
		}
		var kind *pack.Place
		for _, p := range s.pack.Places {
			if p.Name == from {
				kind = p
			}
		}
		if kind == nil || kind.Kind.Parent == "" {
			return "", to == ""
		}
		member, from = kind.Kind.Of[member], kind.Kind.Parent
	}
	return "", false
}

// reach is at which places a reference is meant: the same, else the parent, else every
// member below, else every member.
func (s *rulebook) reach(from, member, to string) []string {
	if m, ok := s.up(from, member, to); ok {
		return []string{m}
	}
	var below []string
	for _, m := range s.members(to) {
		up, ok := s.up(to, m, from)
		if !ok {
			return s.members(to) // the two have nothing to do with each other
		}
		if up == member {
			below = append(below, m)
		}
	}
	return below
}

func (s *rulebook) block(op assess.Operation) *pack.Operation {
	if s.blocks == nil {
		s.blocks = map[string]*pack.Operation{}
		for _, o := range s.pack.Operations {
			s.blocks[o.Name] = o
		}
	}
	return s.blocks[op.Name]
}

// operations are those that a list of names means from an operation.
func (s *rulebook) operations(at, place string, names []string) []assess.Operation {
	var list []assess.Operation
	for _, n := range names {
		o := s.block(assess.Operation{Name: n})
		for _, m := range s.reach(at, place, o.At) {
			if op := (assess.Operation{Name: n, Place: m}); s.stands[op] {
				list = append(list, op)
			}
		}
	}
	return list
}

func (s *rulebook) spaces(op assess.Operation, names []string) []spot {
	key := op.String() + strings.Join(names, ",")
	if list, known := s.volumes[key]; known {
		return list
	}
	o := s.block(op)
	var list []spot
	for _, n := range names {
		for _, sp := range s.pack.Spaces {
			if sp.Name == n {
				for _, m := range s.reach(o.At, op.Place, sp.At) {
					list = append(list, spot{n, m})
				}
			}
		}
	}
	if s.volumes == nil {
		s.volumes = map[string][]spot{}
	}
	s.volumes[key] = list
	return list
}

func (s *rulebook) all() []assess.Operation {
	if s.list != nil {
		return s.list
	}
	var list []assess.Operation
	for _, o := range s.pack.Operations {
		for _, m := range s.members(o.At) {
			if op := (assess.Operation{Name: o.Name, Place: m}); s.stands[op] {
				list = append(list, op)
			}
		}
	}
	s.list = list
	return list
}

func (s *rulebook) closers(sp spot) []assess.Operation {
	return slices.DeleteFunc(slices.Clone(s.all()), func(o assess.Operation) bool { return !slices.Contains(s.spaces(o, s.block(o).Closes), sp) })
}

func (s *rulebook) good(x *stand, op assess.Operation) bool {
	return x.done[op] && !(s.block(op).Trial && x.times[op] < 2)
}

// needs reports whether an operation needs another, directly or through others.
func (s *rulebook) needs(a, b assess.Operation) bool {
	if s.needed == nil {
		s.needed = map[[2]assess.Operation]bool{}
	}
	key := [2]assess.Operation{a, b}
	is, known := s.needed[key]
	if !known {
		is = s.leadsTo(a, b)
		s.needed[key] = is
	}
	return is
}

func (s *rulebook) leadsTo(a, b assess.Operation) bool {
	seen := map[assess.Operation]bool{}
	for queue := []assess.Operation{a}; len(queue) > 0; queue = queue[1:] {
		for _, n := range s.operations(s.block(queue[0]).At, queue[0].Place, s.block(queue[0]).Needs) {
			if n == b {
				return true
			}
			if !seen[n] {
				seen[n] = true
				queue = append(queue, n)
			}
		}
	}
	return false
}

// after reports whether an operation comes after another was done for good.
func (s *rulebook) after(a, b assess.Operation) bool {
	return s.needs(a, b) && (!s.block(b).Trial || slices.Contains(s.operations(s.block(a).At, a.Place, s.block(a).Needs), b))
}

// worksIn reports whether an operation is in a space and does not close it.
func (s *rulebook) worksIn(op assess.Operation, sp spot) bool {
	o := s.block(op)
	return slices.Contains(s.spaces(op, o.In), sp) && !slices.Contains(s.spaces(op, o.Closes), sp)
}

func (s *rulebook) look() *stand {
	x := &stand{map[any]bool{}, map[any]bool{}, map[spot]bool{}, map[assess.Operation]int{}, map[assess.Operation]int{}, map[spot]int{}, map[string][]deedAt{}}
	for _, sp := range s.pack.Spaces {
		for _, m := range s.members(sp.At) {
			x.closed[spot{sp.Name, m}] = s.closed || sp.StartsClosed
		}
	}
	for n, d := range s.events {
		s.apply(x, d, n+1)
	}
	return x
}

func (s *rulebook) apply(x *stand, d deed, clock int) {
	if !d.undo {
		s.doing(x, d.op, clock)
	} else {
		for _, sp := range s.spaces(d.op, s.block(d.op).Closes) {
			if x.done[d.op] || !x.byJob[sp] {
				x.closed[sp] = false
			}
		}
		x.done[d.op] = false
	}
	s.locks(x, d, clock)
}

func (s *rulebook) doing(x *stand, op assess.Operation, clock int) {
	o := s.block(op)
	x.done[op], x.when[op] = true, clock
	x.times[op]++
	for _, sp := range s.spaces(op, o.Opens) {
		whole := !slices.ContainsFunc(s.closers(sp), func(c assess.Operation) bool { return !s.good(x, c) })
		for _, c := range s.closers(sp) { // a trial that closes it is ended, and one done again on which nothing was closed yet
			if c == op || !s.block(c).Trial || !x.done[c] || s.good(x, c) && whole {
				continue
			}
			if !s.good(x, c) {
				for _, other := range s.spaces(c, s.block(c).Closes) {
					x.closed[other] = false
				}
			}
			x.done[c] = false
		}
		x.closed[sp] = false
	}
	for _, sp := range s.spaces(op, o.Closes) {
		whole := !slices.ContainsFunc(s.closers(sp), func(c assess.Operation) bool { return !s.good(x, c) })
		if whole || o.Trial && x.times[op] == 1 {
			x.closed[sp], x.byJob[sp] = true, true
		}
	}
}

// locks begins and ends locks. A check is answered when what holds it is done.
func (s *rulebook) locks(x *stand, d deed, clock int) {
	for _, l := range s.pack.Locks {
		for _, m := range s.members(l.At) {
			k := spot{l.Name, m}
			from := s.operations(l.At, m, l.From)
			switch {
			case x.since[k] == 0:
				if !d.undo && slices.Contains(from, d.op) {
					x.since[k] = clock
				}
				continue
			case !slices.ContainsFunc(from, func(f assess.Operation) bool { return x.done[f] }):
				x.since[k] = 0
				continue
			}
			over := true
			for _, u := range l.Until {
				if u.Kind == "operation" {
					for _, op := range s.operations(l.At, m, []string{u.Name}) {
						over = over && x.done[op] && x.when[op] > x.since[k]
					}
					continue
				}
				for _, op := range s.all() { // some operation that holds the check was done since
					for _, h := range s.block(op).Holds {
						if h.Kind == "check" && h.Name == u.Name && slices.ContainsFunc(s.reach(s.block(op).At, op.Place, s.checkAt(u.Name)), func(c string) bool { return slices.Contains(s.reach(l.At, m, s.checkAt(u.Name)), c) }) {
							over = over && x.done[op] && x.when[op] > x.since[k]
						}
					}
				}
			}
			if over {
				x.since[k] = 0
			}
		}
	}
}

func (s *rulebook) checkAt(name string) string {
	for _, c := range s.pack.Checks {
		if c.Name == name {
			return c.At
		}
	}
	return ""
}

// breaks says which rule doing an operation now would break; empty for none.
func (s *rulebook) breaks(x *stand, op assess.Operation) string {
	o := s.block(op)
	if x.done[op] {
		return "is done already"
	}
	for _, n := range s.operations(o.At, op.Place, o.Needs) {
		if !x.done[n] {
			return "needs " + n.String()
		}
	}
	for _, sp := range s.spaces(op, o.In) {
		if x.closed[sp] && !slices.Contains(s.spaces(op, o.Closes), sp) && !slices.Contains(s.spaces(op, o.Opens), sp) {
			return "works in " + sp.name + ", which is closed"
		}
	}
	trial := o.Trial && x.times[op] == 0
	for _, sp := range s.spaces(op, o.Closes) {
		last := !slices.ContainsFunc(s.closers(sp), func(c assess.Operation) bool { return c != op && !s.good(x, c) && !s.after(op, c) })
		for _, w := range s.all() {
			if last && !trial && w != op && s.worksIn(w, sp) && !s.good(x, w) && !s.after(w, op) {
				return "closes " + sp.name + " over " + w.String()
			}
		}
		if t := s.leftIn(x, op, sp); (last || trial) && t != "" {
			return "shuts in " + t
		}
	}
	for _, l := range s.pack.Locks {
		for _, m := range s.members(l.At) {
			if x.since[spot{l.Name, m}] > 0 && slices.Contains(s.operations(l.At, m, l.Forbids), op) {
				return "is forbidden by " + l.Name
			}
		}
	}
	return ""
}

// leftIn names a temporary that was put into a space, at the same place, and is not out.
func (s *rulebook) leftIn(x *stand, closing assess.Operation, sp spot) string {
	for _, t := range s.pack.Temporaries {
		later := false
		for _, o := range s.all() {
			later = later || slices.Contains(s.block(o).TakesOut, t.Name) && (o == closing || s.needs(o, closing))
		}
		if later {
			continue
		}
		for _, put := range s.all() {
			if !x.done[put] || !slices.Contains(s.block(put).PutsIn, t.Name) {
				continue
			}
			in := s.spaces(put, s.block(put).In)
			if len(in) > 0 && !slices.Contains(in, sp) {
				continue
			}
			var handled []assess.Operation // at the same place, in their order
			for _, o := range s.all() {
				if x.done[o] && (slices.Contains(s.block(o).PutsIn, t.Name) && o.Place == put.Place || s.takes(o, t.Name, put)) {
					handled = append(handled, o)
				}
			}
			slices.SortFunc(handled, func(a, b assess.Operation) int { return x.when[a] - x.when[b] })
			var still []assess.Operation // first in, first out
			for _, o := range handled {
				if !s.takes(o, t.Name, put) {
					still = append(still, o)
				} else if len(still) > 0 {
					still = still[1:]
				}
			}
			if slices.Contains(still, put) {
				return t.Name
			}
		}
	}
	return ""
}

// takes reports whether an operation takes a temporary out of where another put it.
func (s *rulebook) takes(o assess.Operation, name string, put assess.Operation) bool {
	return slices.Contains(s.block(o).TakesOut, name) && slices.Contains(s.reach(s.block(o).At, o.Place, s.block(put).At), put.Place)
}

// keepOn says why an operation is not to be taken back now; empty if it may be.
func (s *rulebook) keepOn(x *stand, op assess.Operation) string {
	for _, sp := range s.spaces(op, s.block(op).In) {
		if x.closed[sp] && s.worksIn(op, sp) {
			return "is in " + sp.name + ", which is closed"
		}
	}
	for _, o := range s.all() {
		y := s.block(o)
		if x.done[o] && !y.Stays && len(y.Fits)+len(y.Tightens)+len(y.Closes) > 0 && slices.Contains(s.operations(y.At, o.Place, y.Needs), op) {
			return "is under " + o.String()
		}
	}
	return ""
}

// follow walks through a route and says what it breaks; empty for nothing.
func (s *rulebook) follow(r *assess.Route, a *assess.Assessment) string {
	over := map[assess.Operation]time.Duration{}
	for _, w := range a.Waits {
		over[w.Operation] = max(0, w.Due.Sub(a.Now))
	}
	now, changes := time.Duration(0), 0
	before := [3]string{}
	if last := a.Point.Last; last.Name != "" {
		o := s.block(last)
		before = [3]string{o.Side, o.Fixture, o.Tool}
	}
	open := map[string]bool{} // held and not known yet
	for _, b := range a.Blocked {
		for _, why := range b.Because {
			if why.Kind == assess.Hold {
				open[why.Of] = true
			}
		}
	}
	x := s.look()
	for k, st := range r.Steps {
		o := s.block(st.Operation)
		for _, ref := range st.Reads {
			delete(open, ref)
		}
		rule := ""
		if st.Undo {
			rule = s.keepOn(x, st.Operation)
		} else {
			rule = s.breaks(x, st.Operation)
			for _, n := range s.operations(o.At, st.Operation.Place, o.Needs) {
				if over[n] > st.Start {
					rule = "comes before the wait after " + n.String() + " is over"
				}
			}
			for _, h := range o.Holds {
				for ref := range open {
					if name, place, _ := strings.Cut(ref, " "); name == h.Kind+"."+h.Name && (place == "" || slices.Contains(st.Holds, ref)) {
						rule = "is done before " + ref + " is known"
					}
				}
			}
		}
		if st.Start < now {
			rule = "starts before the step ahead of it ends"
		}
		if rule != "" {
			return fmt.Sprintf("step %d: %s %s", k+1, st.Operation, rule)
		}
		setup := [3]string{o.Side, o.Fixture, o.Tool}
		if before != [3]string{} || k > 0 {
			for i := range setup {
				if setup[i] != before[i] && setup[i] != "" && before[i] != "" {
					changes++
				}
			}
		}
		before = setup
		s.apply(x, deed{st.Operation, st.Undo}, len(s.events)+k+1)
		if now = st.End; !st.Undo && (o.HasWait || o.WaitsFor != "") {
			over[st.Operation] = st.End + time.Duration(o.Wait*float64(time.Second))
		}
	}
	if changes != r.Changes {
		return fmt.Sprintf("it counts %d changes, and there are %d", r.Changes, changes)
	}
	for _, op := range s.all() {
		if !s.good(x, op) && !slices.ContainsFunc(r.Stuck, func(k assess.Stuck) bool { return k.Operation == op }) {
			return op.String() + " is never done, and nobody says why"
		}
	}
	return ""
}

// wanderer goes through a job at random, by what the assessment lets it do.
type wanderer struct {
	*rand.Rand
	model    *assess.Model
	passing  map[string]string
	evidence map[string][]string // lines of readings, by reference
	lines    []string
	rulebook *rulebook
	n        int
}

func (w *wanderer) write(format string, arguments ...any) {
	w.n++
	w.lines = append(w.lines, fmt.Sprintf(`{"id":"walk-%d","at":"2029-01-01T08:00:00Z","by":"bench",%s}`, w.n, fmt.Sprintf(format, arguments...)))
}

// prove writes down what the blocked operations hold.
func (w *wanderer) prove(a *assess.Assessment) {
	for _, b := range a.Blocked {
		for _, why := range b.Because {
			if why.Kind == assess.Hold {
				w.proveOne(why.Of)
			}
		}
	}
	for i := range a.Results {
		if a.Results[i].Stale != nil {
			w.proveOne(strings.TrimSpace(a.Results[i].Reference() + " " + a.Results[i].Place))
		}
	}
}

func (w *wanderer) proveOne(ref string) {
	name, place, _ := strings.Cut(ref, " ")
	if answer, ok := w.passing[name]; ok {
		w.write(`"kind":"check","of":%q,"place":%q,"answer":%q`, strings.TrimPrefix(name, "check."), place, answer)
	}
	for _, line := range w.evidence[ref] {
		w.n++
		w.lines = append(w.lines, fmt.Sprintf(`{"id":"walk-%d",%s`, w.n, line))
	}
}

// step makes one random step; false at the end of the job.
func (w *wanderer) step(a *assess.Assessment) bool {
	if w.Float64() < 0.5 || len(a.Next) == 0 {
		w.prove(a)
	}
	if len(a.Waits) > 0 && (w.Float64() < 0.3 || len(a.Next) == 0) {
		x := a.Waits[w.IntN(len(a.Waits))]
		w.write(`"kind":"wait","operation":%q,"place":%q,"state":"ended"`, x.Operation.Name, x.Operation.Place)
		return true
	}
	if len(a.Next) == 0 || w.Float64() < 0.1 {
		if steps := a.Route().Steps; len(steps) == 0 {
			return false
		} else if steps[0].Undo {
			w.deed(steps[0].Operation, true)
			return true
		}
	}
	if len(a.Next) > 0 {
		op := a.Next[w.IntN(len(a.Next))]
		for _, h := range w.rulebook.block(op).Holds { // a look that a lock waits for is taken now
			if h.Kind == "check" {
				for _, m := range w.rulebook.reach(w.rulebook.block(op).At, op.Place, w.rulebook.checkAt(h.Name)) {
					w.proveOne(strings.TrimSpace("check." + h.Name + " " + m))
				}
			}
		}
		w.deed(op, false)
	}
	return true
}

func (w *wanderer) deed(op assess.Operation, undo bool) {
	state := "done"
	if undo {
		state = "undone"
	}
	w.write(`"kind":"operation","operation":%q,"place":%q,"state":%q`, op.Name, op.Place, state)
	w.rulebook.events = append(w.rulebook.events, deed{op, undo})
}

// startWalk begins a job with everything read that was read in the finished one.
func startWalk(id string, seed uint64, m *assess.Model, assembled bool) *wanderer {
	p := m.Assess(journal.Read(nil).Fold(), assess.Options{}).Pack
	w := &wanderer{Rand: rand.New(rand.NewPCG(seed, 1)), model: m, passing: passingAnswers(m), evidence: map[string][]string{}, rulebook: &rulebook{pack: p, closed: assembled}}
	text, _ := packs.Journal(id, "whole-job")
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		switch {
		case strings.Contains(line, `"kind":"reading"`):
			s := journal.Read([]byte(line)).Fold()
			if len(s.Readings) == 1 {
				ref := strings.TrimSpace("dimension." + strings.TrimPrefix(s.Readings[0].Of, "dimension.") + " " + s.Readings[0].Place)
				_, rest, _ := strings.Cut(line, ",")
				w.evidence[ref] = append(w.evidence[ref], rest)
			}
			w.lines = append(w.lines, line)
		case strings.Contains(line, `"kind":"operation"`), strings.Contains(line, `"kind":"wait"`), strings.Contains(line, `"kind":"job"`):
		default:
			w.lines = append(w.lines, line)
		}
	}
	if assembled {
		w.write(`"kind":"job","title":"x","assembled":true`)
		w.write(`"kind":"option","option":"arrived","choice":"assembled"`)
	}
	a := m.Assess(w.state(), assess.Options{})
	w.rulebook.stands = map[assess.Operation]bool{}
	for _, op := range a.Next {
		w.rulebook.stands[op] = true
	}
	for _, b := range a.Blocked {
		w.rulebook.stands[b.Operation] = true
	}
	return w
}

// carried is a pack that the program carries.
func carried(t testing.TB, id string) *pack.Pack {
	t.Helper()
	files, ok := packs.Find(id)
	if !ok {
		t.Fatalf("%s is not carried", id)
	}
	return loadFiles(t, files, nil)
}

func (w *wanderer) state() *journal.State {
	return journal.Read([]byte(strings.Join(w.lines, "\n"))).Fold()
}

// From random states of the demo job and of the single, which an assessment lets one
// reach, the planned route breaks no rule, as a second set of rules sees it, and is the
// same each time. BUTTONUP_TORTURE_WALKS=1000 goes through as many states.
func TestRoutesFromRandomStatesBreakNoRule(t *testing.T) {
	states := 40
	if n, err := strconv.Atoi(os.Getenv("BUTTONUP_TORTURE_WALKS")); err == nil {
		states = n
	}
	for _, c := range []struct {
		id        string
		assembled bool
		share     int
	}{{packs.Demo, false, 1}, {packs.Demo, true, 4}, {"aldermoor-s575", false, 4}, {"aldermoor-s575", true, 4}} {
		t.Run(fmt.Sprintf("%s assembled %v", c.id, c.assembled), func(t *testing.T) {
			m, other := assess.Prepare(carried(t, c.id)), assess.Prepare(carried(t, c.id))
			seen, steps := 0, 0
			for seed := uint64(1); seen < states/c.share; seed++ {
				w := startWalk(c.id, seed, m, c.assembled)
				for more := true; more && seen < states/c.share; {
					s := w.state()
					now := assess.Options{Now: time.Date(2030, 1, 1, 8, 0, 0, 0, time.UTC)}
					a := m.Assess(s, now)
					if w.IntN(3) == 0 || len(a.Next)+len(a.Waits) == 0 {
						r := a.Route()
						seen++
						steps += len(r.Steps)
						kept := len(w.rulebook.events)
						if says := w.rulebook.follow(r, a); says != "" {
							t.Fatalf("seed %d after %d deeds: %s", seed, kept, says)
						}
						if len(r.Stuck) > 0 {
							t.Fatalf("seed %d after %d deeds: %+v is stuck", seed, kept, r.Stuck[0])
						}
						if seen%10 == 0 {
							if again, _ := other.Route(w.state(), now); !reflect.DeepEqual(r, again) {
								t.Fatalf("seed %d after %d deeds: another route of the same job", seed, kept)
							}
						}
					}
					more = w.step(a)
				}
			}
			if steps < seen*10 {
				t.Errorf("%d states have %d steps: nothing was walked through", seen, steps)
			}
			t.Logf("%d states, %d steps", seen, steps)
		})
	}
}
