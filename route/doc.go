// Package route finds an order for the work on an engine that breaks no rule, and the
// least that must come off to get at something again.
//
// It knows operations, spaces, holds, temporaries and locks by plain numbers: the
// index in the slices of a [Problem]. Names, places, quantities and sentences are the
// caller's, and so is what counts as measured. It refuses to know them.
//
// The rules are those of docs/pack-language.md, "Order and tear-back". They stand in
// rules.go, each with the name of what it forbids, and are the same that an assessment
// holds against a journal: a plan that is followed step by step breaks nothing.
//
// What is a pure question of sequence, which operation next if a change of side,
// fixture or tool costs something, is answered by package route/sequence.
package route
