package assess_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
)

// follow writes a route into a journal, step by step: checks that are held are answered
// as the pack wants them, waits are ended when they are over.
func follow(before []byte, running []assess.Wait, r *assess.Route, passing map[string]string) []byte {
	var b strings.Builder
	b.Write(before)
	n := 0
	at := time.Date(2030, 1, 1, 8, 0, 0, 0, time.UTC)
	write := func(offset time.Duration, format string, arguments ...any) {
		n++
		fmt.Fprintf(&b, `{"id":"follow-%04d","at":%q,"by":"bench",%s}`+"\n", n, at.Add(offset).Format(time.RFC3339), fmt.Sprintf(format, arguments...))
	}
	for _, w := range running { // long over by the clock; a person still has to end them
		write(0, `"kind":"wait","operation":%q,"place":%q,"state":"ended"`, w.Operation.Name, w.Operation.Place)
	}
	var waits []assess.RouteStep
	for _, s := range r.Steps {
		waits = slices.DeleteFunc(waits, func(w assess.RouteStep) bool {
			if over := w.End + time.Duration(w.Wait.Length*float64(time.Second)); over > s.Start {
				return false
			}
			write(s.Start, `"kind":"wait","operation":%q,"place":%q,"state":"ended"`, w.Operation.Name, w.Operation.Place)
			return true
		})
		for _, ref := range s.Holds {
			name, place, _ := strings.Cut(ref, " ")
			if answer, ok := passing[name]; ok {
				write(s.Start, `"kind":"check","of":%q,"place":%q,"answer":%q`, strings.TrimPrefix(name, "check."), place, answer)
			}
		}
		state := "done"
		if s.Undo {
			state = "undone"
		}
		write(s.Start, `"kind":"operation","operation":%q,"place":%q,"state":%q`, s.Operation.Name, s.Operation.Place, state)
		if s.Wait != nil {
			waits = append(waits, s)
		}
	}
	return []byte(b.String())
}

// passingAnswers is the answer with which each check of a pack passes.
func passingAnswers(m *assess.Model) map[string]string {
	passing := map[string]string{}
	for _, c := range m.Assess(journal.Read(nil).Fold(), assess.Options{}).Pack.Checks {
		if len(c.Pass) > 0 {
			passing["check."+c.Name] = c.Pass[0]
		}
	}
	return passing
}

// The route of every journal of the demo engine, written into that journal step by
// step, breaks no rule of order that was not broken before.
func TestRoutesOfTheDemoBreakNoRule(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	passing := passingAnswers(m)
	now := time.Date(2030, 1, 1, 8, 0, 0, 0, time.UTC)
	order := []string{assess.CodeClosedTooEarly, assess.CodeOutOfOrder, assess.CodeTooLate, assess.CodeTemporaryInside, assess.CodeLockBroken}
	broken := func(a *assess.Assessment) map[string]bool {
		found := map[string]bool{}
		for i := range a.Findings {
			if slices.Contains(order, a.Findings[i].Code) {
				found[a.Findings[i].ID()] = true
			}
		}
		return found
	}
	for _, name := range []string{"", "clean-rebuild", "mid-inspection", "swapped-gasket", "crank-truing", "trap-mirrored-gasket", "whole-job"} {
		t.Run("from "+name, func(t *testing.T) {
			text, _ := packs.Journal(packs.Demo, name)
			r, before := m.Route(journal.Read(text).Fold(), assess.Options{Now: now})
			after := m.Assess(journal.Read(follow(text, before.Waits, r, passing)).Fold(), assess.Options{Now: now})
			was := broken(before)
			for id := range broken(after) {
				if !was[id] {
					t.Errorf("the route breaks a rule: %s", id)
				}
			}
			if left := len(r.Steps) + len(r.Stuck); left == 0 && len(before.Next)+len(before.Blocked) > 0 {
				t.Error("work is left, and neither a step nor a reason is told")
			}
		})
	}
}
