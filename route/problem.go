package route

import "time"

// Problem is a job in numbers: everything that stands in it, and how far it has come.
// Blocks that are not part of the job are left out by the caller, and so are
// references to them.
type Problem struct {
	Operations  []Operation // in the pack's written order, places in the order of their list
	Spaces      []Space
	Holds       []Hold
	Temporaries []Temporary
	Locks       []Lock
	// Before is how the engine stands now: the set-up of the step done last. The first
	// step of a plan counts its changes from here. Left zero, the first step changes
	// nothing.
	Before Setup
}

// Setup is how the engine stands and what is in the hand. 0 is left out, and differs
// from nothing.
type Setup struct{ Side, Fixture, Tool int }

// Changes counts what differs between two steps, one after the other.
func (s Setup) Changes(next Setup) int {
	n := 0
	for _, pair := range [3][2]int{{s.Side, next.Side}, {s.Fixture, next.Fixture}, {s.Tool, next.Tool}} {
		if pair[0] != pair[1] && pair[0] != 0 && pair[1] != 0 {
			n++
		}
	}
	return n
}

// Operation is one operation at one place.
type Operation struct {
	Needs    []int // operations that must be done first
	In       []int // spaces that must be open, as the pack writes it
	Closes   []int // spaces; each is closed when all that close it are done
	Opens    []int // spaces
	Holds    []int // holds that must be met
	Disturbs []int // holds whose readings no longer count once it is done or taken back
	Within   []Within

	Setup
	Duration time.Duration // to do it
	Undoing  time.Duration // to take it back
	// Waits says that what needs this may start only when a wait is over. Wait is how
	// long by the clock; 0 is a wait that has none and that a person ends.
	Waits bool
	Wait  time.Duration

	// Binds says that it fits or tightens something. An operation that binds or closes
	// is taken back before what it needs, unless it Stays.
	Binds     bool
	Trial     bool // done once, taken back, and later done for good
	Stays     bool
	NeverSkip bool // what it holds cannot be accepted unmeasured

	// How far it has come. Seq tells which of two doings came later, and is of the
	// newest; it starts at 1. Times counts the doings, those taken back among them.
	Done  bool
	Times int
	Seq   int
	// Waiting says that the wait after it is not over; Left is what is left of it.
	Waiting bool
	Left    time.Duration
}

// Within is the longest time from the end of an operation to the start of another.
type Within struct {
	Operation int
	Most      time.Duration
	// Left is what is left of it where the first of the two is done; below zero it is
	// too late, and the plan no longer tries.
	Left time.Duration
}

// Space is a volume of the engine at one place.
type Space struct {
	Closed bool
	// ByJob says that operations of this job closed it. A space that came closed is
	// opened by taking back any operation that closes it, although nobody did it here.
	ByJob bool
}

// HoldState says what became of something that is held.
type HoldState int

// A hold is met, is still to be read or answered, or cannot be met: what was read is
// out of limits, and only other work, another part or a person's decision changes it.
const (
	Met HoldState = iota
	Unread
	Unmeetable
)

// Hold is a dimension, number, sweep or check at one place.
type Hold struct {
	State HoldState
	// What must be so for it to be read: these spaces open, these operations done,
	// these not done. All empty: it can be read at any time.
	Open  []int
	After []int
	Until []int
}

// Temporary is what goes in only to come out again.
type Temporary struct {
	Count int
	// Places separates what is put in at one place from what is put in at another. An
	// operation that takes it out where none was put in stands in a place of its own.
	Places []TemporaryPlace
}

// TemporaryPlace names who puts a temporary in at one place, and who takes it out of
// there, first in, first out.
type TemporaryPlace struct{ PutBy, TakenBy []int }

// Lock is a period in which some operations are forbidden.
type Lock struct {
	From    []int // operations: the first that is done while it does not stand begins it
	Until   []int // operations: all must be done later than it began
	Checks  []int // holds: all must be passed later than it began
	Forbids []int // operations
	// Since is the Seq at which it began, 0 if it does not stand. Passed are those of
	// Checks that were passed since.
	Since  int
	Passed []int
}
