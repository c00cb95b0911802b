package assess

import (
	"slices"
	"strings"
)

// sortLines puts the findings about lines of the journal in the order of the lines,
// in the places that they take among the others.
func sortLines(findings []Finding) {
	var places []int
	var about []Finding
	for i := range findings {
		if f := &findings[i]; f.Line > 0 && (strings.HasPrefix(f.Code, "journal.") || strings.HasPrefix(f.Code, "reading.")) {
			places = append(places, i)
			about = append(about, *f)
		}
	}
	slices.SortStableFunc(about, func(a, b Finding) int { return a.Line - b.Line })
	for k, i := range places {
		findings[i] = about[k]
	}
}
