package pack

import (
	"fmt"
	"slices"
	"strings"

	"buttonup/formula"
)

// whens compiles the `when` of every block, now that all options and slots are
// known.
func (l *loader) whens() {
	set := func(kind string, at string, c *Common) {
		b := l.declared[kind][c.Name]
		if b == nil {
			return
		}
		if a := b.Attribute("when"); a != nil {
			c.When = l.condition(a, at)
		}
	}
	p := l.pack
	for _, x := range p.Spaces {
		set("space", x.At, &x.Common)
	}
	for _, x := range p.Dimensions {
		set("dimension", x.At, &x.Common)
	}
	for _, x := range p.Checks {
		set("check", x.At, &x.Common)
	}
	for _, x := range p.Numbers {
		set("number", x.At, &x.Common)
	}
	for _, x := range p.Sweeps {
		set("sweep", x.At, &x.Common)
	}
	for _, x := range p.Joints {
		set("joint", x.At, &x.Common)
	}
	for _, x := range p.Slots {
		set("slot", x.At, &x.Common)
	}
	for _, x := range p.Parts {
		set("part", x.FitsAt, &x.Common)
	}
	for _, x := range p.Operations {
		set("operation", x.At, &x.Common)
	}
	for _, x := range p.Locks {
		set("lock", x.At, &x.Common)
	}
	for _, x := range p.Cautions {
		set("caution", "", &x.Common)
	}
	for _, x := range p.Temporaries {
		set("temporary", "", &x.Common)
	}
}

// checkOrder reports work that can never be done: in a space that nothing opens, or
// in a loop through needs and closings.
func (l *loader) checkOrder() {
	ops := map[string]*Operation{}
	closers, openers := map[string][]*Operation{}, map[string][]*Operation{}
	for _, o := range l.pack.Operations {
		ops[o.Name] = o
		for _, s := range o.Closes {
			closers[s] = append(closers[s], o)
		}
		for _, s := range o.Opens {
			openers[s] = append(openers[s], o)
		}
	}
	for _, s := range l.pack.Spaces {
		if !s.StartsClosed || len(openers[s.Name]) > 0 {
			continue
		}
		for _, o := range l.pack.Operations {
			if slices.Contains(o.In, s.Name) {
				a := l.declared["operation"][o.Name].Attribute("in")
				l.add("route.never-open", a.Value.Where(), fmt.Sprintf("%s is done in %s, which starts closed and which nothing opens", o.Name, s.Name), fmt.Sprintf("let an operation open it: opens = [space.%s], or let the space start open", s.Name))
			}
		}
	}
	needs := map[string][]string{}
	for _, o := range l.pack.Operations {
		needs[o.Name] = o.Needs
	}
	edges, words := map[string][]string{}, map[[2]string]string{}
	for _, o := range l.pack.Operations {
		for _, n := range o.Needs {
			edges[o.Name] = append(edges[o.Name], n)
			words[[2]string{o.Name, n}] = "needs"
		}
	}
	for _, o := range l.pack.Operations {
		for _, s := range o.In {
			l.closingEdge(o, s, closers[s], openers[s], needs, edges, words)
		}
	}
	reported := map[string]bool{}
	for _, o := range l.pack.Operations {
		if reported[o.Name] {
			continue
		}
		chain := shortestLoop(o.Name, edges)
		if chain == nil {
			continue
		}
		for _, n := range chain {
			reported[n] = true
		}
		l.add("route.loop", l.declared["operation"][o.Name].Labels[0].Span, "these operations wait for each other: "+tellChain(chain, words), "take one of them out of a needs, or let the space be closed by another operation")
	}
}

// closingEdge adds that the operation that closes a space comes after the work in
// it: the last of several, which is sure only where all the others come before the
// work anyway.
func (l *loader) closingEdge(o *Operation, space string, closers, openers []*Operation, needs, edges map[string][]string, words map[[2]string]string) {
	for _, opener := range openers {
		if opener == o || reaches(o.Name, opener.Name, needs) {
			return // the space was opened again before this work
		}
	}
	var last *Operation
	for _, c := range closers {
		if c == o {
			return // a closing operation is not itself in the space
		}
		if c.Trial || reaches(o.Name, c.Name, needs) && len(closers) > 1 {
			continue
		}
		if last != nil {
			return // either of them may be the last
		}
		last = c
	}
	if last == nil {
		for _, c := range closers {
			if !c.Trial {
				last = c // all of them come before the work: any closes the loop
			}
		}
	}
	if last == nil || slices.Contains(edges[last.Name], o.Name) {
		return
	}
	edges[last.Name] = append(edges[last.Name], o.Name)
	words[[2]string{last.Name, o.Name}] = "closes " + space + ", where work is still to be done:"
}

// reaches reports whether a needs b, directly or through others.
func reaches(a, b string, needs map[string][]string) bool {
	seen := map[string]bool{}
	stack := []string{a}
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, n := range needs[at] {
			if n == b {
				return true
			}
			if !seen[n] {
				seen[n] = true
				stack = append(stack, n)
			}
		}
	}
	return false
}

func tellChain(chain []string, words map[[2]string]string) string {
	var b strings.Builder
	b.WriteString(chain[0])
	for i := range chain {
		next := chain[(i+1)%len(chain)]
		fmt.Fprintf(&b, " %s %s", words[[2]string{chain[i], next}], next)
		if i+1 < len(chain) {
			b.WriteString(", which")
		}
	}
	return b.String()
}

// Functions are the functions of mechanics that formulas may call.
func Functions() map[string]*formula.Function {
	return map[string]*formula.Function{}
}
