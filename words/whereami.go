package words

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
)

// WhereWasI says in one sentence at which exact point the work stands; nothing for a job
// in which nothing was done.
func WhereWasI(a *assess.Assessment) string {
	p := &a.Point
	var parts []string
	for _, i := range p.Joints {
		parts = append(parts, jointPoint(&a.Joints[i]))
	}
	parts = append(parts, allStillIn(a, p.In)...)
	for _, i := range p.Sets {
		r := &a.Results[i]
		parts = append(parts, fmt.Sprintf("%s: %s, %d to go", lowered(Title(r.Title, r.Place)), Count(r.Readings, "reading", "readings"), len(r.Missing)))
	}
	for _, o := range p.Halves {
		parts = append(parts, lowered(plainTitle(a, o))+" not done")
	}
	for i := range a.Waits {
		w := &a.Waits[i]
		parts = append(parts, fmt.Sprintf("%s after %s not over", orElse(w.For, "the wait"), lowered(plainTitle(a, w.Operation))))
	}
	for _, o := range p.Over {
		parts = append(parts, fmt.Sprintf("%s after %s over", waitName(a, o), lowered(plainTitle(a, o))))
	}
	parts = shorten(parts, 7)
	if len(parts) == 0 {
		if p.Last == (assess.Operation{}) {
			return ""
		}
		return "Last done: " + plainTitle(a, p.Last) + "."
	}
	return Upper(strings.Join(parts, "; ")) + "."
}

// plainTitle is the title of an operation without the number that it has in a list.
func plainTitle(a *assess.Assessment, o assess.Operation) string {
	return plain(Operation(a.Pack, o))
}

// plain is a title without the number before it.
func plain(title string) string {
	number, rest, found := strings.Cut(title, " ")
	if found && strings.Trim(number, "0123456789") == "" {
		return rest
	}
	return title
}

func waitName(a *assess.Assessment, o assess.Operation) string {
	for _, x := range a.Pack.Operations {
		if x.Name == o.Name && x.WaitsFor != "" {
			return x.WaitsFor
		}
	}
	return "the wait"
}

// allStillIn names what is still in, the same thing at several places once.
func allStillIn(a *assess.Assessment, in []assess.PutIn) []string {
	var order []string
	places := map[string][]string{}
	for _, x := range in {
		says := lowered(Named(a.Pack, x.Temporary))
		if x.Count > 1 {
			says = fmt.Sprintf("%d × %s", x.Count, says)
		}
		if _, known := places[says]; !known {
			order = append(order, says)
			places[says] = nil
		}
		if x.By.Place != "" {
			places[says] = append(places[says], x.By.Place)
		}
	}
	for i, says := range order {
		if at := places[says]; len(at) > 0 {
			order[i] = says + ", " + list(at)
		}
		order[i] += " still in"
	}
	return order
}

func stillIn(a *assess.Assessment, x assess.PutIn) string {
	says := lowered(Named(a.Pack, x.Temporary))
	if x.By.Place != "" {
		says += ", " + x.By.Place
	}
	if x.Count > 1 {
		says = fmt.Sprintf("%d × %s", x.Count, says)
	}
	return says + " still in"
}

// jointPoint says how far a joint is tightened: "head nuts, front: stage 2 done, 3 of 4
// not done in stage 3".
func jointPoint(j *assess.Joint) string {
	name := lowered(Title(j.Title, j.Place))
	done := 0
	for done < len(j.Done) && j.Done[done] >= j.Points {
		done++
	}
	says := name + ": "
	if done > 0 {
		says += fmt.Sprintf("stage %d done", done)
	}
	if done == len(j.Done) {
		return says
	}
	if done > 0 {
		says += ", "
	}
	if j.Done[done] == 0 || j.Points < 2 {
		return says + fmt.Sprintf("stage %d of %d not begun", done+1, len(j.Done))
	}
	if next := nextPoint(j, done+1); next > 0 {
		return says + fmt.Sprintf("%s %d of %d in stage %d not done", fastener(j), next, j.Points, done+1)
	}
	return says + fmt.Sprintf("%d of %d done in stage %d", j.Done[done], j.Points, done+1)
}

// nextPoint finds the place in the order of a pattern of the first fastener that is not
// done in a stage; 0 where the passes do not tell.
func nextPoint(j *assess.Joint, stage int) int {
	done := map[int]bool{}
	for _, pass := range j.Passes {
		if passStage(j, pass) == stage && pass.Point > 0 {
			done[pass.Point] = true
		}
	}
	order := j.Joint.Order
	for k := 1; k <= j.Points; k++ {
		point := k
		if k <= len(order) {
			point = order[k-1]
		}
		if !done[point] {
			return point
		}
	}
	return 0
}

func passStage(j *assess.Joint, pass *journal.TorqueRecord) int {
	switch {
	case pass.Stage > 0:
		return pass.Stage
	case len(j.Done) > 1:
		return len(j.Done)
	}
	return 1
}

// fastener is what the title of a joint calls what is tightened.
func fastener(j *assess.Joint) string {
	for _, word := range []string{"nut", "screw", "bolt", "stud", "plug"} {
		if strings.Contains(strings.ToLower(j.Title), word) {
			return word
		}
	}
	return "fastener"
}
