package measure

import (
	"math"

	"buttonup/quantity"
)

// Gauge is a measuring instrument as far as its errors go.
type Gauge struct {
	Name, Class string
	// Step is the resolution it is read in.
	Step float64
	// Uncertainty is the expanded uncertainty (k = 2) in SI; Relative the share of
	// the reading, as of a spring tester. Either may be zero.
	Uncertainty, Relative float64
	// Shared is the part of Uncertainty that all its readings in a job have in
	// common, expanded.
	Shared float64
	// Scale is the expansion coefficient of what the gauge itself is made of.
	Scale quantity.Expansion
	// Known is false where nobody has said how good the gauge is.
	Known bool
}

// own returns the standard uncertainty of one set of readings of size x: what is
// left of the gauge's uncertainty beside the shared part.
func (g *Gauge) own(x float64) float64 {
	u := math.Hypot(g.Uncertainty, g.Relative*x)
	rest := u*u - g.Shared*g.Shared
	if rest <= 0 {
		return 0
	}
	return math.Sqrt(rest) / Coverage
}

// shared returns the standard uncertainty that all readings of the gauge have in
// common; it is never more than the whole.
func (g *Gauge) shared(x float64) float64 {
	return math.Min(g.Shared, math.Hypot(g.Uncertainty, g.Relative*x)) / Coverage
}

// Reference is the temperature at which sizes hold.
//
// Source: ISO 1:2016, clause 3. Seen: a page of a seller of standards that quotes it.
const Reference = quantity.Temperature(293.15)

// StatedTemperature is the standard uncertainty of a temperature that somebody
// wrote beside a reading, in kelvins.
const StatedTemperature = 0.5

// Room is the temperature of readings that state none: the mean, and the half-width
// of the rectangle around it.
type Room struct {
	Mean      quantity.Temperature
	HalfWidth quantity.TemperatureDifference
}

// DefaultRoom is 20 ± 5 °C.
var DefaultRoom = Room{Mean: Reference, HalfWidth: 5}

// standard returns the standard uncertainty of the room's temperature.
func (r Room) standard() float64 { return float64(r.HalfWidth) / math.Sqrt(3) }
