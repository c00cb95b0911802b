// Package sequence finds the cheapest order of things of which some must come before
// others, where going from one to the next costs something.
//
// The costs are data: a table of what it costs to go from each to each, or set-ups
// with weights. It refuses to know what the things are.
package sequence
