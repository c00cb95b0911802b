package pack

import (
	"strings"

	"buttonup/pack/syntax"
)

// Change is one thing that another revision of a pack says otherwise.
type Change struct {
	Kind, Name string
	// Attribute is what of the block changed; "" is the block itself.
	Attribute string
	// Was and Now are how the two write it; "" where one does not have it.
	Was, Now string
	// Nested is set where the attribute is a block within the block, such as a step.
	Nested bool
}

// Reference names the block: joint.head_nuts.
func (c Change) Reference() string { return c.Kind + "." + c.Name }

// Changes lists what another revision of a pack says otherwise, in the order of the new
// one and then what it no longer has. Both are taken with their templates; the heading of
// the pack, offers and prices are left out.
func (p *Pack) Changes(next *Pack) []Change {
	before, after := drafts(p), drafts(next)
	var list []Change
	for _, key := range after.order {
		now := after.by[key]
		was, there := before.by[key]
		if !there {
			list = append(list, Change{Kind: now.Kind, Name: now.Name, Now: now.String()})
			continue
		}
		old, fresh := linesOf(was), linesOf(now)
		for _, name := range fresh.order {
			if old.by[name] != fresh.by[name] {
				list = append(list, Change{now.Kind, now.Name, name, old.by[name], fresh.by[name], fresh.nested[name]})
			}
		}
		for _, name := range old.order {
			if _, there := fresh.by[name]; !there {
				list = append(list, Change{now.Kind, now.Name, name, old.by[name], "", old.nested[name]})
			}
		}
	}
	for _, key := range before.order {
		if _, there := after.by[key]; !there {
			was := before.by[key]
			list = append(list, Change{Kind: was.Kind, Name: was.Name, Was: was.String()})
		}
	}
	return list
}

type written[V any] struct {
	order  []string
	by     map[string]V
	nested map[string]bool
}

func (w *written[V]) set(name string, v V) {
	if _, there := w.by[name]; !there {
		w.order = append(w.order, name)
	}
	w.by[name] = v
}

// drafts are the blocks of a pack as they would be written, by kind and name.
func drafts(p *Pack) *written[syntax.Draft] {
	w := &written[syntax.Draft]{by: map[string]syntax.Draft{}}
	for _, b := range p.blocks {
		switch b.Kind {
		case "pack", "offer", "supplier":
			continue
		}
		d := syntax.DraftOf(b)
		w.set(d.Kind+"."+d.Name, d)
	}
	return w
}

// linesOf are the attributes of a block, and the blocks within it by kind.
func linesOf(d syntax.Draft) *written[string] {
	w := &written[string]{by: map[string]string{}, nested: map[string]bool{}}
	for _, l := range d.Lines {
		if l.Name == "blank" && l.Expression == "[]" {
			continue
		}
		w.set(l.Name, l.Expression)
	}
	for i := range d.Nested {
		n := &d.Nested[i]
		w.set(n.Kind, strings.TrimSpace(w.by[n.Kind]+"\n"+n.String()))
		w.nested[n.Kind] = true
	}
	return w
}

// Draft returns a block as it would be written, false where the pack has none of that
// name.
func (p *Pack) Draft(kind, name string) (syntax.Draft, bool) {
	for _, b := range p.blocks {
		if b.Kind == kind && b.Name() == name {
			return syntax.DraftOf(b), true
		}
	}
	return syntax.Draft{}, false
}
