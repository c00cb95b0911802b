package fromtable

import (
	"fmt"
	"slices"
	"strings"
)

// longestName keeps a name on one line of a formula.
const longestName = 60

// Words that a long name can do without.
var fillers = []string{"a", "an", "and", "at", "for", "from", "in", "of", "on", "or", "per", "the", "to", "with"}

// Words that the pack language keeps for itself: its set and mathematical
// functions, the variable of a sweep and what the syntax reads as values.
var reserved = []string{"abs", "acos", "asin", "atan", "atan2", "clamp", "cos", "cube", "each", "exp", "false", "for", "hypot", "if", "in", "largest", "ln", "max", "mean", "min", "null",
	"oval", "pi", "pow", "sin", "smallest", "spread", "sq", "sqrt", "sum", "tan", "taper", "true", "x"}

// words splits a label into lower-case ASCII words.
func words(label string) []string {
	return strings.FieldsFunc(strings.ToLower(label), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	})
}

// givenName makes a free lower_snake name out of labels, of which the first (the
// manual, in a collection) and the last (the position) are never shortened. A name
// that is taken gets "_2" and so on.
func (c *conversion) givenName(labels ...string) string {
	name := shortened(labels)
	if name == "" || name[0] >= '0' && name[0] <= '9' {
		name = strings.TrimSuffix("row_"+name, "_")
	}
	if slices.Contains(reserved, name) {
		name += "_reading"
	}
	free := name
	for n := 2; c.used[free]; n++ {
		suffix := fmt.Sprintf("_%d", n)
		free = cut(name, longestName-len(suffix)) + suffix
	}
	c.used[free] = true
	return free
}

// shortened joins the words of labels and, while they are too long, leaves out
// first the fillers, then words of an earlier label that a later one repeats, then
// words from the end of the label before the last.
func shortened(labels []string) string {
	parts := make([][]string, len(labels))
	for i, label := range labels {
		parts[i] = words(label)
	}
	long := func() bool { return len(strings.Join(slices.Concat(parts...), "_")) > longestName }
	if long() {
		for i := range parts {
			parts[i] = slices.DeleteFunc(parts[i], func(w string) bool { return slices.Contains(fillers, w) })
		}
	}
	if long() {
		for i := 1; i < len(parts); i++ {
			later := slices.Concat(parts[i+1:]...)
			parts[i] = slices.DeleteFunc(parts[i], func(w string) bool { return slices.Contains(later, w) })
		}
	}
	for i := len(parts) - 2; i > 0; i-- {
		for long() && len(parts[i]) > 0 {
			parts[i] = parts[i][:len(parts[i])-1]
		}
	}
	return cut(strings.Join(slices.Concat(parts...), "_"), longestName)
}

// cut ends a name before it is too long, at a word where there is one.
func cut(name string, longest int) string {
	if len(name) <= longest {
		return name
	}
	name = name[:longest]
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		name = name[:i]
	}
	return strings.TrimRight(name, "_")
}

// titleOf makes a title for people out of component, characteristic and position.
func (c *conversion) titleOf(r record, group, label, position string) string {
	title := capital(group)
	if label != "" {
		if title != "" {
			title += ": "
		}
		title += label
	}
	if position != "" {
		title += ", " + position
	}
	if c.collection {
		title = r.get("manual") + ": " + title
	}
	return title
}

// collectionPrefix is the manual, in a collection.
func (c *conversion) collectionPrefix(r record) string {
	if c.collection {
		return r.get("manual")
	}
	return ""
}
