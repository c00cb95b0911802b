package web

import (
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

type checkOf = pack.Check

// answersOf are the answers that a check offers.
func answersOf(c *pack.Check) []string {
	if len(c.Answers) > 0 {
		return c.Answers
	}
	return []string{"yes", "no"}
}

func passes(c *pack.Check, answer string) bool { return slices.Contains(c.Pass, answer) }

func holdID(r *assess.Result) string {
	return "hold-" + r.Kind + "-" + r.Name + "-" + strings.ReplaceAll(r.Place, " ", "-")
}

func holdSign(h *holdLine) string {
	switch {
	case h.Accepted != nil && h.Met:
		return "hold"
	case h.Check != nil && h.Result.Passed:
		return "done"
	case h.Met:
		return "done"
	case h.Result.Failed:
		return "worn"
	case h.Check != nil:
		return "todo"
	}
	sign, _ := glyphOf(h.Result)
	return sign
}

func holdInk(h *holdLine) string {
	switch {
	case h.Met:
		return "blue"
	case h.Result.Failed:
		return "worn"
	}
	_, ink := glyphOf(h.Result)
	return ink
}

// doneWords names the operation for its button: short, without a number before it.
func doneWords(d *doView) string {
	title := d.Op.Title
	if head, rest, ok := strings.Cut(title, " "); ok && strings.Trim(head, "0123456789") == "" {
		title = rest
	}
	return title + ", done"
}

func heldWords(d *doView) string {
	open := 0
	for i := range d.Holds {
		if !d.Holds[i].Met {
			open++
		}
	}
	switch {
	case len(d.Because) == 0 && open == 1:
		return "Held: one thing above is not proven"
	case len(d.Because) == 0 && open > 1:
		return "Held: what stands above is not proven"
	case len(d.Closes) > 0:
		return "Not to be closed yet"
	}
	return "Not to be done yet"
}

func anywayWords(d *doView) string {
	if len(d.Closes) > 0 {
		return "Close anyway, and say why"
	}
	return "Do it anyway, and say why"
}

func stepHint(s quantity.System) string {
	if s == quantity.Inch {
		return "0.0001 in"
	}
	return "0.001 mm"
}

func uncertaintyHint(s quantity.System) string {
	if s == quantity.Inch {
		return "0.0002 in"
	}
	return "0.005 mm"
}

func blankHint(b blankLine) string {
	switch b.Attribute {
	case "new", "torque":
		return "from to, like 9.0 .. 11.0"
	case "limit":
		return "<= or >= the figure"
	}
	return ""
}

func limitHint(v view) string {
	if v.System == quantity.Inch {
		return "<= 0.022 in"
	}
	return "<= 0.55 mm"
}

// addedWords names what a piece of pack text adds.
func addedWords(s *sheet, text string) string {
	var list []string
	for _, line := range strings.Split(text, "\n") {
		head, _, ok := strings.Cut(line, " {")
		if !ok || strings.HasPrefix(line, " ") {
			continue
		}
		kind, name, _ := strings.Cut(head, " ")
		name = strings.Trim(name, `"`)
		title := words.Named(s.pack.Pack, kind+"."+name)
		if title == kind+"."+name {
			title = name
		}
		list = append(list, strings.ReplaceAll(kind, "_", " ")+" "+title)
	}
	if len(list) > 4 {
		list = append(list[:4], "and more")
	}
	return words.Upper(strings.Join(list, ", "))
}

// mayNow says what the locks of a pack forbid and none forbids now: whether the crank may
// be turned stands at the head of every page of a job.
func mayNow(s *sheet) []string {
	var heads, list []string
	for _, l := range s.pack.Locks {
		head, _, _ := strings.Cut(l.Title, ":")
		if strings.Contains(head, " must not be ") && !slices.ContainsFunc(heads, func(x string) bool { return strings.HasPrefix(head, x) }) {
			heads = append(heads, head)
		}
	}
	for _, head := range heads {
		if !slices.ContainsFunc(s.A.Locks, func(l assess.Lock) bool { return strings.HasPrefix(l.Title, head) }) {
			list = append(list, strings.Replace(head, " must not be ", " may be ", 1))
		}
	}
	return list
}
