package argument

import (
	"fmt"
	"math"
	"strconv"

	"buttonup/quantity"
)

// Kind is how values of one kind are written in a message, and which of them are
// believable at all. The bounds are far outside any workshop; they are there so that
// no product of allowed arguments can overflow.
type Kind struct {
	Unit        quantity.Unit
	Least, Most float64 // of a value that must be above zero, in SI
}

// Text writes a value for a message: at most seven figures, no more than needed.
func (k *Kind) Text(si float64) string {
	x := k.Unit.In(si)
	short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 7, 64), 64)
	if err != nil {
		short = x
	}
	format := byte('f')
	if a := math.Abs(short); a != 0 && (a < 1e-4 || a >= 1e9) {
		format = 'g'
	}
	number := strconv.FormatFloat(short, format, -1, 64)
	if k.Unit.Symbol == "1" {
		return number
	}
	return number + " " + k.Unit.Symbol
}

// Inspection looks at arguments one by one and keeps the first that is wrong. It
// keeps values believable besides, so that no product of
// allowed ones overflows.
type Inspection struct{ Err error }

// Refuse takes the names of all arguments that have a part in it, with commas.
func (c *Inspection) Refuse(arguments, format string, values ...any) {
	if c.Err == nil {
		c.Err = Refuse(arguments, fmt.Sprintf(format, values...), "")
	}
}

// Number wants a finite value of believable size.
func (c *Inspection) Number(name string, k *Kind, si float64) {
	switch {
	case math.IsNaN(si) || math.IsInf(si, 0):
		if c.Err == nil {
			c.Err = Refuse(name, fmt.Sprintf("%s %s is not a number", name, k.Text(si)), "give a finite number")
		}
	case si > k.Most:
		c.Refuse(name, "%s %s must be at most %s", name, k.Text(si), k.Text(k.Most))
	case si < -k.Most:
		c.Refuse(name, "%s %s must be at least %s", name, k.Text(si), k.Text(-k.Most))
	}
}

// NotNegative wants zero or more.
func (c *Inspection) NotNegative(name string, k *Kind, si float64) {
	if c.Number(name, k, si); si < 0 {
		c.Refuse(name, "%s %s must be %s or more", name, k.Text(si), k.Text(0))
	}
}

// Above wants more than zero.
func (c *Inspection) Above(name string, k *Kind, si float64) {
	if c.Number(name, k, si); si <= 0 {
		c.Refuse(name, "%s %s must be above %s", name, k.Text(si), k.Text(0))
	} else if si < k.Least {
		c.Refuse(name, "%s %s must be at least %s", name, k.Text(si), k.Text(k.Least))
	}
}

// Within wants low ≤ si ≤ high.
func (c *Inspection) Within(name string, k *Kind, si, low, high float64) {
	if c.Number(name, k, si); !(si >= low && si <= high) {
		c.Refuse(name, "%s %s must be from %s to %s", name, k.Text(si), k.Text(low), k.Text(high))
	}
}
