package valvetrain

import (
	"math"

	"buttonup/quantity"
)

// Control is the question whether the springs keep the valve gear on the cam.
type Control struct {
	Springs Nest
	// Installed is the springs' length with the valve shut.
	Installed quantity.Length
	// Lift is the curve, Ratio how many times its lift the valve lifts.
	Lift  Lift
	Ratio float64
	// Mass is what moves, reckoned at the valve: valve, collar and keepers, a third of
	// the springs, the rocker's share, and tappet and pushrod divided by the square of
	// the ratio.
	Mass quantity.Mass
	// Speed is the crank's.
	Speed quantity.Frequency
}

// LeastControl is where the springs have least to spare.
type LeastControl struct {
	// Margin is the spring load over what the moving parts need; below 1 they float.
	Margin float64
	// Angle is the crank angle from the curve's zero.
	Angle quantity.Angle
	// Load is the springs', Needed what holds the parts on the cam.
	Load, Needed quantity.Force
}

// Least returns where the springs have least to spare over the cycle.
//
//	margin(θ) = F(installed − lift)/(m·|a|)    a = Ratio·lift″·ω²    where a < 0
//
// F is the nest's load, m the moving mass at the valve, ω the crank's speed in radians
// per second, lift″ the curve's acceleration per radian of the crank. It takes the valve
// gear as stiff and leaves out friction, gas and surge, all of which matter near the
// limit: it ranks springs and cams, it does not promise a speed. From a measured curve
// the acceleration is only as good as the readings, and a linear curve has none.
//
// It looks at every quarter degree and narrows the worst place down by golden section.
// Least returns an error as [Nest.Load] does over the lift, if mass, speed or ratio is
// not above zero, and if the curve never decelerates. It never returns NaN.
//
// Source: Newton's second law; common practice, no published source.
func (c Control) Least() (LeastControl, error) {
	var in inspection
	in.Above("mass", masses, float64(c.Mass))
	in.Above("speed", speeds, float64(c.Speed))
	in.Above("ratio", numbers, c.Ratio)
	in.Within("ratio", numbers, c.Ratio, 0, 10)
	if c.Lift == nil {
		in.Refuse("lift", "the lift curve is missing")
	}
	if in.Err != nil {
		return LeastControl{}, in.Err
	}
	_, top := Peak(c.Lift)
	if _, err := c.Springs.Load(c.Installed); err != nil {
		return LeastControl{}, err
	}
	if lift := c.Ratio * float64(top); lift >= float64(c.Installed) {
		in.Refuse("installed, lift", "installed %s must be more than the valve's lift of %s", lengths.Text(float64(c.Installed)), lengths.Text(lift))
		return LeastControl{}, in.Err
	}
	w := 2 * math.Pi * float64(c.Speed)
	var offset, rate float64 // F = offset + rate·lift
	for _, s := range c.Springs {
		offset += float64(s.Rate) * float64(s.Free-c.Installed)
		rate += float64(s.Rate)
	}
	state := func(x float64) LeastControl {
		y, _, a := c.Lift.at(x)
		lift := max(0, c.Ratio*y)
		load := offset + rate*lift
		needed := -float64(c.Mass) * c.Ratio * a * w * w
		margin := math.Inf(1)
		if needed > 0 && y > 0 {
			margin = load / needed
		}
		return LeastControl{Margin: margin, Angle: quantity.Angle(x), Load: quantity.Force(load), Needed: quantity.Force(needed)}
	}
	best := LeastControl{Margin: math.Inf(1)}
	const look = degree / 4
	for i := -1440; i < 1440; i++ {
		if s := state(float64(i) * look); s.Margin < best.Margin {
			best = s
		}
	}
	if math.IsInf(best.Margin, 1) || !(float64(best.Needed) > 1e-12) {
		in.Refuse("lift", "the lift curve never slows the valve, so there is nothing for the springs to do; a linear curve has no acceleration")
		return LeastControl{}, in.Err
	}
	low, high := float64(best.Angle)-look, float64(best.Angle)+look
	const golden = 0.6180339887498949
	for range 50 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		sa, sb := state(a), state(b)
		if sa.Margin < sb.Margin {
			high = b
		} else {
			low = a
		}
		for _, s := range [2]LeastControl{sa, sb} {
			if s.Margin < best.Margin {
				best = s
			}
		}
	}
	return best, nil
}
