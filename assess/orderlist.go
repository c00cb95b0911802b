package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/parts/basket"
	"buttonup/quantity"
)

// OrderOptions are what a person asks of an order list.
type OrderOptions struct {
	Prefer basket.Preference
	// Without names sellers that are out, Refuse parts that are not wanted.
	Without, Refuse []string
	// Insist lists parts that must be in: "PART" anywhere, or "PART in slot.NAME
	// PLACE".
	Insist []string
	// Within is the longest lead in days, 0 for any.
	Within int
	// Openings gives further planned openings: "slot.NAME PLACE" to how many.
	Openings map[string]int
	// Stop ends a long search; see [basket.Problem].
	Stop func() bool
}

// OrderList is what to buy, where, and why.
type OrderList struct {
	Status   basket.Status
	Needs    []Need
	Lines    []OrderLine
	Sellers  []OrderSeller
	Fills    []OrderFill
	Total    parts.Money
	Bound    parts.Money
	LeadDays int
	Orders   int
	// Because is a smallest set of reasons of an impossible whole.
	Because []OrderReason
	// Smallest says that no smaller set of reasons exists.
	Smallest bool
	// Asks are the options that bought parts depend on and nobody looked at.
	Asks []parts.Question
	// Advice tells of bought parts that are listed for other engine numbers.
	Advice []PartAdvice
	// SizesOpen are slots whose parts come in several sizes, of which the list took one
	// though nobody said which.
	SizesOpen []SizeOpen
	// InHand lists what was counted as there.
	InHand []parts.Chosen
	// Prefer is what counted first.
	Prefer basket.Preference
}

// OrderLine is one line of an order: so many packs of one offer.
type OrderLine struct {
	Part, Title      string
	Supplier, Number string
	// Packs is how many to order, Pack how many pieces are in one.
	Packs, Pack   int
	Price, Amount parts.Money
	LeadDays      int
	// For lists the slots that it fills, with the reasons.
	For []OrderFill
}

// OrderSeller is one order.
type OrderSeller struct {
	Name                   string
	Goods, Shipping, Total parts.Money
	LeadDays               int
}

// OrderFill is a slot at a place with the part that fills it. A slot that takes several
// pieces is told once with its count.
type OrderFill struct {
	Slot, Place, Title, Part string
	Pieces                   int
	Why                      []NeedReason
}

// PartAdvice is what the engine number says of a bought part.
type PartAdvice struct {
	Part string
	parts.NumberAdvice
}

// SizeOpen is a slot whose parts come in several sizes that all fit by their rules, so
// that a measurement has to choose.
type SizeOpen struct {
	Slot, Place, Title, Part string
	// Size names what differs, in SI from Low to High in Count steps; Took is that of
	// the part in the list.
	Size            string
	Low, High, Took float64
	Dimension       quantity.Dimension
	Count           int
}

// The kinds of reasons why no list is complete.
const (
	OrderNoOffer  = "no-offer" // nothing that is offered fills a slot
	OrderNeeds    = "needs"    // a part needs a feature
	OrderExcludes = "excludes" // a part excludes a feature of another
	OrderFits     = "fits"     // a part's condition asks for another part
	OrderApart    = "apart"    // parts for engines that nobody told apart
	OrderInsisted = "insisted" // a part is insisted on
	OrderRefused  = "refused"  // a part is refused
	OrderSizes    = "sizes"    // sizes must agree
	OrderInHand   = "in-hand"  // a part in hand
	OrderLead     = "lead"     // the longest lead allowed
	OrderWithout  = "without"  // a seller is out
)

// OrderReason is one reason of a smallest set that leaves no complete list, by the
// names that the pack uses. Lifting it lets the rest be kept to.
type OrderReason struct {
	Kind string
	// Slot and Place are those of a slot that nothing fills, Part and Feature those of
	// a rule, Others the parts that have the feature; Offered says whether any of them
	// is offered.
	Slot, Place, Part, Feature string
	Others                     []string
	Offered                    bool
	// Candidates lists the parts that are offered for the slot.
	Candidates []string
	Supplier   string
	Days       int
}

// UsageError is an order list that was asked for in a way that makes no sense.
type UsageError struct{ Says, Do string }

// Error says what was wrong.
func (e *UsageError) Error() string { return e.Says }

// ErrCurrencies is wrapped by the error for offers in several currencies.
var ErrCurrencies = errors.New("several currencies")

// OrderList finds what to buy for a job: the slots that want a part, the best complete
// set of offers for them, or the smallest set of reasons why there is none.
//
// What is kept, ordered, received or fitted is there and is counted as chosen. An
// option that nobody chose counts as its default and is told in Asks where a bought
// part depends on it. Offers in several currencies are refused: what one is worth in
// another is no fact of a pack.
func (m *Model) OrderList(s *journal.State, o Options, want OrderOptions) (*OrderList, error) {
	r := &run{Model: m, state: s, opts: o}
	r.assess()
	return r.orderList(want)
}

// Order finds what to buy for a job as [Model.OrderList] does, with the job's own
// pieces of pack text merged over the pack first.
func Order(p *pack.Pack, s *journal.State, o Options, want OrderOptions) (*OrderList, error) {
	p, _ = WithExtras(p, s)
	return Prepare(p).OrderList(s, o, want)
}

func (r *run) orderList(want OrderOptions) (*OrderList, error) {
	b := &orderBuilder{run: r, want: want, engine: r.engine(), needs: r.needs(want.Openings)}
	if err := b.build(); err != nil {
		return nil, err
	}
	result, err := basket.Solve(&b.problem)
	if err != nil {
		return nil, fmt.Errorf("order list: %w", err)
	}
	return b.list(&result), nil
}

// list turns the answer back into names.
func (b *orderBuilder) list(result *basket.Result) *OrderList {
	out := &OrderList{Status: result.Status, Needs: b.needs, LeadDays: result.Lead, Orders: result.Orders, Smallest: result.Smallest, Prefer: b.want.Prefer,
		Total: b.money(result.Total), Bound: b.money(result.Bound)}
	for i := range b.engine.Chosen {
		if x := &b.engine.Chosen[i]; x.State != journal.Wanted {
			out.InHand = append(out.InHand, *x)
		}
	}
	if result.Status == basket.Infeasible {
		for i := range result.Because {
			out.Because = append(out.Because, b.reason(result.Because[i]))
		}
		return out
	}
	lines := map[int]int{}
	sellers := map[int]*OrderSeller{}
	for _, p := range result.Buy {
		offer := &b.problem.Offers[p.Offer]
		o := b.offers[p.Offer]
		x := b.parts[offer.Part]
		price := b.money(offer.Price)
		line := OrderLine{Part: x.Name, Title: x.Title, Supplier: o.Supplier, Number: o.Number, Packs: p.Packs, Pack: max(1, offer.Pack), Price: price,
			Amount: b.money(offer.Price * int64(p.Packs)), LeadDays: offer.Lead}
		lines[p.Offer] = len(out.Lines)
		out.Lines = append(out.Lines, line)
		seller := sellers[offer.Supplier]
		if seller == nil {
			seller = &OrderSeller{Name: o.Supplier, Goods: b.money(0), Shipping: b.money(result.Shipping[offer.Supplier])}
			sellers[offer.Supplier] = seller
		}
		seller.Goods.Hundredths += line.Amount.Hundredths
		seller.LeadDays = max(seller.LeadDays, line.LeadDays)
	}
	for _, f := range result.Fills {
		place := &b.places[f.Place]
		x := b.parts[f.Part]
		fill := OrderFill{Slot: place.Slot, Place: place.Place, Title: place.Title, Part: x.Name, Pieces: place.Pieces, Why: place.Why}
		out.Fills = append(out.Fills, fill)
		if at, ok := lines[f.Offer]; ok {
			out.Lines[at].For = append(out.Lines[at].For, fill)
		}
	}
	for i := range b.problem.Suppliers {
		if seller := sellers[i]; seller != nil {
			seller.Total = b.money(seller.Goods.Hundredths + seller.Shipping.Hundredths)
			out.Sellers = append(out.Sellers, *seller)
		}
	}
	out.Asks, out.Advice = b.asks(out.Fills)
	out.SizesOpen = b.sizesOpen(result.Fills)
	return out
}

func (b *orderBuilder) money(hundredths int64) parts.Money {
	return parts.Money{Hundredths: hundredths, Currency: b.currency}
}

// asks gathers the options that bought parts depend on and nobody looked at, and the
// parts that are listed for other engine numbers.
func (b *orderBuilder) asks(fills []OrderFill) ([]parts.Question, []PartAdvice) {
	var list []parts.Question
	var advice []PartAdvice
	for _, f := range fills {
		v := b.catalogue.Judge(b.engine, f.Slot, f.Place, f.Part)
		for _, q := range v.Questions {
			if !slices.ContainsFunc(list, func(p parts.Question) bool { return p.Option == q.Option }) {
				list = append(list, q)
			}
		}
		if v.Advice != nil && v.Advice.Outside && !slices.ContainsFunc(advice, func(a PartAdvice) bool { return a.Part == f.Part }) {
			advice = append(advice, PartAdvice{f.Part, *v.Advice})
		}
	}
	return list, advice
}

// sizesOpen finds the places where parts of several sizes would do. A part that is
// insisted on was chosen.
func (b *orderBuilder) sizesOpen(fills []basket.Fill) []SizeOpen {
	var list []SizeOpen
	for _, f := range fills {
		x, place := b.parts[f.Part], &b.places[f.Place]
		if len(x.Fills) > 1 && !x.Either || slices.ContainsFunc(b.want.Insist, func(s string) bool { return s == x.Name || strings.HasPrefix(s, x.Name+" in ") }) {
			continue
		}
		for _, name := range keys(x.Sizes) {
			took := x.Sizes[name]
			if took.Dimension != quantity.OfLength {
				continue // what a micrometer chooses by
			}
			open := SizeOpen{Slot: place.Slot, Place: place.Place, Title: place.Title, Part: x.Name, Size: name, Low: took.SI, High: took.SI, Took: took.SI, Dimension: took.Dimension}
			values := map[float64]bool{}
			for _, k := range b.candidates(f.Place) {
				other := b.parts[k]
				if q, has := other.Sizes[name]; has && (len(other.Fills) == 1 || other.Either) {
					values[q.SI] = true
					open.Low, open.High = min(open.Low, q.SI), max(open.High, q.SI)
				}
			}
			if open.Count = len(values); open.Count > 1 {
				list = append(list, open)
				break
			}
		}
	}
	return list
}

// reason turns a reason of the search into names.
func (b *orderBuilder) reason(x basket.Reason) OrderReason {
	switch x.Kind {
	case basket.BecausePlace:
		p := &b.places[x.Index]
		out := OrderReason{Kind: OrderNoOffer, Slot: p.Slot, Place: p.Place}
		for i := range b.problem.Parts {
			if b.offered[i] && basketFills(&b.problem.Parts[i], x.Index) {
				out.Candidates = append(out.Candidates, b.parts[i].Name)
			}
		}
		if s := b.catalogue.Slot(p.Slot); s != nil && len(s.Needs) > 0 && len(out.Candidates) == 0 {
			out.Feature = strings.Join(s.Needs, ", ")
		}
		return out
	case basket.BecauseRule:
		return b.rules[x.Index]
	case basket.BecauseInHand:
		c := b.problem.InHand[x.Index]
		p := &b.places[c.Place]
		return OrderReason{Kind: OrderInHand, Part: b.parts[c.Part].Name, Slot: p.Slot, Place: p.Place}
	case basket.BecauseLead:
		return OrderReason{Kind: OrderLead, Days: b.want.Within}
	case basket.BecauseSupplier:
		return OrderReason{Kind: OrderWithout, Supplier: b.suppliers[x.Index]}
	case basket.BecauseSizes:
		return OrderReason{Kind: OrderSizes}
	}
	return OrderReason{}
}

func basketFills(p *basket.Part, place int) bool {
	return slices.ContainsFunc(p.Contents, func(c basket.Content) bool { return slices.Contains(c.Places, place) })
}

// days rounds a lead up to whole days.
func days(seconds float64) int { return int(math.Ceil(seconds/86400 - 1e-9)) }
