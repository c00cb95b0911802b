package calc

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"buttonup/quantity"
)

// mayBeZero and mayBeNegative list the values that zero or a sign makes sense for, by
// calculation. They are written down apart from the ranges so that a range which is
// too wide is found.
var mayBeNegative = map[string]string{
	"growth": "rise", "ring-gap": "ring_rise bore_rise", "compression": "deck pockets", "trapped-compression": "deck pockets inlet_closes offset",
	"piston-drop": "angle offset", "valve-events": "inlet_opens inlet_closes exhaust_opens exhaust_closes", "turns": "length",
	"end-play": "target low high", "over-pins": "thinning shift", "crank-truing": "left_angle right_angle", "shaking-force": "crank", "adapter": "angle",
}

var mayBeZero = map[string]string{
	"growth": "length metal coefficient", "ring-gap": "ring_metal bore_metal gap", "compression": "chamber gasket_thickness crevice",
	"trapped-compression": "chamber gasket_thickness crevice", "tightening-torque": "thread_friction head_friction friction",
	"preload": "thread_friction head_friction friction", "adapter": "offset", "wrench-mark": "wrench_min", "spring": "load", "follower": "angle",
	"over-pins": "helix", "crank-truing": "left right target", "bob-weight": "pistons small_ends big_ends cages factor", "shaking-force": "reciprocating v_angle factor",
}

func listed2(table map[string]string, c *Calculation, name string) bool {
	return slices.Contains(strings.Fields(table[c.Name]), name)
}

// unitFor is a unit in which an argument may be written.
func unitFor(a Argument) string {
	if a.form == whole || a.form == perInch || a.dimension.IsNumber() {
		return ""
	}
	return " " + usual(quantity.Metric, a.dimension).Symbol
}

func isNumeric(a Argument) bool {
	return a.form == value || a.form == whole || a.form == perInch || a.form == metal
}

// run computes and makes sure that an error is ours and says what it must.
func run(t testing.TB, c *Calculation, given map[string]string) (*Answer, *Error) {
	t.Helper()
	a, err := c.Run(given)
	if err == nil {
		sound(t, c, a)
		return a, nil
	}
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("%s %v: %T %v is no error of this package", c.Name, given, err, err)
	}
	if e.Argument == "" || e.Says == "" || strings.HasSuffix(e.Says, ".") {
		t.Errorf("%s %v: %+v", c.Name, given, *e)
	}
	for _, bad := range []string{"NaN", "Inf"} {
		written := false
		for _, w := range given {
			written = written || strings.Contains(w, bad)
		}
		if strings.Contains(e.Says, bad) && !written {
			t.Errorf("%s %v: %+v", c.Name, given, *e)
		}
	}
	for _, name := range strings.Split(e.Argument, ", ") {
		if !strings.Contains(e.Says, name) {
			t.Errorf("%s %v: the sentence does not name %s: %s", c.Name, given, name, e.Says)
		}
	}
	return nil, e
}

func with(given map[string]string, name, value string) map[string]string {
	out := map[string]string{}
	for k, v := range given {
		out[k] = v
	}
	out[name] = value
	return out
}

func without(given map[string]string, name string) map[string]string {
	out := with(given, name, "")
	delete(out, name)
	return out
}

func TestNothingGiven(t *testing.T) {
	for _, c := range All() {
		_, e := run(t, c, nil)
		switch {
		case e == nil:
			t.Errorf("%s computes something of nothing", c.Name)
		case !e.Usage:
			t.Errorf("%s: what is missing is no wrong value: %+v", c.Name, *e)
		default:
			if _, ok := c.Argument(e.Argument); !ok {
				t.Errorf("%s misses %q, which is no argument", c.Name, e.Argument)
			}
		}
	}
}

func TestWhatIsMissingIsNamed(t *testing.T) {
	for _, c := range All() {
		for _, s := range wholeSets[c.Name] {
			whole := set(t, s)
			for name := range whole {
				a, e := run(t, c, without(whole, name))
				if a == nil && !e.Usage {
					t.Errorf("%s without %s: %+v", c.Name, name, *e)
				}
				if c.Required(name) && (e == nil || e.Argument != name) {
					t.Errorf("%s needs %s, and without it says %+v", c.Name, name, e)
				}
			}
		}
	}
}

func TestUnknownArguments(t *testing.T) {
	for _, c := range All() {
		whole := set(t, wholeSets[c.Name][0])
		if _, e := run(t, c, with(whole, "colour", "red")); e == nil || !e.Usage || e.Argument != "colour" {
			t.Errorf("%s takes a colour: %+v", c.Name, e)
		}
		first := c.Arguments[0].Name
		misspelt := first[:len(first)-2] + first[len(first)-1:] + first[len(first)-2:len(first)-1]
		if _, known := c.Argument(misspelt); known || len(first) < 5 {
			continue
		}
		if _, e := run(t, c, with(whole, misspelt, "1")); e == nil || !strings.Contains(e.Do, first) {
			t.Errorf("%s does not offer %s for %s: %+v", c.Name, first, misspelt, e)
		}
	}
	if _, err := Find("displacment"); err == nil || !strings.Contains(err.Error(), "displacement") {
		t.Errorf("%v", err)
	}
}

func TestWrongValues(t *testing.T) {
	for _, c := range All() {
		for _, s := range wholeSets[c.Name] {
			whole := set(t, s)
			for name := range whole {
				a, _ := c.Argument(name)
				refused := func(value string, hold ...string) {
					t.Helper()
					_, e := run(t, c, with(whole, name, value))
					if e == nil {
						t.Errorf("%s takes %s=%q", c.Name, name, value)
						return
					}
					if !slices.Contains(strings.Split(e.Argument, ", "), name) {
						t.Errorf("%s %s=%q: the error names %q", c.Name, name, value, e.Argument)
					}
					for _, h := range hold {
						if !strings.Contains(e.Says, h) {
							t.Errorf("%s %s=%q: the sentence lacks %q: %s", c.Name, name, value, h, e.Says)
						}
					}
				}
				refused("")
				refused("nonsense")
				refused("NaN")
				refused("Inf")
				if !isNumeric(a) {
					continue
				}
				u := unitFor(a)
				// The wrong unit is told with the value and what is allowed.
				refused("3 degC", "3 degC", "must be")
				if u != "" && a.bareIn == "" {
					refused("3", `"3"`, "must be")
				}
				if u != " N" {
					refused("3 N", "3 N", "must be")
				}
				if a.Takes() != "" && a.form != metal {
					refused("3 degC", a.Takes())
				}
				refused("NaN"+u, "must be")
				refused("1e29"+u, "1e29"+u, "must be")
				refused("-1e29"+u, "-1e29"+u, "must be")
				refused("1e40" + u)
				refused("1,5" + u)
				refused("1 .. 2" + u)
				refused("5"+u+" ± 1"+u, "±")
				mayNegate, mayVanish := listed2(mayBeNegative, c, name), listed2(mayBeNegative, c, name) || listed2(mayBeZero, c, name)
				if !mayNegate {
					refused("-5"+u, "-5"+u, "must be")
					refused("-0.001"+u, "must be")
				} else {
					run(t, c, with(whole, name, "-0.001"+u))
				}
				if !mayVanish {
					refused("0"+u, "0"+u, "must be")
					refused("1e-29"+u, "1e-29"+u, "must be")
				} else {
					run(t, c, with(whole, name, "0"+u))
				}
			}
		}
	}
}

// Arguments that are each allowed and impossible together.
func TestImpossibleTogether(t *testing.T) {
	for _, c := range []struct{ name, given, argument string }{
		{"piston-drop", "stroke=400 mm|rod=50 mm|angle=10 deg", "rod, stroke"},
		{"piston-drop", "stroke=100 mm|rod=60 mm|angle=10 deg|offset=20 mm", "rod, stroke, offset"},
		{"trapped-compression", "stroke=4 in|rod=1 in|inlet_closes=10 deg", "rod, stroke"},
		{"compression", "bore=92 mm|stroke=80 mm|chamber=20 cc|pockets=-20 cc", "chamber, gasket_thickness, deck, pockets"},
		{"tightening-torque", "thread=M10|preload=20 kN|friction=0.12|head=10 mm|hole=11 mm", "head, hole"},
		{"preload", "thread=M10|torque=43 N·m|friction=0.12|head=10 mm|hole=11 mm", "head, hole"},
		{"tightening-torque", "thread=M10|preload=20 kN|nut_factor=0.01", "nut_factor, thread"},
		{"proof-load", "thread=M10|grade=SAE 8", "thread, grade"},
		{"preload", "thread=M10|torque=43 N·m|nut_factor=0.2|grade=SAE 5", "thread, grade"},
		{"adapter", "torque=43 N·m|wrench=400 mm|offset=500 mm|angle=180 deg", "wrench, offset, angle"},
		{"wrench-mark", "torque=43 N·m|wrench_min=80 N·m|wrench_max=60 N·m|graduation=1 N·m", "wrench_min, wrench_max"},
		{"wrench-mark", "torque=43 N·m|wrench_min=5 N·m|wrench_max=60 N·m|graduation=100 N·m", "graduation, wrench_min, wrench_max"},
		{"follower", "motion=harmonic|lift=4 cm|span=60 deg|angle=70 deg", "angle, span"},
		{"spring", "wire=4 mm|mean_diameter=6 mm|active=6|modulus=80 GPa", "mean_diameter, wire"},
		{"spring", "rate=33 N/mm|free=40 mm|installed=48 mm", "installed, free"},
		{"spring", "rate=33 N/mm|free=40 mm|open=48 mm", "open, free"},
		{"spring", "installed=30 mm|open=31 mm|solid=20 mm", "open, installed"},
		{"spring", "installed=30 mm|open=29 mm|solid=31 mm", "solid, installed"},
		{"turns", "length=100 mm|pitch=0.002 mm", "length, pitch"},
		{"end-play", "trial=2.7 mm|play=0.215 mm|target=0.2 mm|low=0.03 mm|high=0.08 mm|kit=2.5 .. 2.95 by 0.025 mm|sense=thicker-more", "target, low, high"},
		{"end-play", "trial=2.7 mm|play=0.215 mm|target=0.05 mm|low=0.09 mm|high=0.08 mm|kit=2.5 .. 2.95 by 0.025 mm|sense=thicker-more", "low, high"},
		{"end-play", "trial=2.7 mm|play=0.215 mm|target=0.05 mm|low=0.049 mm|high=0.051 mm|kit=2.5 .. 2.95 by 0.025 mm|sense=thicker-less", "kit, trial, play, low, high, sense"},
		{"shaking-force", "reciprocating=1 kg|stroke=80 mm|rod=20 mm|speed=1000 r/min|crank=0 deg", "rod, stroke"},
		{"over-pins", "teeth=20|module=2 mm|pressure_angle=20 deg|pin=0.2 mm", "pin, module, teeth"},
		{"over-pins", "teeth=20|diametral_pitch=12|pressure_angle=20 deg|pin=9 in", "pin, diametral_pitch, teeth"},
		{"over-pins", "teeth=20|module=2 mm|pressure_angle=20 deg|pin=3.5 mm|thinning=4 mm|shift=0.1", "thinning, shift, module"},
		{"bob-weight", "pistons=0 g|small_ends=0 g|big_ends=0 g|cages=0 g|factor=0.5", "pistons, small_ends, big_ends, cages"},
		{"valve-events", "inlet_opens=-100 deg|inlet_closes=-90 deg", "inlet_opens, inlet_closes"},
	} {
		k, err := Find(c.name)
		if err != nil {
			t.Fatal(err)
		}
		given := set(t, c.given)
		_, e := run(t, k, given)
		if e == nil || e.Argument != c.argument || e.Usage {
			t.Errorf("%s %s: %+v, want %s", c.name, c.given, e, c.argument)
			continue
		}
		for _, name := range strings.Split(c.argument, ", ") {
			if w, ok := given[name]; ok && !strings.Contains(e.Says, w) {
				t.Errorf("%s: the sentence lacks %s %s: %s", c.name, name, w, e.Says)
			}
		}
	}
}

// Two ways to give one thing are refused, naming both, not one of them picked.
func TestTwoWaysAtOnce(t *testing.T) {
	for _, c := range []struct{ name, given, argument string }{
		{"tightening-torque", "thread=M10|preload=20 kN|nut_factor=0.2|friction=0.1", "friction, nut_factor"},
		{"preload", "thread=M10|torque=20 N·m|nut_factor=0.2|head_friction=0.1", "head_friction, nut_factor"},
		{"preload", "thread=M10|torque=20 N·m|friction=0.1|thread_friction=0.1|head_friction=0.1", "friction, thread_friction, head_friction"},
		{"growth", "length=1 m|metal=steel|coefficient=12e-6 1/K|rise=10 K", "metal, coefficient"},
		{"turns", "length=2 mm|pitch=1 mm|tpi=24", "pitch, tpi"},
		{"ring-gap", "bore=92 mm|factor=0.004|gap=0.4 mm", "factor, gap"},
		{"over-pins", "teeth=20|module=2 mm|diametral_pitch=12|pressure_angle=20 deg|pin=3.5 mm", "module, diametral_pitch"},
	} {
		k, err := Find(c.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, e := run(t, k, set(t, c.given)); e == nil || e.Argument != c.argument || !e.Usage {
			t.Errorf("%s %s: %+v, want %s", c.name, c.given, e, c.argument)
		}
	}
}

func TestHalfAGasketIsRefused(t *testing.T) {
	for given, missing := range map[string]string{
		"bore=92 mm|stroke=80 mm|chamber=60 cc|gasket_bore=93 mm":         "gasket_thickness",
		"bore=92 mm|stroke=80 mm|chamber=60 cc|gasket_thickness=1 mm":     "gasket_bore",
		"bore=92 mm|stroke=80 mm|chamber=60 cc|gasket_thickness=0 mm":     "",
		"bore=92 mm|stroke=80 mm|chamber=60 cc":                           "",
		"bore=92 mm|chamber=60 cc|gasket_thickness=1 mm|gasket_bore=9 cm": "",
	} {
		c, _ := Find("compression")
		_, e := run(t, c, set(t, given))
		if missing == "" && e != nil || missing != "" && (e == nil || e.Argument != missing || !e.Usage) {
			t.Errorf("%s: %+v, want %q missing", given, e, missing)
		}
	}
}

func TestNotesSayWhatWasTakenForGranted(t *testing.T) {
	for _, c := range []struct{ name, given, note string }{
		{"compression", "bore=92 mm|stroke=80 mm|chamber=60 cc", "no head gasket"},
		{"bob-weight", "big_ends=944 g", "no cages"},
		{"preload", "thread=M10|torque=43 N·m|thread_friction=0.12|head=16 mm|hole=11 mm", "head_friction is taken to be the same"},
		{"preload", "thread=M10|torque=430 N·m|nut_factor=0.2|grade=8.8", "beyond the proof load"},
		{"tightening-torque", "thread=M10|preload=20 kN|nut_factor=0.2|head=16 mm", "not used: head"},
		{"growth", "length=1 m|metal=steel|rise=10 K", "11.7e-6 1/K"},
		{"spring", "open=22 mm|solid=23 mm", "bind"},
		{"ring-gap", "bore=92 mm|factor=0.004|ring_rise=300 K|bore_rise=130 K|ring_metal=12e-6 1/K|bore_metal=17e-6 1/K", "butt"},
		{"shaking-force", "reciprocating=1 kg|stroke=80 mm|rod=160 mm|speed=1000 r/min|crank=10 deg", "one cylinder"},
		{"crank-truing", "left=0.08 mm|left_angle=85 deg|right=0.07 mm|right_angle=268 deg", "rap the rim of the left wheel at 90.0 deg"},
		{"stress-area", "thread=M10x1.3", "no such pitch"},
		{"wrench-mark", "torque=43 N·m|graduation=1 N·m", "range of the wrench"},
	} {
		k, _ := Find(c.name)
		a, e := run(t, k, set(t, c.given))
		if e != nil || !strings.Contains(strings.Join(a.Notes, "\n"), c.note) {
			t.Errorf("%s %s: no note %q: %v %v", c.name, c.given, c.note, a, e)
		}
	}
}
