package web

import (
	"maps"
	"slices"
)

// mostAhead is how many presses a page carries for a phone that loses the computer.
const mostAhead = 24

// ahead returns the page as it will stand after the press that is next, after the one
// after that, and so on, so that a phone goes on through a pattern without asking.
func (v *wrenchView) ahead() []*wrenchView {
	var list []*wrenchView
	for now := v; now.Press != nil && len(list) < mostAhead; {
		next := *now
		next.Passes = slices.Clone(now.Passes)
		p := &next.Passes[next.At]
		p.Done = maps.Clone(p.Done)
		if p.Done == nil {
			p.Done = map[int]bool{}
		}
		if now.Press.All {
			for _, n := range p.Order {
				p.Done[n] = true
			}
		} else {
			p.Done[now.Press.Point] = true
		}
		if !slices.ContainsFunc(p.Order, func(n int) bool { return !p.Done[n] }) {
			next.At++
		}
		next.Press, next.Presses, next.Then = nil, "", ""
		next.press()
		list = append(list, &next)
		now = &next
	}
	return list
}
