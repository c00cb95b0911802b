package measure

import (
	"sort"

	"buttonup/quantity"
)

// Metal is a metal with its coefficient of linear expansion near room temperature.
type Metal struct {
	Name      string
	Expansion quantity.Expansion
	Source    string
}

// Steel is the expansion of what gauges are made of unless they say otherwise.
const Steel = quantity.Expansion(11.7e-6)

// callister is the table most of the coefficients come from.
const callister = "Callister, Materials Science and Engineering, Table B.6 (room temperature), "

var metals = []Metal{
	{"steel", Steel, callister + "steel 1020. Seen in stored copies"},
	{"alloy steel", 12.3e-6, callister + "steels 4140 and 4340. Seen in stored copies"},
	{"stainless steel", 17.2e-6, callister + "stainless 304. Memory"},
	{"grey iron", 10.6e-6, "expansion table of a structural steel manual, grey cast iron 0.00059 per 100 °F. Seen as quoted on an engineering forum"},
	{"ductile iron", 11.2e-6, callister + "ductile irons. Memory"},
	{"cast aluminium", 21.5e-6, callister + "alloy 356.0. Seen in stored copies"},
	{"forged aluminium", 22.9e-6, callister + "alloy 2024. Seen in stored copies"},
	{"magnesium", 26.0e-6, callister + "alloy AZ31B. Memory"},
	{"titanium", 8.6e-6, callister + "alloy Ti-6Al-4V. Memory"},
	{"bronze", 18.0e-6, callister + "bearing bronze C93200. Seen in stored copies"},
	{"brass", 20.5e-6, callister + "free-cutting brass C36000. Seen in stored copies"},
}

// Metals lists the metals that packs may name, sorted by name.
func Metals() []Metal {
	list := append([]Metal(nil), metals...)
	sort.Slice(list, func(i, j int) bool { return list[i].Name < list[j].Name })
	return list
}

// FindMetal returns a metal by name.
func FindMetal(name string) (Metal, bool) {
	for _, m := range metals {
		if m.Name == name {
			return m, true
		}
	}
	return Metal{}, false
}
