package words

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/quantity"
)

// ClosingReport is what an operation would shut in, as scripts read it.
type ClosingReport struct {
	Operation string         `json:"operation"`
	Closes    []string       `json:"closes"`
	Trial     bool           `json:"trial"`
	Begins    bool           `json:"begins"`
	Open      []InsideReport `json:"open"`
	Proven    []InsideReport `json:"proven"`
	NeverSkip bool           `json:"never_skip"`
	After     []string       `json:"after"`
	// Price is that of coming back once the engine is together, PriceSoon right after.
	Price     *WayReport `json:"price,omitempty"`
	PriceSoon *WayReport `json:"price_soon,omitempty"`
}

// InsideReport is one thing inside.
type InsideReport struct {
	Kind string `json:"kind"`
	Of   string `json:"of"`
	By   string `json:"by"`
	Says string `json:"says"`
	// Last is the operation before which it can still be done; Gone says that it can no
	// longer without taking something back.
	Last     string `json:"last"`
	Gone     bool   `json:"gone"`
	Accepted string `json:"accepted,omitempty"`
}

var insideKinds = [...]string{"work", "hold", "photo", "temporary"}

// MakeClosing turns it into what scripts read.
func MakeClosing(c *assess.Closing) *ClosingReport {
	out := &ClosingReport{Operation: c.Operation.String(), Closes: whole(c.Closes), Trial: c.Trial, Begins: c.Begins, Open: []InsideReport{}, Proven: []InsideReport{}, NeverSkip: c.Never, After: []string{}}
	tell := func(x *assess.Inside) InsideReport {
		r := InsideReport{Kind: insideKinds[x.Kind], Of: x.Of, By: x.By.String(), Gone: x.Gone}
		if x.Last != (assess.Operation{}) {
			r.Last = x.Last.String()
		}
		if x.Accepted != nil {
			r.Accepted = x.Accepted.Why
		}
		r.Says = insideState(x)
		return r
	}
	for i := range c.Open {
		out.Open = append(out.Open, tell(&c.Open[i]))
	}
	for i := range c.Proven {
		x := tell(&c.Proven[i])
		x.Says = provenState(&c.Proven[i])
		out.Proven = append(out.Proven, x)
	}
	for _, o := range c.After {
		out.After = append(out.After, o.String())
	}
	if c.Price != nil {
		price := wayReport(c.Price)
		out.Price = &price
	}
	if c.Soon != nil {
		soon := wayReport(c.Soon)
		out.PriceSoon = &soon
	}
	return out
}

// ClosingTitle says what is about to be closed.
func ClosingTitle(p *pack.Pack, c *assess.Closing) string {
	says := "Before you close: " + list(loweredAll(namedAll(p, c.Closes)))
	if c.Trial {
		says += ", for trial"
	}
	return says
}

// ClosingAfter says what closes the same together with it; empty for nothing.
func ClosingAfter(p *pack.Pack, c *assess.Closing) string {
	if len(c.After) == 0 {
		return ""
	}
	var names []string
	for _, o := range c.After {
		names = append(names, Operation(p, o))
	}
	return "It begins to close it. It is closed with: " + strings.Join(names, "; ") + "."
}

func loweredAll(words []string) []string {
	for i := range words {
		words[i] = lowered(words[i])
	}
	return words
}

// ClosingSays says in one line how many things are still open.
func ClosingSays(c *assess.Closing) string {
	if len(c.Open) == 0 {
		return "Nothing inside is open. " + Count(len(c.Proven), "thing is", "things are") + " done and proven."
	}
	return Count(len(c.Open), "thing inside is", "things inside are") + " open, " + fmt.Sprint(len(c.Proven)) + " done and proven."
}

// Inside says what is still to be done about one thing inside, and what proves it.
func Inside(p *pack.Pack, x *assess.Inside, s quantity.System) (title, what string) {
	title = Named(p, x.Of)
	inner := *x
	if x.Result != nil {
		inner.Result = ResultIn(x.Result, s)
	}
	what = insideState(&inner)
	switch x.Kind {
	case assess.InsideHold, assess.InsidePhoto:
		if x.Result != nil && x.Result.Kind != "check" && x.Kind == assess.InsideHold {
			if wanted := Wanted(inner.Result); wanted != "" {
				what += "; " + wanted
			}
		}
		what += ". Proven at: " + Operation(p, x.By)
	case assess.InsideTemporary:
		if x.By != (assess.Operation{}) {
			what += ". Comes out at: " + Operation(p, x.By)
		}
	}
	return title, what
}

// InsideBriefly is Inside without what all things inside have in common: what proves it
// is named only where that is not the operation that closes.
func InsideBriefly(p *pack.Pack, x *assess.Inside, closing assess.Operation, s quantity.System) (title, what string) {
	title, what = Inside(p, x, s)
	what, at, found := strings.Cut(what, ". Proven at: ")
	if found && x.By != closing {
		what += ", at " + at
	}
	return title, what
}

// UntilWhen says until when all that is open inside can still be done.
func UntilWhen(p *pack.Pack, last assess.Operation) string {
	return "All of it can be done until " + Operation(p, last) + " begins, with nothing taken back"
}

// ProvenInside says what was found.
func ProvenInside(p *pack.Pack, x *assess.Inside, s quantity.System) (title, what string) {
	inner := *x
	if x.Result != nil {
		inner.Result = ResultIn(x.Result, s)
	}
	return Named(p, x.Of), provenState(&inner)
}

// LastMoment says until when one thing inside can be done.
func LastMoment(p *pack.Pack, x *assess.Inside) string {
	if x.Gone {
		return "it lies in a space that is closed already: something must come off first"
	}
	if x.Last == (assess.Operation{}) {
		return ""
	}
	return "last moment without taking anything back: before " + Operation(p, x.Last)
}

func insideState(x *assess.Inside) string {
	switch x.Kind {
	case assess.InsideWork:
		return "not done"
	case assess.InsidePhoto:
		return "not photographed"
	case assess.InsideTemporary:
		return Count(x.Count, "piece still in", "pieces still in")
	}
	return holdWords(x.Result)
}

func provenState(x *assess.Inside) string {
	if x.Accepted != nil {
		return "accepted: " + x.Accepted.Why
	}
	switch x.Kind {
	case assess.InsideWork:
		return "done"
	case assess.InsidePhoto:
		return "photo kept"
	case assess.InsideHold:
		if x.Result != nil && x.Result.Kind == "check" {
			return orElse(x.Result.Answer, "seen")
		}
	}
	return holdWords(x.Result)
}

// lowered begins a title small where it stands inside a sentence, unless it begins with
// a short word in capitals.
func lowered(s string) string {
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && (s[1] < 'A' || s[1] > 'Z') {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
