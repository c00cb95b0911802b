package web

import (
	"encoding/json"
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

// mostFlats is how many taps a page knows of.
const mostFlats = 60

// flatsAhead lists the taps that come after the one on the page.
func flatsAhead(v *flatsView) string {
	list := []ahead{}
	at := max(v.Turned, 0) + 1
	if v.Turned < 0 {
		at = 0
	}
	for n := at + 1; len(list) < mostFlats; n++ {
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
