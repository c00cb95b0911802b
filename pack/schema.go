package pack

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"sort"
	"strings"

	"buttonup/formula"
	"buttonup/pack/syntax"
)

// commonAttributes may stand in every block.
const commonAttributes = "title note caution when sources basis blank remove"

// schema lists the attributes of each kind of block; a nested block stands in
// brackets, a required attribute has an exclamation mark.
var schema = map[string]string{
	"pack":       "revision source language units sheet extends room",
	"option":     "choices default ask",
	"place":      "each! parent of",
	"space":      "at starts outline cover label outline_of cover_of",
	"dimension":  "at [read] with step judge new limit guard_new critical metal",
	"check":      "at ask answers pass photo",
	"instrument": "step uncertainty scale shared minutes",
	"number":     "at value! unit new limit model guard_new critical",
	"curve":      "x! y! periodic fit",
	"sweep":      "at over! value! unit find! limit new model guard_new critical",
	"joint": "at thread! hand grade strength length through hole_depth engagement into into_strength torque target torque_for state stages [step] confirm point_of_no_return " +
		"friction thread_friction head_friction head hole socket drive points order retorque single_use",
	"slot":     "at always_replace one_use needs worn_by member",
	"part":     "fills! count fits families years numbers has needs excludes sizes supersedes sheet engines look looks_like either",
	"offer":    "part! supplier! number price! currency lead pack",
	"supplier": "shipping free_over currency",
	"operation": "at needs in closes opens fits tightens uses pours puts_in takes_out holds wait waits_for within disturbs stays trial never_skip good mistakes " +
		"side fixture tool minutes off_minutes",
	"temporary": "count",
	"lock":      "at from until forbids",
	"caution":   "text applies_to",
	"metal":     "expansion!",
	"read":      "positions axes repeat",
	"step":      "points to say angle back_off",
}

// freeNames are the kinds whose label is free text rather than a name for formulas.
var freeNames = map[string]bool{"pack": true, "part": true, "supplier": true, "instrument": true, "metal": true}

// Kinds are the kinds of top-level blocks.
var Kinds = func() map[string]bool {
	kinds := map[string]bool{}
	for k := range schema {
		if k != "read" && k != "step" {
			kinds[k] = true
		}
	}
	return kinds
}()

func kindNames() []string {
	var names []string
	for k := range Kinds {
		names = append(names, k)
	}
	sort.Strings(names)
	return names
}

var (
	snakeCase = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	freeText  = regexp.MustCompile(`^[^"\n\r\t]{1,100}$`)
)

// checkShape reports what a block cannot be: its kind, its label, its attributes
// and nested blocks.
func (l *loader) checkShape(b *syntax.Block) {
	fields, known := schema[b.Kind]
	if !known || !Kinds[b.Kind] {
		do := "the kinds of blocks are " + strings.Join(kindNames(), ", ")
		do = perhaps(b.Kind, kindNames(), do)
		l.add("pack.unknown-block", b.Span, fmt.Sprintf("there is no block called %s", b.Kind), do)
		if l.unsureParts = true; len(b.Labels) > 0 {
			l.misread[b.Name()] = true
			l.things[b.Name()] = &formula.Thing{Name: b.Name(), Unknown: true}
		}
		return
	}
	l.checkLabel(b)
	l.checkAttributes(b, fields)
}

func (l *loader) checkLabel(b *syntax.Block) {
	switch {
	case b.Kind == "offer":
		if len(b.Labels) > 0 {
			l.add("pack.label", b.Labels[0].Span, "an offer has no name", "write offer { … }")
		}
	case len(b.Labels) == 0:
		l.add("pack.label", b.Span, fmt.Sprintf("this %s has no name", b.Kind), fmt.Sprintf("write %s \"name\" { … }", b.Kind))
	case len(b.Labels) > 1:
		l.add("pack.label", b.Labels[1].Span, fmt.Sprintf("%s has one name", syntax.WithArticle(b.Kind)), "leave the second out")
	case freeNames[b.Kind]:
		if !freeText.MatchString(b.Name()) || strings.TrimSpace(b.Name()) != b.Name() {
			l.add("pack.name", b.Labels[0].Span, fmt.Sprintf("%q cannot be a name", b.Name()), "use 1 to 100 characters without quotes and line ends, no blank at either end")
		}
	case !snakeCase.MatchString(b.Name()) || len(b.Name()) > 100:
		l.add("pack.name", b.Labels[0].Span, fmt.Sprintf("%q cannot be a name", b.Name()), "use small letters, digits and _, beginning with a letter, like "+snake(b.Name()))
	}
}

// snake proposes a legal name.
func snake(name string) string {
	out := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(name), "_"), "_")
	if out == "" || out[0] < 'a' {
		out = "bore_" + out
	}
	return strings.Trim(out, "_")
}

func (l *loader) checkAttributes(b *syntax.Block, fields string) {
	known := map[string]bool{}
	nested := map[string]bool{}
	var names, needed []string
	for _, f := range strings.Fields(fields + " " + commonAttributes) {
		name, required := strings.CutSuffix(f, "!")
		if name[0] == '[' {
			nested[name[1:len(name)-1]] = true
			continue
		}
		known[name] = true
		names = append(names, name)
		if required || b.Kind == "pack" && name == "title" {
			needed = append(needed, name)
		}
	}
	for _, a := range b.Attributes {
		if known[a.Name] || b.Lost["*"] {
			continue
		}
		do := fmt.Sprintf("%s may have %s", syntax.WithArticle(b.Kind), strings.Join(names, ", "))
		if nested[a.Name] {
			do = fmt.Sprintf("write it as a block: %s { … }", a.Name)
		} else {
			near := nearAttribute(b, a.Name, needed, names)
			if near != "" {
				do = fmt.Sprintf("perhaps %s is meant; %s", near, do)
				lose(b, near) // it is there, and only misspelt
			}
		}
		l.add("pack.unknown-attribute", a.Span, fmt.Sprintf("%s has no %s", syntax.WithArticle(b.Kind), a.Name), do)
	}
	for _, name := range needed {
		if b.Attribute(name) != nil || lost(b, name) || isBlankIn(b, name) {
			continue
		}
		says := fmt.Sprintf("%s %q has no %s", b.Kind, b.Name(), name)
		if len(b.Labels) == 0 {
			says = fmt.Sprintf("this %s has no %s", b.Kind, name)
		}
		do := fmt.Sprintf("add %s = …", name)
		if name == "title" {
			do = `add title = "what engines it is for"`
		}
		l.add("pack.missing", b.Span, says, do)
	}
	for _, n := range b.Blocks {
		switch {
		case nested[n.Kind]:
			if len(n.Labels) > 0 {
				l.add("pack.label", n.Labels[0].Span, fmt.Sprintf("%s has no name", n.Kind), fmt.Sprintf("write %s { … }", n.Kind))
			}
			l.checkAttributes(n, schema[n.Kind])
		case b.Lost["*"]:
		case known[n.Kind]:
			l.add("pack.unknown-block", n.Span, fmt.Sprintf("%s is not a block", n.Kind), fmt.Sprintf("write %s = …", n.Kind))
		case Kinds[n.Kind]:
			l.add("pack.unknown-block", n.Span, fmt.Sprintf("%s cannot stand inside %s", syntax.WithArticle(n.Kind), syntax.WithArticle(b.Kind)), "move it to the left margin; perhaps a closing brace } is missing above it")
		default:
			if near := formula.Nearest(n.Kind, slices.Collect(maps.Keys(nested))); near != "" {
				lose(b, near)
			}
			l.add("pack.unknown-block", n.Span, fmt.Sprintf("%s has no block called %s", syntax.WithArticle(b.Kind), n.Kind), perhaps(n.Kind, slices.Concat(names, slices.Sorted(maps.Keys(nested))), fmt.Sprintf("%s may have %s", syntax.WithArticle(b.Kind), strings.Join(names, ", "))))
		}
	}
}

// nearAttribute finds the attribute that a misspelt one may mean: a near name that the
// block does not have yet, one that it needs first, or for one or two letters a short
// name that holds them.
func nearAttribute(b *syntax.Block, word string, needed, names []string) string {
	for _, list := range [][]string{needed, names} {
		absent := slices.DeleteFunc(slices.Clone(list), func(n string) bool { return b.Attribute(n) != nil })
		if near := formula.Nearest(word, absent); near != "" {
			return near
		}
	}
	for _, n := range names {
		if len(n) <= 2 && len(word) <= 2 && strings.ContainsAny(n, word) && b.Attribute(n) == nil {
			return n
		}
	}
	return ""
}

// lose notes that an attribute or nested block is there and cannot be read.
func lose(b *syntax.Block, name string) {
	if b.Lost = maps.Clone(b.Lost); b.Lost == nil {
		b.Lost = map[string]bool{}
	}
	b.Lost[name] = true
}

func isBlankIn(b *syntax.Block, name string) bool {
	a := b.Attribute("blank")
	if a == nil {
		return false
	}
	list, ok := a.Value.(*syntax.List)
	if !ok {
		return false
	}
	for _, e := range list.Items {
		if t, ok := e.(*syntax.Text); ok && t.Value == name {
			return true
		}
	}
	return false
}
