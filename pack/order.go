package pack

import (
	"fmt"

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
	openers := map[string][]*Operation{}
	for _, o := range l.pack.Operations {
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
	l.checkLoops()
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

// Functions are the functions of mechanics that formulas may call.
func Functions() map[string]*formula.Function { return catalogue.Functions() }
