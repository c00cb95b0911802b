package cylinder

import (
	"fmt"
	"math"
	"strconv"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// kind is how values of one kind are written in a message, and which of them are
// believable at all. The bounds are far outside any workshop; they are there so that
// no product of allowed arguments can overflow.
type kind struct {
	unit        quantity.Unit
	least, most float64 // of a value that must be above zero, in SI
}

var (
	lengths      = &kind{quantity.MustUnit("mm"), 1e-9, 1e3}
	volumes      = &kind{quantity.MustUnit("cc"), 1e-15, 1e6}
	angles       = &kind{quantity.MustUnit("deg"), 1e-9, 1e6}
	pressures    = &kind{quantity.MustUnit("bar"), 1e-3, 1e15}
	rises        = &kind{quantity.MustUnit("K"), 1e-9, 1e4}
	coefficients = &kind{quantity.MustUnit("1/K"), 1e-12, 1e-2}
	numbers      = &kind{quantity.MustUnit("1"), 1e-9, 1e9}
)

// text writes a value for a message: at most seven figures, no more than needed.
func (k *kind) text(si float64) string {
	x := k.unit.In(si)
	short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 7, 64), 64)
	if err != nil {
		short = x
	}
	format := byte('f')
	if a := math.Abs(short); a != 0 && (a < 1e-4 || a >= 1e9) {
		format = 'g'
	}
	number := strconv.FormatFloat(short, format, -1, 64)
	if k.unit.Symbol == "1" {
		return number
	}
	return number + " " + k.unit.Symbol
}

// inspection looks at arguments one by one and keeps the first that is wrong. It says
// what package argument says, and keeps values believable besides, so that no product of
// allowed ones overflows.
type inspection struct{ err error }

// refuse takes the names of all arguments that have a part in it, with commas.
func (c *inspection) refuse(arguments, format string, values ...any) {
	if c.err == nil {
		c.err = argument.Refuse(arguments, fmt.Sprintf(format, values...), "")
	}
}

// number wants a finite value of believable size.
func (c *inspection) number(name string, k *kind, si float64) {
	switch {
	case math.IsNaN(si) || math.IsInf(si, 0):
		if c.err == nil {
			c.err = argument.Refuse(name, fmt.Sprintf("%s %s is not a number", name, k.text(si)), "give a finite number")
		}
	case si > k.most:
		c.refuse(name, "%s %s must be at most %s", name, k.text(si), k.text(k.most))
	case si < -k.most:
		c.refuse(name, "%s %s must be at least %s", name, k.text(si), k.text(-k.most))
	}
}

// notNegative wants zero or more.
func (c *inspection) notNegative(name string, k *kind, si float64) {
	if c.number(name, k, si); si < 0 {
		c.refuse(name, "%s %s must be %s or more", name, k.text(si), k.text(0))
	}
}

// above wants more than zero.
func (c *inspection) above(name string, k *kind, si float64) {
	if c.number(name, k, si); si <= 0 {
		c.refuse(name, "%s %s must be above %s", name, k.text(si), k.text(0))
	} else if si < k.least {
		c.refuse(name, "%s %s must be at least %s", name, k.text(si), k.text(k.least))
	}
}

// within wants low ≤ si ≤ high.
func (c *inspection) within(name string, k *kind, si, low, high float64) {
	if c.number(name, k, si); !(si >= low && si <= high) {
		c.refuse(name, "%s %s must be from %s to %s", name, k.text(si), k.text(low), k.text(high))
	}
}
