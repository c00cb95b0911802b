package web

import (
	"strconv"

	"buttonup/quantity"
)

// What an entry page says of its cells to the script that goes on from one to the next
// while the computer cannot be reached.

// repeatOf is which repeat of its cell a slot is, empty where there is one.
func repeatOf(e *entryView, i int) string {
	if e.D.Plan.Times() < 2 {
		return ""
	}
	return strconv.Itoa(e.Slots[i].N)
}

// unitBehind is the unit that goes behind a bare number, as readField puts it there.
func unitBehind(u quantity.Unit) string {
	if u.Symbol == "1" {
		return ""
	}
	return u.Symbol
}
