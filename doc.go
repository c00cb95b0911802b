// Package buttonup is a map of the packages; it holds no code.
//
// An engine pack says what right looks like for one family of engines, a job journal
// what one engine showed. Together they give an assessment:
//
//	pack  +  journal  =  assess.Assess(pack, state)
//
// # The core
//
// These packages may be imported. They give the same output for the same input: they
// open no file, read no clock, draw no random number and keep no log. Each imports
// only what stands above it.
//
//	quantity                 values with a dimension: parse and print shop units
//	measure                  readings, their uncertainty, and the decision rule
//	mechanics/argument       refuses arguments that no formula can use
//	mechanics/cylinder       slider-crank, volumes, compression, bores, rings, pistons
//	mechanics/valvetrain     lobes, lift curves, events, gaps, rockers, springs, lifters
//	mechanics/joint          threads, torque and preload, stripping, wrenches, stages
//	mechanics/crank          truing from two dials, end play, balance
//	mechanics/gear           size over pins, backlash
//	mechanics/surface        flatness
//	mechanics/firstrun       oil to fill, cooling, and the plan by which rings are bedded
//	mechanics/fit            limits and fits of ISO 286
//	pack/syntax              the concrete text of the pack language
//	formula                  its expressions: value, first-order ±, what is missing
//	mechanics/catalogue      the functions of mechanics as formulas call them
//	pack                     its meaning: blocks, templates, all mistakes at once
//	pack/fromtable           a pack out of a published table
//	account                  what a job was to take and what it took, by category
//	selectfit                measured parts to measured places, the best and the second best
//	calc                     single computations by name, as they are typed
//	route/sequence           the cheapest sequence where a change of set-up costs something
//	route                    an order of work that breaks no rule, and what must come off
//	journal                  events, their JSON Lines, the hash chain, the fold
//	parts/basket             the best complete set of purchases, or why there is none
//	parts                    what fits what, and why not; what other jobs fitted
//	assess                   the one package that knows all of the above
//	words                    an assessment in sentences, and as scripts read it
//	packs                    the packs that come with the program
//
// # The shell
//
// These touch the world and may not be imported by the core.
//
//	internal/qr              the squares of a QR code
//	internal/demo            the finished demo job, for books and tests
//	internal/book            build book, handout and other sheets, as PDF and HTML
//	internal/store           the journal on disk
//	internal/sheet           a table as CSV and as a workbook, for other programs and from them
//	internal/typed           a table of readings turned into events, row by row
//	internal/shop            which devices, people and settings a shop has
//	internal/authority       the certificates by which phones know this computer
//	internal/photo           photos drawn anew, with nothing in them but the picture
//	internal/recall          finds what was written of any engine
//	internal/web             the pages
//	internal/cli             the commands
//	cmd/buttonup             calls cli.Main
//	internal/check           published values for tests
//	internal/policy          tests that keep the rules on this page
//
// # From a question to a package
//
//	how is "1-1/2 in" or "92.000 .. 92.013 mm" read?     quantity
//	why is this reading ± 0.005 mm?                      measure, Assemble
//	why is this verdict "too close to call"?             measure, Judge
//	where does this formula come from?                   its Source: line, docs/sources
//	what does this block of a pack mean?                 docs/pack-language.md
//	what does this line of a journal mean?               docs/journal-format.md
//	what does this code mean, and what do I do?          docs/findings.md
//	why does this part not fit, and which one would?      parts, Judge
//	why may this operation not be done yet?              assess, replay.go
//	why was it built like this?                          docs/decisions
//
// # Safety
//
// Everything here records and computes; nothing certifies. Where the work can hurt
// someone the engine maker's manual, local codes and licensed practice go first.
package buttonup
