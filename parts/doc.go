// Package parts says what fits what, and why not.
//
// It knows slots and parts of a pack, what a job chose and what was seen of its
// engine, and what other jobs fitted. It refuses to know prices of a whole order, the
// state of the work and what a reading means; see the packages basket and assess for
// those.
//
// A part is judged for one slot at one place. It fits when it fills the slot, its
// conditions hold, every feature that the slot needs is there, every feature that it
// needs itself is brought by a part that is chosen, and nothing that it excludes is.
// A feature that nobody has looked at is asked for, never assumed: the answer is then
// a question, and the question is the pack's own ("two holes or three?").
package parts
