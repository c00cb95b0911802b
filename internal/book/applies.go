package book

import (
	"fmt"
	"strings"

	"buttonup/pack"
)

// applies says for which engines a sheet is, and for which not: of the options of the
// pack, those that something on the sheet hangs on.
func (t *topic) applies() string {
	var parts []string
	for _, o := range t.matters() {
		var not []string
		for _, x := range o.Choices {
			if x != t.Options[o.Name] {
				not = append(not, x)
			}
		}
		parts = append(parts, fmt.Sprintf("%s %s (not %s)", o.Title, t.Options[o.Name], strings.Join(not, ", ")))
	}
	if len(parts) == 0 {
		return t.Pack.Title + "."
	}
	return t.Pack.Title + ". For " + strings.Join(parts, "; ") + "."
}

// appliesShort is applies for where there is little room.
func (t *topic) appliesShort() string {
	var parts []string
	for _, o := range t.matters() {
		parts = append(parts, o.Title+" "+t.Options[o.Name])
	}
	if len(parts) == 0 {
		return t.Pack.Title + "."
	}
	return t.Pack.Title + ". Only for " + strings.Join(parts, ", ") + "."
}

// matters lists the options that are chosen and that something on the sheet hangs on: a
// condition, a limit, a torque, or what fits.
func (t *topic) matters() []*pack.Option {
	named := map[string]bool{}
	for _, o := range t.together() {
		named = t.named(named, &o.Common, nil, nil)
	}
	for _, j := range t.joints {
		named = t.named(named, &j.Joint.Common, j.Joint.Torque, nil)
		if s := j.Joint.Target; s != nil && s.Expr != nil {
			for _, u := range s.Expr.Uses {
				named[u.Thing.Name] = true
			}
		}
	}
	for _, s := range t.slots {
		named = t.named(named, &s.Common, nil, nil)
		for _, p := range t.fitting(s) {
			if p.Fits != nil {
				for _, u := range p.Fits.Uses {
					named[u.Thing.Name] = true
				}
			}
		}
	}
	for _, r := range append(t.result[:len(t.result):len(t.result)], t.holds...) {
		for _, d := range t.Pack.Dimensions {
			if r.Kind == "dimension" && d.Name == r.Name {
				named = t.named(named, &d.Common, d.New, d.Limit)
			}
		}
		for _, n := range t.Pack.Numbers {
			if r.Kind == "number" && n.Name == r.Name {
				named = t.named(named, &n.Common, n.New, n.Limit)
			}
		}
	}
	var list []*pack.Option
	for _, o := range t.Pack.Options {
		if _, chosen := t.Options[o.Name]; chosen && named[o.Name] && len(o.Choices) > 1 {
			list = append(list, o)
		}
	}
	return list
}

// named adds what the condition and the ranges of a block name.
func (t *topic) named(into map[string]bool, c *pack.Common, ranges ...*pack.Setting) map[string]bool {
	if c.When != nil {
		for _, u := range c.When.Uses {
			into[u.Thing.Name] = true
		}
	}
	for _, s := range ranges {
		if s != nil && s.Expression != nil {
			for _, u := range s.Expression.Uses {
				into[u.Thing.Name] = true
			}
		}
	}
	return into
}
