// Package joint computes bolted joints: threads, torque and preload, stripping,
// what a wrench can be set to, stages, and what heat and gaskets do to a joint.
//
// It refuses to know packs, journals and people: every function takes sizes and
// returns sizes. All values are in the typed kinds of package quantity.
//
// Where to look:
//
//	what is written          ParseThread, ParseGrade, ParseState
//	the thread itself        Thread, Limits, StressArea, PlausibleTorque
//	the bolt's metal         Grade, Strength, ProofLoad
//	torque to preload, back  TighteningTorque, Preload (exact friction form);
//	                         the Linear and NutFactor forms stand beside them
//	how sure is it           PreloadBand, ScatterByMethod, CompareStates
//	how far may it go        AssemblyPreload, TighteningStress, Stripping
//	the wrench               AdapterSetting, WrenchMark, WrenchDeviation, TorqueWithDrag
//	used locking nuts        LeastPrevailing, LeastBreakaway
//	the order                CheckStages
//	stiffness, turn, heat    MemberStiffness, TurnPreload, PreloadChange
//	the rest of the stack    Growth, CrushedThickness, ScrewReach, Turns
//
// Three forms connect torque and preload and they differ on purpose: the exact
// friction form, the linear form of ISO 16047 and VDI 2230, and the nut factor. A
// result says which form it used by the name of the function; never mix them in
// one joint.
//
// What is computed here is an estimate for known friction. Friction is never known
// well: see PreloadBand before trusting a preload. Nothing here certifies a joint;
// the engine maker's manual, local codes and licensed practice go first.
package joint
