// Package basket finds the best complete set of purchases: every place filled, every
// rule kept, at the least cost, the soonest or in the fewest orders, and proves it.
//
// It works on plain data: places, parts with what they hold, offers, suppliers and
// rules between choices, all named by their index. It refuses to know packs, journals,
// features and currencies; whoever asks turns needs and features into rules, and the
// answer back into names. Amounts are whole minor units (pence, cents).
//
// A problem that has no solution is answered with a smallest set of reasons, each of
// which can be lifted: without any one of them there is a solution as far as the
// others go.
package basket
