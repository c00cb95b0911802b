package assess_test

import (
	"fmt"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/words"
)

// bigJob is a pack of 400 dimensions and 300 numbers, all read with a gauge, most at
// several places of a bore, with metals, and a limit for nearly everything.
func bigJob() (text string, lines []string) {
	var b strings.Builder
	b.WriteString("instrument \"gauge\" {\n  step = \"0.001 mm\"\n  uncertainty = \"0.005 mm\"\n  shared = \"0.003 mm\"\n}\n")
	lines = append(lines, "instrument name=g class=gauge", `instrument name=h class=gauge uncertainty="0.003 mm"`)
	metals := []string{"grey iron", "forged aluminium", "steel", "bronze"}
	for i := range 400 {
		fmt.Fprintf(&b, "dimension \"d%d\" {\n  with = \"gauge\"\n  step = \"0.001 mm\"\n  new = \"%d.000 .. %d.013 mm\"\n  limit = \"<= %d.090 mm\"\n  metal = %q\n", i, 20+i%80, 20+i%80, 20+i%80, metals[i%4])
		cells := []string{""}
		if i%2 == 0 {
			b.WriteString("  read {\n    positions = [\"10 mm\", \"70 mm\"]\n    axes = [\"thrust\", \"pin\"]\n  }\n")
			cells = []string{` pos="10 mm" axis=thrust`, ` pos="10 mm" axis=pin`, ` pos="70 mm" axis=thrust`, ` pos="70 mm" axis=pin`}
		}
		b.WriteString("}\n")
		for k, cell := range cells {
			line := fmt.Sprintf(`reading of=d%d%s value="%d.%03d mm" instrument=%c`, i, cell, 20+i%80, (i*7+k*3)%80, "gh"[i%2])
			if i%3 == 0 {
				line += ` temperature="22 degC"`
			}
			lines = append(lines, line)
		}
	}
	for i := range 300 {
		value := fmt.Sprintf("d%d - d%d", i, i+80)
		switch i % 5 {
		case 1:
			value = fmt.Sprintf("(sq(d%d) - sq(d%d)) / (d%d + d%d)", i, i+80, i, i+80)
		case 2:
			value = fmt.Sprintf("oval(d%d) + abs(taper(d%d))", i/2*2, i/2*2)
		case 3:
			value = fmt.Sprintf("sqrt(d%d * d%d) + n%d", i, i+1, i-1)
		case 4:
			value = fmt.Sprintf("max(d%d, d%d, d%d) - mean(d%d)", i, i+1, i+2, i+3)
		}
		fmt.Fprintf(&b, "number \"n%d\" {\n  value = %s\n  new = \"-1 .. 1 mm\"\n  limit = \"<= 200 mm\"\n}\n", i, value)
	}
	return b.String(), lines
}

// BenchmarkAssess400 is the goal: all verdicts and all ± of 400 dimensions and 300
// numbers in less than 2 ms, the pack prepared and the journal read before.
func BenchmarkAssess400(b *testing.B) {
	text, lines := bigJob()
	model := assess.Prepare(loadPack(b, text))
	state := journal.Read(journalText(b, lines)).Fold()
	a := model.Assess(state, assess.Options{})
	known := 0
	for i := range a.Results {
		if a.Results[i].HasValue && a.Results[i].Expanded > 0 {
			known++
		}
	}
	if len(a.Results) != 700 || known != 700 {
		b.Fatalf("%d results, %d of them with a ±", len(a.Results), known)
	}
	b.ReportAllocs()
	for b.Loop() {
		model.Assess(state, assess.Options{})
	}
}

// BenchmarkAssessDemo assesses the demo engine's finished rebuild, order of work and
// parts included.
func BenchmarkAssessDemo(b *testing.B) {
	model := assess.Prepare(demoPack(b))
	state := journal.Read([]byte(strings.Join(demoJournal(b, "clean-rebuild"), "\n"))).Fold()
	b.ReportAllocs()
	for b.Loop() {
		model.Assess(state, assess.Options{})
	}
}

// BenchmarkReportDemo turns the assessment into what scripts read.
func BenchmarkReportDemo(b *testing.B) {
	a := assess.Prepare(demoPack(b)).Assess(journal.Read([]byte(strings.Join(demoJournal(b, "clean-rebuild"), "\n"))).Fold(), assess.Options{})
	b.ReportAllocs()
	for b.Loop() {
		words.Make(a)
	}
}

// BenchmarkPrepareDemo makes the demo pack ready.
func BenchmarkPrepareDemo(b *testing.B) {
	p := demoPack(b)
	b.ReportAllocs()
	for b.Loop() {
		assess.Prepare(p)
	}
}
