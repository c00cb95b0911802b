package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"buttonup/quantity"
)

// What a formula must never let through is stopped once more before it is told.
func TestNoAnswerWithoutANumber(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		c := &Calculation{
			Name: "broken", Arguments: []Argument{size("bore", "a bore")}, Outputs: []Output{{Name: "area", Needs: [][]string{{"bore"}}}},
			compute: func(_ *inputs, out *Answer) error {
				out.value("area", x, quantity.MustUnit("mm2"))
				return nil
			},
		}
		a, err := c.Run(map[string]string{"bore": "92 mm"})
		e, ok := err.(*Error)
		if a != nil || !ok || e.Argument != "bore" || !strings.Contains(e.Says, "bore 92 mm") || !strings.Contains(e.Says, "area") {
			t.Errorf("%v became %v, %v", x, a, err)
		}
	}
}

// A calculation may take arguments of any name and give shares.
func TestOpenCalculation(t *testing.T) {
	c := &Calculation{
		Name: "shares", Open: true, Arguments: []Argument{written("formula", "what to add up")}, Outputs: []Output{{Name: "drivers", Needs: [][]string{{"formula"}}}},
		compute: func(in *inputs, out *Answer) error {
			out.Figures = append(out.Figures, Figure{Name: "drivers", Shares: []Share{{"bore", 0.75}, {"skirt", 0.25}}})
			out.word("of", in.written["bore"])
			return nil
		},
	}
	a, err := c.Run(map[string]string{"formula": "bore - skirt", "bore": "92 mm <&>"})
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(a)
	want := `{"name":"shares","inputs":{"bore":"92 mm <&>","formula":"bore - skirt"},"outputs":{"drivers":[{"name":"bore","share":0.75},{"name":"skirt","share":0.25}],"of":{"text":"92 mm <&>"}},"source":"","notes":[]}`
	var compact, again any
	if err != nil || json.Unmarshal(b, &compact) != nil || json.Unmarshal([]byte(want), &again) != nil {
		t.Fatalf("%s %v", b, err)
	}
	first, _ := json.Marshal(compact)
	second, _ := json.Marshal(again)
	if string(first) != string(second) {
		t.Errorf("%s, want %s", first, second)
	}
}

func TestTextOf(t *testing.T) {
	for _, c := range []struct {
		x          float64
		unit, want string
	}{
		{0.040, "mm", "0.040 mm"}, {0.0026850187, "mm", "0.0027 mm"}, {92.004, "mm", "92.004 mm"}, {0, "mm", "0.000 mm"}, {-1e-17, "mm", "0.000 mm"},
		{0.33491, "in", "0.3349 in"}, {2, "deg", "2.0 deg"}, {0.999999999999999, "deg", "1.0 deg"}, {28700.4, "N", "28700 N"}, {480.02, "N", "480.0 N"},
		{3.24e-7, "mm", "3.240e-07 mm"}, {4.56e12, "N", "4.560e+12 N"}, {-38.222, "N·m", "-38.2 N·m"}, {0.5612, "N·m", "0.561 N·m"}, {1931.52, "g", "1931.5 g"},
	} {
		u := quantity.MustUnit(c.unit)
		if got := textOf(u.SI(c.x), u); got != c.want {
			t.Errorf("%v %s reads %q, want %q", c.x, c.unit, got, c.want)
		}
	}
}

func TestSystemOf(t *testing.T) {
	for unit, want := range map[string]quantity.System{
		"mm": quantity.Metric, "in": quantity.Inch, "min": quantity.Metric, "ft-lb": quantity.Inch, "in-lb": quantity.Inch, "N·m": quantity.Metric, "lbf/in": quantity.Inch,
		"N/mm": quantity.Metric, "psi": quantity.Inch, "bar": quantity.Metric, "lb/in3": quantity.Inch, "kg/m3": quantity.Metric, "cu in": quantity.Inch, "cc": quantity.Metric,
		"thou": quantity.Inch, "oz": quantity.Inch, "g": quantity.Metric, "r/min": quantity.Metric, "deg": quantity.Metric, "imp pt": quantity.Inch, "kgf·m": quantity.Metric,
	} {
		if got := systemOf(quantity.MustUnit(unit)); got != want {
			t.Errorf("%s is %s, want %s", unit, got, want)
		}
	}
}

// Ways to write an argument that are taken besides the plain one.
func TestOtherWaysToWrite(t *testing.T) {
	for _, c := range []struct{ name, one, other string }{
		{"turns", "length=2.2 mm|tpi=24", "length=2.2 mm|tpi=24 1/in"},
		{"over-pins", "teeth=20|diametral_pitch=12|pressure_angle=20 deg|pin=0.144 in", "teeth=20|diametral_pitch=12 1/in|pressure_angle=20 deg|pin=0.144 in"},
		{"wrench-mark", "torque=43 N·m|wrench_min=5 ft-lb|wrench_max=75 ft-lb|graduation=0.5 ft-lb", "torque=43 N·m|wrench_min=5|wrench_max=75|graduation=0.5|unit=ft-lb"},
		{"growth", "length=1 m|metal=steel|rise=10 K", "length=1 m|metal=11.7e-6 1/K|rise=10 K"},
		{"bob-weight", "pistons=1132 g|small_ends=412 g|big_ends=944 g|factor=0.58", "pistons=1132 g|small_ends=412 g|big_ends=944 g|factor=58 %"},
		{"displacement", "bore=92 mm|stroke=86.5 mm", "bore= 92 mm |stroke=8.65 cm"},
		{"preload", "thread=M10|torque=43 N·m|friction=0.12|head=16 mm|hole=11 mm", "thread=M10x1.5|torque=43 N·m|thread_friction=0.12|head_friction=0.12|head=16 mm|hole=11 mm"},
		{"crank-truing", "left=0.08 mm|left_angle=85 deg|right=0.07 mm|right_angle=268 deg", "left=0.08 mm|left_angle=85 deg|right=0.07 mm|right_angle=-92 deg"},
	} {
		k, err := Find(c.name)
		if err != nil {
			t.Fatal(err)
		}
		a, e1 := run(t, k, set(t, c.one))
		b, e2 := run(t, k, set(t, c.other))
		if e1 != nil || e2 != nil {
			t.Errorf("%s: %v %v", c.name, e1, e2)
			continue
		}
		for i, f := range a.Figures {
			g := b.Figures[i]
			if f.Name != g.Name || f.SI != nil && math.Abs(*f.SI-*g.SI) > 1e-12*math.Abs(*f.SI)+1e-18 || f.SI == nil && f.Text != g.Text {
				t.Errorf("%s: %s is %v and %v", c.name, f.Name, f.Text, g.Text)
			}
		}
	}
	c, _ := Find("shaking-force")
	if _, e := run(t, c, set(t, "reciprocating=1 kg|stroke=80 mm|rod=160 mm|speed=100 rad/s|crank=10 deg")); e == nil || e.Argument != "speed" {
		t.Errorf("100 rad/s is taken for 100 turns a second: %+v", e)
	}
}

// Laws that hold whatever the figures.
func TestLaws(t *testing.T) {
	figure := func(name, given, output string) float64 {
		t.Helper()
		c, err := Find(name)
		if err != nil {
			t.Fatal(err)
		}
		a, e := run(t, c, set(t, given))
		if e != nil {
			t.Fatalf("%s %s: %v", name, given, e)
		}
		f, ok := a.Figure(output)
		if !ok || f.SI == nil {
			t.Fatalf("%s %s gives no %s", name, given, output)
		}
		return *f.SI
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Max(1, math.Abs(want)) {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	const bolt = "thread=M10x1.25|head=16 mm|hole=10.5 mm|thread_friction=0.12|head_friction=0.14"
	near("the shares", figure("tightening-torque", bolt+"|preload=26 kN", "pitch_share")+figure("tightening-torque", bolt+"|preload=26 kN", "thread_share")+figure("tightening-torque", bolt+"|preload=26 kN", "head_share"), 1)
	near("there and back", figure("preload", bolt+"|torque=43 N·m", "preload")/figure("preload", bolt+"|torque=21.5 N·m", "preload"), 2)
	near("drop at the bottom", figure("piston-drop", "stroke=86.5 mm|rod=178 mm|angle=180 deg", "drop"), 0.0865)
	near("drop at the top", figure("piston-drop", "stroke=86.5 mm|rod=178 mm|angle=360 deg", "drop"), 0)
	near("trapped at bottom centre", figure("trapped-compression", "bore=92 mm|stroke=86.5 mm|chamber=62.5 cc|rod=178 mm|inlet_closes=0 deg", "ratio"), figure("compression", "bore=92 mm|stroke=86.5 mm|chamber=62.5 cc", "ratio"))
	near("an adapter at a right angle", figure("adapter", "wrench=400 mm|offset=50 mm|angle=90 deg", "factor"), 1)
	near("the end of a rise", figure("follower", "motion=4-5-6-7|lift=7.6 mm|span=70 deg|angle=70 deg", "lift"), 0.0076)
	for _, motion := range []string{"harmonic", "cycloidal", "3-4-5", "4-5-6-7"} {
		near("half a "+motion+" rise", figure("follower", "motion="+motion+"|lift=7.6 mm|span=70 deg|angle=35 deg", "lift"), 0.0038)
	}
	near("two springs", figure("spring", "rate=33 N/mm|free=48 mm|open=26 mm", "open_load"), 33e3*0.022)
	wound := figure("spring", "wire=4 mm|mean_diameter=24 mm|active=6|modulus=81.37 GPa", "rate")
	near("surge both ways", figure("spring", "wire=4 mm|mean_diameter=24 mm|active=6|modulus=81.37 GPa", "surge"), figure("spring", fmt.Sprintf("wire=4 mm|mean_diameter=24 mm|active=6|rate=%.17g N/m", wound), "surge"))
	near("thinning by the slope", figure("over-pins", "teeth=24|module=2 mm|pressure_angle=20 deg|pin=3.5 mm|thinning=0.000001 mm", "size")-figure("over-pins", "teeth=24|module=2 mm|pressure_angle=20 deg|pin=3.5 mm", "size"),
		-1e-9*figure("over-pins", "teeth=24|module=2 mm|pressure_angle=20 deg|pin=3.5 mm", "slope"))
	if zone, mean := figure("flatness", "points=0,0,0; 1,0,4; 2,0,6; 3,0,2; 0,1,1; 1,1,7; 2,1,3; 3,1,5", "minimum_zone"), figure("flatness", "points=0,0,0; 1,0,4; 2,0,6; 3,0,2; 0,1,1; 1,1,7; 2,1,3; 3,1,5", "least_squares"); zone > mean {
		t.Errorf("the minimum zone %v is wider than %v", zone, mean)
	}
	near("a shim beside a cam", figure("end-play", "trial=2.700 mm|play=0.215 mm|target=0.050 mm|low=0 mm|high=0.1 mm|kit=2.500 .. 2.950 by 0.005 mm|sense=thicker-less", "spacer"), 0.002865)
}
