package pack

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"buttonup/formula"
	"buttonup/quantity"
)

// pair is a small pack that means something: two cylinders with two valves each.
const pair = `pack "pair" {
  title    = "Two cylinders"
  revision = "1"
  units    = "mm"
}

option "series" {
  choices = ["A", "B"]
  default = "A"
}

option "oversize" {
  choices = ["0 mm", "0.25 mm", "0.50 mm"]
}

place "cylinder" {
  each = ["front", "rear"]
}

place "valve" {
  each   = ["front inlet", "front exhaust", "rear inlet", "rear exhaust"]
  parent = cylinder
  of = {
    "front inlet"   = "front"
    "front exhaust" = "front"
    "rear inlet"    = "rear"
    "rear exhaust"  = "rear"
  }
}

space "chest" {
}

slot "gasket" {
  at = cylinder
}

part "G-1" {
  fills = [slot.gasket]
  sizes = { thickness = "0.30 mm" }
}

part "G-2" {
  fills = [slot.gasket]
  fits  = series == "B"
  sizes = { thickness = "0.50 mm" }
}

supplier "Pell Street" {
  shipping  = "9.50"
  free_over = "150.00"
}

offer {
  part     = "G-1"
  supplier = "Pell Street"
  price    = "18.40"
}

dimension "bore" {
  at    = cylinder
  step  = "0.001 mm"
  new   = "92.000 .. 92.013 mm" + oversize
  limit = series == "A" ? "<= 92.090 mm" + oversize : "<= 92.070 mm" + oversize
  read {
    positions = ["10 mm", "40 mm"]
    axes      = ["thrust", "pin"]
  }
}

dimension "stroke" {
  step = "0.01 mm"
}

dimension "guide" {
  at   = valve
  step = "0.001 mm"
  with = "plug gauge"
}

number "deck" {
  at    = cylinder
  value = stroke / 2 + gasket.thickness - oversize
  unit  = "mm"
}

number "widest" {
  value = largest(each(bore))
  unit  = "mm"
}

operation "measure" {
  holds = [dimension.bore]
}
`

// loaded loads texts that must be free of mistakes; each is a file of its own.
func loaded(t testing.TB, texts ...string) *Pack {
	t.Helper()
	var files []File
	for i, text := range texts {
		files = append(files, File{Name: fmt.Sprintf("%c.pack", 'a'+i), Text: []byte(text)})
	}
	p, mistakes := Load(files, nil)
	free(t, mistakes)
	return p
}

func free(t testing.TB, mistakes Mistakes) {
	t.Helper()
	if len(mistakes) > 0 {
		var b strings.Builder
		_ = mistakes.Write(&b)
		t.Fatalf("%s", b.String())
	}
}

// engine computes the numbers and ranges of a pack from readings, options and sizes,
// as an assessment does, with nothing but values.
type engine struct {
	testing.TB
	pack  *Pack
	given map[string]float64 // by reference
}

func (e *engine) binder(g *formula.Graph, place, member string) formula.Binder {
	return formula.Binder{Places: e.pack.PlaceKinds, Place: place, Member: member, Node: func(t *formula.Thing, at string) (formula.NodeID, bool) {
		for _, n := range e.pack.Numbers {
			if n.Name == t.Name {
				return g.Add(n.Value, e.binder(g, n.At, at)), true
			}
		}
		for _, s := range e.pack.Sweeps {
			if s.Name == t.Name {
				return g.AddSweep(s.Value, e.binder(g, s.At, at), s.Low, s.High, s.Largest), true
			}
		}
		return 0, false
	}}
}

func (e *engine) compute(g *formula.Graph, ids ...formula.NodeID) []float64 {
	e.Helper()
	v := g.NewValues()
	for i, in := range g.Inputs {
		name := in.Reference()
		if in.Kind == formula.OptionIs || in.Kind == formula.PartIs {
			name += " is " + in.Detail
		}
		if in.Set != formula.Judged {
			name = in.Set.String() + " " + name
		}
		if x, ok := e.given[name]; ok {
			v.Input[i], v.InputStatus[i] = x, formula.Known
		}
	}
	g.Evaluate(v)
	var out []float64
	for _, id := range ids {
		y, status := v.Of(id)
		if status != formula.Known {
			missing, reason := g.Why(id, v)
			var names []string
			for _, i := range missing {
				names = append(names, g.Inputs[i].Reference())
			}
			e.Fatalf("no value: waits for %v, %s", names, reason)
		}
		out = append(out, y)
	}
	return out
}

// number computes a number or sweep at a member of its place.
func (e *engine) number(name, member string) float64 {
	e.Helper()
	g := formula.NewGraph()
	for _, n := range e.pack.Numbers {
		if n.Name == name {
			return e.compute(g, g.Add(n.Value, e.binder(g, n.At, member)))[0]
		}
	}
	for _, s := range e.pack.Sweeps {
		if s.Name == name {
			return e.compute(g, g.AddSweep(s.Value, e.binder(g, s.At, member), s.Low, s.High, s.Largest))[0]
		}
	}
	e.Fatalf("there is no number %s", name)
	return 0
}

// ends computes a range.
func (e *engine) ends(s *Setting, at, member string) string {
	e.Helper()
	if s == nil {
		return ""
	}
	r := s.Constant
	if s.Expression != nil {
		g := formula.NewGraph()
		low, high := g.AddRange(s.Expression, e.binder(g, at, member))
		x := e.compute(g, low, high)
		r = s.Expression.Range(x[0], x[1])
	}
	return r.Text()
}

func (p *Pack) dimensionNamed(t testing.TB, name string) *Dimension {
	t.Helper()
	for _, d := range p.Dimensions {
		if d.Name == name {
			return d
		}
	}
	t.Fatalf("there is no dimension %s", name)
	return nil
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Ranges that options and the sizes of parts move, and names at their places.
func TestSettingsAndPlaces(t *testing.T) {
	p := loaded(t, pair)
	e := &engine{TB: t, pack: p, given: map[string]float64{
		"option.oversize": 0, "option.series is A": 1,
		"slot.gasket.thickness front": 0.0003, "slot.gasket.thickness rear": 0.0005,
		"dimension.stroke": 0.0865, "dimension.bore front": 0.092004, "dimension.bore rear": 0.09201,
	}}
	bore := p.dimensionNamed(t, "bore")
	same(t, "new", e.ends(bore.New, "cylinder", "front"), "92.000 .. 92.013 mm")
	same(t, "limit of series A", e.ends(bore.Limit, "cylinder", "front"), "<= 92.090 mm")
	e.given["option.oversize"] = 0.0005
	same(t, "new at 0.50 over", e.ends(bore.New, "cylinder", "front"), "92.500 .. 92.513 mm")
	same(t, "limit at 0.50 over", e.ends(bore.Limit, "cylinder", "front"), "<= 92.590 mm")
	e.given["option.series is A"] = 0
	same(t, "limit of series B", e.ends(bore.Limit, "cylinder", "front"), "<= 92.570 mm")
	for member, want := range map[string]float64{"front": 0.0865/2 + 0.0003 - 0.0005, "rear": 0.0865/2 + 0.0005 - 0.0005} {
		if got := e.number("deck", member); math.Abs(got-want) > 1e-15 {
			t.Errorf("deck %s: %v, want %v", member, got, want)
		}
	}
	same(t, "widest", e.number("widest", ""), 0.09201)
	if bore.Plan.Cells() != 4 || bore.Step != 1e-6 || bore.Decimals != 3 || bore.Unit.Symbol != "mm" || bore.New.Constant.Dimension != quantity.OfLength {
		t.Errorf("%+v", bore)
	}
	same(t, "numeric option", p.Options[1].Values, []float64{0, 0.00025, 0.0005})
	if p.Options[0].Numeric || !p.Options[1].Numeric || p.Options[1].Dimension != quantity.OfLength {
		t.Errorf("%+v %+v", p.Options[0], p.Options[1])
	}
}

// What formulas of a pack give, place by place.
func TestNumbersOfPlaces(t *testing.T) {
	p := loaded(t, pair, `
number "bigger" {
  at    = cylinder
  value = 2 * bore
  unit  = "mm"
}
number "valve_sum" {
  at    = cylinder
  value = sum(each(guide))
  unit  = "mm"
}
number "all_valves" {
  value = mean(each(guide))
  unit  = "mm"
}
number "with_cylinder" {
  at    = valve
  value = guide + bore - stroke
  unit  = "mm"
}
number "apart" {
  value = bigger["rear"] - bigger["front"] + spread(each(bigger))
  unit  = "mm"
}
number "one_valve" {
  value = guide["rear exhaust"] - smallest(each(guide))
  unit  = "mm"
}
number "both_kinds" {
  value = dimension.stroke + number.apart
  unit  = "mm"
}
number "by_series" {
  value = series == "B" ? "3 mm" : "1 mm"
  unit  = "mm"
}
number "by_part" {
  at    = cylinder
  value = gasket == "G-2" ? "2 mm" : gasket.thickness
  unit  = "mm"
}
`)
	e := &engine{TB: t, pack: p, given: map[string]float64{
		"dimension.bore front": 1, "dimension.bore rear": 4, "dimension.stroke": 0.5, "option.series is B": 0,
		"dimension.guide front inlet": 10, "dimension.guide front exhaust": 20, "dimension.guide rear inlet": 30, "dimension.guide rear exhaust": 40,
		"slot.gasket front is G-2": 0, "slot.gasket rear is G-2": 1, "slot.gasket.thickness front": 7,
	}}
	for _, c := range []struct {
		name, member string
		want         float64
	}{
		{"bigger", "front", 2}, {"bigger", "rear", 8}, {"valve_sum", "front", 30}, {"valve_sum", "rear", 70}, {"all_valves", "", 25},
		{"with_cylinder", "front inlet", 10.5}, {"with_cylinder", "rear exhaust", 43.5}, {"apart", "", 12}, {"one_valve", "", 30}, {"both_kinds", "", 12.5},
		{"by_series", "", 0.001}, {"by_part", "front", 7}, {"by_part", "rear", 0.002},
	} {
		if got := e.number(c.name, c.member); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s %s: %v, want %v", c.name, c.member, got, c.want)
		}
	}
}

// Curves and sweeps as a pack writes them.
func TestCurvesAndSweeps(t *testing.T) {
	p := loaded(t, pair, `
curve "bent" {
  x = ["0 deg", "10 deg", "20 deg"]
  y = ["2 mm", "3 mm", "5 mm"]
}
curve "straight" {
  x   = ["0 deg", "10 deg", "20 deg"]
  y   = ["2 mm", "3 mm", "5 mm"]
  fit = "linear"
}
curve "wheel" {
  x        = ["0 deg", "90 deg", "180 deg", "270 deg", "360 deg"]
  y        = ["0 mm", "1 mm", "0 mm", "-1 mm", "0 mm"]
  periodic = true
}
number "b" {
  value = bent("5 deg")
}
number "s" {
  value = straight("15 deg")
}
number "w" {
  value = wheel("810 deg") - wheel("-90 deg")
}
sweep "least" {
  over  = "-40 .. 40 deg"
  value = stroke + wheel(x) * 2
  unit  = "mm"
  find  = "smallest"
  limit = ">= 1 mm"
}
sweep "most" {
  over  = "0 .. 20 deg"
  value = bent(x) - x * "0.1 mm" / "1 deg"
  find  = "largest"
}
number "twice" {
  value = 2 * least
  unit  = "mm"
}
`)
	e := &engine{TB: t, pack: p, given: map[string]float64{"dimension.stroke": 0.01}}
	for name, want := range map[string]float64{
		// The natural spline through (0,2), (1,3), (2,5) at 1/2 is 2 + 3/8 + 1/32.
		"b": 0.001 * (2 + 3.0/8 + 1.0/32), "s": 0.004, "w": 0.002,
		"least": 0.01 + 2*wheelAt(p, -40), "twice": 2 * (0.01 + 2*wheelAt(p, -40)), "most": 0.003,
	} {
		if got := e.number(name, ""); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
	s := p.Sweeps[0]
	if s.Over.Text() != "-40 .. 40 deg" || s.Largest || !p.Sweeps[1].Largest || s.Limit.Constant.Text() != ">= 1 mm" || p.Sweeps[1].Dimension != quantity.OfLength {
		t.Errorf("%+v", s)
	}
}

func wheelAt(p *Pack, degrees float64) float64 {
	y, _ := p.Curves[2].Table.At(degrees * math.Pi / 180)
	return y
}

// What a builder writes, and what it means.
func TestValuesAsWritten(t *testing.T) {
	p := loaded(t, `pack "p" {
  title = "t"
  units = "inch"
  room  = "68 ± 9 degF"
}
dimension "in_inches" {
  new   = ".0015 .. .0020 in"
  limit = "<= 3 thou"
}
dimension "band" {
  new = "178.00 ± 0.03 mm"
}
dimension "both" {
  limit = "1.0 .. 1.5 mm"
}
dimension "oil" {
  step = "0.5 degC"
  new  = "70 .. 90 degC"
}
dimension "rise" {
  step = "1 K"
  new  = "<= 12 K"
}
dimension "cold" {
  step = "1 K"
  new  = "<= 12 degC"
}
dimension "share" {
  step  = "0.05"
  limit = ">= 60 %"
}
dimension "plain" {
}
dimension "load" {
  with = "spring tester"
}
instrument "spring tester" {
  step        = "1 N"
  uncertainty = "2 %"
}
instrument "thermometer" {
  step        = "0.5 degC"
  uncertainty = "1 degC"
}
joint "head" {
  thread = "M10x1.25"
  torque = "30-32 ft-lb"
  stages = ["12 N·m", "3 kgf·m", "42 Nm"]
}
joint "screwed" {
  thread = "M10x1.25"
  torque = "41 .. 45 N*m"
  step {
    points = [1, 2]
    to     = "4 N.m"
    say    = "draw both pins"
  }
  step {
    to = "43 N·m"
  }
  step {
    back_off = true
  }
  step {
    to    = "20 N·m"
    angle = "90 deg"
  }
  point_of_no_return = 4
  friction           = 0.12
  points             = [[0, 0], [60, 0]]
  order              = [2, 1]
}
operation "glue" {
  wait    = "20 min"
  minutes = 15
  pours   = { oil = "150 mL" }
  within  = { operation.close = "10 min" }
}
operation "close" {
  minutes = "1.5 h"
}
`)
	for name, want := range map[string]string{
		"in_inches": "0.0015 .. 0.0020 in|<= 3 thou", "band": "177.97 .. 178.03 mm|", "both": "|1.0 .. 1.5 mm", "oil": "70 .. 90 degC|", "rise": "<= 12 K|", "cold": "<= 12 degC|", "share": "|>= 60 %",
	} {
		d := p.dimensionNamed(t, name)
		got := ""
		if d.New != nil {
			got = d.New.Constant.Text()
		}
		got += "|"
		if d.Limit != nil {
			got += d.Limit.Constant.Text()
		}
		same(t, name, got, want)
	}
	for name, want := range map[string]quantity.Dimension{"oil": quantity.OfTemperature, "rise": quantity.OfTemperatureDifference, "cold": quantity.OfTemperature, "share": quantity.OfNumber, "plain": quantity.OfLength, "load": quantity.OfForce, "band": quantity.OfLength} {
		same(t, name, p.dimensionNamed(t, name).Dimension, want)
	}
	// A step in degrees is a difference, not a temperature.
	same(t, "step of oil", p.dimensionNamed(t, "oil").Step, 0.5)
	same(t, "thermometer", [2]float64{p.Instruments[1].Step, p.Instruments[1].Uncertainty}, [2]float64{0.5, 1})
	same(t, "spring tester", [2]float64{p.Instruments[0].Step, p.Instruments[0].Relative}, [2]float64{1, 0.02})
	if math.Abs(float64(p.Room.Mean)-293.15) > 1e-9 || math.Abs(float64(p.Room.HalfWidth)-5) > 1e-9 {
		t.Errorf("room %+v", p.Room)
	}
	head := p.Joints[0]
	var stages []float64
	for _, s := range head.Stages.Items {
		stages = append(stages, s.Constant.SI)
	}
	if want := []float64{12, 3 * 9.80665, 42}; !slices.Equal(stages, want) || head.Torque.Constant.Text() != "30 .. 32 ft-lb" || math.Abs(head.Torque.Constant.Low-40.6745) > 1e-3 {
		t.Errorf("stages %v, torque %+v", stages, head.Torque.Constant)
	}
	j := p.Joints[1]
	if len(j.Steps) != 4 || j.Steps[0].To.Text() != "4 N·m" || j.Steps[0].Say != "draw both pins" || !j.Steps[2].BackOff || math.Abs(j.Steps[3].Angle-math.Pi/2) > 1e-15 || j.PointOfNoReturn != 4 || j.Friction.Low != 0.12 || j.Friction.High != 0.12 {
		t.Errorf("%+v", j)
	}
	glue := p.Operations[0]
	same(t, "wait", glue.Wait, 1200.0)
	same(t, "minutes", [2]float64{glue.Seconds, p.Operations[1].Seconds}, [2]float64{900, 5400})
	same(t, "within", glue.Within, []Within{{"close", 600}})
	if q := glue.Pours["oil"]; math.Abs(q.SI-150e-6) > 1e-18 {
		t.Errorf("pours %+v", q)
	}
}

// Stages that an option chooses between.
func TestConditionalStages(t *testing.T) {
	p := loaded(t, pair, `
joint "head" {
  thread = "M10x1.25"
  torque = series == "A" ? "41 .. 45 N·m" : "46 .. 50 N·m"
  stages = series == "A" ? ["12 N·m", "43 N·m"] : ["12 N·m", "30 N·m", "48 N·m"]
  target = series == "A" ? "43 N·m" : "48 N·m"
}
`)
	s := p.Joints[0].Stages
	if s.Test == nil || len(s.Then.Items) != 2 || len(s.Else.Items) != 3 || p.Joints[0].Torque.Expression == nil || p.Joints[0].Target.Expr == nil {
		t.Errorf("%+v", p.Joints[0])
	}
	if formula.Decide(s.Test, map[string]string{"series": "A"}) != formula.Yes || formula.Decide(s.Test, map[string]string{"series": "B"}) != formula.No || formula.Decide(s.Test, nil) != formula.Maybe {
		t.Error("the test of the stages")
	}
}

// `when` is compiled for every block, and a name behind it is checked.
func TestWhen(t *testing.T) {
	p := loaded(t, pair, `
check "seam" {
  when = series == "A"
}
dimension "tappet" {
  at   = valve
  when = gasket == "G-2" && series != "A"
}
metal "pot metal" {
  expansion = "25e-6 1/K"
  when      = series == "B"
}
`)
	for want, c := range map[string]*Common{"seam": &p.Checks[0].Common, "tappet": &p.dimensionNamed(t, "tappet").Common, "pot metal": &p.Metals[0].Common} {
		if c.When == nil || c.Name != want {
			t.Errorf("%s has no condition", c.Name)
		}
	}
	a, b := map[string]string{"series": "A"}, map[string]string{"series": "B"}
	tappet := p.dimensionNamed(t, "tappet").When
	same(t, "seam", []formula.Answer{formula.Decide(p.Checks[0].When, a), formula.Decide(p.Checks[0].When, b), formula.Decide(p.Checks[0].When, nil)}, []formula.Answer{formula.Yes, formula.No, formula.Maybe})
	same(t, "tappet", []formula.Answer{formula.Decide(tappet, a), formula.Decide(tappet, b)}, []formula.Answer{formula.No, formula.Maybe})
}

const base = `pack "base" {
  title    = "Base"
  revision = "7"
  source   = "its manual"
}

place "cylinder" {
  each = ["front", "rear"]
}

slot "gasket" {
}

part "G-1" {
  fills = [slot.gasket]
  has   = ["thin", "blue"]
}

supplier "Pell Street" {
}

offer {
  part     = "G-1"
  supplier = "Pell Street"
  price    = "18.40"
}

dimension "bore" {
  at    = cylinder
  title = "Cylinder bore"
  step  = "0.001 mm"
  blank = ["new", "limit"]
  read {
    positions = ["10 mm", "40 mm"]
    axes      = ["thrust", "pin"]
  }
}

dimension "guide" {
  new   = "7.000 .. 7.015 mm"
  blank = ["limit"]
}

dimension "unwanted" {
}

operation "measure" {
  holds   = [dimension.bore, dimension.guide]
  minutes = 20
}
`

const child = `pack "child" {
  title   = "Child"
  extends = "base"
}

dimension "bore" {
  new = "92.000 .. 92.013 mm"
  read {
    positions = ["20 mm"]
  }
}

dimension "unwanted" {
  remove = true
}

dimension "added" {
}

part "G-1" {
  has = ["thick"]
}

offer {
  part     = "G-1"
  supplier = "Pell Street"
  price    = "17.00"
}

operation "measure" {
  holds = [dimension.bore]
}
`

// The rules of templates: attributes are replaced whole, nested blocks by kind, offers
// added, blocks removed, blanks filled.
func TestTemplate(t *testing.T) {
	asked := ""
	p, mistakes := Load([]File{{Name: "child.pack", Text: []byte(child)}}, func(id string) ([]File, bool) {
		asked = id
		return []File{{Name: "base.pack", Text: []byte(base)}}, true
	})
	free(t, mistakes)
	same(t, "looked for", asked, "base")
	checkChild(t, p)
	same(t, "files", []string{p.Files[0].Name, p.Files[1].Name}, []string{"child.pack", "base.pack"})
	sum := sha256.Sum256([]byte(child + base))
	same(t, "hash over all that was read", p.SHA256, hex.EncodeToString(sum[:]))
}

func checkChild(t *testing.T, p *Pack) {
	t.Helper()
	same(t, "header", []string{p.Name, p.Title, p.Revision, p.Source, p.Extends}, []string{"child", "Child", "7", "its manual", "base"})
	var names []string
	for _, d := range p.Dimensions {
		names = append(names, d.Name)
	}
	same(t, "dimensions, the template's first", names, []string{"bore", "guide", "added"})
	bore := p.Dimensions[0]
	if bore.At != "cylinder" || bore.Title != "Cylinder bore" || bore.Step != 1e-6 || bore.New.Constant.Text() != "92.000 .. 92.013 mm" || bore.Limit != nil {
		t.Errorf("%+v", bore)
	}
	same(t, "positions, replaced with their axes", [2][]string{bore.Plan.Positions, bore.Plan.Axes}, [2][]string{{"20 mm"}, nil})
	same(t, "blanks of bore", bore.Blank, []string{"limit"})
	same(t, "to be filled in", p.ToBeFilledIn, []string{"dimension.bore limit", "dimension.guide limit"})
	same(t, "features, replaced whole", p.Parts[0].Has, []string{"thick"})
	same(t, "what the part fills is kept", p.Parts[0].Fills, []string{"gasket"})
	same(t, "offers", []string{p.Offers[0].Price, p.Offers[1].Price}, []string{"18.40", "17.00"})
	o := p.Operations[0]
	if len(o.Holds) != 1 || o.Holds[0].String() != "dimension.bore" || o.Seconds != 1200 {
		t.Errorf("%+v", o)
	}
}

// A folder that holds a pack and its template is the pack; no look-up is made, and
// other files belong to the pack.
func TestFolderWithItsTemplate(t *testing.T) {
	more := "dimension \"more\" {\n}\n"
	files := []File{{Name: "z.pack", Text: []byte(child)}, {Name: "base.pack", Text: []byte(base)}, {Name: "m.pack", Text: []byte(more)}}
	p, mistakes := Load(files, func(id string) ([]File, bool) {
		t.Errorf("%s was looked for", id)
		return nil, false
	})
	free(t, mistakes)
	if n := len(p.Dimensions); n != 4 || p.Dimensions[2].Name != "more" && p.Dimensions[3].Name != "more" {
		t.Errorf("%d dimensions", n)
	}
	p.Dimensions = slices.DeleteFunc(p.Dimensions, func(d *Dimension) bool { return d.Name == "more" })
	checkChild(t, p)
	sum := sha256.Sum256([]byte(base + more + child)) // in name order
	same(t, "hash", p.SHA256, hex.EncodeToString(sum[:]))
	same(t, "the caller's files keep their order", files[0].Name, "z.pack")
}

// All blanks filled: nothing is left to be filled in.
func TestBlanksFilled(t *testing.T) {
	find := func(string) ([]File, bool) { return []File{{Name: "base.pack", Text: []byte(base)}}, true }
	p, mistakes := Load([]File{{Name: "c.pack", Text: []byte(child + `
dimension "guide" {
  limit = "<= 7.050 mm"
}
`)}}, find)
	free(t, mistakes)
	same(t, "to be filled in", p.ToBeFilledIn, []string{"dimension.bore limit"})
	if d := p.dimensionNamed(t, "guide"); d.IsBlank() || d.Limit == nil {
		t.Errorf("%+v", d)
	}
	// A required attribute may be blank; a blank that is written is none.
	q := loaded(t, "pack \"p\" {\n  title = \"t\"\n}\njoint \"head\" {\n  blank = [\"thread\", \"torque\"]\n  torque = \"41 .. 45 N·m\"\n}\n")
	same(t, "to be filled in", q.ToBeFilledIn, []string{"joint.head thread"})
}

// What a job adds is merged like a child, and neither the pack nor its hash changes.
func TestExtend(t *testing.T) {
	p := loaded(t, pair)
	before := *p
	q, mistakes := p.Extend(File{Name: "extra of 2 March", Text: []byte(`
dimension "bore" {
  limit = "<= 92.060 mm"
}
dimension "stroke" {
  remove = true
}
number "deck" {
  value = gasket.thickness - oversize
}
operation "weld" {
  needs = [operation.measure]
}
offer {
  part     = "G-2"
  supplier = "Pell Street"
  price    = "21.00"
}
`)})
	free(t, mistakes)
	same(t, "hash", q.SHA256, before.SHA256)
	if d := q.dimensionNamed(t, "bore"); d.Limit.Constant.Text() != "<= 92.060 mm" || d.New.Expression == nil || d.Plan.Cells() != 4 {
		t.Errorf("%+v", d)
	}
	same(t, "counts", []int{len(q.Dimensions), len(q.Operations), len(q.Offers), len(q.Files)}, []int{2, 2, 2, 2})
	if !reflect.DeepEqual(before.Dimensions, p.Dimensions) || len(p.Operations) != 1 || p.dimensionNamed(t, "bore").Limit.Expression == nil || len(p.Files) != 1 {
		t.Error("the pack itself has changed")
	}
	// A second piece lies over the first.
	r, mistakes := q.Extend(File{Name: "extra of 3 March", Text: []byte("dimension \"bore\" {\n  limit = \"<= 92.055 mm\"\n}\n")})
	free(t, mistakes)
	if r.dimensionNamed(t, "bore").Limit.Constant.Text() != "<= 92.055 mm" || q.dimensionNamed(t, "bore").Limit.Constant.Text() != "<= 92.060 mm" || r.SHA256 != p.SHA256 {
		t.Error("the second piece")
	}
}

// A piece with mistakes is set aside whole: no pack comes back, the mistakes are told
// in its own lines, and the pack goes on as it was.
func TestExtendWithMistakes(t *testing.T) {
	p := loaded(t, pair)
	e := &engine{TB: t, pack: p, given: map[string]float64{"dimension.bore front": 1, "dimension.bore rear": 2}}
	for text, want := range map[string]string{
		"dimension \"bore\" {\n  limit = \"<= 91 mm\"\n}\n":                                        "extra:2:11 pack.limit-side",
		"number \"widest\" {\n  value = largest(each(boer))\n}\n":                                  "extra:2:24 formula.unknown-name",
		"dimension \"bore\" {\n  step = 0.01 mm\n}\n":                                              "extra:2:10 syntax.unquoted",
		"dimension \"stroke\" {\n  remove = true\n}\n":                                             "a.pack:83:11 formula.unknown-name", // deck names it
		"operation \"measure\" {\n  needs = [operation.measure]\n}\n":                              "extra:1:11 route.loop",
		"dimension \"guide\" {\n  new   = \"7 .. 8 mm\" + oversize\n  limit = \"<= 6 mm\"\n}\n":    "extra:3:11 pack.limit-side", // wrong under every choice
		"number \"bore\" {\n  value = 1\n}\n":                                                      "extra:1:8 pack.twice",
		"dimension \"d\" {\n}\ndimension \"d\" {\n}\n":                                             "extra:3:11 pack.twice",
		"dimension \"bore\" {\n  limit = \"<= 93 mm\"\n  new = \"92 .. 92.1 mm\"\n  at = rod\n}\n": "extra:4:8 pack.unknown-name",
	} {
		q, mistakes := p.Extend(File{Name: "extra", Text: []byte(text)})
		if q != nil || len(mistakes) != 1 {
			t.Errorf("%q: %v, %v", text, q != nil, mistakes)
			continue
		}
		if got := mistakes[0].Span.String() + " " + mistakes[0].Code; got != want || mistakes[0].Source == "" {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
	same(t, "the pack still computes", e.number("widest", ""), 2.0)
	same(t, "and has its dimensions", len(p.Dimensions), 3)
}

// The hash of a pack of one file is that of the file; a byte changes it.
func TestHash(t *testing.T) {
	for _, text := range []string{pair, "\ufeff" + pair, strings.ReplaceAll(pair, "\n", "\r\n")} {
		sum := sha256.Sum256([]byte(text))
		same(t, "hash", loaded(t, text).SHA256, hex.EncodeToString(sum[:]))
	}
	if loaded(t, pair).SHA256 == loaded(t, pair+" ").SHA256 {
		t.Error("a blank at the end does not change the hash")
	}
	a, b := loaded(t, pair, base[:0]+"dimension \"x\" {\n}\n"), loaded(t, pair, "dimension \"y\" {\n}\n")
	if a.SHA256 == b.SHA256 {
		t.Error("the second file does not count")
	}
}

// A feature that no part has, a part that nothing offers, a space that only a trial
// closes: none of them is a mistake.
func TestWhatIsNoMistake(t *testing.T) {
	loaded(t, pair, `
slot "ring" {
  needs = ["a feature that no part has"]
}
part "R-1" {
  fills    = [slot.ring]
  needs    = ["another"]
  excludes = ["a third"]
}
operation "close_dry" {
  closes = [space.chest]
  trial  = true
}
operation "look" {
  needs = [operation.close_dry]
  in    = [space.chest]
}
operation "close" {
  needs  = [operation.look]
  closes = [space.chest]
}
operation "open_again" {
  needs = [operation.close]
  opens = [space.chest]
}
operation "later" {
  needs = [operation.open_again]
  in    = [space.chest]
}
space "pump" {
  starts = "closed"
}
operation "open_pump" {
  opens = [space.pump]
}
operation "look_in_pump" {
  needs = [operation.open_pump]
  in    = [space.pump]
}
space "case" {
}
operation "close_left" {
  closes = [space.case]
}
operation "close_right" {
  needs  = [operation.close_left]
  closes = [space.case]
}
operation "between" {
  needs = [operation.close_left]
  in    = [space.case]
}
`)
}

// The demo pack and every published pack are free of mistakes.
func TestPacksOfTheProgram(t *testing.T) {
	p, mistakes := Load(append(folder(t, "../packs/aldermoor-v1150/*.pack"), folder(t, "../packs/templates/vtwin-pushrod-hydraulic.pack")...), nil)
	free(t, mistakes)
	if p.Name != "aldermoor-v1150" || len(p.Dimensions) < 50 || len(p.Operations) < 20 || len(p.ToBeFilledIn) > 0 {
		t.Errorf("%s: %d dimensions, %d operations, to be filled in %v", p.Name, len(p.Dimensions), len(p.Operations), p.ToBeFilledIn)
	}
	paths, err := filepath.Glob("../packs/published/*.pack")
	if err != nil || len(paths) < 10 {
		t.Fatalf("%d published packs, %v", len(paths), err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			p, mistakes := Load(folder(t, path), nil)
			free(t, mistakes)
			if len(p.Dimensions)+len(p.Joints)+len(p.Numbers) == 0 || p.Source == "" {
				t.Errorf("the pack says nothing: %d dimensions, source %q", len(p.Dimensions), p.Source)
			}
		})
	}
}
