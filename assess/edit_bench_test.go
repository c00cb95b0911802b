package assess_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/journal"
	"buttonup/quantity"
)

// edit is one line of a journal as it reads after an edit.
type edit struct {
	line int
	text string
}

// edits makes, for each reading of the demo rebuild, the line that is a step larger. The
// journals are made one at a time: held all at once they would be a heap that no shop
// has, and the measure would be of the collector.
func edits(tb testing.TB, lines []string) []edit {
	var list []edit
	for i, line := range lines {
		var e map[string]any
		if json.Unmarshal([]byte(line), &e) != nil || e["kind"] != "reading" {
			continue
		}
		text, _ := e["value"].(string)
		q, err := quantity.Parse(text)
		if err != nil {
			tb.Fatal(err)
		}
		number := strings.TrimSuffix(text, " "+q.Unit.Symbol)
		e["value"] = strings.Replace(text, number, quantity.FormatNumber(q.Unit.In(q.SI)+1e-3, max(q.Decimals, 3)), 1)
		changed, err := json.Marshal(e)
		if err != nil {
			tb.Fatal(err)
		}
		list = append(list, edit{i, string(changed)})
	}
	return list
}

// BenchmarkEditReading is the goal of a page: one reading of the demo rebuild is
// changed, and everything is judged again, in at most 5 ms of 99 in 100 where the
// change reaches no number that is judged by samples, and in at most 25 ms where it
// does. Each change begins from the unchanged job, as a hand at the bench would.
func BenchmarkEditReading(b *testing.B) {
	model := assess.Prepare(demoPack(b))
	lines := demoJournal(b, "clean-rebuild")
	before := journal.Read([]byte(strings.Join(lines, "\n"))).Fold()
	first := model.Assess(before, assess.Options{})
	changes := edits(b, lines)
	ends := func(a *assess.Assessment) map[string][2]float64 {
		m := map[string][2]float64{}
		for i := range a.Results {
			if r := &a.Results[i]; r.Method == formula.ByMonteCarlo {
				m[r.Reference()+" "+r.Place] = [2]float64{r.Value - r.Below, r.Value + r.Above}
			}
		}
		return m
	}
	was := ends(first)
	var straight, samples []time.Duration
	for n := 0; b.Loop(); n++ {
		change := changes[n%len(changes)]
		all := slices.Clone(lines)
		all[change.line] = change.text
		state := journal.Read([]byte(strings.Join(all, "\n"))).Fold()
		model.Assess(before, assess.Options{})
		began := time.Now()
		a := model.Assess(state, assess.Options{})
		took := time.Since(began)
		now, touched := ends(a), false
		for name, x := range now {
			touched = touched || was[name] != x
		}
		if touched {
			samples = append(samples, took)
		} else {
			straight = append(straight, took)
		}
	}
	p99 := func(list []time.Duration) float64 {
		if len(list) == 0 {
			return 0
		}
		slices.Sort(list)
		return list[min(len(list)-1, len(list)*99/100)].Seconds() * 1e3
	}
	b.ReportMetric(p99(straight), "ms-p99-first-order")
	b.ReportMetric(p99(samples), "ms-p99-samples")
	b.ReportMetric(float64(len(samples)), "edits-with-samples")
	b.ReportMetric(float64(len(changes)), "readings")
}
