package basket

// Problem is what has to be bought, what there is to buy and what has to be kept to.
// Places, parts, suppliers and offers are named by their index in these lists; their
// order is the written order, which settles ties.
type Problem struct {
	Places    []Place
	Parts     []Part
	Suppliers []Supplier
	Offers    []Offer
	// InHand lists what is there already, at most one part a place: the place needs
	// no buying, and its part counts wherever a rule asks what is chosen. Place must
	// be given. A part that is in hand need not fill its place by its contents.
	InHand     []Choice
	Rules      []Rule
	Agreements []Agreement
	// Within is the longest lead allowed in days; 0 allows any.
	Within int
	Prefer Preference
	// Stop, if not nil, is asked now and then; once it says true, the search ends
	// with the best that was found, and the result says [Feasible].
	Stop func() bool
}

// Place is one place that a part fills: a slot at one member of its kind of place.
type Place struct {
	// Pieces is how many pieces of the one part that fills it are needed, such as
	// two gaskets for two planned openings; 0 counts as 1.
	Pieces int
}

// Part is something that fills places. Most parts have one content.
type Part struct {
	Contents []Content
}

// Content is what one piece of a part (a kit has several contents) holds for one
// slot: up to Count pieces for any of the places.
type Content struct {
	// Places are the places of the slot that this part may fill. No place stands in
	// two contents of one part.
	Places []int
	// Count is how many pieces there are in it; 0 counts as 1.
	Count int
}

// Supplier is one seller; everything bought of one seller is one order.
type Supplier struct {
	// Shipping is what one order costs beside its goods.
	Shipping int64
	// FreeOver is the value of goods at or above which there is no shipping; 0 is
	// never.
	FreeOver int64
	// Refused leaves the seller out: "what if this seller is out?"
	Refused bool
}

// Offer is one part at one seller.
type Offer struct {
	Part, Supplier int
	// Price is the price of one pack, Pack how many of the part are in it; 0 counts
	// as 1.
	Price int64
	Pack  int
	// Lead is days until it is there.
	Lead int
}

// Anywhere stands for any place in a [Choice].
const Anywhere = -1

// Choice is a part in a place. With the place [Anywhere] it stands for that part in
// any place.
type Choice struct {
	Part, Place int
}

// RuleKind says what a [Rule] asks for.
type RuleKind uint8

// The kinds of rules. The zero value asks for nothing and is refused.
const (
	_        RuleKind = iota
	Needs             // each of Of, if chosen, needs at least one of With chosen too
	Excludes          // none of Of together with any of With
	Insists           // at least one of Of
	Refuses           // none of Of
)

// Rule is something that a set of choices must keep to. Each rule can be a reason why
// nothing fits, so whoever asks makes one rule of what a person would lift as one.
//
// Excludes never holds a part against itself. What is in hand counts as chosen.
type Rule struct {
	Kind     RuleKind
	Of, With []Choice
}

// Agreement says that chosen parts must agree in a size: all choices that are listed
// and chosen have the same class. A choice that is not listed goes with any.
type Agreement struct {
	Sized []Sized
}

// Sized is a choice with its class of size.
type Sized struct {
	Choice
	Class int
}

// Preference is what counts first. The others settle ties in the order given, and
// last the written order: the place written first takes the offer written first.
type Preference uint8

// The preferences.
const (
	Cheapest     Preference = iota // total, then lead, then orders
	Soonest                        // lead, then total, then orders
	FewestOrders                   // orders, then total, then lead
)
