package catalogue

import (
	"buttonup/mechanics/cylinder"
	"buttonup/mechanics/firstrun"
	"buttonup/quantity"
)

const newtonsCooling = "Newton's law of cooling, textbook. Seen: an exercise on a mathematics forum"

var firstRunEntries = []Entry{
	function("oil_to_fill", quantity.OfVolume, "what has to be poured into a dry engine before it stands at its mark", definition,
		func(a []float64) (float64, error) {
			return of(firstrun.Oil{Tank: v(a[0]), Filter: v(a[1]), Lines: v(a[2]), Cooler: v(a[3])}.Whole())
		},
		volume("tank"), volume("filter"), volume("lines"), or(volume("cooler"), 0)),
	function("priming_time", quantity.OfTime, "least time that a pump turned by hand takes to deliver a volume", "a pump that delivers the same every turn, textbook",
		func(a []float64) (float64, error) { return of(firstrun.PrimingTime(v(a[0]), v(a[1]), hz(a[2]))) },
		volume("empty"), volume("a_turn"), frequency("speed")),
	function("oil_unaccounted", quantity.OfVolume, "oil that is neither in the tank nor in the passages after idling", practice,
		func(a []float64) (float64, error) { return of(firstrun.Unaccounted(v(a[0]), v(a[1]), v(a[2]))) },
		volume("poured"), volume("found"), volume("galleries")),
	function("cooling_constant", quantity.OfTime, "time constant of an engine that cools, from two temperatures", newtonsCooling,
		func(a []float64) (float64, error) {
			return of(firstrun.CoolingConstant(quantity.Temperature(a[0]), quantity.Temperature(a[1]), quantity.Temperature(a[2]), quantity.Duration(a[3])))
		},
		temperature("first"), temperature("second"), temperature("air"), duration("between")),
	function("cooling_time", quantity.OfTime, "how long an engine takes to cool to a temperature", newtonsCooling,
		func(a []float64) (float64, error) {
			return of(firstrun.CoolingTime(quantity.Temperature(a[0]), quantity.Temperature(a[1]), quantity.Temperature(a[2]), quantity.Duration(a[3])))
		},
		temperature("warm"), temperature("cold"), temperature("air"), duration("constant")),
	function("heat_margin", quantity.OfTemperatureDifference, "how much hotter than its barrel a piston may be before its clearance is gone", ownHeat,
		func(a []float64) (float64, error) {
			return of(cylinder.HeatMargin(l(a[0]), l(a[1]), cylinder.Heat{Expansion: ex(a[2]), Rise: dt(a[3])}, ex(a[4])))
		},
		length("bore"), length("skirt"), expansion("barrel_metal"), rise("barrel_rise"), expansion("piston_metal")),
	function("run_in_speed", quantity.OfFrequency, "speed up to which an engine may be turned after a way, while its rings bed", practice,
		func(a []float64) (float64, error) { return of(firstrun.SpeedAllowed(l(a[0]), l(a[1]), hz(a[2]))) },
		length("driven"), length("bedding"), frequency("top_speed")),
	function("run_in_leak", quantity.OfNumber, "leak-down that is normal after a way, while the rings bed", practice,
		func(a []float64) (float64, error) {
			return of(firstrun.LeakExpected(l(a[0]), l(a[1]), a[2], a[3]))
		},
		length("driven"), length("bedding"), or(number("fresh"), 0.15), or(number("bedded"), 0.08)),
}
