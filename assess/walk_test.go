package assess_test

import (
	"fmt"
	"math/rand"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
)

// yard is a small job written down a second time, as plainly as "Order and tear-back"
// says it, to hold the program's answers against. It knows no places, holds or
// temporaries.
type yard struct {
	ops    []yardOperation
	spaces []bool // true: comes closed
	locks  []yardLock
}

type yardOperation struct {
	needs, in, closes, opens []int
	trial, wait, stays       bool
}

type yardLock struct{ from, until, forbids int }

// shop is the state of a yard.
type shop struct {
	done   [8]bool
	times  [8]int // doings; a trial is for good from the second
	closed [4]bool
	locked [2]bool
	seq    [8]int
	began  [2]int
	clock  int
}

func (y *yard) start() shop {
	var s shop
	copy(s.closed[:], y.spaces)
	return s
}

// good reports whether an operation is done for good.
func (y *yard) good(s *shop, op int) bool { return s.done[op] && (!y.ops[op].trial || s.times[op] > 1) }

// before reports whether a needs b, directly or through others.
func (y *yard) before(b, a int) bool {
	for _, n := range y.ops[a].needs {
		if n == b || y.before(b, n) {
			return true
		}
	}
	return false
}

// follows reports whether a comes after b is done for good: a trial comes once more
// after what needs it only through others.
func (y *yard) follows(a, b int) bool {
	return y.before(b, a) && (!y.ops[b].trial || slices.Contains(y.ops[a].needs, b))
}

// opening and trying report whether an operation opens a space, or is a trial.
func (y *yard) opening() bool {
	return slices.ContainsFunc(y.ops, func(o yardOperation) bool { return len(o.opens) > 0 })
}

func (y *yard) trying() bool {
	return slices.ContainsFunc(y.ops, func(o yardOperation) bool { return o.trial })
}

// legal reports whether an operation may be done now, and the rule it would break.
func (y *yard) legal(s *shop, op int) (rule string) {
	x := &y.ops[op]
	if s.done[op] {
		return "is done"
	}
	for _, n := range x.needs {
		switch {
		case !s.done[n]:
			return fmt.Sprintf("needs o%d", n)
		case !y.good(s, n) && y.shareClosing(n, op):
			return fmt.Sprintf("would go on top of the trial o%d", n)
		}
	}
	for _, sp := range x.in {
		if s.closed[sp] && !slices.Contains(x.closes, sp) && !slices.Contains(x.opens, sp) {
			return fmt.Sprintf("is done in s%d, which is closed", sp)
		}
	}
	for k, l := range y.locks {
		if s.locked[k] && l.forbids == op {
			return fmt.Sprintf("is forbidden by lock l%d", k)
		}
	}
	if x.trial && s.times[op] == 0 {
		return ""
	}
	for _, sp := range x.closes {
		last := true
		for c := range y.ops {
			if c != op && slices.Contains(y.ops[c].closes, sp) && !y.good(s, c) {
				last = false
			}
		}
		for w := range y.ops {
			if last && slices.Contains(y.ops[w].in, sp) && !slices.Contains(y.ops[w].closes, sp) && !y.good(s, w) && w != op && !y.follows(w, op) {
				return fmt.Sprintf("would close s%d over o%d", sp, w)
			}
		}
	}
	return ""
}

func (y *yard) shareClosing(a, b int) bool {
	return slices.ContainsFunc(y.ops[a].closes, func(sp int) bool { return slices.Contains(y.ops[b].closes, sp) })
}

func (y *yard) do(s *shop, op int) {
	x := &y.ops[op]
	s.clock++
	s.done[op] = true
	s.times[op] = min(s.times[op]+1, 2)
	s.seq[op] = s.clock
	for _, sp := range x.opens {
		whole := y.all(s, sp)
		for c := range y.ops {
			if c != op && y.ops[c].trial && s.done[c] && slices.Contains(y.ops[c].closes, sp) && (s.times[c] == 1 || !whole) {
				s.done[c] = false
				for _, other := range y.ops[c].closes {
					if s.times[c] == 1 {
						s.closed[other] = false
					}
				}
				y.unlockFrom(s, c)
			}
		}
		s.closed[sp] = false
	}
	for _, sp := range x.closes {
		if y.all(s, sp) || x.trial && s.times[op] == 1 {
			s.closed[sp] = true
		}
	}
	y.release(s)
	for k, l := range y.locks {
		if l.from == op && !s.locked[k] {
			s.locked[k], s.began[k] = true, s.clock
		}
	}
}

// all reports whether all that closes a space is done for good.
func (y *yard) all(s *shop, sp int) bool {
	for c := range y.ops {
		if slices.Contains(y.ops[c].closes, sp) && !y.good(s, c) {
			return false
		}
	}
	return true
}

func (y *yard) unlockFrom(s *shop, op int) {
	for k, l := range y.locks {
		if l.from == op {
			s.locked[k] = false
		}
	}
}

func (y *yard) release(s *shop) {
	for k, l := range y.locks {
		if s.locked[k] && s.done[l.until] && s.seq[l.until] > s.began[k] {
			s.locked[k] = false
		}
	}
}

// again repeats what a standing lock waits for and was done before it began; -1 if
// there is nothing of the kind.
func (y *yard) again(s *shop) int {
	for k, l := range y.locks {
		if s.locked[k] && s.done[l.until] {
			s.clock++
			s.seq[l.until] = s.clock
			y.release(s)
			return l.until
		}
	}
	return -1
}

// mayUndo reports whether an operation is done for trial and is to be taken back.
func (y *yard) mayUndo(s *shop, op int) bool {
	return y.ops[op].trial && s.done[op] && s.times[op] == 1
}

// undo takes an operation back, and first every done one that needs it and closes
// something, unless that stays. It returns them in the order in which they come off.
func (y *yard) undo(s *shop, op int) (off []int) {
	for i := range y.ops {
		if s.done[i] && slices.Contains(y.ops[i].needs, op) && len(y.ops[i].closes) > 0 && !y.ops[i].stays {
			off = append(off, y.undo(s, i)...)
		}
	}
	s.clock++
	s.done[op] = false
	for _, sp := range y.ops[op].closes {
		s.closed[sp] = false
	}
	y.unlockFrom(s, op)
	return append(off, op)
}

func (y *yard) finished(s *shop) bool {
	for i := range y.ops {
		if !y.good(s, i) {
			return false
		}
	}
	return true
}

// solvable reports whether everything can be finished from a state, by trying every
// order.
func (y *yard) solvable(s shop, seen map[shop]bool) bool {
	if y.finished(&s) {
		return true
	}
	key := s
	key.clock = 0
	order := make([]int, 0, 10) // times matter only by their order
	for i := range key.seq {
		order = append(order, key.seq[i])
	}
	order = append(order, key.began[0], key.began[1])
	slices.Sort(order)
	rank := func(x int) int { i, _ := slices.BinarySearch(order, x); return i }
	if len(y.locks) == 0 {
		rank = func(int) int { return 0 }
	}
	for i := range key.seq {
		key.seq[i] = rank(key.seq[i])
	}
	key.began[0], key.began[1] = rank(key.began[0]), rank(key.began[1])
	if result, ok := seen[key]; ok {
		return result
	}
	seen[key] = false
	for op := range y.ops {
		next := s
		switch {
		case y.legal(&s, op) == "":
			y.do(&next, op)
		case y.mayUndo(&s, op):
			y.undo(&next, op)
		default:
			continue
		}
		if y.solvable(next, seen) {
			seen[key] = true
			return true
		}
	}
	if next := s; y.again(&next) >= 0 && y.solvable(next, seen) {
		seen[key] = true
		return true
	}
	return false
}

func (y *yard) text() string {
	var b strings.Builder
	list := func(attribute, kind string, of []int) {
		if len(of) == 0 {
			return
		}
		var names []string
		for _, i := range of {
			names = append(names, fmt.Sprintf("%s%d", kind, i))
		}
		fmt.Fprintf(&b, "  %s = [%s]\n", attribute, strings.Join(names, ", "))
	}
	for i, closed := range y.spaces {
		fmt.Fprintf(&b, "space \"s%d\" {\n", i)
		if closed {
			b.WriteString("  starts = \"closed\"\n")
		}
		b.WriteString("}\n")
	}
	for i, o := range y.ops {
		fmt.Fprintf(&b, "operation \"o%d\" {\n", i)
		list("needs", "operation.o", o.needs)
		list("in", "space.s", o.in)
		list("closes", "space.s", o.closes)
		list("opens", "space.s", o.opens)
		for _, f := range []struct {
			set  bool
			line string
		}{{o.trial, "trial = true"}, {o.wait, "wait = \"5 min\""}, {o.stays, "stays = true"}} {
			if f.set {
				b.WriteString("  " + f.line + "\n")
			}
		}
		b.WriteString("}\n")
	}
	for i, l := range y.locks {
		fmt.Fprintf(&b, "lock \"l%d\" {\n  from = [operation.o%d]\n  until = [operation.o%d]\n  forbids = [operation.o%d]\n}\n", i, l.from, l.until, l.forbids)
	}
	return b.String()
}

func some(r *rand.Rand, n int, chance float64) []int {
	var list []int
	for i := range n {
		if r.Float64() < chance {
			list = append(list, i)
		}
	}
	return list
}

func randomYard(r *rand.Rand) *yard {
	y := &yard{spaces: make([]bool, 1+r.Intn(3))}
	n := 3 + r.Intn(4)
	rank := r.Perm(n)
	for i := range n {
		o := yardOperation{in: some(r, len(y.spaces), 0.3), closes: some(r, len(y.spaces), 0.25)}
		for j := range n {
			if rank[j] < rank[i] && r.Float64() < 0.25 {
				o.needs = append(o.needs, j)
			}
		}
		if len(o.closes) > 0 && r.Intn(5) == 0 {
			o.trial = true
		}
		o.opens = slices.DeleteFunc(some(r, len(y.spaces), 0.1), func(s int) bool { return slices.Contains(o.closes, s) })
		o.wait, o.stays = r.Intn(8) == 0, r.Intn(8) == 0
		y.ops = append(y.ops, o)
	}
	for s := range y.spaces {
		y.spaces[s] = r.Intn(5) == 0
	}
	for range r.Intn(3) {
		if p := r.Perm(n); r.Intn(3) == 0 {
			y.locks = append(y.locks, yardLock{p[0], p[1], p[2]})
		}
	}
	return y
}

// time0 is when every walk begins.
var time0 = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// walker walks through a job by its journal.
type walker struct {
	model  *assess.Model
	events []journal.Event
}

func (w *walker) tell(body any) {
	n := len(w.events)
	w.events = append(w.events, journal.New(fmt.Sprint("w", n), time0.AddDate(0, 0, n), "walk", body))
}

func (w *walker) assess() *assess.Assessment {
	return w.model.Assess((&journal.Journal{Events: w.events}).Fold(), assess.Options{})
}

func index(o assess.Operation) int { return int(o.Name[1] - '0') }

// What is offered breaks no rule. Something is offered as long as the job can be
// finished, unless trials and reopenings are mixed: there the program is the more
// careful. And who does what is offered, in any order, comes to the end of every job
// that has one, as long as no lock, no trial and no reopening is in it.
func TestRandomWalks(t *testing.T) {
	r := rand.New(rand.NewSource(21))
	jobs, finished, refused, hopeless, trials, locks := 0, 0, 0, 0, 0, 0
	for jobs < 2000 {
		y := randomYard(r)
		text := y.text() + "pack \"walk\" {\n  title = \"walk\"\n}\n"
		p, mistakes := pack.Load([]pack.File{{Name: "walk.pack", Text: []byte(text)}}, nil)
		if len(mistakes) > 0 {
			refused++
			continue
		}
		jobs++
		model := assess.Prepare(p)
		solvable := y.solvable(y.start(), map[shop]bool{})
		if !solvable {
			hopeless++
		}
		for range 2 {
			if walk(t, r, y, model, text, solvable) {
				finished++
			}
		}
		if t.Failed() {
			return
		}
		for _, o := range y.ops {
			if o.trial {
				trials++
				break
			}
		}
		locks += len(y.locks)
	}
	t.Logf("%d jobs, %d refused on loading, %d with no end, %d walks finished, %d jobs with trials, %d locks", jobs, refused, hopeless, finished, trials, locks)
}

func walk(t *testing.T, r *rand.Rand, y *yard, model *assess.Model, text string, solvable bool) bool {
	w := &walker{model: model}
	s := y.start()
	var told []string
	for range 60 {
		a := w.assess()
		describe := func() string { return fmt.Sprintf("after %q\n%s", told, text) }
		for i, sp := range a.Spaces {
			if sp.Closed != s.closed[i] {
				t.Errorf("s%d is closed: %v, by the rules %v %s", i, sp.Closed, s.closed[i], describe())
				return false
			}
		}
		if len(a.Next)+len(a.Blocked) != countOf(len(y.ops), func(i int) bool { return !s.done[i] }) {
			t.Errorf("next %v and blocked %v are not all that is not done %s", a.Next, a.Blocked, describe())
			return false
		}
		for _, o := range a.Next {
			if rule := y.legal(&s, index(o)); rule != "" {
				t.Errorf("%s is offered and %s %s", o, rule, describe())
				return false
			}
		}
		for _, b := range a.Blocked {
			if len(b.Because) == 0 {
				t.Errorf("%s is blocked without a reason %s", b.Operation, describe())
				return false
			}
		}
		if y.finished(&s) {
			return true
		}
		undo := []int{}
		for i := range y.ops {
			if y.mayUndo(&s, i) {
				undo = append(undo, i)
			}
		}
		if len(a.Next) == 0 {
			if op := y.again(&s); op >= 0 {
				w.tell(journal.Operation{Operation: fmt.Sprint("o", op), State: journal.Done})
				told = append(told, fmt.Sprintf("o%d again", op))
				continue
			}
			for i := range y.ops {
				if y.legal(&s, i) == "" && len(undo) == 0 && !(y.opening() && y.trying()) && y.solvable(s, map[shop]bool{}) {
					t.Errorf("o%d may be done and nothing is offered: %v %s", i, a.Blocked, describe())
					return false
				}
			}
			if len(undo) == 0 {
				// A lock may be begun too early, a space be opened too early for what is
				// done in it, and what came off with a trial may belong under what stayed
				// on: such a job goes on by taking more back.
				if solvable && len(y.locks) == 0 && !y.opening() && !y.trying() {
					t.Errorf("stuck: %v %s", a.Blocked, describe())
				}
				return false
			}
		}
		if len(a.Next) == 0 { // all that a trial was for is done
			for _, op := range y.undo(&s, undo[r.Intn(len(undo))]) {
				w.tell(journal.Operation{Operation: fmt.Sprint("o", op), State: journal.Undone})
				told = append(told, fmt.Sprintf("undo o%d", op))
			}
			continue
		}
		op := index(a.Next[r.Intn(len(a.Next))])
		y.do(&s, op)
		w.tell(journal.Operation{Operation: fmt.Sprint("o", op), State: journal.Done})
		told = append(told, fmt.Sprintf("o%d", op))
		if y.ops[op].wait {
			waiting := w.assess()
			for _, o := range waiting.Next {
				if slices.Contains(y.ops[index(o)].needs, op) {
					t.Errorf("%s is offered during the wait of o%d %s", o, op, describe())
				}
			}
			w.tell(journal.Wait{Operation: fmt.Sprint("o", op), State: journal.Ended})
		}
	}
	if !(y.opening() && y.trying()) { // two trials may open each other's space for ever
		t.Errorf("the walk does not end: %q\n%s", told, text)
	}
	return false
}

func countOf(n int, is func(i int) bool) int {
	count := 0
	for i := range n {
		if is(i) {
			count++
		}
	}
	return count
}
