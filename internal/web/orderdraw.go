package web

import (
	"fmt"
	"html"
	"strings"
)

// priceAxis draws where the three lists stand in days, each with its price. Lists that
// stand at one day share one mark.
func priceAxis(aims []orderAim) string {
	longest := 7
	for _, a := range aims {
		longest = max(longest, a.Days)
	}
	const left, right, ground = 8.0, 432.0, 62.0
	at := func(days int) float64 { return left + (right-left)*float64(days)/float64(longest) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="dr" viewBox="0 0 440 92" role="img" aria-label="%s">`, html.EscapeString(axisSays(aims)))
	fmt.Fprintf(&b, `<path class="s-ink" stroke-width="1.5" d="M%.1f %.1fH%.1f"/>`, left, ground, right)
	for d := 0; d <= longest; d++ {
		long := 4
		if d%7 == 0 {
			long = 9
		}
		fmt.Fprintf(&b, `<path class="s-ink2" stroke-width="1" d="M%.1f %.1fv%d"/>`, at(d), ground, long)
	}
	fmt.Fprintf(&b, `<text class="c2" x="%.1f" y="88">today</text><text class="c2 end" x="%.1f" y="88">%d days</text>`, left, right, longest)
	told := map[int]bool{}
	row := 0
	for _, a := range aims {
		if a.Impossible || told[a.Days] {
			continue
		}
		told[a.Days] = true
		var names []string
		chosen := false
		for _, other := range aims {
			if !other.Impossible && other.Days == a.Days {
				names = append(names, strings.ToLower(other.Says))
				chosen = chosen || other.Chosen
			}
		}
		x := at(a.Days)
		fill, class := "f-none s-ink", "c2"
		if chosen {
			fill, class = "f-blue", "cb"
		}
		fmt.Fprintf(&b, `<path class="%s" stroke-width="1.2" d="M%.1f %.1fl-6 -11h12z"/>`, fill, x, ground-2)
		anchor := "mid"
		tx := x
		switch {
		case x < 90:
			anchor, tx = "", left
		case x > 350:
			anchor, tx = "end", right
		}
		fmt.Fprintf(&b, `<text class="%s b %s" x="%.1f" y="%d">%s</text>`, class, anchor, tx, 16+(row%2)*18, html.EscapeString(strings.Join(names, ", ")))
		row++
	}
	return b.String() + "</svg>"
}

// axisSays is the drawing in words.
func axisSays(aims []orderAim) string {
	var out []string
	for _, a := range aims {
		if !a.Impossible {
			out = append(out, fmt.Sprintf("%s: %s in %d days", a.Says, a.Total, a.Days))
		}
	}
	return strings.Join(out, "; ")
}
