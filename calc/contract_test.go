package calc

import (
	"encoding/json"
	"math"
	"sort"
	"strings"
	"testing"
)

// contract lists what scripts rely on: arguments and outputs by calculation. A name may
// be added to a calculation and never taken from this list.
var contract = map[string]struct{ arguments, outputs string }{
	"stress-area":         {"thread", "area pitch pitch_diameter minor_diameter"},
	"proof-load":          {"thread grade", "proof_load proof_stress"},
	"tightening-torque":   {"thread preload thread_friction head_friction head hole nut_factor", "torque pitch_share thread_share head_share"},
	"preload":             {"thread torque thread_friction head_friction head hole nut_factor grade", "preload stress proof_share"},
	"thread-strip":        {"thread engagement bolt_strength tapped_strength worst_case", "bolt_area tapped_area bolt_load tapped_load needed_engagement weaker"},
	"adapter":             {"torque wrench offset angle", "setting factor"},
	"wrench-mark":         {"torque wrench_min wrench_max graduation unit", "mark error warning"},
	"growth":              {"length metal coefficient rise", "growth"},
	"displacement":        {"bore stroke cylinders", "each total"},
	"compression":         {"bore stroke chamber gasket_bore gasket_thickness deck pockets", "ratio clearance_volume"},
	"trapped-compression": {"bore stroke chamber gasket_bore gasket_thickness deck pockets rod inlet_closes", "ratio trapped_stroke"},
	"piston-drop":         {"stroke rod angle offset", "drop"},
	"dead-centre":         {"before after", "shift"},
	"valve-events":        {"inlet_opens inlet_closes exhaust_opens exhaust_closes", "inlet_duration exhaust_duration inlet_centre exhaust_centre separation overlap"},
	"follower":            {"motion lift span angle speed", "lift velocity acceleration jerk"},
	"spring":              {"wire mean_diameter active modulus density free installed open solid load", "rate installed_load open_load bind_margin stress surge"},
	"turns":               {"length pitch tpi", "turns flats"},
	"ring-gap":            {"bore factor ring_rise bore_rise ring_metal bore_metal", "gap closure hot_gap"},
	"end-play":            {"trial play target low high kit sense", "spacer result second second_result"},
	"over-pins":           {"teeth module diametral_pitch pressure_angle pin thinning helix", "size slope"},
	"crank-truing":        {"left left_angle right right_angle", "bow bow_angle twist throw cure"},
	"bob-weight":          {"pistons small_ends big_ends cages factor", "bob reciprocating rotating"},
	"shaking-force":       {"reciprocating stroke rod speed v_angle factor crank", "primary_x primary_y secondary_x secondary_y"},
	"residual-unbalance":  {"grade mass speed", "permissible eccentricity"},
	"flatness":            {"points", "minimum_zone least_squares twist"},
}

// wholeSets hold arguments with which a calculation gives all outputs of the contract;
// several where there are several ways to give one thing.
var wholeSets = map[string][]string{
	"stress-area":       {"thread=M10x1.25"},
	"proof-load":        {"thread=M10|grade=8.8"},
	"tightening-torque": {"thread=M10|preload=25 kN|thread_friction=0.12|head_friction=0.14|head=16 mm|hole=11 mm", "thread=3/8-16|preload=5000 lbf|friction=0.15|head=0.56 in|hole=0.4 in"},
	"preload": {"thread=M10|torque=43 N·m|thread_friction=0.12|head_friction=0.14|head=16 mm|hole=11 mm|grade=8.8",
		"thread=3/8-16|torque=31 ft-lb|nut_factor=0.2|grade=SAE 5"},
	"thread-strip":        {"thread=M10|engagement=20 mm|bolt_strength=800 MPa|tapped_strength=230 MPa|worst_case=true"},
	"adapter":             {"torque=43 N·m|wrench=400 mm|offset=50 mm|angle=45 deg"},
	"wrench-mark":         {"torque=43 N·m|wrench_min=5 N·m|wrench_max=60 N·m|graduation=0.5 N·m|unit=ft-lb"},
	"growth":              {"length=128 mm|coefficient=20.5e-6 1/K|rise=130 K", "length=128 mm|metal=cast aluminium|rise=130 K"},
	"displacement":        {"bore=92 mm|stroke=86.5 mm|cylinders=2"},
	"compression":         {"bore=92 mm|stroke=86.5 mm|chamber=62.5 cc|gasket_bore=93.5 mm|gasket_thickness=1.14 mm|deck=0.2 mm|pockets=4 cc|crevice=0.47 cc"},
	"trapped-compression": {"bore=92 mm|stroke=86.5 mm|chamber=62.5 cc|gasket_bore=93.5 mm|gasket_thickness=1.14 mm|deck=0.2 mm|pockets=4 cc|crevice=0.47 cc|rod=178 mm|inlet_closes=62 deg|offset=1 mm"},
	"piston-drop":         {"stroke=86.5 mm|rod=178 mm|angle=20 deg|offset=1 mm"},
	"dead-centre":         {"before=24 deg|after=26 deg"},
	"valve-events":        {"inlet_opens=12 deg|inlet_closes=46 deg|exhaust_opens=50 deg|exhaust_closes=10 deg"},
	"follower":            {"motion=3-4-5|lift=7.6 mm|span=70 deg|angle=20 deg|speed=2750 r/min"},
	"spring": {"wire=4.5 mm|mean_diameter=28 mm|active=6|modulus=80 GPa|density=7850 kg/m3|free=48 mm|installed=38 mm|open=25.69 mm|solid=23.4 mm|load=700 N",
		"wire=4.5 mm|mean_diameter=28 mm|active=6|rate=33 N/mm|free=48 mm|installed=38 mm|open=25.69 mm|solid=23.4 mm|load=700 N"},
	"turns": {"length=2.2 mm|pitch=1 mm", "length=2.2 mm|tpi=24"},
	"ring-gap": {"bore=92 mm|factor=0.004|ring_rise=200 K|bore_rise=120 K|ring_metal=12e-6 1/K|bore_metal=17e-6 1/K",
		"bore=92 mm|gap=0.4 mm|ring_rise=200 K|bore_rise=120 K|ring_metal=grey iron|bore_metal=cast aluminium"},
	"end-play":           {"trial=2.700 mm|play=0.215 mm|target=0.050 mm|low=0.03 mm|high=0.08 mm|kit=2.500 .. 2.950 by 0.025 mm|sense=thicker-more"},
	"over-pins":          {"teeth=24|module=2 mm|pressure_angle=20 deg|pin=3.5 mm|thinning=0.0075 mm|helix=10 deg|shift=0.1", "teeth=20|diametral_pitch=12|pressure_angle=20 deg|pin=0.144 in|thinning=0.001 in"},
	"crank-truing":       {"left=0.06 mm|left_angle=20 deg|right=0.05 mm|right_angle=340 deg|target=0.02 mm"},
	"bob-weight":         {"pistons=1132 g|small_ends=412 g|big_ends=944 g|cages=92 g|factor=0.58"},
	"shaking-force":      {"reciprocating=0.772 kg|stroke=86.5 mm|rod=178 mm|speed=5500 r/min|v_angle=48 deg|factor=0.58|crank=30 deg"},
	"residual-unbalance": {"grade=G 6.3|mass=12 kg|speed=5500 r/min"},
	"flatness":           {"points=0,0,0.02; 100,0,0; 100,60,0.03; 0,60,0.01"},
}

// set reads arguments parted by bars.
func set(t testing.TB, text string) map[string]string {
	t.Helper()
	given, ok := arguments(strings.Split(text, "|"))
	if !ok {
		t.Fatalf("%q is not name=value", text)
	}
	return given
}

// arguments takes a list of name=value apart.
func arguments(list []string) (map[string]string, bool) {
	given := map[string]string{}
	for _, s := range list {
		name, value, ok := strings.Cut(s, "=")
		if _, twice := given[name]; !ok || twice {
			return nil, false
		}
		given[name] = value
	}
	return given, true
}

func TestContract(t *testing.T) {
	var names []string
	for _, c := range All() {
		names = append(names, c.Name)
		want, ok := contract[c.Name]
		if !ok {
			t.Errorf("%s is not in the contract", c.Name)
			continue
		}
		for _, a := range strings.Fields(want.arguments) {
			if _, ok := c.Argument(a); !ok {
				t.Errorf("%s lost its argument %s", c.Name, a)
			}
		}
		outputs := map[string]bool{}
		for _, o := range c.Outputs {
			outputs[o.Name] = !o.Beside
		}
		for _, o := range strings.Fields(want.outputs) {
			if !outputs[o] {
				t.Errorf("%s lost its output %s", c.Name, o)
			}
		}
	}
	if len(names) != len(contract) {
		t.Errorf("there are %d calculations, and the contract has %d", len(names), len(contract))
	}
	sort.Strings(names)
	for i := range names[1:] {
		if names[i] == names[i+1] {
			t.Errorf("%s stands twice", names[i])
		}
	}
}

func TestDeclarationsHoldTogether(t *testing.T) {
	for _, c := range All() {
		if c.Summary == "" || c.Source == "" || len(c.Example) == 0 || c.ExampleFrom == "" {
			t.Errorf("%s lacks summary, source or example", c.Name)
		}
		seen := map[string]bool{}
		for _, a := range c.Arguments {
			if seen[a.Name] || a.Name == "" || a.Is == "" {
				t.Errorf("%s: argument %q is named twice or not explained", c.Name, a.Name)
			}
			seen[a.Name] = true
			if a.Takes() == "" && a.form != text {
				t.Errorf("%s: %s does not say what it takes", c.Name, a.Name)
			}
		}
		for _, o := range c.Outputs {
			if len(o.Needs) == 0 || o.Is == "" {
				t.Errorf("%s: %s needs nothing or is not explained", c.Name, o.Name)
			}
			for _, needs := range o.Needs {
				for _, n := range needs {
					if !seen[n] {
						t.Errorf("%s: %s needs %s, which is no argument", c.Name, o.Name, n)
					}
				}
			}
		}
	}
}

func TestWholeSetsGiveAllOutputs(t *testing.T) {
	for _, c := range All() {
		sets := wholeSets[c.Name]
		if len(sets) == 0 {
			t.Errorf("%s has no whole set", c.Name)
		}
		for _, s := range sets {
			a, err := c.Run(set(t, s))
			if err != nil {
				t.Errorf("%s %s: %v", c.Name, s, err)
				continue
			}
			for _, o := range strings.Fields(contract[c.Name].outputs) {
				if _, ok := a.Figure(o); !ok && !(o == "thread_share" || o == "head_share") {
					t.Errorf("%s %s: no %s", c.Name, s, o)
				}
			}
			sound(t, c, a)
		}
	}
}

// sound checks what must hold for every answer.
func sound(t testing.TB, c *Calculation, a *Answer) {
	t.Helper()
	declared, seen := map[string]bool{}, map[string]bool{}
	for _, o := range c.Outputs {
		declared[o.Name] = true
	}
	if len(a.Figures) == 0 {
		t.Errorf("%s %v: an answer without a figure", c.Name, a.Inputs)
	}
	for _, f := range a.Figures {
		if !declared[f.Name] || seen[f.Name] {
			t.Errorf("%s: output %s is not declared or stands twice", c.Name, f.Name)
		}
		seen[f.Name] = true
		if f.SI != nil && (math.IsNaN(*f.SI) || math.IsInf(*f.SI, 0)) {
			t.Errorf("%s %v: %s is %v", c.Name, a.Inputs, f.Name, *f.SI)
		}
		if f.Text == "" || strings.ContainsAny(f.Text, "?") || strings.Contains(f.Text, "NaN") || strings.Contains(f.Text, "Inf") {
			t.Errorf("%s %v: %s reads %q", c.Name, a.Inputs, f.Name, f.Text)
		}
	}
	b, err := json.Marshal(a)
	if err != nil {
		t.Errorf("%s %v: %v", c.Name, a.Inputs, err)
	}
	var back struct {
		Name    string
		Outputs map[string]struct {
			SI   *float64
			Text string
		}
	}
	if err := json.Unmarshal(b, &back); err != nil || back.Name != c.Name || len(back.Outputs) != len(a.Figures) {
		t.Errorf("%s: JSON %s: %v", c.Name, b, err)
	}
}

func TestPartsAreGivenWhenTheyCanBe(t *testing.T) {
	for _, c := range []struct{ name, given, want string }{
		{"displacement", "bore=92 mm|stroke=86.5 mm", "each"},
		{"adapter", "wrench=400 mm|offset=50 mm", "factor"},
		{"adapter", "wrench=400 mm|torque=43 N·m", "setting factor"},
		{"compression", "bore=92 mm|chamber=62.5 cc", "clearance_volume"},
		{"trapped-compression", "stroke=86.5 mm|rod=178 mm|inlet_closes=62 deg", "trapped_stroke"},
		{"valve-events", "inlet_opens=12 deg|exhaust_closes=10 deg", "overlap"},
		{"valve-events", "inlet_opens=12 deg|inlet_closes=46 deg", "inlet_duration inlet_centre"},
		{"follower", "motion=harmonic|lift=8 mm|span=60 deg|angle=10 deg", "lift"},
		{"spring", "open=26 mm|solid=24 mm", "bind_margin"},
		{"spring", "rate=33 N/mm|free=48 mm|open=26 mm", "rate open_load"},
		{"spring", "wire=2 mm|mean_diameter=16 mm|load=50 N", "stress"},
		{"thread-strip", "thread=M10|engagement=20 mm", "bolt_area tapped_area"},
		{"thread-strip", "thread=M10|engagement=20 mm|tapped_strength=230 MPa", "bolt_area tapped_area tapped_load"},
		{"thread-strip", "thread=M10|bolt_strength=800 MPa|tapped_strength=230 MPa", "needed_engagement breaking_load"},
		{"ring-gap", "bore=92 mm|factor=0.004", "gap"},
		{"ring-gap", "bore=92 mm|ring_rise=200 K|bore_rise=120 K|ring_metal=steel|bore_metal=grey iron", "closure"},
		{"bob-weight", "pistons=1132 g|small_ends=412 g", "reciprocating"},
		{"bob-weight", "big_ends=944 g", "rotating"},
		{"shaking-force", "reciprocating=1 kg|stroke=80 mm|speed=1000 r/min|factor=0.5|crank=10 deg", "primary_x primary_y"},
		{"shaking-force", "reciprocating=1 kg|stroke=80 mm|rod=160 mm|speed=1000 r/min|crank=10 deg", "secondary_x secondary_y"},
		{"residual-unbalance", "grade=G 6.3|speed=3000 r/min", "eccentricity"},
		{"wrench-mark", "torque=43 N·m|graduation=1 N·m", "mark error"},
		{"preload", "thread=M10|torque=43 N·m|nut_factor=0.2", "preload stress"},
		{"crank-truing", "left=0 mm|right=0.04 mm|right_angle=90 deg", "bow bow_angle twist throw cure"},
		{"end-play", "trial=2.7 mm|play=0.215 mm|target=0.05 mm|low=0.045 mm|high=0.06 mm|kit=2.500 .. 2.900 by 0.04 mm|sense=thicker-more", "spacer result wanted"},
		{"flatness", "points=0,0,0; 1,0,2; 2,0,4; 0,1,1; 1,1,5", "minimum_zone least_squares"},
		{"flatness", "points=0,0,0; 10,0,0; 5,9,0; 5,3,0.1", "minimum_zone least_squares"},
	} {
		k, err := Find(c.name)
		if err != nil {
			t.Fatal(err)
		}
		a, err := k.Run(set(t, c.given))
		if err != nil {
			t.Errorf("%s %s: %v", c.name, c.given, err)
			continue
		}
		var got []string
		for _, f := range a.Figures {
			got = append(got, f.Name)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s %s gives %v, want %s", c.name, c.given, got, c.want)
		}
		sound(t, k, a)
	}
}

// An answer is read in the units of what was written.
func TestInchInInchOut(t *testing.T) {
	for _, c := range []struct{ name, given, output, want string }{
		{"piston-drop", "stroke=4 in|rod=7.5 in|angle=90 deg", "drop", "2.2716 in"},
		{"displacement", "bore=4 in|stroke=3 in", "each", "37.699 cu in"},
		{"displacement", "bore=92 mm|stroke=86.5 mm", "each", "575.02 cc"},
		{"preload", "thread=3/8-16|torque=31 ft-lb|nut_factor=0.2", "preload", "4960 lbf"},
		{"tightening-torque", "thread=M10|preload=5000 lbf|nut_factor=0.2", "torque", "32.8 ft-lb"},
		{"proof-load", "thread=3/8-16|grade=SAE 8", "proof_stress", "120000 psi"},
		{"stress-area", "thread=3/8-16", "area", "0.0775 sq in"},
		{"adapter", "wrench=10 in|offset=4 in|torque=300 in-lb", "setting", "214.3 in-lb"},
		{"wrench-mark", "torque=43 N·m|graduation=0.5|unit=ft-lb", "mark", "31.5 ft-lb"},
		{"follower", "motion=harmonic|lift=0.3 in|span=60 deg|angle=30 deg|speed=1000 r/min", "velocity", "47.12 in/s"},
		{"bob-weight", "pistons=40 oz|small_ends=14 oz", "reciprocating", "54.00 oz"},
		{"compression", "bore=92 mm|stroke=86.5 mm|chamber=62.5 cc", "ratio", "10.20"},
		{"dead-centre", "before=24 deg|after=26 deg", "shift", "1.0 deg"},
		{"spring", "wire=0.037 in|mean_diameter=0.4 in|active=10.5|modulus=11850 ksi", "rate", "4.131 lbf/in"},
		{"tightening-torque", "thread=M10|preload=20 kN|friction=0|head=16 mm|hole=11 mm", "pitch_share", "100.0 %"},
	} {
		k, err := Find(c.name)
		if err != nil {
			t.Fatal(err)
		}
		a, err := k.Run(set(t, c.given))
		if err != nil {
			t.Errorf("%s %s: %v", c.name, c.given, err)
			continue
		}
		if f, _ := a.Figure(c.output); f.Text != c.want {
			t.Errorf("%s %s: %s reads %q, want %q", c.name, c.given, c.output, f.Text, c.want)
		}
	}
}
