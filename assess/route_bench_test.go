package assess_test

import (
	"bytes"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
)

// routeTimes is when the jobs of the benchmarks are looked at.
var routeTimes = assess.Options{Now: time.Date(2030, 1, 1, 8, 0, 0, 0, time.UTC)}

// BenchmarkRouteDemo is the goal of an order of work: the whole of the demo engine from
// scratch in at most 100 ms, warm; the assessment that it starts from is in it. Beside it
// stands the same engine as it came in, to be taken apart first, and one half built.
func BenchmarkRouteDemo(b *testing.B) {
	p := demoPack(b)
	rebuild, _ := packs.Journal(packs.Demo, "clean-rebuild")
	for _, c := range []struct{ name, lines string }{
		{"from scratch", ""},
		{"taken apart first", `{"id":"1","at":"2029-12-01T08:00:00Z","by":"bench","kind":"job","title":"x","assembled":true}` + "\n" +
			`{"id":"2","at":"2029-12-01T08:01:00Z","by":"bench","kind":"option","option":"arrived","choice":"assembled"}`},
		{"half built", string(rebuild)},
	} {
		b.Run(c.name, func(b *testing.B) {
			m := assess.Prepare(p)
			s := journal.Read([]byte(c.lines)).Fold()
			r, _ := m.Route(s, routeTimes)
			if len(r.Steps) < 40 || len(r.Stuck) > 0 && c.name != "half built" {
				b.Fatalf("%d steps, %d stuck", len(r.Steps), len(r.Stuck))
			}
			for b.Loop() {
				m.Route(s, routeTimes)
			}
			b.ReportMetric(float64(len(r.Steps)), "steps")
			b.ReportMetric(float64(r.Changes), "changes")
		})
	}
}

// BenchmarkRouteAfterAnEvent is the goal of a page: the order of work after one more
// event of the whole demo job in at most 20 ms, on top of the assessment that every event
// brings anyway. Each round takes the next operation, taking back or end of a wait of that
// journal.
func BenchmarkRouteAfterAnEvent(b *testing.B) {
	m := assess.Prepare(demoPack(b))
	text, _ := packs.Journal(packs.Demo, "whole-job")
	lines := bytes.SplitAfter(text, []byte("\n"))
	var states []*journal.State
	for n, line := range lines {
		if bytes.Contains(line, []byte(`"kind":"operation"`)) || bytes.Contains(line, []byte(`"kind":"wait"`)) {
			states = append(states, journal.Read(bytes.Join(lines[:n+1], nil)).Fold())
		}
	}
	var planning, slowest time.Duration
	rounds := 0
	for b.Loop() {
		a := m.Assess(states[rounds%len(states)], routeTimes)
		since := time.Now()
		a.Route()
		took := time.Since(since)
		planning, slowest = planning+took, max(slowest, took)
		rounds++
	}
	b.ReportMetric(planning.Seconds()*1e3/float64(rounds), "planning-ms")
	b.ReportMetric(slowest.Seconds()*1e3, "slowest-planning-ms")
}
