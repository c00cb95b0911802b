package formula

import (
	"testing"

	"buttonup/quantity"
)

// optional declares two options, one of them of quantities, and a slot.
func optional(t *testing.T) *formulas {
	f := newFormulas(t)
	f.scope.Things["a"] = &Thing{Kind: Option, Name: "a", Choices: []string{"yes", "no"}}
	f.scope.Things["b"] = &Thing{Kind: Option, Name: "b", Choices: []string{"yes", "no"}}
	f.scope.Things["size"] = &Thing{Kind: Option, Name: "size", Choices: []string{"0 mm", "0.25 mm"}, Numeric: true, Dimension: quantity.OfLength}
	f.scope.Things["gasket"] = &Thing{Kind: Slot, Name: "gasket", Choices: []string{"G-1"}, Sizes: map[string]quantity.Dimension{"thickness": quantity.OfLength}}
	return f
}

// Kleene's tables of three-valued logic (S. C. Kleene, Introduction to Metamathematics,
// 1952, section 64; memory): a side that settles the answer alone settles it though
// the other is not known.
func TestDecideThreeValued(t *testing.T) {
	f := optional(t)
	answers := map[Answer]map[string]string{Yes: {"x": "yes"}, No: {"x": "no"}, Maybe: {}}
	and := map[[2]Answer]Answer{{Yes, Yes}: Yes, {Yes, No}: No, {Yes, Maybe}: Maybe, {No, No}: No, {No, Maybe}: No, {Maybe, Maybe}: Maybe}
	or := map[[2]Answer]Answer{{Yes, Yes}: Yes, {Yes, No}: Yes, {Yes, Maybe}: Yes, {No, No}: No, {No, Maybe}: Maybe, {Maybe, Maybe}: Maybe}
	for x := range answers {
		for y := range answers {
			choices := map[string]string{}
			if c, ok := answers[x]["x"]; ok {
				choices["a"] = c
			}
			if c, ok := answers[y]["x"]; ok {
				choices["b"] = c
			}
			key := [2]Answer{x, y}
			if _, ok := and[key]; !ok {
				key = [2]Answer{y, x}
			}
			for text, want := range map[string]Answer{
				`a == "yes" && b == "yes"`:                   and[key],
				`a == "yes" || b == "yes"`:                   or[key],
				`!(a == "yes" && b == "yes")`:                not(and[key]),
				`a != "yes" || b != "yes"`:                   not(and[key]),
				`"yes" == a && "yes" == b`:                   and[key],
				`(a == "yes") ? (b == "yes") : (b == "yes")`: map[bool]Answer{true: y, false: Maybe}[x != Maybe],
			} {
				if got := Decide(f.compiled(text), choices); got != want {
					t.Errorf("%s under %v: %v, want %v", text, choices, got, want)
				}
			}
		}
	}
}

func not(a Answer) Answer { return map[Answer]Answer{Yes: No, No: Yes, Maybe: Maybe}[a] }

func TestDecide(t *testing.T) {
	f := optional(t)
	for _, c := range []struct {
		text    string
		choices map[string]string
		want    Answer
	}{
		{`true`, nil, Yes}, {`false`, nil, No}, {`1 < 2`, nil, Yes},
		{`gasket == "G-1"`, map[string]string{"gasket": "G-1"}, Yes}, // a chosen part decides as a chosen option does
		{`gasket == "G-1"`, map[string]string{"gasket": "G-2"}, No},
		{`gasket == "G-1"`, nil, Maybe},
		{`gasket == "G-1" && a == "yes"`, map[string]string{"a": "no"}, No},
		{`gasket.thickness > "0.2 mm" || a == "yes"`, map[string]string{"a": "yes"}, Yes},
		{`size == "0.25 mm"`, map[string]string{"size": "0.25 mm"}, Yes}, {`size == "0.25 mm"`, map[string]string{"size": "0 mm"}, No},
		{`option.a == "yes"`, map[string]string{"a": "yes"}, Yes},
	} {
		if got := Decide(f.compiled(c.text), c.choices); got != c.want {
			t.Errorf("%s under %v: %v, want %v", c.text, c.choices, got, c.want)
		}
	}
	if Decide(nil, nil) != Yes {
		t.Error("no condition is not yes")
	}
	var zero Answer
	if zero != Maybe {
		t.Error("the zero answer claims something")
	}
}

// Under gives a range where options alone settle it.
func TestRangeUnderAChoice(t *testing.T) {
	f := optional(t)
	for _, c := range []struct {
		text      string
		choices   map[string]string
		low, high float64
		ok        bool
	}{
		{`"1 .. 2 mm"`, nil, 0.001, 0.002, true},
		{`a == "yes" ? "1 .. 2 mm" : "3 .. 4 mm"`, map[string]string{"a": "yes"}, 0.001, 0.002, true},
		{`a == "yes" ? "1 .. 2 mm" : "3 .. 4 mm"`, map[string]string{"a": "no"}, 0.003, 0.004, true},
		{`a == "yes" ? "1 .. 2 mm" : "3 .. 4 mm"`, nil, 0, 0, false},
		{`"1 .. 2 mm" + size`, map[string]string{"size": "0.25 mm"}, 0.00125, 0.00225, true},
		{`"1 .. 2 mm" - 2 * size`, map[string]string{"size": "0.25 mm"}, 0.0005, 0.0015, true},
		{`"1 .. 2 mm" + gasket.thickness`, map[string]string{"a": "yes"}, 0, 0, false},
		{`a == "yes" ? "1 .. 2 mm" : "1 .. 2 mm" + gasket.thickness`, map[string]string{"a": "yes"}, 0.001, 0.002, true},
	} {
		r, mistakes := CompileRange(parsed(t, c.text), f.scope)
		if len(mistakes) > 0 {
			t.Fatal(mistakes)
		}
		got, ok := r.Under(c.choices)
		if ok != c.ok || ok && (!near(got.Low, c.low, 1e-15) || !near(got.High, c.high, 1e-15) || !got.HasLow || !got.HasHigh) {
			t.Errorf("%s under %v: %v, %v; want %v .. %v, %v", c.text, c.choices, got, ok, c.low, c.high, c.ok)
		}
	}
	r, _ := CompileRange(parsed(t, `a == "yes" ? "<= 2 mm" : ">= 1 mm"`), f.scope)
	if got, ok := r.Under(map[string]string{"a": "yes"}); !ok || got.HasLow || !got.HasHigh {
		t.Errorf("one side: %+v", got)
	}
}

// A misspelt name gets the nearest; a number never gets a suggestion.
func TestNearest(t *testing.T) {
	names := []string{"bore", "big_end", "crank_pin", "crank_end", "front", "rear", "0.25 mm", "0.50 mm", "stud 1", "stud 2", "A", "B", "x10"}
	for word, want := range map[string]string{
		"boer": "bore", "bor": "bore", "Bore": "bore", "crank_pim": "crank_pin", "big_ned": "big_end", "fornt": "front", "raer": "rear",
		"stdu 1": "stud 1", "piston": "", "": "", "0.20 mm": "", "0.5 mm": "", "stud 3": "", "C": "", "a": "A", "x1": "", "x01": "",
		"bore": "", "frontandmore": "", "crank_wxyz": "",
	} {
		if got := Nearest(word, names); got != want {
			t.Errorf("%q: %q, want %q", word, got, want)
		}
	}
	// Equally near ones: the same answer whatever their order.
	if a, b := Nearest("cat", []string{"bat", "hat"}), Nearest("cat", []string{"hat", "bat"}); a != "bat" || b != "bat" {
		t.Errorf("%q and %q", a, b)
	}
}
