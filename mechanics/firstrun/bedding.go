package firstrun

import (
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Rings says how an engine's rings are to be bedded.
type Rings struct {
	// Bedding is the way after which the rings count as bedded: the ring maker's paper
	// says; about 800 km for plain iron is common practice. Hard-faced rings differ.
	Bedding quantity.Length
	// Top is the speed that the finished engine may turn.
	Top quantity.Frequency
	// Margin is how much hotter than its barrel a piston may be before its clearance is
	// gone, from cylinder.HeatMargin; nothing must be run before it is above zero.
	Margin quantity.TemperatureDifference
	// Fresh and Bedded are the leak-down that is normal before the first start and once
	// the first rings carry: 0.15 and 0.08 are common practice.
	Fresh, Bedded float64
}

// Stretch is a part of the way and what is allowed on it.
type Stretch struct {
	From, To quantity.Length
	Speed    quantity.Frequency
}

// Run is one of the short runs on the stand.
type Run struct {
	// Longest is how long it may last at most, none for a run that ends by heat.
	Longest quantity.Duration
	// Barrel is at what temperature of the barrel it ends, zero for one that ends by
	// the clock.
	Barrel quantity.Temperature
	// Cool is how long the engine stands after it.
	Cool quantity.Duration
}

// Plan is how a finished engine is run in.
type Plan struct {
	Runs []Run
	// RetorqueAfter is the run after which, cold, joints with a retorque are gone over.
	RetorqueAfter int
	Stretches     []Stretch
	// Oil are the ways at which oil and filter are changed.
	Oil []quantity.Length
	// LeakBy is where leak-down should have come down to Bedded.
	LeakBy quantity.Length
}

// The proportions of the plan. On the demo engine (bedding 800 km, 5,500 r/min) they are
// the figures of the usual instruction: under 3,000 r/min to 80 km, 3,500 to 300,
// 4,200 to 800; oil at 80, 800 and 2,500 km.
//
// Source: common practice, no published source.
var (
	partsOfWay  = []float64{0.1, 0.375, 1}
	shareOfTop  = []float64{6.0 / 11, 7.0 / 11, 8.4 / 11}
	oilPartsWay = []float64{0.1, 1, 3.125}
)

const leakPartOfWay = 0.375

// Stand is where and how hot the engine is run before it goes on the road.
type Stand struct {
	// Air is how warm the air is, Cold what counts as cold for a retorque: 30 °C.
	Air, Cold quantity.Temperature
	// Constant is the engine's time constant from [CoolingConstant]; zero where nobody
	// has read it, then only Rest counts.
	Constant quantity.Duration
	// Rest is the least that the engine stands after a hot run: 2 h.
	Rest quantity.Duration
}

// The barrel temperatures at which the runs end, and how long the first may last.
//
// Source: common practice, no published source; the demo engine's figures (invented).
const (
	firstLongest  = 60          // s
	secondLongest = 180         // s
	warmBarrel    = 273.15 + 90 // K
	hotBarrel     = 273.15 + 120
)

// Schedule lays out the run-in: five runs on the stand, from cold to hot and cold again,
// then speeds that rise with the way, and where oil, retorque and leak-down are due.
//
//	way    to w/10      to 3w/8      to w         w = bedding
//	speed  6/11 of top  7/11 of top  8.4/11 of top
//	oil    at w/10, w and 3.125·w;  leak-down settled at 3w/8
//
// Load is varied all the way: rings bed by the pressure behind them, so neither long
// idling nor labouring. The first run lasts a minute, the second three or until the
// barrel has 90 °C, three more until 120 °C, and the engine stands until it is cold
// after each, by the time constant if it is known and never less than Rest. Retorques
// come after the last of them, cold, and only where the maker allows them.
//
// Schedule returns an error unless way and top speed are above zero, the margin is above
// zero (a piston that fills its bore must not be run), 0 ≤ Bedded ≤ Fresh ≤ 1, and the
// air is colder than what counts as cold. It never returns NaN.
//
// A running engine can burn, catch and poison: outdoors or extracted, extinguisher and
// fuel shut-off in reach. The engine and ring makers' papers go first.
//
// Source: common practice, no published source; general articles of the motorcycle
// press on running in say the same of load and idling.
func Schedule(rings Rings, stand Stand) (Plan, error) {
	var in argument.Inspection
	in.Above("bedding", ways, float64(rings.Bedding))
	in.Above("top speed", speeds, float64(rings.Top))
	in.Above("margin", &argument.Kind{Unit: quantity.MustUnit("K"), Least: 1e-9, Most: 1e4}, float64(rings.Margin))
	in.Within("fresh", numbers, rings.Fresh, 0, 1)
	in.Within("bedded", numbers, rings.Bedded, 0, rings.Fresh)
	in.NotNegative("rest", durations, float64(stand.Rest))
	in.NotNegative("constant", durations, float64(stand.Constant))
	falling(&in, "cold", stand.Cold, "air", stand.Air)
	if in.Err != nil {
		return Plan{}, in.Err
	}
	p := Plan{RetorqueAfter: 5, LeakBy: rings.Bedding * leakPartOfWay}
	for _, r := range []Run{{Longest: firstLongest}, {Longest: secondLongest, Barrel: warmBarrel}, {Barrel: hotBarrel}, {Barrel: hotBarrel}, {Barrel: hotBarrel}} {
		cool, err := stand.standing(max(r.Barrel, warmBarrel))
		if err != nil {
			return Plan{}, err
		}
		r.Cool = cool
		p.Runs = append(p.Runs, r)
	}
	from := quantity.Length(0)
	for i, part := range partsOfWay {
		to := rings.Bedding * quantity.Length(part)
		p.Stretches = append(p.Stretches, Stretch{from, to, rings.Top * quantity.Frequency(shareOfTop[i])})
		from = to
	}
	for _, part := range oilPartsWay {
		p.Oil = append(p.Oil, rings.Bedding*quantity.Length(part))
	}
	return p, nil
}

// standing returns how long the engine stands after a run that ended at a temperature.
func (s Stand) standing(barrel quantity.Temperature) (quantity.Duration, error) {
	if s.Constant == 0 {
		return s.Rest, nil
	}
	t, err := CoolingTime(barrel, s.Cold, s.Air, s.Constant)
	return max(t, s.Rest), err
}

// SpeedAllowed returns the speed up to which an engine may be turned after a way.
//
// It is the speed of the stretch of [Schedule] in which the way lies, the higher one at
// its end, and the top speed once the rings count as bedded.
//
// SpeedAllowed returns an error unless bedding and top are above zero and the way is not
// below it. It never returns NaN.
//
// Source: common practice, no published source.
func SpeedAllowed(driven, bedding quantity.Length, top quantity.Frequency) (quantity.Frequency, error) {
	var in argument.Inspection
	in.NotNegative("driven", ways, float64(driven))
	in.Above("bedding", ways, float64(bedding))
	in.Above("top speed", speeds, float64(top))
	if in.Err != nil {
		return 0, in.Err
	}
	for i, part := range partsOfWay {
		if float64(driven) < part*float64(bedding) {
			return top * quantity.Frequency(shareOfTop[i]), nil
		}
	}
	return top, nil
}

// LeakExpected returns the leak-down that is normal after a way.
//
//	leak = fresh − (fresh − bedded)·min(1, driven/(3w/8))
//
// It falls evenly from what is normal before the first start to what is normal once the
// rings carry. Compare with the same tester and the same warmth, and compare cylinders
// with one another first.
//
// LeakExpected returns an error unless 0 ≤ bedded ≤ fresh ≤ 1, the bedding is above zero
// and the way is not below it. It never returns NaN.
//
// Source: common practice, no published source.
func LeakExpected(driven, bedding quantity.Length, fresh, bedded float64) (float64, error) {
	var in argument.Inspection
	in.NotNegative("driven", ways, float64(driven))
	in.Above("bedding", ways, float64(bedding))
	in.Within("fresh", numbers, fresh, 0, 1)
	in.Within("bedded", numbers, bedded, 0, fresh)
	if in.Err != nil {
		return 0, in.Err
	}
	return fresh - (fresh-bedded)*min(1, float64(driven)/(leakPartOfWay*float64(bedding))), nil
}
