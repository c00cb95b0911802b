// Package formula compiles the expressions of the pack language and computes them.
//
// [Compile] checks one expression against the names that it may use: it reports
// unknown names, wrong dimensions and names that need a place, each at its spot.
// What it returns is instantiated for a place with [Graph.Add]: a graph holds all
// formulas of a pack as one flat list of nodes, children before parents, so that a
// name used twice is one input and stays correlated with itself.
//
// A graph is computed with [Graph.Evaluate] and differentiated with
// [Graph.Gradient] (reverse mode: one pass over the nodes that an output needs).
// An input that is not there makes what needs it "missing", with the inputs named;
// a division by zero or a root of a negative number makes it "undefined". Neither
// ever becomes a number.
package formula
