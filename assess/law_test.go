package assess_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/words"
)

var demoJournals = []string{"clean-rebuild", "mid-inspection", "swapped-gasket"}

func demoPack(t testing.TB) *pack.Pack {
	t.Helper()
	files, ok := packs.Find(packs.Demo)
	if !ok {
		t.Fatal("the demo pack is not carried")
	}
	return loadFiles(t, files, nil)
}

func loadFiles(t testing.TB, files []packs.File, find pack.Finder) *pack.Pack {
	t.Helper()
	var list []pack.File
	for _, f := range files {
		list = append(list, pack.File{Name: f.Name, Text: f.Text})
	}
	p, mistakes := pack.Load(list, find)
	for _, m := range mistakes {
		t.Fatalf("%s: %s", m.Span, m.Says)
	}
	return p
}

func demoJournal(t testing.TB, name string) []string {
	t.Helper()
	text, ok := packs.Journal(packs.Demo, name)
	if !ok {
		t.Fatalf("the journal %s is not carried", name)
	}
	return strings.Split(strings.TrimSpace(string(text)), "\n")
}

func assessLines(p *pack.Pack, lines []string) *assess.Assessment {
	return assess.Assess(p, journal.Read([]byte(strings.Join(lines, "\n")+"\n")).Fold(), assess.Options{})
}

// report is an assessment as text, without what may differ between two journals that
// say the same: how many lines they have.
func report(t testing.TB, a *assess.Assessment) string {
	t.Helper()
	r := words.Make(a)
	r.Events = 0
	text, err := json.MarshalIndent(r, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// differ tells the first line in which two reports differ.
func differ(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range x {
		if i >= len(y) || x[i] != y[i] {
			return fmt.Sprintf("line %d: %q, then %q", i, x[i], append(y, "")[min(i, len(y))])
		}
	}
	return fmt.Sprintf("%d more lines", len(y)-len(x))
}

// A phone that was out of reach sends again: what was delivered twice counts once.
func TestRepeatedDeliveryChangesNothing(t *testing.T) {
	p := demoPack(t)
	r := rand.New(rand.NewSource(11))
	for _, name := range demoJournals {
		lines := demoJournal(t, name)
		want := report(t, assessLines(p, lines))
		again := lines
		for range 200 {
			again = append(again[:len(again):len(again)], lines[r.Intn(len(lines))])
		}
		if got := report(t, assessLines(p, again)); got != want {
			t.Errorf("%s: %s", name, differ(want, got))
		}
	}
}

// Striking and restoring is as if nothing had been.
func TestStrikingAndRestoringIsIdentity(t *testing.T) {
	p := demoPack(t)
	r := rand.New(rand.NewSource(12))
	for _, name := range demoJournals {
		lines := demoJournal(t, name)
		want := report(t, assessLines(p, lines))
		for range 5 {
			changed := lines[:len(lines):len(lines)]
			for k := range 30 {
				var e struct{ ID, At string }
				if err := json.Unmarshal([]byte(lines[r.Intn(len(lines))]), &e); err != nil {
					t.Fatal(err)
				}
				strike := func(id, event string) string {
					return fmt.Sprintf(`{"id":%q,"at":%q,"by":"law","kind":"strike","event":%q,"why":"law"}`, id, e.At, event)
				}
				first := fmt.Sprintf("law-%d", 2*k)
				changed = append(changed, strike(first, e.ID), strike(fmt.Sprintf("law-%d", 2*k+1), first))
			}
			if got := report(t, assessLines(p, changed)); got != want {
				t.Errorf("%s: %s", name, differ(want, got))
			}
		}
	}
}

// Cells may be read in any order.
func TestOrderOfReadingsOfDifferentCellsDoesNotMatter(t *testing.T) {
	p := demoPack(t)
	r := rand.New(rand.NewSource(13))
	key := func(line string) string {
		var e struct {
			Kind, Of, Place string
			Cell            struct {
				Position, Axis string
				N              int
			}
			Phase string
		}
		if json.Unmarshal([]byte(line), &e) != nil || e.Kind != "reading" || e.Phase != "" {
			return "" // a phase that begins has an order
		}
		return fmt.Sprint(e.Of, e.Place, e.Cell)
	}
	for _, name := range demoJournals {
		lines := demoJournal(t, name)
		want := assessLines(p, lines)
		for range 5 {
			shuffled := append([]string(nil), lines...)
			for i := 0; i < len(lines); {
				seen := map[string]bool{}
				j := i
				for j < len(lines) && key(lines[j]) != "" && !seen[key(lines[j])] {
					seen[key(lines[j])] = true
					j++
				}
				r.Shuffle(j-i, func(a, b int) { shuffled[i+a], shuffled[i+b] = shuffled[i+b], shuffled[i+a] })
				i = max(j, i+1)
			}
			sameConclusions(t, name, want, assessLines(p, shuffled), 1)
		}
	}
}

// sameConclusions compares two assessments, the lengths of the second divided by
// scale.
func sameConclusions(t testing.TB, name string, a, b *assess.Assessment, scale float64) {
	t.Helper()
	if len(a.Results) != len(b.Results) || len(a.Findings) != len(b.Findings) {
		t.Errorf("%s: %d results and %d findings, then %d and %d", name, len(a.Results), len(a.Findings), len(b.Results), len(b.Findings))
		return
	}
	near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-9*(math.Abs(x)+math.Abs(y))+1e-15 }
	for i := range a.Results {
		x, y := &a.Results[i], &b.Results[i]
		by := 1.0
		if scale != 1 {
			by = math.Pow(scale, float64(x.Unit.Dimension.Length))
		}
		if x.Verdict != y.Verdict || x.HasValue != y.HasValue || x.Readings != y.Readings || x.Passed != y.Passed ||
			!near(x.Value, y.Value/by) || !near(x.Expanded, y.Expanded/by) || !near(x.Margin, y.Margin/by) || math.Abs(x.WearUsed-y.WearUsed) > 1e-6 {
			t.Errorf("%s: %s %s is %s %v ± %v, then %s %v ± %v", name, x.Reference(), x.Place, x.Verdict, x.Value, x.Expanded, y.Verdict, y.Value, y.Expanded)
		}
	}
	for i := range a.Findings {
		if x, y := &a.Findings[i], &b.Findings[i]; x.ID() != y.ID() || x.Severity != y.Severity {
			t.Errorf("%s: finding %s %s, then %s %s", name, x.Severity, x.ID(), y.Severity, y.ID())
		}
	}
	if x, y := fmt.Sprint(a.Next, a.Locks, len(a.Blocked), a.Spaces), fmt.Sprint(b.Next, b.Locks, len(b.Blocked), b.Spaces); x != y {
		t.Errorf("%s: %s, then %s", name, x, y)
	}
}

// Blocks that nothing names change nothing else.
func TestUnrelatedBlocksChangeNothing(t *testing.T) {
	p := demoPack(t)
	const unrelated = `
dimension "unrelated_gap" { limit = "<= 1 mm" }
number "unrelated_twice" { value = unrelated_gap * 2 }
check "unrelated_look" { ask = "look" }
space "unrelated_space" { starts = "closed" }
joint "unrelated_joint" { thread = "M6x1" }
slot "unrelated_slot" { title = "nothing" }
instrument "unrelated gauge" { uncertainty = "1 mm" }
place "unrelated_place" { each = ["x", "y"] }
`
	q, mistakes := p.Extend(pack.File{Name: "unrelated", Text: []byte(unrelated)})
	for _, m := range mistakes {
		t.Fatalf("%s: %s", m.Span, m.Says)
	}
	strip := func(a *assess.Assessment) {
		a.Results = drop(a.Results, func(r assess.Result) bool { return strings.HasPrefix(r.Name, "unrelated") })
		a.Findings = drop(a.Findings, func(f assess.Finding) bool { return strings.Contains(f.Of, "unrelated") })
		a.Spaces = drop(a.Spaces, func(s assess.Space) bool { return strings.HasPrefix(s.Name, "unrelated") })
		a.Joints = drop(a.Joints, func(j assess.Joint) bool { return strings.HasPrefix(j.Name, "unrelated") })
	}
	for _, name := range demoJournals {
		lines := demoJournal(t, name)
		want, got := assessLines(p, lines), assessLines(q, lines)
		if len(got.Results) <= len(want.Results) {
			t.Errorf("%s: the unrelated blocks are not there", name)
		}
		strip(got)
		if a, b := report(t, want), report(t, got); a != b {
			t.Errorf("%s: %s", name, differ(a, b))
		}
	}
}

func drop[T any](list []T, unwanted func(T) bool) []T {
	var out []T
	for _, x := range list {
		if !unwanted(x) {
			out = append(out, x)
		}
	}
	return out
}

// A pack and a journal in inches that are those in millimetres 25.4 times as large
// give the same verdicts, the same wear and 25.4 times the values.
func TestInchPacksGiveTheSameVerdicts(t *testing.T) {
	r := rand.New(rand.NewSource(14))
	for k := range 60 {
		text, lines := randomFits(r)
		a := assess.Assess(loadPack(t, text), journal.Read(journalText(t, lines)).Fold(), assess.Options{})
		inches := func(s string) string { return strings.ReplaceAll(s, " mm", " in") }
		for i := range lines {
			lines[i] = inches(lines[i])
		}
		b := assess.Assess(loadPack(t, inches(text)), journal.Read(journalText(t, lines)).Fold(), assess.Options{})
		sameConclusions(t, fmt.Sprint("job ", k), a, b, 25.4)
		if t.Failed() {
			t.Fatalf("%s\n%s", text, strings.Join(lines, "\n"))
		}
	}
}

// randomFits makes a job of bores, pistons and their clearances, new or worn.
func randomFits(r *rand.Rand) (text string, lines []string) {
	var b strings.Builder
	b.WriteString("instrument \"gauge\" {\n  step = \"0.001 mm\"\n  uncertainty = \"0.005 mm\"\n  shared = \"0.003 mm\"\n}\n")
	lines = append(lines, `instrument name=g class=gauge`, `instrument name=h class=gauge uncertainty="0.002 mm"`)
	metals := []string{"", "grey iron", "forged aluminium", "steel"}
	gauges := []string{"", "g", "h"}
	for i := range 3 {
		size := 20 + 80*r.Float64()
		for _, what := range []struct {
			name, limit string
			wear        float64
		}{{"bore", "<=", 1}, {"skirt", ">=", -1}} {
			low := size
			if what.name == "skirt" {
				low -= 0.1
			}
			fmt.Fprintf(&b, "dimension \"%s_%d\" {\n  with = \"gauge\"\n  step = \"0.001 mm\"\n  new = \"%.3f .. %.3f mm\"\n  limit = \"%s %.3f mm\"\n", what.name, i, low, low+0.015, what.limit, low+0.0075+what.wear*0.09)
			if m := metals[r.Intn(4)]; m != "" {
				fmt.Fprintf(&b, "  metal = %q\n", m)
			}
			if r.Intn(3) == 0 {
				b.WriteString("  guard_new = true\n")
			}
			b.WriteString("  read {\n    positions = [\"top\", \"bottom\"]\n  }\n}\n")
			worn := what.wear * 0.12 * r.Float64()
			for _, pos := range []string{"top", "bottom"} {
				line := fmt.Sprintf(`reading of=%s_%d pos=%s value="%.3f mm"`, what.name, i, pos, low+0.0075+worn+0.01*(r.Float64()-0.5))
				if g := gauges[r.Intn(3)]; g != "" {
					line += " instrument=" + g
				}
				if r.Intn(2) == 0 {
					line += fmt.Sprintf(` temperature="%.1f degC"`, 15+10*r.Float64())
				}
				if r.Intn(12) > 0 {
					lines = append(lines, line)
				}
			}
		}
		fmt.Fprintf(&b, "number \"clearance_%d\" {\n  value = largest(bore_%d) - smallest(skirt_%d)\n  new = \"0.090 .. 0.120 mm\"\n  limit = \"<= 0.200 mm\"\n}\n", i, i, i)
		fmt.Fprintf(&b, "number \"taper_%d\" {\n  value = taper(bore_%d)\n  limit = \"-0.008 .. 0.008 mm\"\n}\n", i, i)
	}
	return b.String(), lines
}

// Wear: bores grow, pistons shrink. No verdict gets better, as long as nothing was
// short of new before.
func TestWearNeverImprovesAJob(t *testing.T) {
	r := rand.New(rand.NewSource(15))
	compared := 0
	for range 60 {
		text, lines := randomFits(r)
		model := assess.Prepare(loadPack(t, text))
		before := model.Assess(journal.Read(journalText(t, lines)).Fold(), assess.Options{})
		worn := append([]string(nil), lines...)
		by := 0.03 * r.Float64()
		for i, line := range worn {
			head, tail, isReading := strings.Cut(line, `value="`)
			if !isReading {
				continue
			}
			var x float64
			fmt.Sscanf(tail, "%f", &x)
			_, rest, _ := strings.Cut(tail, `"`)
			wear := by
			if strings.Contains(head, "skirt") {
				wear = -by
			}
			worn[i] = fmt.Sprintf(`%svalue="%.6f mm"%s`, head, x+wear, rest)
		}
		after := model.Assess(journal.Read(journalText(t, worn)).Fold(), assess.Options{})
		for i := range before.Results {
			a, b := &before.Results[i], &after.Results[i]
			// A taper does not wear, what is incomplete says nothing, and what may be
			// short of new is a wrong part first.
			near := a.HasValue && a.New.Bounded() && (a.Limit.HasHigh && a.Value-a.Expanded < a.New.Low || a.Limit.HasLow && a.Value+a.Expanded > a.New.High)
			if !a.New.Bounded() || near || len(a.Missing) > 0 {
				continue
			}
			compared++
			if b.Verdict < a.Verdict {
				t.Errorf("%s was %s at %v and is %s at %v", a.Reference(), a.Verdict, a.Value, b.Verdict, b.Value)
			}
		}
	}
	if compared < 200 {
		t.Errorf("only %d results were compared", compared)
	}
}
