// Package fit gives the limits of a hole or a shaft that is called out by a
// tolerance class such as H7 or g6, and the clearance of the two together.
//
//	the limits of size        Limits(Ø25 mm, "H7")  →  25.000 and 25.021 mm
//	the deviations            Deviations(Ø25 mm, "g6")  →  −20 and −7 µm
//	the width of a grade      Tolerance(Ø25 mm, "IT7")  →  21 µm
//	hole and shaft together   Clearance(Ø25 mm, "H7", "g6")  →  7 to 41 µm
//
// Known are D E F G H JS K M N P R S for holes, the same letters in lower case for
// shafts, and the grades 01 to 16, over 1 to 500 mm. The values are those of the
// tables, which are rounded by rules of their own: a formula does not give them, so
// they are looked up. Hole deviations that the tables derive from the shaft's are
// derived here in the same way, by the Δ rule.
//
// The package refuses to know what a fit is good for. It says what a drawing
// means; whether the parts should go together so is for the engine maker's manual.
// All sizes are at 20 °C.
//
// Source: ISO 286-1, tables of standard tolerance grades and of fundamental
// deviations. Seen: reprints of the tables. Not seen: the standard. Which value was
// seen where, and what is from memory, stands in docs/sources/iso-286.md.
package fit
