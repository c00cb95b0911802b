package web

import (
	"testing"

	"buttonup/assess"
)

// Every reading still to be taken stands once, under the first step that waits for it.
func TestReadingsStandUnderTheStepThatWaitsForThem(t *testing.T) {
	s := demoServer(t)
	for _, job := range []string{"0412", "0415", "0417", "0418"} {
		sh, err := s.desks.sheet(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		open := toRead(sh)
		seen := map[*assess.Result]string{}
		groups := sh.byStep(open)
		for _, g := range groups {
			for _, r := range g.Results {
				if before, twice := seen[r]; twice {
					t.Errorf("job %s: %s stands under %q and %q", job, at(r.Reference(), r.Place), before, g.Says)
				}
				seen[r] = g.Says
			}
		}
		if len(seen) != len(open) || len(open) == 0 {
			t.Errorf("job %s: %d of %d readings stand in %d groups", job, len(seen), len(open), len(groups))
		}
		for i, g := range groups {
			if g.Unfold != (i == 0) {
				t.Errorf("job %s: group %q unfolded: %v", job, g.Says, g.Unfold)
			}
		}
		if job == "0418" && groups[0].Says != "017 Final true, every blow written down" {
			t.Errorf("job 0418, a crank being trued, begins with %q", groups[0].Says)
		}
	}
}
