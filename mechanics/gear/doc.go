// Package gear computes the mesh of timing and pump gears: their size over pins,
// the backlash a centre distance gives them, what heat does to it, and which size of
// gear to fit.
//
// It refuses to know packs, journals and people: every function takes sizes and
// returns sizes. All values are in the typed kinds of package quantity. Only
// external gears on parallel shafts, spur or helical, are known here.
//
// Where to look:
//
//	the function behind it all     Inv, InverseInv
//	a gear                         Gear, ModuleFromDiametralPitch
//	measuring a tooth              OverPins, ThinningOverPins, ChordalThickness
//	a pair at a centre distance    Backlash, BacklashRule
//	the same pair hot              BacklashGrowth
//	which class to fit             SelectClass
//	round and true                 JudgeSpread, Eccentricity
//
// Backlash and tooth thickness are arcs in the transverse plane, square to the
// shaft, unless a name says otherwise.
//
// Nothing here certifies a mesh; the engine maker's manual, local codes and licensed
// practice go first.
package gear
