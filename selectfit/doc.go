// Package selectfit gives measured parts to measured places: pistons to bores, lifters
// to lobes, shims to valves, so that all clearances together come as near to what is
// wanted as these parts allow.
//
// [Solve] finds the best assignment, proven, and the second best, so that a builder
// sees what the last micrometre costs; or the smallest set of places that cannot all
// be served, and which oversize would help them. It knows neither packs nor journals:
// what may not leave its place is told to it as a pair.
package selectfit
