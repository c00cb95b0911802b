package firstrun

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// The kinds of values that the arguments are, and what is believable of each.
var (
	volumes      = &argument.Kind{Unit: quantity.MustUnit("L"), Least: 1e-12, Most: 1e3}
	ways         = &argument.Kind{Unit: quantity.MustUnit("km"), Least: 1, Most: 1e9}
	speeds       = &argument.Kind{Unit: quantity.MustUnit("r/min"), Least: 1e-6, Most: 1e5}
	durations    = &argument.Kind{Unit: quantity.MustUnit("min"), Least: 1e-6, Most: 1e9}
	temperatures = &argument.Kind{Unit: quantity.MustUnit("degC"), Least: 0, Most: 1e4}
	numbers      = &argument.Kind{Unit: quantity.MustUnit("1"), Least: 1e-9, Most: 1e6}
)
