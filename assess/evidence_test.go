package assess_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
)

var how = formula.Sampling{Samples: formula.QuickSamples, Seed: 1, Probability: 0.95}

// inquire makes a pack and a journal in the short notation ready to be asked about.
func inquire(t testing.TB, text string, lines ...string) *assess.Inquiry {
	t.Helper()
	return assess.Prepare(loadPack(t, text)).Inquire(journal.Read(journalText(t, lines)).Fold(), assess.Options{})
}

func evidence(t testing.TB, q *assess.Inquiry, reference, place string) *assess.Evidence {
	t.Helper()
	e, err := q.Evidence(reference, place, how)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

const fit = `
instrument "bore gauge" {
  step = "0.001 mm"
  uncertainty = "0.005 mm"
}
instrument "micrometer" {
  step = "0.001 mm"
  uncertainty = "0.004 mm"
}
dimension "bore" {
  with = "bore gauge"
  step = "0.001 mm"
  judge = "largest"
  limit = "<= 92.090 mm"
  read {
    positions = ["10 mm", "70 mm"]
  }
}
dimension "piston" {
  with = "micrometer"
  step = "0.001 mm"
  limit = ">= 91.900 mm"
}
number "clearance" {
  value = largest(bore) - piston
  unit = "mm"
  limit = "<= 0.130 mm"
}
number "widest" {
  value = max(largest(bore), piston + "0.13 mm")
  unit = "mm"
}
`

// like compares to a relative 1e-9.
func like(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// A driver is an instrument with all that it answers for, and not a dimension. The
// shares are worked out by hand: U/2 squared, and the step squared over 12.
func TestEvidenceNamesInstruments(t *testing.T) {
	q := inquire(t, fit, `instrument name=bg-1 class="bore gauge"`, `instrument name=om-1 class=micrometer uncertainty="0.003 mm"`,
		`reading of=bore pos="10 mm" value="92.050 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.061 mm" instrument=bg-1`,
		`reading of=piston value="91.950 mm" instrument=om-1`)
	e := evidence(t, q, "number.clearance", "")
	bore, piston := 2.5*2.5+1./12, 1.5*1.5+1./12
	if e.Method != formula.ByFirstOrder || e.Reason != formula.Straight || e.Settle != nil {
		t.Errorf("%+v", e)
	}
	like(t, "standard", e.Standard, 1e-6*math.Sqrt(bore+piston))
	like(t, "expanded", e.Expanded, 2e-6*math.Sqrt(bore+piston))
	if len(e.Drivers) != 2 || e.Drivers[0].Name != "instrument.bg-1" || e.Drivers[1].Name != "instrument.om-1" {
		t.Fatalf("drivers %+v", e.Drivers)
	}
	like(t, "share of the bore gauge", e.Drivers[0].Share, bore/(bore+piston))
	// 95 % of nearly normal: 1.96 u either side, a little less for the rectangles.
	if z := (e.High - 0.111e-3) / e.Standard; z < 1.95 || z > 1.9601 || math.Abs(e.High+e.Low-2*0.111e-3) > 1e-12 {
		t.Errorf("[%v, %v] is %v standard uncertainties", e.Low, e.High, z)
	}
	e = evidence(t, q, "dimension.bore", "")
	like(t, "standard of the bore", e.Standard, 1e-6*math.Sqrt(bore))
	if len(e.Drivers) != 1 || e.Drivers[0] != (assess.Driver{Name: "instrument.bg-1", Share: e.Drivers[0].Share}) {
		t.Errorf("drivers %+v", e.Drivers)
	}
}

// In one set each gauge answers for what was read with it last, and for nothing that a
// newer reading replaced.
func TestEvidenceOfSeveralGaugesInASet(t *testing.T) {
	for _, c := range []struct {
		lines []string
		want  string
	}{
		{[]string{`pos="10 mm" value="92.050 mm" instrument=coarse`, `pos="70 mm" value="92.061 mm" instrument=fine`}, "instrument.fine"},
		{[]string{`pos="10 mm" value="92.071 mm" instrument=coarse`, `pos="70 mm" value="92.061 mm" instrument=fine`}, "instrument.coarse"},
		{[]string{`pos="70 mm" value="92.061 mm" instrument=coarse`, `pos="10 mm" value="92.050 mm" instrument=coarse`, `pos="70 mm" value="92.062 mm" instrument=fine`}, "instrument.fine"},
		{[]string{`pos="70 mm" value="92.061 mm" instrument=fine`, `pos="10 mm" value="92.050 mm" instrument=fine`, `pos="70 mm" value="92.062 mm" instrument=coarse`}, "instrument.coarse"},
		{[]string{`pos="10 mm" value="92.050 mm"`, `pos="70 mm" value="92.061 mm" instrument=fine`}, "instrument.fine"},
		{[]string{`pos="10 mm" value="92.070 mm"`, `pos="70 mm" value="92.061 mm" instrument=fine`}, "instrument.bore gauge"},
	} {
		lines := []string{`instrument name=coarse class="bore gauge"`, `instrument name=fine class="bore gauge" uncertainty="0.002 mm"`}
		for _, l := range c.lines {
			lines = append(lines, "reading of=bore "+l)
		}
		e := evidence(t, inquire(t, fit, lines...), "dimension.bore", "")
		u := map[string]float64{"instrument.coarse": 0.005, "instrument.fine": 0.002, "instrument.bore gauge": 0.005}[c.want]
		if len(e.Drivers) != 1 || e.Drivers[0].Name != c.want || math.Abs(e.Standard-1e-3*math.Sqrt(u*u/4+1e-6/12)) > 1e-12 {
			t.Errorf("%s: %+v", strings.Join(c.lines, "; "), e)
		}
	}
}

// Where two may be the largest, samples are made, and both count.
func TestEvidenceBySamples(t *testing.T) {
	q := inquire(t, fit, `instrument name=bg-1 class="bore gauge"`, `instrument name=om-1 class=micrometer uncertainty="0.005 mm"`,
		`reading of=bore pos="10 mm" value="92.050 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.080 mm" instrument=bg-1`,
		`reading of=piston value="91.950 mm" instrument=om-1`)
	e := evidence(t, q, "number.widest", "")
	if e.Method != formula.ByMonteCarlo || e.Reason != formula.Kink || len(e.Drivers) != 2 {
		t.Fatalf("%+v", e)
	}
	// The largest of two alike of standard deviation u: mean u/√π above, and a standard
	// deviation of u·√(1 − 1/π).
	u := 1e-3 * math.Sqrt(0.0025*0.0025+1e-6/12)
	if math.Abs(e.Standard/(u*math.Sqrt(1-1/math.Pi))-1) > 0.01 {
		t.Errorf("standard %v, want %v", e.Standard, u*math.Sqrt(1-1/math.Pi))
	}
	if middle := (e.Low + e.High) / 2; middle < 92.080e-3+0.3*u {
		t.Errorf("[%v, %v] does not lie above 92.080 mm", e.Low, e.High)
	}
	if d := e.Drivers[0].Share - e.Drivers[1].Share; math.Abs(d) > 0.05 {
		t.Errorf("drivers %+v", e.Drivers)
	}
}

// beyond is the probability that a value about x lies further than u from an edge.
func beyond(x, sd, edge, u float64) float64 {
	below := math.Erfc((x-(edge-u))/sd/math.Sqrt2) / 2
	above := math.Erfc((edge+u-x)/sd/math.Sqrt2) / 2
	return below + above
}

// The chance that a finer gauge settles a reading is that of the new reading lying
// further from the limit than its own ±: the new reading differs from the old one by
// the errors of both.
func TestSettleAReading(t *testing.T) {
	lines := []string{`instrument name=bg-1 class="bore gauge"`, `instrument name=om-1 class=micrometer uncertainty="0.001 mm"`,
		`instrument name=bg-3 class="bore gauge" uncertainty="0.003 mm"`, `instrument name=bg-2 class="bore gauge" uncertainty="0.0015 mm" step="0.0005 mm"`,
		`instrument name=bg-9 class="bore gauge" uncertainty="0.02 mm"`,
		`reading of=bore pos="10 mm" value="92.088 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.061 mm" instrument=bg-1`}
	e := evidence(t, inquire(t, fit, lines...), "dimension.bore", "")
	s := e.Settle
	if s == nil || len(s.Options) != 2 {
		t.Fatalf("%+v", s)
	}
	like(t, "needs", s.Needs, 92.090e-3-92.088e-3)
	old, step := 2.5e-6, 1e-6*math.Sqrt(1./12)
	for i, want := range []struct {
		instrument string
		u          float64 // standard, of the gauge alone
	}{{"bg-2", 0.75e-6}, {"bg-3", 1.5e-6}} {
		o := s.Options[i]
		if len(o.Repeats) != 1 || o.Repeats[0] != (assess.Repeat{Of: "dimension.bore", Instrument: want.instrument, Readings: 2, Seconds: 120}) || o.Readings != 2 {
			t.Fatalf("option %d: %+v", i, o)
		}
		u := 2 * math.Hypot(want.u, step)
		like(t, want.instrument, o.Expanded, u)
		sd := math.Sqrt(old*old + want.u*want.u + 2*step*step)
		if p := beyond(92.088e-3, sd, 92.090e-3, u); math.Abs(o.Chance-p) > 0.002 {
			t.Errorf("%s: chance %v, want %v", want.instrument, o.Chance, p)
		}
	}
	if s.Least != s.Options[0].Expanded {
		t.Errorf("least %v", s.Least)
	}
	// Without a finer one, nothing here settles it.
	e = evidence(t, inquire(t, fit, append(lines[:2:2], lines[4:]...)...), "dimension.bore", "")
	if e.Settle == nil || len(e.Settle.Options) != 0 || e.Settle.Least != e.Expanded {
		t.Errorf("%+v", e.Settle)
	}
}

// A number may be settled by reading one dimension again, or both; the least work
// comes first.
func TestSettleANumber(t *testing.T) {
	q := inquire(t, fit, `instrument name=bg-1 class="bore gauge"`, `instrument name=bg-2 class="bore gauge" uncertainty="0.001 mm"`,
		`instrument name=om-1 class=micrometer`, `instrument name=om-2 class=micrometer uncertainty="0.001 mm"`,
		`reading of=bore pos="10 mm" value="92.050 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.0775 mm" instrument=bg-1`,
		`reading of=piston value="91.950 mm" instrument=om-1`)
	e := evidence(t, q, "number.clearance", "")
	if e.Settle == nil || len(e.Settle.Options) != 3 {
		t.Fatalf("%+v", e.Settle)
	}
	step := 1. / 12
	coarse := map[string]float64{"dimension.bore": 2.5, "dimension.piston": 2}
	for i, want := range []struct {
		of       []string
		readings int
	}{{[]string{"dimension.piston"}, 1}, {[]string{"dimension.bore"}, 2}, {[]string{"dimension.bore", "dimension.piston"}, 3}} {
		o := e.Settle.Options[i]
		if o.Readings != want.readings || len(o.Repeats) != len(want.of) {
			t.Fatalf("option %d: %+v", i, o)
		}
		left, change := 0.0, 0.0
		for of, u := range coarse {
			again := false
			for k, x := range want.of {
				again = again || x == of && o.Repeats[k].Of == of
			}
			if again {
				change += u*u + 0.25 + 2*step
				u = 0.5
			}
			left += u*u + step
		}
		like(t, "expanded", o.Expanded, 2e-6*math.Sqrt(left))
		if p := beyond(0.1275e-3, 1e-6*math.Sqrt(change), 0.130e-3, o.Expanded); math.Abs(o.Chance-p) > 0.002 {
			t.Errorf("option %d: chance %v, want %v", i, o.Chance, p)
		}
	}
	for i := range e.Settle.Options[1:] {
		if e.Settle.Options[i+1].Chance <= e.Settle.Options[i].Chance {
			t.Errorf("more work for no better a chance: %+v", e.Settle.Options)
		}
	}
}

// The unknown temperature of the room is in both readings: it stays in the ± of the
// new one and does not move it from the old one.
func TestSettleLeavesTheRoom(t *testing.T) {
	text := strings.Replace(fit, `  judge = "largest"`, "  judge = \"largest\"\n  metal = \"forged aluminium\"", 1)
	q := inquire(t, text, `job title=t pack=case room="20 ± 5 degC"`, `instrument name=bg-1 class="bore gauge"`, `instrument name=bg-2 class="bore gauge" uncertainty="0.001 mm"`,
		`reading of=bore pos="10 mm" value="92.088 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.061 mm" instrument=bg-1`)
	e := evidence(t, q, "dimension.bore", "")
	share := map[string]float64{}
	for _, d := range e.Drivers {
		share[d.Name] = d.Share
	}
	room := share["room"] * e.Standard * e.Standard
	if !(room > 0) || e.Settle == nil {
		t.Fatalf("%+v", e)
	}
	if e.Settle.Least <= 2*math.Sqrt(room) {
		t.Errorf("least ± %v is below what the room leaves, %v", e.Settle.Least, 2*math.Sqrt(room))
	}
	step := 1. / 12
	left := 2 * math.Sqrt(room+1e-12*(0.25+step))
	p := beyond(92.088e-3, 1e-6*math.Sqrt(2.5*2.5+0.25+2*step), 92.090e-3, left)
	if p >= assess.LeastChance && (len(e.Settle.Options) != 1 || math.Abs(e.Settle.Options[0].Chance-p) > 0.002) {
		t.Errorf("%+v, want a chance of %v", e.Settle, p)
	}
	if p < assess.LeastChance && len(e.Settle.Options) != 0 {
		t.Errorf("%+v, want none", e.Settle)
	}
}

// Played out two hundred thousand times: a true size about what was read, a new
// reading of it, and the rule of the verdict.
func TestChancePlayedOut(t *testing.T) {
	lines := []string{`instrument name=bg-1 class="bore gauge"`, `instrument name=bg-2 class="bore gauge" uncertainty="0.002 mm"`,
		`reading of=bore pos="10 mm" value="92.0912 mm" instrument=bg-1`, `reading of=bore pos="70 mm" value="92.061 mm" instrument=bg-1`}
	e := evidence(t, inquire(t, fit, lines...), "dimension.bore", "")
	if len(e.Settle.Options) != 1 {
		t.Fatalf("%+v", e.Settle)
	}
	o := e.Settle.Options[0]
	r := rand.New(rand.NewPCG(1, 5))
	rectangle := func() float64 { return 0.001 * (r.Float64() - 0.5) }
	const n = 200_000
	settled := 0
	var l measure.Limits
	l.Limit.High, l.Limit.HasHigh, l.NonNegative = 92.090e-3, true, true
	for range n {
		truth := 92.0912 + 0.0025*r.NormFloat64() + rectangle()
		again := truth + 0.001*r.NormFloat64() + rectangle()
		if measure.Judge(1e-3*again, o.Expanded, l).Verdict != measure.TooClose {
			settled++
		}
	}
	if p := float64(settled) / n; math.Abs(p-o.Chance) > 0.006 {
		t.Errorf("settled in %v of the cases, and the chance is %v", p, o.Chance)
	}
}

func TestEvidenceSaysWhatIsNotThere(t *testing.T) {
	q := inquire(t, fit, `instrument name=bg-1 class="bore gauge"`, `reading of=bore pos="10 mm" value="92.0912 mm" instrument=bg-1`)
	for _, c := range [][3]string{
		{"number.gap", "", "there is no result number.gap"},
		{"number.clearance", "front", "there is no result number.clearance front"},
		{"number.clearance", "", "number.clearance has no value yet"},
	} {
		if _, err := q.Evidence(c[0], c[1], how); err == nil || err.Error() != c[2] {
			t.Errorf("%v: %v", c, err)
		}
	}
	if _, err := q.Evidence("dimension.bore", "", formula.Sampling{}); err == nil {
		t.Error("a probability of 0 was taken")
	}
}

// Every result of the demo jobs has evidence, its ± that of the assessment wherever
// first order holds, its shares 1 together.
func TestEvidenceOfTheDemo(t *testing.T) {
	p := demoPack(t)
	for _, name := range []string{"clean-rebuild", "mid-inspection", "swapped-gasket", "crank-truing"} {
		state := journal.Read([]byte(strings.Join(demoJournal(t, name), "\n"))).Fold()
		m := assess.Prepare(p)
		a, q := m.Assess(state, assess.Options{}), m.Inquire(state, assess.Options{})
		methods := map[string]int{}
		settle := 0
		for i := range a.Results {
			res := &a.Results[i]
			if !res.HasValue || res.Stale != nil {
				continue
			}
			e, err := q.Evidence(res.Reference(), res.Place, how)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			methods[e.Method.String()+" "+e.Reason.String()]++
			if e.Method == formula.ByFirstOrder && math.Abs(e.Expanded-res.Expanded) > 1e-9*(res.Expanded+1e-12) {
				t.Errorf("%s: %s %s: ± %v, assessed ± %v", name, res.Reference(), res.Place, e.Expanded, res.Expanded)
			}
			sum := 0.0
			for _, d := range e.Drivers {
				sum += d.Share
			}
			if e.Standard > 0 && math.Abs(sum-1) > 0.01 {
				t.Errorf("%s: %s %s: the shares are %v together: %+v", name, res.Reference(), res.Place, sum, e.Drivers)
			}
			if !(e.Low <= res.Value && res.Value <= e.High) && e.Method == formula.ByFirstOrder {
				t.Errorf("%s: %s %s: %v does not lie in [%v, %v]", name, res.Reference(), res.Place, res.Value, e.Low, e.High)
			}
			if (res.Verdict == measure.TooClose) != (e.Settle != nil) {
				t.Errorf("%s: %s %s: %v, settle %v", name, res.Reference(), res.Place, res.Verdict, e.Settle)
			}
			if e.Settle != nil {
				settle++
			}
		}
		t.Logf("%s: %v, %d too close", name, methods, settle)
	}
}

func BenchmarkInquire(b *testing.B) {
	model := assess.Prepare(demoPack(b))
	state := journal.Read([]byte(strings.Join(demoJournal(b, "clean-rebuild"), "\n"))).Fold()
	for b.Loop() {
		model.Inquire(state, assess.Options{})
	}
}
