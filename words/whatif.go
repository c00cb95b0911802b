package words

import (
	"fmt"
	"math"
	"strings"

	"buttonup/assess"
	"buttonup/quantity"
)

// WhatIfReport tells what something supposed changes.
type WhatIfReport struct {
	Changes []ChangeReport `json:"changes"`
	// Findings that come and go, by their ids; notes do not count.
	New  []string `json:"new"`
	Gone []string `json:"gone"`
}

// ChangeReport is one result before and after.
type ChangeReport struct {
	Of     string      `json:"of"`
	Place  string      `json:"place,omitempty"`
	Title  string      `json:"title"`
	Before *SideReport `json:"before,omitempty"`
	After  *SideReport `json:"after,omitempty"`
	Moved  *Figure     `json:"moved,omitempty"`
	// Through names what the change comes through, the first cause first.
	Through []string `json:"through"`
	Says    string   `json:"says"`
}

// SideReport is a result on one side of a change.
type SideReport struct {
	Value    *Figure `json:"value,omitempty"`
	Expanded *Figure `json:"expanded,omitempty"`
	Verdict  string  `json:"verdict"`
	Says     string  `json:"says"`
}

// MakeWhatIf turns a what-if into a report.
func MakeWhatIf(w *assess.WhatIf) *WhatIfReport {
	r := &WhatIfReport{Changes: []ChangeReport{}, New: []string{}, Gone: []string{}}
	for i := range w.Changes {
		c := &w.Changes[i]
		one := c.After
		if one == nil {
			one = c.Before
		}
		x := ChangeReport{Of: one.Reference(), Place: one.Place, Title: one.Title, Before: side(c.Before), After: side(c.After), Through: append([]string{}, c.Through...), Says: Change(c)}
		if c.HasMoved {
			x.Moved = &Figure{SI: c.Moved, Text: moved(c)}
		}
		r.Changes = append(r.Changes, x)
	}
	for i := range w.New {
		r.New = append(r.New, w.New[i].ID())
	}
	for i := range w.Gone {
		r.Gone = append(r.Gone, w.Gone[i].ID())
	}
	return r
}

func side(r *assess.Result) *SideReport {
	if r == nil {
		return nil
	}
	x := result(r)
	return &SideReport{Value: x.Value, Expanded: x.Expanded, Verdict: x.Verdict, Says: x.Says}
}

// moved prints by how much a value changes, with its sign and the finer of the two
// decimals.
func moved(c *assess.Change) string {
	d := max(c.Before.Decimals, c.After.Decimals, 0)
	u := c.After.Unit
	if x := math.Abs(u.InDifference(c.Moved)); x > 0 && x < math.Pow10(-d) {
		d = quantity.DecimalsFor(x, 1)
	}
	text := u.DifferenceText(math.Abs(c.Moved), d)
	if c.Moved < 0 {
		return "-" + text
	}
	return "+" + text
}

// Change says one change: "1.20 mm becomes 1.05 mm (-0.15 mm); serviceable, then worn
// out".
func Change(c *assess.Change) string {
	value := func(r *assess.Result) string {
		if r == nil || !r.HasValue {
			return "nothing"
		}
		return Measured(r)
	}
	var parts []string
	switch {
	case c.Before == nil:
		parts = append(parts, value(c.After)+", not there before")
	case c.After == nil:
		return value(c.Before) + " is no longer part of the job"
	case value(c.Before) == value(c.After):
		parts = append(parts, "stays "+value(c.After))
	default:
		says := value(c.Before) + " becomes " + value(c.After)
		if c.HasMoved {
			says += " (" + moved(c) + ")"
		}
		parts = append(parts, says)
	}
	if c.Before != nil {
		before, after := Verdict(c.Before), Verdict(c.After)
		switch {
		case c.Before.Verdict != c.After.Verdict:
			parts = append(parts, before+", then "+after)
		case after != "":
			parts = append(parts, "still "+after)
		}
	} else if v := Verdict(c.After); v != "" {
		parts = append(parts, v)
	}
	return strings.Join(parts, "; ")
}

// Through says what a change comes through; it is empty for what was supposed itself.
func Through(c *assess.Change) string {
	if len(c.Through) == 0 {
		return ""
	}
	return fmt.Sprintf("through %s", strings.Join(c.Through, " → "))
}
