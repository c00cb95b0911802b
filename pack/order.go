package pack

import (
	"fmt"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/mechanics/catalogue"
	"buttonup/pack/syntax"
)

// whens compiles the `when` of every block, now that all options and slots are
// known.
func (l *loader) whens() {
	set := func(at string, c *Common) {
		if a := c.block.Attribute("when"); a != nil && !l.full() {
			l.loosePlace = at == "" && (c.block.Attribute("at") != nil || lost(c.block, "at"))
			c.When = l.condition(a, at)
		}
	}
	p := l.pack
	for _, x := range p.Places {
		set("", &x.Common)
	}
	for _, x := range p.Options {
		set("", &x.Common)
	}
	for _, x := range p.Spaces {
		set(x.At, &x.Common)
	}
	for _, x := range p.Dimensions {
		set(x.At, &x.Common)
	}
	for _, x := range p.Checks {
		set(x.At, &x.Common)
	}
	for _, x := range p.Instruments {
		set("", &x.Common)
	}
	for _, x := range p.Numbers {
		set(x.At, &x.Common)
	}
	for _, x := range p.Curves {
		set("", &x.Common)
	}
	for _, x := range p.Sweeps {
		set(x.At, &x.Common)
	}
	for _, x := range p.Joints {
		set(x.At, &x.Common)
	}
	for _, x := range p.Slots {
		set(x.At, &x.Common)
	}
	for _, x := range p.Parts {
		set(x.FitsAt, &x.Common)
	}
	for _, x := range p.Offers {
		set("", &x.Common)
	}
	for _, x := range p.Suppliers {
		set("", &x.Common)
	}
	for _, x := range p.Operations {
		set(x.At, &x.Common)
	}
	for _, x := range p.Temporaries {
		set("", &x.Common)
	}
	for _, x := range p.Locks {
		set(x.At, &x.Common)
	}
	for _, x := range p.Cautions {
		set("", &x.Common)
	}
	for _, x := range p.Metals {
		set("", &x.Common)
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
	needs := map[string][]string{}
	for _, o := range l.pack.Operations {
		needs[o.Name] = o.Needs
	}
	closed := map[string]bool{}
	for _, s := range l.pack.Spaces {
		closed[s.Name] = s.StartsClosed
	}
	for _, o := range l.pack.Operations {
		for _, s := range o.In {
			if closed[s] && !l.unsureOrder {
				l.neverOpen(o, s, openers[s], needs)
			}
		}
	}
	edges, words := map[string][]string{}, map[[2]string]string{}
	for _, o := range l.pack.Operations {
		for _, n := range o.Needs {
			edges[o.Name] = append(edges[o.Name], n)
			words[[2]string{o.Name, n}] = "needs"
		}
	}
	for _, o := range l.pack.Operations {
		if l.unsureOrder {
			break
		}
		for _, s := range o.In {
			l.closingEdge(o, s, closers[s], openers[s], needs, edges, words)
		}
	}
	var written []string
	for _, o := range l.pack.Operations {
		written = append(written, o.Name)
	}
	for _, chain := range loops(written, edges) {
		l.add("route.loop", l.declared["operation"][chain[0]].Labels[0].Span, "these operations wait for each other: "+tellChain(chain, words), "take one of them out of a needs, or let the space be closed by another operation")
	}
}

// neverOpen reports work in a space that starts closed when nothing can open it
// before: no other operation opens it, or only such as need this work done.
func (l *loader) neverOpen(o *Operation, space string, openers []*Operation, needs map[string][]string) {
	says := fmt.Sprintf("%s is done in %s, which starts closed and which nothing opens", o.Name, space)
	for _, opener := range openers {
		switch {
		case opener == o:
			says = fmt.Sprintf("%s is done in %s, which starts closed and which only %s itself opens", o.Name, space, o.Name)
		case reaches(opener.Name, o.Name, needs):
			says = fmt.Sprintf("%s is done in %s, which starts closed, and %s, which opens it, comes after it", o.Name, space, opener.Name)
		default:
			return
		}
	}
	l.add("route.never-open", refSpan(o.block, "in", space), says, fmt.Sprintf("let an operation before it open the space: opens = [space.%s], or let the space start open", space))
}

// refSpan finds a reference to a name in a list.
func refSpan(b *syntax.Block, attribute, name string) syntax.Span {
	span := b.Attribute(attribute).Value.Where()
	syntax.Walk(b.Attribute(attribute).Value, func(e syntax.Expr) {
		if r, ok := e.(*syntax.Reference); ok && len(r.Steps) == 1 && r.Steps[0].Name == name {
			span = r.Span
		}
	})
	return span
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

// longestChain is how many links of a loop are told before it is shortened.
const longestChain = 12

func tellChain(chain []string, words map[[2]string]string) string {
	var b strings.Builder
	b.WriteString(chain[0])
	for i := range chain {
		if i >= longestChain && i < len(chain)-2 {
			if i == longestChain {
				b.WriteString(" and so on,")
			}
			continue
		}
		next := chain[(i+1)%len(chain)]
		fmt.Fprintf(&b, " %s %s", words[[2]string{chain[i], next}], next)
		if i+1 < len(chain) {
			b.WriteString(", which")
		}
	}
	return b.String()
}

// Functions are the functions of mechanics that formulas may call.
func Functions() map[string]*formula.Function { return catalogue.Functions() }
