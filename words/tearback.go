package words

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
)

// TearBackReport is a tear-back as scripts read it: the least way, and other ways.
type TearBackReport struct {
	To string `json:"to"`
	WayReport
	Ways    []WayReport `json:"ways"`
	Because []string    `json:"because"`
	Open    bool        `json:"open"`
}

// WayReport is one way to get there.
type WayReport struct {
	Undo      []string       `json:"undo"`
	Do        []string       `json:"do"`
	Replace   []UsedUpReport `json:"replace"`
	Remeasure []string       `json:"remeasure"`
	Retorque  []string       `json:"retorque"`
	// Minutes is the work of taking back, AgainMinutes that of doing it all again,
	// WaitMinutes the waits on the way back.
	Minutes      float64 `json:"minutes"`
	AgainMinutes float64 `json:"again_minutes"`
	WaitMinutes  float64 `json:"wait_minutes"`
	Cost         string  `json:"cost"`
	Currency     string  `json:"currency"`
	Unpriced     bool    `json:"unpriced"`
}

// UsedUpReport is a part or a set of fasteners that cannot be used again.
type UsedUpReport struct {
	Slot  string `json:"slot"`
	Part  string `json:"part"`
	Count int    `json:"count"`
	Cost  string `json:"cost"`
}

// MakeTearBack turns a tear-back into what scripts read.
func MakeTearBack(t *assess.TearBack) *TearBackReport {
	out := &TearBackReport{To: t.To, Ways: []WayReport{}, Because: []string{}, Open: t.Open, WayReport: wayReport(&assess.Way{})}
	for i := range t.Ways {
		w := wayReport(&t.Ways[i])
		if out.Ways = append(out.Ways, w); i == 0 {
			out.WayReport = w
		}
	}
	for _, l := range t.Why {
		out.Because = append(out.Because, linkText(l, l.Of.String(), l.By.String(), func(reference string) string { return reference }))
	}
	return out
}

func wayReport(w *assess.Way) WayReport {
	out := WayReport{Undo: operationNames(w.Undo), Do: operationNames(w.Do), Replace: []UsedUpReport{}, Remeasure: whole(w.Remeasure), Retorque: whole(w.Retorque),
		Minutes: w.Work.Minutes(), AgainMinutes: w.Again.Minutes(), WaitMinutes: w.Waits.Minutes(), Cost: w.Cost.Amount(), Currency: w.Cost.Currency, Unpriced: w.Unpriced}
	for _, u := range w.Replace {
		x := UsedUpReport{Slot: strings.TrimPrefix(u.Of, "slot."), Part: u.Part, Count: u.Count}
		if u.Priced {
			x.Cost = u.Cost.Amount()
		}
		out.Replace = append(out.Replace, x)
	}
	return out
}

func operationNames(list []assess.Operation) []string {
	out := []string{}
	for _, o := range list {
		out = append(out, o.String())
	}
	return out
}

// Price says what a way costs in time and money.
func Price(w *assess.Way) string {
	says := hours(w.Work) + " to take back, " + hours(w.Again) + " to do again"
	if w.Waits > 0 {
		says += ", " + hours(w.Waits) + " of waits"
	}
	switch {
	case w.Cost.Hundredths > 0 && w.Unpriced:
		says += "; parts for " + w.Cost.String() + " and more without a price"
	case w.Cost.Hundredths > 0:
		says += "; parts for " + w.Cost.String()
	case w.Unpriced:
		says += "; parts without a price"
	}
	return says
}

// UsedUp says what cannot be used again.
func UsedUp(p *pack.Pack, u *assess.UsedUp) string {
	says := Named(p, u.Of)
	if strings.HasPrefix(u.Of, "joint.") {
		says += ", new fasteners"
	}
	if u.Part != "" {
		says += ", " + u.Part
	}
	if u.Count > 1 {
		says = fmt.Sprintf("%d × %s", u.Count, says)
	}
	switch {
	case u.With:
		says += ", in the same kit"
	case u.Priced:
		says += ", " + u.Cost.String()
	}
	return says
}
