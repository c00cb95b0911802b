// Package catalogue lists the functions of mechanics that the formulas of a pack may
// call: under which name, with which arguments in which order, and from which source.
//
// It knows names and dimensions and hands numbers on to the packages beside it, which
// hold the formulas. It refuses to know what a number is good for: limits stand in
// packs. docs/pack-functions.md is written from it by its tests.
package catalogue
