// Package syntax reads the concrete text of the pack language into a small tree
// with a place in the source for every node.
//
// It is the only package that knows HCL: everything above it sees [Block],
// [Attribute] and [Expr]. It refuses what the language leaves out (templates,
// for-expressions, splats), guards against text that is too large or too deeply
// nested before it parses, and turns every mistake into a sentence with a remedy.
//
// A file is cut at its top-level blocks and each block is parsed by itself; inside
// a block an attribute that cannot be read is set aside and the rest is read on.
// So one mistake does not hide the next, and a file with six mistakes reports six.
package syntax
