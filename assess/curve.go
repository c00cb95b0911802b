package assess

import (
	"fmt"
	"math"

	"buttonup/formula"
	"buttonup/quantity"
)

// Curve is what a sweep looks through.
type Curve struct {
	// X and Y are the points at which the formula has a value, in SI.
	X, Y         []float64
	XUnit, YUnit quantity.Unit
}

// Curve computes a sweep's formula at n places of its range. It returns an error where
// there is no such sweep or it has no value.
func (q *Inquiry) Curve(name, place string, n int) (Curve, error) {
	r := q.run
	i, ok := r.numberIndex[instance{name, place}]
	if !ok || r.computed[i].sweep == nil {
		return Curve{}, fmt.Errorf("there is no sweep %s", at("sweep."+name, place))
	}
	c := Curve{XUnit: r.computed[i].sweep.Over.Unit, YUnit: r.computed[i].Unit}
	x, y, status := r.Model.numbers.Along(r.computed[i].node, r.values, n)
	if x == nil {
		return Curve{}, fmt.Errorf("%s has no value", at("sweep."+name, place))
	}
	for k := range x {
		if status[k] == formula.Known && !math.IsInf(y[k], 0) && !math.IsNaN(y[k]) {
			c.X, c.Y = append(c.X, x[k]), append(c.Y, y[k])
		}
	}
	return c, nil
}
