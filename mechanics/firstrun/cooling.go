package firstrun

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// CoolingConstant returns the time constant of an engine that cools, from two
// temperatures.
//
//	τ = t/ln((T₁ − Ta)/(T₂ − Ta))
//
// t is the time between the readings T₁ and T₂ of one spot, Ta the air's. After τ the
// engine is above the air by 37 % of what it was. Read it with the fan off if the fan is
// off later.
//
// CoolingConstant returns an error unless T₁ > T₂ > Ta and the time is above zero. It
// never returns NaN.
//
// Source: Newton's law of cooling, textbook. Seen: an exercise on a mathematics forum
// that works it.
func CoolingConstant(first, second, air quantity.Temperature, between quantity.Duration) (quantity.Duration, error) {
	var in argument.Inspection
	in.Above("between", durations, float64(between))
	falling(&in, "first", first, "second", second)
	falling(&in, "second", second, "air", air)
	if in.Err != nil {
		return 0, in.Err
	}
	tau := float64(between) / math.Log(float64(first-air)/float64(second-air))
	return argument.Result("time constant", quantity.Duration(tau))
}

// CoolingTime returns how long an engine takes to cool to a temperature.
//
//	t = τ·ln((T − Ta)/(T₀ − Ta))
//
// T is how warm it is, T₀ how cold it has to be, Ta the air and τ the time constant of
// [CoolingConstant]. An engine that is cold enough already takes no time.
//
// CoolingTime returns an error if the air is not colder than what is wanted: then it
// never gets there. It never returns NaN.
//
// Source: Newton's law of cooling, textbook.
func CoolingTime(warm, cold, air quantity.Temperature, constant quantity.Duration) (quantity.Duration, error) {
	var in argument.Inspection
	in.Above("constant", durations, float64(constant))
	in.Within("warm", temperatures, float64(warm), 0, temperatures.Most)
	falling(&in, "cold", cold, "air", air)
	switch {
	case in.Err != nil:
		return 0, in.Err
	case warm <= cold:
		return 0, nil
	}
	return argument.Result("cooling time", constant*quantity.Duration(math.Log(float64(warm-air)/float64(cold-air))))
}

// falling wants the first temperature above the second.
func falling(in *argument.Inspection, a string, warm quantity.Temperature, b string, cool quantity.Temperature) {
	in.Within(a, temperatures, float64(warm), 0, temperatures.Most)
	in.Within(b, temperatures, float64(cool), 0, temperatures.Most)
	if in.Err == nil && warm <= cool {
		in.Refuse(a+", "+b, "%s %s must be above %s %s, or it never gets there", a, temperatures.Text(float64(warm)), b, temperatures.Text(float64(cool)))
	}
}
