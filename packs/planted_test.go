package packs_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/packs"
	"buttonup/quantity"
	"buttonup/words"
)

// replay assesses a carried journal.
func replay(t testing.TB, id, name string) *assess.Assessment {
	t.Helper()
	text, ok := packs.Journal(id, name)
	if !ok {
		t.Fatalf("the journal %s of %s is not carried", name, id)
	}
	read := journal.Read(text)
	for _, p := range read.Problems {
		t.Errorf("%s: line %d: %s", name, p.Line, p.Detail)
	}
	return assess.Assess(load(t, id), read.Fold(), assess.Options{})
}

// Every journal is understood line by line, and what was planted in it is found. The
// list is that of expect.txt beside the journals; all of it is invented.
func TestPlantedIsFound(t *testing.T) {
	for id := range engines {
		claims := map[string][][]string{}
		file := filepath.Join(id, "journals", "expect.txt")
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(text), "\n") {
			if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
				continue
			}
			fields := strings.Split(line, ",")
			for i := range fields {
				fields[i] = strings.TrimSpace(fields[i])
			}
			claims[fields[0]] = append(claims[fields[0]], fields[1:])
		}
		names, _ := filepath.Glob(filepath.Join(id, "journals", "*.jsonl"))
		for _, path := range names {
			name := strings.TrimSuffix(filepath.Base(path), ".jsonl")
			list := claims[name]
			delete(claims, name)
			t.Run(id+" "+name, func(t *testing.T) {
				if len(list) == 0 {
					t.Fatalf("%s claims nothing of this journal", file)
				}
				a := replay(t, id, name)
				for i := range a.Findings {
					if f := &a.Findings[i]; f.Line > 0 && strings.HasPrefix(f.Of, "line ") {
						t.Errorf("%s is not understood: %s", f.Of, words.Finding(f).Says)
					}
				}
				for _, claim := range list {
					if says := hold(a, claim); says != "" {
						t.Errorf("%s: %s", strings.Join(claim, ", "), says)
					}
				}
			})
		}
		for name := range claims {
			t.Errorf("%s claims something of %s, which is not there", file, name)
		}
	}
}

// hold returns what is wrong with a claim, "" for one that is true.
func hold(a *assess.Assessment, claim []string) string {
	field := func(i int) string {
		if i < len(claim) {
			return claim[i]
		}
		return ""
	}
	operation := func() string { return placed("operation."+field(1), field(2)) }
	switch claim[0] {
	case "finding", "accepted":
		f := finding(a, field(1), field(2), field(3))
		switch {
		case f == nil:
			return "there is no such finding"
		case (f.Accepted != nil) != (claim[0] == "accepted"):
			return "the finding is accepted, or is not"
		}
	case "no":
		for i := range a.Findings {
			f := &a.Findings[i]
			if f.Accepted == nil && (f.Severity.String() == field(1) || f.Code == field(1) && (field(2) == "" || f.Of == field(2) && f.Place == field(3))) {
				return f.ID() + ": " + words.Finding(f).Says
			}
		}
	case "result":
		r := result(a, field(1), field(2))
		if r == nil {
			return "there is no such result"
		}
		if v := verdict(r); v != field(3) {
			return "it is " + v
		}
		if want := field(4); want != "" {
			q, err := quantity.Parse(want)
			if err != nil {
				return err.Error()
			}
			if got, want := q.Unit.Text(r.Value, max(q.Decimals, 0)), q.Unit.Text(q.SI, max(q.Decimals, 0)); !r.HasValue || q.Dimension != r.Unit.Dimension || got != want {
				return "it is " + got
			}
		}
	case "missing":
		r := result(a, field(1), field(2))
		if r == nil || r.Verdict != measure.NotMeasured || !slices.Contains(r.Missing, field(3)) {
			return "it does not wait for that"
		}
	case "space":
		for _, s := range a.Spaces {
			if s.Name == field(1) && s.Place == field(2) {
				if s.Closed != (field(3) == "closed") {
					return "it is not"
				}
				return ""
			}
		}
		return "there is no such space"
	case "next", "not next":
		found := false
		for _, o := range a.Next {
			found = found || o.String() == operation()
		}
		if found != (claim[0] == "next") {
			return "the operations that may be done now say otherwise"
		}
	case "because":
		for _, b := range a.Blocked {
			if b.Operation.String() != operation() {
				continue
			}
			for _, r := range b.Because {
				if r.Of == field(3) {
					return ""
				}
			}
			return "it is blocked by " + strings.Join(words.Reasons(b.Because), "; ")
		}
		return "it is not blocked"
	case "all done":
		if len(a.Next)+len(a.Blocked)+len(a.Waits)+len(a.Locks)+len(a.Missing) > 0 {
			return "there is still something to do, to wait for or to buy"
		}
		for i := range a.Results {
			if r := &a.Results[i]; verdict(r) == "not-measured" {
				return placed(r.Reference(), r.Place) + " is not measured"
			}
		}
	default:
		return "nothing is known of such a claim"
	}
	return ""
}

// placed joins a reference and a place.
func placed(reference, place string) string {
	if place == "" {
		return reference
	}
	return reference + " " + place
}

func finding(a *assess.Assessment, code, of, place string) *assess.Finding {
	for i := range a.Findings {
		if f := &a.Findings[i]; f.Code == code && f.Of == of && f.Place == place {
			return f
		}
	}
	return nil
}

func result(a *assess.Assessment, of, place string) *assess.Result {
	for i := range a.Results {
		if r := &a.Results[i]; r.Reference() == of && r.Place == place {
			return r
		}
	}
	return nil
}

// verdict is what an assessment writes: that of a check too.
func verdict(r *assess.Result) string {
	switch {
	case r.Kind != "check":
		return r.Verdict.String()
	case r.Passed:
		return "passed"
	case r.Failed:
		return "failed"
	}
	return measure.NotMeasured.String()
}
