// Package calc computes single things by name from arguments as they are written: what
// `buttonup calc NAME key=value …` does, and what a page may ask for besides.
//
// It knows how arguments are written, which of them an output needs, and in which unit
// an answer is read. It refuses to know formulas, which stand under mechanics/ and in
// measure, and it knows no pack, no journal and no command line.
//
// Where to look:
//
//	what there is                   All, Find
//	compute it                      Calculation.Run
//	what came out, as JSON too      Answer, Figure
//	why it did not                  Error
//
// Names, arguments and outputs are a contract that scripts rely on: docs/calc.md lists
// them and is written by the tests of this package. What is added stands behind what
// was there before, and nothing is renamed.
//
// An output is given when all that it needs is given. Only where no output at all can
// be given is an argument missing. No answer holds NaN or an infinity.
package calc
