// Package firstrun computes what a finished engine needs round its first start: how
// much oil goes in and how long the pump takes to fill the lines, how long the engine
// must stand to be cold, and the plan by which its rings are bedded.
//
// It knows volumes, one law of cooling and proportions. It refuses to know how long a
// ring maker's rings take to bed, or whether an engine is fit to be started: those
// figures are its arguments, and what the maker's manual says goes before them.
package firstrun
