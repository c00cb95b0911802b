// Package cylinder computes what a barrel, a piston and a crank do together: where
// the piston is, what it sweeps and squeezes, how the bore has worn, what to bore it
// to, and how its gaps change with heat.
//
// It knows geometry and thermal growth. It refuses to know limits: whether a squish
// or a ring gap is good is for the pack to say, and what the engine maker's manual
// says goes before anything computed here.
//
// # Conventions
//
// A stroke is twice the crank throw. Deck is positive when the crown stands below
// the top of the barrel. Volumes that add to the chamber are positive, so pockets
// are positive and a dome is negative. Angles of the crank count from the throw in
// line with the bore, in the direction of rotation.
//
// # Errors
//
// Every function checks its arguments and returns an [argument.Error] that says which
// one is wrong, what it was and what is allowed. No function returns NaN or an
// infinity.
package cylinder
