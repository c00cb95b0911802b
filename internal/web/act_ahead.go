package web

import (
	"encoding/json"
	"maps"
	"strconv"

	"buttonup/journal"
)

// ahead is a press that comes after the one on the page: what a page shows next when
// the press before it is kept on the device and the computer does not answer.
type ahead struct {
	Title  string         `json:"title"`
	Figure string         `json:"figure"`
	Unit   string         `json:"unit,omitempty"`
	Other  string         `json:"other,omitempty"`
	Says   string         `json:"says"`
	Then   string         `json:"then,omitempty"`
	Event  map[string]any `json:"event"`
}

// mostAhead is how many presses a page knows of.
const mostAhead = 60

// aheadOf lists the presses of a joint that are left after the one on the page.
func aheadOf(v *wrenchView) string {
	w := *v
	w.Passes = nil
	for _, p := range v.Passes {
		p.Done = maps.Clone(p.Done)
		w.Passes = append(w.Passes, p)
	}
	list := []ahead{}
	for w.Press != nil && len(list) < mostAhead {
		p := &w.Passes[w.At]
		if w.Press.All {
			for _, n := range p.Order {
				p.Done[n] = true
			}
		} else {
			p.Done[w.Press.Point] = true
		}
		if p.complete() {
			w.At++
		}
		w.Press = nil
		w.press()
		if w.Press == nil {
			break
		}
		list = append(list, ahead{Title: "Pass " + strconv.Itoa(w.At+1) + " of " + strconv.Itoa(len(w.Passes)), Figure: w.Set.Figure, Unit: w.Set.Unit, Other: w.Set.Other,
			Says: w.Presses, Then: w.Then, Event: eventOf(*w.Press)})
	}
	return asJSON(list)
}

// flatsAhead lists the taps that come after the one on the page.
func flatsAhead(v *flatsView) string {
	list := []ahead{}
	at := max(v.Turned, 0) + 1
	if v.Turned < 0 {
		at = 0
	}
	for n := at + 1; len(list) < mostAhead; n++ {
		text := strconv.Itoa(n) + " flats"
		list = append(list, ahead{Figure: strconv.Itoa(n - 1), Says: "Flat " + strconv.Itoa(n), Event: eventOf(journal.Reading{Of: v.D.Name, Place: v.Place, Value: text})})
	}
	return asJSON(list)
}

func asJSON(list []ahead) string {
	text, err := json.Marshal(list)
	if err != nil {
		panic(err) // texts of ours
	}
	return string(text)
}
