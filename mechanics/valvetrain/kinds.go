package valvetrain

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// The kinds of values that the arguments are, and what is believable of each.
var (
	lengths      = &argument.Kind{Unit: quantity.MustUnit("mm"), Least: 1e-9, Most: 1e3}
	angles       = &argument.Kind{Unit: quantity.MustUnit("deg"), Least: 1e-9, Most: 1e6}
	forces       = &argument.Kind{Unit: quantity.MustUnit("N"), Least: 1e-6, Most: 1e9}
	masses       = &argument.Kind{Unit: quantity.MustUnit("kg"), Least: 1e-9, Most: 1e6}
	pressures    = &argument.Kind{Unit: quantity.MustUnit("GPa"), Least: 1e-3, Most: 1e15}
	densities    = &argument.Kind{Unit: quantity.MustUnit("kg/m3"), Least: 1e-3, Most: 1e6}
	rates        = &argument.Kind{Unit: quantity.MustUnit("N/mm"), Least: 1e-6, Most: 1e12}
	speeds       = &argument.Kind{Unit: quantity.MustUnit("r/min"), Least: 1e-9, Most: 1e6}
	durations    = &argument.Kind{Unit: quantity.MustUnit("s"), Least: 1e-6, Most: 1e9}
	rises        = &argument.Kind{Unit: quantity.MustUnit("K"), Least: 1e-9, Most: 1e4}
	coefficients = &argument.Kind{Unit: quantity.MustUnit("1/K"), Least: 1e-12, Most: 1e-2}
	numbers      = &argument.Kind{Unit: quantity.MustUnit("1"), Least: 1e-9, Most: 1e9}
)

// inspection looks at arguments as package argument does, and knows besides what a coil,
// a rocker or a lean of a valve may be.
type inspection struct{ argument.Inspection }
