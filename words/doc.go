// Package words turns the codes and values of an assessment into sentences, once,
// for the command line, the pages and the book alike, and into the report that
// scripts read.
//
// A sentence about a value states the measurement, the limit, the margin and what
// the ± comes from, in that order, and never blames. Package words concludes
// nothing.
package words
