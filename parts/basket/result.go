package basket

// Status says what a [Result] is worth.
type Status uint8

// The states. The zero value claims nothing.
const (
	_          Status = iota
	Optimal           // nothing is better, and that is proven
	Feasible          // complete and kept to every rule; the search was stopped before the proof
	Infeasible        // no set of purchases keeps to every rule; Because says why
)

var statusWords = [...]string{"unknown", "optimal", "feasible", "infeasible"}

// String returns the word for the status.
func (s Status) String() string { return statusWords[s] }

// Result is the answer to a [Problem].
type Result struct {
	Status Status
	// Buy lists the purchases in the written order of offers.
	Buy []Purchase
	// Fills says for every place that was not in hand which part fills it, in the
	// written order of places.
	Fills []Fill
	// Total is goods and shipping together; Bound is proven: no complete set costs
	// less under the same preference.
	Total, Bound int64
	// Shipping is what each supplier charges for shipping, by its index.
	Shipping []int64
	// Lead is days until the last purchase is there, Orders how many sellers.
	Lead, Orders int
	// Because is a smallest set of reasons of an infeasible problem: without any one
	// of them the rest can be kept to. Where are the places at which they collide.
	Because []Reason
	Where   []int
	// Smallest reports whether no other set of reasons has fewer; where it would take
	// too long to know, it is false, and none of the reasons can be spared even so.
	Smallest bool
	// Steps is how much searching it took, a measure that is the same on every
	// machine.
	Steps int
}

// Purchase is so many packs of one offer.
type Purchase struct {
	Offer, Packs int
}

// Fill is a place with the part that fills it. Offer is the one its first piece comes
// from.
type Fill struct {
	Place, Part, Offer int
}

// ReasonKind says what a [Reason] is about.
type ReasonKind uint8

// The kinds of reasons. Each names what would be lifted.
const (
	_               ReasonKind = iota
	BecausePlace               // nothing that is offered fills the place Index
	BecauseRule                // the rule Index
	BecauseSizes               // the agreement Index
	BecauseInHand              // that InHand[Index] stays where it is
	BecauseLead                // the longest lead allowed
	BecauseSupplier            // the supplier Index is refused
)

// Reason is one of those that together leave no solution, with the index of what it
// is about in its list of the problem.
type Reason struct {
	Kind  ReasonKind
	Index int
}
