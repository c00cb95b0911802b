package journal_test

import (
	"fmt"
	"time"

	"buttonup/journal"
)

// A reading, a strike that takes it back, and what is left.
func Example() {
	at := time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)
	reading := journal.New("a-1", at, "bench", journal.Reading{Of: "bore", Place: "front", Value: "92.004 mm"})
	strike := journal.New("a-2", at.Add(time.Minute), "bench", journal.Strike{Event: "a-1", Why: "wrong barrel"})
	line, err := reading.Encode()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(string(line))

	j := journal.Read(journal.Export([]journal.Event{reading, strike}))
	state := j.Fold()
	fmt.Println("chained:", state.Chained)
	fmt.Println("readings:", len(state.Readings))
	fmt.Println("struck:", state.Struck[0].Event, "because", state.Struck[0].Why)
	// Output:
	// {"id":"a-1","at":"2026-03-02T10:04:00Z","by":"bench","kind":"reading","of":"bore","place":"front","value":"92.004 mm"}
	// chained: true
	// readings: 0
	// struck: a-1 because wrong barrel
}
