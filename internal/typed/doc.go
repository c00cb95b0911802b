// Package typed turns a table of readings, as somebody typed it in a spreadsheet, into
// events: row by row, and a row whole or not at all.
//
// It refuses to guess: what a comma marks is asked once, a heading that is not known is
// told of, and what an assessment would set aside is refused before it is kept. It knows
// nothing of files and pages, and keeps nothing.
package typed
