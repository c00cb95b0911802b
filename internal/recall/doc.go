// Package recall finds what was written of any engine, years later: by words, by any
// number, a lot, an engine number or a value.
//
// It turns jobs into passages, each a sentence that answers by itself, keeps them in
// the index of the record, and asks it. It knows nothing of how the index is kept, and
// decides nothing about an engine.
package recall
