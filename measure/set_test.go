package measure

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"buttonup/quantity"
)

// The expected ± in this file were worked out by hand from the rule for the
// uncertainty of a reading, in µm:
//
//	u² = (U/2)² + step²/12 + (α·L·u(T))² + s²/n
const micron = 1e-6

// A gauge good for ± 5 µm, read to 1 µm: u² = 2.5² + 1/12.
func boreGauge() *Gauge {
	return &Gauge{Name: "bg-1", Class: "bore gauge", Step: 1e-6, Uncertainty: 5e-6, Scale: Steel, Known: true}
}

func subject(p Plan) Subject {
	return Subject{Plan: p, Owner: "dimension.bore", Step: 1e-6, Room: DefaultRoom}
}

func mm(x float64) float64 { return x / 1000 }

// of makes observations of one cell each, in the order of the cells, in millimetres.
func of(g *Gauge, values ...float64) []Observation {
	var list []Observation
	for i, v := range values {
		list = append(list, Observation{Cell: i, Value: mm(v), Gauge: g})
	}
	return list
}

func metal(t testing.TB, name string) quantity.Expansion {
	t.Helper()
	m, ok := FindMetal(name)
	if !ok {
		t.Fatalf("there is no metal %q", name)
	}
	return m.Expansion
}

// sameForm compares a form with a value in mm and a ± in µm.
func sameForm(t testing.TB, what string, f Form, value, expanded float64) {
	t.Helper()
	if math.Abs(f.Value-mm(value)) > 1e-15 {
		t.Errorf("%s is %.9f mm, want %.9f", what, f.Value*1000, value)
	}
	if got := f.Expanded() / micron; math.Abs(got-expanded) > 5e-6 {
		t.Errorf("%s has ± %.6f µm, want %.6f", what, got, expanded)
	}
}

func TestUncertaintyOfOneReading(t *testing.T) {
	coarse := boreGauge()
	coarse.Step = 10e-6
	for _, c := range []struct {
		name     string
		step     float64
		gauge    *Gauge
		expanded float64
	}{
		{"gauge and step", 1e-6, boreGauge(), 5.033223},
		{"the dimension's step is the larger", 10e-6, boreGauge(), 7.637626}, // 2.5² + 100/12
		{"the gauge's step is the larger", 1e-6, coarse, 7.637626},
		{"no step in the pack", 0, boreGauge(), 5.033223},
		{"no gauge", 10e-6, nil, 5.773503}, // 100/12
		{"no gauge and no step", 0, nil, 0},
	} {
		s := subject(Plan{})
		s.Step = c.step
		set := Assemble(s, of(c.gauge, 92.004), &Unknowns{})
		sameForm(t, c.name, set.Mean(), 92.004, c.expanded)
		sameForm(t, c.name, set.Largest(), 92.004, c.expanded)
		sameForm(t, c.name, set.Smallest(), 92.004, c.expanded)
	}
}

func TestRelativeUncertainty(t *testing.T) {
	tester := &Gauge{Name: "st-1", Step: 1, Relative: 0.02, Known: true}
	s := Subject{Owner: "dimension.spring_load", Room: DefaultRoom}
	set := Assemble(s, []Observation{{Value: 500, Gauge: tester}}, &Unknowns{})
	if got := set.Mean().Expanded(); math.Abs(got-10.016653) > 1e-6 { // 5² + 1/12
		t.Errorf("500 N read to 2 %% and 1 N has ± %.6f N", got)
	}
}

// Within one set the gauge's error is one unknown: the largest, the smallest and the
// mean carry it once, and a difference drops it.
func TestGaugeIsOneUnknownWithinASet(t *testing.T) {
	p := Plan{Positions: []string{"10 mm", "40 mm"}, Axes: []string{"thrust", "pin"}}
	set := Assemble(subject(p), of(boreGauge(), 92.020, 92.010, 92.008, 92.006), &Unknowns{})
	sameForm(t, "largest", set.Largest(), 92.020, 5.033223)
	sameForm(t, "smallest", set.Smallest(), 92.006, 5.033223)
	sameForm(t, "mean", set.Mean(), 92.011, 5.008326) // 2.5² + (1/12)/4
	sameForm(t, "spread", set.Spread(), 0.014, 0.816497)
	sameForm(t, "oval", set.Oval(), 0.010, 0.816497) // 2·(1/12): the steps of two readings
	sameForm(t, "taper", set.Taper(), 0.012, 0.816497)
}

func TestTaperKeepsItsSign(t *testing.T) {
	p := Plan{Positions: []string{"top", "middle", "bottom"}, Axes: []string{"thrust", "pin"}}
	// Thrust 92.000 less 92.030, pin 92.020 less 92.000: the larger in magnitude
	// counts, with its sign; the middle does not.
	set := Assemble(subject(p), of(boreGauge(), 92.000, 92.020, 92.090, 92.090, 92.030, 92.000), &Unknowns{})
	sameForm(t, "taper", set.Taper(), -0.030, 0.816497)
	sameForm(t, "oval", set.Oval(), 0.030, 0.816497)
}

// Readings that are all equal are still differences of two readings.
func TestEqualReadingsHaveAnUncertainDifference(t *testing.T) {
	p := Plan{Positions: []string{"top", "bottom"}, Axes: []string{"thrust", "pin"}}
	set := Assemble(subject(p), of(boreGauge(), 92.010, 92.010, 92.010, 92.010), &Unknowns{})
	sameForm(t, "spread", set.Spread(), 0, 0.816497)
	sameForm(t, "oval", set.Oval(), 0, 0.816497)
	sameForm(t, "taper", set.Taper(), 0, 0.816497)
	one := Assemble(subject(Plan{}), of(boreGauge(), 92.010), &Unknowns{})
	sameForm(t, "spread of one reading", one.Spread(), 0, 0)
}

// Without any ± the largest still counts, not the last.
func TestDifferencesOfExactReadings(t *testing.T) {
	p := Plan{Positions: []string{"top", "middle", "bottom"}, Axes: []string{"thrust", "pin"}}
	s := subject(p)
	s.Step = 0
	set := Assemble(s, of(nil, 92.018, 92.000, 92.004, 92.002, 92.001, 92.003), &Unknowns{})
	sameForm(t, "oval", set.Oval(), 0.018, 0)
	sameForm(t, "taper", set.Taper(), 0.017, 0)
	sameForm(t, "spread", set.Spread(), 0.018, 0)
}

func TestRelativeErrorDropsOutOfADifference(t *testing.T) {
	tester := &Gauge{Name: "st-1", Step: 1, Relative: 0.02, Known: true}
	s := Subject{Plan: Plan{Positions: []string{"a", "b"}}, Owner: "dimension.load", Room: DefaultRoom}
	set := Assemble(s, []Observation{{Value: 500, Gauge: tester}, {Cell: 1, Value: 480, Gauge: tester}}, &Unknowns{})
	if got := set.Spread().Expanded(); math.Abs(got-0.816497) > 1e-6 {
		t.Errorf("the spread of two loads has ± %v N, want that of two steps, 0.816497", got)
	}
}

// Two gauges in one set have two errors, and a difference keeps both.
func TestTwoGaugesInOneSet(t *testing.T) {
	fine := boreGauge()
	fine.Name, fine.Uncertainty = "bg-2", 3e-6
	p := Plan{Positions: []string{"10 mm", "40 mm"}}
	list := []Observation{{Cell: 0, Value: mm(92.010), Gauge: boreGauge()}, {Cell: 1, Value: mm(92.004), Gauge: fine}}
	set := Assemble(subject(p), list, &Unknowns{})
	sameForm(t, "spread", set.Spread(), 0.006, 5.887841) // 2.5² + 1.5² + 2/12
	sameForm(t, "largest", set.Largest(), 92.010, 5.033223)
}

// Between sets the gauge is independent but for its shared part.
func TestSharedPart(t *testing.T) {
	between := func(shared float64, factor float64) Form {
		g := boreGauge()
		g.Shared = shared
		var u Unknowns
		a := Assemble(subject(Plan{}), of(g, 92.050), &u).Mean()
		b := Assemble(subject(Plan{}), of(g, 91.950), &u).Mean()
		if shared > 0 {
			sameForm(t, "one of two sets", a, 92.050, 5.033223) // own² + shared² is the whole
		}
		return a.plus(b, factor)
	}
	sameForm(t, "difference without shared part", between(0, -1), 0.100, 7.118052) // 2·(2.5² + 1/12)
	sameForm(t, "difference", between(3e-6, -1), 0.100, 5.715476)                  // 2·(2² + 1/12)
	sameForm(t, "sum", between(3e-6, 1), 184.000, 8.286535)                        // (2·1.5)² + 2·(2² + 1/12)
	// Another gauge shares nothing with this one.
	g, h := boreGauge(), boreGauge()
	g.Shared, h.Shared, h.Name = 3e-6, 3e-6, "bg-2"
	var u Unknowns
	d := Assemble(subject(Plan{}), of(g, 92.050), &u).Mean().plus(Assemble(subject(Plan{}), of(h, 91.950), &u).Mean(), -1)
	sameForm(t, "difference of two gauges", d, 0.100, 7.118052)
}

func TestSharedIsNeverMoreThanTheWhole(t *testing.T) {
	g := boreGauge()
	g.Shared = 9e-6
	sameForm(t, "reading", Assemble(subject(Plan{}), of(g, 92.050), &Unknowns{}).Mean(), 92.050, 5.033223)
}

func TestRepeats(t *testing.T) {
	list := []Observation{{Value: mm(10.001)}, {Value: mm(10.003)}, {Value: mm(10.005)}}
	for i := range list {
		list[i].Gauge = boreGauge()
	}
	gauge := list[0].Gauge
	for i := range list {
		list[i].Gauge = gauge
	}
	var u Unknowns
	set := Assemble(subject(Plan{Repeat: 3}), list, &u)
	// s = 2 µm with n − 1, so s²/n = 4/3; the gauge and the step count once.
	sameForm(t, "mean of three", set.Mean(), 10.003, 5.537749)
	for _, s := range u.Sources {
		if s.Kind == FromRepeats && s.Dof != 2 {
			t.Errorf("three repeats have %v degrees of freedom", s.Dof)
		}
	}
	if !set.Complete() || set.Readings != 3 {
		t.Errorf("complete %v with %d readings", set.Complete(), set.Readings)
	}
	two := Assemble(subject(Plan{Repeat: 3}), list[:2], &Unknowns{})
	if two.Complete() || two.Empty() {
		t.Error("two of three repeats are a complete cell")
	}
	if got := two.Missing(); !slices.Equal(got, []string{"repeat"}) {
		t.Errorf("missing %q", got)
	}
	sameForm(t, "value so far", two.Mean(), 10.002, 2*math.Sqrt(6.25+1.0/12+1)) // s² = 2, s²/n = 1
}

// Repeats with two gauges owe half their mean to each, whatever their order.
func TestRepeatsWithTwoGauges(t *testing.T) {
	fine := boreGauge()
	fine.Name, fine.Uncertainty = "bg-2", 3e-6
	a, b := Observation{N: 1, Value: mm(10.001), Gauge: boreGauge()}, Observation{N: 2, Value: mm(10.003), Gauge: fine}
	for _, list := range [][]Observation{{a, b}, {b, a}} {
		set := Assemble(subject(Plan{Repeat: 2}), list, &Unknowns{})
		sameForm(t, "mean", set.Mean(), 10.002, 3.582364) // (2.5² + 1.5²)/4 + 1/12 + 2/2
		if set.Gauge != list[1].Gauge {
			t.Errorf("the gauge of the newest reading is %s, want %s", set.Gauge.Name, list[1].Gauge.Name)
		}
	}
}

func TestNewestReadingCounts(t *testing.T) {
	g := boreGauge()
	list := append(of(g, 92.010, 92.020), Observation{Cell: 0, Value: mm(92.004), Gauge: g})
	set := Assemble(subject(Plan{Positions: []string{"10 mm", "40 mm"}}), list, &Unknowns{})
	sameForm(t, "smallest", set.Smallest(), 92.004, 5.033223)
	if set.Readings != 2 {
		t.Errorf("%d readings count, want 2", set.Readings)
	}
	numbered := []Observation{{N: 1, Value: mm(10.000)}, {N: 2, Value: mm(10.002)}, {N: 1, Value: mm(10.004)}}
	sameForm(t, "mean of the newest repeats", Assemble(subject(Plan{Repeat: 2}), numbered, &Unknowns{}).Mean(), 10.003, 2*math.Sqrt(1.0/12+1))
}

func TestNextFreeRepeat(t *testing.T) {
	at := func(n int, v float64) Observation { return Observation{N: n, Value: mm(v)} }
	// The second is taken: those without a number are the first and the third.
	set := Assemble(subject(Plan{Repeat: 3}), []Observation{at(2, 10.006), at(0, 10.000), at(0, 10.003)}, &Unknowns{})
	if !set.Complete() || set.Readings != 3 || len(set.Beyond) != 0 {
		t.Errorf("complete %v, %d readings, beyond %v", set.Complete(), set.Readings, set.Beyond)
	}
	// A fourth finds none free: it lies beyond the plan and does not count.
	set = Assemble(subject(Plan{Repeat: 3}), []Observation{at(0, 10.000), at(0, 10.003), at(0, 10.006), at(0, 11)}, &Unknowns{})
	if !slices.Equal(set.Beyond, []int{3}) || math.Abs(set.Mean().Value-mm(10.003)) > 1e-15 {
		t.Errorf("beyond %v, mean %v mm", set.Beyond, set.Mean().Value*1000)
	}
	// Read once, the newest counts and nothing lies beyond.
	set = Assemble(subject(Plan{}), []Observation{at(0, 10.000), at(0, 10.001)}, &Unknowns{})
	if len(set.Beyond) != 0 || math.Abs(set.Mean().Value-mm(10.001)) > 1e-15 {
		t.Errorf("beyond %v, value %v mm", set.Beyond, set.Mean().Value*1000)
	}
}

func TestStatedTemperature(t *testing.T) {
	at30 := func(v float64) []Observation {
		return []Observation{{Value: mm(v), Gauge: boreGauge(), Temperature: 303.15, HasTemperature: true}}
	}
	for _, c := range []struct {
		metal           string
		value, expanded float64
	}{
		// 92 − (10.6 − 11.7)e-6·92·10; u(T) multiplies the 10.6e-6 of the part.
		{"grey iron", 92.001012, 5.126828},
		// 92 − (22.9 − 11.7)e-6·92·10
		{"forged aluminium", 91.989696, 5.456276},
		// The part grows as its gauge does; the ± of the temperature stays.
		{"steel", 92, 5.147035},
	} {
		s := subject(Plan{})
		s.Expansion, s.HasMetal = metal(t, c.metal), true
		sameForm(t, c.metal, Assemble(s, at30(92), &Unknowns{}).Mean(), c.value, c.expanded)
	}
	sameForm(t, "no metal", Assemble(subject(Plan{}), at30(92), &Unknowns{}).Mean(), 92, 5.033223)
	// A gauge of other metal than steel.
	g := boreGauge()
	g.Scale = metal(t, "forged aluminium")
	s := subject(Plan{})
	s.Expansion, s.HasMetal = metal(t, "forged aluminium"), true
	f := Assemble(s, []Observation{{Value: mm(92), Gauge: g, Temperature: 303.15, HasTemperature: true}}, &Unknowns{}).Mean()
	if f.Value != mm(92) {
		t.Errorf("part and scale of one metal: %v mm", f.Value*1000)
	}
}

// Stated temperatures of one set share one error, so that a difference drops it; two
// sets do not.
func TestStatedTemperatureIsOneUnknownOfASet(t *testing.T) {
	s := subject(Plan{Positions: []string{"10 mm", "40 mm"}})
	s.Expansion, s.HasMetal = metal(t, "forged aluminium"), true
	stated := func(cell int, v float64) Observation {
		return Observation{Cell: cell, Value: mm(v), Gauge: boreGauge(), Temperature: Reference, HasTemperature: true}
	}
	g := boreGauge()
	list := []Observation{stated(0, 92.010), stated(1, 92.000)}
	list[0].Gauge, list[1].Gauge = g, g
	sameForm(t, "spread", Assemble(s, list, &Unknowns{}).Spread(), 0.010, 0.816497)
	s.Plan = Plan{}
	var u Unknowns
	a := Assemble(s, []Observation{stated(0, 92.05)}, &u).Mean()
	b := Assemble(s, []Observation{stated(0, 91.95)}, &u).Mean()
	sameForm(t, "difference of two sets", a.plus(b, -1), 0.100, 7.716468) // 2·(2.5² + 1/12) + (22.9e-6·0.5)²·(92.05² + 91.95²)
}

// Readings that state no temperature share the room's, which acts through the
// difference of part and scale and drops out where metals match.
func TestRoom(t *testing.T) {
	s := subject(Plan{})
	s.Expansion, s.HasMetal = metal(t, "forged aluminium"), true
	sameForm(t, "aluminium at 20 ± 5 °C", Assemble(s, of(boreGauge(), 92), &Unknowns{}).Mean(), 92, 7.792569) // 11.2e-6·92·5/√3
	steel := s
	steel.Expansion = Steel
	sameForm(t, "steel at 20 ± 5 °C", Assemble(steel, of(boreGauge(), 92), &Unknowns{}).Mean(), 92, 5.033223)
	warm := s
	warm.Room = Room{Mean: 298.15, HalfWidth: 2}
	sameForm(t, "aluminium at 25 ± 2 °C", Assemble(warm, of(boreGauge(), 92), &Unknowns{}).Mean(), 91.994848, 5.567336)
	var u Unknowns
	a := Assemble(s, of(boreGauge(), 92.05), &u).Mean()
	b := Assemble(s, of(boreGauge(), 91.95), &u).Mean()
	sameForm(t, "aluminium bore less aluminium piston", a.plus(b, -1), 0.100, 7.118055)
	p := s
	p.Plan = Plan{Positions: []string{"10 mm", "40 mm"}}
	sameForm(t, "mean of two cells", Assemble(p, of(boreGauge(), 92.000, 92.010), &Unknowns{}).Mean(), 92.005, 7.782115)
}

// One cell with a thermometer and one without: half the mean owes to each.
func TestStatedAndUnstatedInOneSet(t *testing.T) {
	s := subject(Plan{Positions: []string{"10 mm", "40 mm"}})
	s.Expansion, s.HasMetal = metal(t, "forged aluminium"), true
	g := boreGauge()
	list := of(g, 92, 92)
	list[0].Temperature, list[0].HasTemperature = Reference, true
	sameForm(t, "mean", Assemble(s, list, &Unknowns{}).Mean(), 92, 5.926552)
}

func TestMissingCells(t *testing.T) {
	p := Plan{Positions: []string{"10 mm", "40 mm"}, Axes: []string{"thrust", "pin"}, Repeat: 2}
	g := boreGauge()
	list := []Observation{{Cell: 0, Value: mm(92), Gauge: g}, {Cell: 0, Value: mm(92.002), Gauge: g}, {Cell: 3, Value: mm(92.010), Gauge: g}}
	set := Assemble(subject(p), list, &Unknowns{})
	if got, want := set.Missing(), []string{"10 mm pin", "40 mm thrust", "40 mm pin again"}; !slices.Equal(got, want) {
		t.Errorf("missing %q, want %q", got, want)
	}
	if set.Complete() || set.Empty() || set.Readings != 3 {
		t.Errorf("complete %v, empty %v, %d readings", set.Complete(), set.Empty(), set.Readings)
	}
	if got := Assemble(subject(Plan{}), nil, &Unknowns{}); !got.Empty() || got.Complete() || !slices.Equal(got.Missing(), []string{"reading"}) {
		t.Errorf("no reading at all: %+v", got)
	}
	if got := set.Mean().Value; math.Abs(got-mm(92.0055)) > 1e-15 {
		t.Errorf("the mean so far is %v mm", got*1000)
	}
}

func TestCell(t *testing.T) {
	p := Plan{Positions: []string{"10 mm", "40 mm"}, Axes: []string{"thrust"}}
	for _, c := range []struct {
		position, axis string
		cell           int
		ok             bool
	}{
		{"40 mm", "thrust", 1, true},
		{"40 mm", "", 1, true}, // the one axis need not be named
		{"", "thrust", 0, false},
		{"30 mm", "thrust", 0, false},
		{"10 mm", "pin", 0, false},
	} {
		if cell, ok := p.Cell(c.position, c.axis); ok != c.ok || ok && cell != c.cell {
			t.Errorf("%q %q is cell %d, %v", c.position, c.axis, cell, ok)
		}
	}
	if _, ok := (Plan{}).Cell("10 mm", ""); ok {
		t.Error("a plan without positions takes one")
	}
	if cell, ok := (Plan{}).Cell("", ""); !ok || cell != 0 {
		t.Error("a plan of one reading does not take it")
	}
}

func TestLateIsRemembered(t *testing.T) {
	list := of(nil, 1, 2)
	p := Plan{Positions: []string{"a", "b"}}
	if Assemble(subject(p), list, &Unknowns{}).Late {
		t.Error("late without a late reading")
	}
	list[1].Late = true
	if !Assemble(subject(p), list, &Unknowns{}).Late {
		t.Error("a late reading is not remembered")
	}
	// Read again in time, the late one no longer counts.
	list = append(list, Observation{Cell: 1, Value: 2})
	if Assemble(subject(p), list, &Unknowns{}).Late {
		t.Error("a late reading that does not count makes the set late")
	}
}

// The order in which different cells are read changes nothing.
func TestOrderOfCellsDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewSource(6))
	p := Plan{Positions: []string{"a", "b", "c"}, Axes: []string{"x", "y"}, Repeat: 2}
	gauges := []*Gauge{boreGauge(), {Name: "m", Uncertainty: 3e-6, Shared: 2e-6, Scale: Steel, Step: 2e-6}, nil}
	for range 500 {
		var list []Observation
		for c := range p.Cells() {
			for n := 1; n <= 2; n++ {
				o := Observation{Cell: c, N: n, Value: mm(92 + 0.01*r.Float64()), Gauge: gauges[r.Intn(3)]}
				if r.Intn(2) == 0 {
					o.Temperature, o.HasTemperature = quantity.Temperature(290+6*r.Float64()), true
				}
				list = append(list, o)
			}
		}
		s := subject(p)
		s.Expansion, s.HasMetal = metal(t, "cast aluminium"), true
		want := figures(Assemble(s, list, &Unknowns{}))
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		if got := figures(Assemble(s, list, &Unknowns{})); got != want {
			t.Fatalf("shuffled: %s, before %s", got, want)
		}
	}
}

func figures(s *Set) string {
	text := ""
	for _, f := range []Form{s.Largest(), s.Smallest(), s.Mean(), s.Spread(), s.Oval(), s.Taper()} {
		text += fmt.Sprintf("%.9g±%.6g ", f.Value, f.Expanded())
	}
	return text
}
