package valvetrain

import (
	"buttonup/quantity"
)

// LeakTest is a lifter's leak-down on the bench: how long it takes under a force over a
// stroke, in test fluid.
type LeakTest struct {
	Time   quantity.Duration
	Stroke quantity.Length
	Force  quantity.Force
}

// BleedDown estimates how long a pumped-up lifter takes to let its valve shut.
//
//	t = t_bench·(s/s_bench)·(F_bench/F)·(ν_oil/ν_test)
//
// s is the stroke that is still to bleed, F the force on the lifter, which is
// [LifterForce], and the last factor how many times thicker the oil in the engine is
// than the test fluid: some 40 to 150 for cold engine oil, a guess that decides the
// answer. The estimate says when to come back, no more. Until the pushrod spins between
// finger and thumb the crank must not be turned: a held valve meets the piston or the
// other valve.
//
// BleedDown returns an error unless all arguments are above zero (the stroke may be
// zero). It never returns NaN or an infinity.
//
// Source: laminar leakage in proportion to pressure and inversely to viscosity; own
// derivation.
func BleedDown(bench LeakTest, stroke quantity.Length, force quantity.Force, viscosityRatio float64) (quantity.Duration, error) {
	var in inspection
	in.Above("bench time", durations, float64(bench.Time))
	in.Above("bench stroke", lengths, float64(bench.Stroke))
	in.Above("bench force", forces, float64(bench.Force))
	in.NotNegative("stroke", lengths, float64(stroke))
	in.Above("force", forces, float64(force))
	in.Above("viscosity ratio", numbers, viscosityRatio)
	if in.Err != nil {
		return 0, in.Err
	}
	return bench.Time * quantity.Duration(float64(stroke/bench.Stroke)*float64(bench.Force/force)*viscosityRatio), nil
}

// LifterForce returns the force on a lifter that holds a valve.
//
//	F = spring load·R
//
// R is the rocker ratio. LifterForce returns an error unless the load is zero or more and
// the ratio above zero and at most 10.
//
// Source: law of the lever.
func LifterForce(springLoad quantity.Force, ratio float64) (quantity.Force, error) {
	var in inspection
	in.NotNegative("spring load", forces, float64(springLoad))
	in.Above("ratio", numbers, ratio)
	in.Within("ratio", numbers, ratio, 0, 10)
	if in.Err != nil {
		return 0, in.Err
	}
	return springLoad * quantity.Force(ratio), nil
}
