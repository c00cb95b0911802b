package cli

import (
	"fmt"
	"io"

	"buttonup/assess"
	"buttonup/words"
)

// printWhatIf shows what something supposed changes, before all else that is then so.
func printWhatIf(w io.Writer, what *assess.WhatIf) {
	heading(w, fmt.Sprintf("WHAT IF (%s, nothing is written down)", words.Count(len(what.Changes), "result changes", "results change")))
	for i := range what.Changes {
		c := &what.Changes[i]
		one := c.After
		if one == nil {
			one = c.Before
		}
		fmt.Fprintf(w, "  %s: %s\n", words.Title(one.Title, one.Place), words.Change(c))
		if through := words.Through(c); through != "" {
			fmt.Fprintf(w, "    %s\n", through)
		}
	}
	for _, list := range []struct {
		sign     string
		findings []assess.Finding
	}{{"new", what.New}, {"gone", what.Gone}} {
		for i := range list.findings {
			f := &list.findings[i]
			if words.ToldBefore(f) {
				continue
			}
			fmt.Fprintf(w, "  %s: %s: %s\n", list.sign, f.Severity, words.Finding(f).Says)
		}
	}
	fmt.Fprintln(w)
}
