package words

import (
	"fmt"
	"math"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/quantity"
)

// SettleReport says what would settle a verdict that is too close to call.
type SettleReport struct {
	// Needs is the ± below which the verdict would stand if the value stayed, Least the
	// smallest that the registered instruments reach together.
	Needs   Figure         `json:"needs"`
	Least   Figure         `json:"least"`
	Options []OptionReport `json:"options"`
	Says    string         `json:"says"`
}

// OptionReport is one way to settle it: what to read again with what, how long that
// takes, the ± afterwards and the chance that the verdict then stands.
type OptionReport struct {
	Read     []RepeatReport `json:"read"`
	Readings int            `json:"readings"`
	Minutes  float64        `json:"minutes"`
	Expanded Figure         `json:"expanded"`
	Chance   float64        `json:"chance"`
	Says     string         `json:"says"`
}

// RepeatReport is a dimension to be read again.
type RepeatReport struct {
	Of         string `json:"of"`
	Place      string `json:"place,omitempty"`
	Instrument string `json:"instrument"`
	Readings   int    `json:"readings"`
}

func settleReport(r *assess.Result) *SettleReport {
	if r.Settle == nil {
		return nil
	}
	figure := func(x float64) Figure { return Figure{SI: x, Text: plusMinus(r, x)} }
	out := &SettleReport{Needs: figure(r.Settle.Needs), Least: figure(r.Settle.Least), Options: []OptionReport{}, Says: Settling(r)}
	for i := range r.Settle.Options {
		o := &r.Settle.Options[i]
		x := OptionReport{Read: []RepeatReport{}, Readings: o.Readings, Minutes: o.Seconds / 60, Expanded: figure(o.Expanded), Chance: o.Chance, Says: Way(r, o)}
		for _, again := range o.Repeats {
			x.Read = append(x.Read, RepeatReport{again.Of, again.Place, again.Instrument, again.Readings})
		}
		out.Options = append(out.Options, x)
	}
	return out
}

// plusMinus prints a ± with two figures.
func plusMinus(r *assess.Result, x float64) string {
	d := r.Decimals
	if shown := r.Unit.InDifference(x); shown > 0 {
		d = quantity.DecimalsFor(shown, 2)
	}
	return r.Unit.DifferenceText(x, d)
}

// Settling says in one sentence what would settle a verdict: the way that takes least
// time, or that nothing here can.
func Settling(r *assess.Result) string {
	s := r.Settle
	switch {
	case s == nil:
		return ""
	case onEdge(r):
		return "it lies on the edge itself, where no gauge decides: accept it with a reason, or take it for the worse"
	case len(s.Options) == 0:
		return fmt.Sprintf("read it again with a ± below %s: no instrument registered here can settle it, so take a finer one, or accept it with a reason", settles(r))
	}
	says := fmt.Sprintf("read it again with a ± below %s", settles(r))
	switch {
	case s.Options[0].Expanded < s.Needs:
		says += ": "
	case s.Least < s.Needs:
		says += "; quickest is "
	default:
		says += ", which no instrument registered here has; still, "
	}
	says += Way(r, &s.Options[0])
	// A way with a much better chance is worth the time.
	for i := range s.Options {
		if o := &s.Options[i]; i > 0 && o.Chance > s.Options[0].Chance+0.1 {
			return says + "; or " + Way(r, o)
		}
	}
	return says
}

// SettlingIn says what Settling does, with the titles of the pack in the place of names.
func SettlingIn(p *pack.Pack, r *assess.Result) string { return titled(p, Settling(r)) }

// onEdge reports whether a value lies so near to an edge that no gauge decides.
func onEdge(r *assess.Result) bool { return r.Settles < r.Expanded/1000 }

// Way says one way to settle a verdict: "bg-2, 4 readings, about 4 min, 83 % likely to
// settle it"; of a number also what is to be read.
func Way(r *assess.Result, o *assess.Option) string {
	var list []string
	for _, again := range o.Repeats {
		name := again.Instrument
		if r.Kind != "dimension" {
			name = Title(again.Of, again.Place) + " with " + name
		}
		list = append(list, name)
	}
	return fmt.Sprintf("%s, %s, about %s, %s likely to settle it", strings.Join(list, " and "), Count(o.Readings, "reading", "readings"), minutes(o.Seconds), likely(o.Chance))
}

// minutes prints a length of work, which nobody knows to a second.
func minutes(seconds float64) string {
	return fmt.Sprintf("%.0f min", math.Max(1, math.Round(seconds/60)))
}

// likely prints a chance; no reading is certain to settle anything.
func likely(p float64) string {
	percent := math.Round(100 * p)
	if percent > 99 {
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", percent)
}
