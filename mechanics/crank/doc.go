// Package crank computes what a built-up crankshaft needs: truing it from two
// dials, choosing the spacer that sets its end play, and balancing it.
//
// It refuses to know packs, journals and people: every function takes readings and
// sizes and returns sizes. All values are in the typed kinds of package quantity.
//
// Where to look:
//
//	two dials and their angles    Diagnose, Fault, Fault.Steps, Moved
//	TIR and eccentricity          Eccentricity, TIR
//	end play                      ParseKit, SelectSpacer, EndPlayGrowth
//	the bob-weight                BobWeight, PerWheel, BalanceFactor, Counterweight
//	what still shakes             ShakeSingle, ShakeV
//	how much is allowed to stay   ParseGrade, PermissibleUnbalance
//	taking metal off              Hole, DepthFor
//
// Angles on the crank are counted from the crankpin, positive in the direction in
// which the crank runs. A total indicator reading (TIR) is twice an eccentricity;
// which of the two a number is, its name says.
//
// Nothing here certifies a crank. A blow can crack a wheel and a drilled hole
// cannot be put back: the engine maker's manual, local codes and licensed practice
// go first.
package crank
