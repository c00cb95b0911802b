package formula

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

func compared(list []Unmet) string {
	var out []string
	for _, u := range list {
		if u.Thing != nil {
			out = append(out, u.Thing.Name+" has "+u.Has+" wants "+strings.Join(u.Wants, "/"))
			continue
		}
		out = append(out, u.Left.Size+" "+u.Operator)
	}
	return strings.Join(out, "; ")
}

func TestUnmet(t *testing.T) {
	f := optional(t)
	size := func(mm float64) func(string, string, string) (float64, bool) {
		return func(slot, member, size string) (float64, bool) { return mm / 1000, mm > 0 }
	}
	for _, c := range []struct {
		text    string
		choices map[string]string
		mm      float64
		answer  Answer
		unmet   string
	}{
		{`a == "yes"`, map[string]string{"a": "yes"}, 0, Yes, ""},
		{`a == "yes"`, map[string]string{"a": "no"}, 0, No, "a has no wants yes"},
		{`a == "yes"`, nil, 0, Maybe, "a has  wants yes"},
		{`a != "yes"`, map[string]string{"a": "yes"}, 0, No, "a has yes wants no"},
		{`a == "yes" || a == "no"`, nil, 0, Maybe, "a has  wants yes/no"},
		{`a == "yes" && b == "no"`, map[string]string{"a": "no", "b": "yes"}, 0, No, "a has no wants yes; b has yes wants no"},
		{`a == "yes" && (a == "no" || b == "no")`, map[string]string{"a": "yes", "b": "yes"}, 0, No, "b has yes wants no"},
		{`a == "yes" && a == "no"`, map[string]string{"a": "yes"}, 0, No, ""},
		{`gasket.thickness < "1 mm"`, nil, 1.2, No, "thickness <"},
		{`gasket.thickness < "1 mm"`, nil, 0.8, Yes, ""},
		{`gasket.thickness < "1 mm"`, nil, 0, Maybe, "thickness <"},
		{`!(gasket.thickness < "1 mm")`, nil, 0.8, No, "thickness >="},
		{`gasket.thickness > size`, map[string]string{"size": "0.25 mm"}, 0.2, No, "thickness >"},
		{`gasket.thickness > size`, map[string]string{"size": "0 mm"}, 0.2, Yes, ""},
		{`gasket == "G-1"`, map[string]string{"gasket": "G-2"}, 0, No, "gasket has G-2 wants G-1"},
	} {
		a, list := f.compiled(c.text).Unmet(Facts{Choices: c.choices, Size: size(c.mm)})
		if a != c.answer || compared(list) != c.unmet {
			t.Errorf("%s under %v, %g mm: %v, %q; want %v, %q", c.text, c.choices, c.mm, a, compared(list), c.answer, c.unmet)
		}
	}
	var none *Expr
	if a, list := none.Unmet(Facts{}); a != Yes || list != nil {
		t.Error("a condition that is not there always holds")
	}
}

// A law: whoever does what the list asks has the condition met, no list with fewer
// comparisons would do, and without a list nothing would. Tried over every choice of
// three options, against a plain evaluation of random conditions.
func TestUnmetIsASmallestSet(t *testing.T) {
	f := optional(t)
	f.scope.Things["c"] = &Thing{Kind: Option, Name: "c", Choices: []string{"one", "two", "three"}}
	options := []string{"a", "b", "c"}
	choicesOf := map[string][]string{"a": {"yes", "no"}, "b": {"yes", "no"}, "c": {"one", "two", "three"}}
	random := rand.New(rand.NewPCG(7, 7))
	var all []map[string]string
	for _, a := range choicesOf["a"] {
		for _, b := range choicesOf["b"] {
			for _, c := range choicesOf["c"] {
				all = append(all, map[string]string{"a": a, "b": b, "c": c})
			}
		}
	}
	var condition func(depth int) string
	condition = func(depth int) string {
		if depth == 0 || random.IntN(4) == 0 {
			o := options[random.IntN(3)]
			return o + []string{" == ", " != "}[random.IntN(2)] + `"` + choicesOf[o][random.IntN(len(choicesOf[o]))] + `"`
		}
		switch random.IntN(4) {
		case 0:
			return "!(" + condition(depth-1) + ")"
		case 1:
			return "(" + condition(depth-1) + " || " + condition(depth-1) + ")"
		}
		return "(" + condition(depth-1) + " && " + condition(depth-1) + ")"
	}
	refused := 0
	for range 400 {
		text := condition(3)
		e := f.compiled(text)
		for _, now := range all {
			answer, list := e.Unmet(Facts{Choices: now})
			if answer != Decide(e, now) {
				t.Fatalf("%s under %v: %v, Decide says %v", text, now, answer, Decide(e, now))
			}
			if answer == Yes {
				continue
			}
			refused++
			fewest := -1
			for _, other := range all {
				if Decide(e, other) != Yes {
					continue
				}
				n := 0
				for _, o := range options {
					if now[o] != other[o] {
						n++
					}
				}
				if fewest < 0 || n < fewest {
					fewest = n
				}
			}
			if fewest < 0 {
				if len(list) > 0 {
					t.Fatalf("%s cannot be met, and %s is asked for", text, compared(list))
				}
				continue
			}
			if len(list) != fewest {
				t.Fatalf("%s under %v: %s, and %d changes would do", text, now, compared(list), fewest)
			}
			for k := range 3 { // each listed choice, taken with the first of the others
				after := map[string]string{"a": now["a"], "b": now["b"], "c": now["c"]}
				for _, u := range list {
					after[u.Thing.Name] = u.Wants[min(k, len(u.Wants)-1)]
				}
				if Decide(e, after) != Yes {
					t.Fatalf("%s under %v: %s does not help", text, now, compared(list))
				}
			}
			if slices.ContainsFunc(list, func(u Unmet) bool { return u.Open() }) {
				t.Fatalf("%s under %v: a choice that is made is called open", text, now)
			}
		}
	}
	if refused < 500 {
		t.Errorf("only %d refusals were tried", refused)
	}
}
