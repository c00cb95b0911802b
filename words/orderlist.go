package words

import (
	"fmt"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/parts"
	"buttonup/parts/basket"
	"buttonup/quantity"
)

// OrderReport is an order list as scripts read it. Fields are added and never renamed
// or dropped; see the contract in docs/cli.md.
type OrderReport struct {
	Status   string       `json:"status"`
	Buy      []BuyReport  `json:"buy"`
	Fills    []FillReport `json:"fills"`
	Total    string       `json:"total"`
	Currency string       `json:"currency"`
	Bound    string       `json:"bound"`
	LeadDays int          `json:"lead_days"`
	Because  []string     `json:"because"`

	Prefer  string         `json:"prefer"`
	Orders  int            `json:"orders"`
	Sellers []SellerReport `json:"sellers"`
	Needs   []NeedReport   `json:"needs"`
	InHand  []FillReport   `json:"in_hand"`
	Asks    []string       `json:"asks"`
	Compare *Difference    `json:"difference,omitempty"`
}

// BuyReport is one line of an order. Count is how many packs, price that of one.
type BuyReport struct {
	Part     string `json:"part"`
	Supplier string `json:"supplier"`
	Count    int    `json:"count"`
	Price    string `json:"price"`
	Number   string `json:"number"`
	Title    string `json:"title"`
	Pack     int    `json:"pack"`
	Amount   string `json:"amount"`
	LeadDays int    `json:"lead_days"`
}

// FillReport is a slot at a place with the part that fills it.
type FillReport struct {
	Slot   string `json:"slot"`
	Place  string `json:"place"`
	Part   string `json:"part"`
	Pieces int    `json:"pieces,omitempty"`
	State  string `json:"state,omitempty"`
}

// SellerReport is one order.
type SellerReport struct {
	Supplier string `json:"supplier"`
	Goods    string `json:"goods"`
	Shipping string `json:"shipping"`
	Total    string `json:"total"`
	LeadDays int    `json:"lead_days"`
}

// NeedReport is a slot that wants a part, and why.
type NeedReport struct {
	Slot   string   `json:"slot"`
	Place  string   `json:"place"`
	Pieces int      `json:"pieces"`
	Why    []string `json:"why"`
}

var preferWords = map[basket.Preference]string{basket.Cheapest: "cost", basket.Soonest: "time", basket.FewestOrders: "orders"}

// Preferences are the words for what counts first in an order list.
func Preferences() []string { return []string{"cost", "time", "orders"} }

// Prefer reads the word for what counts first; false for any other word.
func Prefer(word string) (basket.Preference, bool) {
	for p, w := range preferWords {
		if w == word {
			return p, true
		}
	}
	return basket.Cheapest, false
}

// MakeOrder turns an order list into a report.
func MakeOrder(l *assess.OrderList) *OrderReport {
	r := &OrderReport{Status: l.Status.String(), Buy: []BuyReport{}, Fills: []FillReport{}, Because: []string{}, LeadDays: l.LeadDays,
		Currency: l.Total.Currency, Prefer: preferWords[l.Prefer], Orders: l.Orders, Sellers: []SellerReport{}, Needs: []NeedReport{}, InHand: []FillReport{}, Asks: []string{}}
	if l.Status != basket.Infeasible {
		r.Total, r.Bound = l.Total.Amount(), l.Bound.Amount()
	}
	for _, x := range l.Lines {
		r.Buy = append(r.Buy, BuyReport{x.Part, x.Supplier, x.Packs, x.Price.Amount(), x.Number, x.Title, x.Pack, x.Amount.Amount(), x.LeadDays})
	}
	for _, f := range l.Fills {
		for range max(1, f.Pieces) {
			r.Fills = append(r.Fills, FillReport{Slot: "slot." + f.Slot, Place: f.Place, Part: f.Part})
		}
	}
	for _, s := range l.Sellers {
		r.Sellers = append(r.Sellers, SellerReport{s.Name, s.Goods.Amount(), s.Shipping.Amount(), s.Total.Amount(), s.LeadDays})
	}
	for i := range l.Needs {
		n := &l.Needs[i]
		r.Needs = append(r.Needs, NeedReport{"slot." + n.Slot, n.Place, n.Pieces, NeedReasons(n)})
	}
	for _, x := range l.InHand {
		r.InHand = append(r.InHand, FillReport{Slot: "slot." + x.Slot, Place: x.Place, Part: x.Part, State: x.State})
	}
	for i := range l.Because {
		r.Because = append(r.Because, OrderReason(&l.Because[i]))
	}
	r.Asks = append(r.Asks, OrderAsks(l, quantity.Metric)...)
	return r
}

// OrderAsks lists what has to be looked at before the list is ordered: options that
// nobody chose, and sizes that only a measurement can choose.
func OrderAsks(l *assess.OrderList, s quantity.System) []string {
	var out []string
	for i := range l.Asks {
		out = append(out, FitQuestion(&l.Asks[i]))
	}
	for i := range l.Advice {
		a := &l.Advice[i]
		out = append(out, fmt.Sprintf("part %s is listed for engine numbers %s, and this one is %s; numbers are advice", a.Part, a.Range, a.Engine)+inFront(": ", a.Look))
	}
	places := map[string][]assess.Slot{}
	var said []string
	for i := range l.SizesOpen {
		x := &l.SizesOpen[i]
		text := fmt.Sprintf("which %s? %d fit, from %s to %s, and the list took %s (%s): measure, then insist on the right one",
			strings.ReplaceAll(x.Size, "_", " "), x.Count, FigureText(x.Low, x.Dimension, s), FigureText(x.High, x.Dimension, s), FigureText(x.Took, x.Dimension, s), x.Part)
		if places[text] == nil {
			said = append(said, text)
		}
		places[text] = append(places[text], assess.Slot{Name: x.Slot, Place: x.Place, Title: x.Title})
	}
	for _, text := range said {
		out = append(out, strings.Join(shorten(slotsAndPlaces(places[text]), 3), "; ")+": "+text)
	}
	return out
}

// NeedReasons says why a slot wants a part.
func NeedReasons(n *assess.Need) []string {
	var out []string
	for i := range n.Why {
		out = append(out, NeedReason(&n.Why[i]))
	}
	return out
}

// NeedLine says why a slot wants a part, and how many where it is not one.
func NeedLine(n *assess.Need) string {
	says := strings.Join(NeedReasons(n), "; ")
	if n.Pieces > 1 {
		return fmt.Sprintf("%d pieces: %s", n.Pieces, says)
	}
	return says
}

// NeedReason says one reason why a slot wants a part.
func NeedReason(w *assess.NeedReason) string {
	switch w.Kind {
	case assess.NeedWorn:
		return "worn out: " + Title(w.Result.Title, w.Result.Place) + " " + Measured(w.Result)
	case assess.NeedBroken:
		return "broken: " + Title(w.Result.Title, w.Result.Place) + inFront(", ", w.Result.Answer)
	case assess.NeedRefused:
		return w.Of + " was rejected" + inFront(": ", w.Why)
	case assess.NeedRemoved:
		return orElse(w.Of, "what was there") + " was taken out" + inFront(": ", w.Why)
	case assess.NeedAlways:
		return "always replaced"
	case assess.NeedOpening:
		return fmt.Sprintf("one-use, and %d times opened in this plan", w.Count)
	}
	return "nothing is there yet"
}

// OrderReason says one reason of a smallest set that leaves no complete list.
func OrderReason(r *assess.OrderReason) string {
	slot := reference("slot."+r.Slot, r.Place)
	switch r.Kind {
	case assess.OrderNoOffer:
		switch {
		case r.Feature != "":
			return fmt.Sprintf("%s needs %s: no part that is offered has it", slot, r.Feature)
		case len(r.Candidates) == 0:
			return slot + ": no part that is offered fills it"
		case len(r.Candidates) == 1:
			return fmt.Sprintf("%s must be filled, and only part %s is offered for it", slot, r.Candidates[0])
		}
		return fmt.Sprintf("%s must be filled, by part %s", slot, orList(shorten(r.Candidates, 5)))
	case assess.OrderNeeds:
		if !r.Offered {
			return fmt.Sprintf("part %s needs %s: no part that is offered has it", r.Part, r.Feature)
		}
		return fmt.Sprintf("part %s needs %s, which part %s %s", r.Part, r.Feature, orList(shorten(r.Others, 5)), strings.TrimSpace(hasOrHave(len(r.Others))))
	case assess.OrderExcludes:
		return fmt.Sprintf("part %s excludes %s, which part %s %s", r.Part, r.Feature, list(shorten(r.Others, 5)), strings.TrimSpace(hasOrHave(len(r.Others))))
	case assess.OrderFits:
		if r.Offered {
			return fmt.Sprintf("part %s fits only beside part %s (%s)", r.Part, orList(shorten(r.Others, 5)), r.Feature)
		}
		return fmt.Sprintf("part %s does not fit beside part %s (%s)", r.Part, orList(shorten(r.Others, 5)), r.Feature)
	case assess.OrderApart:
		return fmt.Sprintf("part %s and part %s are for different engines, and %s is not chosen", r.Part, strings.Join(r.Others, ""), r.Feature)
	case assess.OrderInsisted:
		return "part " + r.Part + " is insisted on" + inFront(" in ", strings.TrimPrefix(slot, "slot."))
	case assess.OrderRefused:
		return "part " + r.Part + " is refused"
	case assess.OrderSizes:
		return "sizes must agree"
	case assess.OrderInHand:
		return fmt.Sprintf("part %s is there already in %s", r.Part, slot)
	case assess.OrderLead:
		return fmt.Sprintf("nothing may take longer than %s", Count(r.Days, "day", "days"))
	case assess.OrderWithout:
		return "supplier " + r.Supplier + " is out"
	}
	return r.Kind
}

// LiftOrderReason says what lifting a reason would mean.
func LiftOrderReason(r *assess.OrderReason) string {
	switch r.Kind {
	case assess.OrderNoOffer:
		return "find an offer for it, or keep what is there"
	case assess.OrderNeeds, assess.OrderExcludes, assess.OrderFits:
		return "choose another part for its place"
	case assess.OrderApart:
		return "look, and choose it for this job"
	case assess.OrderInsisted:
		return "do not insist on it"
	case assess.OrderRefused:
		return "allow it"
	case assess.OrderInHand:
		return "replace it"
	case assess.OrderLead:
		return "wait longer"
	case assess.OrderWithout:
		return "buy there after all"
	}
	return ""
}

// Difference is what one order list has otherwise than another.
type Difference struct {
	// Against says what the other list is.
	Against string `json:"against"`
	Added   []Line `json:"added"`
	Dropped []Line `json:"dropped"`
	// Total, LeadDays and Orders are how much more than the other; negative for less.
	Total    string `json:"total"`
	LeadDays int    `json:"lead_days"`
	Orders   int    `json:"orders"`
}

// Line is a line that only one of two lists has, or of which it has more.
type Line struct {
	Part     string `json:"part"`
	Supplier string `json:"supplier"`
	Count    int    `json:"count"`
	Price    string `json:"price"`
}

// Compare says what a list has otherwise than another. Both must be complete.
func Compare(l, other *assess.OrderList, against string) *Difference {
	d := &Difference{Against: against, Added: []Line{}, Dropped: []Line{}, LeadDays: l.LeadDays - other.LeadDays, Orders: l.Orders - other.Orders}
	d.Total = parts.Money{Hundredths: l.Total.Hundredths - other.Total.Hundredths}.Amount()
	d.Added, d.Dropped = onlyIn(l, other), onlyIn(other, l)
	return d
}

func onlyIn(l, other *assess.OrderList) []Line {
	out := []Line{}
	for _, x := range l.Lines {
		n := x.Packs
		at := slices.IndexFunc(other.Lines, func(y assess.OrderLine) bool {
			return y.Part == x.Part && y.Supplier == x.Supplier && y.Number == x.Number
		})
		if at >= 0 {
			n -= other.Lines[at].Packs
		}
		if n > 0 {
			out = append(out, Line{x.Part, x.Supplier, n, x.Price.Amount()})
		}
	}
	return out
}

// OrderFacts says an order list in one line.
func OrderFacts(l *assess.OrderList) string {
	if l.Status == basket.Infeasible {
		return "no complete list: " + Count(len(l.Because), "reason stands", "reasons stand") + " in the way"
	}
	if len(l.Lines) == 0 {
		return "nothing to buy"
	}
	says := fmt.Sprintf("%s in %s, there in %s", l.Total, Count(l.Orders, "order", "orders"), Count(l.LeadDays, "day", "days"))
	if l.Status == basket.Optimal {
		return says + map[basket.Preference]string{basket.Cheapest: "; nothing is cheaper, proven", basket.Soonest: "; nothing is there sooner, proven", basket.FewestOrders: "; it takes no fewer orders, proven"}[l.Prefer]
	}
	return says + fmt.Sprintf("; the search was stopped, nothing costs less than %s", l.Bound)
}

// OrderFor says what a line of an order is for, and why.
func OrderFor(x *assess.OrderLine) string {
	var slots []assess.Slot
	var why []string
	for _, f := range x.For {
		slots = append(slots, assess.Slot{Name: f.Slot, Place: f.Place, Title: f.Title})
		for i := range f.Why {
			if w := NeedReason(&f.Why[i]); !slices.Contains(why, w) {
				why = append(why, w)
			}
		}
	}
	return strings.Join(shorten(slotsAndPlaces(slots), 4), "; ") + inBrackets(strings.Join(shorten(why, 3), "; "))
}

// DifferenceFacts says in one sentence how two lists differ.
func DifferenceFacts(d *Difference, currency string) string {
	var words []string
	switch {
	case d.Total == "0.00":
		words = append(words, "costs the same")
	case strings.HasPrefix(d.Total, "-"):
		words = append(words, strings.TrimSpace(d.Total[1:]+" "+currency)+" cheaper")
	default:
		words = append(words, strings.TrimSpace(d.Total+" "+currency)+" dearer")
	}
	words = append(words, moreOrLess(d.LeadDays, "day later", "days later", "day sooner", "days sooner", "there as soon"))
	words = append(words, moreOrLess(d.Orders, "order more", "orders more", "order less", "orders less", "as many orders"))
	return strings.Join(words, ", ")
}

func moreOrLess(n int, more, mores, less, lesses, same string) string {
	switch {
	case n > 0:
		return Count(n, more, mores)
	case n < 0:
		return Count(-n, less, lesses)
	}
	return same
}
