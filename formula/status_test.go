package formula

import (
	"fmt"
	"slices"
	"testing"

	"buttonup/quantity"
)

// Danger: what is not measured becomes zero somewhere and passes for a value.
func TestMissingIsNeverANumber(t *testing.T) {
	for _, text := range []string{
		"gone", "gone + a", "a - gone", "0 * gone", "gone - gone", "a / gone", "gone / gone", "gone % a", "-gone", "abs(gone)", "sqrt(gone)", "sq(gone)", "cube(gone)",
		"pow(gone, 0)", "exp(gone)", "ln(gone)", "sin(gone)", `asin(gone) / "1 rad"`, `atan2(gone, a) / "1 rad"`, "hypot(gone, a)",
		"min(a, gone)", "max(a, gone)", "mean(a, gone)", "sum(a, gone)", "spread(a, gone)", "clamp(a, 0, gone)", "bent(gone)", "swept(gone)",
		"gone > 0 ? a : a", "a > 0 ? gone : a", "n + a", "gone == gone ? 1 : 1",
	} {
		f := newFormulas(t)
		curvesAndFunctions(f)
		f.dimension("a", "", quantity.OfNumber)
		f.dimension("gone", "", quantity.OfNumber)
		f.number("n", "gone * 2")
		id := f.graph.Add(f.compiled(text), f.binder("", ""))
		v := f.values(map[string]float64{"a": 0.5})
		if y, status := v.Of(id); status != Missing || y != 0 {
			t.Errorf("%s: %v with status %v, want missing", text, y, status)
		}
		inputs, reason := f.graph.Why(id, v)
		if len(inputs) != 1 || f.graph.Inputs[inputs[0]].Name != "gone" || reason != "" {
			t.Errorf("%s waits for inputs %v, %q; want gone alone", text, inputs, reason)
		}
		if got := f.graph.Inputs[inputs[0]].Reference(); got != "dimension.gone" {
			t.Errorf("%s names %q", text, got)
		}
	}
}

// What settles a condition need not wait for the rest of it; the branch that is not
// taken need not be measured.
func TestWhatNeedNotBeMeasured(t *testing.T) {
	for text, want := range map[string]float64{
		"a < 0 && gone > 1 ? 1 : 2": 2, "gone > 1 && a < 0 ? 1 : 2": 2,
		"a > 0 || gone > 1 ? 1 : 2": 1, "gone > 1 || a > 0 ? 1 : 2": 1,
		"a > 0 ? a : gone": 0.5, "a < 0 ? gone : a": 0.5,
		"!(a > 0) && gone > 0 ? 1 : 2": 2,
	} {
		f := newFormulas(t)
		f.dimension("a", "", quantity.OfNumber)
		f.dimension("gone", "", quantity.OfNumber)
		id := f.graph.Add(f.compiled(text), f.binder("", ""))
		if y, status := f.values(map[string]float64{"a": 0.5}).Of(id); y != want || status != Known {
			t.Errorf("%s: %v, %v; want %v", text, y, status, want)
		}
	}
}

// Danger: an infinity or a NaN travels on as a value.
func TestUndefinedIsNeverANumber(t *testing.T) {
	for text, reason := range map[string]string{
		"1 / (a - a)": "divides by zero", "a % (a - a)": "divides by zero", "(a - a) / (a - a)": "divides by zero",
		"sqrt(-a)": "takes the square root of a negative value", "ln(a - a)": "takes the logarithm of a value that is not above zero", "ln(-a)": "takes the logarithm of a value that is not above zero",
		`asin(a + 5) / "1 rad"`: "takes an angle of a ratio beyond 1", `acos(-5 * a) / "1 rad"`: "takes an angle of a ratio beyond 1",
		`atan2(a - a, a - a) / "1 rad"`: "takes the direction of a point at zero",
		"pow(-a, 0.5)":                  "takes a broken power of a negative value",
		"exp(1000 * a)":                 "grows beyond any number", "pow(a - a, -1)": "grows beyond any number", "pow(10 * a, 300)": "grows beyond any number",
		"bent(a + 10)": "asks the curve at 12.000, and it is known from 0 to 4", "straight(-a)": "asks the curve at -2.000, and it is known from 0 to 4",
		"swept(-a)":          "a bore is above zero",
		"1 + sqrt(-a) * 0":   "takes the square root of a negative value",
		"min(a, sqrt(-a))":   "takes the square root of a negative value",
		"a > 1 ? ln(-a) : a": "takes the logarithm of a value that is not above zero",
	} {
		f := newFormulas(t)
		curvesAndFunctions(f)
		f.dimension("a", "", quantity.OfNumber)
		id := f.graph.Add(f.compiled(text), f.binder("", ""))
		v := f.values(map[string]float64{"a": 2})
		if y, status := v.Of(id); status != Undefined || y != 0 {
			t.Errorf("%s: %v with status %v, want undefined", text, y, status)
			continue
		}
		if inputs, got := f.graph.Why(id, v); got != reason || len(inputs) > 0 {
			t.Errorf("%s: because %q, %v; want %q", text, got, inputs, reason)
		}
	}
}

// What is missing is told before what is undefined: it may cure it.
func TestMissingGoesBeforeUndefined(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	f.dimension("gone", "", quantity.OfNumber)
	id := f.graph.Add(f.compiled("sqrt(-a) + gone"), f.binder("", ""))
	if _, status := f.values(map[string]float64{"a": 2}).Of(id); status != Missing {
		t.Errorf("status %v", status)
	}
}

// The same formula again after the readings came: nothing of the first time sticks.
func TestValuesAreComputedAnew(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	id := f.graph.Add(f.compiled("sqrt(a)"), f.binder("", ""))
	v := f.values(map[string]float64{"a": -1})
	for _, c := range []struct {
		a      float64
		status Status
		input  Status
	}{{-1, Undefined, Known}, {4, Known, Known}, {4, Missing, Missing}, {9, Known, Known}} {
		v.Input[0], v.InputStatus[0] = c.a, c.input
		f.graph.Evaluate(v)
		if y, status := v.Of(id); status != c.status || status == Known && y*y != c.a {
			t.Errorf("a = %v: %v, %v", c.a, y, status)
		}
	}
}

// Absent is what a `when` takes out of the job: functions of several values go on
// without it, everything else waits, and nothing takes it for zero.
func TestAbsent(t *testing.T) {
	for _, c := range []struct {
		text   string
		value  float64
		status Status
	}{
		{"min(a, b)", 2, Known}, {"max(a, b)", 2, Known}, {"mean(a, b)", 2, Known}, {"sum(a, b)", 2, Known}, {"spread(a, b)", 0, Known}, {"smallest(b, a)", 2, Known},
		{"min(b, b)", 0, Absent}, {"sum(b, b)", 0, Absent},
		{"b", 0, Absent}, {"a + b", 0, Missing}, {"0 * b", 0, Missing}, {"sq(b)", 0, Missing},
		{"b > 0 ? 1 : 2", 0, Missing}, {"a > 0 ? b : a", 0, Absent}, {"a > 0 || b > 0 ? 1 : 2", 1, Known},
	} {
		f := newFormulas(t)
		f.dimension("a", "", quantity.OfNumber)
		f.dimension("raw", "", quantity.OfNumber)
		n := f.number("b", "raw * 1")
		f.nodes["b "] = f.graph.AddPresence(n, "number", "b", "")
		id := f.graph.Add(f.compiled(c.text), f.binder("", ""))
		v := f.graph.NewValues()
		for i, in := range f.graph.Inputs {
			v.InputStatus[i] = Known
			switch {
			case in.Kind == Present:
				v.Input[i] = 0
			case in.Name == "a":
				v.Input[i] = 2
			default:
				v.Input[i] = 7
			}
		}
		f.graph.Evaluate(v)
		if y, status := v.Of(id); y != c.value || status != c.status {
			t.Errorf("%s: %v, %v; want %v, %v", c.text, y, status, c.value, c.status)
		}
		for i, in := range f.graph.Inputs {
			if in.Kind == Present {
				v.Input[i] = 1
			}
		}
		f.graph.Evaluate(v)
		if _, status := v.Of(id); status != Known {
			t.Errorf("%s with b present: %v", c.text, status)
		}
	}
}

// Members that are absent drop out of each(…), and their slopes with them.
func TestEachLeavesOutTheAbsent(t *testing.T) {
	f := newFormulas(t)
	f.scope.Places["cylinder"] = &PlaceKind{Name: "cylinder", Members: []string{"front", "middle", "rear"}}
	f.dimension("bore", "cylinder", quantity.OfNumber)
	mean := f.graph.Add(f.compiled("mean(each(bore))"), f.binder("", ""))
	v := f.values(map[string]float64{"bore front": 1, "bore middle": 2, "bore rear": 6})
	if y, _ := v.Of(mean); y != 3 {
		t.Errorf("mean %v", y)
	}
	for i, in := range f.graph.Inputs {
		if in.Place == "middle" {
			v.InputStatus[i] = Absent
		}
	}
	f.graph.Evaluate(v)
	if y, status := v.Of(mean); y != 3.5 || status != Known {
		t.Errorf("mean of two %v, %v", y, status)
	}
	if got := f.gradient(mean, v); got["bore front"] != 0.5 || got["bore rear"] != 0.5 || got["bore middle"] != 0 {
		t.Errorf("slopes %v", got)
	}
	for i := range v.InputStatus {
		v.InputStatus[i] = Missing
	}
	f.graph.Evaluate(v)
	inputs, _ := f.graph.Why(mean, v)
	var names []string
	for _, i := range inputs {
		names = append(names, f.graph.Inputs[i].Reference())
	}
	if want := []string{"dimension.bore front", "dimension.bore middle", "dimension.bore rear"}; !slices.Equal(names, want) {
		t.Errorf("it waits for %v, want %v", names, want)
	}
}

// Conditions, and what arithmetic gives.
func TestValues(t *testing.T) {
	for text, want := range map[string]float64{
		"1 + 2 * 3": 7, "(1 + 2) * 3": 9, "7 % 4": 3, "-7 % 4": -3, "2 - -2": 4, "10 / 4": 2.5, "8 - 4 - 2": 2, "16 / 4 / 2": 2,
		"1 < 2 ? 10 : 20": 10, "2 <= 2 ? 1 : 0": 1, "2 >= 3 ? 1 : 0": 0, "2 > 1 ? 1 : 0": 1, "2 == 2 ? 1 : 0": 1, "2 != 2 ? 1 : 0": 0,
		"1 < 2 && 2 < 3 ? 1 : 0": 1, "1 < 2 && 3 < 2 ? 1 : 0": 0, "2 < 1 || 2 < 3 ? 1 : 0": 1, "!(1 < 2) ? 1 : 0": 0, "true ? 1 : 0": 1,
		"1 > 2 ? 1 : 2 > 3 ? 2 : 3": 3,
		"pi":                        3.141592653589793, "sq(3)": 9, "cube(3)": 27, "sqrt(16)": 4, "abs(-3)": 3, "pow(2, 10)": 1024, "exp(0)": 1, "ln(1)": 0,
		"hypot(3, 4)": 5, "min(3, 1, 2)": 1, "max(3, 1, 2)": 3, "clamp(5, 0, 3)": 3, "clamp(-5, 0, 3)": 0, "clamp(2, 0, 3)": 2,
		"mean(1, 2, 6)": 3, "sum(1, 2, 6)": 9, "spread(1, 2, 6)": 5, "smallest(4, 2)": 2, "largest(4, 2)": 4,
		"sum(1,2,3,4,5,6,7,8,9,10,11,12)": 78,
		`"92 mm" / "1 mm"`:                92, `"1 in" / "1 mm"`: 25.4, `sin("30 deg")`: 0.49999999999999994, `atan2(1, 1) / "45 deg"`: 1, `asin(1) / "90 deg"`: 1,
		`("20 degC" - "10 degC") / "1 K"`: 10, `"50 %" * 4`: 2, `"1-1/2 in" / "1 in"`: 1.5, `(2 * "15 deg") / "30 deg"`: 1,
	} {
		if got, status := value(t, text, nil); !near(got, want, 1e-15) || status != Known {
			t.Errorf("%s = %v, %v; want %v", text, got, status, want)
		}
	}
}

// NonNegative tells where an end of zero is no limit.
func TestNonNegative(t *testing.T) {
	for text, want := range map[string]bool{
		"abs(a)": true, "sqrt(a)": true, "sq(a)": true, "spread(a, b)": true, "3": true, "-3": false, "a": false, "a - b": false, "abs(a) - 1": false,
		"bore": true, "oval(bore)": true, "spread(bore)": true, "taper(bore)": false, "bore - bore": false, "force": false, "weight": true, "n": false,
	} {
		f := newFormulas(t)
		for _, n := range []string{"a", "b"} {
			f.dimension(n, "", quantity.OfNumber)
		}
		f.dimension("bore", "", quantity.OfLength)
		f.dimension("weight", "", quantity.OfMass)
		f.dimension("force", "", quantity.OfForce)
		f.number("n", "sq(a)")
		if got := f.compiled(text).NonNegative(); got != want {
			t.Errorf("%s cannot be negative: %v, want %v", text, got, want)
		}
	}
}

// Inputs are named in an assessment as references are written everywhere.
func TestInputReferences(t *testing.T) {
	for want, in := range map[string]Input{
		"dimension.bore":           {Kind: Value, Name: "bore"},
		"dimension.bore front":     {Kind: Value, Name: "bore", Place: "front"},
		"option.series":            {Kind: OptionIs, Name: "series", Detail: "A"},
		"slot.gasket front":        {Kind: PartIs, Name: "gasket", Place: "front", Detail: "G-1"},
		"slot.gasket.thickness":    {Kind: Size, Name: "gasket", Detail: "thickness"},
		"model.preload":            {Kind: Model, Name: "preload"},
		fmt.Sprint("given ", 0.25): {Kind: Given, Number: 0.25},
	} {
		if got := in.Reference(); got != want {
			t.Errorf("%+v is written %q, want %q", in, got, want)
		}
	}
}
