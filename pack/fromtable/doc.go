// Package fromtable turns a table typed from a published manual into the text of
// an engine pack.
//
// Two layouts are read: a limits table (one inspected size a row, [Convert] makes
// a dimension of it) and a torque table (one fastener a row, it makes a joint).
// The columns are listed in packs/published/README.md.
//
// What is certain is written as figures; what is not is written as words. No
// figure is repaired, averaged, completed or converted: a row that is marked in
// doubt, contradicts itself, or prints a wear allowance without saying which end
// wears keeps its printed cells in the note, and its dimension has no limit, so
// that nothing can be passed by it. [Row] says of every row of the table what
// became of it.
//
// The package knows nothing of packs beyond the text it writes, and nothing of
// files: bytes go in and text comes out, the same for the same bytes.
package fromtable
