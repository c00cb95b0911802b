// Package account compares what a job was to take with what it took, by category, in
// exact decimals.
//
// It knows sums and ratios of whatever is counted: hours, money. It refuses to know what
// an hour costs or which currency it is, and it rounds nothing.
package account
