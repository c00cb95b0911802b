package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/words"
)

// printAssessment shows an assessment to a person: what stops first, then what needs
// attention, what was found, and what is next.
func printAssessment(w io.Writer, a *assess.Assessment, all bool) {
	printHead(w, a)
	counts := map[assess.Severity]int{}
	accepted := 0
	for i := range a.Findings {
		if a.Findings[i].Accepted != nil {
			accepted++
			continue
		}
		if !words.ToldBefore(&a.Findings[i]) {
			counts[a.Findings[i].Severity]++
		}
	}
	printFindings(w, a, assess.Stop, fmt.Sprintf("STOPS THE JOB (%d)", counts[assess.Stop]), true)
	printFindings(w, a, assess.Attention, fmt.Sprintf("NEEDS ATTENTION (%d)", counts[assess.Attention]), true)
	printAccepted(w, a)
	printResults(w, a)
	printWork(w, a, all)
	if all {
		printFindings(w, a, assess.Note, fmt.Sprintf("NOTES (%d)", counts[assess.Note]), false)
	}
	printFoot(w, a, counts, all)
}

func printHead(w io.Writer, a *assess.Assessment) {
	title := a.Pack.Title
	if a.Pack.Revision != "" {
		title += ", revision " + a.Pack.Revision
	}
	fmt.Fprintln(w, title)
	if j := a.Job; j != nil {
		var words []string
		for _, s := range []string{j.Title, j.EngineNumber, j.Owner} {
			if s != "" {
				words = append(words, s)
			}
		}
		if len(words) > 0 {
			fmt.Fprintln(w, strings.Join(words, " · "))
		}
	}
	for i := range a.Locks {
		l := &a.Locks[i]
		fmt.Fprintf(w, "LOCKED: %s; until %s\n", words.Title(l.Title, l.Place), strings.Join(l.Until, ", "))
	}
}

func heading(w io.Writer, text string) { fmt.Fprintf(w, "\n%s\n", text) }

func printFindings(w io.Writer, a *assess.Assessment, s assess.Severity, title string, remedies bool) {
	first := true
	for i := range a.Findings {
		f := &a.Findings[i]
		if f.Severity != s || f.Accepted != nil || words.ToldBefore(f) {
			continue
		}
		if first {
			heading(w, title)
			first = false
		}
		sentence := words.Finding(f)
		fmt.Fprintf(w, "  %s\n", sentence.Says)
		if !remedies {
			continue
		}
		if f.Result != nil && len(sentence.Because) > 0 && f.Code != assess.CodeNotMeasured {
			fmt.Fprintf(w, "    ± from %s\n", strings.Join(sentence.Because, ", "))
		}
		if sentence.Do != "" {
			fmt.Fprintf(w, "    → %s\n", sentence.Do)
		}
	}
}

func printAccepted(w io.Writer, a *assess.Assessment) {
	first := true
	for i := range a.Findings {
		f := &a.Findings[i]
		if f.Accepted == nil {
			continue
		}
		if first {
			heading(w, "ACCEPTED WITH A REASON")
			first = false
		}
		fmt.Fprintf(w, "  %s\n    %s: %s\n", words.Finding(f).Says, f.Accepted.By, f.Accepted.Why)
	}
}

func printResults(w io.Writer, a *assess.Assessment) {
	var rows [][4]string
	open := 0
	for i := range a.Results {
		r := &a.Results[i]
		if !r.HasValue && r.Answer == "" {
			open++
			continue
		}
		value, against := words.Measured(r), words.Range(r, r.Limit)
		if against == "" {
			against = words.Range(r, r.New)
		}
		if r.Kind == "check" {
			value = r.Answer
		}
		verdict := words.Verdict(r)
		if r.HasWearUsed && r.Verdict >= measure.NewFit && r.WearUsed > 0 {
			verdict += fmt.Sprintf(", %.0f %% of the wear used", 100*r.WearUsed)
		}
		if r.Supposed {
			verdict += " (supposed)"
		}
		rows = append(rows, [4]string{words.Title(r.Title, r.Place), value, against, verdict})
	}
	if len(rows) == 0 {
		return
	}
	heading(w, fmt.Sprintf("FOUND (%d, and %d not read or looked at yet)", len(rows), open))
	most := [4]int{44, 26, 26, 60}
	var width [4]int
	for _, row := range rows {
		for i, cell := range row {
			width[i] = max(width[i], min(utf8.RuneCountInString(cell), most[i]))
		}
	}
	for _, row := range rows {
		line := "  "
		for i, cell := range row[:3] {
			n := utf8.RuneCountInString(cell)
			line += cell
			if i == 0 && n > width[i] {
				// A long title has a line of its own, so that the columns stay columns.
				line += "\n  "
				n = 0
			}
			line += strings.Repeat(" ", max(width[i]-n, 0)+2)
		}
		fmt.Fprintln(w, line+row[3])
	}
}

func printWork(w io.Writer, a *assess.Assessment, all bool) {
	if len(a.Spaces) > 0 {
		heading(w, "SPACES")
		for _, s := range a.Spaces {
			state := "open"
			if s.Closed {
				state = "closed"
			}
			line := fmt.Sprintf("  %-6s  %s", state, words.Title(s.Title, s.Place))
			if n := len(s.Unfinished); n > 0 {
				line += fmt.Sprintf(": %s to do inside", count(n, "operation"))
			}
			fmt.Fprintln(w, line)
		}
	}
	if len(a.Waits) > 0 {
		heading(w, "WAITING")
		for i := range a.Waits {
			fmt.Fprintf(w, "  %s\n", words.Wait(&a.Waits[i], a.Now))
		}
	}
	if len(a.Next) > 0 {
		heading(w, fmt.Sprintf("CAN BE DONE NOW (%d)", len(a.Next)))
		for i, o := range a.Next {
			if i == 8 && !all {
				fmt.Fprintf(w, "  and %d more\n", len(a.Next)-i)
				break
			}
			fmt.Fprintf(w, "  %s\n", o)
		}
	}
	if len(a.Blocked) > 0 {
		heading(w, fmt.Sprintf("NOT YET (%d)", len(a.Blocked)))
		for i, b := range a.Blocked {
			if i == 5 && !all {
				fmt.Fprintf(w, "  and %d more\n", len(a.Blocked)-i)
				break
			}
			reasons := words.Reasons(b.Because)
			if len(reasons) > 3 && !all {
				reasons = append(reasons[:3:3], fmt.Sprintf("and %d more reasons", len(reasons)-3))
			}
			fmt.Fprintf(w, "  %s: %s\n", b.Operation, strings.Join(reasons, "; "))
		}
	}
}

func printFoot(w io.Writer, a *assess.Assessment, counts map[assess.Severity]int, all bool) {
	fmt.Fprintln(w)
	var parts []string
	if n := counts[assess.Stop]; n > 0 {
		parts = append(parts, fmt.Sprintf("%s the job", map[bool]string{true: "1 finding stops", false: fmt.Sprintf("%d findings stop", n)}[n == 1]))
	} else {
		parts = append(parts, "nothing found stops the job")
	}
	if n := counts[assess.Note]; n > 0 && !all {
		parts = append(parts, fmt.Sprintf("%s (--all shows them)", count(n, "note")))
	}
	if n := len(a.Pack.ToBeFilledIn); n > 0 {
		parts = append(parts, fmt.Sprintf("%s to be filled in", count(n, "figure")))
	}
	fmt.Fprintf(w, "%s.\n", strings.Join(parts, "; "))
	fmt.Fprintln(w, "Buttonup records and computes; it does not certify. The maker's manual, local codes and licensed practice come first.")
}
