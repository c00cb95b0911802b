package formula

import (
	"strings"
	"testing"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// What a pack cannot plant yet because no function of mechanics is called in one.
func TestCallsOfMechanics(t *testing.T) {
	f := newFormulas(t)
	f.dimension("bore", "", quantity.OfLength)
	f.dimension("stroke", "", quantity.OfLength)
	f.dimension("turned", "", quantity.OfAngle)
	f.scope.Functions["piston_drop"] = &Function{Name: "piston_drop", Result: quantity.OfLength,
		Arguments: []Argument{{Name: "stroke", Dimension: quantity.OfLength}, {Name: "angle", Dimension: quantity.OfAngle}, {Name: "offset", Dimension: quantity.OfLength, HasDefault: true}},
		Evaluate:  func(v []float64) (float64, error) { return v[0]*v[1] + v[2], nil }}
	for text, want := range map[string]string{
		"piston_drop(stroke)":                            "piston_drop takes 3 values and has 1 here",
		"piston_drop(stroke, turned, stroke, stroke)":    "piston_drop takes 3 values and has 4 here",
		"piston_drop(turned, turned)":                    "piston_drop needs a length for its stroke, and this is an angle",
		"piston_drop(stroke, stroke)":                    "piston_drop needs an angle for its angle, and this is a length",
		"piston_drop(stroke, 0.5, 1)":                    "piston_drop needs a length for its offset, and this is a plain number",
		"pistn_drop(stroke, turned)":                     "there is no function called pistn_drop",
		"piston_drop(stroke, turned) + turned":           "a length and an angle cannot be added",
		"bore > piston_drop(stroke, unheard_of) ? 1 : 2": "nothing in this pack is called unheard_of",
	} {
		_, mistakes := Compile(parsed(t, text), f.scope)
		if len(mistakes) != 1 || mistakes[0].Says != want || mistakes[0].Do == "" {
			t.Errorf("%s: %v, want %q", text, mistakes, want)
		}
	}
	for text, want := range map[string]float64{
		`piston_drop("2 m", 3)`: 6, `piston_drop("2 m", "3 rad", "1 m")`: 7, `piston_drop("2 m", "3 rad") / "1 m"`: 6,
	} {
		id := f.graph.Add(f.compiled(text), f.binder("", ""))
		if y, status := f.values(nil).Of(id); y != want || status != Known {
			t.Errorf("%s: %v, %v; want %v", text, y, status, want)
		}
	}
}

// Danger: one mistake is told twice, or something that hangs on it.
func TestWhatIsUnknownIsNotToldAgain(t *testing.T) {
	f := fuzzScope(t)
	f.scope.Places["lost_place"] = &PlaceKind{Name: "lost_place", Members: []string{"one"}, Unknown: true}
	f.dimension("there", "lost_place", quantity.OfLength)
	for _, text := range []string{
		"lost", "lost + 1", `lost + "1 mm"`, `lost + "1 N"`, "sqrt(lost)", "oval(lost)", "sum(each(lost))", `lost["front"]`, "lost.front", `lost == "A" ? 1 : 2`, "lost > 1 ? 1 : 2",
		"lost ? 1 : 2", "max(lost, 1)", "bent(lost)", "piston.lost", "dimension.lost", "number.lost", `there["two"]`, "there",
	} {
		if text == "piston.lost" {
			continue
		}
		if _, mistakes := Compile(parsed(t, text), f.scope); len(mistakes) > 0 {
			t.Errorf("%s: %v", text, mistakes)
		}
	}
	// With its place unknown, an expression may name what is at any place.
	f.scope.AnyPlace = true
	if _, mistakes := Compile(parsed(t, "bore + guide"), f.scope); len(mistakes) > 0 {
		t.Error(mistakes)
	}
	f.scope.AnyPlace = false
	// Two mistakes of one formula are both told, each once.
	_, mistakes := Compile(parsed(t, `max(bore["frnt"], "92,0 mm") + unheard_of`), f.scope)
	if len(mistakes) != 3 {
		t.Errorf("%d mistakes: %v", len(mistakes), mistakes)
	}
	// What the parser refused gives no second mistake.
	x, mistakes := Compile(&syntax.Binary{Operator: "+", X: &syntax.Broken{}, Y: &syntax.Number{Value: 1}}, f.scope)
	if len(mistakes) > 0 || !x.Broken() {
		t.Errorf("%v", mistakes)
	}
	if r, mistakes := CompileRange(&syntax.Broken{}, f.scope); len(mistakes) > 0 || !r.Broken() {
		t.Errorf("%v", mistakes)
	}
}

// A name is looked for at the same place, its parents, then the engine.
func TestScoping(t *testing.T) {
	f := fuzzScope(t)
	for _, c := range []struct {
		at, text string
		inputs   string // of the formula at "front" or "ex", whose parent is "rear"
	}{
		{"", "a", "dimension.a"},
		{"cylinder", "a + a", "dimension.a"},
		{"cylinder", "bore", "dimension.bore front"},
		{"valve", "guide", "dimension.guide ex"},
		{"valve", "bore", "dimension.bore rear"}, // the cylinder that holds the exhaust
		{"valve", "gasket.thickness", "slot.gasket.thickness rear"},
		{"valve", `bore["front"]`, "dimension.bore front"},
		{"", "sum(each(bore))", "dimension.bore front, dimension.bore rear"},
		{"cylinder", "sum(each(guide))", "dimension.guide in"}, // those below only
		{"", "sum(each(guide))", "dimension.guide in, dimension.guide ex"},
		{"valve", "sum(each(bore))", "dimension.bore front, dimension.bore rear"}, // not below: all
		{"", `smallest(bore["rear"])`, "dimension.bore rear"},
		{"cylinder", `dimension.bore - dimension.bore["rear"]`, "dimension.bore front, dimension.bore rear"},
		{"", `option.oversize + "1 mm"`, "option.oversize"},
		{"cylinder", `gasket == "G-1" ? 1 : 2`, "slot.gasket front"},
	} {
		s := fuzzScope(t)
		s.scope.At = c.at
		id := s.graph.Add(s.compiled(c.text), s.binder(c.at, member(c.at)))
		var names []string
		for _, i := range s.graph.InputsOf(id) {
			names = append(names, s.graph.Inputs[i].Reference())
		}
		if got := strings.Join(names, ", "); got != c.inputs {
			t.Errorf("at %q, %s depends on %s; want %s", c.at, c.text, got, c.inputs)
		}
	}
	for _, c := range []struct{ at, text, says string }{
		{"", "bore", "bore is read at each cylinder, and this formula stands at the whole engine"},
		{"cylinder", "guide", "guide is read at each valve, and this formula stands at each cylinder"},
		{"", "gasket.thickness", "gasket is read at each cylinder, and this formula stands at the whole engine"},
		{"", "oval(bore)", "bore is read at each cylinder, and this formula stands at the whole engine"},
	} {
		f.scope.At = c.at
		_, mistakes := Compile(parsed(t, c.text), f.scope)
		if len(mistakes) != 1 || mistakes[0].Says != c.says || !strings.Contains(mistakes[0].Do, "each(") || !strings.Contains(mistakes[0].Do, `["`) {
			t.Errorf("at %q, %s: %v", c.at, c.text, mistakes)
		}
	}
}

// Set functions of a dimension are inputs of their own; of several values they are
// computed.
func TestSetFunctions(t *testing.T) {
	f := newFormulas(t)
	f.dimension("bore", "", quantity.OfLength)
	for text, want := range map[string]SetFunction{
		"bore": Judged, "smallest(bore)": Smallest, "largest(bore)": Largest, "mean(bore)": Mean, "spread(bore)": Spread, "oval(bore)": Oval, "taper(bore)": Taper,
	} {
		s := newFormulas(t)
		s.dimension("bore", "", quantity.OfLength)
		id := s.graph.Add(s.compiled(text), s.binder("", ""))
		inputs := s.graph.InputsOf(id)
		if len(inputs) != 1 || s.graph.Inputs[inputs[0]].Set != want || s.graph.Len() != 1 {
			t.Errorf("%s: inputs %v", text, s.graph.Inputs)
		}
		if slot, ok := s.graph.Slot(Input{Kind: Value, Name: "bore", Set: want}); !ok || slot != inputs[0] {
			t.Errorf("%s: no slot for it", text)
		}
	}
	// The dimensions of what they give.
	f.dimension("oil", "", quantity.OfTemperature)
	for text, want := range map[string]quantity.Dimension{
		"mean(oil, oil)": quantity.OfTemperature, "spread(oil, oil)": quantity.OfTemperatureDifference, "oil - oil": quantity.OfTemperatureDifference,
		`oil + "3 K"`: quantity.OfTemperature, `"3 K" + oil`: quantity.OfTemperature, `oil - "3 K"`: quantity.OfTemperature, "max(oil, oil)": quantity.OfTemperature,
		"sq(bore)": quantity.OfArea, "cube(bore)": quantity.OfVolume, "sqrt(sq(bore))": quantity.OfLength, "pow(bore, 3)": quantity.OfVolume, "pow(sq(bore), 0.5)": quantity.OfLength,
		"bore * bore * bore": quantity.OfVolume, "bore / bore": quantity.OfNumber, `2 * "15 deg"`: quantity.OfAngle, `"15 deg" / "1 deg"`: quantity.OfNumber, `bore * "15 deg"`: quantity.OfLength,
		"atan(1)": quantity.OfAngle, "sin(1)": quantity.OfNumber, "-bore": quantity.OfLength, "bore % bore": quantity.OfLength, "hypot(bore, bore)": quantity.OfLength, "clamp(bore, bore, bore)": quantity.OfLength,
	} {
		if got := f.compiled(text).Dimension; got != want {
			t.Errorf("%s is %v, want %v", text, got, want)
		}
	}
	for text, want := range map[string]bool{"bore > bore": true, "!(bore > bore)": true, "true": true, "bore": false, "1 < 2 ? bore : bore": false, "1 < 2 ? true : false": true} {
		if got := f.compiled(text).Condition; got != want {
			t.Errorf("%s is a condition: %v", text, got)
		}
	}
}
