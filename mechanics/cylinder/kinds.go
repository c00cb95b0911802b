package cylinder

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// The kinds of values that the arguments are, and what is believable of each.
var (
	lengths      = &argument.Kind{Unit: quantity.MustUnit("mm"), Least: 1e-9, Most: 1e3}
	volumes      = &argument.Kind{Unit: quantity.MustUnit("cc"), Least: 1e-15, Most: 1e6}
	angles       = &argument.Kind{Unit: quantity.MustUnit("deg"), Least: 1e-9, Most: 1e6}
	pressures    = &argument.Kind{Unit: quantity.MustUnit("bar"), Least: 1e-3, Most: 1e15}
	rises        = &argument.Kind{Unit: quantity.MustUnit("K"), Least: 1e-9, Most: 1e4}
	coefficients = &argument.Kind{Unit: quantity.MustUnit("1/K"), Least: 1e-12, Most: 1e-2}
	numbers      = &argument.Kind{Unit: quantity.MustUnit("1"), Least: 1e-9, Most: 1e9}
)
