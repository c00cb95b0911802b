// Package measure turns readings into values with an uncertainty, and values into
// verdicts.
//
// A [Set] gathers the readings of one dimension at one place according to a [Plan]
// of positions and axes. Every cell of it is a [Form]: a value and what it owes to
// each unknown (the gauge, the step it is read in, the temperature), so that what
// two values share is counted once when they are combined. [Judge] holds a value
// with its ± against the band of new parts and the limit of wear.
//
// Uncertainties are standard ones (k = 1) inside the package; what is shown and
// judged is expanded with k = 2.
package measure
