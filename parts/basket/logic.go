package basket

// literal is a variable that is true (2·v) or false (2·v + 1).
type literal int32

func yes(v int32) literal            { return literal(2 * v) }
func no(v int32) literal             { return literal(2*v + 1) }
func (l literal) not() literal       { return l ^ 1 }
func (l literal) variable() int32    { return int32(l >> 1) }
func (l literal) value() int8        { return 1 - 2*int8(l&1) }
func (g *logic) of(l literal) int8   { return g.values[l>>1] * l.value() }
func (g *logic) isTrue(v int32) bool { return g.values[v] > 0 }

// logic keeps clauses, learns from what does not go, and says which of its
// assumptions cannot stand together.
//
// Source: conflict-driven clause learning with two watched literals, first unique
// implication point, restarts and final analysis of assumptions, as in Eén and
// Sörensson, "An extensible SAT-solver", SAT 2003. Seen: no; from general knowledge.
type logic struct {
	values  []int8 // 1 true, −1 false, 0 open
	level   []int32
	because []cause
	clauses []*clause
	watches [][]*clause // by literal that has just become false
	implied [][]literal // by literal: what follows from it alone
	groups  [][]int32   // at most one of each is true
	member  [][]int32   // groups of a variable
	trail   []literal
	limits  []int // where each level begins on the trail
	head    int
	seen    []bool
	broken  bool

	// choose picks the next decision; noLiteral when all that matters is decided.
	choose func() literal
	// blamed is told every variable that took part in a conflict.
	blamed    func(v int32)
	conflicts int
	learned   int
}

const noLiteral literal = -1

type clause struct {
	literals []literal
	learned  bool
	used     int
}

// cause says why a literal is true: a clause, or another literal that implies it.
type cause struct {
	clause *clause
	by     literal
}

var decided = cause{nil, noLiteral}

func (g *logic) variable() int32 {
	v := int32(len(g.values))
	g.values = append(g.values, 0)
	g.level = append(g.level, 0)
	g.because = append(g.because, decided)
	g.watches = append(g.watches, nil, nil)
	g.implied = append(g.implied, nil, nil)
	g.member = append(g.member, nil)
	g.seen = append(g.seen, false)
	return v
}

// add takes a clause: at least one of the literals. It may only be called at level 0.
func (g *logic) add(literals ...literal) {
	kept := literals[:0:0]
	for _, l := range literals {
		switch {
		case g.of(l) > 0:
			return
		case g.of(l) == 0:
			kept = append(kept, l)
		}
	}
	switch len(kept) {
	case 0:
		g.broken = true
	case 1:
		g.set(kept[0], decided)
	case 2:
		g.implied[kept[0].not()] = append(g.implied[kept[0].not()], kept[1])
		g.implied[kept[1].not()] = append(g.implied[kept[1].not()], kept[0])
	default:
		g.keep(&clause{literals: kept})
	}
}

// one takes a group of which at most one is true.
func (g *logic) one(variables []int32) {
	n := int32(len(g.groups))
	g.groups = append(g.groups, variables)
	for _, v := range variables {
		g.member[v] = append(g.member[v], n)
	}
}

func (g *logic) keep(c *clause) {
	g.clauses = append(g.clauses, c)
	g.watch(c.literals[0], c)
	g.watch(c.literals[1], c)
}

func (g *logic) watch(l literal, c *clause) {
	g.watches[l] = append(g.watches[l], c)
}

func (g *logic) set(l literal, why cause) {
	v := l.variable()
	g.values[v] = l.value()
	g.level[v] = int32(len(g.limits))
	g.because[v] = why
	g.trail = append(g.trail, l)
}

// follow draws all conclusions. It returns the clause that cannot be met, as literals
// that are all false, or nil.
func (g *logic) follow() []literal {
	for g.head < len(g.trail) {
		l := g.trail[g.head]
		g.head++
		for _, m := range g.implied[l] {
			switch g.of(m) {
			case -1:
				return []literal{l.not(), m}
			case 0:
				g.set(m, cause{nil, l})
			}
		}
		if l.value() > 0 {
			if c := g.followGroups(l); c != nil {
				return c
			}
		}
		if c := g.followClauses(l.not()); c != nil {
			return c
		}
	}
	return nil
}

func (g *logic) followGroups(l literal) []literal {
	v := l.variable()
	for _, n := range g.member[v] {
		for _, w := range g.groups[n] {
			if w == v {
				continue
			}
			switch g.values[w] {
			case 1:
				return []literal{l.not(), no(w)}
			case 0:
				g.set(no(w), cause{nil, l})
			}
		}
	}
	return nil
}

func (g *logic) followClauses(gone literal) []literal {
	list := g.watches[gone]
	kept := list[:0]
	for i, c := range list {
		ls := c.literals
		if ls[0] == gone {
			ls[0], ls[1] = ls[1], ls[0]
		}
		if g.of(ls[0]) > 0 || !g.rewatch(c) {
			kept = append(kept, c)
			if g.of(ls[0]) < 0 {
				kept = append(kept, list[i+1:]...)
				g.watches[gone] = kept
				return ls
			}
			if g.of(ls[0]) == 0 {
				g.set(ls[0], cause{c, noLiteral})
			}
		}
	}
	g.watches[gone] = kept
	return nil
}

// rewatch finds another literal that is not false to watch in place of the second.
func (g *logic) rewatch(c *clause) bool {
	ls := c.literals
	for k := 2; k < len(ls); k++ {
		if g.of(ls[k]) >= 0 {
			ls[1], ls[k] = ls[k], ls[1]
			g.watch(ls[1], c)
			return true
		}
	}
	return false
}

// suppose opens a level and takes a literal for true; it reports whether all that
// follows can be.
func (g *logic) suppose(l literal) bool {
	g.limits = append(g.limits, len(g.trail))
	if g.of(l) != 0 {
		return g.of(l) > 0
	}
	g.set(l, decided)
	return g.follow() == nil
}

// back undoes all levels above one.
func (g *logic) back(level int) {
	if len(g.limits) <= level {
		return
	}
	start := g.limits[level]
	for _, l := range g.trail[start:] {
		g.values[l.variable()] = 0
	}
	g.trail = g.trail[:start]
	g.limits = g.limits[:level]
	g.head = start
}

// reasonOf lists the literals whose falsehood made l true, without l.
func (g *logic) reasonOf(l literal) []literal {
	c := g.because[l.variable()]
	switch {
	case c.clause != nil:
		c.clause.used = g.conflicts
		return c.clause.literals[1:]
	case c.by != noLiteral:
		return []literal{c.by.not()}
	}
	return nil
}

// learn finds the clause that a conflict teaches, and the level to go back to.
func (g *logic) learn(conflict []literal) ([]literal, int) {
	out := []literal{noLiteral}
	here := int32(len(g.limits))
	open, at := 0, len(g.trail)
	look := conflict
	for {
		for _, l := range look {
			v := l.variable()
			if g.seen[v] || g.level[v] == 0 {
				continue
			}
			g.seen[v] = true
			if g.blamed != nil {
				g.blamed(v)
			}
			if g.level[v] == here {
				open++
			} else {
				out = append(out, l)
			}
		}
		for at--; !g.seen[g.trail[at].variable()]; at-- {
		}
		l := g.trail[at]
		g.seen[l.variable()] = false
		if open--; open == 0 {
			out[0] = l.not()
			break
		}
		look = g.reasonOf(l)
	}
	top := 0
	for i := 1; i < len(out); i++ {
		g.seen[out[i].variable()] = false
		if n := int(g.level[out[i].variable()]); n > top {
			top = n
			out[1], out[i] = out[i], out[1]
		}
	}
	return out, top
}

// solve looks for values under which every clause is met and every assumption is
// true. Where there are none it returns assumptions that cannot stand together, as
// they were given. budget limits the conflicts; known is false once it is used up.
func (g *logic) solve(assumptions []literal, budget int) (found, known bool, core []literal) {
	g.back(0)
	if g.broken || g.follow() != nil {
		g.broken = true
		return false, true, nil
	}
	restart, wait := 100, 100
	for {
		conflict := g.follow()
		if conflict != nil {
			if len(g.limits) == 0 {
				g.broken = true
				return false, true, nil
			}
			g.conflicts++
			if budget--; budget < 0 {
				return false, false, nil
			}
			learned, level := g.learn(conflict)
			g.back(level)
			g.take(learned)
			if wait--; wait <= 0 {
				restart += restart / 10
				wait = restart
				g.back(0)
				g.forget()
			}
			continue
		}
		if n := len(g.limits); n < len(assumptions) {
			a := assumptions[n]
			if g.of(a) < 0 {
				return false, true, g.blame(a)
			}
			g.limits = append(g.limits, len(g.trail))
			if g.of(a) == 0 {
				g.set(a, decided)
			}
			continue
		}
		l := g.choose()
		if l == noLiteral {
			return true, true, nil
		}
		g.limits = append(g.limits, len(g.trail))
		g.set(l, decided)
	}
}

func (g *logic) take(learned []literal) {
	switch len(learned) {
	case 1:
		g.set(learned[0], decided)
	default:
		c := &clause{literals: learned, learned: true, used: g.conflicts}
		g.keep(c)
		g.learned++
		g.set(learned[0], cause{c, noLiteral})
	}
}

// forget drops learned clauses that have not been of use for long.
func (g *logic) forget() {
	if g.learned < 4000 {
		return
	}
	old := g.conflicts - 5000
	kept := g.clauses[:0]
	for i := range g.watches {
		g.watches[i] = g.watches[i][:0]
	}
	g.learned = 0
	for _, c := range g.clauses {
		if c.learned && c.used < old && len(c.literals) > 3 && !g.isCause(c) {
			continue
		}
		if c.learned {
			g.learned++
		}
		kept = append(kept, c)
		g.watch(c.literals[0], c)
		g.watch(c.literals[1], c)
	}
	g.clauses = kept
}

func (g *logic) isCause(c *clause) bool {
	return g.because[c.literals[0].variable()].clause == c && g.of(c.literals[0]) != 0
}

// blame lists the assumptions that make one of them false, with that one.
func (g *logic) blame(a literal) []literal {
	core := []literal{a}
	g.seen[a.variable()] = true
	for at := len(g.trail) - 1; at >= 0; at-- {
		l := g.trail[at]
		v := l.variable()
		if !g.seen[v] {
			continue
		}
		g.seen[v] = false
		if g.level[v] == 0 {
			continue
		}
		if g.because[v] == decided {
			core = append(core, l)
			continue
		}
		for _, m := range g.reasonOf(l) {
			g.seen[m.variable()] = true
		}
	}
	g.seen[a.variable()] = false
	return core
}
