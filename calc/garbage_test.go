package calc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/quantity"
)

// shards are pieces of what people and programs write, right and wrong.
var shards = []string{
	"0", "-0", "1", "-1", "2.5", "1/3", "0.12", "1e-9", "1e-30", "1e29", "-1e29", "1e-15", "99999", "360", "180", "0.5", "24", "3",
	"NaN", "Inf", "-Inf", "", " ", "true", "false", "M10", "M1x0.25", "M300x8", "3/8-16", "#0-80", "4-4", "8.8", "12.9", "SAE 8", "G 6.3", "G 4000", "G 0.001",
	"steel", "harmonic", "cycloidal", "3-4-5", "4-5-6-7", "thicker-more", "thicker-less", "2.500 .. 2.950 by 0.025 mm", "1 .. 1 by 1 m",
	"0,0,0; 1,0,0; 0,1,0; 1,1,1", "0,0,1e29; 1,0,-1e29; 0,1,0; 1,1,0", "0,0,0;0,0,0;0,0,0;0,0,0", "1e-30,0,0;0,1e-30,0;1,1,1;2,2,0;1e5,3,1",
	"N·m", "ft-lb", "mm", "5 ± 1 mm", "1 .. 2 mm", "1,5 mm", "𝛑", "\x00",
}

// randomValue writes a number over many sizes with a unit.
func randomValue(r *rand.Rand, unit string) string {
	x := math.Pow(10, r.Float64()*r.Float64()*36-12)
	if r.IntN(4) == 0 {
		x = -x
	}
	return fmt.Sprintf("%.6g%s", x, unit)
}

// Any arguments at all give an answer with sound figures or an error of this package
// that names what is wrong.
func TestGarbage(t *testing.T) {
	rounds := 300
	if testing.Short() {
		rounds = 30
	}
	r := rand.New(rand.NewPCG(1, 2))
	units := quantity.Symbols()
	answers := map[string]int{}
	for _, c := range All() {
		for range rounds {
			for _, s := range wholeSets[c.Name] {
				given := set(t, s)
				for _, a := range c.Arguments {
					old, there := given[a.Name]
					switch r.IntN(20) {
					case 0:
						given[a.Name] = shards[r.IntN(len(shards))]
					case 1:
						given[a.Name] = randomValue(r, " "+units[r.IntN(len(units))])
					case 2, 3:
						if isNumeric(a) {
							given[a.Name] = randomValue(r, unitFor(a))
						}
					case 4:
						if q, err := quantity.Parse(old); there && err == nil { // near what it was
							given[a.Name] = fmt.Sprintf("%.9g%s", q.Unit.In(q.SI)*(0.2+2*r.Float64()), strings.TrimSuffix(" "+q.Unit.Symbol, " 1"))
						}
					case 5:
						delete(given, a.Name)
					}
				}
				if a, _ := run(t, c, given); a != nil {
					answers[c.Name]++
				}
				if t.Failed() {
					t.Fatalf("%s %q", c.Name, given)
				}
			}
		}
	}
	for _, c := range All() {
		if answers[c.Name] == 0 {
			t.Errorf("%s gave no answer at all: the arguments are too wild to test it", c.Name)
		}
	}
}

// Sizes all over their ranges never overflow.
func TestWholeRanges(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, c := range All() {
		answers := 0
		for range 500 {
			given := set(t, wholeSets[c.Name][r.IntN(len(wholeSets[c.Name]))])
			for name := range given {
				a, _ := c.Argument(name)
				if !isNumeric(a) || a.bareIn != "" {
					continue
				}
				given[name] = fmt.Sprintf("%.17g%s", usualValue(r, a), unitFor(a))
			}
			if a, _ := run(t, c, given); a != nil {
				answers++
			}
			if t.Failed() {
				t.Fatalf("%s %q", c.Name, given)
			}
		}
		t.Logf("%-20s %d answers of 500", c.Name, answers)
	}
}

// usualValue draws a value from the range of an argument, small ones as often as large,
// in the usual unit.
func usualValue(r *rand.Rand, a Argument) float64 {
	s := a.span
	x := s.high
	switch {
	case a.form == whole:
		return s.low + math.Floor(r.Float64()*math.Min(200, s.high-s.low))
	case s.low < 0:
		x = s.low + r.Float64()*(s.high-s.low)
	case r.IntN(20) == 0 && !s.aboveLow:
		x = s.low
	default:
		low := math.Max(s.least, s.high*1e-12)
		if s.low > 0 {
			low = s.low
		}
		x = low * math.Pow(s.high/low, r.Float64()*0.999)
		x = math.Max(x, low*1.0001)
	}
	if a.form == perInch || a.dimension.IsNumber() {
		return x
	}
	return usual(quantity.Metric, a.dimension).In(x)
}

// The unit in which something is written changes no answer.
func TestUnitsDoNotMatter(t *testing.T) {
	other := map[quantity.Dimension]string{
		quantity.OfLength: "in", quantity.OfVolume: "cu in", quantity.OfForce: "lbf", quantity.OfTorque: "in-lb", quantity.OfPressure: "psi",
		quantity.OfMass: "lb", quantity.OfAngle: "rad", quantity.OfFrequency: "Hz", quantity.OfStiffness: "lbf/in",
	}
	for _, c := range All() {
		for _, s := range wholeSets[c.Name] {
			given := set(t, s)
			first, err := c.Run(given)
			if err != nil {
				t.Fatal(err)
			}
			changed := false
			for name := range given {
				a, _ := c.Argument(name)
				u, ok := other[a.dimension]
				q, err := quantity.Parse(given[name])
				if !ok || a.form != value || err != nil || a.bareIn != "" {
					continue
				}
				given[name] = fmt.Sprintf("%.17g %s", quantity.MustUnit(u).In(q.SI), u)
				changed = true
			}
			if !changed {
				continue
			}
			second, err := c.Run(given)
			if err != nil {
				t.Errorf("%s %q: %v", c.Name, given, err)
				continue
			}
			for i, f := range first.Figures {
				g := second.Figures[i]
				if f.Name != g.Name || (f.SI == nil) != (g.SI == nil) {
					t.Errorf("%s: %s became %s", c.Name, f.Name, g.Name)
					continue
				}
				if f.SI == nil {
					if f.Text != g.Text {
						t.Errorf("%s: %s %q became %q", c.Name, f.Name, f.Text, g.Text)
					}
					continue
				}
				if off := math.Abs(*f.SI - *g.SI); !(off <= 1e-9*math.Max(math.Abs(*f.SI), 1e-6)) {
					t.Errorf("%s: %s %v became %v", c.Name, f.Name, *f.SI, *g.SI)
				}
			}
		}
	}
}

// FuzzRun gives any text for any argument.
func FuzzRun(f *testing.F) {
	for i, c := range All() {
		for _, s := range wholeSets[c.Name] {
			f.Add(uint8(i), s)
		}
		f.Add(uint8(i), strings.Join(c.Example, "|"))
	}
	f.Fuzz(func(t *testing.T, which uint8, text string) {
		all := All()
		c := all[int(which)%len(all)]
		given, ok := arguments(strings.Split(text, "|"))
		if !ok {
			return
		}
		a, err := c.Run(given)
		if err != nil {
			if e, ok := err.(*Error); !ok || e.Says == "" || e.Argument == "" {
				t.Fatalf("%s %q: %T %v", c.Name, given, err, err)
			}
			return
		}
		sound(t, c, a)
	})
}
