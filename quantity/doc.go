// Package quantity holds values with a dimension: it parses and prints them in
// the units of the shop and refuses what cannot be what it says.
//
// Every number is a float64 in the coherent SI unit of its dimension (m, kg, s,
// K, rad and what is made of them); a unit appears only where a value enters or
// leaves the program. All conversion factors are exact by definition, but the
// stored number is still a float64: compare with a tolerance, or compare printed
// values.
//
// There are two ways to hold a value. [Value] carries its [Dimension] at run
// time and is what packs, formulas and journals use. [Length], [Torque],
// [Temperature] and the other named types carry it at compile time and are what
// functions of mechanics take, so that a torque is never handed in as a length.
// There is no unit of energy here on purpose: newton metre and pound-foot always
// mean torque.
//
// What is parsed: [Parse] one value ("92.004 mm", "1-1/2 in"), [ParseRange] a
// band ("92.000 .. 92.013 mm", "<= 92.090 mm", "16-20 ft-lb") and
// [ParseUncertain] a value with its ± ("92.004 ± 0.005 mm"). What is refused is
// refused with a sentence that says what to write instead: see [ParseError].
package quantity
