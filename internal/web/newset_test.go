package web

import (
	"net/http"
	"testing"
)

// A bore that was machined is not held against what it was before.
func TestANewSetIsNotHeldAgainstTheOldOne(t *testing.T) {
	b := newBench(t, "swapped-gasket")
	before := b.events("swapped-gasket")
	w := b.read("swapped-gasket", "bore", "rear", "0", "key00001", "92.060", "cell", "10 mm thrust")
	if w.Code != http.StatusUnprocessableEntity || b.events("swapped-gasket") != before {
		t.Fatalf("a jump in the set under way: %d", w.Code)
	}
	contains(t, w.Body.String(), "The nearest of the other readings")
	w = b.read("swapped-gasket", "bore", "rear", "0", "key00002", "92.060", "cell", "10 mm thrust", "phase", "as-machined")
	if w.Code != http.StatusOK || b.events("swapped-gasket") != before+1 {
		t.Fatalf("the first reading of a new set: %d\n%s", w.Code, w.Body)
	}
	// From then on the new set is the one under way, whether it is named again or not.
	for i, more := range [][]string{{"phase", "as-machined"}, nil} {
		w = b.read("swapped-gasket", "bore", "rear", "1", "key0001"+string(rune('0'+i)), "92.255", append([]string{"cell", "10 mm pin"}, more...)...)
		if w.Code != http.StatusUnprocessableEntity || b.events("swapped-gasket") != before+1 {
			t.Errorf("%v: a jump in the new set: %d", more, w.Code)
		}
	}
}
