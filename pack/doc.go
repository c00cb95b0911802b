// Package pack reads engine packs: what right looks like for one family of engines.
//
// [Load] reads the text of a pack, merges it over its template, checks it and
// compiles its formulas; it reports all mistakes together, each with its place in
// the text and a remedy. A pack with mistakes is not assessed. [Pack.Extend] merges
// a piece of job-local text over a pack by the same rules.
//
// The language is specified in docs/pack-language.md. The concrete syntax lives in
// package syntax, the expressions in package formula; this package knows what the
// blocks mean and refuses to know what any engine measured.
package pack
