package assess

import (
	"slices"

	"buttonup/formula"
)

// SizesAsked lists the sizes of the part in a slot that a formula of the pack asks for,
// in order. A kit has the sizes of all that is in it; these tell which of them belong to
// what lies in this slot.
func (m *Model) SizesAsked(slot string) []string {
	var list []string
	for _, g := range []*formula.Graph{m.facts, m.numbers} {
		for _, in := range g.Inputs {
			if in.Kind == formula.Size && in.Name == slot && !slices.Contains(list, in.Detail) {
				list = append(list, in.Detail)
			}
		}
	}
	slices.Sort(list)
	return list
}
