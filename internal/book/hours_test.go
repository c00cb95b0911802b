package book

import (
	"math/big"
	"testing"

	"buttonup/journal"
)

// What the pack gives each operation of the demo job is added up once per place; time
// recorded is compared only where both figures are there, and waiting stands apart.
func TestHours(t *testing.T) {
	j := finished(t)
	var first string
	var seconds float64
	places := map[string]bool{}
	for _, o := range j.Pack.Operations {
		if first == "" && o.Seconds > 0 {
			for _, x := range j.State.Operations {
				if x.OperationBody.Operation == o.Name && x.State == journal.Done {
					first, seconds = o.Name, o.Seconds
				}
			}
		}
	}
	if first == "" {
		t.Fatal("no operation that is done has minutes in the pack")
	}
	for _, x := range j.State.Operations {
		if x.OperationBody.Operation == first && x.State == journal.Done {
			places[x.Place] = true
		}
	}
	planned := seconds / 60 * float64(len(places))
	state := *j.State
	state.Times = []journal.TimeRecord{
		{TimeWorked: journal.TimeWorked{Operation: first, Minutes: planned}},
		{TimeWorked: journal.TimeWorked{Operation: first, Minutes: planned / 2}},
		{TimeWorked: journal.TimeWorked{Operation: "Waiting", Minutes: 90}},
		{TimeWorked: journal.TimeWorked{Operation: "swept the floor", Minutes: 7}},
	}
	copied := *j
	copied.State = &state
	c, err := copied.Hours()
	if err != nil {
		t.Fatal(err)
	}
	if c.Whole.Ratio == nil || c.Whole.Ratio.Cmp(big.NewRat(3, 2)) != 0 {
		t.Errorf("half as long again is %v", c.Whole.Ratio)
	}
	got := map[string]string{}
	for _, x := range c.Categories {
		got[x.Name] = x.Actual.RatString()
	}
	if got[inTheWay] != "90" || got[besides] != "7" {
		t.Errorf("%v", got)
	}
	if c.Whole.Estimated.Cmp(c.Whole.Compared) <= 0 {
		t.Error("only what took time was planned")
	}
}
