package catalogue

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"buttonup/formula"
	"buttonup/internal/check"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// compile reads a formula as a pack does.
func compile(t testing.TB, text string) (*formula.Expr, syntax.Mistakes) {
	t.Helper()
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "formula", Text: []byte(text)})
	if len(mistakes) > 0 {
		return nil, mistakes
	}
	return formula.Compile(e, &formula.Scope{Things: map[string]*formula.Thing{}, Places: formula.Places{}, Functions: Functions()})
}

// evaluate computes a formula of constants.
func evaluate(t testing.TB, text string) (float64, *formula.Expr, string) {
	t.Helper()
	e, mistakes := compile(t, text)
	if len(mistakes) > 0 {
		t.Fatalf("%s: %v", text, mistakes[0].Says)
	}
	g := formula.NewGraph()
	id := g.Add(e, formula.Binder{Places: formula.Places{}})
	v := g.NewValues()
	g.Evaluate(v)
	y, status := v.Of(id)
	if status != formula.Known {
		_, why := g.Why(id, v)
		return 0, e, why
	}
	return y, e, ""
}

func TestPublished(t *testing.T) { runChecks(t, "testdata/published/*.check") }

// Worked apart from this code; nobody printed them.
func TestOurs(t *testing.T) { runChecks(t, "testdata/ours/*.check") }

func runChecks(t *testing.T, pattern string) {
	t.Helper()
	for _, f := range check.Glob(t, pattern) {
		for _, row := range f.Rows {
			text := strings.ReplaceAll(row.In["formula"], ";", ",")
			y, e, why := evaluate(t, text)
			if why != "" {
				t.Errorf("%s:%d: %s: %s", f.Path, row.Line, text, why)
				continue
			}
			printed, err := check.Number(row.Out["value"])
			if err != nil {
				t.Fatal(err)
			}
			u := quantity.MustUnit("1")
			if printed.Unit != "" {
				u = quantity.MustUnit(printed.Unit)
			}
			if u.Dimension != e.Dimension {
				t.Errorf("%s:%d: %s is a %s, and %s is a %s", f.Path, row.Line, text, e.Dimension, row.Out["value"], u.Dimension)
				continue
			}
			f.Compare(t, row, "value", u.In(y))
		}
	}
}

// A function that no check calls may give anything.
func TestEveryFunctionIsChecked(t *testing.T) {
	called := map[string]bool{}
	word := regexp.MustCompile(`[a-z][a-z0-9_]*\(`)
	for _, pattern := range []string{"testdata/published/*.check", "testdata/ours/*.check"} {
		for _, f := range check.Glob(t, pattern) {
			for _, row := range f.Rows {
				for _, w := range word.FindAllString(row.In["formula"], -1) {
					called[strings.TrimSuffix(w, "(")] = true
				}
			}
		}
	}
	for name := range Functions() {
		if !called[name] {
			t.Errorf("no check calls %s", name)
		}
	}
}

func TestEntriesAreWhole(t *testing.T) {
	list := Entries()
	if len(list) < 40 {
		t.Fatalf("only %d functions are listed", len(list))
	}
	if n := len(Functions()); n != len(list) {
		t.Errorf("%d entries have %d names", len(list), n)
	}
	name := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	for _, e := range list {
		if !name.MatchString(e.Name) || formula.Reserved(e.Name) {
			t.Errorf("%q is no name for a function, or formulas know it already", e.Name)
		}
		if e.Source == "" || e.Is == "" || e.Subject == "" || e.Evaluate == nil {
			t.Errorf("%s lacks its source, its purpose, its subject or its code", e.Name)
		}
		if len(e.Arguments) == 0 {
			t.Errorf("%s takes nothing", e.Name)
		}
		seen := map[string]bool{}
		optional := false
		for _, a := range e.Arguments {
			if !name.MatchString(a.Name) || seen[a.Name] {
				t.Errorf("%s: argument %q is misnamed or stands twice", e.Name, a.Name)
			}
			seen[a.Name] = true
			if optional && !a.HasDefault {
				t.Errorf("%s: %s must be given and stands behind one that may be left out", e.Name, a.Name)
			}
			optional = a.HasDefault
		}
	}
}

// Functions hands out a map of its own each time.
func TestMapIsTheCallers(t *testing.T) {
	m := Functions()
	delete(m, "swept_volume")
	if Functions()["swept_volume"] == nil {
		t.Error("what a caller deletes is gone for all")
	}
}

func TestWrongCallsAreMistakes(t *testing.T) {
	for text, says := range map[string]string{
		`swept_volume("92 mm")`:                        "takes 2 values",
		`swept_volume("92 mm", "86 N")`:                "needs a length for its stroke",
		`piston_drop("86 mm", "178 mm", "20 mm")`:      "needs an angle for its angle",
		`spring_rate("4 mm", "28 mm", "6 mm", "8 N")`:  "needs a plain number for its active",
		`sweptvolume("92 mm", "86 mm")`:                "no function called sweptvolume",
		`growth("92 mm", "12e-6 1/K", "20 degC")`:      "needs a temperature difference for its rise",
		`"1 mm" + swept_volume("92 mm", "86 mm")`:      "volume",
		`piston_drop("1 mm","9 mm","1 deg","0 mm",0)`:  "takes",
		`tightening_torque("1 N·m", "10 mm", "1 mm")`:  "takes 7 values",
		`preload_by_nut_factor("43 N", "10 mm", 0.15)`: "needs a torque for its torque",
	} {
		_, mistakes := compile(t, text)
		if len(mistakes) == 0 || !strings.Contains(strings.ReplaceAll(mistakes[0].Says, "a angle", "an angle"), says) {
			t.Errorf("%s: %v, want %q", text, mistakes, says)
		}
	}
}

// What cannot be computed is undefined with a reason that names the function.
func TestImpossibleValuesAreUndefined(t *testing.T) {
	for text, says := range map[string]string{
		`piston_drop("400 mm", "50 mm", "20 deg")`:                                    "rod",
		`swept_volume("-92 mm", "86 mm")`:                                             "bore",
		`compression_ratio("500 cc", "0 cc")`:                                         "clearance",
		`spring_load("33 N/mm", "38 mm", "48 mm")`:                                    "loose",
		`over_pins(24.5, "2 mm", "20 deg", "3.5 mm")`:                                 "24.5",
		`over_pins(24, "2 mm", "20 deg", "0.1 mm")`:                                   "pin",
		`stress_area("0.1 mm", "1 mm")`:                                               "M1",
		`tightening_torque("9 kN", "10 mm", "1.5 mm", "10 mm", "11 mm", 0.1, 0.1)`:    "head",
		`preload_by_nut_factor("43 N·m", "10 mm", 0)`:                                 "nut factor",
		`stress_area_inch("0.375 in", "0 in")`:                                        "threads per inch",
		`valve_duration("-100 deg", "-90 deg")`:                                       "duration",
		`standard_pressure("20000 m")`:                                                "altitude",
		`adapter_setting("43 N·m", "400 mm", "500 mm", "180 deg")`:                    "offset",
		`backlash(20, 40, "2 mm", "20 deg", "40 mm")`:                                 "centre",
		`screw_beyond("10 mm", "12 mm")`:                                              "12 mm",
		`lobe_lift("7.6 mm", "145 deg", 1, 2, "10 deg")`:                              "p",
		`bob_weight("0 g", "0 g", "0 g", "0 g", 0.5)`:                                 "weigh",
		`permissible_unbalance("0 mm/s", "10 kg", "3000 r/min")`:                      "grade",
		`crank_angle("86.5 mm", "178 mm", "90 mm")`:                                   "drop",
		`ring_gap("92 mm", 0.4)`:                                                      "factor",
		`rocker_ratio_at("38 mm", "23 mm", "90 mm", 0.5)`:                             "arm",
		`cycloidal_rise("20 mm", "60 deg", "70 deg")`:                                 "angle",
		`rise_345("20 mm", "60 deg", "-1 deg")`:                                       "angle",
		`bleed_down("30 s", "4 mm", "220 N", "2.2 mm", "0 N", 40)`:                    "force",
		`turn_preload("30 deg", "10 mm", "1.25 mm", "0 N/mm", "100 N/mm")`:            "stiffness",
		`load_share("0 N/mm", "100 N/mm")`:                                            "stiffness",
		`assembly_preload("10 mm", "1.25 mm", "640 MPa", 1.5, 0.12)`:                  "share",
		`liner_left("92 mm", "98 mm")`:                                                "bore",
		`tooth_thinning(24, "2 mm", "20 deg", "3.5 mm", "30 mm")`:                     "size",
		`gasket_crush("1.0 mm", "1.2 mm")`:                                            "crushed",
		`leak_down("80 psi", "90 psi")`:                                               "cylinder",
		`end_play_growth("22 mm", "22e-6 1/K", "5000 K", "11e-6 1/K", "70 K")`:        "rise",
		`bonded_expansion("0 GPa", "3 mm", "1e-6 1/K", "72 GPa", "8 mm", "2e-5 1/K")`: "modulus",
		`spring_rate_from_loads("38 mm", "330 N", "26 mm", "100 N")`:                  "shorter",
		`piston_clearance_hot("0 mm", "91 mm", "1e-5 1/K", "9 K", "2e-5 1/K", "9 K")`: "bore",
		`torque_by_nut_factor("28 kN", "10 mm", 1.2)`:                                 "nut factor",
		`facing_gap("3.6 mm", "-1 mm", "2.86 mm", "15 deg", "15 deg")`:                "lift",
		`equal_lift_centre("170 deg", "40 deg")`:                                      "closing",
		`dead_centre_shift("0 deg", "40 deg")`:                                        "before",
		`counterweight("50 kg", "37 kg", 2, "150 mm", "400 mm")`:                      "factor",
	} {
		_, e, why := evaluate(t, text)
		fn := text[:strings.Index(text, "(")]
		if why == "" || !strings.Contains(why, says) || !strings.Contains(why, fn) {
			t.Errorf("%s: %q, want %q", text, why, says)
		}
		_ = e
	}
}

// sample draws a value of the usual size of a dimension.
func sample(r *rand.Rand, d quantity.Dimension) float64 {
	middle := map[quantity.Dimension]float64{
		quantity.OfLength: 0.02, quantity.OfAngle: 0.6, quantity.OfVolume: 1e-4, quantity.OfNumber: 2, quantity.OfForce: 500, quantity.OfTorque: 40,
		quantity.OfPressure: 1e9, quantity.OfStiffness: 1e6, quantity.OfMass: 0.5, quantity.OfFrequency: 80, quantity.OfTemperatureDifference: 100,
		quantity.OfExpansion: 15e-6, quantity.OfTime: 30, quantity.OfDensity: 7800, quantity.OfSpeed: 6e-3,
	}[d]
	switch r.IntN(12) {
	case 0:
		return 0
	case 1:
		return -middle * r.Float64()
	case 2:
		return math.Pow(10, 60*r.Float64()-30)
	case 3:
		return []float64{math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, math.SmallestNonzeroFloat64}[r.IntN(5)]
	case 4:
		return math.Round(40 * r.Float64())
	}
	return middle * math.Pow(10, 2*r.Float64()-1)
}

// Any numbers at all give a number or an error, and the same ones the same.
func TestAnythingGivesANumberOrAnError(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, e := range Entries() {
		for range 600 {
			args := make([]float64, len(e.Arguments))
			for i, a := range e.Arguments {
				args[i] = sample(r, a.Dimension)
			}
			y, err := e.Evaluate(args)
			if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
				t.Fatalf("%s%v is %v", e.Name, args, y)
			}
			if err != nil && !strings.HasPrefix(err.Error(), e.Name) {
				t.Fatalf("%s%v: %v", e.Name, args, err)
			}
			if again, err2 := e.Evaluate(args); again != y || (err == nil) != (err2 == nil) {
				t.Fatalf("%s%v is %v and then %v", e.Name, args, y, again)
			}
		}
	}
}

// Defaults are values that the functions take.
func TestDefaultsMayBeLeftOut(t *testing.T) {
	for _, f := range check.Glob(t, "testdata/ours/*.check") {
		for _, row := range f.Rows {
			text := strings.ReplaceAll(row.In["formula"], ";", ",")
			name := text[:strings.Index(text, "(")]
			fn := Functions()[name]
			given := strings.Count(row.In["formula"], ";") + 1
			if given == len(fn.Arguments) {
				continue
			}
			for _, a := range fn.Arguments[given:] {
				if !a.HasDefault {
					t.Errorf("%s: %s is left out and has no default", text, a.Name)
				}
				value := quantity.Value{SI: a.Default, Dimension: a.Dimension}
				u := quantity.Unit{Symbol: "1", Factor: 1}
				if !a.Dimension.IsNumber() {
					u = quantity.Metric.Unit(a.Dimension)
				}
				written := u.Text(value.SI, 9)
				if !a.Dimension.IsNumber() {
					written = `"` + written + `"`
				}
				text = strings.TrimSuffix(text, ")") + ", " + written + ")"
			}
			short, _, why1 := evaluate(t, strings.ReplaceAll(row.In["formula"], ";", ","))
			long, _, why2 := evaluate(t, text)
			if why1 != "" || why2 != "" || math.Abs(short-long) > 1e-9*math.Abs(short) {
				t.Errorf("%s is %v with its defaults and %v without (%s%s)", text, long, short, why1, why2)
			}
		}
	}
}

// A formula that calls functions has slopes: those of a bore clearance come out right.
func TestSlopesThroughFunctions(t *testing.T) {
	things := map[string]*formula.Thing{}
	for _, name := range []string{"bore", "stroke"} {
		things[name] = &formula.Thing{Kind: formula.Dimension, Name: name, Dimension: quantity.OfLength}
	}
	e, mistakes := syntax.ParseExpression(syntax.File{Name: "formula", Text: []byte("swept_volume(bore, stroke)")})
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	c, mistakes := formula.Compile(e, &formula.Scope{Things: things, Places: formula.Places{}, Functions: Functions()})
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	g := formula.NewGraph()
	id := g.Add(c, formula.Binder{Places: formula.Places{}})
	v := g.NewValues()
	at := map[string]float64{"bore": 0.092, "stroke": 0.0865}
	for i, in := range g.Inputs {
		v.Input[i], v.InputStatus[i] = at[in.Name], formula.Known
	}
	g.Evaluate(v)
	slope := make([]float64, len(g.Inputs))
	g.Gradient(id, v, slope, nil)
	for i, in := range g.Inputs {
		want := math.Pi / 2 * 0.092 * 0.0865
		if in.Name == "stroke" {
			want = math.Pi / 4 * 0.092 * 0.092
		}
		if math.Abs(slope[i]-want) > 1e-8*want {
			t.Errorf("the slope along %s is %v, want %v", in.Name, slope[i], want)
		}
	}
}
