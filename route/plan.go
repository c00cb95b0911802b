package route

import "time"

// Kind says what a step does to its operation.
type Kind int

// A step does its operation, takes it back, or does it once more because a lock waits
// for a later doing.
const (
	Do Kind = iota
	Undo
	Again
)

// Step is one step of a plan.
type Step struct {
	Operation  int
	Kind       Kind
	Start, End time.Duration // from now
	Idle       time.Duration // how long nothing can be done before it starts
	Changes    int           // of side, fixture and tool before it
	Reads      []int         // holds to be read or answered right before it
	Closes     []int         // spaces that this step closes
	Opens      []int         // spaces that this step opens
	Trial      bool          // it is done to be taken back again
	Late       bool          // a Within that ends here is not kept
}

// Plan is an order of the work that is left.
type Plan struct {
	Steps   []Step
	Changes int
	// Finish is when the last step is done and the last wait is over, from now. Waits
	// without a clock count as nothing.
	Finish time.Duration
	Work   time.Duration // what the steps take
	// Reopens is how many steps at the beginning take back what was closed too early, to
	// reach work that is left.
	Reopens int
	// Bound is the least number of changes that any plan could have, proven; where
	// something is opened again, of what comes after.
	Bound int
	// Proven says that no plan has fewer changes, Soonest that besides none with as few
	// is finished earlier.
	Proven, Soonest bool
	// Stuck are the operations that no order can finish, each with the shortest chain
	// of reasons. The steps are what can be done all the same.
	Stuck []Stuck
}

// Stuck is an operation that cannot be finished.
type Stuck struct {
	Operation int
	Chain     []Reason
	// Loop says that the chain comes back to where it began.
	Loop bool
}

// ReasonKind says why one thing waits for another.
type ReasonKind int

// Reasons. Of and By are operations unless said otherwise.
const (
	Needs          ReasonKind = iota // Of needs By
	NeedsWait                        // Of needs By, and the wait after it
	NeedsGood                        // Of goes on top of By, which stands only for trial
	Works                            // Of works in Space, which By closes
	ShutIn                           // Of would close Space over By
	HoldUnmet                        // Of holds Hold, which cannot be met any more
	HoldBefore                       // Of holds Hold, which can be read only before By
	HoldAfter                        // Of holds Hold, which can be read only after By
	LockedBy                         // Of is forbidden from By on, by Lock
	LockedUntil                      // Of is forbidden by Lock until By is done
	LeftInside                       // Of would close Space over Temporary, which By takes out
	InTime                           // Of must start in time after By, or By after Of
	StandsForTrial                   // Of stands for trial and By keeps it from being taken back
	SameSetup                        // Of needs no change after By
	FillsWait                        // Of is done while the wait after By runs
	Written                          // nothing else decides: the pack's written order
)

// Reason is one link of a chain.
type Reason struct {
	Kind      ReasonKind
	Of, By    int // By is -1 where there is none
	Space     int
	Hold      int
	Lock      int
	Temporary int
}
