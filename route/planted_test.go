package route_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/route"
)

const (
	minute = time.Minute
	day    = 24 * time.Hour
)

func plain(d time.Duration, needs ...int) route.Operation {
	return route.Operation{Needs: needs, Duration: d}
}

func (o opened) with(f func(x *route.Operation)) route.Operation { f(&o.Operation); return o.Operation }

type opened struct{ route.Operation }

// words tells a chain in short: the kind, whom it is about, and whom that waits for.
func words(chain []route.Reason) string {
	names := map[route.ReasonKind]string{
		route.Needs: "needs", route.NeedsWait: "waits after", route.NeedsGood: "goes on top of", route.Works: "works in what is shut by", route.ShutIn: "would shut in",
		route.HoldUnmet: "holds", route.HoldBefore: "is read before", route.HoldAfter: "is read after", route.LockedBy: "is forbidden from", route.LockedUntil: "is forbidden until",
		route.LeftInside: "would leave inside what is taken out by", route.InTime: "in time after", route.StandsForTrial: "is kept on by", route.SameSetup: "same set-up as", route.FillsWait: "fills the wait after", route.Written: "written",
	}
	var list []string
	for _, r := range chain {
		text := fmt.Sprintf("%d %s %d", r.Of, names[r.Kind], r.By)
		if r.Kind == route.HoldUnmet {
			text = fmt.Sprintf("%d holds %d", r.Of, r.Hold)
		}
		list = append(list, text)
	}
	return strings.Join(list, ", ")
}

func stuckOf(p *route.Plan) []int {
	var list []int
	for _, s := range p.Stuck {
		list = append(list, s.Operation)
	}
	return list
}

// Danger: an order is shown although there is none, or the loop is told the long way
// round.
func TestPlantedLoop(t *testing.T) {
	// 0 closes a space over 1, which needs 2, which needs 0; 3 has nothing to do with it.
	p := &route.Problem{Spaces: make([]route.Space, 1), Operations: []route.Operation{
		{Closes: []int{0}}, {In: []int{0}, Needs: []int{2}}, plain(minute, 0), plain(minute), plain(minute, 1),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if got := stuckOf(plan); !slices.Equal(got, []int{1, 4}) || len(plan.Steps) != 3 {
		t.Fatalf("stuck are %v, steps%s", got, tellSteps(plan))
	}
	for k, want := range []string{"1 needs 2, 2 needs 0, 0 would shut in 1", "4 needs 1, 1 needs 2, 2 needs 0, 0 would shut in 1"} {
		if s := plan.Stuck[k]; !s.Loop || words(s.Chain) != want {
			t.Errorf("%d: %s, a loop: %v", s.Operation, words(s.Chain), s.Loop)
		}
	}
}

// Danger: a loop through needs alone never ends.
func TestLoopOfNeeds(t *testing.T) {
	p := &route.Problem{Operations: []route.Operation{plain(minute, 1), plain(minute, 2), plain(minute, 0), plain(minute)}}
	plan := route.Find(p, route.Options{})
	if !slices.Equal(stuckOf(plan), []int{0, 1, 2}) || len(plan.Steps) != 1 {
		t.Fatalf("stuck %v, steps%s", stuckOf(plan), tellSteps(plan))
	}
	if s := plan.Stuck[0]; !s.Loop || words(s.Chain) != "0 needs 1, 1 needs 2, 2 needs 0" {
		t.Errorf("told as %s", words(s.Chain))
	}
}

// Danger: the first of two operations that close a space is taken for its closing.
func TestSpaceClosedByTwo(t *testing.T) {
	p := &route.Problem{Spaces: make([]route.Space, 1), Operations: []route.Operation{
		{Closes: []int{0}, Duration: minute}, {Closes: []int{0}, Duration: minute}, {In: []int{0}, Duration: minute}, {In: []int{0}, Needs: []int{0}, Duration: minute},
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if len(plan.Stuck) > 0 || plan.Steps[3].Operation != 1 || !slices.Equal(plan.Steps[3].Closes, []int{0}) {
		t.Errorf("%s, stuck %v", tellSteps(plan), plan.Stuck)
	}
}

// Danger: the builder sits beside the sealant although there is work to do, or a wait
// that is longer than everything is begun last.
func TestWaitLongerThanEverything(t *testing.T) {
	p := &route.Problem{Operations: []route.Operation{
		plain(30 * minute), plain(20 * minute), {Duration: 10 * minute, Waits: true, Wait: day}, plain(5*minute, 2), plain(15 * minute),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if plan.Steps[0].Operation != 2 || plan.Steps[4].Operation != 3 || plan.Finish != day+15*minute || !plan.Proven || !plan.Soonest {
		t.Errorf("%s is finished after %v, proven %v", tellSteps(plan), plan.Finish, plan.Proven)
	}
	if plan.Steps[4].Idle != day-65*minute {
		t.Errorf("nothing can be done for %v", plan.Steps[4].Idle)
	}
	if why := route.Why(p, plan, 1); words(why) != "0 fills the wait after 2" {
		t.Errorf("0 comes second because: %s", words(why))
	}
	if why := route.Why(p, plan, 4); words(why) != "3 waits after 2" {
		t.Errorf("3 comes last because: %s", words(why))
	}
}

// Danger: the engine is closed over something that was found worn out.
func TestHoldThatCannotBeMet(t *testing.T) {
	p := &route.Problem{Spaces: make([]route.Space, 1), Holds: []route.Hold{{State: route.Unmeetable}, {State: route.Unread}}, Operations: []route.Operation{
		{In: []int{0}, Holds: []int{0}}, {In: []int{0}, Holds: []int{1}}, {Closes: []int{0}}, plain(minute, 2),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if !slices.Equal(stuckOf(plan), []int{0, 2, 3}) || len(plan.Steps) != 1 {
		t.Fatalf("stuck %v, steps%s", stuckOf(plan), tellSteps(plan))
	}
	if got := words(plan.Stuck[2].Chain); got != "3 needs 2, 2 would shut in 0, 0 holds 0" || plan.Stuck[2].Loop {
		t.Errorf("told as %s", got)
	}
	if !slices.Equal(plan.Steps[0].Reads, []int{1}) {
		t.Errorf("read before the step: %v", plan.Steps[0].Reads)
	}
}

// Danger: a reading is asked for when the space in which it is taken is shut.
func TestReadWhileItCanBe(t *testing.T) {
	p := &route.Problem{Spaces: make([]route.Space, 1), Holds: []route.Hold{{State: route.Unread, Open: []int{0}}}, Operations: []route.Operation{
		{Needs: []int{1}, Holds: []int{0}}, {Closes: []int{0}},
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if len(plan.Stuck) > 0 || plan.Steps[0].Operation != 1 || !slices.Equal(plan.Steps[0].Reads, []int{0}) {
		t.Errorf("%s, read %v and %v", tellSteps(plan), plan.Steps[0].Reads, plan.Steps[1].Reads)
	}
	p.Spaces[0] = route.Space{Closed: true, ByJob: true} // and now it is too late
	p.Operations[1].Done, p.Operations[1].Times, p.Operations[1].Seq = true, 1, 1
	plan = route.Find(p, route.Options{})
	if len(plan.Stuck) != 1 || plan.Stuck[0].Chain[0].Kind != route.HoldUnmet {
		t.Errorf("%s, stuck %+v", tellSteps(plan), plan.Stuck)
	}
}

// Danger: the rag stays in the case mouth.
func TestRagLeftIn(t *testing.T) {
	rag := []route.Temporary{{Count: 1, Places: []route.TemporaryPlace{{PutBy: []int{0}, TakenBy: []int{2}}}}}
	p := &route.Problem{Spaces: make([]route.Space, 1), Temporaries: rag, Operations: []route.Operation{
		{In: []int{0}, Duration: minute}, {Closes: []int{0}, Duration: minute}, {In: []int{0}, Needs: []int{0}, Duration: minute},
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if len(plan.Steps) != 3 || plan.Steps[2].Operation != 1 {
		t.Fatalf("%s", tellSteps(plan))
	}
	if got := words(route.Why(p, plan, 1)); got != "2 needs 0, 1 would shut in 2" {
		t.Errorf("the rag comes out because: %s", got)
	}
	p.Temporaries[0].Places[0].TakenBy = nil // nobody takes it out
	plan = route.Find(p, route.Options{})
	if !slices.Equal(stuckOf(plan), []int{1}) || plan.Stuck[0].Chain[0].Kind != route.LeftInside {
		t.Errorf("%s, stuck %+v", tellSteps(plan), plan.Stuck)
	}
}

// Danger: the sealant is on, and the bolts are not ready.
func TestReadyBeforeWhatCannotWait(t *testing.T) {
	bead := opened{plain(5 * minute)}.with(func(x *route.Operation) { x.Within = []route.Within{{Operation: 3, Most: 10 * minute}} })
	p := &route.Problem{Operations: []route.Operation{
		bead, plain(40 * minute), {Duration: 10 * minute, Waits: true, Wait: 2 * time.Hour}, plain(30*minute, 0, 2), plain(time.Hour),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	at := slices.IndexFunc(plan.Steps, func(s route.Step) bool { return s.Operation == 0 })
	if plan.Steps[at+1].Operation != 3 || plan.Steps[at+1].Late || plan.Steps[at].Start < 130*minute {
		t.Errorf("%s, the bead at %v", tellSteps(plan), plan.Steps[at].Start)
	}
	if got := words(route.Why(p, plan, at+1)); got != "3 in time after 0" {
		t.Errorf("the bolts come there because: %s", got)
	}
}

// Danger: a trial is taken for the real closing, or taken back before it was of use.
func TestTrial(t *testing.T) {
	p := &route.Problem{Spaces: make([]route.Space, 1), Operations: []route.Operation{
		{Closes: []int{0}, Trial: true, Duration: minute}, {Needs: []int{0}, Stays: true, Duration: minute}, {In: []int{0}, Needs: []int{1}, Duration: minute},
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if got := tellSteps(plan); got != " 0 1 undo 0 2 0" || !plan.Steps[0].Trial || plan.Steps[4].Trial {
		t.Errorf("%s: %+v", got, plan.Steps)
	}
	// An operation that opens the space ends it.
	p.Operations = append(p.Operations, route.Operation{Needs: []int{1}, Opens: []int{0}, Duration: minute})
	plan = route.Find(p, route.Options{})
	follow(t, p, plan)
	if got := tellSteps(plan); got != " 0 1 3 2 0" {
		t.Errorf("%s", got)
	}
}

// Danger: the crank is turned while the lifter bleeds down.
func TestLock(t *testing.T) {
	p := &route.Problem{Locks: []route.Lock{{From: []int{0}, Until: []int{2}, Forbids: []int{1}}}, Operations: []route.Operation{
		{Duration: minute, Waits: true, Wait: 20 * minute}, plain(minute, 0), plain(minute, 0), plain(minute),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if got := tellSteps(plan); got != " 0 3 2 1" {
		t.Errorf("%s", got)
	}
	if got := words(route.Why(p, plan, 3)); got != "1 is forbidden until 2" {
		t.Errorf("it is turned last because: %s", got)
	}
}

// Danger: work that was forgotten in a closed space is left out in silence.
func TestForgottenWork(t *testing.T) {
	done := func(x route.Operation, seq int) route.Operation {
		x.Done, x.Times, x.Seq = true, 1, seq
		return x
	}
	p := &route.Problem{Spaces: []route.Space{{Closed: true, ByJob: true}}, Operations: []route.Operation{
		{In: []int{0}, Duration: minute}, done(route.Operation{Closes: []int{0}, Duration: minute, Undoing: minute}, 1), done(route.Operation{Needs: []int{1}, Binds: true, Duration: minute, Undoing: minute}, 2), plain(minute),
	}}
	plan := route.Find(p, route.Options{})
	follow(t, p, plan)
	if got := tellSteps(plan); plan.Reopens != 2 || len(plan.Stuck) > 0 || !strings.HasPrefix(got, " undo 2 undo 1") {
		t.Errorf("%s, %d steps to open it", got, plan.Reopens)
	}
}

// Equal problems have equal plans, and a plan changes nothing in its problem.
func TestSamePlan(t *testing.T) {
	p := randomLarge(11)
	before := describe(p)
	a, b := route.Find(p, route.Options{}), route.Find(randomLarge(11), route.Options{})
	if !reflect.DeepEqual(a, b) {
		t.Error("two plans for one problem")
	}
	if describe(p) != before {
		t.Error("the problem is another than before")
	}
}
